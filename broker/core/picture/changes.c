/* SPDX-License-Identifier: Apache-2.0 */
/*
 * changes.c - folding a change. See fold.h.
 *
 * Order of the questions: is it this life; does the sequence fit; may this station say it; is it
 * toward safe (then it acts at once); is it too old; is the echo fresh; is it its turn; may it
 * name its events; does a rule forbid it; is a count lower than was known. The first no decides.
 */
#include <string.h>

#include "broker/core/events/events.h"
#include "broker/core/picture/fold.h"
#include "broker/core/picture/fold_internal.h"
#include "broker/core/picture/wear.h"

static void
keep_digest(struct tl_told *told, uint64_t sequence, uint64_t digest)
{
    told->digest_sequence[sequence % TL_DIGESTS_KEPT] = sequence;
    told->digest[sequence % TL_DIGESTS_KEPT] = digest;
}

static bool
has_other_body(const struct tl_told *told, uint64_t sequence, uint64_t digest)
{
    return told->digest_sequence[sequence % TL_DIGESTS_KEPT] == sequence &&
           told->digest[sequence % TL_DIGESTS_KEPT] != digest;
}

static void
store(struct tl_told *told, struct tl_held *held, const struct tl_envelope *envelope,
      uint64_t now_ms)
{
    held->datum = envelope->as.change.datum;
    held->datum.said_age_ms = 0;
    held->said_ms = now_ms > envelope->said_age_ms ? now_ms - envelope->said_age_ms : 0;
    held->heard_ms = now_ms;
    held->by_change = true;
    tl_held_stands(held);
    if (held->datum.kind == TL_DATUM_DECK && held->datum.known &&
        !tl_datum_is_voice(&held->datum)) {
        told->old_foul = false;
    }
}

static struct tl_folded
refuse(struct tl_fold *fold, struct tl_told *told, const struct tl_envelope *envelope,
       uint64_t digest, enum tl_refusal reason)
{
    const struct tl_datum *datum = &envelope->as.change.datum;
    bool may_state = reason != TL_REFUSAL_NOT_YOUR_KIND && reason != TL_REFUSAL_NOT_OWNER;
    struct tl_held *held = may_state ? tl_told_place(told, datum) : NULL;
    uint32_t rule = reason == TL_REFUSAL_RULE_FORCES_FOUL ? fold->clear_refused_rule : 0;
    if (held != NULL && held->datum.sequence < datum->sequence) {
        tl_datum_make_unknown(&held->datum, datum->sequence);
        held->barred = datum->sequence;
        held->by_change = false;
    }
    tl_told_refused(told, datum, reason, rule);
    keep_digest(told, envelope->sequence, digest);
    told->applied = envelope->sequence;
    fold->changes++;
    return (struct tl_folded){.kind = TL_FOLD_REFUSED, .reason = reason, .rule = rule};
}

static struct tl_folded
fold_safeward(struct tl_fold *fold, struct tl_told *told, const struct tl_envelope *envelope,
              uint64_t digest, uint64_t now_ms)
{
    const struct tl_datum *datum = &envelope->as.change.datum;
    struct tl_held *held = tl_told_place(told, datum);
    bool next = envelope->sequence == told->applied + 1;
    struct tl_folded folded = {.kind = TL_FOLD_APPLIED};
    if (held == NULL) {
        /* No place for one more name: it is refused in its turn, and nothing READY-ward is lost. */
        return next ? refuse(fold, told, envelope, digest, TL_REFUSAL_FULL)
                    : (struct tl_folded){.kind = TL_FOLD_IGNORED};
    }
    if (datum->sequence > held->datum.sequence) {
        store(told, held, envelope, now_ms);
        held->stood_known = held->stood_known && datum->known; /* taken back by a word */
        fold->changes++;
    } else if (datum->sequence < held->datum.sequence || held->by_change) {
        folded.kind = TL_FOLD_AGAIN; /* superseded, or acted before its turn: it only counts */
    } else {
        held->by_change = true; /* a beat brought it first */
        held->stood_known = held->stood_known && datum->known;
    }
    keep_digest(told, envelope->sequence, digest);
    if (next) {
        told->applied = envelope->sequence;
    }
    return folded;
}

