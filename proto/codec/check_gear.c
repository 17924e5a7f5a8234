/* SPDX-License-Identifier: Apache-2.0 */
/*
 * check_gear.c - what a word on the gear, the deck edge, the aid or by a person may hold
 *
 * Shape only. The bounds tell a slip of the hand from a figure; whether a height or a pressure is
 * good is the judgement's, by the ship's own files.
 */
#include "proto/codec/check.h"
#include "proto/vocab/rules.h"

static const struct tl_check_row state_rows[] = {
    {.field = 1, .kind = TL_CHECK_ENUM, .required = true},
};
const struct tl_check_message tl_check_word_rig = {.descriptor = &trapline__v1__rig__descriptor,
                                                   TL_CHECK_ROWS(state_rows)};
const struct tl_check_message tl_check_word_stanchions = {
    .descriptor = &trapline__v1__stanchions__descriptor, TL_CHECK_ROWS(state_rows)};
const struct tl_check_message tl_check_word_track = {.descriptor = &trapline__v1__track__descriptor,
                                                     TL_CHECK_ROWS(state_rows)};

static const struct tl_check_row barricade_rows[] = {
    {.field = 1, .kind = TL_CHECK_ENUM, .required = true}, /* state */
    {.field = 2, .kind = TL_CHECK_FLAG},                   /* webbing_used */
};
const struct tl_check_message tl_check_word_barricade = {
    .descriptor = &trapline__v1__barricade__descriptor, TL_CHECK_ROWS(barricade_rows)};

static const struct tl_check_row sheave_rows[] = {
    {.field = 1, .kind = TL_CHECK_ENUM, .required = true}, /* state */
    {.field = 2, .kind = TL_CHECK_FLAG},                   /* bypassed */
};
const struct tl_check_message tl_check_word_sheave = {
    .descriptor = &trapline__v1__sheave__descriptor, TL_CHECK_ROWS(sheave_rows)};

/* GOOD is said with both heights, or it says too little; the lowest is not above the highest. */
static enum tl_refusal
judge_pendant(const ProtobufCMessage *message)
{
    const wire_pendant *pendant = (const wire_pendant *)message;
    bool both = pendant->low_in_x100 != 0 && pendant->high_in_x100 != 0;

    if (pendant->state == TRAPLINE__V1__PENDANT_STATE__PENDANT_STATE_GOOD && !both) {
        return TL_REFUSAL_MISSING;
    }
    return both && pendant->low_in_x100 > pendant->high_in_x100 ? TL_REFUSAL_RANGE : TL_FAULT_NONE;
}

static const struct tl_check_row pendant_rows[] = {
    {.field = 1, .kind = TL_CHECK_ENUM, .required = true}, /* state */
    {.field = 2, .kind = TL_CHECK_UINT, .max = TL_CHECK_HEIGHT_IN_X100_MAX},
    {.field = 3, .kind = TL_CHECK_UINT, .max = TL_CHECK_HEIGHT_IN_X100_MAX},
};
const struct tl_check_message tl_check_word_pendant = {.descriptor =
                                                           &trapline__v1__pendant__descriptor,
                                                       TL_CHECK_ROWS(pendant_rows),
                                                       .rule = judge_pendant};

/* A wire is named by what is not in order only. */
static enum tl_refusal
judge_free(const ProtobufCMessage *message)
{
    const wire_free *word = (const wire_free *)message;
    bool good = word->state == TRAPLINE__V1__FREE_STATE__FREE_STATE_FREE;
    return good && word->wire != 0 ? TL_REFUSAL_RANGE : TL_FAULT_NONE;
}

static enum tl_refusal
judge_retract(const ProtobufCMessage *message)
{
    const wire_retract *word = (const wire_retract *)message;
    bool good = word->state == TRAPLINE__V1__RETRACT_STATE__RETRACT_STATE_RETRACTED;
    return good && word->wire != 0 ? TL_REFUSAL_RANGE : TL_FAULT_NONE;
}

