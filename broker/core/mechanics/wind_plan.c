/* SPDX-License-Identifier: Apache-2.0 */
/*
 * wind_plan - the triangle asked for the unfavourable side
 *
 * An answer that tl_wind_steer leaves out for sternway never leaves the list empty: the faster one
 * stays, in which the ship runs before the wind. So an empty list has one reason, a light wind.
 */
#include "broker/core/mechanics/wind_plan.h"

#include <math.h>

#include "broker/core/mechanics/bounds.h"
#include "broker/core/mechanics/units.h"

static const struct tl_bounds speed_kt = {0.0, TL_WIND_SPEED_KT_MAX};
static const struct tl_bounds answer_kt = {0.0, 2.0 * TL_WIND_SPEED_KT_MAX};
static const struct tl_bounds heading_deg = {0.0, 360.0};

enum tl_err
tl_wind_gusty(const struct tl_wind_gusty_in *in, struct tl_wind_gusty_out *out)
{
    if (!tl_is_in(in->mean_kt, speed_kt) || !(in->gust_kt >= in->mean_kt)) {
        return TL_BADARG;
    }
    double lull_kt = fmax(in->mean_kt - (in->gust_kt - in->mean_kt), 0.0);
    struct tl_wind_deck_in wind = {.over_deck_deg = in->over_deck_deg,
                                   .over_deck_kt = in->gust_kt,
                                   .axis_port_deg = in->axis_port_deg};
    struct tl_wind_deck_out gust;
    struct tl_wind_deck_out lull;
    enum tl_err err = tl_wind_deck(&wind, &gust);

    wind.over_deck_kt = lull_kt;
    if (err != TL_OK || (err = tl_wind_deck(&wind, &lull)) != TL_OK) {
        return err;
    }
    *out = (struct tl_wind_gusty_out){
        .lull_kt = lull_kt,
        .headwind_lull_kt = lull.headwind_kt,
        .headwind_gust_kt = gust.headwind_kt,
        .headwind_least_kt = fmin(lull.headwind_kt, gust.headwind_kt),
        .crosswind_kt = gust.crosswind_kt,
    };
    return TL_OK;
}

static struct tl_wind_why
explain(const struct tl_wind_steer_in *want, const struct tl_wind_steer_out *answers)
{
    double least_kt = want->headwind_kt * sin(want->axis_port_deg * TL_RAD_PER_DEG);

    return (struct tl_wind_why){
        .answer = answers->count > 0 ? TL_WIND_ANSWER_THERE : TL_WIND_ANSWER_WIND_LIGHT,
        .least_true_kt = least_kt,
        .lacking_kt = fmax(least_kt - want->true_kt, 0.0),
    };
}

enum tl_err
tl_wind_steer_why(const struct tl_wind_steer_in *want, struct tl_wind_why *out)
{
    struct tl_wind_steer_out answers;
    enum tl_err err = tl_wind_steer(want, &answers);

    if (err == TL_OK) {
        *out = explain(want, &answers);
    }
    return err;
}

static struct tl_wind_within
hold_against(const struct tl_wind_steer *answer, double ship_kt_max)
{
    double spare_kt = ship_kt_max - answer->speed_kt;

    return (struct tl_wind_within){.within = spare_kt >= -TL_WIND_CALM_KT, .spare_kt = spare_kt};
}

enum tl_err
tl_wind_steer_within(const struct tl_wind_steer *answer, double ship_kt_max,
                     struct tl_wind_within *out)
{
    if (!tl_is_in(answer->heading_deg, heading_deg) || !tl_is_in(answer->speed_kt, answer_kt) ||
        !tl_is_in(ship_kt_max, speed_kt)) {
        return TL_BADARG;
    }
    *out = hold_against(answer, ship_kt_max);
    return TL_OK;
}

/* Right of the wind's eye +, above -180..180. */
static double
turn_off(const struct tl_wind_steer *steer, const struct tl_wind_steer_in *want)
{
    double deg = remainder(steer->heading_deg - want->true_deg, 360.0);

    return deg <= -180.0 ? deg + 360.0 : deg;
}

static void
head_into_wind(const struct tl_wind_row_in *in, struct tl_wind_row *row)
{
    double axis_rad = in->want.axis_port_deg * TL_RAD_PER_DEG;
    double wanted_kt = in->want.headwind_kt / cos(axis_rad);

    row->into_wind_kt = fmin(fmax(wanted_kt - in->want.true_kt, 0.0), in->ship_kt_max);
    double over_deck_kt = row->into_wind_kt + in->want.true_kt;

    row->into_wind.headwind_kt = over_deck_kt * cos(axis_rad);
    row->into_wind.crosswind_kt = over_deck_kt * sin(axis_rad);
}

enum tl_err
tl_wind_row_fill(const struct tl_wind_row_in *in, struct tl_wind_row *row)
{
    struct tl_wind_steer_out answers;

    if (!tl_is_in(in->ship_kt_max, speed_kt) || tl_wind_steer(&in->want, &answers) != TL_OK) {
        return TL_BADARG;
    }
    struct tl_wind_why why = explain(&in->want, &answers);

    *row = (struct tl_wind_row){.answer = why.answer, .least_true_kt = why.least_true_kt};
    head_into_wind(in, row);
    if (answers.count == 0) {
        return TL_OK;
    }
    row->slowest_kt = answers.steer[0].speed_kt;
    if (hold_against(&answers.steer[0], in->ship_kt_max).within) {
        row->steer = answers.steer[0];
        row->off_wind_deg = turn_off(&row->steer, &in->want);
    } else {
        row->answer = in->want.true_kt > in->want.headwind_kt ? TL_WIND_ANSWER_WIND_STRONG
                                                              : TL_WIND_ANSWER_SHIP_SLOW;
    }
    return TL_OK;
}
