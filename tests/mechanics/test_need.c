/* SPDX-License-Identifier: Apache-2.0 */
/* The least headwind that keeps a limit: kept at it, not kept a little below it. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "broker/core/mechanics/need.h"

/* Invented gear, of the usual size. */
static const struct tl_arrest_gear gear = {
    .half_span_ft = 55,
    .runout_ft = 320,
    .design_kt = 130,
    .reeve_ratio = 18,
    .ram_diameter_in = 20,
    .stroke_max_in = 188,
    .accumulator_battery_psi = 400,
    .accumulator_full_psi = 650,
    .gas_exponent = 1.4,
    .discharge_coefficient = 0.7,
    .fluid_density_kg_m3 = 1060,
    .opening_least = 0.02,
    .capacity_ftlb = 43.5e6,
    .break_lbf = 188000,
};
/* Not refused, and no wind needed for either limit that is loose. */
static const struct tl_need_in sound = {
    .approach_kt = 140,
    .air = {15.0, 1013.25},
    .weight_lb = 44000,
    .set_lb = 44000,
    .limit = TL_NEED_HOOK_LOAD,
    .most = 80000,
};

static int
set_up(void **state)
{
    const char *why = NULL;
    struct tl_arrest_machine *machine = NULL;

    if (tl_arrest_open(&gear, &machine, &why) != TL_OK) {
        return 1;
    }
    *state = machine;
    return 0;
}

static int
tear_down(void **state)
{
    struct tl_arrest_machine *machine = *state;

    tl_arrest_close(&machine);
    return 0;
}

/* What the arrestment does in that headwind; sea level, so that airspeed is calibrated speed. */
static struct tl_arrest_out
arrest_in(struct tl_arrest_machine *machine, const struct tl_need_in *in, double headwind_kt)
{
    const struct tl_arrest_in arrest = {.weight_lb = in->weight_lb,
                                        .set_lb = in->set_lb,
                                        .engaging_kt = in->approach_kt - headwind_kt};
    struct tl_arrest_out out;
    const char *why = NULL;

    assert_int_equal(tl_arrest_run(machine, &arrest, NULL, &out, &why), TL_OK);
    return out;
}

static void
the_limit_is_kept_at_the_wind_and_not_below_it(void **state)
{
    static const struct {
        const char *name;
        enum tl_need_limit limit;
        double most;
    } rows[] = {
        {"hook load 80,000 lbf", TL_NEED_HOOK_LOAD, 80000},
        {"hook load 120,000 lbf", TL_NEED_HOOK_LOAD, 120000},
        {"stroke 179 in", TL_NEED_STROKE, 179},
        {"stroke 170 in", TL_NEED_STROKE, 170},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_need_in in = sound;
        double headwind_kt = -1.0;
        const char *why = "";
        bool hook = rows[i].limit == TL_NEED_HOOK_LOAD;

        in.limit = rows[i].limit;
        in.most = rows[i].most;
        if (tl_need_headwind(*state, &in, &headwind_kt, &why) != TL_OK || headwind_kt <= 0.0) {
            fail_msg("%s: %.3f kn, %s", rows[i].name, headwind_kt, why);
        }
        struct tl_arrest_out at = arrest_in(*state, &in, headwind_kt);
        struct tl_arrest_out below = arrest_in(*state, &in, headwind_kt - 2.0 * TL_NEED_WITHIN_KT);
        if ((hook ? at.peak_hook_lbf : at.stroke_in) > in.most ||
            (hook ? below.peak_hook_lbf : below.stroke_in) <= in.most) {
            fail_msg("%s: not the least at %.3f kn", rows[i].name, headwind_kt);
        }
    }
}

static void
a_limit_that_is_kept_without_wind_needs_none(void **state)
{
    struct tl_need_in in = sound;
    double headwind_kt = -1.0;
    const char *why = "";

    in.most = 1e6;
    assert_int_equal(tl_need_headwind(*state, &in, &headwind_kt, &why), TL_OK);
    assert_float_equal(headwind_kt, 0.0, 0.0);
}

