/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_events - what can happen on the way: the stop, the ram's stop, a cable that parts, too far off
 * the middle
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

static void
ram_meets_its_stop_under_a_light_setting_with_little_stroke_left(void **state)
{
    (void)state;
    struct tl_arrest_gear gear = rig_gear();
    struct tl_arrest_in in = rig_in();

    gear.stroke_max_in = 193.0;
    gear.opening_least = 0.05;
    in.set_lb = 30000.0;
    struct tl_arrest_out out = rig_run(&gear, &in, NULL);
    assert_int_equal(out.end, TL_ARREST_BOTTOMED);
    rig_is_near("stroke", (struct rig_near){out.stroke_in, 193.0, 1e-6});
    rig_is_near("margin", (struct rig_near){out.stroke_margin_in, 0.0, 1e-6});
    assert_true(out.end_speed_kt > 1.0);
    in.set_lb = 50000.0;
    gear.opening_least = 0.005;
    out = rig_run(&gear, &in, NULL);
    assert_int_equal(out.end, TL_ARREST_STOPPED);
    assert_true(out.end_speed_kt == 0.0);
}

/* The law of a wrong setting gives the speed at which a tension is reached: (1 - s)^(mu - 1) = T / T set. */
static void
cable_parts_at_the_speed_that_the_law_gives(void **state)
{
    (void)state;
    struct tl_arrest_gear gear = rig_ideal();
    struct tl_arrest_in in = rig_in();
    struct tl_arrest_schedule schedule;

    gear.break_lbf = 100000.0;
    in.set_lb = 40000.0;
    assert_int_equal(tl_arrest_schedule(&gear, in.set_lb, &schedule), TL_OK);
    struct tl_arrest_out out = rig_run(&gear, &in, NULL);
    assert_true(out.parts);
    double left = pow(gear.break_lbf / schedule.tension_lbf, 1.0 / (0.8 - 1.0));
    rig_is_near_share("speed", (struct rig_near){out.parts_kt, 130.0 * pow(left, 0.4), 1e-3});
}

static void
cable_parts_one_pound_past_its_strength_and_not_before(void **state)
{
    (void)state;
    struct tl_arrest_gear gear = rig_gear();
    struct tl_arrest_in in = rig_in();
    double peak_lbf = rig_run(&gear, &in, NULL).peak_tension_lbf;

    gear.break_lbf = peak_lbf + 1.0;
    struct tl_arrest_out out = rig_run(&gear, &in, NULL);
    assert_false(out.parts);
    assert_true(out.parts_kt == 0.0);
    gear.break_lbf = peak_lbf - 1.0;
    out = rig_run(&gear, &in, NULL);
    assert_true(out.parts);
    assert_true(out.parts_kt > 0.0);
    /* at the very first moment the accumulator alone holds 3,491 lbf */
    gear.break_lbf = 3000.0;
    out = rig_run(&gear, &in, NULL);
    assert_true(out.parts);
    rig_is_near("at once", (struct rig_near){out.parts_kt, 130.0, 1e-6});
}

static void
off_centre_limit_is_passed_by_drift(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double off_ft, drift_kt;
        bool over;
    } rows[] = {
        {"in the middle", 0.0, 0.0, false},
        {"on the limit", 20.0, 0.0, false},
        {"past it", 20.001, 0.0, true},
        {"past it, other side", -20.001, 0.0, true},
        {"near it, at rest", 19.9, 0.0, false},
        {"near it, drifting out", 19.9, 1.0, true},
        {"on it, drifting out", 20.0, 7.0, true},
        {"on it, other side", -20.0, -7.0, true},
        {"on it, drifting in", 20.0, -3.0, false},
        {"far from it, fast", 12.0, 12.0, true},
    };
    struct tl_arrest_gear gear = rig_gear();

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        (void)printf("           row: %s\n", rows[i].name);
        struct tl_arrest_in in = rig_in();
        in.off_centre_ft = rows[i].off_ft;
        in.drift_kt = rows[i].drift_kt;
        gear.off_centre_max_ft = 20.0;
        assert_int_equal(rig_run(&gear, &in, NULL).off_centre_over, rows[i].over);
        gear.off_centre_max_ft = 0.0; /* no limit */
        assert_false(rig_run(&gear, &in, NULL).off_centre_over);
    }
}

/* From a billionth of a foot short of the limit on: passed within the first milliseconds. */
static void
off_centre_limit_passed_at_once_is_no_reason_to_give_up(void **state)
{
    (void)state;
    struct tl_arrest_in in = rig_in();

    in.off_centre_ft = 12.4;
    in.drift_kt = 7.0;
    for (int i = 0; i < 75; i++) {
        struct tl_arrest_gear gear = rig_gear();
        gear.off_centre_max_ft = 12.4 + 1e-9 * pow(1.3, i);
        assert_true(rig_run(&gear, &in, NULL).off_centre_over);
    }
}

static void
hook_off_the_middle_is_drawn_toward_it(void **state)
{
    (void)state;
    struct tl_arrest_gear gear = rig_gear();
    struct tl_arrest_in in = rig_in();

    in.off_centre_ft = 15.0;
    struct tl_arrest_out out = rig_run(&gear, &in, NULL);
    assert_true(fabs(out.off_centre_end_ft) < 15.0);
    assert_false(out.off_centre_over);
    in.off_centre_ft = 0.0;
    assert_true(rig_run(&gear, &in, NULL).off_centre_end_ft == 0.0);
    /* drift to one side ends on that side, and less far than without a wire: 3 s at 4 kn are 20 ft */
    in.drift_kt = 4.0;
    out = rig_run(&gear, &in, NULL);
    assert_true(out.off_centre_end_ft > 1.0 && out.off_centre_end_ft < 15.0);
}

