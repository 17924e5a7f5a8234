/* SPDX-License-Identifier: Apache-2.0 */
/*
 * check_predicted.c - what the mechanics say: the consequence of a setting, a predicted pass
 *
 * A figure that a sub-message cannot be without is required: left out it would read as 0, which is
 * the best that most of these can be.
 */
#include "proto/codec/check.h"

/* It stops, or it does not and then has speed left. */
static enum tl_refusal
judge_would(const ProtobufCMessage *message)
{
    const wire_would *would = (const wire_would *)message;
    bool stops = would->bottoms == 0 && would->parts == 0;

    if (stops) {
        return would->end_kt_x10 != 0 ? TL_REFUSAL_RANGE : TL_FAULT_NONE;
    }
    return would->end_kt_x10 == 0 ? TL_REFUSAL_MISSING : TL_FAULT_NONE;
}

static const struct tl_check_row would_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_WEIGHT_LB_MAX},
    {.field = 2, .kind = TL_CHECK_FLAG},                                   /* bottoms */
    {.field = 3, .kind = TL_CHECK_FLAG},                                   /* parts */
    {.field = 4, .kind = TL_CHECK_UINT, .max = TL_CHECK_SPEED_KT_X10_MAX}, /* end_kt */
    {.field = 5, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_LOAD_LBF_MAX},
    {.field = 6, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_TENSION_PERCENT_MAX},
    {.field = 7, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_TRAVEL_X10_MAX},
    {.field = 8, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_TRAVEL_X10_MAX},
    {.field = 9, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_TRAVEL_X10_MAX},
};
const struct tl_check_message tl_check_would = {
    .descriptor = &trapline__v1__would__descriptor, TL_CHECK_ROWS(would_rows), .rule = judge_would};

/* Each setting once, by rising weight. */
static enum tl_refusal
judge_arrest(const ProtobufCMessage *message)
{
    const wire_predicted_arrest *arrest = (const wire_predicted_arrest *)message;

    for (size_t i = 1; i < arrest->n_would; i++) {
        if (arrest->would[i]->set_lb == arrest->would[i - 1]->set_lb) {
            return TL_REFUSAL_TOO_MANY;
        }
        if (arrest->would[i]->set_lb < arrest->would[i - 1]->set_lb) {
            return TL_REFUSAL_RANGE;
        }
    }
    return TL_FAULT_NONE;
}

static const struct tl_check_row arrest_rows[] = {
    {.field = 1, /* headwind_kt_x10 */
     .kind = TL_CHECK_SINT,
     .min = -TL_CHECK_SPEED_KT_X10_MAX,
     .max = TL_CHECK_SPEED_KT_X10_MAX},
    {.field = 2, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_SPEED_KT_X10_MAX},
    {.field = 3, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_ENERGY_KFTLB_MAX},
    {.field = 4, .kind = TL_CHECK_SINT, .min = -TL_CHECK_MARGIN_PERCENT_MAX, .max = 100},
    {.field = 5, .kind = TL_CHECK_MESSAGE, .count_max = TL_WOULDS_MAX, .sub = &tl_check_would},
};
static const struct tl_check_message check_arrest = {
    .descriptor = &trapline__v1__predicted_arrest__descriptor,
    TL_CHECK_ROWS(arrest_rows),
    .rule = judge_arrest};

static const struct tl_check_row ramp_rows[] = {
    {.field = 1, .kind = TL_CHECK_TYPE, .required = true}, /* aid_type */
    {.field = 2, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_ANGLE_DEG_X100_MAX},
    {.field = 3, .kind = TL_CHECK_UINT, .max = TL_CHECK_WIRE_MAX}, /* target_wire */
    {.field = 4, .kind = TL_CHECK_UINT, .max = TL_CHECK_ATTITUDE_DEG_X10_MAX},
    {.field = 5, /* clearance_ft_x10 */
     .kind = TL_CHECK_SINT,
     .min = -TL_CHECK_TRAVEL_X10_MAX,
     .max = TL_CHECK_TRAVEL_X10_MAX},
    {.field = 6, /* touchdown_ft_x10 */
     .kind = TL_CHECK_SINT,
     .min = -TL_CHECK_PLACE_MAX,
     .max = TL_CHECK_PLACE_MAX},
};
static const struct tl_check_message check_ramp = {
    .descriptor = &trapline__v1__predicted_ramp__descriptor, TL_CHECK_ROWS(ramp_rows)};

static const struct tl_check_row time_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .max = TL_CHECK_TIME_S_X10_MAX}, /* ramp_s_x10 */
    {.field = 2, .kind = TL_CHECK_UINT, .max = TL_CHECK_TIME_S_X10_MAX}, /* wave_off_gear_s_x10 */
    {.field = 3, .kind = TL_CHECK_UINT, .max = TL_CHECK_TIME_S_X10_MAX}, /* ..people_s_x10 */
    {.field = 4, .kind = TL_CHECK_UINT, .max = TL_CHECK_TIME_S_X10_MAX}, /* reset_s_x10 */
};
static const struct tl_check_message check_time = {
    .descriptor = &trapline__v1__predicted_time__descriptor, TL_CHECK_ROWS(time_rows)};

/* What a part was computed from is there too. */
static enum tl_refusal
judge_predicted(const ProtobufCMessage *message)
{
    const wire_predicted *predicted = (const wire_predicted *)message;
    bool has_type = predicted->type[0] != '\0';
    bool arrest = predicted->arrest == NULL || (has_type && predicted->weight_lb != 0);
    bool ramp = predicted->ramp == NULL || has_type;

    return arrest && ramp ? TL_FAULT_NONE : TL_REFUSAL_MISSING;
}

static const struct tl_check_row predicted_rows[] = {
    {.field = 1, .kind = TL_CHECK_MESSAGE, .required = true, .sub = &tl_check_event},
    {.field = 2, .kind = TL_CHECK_TYPE},
    {.field = 3, .kind = TL_CHECK_UINT, .max = TL_CHECK_WEIGHT_LB_MAX},
    {.field = 4, .kind = TL_CHECK_FLAG}, /* barricade */
    {.field = 5, .kind = TL_CHECK_MESSAGE, .sub = &check_arrest},
    {.field = 6, .kind = TL_CHECK_MESSAGE, .sub = &check_ramp},
    {.field = 7, .kind = TL_CHECK_MESSAGE, .sub = &check_time},
};
const struct tl_check_message tl_check_predicted = {.descriptor =
                                                        &trapline__v1__predicted__descriptor,
                                                    TL_CHECK_ROWS(predicted_rows),
                                                    .rule = judge_predicted};

static const struct tl_check_row expected_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = TL_ENGINES_MAX}, /* unit */
    {.field = 2, .kind = TL_CHECK_MESSAGE, .required = true, .sub = &tl_check_event},
    {.field = 3, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_TRAVEL_X10_MAX},
};
const struct tl_check_message tl_check_expected = {
    .descriptor = &trapline__v1__expected__descriptor, TL_CHECK_ROWS(expected_rows)};
