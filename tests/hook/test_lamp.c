/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_lamp - lines to a lamp through real FIFOs and pseudo-terminals; the time is the test's
 *
 * What a far end makes of the lines is test_lamp_line.py.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

#include "clients/hook/lamp.h"

enum {
    NOW_MS = 5000,
    TURN_MS = 50,
    PATH_CAP = 96,
    TEXT_CAP = 65536,
    SPEC_CAP = 128
};

struct place {
    char dir[48];
    char fifo[PATH_CAP];
    int fd; /* read end; non-blocking; -1 = closed */
    struct tl_lamp lamp;
    uint64_t now_ms;
    int said;
    char told[TL_LAMP_WHY_CAP]; /* the last one said */
    char text[TEXT_CAP];        /* what was heard */
};

static const struct tl_hook_alert FOUL = {
    .severity = "emergency alarm", .rule = "deck-foul", .station = "deck", .text = "deck: foul"};
static const struct tl_lamp_state READY = {.ready = true, .rule = "", .station = ""};
static const struct tl_lamp_state NOT_READY = {.rule = "deck-foul", .station = "deck"};

static void
take_line(void *ctx, const char *line)
{
    struct place *place = ctx;
    place->said++;
    (void)snprintf(place->told, sizeof place->told, "%s", line);
}

