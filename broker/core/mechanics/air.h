/* SPDX-License-Identifier: Apache-2.0 */
/*
 * air.h - how dense the air is, and how fast the aircraft meets the wire in it.
 *
 * Dry air as a perfect gas against the standard atmosphere at sea level (ISO 2533, 288.15 K and
 * 101,325 Pa). Pure; a value out of range or not finite is refused, never repaired.
 */
#ifndef BROKER_CORE_MECHANICS_AIR_H
#define BROKER_CORE_MECHANICS_AIR_H

#include "proto/base/err.h"

struct tl_air {
    double temperature_c; /* -60..60 */
    double pressure_hpa;  /* 500..1100, at the deck */
};

/*
 * Density over that of the standard atmosphere at sea level (sigma), 1 = standard.
 *
 * TL_BADARG: out of range or not finite; sigma is then untouched. So below.
 * Formula: (p / 101325 Pa) (288.15 K / T).
 */
TL_MUST_USE enum tl_err tl_air_density_ratio(const struct tl_air *air, double *sigma);

/*
 * The standard atmosphere at a height of -1000..36000 ft (ISO 2533, troposphere).
 *
 * The height is geopotential, at 10,000 ft less than 5 ft below the one on the tape. From 18,288 ft
 * on the pressure is below what the functions here take for the air at a deck.
 */
TL_MUST_USE enum tl_err tl_air_standard(double height_ft, struct tl_air *air);

struct tl_engaging_in {
    double approach_kt; /* calibrated airspeed on final, 20..300 */
    struct tl_air air;
    double headwind_kt; /* down the landing axis, -100..100 */
    double glide_deg;   /* flight path below level, 0..10; 0 = all of the speed is forward */
};
struct tl_engaging_out {
    double true_airspeed_kt; /* calibrated / sqrt(sigma); compressibility is left out */
    double closure_kt;       /* true airspeed less headwind: how fast the ramp comes nearer */
    double engaging_kt;      /* along the deck: true airspeed * cos(glide) less headwind */
    double sigma;
};

/*
 * Speed over the deck at which the hook meets the wire.
 *
 * TL_BADARG: out of range; or not above 0, as the wind carries the aircraft off. out untouched.
 */
TL_MUST_USE enum tl_err tl_engaging(const struct tl_engaging_in *in, struct tl_engaging_out *out);

struct tl_approach_in {
    double approach_kt; /* at at_lb, 20..300 */
    double at_lb;       /* 1000..200000 */
    double weight_lb;   /* asked for, 1000..200000 */
};
/*
 * Approach speed at a weight, from the one at another: the same angle of attack carries twice the
 * weight at the root of two times the speed (textbook lift equation).
 */
TL_MUST_USE enum tl_err tl_approach_at(const struct tl_approach_in *in, double *approach_kt);

#endif
