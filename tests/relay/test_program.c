/* SPDX-License-Identifier: Apache-2.0 */
/* test_program - trapline-broker as a program: start, refusal to start, signals, end. */
#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>
#include <zmq.h>

#include "proto/base/clock.h"
#include "tests/relay/ship.h"

static void
expect_end(struct ship *ship, const char *const *args, int status, const char *said)
{
    char text[SHIP_TEXT_CAP];
    int ended;

    ship_spawn(ship, args, -1);
    ended = ship_wait(ship);
    ship_read_log(ship, text);
    if (ended != status) {
        fail_msg("exit %d, not %d: %s", ended, status, text);
    }
    if (strstr(text, said) == NULL || strchr(text, '\n') != text + strlen(text) - 1) {
        fail_msg("not one line with '%s': %s", said, text);
    }
}

static void
checking_a_good_configuration_says_so_and_opens_nothing(void **state)
{
    struct ship *ship = *state;
    const char *const args[] = {"-C", ship->config_dir, "--bus", "bus-a", "-n", NULL};
    char text[SHIP_TEXT_CAP];
    char path[SHIP_TEXT_CAP];

    ship_spawn(ship, args, -1);
    assert_int_equal(ship_wait(ship), 0);
    ship_read_output(ship, text);
    assert_string_equal(text, "configuration OK\n");
    (void)snprintf(path, sizeof path, "%s/state", ship->config_dir);
    assert_int_equal(access(path, F_OK), -1); /* no incarnation was taken */
}

static void
help_is_given(void **state)
{
    struct ship *ship = *state;
    const char *const args[] = {"--help", NULL};
    char text[SHIP_TEXT_CAP];

    ship_spawn(ship, args, -1);
    assert_int_equal(ship_wait(ship), 0);
    ship_read_output(ship, text);
    assert_non_null(strstr(text, "usage: trapline-broker -C DIR --bus ID"));
}

static void
a_wrong_command_line_ends_with_64(void **state)
{
    struct ship *ship = *state;
    const char *const args[] = {"-C", ship->config_dir, NULL};

    expect_end(ship, args, 64, "trapline-broker: --bus ID is missing");
}

static void
a_bus_that_is_not_configured_ends_with_78(void **state)
{
    struct ship *ship = *state;
    const char *const args[] = {"-C", ship->config_dir, "--bus", "bus-x", NULL};

    expect_end(ship, args, 78, "bus.yaml has no bus of the id given with --bus");
}

static void
a_broken_configuration_ends_with_78_and_names_the_file(void **state)
{
    struct ship *ship = *state;
    const char *const args[] = {"-C", ship->config_dir, "--bus", "bus-a", "-n", NULL};
    char path[SHIP_TEXT_CAP];
    FILE *file;

    (void)snprintf(path, sizeof path, "%s/bus.yaml", ship->config_dir);
    file = fopen(path, "a");
    assert_non_null(file);
    (void)fputs("speed: high\n", file);
    (void)fclose(file);
    expect_end(ship, args, 78, "bus.yaml");
}

static void
a_bus_without_its_secret_ends_with_78(void **state)
{
    struct ship *ship = *state;
    const char *const args[] = {"-C", ship->config_dir, "--bus", "bus-a", NULL};
    char path[TL_PATH_CAP];

    assert_int_equal(tl_identity_path(ship->config, "bus-a", 1, path, sizeof path), TL_OK);
    assert_int_equal(unlink(path), 0);
    expect_end(ship, args, 78, "trapline-broker: ");
}

static void
a_secret_that_others_may_read_ends_with_78(void **state)
{
    struct ship *ship = *state;
    const char *const args[] = {"-C", ship->config_dir, "--bus", "bus-a", NULL};
    char path[TL_PATH_CAP];

    assert_int_equal(tl_identity_path(ship->config, "bus-a", 1, path, sizeof path), TL_OK);
    assert_int_equal(chmod(path, 0644), 0);
    expect_end(ship, args, 78, "trapline-broker: ");
}

