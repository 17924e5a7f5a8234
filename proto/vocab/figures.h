/* SPDX-License-Identifier: Apache-2.0 */
/*
 * figures.h - the measures of the ship and its gear that the mechanics compute with.
 *
 * Each is one line of `figures` in gear.yaml or ship.yaml: name, value, source. The name ends in
 * the unit. The ranges here only tell a slip of the hand from a figure; no figure stands in code.
 */
#ifndef TL_VOCAB_FIGURES_H
#define TL_VOCAB_FIGURES_H

#include <stdbool.h>
#include <stddef.h>

/* Ids are places in a table, never on the wire or in a file: the name is. */
enum tl_figure {
    TL_FIGURE_NONE = 0,
    /* gear.yaml: the arresting gear */
    TL_FIGURE_HALF_SPAN_FT, /* deck sheave to the middle between the two */
    TL_FIGURE_RUNOUT_FT,    /* hook travel that the valve is scheduled for */
    TL_FIGURE_DESIGN_KT,    /* engaging speed that the valve is scheduled for */
    TL_FIGURE_REEVE_RATIO,  /* cable paid out on a side, per ram travel */
    TL_FIGURE_RAM_DIAMETER_IN,
    TL_FIGURE_STROKE_MAX_IN,           /* ram travel at which the crosshead meets its stop */
    TL_FIGURE_ACCUMULATOR_BATTERY_PSI, /* gauge, at battery */
    TL_FIGURE_ACCUMULATOR_FULL_PSI,    /* gauge, at the design run-out */
    TL_FIGURE_GAS_EXPONENT,
    TL_FIGURE_DISCHARGE_COEFFICIENT,
    TL_FIGURE_FLUID_DENSITY_KG_M3,
    TL_FIGURE_OPENING_LEAST_PERCENT, /* of the widest opening at the same setting */
    TL_FIGURE_CAPACITY_FTLB,         /* energy that one engine may take */
    TL_FIGURE_ENERGY_MARGIN_LEAST_PERCENT,
    TL_FIGURE_PENDANT_BREAK_LBF,
    TL_FIGURE_CABLE_BREAK_LBF,      /* purchase cable */
    TL_FIGURE_TRAVEL_APART_PERCENT, /* read against computed ram travel */
    /* gear.yaml, for a cable that stretches; all or none */
    TL_FIGURE_CABLE_STIFFNESS_LBF,   /* modulus times section: tension for a stretch of one */
    TL_FIGURE_CABLE_LENGTH_FT,       /* of one side, reeved part and all */
    TL_FIGURE_CABLE_DAMPING_PERCENT, /* of the critical damping of ram on cable */
    TL_FIGURE_RAM_MASS_LB,
    /* gear.yaml: the wires along the deck, from the ramp */
    TL_FIGURE_FIRST_WIRE_FT,
    TL_FIGURE_WIRE_SPACING_FT,
    /* gear.yaml: what a trap wears; see docs/wear.md */
    TL_FIGURE_LIFE_EXPONENT,          /* a whole number; this and the next both or none */
    TL_FIGURE_LIFE_REFERENCE_PERCENT, /* of the strength: a trap at that load counts as one */
    TL_FIGURE_INSPECT_LOAD_PERCENT,   /* of the strength: above it an inspection is due */
    /* ship.yaml: the landing aid */
    TL_FIGURE_AID_FROM_RAMP_FT,
    TL_FIGURE_AID_HEIGHT_FT, /* lens above the deck */
    TL_FIGURE_AID_OFFSET_FT, /* lens to the landing centreline */
    TL_FIGURE_RAMP_CLEARANCE_LEAST_FT,
    TL_FIGURE_PITCH_ARM_FT,      /* ramp to the axis that the ship pitches about */
    TL_FIGURE_TOUCHDOWN_BAND_FT, /* either side of the aimed touchdown */
    /* ship.yaml: time */
    TL_FIGURE_CALL_RANGE_NMI,   /* where the pilot calls */
    TL_FIGURE_REACTION_S,       /* caller and pilot, to the first climb */
    TL_FIGURE_CLIMB_FT_S2,      /* upward acceleration of a wave-off */
    TL_FIGURE_GEAR_WINDOW_FT,   /* hook height over the deck to be kept, only gear unset */
    TL_FIGURE_PEOPLE_WINDOW_FT, /* the same, people or objects in the area */
    TL_FIGURE_RESET_ARREST_S,
    TL_FIGURE_RESET_HOOK_S,          /* hook free of the wire */
    TL_FIGURE_RESET_RETRACT_S,       /* beside the taxi */
    TL_FIGURE_RESET_TAXI_S,          /* over the foul line */
    TL_FIGURE_RESET_WEIGHT_S,        /* weight reset, beside retract and taxi */
    TL_FIGURE_RESET_CHECK_S,         /* battery and wires looked at */
    TL_FIGURE_RESET_SPREAD_S,        /* standard deviation of the whole */
    TL_FIGURE_INTERVAL_S,            /* planned between two ramps */
    TL_FIGURE_BOARDING_RATE_PERCENT, /* passes that end in a trap */
    /* ship.yaml: the air that approach speeds are corrected for, and the gusts */
    TL_FIGURE_AIR_TEMPERATURE_C,
    TL_FIGURE_AIR_PRESSURE_HPA,
    TL_FIGURE_WIND_LULL_KT, /* that the headwind may drop below what is read */
    TL_FIGURES
};

enum tl_figure_file {
    TL_FIGURE_OF_GEAR = 0,
    TL_FIGURE_OF_SHIP
};

struct tl_figure_row {
    enum tl_figure figure;
    const char *name; /* "half_span_ft" */
    enum tl_figure_file file;
    double least, most; /* still believed */
    const char *what;   /* a few words for people */
};

struct tl_figures {
    bool given[TL_FIGURES];
    double value[TL_FIGURES];
};

/* Every row, in the order of the enum; count is TL_FIGURES - 1. */
const struct tl_figure_row *tl_figure_rows(size_t *count);
/* NULL when there is none of that name. */
const struct tl_figure_row *tl_figure_by_name(const char *name);

#endif
