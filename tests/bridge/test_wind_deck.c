/* SPDX-License-Identifier: Apache-2.0 */
/*
 * The triangle turned round: what a deck feels in a given wind, and how to steer for a wanted wind.
 * The worked rows were computed from the formulas, no outside source; the round trips do not need
 * one.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>

#include "broker/core/mechanics/wind.h"

static void
near(const char *row, double got, double wanted, double tolerance)
{
    if (!(fabs(got - wanted) <= tolerance)) {
        fail_msg("%s: got %.6f, wanted %.6f", row, got, wanted);
    }
}

static uint64_t
draw(uint64_t *seed)
{
    *seed = *seed * 6364136223846793005U + 1442695040888963407U;
    return *seed >> 33;
}

static uint64_t
first_seed(uint64_t seed)
{
    const char *given = getenv("TL_TEST_SEED");

    seed = given != NULL ? strtoull(given, NULL, 0) : seed;
    (void)printf("           seed %llu\n", (unsigned long long)seed);
    return seed;
}

static void
wind_over_deck_worked_rows(void **state)
{
    static const struct {
        const char *name;
        struct tl_wind_over_deck_in in; /* course, speed, heading, true from, true kt */
        double over_deck_deg, over_deck_kt, headwind_kt, crosswind_kt;
    } rows[] = {
        {"ship 000/25, calm", {0, 25, 0, 0, 0}, 0, 25, 24.692, 3.911},
        {"ship 000/20, wind 000/10", {0, 20, 0, 0, 10}, 0, 30, 29.631, 4.693},
        {"ship 000/20, wind 340/10", {0, 20, 0, 340, 10}, 353.364, 29.595, 29.570, 1.221},
        {"ship with the wind", {0, 10, 0, 180, 10}, 0, 0, 0, 0},
        {"ship stopped, wind 090/20, heading 045", {0, 0, 45, 90, 20}, 45, 20, 11.756, 16.180},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_wind_over_deck_out over;
        struct tl_wind_deck_out deck;

        assert_int_equal(tl_wind_over_deck(&rows[i].in, &over), TL_OK);
        near(rows[i].name, over.over_deck_deg, rows[i].over_deck_deg, 0.001);
        near(rows[i].name, over.over_deck_kt, rows[i].over_deck_kt, 0.001);
        const struct tl_wind_deck_in in = {over.over_deck_deg, over.over_deck_kt, 9};
        assert_int_equal(tl_wind_deck(&in, &deck), TL_OK);
        near(rows[i].name, deck.headwind_kt, rows[i].headwind_kt, 0.001);
        near(rows[i].name, deck.crosswind_kt, rows[i].crosswind_kt, 0.001);
    }
}

static void
wind_over_deck_and_true_undo_each_other(void **state)
{
    uint64_t seed = first_seed(20260613);

    (void)state;
    for (int run = 0; run < 20000; run++) {
        struct tl_wind_over_deck_in there = {.course_deg = (double)(draw(&seed) % 3601) / 10.0,
                                             .speed_kt = (double)(draw(&seed) % 400) / 10.0,
                                             .heading_deg = (double)(draw(&seed) % 3601) / 10.0,
                                             .true_deg = (double)(1 + draw(&seed) % 3600) / 10.0,
                                             .true_kt = (double)(1 + draw(&seed) % 600) / 10.0};
        struct tl_wind_over_deck_out over;
        struct tl_wind_true_out back;

        assert_int_equal(tl_wind_over_deck(&there, &over), TL_OK);
        const struct tl_wind_true_in in = {there.course_deg, there.speed_kt, there.heading_deg,
                                           over.over_deck_deg, over.over_deck_kt};
        assert_int_equal(tl_wind_true(&in, &back), TL_OK);
        /* the over-deck wind may be a calm, which is cut to 0 */
        near("speed", back.true_kt, there.true_kt, 2 * TL_WIND_CALM_KT);
        double apart = fmod(fabs(back.true_deg - there.true_deg), 360.0);
        near("direction", fmin(apart, 360.0 - apart), 0.0, 1e-2);
        assert_true(back.true_deg > 0.0 && back.true_deg <= 360.0);
        assert_true(over.over_deck_deg >= 0.0 && over.over_deck_deg < 360.0);
    }
}

