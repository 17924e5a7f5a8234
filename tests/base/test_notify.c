/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_notify - what a service manager hears of a program
 *
 * The manager is a datagram socket of the test. Names and values as in sd_notify(3) and
 * sd_watchdog_enabled(3).
 */
#include <errno.h>
#include <fcntl.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cmocka.h>

#include "proto/base/notify.h"

enum {
    HEARD_CAP = 512,
    SOON_MS = 5000 /* some time of the boot clock */
};

struct manager {
    char dir[64];
    char name[128]; /* of the socket; '@' first in the abstract space */
    int fd;
    char heard[HEARD_CAP];
    struct tl_notify notify;
};

static void
listen_at(struct manager *manager)
{
    struct sockaddr_un at = {.sun_family = AF_UNIX};
    size_t len = strlen(manager->name);

    memcpy(at.sun_path, manager->name, len);
    if (manager->name[0] == '@') {
        at.sun_path[0] = '\0';
    }
    manager->fd = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    assert_true(manager->fd >= 0);
    assert_int_equal(bind(manager->fd, (const struct sockaddr *)&at,
                          (socklen_t)(offsetof(struct sockaddr_un, sun_path) + len)),
                     0);
    assert_int_equal(setenv("NOTIFY_SOCKET", manager->name, 1), 0);
}

static int
set_up(void **state)
{
    struct manager *manager = calloc(1, sizeof *manager);

    assert_non_null(manager);
    (void)snprintf(manager->dir, sizeof manager->dir, "/tmp/trapline-notify-XXXXXX");
    assert_non_null(mkdtemp(manager->dir));
    (void)snprintf(manager->name, sizeof manager->name, "%s/socket", manager->dir);
    listen_at(manager);
    (void)unsetenv("WATCHDOG_USEC");
    (void)unsetenv("WATCHDOG_PID");
    *state = manager;
    return 0;
}

static int
tear_down(void **state)
{
    struct manager *manager = *state;
    char path[HEARD_CAP];

    tl_notify_close(&manager->notify);
    (void)close(manager->fd);
    (void)snprintf(path, sizeof path, "%s/socket", manager->dir);
    (void)unlink(path);
    (void)rmdir(manager->dir);
    free(manager);
    return 0;
}

/* The next datagram that is there, "" when there is none. */
static const char *
hear(struct manager *manager)
{
    ssize_t len = recv(manager->fd, manager->heard, HEARD_CAP - 1, 0);

    manager->heard[len > 0 ? len : 0] = '\0';
    return manager->heard;
}

static void
nothing_happens_without_the_name_of_a_socket(void **state)
{
    struct manager *manager = *state;
    int before = open("/dev/null", O_RDONLY | O_CLOEXEC);

    assert_int_equal(unsetenv("NOTIFY_SOCKET"), 0);
    assert_int_equal(setenv("WATCHDOG_USEC", "3000", 1), 0);
    tl_notify_open(&manager->notify);
    int after = open("/dev/null", O_RDONLY | O_CLOEXEC);
    tl_notify_ready(&manager->notify, "serves");
    tl_notify_turn(&manager->notify, SOON_MS);
    tl_notify_close(&manager->notify);
    assert_int_equal(after, before + 1);
    assert_string_equal(hear(manager), "");
    (void)close(before);
    (void)close(after);
}

static void
ready_is_said_once_with_its_status(void **state)
{
    struct manager *manager = *state;

    tl_notify_open(&manager->notify);
    tl_notify_turn(&manager->notify, SOON_MS);
    assert_string_equal(hear(manager), "");
    tl_notify_ready(&manager->notify, "serves");
    assert_string_equal(hear(manager), "READY=1\nSTATUS=serves");
    tl_notify_ready(&manager->notify, "serves");
    tl_notify_status(&manager->notify, "serves");
    tl_notify_turn(&manager->notify, SOON_MS);
    assert_string_equal(hear(manager), "");
    tl_notify_status(&manager->notify, "serves 3");
    assert_string_equal(hear(manager), "STATUS=serves 3");
    tl_notify_close(&manager->notify);
    assert_string_equal(hear(manager), "STOPPING=1");
    tl_notify_close(&manager->notify);
    assert_string_equal(hear(manager), "");
}

