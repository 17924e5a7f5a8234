/* SPDX-License-Identifier: Apache-2.0 */
/* wear.c - see wear.h. */
#include "broker/core/picture/wear.h"

#include <string.h>

#include "broker/core/picture/fold_internal.h"

static uint32_t
known_since(const struct tl_fold *fold, const struct tl_datum *datum, const struct tl_wear *wear)
{
    return tl_ends_not_in(&fold->list.ends, &fold->config->gear, datum->kind, datum->slot,
                          &wear->counted);
}

uint32_t
tl_wear_traps(const struct tl_fold *fold, const struct tl_datum *datum)
{
    const struct tl_wear *wear = tl_datum_wear(datum);
    return wear != NULL ? wear->traps + known_since(fold, datum, wear) : 0;
}

/* ---- what was once known of a serial ---- */

/* What is there now, in that place. */
static const struct tl_booked *
find_fitted(const struct tl_fold *fold, const struct tl_datum *datum)
{
    for (uint32_t i = 0; i < fold->book_count; i++) {
        const struct tl_datum *booked = &fold->book[i].datum;
        if (fold->book[i].fitted && booked->kind == datum->kind && booked->slot == datum->slot) {
            return &fold->book[i];
        }
    }
    return NULL;
}

/* What that word is compared with: its own serial wherever it was; without one, what is there. */
static const struct tl_booked *
find_booked(const struct tl_fold *fold, const struct tl_datum *datum)
{
    const struct tl_wear *wear = tl_datum_wear(datum);
    for (uint32_t i = 0; wear->serial[0] != '\0' && i < fold->book_count; i++) {
        const struct tl_booked *booked = &fold->book[i];
        if (booked->datum.kind == datum->kind &&
            tl_wear_same_serial(tl_datum_wear(&booked->datum), wear)) {
            return booked;
        }
    }
    return wear->serial[0] == '\0' ? find_fitted(fold, datum) : NULL;
}

/* What was taken off wears no more. */
static uint32_t
booked_traps(const struct tl_fold *fold, const struct tl_booked *booked)
{
    return booked->fitted ? tl_wear_traps(fold, &booked->datum)
                          : tl_datum_wear(&booked->datum)->traps;
}

static uint32_t
corrected_in(const struct tl_fold *fold, const struct tl_datum *datum)
{
    return tl_ends_corrected(&fold->list.ends, &fold->config->gear, datum->kind, datum->slot,
                             &tl_datum_wear(datum)->counted);
}

enum tl_refusal
tl_wear_check(const struct tl_fold *fold, const struct tl_datum *datum)
{
    const struct tl_wear *wear = tl_datum_wear(datum);
    const struct tl_booked *booked = wear != NULL ? find_booked(fold, datum) : NULL;
    if (booked == NULL || (wear->moved && !tl_datum_is_voice(datum))) {
        return TL_REFUSAL_UNKNOWN;
    }
    uint32_t corrected = booked->fitted ? corrected_in(fold, &booked->datum) : 0;
    uint32_t since = corrected > booked->corrected ? corrected - booked->corrected : 0;
    return tl_wear_traps(fold, datum) + since < booked_traps(fold, booked) ? TL_REFUSAL_LOWER_COUNT
                                                                           : TL_REFUSAL_UNKNOWN;
}

/* A place for one more: when full, of what was taken off longest ago. */
static struct tl_booked *
new_entry(struct tl_fold *fold)
{
    uint32_t at = 0;
    if (fold->book_count < TL_BOOKED_MAX) {
        return &fold->book[fold->book_count++];
    }
    while (at + 1 < TL_BOOKED_MAX && fold->book[at].fitted) {
        at++;
    }
    memmove(&fold->book[at], &fold->book[at + 1], (TL_BOOKED_MAX - 1 - at) * sizeof fold->book[0]);
    return &fold->book[TL_BOOKED_MAX - 1];
}

