/* SPDX-License-Identifier: Apache-2.0 */
/*
 * check_envelope.c - what recorders and brokers publish, and the envelope around every body
 *
 * Which body belongs on which topic is frame.c's: an envelope alone does not know its topic.
 */
#include <string.h>

#include "proto/codec/check.h"

static const struct tl_check_row echo_rows[] = {
    {.field = 1, .kind = TL_CHECK_ID, .required = true},                      /* validator */
    {.field = 2, .kind = TL_CHECK_UINT, .required = true, .max = UINT64_MAX}, /* incarnation */
    {.field = 3, .kind = TL_CHECK_UINT, .required = true, .max = UINT64_MAX}, /* tick */
    {.field = 4, .kind = TL_CHECK_UINT, .max = UINT64_MAX},                   /* alerts */
};
static const struct tl_check_message check_echo = {.descriptor = &trapline__v1__echo__descriptor,
                                                   TL_CHECK_ROWS(echo_rows)};

/* One is there now: a reader that takes the first must see what one that takes the last sees. */
static enum tl_refusal
judge_recorded(const ProtobufCMessage *message)
{
    const wire_recorded *recorded = (const wire_recorded *)message;
    for (size_t i = 1; i < recorded->n_worn; i++) {
        const wire_worn *worn = recorded->worn[i];
        for (size_t j = 0; j < i; j++) {
            const wire_worn *other = recorded->worn[j];
            if (!worn->removed && !other->removed && worn->wire == other->wire &&
                worn->engine == other->engine) {
                return TL_REFUSAL_TOO_MANY;
            }
        }
    }
    return TL_FAULT_NONE;
}

static const struct tl_check_row recorded_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = UINT64_MAX}, /* for_incarnation */
    {.field = 2, .kind = TL_CHECK_UINT, .max = UINT64_MAX},                   /* through */
    {.field = 3, .kind = TL_CHECK_MESSAGE, .count_max = TL_WORN_MAX, .sub = &tl_check_worn},
};
static const struct tl_check_message check_recorded = {.descriptor =
                                                           &trapline__v1__recorded__descriptor,
                                                       TL_CHECK_ROWS(recorded_rows),
                                                       .rule = judge_recorded};

static const struct tl_check_row refusal_rows[] = {
    {.field = 1, .kind = TL_CHECK_ID},                                        /* publisher */
    {.field = 2, .kind = TL_CHECK_ENUM, .required = true},                    /* reason */
    {.field = 3, .kind = TL_CHECK_UINT, .required = true, .max = UINT32_MAX}, /* count */
    {.field = 4, .kind = TL_CHECK_TEXT, .max = TL_TOPIC_CAP - 1},             /* topic */
};
static const struct tl_check_message check_refusal = {
    .descriptor = &trapline__v1__refusal__descriptor, TL_CHECK_ROWS(refusal_rows)};

static const struct tl_check_row refusals_rows[] = {
    {.field = 1,
     .kind = TL_CHECK_MESSAGE,
     .required = true,
     .count_max = TL_REFUSALS_MAX,
     .sub = &check_refusal},
};
static const struct tl_check_message check_refusals = {
    .descriptor = &trapline__v1__refusals__descriptor, TL_CHECK_ROWS(refusals_rows)};

