/* SPDX-License-Identifier: Apache-2.0 */
/* map_judged.c - what a validator tells of its inputs. See map.h. */
#include <string.h>

#include "proto/codec/map.h"

static wire_seen *
write_seen(struct tl_writer *writer, const struct tl_sighting *seen)
{
    if (seen->rule == 0) {
        return NULL;
    }
    wire_seen *wire = tl_writer_message(writer, &trapline__v1__seen__descriptor);
    wire->rule = seen->rule;
    wire->node = tl_writer_text(writer, seen->node, sizeof seen->node);
    wire->incarnation = seen->incarnation;
    wire->reason = tl_writer_enum(writer, TL_ENUM_REFUSAL_REASON, seen->reason);
    wire->gone = seen->gone;
    return wire;
}

static void
read_seen(const wire_seen *wire, struct tl_sighting *seen)
{
    seen->rule = wire->rule;
    tl_map_text_in(seen->node, sizeof seen->node, wire->node);
    seen->incarnation = wire->incarnation;
    seen->reason = tl_enum_from_wire(TL_ENUM_REFUSAL_REASON, wire->reason);
    seen->gone = wire->gone != 0;
}

static wire_base *
write_base(struct tl_writer *writer, const struct tl_base *base)
{
    if (base->part == 0) {
        return NULL;
    }
    wire_base *wire = tl_writer_message(writer, &trapline__v1__base__descriptor);
    wire->part = base->part;
    wire->parts = base->parts;
    wire->judgement_digest = tl_writer_bytes(writer, base->judgement_digest, TL_DIGEST_LEN);
    wire->state = tl_writer_some_bytes(writer, base->bytes, base->len, sizeof base->bytes);
    return wire;
}

static void
read_base(const wire_base *wire, struct tl_base *base)
{
    base->part = wire->part;
    base->parts = wire->parts;
    tl_map_bytes_in(base->judgement_digest, TL_DIGEST_LEN, wire->judgement_digest);
    base->len = tl_map_count_in(wire->state.len, TL_BASE_PART_LEN);
    memcpy(base->bytes, wire->state.data, base->len);
}

static wire_outcome *
write_outcome(struct tl_writer *writer, const struct tl_judgement *outcome)
{
    if (outcome->word == TL_WORD_UNKNOWN) {
        return NULL;
    }
    wire_outcome *wire = tl_writer_message(writer, &trapline__v1__outcome__descriptor);
    wire->word = tl_writer_enum(writer, TL_ENUM_VERDICT_WORD, outcome->word);
    wire->cause_count = outcome->cause_count;
    wire->rule = outcome->rule;
    wire->station = tl_writer_text(writer, outcome->station, sizeof outcome->station);
    wire->causes = tl_writer_bytes(writer, outcome->causes, TL_DATA_DIGEST_LEN);
    wire->inputs = tl_writer_bytes(writer, outcome->inputs, TL_DATA_DIGEST_LEN);
    wire->held = tl_writer_bytes(writer, outcome->held, TL_DATA_DIGEST_LEN);
    return wire;
}

static void
read_outcome(const wire_outcome *wire, struct tl_judgement *outcome)
{
    outcome->word = tl_enum_from_wire(TL_ENUM_VERDICT_WORD, wire->word);
    outcome->cause_count = wire->cause_count;
    outcome->rule = wire->rule;
    tl_map_text_in(outcome->station, sizeof outcome->station, wire->station);
    tl_map_bytes_in(outcome->causes, TL_DATA_DIGEST_LEN, wire->causes);
    tl_map_bytes_in(outcome->inputs, TL_DATA_DIGEST_LEN, wire->inputs);
    tl_map_bytes_in(outcome->held, TL_DATA_DIGEST_LEN, wire->held);
}

wire_judged *
tl_map_judged_out(struct tl_writer *writer, const struct tl_judged *judged)
{
    wire_judged *wire = tl_writer_message(writer, &trapline__v1__judged__descriptor);
    wire->now_ms = judged->now_ms;
    wire->node = tl_writer_text(writer, judged->node, sizeof judged->node);
    wire->incarnation = judged->incarnation;
    wire->sequence = judged->sequence;
    wire->kind = tl_writer_enum(writer, TL_ENUM_JUDGED_KIND, judged->kind);
    wire->reason = tl_writer_enum(writer, TL_ENUM_REFUSAL_REASON, judged->reason);
    if (tl_event_is(judged->predicted.event)) {
        wire->predicted = tl_map_predicted_out(writer, &judged->predicted);
    }
    if (judged->expected.unit != 0) {
        wire->expected = tl_map_expected_out(writer, &judged->expected);
    }
    wire->said_age_ms = judged->said_age_ms;
    wire->sea_late_ms = judged->sea_late_ms;
    wire->seen = write_seen(writer, &judged->seen);
    wire->basis = write_base(writer, &judged->base);
    wire->outcome = write_outcome(writer, &judged->outcome);
    return wire;
}

void
tl_map_judged_in(const wire_judged *wire, struct tl_judged *judged)
{
    memset(judged, 0, sizeof *judged);
    judged->now_ms = wire->now_ms;
    tl_map_text_in(judged->node, sizeof judged->node, wire->node);
    judged->incarnation = wire->incarnation;
    judged->sequence = wire->sequence;
    judged->kind = tl_enum_from_wire(TL_ENUM_JUDGED_KIND, wire->kind);
    judged->reason = tl_enum_from_wire(TL_ENUM_REFUSAL_REASON, wire->reason);
    if (wire->predicted != NULL) {
        tl_map_predicted_in(wire->predicted, &judged->predicted);
    }
    if (wire->expected != NULL) {
        tl_map_expected_in(wire->expected, &judged->expected);
    }
    judged->said_age_ms = wire->said_age_ms;
    judged->sea_late_ms = wire->sea_late_ms;
    if (wire->seen != NULL) {
        read_seen(wire->seen, &judged->seen);
    }
    if (wire->basis != NULL) {
        read_base(wire->basis, &judged->base);
    }
    if (wire->outcome != NULL) {
        read_outcome(wire->outcome, &judged->outcome);
    }
}
