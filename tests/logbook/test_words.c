/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_words - times and figures of the log
 *
 * Times: RFC 3339 section 5.8 (examples) and 5.6 (grammar); the numbers by date(1), GNU coreutils.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "clients/logbook/words.h"

static void
a_time_is_read_as_rfc_3339_writes_it(void **state)
{
    static const struct {
        const char *text;
        uint64_t wall_ms;
    } rows[] = {
        {"1985-04-12T23:20:50.52Z", 482196050520u}, /* its first example */
        {"1990-12-31T23:59:60Z", 662688000000u},    /* a leap second: the next day begins */
        {"1985-04-12t23:20:50z", 482196050000u},
        {"2000-02-29T00:00:00.0009Z", 951782400000u},
        {"2023-11-14T22:13:20.123456Z", 1700000000123u},
        {"1970-01-01T00:00:00Z", 0},
        {"9999-12-31T23:59:59.999Z", 253402300799999u},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        uint64_t wall_ms = UINT64_MAX;
        if (!tl_time_read(rows[i].text, &wall_ms) || wall_ms != rows[i].wall_ms) {
            fail_msg("%s", rows[i].text);
        }
    }
}

static void
what_is_no_time_in_utc_is_refused(void **state)
{
    static const char *const rows[] = {
        "1996-12-19T16:39:57-08:00", /* RFC 3339's second example: an offset */
        "1937-01-01T12:00:27.87+00:20",
        "2001-02-29T00:00:00Z",
        "2000-00-01T00:00:00Z",
        "2000-13-01T00:00:00Z",
        "2000-01-00T00:00:00Z",
        "2000-01-32T00:00:00Z",
        "2000-01-01T24:00:00Z",
        "2000-01-01T00:60:00Z",
        "2000-01-01T00:00:60Z",
        "2000-01-01T23:59:61Z",
        "2000-01-01 00:00:00Z",
        "2000-01-01T00:00:00",
        "2000-01-01T00:00:00.Z",
        "2000-01-01T00:00Z",
        "2000-1-01T00:00:00Z",
        "02000-01-01T00:00:00Z",
        "2000-01-01T00:00:00Zx",
        "1969-12-31T23:59:59Z",
        "",
        "Z",
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        uint64_t wall_ms = 77;
        if (tl_time_read(rows[i], &wall_ms) || wall_ms != 77) {
            fail_msg("%s", rows[i]);
        }
    }
}

static void
a_time_is_written_as_it_is_read(void **state)
{
    static const uint64_t rows[] = {
        1, 482196050520u, 951782400000u, 1700000000123u, 4107542400000u, 253402300799999u};
    char text[TL_TIME_CAP];
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        uint64_t wall_ms = 0;
        assert_true(tl_time_read(tl_time_text(rows[i], text), &wall_ms));
        assert_true(wall_ms == rows[i]);
    }
    assert_string_equal(tl_time_text(482196050520u, text), "1985-04-12T23:20:50.520Z");
    assert_string_equal(tl_time_text(0, text), "----------T--:--:--.---Z");
    assert_string_equal(tl_time_text(253402300800000u, text), "----------T--:--:--.---Z");
    assert_string_equal(tl_clock_text(UINT64_MAX, text), "--:--:--");
}

static void
a_time_of_day_has_hours_and_minutes(void **state)
{
    uint64_t day_ms = 0;
    (void)state;
    assert_true(tl_clock_read("00:00", &day_ms) && day_ms == 0);
    assert_true(tl_clock_read("23:59:59", &day_ms) && day_ms == 86399000u);
    static const char *const bad[] = {"24:00",  "23:60",   "23:59:60", "9:30", "09:3",
                                      "09:30:", "09:30:1", "09:30 ",   "09",   ""};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        if (tl_clock_read(bad[i], &day_ms)) {
            fail_msg("%s", bad[i]);
        }
    }
}

static void
a_figure_has_its_decimals(void **state)
{
    char text[TL_NUMBER_CAP];
    (void)state;
    assert_string_equal(tl_scaled_text(275, 1, text), "27.5");
    assert_string_equal(tl_scaled_text(-35, 1, text), "-3.5");
    assert_string_equal(tl_scaled_text(-5, 2, text), "-0.05");
    assert_string_equal(tl_scaled_text(7, 3, text), "0.007");
    assert_string_equal(tl_scaled_text(12, 0, text), "12");
    assert_string_equal(tl_scaled_text(INT64_MIN, 0, text), "-9223372036854775808");
    assert_string_equal(tl_plain_pounds_text(34000, text), "34,000");
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_time_is_read_as_rfc_3339_writes_it),
        cmocka_unit_test(what_is_no_time_in_utc_is_refused),
        cmocka_unit_test(a_time_is_written_as_it_is_read),
        cmocka_unit_test(a_time_of_day_has_hours_and_minutes),
        cmocka_unit_test(a_figure_has_its_decimals),
    };
    return cmocka_run_group_tests_name("words", tests, NULL, NULL);
}