static void
name_in_the_abstract_space_is_found(void **state)
{
    struct manager *manager = *state;

    (void)close(manager->fd);
    (void)snprintf(manager->name, sizeof manager->name, "@trapline-notify-%d", (int)getpid());
    listen_at(manager);
    tl_notify_open(&manager->notify);
    tl_notify_ready(&manager->notify, "serves");
    assert_string_equal(hear(manager), "READY=1\nSTATUS=serves");
}

static void
no_child_takes_itself_for_this_program(void **state)
{
    struct manager *manager = *state;

    assert_int_equal(setenv("WATCHDOG_USEC", "3000000", 1), 0);
    assert_int_equal(setenv("WATCHDOG_PID", "1", 1), 0);
    tl_notify_open(&manager->notify);
    assert_null(getenv("NOTIFY_SOCKET"));
    assert_null(getenv("WATCHDOG_USEC"));
    assert_null(getenv("WATCHDOG_PID"));
    assert_int_equal(fcntl(manager->notify.fd, F_GETFD) & FD_CLOEXEC, FD_CLOEXEC);
}

/* Three times in 3 s, whatever the loop does between. */
static void
watchdog_is_fed_by_turns_once_ready(void **state)
{
    static const struct {
        uint64_t at_ms;
        bool is_fed;
    } turns[] = {{SOON_MS, true},         {SOON_MS + 1, false},    {SOON_MS + 999, false},
                 {SOON_MS + 1000, true},  {SOON_MS + 1999, false}, {SOON_MS + 2600, true},
                 {SOON_MS + 3000, false}, {SOON_MS + 3600, true}};
    struct manager *manager = *state;
    char pid[24];

    (void)snprintf(pid, sizeof pid, "%d", (int)getpid());
    assert_int_equal(setenv("WATCHDOG_USEC", "3000000", 1), 0);
    assert_int_equal(setenv("WATCHDOG_PID", pid, 1), 0);
    tl_notify_open(&manager->notify);
    tl_notify_turn(&manager->notify, SOON_MS);
    tl_notify_status(&manager->notify, "starts");
    assert_string_equal(hear(manager), "STATUS=starts");
    tl_notify_ready(&manager->notify, "serves");
    assert_string_equal(hear(manager), "READY=1\nSTATUS=serves");
    tl_notify_status(&manager->notify, "serves 3");
    (void)hear(manager);
    assert_string_equal(hear(manager), "");
    for (size_t i = 0; i < sizeof turns / sizeof turns[0]; i++) {
        tl_notify_turn(&manager->notify, turns[i].at_ms);
        assert_string_equal(hear(manager), turns[i].is_fed ? "WATCHDOG=1" : "");
    }
}

static void
watchdog_of_another_or_of_no_length_is_not_fed(void **state)
{
    static const char *const rows[][2] = {
        {"3000000", "1"}, {"3000000", "x"}, {"0", NULL},
        {"-3", NULL},     {"", NULL},       {"18446744073709551616", NULL},
    };
    struct manager *manager = *state;

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_int_equal(setenv("NOTIFY_SOCKET", manager->name, 1), 0);
        assert_int_equal(setenv("WATCHDOG_USEC", rows[i][0], 1), 0);
        if (rows[i][1] != NULL) {
            assert_int_equal(setenv("WATCHDOG_PID", rows[i][1], 1), 0);
        }
        tl_notify_open(&manager->notify);
        tl_notify_ready(&manager->notify, "serves");
        assert_string_equal(hear(manager), "READY=1\nSTATUS=serves");
        tl_notify_turn(&manager->notify, SOON_MS);
        tl_notify_turn(&manager->notify, UINT64_MAX);
        assert_string_equal(hear(manager), "");
        tl_notify_close(&manager->notify);
        (void)hear(manager);
    }
}

/* However short: a turn of the loop is the most that there is. */
static void
shortest_watchdog_is_fed_each_millisecond(void **state)
{
    struct manager *manager = *state;

    assert_int_equal(setenv("WATCHDOG_USEC", "1", 1), 0);
    tl_notify_open(&manager->notify);
    tl_notify_ready(&manager->notify, "serves");
    (void)hear(manager);
    for (uint64_t i = 0; i < 3; i++) {
        tl_notify_turn(&manager->notify, SOON_MS + i);
        assert_string_equal(hear(manager), "WATCHDOG=1");
    }
}

