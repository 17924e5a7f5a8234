/* SPDX-License-Identifier: Apache-2.0 */
/*
 * beats.c - folding a beat: the whole state of a station, newest wins. See fold.h.
 *
 * A datum in a beat acts toward safe at once. It acts toward READY only in a beat with a fresh
 * echo, when its sequence is settled and this validator did not itself refuse it.
 */
#include <string.h>

#include "broker/core/picture/fold.h"
#include "broker/core/picture/fold_internal.h"

static void
store(struct tl_told *told, struct tl_held *held, const struct tl_datum *datum, uint64_t now_ms)
{
    held->datum = *datum;
    held->datum.said_age_ms = 0;
    held->said_ms = now_ms > datum->said_age_ms ? now_ms - datum->said_age_ms : 0;
    held->heard_ms = now_ms;
    held->by_change = false;
    tl_held_stands(held);
    if (datum->kind == TL_DATUM_DECK && datum->known && !tl_datum_is_voice(datum)) {
        told->old_foul = false;
    }
}

static bool
may_take(const struct tl_held *held, const struct tl_datum *datum,
         const struct tl_envelope *envelope, bool fresh)
{
    return tl_datum_is_safeward(datum) ||
           (fresh && datum->sequence <= envelope->settled && held->barred != datum->sequence);
}

/*
 * Both speak of one statement. A change accepted here outranks the UNKNOWN that its beat carries
 * until it is settled; else what is toward safe stands.
 */
static bool
take_equal(struct tl_told *told, struct tl_held *held, const struct tl_datum *datum, bool may,
           uint64_t now_ms)
{
    bool same = datum->known == held->datum.known &&
                (!datum->known || tl_datum_same_value(datum, &held->datum));
    bool take = datum->known ? may && (!held->datum.known || tl_datum_is_safeward(datum))
                             : !held->by_change;
    if (same || !take) {
        held->heard_ms = now_ms;
        return false;
    }
    store(told, held, datum, now_ms);
    return true;
}

/* Returns true when what is held changed. */
static bool
take_datum(struct tl_told *told, const struct tl_datum *datum, const struct tl_envelope *envelope,
           bool fresh, uint64_t now_ms)
{
    struct tl_held *held = tl_told_place(told, datum);
    if (held == NULL || datum->sequence < held->datum.sequence) {
        return false;
    }
    bool may = may_take(held, datum, envelope, fresh);
    if (datum->sequence == held->datum.sequence) {
        return take_equal(told, held, datum, may, now_ms);
    }
    if (may) {
        store(told, held, datum, now_ms);
        return true;
    }
    /* Superseded by something that may not be taken: the old value is no longer true. */
    tl_datum_make_unknown(&held->datum, datum->sequence);
    held->by_change = false;
    held->heard_ms = now_ms;
    return true;
}

static bool
beat_has(const struct tl_beat *beat, const struct tl_held *held)
{
    return tl_data_same_name(beat->data, beat->datum_count, &held->datum) != NULL;
}

static bool
remove_absent(struct tl_told *told, const struct tl_beat *beat)
{
    bool changed = false;
    for (uint32_t i = 0; i < told->held_count;) {
        const struct tl_held *held = &told->held[i];
        if (held->datum.sequence <= beat->last_change && !beat_has(beat, held)) {
            told->held[i] = told->held[--told->held_count];
            changed = true;
        } else {
            i++;
        }
    }
    return changed;
}

/*
 * A refusal is told until the station must have read it: it has settled the change, and its beat
 * no longer carries the datum under that sequence.
 */
static void
forget_refusals(struct tl_told *told, const struct tl_envelope *envelope)
{
    const struct tl_beat *beat = &envelope->as.beat;
    uint32_t kept = 0;
    for (uint32_t i = 0; i < told->refused_count; i++) {
        const struct tl_refused_here *r = &told->refused[i];
        const struct tl_datum *datum = tl_data_same_name(beat->data, beat->datum_count, &r->name);
        bool carried = datum != NULL && datum->sequence == r->refused.sequence;
        if (envelope->settled < r->refused.sequence || carried) {
            told->refused[kept++] = *r;
        }
    }
    told->refused_count = kept;
}

