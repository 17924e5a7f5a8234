/* SPDX-License-Identifier: Apache-2.0 */
/* arrest_gear.h - the gear in SI, and its parts; private to the arrestment. Border: arrest.h. */
#ifndef BROKER_CORE_MECHANICS_ARREST_GEAR_H
#define BROKER_CORE_MECHANICS_ARREST_GEAR_H

#include "broker/core/mechanics/arrest.h"

struct tl_gear_si {
    double half_span_m;  /* S */
    double payout_max_m; /* of one side at the design run-out: sqrt(S^2 + R^2) - S */
    double design_ms;    /* V */
    double reeve;        /* N */
    double area_m2;      /* A of the ram */
    double stroke_max_m;
    double battery_pa; /* accumulator, absolute; 0 = none */
    double gas_m3;     /* at battery */
    double gas_exponent;
    double discharge;     /* C of the valve */
    double density;       /* of the fluid, kg/m3 */
    double opening_least; /* share of the widest */
    double capacity_j;
    double break_n;
    double off_centre_max_m;
    double stiffness_n_m; /* of one side of the cable; 0 = it does not stretch */
    double damping_n_s_m;
    double ram_kg;
};

/* One weight setting on that gear. */
struct tl_valve {
    double tension_n; /* constant for a correct setting at the design speed */
    double pressure_pa;
    double widest_m2;
    double least_m2;
};

/* What cable and ram do at one place of the hook. */
struct tl_cable_place {
    double payout_m; /* of one side, mean of both */
    double along;    /* hook force along the run-out over tension */
    double side;     /* force toward the middle over tension */
};
struct tl_hook_place {
    double runout_m;
    double off_m; /* of the middle */
};

/* TL_BADARG and a sentence for an absurd figure. */
TL_MUST_USE enum tl_err tl_gear_to_si(const struct tl_arrest_gear *gear, struct tl_gear_si *si,
                                      const char **why);

/* TL_REFUSED: the accumulator alone holds more than that setting. */
TL_MUST_USE enum tl_err tl_valve_of(const struct tl_gear_si *si, double set_kg,
                                    struct tl_valve *valve);

struct tl_cable_place tl_cable_at(const struct tl_gear_si *si, struct tl_hook_place hook);

/* Accumulator at a ram travel, Pa gauge. */
double tl_accumulator_pa(const struct tl_gear_si *si, double stroke_m);

/* Opening at a ram travel, m2. */
double tl_valve_opening(const struct tl_gear_si *si, const struct tl_valve *valve, double stroke_m);

/* Pressure in the ram when it stands at stroke_m and moves at speed_ms, Pa gauge. */
struct tl_ram {
    double stroke_m;
    double speed_ms;
};
double tl_ram_pressure(const struct tl_gear_si *si, const struct tl_valve *valve,
                       struct tl_ram ram);

#endif
