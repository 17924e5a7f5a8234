/* SPDX-License-Identifier: Apache-2.0 */
/* Energy of an arrestment, forwards and backwards; each source beside its check. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>

#include "broker/core/mechanics/energy.h"
#include "broker/core/mechanics/units.h"
#include "tests/mechanics/probe.h"

/* Two published capacities of one engine differ; NAWCADPAX/TR-2002/71, table 3, has 43.5e6 ft-lbf,
 * texts after the training course NAVEDTRA 14310 have 47.5e6. */
static const double report_ftlb = 43.5e6;
static const double course_ftlb = 47.5e6;
static const struct tl_air standard = {15.0, 1013.25};

static struct tl_energy_out
energy_of(struct tl_energy_in in)
{
    struct tl_energy_out out;

    assert_int_equal(tl_energy(&in, &out), TL_OK);
    return out;
}

/* 50,000 lb at 130 kn is the rated example of encyclopaedia texts that cite the course; the energies
 * are our own derivation. */
static void
kinetic_energy_worked_rows(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double weight_lb, engaging_kt, energy_ftlb;
    } rows[] = {
        {"50,000 lb at 130", 50000, 130, 37.408e6},
        {"66,000 lb at 130", 66000, 130, 49.379e6},
        {"25,000 lb at 110", 25000, 110, 13.392e6},
        {"40,000 lb at 102.893", 40000, 102.893, 18.747e6},
        {"40,000 lb at 98", 40000, 98, 17.007e6},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_energy_out out = energy_of(
            (struct tl_energy_in){rows[i].weight_lb, rows[i].engaging_kt, 0, 0, course_ftlb});

        near(rows[i].name, out.energy_ftlb, rows[i].energy_ftlb, 500);
    }
}

/* Own derivation; both capacities as published. */
static void
margin_and_capacity_speed_worked_rows(void **state)
{
    (void)state;
    const struct tl_energy_in rated = {50000, 130, 0, 0, course_ftlb};
    const struct tl_energy_in rated_report = {50000, 130, 0, 0, report_ftlb};
    const struct tl_energy_in heavy = {66000, 130, 0, 0, course_ftlb};

    near("rated, MJ", energy_of(rated).energy_ftlb * TL_J_PER_FTLBF / 1e6, 50.719, 5e-4);
    near("rated, course", energy_of(rated).margin, 0.212, 5e-4);
    near("rated, report", energy_of(rated_report).margin, 0.140, 5e-4);
    near("capacity speed", energy_of(rated).capacity_kt, 146.49, 0.005);
    assert_true(energy_of(heavy).margin < 0.0);
}

/* The hot day of test_air.c costs a tenth more energy: 18.747e6 against 17.007e6 ft-lbf. */
static void
hot_day_costs_a_tenth_more_energy(void **state)
{
    (void)state;
    const struct tl_engaging_in hot = {125, {38, 1013.25}, 27, 0};
    const struct tl_engaging_in mild = {125, standard, 27, 0};
    struct tl_engaging_out hot_out;
    struct tl_engaging_out mild_out;

    assert_int_equal(tl_engaging(&hot, &hot_out), TL_OK);
    assert_int_equal(tl_engaging(&mild, &mild_out), TL_OK);
    double more = energy_of((struct tl_energy_in){40000, hot_out.engaging_kt, 0, 0, course_ftlb})
                      .energy_ftlb /
                  energy_of((struct tl_energy_in){40000, mild_out.engaging_kt, 0, 0, course_ftlb})
                      .energy_ftlb;
    near("more", more - 1.0, 0.102, 5e-4);
}

/* A public source file that quotes NAWCADPAX/TR-2002/71, table 3, prints 569110.706658329 N,
 * 58978080.752415918 J and 103.632 m; its pounds-force is right, and so is ours. 47.5e6 ft-lbf is
 * 64.4 MJ in the encyclopaedia. */
static void
published_capacity_in_si(void **state)
{
    (void)state;
    double runout_m = 340.0 * TL_M_PER_FT;
    double capacity_j = report_ftlb * TL_J_PER_FTLBF;

    near("run-out, m", runout_m, 103.632, 1e-12);
    near("capacity, J", capacity_j, 58978080.752415918, 1e-7);
    near("mean force, N", capacity_j / runout_m, 569110.706658329, 1e-8);
    near("mean force, lbf", report_ftlb / 340.0, 127941.2, 0.05);
    near("mean force, lbf and N", capacity_j / runout_m / TL_N_PER_LBF, report_ftlb / 340.0, 1e-8);
    near("course, MJ", course_ftlb * TL_J_PER_FTLBF / 1e6, 64.401, 5e-4);
}

