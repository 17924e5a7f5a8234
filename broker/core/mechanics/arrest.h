/* SPDX-License-Identifier: Apache-2.0 */
/*
 * arrest.h - one arrestment, from the hook on the wire to the stop.
 *
 * The hook pulls the middle of a cable between two deck sheaves; the cable runs to a crosshead that
 * drives a ram; the ram presses fluid through a valve whose opening closes with the stroke, by a
 * schedule that the weight setting chooses. Equations, and what is simplified: docs/mechanics.md.
 *
 * The machine owns a solver: open once, run often, close. Running allocates nothing of its own.
 * Units at this border are the trade's; SI inside.
 */
#ifndef BROKER_CORE_MECHANICS_ARREST_H
#define BROKER_CORE_MECHANICS_ARREST_H

#include <stdbool.h>
#include <stdint.h>

#include "proto/base/err.h"

/* The gear, from gear.yaml; broker/core/mechanics/setup.h fills it. */
struct tl_arrest_gear {
    double half_span_ft, runout_ft, design_kt, reeve_ratio, ram_diameter_in, stroke_max_in;
    double accumulator_battery_psi, accumulator_full_psi; /* both 0 = no accumulator */
    double gas_exponent, discharge_coefficient, fluid_density_kg_m3;
    double opening_least; /* 0..0.5 of the widest opening; 0 = the ideal schedule */
    double capacity_ftlb;
    double break_lbf;         /* the weaker of pendant and purchase cable */
    double off_centre_max_ft; /* 0 = no limit */
    /* a cable that stretches; stiffness 0 = it does not */
    double cable_stiffness_lbf, cable_length_ft, cable_damping, ram_mass_lb;
};

struct tl_arrest_in {
    double weight_lb;     /* actual gross */
    double set_lb;        /* weight setting of the engine */
    double engaging_kt;   /* above 0 */
    double off_centre_ft; /* of the hook from the middle, + to one side; within 0.9 half_span_ft */
    double drift_kt;      /* sideways at the engagement, + to the side where off_centre is + */
    double thrust_lbf;    /* held during the pull-out; 0 = idle */
    bool stretch;         /* let the cable stretch: the gear must have its figures */
};

enum tl_arrest_end {
    TL_ARREST_END_UNKNOWN = 0,
    TL_ARREST_STOPPED, /* slower than 0.1 kn */
    TL_ARREST_BOTTOMED /* the ram met its stop while the hook still moved */
};

struct tl_arrest_out {
    enum tl_arrest_end end;
    double runout_ft;        /* hook travel at the end */
    double stroke_in;        /* ram travel at the end */
    double stroke_margin_in; /* left to the stop */
    double end_speed_kt;     /* 0 when it stopped */
    double peak_hook_lbf, peak_hook_at_ft;
    double mean_hook_lbf; /* over the run-out */
    double peak_g;        /* deceleration, thrust and all */
    double peak_tension_lbf;
    double tension_fraction; /* of break_lbf */
    bool parts;              /* tension went past break_lbf; the run goes on as if it had held */
    double parts_kt;         /* speed at that moment */
    bool off_centre_over;    /* went further off the middle than off_centre_max_ft */
    double off_centre_end_ft;
    double time_s;
    double energy_ftlbf;  /* kinetic and work of the thrust */
    double energy_margin; /* 1 - energy / capacity */
    double balance_error; /* of the energy, relative: what the solver lost */
};

/* One moment of the run, for plots. */
struct tl_arrest_moment {
    double time_s, runout_ft, speed_kt, decel_g, hook_lbf, tension_lbf, stroke_in, pressure_psi;
    double off_centre_ft;
};
struct tl_arrest_watch {
    void *ctx;
    void (*moment)(void *ctx, const struct tl_arrest_moment *moment);
};

struct tl_arrest_machine;

/*
 * Make a solver for that gear.
 *
 * TL_BADARG: a figure that is absurd (not finite, out of range, full stroke beyond the stop, ...);
 * *why is then a sentence without figures, static. TL_NOMEM. *machine is written on TL_OK only.
 */
TL_MUST_USE enum tl_err tl_arrest_open(const struct tl_arrest_gear *gear,
                                       struct tl_arrest_machine **machine, const char **why);
/* Accepts NULL; nulls the caller's pointer. */
void tl_arrest_close(struct tl_arrest_machine **machine);

/*
 * Run one arrestment. `watch` may be NULL.
 *
 * TL_BADARG: an input out of range (*why says which). TL_REFUSED: no solution, as the setting is too
 * light for the accumulator, or the solver gave up. out is written on TL_OK only.
 */
TL_MUST_USE enum tl_err tl_arrest_run(struct tl_arrest_machine *machine,
                                      const struct tl_arrest_in *in,
                                      const struct tl_arrest_watch *watch,
                                      struct tl_arrest_out *out, const char **why);

/* ---- the parts, by themselves ---- */

struct tl_arrest_hook {
    double runout_ft, off_centre_ft;
};
/* Cable and ram with the hook at one place; the hook is taken as frictionless. */
struct tl_arrest_geometry {
    double payout_ft;         /* of one side, mean of both */
    double stroke_in;         /* payout / reeve ratio */
    double force_per_tension; /* hook force along the run-out over cable tension */
    double side_per_tension;  /* force toward the middle over cable tension */
};
void tl_arrest_geometry(const struct tl_arrest_gear *gear, struct tl_arrest_hook hook,
                        struct tl_arrest_geometry *out);

/* Design figures of one weight setting. */
struct tl_arrest_schedule {
    double tension_lbf;  /* held constant by a correct setting at the design speed */
    double pressure_psi; /* in the ram */
    double end_hook_lbf; /* hook force at the end of the design run-out */
    double opening_in2;  /* widest */
};
TL_MUST_USE enum tl_err tl_arrest_schedule(const struct tl_arrest_gear *gear, double set_lb,
                                           struct tl_arrest_schedule *out);
struct tl_arrest_ram {
    double set_lb, stroke_in;
};
/* Opening of the valve at a setting and a ram travel, in2. */
TL_MUST_USE enum tl_err tl_arrest_opening(const struct tl_arrest_gear *gear,
                                          struct tl_arrest_ram ram, double *opening_in2);
/* Accumulator at a ram travel, psi gauge; 0 when the gear has none. */
double tl_arrest_accumulator_psi(const struct tl_arrest_gear *gear, double stroke_in);

struct tl_arrest_impact {
    double engaging_kt, modulus_gpa, density_kg_m3;
};
/*
 * Stress of the wave that the hook sends along a long taut cable struck square, MPa: textbook
 * (small strain); speed of sound c = sqrt(modulus / density), strain (V / (sqrt(2) c))^(4/3).
 */
double tl_arrest_impact_mpa(struct tl_arrest_impact impact);

#endif
