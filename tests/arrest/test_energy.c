/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_energy - what goes in comes out, on gears and inputs drawn from a seed
 *
 * balance_error is the program's own figure: kinetic energy and work of the thrust against the work of
 * the cable, which the solver carries as a state. Beside it the test sums hook force over run-out from
 * the moments, by trapezoids, and compares with the change of the speed along.
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

enum {
    GEARS = 150,
    RUNS = 4, /* on each */
    STRETCHED = 40
};

struct sum {
    const struct tl_arrest_in *in;
    struct tl_arrest_moment last;
    bool begun;
    double work_ftlbf;
    double peak_lbf, peak_tension_lbf, peak_g, side_ft;
    bool is_finite, in_order;
};

static void
add(void *ctx, const struct tl_arrest_moment *moment)
{
    struct sum *sum = ctx;
    const double figures[] = {moment->time_s,    moment->runout_ft,    moment->speed_kt,
                              moment->decel_g,   moment->hook_lbf,     moment->tension_lbf,
                              moment->stroke_in, moment->pressure_psi, moment->off_centre_ft};

    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++) {
        sum->is_finite = sum->is_finite && isfinite(figures[i]);
    }
    if (sum->begun) {
        double step_ft = moment->runout_ft - sum->last.runout_ft;
        sum->work_ftlbf += 0.5 * (moment->hook_lbf + sum->last.hook_lbf) * step_ft;
        sum->in_order = sum->in_order && moment->time_s >= sum->last.time_s && step_ft >= 0.0;
    }
    double decel_g = (moment->hook_lbf - sum->in->thrust_lbf) / sum->in->weight_lb;

    rig_is_near("deceleration",
                (struct rig_near){moment->decel_g, decel_g, 1e-9 + 1e-12 * fabs(decel_g)});
    sum->peak_g = fmax(sum->peak_g, decel_g);
    sum->peak_lbf = fmax(sum->peak_lbf, moment->hook_lbf);
    sum->peak_tension_lbf = fmax(sum->peak_tension_lbf, moment->tension_lbf);
    sum->side_ft = fmax(sum->side_ft, fabs(moment->off_centre_ft));
    sum->begun = true;
    sum->last = *moment;
}

static double
kinetic_ftlbf(double weight_lb, double speed_kt)
{
    double speed_ft_s = speed_kt * RIG_KT / RIG_FT;

    return 0.5 * weight_lb * speed_ft_s * speed_ft_s * RIG_FT / RIG_G;
}

/* Everything that must hold of any run whatever its figures. */
static void
check_run(const struct tl_arrest_gear *gear, const struct tl_arrest_in *in,
          const struct tl_arrest_out *out, const struct sum *sum)
{
    double along = kinetic_ftlbf(in->weight_lb, in->engaging_kt);
    double across = kinetic_ftlbf(in->weight_lb, in->drift_kt);
    double thrust = in->thrust_lbf * out->runout_ft;
    double left = kinetic_ftlbf(in->weight_lb, sum->last.speed_kt);

    assert_true(sum->is_finite);
    assert_true(sum->in_order);
    assert_true(out->balance_error <= 1e-6);
    rig_is_near_share("energy",
                      (struct rig_near){out->energy_ftlbf, along + across + thrust, 1e-6});
    rig_is_near_share("work", (struct rig_near){sum->work_ftlbf, along + thrust - left, 2e-3});
    rig_is_near_share("mean", (struct rig_near){out->mean_hook_lbf * out->runout_ft,
                                                along + thrust - left, 1e-6});
    rig_is_near("margin", (struct rig_near){out->energy_margin,
                                            1.0 - out->energy_ftlbf / gear->capacity_ftlb, 1e-9});
    rig_is_near_share("peak", (struct rig_near){out->peak_hook_lbf, sum->peak_lbf, 1e-4});
    rig_is_near_share("peak g", (struct rig_near){out->peak_g, sum->peak_g, 1e-9});
    rig_is_near_share("tension",
                      (struct rig_near){out->peak_tension_lbf, sum->peak_tension_lbf, 1e-12});
    rig_is_near_share("fraction", (struct rig_near){out->tension_fraction,
                                                    out->peak_tension_lbf / gear->break_lbf, 1e-9});
    assert_int_equal(out->parts, out->tension_fraction > 1.0);
    assert_true(!out->parts || (out->parts_kt > 0.0 && out->parts_kt <= 2.0 * in->engaging_kt));
    assert_int_equal(out->off_centre_over, sum->side_ft > gear->off_centre_max_ft);
    rig_is_near("stroke", (struct rig_near){out->stroke_in + out->stroke_margin_in,
                                            gear->stroke_max_in, 1e-6});
    if (out->end == TL_ARREST_BOTTOMED) {
        rig_is_near("at the stop", (struct rig_near){out->stroke_margin_in, 0.0, 1e-6});
        rig_is_near("end", (struct rig_near){out->end_speed_kt, sum->last.speed_kt, 1e-9});
    } else {
        assert_int_equal(out->end, TL_ARREST_STOPPED);
        rig_is_near("slow", (struct rig_near){sum->last.speed_kt, 0.1, 1e-6});
        assert_true(out->end_speed_kt == 0.0);
    }
}

