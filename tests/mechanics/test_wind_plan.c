/* SPDX-License-Identifier: Apache-2.0 */
/*
 * Gusts, and what can be steered. Published examples are read here the other way round than in
 * tests/bridge; rows without a source are our own derivation.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>

#include "broker/core/mechanics/units.h"
#include "broker/core/mechanics/wind_plan.h"
#include "tests/mechanics/probe.h"

static struct tl_wind_gusty_out
gusty_of(struct tl_wind_gusty_in in)
{
    struct tl_wind_gusty_out out;

    assert_int_equal(tl_wind_gusty(&in, &out), TL_OK);
    return out;
}

/* FAA knowledge-test supplement, figure 36: 220/30 on runway 18 is 23 kn along and 19 kn across; the
 * limits of the same chart, 17 kn across at 55 degrees is a gust of 20.75 kn. */
static void
steady_wind_is_its_own_lull_and_gust(void **state)
{
    (void)state;
    struct tl_wind_gusty_out out = gusty_of((struct tl_wind_gusty_in){40, 30, 30, 0});

    near("lull", out.lull_kt, 30, 0.0);
    near("along, lull", out.headwind_lull_kt, 23, 0.5);
    near("along, gust", out.headwind_gust_kt, 23, 0.5);
    near("across", out.crosswind_kt, 19, 0.5);
    out = gusty_of((struct tl_wind_gusty_in){55, 15, 20.75, 0});
    near("17 kn across in the gust", out.crosswind_kt, 17, 0.05);
}

/* The chart read to a wind: 10 kn along at 60 degrees is 20 kn, 35 across at 60 is 40.4, 17 across at
 * 55 is 20.75 (same supplement). */
static void
limit_of_the_chart_is_the_wind_that_it_allows(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double angle_deg, along_kt, across_kt, wind_kt;
    } rows[] = {
        {"10 along", 60, 10, 0, 20},
        {"35 across", 60, 0, 35, 40.4},
        {"17 across", 55, 0, 17, 20.75},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_wind_gusty_out unit =
            gusty_of((struct tl_wind_gusty_in){rows[i].angle_deg, 1, 1, 0});
        double wind_kt = rows[i].along_kt > 0.0 ? rows[i].along_kt / unit.headwind_least_kt
                                                : rows[i].across_kt / unit.crosswind_kt;

        near(rows[i].name, wind_kt, rows[i].wind_kt, 0.05);
    }
}

/* 7 kn across of 27 kn are 15.03 degrees off the axis, to half a hundredth; 7 kn is a limit from memory. */
static void
crosswind_limit_is_an_angle(void **state)
{
    (void)state;
    near("across", gusty_of((struct tl_wind_gusty_in){15.03 - 9, 27, 27, 9}).crosswind_kt, 7,
         0.0024);
}

static void
gusty_worked_rows(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        struct tl_wind_gusty_in in; /* from, mean, gust, axis */
        struct tl_wind_gusty_out out;
    } rows[] = {
        {"from the bow, 25 to 32", {0, 25, 32, 9}, {18, 17.778, 31.606, 17.778, 5.006}},
        {"down the axis", {351, 25, 32, 9}, {18, 18, 32, 18, 0}},
        {"from port", {-20, 25, 32, 9}, {18, 17.669, 31.412, 17.669, -6.106}},
        {"a gust of more than twice", {0, 10, 25, 9}, {0, 0, 24.692, 0, 3.911}},
        {"from behind", {171, 10, 15, 9}, {5, -5, -15, -15, 0}},
        {"a calm", {0, 0, 0, 9}, {0, 0, 0, 0, 0}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_wind_gusty_out out = gusty_of(rows[i].in);

        near(rows[i].name, out.lull_kt, rows[i].out.lull_kt, 1e-12);
        near(rows[i].name, out.headwind_lull_kt, rows[i].out.headwind_lull_kt, 6e-4);
        near(rows[i].name, out.headwind_gust_kt, rows[i].out.headwind_gust_kt, 6e-4);
        near(rows[i].name, out.headwind_least_kt, rows[i].out.headwind_least_kt, 6e-4);
        near(rows[i].name, out.crosswind_kt, rows[i].out.crosswind_kt, 6e-4);
    }
}

