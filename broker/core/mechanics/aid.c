/* SPDX-License-Identifier: Apache-2.0 */
/*
 * aid - straight lines: slope, lens and hook, all in feet
 *
 * Each formula is linear in lengths, so nothing here needs SI. The geometry is our own derivation;
 * the figures that it is held against stand in the tests.
 */
#include "broker/core/mechanics/aid.h"

#include <math.h>

#include "broker/core/mechanics/bounds.h"
#include "broker/core/mechanics/units.h"

static const struct tl_bounds height_ft = {0.0, 100.0};
static const struct tl_bounds offset_ft = {0.0, 500.0};
static const struct tl_bounds hook_to_eye_ft = {0.0, 50.0};
static const struct tl_bounds pitch_deg = {-10.0, 10.0};
static const struct tl_bounds wind_kt = {0.0, 100.0};

static double
tan_deg(double deg)
{
    return tan(deg * TL_RAD_PER_DEG);
}

enum tl_err
tl_aid_roll(const struct tl_aid_roll_in *in, double *roll_deg)
{
    if (!tl_is_in(in->from_ramp_ft, tl_bounds_deck_ft) || !tl_is_in(in->height_ft, height_ft) ||
        !tl_is_above_in(in->offset_ft, offset_ft) ||
        !tl_is_above_in(in->touchdown_ft, tl_bounds_deck_ft) ||
        !tl_is_in(in->angle_deg, tl_bounds_slope_deg) ||
        !tl_is_above_in(in->hook_to_eye_ft, hook_to_eye_ft)) {
        return TL_BADARG;
    }
    double eye_ft =
        in->hook_to_eye_ft + (in->touchdown_ft - in->from_ramp_ft) * tan_deg(in->angle_deg);

    *roll_deg = atan((eye_ft - in->height_ft) / in->offset_ft) / TL_RAD_PER_DEG;
    return TL_OK;
}

enum tl_err
tl_aid_hook(const struct tl_aid_hook_in *in, struct tl_aid_hook_out *out)
{
    if (!tl_is_above_in(in->touchdown_ft, tl_bounds_deck_ft) ||
        !tl_is_in(in->angle_deg, tl_bounds_slope_deg) ||
        !tl_is_above_in(in->set_hook_to_eye_ft, hook_to_eye_ft) ||
        !tl_is_above_in(in->hook_to_eye_ft, hook_to_eye_ft) ||
        !tl_is_in(in->pitch_deg, pitch_deg) || !tl_is_in(in->pitch_arm_ft, tl_bounds_deck_ft)) {
        return TL_BADARG;
    }
    double slope = tan_deg(in->angle_deg);
    double high_ft = in->set_hook_to_eye_ft - in->hook_to_eye_ft;
    double ramp_up_ft = in->pitch_arm_ft * sin(in->pitch_deg * TL_RAD_PER_DEG);

    out->shift_ft = high_ft / slope;
    out->touchdown_ft = in->touchdown_ft + out->shift_ft;
    out->ramp_clearance_ft = in->touchdown_ft * slope + high_ft - ramp_up_ft;
    return TL_OK;
}

enum tl_err
tl_aid_effective_slope(const struct tl_aid_slope_in *in, double *slope_deg)
{
    if (!tl_is_in(in->angle_deg, tl_bounds_slope_deg) ||
        !tl_is_in(in->airspeed_kt, tl_bounds_airspeed_kt) || !tl_is_in(in->wind_kt, wind_kt)) {
        return TL_BADARG;
    }
    double slope = in->airspeed_kt * tan_deg(in->angle_deg) / (in->airspeed_kt + in->wind_kt);

    *slope_deg = atan(slope) / TL_RAD_PER_DEG;
    return TL_OK;
}

double
tl_aid_touchdown_of_wire(const struct tl_aid_wires *wires, unsigned wire)
{
    return wires->first_ft + ((double)wire - 1.5) * wires->spacing_ft;
}

double
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): height at a range comes before its angle */
tl_aid_height_ft(double range_ft, double angle_deg)
{
    return range_ft * tan_deg(angle_deg);
}
