/* SPDX-License-Identifier: Apache-2.0 */
/* signed.c - see signed.h. */
#include "broker/core/picture/signed.h"

#include <string.h>

#include "broker/core/picture/word.h"

static bool
counts(const struct tl_told *signer, uint64_t now_ms)
{
    return signer->live || now_ms - signer->away_ms <= TL_SIGNER_LOST_MS;
}

static uint64_t
expiry_ms(const struct tl_held *held)
{
    return held->said_ms + 1000ull * held->datum.as.override.valid_s;
}

static bool
is_signed(const struct tl_told *signer, const struct tl_held *held, enum tl_datum_kind kind,
          uint64_t now_ms)
{
    return held->datum.kind == kind && held->datum.known && !tl_datum_is_voice(&held->datum) &&
           counts(signer, now_ms);
}

/* The same word of another station, said within 60 s of this one; NULL = none. */
static const struct tl_told *
second_signer(const struct tl_fold *fold, const struct tl_told *first, const struct tl_held *held,
              uint64_t now_ms)
{
    for (uint32_t i = 0; i < fold->told_count; i++) {
        const struct tl_told *other = &fold->told[i];
        const struct tl_held *same = tl_told_held(other, held->datum.kind, held->datum.slot);
        if (other == first || same == NULL || !counts(other, now_ms) ||
            !tl_datum_same_value(&same->datum, &held->datum)) {
            continue;
        }
        uint64_t between = same->said_ms > held->said_ms ? same->said_ms - held->said_ms
                                                         : held->said_ms - same->said_ms;
        if (between <= TL_CONFIRM_BY_MS) {
            return other;
        }
    }
    return NULL;
}

/* Already there, signed by the other of the two. */
static bool
is_listed(const struct tl_fold *fold, const struct tl_override *override,
          const struct tl_told *signer)
{
    for (uint32_t i = 0; i < fold->signed_count; i++) {
        const struct tl_signed *entry = &fold->signed_by_two[i];
        if (entry->override.rule == override->rule && entry->confirmed_by == signer &&
            strncmp(entry->override.station, override->station, TL_ID_CAP) == 0) {
            return true;
        }
    }
    return false;
}

static void
add_override(struct tl_fold *fold, const struct tl_told *signer, const struct tl_held *held,
             uint64_t now_ms)
{
    const struct tl_override *override = &held->datum.as.override;
    const struct tl_told *second = second_signer(fold, signer, held, now_ms);
    const struct tl_held *same =
        second != NULL ? tl_told_held(second, TL_DATUM_OVERRIDE, held->datum.slot) : NULL;
    uint64_t until_ms = expiry_ms(held);
    if (same != NULL && expiry_ms(same) < until_ms) {
        until_ms = expiry_ms(same); /* from the first signature */
    }
    if (now_ms >= until_ms || is_listed(fold, override, signer) ||
        fold->signed_count == TL_OVERRIDES_MAX) {
        return;
    }
    fold->signed_by_two[fold->signed_count++] = (struct tl_signed){
        .override = *override, .said_by = signer, .confirmed_by = second, .until_ms = until_ms};
}

static bool
is_lost(const struct tl_fold *fold, const char *validator)
{
    for (uint32_t i = 0; i < fold->lost_count; i++) {
        if (strncmp(fold->lost_validator[i], validator, TL_ID_CAP) == 0) {
            return true;
        }
    }
    return false;
}

static bool
is_out(const struct tl_fold *fold, const char *validator)
{
    for (uint32_t i = 0; i < fold->out_count; i++) {
        if (strncmp(fold->out_of_service[i], validator, TL_ID_CAP) == 0) {
            return true;
        }
    }
    return false;
}

static void
add_out_of_service(struct tl_fold *fold, const struct tl_told *signer, const struct tl_held *held,
                   uint64_t now_ms)
{
    const char *validator = held->datum.as.out_of_service;
    if (fold->out_count == TL_VALIDATORS_MAX || !is_lost(fold, validator) ||
        is_out(fold, validator) || second_signer(fold, signer, held, now_ms) == NULL) {
        return;
    }
    memcpy(fold->out_of_service[fold->out_count++], validator, TL_ID_CAP);
}

void
tl_signed_update(struct tl_fold *fold, uint64_t now_ms)
{
    fold->signed_count = 0;
    fold->out_count = 0;
    for (uint32_t i = 0; i < fold->told_count; i++) {
        const struct tl_told *signer = &fold->told[i];
        for (uint32_t k = 0; k < signer->held_count; k++) {
            const struct tl_held *held = &signer->held[k];
            if (is_signed(signer, held, TL_DATUM_OVERRIDE, now_ms)) {
                add_override(fold, signer, held, now_ms);
            } else if (is_signed(signer, held, TL_DATUM_OUT_OF_SERVICE, now_ms)) {
                add_out_of_service(fold, signer, held, now_ms);
            }
        }
    }
}

const struct tl_signed *
tl_override_of(const struct tl_fold *fold, uint32_t rule, const char *station)
{
    for (uint32_t i = 0; i < fold->signed_count; i++) {
        const struct tl_signed *entry = &fold->signed_by_two[i];
        if (entry->confirmed_by != NULL && entry->override.rule == rule &&
            strncmp(entry->override.station, station, TL_ID_CAP) == 0) {
            return entry;
        }
    }
    return NULL;
}
