/* SPDX-License-Identifier: Apache-2.0 */
/*
 * check_datum.c - what a datum may hold: events, values, and the datum around them
 *
 * Shape only. Whether this station may say it is authority's, whether it is true is judgement's.
 */
#include <assert.h>
#include <string.h>

#include "proto/codec/check.h"

static const struct tl_check_row event_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = UINT64_MAX}, /* recovery_ms */
    {.field = 2, .kind = TL_CHECK_UINT, .required = true, .max = UINT32_MAX}, /* pass */
};
const struct tl_check_message tl_check_event = {.descriptor = &trapline__v1__event__descriptor,
                                                TL_CHECK_ROWS(event_rows)};

static const struct tl_check_row unknown_rows[] = {
    {.field = 1, .kind = TL_CHECK_ENUM, .required = true}, /* kind */
};
static const struct tl_check_message check_unknown = {
    .descriptor = &trapline__v1__unknown__descriptor, TL_CHECK_ROWS(unknown_rows)};

static const struct tl_check_row recovery_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = UINT64_MAX}, /* recovery_ms */
    {.field = 2, .kind = TL_CHECK_ENUM, .required = true},                    /* state */
    {.field = 3, .kind = TL_CHECK_FLAG},                                      /* drill */
};
static const struct tl_check_message check_recovery = {
    .descriptor = &trapline__v1__recovery__descriptor, TL_CHECK_ROWS(recovery_rows)};

static const struct tl_check_row order_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_SIDE_MAX}, /* side */
    {.field = 2, .kind = TL_CHECK_TYPE, .required = true},                           /* type */
    {.field = 3, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_WEIGHT_LB_MAX},
    {.field = 4, .kind = TL_CHECK_SINT, .min = -TL_CHECK_PLACE_MAX, .max = TL_CHECK_PLACE_MAX},
    {.field = 5, .kind = TL_CHECK_ENUM, .required = true}, /* state */
    {.field = 6, .kind = TL_CHECK_FLAG},                   /* barricade */
};
const struct tl_check_message tl_check_order = {.descriptor = &trapline__v1__order__descriptor,
                                                TL_CHECK_ROWS(order_rows)};

static const struct tl_check_row weight_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_WEIGHT_LB_MAX},
};
static const struct tl_check_message check_set = {
    .descriptor = &trapline__v1__weight_set__descriptor, TL_CHECK_ROWS(weight_rows)};
static const struct tl_check_message check_repeater = {
    .descriptor = &trapline__v1__repeater__descriptor, TL_CHECK_ROWS(weight_rows)};

static const struct tl_check_row state_rows[] = {
    {.field = 1, .kind = TL_CHECK_ENUM, .required = true},
};
static const struct tl_check_message check_battery = {
    .descriptor = &trapline__v1__battery__descriptor, TL_CHECK_ROWS(state_rows)};
static const struct tl_check_message check_hook = {.descriptor = &trapline__v1__hook__descriptor,
                                                   TL_CHECK_ROWS(state_rows)};

/* A foul says why; nothing else has anything to explain. */
static enum tl_refusal
judge_deck(const ProtobufCMessage *message)
{
    const wire_deck *deck = (const wire_deck *)message;
    bool has_reason = deck->reason != TRAPLINE__V1__FOUL_REASON__FOUL_REASON_UNKNOWN;

    if (deck->state == TRAPLINE__V1__DECK_STATE__DECK_STATE_FOUL) {
        return has_reason ? TL_FAULT_NONE : TL_REFUSAL_MISSING;
    }
    return has_reason || deck->expect_s != 0 || deck->was_clear ? TL_REFUSAL_RANGE : TL_FAULT_NONE;
}

static const struct tl_check_row deck_rows[] = {
    {.field = 1, .kind = TL_CHECK_ENUM, .required = true},             /* state */
    {.field = 2, .kind = TL_CHECK_ENUM},                               /* reason */
    {.field = 3, .kind = TL_CHECK_UINT, .max = TL_CHECK_EXPECT_S_MAX}, /* expect_s */
    {.field = 4, .kind = TL_CHECK_FLAG},                               /* was_clear */
};
static const struct tl_check_message check_deck = {
    .descriptor = &trapline__v1__deck__descriptor, TL_CHECK_ROWS(deck_rows), .rule = judge_deck};

static const struct tl_check_row call_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_SIDE_MAX}, /* side */
    {.field = 2, .kind = TL_CHECK_TYPE, .required = true},                           /* type */
    {.field = 3, .kind = TL_CHECK_UINT, .max = TL_CHECK_WEIGHT_LB_MAX},              /* fuel_lb */
};
static const struct tl_check_message check_call = {.descriptor = &trapline__v1__call__descriptor,
                                                   TL_CHECK_ROWS(call_rows)};

