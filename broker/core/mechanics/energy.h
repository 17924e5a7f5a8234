/* SPDX-License-Identifier: Apache-2.0 */
/*
 * energy.h - what an engine must take up, and what is left of what it can.
 *
 * energy = 1/2 m v^2 + thrust * run-out. Pure; a value out of range or not finite is refused.
 */
#ifndef BROKER_CORE_MECHANICS_ENERGY_H
#define BROKER_CORE_MECHANICS_ENERGY_H

#include "broker/core/mechanics/air.h"

struct tl_energy_in {
    double weight_lb;     /* 1000..200000 */
    double engaging_kt;   /* above 0..300 */
    double thrust_lbf;    /* held during the pull-out, 0..100000 */
    double runout_ft;     /* over which the thrust works, 0..2000 */
    double capacity_ftlb; /* 1..1e9 */
};
struct tl_energy_out {
    double energy_ftlb;
    double margin;      /* 1 - energy / capacity; negative = too much */
    double capacity_kt; /* engaging speed that would use all of it up, this weight and thrust; 0 =
                           the thrust alone does */
};

/* TL_BADARG: out of range or not finite; out is then untouched. So below. */
TL_MUST_USE enum tl_err tl_energy(const struct tl_energy_in *in, struct tl_energy_out *out);

struct tl_energy_need_in {
    double weight_lb;
    double approach_kt; /* calibrated, at this weight; 20..300 */
    struct tl_air air;
    double glide_deg; /* 0..10 */
    double thrust_lbf, runout_ft;
    double capacity_ftlb;
    double margin_least; /* 0..0.95, of the capacity */
};

/*
 * Least headwind, kn, at which the energy leaves that margin; 0 = none is needed.
 *
 * TL_REFUSED: no wind does, up to the 100 kn that tl_engaging takes, or the thrust alone takes more.
 */
TL_MUST_USE enum tl_err tl_energy_wind_needed(const struct tl_energy_need_in *in,
                                              double *headwind_kt);

struct tl_energy_heaviest_in {
    struct tl_energy_need_in need; /* its weight_lb is not looked at; approach_kt is at at_lb */
    double at_lb;                  /* the speed goes with the root of the weight */
    double headwind_kt;            /* -100..100 */
    double most_lb;                /* 1000..200000; the answer is not above it */
};
/*
 * Heaviest weight, lb, that the wind allows; 0 = not even the lightest, 1000 lb.
 *
 * TL_BADARG: also when the wind would carry off even an aircraft of most_lb.
 */
TL_MUST_USE enum tl_err tl_energy_heaviest(const struct tl_energy_heaviest_in *in,
                                           double *weight_lb);

#endif