static void
gusts_bound_each_wind_between_them(void **state)
{
    uint64_t seed = first_seed(20260709);

    (void)state;
    for (int run = 0; run < 5000; run++) {
        double mean_kt = draw(&seed, (struct span){0, 50});
        const struct tl_wind_gusty_in in = {draw(&seed, (struct span){-180, 360}), mean_kt,
                                            mean_kt + draw(&seed, (struct span){0, 20}),
                                            draw(&seed, (struct span){0, 15})};
        struct tl_wind_gusty_out out = gusty_of(in);
        const struct tl_wind_deck_in some = {in.over_deck_deg,
                                             draw(&seed, (struct span){out.lull_kt, in.gust_kt}),
                                             in.axis_port_deg};
        struct tl_wind_deck_out deck;

        assert_int_equal(tl_wind_deck(&some, &deck), TL_OK);
        assert_true(deck.headwind_kt >= out.headwind_least_kt - 1e-12);
        assert_true(fabs(deck.crosswind_kt) <= fabs(out.crosswind_kt) + 1e-12);
        assert_true(out.lull_kt >= 0.0 && out.lull_kt <= mean_kt);
    }
}

/* Radar Navigation and Maneuvering Board Manual, Pub. 1310: ship 240 at 18 (from memory, forced by
 * the figures), true wind 315/20; over the deck from 040 relative at 30 kn. */
static void
manoeuvring_board_example_comes_back(void **state)
{
    (void)state;
    const struct tl_wind_over_deck_in in = {240, 18, 240, 315, 20};
    struct tl_wind_over_deck_out out;

    assert_int_equal(tl_wind_over_deck(&in, &out), TL_OK);
    near("from", out.over_deck_deg, 40, 1.0);
    near("speed", out.over_deck_kt, 30, 0.5);
}

/* A licence-exam question, its option 51/24.0: course 180, 22 kn, over the deck 70 off the port bow
 * at 20 kn. */
static void
licence_exam_question_comes_back(void **state)
{
    (void)state;
    const struct tl_wind_over_deck_in in = {180, 22, 180, 51, 24};
    struct tl_wind_over_deck_out out;

    assert_int_equal(tl_wind_over_deck(&in, &out), TL_OK);
    near("from", out.over_deck_deg, 290, 1.0);
    near("speed", out.over_deck_kt, 20, 0.5);
}

static struct tl_wind_row
row_of(struct tl_wind_row_in in)
{
    struct tl_wind_row row;

    assert_int_equal(tl_wind_row_fill(&in, &row), TL_OK);
    return row;
}

static void
no_answer_is_explained_by_the_wind_that_it_needs(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        struct tl_wind_steer_in want; /* headwind, axis, true from, true kt */
        struct tl_wind_why why;
    } rows[] = {
        {"calm", {27, 9, 0, 0}, {TL_WIND_ANSWER_WIND_LIGHT, 4.2237, 4.2237}},
        {"too light", {27, 9, 90, 3}, {TL_WIND_ANSWER_WIND_LIGHT, 4.2237, 1.2237}},
        {"enough", {27, 9, 90, 4.3}, {TL_WIND_ANSWER_THERE, 4.2237, 0}},
        {"straight deck, calm", {27, 0, 0, 0}, {TL_WIND_ANSWER_THERE, 0, 0}},
        {"strong", {27, 9, 0, 60}, {TL_WIND_ANSWER_THERE, 4.2237, 0}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_wind_why why;

        assert_int_equal(tl_wind_steer_why(&rows[i].want, &why), TL_OK);
        if (why.answer != rows[i].why.answer) {
            fail_msg("%s: answer %d", rows[i].name, (int)why.answer);
        }
        near(rows[i].name, why.least_true_kt, rows[i].why.least_true_kt, 6e-5);
        near(rows[i].name, why.lacking_kt, rows[i].why.lacking_kt, 6e-5);
    }
}

static void
wind_that_it_needs_is_just_enough(void **state)
{
    uint64_t seed = first_seed(20260710);

    (void)state;
    for (int run = 0; run < 20000; run++) {
        struct tl_wind_steer_in want = {draw(&seed, (struct span){1, 40}),
                                        draw(&seed, (struct span){1, 15}),
                                        draw(&seed, (struct span){0, 360}), 0};
        struct tl_wind_why why;

        assert_int_equal(tl_wind_steer_why(&want, &why), TL_OK);
        assert_int_equal(why.answer, TL_WIND_ANSWER_WIND_LIGHT);
        want.true_kt = why.least_true_kt;
        assert_int_equal(tl_wind_steer_why(&want, &why), TL_OK);
        assert_int_equal(why.answer, TL_WIND_ANSWER_THERE);
        want.true_kt = why.least_true_kt - 1e-6;
        assert_int_equal(tl_wind_steer_why(&want, &why), TL_OK);
        assert_int_equal(why.answer, TL_WIND_ANSWER_WIND_LIGHT);
    }
}

