/* SPDX-License-Identifier: Apache-2.0 */
/*
 * measures - one value a figure, and the writing of lists
 */
#include "tests/conf/measures.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "proto/base/require.h"

static const double VALUES[TL_FIGURES] = {
    [TL_FIGURE_HALF_SPAN_FT] = 55.5,
    [TL_FIGURE_RUNOUT_FT] = 340,
    [TL_FIGURE_DESIGN_KT] = 130.25,
    [TL_FIGURE_REEVE_RATIO] = 18,
    [TL_FIGURE_RAM_DIAMETER_IN] = 20.125,
    [TL_FIGURE_STROKE_MAX_IN] = 195,
    [TL_FIGURE_ACCUMULATOR_BATTERY_PSI] = 400,
    [TL_FIGURE_ACCUMULATOR_FULL_PSI] = 650,
    [TL_FIGURE_GAS_EXPONENT] = 1.4,
    [TL_FIGURE_DISCHARGE_COEFFICIENT] = 0.7,
    [TL_FIGURE_FLUID_DENSITY_KG_M3] = 1060,
    [TL_FIGURE_OPENING_LEAST_PERCENT] = 2.5,
    [TL_FIGURE_CAPACITY_FTLB] = 43500000,
    [TL_FIGURE_ENERGY_MARGIN_LEAST_PERCENT] = 10,
    [TL_FIGURE_PENDANT_BREAK_LBF] = 188000,
    [TL_FIGURE_CABLE_BREAK_LBF] = 195000,
    [TL_FIGURE_TRAVEL_APART_PERCENT] = 5,
    [TL_FIGURE_CABLE_STIFFNESS_LBF] = 123456789.0625,
    [TL_FIGURE_CABLE_LENGTH_FT] = 1100,
    [TL_FIGURE_CABLE_DAMPING_PERCENT] = 21,
    [TL_FIGURE_RAM_MASS_LB] = 15000,
    [TL_FIGURE_FIRST_WIRE_FT] = 170,
    [TL_FIGURE_WIRE_SPACING_FT] = 40,
    [TL_FIGURE_LIFE_EXPONENT] = 5,
    [TL_FIGURE_LIFE_REFERENCE_PERCENT] = 60.5,
    [TL_FIGURE_INSPECT_LOAD_PERCENT] = 75,
    [TL_FIGURE_AID_FROM_RAMP_FT] = 401,
    [TL_FIGURE_AID_HEIGHT_FT] = 4.5,
    [TL_FIGURE_AID_OFFSET_FT] = 60,
    [TL_FIGURE_RAMP_CLEARANCE_LEAST_FT] = 10.5,
    [TL_FIGURE_PITCH_ARM_FT] = 500,
    [TL_FIGURE_TOUCHDOWN_BAND_FT] = 20,
    [TL_FIGURE_CALL_RANGE_NMI] = 0.75,
    [TL_FIGURE_REACTION_S] = 1.5,
    [TL_FIGURE_CLIMB_FT_S2] = 4,
    [TL_FIGURE_GEAR_WINDOW_FT] = 11,
    [TL_FIGURE_PEOPLE_WINDOW_FT] = 100,
    [TL_FIGURE_RESET_ARREST_S] = 3,
    [TL_FIGURE_RESET_HOOK_S] = 5.25,
    [TL_FIGURE_RESET_RETRACT_S] = 7,
    [TL_FIGURE_RESET_TAXI_S] = 12,
    [TL_FIGURE_RESET_WEIGHT_S] = 8,
    [TL_FIGURE_RESET_CHECK_S] = 3.5,
    [TL_FIGURE_RESET_SPREAD_S] = 4.25,
    [TL_FIGURE_INTERVAL_S] = 45,
    [TL_FIGURE_BOARDING_RATE_PERCENT] = 90,
    [TL_FIGURE_AIR_TEMPERATURE_C] = -30.5,
    [TL_FIGURE_AIR_PRESSURE_HPA] = 1005,
    [TL_FIGURE_WIND_LULL_KT] = 2,
};

double
measures_value(enum tl_figure figure)
{
    return VALUES[figure];
}

const struct tl_figure_row *
measures_row(enum tl_figure figure)
{
    size_t count = 0;
    return &tl_figure_rows(&count)[figure - 1];
}

size_t
measures_add(char *list, size_t len, enum tl_figure figure, double value)
{
    int add = snprintf(list + len, MEASURES_LIST_CAP - len,
                       "  - {figure: %s, value: %.4f, source: invented}\n",
                       measures_row(figure)->name, value);

    TL_REQUIRE(add > 0 && len + (size_t)add < MEASURES_LIST_CAP);
    return len + (size_t)add;
}

void
measures_put_items(const struct folder *folder, const char *name, const char *items,
                   const char *after)
{
    char *text = malloc(FOLDER_FILE_CAP);

    TL_REQUIRE(text != NULL);
    (void)folder_good_text(name, text);
    char *list = strstr(text, "figures:\n");
    TL_REQUIRE(list != NULL);
    size_t len = (size_t)(list - text);
    len += (size_t)snprintf(list, FOLDER_FILE_CAP - len, "%s%s%s",
                            items[0] == '\0' ? "" : "figures:\n", items, after);
    folder_put(folder, name, text, len);
    free(text);
}

void
measures_put(const struct folder *folder, const bool given[TL_FIGURES], const char *after_gear)
{
    char *list = malloc(MEASURES_LIST_CAP);

    TL_REQUIRE(list != NULL);
    for (int file = TL_FIGURE_OF_GEAR; file <= TL_FIGURE_OF_SHIP; file++) {
        size_t len = 0;
        bool is_gear = file == TL_FIGURE_OF_GEAR;
        list[0] = '\0';
        for (int f = 1; f < TL_FIGURES; f++) {
            enum tl_figure figure = (enum tl_figure)f;
            if (given[f] && (int)measures_row(figure)->file == file) {
                len = measures_add(list, len, figure, VALUES[f]);
            }
        }
        measures_put_items(folder, is_gear ? "gear.yaml" : "ship.yaml", list,
                           is_gear ? after_gear : "");
    }
    free(list);
}

int
measures_room_open(void **state)
{
    struct measures_room *room = calloc(1, sizeof *room);

    TL_REQUIRE(room != NULL);
    room->config = calloc(1, sizeof *room->config);
    room->text = malloc(FOLDER_FILE_CAP);
    room->made = malloc(FOLDER_FILE_CAP);
    TL_REQUIRE(room->config != NULL && room->text != NULL && room->made != NULL);
    folder_make(&room->folder);
    *state = room;
    return 0;
}

int
measures_room_close(void **state)
{
    struct measures_room *room = *state;

    folder_remove(&room->folder);
    free(room->config);
    free(room->text);
    free(room->made);
    free(room);
    return 0;
}