/* 10,000 lbf over 340 ft are 3.4e6 ft-lbf. */
static void
thrust_works_over_the_runout(void **state)
{
    (void)state;
    const struct tl_energy_in idle = {40000, 100, 0, 340, course_ftlb};
    const struct tl_energy_in pushed = {40000, 100, 10000, 340, course_ftlb};
    const struct tl_energy_in too_much = {40000, 100, 100000, 500, course_ftlb};

    near("work", energy_of(pushed).energy_ftlb - energy_of(idle).energy_ftlb, 3.4e6, 1e-6);
    near("idle", energy_of(idle).energy_ftlb,
         energy_of((struct tl_energy_in){40000, 100, 10000, 0, course_ftlb}).energy_ftlb, 0.0);
    assert_true(energy_of(pushed).capacity_kt < energy_of(idle).capacity_kt);
    near("no speed left", energy_of(too_much).capacity_kt, 0.0, 0.0);
    assert_true(energy_of(too_much).margin < 0.0);
}

static const struct span weights = {1000, 100000};
static const struct span speeds = {30, 250};
static const struct span thrusts = {0, 20000};
static const struct span runouts = {0, 500};

static void
energy_at_the_capacity_speed_is_the_capacity(void **state)
{
    uint64_t seed = first_seed(20260701);

    (void)state;
    for (int run = 0; run < 5000; run++) {
        struct tl_energy_in in = {.weight_lb = draw(&seed, (struct span){20000, 100000}),
                                  .engaging_kt = 100,
                                  .thrust_lbf = draw(&seed, thrusts),
                                  .runout_ft = draw(&seed, runouts),
                                  .capacity_ftlb = course_ftlb};

        in.engaging_kt = energy_of(in).capacity_kt;
        near("margin", energy_of(in).margin, 0.0, 1e-12);
    }
}

static void
energy_grows_with_speed_weight_and_thrust(void **state)
{
    uint64_t seed = first_seed(20260702);

    (void)state;
    for (int run = 0; run < 5000; run++) {
        const struct tl_energy_in in = {.weight_lb = draw(&seed, weights),
                                        .engaging_kt = draw(&seed, speeds),
                                        .thrust_lbf = draw(&seed, thrusts),
                                        .runout_ft = 300,
                                        .capacity_ftlb = course_ftlb};
        struct tl_energy_out base = energy_of(in);
        struct tl_energy_in more = in;

        more.engaging_kt += 0.1;
        assert_true(energy_of(more).energy_ftlb > base.energy_ftlb);
        assert_true(energy_of(more).margin < base.margin);
        more = in;
        more.weight_lb += 1.0;
        assert_true(energy_of(more).energy_ftlb > base.energy_ftlb);
        assert_true(energy_of(more).capacity_kt <= base.capacity_kt);
        more = in;
        more.thrust_lbf += 1.0;
        assert_true(energy_of(more).energy_ftlb > base.energy_ftlb);
    }
}

static struct tl_energy_need_in
draw_need(uint64_t *seed)
{
    return (struct tl_energy_need_in){
        .weight_lb = draw(seed, (struct span){20000, 70000}),
        .approach_kt = draw(seed, (struct span){90, 170}),
        .air = {draw(seed, (struct span){-20, 45}), draw(seed, (struct span){960, 1040})},
        .glide_deg = draw(seed, (struct span){0, 5}),
        .thrust_lbf = draw(seed, (struct span){0, 10000}),
        .runout_ft = 340,
        .capacity_ftlb = course_ftlb,
        .margin_least = draw(seed, (struct span){0, 0.3})};
}

/* The margin that this headwind leaves. */
static double
margin_in(const struct tl_energy_need_in *need, double headwind_kt)
{
    const struct tl_engaging_in in = {need->approach_kt, need->air, headwind_kt, need->glide_deg};
    struct tl_engaging_out out;

    assert_int_equal(tl_engaging(&in, &out), TL_OK);
    return energy_of((struct tl_energy_in){need->weight_lb, out.engaging_kt, need->thrust_lbf,
                                           need->runout_ft, need->capacity_ftlb})
        .margin;
}