static void
a_port_in_use_ends_with_1_and_one_sentence(void **state)
{
    struct ship *ship = *state;
    const char *const args[] = {"-C", ship->config_dir, "--bus", "bus-a", NULL};
    struct sockaddr_in address = {.sin_family = AF_INET};
    char said[SHIP_TEXT_CAP];
    int held = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);

    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    address.sin_port = htons((uint16_t)strtoul(strrchr(ship->bus->egress, ':') + 1, NULL, 10));
    assert_int_equal(bind(held, (struct sockaddr *)&address, sizeof address), 0);
    assert_int_equal(listen(held, 1), 0);
    (void)snprintf(said, sizeof said, "trapline-broker: bus-a: %s is in use by another program",
                   ship->bus->egress);
    expect_end(ship, args, 1, said);
    (void)close(held);
}

static void
a_state_folder_that_cannot_be_made_ends_with_1(void **state)
{
    struct ship *ship = *state;
    const char *const args[] = {"-C", ship->config_dir, "--bus", "bus-a", NULL};
    char path[SHIP_TEXT_CAP];
    FILE *file;

    (void)snprintf(path, sizeof path, "%s/state", ship->config_dir);
    file = fopen(path, "w"); /* a file where the folder should be */
    assert_non_null(file);
    (void)fclose(file);
    expect_end(ship, args, 1, "trapline-broker: ");
}

/* ---- signals and the end ---- */

static void
expect_clean_end(struct ship *ship, int signal)
{
    char text[SHIP_TEXT_CAP];
    uint64_t from_ms = tl_clock_boot_ms();

    (void)ship_listener(ship, "");
    assert_int_equal(kill(ship->pid, signal), 0);
    assert_int_equal(ship_wait(ship), 0);
    assert_true(tl_clock_boot_ms() - from_ms < 1000);
    ship_read_log(ship, text);
    assert_string_equal(text, "");
}

static void
sigterm_ends_it_with_0(void **state)
{
    expect_clean_end(*state, SIGTERM);
}

static void
sigint_ends_it_with_0(void **state)
{
    expect_clean_end(*state, SIGINT);
}

static void
a_bus_that_was_killed_serves_again_with_a_higher_incarnation(void **state)
{
    struct ship *ship = *state;
    struct tl_envelope *said = calloc(1, sizeof *said);
    uint64_t before;
    uint64_t from_ms;

    assert_non_null(said);
    ship_hear_bus(ship, ship_listener(ship, "bus/"), TL_BODY_COUNTERS, said);
    before = said->incarnation;
    assert_int_equal(kill(ship->pid, SIGKILL), 0);
    assert_int_equal(ship_wait(ship), 256 + SIGKILL);
    from_ms = tl_clock_boot_ms();
    ship_start(ship);
    print_message("ready again after %lu ms\n", (unsigned long)(tl_clock_boot_ms() - from_ms));
    ship_hear_bus(ship, ship_listener(ship, "bus/"), TL_BODY_COUNTERS, said);
    assert_true(said->incarnation > before);
    free(said);
}

static void
a_given_incarnation_is_exceeded(void **state)
{
    struct ship *ship = *state;
    const char *const args[] = {"-C",    ship->config_dir,      "--bus",
                                "bus-a", "--incarnation-above", "9000000000000000000",
                                NULL};
    struct tl_envelope *said = calloc(1, sizeof *said);
    char text[SHIP_TEXT_CAP];

    assert_non_null(said);
    ship_spawn(ship, args, -1);
    ship_read_output(ship, text);
    ship_hear_bus(ship, ship_listener(ship, "bus/"), TL_BODY_COUNTERS, said);
    assert_true(said->incarnation == 9000000000000000001U);
    free(said);
}

/* ---- what it leaves alone ---- */

static time_t
changed_at(const struct ship *ship, const char *name)
{
    char path[SHIP_TEXT_CAP];
    struct stat info;

    (void)snprintf(path, sizeof path, "%s/%s", ship->config_dir, name);
    assert_int_equal(stat(path, &info), 0);
    return info.st_mtim.tv_sec * 1000000000 + info.st_mtim.tv_nsec;
}

static void
nothing_is_written_after_the_ready_line(void **state)
{
    static const char *const NAMES[] = {"", "state", "state/bus-a.incarnation", "identity",
                                        "keys.yaml"};
    struct ship *ship = *state;
    time_t before[5];
    void *listener = ship_listener(ship, "");
    void *engine = ship_publisher(ship, "engine-1");

    for (int i = 0; i < 5; i++) {
        before[i] = changed_at(ship, NAMES[i]);
    }
    assert_int_equal(kill(ship->pid, SIGHUP), 0);
    ship_say(engine, "beat/deck/"); /* refused */
    ship_say(engine, "beat/engine-1/");
    ship_expect_topic(listener, "beat/engine-1/");
    assert_int_equal(kill(ship->pid, SIGTERM), 0);
    assert_int_equal(ship_wait(ship), 0);
    for (int i = 0; i < 5; i++) {
        assert_int_equal(changed_at(ship, NAMES[i]), before[i]);
    }
}