static bool
is_lost_validator(const struct tl_fold *fold, const char *id)
{
    for (uint32_t i = 0; i < fold->lost_count; i++) {
        if (strncmp(fold->lost_validator[i], id, TL_ID_CAP) == 0) {
            return true;
        }
    }
    return false;
}

/* By voice only for who is lost; an override only of a rule that has one. */
static enum tl_refusal
check_people(const struct tl_fold *fold, const struct tl_datum *datum)
{
    if (tl_datum_is_voice(datum)) {
        const struct tl_told *other = tl_fold_told_const(fold, datum->voice_for);
        return other != NULL && !other->live ? TL_REFUSAL_UNKNOWN : TL_REFUSAL_NOT_LOST;
    }
    if (datum->kind == TL_DATUM_OVERRIDE) {
        const struct tl_rule_row *row = tl_rule_row(datum->as.override.rule);
        return row != NULL && row->overridable ? TL_REFUSAL_UNKNOWN : TL_REFUSAL_NOT_OVERRIDABLE;
    }
    if (datum->kind == TL_DATUM_OUT_OF_SERVICE) {
        return is_lost_validator(fold, datum->as.out_of_service) ? TL_REFUSAL_UNKNOWN
                                                                 : TL_REFUSAL_NOT_LOST;
    }
    return TL_REFUSAL_UNKNOWN;
}

static enum tl_refusal
check_readyward(const struct tl_fold *fold, const struct tl_datum *datum, bool *wait)
{
    if (datum->kind == TL_DATUM_DECK && datum->as.deck.state == TL_DECK_CLEAR &&
        fold->clear_refused) {
        return TL_REFUSAL_RULE_FORCES_FOUL;
    }
    enum tl_refusal reason = check_people(fold, datum);
    reason = reason != TL_REFUSAL_UNKNOWN ? reason : tl_wear_check(fold, datum);
    return reason != TL_REFUSAL_UNKNOWN ? reason : tl_events_check(fold, datum, wait);
}

/* Did the setting move, or is it only said again? By voice it is compared with the engine's own. */
static bool
moves_setting(const struct tl_fold *fold, const struct tl_held *held, const struct tl_datum *datum)
{
    const struct tl_held *own = held;
    if (tl_datum_is_voice(datum)) {
        const struct tl_told *other = tl_fold_told_const(fold, datum->voice_for);
        own = other != NULL ? tl_told_held(other, TL_DATUM_SET, 0) : NULL;
    }
    return datum->kind == TL_DATUM_SET &&
           !(own != NULL && own->stood_known && own->stood_lb == datum->as.set_lb);
}

/* A repeater is compared only with a setting that stood when it was read. */
static void
void_repeater(struct tl_fold *fold, uint32_t unit)
{
    struct tl_told *reader = tl_fold_told(fold, fold->config->repeater_reader);
    for (uint32_t i = 0; reader != NULL && i < reader->held_count; i++) {
        struct tl_held *held = &reader->held[i];
        if (held->datum.kind == TL_DATUM_REPEATER && held->datum.slot == unit &&
            held->datum.known) {
            tl_told_void(reader, held, TL_REFUSAL_EVENT_LEFT);
        }
    }
}

/* The engine that a setting is of. */
static uint32_t
unit_of(const struct tl_fold *fold, const struct tl_told *told, const struct tl_datum *datum)
{
    const struct tl_told *of =
        tl_datum_is_voice(datum) ? tl_fold_told_const(fold, datum->voice_for) : told;
    return of != NULL ? of->node->unit : 0;
}

