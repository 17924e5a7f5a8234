/* SPDX-License-Identifier: Apache-2.0 */
/* outbox.c - see outbox.h. */
#include "proto/link/outbox.h"

#include <string.h>

void
tl_outbox_init(struct tl_outbox *box, bool recorder)
{
    memset(box, 0, sizeof *box);
    box->recorder = recorder;
    box->resend_gap_ms = TL_RESEND_MIN_MS;
}

static struct tl_own *
find_own(struct tl_outbox *box, const struct tl_datum *name)
{
    for (uint32_t i = 0; i < box->own_count; i++) {
        if (tl_datum_same_name(&box->own[i].datum, name)) {
            return &box->own[i];
        }
    }
    return NULL;
}

const struct tl_own *
tl_outbox_named(const struct tl_outbox *box, const struct tl_datum *name)
{
    for (uint32_t i = 0; i < box->own_count; i++) {
        if (tl_datum_same_name(&box->own[i].datum, name)) {
            return &box->own[i];
        }
    }
    return NULL;
}

const struct tl_own *
tl_outbox_own(const struct tl_outbox *box, enum tl_datum_kind kind, uint32_t slot)
{
    return tl_outbox_named(box, &(struct tl_datum){.kind = kind, .slot = slot});
}

static struct tl_said *
find_said(struct tl_outbox *box, uint64_t sequence)
{
    for (uint32_t i = 0; i < box->said_count; i++) {
        if (box->said[i].datum.sequence == sequence) {
            return &box->said[i];
        }
    }
    return NULL;
}

const struct tl_said *
tl_outbox_find(const struct tl_outbox *box, uint64_t sequence)
{
    for (uint32_t i = 0; i < box->said_count; i++) {
        if (box->said[i].datum.sequence == sequence) {
            return &box->said[i];
        }
    }
    return NULL;
}

static void
give_outcome(struct tl_outbox *box, const struct tl_said_outcome *outcome)
{
    if (box->outcome_count == TL_OUTCOMES_MAX) {
        memmove(&box->outcome[0], &box->outcome[1], (TL_OUTCOMES_MAX - 1) * sizeof box->outcome[0]);
        box->outcome_count--;
    }
    box->outcome[box->outcome_count++] = *outcome;
}

bool
tl_outbox_outcome(struct tl_outbox *box, struct tl_said_outcome *out)
{
    if (box->outcome_count == 0) {
        return false;
    }
    *out = box->outcome[0];
    box->outcome_count--;
    memmove(&box->outcome[0], &box->outcome[1], box->outcome_count * sizeof box->outcome[0]);
    return true;
}

static void
remove_said(struct tl_outbox *box, uint32_t index)
{
    box->said_count--;
    memmove(&box->said[index], &box->said[index + 1],
            (box->said_count - index) * sizeof box->said[0]);
}

/* Settled changes go when no recorder is waited for, or when it has them. */
static void
forget_settled(struct tl_outbox *box)
{
    for (uint32_t i = 0; i < box->said_count;) {
        uint64_t sequence = box->said[i].datum.sequence;
        bool kept_for_record = box->recorder && sequence > box->recorded;
        if (sequence <= box->settled && !kept_for_record) {
            remove_said(box, i);
        } else {
            i++;
        }
    }
}

/* True when fewer than `limit` are held; settled ones that no recorder has are dropped for it. */
static bool
make_room(struct tl_outbox *box, uint32_t limit)
{
    while (box->said_count >= limit && box->said[0].datum.sequence <= box->settled) {
        remove_said(box, 0);
        box->not_recorded++;
    }
    return box->said_count < limit;
}

/* The caller has seen that there is a place. */
static struct tl_own *
place_own(struct tl_outbox *box, const struct tl_datum *datum)
{
    struct tl_own *own = find_own(box, datum);
    if (own == NULL) {
        own = &box->own[box->own_count++];
        memset(own, 0, sizeof *own);
        own->datum = *datum;
        own->datum.known = false;
        own->datum.sequence = 0;
    }
    return own;
}

void
tl_outbox_hurry(struct tl_outbox *box, uint64_t now_ms)
{
    box->resend_gap_ms = TL_RESEND_MIN_MS;
    if (box->said_count == 0) {
        box->resend_at_ms = 0;
    } else if (box->resend_at_ms == 0 || box->resend_at_ms > now_ms + TL_RESEND_MIN_MS) {
        box->resend_at_ms = now_ms + TL_RESEND_MIN_MS;
    }
}

static uint64_t
say_with_room(struct tl_outbox *box, struct tl_own *own, const struct tl_datum *datum,
              uint64_t said_ms)
{
    own->datum = *datum;
    own->datum.sequence = ++box->last;
    own->datum.said_age_ms = 0;
    own->said_ms = said_ms;
    own->refused = false;
    own->needs_change = false;
    box->said[box->said_count++] = (struct tl_said){.datum = own->datum, .said_ms = said_ms};
    return own->datum.sequence;
}

