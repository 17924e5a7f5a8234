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
    double from_ramp_ft;   /* of the lens, 0..2000 */
    double height_ft;      /* lens above the deck, 0..100 */
    double offset_ft;      /* lens to the landing centreline, above 0..500 */
    double touchdown_ft;   /* where the hook is to touch, above 0..2000 */
    double angle_deg;      /* basic angle, 1..8 */
    double hook_to_eye_ft; /* vertical, on the slope; above 0..50 */
};
/*
 * Roll of the lens that puts the eye of this type on the slope that brings its hook to touchdown_ft.
 * tan(roll) = (hook_to_eye + (touchdown - from_ramp) tan(angle) - height) / offset.
 *
 * TL_BADARG: out of range or not finite; roll_deg is then untouched. So below.
 */
TL_MUST_USE enum tl_err tl_aid_roll(const struct tl_aid_roll_in *in, double *roll_deg);

struct tl_aid_hook_in {
    double touchdown_ft;       /* aimed at, from the ramp; above 0..2000 */
    double angle_deg;          /* basic angle, 1..8 */
    double set_hook_to_eye_ft; /* what the aid is set for, above 0..50 */
    double hook_to_eye_ft;     /* what the aircraft has, above 0..50 */
    double pitch_deg;          /* stern up +, -10..10; an aid that holds the horizon */
    double pitch_arm_ft;       /* ramp to the axis, 0..2000 */
};
struct tl_aid_hook_out {
    double touchdown_ft;      /* where the hook comes down, from the ramp */
    double shift_ft;          /* of that from the aim; - = short of it */
    double ramp_clearance_ft; /* of the hook over the ramp; - = under it */
};
/*
 * Follow the hook of an aircraft that is held on the slope.
 *
 * The pitch lifts or drops the ramp as the hook passes it; the touchdown is that on a level deck,
 * as the deck has moved on until then. A hook that hangs further down than the aid is set for is too
 * low all the way: error = hook_to_eye - set_hook_to_eye, shift = -error / tan(angle), ramp
 * clearance = touchdown tan(angle) - error - pitch_arm sin(pitch).
 */
TL_MUST_USE enum tl_err tl_aid_hook(const struct tl_aid_hook_in *in, struct tl_aid_hook_out *out);

struct tl_aid_slope_in {
    double angle_deg;   /* basic angle, 1..8 */
    double airspeed_kt; /* 20..300 */
    double wind_kt;     /* over the deck, 0..100 */
};
/*
 * The slope over the moving deck that a pilot on that basic angle flies, as the published figures
 * have it: atan(airspeed tan(angle) / (airspeed + wind)). See docs/mechanics.md for what it is not.
 */
TL_MUST_USE enum tl_err tl_aid_effective_slope(const struct tl_aid_slope_in *in, double *slope_deg);

struct tl_aid_wires {
    double first_ft;   /* first wire, from the ramp */
    double spacing_ft; /* from wire to wire */
};
/*
 * Where the hook is to touch for that wire, ft from the ramp: half a spacing short of it.
 *
 * wire: from 1, the one nearest to the ramp. Nothing is refused; so below.
 */
double tl_aid_touchdown_of_wire(const struct tl_aid_wires *wires, unsigned wire);

/* Height of one cell of the aid, or of the slope itself, at a range. */
double tl_aid_height_ft(double range_ft, double angle_deg);

#endif
