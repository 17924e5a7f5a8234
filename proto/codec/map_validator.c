/* SPDX-License-Identifier: Apache-2.0 */
/* map_validator.c - receipts, causes and verdicts. See map.h. */
#include <string.h>

#include "proto/codec/map.h"

wire_receipt *
tl_map_receipt_out(struct tl_writer *writer, const struct tl_receipt *receipt)
{
    wire_receipt *wire = tl_writer_message(writer, &trapline__v1__receipt__descriptor);

    wire->for_incarnation = receipt->for_incarnation;
    wire->through = receipt->through;
    wire->refused =
        tl_writer_list(writer, receipt->refused_count, &wire->n_refused, TL_REFUSED_MAX);
    for (size_t i = 0; i < wire->n_refused; i++) {
        const struct tl_refused *refused = &receipt->refused[i];
        wire->refused[i] = tl_writer_message(writer, &trapline__v1__refused__descriptor);
        wire->refused[i]->sequence = refused->sequence;
        wire->refused[i]->reason = tl_writer_enum(writer, TL_ENUM_REFUSAL_REASON, refused->reason);
        wire->refused[i]->rule = refused->rule;
    }
    wire->nonce = receipt->nonce;
    wire->verdict = receipt->verdict;
    wire->higher_incarnation = receipt->higher_incarnation;
    wire->oldest_ms = receipt->oldest_ms;
    return wire;
}

void
tl_map_receipt_in(const wire_receipt *wire, struct tl_receipt *receipt)
{
    memset(receipt, 0, sizeof *receipt);
    receipt->for_incarnation = wire->for_incarnation;
    receipt->through = wire->through;
    receipt->refused_count = tl_map_count_in(wire->n_refused, TL_REFUSED_MAX);
    for (uint32_t i = 0; i < receipt->refused_count; i++) {
        struct tl_refused *refused = &receipt->refused[i];
        refused->sequence = wire->refused[i]->sequence;
        refused->reason = tl_enum_from_wire(TL_ENUM_REFUSAL_REASON, wire->refused[i]->reason);
        refused->rule = wire->refused[i]->rule;
    }
    receipt->nonce = wire->nonce;
    receipt->verdict = wire->verdict;
    receipt->higher_incarnation = wire->higher_incarnation;
    receipt->oldest_ms = wire->oldest_ms;
}

/* NULL when it says nothing. */
static wire_subject *
write_subject(struct tl_writer *writer, const struct tl_subject *subject)
{
    if (subject->node[0] == '\0' && subject->incarnation == 0 && subject->sequence == 0) {
        return NULL;
    }
    wire_subject *wire = tl_writer_message(writer, &trapline__v1__subject__descriptor);
    wire->node = tl_writer_text(writer, subject->node, sizeof subject->node);
    wire->incarnation = subject->incarnation;
    wire->sequence = subject->sequence;
    return wire;
}

static wire_cause_value *
write_cause_value(struct tl_writer *writer, const struct tl_cause_value *value)
{
    if (!value->known) {
        return NULL;
    }
    wire_cause_value *wire = tl_writer_message(writer, &trapline__v1__cause_value__descriptor);
    wire->number = value->number;
    wire->word = tl_writer_text(writer, value->word, sizeof value->word);
    return wire;
}

wire_cause *
tl_map_cause_out(struct tl_writer *writer, const struct tl_cause *cause)
{
    wire_cause *wire = tl_writer_message(writer, &trapline__v1__cause__descriptor);
    wire->rule = cause->rule;
    wire->station = tl_writer_text(writer, cause->station, sizeof cause->station);
    wire->state = tl_writer_enum(writer, TL_ENUM_CAUSE_STATE, cause->state);
    wire->subject = write_subject(writer, &cause->subject);
    wire->reported = write_cause_value(writer, &cause->reported);
    wire->needed = write_cause_value(writer, &cause->needed);
    wire->reason = tl_writer_enum(writer, TL_ENUM_REFUSAL_REASON, cause->reason);
    wire->would = cause->would.set_lb != 0 ? tl_map_would_out(writer, &cause->would) : NULL;
    return wire;
}