static void
wind_needed_is_just_enough(void **state)
{
    uint64_t seed = first_seed(20260703);
    int needed = 0;
    int not_needed = 0;

    (void)state;
    for (int run = 0; run < 20000; run++) {
        struct tl_energy_need_in need = draw_need(&seed);
        double wind_kt = -1.0;
        enum tl_err err = tl_energy_wind_needed(&need, &wind_kt);

        if (err == TL_REFUSED) {
            continue;
        }
        assert_int_equal(err, TL_OK);
        if (wind_kt > 0.0) {
            near("at it", margin_in(&need, wind_kt), need.margin_least, 1e-9);
            assert_true(margin_in(&need, wind_kt - 0.1) < need.margin_least);
            needed++;
        } else {
            assert_true(margin_in(&need, 0.0) >= need.margin_least);
            not_needed++;
        }
    }
    assert_true(needed > 5000 && not_needed > 500); /* or it would prove nothing */
}

/* Own derivation: 0.212456723 of 47.5e6 is left by 50,000 lb at 130 kn over the deck, so that an approach
 * at 150 kn needs 20 kn for the same. */
static void
wind_needed_worked_rows(void **state)
{
    (void)state;
    struct tl_energy_need_in need = {.weight_lb = 50000,
                                     .approach_kt = 150,
                                     .air = standard,
                                     .capacity_ftlb = course_ftlb,
                                     .margin_least = 0.212456723};
    double wind_kt = -1.0;

    assert_int_equal(tl_energy_wind_needed(&need, &wind_kt), TL_OK);
    near("20 kn", wind_kt, 20.0, 1e-6);
    need.margin_least = 0.0;
    assert_int_equal(tl_energy_wind_needed(&need, &wind_kt), TL_OK);
    near("to 146.49 kn", wind_kt, 150.0 - 146.49, 0.005);
    need.approach_kt = 146.4;
    assert_int_equal(tl_energy_wind_needed(&need, &wind_kt), TL_OK);
    near("none", wind_kt, 0.0, 0.0);
}

static void
wind_needed_past_any_wind_is_refused(void **state)
{
    (void)state;
    const struct tl_energy_need_in thrust_alone = {.weight_lb = 50000,
                                                   .approach_kt = 130,
                                                   .air = standard,
                                                   .thrust_lbf = 96000,
                                                   .runout_ft = 500,
                                                   .capacity_ftlb = course_ftlb};
    struct tl_energy_need_in weak = {
        .weight_lb = 50000, .approach_kt = 130, .air = standard, .capacity_ftlb = 1e6};
    double wind_kt = -1.0;

    assert_int_equal(tl_energy_wind_needed(&thrust_alone, &wind_kt), TL_REFUSED);
    assert_int_equal(tl_energy_wind_needed(&weak, &wind_kt), TL_REFUSED);
    near("untouched", wind_kt, -1.0, 0.0);
    /* 30 kn and 50,000 lb: (30/130)^2 of 37.408e6 */
    weak.capacity_ftlb = 1.9923e6;
    assert_int_equal(tl_energy_wind_needed(&weak, &wind_kt), TL_OK);
    near("100 kn", wind_kt, 100.0, 0.01);
}

/* The margin that a weight leaves, whose speed goes with its root. */
static double
margin_of(const struct tl_energy_heaviest_in *in, double weight_lb)
{
    struct tl_energy_need_in need = in->need;
    const struct tl_approach_in approach = {in->need.approach_kt, in->at_lb, weight_lb};

    need.weight_lb = weight_lb;
    assert_int_equal(tl_approach_at(&approach, &need.approach_kt), TL_OK);
    return margin_in(&need, in->headwind_kt);
}

static void
heaviest_weight_is_just_allowed(void **state)
{
    uint64_t seed = first_seed(20260704);
    int bounded = 0;

    (void)state;
    for (int run = 0; run < 20000; run++) {
        const struct tl_energy_heaviest_in in = {.need = draw_need(&seed),
                                                 .at_lb = draw(&seed, (struct span){30000, 50000}),
                                                 .headwind_kt = draw(&seed, (struct span){-10, 40}),
                                                 .most_lb = 60000};
        double weight_lb = -1.0;

        assert_int_equal(tl_energy_heaviest(&in, &weight_lb), TL_OK);
        assert_true(weight_lb >= 1000.0 && weight_lb <= in.most_lb);
        if (weight_lb < in.most_lb) {
            near("at it", margin_of(&in, weight_lb), in.need.margin_least, 1e-9);
            assert_true(margin_of(&in, weight_lb + 1.0) < in.need.margin_least);
            bounded++;
        } else {
            assert_true(margin_of(&in, weight_lb) >= in.need.margin_least - 1e-12);
        }
    }
    assert_true(bounded > 5000);
}

