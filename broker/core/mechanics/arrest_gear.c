/* SPDX-License-Identifier: Apache-2.0 */
/*
 * arrest_gear - geometry of the cable, gas of the accumulator, schedule of the valve
 *
 * With S the half span, R and V the design run-out and speed, a payout q of one side and N the reeve
 * ratio: the ram stands at y = q / N, and s = q / (sqrt(S^2 + R^2) - S) runs from 0 to 1.
 * A setting W asks for one cable tension T = m V^2 / (4 (sqrt(S^2 + R^2) - S)) all the way: then the
 * speed falls as v^2 = V^2 (1 - s), whatever W is. The valve's opening a(y; W) is what gives that
 * tension at that speed; it closes at s = 1 for every W. Own derivation from the published
 * behaviour: closing point set by the cam alone, heavier setting = smaller opening (NAVEDTRA 14310
 * p. 77).
 */
#include "broker/core/mechanics/arrest_gear.h"

#include <math.h>
#include <stddef.h>

#include "broker/core/mechanics/bounds.h"
#include "broker/core/mechanics/units.h"

/* One standard atmosphere, exactly (ISO 2533). */
static const double standard_pa = 101325.0;
static const double in2_per_m2 = 1.0 / (TL_M_PER_IN * TL_M_PER_IN);
/* The accumulator at full stroke must leave the valve this share of the ram's pressure. */
static const double share_for_valve = 0.02;
enum {
    PLACES = 200 /* that the widest opening is looked for at */
};

static bool
is_setting(double set_lb)
{
    return tl_is_in(set_lb, tl_bounds_arrest_lb);
}

static const char *
find_absurd(const struct tl_arrest_gear *gear)
{
    const struct tl_bounded figures[] = {
        {gear->half_span_ft, {5.0, 500.0}, "the half span of the gear is absurd"},
        {gear->runout_ft, {20.0, 3000.0}, "the design run-out of the gear is absurd"},
        {gear->design_kt, {20.0, 300.0}, "the design speed of the gear is absurd"},
        {gear->reeve_ratio, {1.0, 100.0}, "the reeve ratio of the gear is absurd"},
        {gear->ram_diameter_in, {1.0, 100.0}, "the ram diameter of the gear is absurd"},
        {gear->stroke_max_in, {1.0, 5000.0}, "the greatest stroke of the gear is absurd"},
        {gear->accumulator_battery_psi, {0.0, 10000.0}, "the accumulator pressure is absurd"},
        {gear->accumulator_full_psi, {0.0, 20000.0}, "the accumulator pressure is absurd"},
        {gear->gas_exponent, {1.0, 2.0}, "the gas exponent is absurd"},
        {gear->discharge_coefficient, {0.1, 1.0}, "the discharge coefficient is absurd"},
        {gear->fluid_density_kg_m3, {100.0, 5000.0}, "the fluid density is absurd"},
        {gear->opening_least, {0.0, 0.5}, "the least opening of the valve is absurd"},
        {gear->capacity_ftlb, {1e4, 1e10}, "the energy capacity is absurd"},
        {gear->break_lbf, {1e3, 1e7}, "the breaking strength is absurd"},
        {gear->off_centre_max_ft, {0.0, gear->half_span_ft}, "the off-centre limit is absurd"},
        {gear->cable_stiffness_lbf, {0.0, 1e9}, "the cable stiffness is absurd"},
        {gear->cable_length_ft, {0.0, 20000.0}, "the cable length is absurd"},
        {gear->cable_damping, {0.0, 2.0}, "the cable damping is absurd"},
        {gear->ram_mass_lb, {0.0, 1e6}, "the mass of the ram is absurd"},
    };

    const char *absurd = tl_find_out(figures, sizeof figures / sizeof figures[0]);

    if (absurd != NULL) {
        return absurd;
    }
    bool stretches = gear->cable_stiffness_lbf > 0.0;
    if (stretches && (gear->cable_length_ft < 1.0 || gear->ram_mass_lb < 1.0)) {
        return "a cable that stretches needs its length and the mass of the ram";
    }
    return NULL;
}

