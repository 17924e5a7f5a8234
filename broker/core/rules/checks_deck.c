/* SPDX-License-Identifier: Apache-2.0 */
/* checks_deck.c - rules about the deck and the hook. See check.h. */
#include <string.h>

#include "broker/core/rules/check.h"

static bool
is_owner(const struct tl_check *check, const struct tl_told *told)
{
    return strncmp(check->fold->config->clear_owner, told->node->id, TL_ID_CAP) == 0;
}

/* The FOUL that stands at this station, said now or by its earlier life; NULL = none. */
static const struct tl_deck *
standing_foul(const struct tl_told *told, const struct tl_held *held)
{
    if (held != NULL && held->datum.known) {
        return held->datum.as.deck.state == TL_DECK_FOUL ? &held->datum.as.deck : NULL;
    }
    bool old = told->old_foul && told->old_foul_datum.as.deck.state == TL_DECK_FOUL;
    return old ? &told->old_foul_datum.as.deck : NULL;
}

/* A FOUL or STOP that is said for this station by one voice at least; NULL = none. */
static const struct tl_voice *
voiced_deck(const struct tl_fold *fold, const struct tl_told *told, enum tl_deck_state state)
{
    for (uint32_t i = 0; i < fold->voice_count; i++) {
        const struct tl_voice *voice = &fold->voice[i];
        if (voice->told == told && voice->held.datum.kind == TL_DATUM_DECK &&
            voice->held.datum.as.deck.state == state) {
            return voice;
        }
    }
    return NULL;
}

static bool
is_over_line(const struct tl_deck *deck)
{
    return deck->reason == TL_FOUL_PERSON || deck->reason == TL_FOUL_AIRCRAFT;
}

/*
 * After a pass the deck is foul as a matter of course: the owner's FOUL alerts only when it was
 * said after CLEAR for this event, or when CLEAR is due. Another station's FOUL alerts at once.
 */
static enum tl_cause_state
foul_state(const struct tl_check *check, const struct tl_told *told, const struct tl_deck *deck)
{
    if (!is_owner(check, told) || deck->was_clear) {
        return TL_CAUSE_WRONG;
    }
    return tl_due_state(check) == TL_CAUSE_OVERDUE ? TL_CAUSE_WRONG : TL_CAUSE_PENDING;
}

static void
add_foul(struct tl_check *check, const struct tl_told *told, const struct tl_held *held,
         const struct tl_deck *deck)
{
    struct tl_cause *cause = tl_cause_add(check, told->node, foul_state(check, told, deck));
    cause->reported.known = true;
    cause->reported.number = deck->reason;
    if (held != NULL && held->datum.known) {
        tl_key_by_held(cause, told, held);
    } else {
        memcpy(cause->subject.node, told->node->id, TL_ID_CAP);
        cause->subject.incarnation = told->old_foul_incarnation;
        cause->subject.sequence = told->old_foul_datum.sequence;
    }
}

/* Lost, and two who may have said that nothing is foul from there. */
static bool
is_lifted_by_voice(const struct tl_check *check, const struct tl_told *told)
{
    const struct tl_voice *voice = tl_voice_of(check->fold, told, TL_DATUM_DECK, 0);
    return voice != NULL && !told->live &&
           (voice->held.datum.as.deck.state == TL_DECK_NO_FOUL ||
            voice->held.datum.as.deck.state == TL_DECK_CLEAR);
}

static void
add_fouls(struct tl_check *check, bool over_line)
{
    for (uint32_t i = 0; i < check->fold->told_count; i++) {
        const struct tl_told *told = &check->fold->told[i];
        const struct tl_held *held = tl_told_held(told, TL_DATUM_DECK, 0);
        const struct tl_voice *voice = voiced_deck(check->fold, told, TL_DECK_FOUL);
        if (voice != NULL) {
            held = &voice->held;
        } else if (is_lifted_by_voice(check, told)) {
            continue;
        }
        const struct tl_deck *deck = standing_foul(told, held);
        if (deck != NULL && is_over_line(deck) == over_line) {
            add_foul(check, told, held, deck);
        }
    }
}

