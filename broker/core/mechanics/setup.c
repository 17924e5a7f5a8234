/* SPDX-License-Identifier: Apache-2.0 */
/*
 * setup.c - the figures of the configuration as the mechanics take them. See setup.h.
 */
#include "broker/core/mechanics/setup.h"

#include "proto/base/require.h"

/* One figure of the configuration and the place that it goes to. */
struct wanted {
    enum tl_figure figure;
    double *out;
};

enum tl_err
tl_setup_figure(const struct tl_config *config, enum tl_figure figure, double *out,
                const char **missing)
{
    size_t count = 0;
    const struct tl_figure_row *rows = tl_figure_rows(&count);

    TL_REQUIRE(figure > TL_FIGURE_NONE && figure < TL_FIGURES);
    if (!config->figures.given[figure]) {
        *missing = rows[figure - 1].name;
        return TL_NOTFOUND;
    }
    *out = config->figures.value[figure];
    return TL_OK;
}

static enum tl_err
take_all(const struct tl_config *config, const struct wanted *wanted, size_t count,
         const char **missing)
{
    enum tl_err err = TL_OK;

    for (size_t i = 0; i < count && err == TL_OK; i++) {
        err = tl_setup_figure(config, wanted[i].figure, wanted[i].out, missing);
    }
    return err;
}

/* Without a stiffness the cable does not stretch, and the other three do not count. */
static enum tl_err
take_stretch(const struct tl_config *config, struct tl_arrest_gear *gear, const char **missing)
{
    double damping_percent = 0.0;
    const struct wanted wanted[] = {
        {TL_FIGURE_CABLE_STIFFNESS_LBF, &gear->cable_stiffness_lbf},
        {TL_FIGURE_CABLE_LENGTH_FT, &gear->cable_length_ft},
        {TL_FIGURE_CABLE_DAMPING_PERCENT, &damping_percent},
        {TL_FIGURE_RAM_MASS_LB, &gear->ram_mass_lb},
    };

    if (!config->figures.given[TL_FIGURE_CABLE_STIFFNESS_LBF]) {
        return TL_OK;
    }
    enum tl_err err = take_all(config, wanted, sizeof wanted / sizeof wanted[0], missing);
    gear->cable_damping = damping_percent / 100.0;
    return err;
}

enum tl_err
tl_setup_gear(const struct tl_config *config, struct tl_arrest_gear *out, const char **missing)
{
    struct tl_arrest_gear gear = {
        .off_centre_max_ft = config->gear.limits.off_centre_max_ft_x10 / 10.0,
    };
    double opening_percent = 0.0;
    double pendant_lbf = 0.0;
    double cable_lbf = 0.0;
    const struct wanted wanted[] = {
        {TL_FIGURE_HALF_SPAN_FT, &gear.half_span_ft},
        {TL_FIGURE_RUNOUT_FT, &gear.runout_ft},
        {TL_FIGURE_DESIGN_KT, &gear.design_kt},
        {TL_FIGURE_REEVE_RATIO, &gear.reeve_ratio},
        {TL_FIGURE_RAM_DIAMETER_IN, &gear.ram_diameter_in},
        {TL_FIGURE_STROKE_MAX_IN, &gear.stroke_max_in},
        {TL_FIGURE_ACCUMULATOR_BATTERY_PSI, &gear.accumulator_battery_psi},
        {TL_FIGURE_ACCUMULATOR_FULL_PSI, &gear.accumulator_full_psi},
        {TL_FIGURE_GAS_EXPONENT, &gear.gas_exponent},
        {TL_FIGURE_DISCHARGE_COEFFICIENT, &gear.discharge_coefficient},
        {TL_FIGURE_FLUID_DENSITY_KG_M3, &gear.fluid_density_kg_m3},
        {TL_FIGURE_OPENING_LEAST_PERCENT, &opening_percent},
        {TL_FIGURE_CAPACITY_FTLB, &gear.capacity_ftlb},
        {TL_FIGURE_PENDANT_BREAK_LBF, &pendant_lbf},
        {TL_FIGURE_CABLE_BREAK_LBF, &cable_lbf},
    };
    enum tl_err err = take_all(config, wanted, sizeof wanted / sizeof wanted[0], missing);

    if (err == TL_OK) {
        err = take_stretch(config, &gear, missing);
    }
    if (err != TL_OK) {
        return err;
    }
    gear.opening_least = opening_percent / 100.0;
    gear.break_lbf = pendant_lbf < cable_lbf ? pendant_lbf : cable_lbf;
    *out = gear;
    return TL_OK;
}

enum tl_err
tl_setup_air(const struct tl_config *config, struct tl_air *out, const char **missing)
{
    struct tl_air air = {.temperature_c = 0.0};
    const struct wanted wanted[] = {
        {TL_FIGURE_AIR_TEMPERATURE_C, &air.temperature_c},
        {TL_FIGURE_AIR_PRESSURE_HPA, &air.pressure_hpa},
    };
    enum tl_err err = take_all(config, wanted, sizeof wanted / sizeof wanted[0], missing);

    if (err == TL_OK) {
        *out = air;
    }
    return err;
}

enum tl_err
tl_setup_reset(const struct tl_config *config, struct tl_reset_in *out, const char **missing)
{
    struct tl_reset_in reset = {.arrest_s = 0.0};
    const struct wanted wanted[] = {
        {TL_FIGURE_RESET_ARREST_S, &reset.arrest_s},   {TL_FIGURE_RESET_HOOK_S, &reset.hook_s},
        {TL_FIGURE_RESET_RETRACT_S, &reset.retract_s}, {TL_FIGURE_RESET_TAXI_S, &reset.taxi_s},
        {TL_FIGURE_RESET_WEIGHT_S, &reset.weight_s},   {TL_FIGURE_RESET_CHECK_S, &reset.check_s},
    };
    enum tl_err err = take_all(config, wanted, sizeof wanted / sizeof wanted[0], missing);

    if (err == TL_OK) {
        *out = reset;
    }
    return err;
}

enum tl_err
tl_setup_approach(const struct tl_aircraft_type *type, double weight_lb, double *approach_kt)
{
    const struct tl_approach_in in = {.approach_kt = type->approach_kt_x10 / 10.0,
                                      .at_lb = type->max_trap_lb,
                                      .weight_lb = weight_lb};

    return type->approach_kt_x10 == 0 ? TL_NOTFOUND : tl_approach_at(&in, approach_kt);
}