/* Gas volume at battery that makes the pressure at the design stroke what it is. */
static enum tl_err
set_gas(const struct tl_arrest_gear *gear, struct tl_gear_si *si, const char **why)
{
    double swept_m3 = si->area_m2 * si->payout_max_m / si->reeve;
    double battery_pa = gear->accumulator_battery_psi * TL_PA_PER_PSI + standard_pa;
    double full_pa = gear->accumulator_full_psi * TL_PA_PER_PSI + standard_pa;

    si->battery_pa = 0.0;
    si->gas_m3 = 0.0;
    if (gear->accumulator_battery_psi <= 0.0 && gear->accumulator_full_psi <= 0.0) {
        return TL_OK;
    }
    if (full_pa <= battery_pa) {
        *why = "the accumulator's pressure at full stroke is not above that at battery";
        return TL_BADARG;
    }
    si->battery_pa = battery_pa;
    si->gas_m3 = swept_m3 / (1.0 - pow(battery_pa / full_pa, 1.0 / gear->gas_exponent));
    if (si->gas_m3 <= si->area_m2 * gear->stroke_max_in * TL_M_PER_IN) {
        *why = "the accumulator has less gas than the ram sweeps";
        return TL_BADARG;
    }
    return TL_OK;
}

enum tl_err
tl_gear_to_si(const struct tl_arrest_gear *gear, struct tl_gear_si *si, const char **why)
{
    double span_m = gear->half_span_ft * TL_M_PER_FT;
    double runout_m = gear->runout_ft * TL_M_PER_FT;
    double radius_m = 0.5 * gear->ram_diameter_in * TL_M_PER_IN;

    *why = find_absurd(gear);
    if (*why != NULL) {
        return TL_BADARG;
    }
    *si = (struct tl_gear_si){
        .half_span_m = span_m,
        .payout_max_m = hypot(span_m, runout_m) - span_m,
        .design_ms = gear->design_kt * TL_MS_PER_KT,
        .reeve = gear->reeve_ratio,
        .area_m2 = 180.0 * TL_RAD_PER_DEG * radius_m * radius_m,
        .stroke_max_m = gear->stroke_max_in * TL_M_PER_IN,
        .gas_exponent = gear->gas_exponent,
        .discharge = gear->discharge_coefficient,
        .density = gear->fluid_density_kg_m3,
        .opening_least = gear->opening_least,
        .capacity_j = gear->capacity_ftlb * TL_J_PER_FTLBF,
        .break_n = gear->break_lbf * TL_N_PER_LBF,
        .off_centre_max_m = gear->off_centre_max_ft * TL_M_PER_FT,
    };
    if (si->payout_max_m / si->reeve > si->stroke_max_m) {
        *why = "the design run-out takes more stroke than the ram has";
        return TL_BADARG;
    }
    if (gear->cable_stiffness_lbf > 0.0) {
        si->stiffness_n_m =
            gear->cable_stiffness_lbf * TL_N_PER_LBF / (gear->cable_length_ft * TL_M_PER_FT);
        si->ram_kg = gear->ram_mass_lb * TL_KG_PER_LB;
        /* Critical for the ram on both sides of the cable: 2 N^2 c = 2 sqrt(2 N^2 k m). */
        si->damping_n_s_m =
            gear->cable_damping * sqrt(2.0 * si->stiffness_n_m * si->ram_kg) / si->reeve;
    }
    return set_gas(gear, si, why);
}

double
tl_accumulator_pa(const struct tl_gear_si *si, double stroke_m)
{
    if (si->battery_pa <= 0.0) {
        return 0.0;
    }
    double swept_m3 = fmin(si->area_m2 * fmax(stroke_m, 0.0), 0.999 * si->gas_m3);

    return si->battery_pa * pow(si->gas_m3 / (si->gas_m3 - swept_m3), si->gas_exponent) -
           standard_pa;
}