/* A trap is on a wire; nothing else is. */
static enum tl_refusal
judge_result(const ProtobufCMessage *message)
{
    const wire_result *result = (const wire_result *)message;

    if (result->outcome == TRAPLINE__V1__PASS_OUTCOME__PASS_OUTCOME_TRAP) {
        return result->wire != 0 ? TL_FAULT_NONE : TL_REFUSAL_MISSING;
    }
    return result->wire != 0 ? TL_REFUSAL_RANGE : TL_FAULT_NONE;
}

static const struct tl_check_row result_rows[] = {
    {.field = 1, .kind = TL_CHECK_ENUM, .required = true},         /* outcome */
    {.field = 2, .kind = TL_CHECK_UINT, .max = TL_CHECK_WIRE_MAX}, /* wire */
};
const struct tl_check_message tl_check_result = {.descriptor =
                                                     &trapline__v1__pass_result__descriptor,
                                                 TL_CHECK_ROWS(result_rows),
                                                 .rule = judge_result};

static const struct tl_check_row inbound_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_SIDE_MAX}, /* side */
    {.field = 2, .kind = TL_CHECK_TYPE, .required = true},                           /* type */
    {.field = 3, .kind = TL_CHECK_UINT, .required = true, .max = TL_CHECK_WEIGHT_LB_MAX},
    {.field = 4, .kind = TL_CHECK_UINT, .max = TL_CHECK_WEIGHT_LB_MAX}, /* fuel_lb */
    {.field = 5, .kind = TL_CHECK_FLAG},                                /* fuel_low */
    {.field = 6, .kind = TL_CHECK_ENUM},                                /* trouble */
    {.field = 7, .kind = TL_CHECK_FLAG},                                /* diverted */
};
static const struct tl_check_message check_inbound = {
    .descriptor = &trapline__v1__inbound__descriptor, TL_CHECK_ROWS(inbound_rows)};

/* Which data of one station are told apart by a slot. 0 = none, MISSING and RANGE otherwise. */
static enum tl_refusal
judge_slot(Trapline__V1__DatumKind kind, uint32_t slot)
{
    static const Trapline__V1__DatumKind slotted_kinds[] = {
        TRAPLINE__V1__DATUM_KIND__DATUM_KIND_ORDER,
        TRAPLINE__V1__DATUM_KIND__DATUM_KIND_RESULT,
        TRAPLINE__V1__DATUM_KIND__DATUM_KIND_REPEATER,
        TRAPLINE__V1__DATUM_KIND__DATUM_KIND_INBOUND,
        TRAPLINE__V1__DATUM_KIND__DATUM_KIND_RIG,
        TRAPLINE__V1__DATUM_KIND__DATUM_KIND_SHEAVE,
        TRAPLINE__V1__DATUM_KIND__DATUM_KIND_PENDANT,
        TRAPLINE__V1__DATUM_KIND__DATUM_KIND_TRACK,
        TRAPLINE__V1__DATUM_KIND__DATUM_KIND_CABLE,
        TRAPLINE__V1__DATUM_KIND__DATUM_KIND_ACKNOWLEDGED,
        TRAPLINE__V1__DATUM_KIND__DATUM_KIND_OVERRIDE,
        TRAPLINE__V1__DATUM_KIND__DATUM_KIND_OUT_OF_SERVICE,
        TRAPLINE__V1__DATUM_KIND__DATUM_KIND_FREED,
        TRAPLINE__V1__DATUM_KIND__DATUM_KIND_SIGNED_OFF,
        TRAPLINE__V1__DATUM_KIND__DATUM_KIND_INSPECTED,
        TRAPLINE__V1__DATUM_KIND__DATUM_KIND_PENDANT_LIFE,
    };
    bool slotted = false;

    for (size_t i = 0; i < sizeof slotted_kinds / sizeof slotted_kinds[0]; i++) {
        slotted = slotted || slotted_kinds[i] == kind;
    }
    if (slotted && slot == 0) {
        return TL_REFUSAL_MISSING;
    }
    return !slotted && slot != 0 ? TL_REFUSAL_RANGE : TL_FAULT_NONE;
}

/* Fields of known values are numbered as their kinds, from here. */
enum {
    VALUE_BASE = TRAPLINE__V1__DATUM__VALUE_UNKNOWN
};
#define SAME_NUMBER(kind)                                                                          \
    static_assert((int)TRAPLINE__V1__DATUM__VALUE_##kind - VALUE_BASE ==                           \
                      (int)TRAPLINE__V1__DATUM_KIND__DATUM_KIND_##kind,                            \
                  "a value's field has the number of its kind")