static void
read_cause_value(const wire_cause_value *wire, struct tl_cause_value *value)
{
    value->known = wire != NULL;
    if (wire != NULL) {
        value->number = wire->number;
        tl_map_text_in(value->word, sizeof value->word, wire->word);
    }
}

void
tl_map_cause_in(const wire_cause *wire, struct tl_cause *cause)
{
    memset(cause, 0, sizeof *cause);
    cause->rule = wire->rule;
    tl_map_text_in(cause->station, sizeof cause->station, wire->station);
    cause->state = tl_enum_from_wire(TL_ENUM_CAUSE_STATE, wire->state);
    if (wire->subject != NULL) {
        tl_map_text_in(cause->subject.node, sizeof cause->subject.node, wire->subject->node);
        cause->subject.incarnation = wire->subject->incarnation;
        cause->subject.sequence = wire->subject->sequence;
    }
    read_cause_value(wire->reported, &cause->reported);
    read_cause_value(wire->needed, &cause->needed);
    cause->reason = tl_enum_from_wire(TL_ENUM_REFUSAL_REASON, wire->reason);
    if (wire->would != NULL) {
        tl_map_would_in(wire->would, &cause->would);
    }
}

wire_verdict *
tl_map_verdict_out(struct tl_writer *writer, const struct tl_verdict *verdict)
{
    wire_verdict *wire = tl_writer_message(writer, &trapline__v1__verdict__descriptor);

    wire->tick = verdict->tick;
    wire->word = tl_writer_enum(writer, TL_ENUM_VERDICT_WORD, verdict->word);
    wire->kind = tl_writer_enum(writer, TL_ENUM_CAUSE_KIND, verdict->kind);
    wire->list_heard = verdict->list_heard;
    wire->first = verdict->first.rule == 0 ? NULL : tl_map_cause_out(writer, &verdict->first);
    wire->cause_count = verdict->cause_count;
    wire->picture = verdict->picture;
    wire->judgement_digest = tl_writer_bytes(writer, verdict->judgement_digest, TL_DIGEST_LEN);
    wire->key_digest = tl_writer_bytes(writer, verdict->key_digest, TL_DIGEST_LEN);
    wire->out_of_service = tl_writer_list(writer, verdict->out_of_service_count,
                                          &wire->n_out_of_service, TL_VALIDATORS_MAX);
    for (size_t i = 0; i < wire->n_out_of_service; i++) {
        wire->out_of_service[i] = tl_writer_text(writer, verdict->out_of_service[i], TL_ID_CAP);
    }
    wire->drill = verdict->drill;
    wire->is_tick = verdict->is_tick;
    return wire;
}

void
tl_map_verdict_in(const wire_verdict *wire, struct tl_verdict *verdict)
{
    memset(verdict, 0, sizeof *verdict);
    verdict->tick = wire->tick;
    verdict->word = tl_enum_from_wire(TL_ENUM_VERDICT_WORD, wire->word);
    verdict->kind = tl_enum_from_wire(TL_ENUM_CAUSE_KIND, wire->kind);
    verdict->list_heard = wire->list_heard != 0;
    if (wire->first != NULL) {
        tl_map_cause_in(wire->first, &verdict->first);
    }
    verdict->cause_count = wire->cause_count;
    verdict->picture = wire->picture;
    tl_map_bytes_in(verdict->judgement_digest, TL_DIGEST_LEN, wire->judgement_digest);
    tl_map_bytes_in(verdict->key_digest, TL_DIGEST_LEN, wire->key_digest);
    verdict->out_of_service_count = tl_map_count_in(wire->n_out_of_service, TL_VALIDATORS_MAX);
    for (uint32_t i = 0; i < verdict->out_of_service_count; i++) {
        tl_map_text_in(verdict->out_of_service[i], TL_ID_CAP, wire->out_of_service[i]);
    }
    verdict->drill = wire->drill != 0;
    verdict->is_tick = wire->is_tick != 0;
}