/* Ram speed of the design arrest at a ram travel; 0 at both ends. */
static double
design_ram_ms(const struct tl_gear_si *si, double stroke_m)
{
    double payout_m = si->reeve * stroke_m;
    double left = 1.0 - payout_m / si->payout_max_m;

    if (left <= 0.0 || payout_m <= 0.0) {
        return 0.0;
    }
    /* Cosine of the cable to the run-out: sqrt(q (q + 2 S)) / (S + q). */
    double cosine =
        sqrt(payout_m * (payout_m + 2.0 * si->half_span_m)) / (si->half_span_m + payout_m);

    return si->design_ms * sqrt(left) * cosine / si->reeve;
}

/* What the schedule asks of the valve at one place of the ram. */
struct asked {
    double gas_pa;  /* accumulator */
    double drop_pa; /* left for the valve */
    double ram_ms;  /* of the design arrest */
    double opening_m2;
};

static struct asked
ask(const struct tl_gear_si *si, const struct tl_valve *valve, double stroke_m)
{
    struct asked asked = {.gas_pa = tl_accumulator_pa(si, stroke_m),
                          .ram_ms = design_ram_ms(si, stroke_m)};

    asked.drop_pa = valve->pressure_pa - asked.gas_pa;
    asked.opening_m2 = asked.ram_ms <= 0.0 ? 0.0
                                           : si->area_m2 * asked.ram_ms / si->discharge *
                                                 sqrt(si->density / (2.0 * asked.drop_pa));
    return asked;
}

enum tl_err
tl_valve_of(const struct tl_gear_si *si, double set_kg, struct tl_valve *valve)
{
    double stroke_m = si->payout_max_m / si->reeve;

    *valve = (struct tl_valve){0};
    valve->tension_n = set_kg * si->design_ms * si->design_ms / (4.0 * si->payout_max_m);
    valve->pressure_pa = 2.0 * si->reeve * valve->tension_n / si->area_m2;
    if (ask(si, valve, stroke_m).drop_pa < share_for_valve * valve->pressure_pa) {
        return TL_REFUSED;
    }
    for (int i = 1; i < PLACES; i++) {
        valve->widest_m2 = fmax(valve->widest_m2, ask(si, valve, stroke_m * i / PLACES).opening_m2);
    }
    valve->least_m2 = si->opening_least * valve->widest_m2;
    return TL_OK;
}

double
tl_valve_opening(const struct tl_gear_si *si, const struct tl_valve *valve, double stroke_m)
{
    return fmax(ask(si, valve, stroke_m).opening_m2, valve->least_m2);
}

/*
 * Bernoulli through the valve, on top of the accumulator. On the ideal part of the schedule the
 * opening and the ram's speed vanish together at battery: their ratio is taken, not each.
 */
double
tl_ram_pressure(const struct tl_gear_si *si, const struct tl_valve *valve, struct tl_ram ram)
{
    struct asked asked = ask(si, valve, ram.stroke_m);

    if (ram.speed_ms <= 0.0) {
        return asked.gas_pa;
    }
    if (asked.opening_m2 > valve->least_m2) {
        double ratio = ram.speed_ms / asked.ram_ms;
        return asked.gas_pa + asked.drop_pa * ratio * ratio;
    }
    /* A valve that shuts altogether lets nothing through: a wall, but a finite one for the solver. */
    double through = si->discharge * fmax(valve->least_m2, 1e-9 * valve->widest_m2);
    double flow = si->area_m2 * ram.speed_ms / through;

    return asked.gas_pa + 0.5 * si->density * flow * flow;
}

