/* SPDX-License-Identifier: Apache-2.0 */
/* rig - what the tests of the arrestment share */
#include "tests/arrest/rig.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/support/splitmix.h"

struct tl_arrest_gear
rig_gear(void)
{
    return (struct tl_arrest_gear){
        .half_span_ft = 55.0,
        .runout_ft = 340.0,
        .design_kt = 130.0,
        .reeve_ratio = 18.0,
        .ram_diameter_in = 20.0,
        .stroke_max_in = 195.0,
        .accumulator_battery_psi = 400.0,
        .accumulator_full_psi = 650.0,
        .gas_exponent = 1.4,
        .discharge_coefficient = 0.7,
        .fluid_density_kg_m3 = 1060.0,
        .opening_least = 0.02,
        .capacity_ftlb = 47.5e6,
        .break_lbf = 195000.0,
        .off_centre_max_ft = 20.0,
        .cable_stiffness_lbf = 2e7,
        .cable_length_ft = 1500.0,
        .cable_damping = 0.3,
        .ram_mass_lb = 8000.0,
    };
}

struct tl_arrest_gear
rig_ideal(void)
{
    struct tl_arrest_gear gear = rig_gear();

    gear.accumulator_battery_psi = 0.0;
    gear.accumulator_full_psi = 0.0;
    gear.opening_least = 0.0;
    return gear;
}

struct tl_arrest_in
rig_in(void)
{
    return (struct tl_arrest_in){.weight_lb = 50000.0, .set_lb = 50000.0, .engaging_kt = 130.0};
}

static struct tl_arrest_machine *
open_machine(const struct tl_arrest_gear *gear)
{
    struct tl_arrest_machine *machine = NULL;
    const char *why = NULL;

    if (tl_arrest_open(gear, &machine, &why) != TL_OK) {
        fail_msg("the gear was refused: %s", why);
    }
    return machine;
}

struct tl_arrest_out
rig_run(const struct tl_arrest_gear *gear, const struct tl_arrest_in *in,
        const struct tl_arrest_watch *watch)
{
    struct tl_arrest_machine *machine = open_machine(gear);
    struct tl_arrest_out out = {.end = TL_ARREST_END_UNKNOWN};
    const char *why = NULL;
    enum tl_err err = tl_arrest_run(machine, in, watch, &out, &why);

    tl_arrest_close(&machine);
    if (err != TL_OK) {
        fail_msg("the run was refused: %s", why);
    }
    return out;
}

void
rig_run_is(const struct tl_arrest_gear *gear, const struct tl_arrest_in *in, struct rig_no no)
{
    struct tl_arrest_machine *machine = open_machine(gear);
    struct tl_arrest_out out;
    struct tl_arrest_out untouched;
    const char *why = NULL;

    memset(&untouched, 0x5a, sizeof untouched);
    memcpy(&out, &untouched, sizeof out);
    enum tl_err err = tl_arrest_run(machine, in, NULL, &out, &why);

    tl_arrest_close(&machine);
    assert_int_equal(err, no.err);
    assert_non_null(why);
    assert_string_equal(why, no.why);
    assert_memory_equal(&out, &untouched, sizeof out);
}

void
rig_open_is(const struct tl_arrest_gear *gear, struct rig_no no)
{
    struct tl_arrest_machine *machine = NULL;
    const char *why = NULL;
    enum tl_err err = tl_arrest_open(gear, &machine, &why);

    if (machine != NULL) {
        tl_arrest_close(&machine);
        fail_msg("the gear was taken: %s", no.why);
    }
    assert_int_equal(err, no.err);
    assert_non_null(why);
    assert_string_equal(why, no.why);
}

void
rig_is_near(const char *row, struct rig_near near)
{
    if (!(fabs(near.got - near.wanted) <= near.within)) {
        fail_msg("%s: %.9g, wanted %.9g within %.3g", row, near.got, near.wanted, near.within);
    }
}