static const struct tl_check_row wire_rows[] = {
    {.field = 1, .kind = TL_CHECK_ENUM, .required = true},         /* state */
    {.field = 2, .kind = TL_CHECK_UINT, .max = TL_CHECK_WIRE_MAX}, /* wire */
};
const struct tl_check_message tl_check_word_free = {
    .descriptor = &trapline__v1__free__descriptor, TL_CHECK_ROWS(wire_rows), .rule = judge_free};
const struct tl_check_message tl_check_word_retract = {.descriptor =
                                                           &trapline__v1__retract__descriptor,
                                                       TL_CHECK_ROWS(wire_rows),
                                                       .rule = judge_retract};

/* Working, it is set for some type. */
static enum tl_refusal
judge_aid(const ProtobufCMessage *message)
{
    const wire_aid *aid = (const wire_aid *)message;
    bool works = aid->state == TRAPLINE__V1__AID_STATE__AID_STATE_WORKING;
    return works && aid->type[0] == '\0' ? TL_REFUSAL_MISSING : TL_FAULT_NONE;
}

static const struct tl_check_row aid_rows[] = {
    {.field = 1, .kind = TL_CHECK_ENUM, .required = true}, /* state */
    {.field = 2, .kind = TL_CHECK_TYPE},                   /* type */
    {.field = 3, .kind = TL_CHECK_UINT, .max = TL_CHECK_ANGLE_DEG_X100_MAX},
    {.field = 4, .kind = TL_CHECK_UINT, .max = TL_CHECK_WIRE_MAX}, /* target_wire */
};
const struct tl_check_message tl_check_word_aid = {
    .descriptor = &trapline__v1__aid__descriptor, TL_CHECK_ROWS(aid_rows), .rule = judge_aid};

static const struct tl_check_row accumulator_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_PRESSURE_PSI_MAX},
};
const struct tl_check_message tl_check_word_accumulator = {
    .descriptor = &trapline__v1__accumulator__descriptor, TL_CHECK_ROWS(accumulator_rows)};

static const struct tl_check_row crosshead_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_HEIGHT_IN_X100_MAX},
};
const struct tl_check_message tl_check_word_crosshead = {
    .descriptor = &trapline__v1__crosshead__descriptor, TL_CHECK_ROWS(crosshead_rows)};

static const struct tl_check_row barricade_power_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .max = TL_CHECK_PRESSURE_PSI_MAX}, /* pressure_psi */
    {.field = 2, .kind = TL_CHECK_UINT, .max = TL_CHECK_CYCLES_MAX},       /* cycles */
};
const struct tl_check_message tl_check_word_barricade_power = {
    .descriptor = &trapline__v1__barricade_power__descriptor,
    TL_CHECK_ROWS(barricade_power_rows),
    .may_be_empty = true};

static const struct tl_check_row watch_rows[] = {
    {.field = 1, .kind = TL_CHECK_TEXT, .required = true, .max = TL_NAME_CAP - 1}, /* name */
};
const struct tl_check_message tl_check_word_watch = {.descriptor = &trapline__v1__watch__descriptor,
                                                     TL_CHECK_ROWS(watch_rows)};

static const struct tl_check_row acknowledged_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = UINT64_MAX},
};
const struct tl_check_message tl_check_word_acknowledged = {
    .descriptor = &trapline__v1__acknowledged__descriptor, TL_CHECK_ROWS(acknowledged_rows)};

static const struct tl_check_row override_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = TL_RULES_MAX - 1},  /* rule */
    {.field = 2, .kind = TL_CHECK_ID},                                               /* station */
    {.field = 3, .kind = TL_CHECK_TEXT, .required = true, .max = TL_REASON_CAP - 1}, /* reason */
    {.field = 4,
     .kind = TL_CHECK_UINT,
     .required = true,
     .max = TL_OVERRIDE_VALID_MAX_S}, /* valid_s */
};
const struct tl_check_message tl_check_word_override = {
    .descriptor = &trapline__v1__override__descriptor, TL_CHECK_ROWS(override_rows)};