static void
heaviest_weight_worked_rows(void **state)
{
    (void)state;
    struct tl_energy_heaviest_in in = {
        .need = {.approach_kt = 130, .air = standard, .capacity_ftlb = 37.408e6},
        .at_lb = 50000,
        .headwind_kt = 0,
        .most_lb = 200000};
    double weight_lb = -1.0;

    assert_int_equal(tl_energy_heaviest(&in, &weight_lb), TL_OK);
    near("its own rated example", weight_lb, 50000, 1.0);
    /* without wind the energy goes with the square of the weight */
    in.need.capacity_ftlb *= 4.0;
    assert_int_equal(tl_energy_heaviest(&in, &weight_lb), TL_OK);
    near("four times the energy", weight_lb, 100000, 2.0);
    in.most_lb = 60000;
    assert_int_equal(tl_energy_heaviest(&in, &weight_lb), TL_OK);
    near("not above the most", weight_lb, 60000, 0.0);
}

static void
heaviest_weight_is_none_when_nothing_is_left(void **state)
{
    (void)state;
    struct tl_energy_heaviest_in in = {.need = {.approach_kt = 130,
                                                .air = standard,
                                                .thrust_lbf = 96000,
                                                .runout_ft = 500,
                                                .capacity_ftlb = course_ftlb},
                                       .at_lb = 50000,
                                       .headwind_kt = 20,
                                       .most_lb = 60000};
    double weight_lb = -1.0;

    assert_int_equal(tl_energy_heaviest(&in, &weight_lb), TL_OK);
    near("the thrust takes it all", weight_lb, 0.0, 0.0);
    in.need.thrust_lbf = 0.0;
    in.headwind_kt = -100.0;
    in.need.capacity_ftlb = 1e5;
    assert_int_equal(tl_energy_heaviest(&in, &weight_lb), TL_OK);
    near("not even the lightest", weight_lb, 0.0, 0.0);
}

/* 60,000 lb at 20 kn in more wind than that would go backwards; there is no weight to tell. */
static void
heaviest_weight_that_the_wind_carries_off_is_refused(void **state)
{
    (void)state;
    struct tl_energy_heaviest_in in = {
        .need = {.approach_kt = 20, .air = standard, .capacity_ftlb = course_ftlb},
        .at_lb = 60000,
        .headwind_kt = 20.01,
        .most_lb = 60000};
    double weight_lb = -1.0;

    assert_int_equal(tl_energy_heaviest(&in, &weight_lb), TL_BADARG);
    near("untouched", weight_lb, -1.0, 0.0);
    in.headwind_kt = 19.99;
    assert_int_equal(tl_energy_heaviest(&in, &weight_lb), TL_OK);
    near("just not", weight_lb, 60000, 0.0);
}

static enum tl_err
call_energy(const void *in, void *out)
{
    return tl_energy(in, out);
}

static enum tl_err
call_needed(const void *in, void *out)
{
    return tl_energy_wind_needed(in, out);
}

static enum tl_err
call_heaviest(const void *in, void *out)
{
    return tl_energy_heaviest(in, out);
}

static void
energy_input_out_of_range_is_refused(void **state)
{
    (void)state;
    static const struct edge edges[] = {
        {"weight", offsetof(struct tl_energy_in, weight_lb), 1000, 200000, false},
        {"engaging", offsetof(struct tl_energy_in, engaging_kt), 0, 300, true},
        {"thrust", offsetof(struct tl_energy_in, thrust_lbf), 0, 100000, false},
        {"run-out", offsetof(struct tl_energy_in, runout_ft), 0, 2000, false},
        {"capacity", offsetof(struct tl_energy_in, capacity_ftlb), 1, 1e9, false},
    };
    const struct tl_energy_in sound = {40000, 100, 5000, 340, course_ftlb};

    takes_its_ranges_only(
        &(struct probe){call_energy, &sound, sizeof sound, sizeof(struct tl_energy_out)}, edges,
        sizeof edges / sizeof edges[0]);
}