/* ---- standard error ---- */

static void
a_log_that_nobody_reads_does_not_stop_the_bus(void **state)
{
    struct ship *ship = *state;
    const char *const args[] = {"-C", ship->config_dir, "--bus", "bus-a", NULL};
    char block[4096] = {0};
    char text[SHIP_TEXT_CAP];
    int log[2];
    void *listener;
    void *engine;

    assert_int_equal(pipe2(log, O_NONBLOCK | O_CLOEXEC), 0);
    while (write(log[1], block, sizeof block) > 0) {
    }
    assert_int_equal(errno, EAGAIN);
    assert_int_equal(fcntl(log[1], F_SETFL, 0), 0); /* the broker's writes would wait */
    ship_spawn(ship, args, log[1]);
    ship_read_output(ship, text);
    listener = ship_listener(ship, "");
    engine = ship_publisher(ship, "engine-1");
    for (int i = 0; i < 100; i++) {
        ship_say(engine, "beat/deck/"); /* each would be a line in the log */
    }
    assert_int_equal(kill(ship->pid, SIGHUP), 0);
    for (int i = 0; i < 100; i++) {
        ship_say(engine, "change/engine-1/");
    }
    for (int i = 0; i < 100;) {
        int len = ship_hear(listener, (uint8_t *)block, sizeof block, SHIP_WAIT_MS);
        assert_in_range(len, 1, sizeof block);
        i += strcmp(block, "change/engine-1/") == 0 ? 1 : 0;
    }
    assert_int_equal(kill(ship->pid, SIGTERM), 0);
    assert_int_equal(ship_wait(ship), 0);
    (void)close(log[0]);
    (void)close(log[1]);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(checking_a_good_configuration_says_so_and_opens_nothing,
                                        ship_set_up, ship_tear_down),
        cmocka_unit_test_setup_teardown(help_is_given, ship_set_up, ship_tear_down),
        cmocka_unit_test_setup_teardown(a_wrong_command_line_ends_with_64, ship_set_up,
                                        ship_tear_down),
        cmocka_unit_test_setup_teardown(a_bus_that_is_not_configured_ends_with_78, ship_set_up,
                                        ship_tear_down),
        cmocka_unit_test_setup_teardown(a_broken_configuration_ends_with_78_and_names_the_file,
                                        ship_set_up, ship_tear_down),
        cmocka_unit_test_setup_teardown(a_bus_without_its_secret_ends_with_78, ship_set_up,
                                        ship_tear_down),
        cmocka_unit_test_setup_teardown(a_secret_that_others_may_read_ends_with_78, ship_set_up,
                                        ship_tear_down),
        cmocka_unit_test_setup_teardown(a_port_in_use_ends_with_1_and_one_sentence, ship_set_up,
                                        ship_tear_down),
        cmocka_unit_test_setup_teardown(a_state_folder_that_cannot_be_made_ends_with_1, ship_set_up,
                                        ship_tear_down),
        cmocka_unit_test_setup_teardown(sigterm_ends_it_with_0, ship_set_up_running,
                                        ship_tear_down),
        cmocka_unit_test_setup_teardown(sigint_ends_it_with_0, ship_set_up_running, ship_tear_down),
        cmocka_unit_test_setup_teardown(
            a_bus_that_was_killed_serves_again_with_a_higher_incarnation, ship_set_up_running,
            ship_tear_down),
        cmocka_unit_test_setup_teardown(a_given_incarnation_is_exceeded, ship_set_up,
                                        ship_tear_down),
        cmocka_unit_test_setup_teardown(nothing_is_written_after_the_ready_line,
                                        ship_set_up_running, ship_tear_down),
        cmocka_unit_test_setup_teardown(a_log_that_nobody_reads_does_not_stop_the_bus, ship_set_up,
                                        ship_tear_down),
    };

    return cmocka_run_group_tests_name("broker", tests, NULL, NULL);
}