static void
answer_is_held_against_the_speed_of_the_ship(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        struct tl_wind_steer answer;
        double ship_kt_max;
        bool within;
        double spare_kt;
    } rows[] = {
        {"with speed to spare", {25, 17.6}, 30, true, 12.4},
        {"just", {25, 30}, 30, true, 0},
        {"a tenth too fast", {25, 30.1}, 30, false, -0.1},
        {"noise", {25, 30 + 1e-9}, 30, true, 0},
        {"at anchor", {25, 0}, 0, true, 0},
        {"as little as a calm", {25, TL_WIND_CALM_KT}, 0, true, -TL_WIND_CALM_KT},
        {"a little more", {25, 1.1 * TL_WIND_CALM_KT}, 0, false, -1.1 * TL_WIND_CALM_KT},
        {"before the wind", {155, 1900}, 1000, false, -900},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_wind_within out;

        assert_int_equal(tl_wind_steer_within(&rows[i].answer, rows[i].ship_kt_max, &out), TL_OK);
        if (out.within != rows[i].within) {
            fail_msg("%s", rows[i].name);
        }
        near(rows[i].name, out.spare_kt, rows[i].spare_kt, 2e-9);
    }
}

/* 27 kn down an axis 9 degrees to port, or 30 down one of 10; the winds as in tests/bridge, what a
 * table has of them beside. */
static void
row_worked_answers(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        struct tl_wind_row_in in;
        double heading_deg, off_deg, speed_kt, within_deg;
    } rows[] = {
        {"000/5", {{27, 9, 0, 5}, 30}, 57.6, 57.6, 23.99, 0.06},
        {"000/10", {{27, 9, 0, 10}, 30}, 24.98, 24.98, 17.60, 0.006},
        {"000/15", {{27, 9, 0, 15}, 30}, 16.35, 16.35, 12.27, 0.006},
        {"000/20", {{27, 9, 0, 20}, 30}, 12.19, 12.19, 7.12, 0.006},
        {"360/20", {{27, 9, 360, 20}, 30}, 12.19, 12.19, 7.12, 0.006},
        {"350/20", {{27, 9, 350, 20}, 30}, 2.19, 12.19, 7.12, 0.006},
        {"315/20", {{30, 10, 315, 20}, 30}, 330.10, 15.10, 10.23, 0.006},
        {"000/10, before it", {{5, 0, 0, 10}, 30}, 180, 180, 15, 1e-9},
        {"270/10, before it", {{5, 0, 270, 10}, 30}, 90, 180, 15, 1e-9},
        {"315/10", {{30, 10, 315, 10}, 30}, 346.40, 31.40, 21.01, 0.006},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_wind_row row = row_of(rows[i].in);

        assert_int_equal(row.answer, TL_WIND_ANSWER_THERE);
        near(rows[i].name, row.steer.heading_deg, rows[i].heading_deg, rows[i].within_deg);
        near(rows[i].name, row.off_wind_deg, rows[i].off_deg, rows[i].within_deg);
        near(rows[i].name, row.steer.speed_kt, rows[i].speed_kt, 0.006);
        near(rows[i].name, row.slowest_kt, row.steer.speed_kt, 0.0);
    }
}

static void
row_says_what_is_against_it(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        struct tl_wind_row_in in;
        enum tl_wind_answer answer;
        double slowest_kt, into_wind_kt, headwind_kt, crosswind_kt;
    } rows[] = {
        {"calm", {{27, 9, 0, 0}, 30}, TL_WIND_ANSWER_WIND_LIGHT, 0, 27.337, 27, 4.276},
        {"calm, slow ship", {{27, 9, 0, 0}, 20}, TL_WIND_ANSWER_WIND_LIGHT, 0, 20, 19.754, 3.129},
        {"ship too slow",
         {{27, 9, 0, 10}, 17.5},
         TL_WIND_ANSWER_SHIP_SLOW,
         17.603,
         17.337,
         27,
         4.276},
        {"wind too strong",
         {{27, 9, 0, 40}, 30},
         TL_WIND_ANSWER_WIND_STRONG,
         66.444,
         0,
         39.508,
         6.257},
        {"before a wind", {{5, 9, 0, 10}, 30}, TL_WIND_ANSWER_THERE, 14.908, 0, 9.877, 1.564},
        {"at anchor in it", {{27, 0, 0, 27}, 0}, TL_WIND_ANSWER_THERE, 0, 0, 27, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_wind_row row = row_of(rows[i].in);

        if (row.answer != rows[i].answer) {
            fail_msg("%s: answer %d", rows[i].name, (int)row.answer);
        }
        near(rows[i].name, row.slowest_kt, rows[i].slowest_kt, 6e-4);
        near(rows[i].name, row.into_wind_kt, rows[i].into_wind_kt, 6e-4);
        near(rows[i].name, row.into_wind.headwind_kt, rows[i].headwind_kt, 6e-4);
        near(rows[i].name, row.into_wind.crosswind_kt, rows[i].crosswind_kt, 6e-4);
    }
}

