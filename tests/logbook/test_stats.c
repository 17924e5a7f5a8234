/* SPDX-License-Identifier: Apache-2.0 */
/* test_stats - quartiles against GSL's, bins and windows by hand */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>
#include <gsl/gsl_statistics_double.h>

#include "clients/logbook/stats.h"

enum {
    MOST = 200
};

static void
fill(struct tl_values *values, size_t count, unsigned *seed)
{
    for (size_t i = 0; i < count; i++) {
        assert_int_equal(tl_values_add(values, (uint64_t)(rand_r(seed) % 100000)), 0);
    }
    tl_values_sort(values);
}

/* gsl_stats_quantile_from_sorted_data interpolates at f (n - 1), as ours does. */
static void
quartiles_are_those_of_gsl(void **state)
{
    unsigned seed = 20260105;
    (void)state;
    for (size_t count = 1; count <= MOST; count++) {
        struct tl_values values = {0};
        double sorted[MOST];
        fill(&values, count, &seed);
        for (size_t i = 0; i < count; i++) {
            sorted[i] = (double)values.value[i];
        }
        for (unsigned k = 0; k <= 4; k++) {
            double expected = gsl_stats_quantile_from_sorted_data(sorted, 1, count, k / 4.0);
            double off = (double)tl_quartile(&values, k) - expected;
            if (off > 0.5001 || off < -0.5001) {
                fail_msg("%zu values, quartile %u: off by %f", count, k, off);
            }
        }
        tl_values_free(&values);
    }
}

static void
a_share_is_rounded_to_the_nearest(void **state)
{
    (void)state;
    assert_int_equal(tl_permille((struct tl_share){0, 7}), 0);
    assert_int_equal(tl_permille((struct tl_share){7, 7}), 1000);
    assert_int_equal(tl_permille((struct tl_share){2, 3}), 667);
    assert_int_equal(tl_permille((struct tl_share){1, 2000}), 1); /* half goes up */
    assert_int_equal(tl_permille((struct tl_share){1, 2001}), 0);
}

static void
bins_hold_their_lower_bound(void **state)
{
    static const uint64_t in[] = {5, 9, 10, 19, 20, 34};
    static const uint64_t units[] = {10, 1000};
    struct tl_values values = {0};
    struct tl_bins bins;
    (void)state;
    for (size_t i = 0; i < sizeof in / sizeof in[0]; i++) {
        assert_int_equal(tl_values_add(&values, in[i]), 0);
    }
    tl_bins_fill(&values, units, 2, &bins);
    assert_int_equal(bins.first, 0);
    assert_int_equal(bins.count, 4);
    assert_int_equal(bins.in[0], 2);
    assert_int_equal(bins.in[1], 2);
    assert_int_equal(bins.in[2], 1);
    assert_int_equal(bins.in[3], 1);
    tl_values_free(&values);
}

static void
the_last_bin_holds_what_is_beyond(void **state)
{
    static const uint64_t units[] = {1};
    struct tl_values values = {0};
    struct tl_bins bins;
    size_t sum = 0;
    (void)state;
    for (uint64_t i = 0; i < (uint64_t)2 * TL_BINS_MAX; i++) {
        assert_int_equal(tl_values_add(&values, i), 0);
    }
    tl_bins_fill(&values, units, 1, &bins);
    assert_int_equal(bins.count, TL_BINS_MAX);
    for (size_t i = 0; i < bins.count; i++) {
        sum += bins.in[i];
    }
    assert_int_equal(sum, values.count);
    assert_int_equal(bins.in[TL_BINS_MAX - 1], TL_BINS_MAX + 1);
    tl_values_free(&values);
}

static void
both_ends_of_a_window_are_in(void **state)
{
    static const uint64_t in[] = {0, 5, 10, 11, 30};
    struct tl_values values = {0};
    (void)state;
    assert_int_equal(tl_most_within(&values, 10), 0);
    for (size_t i = 0; i < sizeof in / sizeof in[0]; i++) {
        assert_int_equal(tl_values_add(&values, in[i]), 0);
    }
    assert_int_equal(tl_most_within(&values, 10), 3);
    assert_int_equal(tl_most_within(&values, 11), 4);
    assert_int_equal(tl_most_within(&values, 0), 1);
    tl_values_free(&values);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(quartiles_are_those_of_gsl),
        cmocka_unit_test(a_share_is_rounded_to_the_nearest),
        cmocka_unit_test(bins_hold_their_lower_bound),
        cmocka_unit_test(the_last_bin_holds_what_is_beyond),
        cmocka_unit_test(both_ends_of_a_window_are_in),
    };
    return cmocka_run_group_tests_name("stats", tests, NULL, NULL);
}