SAME_NUMBER(RECOVERY);
SAME_NUMBER(INBOUND);
SAME_NUMBER(RIG);
SAME_NUMBER(CABLE);
SAME_NUMBER(OUT_OF_SERVICE);
SAME_NUMBER(SERVICE);
SAME_NUMBER(PENDANT_LIFE);

/* The kind that a datum is of, whether its value is known or not. */
static Trapline__V1__DatumKind
find_kind(const wire_datum *datum)
{
    int place = (int)datum->value_case - VALUE_BASE;
    if (place == 0) {
        return datum->unknown->kind;
    }
    return place > 0 ? (Trapline__V1__DatumKind)place
                     : TRAPLINE__V1__DATUM_KIND__DATUM_KIND_UNKNOWN;
}

static enum tl_refusal
judge_datum(const ProtobufCMessage *message)
{
    const wire_datum *datum = (const wire_datum *)message;

    if (datum->value_case == TRAPLINE__V1__DATUM__VALUE__NOT_SET) {
        return TL_REFUSAL_MISSING;
    }
    enum tl_refusal fault = judge_slot(find_kind(datum), datum->slot);
    if (fault != TL_FAULT_NONE) {
        return fault;
    }
    bool inbound = datum->value_case == TRAPLINE__V1__DATUM__VALUE_INBOUND;
    return inbound && datum->inbound->side != datum->slot ? TL_REFUSAL_RANGE : TL_FAULT_NONE;
}

static const struct tl_check_row datum_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = UINT64_MAX}, /* sequence */
    {.field = 2, .kind = TL_CHECK_UINT, .max = UINT32_MAX},                   /* slot */
    {.field = 3, .kind = TL_CHECK_MESSAGE, .count_max = TL_STATED_FOR_MAX, .sub = &tl_check_event},
    {.field = 4, .kind = TL_CHECK_UINT, .max = UINT32_MAX}, /* said_age_ms */
    {.field = 5, .kind = TL_CHECK_ID},                      /* voice_for */
    {.field = 6, .kind = TL_CHECK_FLAG},                    /* sensor */
    {.field = 16, .kind = TL_CHECK_MESSAGE, .sub = &check_unknown},
    {.field = 17, .kind = TL_CHECK_MESSAGE, .sub = &check_recovery},
    {.field = 18, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_order},
    {.field = 19, .kind = TL_CHECK_MESSAGE, .sub = &check_set},
    {.field = 20, .kind = TL_CHECK_MESSAGE, .sub = &check_repeater},
    {.field = 21, .kind = TL_CHECK_MESSAGE, .sub = &check_battery},
    {.field = 22, .kind = TL_CHECK_MESSAGE, .sub = &check_deck},
    {.field = 23, .kind = TL_CHECK_MESSAGE, .sub = &check_call},
    {.field = 24, .kind = TL_CHECK_MESSAGE, .sub = &check_hook},
    {.field = 25, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_result},
    {.field = 26, .kind = TL_CHECK_MESSAGE, .sub = &check_inbound},
    {.field = 27, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_rig},
    {.field = 28, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_sheave},
    {.field = 29, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_pendant},
    {.field = 30, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_free},
    {.field = 31, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_retract},
    {.field = 32, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_stanchions},
    {.field = 33, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_track},
    {.field = 34, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_aid},
    {.field = 35, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_accumulator},
    {.field = 36, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_crosshead},
    {.field = 37, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_cable},
    {.field = 38, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_barricade},
    {.field = 39, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_barricade_power},
    {.field = 40, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_watch},
    {.field = 41, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_acknowledged},
    {.field = 42, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_override},
    {.field = 43, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_out_of_service},
    {.field = 44, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_service},
    {.field = 45, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_fluid},
    {.field = 46, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_fault},
    {.field = 47, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_arrest},
    {.field = 48, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_freed},
    {.field = 49, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_signed_off},
    {.field = 50, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_inspected},
    {.field = 51, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_word_pendant_life},
};
const struct tl_check_message tl_check_datum = {
    .descriptor = &trapline__v1__datum__descriptor, TL_CHECK_ROWS(datum_rows), .rule = judge_datum};

static bool
is_named_before(wire_datum *const *data, size_t i)
{
    for (size_t j = 0; j < i; j++) {
        if (data[j]->slot == data[i]->slot && find_kind(data[j]) == find_kind(data[i]) &&
            strcmp(data[j]->voice_for, data[i]->voice_for) == 0) {
            return true;
        }
    }
    return false;
}

enum tl_refusal
tl_check_names_differ(wire_datum *const *data, size_t count)
{
    for (size_t i = 1; i < count; i++) {
        if (is_named_before(data, i)) {
            return TL_REFUSAL_TOO_MANY;
        }
    }
    return TL_FAULT_NONE;
}
