/* SPDX-License-Identifier: Apache-2.0 */
/*
 * check_wear.c - what a count of traps may hold: a pendant's, a cable's, a recorder's; ended passes
 *
 * Shape only. Whether a count may be lower than before is the judgement's.
 */
#include "proto/codec/check.h"
#include "proto/vocab/wear.h"

/* Passes have numbers from 1: there are not more than `last` says. */
static enum tl_refusal
judge_counted(const wire_event *last, uint32_t without)
{
    if (without == 0) {
        return TL_FAULT_NONE;
    }
    if (last == NULL) {
        return TL_REFUSAL_MISSING;
    }
    return last->pass < 32 && without >> last->pass != 0 ? TL_REFUSAL_RANGE : TL_FAULT_NONE;
}

static enum tl_refusal
judge_serial(const char *serial)
{
    return serial[0] == '\0' || tl_serial_is_wellformed(serial) ? TL_FAULT_NONE : TL_REFUSAL_RANGE;
}

/* The first of them that is one. */
static enum tl_refusal
first_of(enum tl_refusal a, enum tl_refusal b)
{
    return a != TL_FAULT_NONE ? a : b;
}

/* A cable cannot have been detorqued later than now. */
static enum tl_refusal
judge_cable(const ProtobufCMessage *message)
{
    const wire_cable *cable = (const wire_cable *)message;
    enum tl_refusal fault =
        first_of(judge_serial(cable->serial), judge_counted(cable->last, cable->without));
    return first_of(fault, cable->detorqued_at > cable->traps ? TL_REFUSAL_RANGE : TL_FAULT_NONE);
}

static const struct tl_check_row cable_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .max = TL_CHECK_TRAPS_MAX}, /* traps */
    {.field = 2, .kind = TL_CHECK_UINT, .max = TL_CHECK_TRAPS_MAX}, /* detorqued_at */
    {.field = 3, .kind = TL_CHECK_TEXT, .max = TL_SERIAL_CAP - 1},  /* serial */
    {.field = 4, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_event}, /* last */
    {.field = 5, .kind = TL_CHECK_UINT, .max = UINT32_MAX},         /* without */
    {.field = 6, .kind = TL_CHECK_FLAG},                            /* moved */
};
const struct tl_check_message tl_check_word_cable = {.descriptor = &trapline__v1__cable__descriptor,
                                                     TL_CHECK_ROWS(cable_rows),
                                                     .may_be_empty = true,
                                                     .rule = judge_cable};

static enum tl_refusal
judge_pendant_life(const ProtobufCMessage *message)
{
    const wire_pendant_life *life = (const wire_pendant_life *)message;
    return first_of(judge_serial(life->serial), judge_counted(life->last, life->without));
}

static const struct tl_check_row pendant_life_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .max = TL_CHECK_TRAPS_MAX}, /* traps */
    {.field = 2, .kind = TL_CHECK_TEXT, .max = TL_SERIAL_CAP - 1},  /* serial */
    {.field = 3, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_event}, /* last */
    {.field = 4, .kind = TL_CHECK_UINT, .max = UINT32_MAX},         /* without */
    {.field = 5, .kind = TL_CHECK_FLAG},                            /* moved */
};
const struct tl_check_message tl_check_word_pendant_life = {
    .descriptor = &trapline__v1__pendant_life__descriptor,
    TL_CHECK_ROWS(pendant_life_rows),
    .may_be_empty = true,
    .rule = judge_pendant_life};

static const struct tl_check_row ended_rows[] = {
    {.field = 1, .kind = TL_CHECK_MESSAGE, .required = true, .sub = &tl_check_event},
    {.field = 2, .kind = TL_CHECK_MESSAGE, .required = true, .sub = &tl_check_result},
    {.field = 3, .kind = TL_CHECK_FLAG}, /* barricade */
};
const struct tl_check_message tl_check_ended = {.descriptor = &trapline__v1__ended__descriptor,
                                                TL_CHECK_ROWS(ended_rows)};

/* It is a pendant or a cable, and only a cable is detorqued. */
static enum tl_refusal
judge_worn(const ProtobufCMessage *message)
{
    const wire_worn *worn = (const wire_worn *)message;
    bool pendant = worn->wire != 0;
    if (!pendant && worn->engine == 0) {
        return TL_REFUSAL_MISSING;
    }
    if ((pendant && (worn->engine != 0 || worn->detorqued_at != 0)) ||
        worn->detorqued_at > worn->traps || worn->not_weighed > worn->traps) {
        return TL_REFUSAL_RANGE;
    }
    return first_of(judge_serial(worn->serial), judge_counted(worn->last, worn->without));
}

static const struct tl_check_row worn_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .max = TL_CHECK_WIRE_MAX},  /* wire */
    {.field = 2, .kind = TL_CHECK_UINT, .max = TL_ENGINES_MAX},     /* engine */
    {.field = 3, .kind = TL_CHECK_TEXT, .max = TL_SERIAL_CAP - 1},  /* serial */
    {.field = 4, .kind = TL_CHECK_UINT, .max = TL_CHECK_TRAPS_MAX}, /* traps */
    {.field = 5, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_event}, /* last */
    {.field = 6, .kind = TL_CHECK_UINT, .max = UINT32_MAX},         /* without */
    {.field = 7, .kind = TL_CHECK_UINT, .max = TL_CHECK_TRAPS_MAX}, /* detorqued_at */
    {.field = 8, .kind = TL_CHECK_UINT, .max = UINT32_MAX},         /* weighted_x1000 */
    {.field = 9, .kind = TL_CHECK_UINT, .max = TL_CHECK_TRAPS_MAX}, /* not_weighed */
    {.field = 10, .kind = TL_CHECK_FLAG},                           /* inspect */
    {.field = 11, .kind = TL_CHECK_FLAG},                           /* removed */
};
const struct tl_check_message tl_check_worn = {
    .descriptor = &trapline__v1__worn__descriptor, TL_CHECK_ROWS(worn_rows), .rule = judge_worn};