static struct tl_folded
fold_readyward(struct tl_fold *fold, struct tl_told *told, const struct tl_envelope *envelope,
               uint64_t digest, uint64_t now_ms, bool fresh)
{
    const struct tl_datum *datum = &envelope->as.change.datum;
    struct tl_folded ignored = {.kind = TL_FOLD_IGNORED};
    bool next = told->based && envelope->sequence == told->applied + 1;
    if (envelope->said_age_ms > TL_SAID_MAX_MS && envelope->sequence > envelope->settled) {
        return next ? refuse(fold, told, envelope, digest, TL_REFUSAL_TOO_OLD) : ignored;
    }
    if (!fresh || !next) {
        return ignored;
    }
    bool wait = false;
    enum tl_refusal reason = check_readyward(fold, datum, &wait);
    if (wait) {
        return ignored;
    }
    struct tl_held *held = tl_told_place(told, datum);
    if (reason == TL_REFUSAL_UNKNOWN && held == NULL) {
        reason = TL_REFUSAL_FULL;
    }
    if (reason != TL_REFUSAL_UNKNOWN) {
        return refuse(fold, told, envelope, digest, reason);
    }
    /* Superseded already, by a beat that came first: the setting has moved all the same. */
    bool moved = moves_setting(fold, held, datum);
    if (datum->sequence >= held->datum.sequence) {
        store(told, held, envelope, now_ms);
    }
    if (moved) {
        void_repeater(fold, unit_of(fold, told, datum));
    }
    keep_digest(told, envelope->sequence, digest);
    told->applied = envelope->sequence;
    fold->changes++;
    return (struct tl_folded){.kind = TL_FOLD_APPLIED};
}

/* Known sequence, or one too far away: decided without looking at the value. */
static bool
settle_by_sequence(const struct tl_told *told, const struct tl_envelope *envelope, uint64_t digest,
                   struct tl_folded *folded)
{
    if (has_other_body(told, envelope->sequence, digest)) {
        *folded = (struct tl_folded){.kind = TL_FOLD_IGNORED, .reason = TL_REFUSAL_OTHER_BODY};
        return true;
    }
    if (told->based && envelope->sequence <= told->applied) {
        *folded = (struct tl_folded){.kind = TL_FOLD_AGAIN};
        return true;
    }
    uint64_t top = told->applied > told->last_change ? told->applied : told->last_change;
    if (told->based && envelope->sequence > top && envelope->sequence - top > TL_JUMP_MAX) {
        *folded = (struct tl_folded){.kind = TL_FOLD_IGNORED, .reason = TL_REFUSAL_JUMP};
        return true;
    }
    return false;
}

static enum tl_refusal
check_authority(const struct tl_fold *fold, const struct tl_told *told,
                const struct tl_datum *datum)
{
    if (tl_config_may_state(fold->config, told->node, datum)) {
        return TL_REFUSAL_UNKNOWN;
    }
    return datum->kind == TL_DATUM_DECK && told->node->may_foul ? TL_REFUSAL_NOT_OWNER
                                                                : TL_REFUSAL_NOT_YOUR_KIND;
}

struct tl_folded
tl_fold_change(struct tl_fold *fold, struct tl_told *told, const struct tl_envelope *envelope,
               uint64_t digest, uint64_t now_ms)
{
    const struct tl_datum *datum = &envelope->as.change.datum;
    struct tl_arrival arrival = tl_arrive(fold, told, envelope, now_ms);
    if (!arrival.current) {
        return arrival.folded;
    }
    struct tl_folded folded = {0};
    if (!settle_by_sequence(told, envelope, digest, &folded)) {
        enum tl_refusal authority = check_authority(fold, told, datum);
        bool next = told->based && envelope->sequence == told->applied + 1;
        if (authority != TL_REFUSAL_UNKNOWN) {
            folded = next ? refuse(fold, told, envelope, digest, authority)
                          : (struct tl_folded){.kind = TL_FOLD_IGNORED, .reason = authority};
        } else if (tl_datum_is_safeward(datum)) {
            folded = fold_safeward(fold, told, envelope, digest, now_ms);
        } else {
            folded = fold_readyward(fold, told, envelope, digest, now_ms, arrival.fresh);
        }
    }
    folded.new_incarnation = arrival.folded.new_incarnation;
    folded.came_back = arrival.folded.came_back;
    return folded;
}
