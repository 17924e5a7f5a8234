/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_log - one plain line for one event
 */
#include <errno.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "proto/base/log.h"
#include "tests/base/capture.h"

/* Longest text that is not cut: the line without "notice LOG-001 " and the newline. */
#define TEXT_MAX (TL_LOG_LINE_MAX - 16)

static void
write_levels(void)
{
    tl_log(TL_LOG_ERROR, "LOG-001", "engine %d: set %d lb", 3, 40000);
    tl_log(TL_LOG_WARNING, "LOG-002", "bus A: lost");
    tl_log(TL_LOG_NOTICE, "LOG-003", "bus A: back");
    tl_log(TL_LOG_INFO, "LOG-004", "configuration: read");
}

static void
log_line_is_level_id_and_text(void **state)
{
    char got[1024];

    (void)state;
    (void)capture_stderr(write_levels, got, sizeof got);
    assert_string_equal(got, "error LOG-001 engine 3: set 40000 lb\n"
                             "warning LOG-002 bus A: lost\n"
                             "notice LOG-003 bus A: back\n"
                             "info LOG-004 configuration: read\n");
}

static void
write_hostile(void)
{
    tl_log(TL_LOG_NOTICE, "LOG-001", "remark '%s'", "%s%n\x1B[2J\r\nerror LOG-002 forged\xFF");
}

static void
log_remote_text_stays_one_plain_line(void **state)
{
    char got[1024];

    (void)state;
    (void)capture_stderr(write_hostile, got, sizeof got);
    assert_string_equal(got, "notice LOG-001 remark '%s%n?[2J??error LOG-002 forged?'\n");
}

static void
write_longest(void)
{
    tl_log(TL_LOG_NOTICE, "LOG-001", "%0*d", TEXT_MAX, 7);
}

static void
write_too_long(void)
{
    tl_log(TL_LOG_NOTICE, "LOG-001", "%0*d", TEXT_MAX + 1, 7);
}

static void
write_far_too_long(void)
{
    tl_log(TL_LOG_NOTICE, "LOG-001", "%0*d", 100 * TL_LOG_LINE_MAX, 7);
}

/* The text is zeros; U+2192 stands across the place where the line is cut. */
static void
write_cut_in_character(void)
{
    tl_log(TL_LOG_NOTICE, "LOG-001", "%0*d\xE2\x86\x92%0*d", TEXT_MAX - 4, 0, TEXT_MAX, 0);
}

/* Each of these characters becomes one '?', so text gets shorter when made plain. */
static void
write_repeated(const char *character, size_t count)
{
    char src[4096] = "";
    size_t size = strlen(character);

    assert_true(size * count < sizeof src);
    for (size_t i = 0; i < count; i++) {
        memcpy(src + i * size, character, size);
    }
    tl_log(TL_LOG_NOTICE, "LOG-001", "%s", src);
}

/* Too long as it came, and not too long when plain. */
static void
write_shrinking(void)
{
    write_repeated("\xC2\x9B", 600);
}

/* Cut as it came, though what is left would fit when plain. */
static void
write_far_too_long_and_shrinking(void)
{
    write_repeated("\xE2\x80\xA8", 1000);
}

static void
log_longest_line_is_whole(void **state)
{
    char got[2 * TL_LOG_LINE_MAX];

    (void)state;
    assert_int_equal(capture_stderr(write_shrinking, got, sizeof got), 15 + 600 + 1);
    assert_string_equal(got + 15 + 600 - 4, "????\n");
    assert_int_equal(capture_stderr(write_longest, got, sizeof got), TL_LOG_LINE_MAX);
    assert_string_equal(got + TL_LOG_LINE_MAX - 4, "007\n");
}

static void
log_longer_line_is_cut_and_says_so(void **state)
{
    char got[2 * TL_LOG_LINE_MAX];

    (void)state;
    assert_int_equal(capture_stderr(write_too_long, got, sizeof got), TL_LOG_LINE_MAX);
    assert_string_equal(got + TL_LOG_LINE_MAX - 5, "0...\n");
    assert_int_equal(capture_stderr(write_far_too_long, got, sizeof got), TL_LOG_LINE_MAX);
    assert_string_equal(got + TL_LOG_LINE_MAX - 5, "0...\n");
    (void)capture_stderr(write_far_too_long_and_shrinking, got, sizeof got);
    assert_non_null(strstr(got, "?...\n"));
    size_t len = capture_stderr(write_cut_in_character, got, sizeof got);
    assert_int_equal(len, TL_LOG_LINE_MAX - 1);
    assert_string_equal(got + len - 5, "0...\n");
}

/* With standard error closed the write fails, and sets errno. */
static void
log_keeps_errno_when_the_write_fails(void **state)
{
    int saved = dup(STDERR_FILENO);

    (void)state;
    assert_true(saved >= 0);
    assert_int_equal(close(STDERR_FILENO), 0);
    errno = EDOM;
    tl_log(TL_LOG_INFO, "LOG-001", "bus A: lost");
    int after = errno;
    assert_int_equal(dup2(saved, STDERR_FILENO), STDERR_FILENO);
    (void)close(saved);
    assert_int_equal(after, EDOM);
}

/* ---- forms ---- */

static void
write_fault(void)
{
    tl_log_fault("trapline-broker: %s", "no \"bus-c\" in C:\\x\x1B[2J; see bus.yaml");
}

