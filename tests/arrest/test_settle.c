/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_settle - the same equations, written a second time and integrated by GSL, give the same run
 *
 * tests/arrest/reference.c halves its tolerance and its steps until nothing moves any more.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/arrest/reference.h"
#include "tests/arrest/rig.h"

/*
 * Where the schedule meets the least opening the force has a corner: the tension early on, when it leaves
 * it, and the force of a right or light setting near the end. A corner between two moments is looked at
 * less finely than a smooth top.
 */
static const double smooth = 1e-5;
static const double corner = 1e-3;

static void
compare(const char *row, const struct tl_arrest_gear *gear, const struct tl_arrest_in *in)
{
    const struct reference_exact fine = {.tolerance = 1e-9, .step_s = 1e-3};
    struct reference_out wanted = {0};
    struct reference_out finely = {
        0}; /* looked at every millisecond, for the corner of the tension */
    struct tl_arrest_out out = rig_run(gear, in, NULL);
    bool settled = reference_settle(gear, in, 0.1 * corner, &wanted);
    bool is_smooth = wanted.peak_at_ft < 0.9 * gear->runout_ft;

    if (is_smooth) {
        settled = settled && reference_settle(gear, in, 0.01 * smooth, &wanted);
    }
    settled = settled && reference_run(gear, in, fine, &finely);
    if (!settled) {
        fail_msg("%s: the second integration did not settle", row);
    }
    double within = is_smooth ? smooth : corner;
    assert_int_equal(out.end == TL_ARREST_BOTTOMED, wanted.bottomed);
    rig_is_near_share(row, (struct rig_near){out.runout_ft, wanted.runout_ft, smooth});
    rig_is_near_share(row, (struct rig_near){out.time_s, wanted.time_s, smooth});
    rig_is_near_share(row, (struct rig_near){out.stroke_in, wanted.stroke_in, smooth});
    rig_is_near_share(row, (struct rig_near){out.peak_hook_lbf, wanted.peak_hook_lbf, within});
    rig_is_near_share(row,
                      (struct rig_near){out.peak_tension_lbf, finely.peak_tension_lbf, corner});
    rig_is_near(row, (struct rig_near){out.off_centre_end_ft, wanted.off_centre_ft, 1e-4});
    if (wanted.bottomed) {
        rig_is_near_share(row, (struct rig_near){out.end_speed_kt, wanted.end_kt, smooth});
    }
}

static void
rigid_cable_runs_as_the_second_integration_does(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        struct tl_arrest_in in;
    } rows[] = {
        {"right", {50000.0, 50000.0, 130.0, 0.0, 0.0, 0.0, false}},
        {"right, slow", {30000.0, 30000.0, 105.0, 0.0, 0.0, 0.0, false}},
        {"heavy", {30000.0, 50000.0, 130.0, 0.0, 0.0, 0.0, false}},
        {"a little heavy", {50000.0, 60000.0, 130.0, 0.0, 0.0, 0.0, false}},
        {"light", {50000.0, 45000.0, 130.0, 0.0, 0.0, 0.0, false}},
        {"off-centre", {50000.0, 60000.0, 130.0, 15.0, 0.0, 0.0, false}},
        {"drift", {50000.0, 60000.0, 130.0, -5.0, 6.0, 0.0, false}},
        {"all of it", {40000.0, 50000.0, 120.0, 8.0, -3.0, 4000.0, false}},
        {"thrust to the ram's stop", {50000.0, 60000.0, 130.0, 0.0, 0.0, 20000.0, false}},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_arrest_gear gear = rig_gear();
        compare(rows[i].name, &gear, &rows[i].in);
        gear.accumulator_battery_psi = 0.0;
        gear.accumulator_full_psi = 0.0;
        compare(rows[i].name, &gear, &rows[i].in);
    }
}

static void
drawn_gears_run_as_the_second_integration_does(void **state)
{
    (void)state;
    uint64_t seed = rig_seed(5);
    int compared = 0;

    while (compared < 15) {
        struct tl_arrest_gear gear = rig_draw_gear(&seed);
        struct tl_arrest_in in = rig_draw_in(&seed, &gear);
        struct tl_arrest_schedule schedule;
        in.set_lb = in.weight_lb * rig_draw(&seed, (struct rig_span){1.1, 1.6});
        in.thrust_lbf = 0.0;
        if (tl_arrest_schedule(&gear, in.set_lb, &schedule) == TL_OK) {
            compare("drawn", &gear, &in);
            compared++;
        }
    }
}

static void
stretching_cable_runs_as_the_second_integration_does(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        struct tl_arrest_in in;
    } rows[] = {
        {"right", {50000.0, 50000.0, 130.0, 0.0, 0.0, 0.0, true}},
        {"heavy", {30000.0, 50000.0, 130.0, 0.0, 0.0, 0.0, true}},
        {"off-centre", {50000.0, 50000.0, 130.0, 15.0, -4.0, 0.0, true}},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_arrest_gear gear = rig_gear();
        compare(rows[i].name, &gear, &rows[i].in);
        gear.cable_damping = 0.0;
        compare(rows[i].name, &gear, &rows[i].in);
    }
}

/* What is left of the difference goes with the length of the cable, that is with one over stiffness. */
static void
stiffer_and_stiffer_cable_tends_to_the_one_that_does_not_stretch(void **state)
{
    (void)state;
    struct tl_arrest_gear gear = rig_gear();
    struct tl_arrest_in in = rig_in();
    double last_ft = INFINITY;
    double last_s = INFINITY;
    double last_peak = INFINITY;

    /* the ram's own mass is no part of the rigid cable: nearly none, and well damped */
    gear.ram_mass_lb = 20.0;
    gear.cable_damping = 1.0;
    gear.cable_stiffness_lbf = 6.4e8;
    in.set_lb = 55000.0;
    struct tl_arrest_out rigid = rig_run(&gear, &in, NULL);
    in.stretch = true;
    for (int i = 0; i < 6; i++) {
        gear.cable_length_ft = 19200.0 * pow(0.25, i);
        struct tl_arrest_out out = rig_run(&gear, &in, NULL);
        double off_ft = fabs(out.runout_ft - rigid.runout_ft);
        double off_s = fabs(out.time_s - rigid.time_s);
        double off_peak = fabs(out.peak_hook_lbf / rigid.peak_hook_lbf - 1.0);
        assert_true(off_ft < last_ft);
        assert_true(off_s < last_s);
        assert_true(off_peak < 0.4 * last_peak);
        last_ft = off_ft;
        last_s = off_s;
        last_peak = off_peak;
    }
    assert_true(last_ft < 1e-3);
    assert_true(last_s < 1e-3);
    assert_true(last_peak < 1e-4);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rigid_cable_runs_as_the_second_integration_does),
        cmocka_unit_test(drawn_gears_run_as_the_second_integration_does),
        cmocka_unit_test(stretching_cable_runs_as_the_second_integration_does),
        cmocka_unit_test(stiffer_and_stiffer_cable_tends_to_the_one_that_does_not_stretch),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