/* STOP stands like a FOUL: per station, through its restart, and by one voice. */
void
tl_check_stop(struct tl_check *check)
{
    for (uint32_t i = 0; i < check->fold->told_count; i++) {
        const struct tl_told *told = &check->fold->told[i];
        const struct tl_held *held = tl_told_held(told, TL_DATUM_DECK, 0);
        const struct tl_voice *voice = voiced_deck(check->fold, told, TL_DECK_STOP);
        bool own = held != NULL && held->datum.known && held->datum.as.deck.state == TL_DECK_STOP;
        bool old = (held == NULL || !held->datum.known) && told->old_foul &&
                   told->old_foul_datum.as.deck.state == TL_DECK_STOP;
        if (voice == NULL && ((!own && !old) || is_lifted_by_voice(check, told))) {
            continue;
        }
        struct tl_cause *cause = tl_cause_add(check, told->node, TL_CAUSE_WRONG);
        tl_cause_number(&cause->reported, TL_DECK_STOP);
        tl_key_by_held(cause, told, voice != NULL ? &voice->held : held);
        if (voice == NULL && old) {
            cause->subject.incarnation = told->old_foul_incarnation;
            cause->subject.sequence = told->old_foul_datum.sequence;
        }
    }
}

void
tl_check_line_crossed(struct tl_check *check)
{
    add_fouls(check, true);
}

/* FOUL for another reason than the line; and CLEAR not yet said for this event. */
void
tl_check_deck_foul(struct tl_check *check)
{
    add_fouls(check, false);
    const struct tl_told *owner = tl_fold_told_const(check->fold, check->fold->config->clear_owner);
    const struct tl_held *own = owner != NULL ? tl_told_held(owner, TL_DATUM_DECK, 0) : NULL;
    if (check->current == NULL) {
        return;
    }
    const struct tl_held *held = tl_said(check, owner, TL_DATUM_DECK, 0);
    bool clear = held != NULL && held->datum.as.deck.state == TL_DECK_CLEAR;
    if (clear || (owner != NULL && standing_foul(owner, own) != NULL)) {
        return; /* clear, or already told as foul */
    }
    struct tl_cause *cause =
        tl_cause_add(check, owner != NULL ? owner->node : NULL, tl_due_state(check));
    tl_key_by_order(check, cause);
}

void
tl_check_foul_word(struct tl_check *check)
{
    for (uint32_t i = 0; i < check->fold->told_count; i++) {
        const struct tl_told *told = &check->fold->told[i];
        bool spoken = tl_known(check, told, TL_DATUM_DECK, 0) != NULL || told->old_foul;
        bool may = told->node->may_foul || told->node->may_stop;
        if (may && !is_owner(check, told) && !spoken) {
            struct tl_cause *cause = tl_cause_add(check, told->node, tl_due_state(check));
            tl_key_by_order(check, cause);
        }
    }
}

void
tl_check_hook(struct tl_check *check)
{
    const struct tl_told *platform = tl_told_of(check->fold, TL_STATION_PLATFORM, 0);
    if (check->current == NULL || tl_is_barricade_pass(check)) {
        return;
    }
    const struct tl_held *held = tl_said(check, platform, TL_DATUM_HOOK, 0);
    if (held != NULL && held->datum.as.hook == TL_HOOK_DOWN) {
        return;
    }
    if (held != NULL && held->datum.as.hook == TL_HOOK_NOT_DOWN) {
        struct tl_cause *cause = tl_cause_add(check, platform->node, TL_CAUSE_WRONG);
        cause->reported.known = true;
        cause->reported.number = held->datum.as.hook;
        tl_key_by_held(cause, platform, held);
        return;
    }
    struct tl_cause *cause =
        tl_cause_add(check, platform != NULL ? platform->node : NULL, tl_due_state(check));
    tl_key_by_order(check, cause);
}
