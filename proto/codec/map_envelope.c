/* SPDX-License-Identifier: Apache-2.0 */
/* map_envelope.c - what recorders and brokers say, and the envelope. See map.h. */
#include <string.h>

#include "proto/codec/map.h"

static wire_recorded *
write_recorded(struct tl_writer *writer, const struct tl_recorded *recorded)
{
    wire_recorded *wire = tl_writer_message(writer, &trapline__v1__recorded__descriptor);
    wire->for_incarnation = recorded->for_incarnation;
    wire->through = recorded->through;
    wire->worn = tl_writer_list(writer, recorded->worn_count, &wire->n_worn, TL_WORN_MAX);
    for (size_t i = 0; i < wire->n_worn; i++) {
        wire->worn[i] = tl_map_worn_out(writer, &recorded->worn[i]);
    }
    return wire;
}

static void
read_recorded(const wire_recorded *wire, struct tl_recorded *recorded)
{
    memset(recorded, 0, sizeof *recorded);
    recorded->for_incarnation = wire->for_incarnation;
    recorded->through = wire->through;
    recorded->worn_count = tl_map_count_in(wire->n_worn, TL_WORN_MAX);
    for (uint32_t i = 0; i < recorded->worn_count; i++) {
        tl_map_worn_in(wire->worn[i], &recorded->worn[i]);
    }
}

static wire_refusals *
write_refusals(struct tl_writer *writer, const struct tl_refusals *refusals)
{
    wire_refusals *wire = tl_writer_message(writer, &trapline__v1__refusals__descriptor);

    wire->refusal = tl_writer_list(writer, refusals->count, &wire->n_refusal, TL_REFUSALS_MAX);
    for (size_t i = 0; i < wire->n_refusal; i++) {
        const struct tl_refused_publisher *ours = &refusals->refusal[i];
        wire_refusal *one = tl_writer_message(writer, &trapline__v1__refusal__descriptor);
        one->publisher = tl_writer_text(writer, ours->publisher, sizeof ours->publisher);
        one->reason = tl_writer_enum(writer, TL_ENUM_REFUSAL_REASON, ours->reason);
        one->count = ours->count;
        one->topic = tl_writer_text(writer, ours->topic, sizeof ours->topic);
        wire->refusal[i] = one;
    }
    return wire;
}

static void
read_refusals(const wire_refusals *wire, struct tl_refusals *refusals)
{
    memset(refusals, 0, sizeof *refusals);
    refusals->count = tl_map_count_in(wire->n_refusal, TL_REFUSALS_MAX);
    for (uint32_t i = 0; i < refusals->count; i++) {
        const wire_refusal *one = wire->refusal[i];
        struct tl_refused_publisher *ours = &refusals->refusal[i];
        tl_map_text_in(ours->publisher, sizeof ours->publisher, one->publisher);
        ours->reason = tl_enum_from_wire(TL_ENUM_REFUSAL_REASON, one->reason);
        ours->count = one->count;
        tl_map_text_in(ours->topic, sizeof ours->topic, one->topic);
    }
}

static wire_counters *
write_counters(struct tl_writer *writer, const struct tl_counters *counters)
{
    wire_counters *wire = tl_writer_message(writer, &trapline__v1__counters__descriptor);
    wire->forwarded = counters->forwarded;
    wire->refused = counters->refused;
    wire->handshakes_refused = counters->handshakes_refused;
    wire->connections = counters->connections;
    wire->subscriptions = counters->subscriptions;
    wire->uptime_ms = counters->uptime_ms;
    return wire;
}

static void
read_counters(const wire_counters *wire, struct tl_counters *counters)
{
    memset(counters, 0, sizeof *counters);
    counters->forwarded = wire->forwarded;
    counters->refused = wire->refused;
    counters->handshakes_refused = wire->handshakes_refused;
    counters->connections = wire->connections;
    counters->subscriptions = wire->subscriptions;
    counters->uptime_ms = wire->uptime_ms;
}