enum tl_err
tl_outbox_say(struct tl_outbox *box, const struct tl_hear *hear, const struct tl_datum *datum,
              uint64_t now_ms, uint64_t *sequence)
{
    bool safeward = tl_datum_is_safeward(datum);
    const struct tl_own *same = tl_outbox_named(box, datum);
    if (!safeward && !tl_hear_any(hear, now_ms)) {
        return TL_REFUSED;
    }
    /*
     * A settled word toward READY is said anew: a validator may have made it void, and the station
     * not have heard of it yet.
     */
    if (same != NULL && same->datum.sequence != 0 && !same->refused &&
        (safeward || same->datum.sequence > box->settled) && tl_datum_equal(&same->datum, datum)) {
        *sequence = same->datum.sequence;
        return TL_OK;
    }
    if (same == NULL && box->own_count == TL_DATA_MAX) {
        return TL_FULL;
    }
    bool room = make_room(box, safeward ? TL_OUTBOX_MAX : TL_OUTBOX_MAX - TL_OUTBOX_RESERVE);
    if (!room && !safeward) {
        return TL_FULL;
    }
    struct tl_own *own = place_own(box, datum);
    if (room) {
        *sequence = say_with_room(box, own, datum, now_ms);
        /*
         * The first copy leaves at once. A timer that has backed off over older changes must not
         * let this one wait for 2 s: that is all the time it has.
         */
        tl_outbox_hurry(box, now_ms);
        return TL_OK;
    }
    /* No place for its change: the beat carries it under the newest number until there is one. */
    own->datum = *datum;
    own->datum.sequence = box->last;
    own->said_ms = now_ms;
    own->refused = false;
    own->needs_change = true;
    *sequence = box->last;
    return TL_OK;
}

void
tl_outbox_drop(struct tl_outbox *box, const struct tl_datum *name)
{
    struct tl_own *own = find_own(box, name);
    if (own == NULL || own->datum.sequence > box->settled || own->needs_change) {
        return;
    }
    *own = box->own[--box->own_count];
}

void
tl_outbox_unsay(struct tl_outbox *box, const struct tl_hear *hear, const struct tl_own *own,
                uint64_t now_ms)
{
    struct tl_datum unknown = own->datum;
    uint64_t sequence = 0;
    tl_datum_make_unknown(&unknown, 0);
    tl_err_ignore(tl_outbox_say(box, hear, &unknown, now_ms, &sequence),
                  "toward safe and already placed, so it cannot fail");
}

/* A word that was told as accepted and is refused now was void under way. */
static void
tell_refusal(struct tl_outbox *box, struct tl_said *said, const struct tl_own *own,
             struct tl_said_outcome *outcome)
{
    bool first = said != NULL && !said->reported;
    if (first) {
        said->reported = true;
        outcome->datum = said->datum;
    } else if (own != NULL) {
        outcome->kind = TL_SAID_VOID;
        outcome->datum = own->datum;
    }
    if (first || own != NULL) {
        give_outcome(box, outcome);
    }
}

/* The own word that still stands under that sequence, or NULL. */
static struct tl_own *
find_standing(struct tl_outbox *box, uint64_t sequence)
{
    for (uint32_t i = 0; i < box->own_count; i++) {
        struct tl_own *own = &box->own[i];
        if (own->datum.sequence == sequence && !own->refused && !own->needs_change &&
            own->datum.known) {
            return own;
        }
    }
    return NULL;
}

static void
take_refusal(struct tl_outbox *box, const struct tl_hear *hear, const struct tl_heard *from,
             const struct tl_refused *refused, uint64_t now_ms)
{
    struct tl_said_outcome outcome = {.kind = TL_SAID_REFUSED,
                                      .sequence = refused->sequence,
                                      .reason = refused->reason,
                                      .rule = refused->rule};
    struct tl_said *said = find_said(box, refused->sequence);
    struct tl_own *own = find_standing(box, refused->sequence);
    memcpy(outcome.validator, from->id, TL_ID_CAP);
    tell_refusal(box, said, own, &outcome);
    if (said != NULL) {
        said->refused = true;
    }
    if (own != NULL) {
        own->refused = true;
        tl_outbox_unsay(box, hear, own, now_ms);
    }
}

static bool
covered_by_all_heard(const struct tl_hear *hear, uint64_t sequence, uint64_t now_ms)
{
    bool any = false;
    for (uint32_t i = 0; i < hear->count; i++) {
        const struct tl_heard *heard = &hear->validator[i];
        if (!tl_heard_is(heard, now_ms)) {
            continue;
        }
        if (heard->through < sequence) {
            return false;
        }
        any = true;
    }
    return any;
}

static bool
advance_settled(struct tl_outbox *box, const struct tl_hear *hear, uint64_t now_ms)
{
    bool moved = false;
    while (box->settled < box->last && covered_by_all_heard(hear, box->settled + 1, now_ms)) {
        box->settled++;
        moved = true;
        struct tl_said *said = find_said(box, box->settled);
        if (said != NULL && !said->reported) {
            said->reported = true;
            give_outcome(box, &(struct tl_said_outcome){.kind = TL_SAID_ACCEPTED,
                                                        .sequence = box->settled,
                                                        .datum = said->datum});
        }
    }
    return moved;
}

