/* SPDX-License-Identifier: Apache-2.0 */
/*
 * wind - the wind triangle of a moving ship with an angled landing deck
 *
 * Three winds are kept apart by name:
 *   true       over the water and the ground, what an anchored ship would feel;
 *   over deck  what the moving ship feels (apparent, relative wind);
 *   headwind and crosswind  the over-deck wind along and across the landing axis.
 *
 * 1. Every wind direction is where the wind comes FROM. Course, heading and true wind are degrees
 *    true, clockwise from north; relative directions are degrees clockwise from the bow.
 * 2. Course (where the ship goes) and heading (where the bow points) are separate: a ship that
 *    drifts has both.
 * 3. A true wind from north is 360 and a calm has direction 0; the published test rows of
 *    S. R. Smith, M. A. Bourassa, R. J. Sharp, "Establishing More Truth in True Winds", J. Atmos.
 *    Oceanic Technol. 16 (1999), 939, use the same signs.
 * 4. The triangle is linear in speed, so speeds stay in knots; nothing here needs SI.
 * 5. Pure: no state, no clock. A value out of range or not finite is refused, never repaired.
 */
#ifndef BROKER_CORE_MECHANICS_WIND_H
#define BROKER_CORE_MECHANICS_WIND_H

#include <stdint.h>

#include "broker/core/mechanics/units.h"
#include "proto/base/err.h"

/* The international knot is one nautical mile of 1852 m an hour, exactly (NIST SP 811, App. B). */
#define TL_WIND_MS_PER_KT  TL_MS_PER_KT
#define TL_WIND_KMH_PER_KT (TL_M_PER_NMI / 1000.0)

/* No ship and no wind that ships work in comes near; above it a number is a fault. */
#define TL_WIND_SPEED_KT_MAX 1000.0
/* The landing axis points to port of the bow by no more than this. */
#define TL_WIND_AXIS_PORT_DEG_MAX 45.0
/* Below this speed a wind is a calm: what is left is rounding of the sines. */
#define TL_WIND_CALM_KT 1e-5

struct tl_wind_true_in {
    double course_deg;    /* over ground, true, 0..360 */
    double speed_kt;      /* over ground, 0..TL_WIND_SPEED_KT_MAX */
    double heading_deg;   /* true, 0..360 */
    double over_deck_deg; /* from, clockwise from the bow, 0..360 */
    double over_deck_kt;  /* 0..TL_WIND_SPEED_KT_MAX */
};
struct tl_wind_true_out {
    double true_deg;     /* from, above 0 up to 360; 0 = calm */
    double true_kt;      /* 0 = calm */
    double apparent_deg; /* the over-deck wind, from, degrees true, 0 up to below 360 */
};

/*
 * Work out the true wind from what the ship feels and how she moves.
 *
 * in:  borrowed; ranges as in the struct.
 * out: written on TL_OK only.
 * TL_BADARG: a value out of its range or not finite.
 * Source of the method: Smith and others (1999), above.
 */
TL_MUST_USE enum tl_err tl_wind_true(const struct tl_wind_true_in *in,
                                     struct tl_wind_true_out *out);

struct tl_wind_over_deck_in {
    double course_deg;  /* over ground, true, 0..360 */
    double speed_kt;    /* over ground, 0..TL_WIND_SPEED_KT_MAX */
    double heading_deg; /* true, 0..360 */
    double true_deg;    /* from, 0..360 */
    double true_kt;     /* 0..TL_WIND_SPEED_KT_MAX */
};
struct tl_wind_over_deck_out {
    double over_deck_deg; /* from, clockwise from the bow, 0 up to below 360; 0 = calm */
    double over_deck_kt;  /* 0 = calm */
};

/*
 * Work out what the ship feels from the true wind and how she moves; the inverse of tl_wind_true.
 *
 * in:  borrowed; ranges as in the struct.
 * out: written on TL_OK only.
 * TL_BADARG: a value out of its range or not finite.
 */
TL_MUST_USE enum tl_err tl_wind_over_deck(const struct tl_wind_over_deck_in *in,
                                          struct tl_wind_over_deck_out *out);

struct tl_wind_deck_in {
    double over_deck_deg; /* from, clockwise from the bow, -180..360 (port may be negative) */
    double over_deck_kt;  /* 0..TL_WIND_SPEED_KT_MAX */
    double axis_port_deg; /* landing axis to port of the bow, 0..TL_WIND_AXIS_PORT_DEG_MAX */
};
struct tl_wind_deck_out {
    double headwind_kt;  /* against the landing aircraft; negative = from behind */
    double crosswind_kt; /* + = from starboard of the landing axis */
};

/*
 * Split the over-deck wind along and across the landing axis.
 *
 * A port-angled deck in light wind always has a crosswind from starboard: the ship-made wind comes
 * from the bow.
 *
 * in:  borrowed; ranges as in the struct.
 * out: written on TL_OK only.
 * TL_BADARG: a value out of its range or not finite.
 */
TL_MUST_USE enum tl_err tl_wind_deck(const struct tl_wind_deck_in *in,
                                     struct tl_wind_deck_out *out);

struct tl_wind_steer_in {
    double headwind_kt;   /* wanted along the landing axis, 0..TL_WIND_SPEED_KT_MAX */
    double axis_port_deg; /* 0..TL_WIND_AXIS_PORT_DEG_MAX */
    double true_deg;      /* from, 0..360 */
    double true_kt;       /* 0..TL_WIND_SPEED_KT_MAX */
};
struct tl_wind_steer {
    double heading_deg; /* true, 0 up to below 360; course is the same: no leeway is assumed */
    double speed_kt;    /* never negative: an answer that needs sternway is not listed */
};
struct tl_wind_steer_out {
    uint32_t count;                /* 0, 1 or 2 */
    struct tl_wind_steer steer[2]; /* slower first */
};

/*
 * Find the heading and speed that put the over-deck wind straight down the landing axis.
 *
 * No answer is an answer: count 0 means that this wind is too light for an axis so far to port
 * (it needs true_kt of at least headwind_kt * sin(axis_port_deg)).
 *
 * in:  borrowed; ranges as in the struct.
 * out: written on TL_OK only.
 * TL_BADARG: a value out of its range or not finite.
 * Formula: over-deck vector = true vector - ship vector, solved for the ship's speed:
 *   v = U cos a -+ sqrt(t^2 - U^2 sin^2 a), heading = D + atan2(U sin a, U cos a - v).
 */
TL_MUST_USE enum tl_err tl_wind_steer(const struct tl_wind_steer_in *in,
                                      struct tl_wind_steer_out *out);

/*
 * Bring knots to tenths as a published integer, rounded to nearest (what people read), down (what
 * must be enough) or away from zero (what must not be too much).
 *
 * kt: -TL_WIND_SPEED_KT_MAX..TL_WIND_SPEED_KT_MAX. A figure within a millionth of a tenth is that
 * tenth, so that the noise of a cosine does not cost 0.1 kn.
 */
int32_t tl_wind_x10(double kt);
int32_t tl_wind_x10_down(double kt);
int32_t tl_wind_x10_away(double kt);

#endif
