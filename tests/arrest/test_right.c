/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_right - an engine that is set for the weight that comes
 *
 * Published: the valve closes at the same point whatever the setting is, so that every weight that is
 * set right runs out as far; a heavier setting has a smaller opening to begin with (NAVEDTRA 14310
 * p. 77).
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/arrest/rig.h"

static const double weights_lb[] = {12000.0, 20000.0, 30000.0, 40000.0, 50000.0, 66000.0};
enum {
    WEIGHTS = sizeof weights_lb / sizeof weights_lb[0],
    TRAVELS = 190 /* an inch apart */
};

static void
right_setting_has_the_same_run_out_whatever_the_weight(void **state)
{
    (void)state;
    struct tl_arrest_gear ideal = rig_ideal();
    struct tl_arrest_gear fuller = rig_gear();
    struct tl_arrest_in in = rig_in();

    for (size_t i = 0; i < WEIGHTS; i++) {
        char row[32];
        (void)snprintf(row, sizeof row, "%.0f lb", weights_lb[i]);
        in.weight_lb = weights_lb[i];
        in.set_lb = weights_lb[i];
        struct tl_arrest_out out = rig_run(&ideal, &in, NULL);
        assert_int_equal(out.end, TL_ARREST_STOPPED);
        /* at 0.1 kn one part in 1300^2 of the payout is left */
        rig_is_near(row, (struct rig_near){out.runout_ft, 340.0, 3e-4});
        rig_is_near(row, (struct rig_near){out.stroke_in, 192.9465, 3e-4});
        rig_is_near(row, (struct rig_near){out.peak_g, 2.5519, 1e-4});
        rig_is_near(row, (struct rig_near){out.time_s, 2.90, 5e-3});
        /* the accumulator and a valve that never quite shuts leave a foot between the weights */
        out = rig_run(&fuller, &in, NULL);
        assert_int_equal(out.end, TL_ARREST_STOPPED);
        rig_is_near(row, (struct rig_near){out.runout_ft, 340.0, 0.5});
    }
}

static void
rated_example_has_the_worked_peak_mean_and_time(void **state)
{
    (void)state;
    struct tl_arrest_gear gear = rig_ideal();
    struct tl_arrest_in in = rig_in();
    struct tl_arrest_out out = rig_run(&gear, &in, NULL);

    rig_is_near("peak", (struct rig_near){out.peak_hook_lbf, 127594.0, 1.0});
    rig_is_near("mean", (struct rig_near){out.mean_hook_lbf, 110024.0, 1.0});
    rig_is_near("peak / mean",
                (struct rig_near){out.peak_hook_lbf / out.mean_hook_lbf, 1.15969, 1e-5});
    rig_is_near("tension", (struct rig_near){out.peak_tension_lbf, 64626.0, 1.0});
    rig_is_near("of 195,000", (struct rig_near){out.tension_fraction, 64626.4 / 195000.0, 1e-5});
    rig_is_near("stroke left", (struct rig_near){out.stroke_margin_in, 2.0535, 1e-3});
    /* 37.408e6 ft-lbf; margin 0.212 on 47.5e6 (encyclopaedia text after the training course) */
    rig_is_near("energy", (struct rig_near){out.energy_ftlbf, 37.408e6, 500.0});
    rig_is_near("margin", (struct rig_near){out.energy_margin, 0.212, 5e-4});
    assert_false(out.parts);
    assert_false(out.off_centre_over);
    assert_true(out.end_speed_kt == 0.0);
}

/* (V / V design)^2: worked, in finite steps, 108,719 lbf at 120 kn and 147,978 at 140. */
static void
hook_force_goes_with_the_square_of_the_engaging_speed(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double speed_kt, peak_lbf;
    } rows[] = {
        {"120 kn", 120.0, 108719.0}, {"130 kn", 130.0, 127594.0}, {"140 kn", 140.0, 147978.0}};
    struct tl_arrest_gear gear = rig_ideal();
    struct tl_arrest_in in = rig_in();

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        in.engaging_kt = rows[i].speed_kt;
        struct tl_arrest_out out = rig_run(&gear, &in, NULL);
        rig_is_near(rows[i].name, (struct rig_near){out.peak_hook_lbf, rows[i].peak_lbf, 2.5});
        double square = pow(rows[i].speed_kt / 130.0, 2.0);
        rig_is_near_share(rows[i].name,
                          (struct rig_near){out.peak_hook_lbf, 127594.29 * square, 1e-5});
        rig_is_near(rows[i].name, (struct rig_near){out.runout_ft, 340.0, 3e-4});
    }
}