void
tl_outbox_receipt(struct tl_outbox *box, const struct tl_hear *hear, const struct tl_heard *from,
                  const struct tl_receipt *receipt, uint64_t now_ms)
{
    for (uint32_t i = 0; i < receipt->refused_count; i++) {
        take_refusal(box, hear, from, &receipt->refused[i], now_ms);
    }
    if (advance_settled(box, hear, now_ms)) {
        forget_settled(box);
        tl_outbox_hurry(box, now_ms);
    }
}

void
tl_outbox_recorded(struct tl_outbox *box, uint64_t through)
{
    if (through > box->recorded && through <= box->last) {
        box->recorded = through;
        forget_settled(box);
    }
}

/* A pass result is a fact of the deck and stays; everything else toward READY dies at 2.0 s. */
static bool
is_over_age(const struct tl_outbox *box, const struct tl_said *said, uint64_t now_ms)
{
    return said->datum.sequence > box->settled && !said->refused && !said->withdrawn &&
           !tl_datum_is_safeward(&said->datum) && now_ms - said->said_ms > TL_SAID_MAX_MS;
}

void
tl_outbox_tend(struct tl_outbox *box, const struct tl_hear *hear, uint64_t now_ms)
{
    if (advance_settled(box, hear, now_ms)) {
        forget_settled(box);
    }
    for (uint32_t i = 0; i < box->said_count; i++) {
        struct tl_said *said = &box->said[i];
        if (!is_over_age(box, said, now_ms)) {
            continue;
        }
        said->withdrawn = true;
        if (!said->reported) {
            said->reported = true;
            give_outcome(box, &(struct tl_said_outcome){.kind = TL_SAID_WITHDRAWN,
                                                        .sequence = said->datum.sequence,
                                                        .datum = said->datum});
        }
        struct tl_own *own = find_own(box, &said->datum);
        if (own != NULL && own->datum.sequence == said->datum.sequence && own->datum.known) {
            tl_outbox_unsay(box, hear, own, now_ms);
        }
    }
    for (uint32_t i = 0; i < box->own_count; i++) {
        struct tl_own *own = &box->own[i];
        if (own->needs_change && make_room(box, TL_OUTBOX_MAX)) {
            struct tl_datum datum = own->datum;
            (void)say_with_room(box, own, &datum, own->said_ms);
            tl_outbox_hurry(box, now_ms);
        }
    }
}

/*
 * Unsettled changes first: those that only a recorder still lacks may be many and must not keep a
 * word from the validators. What leaves together leaves in the order of the sequence.
 */
static size_t
choose_oldest(const struct tl_outbox *box, const struct tl_said *out[TL_RESEND_MAX])
{
    uint32_t settled = 0;
    while (settled < box->said_count && box->said[settled].datum.sequence <= box->settled) {
        settled++;
    }
    uint32_t unsettled = box->said_count - settled;
    unsettled = unsettled < TL_RESEND_MAX ? unsettled : TL_RESEND_MAX;
    uint32_t rest = TL_RESEND_MAX - unsettled;
    rest = rest < settled ? rest : settled;
    for (uint32_t i = 0; i < rest; i++) {
        out[i] = &box->said[i];
    }
    for (uint32_t i = 0; i < unsettled; i++) {
        out[rest + i] = &box->said[settled + i];
    }
    return rest + unsettled;
}

size_t
tl_outbox_resend(struct tl_outbox *box, uint64_t now_ms, const struct tl_said *out[TL_RESEND_MAX])
{
    if (box->said_count == 0) {
        box->resend_at_ms = 0;
        box->resend_gap_ms = TL_RESEND_MIN_MS;
        return 0;
    }
    if (box->resend_at_ms == 0 || now_ms < box->resend_at_ms) {
        return 0;
    }
    size_t count = choose_oldest(box, out);
    box->resend_gap_ms *= 2;
    if (box->resend_gap_ms > TL_RESEND_CEIL_MS) {
        box->resend_gap_ms = TL_RESEND_CEIL_MS;
    }
    box->resend_at_ms = now_ms + box->resend_gap_ms;
    return count;
}

static uint32_t
age_of(uint64_t said_ms, uint64_t now_ms)
{
    uint64_t age = now_ms - said_ms;
    return age > UINT32_MAX ? UINT32_MAX : (uint32_t)age;
}

void
tl_outbox_beat(const struct tl_outbox *box, struct tl_beat *beat, uint64_t now_ms)
{
    beat->last_change = box->last;
    beat->oldest_held = box->said_count > 0 ? box->said[0].datum.sequence : 0;
    beat->datum_count = 0;
    for (uint32_t i = 0; i < box->own_count; i++) {
        const struct tl_own *own = &box->own[i];
        if (own->datum.sequence == 0) {
            continue;
        }
        struct tl_datum *datum = &beat->data[beat->datum_count++];
        *datum = own->datum;
        bool settled = own->datum.sequence <= box->settled && !own->refused;
        if (!settled && !tl_datum_is_safeward(datum)) {
            tl_datum_make_unknown(datum, own->datum.sequence);
        }
        datum->said_age_ms = age_of(own->said_ms, now_ms);
    }
}
