/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_absurd - what is out of range is refused with its sentence, and nothing crashes on anything
 *
 * The bounds are the project's own.
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

struct edge {
    const char *name;
    size_t at; /* offset of the double */
    double least, most;
    const char *why;
};

#define GEAR(member, least, most, why)                                                             \
    {                                                                                              \
#member, offsetof(struct tl_arrest_gear, member), least, most, why                         \
    }
static const struct edge GEAR_EDGES[] = {
    GEAR(half_span_ft, 5.0, 500.0, "the half span of the gear is absurd"),
    GEAR(runout_ft, 20.0, 3000.0, "the design run-out of the gear is absurd"),
    GEAR(design_kt, 20.0, 300.0, "the design speed of the gear is absurd"),
    GEAR(reeve_ratio, 1.0, 100.0, "the reeve ratio of the gear is absurd"),
    GEAR(ram_diameter_in, 1.0, 100.0, "the ram diameter of the gear is absurd"),
    GEAR(stroke_max_in, 1.0, 5000.0, "the greatest stroke of the gear is absurd"),
    GEAR(accumulator_battery_psi, 0.0, 10000.0, "the accumulator pressure is absurd"),
    GEAR(accumulator_full_psi, 0.0, 20000.0, "the accumulator pressure is absurd"),
    GEAR(gas_exponent, 1.0, 2.0, "the gas exponent is absurd"),
    GEAR(discharge_coefficient, 0.1, 1.0, "the discharge coefficient is absurd"),
    GEAR(fluid_density_kg_m3, 100.0, 5000.0, "the fluid density is absurd"),
    GEAR(opening_least, 0.0, 0.5, "the least opening of the valve is absurd"),
    GEAR(capacity_ftlb, 1e4, 1e10, "the energy capacity is absurd"),
    GEAR(break_lbf, 1e3, 1e7, "the breaking strength is absurd"),
    GEAR(off_centre_max_ft, 0.0, 55.0, "the off-centre limit is absurd"),
    GEAR(cable_stiffness_lbf, 0.0, 1e9, "the cable stiffness is absurd"),
    GEAR(cable_length_ft, 0.0, 20000.0, "the cable length is absurd"),
    GEAR(cable_damping, 0.0, 2.0, "the cable damping is absurd"),
    GEAR(ram_mass_lb, 0.0, 1e6, "the mass of the ram is absurd"),
};
#define IN(member, least, most, why)                                                               \
    {                                                                                              \
#member, offsetof(struct tl_arrest_in, member), least, most, why                           \
    }
static const struct edge IN_EDGES[] = {
    IN(weight_lb, 500.0, 300000.0, "the weight is not one of an aircraft"),
    IN(set_lb, 500.0, 300000.0, "the setting is not a weight of an aircraft"),
    IN(engaging_kt, 1.0, 300.0, "the engaging speed is not between 1 and 300 kn"),
    IN(off_centre_ft, -49.5, 49.5, "the hook is off the wire: too far off the middle"),
    IN(drift_kt, -50.0, 50.0, "the drift is not between 50 kn either way"),
    IN(thrust_lbf, 0.0, 200000.0, "the thrust is not between 0 and 200,000 lbf"),
};
enum {
    GEAR_COUNT = sizeof GEAR_EDGES / sizeof GEAR_EDGES[0],
    IN_COUNT = sizeof IN_EDGES / sizeof IN_EDGES[0],
    BAD = 5,
    ROUNDS = 20000
};

static void
set_figure(void *whole, const struct edge *edge, double value)
{
    memcpy((char *)whole + edge->at, &value, sizeof value);
}

/* Just outside at either end, and what is not a number at all. */
static void
list_bad(const struct edge *edge, double bad[BAD])
{
    bad[0] = nextafter(edge->least, -INFINITY);
    bad[1] = edge->most * (1.0 + 1e-9);
    bad[2] = NAN;
    bad[3] = INFINITY;
    bad[4] = -INFINITY;
}

static void
each_absurd_figure_of_the_gear_is_refused_with_its_sentence(void **state)
{
    (void)state;
    for (size_t i = 0; i < GEAR_COUNT; i++) {
        double bad[BAD];
        list_bad(&GEAR_EDGES[i], bad);
        for (size_t k = 0; k < BAD; k++) {
            struct tl_arrest_gear gear = rig_gear();
            set_figure(&gear, &GEAR_EDGES[i], bad[k]);
            rig_open_is(&gear, (struct rig_no){TL_BADARG, GEAR_EDGES[i].why});
        }
    }
}