static const struct tl_energy_need_in sound_need = {.weight_lb = 40000,
                                                    .approach_kt = 130,
                                                    .air = {15.0, 1013.25},
                                                    .glide_deg = 3.5,
                                                    .thrust_lbf = 5000,
                                                    .runout_ft = 340,
                                                    .capacity_ftlb = 9e8,
                                                    .margin_least = 0.1};

/* The weight is not looked at by tl_energy_heaviest, so it stands last. */
static const struct edge need_edges[] = {
    {"approach", offsetof(struct tl_energy_need_in, approach_kt), 20, 300, false},
    {"temperature", offsetof(struct tl_energy_need_in, air.temperature_c), -60, 60, false},
    {"pressure", offsetof(struct tl_energy_need_in, air.pressure_hpa), 500, 1100, false},
    {"glide", offsetof(struct tl_energy_need_in, glide_deg), 0, 10, false},
    {"thrust", offsetof(struct tl_energy_need_in, thrust_lbf), 0, 100000, false},
    {"run-out", offsetof(struct tl_energy_need_in, runout_ft), 0, 2000, false},
    {"capacity", offsetof(struct tl_energy_need_in, capacity_ftlb), 1, 1e9, false},
    {"margin", offsetof(struct tl_energy_need_in, margin_least), 0, 0.95, false},
    {"weight", offsetof(struct tl_energy_need_in, weight_lb), 1000, 200000, false},
};
enum {
    NEED_EDGES = sizeof need_edges / sizeof need_edges[0]
};

static void
wind_needed_input_out_of_range_is_refused(void **state)
{
    (void)state;
    takes_its_ranges_only(
        &(struct probe){call_needed, &sound_need, sizeof sound_need, sizeof(double)}, need_edges,
        NEED_EDGES);
}

static enum tl_err
call_heaviest_of_need(const void *in, void *out)
{
    const struct tl_energy_need_in *need = in;
    const struct tl_energy_heaviest_in all = {
        .need = *need, .at_lb = 40000, .headwind_kt = 10, .most_lb = 60000};

    return tl_energy_heaviest(&all, out);
}

static void
heaviest_input_out_of_range_is_refused(void **state)
{
    (void)state;
    static const struct edge edges[] = {
        {"at", offsetof(struct tl_energy_heaviest_in, at_lb), 1000, 200000, false},
        {"headwind", offsetof(struct tl_energy_heaviest_in, headwind_kt), -100, 100, false},
        {"most", offsetof(struct tl_energy_heaviest_in, most_lb), 1000, 200000, false},
    };
    const struct tl_energy_heaviest_in sound = {
        .need = sound_need, .at_lb = 40000, .headwind_kt = 10, .most_lb = 60000};
    struct tl_energy_heaviest_in no_weight = sound;
    double weight_lb = -1.0;

    takes_its_ranges_only(&(struct probe){call_heaviest, &sound, sizeof sound, sizeof(double)},
                          edges, sizeof edges / sizeof edges[0]);
    takes_its_ranges_only(
        &(struct probe){call_heaviest_of_need, &sound_need, sizeof sound_need, sizeof(double)},
        need_edges, NEED_EDGES - 1);
    no_weight.need.weight_lb = (double)NAN;
    assert_int_equal(tl_energy_heaviest(&no_weight, &weight_lb), TL_OK);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(kinetic_energy_worked_rows),
        cmocka_unit_test(margin_and_capacity_speed_worked_rows),
        cmocka_unit_test(hot_day_costs_a_tenth_more_energy),
        cmocka_unit_test(published_capacity_in_si),
        cmocka_unit_test(thrust_works_over_the_runout),
        cmocka_unit_test(energy_at_the_capacity_speed_is_the_capacity),
        cmocka_unit_test(energy_grows_with_speed_weight_and_thrust),
        cmocka_unit_test(wind_needed_is_just_enough),
        cmocka_unit_test(wind_needed_worked_rows),
        cmocka_unit_test(wind_needed_past_any_wind_is_refused),
        cmocka_unit_test(heaviest_weight_is_just_allowed),
        cmocka_unit_test(heaviest_weight_worked_rows),
        cmocka_unit_test(heaviest_weight_is_none_when_nothing_is_left),
        cmocka_unit_test(heaviest_weight_that_the_wind_carries_off_is_refused),
        cmocka_unit_test(energy_input_out_of_range_is_refused),
        cmocka_unit_test(wind_needed_input_out_of_range_is_refused),
        cmocka_unit_test(heaviest_input_out_of_range_is_refused),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
