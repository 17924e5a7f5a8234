/* SPDX-License-Identifier: Apache-2.0 */
/*
 * figures - the table: the file of each figure, and what is still believed of it
 *
 * The ranges tell a slip of the hand (a digit too many, another unit) from a figure, no more: they
 * are wide on purpose, and no figure of a ship or a gear stands here. Where the mechanics refuse
 * what is absurd, the range is not wider than theirs. A range may not need more than nine digits
 * before the point: that is what a file may write.
 */
#include "proto/vocab/figures.h"

#include <assert.h>
#include <string.h>

#define GEAR(fig, nam, low, high, wha)                                                             \
    {                                                                                              \
        .figure = TL_FIGURE_##fig, .name = (nam), .file = TL_FIGURE_OF_GEAR, .least = (low),       \
        .most = (high), .what = (wha)                                                              \
    }
#define SHIP(fig, nam, low, high, wha)                                                             \
    {                                                                                              \
        .figure = TL_FIGURE_##fig, .name = (nam), .file = TL_FIGURE_OF_SHIP, .least = (low),       \
        .most = (high), .what = (wha)                                                              \
    }

/* clang-format off */
static const struct tl_figure_row rows[] = {
    GEAR(HALF_SPAN_FT, "half_span_ft", 10, 200, "deck sheave to the middle between the two"),
    GEAR(RUNOUT_FT, "runout_ft", 50, 2000, "hook travel that the valve is scheduled for"),
    GEAR(DESIGN_KT, "design_kt", 20, 300, "engaging speed that the valve is scheduled for"),
    GEAR(REEVE_RATIO, "reeve_ratio", 1, 100, "cable paid out on a side, per ram travel"),
    GEAR(RAM_DIAMETER_IN, "ram_diameter_in", 1, 100, "diameter of the ram"),
    GEAR(STROKE_MAX_IN, "stroke_max_in", 10, 2000, "ram travel at which the crosshead meets its stop"),
    GEAR(ACCUMULATOR_BATTERY_PSI, "accumulator_battery_psi", 1, 20000, "accumulator at battery, gauge"),
    GEAR(ACCUMULATOR_FULL_PSI, "accumulator_full_psi", 1, 20000, "accumulator at the design run-out, gauge"),
    GEAR(GAS_EXPONENT, "gas_exponent", 1, 2, "exponent of the gas in the accumulator"),
    GEAR(DISCHARGE_COEFFICIENT, "discharge_coefficient", 0.1, 1, "discharge coefficient of the valve"),
    GEAR(FLUID_DENSITY_KG_M3, "fluid_density_kg_m3", 500, 2000, "density of the fluid"),
    GEAR(OPENING_LEAST_PERCENT, "opening_least_percent", 0, 50, "least opening of the valve, of its widest"),
    GEAR(CAPACITY_FTLB, "capacity_ftlb", 100000, 500000000, "energy that one engine may take"),
    GEAR(ENERGY_MARGIN_LEAST_PERCENT, "energy_margin_least_percent", 0, 95, "least energy margin, of the capacity"),
    GEAR(PENDANT_BREAK_LBF, "pendant_break_lbf", 1000, 2000000, "load at which a pendant parts"),
    GEAR(CABLE_BREAK_LBF, "cable_break_lbf", 1000, 2000000, "load at which a purchase cable parts"),
    GEAR(TRAVEL_APART_PERCENT, "travel_apart_percent", 0.1, 100, "most that read and computed ram travel differ"),
    GEAR(CABLE_STIFFNESS_LBF, "cable_stiffness_lbf", 10000, 500000000, "modulus times section of a purchase cable"),
    GEAR(CABLE_LENGTH_FT, "cable_length_ft", 100, 10000, "purchase cable of one side, reeved part and all"),
    GEAR(CABLE_DAMPING_PERCENT, "cable_damping_percent", 0, 200, "damping of ram on cable, of the critical"),
    GEAR(RAM_MASS_LB, "ram_mass_lb", 10, 1000000, "mass of ram and crosshead"),
    GEAR(FIRST_WIRE_FT, "first_wire_ft", 10, 1000, "ramp to the first wire"),
    GEAR(WIRE_SPACING_FT, "wire_spacing_ft", 5, 200, "from wire to wire"),
    GEAR(LIFE_EXPONENT, "life_exponent", 1, 9, "power of the load by which a trap wears a pendant"),
    GEAR(LIFE_REFERENCE_PERCENT, "life_reference_percent", 1, 100, "load of a trap that counts as one, of the strength"),
    GEAR(INSPECT_LOAD_PERCENT, "inspect_load_percent", 1, 100, "load above which an inspection is due, of the strength"),
    SHIP(AID_FROM_RAMP_FT, "aid_from_ramp_ft", 0, 2000, "ramp to the landing aid, along the deck"),
    SHIP(AID_HEIGHT_FT, "aid_height_ft", 0, 100, "lens of the landing aid above the deck"),
    SHIP(AID_OFFSET_FT, "aid_offset_ft", 1, 500, "lens of the landing aid to the landing centreline"),
    SHIP(RAMP_CLEARANCE_LEAST_FT, "ramp_clearance_least_ft", 0, 50, "least clearance of the hook over the ramp"),
    SHIP(PITCH_ARM_FT, "pitch_arm_ft", 0, 2000, "ramp to the axis that the ship pitches about"),
    SHIP(TOUCHDOWN_BAND_FT, "touchdown_band_ft", 1, 500, "either side of the aimed touchdown"),
    SHIP(CALL_RANGE_NMI, "call_range_nmi", 0.1, 10, "where the pilot calls, from the ramp"),
    SHIP(REACTION_S, "reaction_s", 0, 10, "caller and pilot, to the first climb"),
    SHIP(CLIMB_FT_S2, "climb_ft_s2", 0.1, 32, "upward acceleration of a wave-off"),
    SHIP(GEAR_WINDOW_FT, "gear_window_ft", 0, 500, "hook height to be kept when only gear is unset"),
    SHIP(PEOPLE_WINDOW_FT, "people_window_ft", 0, 500, "hook height to be kept over people or objects"),
    SHIP(RESET_ARREST_S, "reset_arrest_s", 0, 600, "touchdown to the stop"),
    SHIP(RESET_HOOK_S, "reset_hook_s", 0, 600, "stop to the hook free of the wire"),
    SHIP(RESET_RETRACT_S, "reset_retract_s", 0, 600, "retract, beside the taxi"),
    SHIP(RESET_TAXI_S, "reset_taxi_s", 0, 600, "taxi over the foul line"),
    SHIP(RESET_WEIGHT_S, "reset_weight_s", 0, 600, "weight reset, beside retract and taxi"),
    SHIP(RESET_CHECK_S, "reset_check_s", 0, 600, "battery and wires looked at"),
    SHIP(RESET_SPREAD_S, "reset_spread_s", 0.1, 300, "standard deviation of the whole reset"),
    SHIP(INTERVAL_S, "interval_s", 5, 3600, "planned between two ramps"),
    SHIP(BOARDING_RATE_PERCENT, "boarding_rate_percent", 1, 100, "passes that end in a trap"),
    SHIP(AIR_TEMPERATURE_C, "air_temperature_c", -60, 60, "air temperature at the deck"),
    SHIP(AIR_PRESSURE_HPA, "air_pressure_hpa", 500, 1100, "air pressure at the deck"),
    SHIP(WIND_LULL_KT, "wind_lull_kt", 0, 50, "that the headwind may drop below what is read"),
};
/* clang-format on */

enum {
    ROW_COUNT = sizeof rows / sizeof rows[0]
};
static_assert(ROW_COUNT == TL_FIGURES - 1, "one row a figure, in the order of the enum");

const struct tl_figure_row *
tl_figure_rows(size_t *count)
{
    *count = ROW_COUNT;
    return rows;
}

const struct tl_figure_row *
tl_figure_by_name(const char *name)
{
    for (size_t i = 0; i < ROW_COUNT; i++) {
        if (strcmp(rows[i].name, name) == 0) {
            return &rows[i];
        }
    }
    return NULL;
}