/* The entry of that very serial, made when there is none. */
static struct tl_booked *
entry_of(struct tl_fold *fold, const struct tl_datum *datum)
{
    const struct tl_booked *booked = find_booked(fold, datum);
    return booked != NULL ? &fold->book[booked - fold->book] : new_entry(fold);
}

static void
note(struct tl_fold *fold, const struct tl_datum *datum)
{
    const struct tl_wear *wear = tl_datum_wear(datum);
    const struct tl_booked *before = find_fitted(fold, datum);
    if (before != NULL && tl_datum_same_value(&before->datum, datum)) {
        return; /* what was corrected since it was said stays known */
    }
    if (before != NULL && wear->serial[0] != '\0' &&
        !tl_wear_same_serial(tl_datum_wear(&before->datum), wear)) {
        struct tl_booked *old = &fold->book[before - fold->book];
        tl_datum_wear_of(&old->datum)->traps = tl_wear_traps(fold, &old->datum);
        old->fitted = false;
    }
    struct tl_booked *entry = entry_of(fold, datum);
    char serial[TL_SERIAL_CAP] = "";
    bool unnamed = wear->serial[0] == '\0' && before != NULL;
    if (unnamed) { /* the name stays known */
        memcpy(serial, tl_datum_wear(&before->datum)->serial, TL_SERIAL_CAP);
    }
    *entry =
        (struct tl_booked){.datum = *datum, .fitted = true, .corrected = corrected_in(fold, datum)};
    if (unnamed) {
        memcpy(tl_datum_wear_of(&entry->datum)->serial, serial, TL_SERIAL_CAP);
    }
}

static void
update_word(struct tl_fold *fold, struct tl_told *told, struct tl_held *held)
{
    const struct tl_wear *wear = tl_datum_wear(&held->datum);
    if (wear == NULL) {
        return;
    }
    bool voice = tl_datum_is_voice(&held->datum); /* noted when two have signed it */
    enum tl_refusal reason = voice ? TL_REFUSAL_UNKNOWN : tl_wear_check(fold, &held->datum);
    if (!tl_ends_suffice(&fold->list.ends, &fold->config->gear, held->datum.kind, held->datum.slot,
                         &wear->counted)) {
        reason = TL_REFUSAL_TOO_OLD;
    }
    if (reason != TL_REFUSAL_UNKNOWN) {
        tl_told_void(told, held, reason);
        fold->changes++;
    } else if (!voice) {
        note(fold, &held->datum);
    }
}

void
tl_wear_update(struct tl_fold *fold)
{
    for (uint32_t i = 0; i < fold->told_count; i++) {
        for (uint32_t k = 0; k < fold->told[i].held_count; k++) {
            update_word(fold, &fold->told[i], &fold->told[i].held[k]);
        }
    }
    for (uint32_t i = 0; i < fold->voice_count; i++) {
        const struct tl_voice *voice = &fold->voice[i];
        if (voice->confirmed_by != NULL && tl_datum_wear(&voice->held.datum) != NULL) {
            note(fold, &voice->held.datum);
        }
    }
}

void
tl_wear_ended(const struct tl_gear *gear, struct tl_list *list,
              const struct tl_listed_event *listed)
{
    struct tl_ended gone;
    struct tl_ended ended = {.event = listed->event,
                             .result = listed->result,
                             .barricade = listed->order_known && listed->order.barricade};
    if (!list->drill) {
        (void)tl_ends_take(&list->ends, gear, &ended, &gone);
    }
}

uint32_t
tl_wear_awaited(const struct tl_list *list)
{
    uint32_t awaited = 0;
    for (uint32_t i = 0; i < list->count; i++) {
        const struct tl_listed_event *listed = &list->event[i];
        bool on_a_wire = !listed->ended && listed->order.state != TL_ORDER_CANCELLED &&
                         !(listed->order_known && listed->order.barricade);
        awaited += on_a_wire ? 1 : 0;
    }
    return awaited;
}
