/* SPDX-License-Identifier: Apache-2.0 */
/*
 * wind_plan.h - what gusts do to the wind over deck, and what can be steered for a wanted one
 *
 * Stands on the triangle of wind.h; signs, units and directions are those there. Pure; a value out
 * of range or not finite is refused.
 */
#ifndef BROKER_CORE_MECHANICS_WIND_PLAN_H
#define BROKER_CORE_MECHANICS_WIND_PLAN_H

#include <stdbool.h>

#include "broker/core/mechanics/wind.h"

struct tl_wind_gusty_in {
    double
        over_deck_deg; /* from, clockwise from the bow, -180..360; of the lull and the gust too */
    double mean_kt;    /* over deck, 0..TL_WIND_SPEED_KT_MAX */
    double gust_kt;    /* over deck, mean_kt..TL_WIND_SPEED_KT_MAX */
    double axis_port_deg; /* 0..TL_WIND_AXIS_PORT_DEG_MAX */
};
struct tl_wind_gusty_out {
    double lull_kt;           /* over deck */
    double headwind_lull_kt;  /* what to count on for the energy; negative = from behind */
    double headwind_gust_kt;  /* a wind from behind is at its worst here */
    double headwind_least_kt; /* the lesser of the two */
    double crosswind_kt;      /* in the gust, the largest; + = from starboard of the landing axis */
};
/*
 * Find the winds along and across the landing axis at which a gusty wind is unfavourable.
 *
 * Assumed, with no source: a lull is as far below the mean as the gust is above it, not below 0, and
 * the direction stays.
 *
 * TL_BADARG: out of range or not finite, or a gust below the mean. out is then untouched. So below.
 */
TL_MUST_USE enum tl_err tl_wind_gusty(const struct tl_wind_gusty_in *in,
                                      struct tl_wind_gusty_out *out);

/* Whether a ship can put the wanted wind down the landing axis, or what is against it. */
enum tl_wind_answer {
    TL_WIND_ANSWER_UNKNOWN = 0,
    TL_WIND_ANSWER_THERE,
    TL_WIND_ANSWER_WIND_LIGHT,  /* for an axis so far to port; no ship could */
    TL_WIND_ANSWER_WIND_STRONG, /* above what is wanted: she would go astern, or run too fast */
    TL_WIND_ANSWER_SHIP_SLOW    /* the slowest answer is too fast for her */
};

struct tl_wind_why {
    enum tl_wind_answer answer; /* THERE or WIND_LIGHT: the ship's speed is not asked for here */
    double least_true_kt;       /* true wind that the wanted one needs */
    double lacking_kt;          /* true wind lacking to that; 0 = none */
};
/* Say why tl_wind_steer has no answer, if it has none: the wind needs headwind * sin(axis). */
TL_MUST_USE enum tl_err tl_wind_steer_why(const struct tl_wind_steer_in *want,
                                          struct tl_wind_why *out);

struct tl_wind_within {
    bool within;     /* the ship can go that fast */
    double spare_kt; /* speed left to her greatest; - = too slow by so much */
};
/*
 * Hold an answer of tl_wind_steer against the greatest speed of the ship.
 *
 * answer: its speed is 0..2 * TL_WIND_SPEED_KT_MAX. ship_kt_max: 0..TL_WIND_SPEED_KT_MAX. A speed
 * that is over by no more than TL_WIND_CALM_KT is within.
 */
TL_MUST_USE enum tl_err tl_wind_steer_within(const struct tl_wind_steer *answer, double ship_kt_max,
                                             struct tl_wind_within *out);

struct tl_wind_row_in {
    struct tl_wind_steer_in want;
    double ship_kt_max; /* 0..TL_WIND_SPEED_KT_MAX */
};
struct tl_wind_row {
    enum tl_wind_answer answer;
    double least_true_kt;       /* true wind that the wanted one needs */
    double slowest_kt;          /* ship's speed of the slower answer; WIND_LIGHT: 0 */
    struct tl_wind_steer steer; /* that answer; THERE only, else zeros */
    double off_wind_deg; /* steer: where the wind comes from to the heading, + = to the right of it,
                            above -180..180; it holds for every direction of the wind */
    /* without an answer: bow into the wind, as near to the wanted headwind as her speed allows */
    double into_wind_kt;
    struct tl_wind_deck_out into_wind;
};
/*
 * Fill one row of a table: what to steer in one true wind. The caller loops over the winds.
 *
 * into_wind is filled whether there is an answer or not, to compare with.
 */
TL_MUST_USE enum tl_err tl_wind_row_fill(const struct tl_wind_row_in *in, struct tl_wind_row *row);

#endif