static void
open_reader(struct place *place)
{
    place->fd = open(place->fifo, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    assert_true(place->fd >= 0);
}

static void
open_lamp(struct place *place, const char *spec)
{
    char why[TL_LAMP_WHY_CAP];
    tl_lamp_close(&place->lamp, place->now_ms);
    assert_int_equal(tl_lamp_init(&place->lamp, spec, why), TL_OK);
    place->lamp.say = take_line;
    place->lamp.ctx = place;
}

static int
set_up(void **state)
{
    struct place *place = calloc(1, sizeof *place);
    assert_non_null(place);
    (void)signal(SIGPIPE, SIG_IGN);
    (void)snprintf(place->dir, sizeof place->dir, "/tmp/tl-lamp-XXXXXX");
    assert_non_null(mkdtemp(place->dir));
    (void)snprintf(place->fifo, sizeof place->fifo, "%s/lamp@deck", place->dir);
    assert_int_equal(mkfifo(place->fifo, 0600), 0);
    place->now_ms = NOW_MS;
    place->lamp.fd = -1;
    open_reader(place);
    open_lamp(place, place->fifo);
    *state = place;
    return 0;
}

static int
tear_down(void **state)
{
    struct place *place = *state;
    tl_lamp_close(&place->lamp, place->now_ms);
    if (place->fd >= 0) {
        (void)close(place->fd);
    }
    (void)unlink(place->fifo);
    (void)rmdir(place->dir);
    free(place);
    return 0;
}

static void
turn(struct place *place, const struct tl_lamp_state *state)
{
    tl_lamp_tend(&place->lamp, state, place->now_ms);
    place->now_ms += TURN_MS;
}

/* What has come by now, in place of what was heard before. */
static const char *
hear(struct place *place)
{
    ssize_t n = read(place->fd, place->text, sizeof place->text - 1);
    place->text[n > 0 ? n : 0] = '\0';
    return place->text;
}

static size_t
lines_with(const char *text, const char *word)
{
    size_t count = 0;
    for (const char *at = text; (at = strstr(at, word)) != NULL; at++) {
        count++;
    }
    return count;
}

static void
ready_is_said_at_once_and_again_each_quarter_second(void **state)
{
    struct place *place = *state;
    turn(place, &READY);
    assert_memory_equal(hear(place), "TL1 1 5000 0 READY - - - - ", 26);
    for (int i = 1; i < 1000 / TURN_MS; i++) {
        turn(place, &READY);
    }
    assert_int_equal(lines_with(hear(place), " READY "), 3);
}

static void
a_change_is_said_in_the_turn_that_sees_it_and_before_any_edge(void **state)
{
    struct place *place = *state;
    turn(place, &READY);
    (void)hear(place);
    tl_lamp_edge(&place->lamp, TL_HOOK_EDGE_RAISED, &FOUL);
    turn(place, &NOT_READY);
    assert_non_null(strstr(hear(place), " NOT-READY - deck-foul deck - "));
    assert_null(strstr(place->text, "RAISED"));
    turn(place, &NOT_READY);
    assert_non_null(strstr(hear(place), " 0 RAISED emergency-alarm deck-foul deck deck: foul "));
}

static void
in_a_drill_the_word_is_another(void **state)
{
    struct place *place = *state;
    struct tl_lamp_state drill = READY;
    drill.drill = true;
    turn(place, &drill);
    assert_non_null(strstr(hear(place), " DRILL-READY drill - - - "));
    assert_null(strstr(place->text, " READY "));
    turn(place, &READY);
    assert_non_null(strstr(hear(place), " READY - "));
}

static void
nothing_is_put_behind_what_nobody_reads(void **state)
{
    struct place *place = *state;
    for (int i = 0; i < 400; i++) {
        turn(place, &READY);
    }
    (void)hear(place);
    assert_in_range(strlen(place->text), 1, 2 * TL_LAMP_LINE_CAP);
    assert_int_equal(place->said, 1);
    assert_non_null(strstr(place->told, "not taken at its other end"));
    for (int i = 0; i < 1 + TL_LAMP_RETRY_MS / TURN_MS; i++) {
        turn(place, &NOT_READY); /* read again: what is so now comes, and nothing of before */
    }
    assert_non_null(strstr(hear(place), " NOT-READY "));
    assert_null(strstr(place->text, " READY "));
}

static void
of_more_than_sixteen_edges_the_oldest_are_left_out_and_counted(void **state)
{
    struct place *place = *state;
    char station[TL_ID_CAP];
    struct tl_hook_alert alert = FOUL;
    alert.station = station;
    for (int i = 0; i < TL_HOOK_QUEUE + 3; i++) {
        (void)snprintf(station, sizeof station, "engine-%d", i);
        tl_lamp_edge(&place->lamp, TL_HOOK_EDGE_RAISED, &alert);
    }
    size_t edges = 0;
    bool first = true;
    for (int i = 0; i < 40; i++) {
        turn(place, &NOT_READY);
        const char *raised = strstr(hear(place), " 3 RAISED ");
        if (raised != NULL && first) {
            assert_non_null(strstr(raised, " engine-3 "));
            first = false;
        }
        edges += lines_with(place->text, " RAISED ");
    }
    assert_false(first);
    assert_int_equal(edges, TL_HOOK_QUEUE);
}

static void
a_reader_that_goes_is_said_once_and_found_again(void **state)
{
    struct place *place = *state;
    turn(place, &READY);
    (void)close(place->fd);
    place->fd = -1;
    for (int i = 0; i < 100; i++) {
        turn(place, &READY);
    }
    assert_int_equal(place->said, 1);
    open_reader(place);
    for (int i = 0; i < 1 + TL_LAMP_RETRY_MS / TURN_MS; i++) {
        turn(place, &READY);
    }
    assert_non_null(strstr(hear(place), " READY "));
    (void)close(place->fd);
    place->fd = -1;
    for (int i = 0; i < 10; i++) {
        turn(place, &READY);
    }
    assert_int_equal(place->said, 2); /* it had been good in between */
}

static void
what_a_reader_left_unread_is_not_there_for_the_next_one(void **state)
{
    struct place *place = *state;
    for (int i = 0; i < 26; i++) { /* until there is no room, and not yet for as long as a second */
        turn(place, &READY);
    }
    (void)close(place->fd);
    for (int i = 0; i < 40; i++) {
        turn(place, &NOT_READY);
    }
    open_reader(place);
    for (int i = 0; i < 1 + TL_LAMP_RETRY_MS / TURN_MS; i++) {
        turn(place, &NOT_READY);
    }
    assert_non_null(strstr(hear(place), " NOT-READY "));
    assert_null(strstr(place->text, " READY "));
    assert_int_equal(place->said, 1);
}

static void
the_end_is_said(void **state)
{
    struct place *place = *state;
    turn(place, &READY);
    (void)hear(place);
    tl_lamp_close(&place->lamp, place->now_ms);
    assert_non_null(strstr(hear(place), " END - - - - "));
    turn(place, &READY);
    assert_string_equal(hear(place), "");
}

static void
what_is_no_line_or_has_no_such_speed_is_refused(void **state)
{
    struct place *place = *state;
    struct tl_lamp other;
    char why[TL_LAMP_WHY_CAP];
    char file[PATH_CAP];
    char slow[SPEC_CAP];
    (void)snprintf(file, sizeof file, "%s/file", place->dir);
    int fd = open(file, O_WRONLY | O_CREAT | O_CLOEXEC, 0600);
    (void)close(fd);
    (void)snprintf(slow, sizeof slow, "%s@1200", place->fifo);
    const char *const specs[] = {file, place->dir, "", "@9600", slow};
    for (size_t i = 0; i < sizeof specs / sizeof specs[0]; i++) {
        assert_int_equal(tl_lamp_init(&other, specs[i], why), TL_BADARG);
        assert_non_null(strstr(why, "lamp '"));
        tl_lamp_tend(&other, &READY, NOW_MS); /* and does nothing */
        tl_lamp_close(&other, NOW_MS);
    }
    (void)unlink(file);
}

static void
a_line_that_is_no_terminal_is_said_and_not_written_to(void **state)
{
    struct place *place = *state;
    open_lamp(place, "/dev/null");
    turn(place, &READY);
    turn(place, &READY);
    assert_int_equal(place->said, 1);
    assert_non_null(strstr(place->told, "neither a terminal line nor a FIFO"));
}

static void
a_second_writer_is_kept_off(void **state)
{
    struct place *place = *state;
    struct place other = {.fd = -1, .lamp.fd = -1, .now_ms = NOW_MS};
    turn(place, &READY);
    (void)hear(place);
    open_lamp(&other, place->fifo);
    turn(&other, &NOT_READY);
    assert_int_equal(other.said, 1);
    assert_non_null(strstr(other.told, "another program writes to it"));
    tl_lamp_close(&other.lamp, NOW_MS);
    assert_string_equal(hear(place), "");
}

static void
a_terminal_line_is_raw_and_has_its_speed(void **state)
{
    struct place *place = *state;
    char spec[SPEC_CAP];
    struct termios line;
    int master = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    assert_true(master >= 0 && grantpt(master) == 0 && unlockpt(master) == 0);
    (void)snprintf(spec, sizeof spec, "%s@38400", ptsname(master)); // NOLINT: one thread
    open_lamp(place, spec);
    turn(place, &READY);
    assert_int_equal(tcgetattr(master, &line), 0);
    assert_int_equal(cfgetospeed(&line), B38400);
    assert_int_equal(line.c_oflag & OPOST, 0);
    assert_int_equal(line.c_lflag & (ICANON | ECHO), 0);
    assert_int_equal(line.c_cflag & (CSIZE | CSTOPB | PARENB | CRTSCTS), CS8);
    assert_true((line.c_cflag & CLOCAL) != 0);
    ssize_t n = read(master, place->text, sizeof place->text - 1);
    assert_true(n > 0);
    place->text[n] = '\0';
    assert_non_null(strstr(place->text, " READY - - - - "));
    assert_int_equal(place->text[n - 1], '\n');
    assert_null(strchr(place->text, '\r'));
    (void)close(master); /* the cable is pulled */
    for (int i = 0; i < 100; i++) {
        turn(place, &READY);
    }
    assert_int_equal(place->said, 1);
}

static void
a_long_and_hostile_text_is_one_line_of_ascii(void **state)
{
    struct place *place = *state;
    char text[TL_TEXT_CAP];
    struct tl_hook_alert alert = {
        .severity = "alarm\nTL1 1 1", .rule = "a b\x1b[2J", .station = "", .text = text};
    memset(text, 'x', sizeof text);
    memcpy(text, "TL1 1 1 0 READY \n\xc3\xa9", 19);
    text[sizeof text - 1] = '\0';
    tl_lamp_edge(&place->lamp, TL_HOOK_EDGE_GONE, &alert);
    turn(place, &NOT_READY);
    (void)hear(place);
    turn(place, &NOT_READY);
    (void)hear(place);
    size_t len = strlen(place->text);
    assert_in_range(len, 100, TL_LAMP_LINE_CAP - 1);
    assert_ptr_equal(strchr(place->text, '\n'), place->text + len - 1);
    for (size_t i = 0; i + 1 < len; i++) {
        assert_in_range(place->text[i], ' ', '~');
    }
    assert_non_null(strstr(place->text, " GONE alarm?TL1-1-1 a-b?[2J - TL1 1 1 0 READY ???xxx"));
}

int
main(void)
{
#define EACH(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        EACH(ready_is_said_at_once_and_again_each_quarter_second),
        EACH(a_change_is_said_in_the_turn_that_sees_it_and_before_any_edge),
        EACH(in_a_drill_the_word_is_another),
        EACH(nothing_is_put_behind_what_nobody_reads),
        EACH(of_more_than_sixteen_edges_the_oldest_are_left_out_and_counted),
        EACH(a_reader_that_goes_is_said_once_and_found_again),
        EACH(what_a_reader_left_unread_is_not_there_for_the_next_one),
        EACH(the_end_is_said),
        EACH(what_is_no_line_or_has_no_such_speed_is_refused),
        EACH(a_line_that_is_no_terminal_is_said_and_not_written_to),
        EACH(a_second_writer_is_kept_off),
        EACH(a_terminal_line_is_raw_and_has_its_speed),
        EACH(a_long_and_hostile_text_is_one_line_of_ascii),
    };
#undef EACH
    return cmocka_run_group_tests(tests, NULL, NULL);
}