static void
two_sides_are_mirrors_of_each_other(void **state)
{
    (void)state;
    struct tl_arrest_gear gear = rig_gear();
    struct tl_arrest_in in = rig_in();

    in.off_centre_ft = 10.0;
    in.drift_kt = 5.0;
    struct tl_arrest_out right = rig_run(&gear, &in, NULL);
    in.off_centre_ft = -10.0;
    in.drift_kt = -5.0;
    struct tl_arrest_out left = rig_run(&gear, &in, NULL);
    rig_is_near_share("run-out", (struct rig_near){left.runout_ft, right.runout_ft, 1e-9});
    rig_is_near_share("peak", (struct rig_near){left.peak_hook_lbf, right.peak_hook_lbf, 1e-9});
    rig_is_near_share("end",
                      (struct rig_near){left.off_centre_end_ft, -right.off_centre_end_ft, 1e-8});
    assert_true(right.off_centre_end_ft > 0.0);
}

static void
thrust_that_is_held_makes_the_run_out_and_the_energy_more(void **state)
{
    (void)state;
    struct tl_arrest_gear gear = rig_gear();
    struct tl_arrest_in in = rig_in();
    struct tl_arrest_out last = rig_run(&gear, &in, NULL);

    gear.stroke_max_in = 230.0;
    for (int thousands = 1; thousands < 5; thousands++) {
        in.thrust_lbf = 1000.0 * thousands;
        struct tl_arrest_out out = rig_run(&gear, &in, NULL);
        assert_int_equal(out.end, TL_ARREST_STOPPED);
        assert_true(out.runout_ft > last.runout_ft);
        assert_true(out.energy_ftlbf > last.energy_ftlbf);
        assert_true(out.energy_margin < last.energy_margin);
        last = out;
    }
}

struct rope {
    double least_lbf;
    int slack;
};

static void
look_for_slack(void *ctx, const struct tl_arrest_moment *moment)
{
    struct rope *rope = ctx;

    rope->least_lbf = fmin(rope->least_lbf, moment->tension_lbf);
    rope->slack += moment->tension_lbf == 0.0;
}

/* An absurdly heavy ram, reeved 4:1, runs ahead of the cable. */
static void
cable_that_stretches_goes_slack_and_never_pushes(void **state)
{
    (void)state;
    struct rope rope = {.least_lbf = INFINITY};
    struct tl_arrest_watch watch = {&rope, look_for_slack};
    struct tl_arrest_gear gear = rig_gear();
    struct tl_arrest_in in = rig_in();

    gear.accumulator_battery_psi = 0.0;
    gear.accumulator_full_psi = 0.0;
    gear.reeve_ratio = 4.0;
    gear.stroke_max_in = 1000.0;
    gear.ram_mass_lb = 270000.0;
    gear.cable_damping = 0.0;
    gear.cable_stiffness_lbf = 3e7;
    in.stretch = true;
    (void)rig_run(&gear, &in, &watch);
    assert_true(rope.least_lbf == 0.0);
    assert_true(rope.slack > 100);
}

static void
slow_engagement_is_run_to_its_stop_too(void **state)
{
    (void)state;
    struct tl_arrest_gear gear = rig_ideal();
    struct tl_arrest_in in = rig_in();

    in.engaging_kt = 1.0;
    struct tl_arrest_out out = rig_run(&gear, &in, NULL);
    assert_int_equal(out.end, TL_ARREST_STOPPED);
    /* 0.1 of 1 kn: a hundredth of the payout is left */
    double out_ft = 0.99 * (hypot(55.0, 340.0) - 55.0);
    rig_is_near("run-out", (struct rig_near){out.runout_ft, sqrt(out_ft * (out_ft + 110.0)), 1e-3});
}

static void
close_accepts_nothing_and_nulls_what_it_closes(void **state)
{
    (void)state;
    struct tl_arrest_gear gear = rig_gear();
    struct tl_arrest_machine *machine = NULL;
    const char *why = NULL;

    tl_arrest_close(NULL);
    tl_arrest_close(&machine);
    assert_int_equal(tl_arrest_open(&gear, &machine, &why), TL_OK);
    tl_arrest_close(&machine);
    assert_null(machine);
    tl_arrest_close(&machine);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ram_meets_its_stop_under_a_light_setting_with_little_stroke_left),
        cmocka_unit_test(cable_parts_at_the_speed_that_the_law_gives),
        cmocka_unit_test(cable_parts_one_pound_past_its_strength_and_not_before),
        cmocka_unit_test(off_centre_limit_is_passed_by_drift),
        cmocka_unit_test(off_centre_limit_passed_at_once_is_no_reason_to_give_up),
        cmocka_unit_test(hook_off_the_middle_is_drawn_toward_it),
        cmocka_unit_test(two_sides_are_mirrors_of_each_other),
        cmocka_unit_test(thrust_that_is_held_makes_the_run_out_and_the_energy_more),
        cmocka_unit_test(cable_that_stretches_goes_slack_and_never_pushes),
        cmocka_unit_test(slow_engagement_is_run_to_its_stop_too),
        cmocka_unit_test(close_accepts_nothing_and_nulls_what_it_closes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
