/* SPDX-License-Identifier: Apache-2.0 */
/*
 * timing - kinematics of the last mile, and the sums of a reset
 *
 * All but the normal distribution is our own derivation; the defaults stand in the configuration.
 */
#include "broker/core/mechanics/timing.h"

#include <math.h>

#include "broker/core/mechanics/bounds.h"
#include "broker/core/mechanics/units.h"

/* A ratio this close above a whole number is that number: what is left is rounding. */
static const double ratio_noise = 1e-9;

static const struct tl_bounds to_ramp_ft = {0.0, 1e6};
static const struct tl_bounds closing_kt = {0.0, 600.0};
static const struct tl_bounds wave_off_closure_kt = {20.0, 300.0};
static const struct tl_bounds reaction_s = {0.0, 10.0};
static const struct tl_bounds climb_ft_s2 = {0.0, 32.0};
static const struct tl_bounds window_ft = {0.0, 500.0};
static const struct tl_bounds part_s = {0.0, 600.0};
static const struct tl_bounds whole_s = {0.0, 3600.0};
static const struct tl_bounds apart_s = {1.0, 3600.0};
static const struct tl_bounds rate = {0.0, 1.0};

enum tl_err
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): distance before speed, as it is said */
tl_timing_to_ramp(double range_ft, double closure_kt, double *seconds)
{
    if (!tl_is_in(range_ft, to_ramp_ft) || !tl_is_above_in(closure_kt, closing_kt)) {
        return TL_BADARG;
    }
    double answer_s = range_ft / (closure_kt * TL_FTS_PER_KT);

    if (!isfinite(answer_s)) {
        return TL_BADARG;
    }
    *seconds = answer_s;
    return TL_OK;
}

enum tl_err
tl_wave_off(const struct tl_wave_off_in *in, struct tl_wave_off_out *out)
{
    if (!tl_is_in(in->closure_kt, wave_off_closure_kt) ||
        !tl_is_in(in->angle_deg, tl_bounds_slope_deg) || !tl_is_in(in->reaction_s, reaction_s) ||
        !tl_is_above_in(in->climb_ft_s2, climb_ft_s2) || !tl_is_in(in->height_ft, window_ft)) {
        return TL_BADARG;
    }
    double slope = tan(in->angle_deg * TL_RAD_PER_DEG);
    double closure_ft_s = in->closure_kt * TL_FTS_PER_KT;
    double sink_ft_s = closure_ft_s * slope;
    double loss_ft = sink_ft_s * in->reaction_s + sink_ft_s * sink_ft_s / (2.0 * in->climb_ft_s2);
    double word_ft = (in->height_ft + loss_ft) / slope;

    if (!isfinite(word_ft)) {
        return TL_BADARG;
    }
    *out = (struct tl_wave_off_out){.sink_ft_s = sink_ft_s,
                                    .loss_ft = loss_ft,
                                    .range_ft = word_ft,
                                    .before_s = word_ft / closure_ft_s};
    return TL_OK;
}

enum tl_err
tl_reset_mean(const struct tl_reset_in *in, double *seconds)
{
    if (!tl_is_in(in->arrest_s, part_s) || !tl_is_in(in->hook_s, part_s) ||
        !tl_is_in(in->retract_s, part_s) || !tl_is_in(in->taxi_s, part_s) ||
        !tl_is_in(in->weight_s, part_s) || !tl_is_in(in->check_s, part_s)) {
        return TL_BADARG;
    }
    double beside_s = fmax(fmax(in->retract_s, in->taxi_s), in->weight_s);

    *seconds = in->arrest_s + in->hook_s + beside_s + in->check_s;
    return TL_OK;
}

enum tl_err
tl_interval(const struct tl_interval_in *in, struct tl_interval_out *out)
{
    if (!tl_is_in(in->reset_s, whole_s) || !tl_is_above_in(in->spread_s, part_s) ||
        !tl_is_in(in->wave_off_s, part_s) || !tl_is_in(in->interval_s, apart_s)) {
        return TL_BADARG;
    }
    double needed_s = in->reset_s + in->wave_off_s;
    double spreads = (in->interval_s - needed_s) / in->spread_s;
    double passes = ceil(needed_s / in->interval_s - ratio_noise);

    out->foul_chance = 0.5 * erfc(spreads / sqrt(2.0)); /* keeps its digits far out in the tail */
    out->suggested_s = needed_s + 2.0 * in->spread_s;
    out->trap_every = (uint32_t)fmax(passes, 1.0);
    return TL_OK;
}

enum tl_err
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): how many, at what rate, how far apart */
tl_passes(uint32_t aircraft, double boarding_rate, double interval_s, struct tl_passes_out *out)
{
    if (!tl_is_above_in(boarding_rate, rate) || !tl_is_in(interval_s, apart_s)) {
        return TL_BADARG;
    }
    double passes = (double)aircraft / boarding_rate;
    double time_s = passes * interval_s;

    if (!isfinite(time_s)) {
        return TL_BADARG;
    }
    *out = (struct tl_passes_out){.passes = passes, .time_s = time_s};
    return TL_OK;
}