/* A kind that is none leaves the body absent, which the check refuses. */
static void
write_body(struct tl_writer *writer, const struct tl_envelope *envelope, wire_envelope *wire)
{
    switch (envelope->body) {
    case TL_BODY_BEAT:
        wire->body_case = TRAPLINE__V1__ENVELOPE__BODY_BEAT;
        wire->beat = tl_map_beat_out(writer, &envelope->as.beat);
        break;
    case TL_BODY_CHANGE:
        wire->body_case = TRAPLINE__V1__ENVELOPE__BODY_CHANGE;
        wire->change = tl_map_change_out(writer, &envelope->as.change);
        break;
    case TL_BODY_RECEIPT:
        wire->body_case = TRAPLINE__V1__ENVELOPE__BODY_RECEIPT;
        wire->receipt = tl_map_receipt_out(writer, &envelope->as.receipt);
        break;
    case TL_BODY_VERDICT:
        wire->body_case = TRAPLINE__V1__ENVELOPE__BODY_VERDICT;
        wire->verdict = tl_map_verdict_out(writer, &envelope->as.verdict);
        break;
    case TL_BODY_PICTURE:
        wire->body_case = TRAPLINE__V1__ENVELOPE__BODY_PICTURE;
        wire->picture = tl_map_picture_out(writer, &envelope->as.picture);
        break;
    case TL_BODY_ALERTS:
        wire->body_case = TRAPLINE__V1__ENVELOPE__BODY_ALERTS;
        wire->alerts = tl_map_alerts_out(writer, &envelope->as.alerts);
        break;
    case TL_BODY_REFUSALS:
        wire->body_case = TRAPLINE__V1__ENVELOPE__BODY_REFUSALS;
        wire->refusals = write_refusals(writer, &envelope->as.refusals);
        break;
    case TL_BODY_JUDGED:
        wire->body_case = TRAPLINE__V1__ENVELOPE__BODY_JUDGED;
        wire->judged = tl_map_judged_out(writer, &envelope->as.judged);
        break;
    case TL_BODY_RECORDED:
        wire->body_case = TRAPLINE__V1__ENVELOPE__BODY_RECORDED;
        wire->recorded = write_recorded(writer, &envelope->as.recorded);
        break;
    case TL_BODY_COUNTERS:
        wire->body_case = TRAPLINE__V1__ENVELOPE__BODY_COUNTERS;
        wire->counters = write_counters(writer, &envelope->as.counters);
        break;
    case TL_BODY_UNKNOWN:
    case TL_BODY_KINDS:
        break;
    }
}

enum tl_body_kind
tl_map_body_kind_in(const wire_envelope *wire)
{
    switch (wire->body_case) {
    case TRAPLINE__V1__ENVELOPE__BODY_BEAT:
        return TL_BODY_BEAT;
    case TRAPLINE__V1__ENVELOPE__BODY_CHANGE:
        return TL_BODY_CHANGE;
    case TRAPLINE__V1__ENVELOPE__BODY_RECEIPT:
        return TL_BODY_RECEIPT;
    case TRAPLINE__V1__ENVELOPE__BODY_VERDICT:
        return TL_BODY_VERDICT;
    case TRAPLINE__V1__ENVELOPE__BODY_PICTURE:
        return TL_BODY_PICTURE;
    case TRAPLINE__V1__ENVELOPE__BODY_ALERTS:
        return TL_BODY_ALERTS;
    case TRAPLINE__V1__ENVELOPE__BODY_REFUSALS:
        return TL_BODY_REFUSALS;
    case TRAPLINE__V1__ENVELOPE__BODY_JUDGED:
        return TL_BODY_JUDGED;
    case TRAPLINE__V1__ENVELOPE__BODY_RECORDED:
        return TL_BODY_RECORDED;
    case TRAPLINE__V1__ENVELOPE__BODY_COUNTERS:
        return TL_BODY_COUNTERS;
    case TRAPLINE__V1__ENVELOPE__BODY__NOT_SET:
    case _TRAPLINE__V1__ENVELOPE__BODY__CASE_IS_INT_SIZE:
        break;
    }
    return TL_BODY_UNKNOWN;
}