/* At the bound it is no longer that sentence: taken, or refused for how it goes with the others. */
static void
each_figure_of_the_gear_is_taken_at_its_bounds(void **state)
{
    (void)state;
    for (size_t i = 0; i < GEAR_COUNT; i++) {
        const double bounds[2] = {GEAR_EDGES[i].least, GEAR_EDGES[i].most};
        for (size_t k = 0; k < 2; k++) {
            struct tl_arrest_gear gear = rig_ideal();
            struct tl_arrest_machine *machine = NULL;
            const char *why = NULL;
            gear.off_centre_max_ft = 0.0;
            gear.cable_stiffness_lbf = 0.0;
            set_figure(&gear, &GEAR_EDGES[i], bounds[k]);
            if (tl_arrest_open(&gear, &machine, &why) != TL_OK &&
                strcmp(why, GEAR_EDGES[i].why) == 0) {
                fail_msg("%s at %g: %s", GEAR_EDGES[i].name, bounds[k], why);
            }
            tl_arrest_close(&machine);
        }
    }
}

static void
figures_that_do_not_go_together_are_refused_with_their_sentence(void **state)
{
    (void)state;
    struct tl_arrest_gear gear = rig_gear();

    gear.stroke_max_in = 192.9;
    rig_open_is(
        &gear, (struct rig_no){TL_BADARG, "the design run-out takes more stroke than the ram has"});
    gear = rig_gear();
    gear.accumulator_full_psi = gear.accumulator_battery_psi;
    rig_open_is(
        &gear,
        (struct rig_no){TL_BADARG,
                        "the accumulator's pressure at full stroke is not above that at battery"});
    gear = rig_gear();
    gear.stroke_max_in = 700.0; /* 127 ft3 swept, 122.62 ft3 of gas */
    rig_open_is(&gear,
                (struct rig_no){TL_BADARG, "the accumulator has less gas than the ram sweeps"});
    gear = rig_gear();
    gear.cable_length_ft = 0.0;
    const struct rig_no bare = {TL_BADARG,
                                "a cable that stretches needs its length and the mass of the ram"};
    rig_open_is(&gear, bare);
    gear = rig_gear();
    gear.ram_mass_lb = 0.0;
    rig_open_is(&gear, bare);
}

static void
each_absurd_input_is_refused_with_its_sentence(void **state)
{
    (void)state;
    struct tl_arrest_gear gear = rig_gear();

    for (size_t i = 0; i < IN_COUNT; i++) {
        double bad[BAD];
        list_bad(&IN_EDGES[i], bad);
        for (size_t k = 0; k < BAD; k++) {
            struct tl_arrest_in in = rig_in();
            set_figure(&in, &IN_EDGES[i], bad[k]);
            rig_run_is(&gear, &in, (struct rig_no){TL_BADARG, IN_EDGES[i].why});
        }
    }
    struct tl_arrest_in in = rig_in();
    in.stretch = true;
    gear.opening_least = 0.0;
    rig_run_is(&gear, &in,
               (struct rig_no){TL_BADARG,
                               "a cable that stretches needs a valve that never shuts altogether"});
    gear.cable_stiffness_lbf = 0.0;
    rig_run_is(&gear, &in,
               (struct rig_no){TL_BADARG, "the gear gives no figures of a cable that stretches"});
}

/* 650 psi at full stroke must leave the valve 2 in 100 of the pressure: 4,478 lb. */
static void
setting_too_light_for_the_accumulator_is_refused_with_its_sentence(void **state)
{
    (void)state;
    struct tl_arrest_gear gear = rig_gear();
    struct tl_arrest_in in = rig_in();
    double least_lb = 50000.0 * 650.0 / 0.98 / 7406.27;

    in.weight_lb = 4500.0;
    in.set_lb = least_lb - 1.0;
    rig_run_is(&gear, &in,
               (struct rig_no){
                   TL_REFUSED,
                   "the setting is too light for this gear: its accumulator alone holds more"});
    in.set_lb = least_lb + 1.0;
    assert_int_equal(rig_run(&gear, &in, NULL).end, TL_ARREST_STOPPED);
}