static double
opening(const struct tl_arrest_gear *gear, struct tl_arrest_ram ram)
{
    double in2 = -1.0;

    assert_int_equal(tl_arrest_opening(gear, ram, &in2), TL_OK);
    return in2;
}

static void
heavier_setting_has_the_smaller_opening_at_every_travel(void **state)
{
    (void)state;
    struct tl_arrest_gear gears[2] = {rig_ideal(), rig_gear()};

    for (size_t g = 0; g < 2; g++) {
        for (int travel = 1; travel <= TRAVELS; travel++) {
            for (size_t i = 1; i < WEIGHTS; i++) {
                struct tl_arrest_ram light = {weights_lb[i - 1], travel};
                struct tl_arrest_ram heavy = {weights_lb[i], travel};
                assert_true(opening(&gears[g], heavy) < opening(&gears[g], light));
            }
        }
    }
}

static void
opening_without_accumulator_goes_with_one_over_the_root_of_the_setting(void **state)
{
    (void)state;
    struct tl_arrest_gear gear = rig_ideal();

    for (int travel = 1; travel <= TRAVELS; travel++) {
        for (size_t i = 1; i < WEIGHTS; i++) {
            double share = opening(&gear, (struct tl_arrest_ram){weights_lb[i], travel}) /
                           opening(&gear, (struct tl_arrest_ram){weights_lb[0], travel});
            double wanted = sqrt(weights_lb[0] / weights_lb[i]);
            rig_is_near_share("opening", (struct rig_near){share, wanted, 1e-12});
        }
    }
}

/* From the widest place on, and shut at 192.9465 in. */
static void
valve_closes_at_one_travel_whatever_the_setting(void **state)
{
    (void)state;
    struct tl_arrest_gear gears[2] = {rig_ideal(), rig_gear()};

    gears[1].opening_least = 0.0;
    for (size_t g = 0; g < 2; g++) {
        for (size_t i = 0; i < WEIGHTS; i++) {
            double set_lb = weights_lb[i];
            double last = INFINITY;
            for (int travel = 60; travel <= 192; travel++) {
                double now = opening(&gears[g], (struct tl_arrest_ram){set_lb, travel});
                assert_true(now < last && now > 0.0);
                last = now;
            }
            assert_true(opening(&gears[g], (struct tl_arrest_ram){set_lb, 192.9464}) > 0.0);
            assert_true(opening(&gears[g], (struct tl_arrest_ram){set_lb, 192.9466}) == 0.0);
        }
    }
}

static void
opening_never_goes_below_its_least(void **state)
{
    (void)state;
    struct tl_arrest_gear gear = rig_gear();

    for (size_t i = 0; i < WEIGHTS; i++) {
        struct tl_arrest_schedule schedule;
        assert_int_equal(tl_arrest_schedule(&gear, weights_lb[i], &schedule), TL_OK);
        double least = 0.02 * schedule.opening_in2;
        double widest = 0.0;
        for (int quarter = -4; quarter < 4 * 196; quarter++) {
            double now = opening(&gear, (struct tl_arrest_ram){weights_lb[i], 0.25 * quarter});
            assert_true(now >= least * (1.0 - 1e-12));
            widest = fmax(widest, now);
        }
        rig_is_near_share(
            "at battery",
            (struct rig_near){opening(&gear, (struct tl_arrest_ram){weights_lb[i], 0.0}), least,
                              1e-12});
        rig_is_near_share(
            "shut", (struct rig_near){opening(&gear, (struct tl_arrest_ram){weights_lb[i], 194.0}),
                                      least, 1e-12});
        /* looked for at 200 places */
        rig_is_near_share("widest", (struct rig_near){widest, schedule.opening_in2, 1e-4});
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(right_setting_has_the_same_run_out_whatever_the_weight),
        cmocka_unit_test(rated_example_has_the_worked_peak_mean_and_time),
        cmocka_unit_test(hook_force_goes_with_the_square_of_the_engaging_speed),
        cmocka_unit_test(heavier_setting_has_the_smaller_opening_at_every_travel),
        cmocka_unit_test(opening_without_accumulator_goes_with_one_over_the_root_of_the_setting),
        cmocka_unit_test(valve_closes_at_one_travel_whatever_the_setting),
        cmocka_unit_test(opening_never_goes_below_its_least),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
