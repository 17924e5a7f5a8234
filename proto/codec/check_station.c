/* SPDX-License-Identifier: Apache-2.0 */
/* check_station.c - what a station may publish: samples, beats and changes. */
#include "proto/codec/check.h"

static const struct tl_check_row true_wind_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .max = TL_CHECK_SPEED_KT_X10_MAX},
    {.field = 2, .kind = TL_CHECK_UINT, .max = TL_CHECK_DIRECTION_DEG_X10_MAX},
};
static const struct tl_check_message check_true_wind = {
    .descriptor = &trapline__v1__true_wind__descriptor,
    TL_CHECK_ROWS(true_wind_rows),
    .may_be_empty = true}; /* calm, from the north */

static const struct tl_check_row reading_rows[] = {
    {.field = 1, .kind = TL_CHECK_TEXT, .required = true, .max = TL_SOURCE_CAP - 1}, /* source */
    {.field = 2, .kind = TL_CHECK_UINT, .max = UINT32_MAX},                          /* age_ms */
    {.field = 3, .kind = TL_CHECK_UINT, .max = TL_CHECK_SPEED_KT_X10_MAX},
    {.field = 4, .kind = TL_CHECK_UINT, .max = TL_CHECK_DIRECTION_DEG_X10_MAX},
};
static const struct tl_check_message check_reading = {
    .descriptor = &trapline__v1__wind_reading__descriptor, TL_CHECK_ROWS(reading_rows)};

static const struct tl_check_row wind_rows[] = {
    {.field = 1, .kind = TL_CHECK_ENUM}, /* state */
    {.field = 2,                         /* headwind_kt_x10 */
     .kind = TL_CHECK_SINT,
     .min = -TL_CHECK_SPEED_KT_X10_MAX,
     .max = TL_CHECK_SPEED_KT_X10_MAX},
    {.field = 3, /* crosswind_kt_x10 */
     .kind = TL_CHECK_SINT,
     .min = -TL_CHECK_SPEED_KT_X10_MAX,
     .max = TL_CHECK_SPEED_KT_X10_MAX},
    {.field = 4, .kind = TL_CHECK_UINT, .max = TL_CHECK_SPEED_KT_X10_MAX},
    {.field = 5, .kind = TL_CHECK_UINT, .max = TL_CHECK_DIRECTION_DEG_X10_MAX},
    {.field = 6, .kind = TL_CHECK_MESSAGE, .sub = &check_true_wind},
    {.field = 7, .kind = TL_CHECK_MESSAGE, .count_max = TL_READINGS_MAX, .sub = &check_reading},
    {.field = 8, .kind = TL_CHECK_FLAG}, /* keyed */
};
static const struct tl_check_message check_wind = {.descriptor = &trapline__v1__wind__descriptor,
                                                   TL_CHECK_ROWS(wind_rows),
                                                   .may_be_empty = true}; /* not known */

static const struct tl_check_row motion_value_rows[] = {
    {.field = 1, .kind = TL_CHECK_SINT, .min = INT32_MIN, .max = INT32_MAX},
};
static const struct tl_check_message check_motion_value = {
    .descriptor = &trapline__v1__motion_value__descriptor,
    TL_CHECK_ROWS(motion_value_rows),
    .may_be_empty = true}; /* known, and 0 */

#define VALUE(number, least, most)                                                                 \
    {                                                                                              \
        .field = (number), .kind = TL_CHECK_VALUE, .min = (least), .max = (most),                  \
        .sub = &check_motion_value                                                                 \
    }
static const struct tl_check_row motion_rows[] = {
    VALUE(1, -TL_CHECK_ATTITUDE_DEG_X10_MAX, TL_CHECK_ATTITUDE_DEG_X10_MAX), /* pitch */
    VALUE(2, -TL_CHECK_ATTITUDE_DEG_X10_MAX, TL_CHECK_ATTITUDE_DEG_X10_MAX), /* roll */
    VALUE(3, -TL_CHECK_HEAVE_M_X100_MAX, TL_CHECK_HEAVE_M_X100_MAX),
    VALUE(4, -TL_CHECK_TURN_DEG_MIN_X10_MAX, TL_CHECK_TURN_DEG_MIN_X10_MAX),
    VALUE(5, 0, TL_CHECK_DIRECTION_DEG_X10_MAX),                     /* heading */
    VALUE(6, 0, TL_CHECK_DIRECTION_DEG_X10_MAX),                     /* course */
    VALUE(7, -TL_CHECK_SPEED_KT_X10_MAX, TL_CHECK_SPEED_KT_X10_MAX), /* speed; astern below 0 */
};
static const struct tl_check_message check_motion = {.descriptor =
                                                         &trapline__v1__motion__descriptor,
                                                     TL_CHECK_ROWS(motion_rows),
                                                     .may_be_empty = true}; /* nothing known */

static enum tl_refusal
judge_sample(const ProtobufCMessage *message)
{
    const wire_sample *sample = (const wire_sample *)message;
    return sample->value_case == TRAPLINE__V1__SAMPLE__VALUE__NOT_SET ? TL_REFUSAL_MISSING
                                                                      : TL_FAULT_NONE;
}

static const struct tl_check_row sample_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .max = UINT32_MAX}, /* age_ms */
    {.field = 16, .kind = TL_CHECK_MESSAGE, .sub = &check_wind},
    {.field = 17, .kind = TL_CHECK_MESSAGE, .sub = &check_motion},
};
const struct tl_check_message tl_check_sample = {.descriptor = &trapline__v1__sample__descriptor,
                                                 TL_CHECK_ROWS(sample_rows),
                                                 .rule = judge_sample};

/* A beat is the state after last_change: nothing in it can be newer, and each name is once. */
static enum tl_refusal
judge_beat(const ProtobufCMessage *message)
{
    const wire_beat *beat = (const wire_beat *)message;

    if (beat->oldest_held > beat->last_change) {
        return TL_REFUSAL_RANGE;
    }
    for (size_t i = 0; i < beat->n_data; i++) {
        if (beat->data[i]->sequence > beat->last_change) {
            return TL_REFUSAL_RANGE;
        }
    }
    return tl_check_names_differ(beat->data, beat->n_data);
}

static const struct tl_check_row beat_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* last_change */
    {.field = 2, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* oldest_held */
    {.field = 3, .kind = TL_CHECK_MESSAGE, .count_max = TL_DATA_MAX, .sub = &tl_check_datum},
    {.field = 4, .kind = TL_CHECK_MESSAGE, .count_max = TL_SAMPLES_MAX, .sub = &tl_check_sample},
};
const struct tl_check_message tl_check_beat = {.descriptor = &trapline__v1__beat__descriptor,
                                               TL_CHECK_ROWS(beat_rows),
                                               .may_be_empty = true, /* a viewer's */
                                               .rule = judge_beat};

static const struct tl_check_row change_rows[] = {
    {.field = 1, .kind = TL_CHECK_MESSAGE, .required = true, .sub = &tl_check_datum},
};
const struct tl_check_message tl_check_change = {.descriptor = &trapline__v1__change__descriptor,
                                                 TL_CHECK_ROWS(change_rows)};