/* A figure from anywhere: mostly within the bounds, else one of the worst there are. */
static double
draw_any(uint64_t *seed, const struct edge *edge)
{
    static const double worst[] = {NAN,    INFINITY, -INFINITY, 0.0,    -0.0, -1.0,
                                   5e-324, 1e308,    -1e308,    1e-300, 1e16, 1.0};
    enum {
        WORST = sizeof worst / sizeof worst[0]
    };

    if (rig_chance(seed, 0.1)) {
        return worst[(size_t)rig_draw(seed, (struct rig_span){0.0, WORST}) % WORST];
    }
    if (rig_chance(seed, 0.1)) {
        return rig_chance(seed, 0.5) ? edge->least : edge->most;
    }
    double low = fmax(edge->least, edge->most * 1e-4);
    return low * pow(edge->most / low, rig_draw(seed, (struct rig_span){0.0, 1.0}));
}

static void
assert_finite(const struct tl_arrest_out *out)
{
    const double figures[] = {
        out->runout_ft,        out->stroke_in,        out->stroke_margin_in, out->end_speed_kt,
        out->peak_hook_lbf,    out->peak_hook_at_ft,  out->mean_hook_lbf,    out->peak_g,
        out->peak_tension_lbf, out->tension_fraction, out->parts_kt,         out->off_centre_end_ft,
        out->time_s,           out->energy_ftlbf,     out->energy_margin,    out->balance_error};

    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++) {
        assert_true(isfinite(figures[i]));
    }
    assert_true(out->end == TL_ARREST_STOPPED || out->end == TL_ARREST_BOTTOMED);
}

struct tally {
    int closed, refused, ran;
};

static void
try_inputs(struct tl_arrest_machine *machine, uint64_t *seed, struct tally *tally)
{
    for (int k = 0; k < 2; k++) {
        struct tl_arrest_in in = rig_in();
        struct tl_arrest_out out;
        const char *why = NULL;
        for (size_t i = 0; i < IN_COUNT; i++) {
            if (rig_chance(seed, 0.5)) {
                set_figure(&in, &IN_EDGES[i], draw_any(seed, &IN_EDGES[i]));
            }
        }
        in.stretch = rig_chance(seed, 0.1);
        enum tl_err err = tl_arrest_run(machine, &in, NULL, &out, &why);
        if (err == TL_OK) {
            assert_finite(&out);
            tally->ran++;
        } else {
            assert_true(err == TL_BADARG || err == TL_REFUSED);
            assert_true(why != NULL && strlen(why) > 10);
            tally->refused++;
        }
    }
}

static void
nothing_drawn_from_anywhere_crashes_or_gives_what_is_not_a_number(void **state)
{
    (void)state;
    uint64_t seed = rig_seed(4);
    struct tally tally = {0};

    for (int round = 0; round < ROUNDS; round++) {
        struct tl_arrest_gear gear = rig_gear();
        struct tl_arrest_machine *machine = NULL;
        const char *why = NULL;
        for (size_t i = 0; i < GEAR_COUNT; i++) {
            if (rig_chance(&seed, 0.2)) {
                set_figure(&gear, &GEAR_EDGES[i], draw_any(&seed, &GEAR_EDGES[i]));
            }
        }
        if (tl_arrest_open(&gear, &machine, &why) != TL_OK) {
            assert_null(machine);
            assert_true(why != NULL && strlen(why) > 10);
            tally.closed++;
            continue;
        }
        if (tally.ran < 300) {
            try_inputs(machine, &seed, &tally);
        }
        tl_arrest_close(&machine);
    }
    (void)printf("           %d gears refused; of inputs %d refused, %d run\n", tally.closed,
                 tally.refused, tally.ran);
    assert_true(tally.closed > 1000 && tally.refused > 50 && tally.ran > 50);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_absurd_figure_of_the_gear_is_refused_with_its_sentence),
        cmocka_unit_test(each_figure_of_the_gear_is_taken_at_its_bounds),
        cmocka_unit_test(figures_that_do_not_go_together_are_refused_with_their_sentence),
        cmocka_unit_test(each_absurd_input_is_refused_with_its_sentence),
        cmocka_unit_test(setting_too_light_for_the_accumulator_is_refused_with_its_sentence),
        cmocka_unit_test(nothing_drawn_from_anywhere_crashes_or_gives_what_is_not_a_number),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
