/* SPDX-License-Identifier: Apache-2.0 */
/* A value becomes a scaled whole number exactly, or it is refused. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>

#include "clients/station/feed/lines.h"

enum {
    UNTOUCHED = 4711,
    DRAWS = 20000
};

static void
numbers_are_exact(void **state)
{
    static const struct {
        const char *text;
        uint32_t scale;
        int64_t value;
    } rows[] = {
        {"34000", 1, 34000},
        {"405", 100, 40500},
        {"2.05", 100, 205},
        {"2.5", 100, 250},
        {"-1.5", 100, -150},
        {"-1.5", 10, -15},
        {"0", 1, 0},
        {"-0", 1, 0},
        {"-0.01", 100, -1},
        {"0.07", 100, 7},
        {"007", 1, 7},
        {"2.0500", 100, 205},
        {"2.000", 1, 2},
        {"0.000000001", 1000000000, 1},
        {"9223372036854775807", 1, INT64_MAX},
        {"-9223372036854775808", 1, INT64_MIN},
        {"92233720368547758.07", 100, INT64_MAX},
        {"-92233720368547758.08", 100, INT64_MIN},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        int64_t value = UNTOUCHED;
        bool read = tl_feed_number(rows[i].text, rows[i].scale, &value);
        if (!read || value != rows[i].value) {
            fail_msg("%s at %" PRIu32 ": %d, %" PRId64, rows[i].text, rows[i].scale, read, value);
        }
    }
}

static void
numbers_of_another_form_are_refused(void **state)
{
    static const struct {
        const char *text;
        uint32_t scale;
    } rows[] = {
        {"", 1},
        {"-", 1},
        {"--1", 1},
        {"+1", 1},
        {" 1", 1},
        {"1 ", 1},
        {"1.", 10},
        {".5", 10},
        {"-.5", 10},
        {"1..5", 10},
        {"1.5.0", 10},
        {"1,5", 10},
        {"1e3", 1},
        {"1E3", 1},
        {"0x10", 1},
        {"nan", 1},
        {"inf", 1},
        {"1.5-", 10},
        {"34000lb", 1},
        {"2.055", 100},
        {"2.0501", 100},
        {"0.5", 1},
        {"9223372036854775808", 1},
        {"-9223372036854775809", 1},
        {"92233720368547758.08", 100},
        {"-92233720368547758.09", 100},
        {"922337203685477581", 100},
        {"99999999999999999999999", 1},
        {"1", 0},
        {"1", 2},
        {"1", 20},
        {"1", 101},
        {"1", 2000000000},
        {"1", UINT32_MAX},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        int64_t value = UNTOUCHED;
        if (tl_feed_number(rows[i].text, rows[i].scale, &value) || value != UNTOUCHED) {
            fail_msg("'%s' at %" PRIu32 " was taken: %" PRId64, rows[i].text, rows[i].scale, value);
        }
    }
}

static void
numbers_come_back_as_they_were_written(void **state)
{
    const char *given = getenv("TL_SEED");
    uint64_t seed = given != NULL ? strtoull(given, NULL, 0) : 20260705;

    (void)state;
    (void)printf("           seed %" PRIu64 "\n", seed);
    for (int i = 0; i < DRAWS; i++) {
        seed = seed * 6364136223846793005U + 1442695040888963407U;
        int64_t want = (int64_t)seed >> (i % 63);
        uint64_t size = want < 0 ? 0 - (uint64_t)want : (uint64_t)want;
        int64_t value = UNTOUCHED;
        char text[32];
        (void)snprintf(text, sizeof text, "%s%" PRIu64 ".%02" PRIu64, want < 0 ? "-" : "",
                       size / 100, size % 100);
        if (!tl_feed_number(text, 100, &value) || value != want) {
            fail_msg("%s: %" PRId64 ", not %" PRId64, text, value, want);
        }
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_are_exact),
        cmocka_unit_test(numbers_of_another_form_are_refused),
        cmocka_unit_test(numbers_come_back_as_they_were_written),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