static void
row_without_an_answer_steers_nowhere(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        struct tl_wind_row_in in;
        enum tl_wind_answer answer;
    } rows[] = {
        {"ship too slow", {{27, 9, 45, 10}, 10}, TL_WIND_ANSWER_SHIP_SLOW},
        {"wind too light", {{27, 9, 45, 4}, 30}, TL_WIND_ANSWER_WIND_LIGHT},
        {"wind too strong", {{27, 9, 45, 40}, 30}, TL_WIND_ANSWER_WIND_STRONG},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_wind_row row = row_of(rows[i].in);

        assert_int_equal(row.answer, rows[i].answer);
        near(rows[i].name, row.steer.heading_deg, 0.0, 0.0);
        near(rows[i].name, row.steer.speed_kt, 0.0, 0.0);
        near(rows[i].name, row.off_wind_deg, 0.0, 0.0);
    }
}

/* What the deck feels on a heading at a speed. */
static struct tl_wind_deck_out
feel(const struct tl_wind_steer_in *want, struct tl_wind_steer steer)
{
    const struct tl_wind_over_deck_in in = {steer.heading_deg, steer.speed_kt, steer.heading_deg,
                                            want->true_deg, want->true_kt};
    struct tl_wind_over_deck_out over;
    struct tl_wind_deck_out deck;

    assert_int_equal(tl_wind_over_deck(&in, &over), TL_OK);
    const struct tl_wind_deck_in axis = {over.over_deck_deg, over.over_deck_kt,
                                         want->axis_port_deg};
    assert_int_equal(tl_wind_deck(&axis, &deck), TL_OK);
    return deck;
}

static void
row_steered_gives_the_wanted_wind(void **state)
{
    uint64_t seed = first_seed(20260711);
    int there[TL_WIND_ANSWER_SHIP_SLOW + 1] = {0};

    (void)state;
    for (int run = 0; run < 20000; run++) {
        const struct tl_wind_row_in in = {
            {draw(&seed, (struct span){15, 35}), draw(&seed, (struct span){0, 12}),
             draw(&seed, (struct span){0, 360}), draw(&seed, (struct span){0, 50})},
            draw(&seed, (struct span){5, 33})};
        struct tl_wind_row row = row_of(in);
        struct tl_wind_steer bow_in = {in.want.true_deg, row.into_wind_kt};
        struct tl_wind_deck_out deck = feel(&in.want, bow_in);

        there[row.answer]++;
        assert_true(row.into_wind_kt >= 0.0 && row.into_wind_kt <= in.ship_kt_max);
        near("into the wind, along", row.into_wind.headwind_kt, deck.headwind_kt, 1e-4);
        near("into the wind, across", row.into_wind.crosswind_kt, deck.crosswind_kt, 1e-4);
        if (row.answer != TL_WIND_ANSWER_THERE) {
            assert_true(row.answer == TL_WIND_ANSWER_WIND_LIGHT
                            ? in.want.true_kt < row.least_true_kt
                            : row.slowest_kt > in.ship_kt_max);
            continue;
        }
        deck = feel(&in.want, row.steer);
        near("along", deck.headwind_kt, in.want.headwind_kt, 1e-4);
        near("across", deck.crosswind_kt, 0.0, 1e-4);
        assert_true(row.steer.speed_kt <= in.ship_kt_max + TL_WIND_CALM_KT);
        assert_true(row.off_wind_deg > -180.0 && row.off_wind_deg <= 180.0);
        double back_deg = fabs(in.want.true_deg + row.off_wind_deg - row.steer.heading_deg);
        near("off", fabs(remainder(back_deg, 360.0)), 0.0, 1e-9);
    }
    for (int a = TL_WIND_ANSWER_THERE; a <= TL_WIND_ANSWER_SHIP_SLOW; a++) {
        assert_true(there[a] > 200); /* or it would prove nothing */
    }
}

static enum tl_err
call_gusty(const void *in, void *out)
{
    return tl_wind_gusty(in, out);
}

static enum tl_err
call_why(const void *in, void *out)
{
    return tl_wind_steer_why(in, out);
}