static void
name_that_cannot_be_used_is_none(void **state)
{
    char longest[109];
    const char *const names[] = {"", "/", "@", "socket", "./socket", longest};
    struct manager *manager = *state;

    memset(longest, 'a', sizeof longest);
    longest[0] = '/';
    longest[108] = '\0'; /* one more than an address holds with its NUL */
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        assert_int_equal(setenv("NOTIFY_SOCKET", names[i], 1), 0);
        tl_notify_open(&manager->notify);
        assert_false(manager->notify.is_open);
        tl_notify_ready(&manager->notify, "serves");
        tl_notify_turn(&manager->notify, SOON_MS);
    }
    longest[107] = '\0';
    assert_int_equal(setenv("NOTIFY_SOCKET", longest, 1), 0);
    tl_notify_open(&manager->notify);
    assert_true(manager->notify.is_open);
    tl_notify_ready(&manager->notify, "serves");
}

static void
status_stays_one_plain_line_and_is_cut(void **state)
{
    struct manager *manager = *state;
    char text[3 * TL_NOTIFY_STATUS_CAP];

    tl_notify_open(&manager->notify);
    tl_notify_status(&manager->notify, "down\nREADY=1\x1B[2J");
    assert_string_equal(hear(manager), "STATUS=down?READY=1?[2J");
    memset(text, 'x', sizeof text);
    text[sizeof text - 1] = '\0';
    tl_notify_ready(&manager->notify, text);
    assert_int_equal(strlen(hear(manager)), strlen("READY=1\nSTATUS=") + TL_NOTIFY_STATUS_CAP - 1);
}

/* Fill what the manager has not read, until the system takes no more. */
static void
fill(const struct manager *manager)
{
    struct sockaddr_un to = {.sun_family = AF_UNIX};
    int fd = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);

    memcpy(to.sun_path, manager->name, strlen(manager->name));
    assert_true(fd >= 0);
    while (sendto(fd, "X=1", 3, 0, (const struct sockaddr *)&to, sizeof to) >= 0) {
    }
    assert_int_equal(errno, EAGAIN);
    (void)close(fd);
}

static void
what_a_manager_does_not_take_is_told_at_a_later_turn(void **state)
{
    struct manager *manager = *state;

    assert_int_equal(setenv("WATCHDOG_USEC", "3000000", 1), 0);
    tl_notify_open(&manager->notify);
    fill(manager);
    tl_notify_ready(&manager->notify, "serves");
    for (uint64_t i = 0; i < 1000; i++) {
        tl_notify_turn(&manager->notify, SOON_MS + i);
    }
    while (strcmp(hear(manager), "X=1") == 0) {
    }
    assert_string_equal(manager->heard, "");
    tl_notify_turn(&manager->notify, SOON_MS + 1000);
    assert_string_equal(hear(manager), "READY=1\nSTATUS=serves");
    assert_string_equal(hear(manager), "WATCHDOG=1");
    assert_string_equal(hear(manager), "");
}

static void
manager_that_binds_its_socket_anew_is_told(void **state)
{
    struct manager *manager = *state;

    tl_notify_open(&manager->notify);
    tl_notify_ready(&manager->notify, "serves");
    (void)hear(manager);
    (void)close(manager->fd);
    tl_notify_status(&manager->notify, "alone");
    assert_int_equal(unlink(manager->name), 0);
    tl_notify_turn(&manager->notify, SOON_MS);
    listen_at(manager);
    tl_notify_turn(&manager->notify, SOON_MS);
    assert_string_equal(hear(manager), "STATUS=alone");
    assert_string_equal(hear(manager), "");
}

#define TEST(claim) cmocka_unit_test_setup_teardown(claim, set_up, tear_down)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(nothing_happens_without_the_name_of_a_socket),
        TEST(ready_is_said_once_with_its_status),
        TEST(name_in_the_abstract_space_is_found),
        TEST(no_child_takes_itself_for_this_program),
        TEST(watchdog_is_fed_by_turns_once_ready),
        TEST(watchdog_of_another_or_of_no_length_is_not_fed),
        TEST(shortest_watchdog_is_fed_each_millisecond),
        TEST(name_that_cannot_be_used_is_none),
        TEST(status_stays_one_plain_line_and_is_cut),
        TEST(what_a_manager_does_not_take_is_told_at_a_later_turn),
        TEST(manager_that_binds_its_socket_anew_is_told),
    };

    return cmocka_run_group_tests_name("notify", tests, NULL, NULL);
}