static void
wind_steer_worked_rows(void **state)
{
    static const struct {
        const char *name;
        struct tl_wind_steer_in in; /* wanted headwind, axis, true from, true kt */
        double heading_deg, speed_kt;
    } rows[] = {
        {"27 on 9, wind 000/10", {27, 9, 0, 10}, 24.98, 17.60},
        {"27 on 9, wind 000/15", {27, 9, 0, 15}, 16.35, 12.27},
        {"27 on 9, wind 000/20", {27, 9, 0, 20}, 12.19, 7.12},
        {"27 on 9, wind 000/5", {27, 9, 0, 5}, 57.6, 23.99},
        {"30 on 10, wind 315/20", {30, 10, 315, 20}, 330.10, 10.23},
        {"30 on 10, wind 315/10", {30, 10, 315, 10}, 346.40, 21.01},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_wind_steer_out out;

        assert_int_equal(tl_wind_steer(&rows[i].in, &out), TL_OK);
        assert_true(out.count >= 1);
        near(rows[i].name, out.steer[0].heading_deg, rows[i].heading_deg, 0.06);
        near(rows[i].name, out.steer[0].speed_kt, rows[i].speed_kt, 0.006);
    }
}

/* An axis 9 degrees to port at 27 kn needs 27 sin 9 = 4.2237 kn of wind. */
static void
wind_steer_too_light_a_wind_has_no_answer(void **state)
{
    struct tl_wind_steer_out out;
    const struct tl_wind_steer_in light = {27, 9, 0, 4.223};
    const struct tl_wind_steer_in enough = {27, 9, 0, 4.224};
    const struct tl_wind_steer_in calm = {27, 9, 0, 0};
    const struct tl_wind_steer_in straight_calm = {27, 0, 0, 0};

    (void)state;
    assert_int_equal(tl_wind_steer(&light, &out), TL_OK);
    assert_int_equal(out.count, 0);
    assert_int_equal(tl_wind_steer(&calm, &out), TL_OK);
    assert_int_equal(out.count, 0);
    assert_int_equal(tl_wind_steer(&enough, &out), TL_OK);
    assert_int_equal(out.count, 2);
    assert_true(out.steer[0].speed_kt < out.steer[1].speed_kt);
    assert_int_equal(tl_wind_steer(&straight_calm, &out), TL_OK);
    assert_int_equal(out.count, 1);
    near("own wind", out.steer[0].speed_kt, 27.0, 1e-9);
}

static void
wind_steer_answers_put_the_wind_down_the_axis(void **state)
{
    uint64_t seed = first_seed(20260614);
    uint32_t answers = 0;

    (void)state;
    for (int run = 0; run < 20000; run++) {
        const struct tl_wind_steer_in want = {.headwind_kt = (double)(draw(&seed) % 400) / 10.0,
                                              .axis_port_deg = (double)(draw(&seed) % 150) / 10.0,
                                              .true_deg = (double)(draw(&seed) % 3601) / 10.0,
                                              .true_kt = (double)(draw(&seed) % 500) / 10.0};
        struct tl_wind_steer_out out;

        assert_int_equal(tl_wind_steer(&want, &out), TL_OK);
        assert_true(out.count <= 2);
        for (uint32_t i = 0; i < out.count; i++) {
            const struct tl_wind_over_deck_in in = {out.steer[i].heading_deg, out.steer[i].speed_kt,
                                                    out.steer[i].heading_deg, want.true_deg,
                                                    want.true_kt};
            struct tl_wind_over_deck_out over;
            struct tl_wind_deck_out deck;

            assert_int_equal(tl_wind_over_deck(&in, &over), TL_OK);
            const struct tl_wind_deck_in axis = {over.over_deck_deg, over.over_deck_kt,
                                                 want.axis_port_deg};
            assert_int_equal(tl_wind_deck(&axis, &deck), TL_OK);
            near("along", deck.headwind_kt, want.headwind_kt, 1e-4);
            near("across", deck.crosswind_kt, 0.0, 1e-4);
            answers++;
        }
    }
    assert_true(answers > 10000); /* or it would prove nothing */
}