struct tl_cable_place
tl_cable_at(const struct tl_gear_si *si, struct tl_hook_place hook)
{
    double near_m = si->half_span_m - hook.off_m;
    double far_m = si->half_span_m + hook.off_m;
    double x = hook.runout_m;
    double to_near = sqrt(near_m * near_m + x * x);
    double to_far = sqrt(far_m * far_m + x * x);

    return (struct tl_cable_place){
        /* sqrt(a^2 + x^2) - a without taking the difference of two near numbers */
        .payout_m = 0.5 * (x * x / (to_near + near_m) + x * x / (to_far + far_m)),
        .along = x / to_near + x / to_far,
        .side = far_m / to_far - near_m / to_near,
    };
}

/* ---- in trade units ---- */

void
tl_arrest_geometry(const struct tl_arrest_gear *gear, struct tl_arrest_hook hook,
                   struct tl_arrest_geometry *out)
{
    struct tl_gear_si si = {.half_span_m = gear->half_span_ft * TL_M_PER_FT};
    struct tl_cable_place at =
        tl_cable_at(&si, (struct tl_hook_place){.runout_m = hook.runout_ft * TL_M_PER_FT,
                                                .off_m = hook.off_centre_ft * TL_M_PER_FT});

    out->payout_ft = at.payout_m / TL_M_PER_FT;
    out->stroke_in = at.payout_m / gear->reeve_ratio / TL_M_PER_IN;
    out->force_per_tension = at.along;
    out->side_per_tension = at.side;
}

enum tl_err
tl_arrest_schedule(const struct tl_arrest_gear *gear, double set_lb, struct tl_arrest_schedule *out)
{
    struct tl_gear_si si;
    struct tl_valve valve;
    const char *why = NULL;
    enum tl_err err = tl_gear_to_si(gear, &si, &why);

    if (err == TL_OK && !is_setting(set_lb)) {
        err = TL_BADARG;
    }
    if (err == TL_OK) {
        err = tl_valve_of(&si, set_lb * TL_KG_PER_LB, &valve);
    }
    if (err != TL_OK) {
        return err;
    }
    struct tl_cable_place end =
        tl_cable_at(&si, (struct tl_hook_place){.runout_m = gear->runout_ft * TL_M_PER_FT});

    out->tension_lbf = valve.tension_n / TL_N_PER_LBF;
    out->pressure_psi = valve.pressure_pa / TL_PA_PER_PSI;
    out->end_hook_lbf = out->tension_lbf * end.along;
    out->opening_in2 = valve.widest_m2 * in2_per_m2;
    return TL_OK;
}

enum tl_err
tl_arrest_opening(const struct tl_arrest_gear *gear, struct tl_arrest_ram ram, double *opening_in2)
{
    struct tl_gear_si si;
    struct tl_valve valve;
    const char *why = NULL;
    enum tl_err err = tl_gear_to_si(gear, &si, &why);

    if (err == TL_OK && (!is_setting(ram.set_lb) || !isfinite(ram.stroke_in))) {
        err = TL_BADARG;
    }
    if (err == TL_OK) {
        err = tl_valve_of(&si, ram.set_lb * TL_KG_PER_LB, &valve);
    }
    if (err == TL_OK) {
        *opening_in2 = tl_valve_opening(&si, &valve, ram.stroke_in * TL_M_PER_IN) * in2_per_m2;
    }
    return err;
}

double
tl_arrest_accumulator_psi(const struct tl_arrest_gear *gear, double stroke_in)
{
    struct tl_gear_si si;
    const char *why = NULL;

    return tl_gear_to_si(gear, &si, &why) == TL_OK
               ? tl_accumulator_pa(&si, stroke_in * TL_M_PER_IN) / TL_PA_PER_PSI
               : 0.0;
}

double
tl_arrest_impact_mpa(struct tl_arrest_impact impact)
{
    double sound_ms = sqrt(impact.modulus_gpa * 1e9 / impact.density_kg_m3);
    double share = impact.engaging_kt * TL_MS_PER_KT / (sqrt(2.0) * sound_ms);

    return pow(share, 4.0 / 3.0) * impact.modulus_gpa * 1e3;
}