/* Priorities of sd-daemon(3): 3 error, 4 warning, 5 notice, 6 information. */
static void
write_priorities(void)
{
    write_levels();
    write_fault();
}

static void
write_with_form(const char *form, void (*write_it)(void), char got[1024])
{
    assert_int_equal(setenv("TRAPLINE_LOG", form, 1), 0);
    (void)capture_stderr(write_it, got, 1024);
    assert_int_equal(unsetenv("TRAPLINE_LOG"), 0);
}

static const char with_priorities[] =
    "<3>error LOG-001 engine 3: set 40000 lb\n"
    "<4>warning LOG-002 bus A: lost\n"
    "<5>notice LOG-003 bus A: back\n"
    "<6>info LOG-004 configuration: read\n"
    "<3>trapline-broker: no \"bus-c\" in C:\\x?[2J; see bus.yaml\n";

static void
fault_is_its_text_alone(void **state)
{
    char got[1024];

    (void)state;
    (void)capture_stderr(write_fault, got, sizeof got);
    assert_string_equal(got, "trapline-broker: no \"bus-c\" in C:\\x?[2J; see bus.yaml\n");
}

static void
priorities_are_written_when_asked_for(void **state)
{
    char got[1024];

    (void)state;
    write_with_form("journal", write_priorities, got);
    assert_string_equal(got, with_priorities);
    write_with_form("something", write_levels, got);
    assert_memory_equal(got, "error LOG-001", 13);
}

static void
json_is_one_object_a_line_when_asked_for(void **state)
{
    char got[1024];

    (void)state;
    write_with_form("json", write_priorities, got);
    assert_string_equal(
        got,
        "{\"level\":\"error\",\"id\":\"LOG-001\",\"text\":\"engine 3: set 40000 lb\"}\n"
        "{\"level\":\"warning\",\"id\":\"LOG-002\",\"text\":\"bus A: lost\"}\n"
        "{\"level\":\"notice\",\"id\":\"LOG-003\",\"text\":\"bus A: back\"}\n"
        "{\"level\":\"info\",\"id\":\"LOG-004\",\"text\":\"configuration: read\"}\n"
        "{\"level\":\"error\",\"text\":\"trapline-broker: no \\\"bus-c\\\" in C:\\\\x?[2J; see "
        "bus.yaml\"}\n");
}

static void
write_quotes(void)
{
    char quotes[TL_LOG_LINE_MAX];

    memset(quotes, '"', sizeof quotes);
    tl_log(TL_LOG_NOTICE, "LOG-001", "%.*s", TL_LOG_LINE_MAX, quotes);
}

/* All of it escaped, the line cut, and still a whole object. */
static void
longest_json_line_is_whole(void **state)
{
    char got[3 * TL_LOG_LINE_MAX];

    (void)state;
    assert_int_equal(setenv("TRAPLINE_LOG", "json", 1), 0);
    size_t len = capture_stderr(write_quotes, got, sizeof got);
    assert_int_equal(unsetenv("TRAPLINE_LOG"), 0);
    assert_string_equal(got + len - 8, "\\\"...\"}\n");
    assert_true(len > (size_t)2 * (TL_LOG_LINE_MAX - 8));
}

/* Standard error is the file that $JOURNAL_STREAM names, or another one. */
static void
write_in_the_journal(void)
{
    char stream[64];
    struct stat st;

    assert_int_equal(fstat(STDERR_FILENO, &st), 0);
    (void)snprintf(stream, sizeof stream, "%ju:%ju", (uintmax_t)st.st_dev, (uintmax_t)st.st_ino);
    assert_int_equal(setenv("JOURNAL_STREAM", stream, 1), 0);
    write_priorities();
    (void)snprintf(stream, sizeof stream, "%ju:%ju", (uintmax_t)st.st_dev,
                   (uintmax_t)st.st_ino + 1);
    assert_int_equal(setenv("JOURNAL_STREAM", stream, 1), 0);
    write_fault();
    assert_int_equal(unsetenv("JOURNAL_STREAM"), 0);
}

static void
journal_gets_priorities_and_no_other_file_does(void **state)
{
    char got[1024];
    size_t whole = sizeof with_priorities - 1;

    (void)state;
    (void)capture_stderr(write_in_the_journal, got, sizeof got);
    assert_memory_equal(got, with_priorities, whole);
    assert_memory_equal(got + whole, "trapline-broker: ", 17);
    write_with_form("plain", write_in_the_journal, got);
    assert_memory_equal(got, "error LOG-001 ", 14);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(log_line_is_level_id_and_text),
        cmocka_unit_test(log_remote_text_stays_one_plain_line),
        cmocka_unit_test(log_longest_line_is_whole),
        cmocka_unit_test(log_longer_line_is_cut_and_says_so),
        cmocka_unit_test(log_keeps_errno_when_the_write_fails),
        cmocka_unit_test(fault_is_its_text_alone),
        cmocka_unit_test(priorities_are_written_when_asked_for),
        cmocka_unit_test(json_is_one_object_a_line_when_asked_for),
        cmocka_unit_test(longest_json_line_is_whole),
        cmocka_unit_test(journal_gets_priorities_and_no_other_file_does),
    };

    return cmocka_run_group_tests_name("log", tests, NULL, NULL);
}