void
rig_is_near_share(const char *row, struct rig_near near)
{
    near.within *= fabs(near.wanted);
    rig_is_near(row, near);
}

uint64_t
rig_seed(uint64_t seed)
{
    const char *told = getenv("TL_SEED");

    if (told != NULL) {
        seed = strtoull(told, NULL, 10);
    }
    (void)printf("           seed: %llu\n", (unsigned long long)seed);
    return seed;
}

double
rig_draw(uint64_t *seed, struct rig_span span)
{
    return span.from + (span.to - span.from) * (double)(splitmix(seed) >> 11) * 0x1p-53;
}

bool
rig_chance(uint64_t *seed, double share)
{
    return rig_draw(seed, (struct rig_span){0.0, 1.0}) < share;
}

struct tl_arrest_gear
rig_draw_gear(uint64_t *seed)
{
    struct tl_arrest_gear gear = {
        .half_span_ft = rig_draw(seed, (struct rig_span){30.0, 100.0}),
        .runout_ft = rig_draw(seed, (struct rig_span){150.0, 1000.0}),
        .design_kt = rig_draw(seed, (struct rig_span){80.0, 180.0}),
        .reeve_ratio = rig_draw(seed, (struct rig_span){4.0, 30.0}),
        .ram_diameter_in = rig_draw(seed, (struct rig_span){8.0, 30.0}),
        .gas_exponent = rig_draw(seed, (struct rig_span){1.0, 1.67}),
        .discharge_coefficient = rig_draw(seed, (struct rig_span){0.5, 0.95}),
        .fluid_density_kg_m3 = rig_draw(seed, (struct rig_span){800.0, 1200.0}),
        .opening_least = rig_draw(seed, (struct rig_span){0.005, 0.1}),
        .capacity_ftlb = 47.5e6,
        .break_lbf = rig_draw(seed, (struct rig_span){1e5, 3e5}),
        .off_centre_max_ft = rig_draw(seed, (struct rig_span){10.0, 30.0}),
        .cable_stiffness_lbf = rig_draw(seed, (struct rig_span){5e6, 5e7}),
        .cable_length_ft = rig_draw(seed, (struct rig_span){500.0, 3000.0}),
        .cable_damping = rig_draw(seed, (struct rig_span){0.0, 0.8}),
        .ram_mass_lb = rig_draw(seed, (struct rig_span){2000.0, 20000.0}),
    };
    double payout_ft = hypot(gear.half_span_ft, gear.runout_ft) - gear.half_span_ft;
    double more = rig_draw(seed, (struct rig_span){1.0001, 1.1});

    gear.stroke_max_in = 12.0 * payout_ft / gear.reeve_ratio * more;
    if (rig_chance(seed, 0.6)) {
        double rise = rig_draw(seed, (struct rig_span){1.2, 2.0});
        gear.accumulator_battery_psi = rig_draw(seed, (struct rig_span){50.0, 600.0});
        gear.accumulator_full_psi = rise * gear.accumulator_battery_psi;
    }
    return gear;
}

struct tl_arrest_in
rig_draw_in(uint64_t *seed, const struct tl_arrest_gear *gear)
{
    double side_ft = 0.5 * gear->half_span_ft;
    struct tl_arrest_in in = {
        .weight_lb = rig_draw(seed, (struct rig_span){8000.0, 70000.0}),
        .engaging_kt = rig_draw(seed, (struct rig_span){60.0, 160.0}),
        .off_centre_ft =
            rig_chance(seed, 0.5) ? rig_draw(seed, (struct rig_span){-side_ft, side_ft}) : 0.0,
        .drift_kt = rig_chance(seed, 0.5) ? rig_draw(seed, (struct rig_span){-8.0, 8.0}) : 0.0,
        .thrust_lbf = rig_chance(seed, 0.5) ? rig_draw(seed, (struct rig_span){0.0, 3e4}) : 0.0,
    };

    in.set_lb = in.weight_lb * exp(rig_draw(seed, (struct rig_span){-0.5, 0.7}));
    return in;
}