static const struct tl_check_row counters_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* forwarded */
    {.field = 2, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* refused */
    {.field = 3, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* handshakes_refused */
    {.field = 4, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* connections */
    {.field = 5, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* subscriptions */
    {.field = 6, .kind = TL_CHECK_UINT, .max = UINT64_MAX}, /* uptime_ms */
};
static const struct tl_check_message check_counters = {.descriptor =
                                                           &trapline__v1__counters__descriptor,
                                                       TL_CHECK_ROWS(counters_rows),
                                                       .may_be_empty = true}; /* just started */

static bool
is_echoed_before(const wire_envelope *envelope, size_t i)
{
    for (size_t j = 0; j < i; j++) {
        if (strcmp(envelope->echo[j]->validator, envelope->echo[i]->validator) == 0) {
            return true;
        }
    }
    return false;
}

/* One echo a validator: with two, either could be taken as the fresh one. */
static enum tl_refusal
judge_echoes(const wire_envelope *envelope)
{
    for (size_t i = 1; i < envelope->n_echo; i++) {
        if (is_echoed_before(envelope, i)) {
            return TL_REFUSAL_TOO_MANY;
        }
    }
    return TL_FAULT_NONE;
}

/* A change is its envelope's: the number is the same and the age is said there, once. */
static enum tl_refusal
judge_change(const wire_envelope *envelope)
{
    const wire_datum *datum = envelope->change->datum;
    bool same = datum->sequence == envelope->sequence && datum->said_age_ms == 0;
    return same ? TL_FAULT_NONE : TL_REFUSAL_RANGE;
}

/* READY is for one event; without one it could be taken for any. */
static enum tl_refusal
judge_ready(const wire_envelope *envelope)
{
    bool ready = envelope->verdict->word == TRAPLINE__V1__VERDICT_WORD__VERDICT_WORD_READY;
    return ready && envelope->event == NULL ? TL_REFUSAL_MISSING : TL_FAULT_NONE;
}

static enum tl_refusal
judge_envelope(const ProtobufCMessage *message)
{
    const wire_envelope *envelope = (const wire_envelope *)message;
    bool beat = envelope->body_case == TRAPLINE__V1__ENVELOPE__BODY_BEAT;
    bool change = envelope->body_case == TRAPLINE__V1__ENVELOPE__BODY_CHANGE;

    if (envelope->body_case == TRAPLINE__V1__ENVELOPE__BODY__NOT_SET) {
        return TL_REFUSAL_MISSING;
    }
    if (!beat && !change && (envelope->n_echo != 0 || envelope->settled != 0)) {
        return TL_REFUSAL_RANGE;
    }
    if (!change && envelope->said_age_ms != 0) {
        return TL_REFUSAL_RANGE;
    }
    if (beat && envelope->settled > envelope->beat->last_change) {
        return TL_REFUSAL_RANGE;
    }
    enum tl_refusal fault = judge_echoes(envelope);
    if (fault == TL_FAULT_NONE && change) {
        fault = judge_change(envelope);
    }
    if (fault == TL_FAULT_NONE && envelope->body_case == TRAPLINE__V1__ENVELOPE__BODY_VERDICT) {
        fault = judge_ready(envelope);
    }
    return fault;
}

static const struct tl_check_row envelope_rows[] = {
    {.field = 1, .kind = TL_CHECK_UINT, .required = true, .max = TL_SCHEMA_VERSION},
    {.field = 2, .kind = TL_CHECK_ID, .required = true},                      /* node */
    {.field = 3, .kind = TL_CHECK_UINT, .required = true, .max = UINT32_MAX}, /* key_epoch */
    {.field = 4, .kind = TL_CHECK_UINT, .required = true, .max = UINT64_MAX}, /* incarnation */
    {.field = 5, .kind = TL_CHECK_UINT, .required = true, .max = UINT64_MAX}, /* sequence */
    {.field = 6, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_event},
    {.field = 7, .kind = TL_CHECK_MESSAGE, .count_max = TL_VALIDATORS_MAX, .sub = &check_echo},
    {.field = 8, .kind = TL_CHECK_UINT, .max = UINT64_MAX},  /* wall_ms */
    {.field = 9, .kind = TL_CHECK_UINT, .max = UINT64_MAX},  /* settled */
    {.field = 10, .kind = TL_CHECK_UINT, .max = UINT32_MAX}, /* said_age_ms */
    {.field = 16, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_beat},
    {.field = 17, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_change},
    {.field = 18, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_receipt},
    {.field = 19, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_verdict},
    {.field = 20, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_picture},
    {.field = 21, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_alert_set},
    {.field = 22, .kind = TL_CHECK_MESSAGE, .sub = &check_refusals},
    {.field = 23, .kind = TL_CHECK_MESSAGE, .sub = &tl_check_judged},
    {.field = 24, .kind = TL_CHECK_MESSAGE, .sub = &check_recorded},
    {.field = 25, .kind = TL_CHECK_MESSAGE, .sub = &check_counters},
};
const struct tl_check_message tl_check_envelope = {.descriptor =
                                                       &trapline__v1__envelope__descriptor,
                                                   TL_CHECK_ROWS(envelope_rows),
                                                   .rule = judge_envelope};