static enum tl_err
call_row(const void *in, void *out)
{
    return tl_wind_row_fill(in, out);
}

struct within_in {
    struct tl_wind_steer answer;
    double ship_kt_max;
};

static enum tl_err
call_within(const void *in, void *out)
{
    const struct within_in *all = in;

    return tl_wind_steer_within(&all->answer, all->ship_kt_max, out);
}

static void
gusty_input_out_of_range_is_refused(void **state)
{
    (void)state;
    static const struct edge edges[] = {
        {"from", offsetof(struct tl_wind_gusty_in, over_deck_deg), -180, 360, false},
        {"mean", offsetof(struct tl_wind_gusty_in, mean_kt), 0, 30, false}, /* up to the gust */
        {"axis", offsetof(struct tl_wind_gusty_in, axis_port_deg), 0, 45, false},
    };
    static const struct edge gust[] = {
        {"gust", offsetof(struct tl_wind_gusty_in, gust_kt), 20, 1000, false}, /* from the mean */
    };
    static const struct edge mean[] = {
        {"mean", offsetof(struct tl_wind_gusty_in, mean_kt), 0, 1000, false},
    };
    const struct tl_wind_gusty_in sound = {10, 20, 30, 9};
    const struct tl_wind_gusty_in most = {10, 20, 1000, 9};

    takes_its_ranges_only(
        &(struct probe){call_gusty, &sound, sizeof sound, sizeof(struct tl_wind_gusty_out)}, edges,
        sizeof edges / sizeof edges[0]);
    takes_its_ranges_only(
        &(struct probe){call_gusty, &sound, sizeof sound, sizeof(struct tl_wind_gusty_out)}, gust,
        1);
    takes_its_ranges_only(
        &(struct probe){call_gusty, &most, sizeof most, sizeof(struct tl_wind_gusty_out)}, mean, 1);
}

static void
steering_input_out_of_range_is_refused(void **state)
{
    (void)state;
    static const struct edge edges[] = {
        {"headwind", offsetof(struct tl_wind_row_in, want.headwind_kt), 0, 1000, false},
        {"axis", offsetof(struct tl_wind_row_in, want.axis_port_deg), 0, 45, false},
        {"true from", offsetof(struct tl_wind_row_in, want.true_deg), 0, 360, false},
        {"true", offsetof(struct tl_wind_row_in, want.true_kt), 0, 1000, false},
        {"ship", offsetof(struct tl_wind_row_in, ship_kt_max), 0, 1000, false},
    };
    static const struct edge within[] = {
        {"heading", offsetof(struct within_in, answer.heading_deg), 0, 360, false},
        {"speed", offsetof(struct within_in, answer.speed_kt), 0, 2000, false},
        {"ship", offsetof(struct within_in, ship_kt_max), 0, 1000, false},
    };
    const struct tl_wind_row_in sound = {{27, 9, 0, 10}, 30};
    const struct within_in sound_within = {{25, 17.6}, 30};

    /* the wanted wind stands first in the input of a row */
    takes_its_ranges_only(
        &(struct probe){call_why, &sound, sizeof sound.want, sizeof(struct tl_wind_why)}, edges, 4);
    takes_its_ranges_only(
        &(struct probe){call_row, &sound, sizeof sound, sizeof(struct tl_wind_row)}, edges, 5);
    takes_its_ranges_only(&(struct probe){call_within, &sound_within, sizeof sound_within,
                                          sizeof(struct tl_wind_within)},
                          within, 3);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steady_wind_is_its_own_lull_and_gust),
        cmocka_unit_test(limit_of_the_chart_is_the_wind_that_it_allows),
        cmocka_unit_test(crosswind_limit_is_an_angle),
        cmocka_unit_test(gusty_worked_rows),
        cmocka_unit_test(gusts_bound_each_wind_between_them),
        cmocka_unit_test(manoeuvring_board_example_comes_back),
        cmocka_unit_test(licence_exam_question_comes_back),
        cmocka_unit_test(no_answer_is_explained_by_the_wind_that_it_needs),
        cmocka_unit_test(wind_that_it_needs_is_just_enough),
        cmocka_unit_test(answer_is_held_against_the_speed_of_the_ship),
        cmocka_unit_test(row_worked_answers),
        cmocka_unit_test(row_says_what_is_against_it),
        cmocka_unit_test(row_without_an_answer_steers_nowhere),
        cmocka_unit_test(row_steered_gives_the_wanted_wind),
        cmocka_unit_test(gusty_input_out_of_range_is_refused),
        cmocka_unit_test(steering_input_out_of_range_is_refused),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