/* Each value at its bounds, past them, and not a number. */
struct bound {
    double low;
    double high;
};

static bool
is_taken(int which, size_t member, double value)
{
    double v[5] = {0, 0, 0, 0, 0};

    v[member] = value;
    if (which == 0) {
        const struct tl_wind_true_in in = {v[0], v[1], v[2], v[3], v[4]};
        struct tl_wind_true_out out;
        return tl_wind_true(&in, &out) == TL_OK;
    }
    if (which == 1) {
        const struct tl_wind_over_deck_in in = {v[0], v[1], v[2], v[3], v[4]};
        struct tl_wind_over_deck_out out;
        return tl_wind_over_deck(&in, &out) == TL_OK;
    }
    if (which == 2) {
        const struct tl_wind_deck_in in = {v[0], v[1], v[2]};
        struct tl_wind_deck_out out;
        return tl_wind_deck(&in, &out) == TL_OK;
    }
    const struct tl_wind_steer_in in = {v[0], v[1], v[2], v[3]};
    struct tl_wind_steer_out out;
    return tl_wind_steer(&in, &out) == TL_OK;
}

static void
wind_value_out_of_range_is_refused(void **state)
{
    static const struct {
        size_t count;
        struct bound bound[5];
    } rows[] = {
        {5, {{0, 360}, {0, 1000}, {0, 360}, {0, 360}, {0, 1000}}},
        {5, {{0, 360}, {0, 1000}, {0, 360}, {0, 360}, {0, 1000}}},
        {3, {{-180, 360}, {0, 1000}, {0, 45}}},
        {4, {{0, 1000}, {0, 45}, {0, 360}, {0, 1000}}},
    };

    (void)state;
    for (int which = 0; which < 4; which++) {
        for (size_t m = 0; m < rows[which].count; m++) {
            struct bound b = rows[which].bound[m];

            if (!is_taken(which, m, b.low) || !is_taken(which, m, b.high) ||
                is_taken(which, m, b.low - 1e-9) || is_taken(which, m, b.high + 1e-9) ||
                is_taken(which, m, (double)NAN) || is_taken(which, m, (double)INFINITY) ||
                is_taken(which, m, -(double)INFINITY)) {
                fail_msg("function %d, value %zu", which, m);
            }
        }
    }
}

static void
wind_x10_noise_of_a_cosine_costs_nothing(void **state)
{
    static const struct {
        double kt;
        int32_t nearest, down, away;
    } rows[] = {
        {30.0 - 1e-14, 300, 300, 300},
        {30.0 + 1e-14, 300, 300, 300},
        {29.9999, 300, 299, 300},
        {30.0001, 300, 300, 301},
        {0.0, 0, 0, 0},
        {-0.04, 0, -1, -1},
        {-30.0 + 1e-14, -300, -300, -300},
        {0.05, 1, 0, 1},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_int_equal(tl_wind_x10(rows[i].kt), rows[i].nearest);
        assert_int_equal(tl_wind_x10_down(rows[i].kt), rows[i].down);
        assert_int_equal(tl_wind_x10_away(rows[i].kt), rows[i].away);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(wind_over_deck_worked_rows),
        cmocka_unit_test(wind_over_deck_and_true_undo_each_other),
        cmocka_unit_test(wind_steer_worked_rows),
        cmocka_unit_test(wind_steer_too_light_a_wind_has_no_answer),
        cmocka_unit_test(wind_steer_answers_put_the_wind_down_the_axis),
        cmocka_unit_test(wind_value_out_of_range_is_refused),
        cmocka_unit_test(wind_x10_noise_of_a_cosine_costs_nothing),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