static const struct tl_check_row out_of_service_rows[] = {
    {.field = 1, .kind = TL_CHECK_ID, .required = true}, /* validator */
};
const struct tl_check_message tl_check_word_out_of_service = {
    .descriptor = &trapline__v1__out_of_service__descriptor, TL_CHECK_ROWS(out_of_service_rows)};

/* ---- what an engine room and the gear officer say of an engine ---- */

const struct tl_check_message tl_check_word_fluid = {.descriptor = &trapline__v1__fluid__descriptor,
                                                     TL_CHECK_ROWS(state_rows)};

static const struct tl_check_row service_rows[] = {
    {.field = 1, .kind = TL_CHECK_ENUM, .required = true},        /* state */
    {.field = 2, .kind = TL_CHECK_UINT, .max = TL_CHECK_JOB_MAX}, /* job */
};
const struct tl_check_message tl_check_word_service = {
    .descriptor = &trapline__v1__service__descriptor, TL_CHECK_ROWS(service_rows)};

/* A fault has a code; none has none. */
static enum tl_refusal
judge_fault(const ProtobufCMessage *message)
{
    const wire_fault *fault = (const wire_fault *)message;
    bool active = fault->state == TRAPLINE__V1__FAULT_STATE__FAULT_STATE_ACTIVE;
    if (active) {
        return fault->code != 0 ? TL_FAULT_NONE : TL_REFUSAL_MISSING;
    }
    return fault->code != 0 ? TL_REFUSAL_RANGE : TL_FAULT_NONE;
}

static const struct tl_check_row fault_rows[] = {
    {.field = 1, .kind = TL_CHECK_ENUM, .required = true},         /* state */
    {.field = 2, .kind = TL_CHECK_UINT, .max = TL_CHECK_CODE_MAX}, /* code */
};
const struct tl_check_message tl_check_word_fault = {
    .descriptor = &trapline__v1__fault__descriptor, TL_CHECK_ROWS(fault_rows), .rule = judge_fault};

static const struct tl_check_row arrest_rows[] = {
    {.field = 1, .kind = TL_CHECK_MESSAGE, .required = true, .sub = &tl_check_event}, /* event */
    {.field = 2, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_TRAVEL_X10_MAX},
    {.field = 3, .kind = TL_CHECK_UINT, .max = TL_CHECK_TRAVEL_X10_MAX},
    {.field = 4, .kind = TL_CHECK_UINT, .max = TL_CHECK_TRAVEL_X10_MAX},
    {.field = 5, .kind = TL_CHECK_UINT, .max = TL_CHECK_TRAVEL_X10_MAX},
};
const struct tl_check_message tl_check_word_arrest = {
    .descriptor = &trapline__v1__arrest__descriptor, TL_CHECK_ROWS(arrest_rows)};

static const struct tl_check_row freed_rows[] = {
    {.field = 1, .kind = TL_CHECK_MESSAGE, .required = true, .sub = &tl_check_event}, /* event */
    {.field = 2, .kind = TL_CHECK_TEXT, .required = true, .max = TL_NAME_CAP - 1},    /* name */
};
const struct tl_check_message tl_check_word_freed = {.descriptor = &trapline__v1__freed__descriptor,
                                                     TL_CHECK_ROWS(freed_rows)};

static const struct tl_check_row signed_off_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_JOB_MAX}, /* job */
    {.field = 2, .kind = TL_CHECK_TEXT, .required = true, .max = TL_NAME_CAP - 1},  /* name */
};
const struct tl_check_message tl_check_word_signed_off = {
    .descriptor = &trapline__v1__signed_off__descriptor, TL_CHECK_ROWS(signed_off_rows)};

static const struct tl_check_row inspected_rows[] = {
    {.field = 1, .kind = TL_CHECK_ENUM, .required = true},                         /* state */
    {.field = 2, .kind = TL_CHECK_TEXT, .required = true, .max = TL_NAME_CAP - 1}, /* name */
};
const struct tl_check_message tl_check_word_inspected = {
    .descriptor = &trapline__v1__inspected__descriptor, TL_CHECK_ROWS(inspected_rows)};