static void
no_wind_is_enough_for_a_limit_that_is_too_low(void **state)
{
    struct tl_need_in in = sound;
    double headwind_kt = -1.0;
    const char *why = "";

    in.most = 100;
    assert_int_equal(tl_need_headwind(*state, &in, &headwind_kt, &why), TL_REFUSED);
    in.limit = TL_NEED_STROKE;
    in.most = 1;
    assert_int_equal(tl_need_headwind(*state, &in, &headwind_kt, &why), TL_REFUSED);
    assert_float_equal(headwind_kt, -1.0, 0.0);
}

static void
a_ram_that_meets_its_stop_keeps_no_limit(void **state)
{
    /* A limit past the stop: only the stop itself can then break it, on a setting too light. */
    struct tl_need_in in = sound;
    double headwind_kt = -1.0;
    const char *why = "";
    struct tl_arrest_gear near_stop = gear;
    struct tl_arrest_machine *machine = NULL;

    (void)state;
    near_stop.stroke_max_in = 180.2;
    near_stop.opening_least = 0.1;
    assert_int_equal(tl_arrest_open(&near_stop, &machine, &why), TL_OK);
    in.limit = TL_NEED_STROKE;
    in.most = 1000;
    in.set_lb = 30000;
    assert_int_equal(arrest_in(machine, &in, 0.0).end, TL_ARREST_BOTTOMED);
    assert_int_equal(tl_need_headwind(machine, &in, &headwind_kt, &why), TL_OK);
    assert_true(headwind_kt > 0.0);
    assert_int_equal(arrest_in(machine, &in, headwind_kt).end, TL_ARREST_STOPPED);
    tl_arrest_close(&machine);
}

static void
what_is_out_of_range_is_refused(void **state)
{
    static const struct {
        const char *name;
        double most, approach_kt, weight_lb, set_lb;
        enum tl_need_limit limit;
    } rows[] = {
        {"no limit named", 80000, 140, 44000, 44000, TL_NEED_UNKNOWN},
        {"limit 0", 0, 140, 44000, 44000, TL_NEED_HOOK_LOAD},
        {"limit below 0", -1, 140, 44000, 44000, TL_NEED_HOOK_LOAD},
        {"limit not a number", NAN, 140, 44000, 44000, TL_NEED_HOOK_LOAD},
        {"approach 19", 80000, 19, 44000, 44000, TL_NEED_HOOK_LOAD},
        {"approach not a number", 80000, NAN, 44000, 44000, TL_NEED_HOOK_LOAD},
        {"weight 0", 80000, 140, 0, 44000, TL_NEED_HOOK_LOAD},
        {"setting too light for the accumulator", 80000, 140, 44000, 1000, TL_NEED_HOOK_LOAD},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_need_in in = sound;
        double headwind_kt = -1.0;
        const char *why = NULL;

        in.limit = rows[i].limit;
        in.most = rows[i].most;
        in.approach_kt = rows[i].approach_kt;
        in.weight_lb = rows[i].weight_lb;
        in.set_lb = rows[i].set_lb;
        if (tl_need_headwind(*state, &in, &headwind_kt, &why) != TL_BADARG || why == NULL ||
            headwind_kt > -1.0) {
            fail_msg("%s: taken, %.3f kn", rows[i].name, headwind_kt);
        }
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_limit_is_kept_at_the_wind_and_not_below_it),
        cmocka_unit_test(a_limit_that_is_kept_without_wind_needs_none),
        cmocka_unit_test(no_wind_is_enough_for_a_limit_that_is_too_low),
        cmocka_unit_test(a_ram_that_meets_its_stop_keeps_no_limit),
        cmocka_unit_test(what_is_out_of_range_is_refused),
    };

    return cmocka_run_group_tests(tests, set_up, tear_down);
}
