/* SPDX-License-Identifier: Apache-2.0 */
/*
 * aid.h - the optical landing aid: where it brings the hook, and how high over the ramp.
 *
 * Distances along the landing area are from the ramp. Pure; a value out of range or not finite is
 * refused.
 */
#ifndef BROKER_CORE_MECHANICS_AID_H
#define BROKER_CORE_MECHANICS_AID_H

#include "proto/base/err.h"

struct tl_aid_roll_in {
    double from_ramp_ft;   /* of the lens */
    double height_ft;      /* lens above the deck */
    double offset_ft;      /* lens to the landing centreline, above 0 */
    double touchdown_ft;   /* where the hook is to touch */
    double angle_deg;      /* basic angle, 1..8 */
    double hook_to_eye_ft; /* vertical, on the slope */
};
/*
 * Roll of the lens that puts the eye of this type on the slope that brings its hook to touchdown_ft.
 * tan(roll) = (hook_to_eye + (touchdown - from_ramp) tan(angle) - height) / offset.
 */
TL_MUST_USE enum tl_err tl_aid_roll(const struct tl_aid_roll_in *in, double *roll_deg);

struct tl_aid_hook_in {
    double touchdown_ft;       /* aimed at, from the ramp */
    double angle_deg;          /* basic angle, 1..8 */
    double set_hook_to_eye_ft; /* what the aid is set for */
    double hook_to_eye_ft;     /* what the aircraft has */
    double pitch_deg;          /* stern up +, -10..10; an aid that holds the horizon */
    double pitch_arm_ft;       /* ramp to the axis */
};
struct tl_aid_hook_out {
    double touchdown_ft;      /* where the hook comes down, from the ramp */
    double shift_ft;          /* of that from the aim; - = short of it */
    double ramp_clearance_ft; /* of the hook over the ramp */
};
TL_MUST_USE enum tl_err tl_aid_hook(const struct tl_aid_hook_in *in, struct tl_aid_hook_out *out);

/*
 * The slope over the moving deck that a pilot on that basic angle flies, as the published figures
 * have it: atan(airspeed tan(angle) / (airspeed + wind)). See docs/mechanics.md for what it is not.
 */
TL_MUST_USE enum tl_err tl_aid_effective_slope(double angle_deg, double airspeed_kt, double wind_kt,
                                               double *slope_deg);

/* Where the hook is to touch for that wire: half a spacing short of it. */
double tl_aid_touchdown_of_wire(double first_wire_ft, double spacing_ft, unsigned wire);

/* Height of one cell of the aid, or of the slope itself, at a range. */
double tl_aid_height_ft(double range_ft, double angle_deg);

#endif