struct tally {
    int stopped, bottomed, parted, over, light;
    double worst;
};

static void
run_once(const struct tl_arrest_gear *gear, struct tl_arrest_machine *machine,
         const struct tl_arrest_in *in, struct tally *tally)
{
    struct sum sum = {.in = in, .is_finite = true, .in_order = true};
    struct tl_arrest_watch watch = {&sum, add};
    struct tl_arrest_out out;
    const char *why = NULL;
    enum tl_err err = tl_arrest_run(machine, in, &watch, &out, &why);

    if (err == TL_REFUSED) {
        assert_string_equal(
            why, "the setting is too light for this gear: its accumulator alone holds more");
        tally->light++;
        return;
    }
    assert_int_equal(err, TL_OK);
    check_run(gear, in, &out, &sum);
    tally->stopped += out.end == TL_ARREST_STOPPED;
    tally->bottomed += out.end == TL_ARREST_BOTTOMED;
    tally->parted += out.parts;
    tally->over += out.off_centre_over;
    tally->worst = fmax(tally->worst, out.balance_error);
}

static void
balance_on_drawn_gears(uint64_t seed, int gears, bool stretch)
{
    struct tally tally = {0};

    for (int i = 0; i < gears; i++) {
        struct tl_arrest_gear gear = rig_draw_gear(&seed);
        struct tl_arrest_machine *machine = NULL;
        const char *why = NULL;
        assert_int_equal(tl_arrest_open(&gear, &machine, &why), TL_OK);
        for (int k = 0; k < RUNS; k++) {
            struct tl_arrest_in in = rig_draw_in(&seed, &gear);
            in.stretch = stretch;
            run_once(&gear, machine, &in, &tally);
        }
        tl_arrest_close(&machine);
    }
    (void)printf("           %d stopped, %d bottomed, %d parted, %d off-centre, %d too light; "
                 "worst balance %.1e\n",
                 tally.stopped, tally.bottomed, tally.parted, tally.over, tally.light, tally.worst);
    assert_true(tally.stopped > gears / 2);
    assert_true(tally.bottomed > 0 && tally.parted > 0 && tally.over > 0);
}

static void
energy_is_kept_to_a_millionth_on_drawn_gears(void **state)
{
    (void)state;
    balance_on_drawn_gears(rig_seed(1), GEARS, false);
}

static void
energy_is_kept_to_a_millionth_with_a_cable_that_stretches(void **state)
{
    (void)state;
    balance_on_drawn_gears(rig_seed(2), STRETCHED, true);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(energy_is_kept_to_a_millionth_on_drawn_gears),
        cmocka_unit_test(energy_is_kept_to_a_millionth_with_a_cable_that_stretches),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