static void
read_body(const wire_envelope *wire, struct tl_envelope *envelope)
{
    switch (envelope->body) {
    case TL_BODY_BEAT:
        tl_map_beat_in(wire->beat, &envelope->as.beat);
        break;
    case TL_BODY_CHANGE:
        tl_map_change_in(wire->change, &envelope->as.change);
        break;
    case TL_BODY_RECEIPT:
        tl_map_receipt_in(wire->receipt, &envelope->as.receipt);
        break;
    case TL_BODY_VERDICT:
        tl_map_verdict_in(wire->verdict, &envelope->as.verdict);
        break;
    case TL_BODY_PICTURE:
        tl_map_picture_in(wire->picture, &envelope->as.picture);
        break;
    case TL_BODY_ALERTS:
        tl_map_alerts_in(wire->alerts, &envelope->as.alerts);
        break;
    case TL_BODY_REFUSALS:
        read_refusals(wire->refusals, &envelope->as.refusals);
        break;
    case TL_BODY_JUDGED:
        tl_map_judged_in(wire->judged, &envelope->as.judged);
        break;
    case TL_BODY_RECORDED:
        read_recorded(wire->recorded, &envelope->as.recorded);
        break;
    case TL_BODY_COUNTERS:
        read_counters(wire->counters, &envelope->as.counters);
        break;
    case TL_BODY_UNKNOWN:
    case TL_BODY_KINDS:
        break;
    }
}

static wire_echo *
write_echo(struct tl_writer *writer, const struct tl_echo *echo)
{
    wire_echo *wire = tl_writer_message(writer, &trapline__v1__echo__descriptor);
    wire->validator = tl_writer_text(writer, echo->validator, sizeof echo->validator);
    wire->incarnation = echo->incarnation;
    wire->tick = echo->tick;
    wire->alerts = echo->alerts;
    return wire;
}

wire_envelope *
tl_map_envelope_out(struct tl_writer *writer, const struct tl_envelope *envelope)
{
    wire_envelope *wire = tl_writer_message(writer, &trapline__v1__envelope__descriptor);

    wire->schema = envelope->schema;
    wire->node = tl_writer_text(writer, envelope->node, sizeof envelope->node);
    wire->key_epoch = envelope->key_epoch;
    wire->incarnation = envelope->incarnation;
    wire->sequence = envelope->sequence;
    wire->event = tl_event_is(envelope->event) ? tl_map_event_out(writer, envelope->event) : NULL;
    wire->echo = tl_writer_list(writer, envelope->echo_count, &wire->n_echo, TL_VALIDATORS_MAX);
    for (size_t i = 0; i < wire->n_echo; i++) {
        wire->echo[i] = write_echo(writer, &envelope->echo[i]);
    }
    wire->wall_ms = envelope->wall_ms;
    wire->settled = envelope->settled;
    wire->said_age_ms = envelope->said_age_ms;
    write_body(writer, envelope, wire);
    return wire;
}

void
tl_map_envelope_in(const wire_envelope *wire, struct tl_envelope *envelope)
{
    /* The union is large: its member is cleared by whoever fills it, the rest left as it was. */
    memset(envelope, 0, offsetof(struct tl_envelope, as));
    envelope->schema = wire->schema;
    tl_map_text_in(envelope->node, sizeof envelope->node, wire->node);
    envelope->key_epoch = wire->key_epoch;
    envelope->incarnation = wire->incarnation;
    envelope->sequence = wire->sequence;
    envelope->event = tl_map_event_in(wire->event);
    envelope->echo_count = tl_map_count_in(wire->n_echo, TL_VALIDATORS_MAX);
    for (uint32_t i = 0; i < envelope->echo_count; i++) {
        struct tl_echo *echo = &envelope->echo[i];
        tl_map_text_in(echo->validator, sizeof echo->validator, wire->echo[i]->validator);
        echo->incarnation = wire->echo[i]->incarnation;
        echo->tick = wire->echo[i]->tick;
        echo->alerts = wire->echo[i]->alerts;
    }
    envelope->wall_ms = wire->wall_ms;
    envelope->settled = wire->settled;
    envelope->said_age_ms = wire->said_age_ms;
    envelope->body = tl_map_body_kind_in(wire);
    read_body(wire, envelope);
}
