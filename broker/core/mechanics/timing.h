/* SPDX-License-Identifier: Apache-2.0 */
/*
 * timing.h - seconds: to the ramp, to the last moment of a wave-off, between two aircraft.
 *
 * Pure; a value out of range or not finite is refused.
 */
#ifndef BROKER_CORE_MECHANICS_TIMING_H
#define BROKER_CORE_MECHANICS_TIMING_H

#include <stdint.h>

#include "proto/base/err.h"

/*
 * Seconds to go range_ft (0..1e6) at closure_kt (above 0..600).
 *
 * TL_BADARG: out of range or not finite, the answer too; seconds is then untouched. So below.
 */
TL_MUST_USE enum tl_err tl_timing_to_ramp(double range_ft, double closure_kt, double *seconds);

struct tl_wave_off_in {
    double closure_kt;  /* 20..300 */
    double angle_deg;   /* of the slope, 1..8 */
    double reaction_s;  /* caller and pilot, 0..10 */
    double climb_ft_s2; /* above 0..32 */
    double height_ft;   /* hook over the deck that must be left, 0..500 */
};
struct tl_wave_off_out {
    double sink_ft_s;
    double loss_ft;  /* height lost from the word to the lowest point */
    double range_ft; /* from touchdown, at which the word must come */
    double before_s; /* before touchdown */
};
/* loss = sink * reaction + sink^2 / (2 climb); range = (height + loss) / tan(angle). */
TL_MUST_USE enum tl_err tl_wave_off(const struct tl_wave_off_in *in, struct tl_wave_off_out *out);

struct tl_reset_in {
    double arrest_s, hook_s, retract_s, taxi_s, weight_s, check_s; /* 0..600 each */
};
/* arrest + hook + check + the longest of retract, taxi and weight, which go side by side. */
TL_MUST_USE enum tl_err tl_reset_mean(const struct tl_reset_in *in, double *seconds);

struct tl_interval_in {
    double reset_s;    /* mean of the reset, 0..3600 */
    double spread_s;   /* its standard deviation, above 0..600 */
    double wave_off_s; /* the deck must be ready so long before touchdown, 0..600 */
    double interval_s; /* between two aircraft, 1..3600 */
};
struct tl_interval_out {
    double foul_chance;  /* of a wave-off for a foul deck, 0..1: 1 - Phi((T - t_wo - mean) / sd) */
    double suggested_s;  /* reset + wave-off + 2 spread */
    uint32_t trap_every; /* with fixed times only each n-th pass can trap: the others go round */
};
/* The reset is taken for normally distributed, which is ours. */
TL_MUST_USE enum tl_err tl_interval(const struct tl_interval_in *in, struct tl_interval_out *out);

struct tl_passes_out {
    double passes;
    double time_s;
};
/* Passes, and time, for so many aircraft at a boarding rate above 0..1, interval_s 1..3600. */
TL_MUST_USE enum tl_err tl_passes(uint32_t aircraft, double boarding_rate, double interval_s,
                                  struct tl_passes_out *out);

#endif
