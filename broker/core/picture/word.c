/* SPDX-License-Identifier: Apache-2.0 */
/* word.c - see word.h; signed.c has overrides and validators out of service. */
#include "broker/core/picture/word.h"

#include <string.h>

#include "broker/core/picture/fold_internal.h"
#include "broker/core/picture/signed.h"

static bool
is_over_age(const struct tl_fold *fold, const struct tl_held *held, uint64_t now_ms)
{
    uint32_t valid_s = fold->config->ship.valid_s[held->datum.kind];
    return valid_s != 0 && now_ms - held->said_ms > 1000ull * valid_s;
}

const struct tl_voice *
tl_voice_of(const struct tl_fold *fold, const struct tl_told *told, enum tl_datum_kind kind,
            uint32_t slot)
{
    for (uint32_t i = 0; i < fold->voice_count; i++) {
        const struct tl_voice *voice = &fold->voice[i];
        if (voice->told == told && voice->held.datum.kind == kind &&
            voice->held.datum.slot == slot && voice->confirmed_by != NULL) {
            return voice;
        }
    }
    return NULL;
}

const struct tl_held *
tl_word(const struct tl_fold *fold, uint64_t now_ms, const struct tl_told *told,
        enum tl_datum_kind kind, uint32_t slot)
{
    if (told == NULL) {
        return NULL;
    }
    const struct tl_held *held = tl_told_held(told, kind, slot);
    const struct tl_voice *voice = tl_voice_of(fold, told, kind, slot);
    if (voice != NULL && !(told->live && held != NULL && held->datum.known)) {
        held = &voice->held;
    }
    return held != NULL && !is_over_age(fold, held, now_ms) ? held : NULL;
}

const struct tl_held *
tl_word_for(const struct tl_fold *fold, uint64_t now_ms, const struct tl_told *told,
            enum tl_datum_kind kind, uint32_t slot, struct tl_event event)
{
    const struct tl_held *held = tl_word(fold, now_ms, told, kind, slot);
    bool stated = held != NULL && held->datum.known && tl_datum_is_for(&held->datum, event);
    return stated ? held : NULL;
}

/* The station speaks for itself again: what was said for it ends, and a difference is told. */
static void
end_by_own_word(struct tl_fold *fold, struct tl_told *signer, struct tl_held *held, uint64_t now_ms)
{
    struct tl_told *told = tl_fold_told(fold, held->datum.voice_for);
    const struct tl_held *own =
        told != NULL ? tl_told_held(told, held->datum.kind, held->datum.slot) : NULL;
    if (told == NULL || !told->live || own == NULL || !own->datum.known) {
        return;
    }
    struct tl_datum said = held->datum;
    memset(said.voice_for, 0, sizeof said.voice_for);
    if (!tl_datum_same_value(&said, &own->datum)) {
        told->voice_differed = true;
        told->voice_differs_ms = now_ms;
    }
    tl_told_void(signer, held, TL_REFUSAL_OWN_WORD);
    fold->changes++;
}

static uint64_t
apart(uint64_t a, uint64_t b)
{
    return a > b ? a - b : b - a;
}

/* The entry of that station and name, or NULL. */
static struct tl_voice *
find(struct tl_fold *fold, const struct tl_told *told, const struct tl_held *held)
{
    for (uint32_t i = 0; i < fold->voice_count; i++) {
        struct tl_voice *voice = &fold->voice[i];
        if (voice->told == told && voice->held.datum.kind == held->datum.kind &&
            voice->held.datum.slot == held->datum.slot) {
            return voice;
        }
    }
    return NULL;
}

/*
 * A place for a new word; NULL when there is none. One toward safe takes, of many, that of the last
 * that is not: what is then not known keeps READY away too.
 */
static struct tl_voice *
place(struct tl_fold *fold, const struct tl_datum *word)
{
    if (fold->voice_count < TL_VOICED_MAX) {
        return &fold->voice[fold->voice_count++];
    }
    for (uint32_t i = fold->voice_count; tl_datum_is_safeward(word) && i-- > 0;) {
        if (!tl_datum_is_safeward(&fold->voice[i].held.datum)) {
            return &fold->voice[i];
        }
    }
    return NULL;
}

/*
 * One more signature. Two that differ confirm nothing, whatever a third says: what is toward safe
 * of them stands, else the later one, unconfirmed.
 */
static void
sign(struct tl_fold *fold, const struct tl_told *signer, const struct tl_held *held)
{
    const struct tl_told *told = tl_fold_told_const(fold, held->datum.voice_for);
    if (told == NULL) {
        return; /* no station */
    }
    struct tl_held word = *held;
    memset(word.datum.voice_for, 0, sizeof word.datum.voice_for);
    struct tl_voice *voice = find(fold, told, held);
    if (voice == NULL) {
        voice = place(fold, &word.datum);
        if (voice != NULL) {
            *voice = (struct tl_voice){.told = told, .held = word, .said_by = signer};
        }
        return;
    }
    if (tl_datum_same_value(&voice->held.datum, &word.datum)) {
        bool in_time = apart(voice->held.said_ms, word.said_ms) <= TL_CONFIRM_BY_MS;
        voice->confirmed_by = voice->confirmed_by == NULL && in_time ? signer : voice->confirmed_by;
        return;
    }
    bool safer = tl_datum_is_safeward(&word.datum) && !tl_datum_is_safeward(&voice->held.datum);
    bool later = word.said_ms > voice->held.said_ms &&
                 tl_datum_is_safeward(&word.datum) == tl_datum_is_safeward(&voice->held.datum);
    if (safer || later) {
        voice->held = word;
        voice->said_by = signer;
    }
    voice->disputed = true;
}

/*
 * CLEAR of another than the owner is lifted, for a station that is lost, by the owner and primary.
 */
static bool
may_confirm(const struct tl_fold *fold, const struct tl_voice *voice)
{
    if (voice->held.datum.kind != TL_DATUM_DECK || voice->confirmed_by == NULL ||
        voice->held.datum.as.deck.state != TL_DECK_NO_FOUL) {
        return true;
    }
    const struct tl_told *owner = tl_fold_told_const(fold, fold->config->clear_owner);
    const struct tl_told *primary = tl_told_of(fold, TL_STATION_PRIMARY, 0);
    return (voice->said_by == owner && voice->confirmed_by == primary) ||
           (voice->said_by == primary && voice->confirmed_by == owner) || voice->told == owner ||
           voice->told == primary;
}

static void
update_voice(struct tl_fold *fold, uint64_t now_ms)
{
    fold->voice_count = 0;
    for (uint32_t i = 0; i < fold->told_count; i++) {
        struct tl_told *signer = &fold->told[i];
        for (uint32_t k = 0; k < signer->held_count; k++) {
            struct tl_held *held = &signer->held[k];
            if (!tl_datum_is_voice(&held->datum) || !held->datum.known) {
                continue;
            }
            end_by_own_word(fold, signer, held, now_ms);
            if (held->datum.known) {
                sign(fold, signer, held);
            }
        }
    }
    for (uint32_t i = 0; i < fold->voice_count; i++) {
        if (fold->voice[i].disputed || !may_confirm(fold, &fold->voice[i])) {
            fold->voice[i].confirmed_by = NULL;
        }
    }
}

void
tl_people_update(struct tl_fold *fold, uint64_t now_ms)
{
    update_voice(fold, now_ms);
    tl_signed_update(fold, now_ms);
}