static bool
take_data(struct tl_fold *fold, struct tl_told *told, const struct tl_envelope *envelope,
          bool fresh, uint64_t now_ms, bool *wrong_kind)
{
    const struct tl_beat *beat = &envelope->as.beat;
    bool changed = false;
    for (uint32_t i = 0; i < beat->datum_count; i++) {
        if (!tl_config_may_state(fold->config, told->node, &beat->data[i])) {
            *wrong_kind = true;
            continue;
        }
        changed = take_datum(told, &beat->data[i], envelope, fresh, now_ms) || changed;
    }
    return changed;
}

/* True when they are kept. */
static bool
take_samples(struct tl_fold *fold, struct tl_told *told, const struct tl_beat *beat,
             uint64_t now_ms)
{
    if (told->node->station != TL_STATION_BRIDGE) {
        return false;
    }
    told->sample_count = beat->sample_count;
    memcpy(told->samples, beat->samples, sizeof told->samples);
    told->samples_ms = now_ms;
    fold->readings++;
    return true;
}

/*
 * Two programs with one key may also have one incarnation: a state folder that was copied, a number
 * that was typed twice. Each counts its own beats. One program cannot send a beat of a lower number
 * that echoes a tick sent after the higher one was here, nor one number at two times.
 */
static bool
is_of_another_program(const struct tl_fold *fold, const struct tl_told *told,
                      const struct tl_envelope *envelope, uint64_t now_ms)
{
    uint64_t age_ms = tl_fold_echo_age_ms(fold, envelope, now_ms);
    bool later = age_ms != UINT64_MAX && now_ms - age_ms > told->beat_ms;
    bool other =
        envelope->sequence == told->beat_sequence && envelope->wall_ms != told->beat_wall_ms;
    return told->beat_ms != 0 && (later || other);
}

struct tl_folded
tl_fold_beat(struct tl_fold *fold, struct tl_told *told, const struct tl_envelope *envelope,
             uint64_t now_ms)
{
    const struct tl_beat *beat = &envelope->as.beat;
    struct tl_arrival arrival = tl_arrive(fold, told, envelope, now_ms);
    if (!arrival.current) {
        return arrival.folded;
    }
    struct tl_folded folded = arrival.folded;
    if (envelope->sequence <= told->beat_sequence) {
        folded.kind = TL_FOLD_IGNORED;
        if (is_of_another_program(fold, told, envelope, now_ms)) {
            folded.reason = TL_REFUSAL_TWIN;
            told->twin = true;
            told->twin_ms = now_ms;
            fold->changes++;
        }
        return folded;
    }
    told->beat_sequence = envelope->sequence;
    told->beat_ms = now_ms;
    told->beat_wall_ms = envelope->wall_ms;
    bool wrong_kind = false;
    bool first = false; /* of this life that is taken whole */
    bool changed = take_data(fold, told, envelope, arrival.fresh, now_ms, &wrong_kind);
    if (arrival.fresh) {
        first = !told->based;
        if (told->applied < envelope->settled) {
            told->applied = envelope->settled;
            changed = true;
        }
        told->based = true;
        told->settled = envelope->settled;
        told->last_change = beat->last_change;
        changed = remove_absent(told, beat) || changed;
        forget_refusals(told, envelope);
        folded.sampled = take_samples(fold, told, beat, now_ms);
    }
    if (changed) {
        fold->changes++;
    }
    folded.kind = TL_FOLD_APPLIED;
    folded.fresh = arrival.fresh;
    folded.changed = changed || first;
    folded.reason = wrong_kind ? TL_REFUSAL_NOT_YOUR_KIND : TL_REFUSAL_UNKNOWN;
    return folded;
}
