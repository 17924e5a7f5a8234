/* SPDX-License-Identifier: Apache-2.0 */
/* hear.c - see hear.h. */
#include "proto/link/hear.h"

#include <string.h>

void
tl_hear_init(struct tl_hear *hear, const struct tl_config *config, uint64_t incarnation)
{
    memset(hear, 0, sizeof *hear);
    hear->incarnation = incarnation;
    for (uint32_t i = 0; i < config->node_count && hear->count < TL_VALIDATORS_MAX; i++) {
        if (config->node[i].kind == TL_NODE_VALIDATOR) {
            memcpy(hear->validator[hear->count++].id, config->node[i].id, TL_ID_CAP);
        }
    }
}

void
tl_hear_sent(struct tl_hear *hear, uint64_t nonce, uint64_t now_ms)
{
    hear->nonce[hear->next_nonce % TL_NONCES_KEPT] = (struct tl_nonce){nonce, now_ms};
    hear->next_nonce++;
}

struct tl_heard *
tl_hear_find(struct tl_hear *hear, const char *validator)
{
    for (uint32_t i = 0; i < hear->count; i++) {
        if (strncmp(hear->validator[i].id, validator, TL_ID_CAP) == 0) {
            return &hear->validator[i];
        }
    }
    return NULL;
}

static const struct tl_nonce *
find_nonce(const struct tl_hear *hear, uint64_t nonce)
{
    for (uint32_t i = 0; i < TL_NONCES_KEPT; i++) {
        if (nonce != 0 && hear->nonce[i].nonce == nonce) {
            return &hear->nonce[i];
        }
    }
    return NULL;
}

/* A new life of a validator starts from nothing; false for an older life. */
static bool
take_incarnation(struct tl_heard *heard, uint64_t incarnation)
{
    if (incarnation < heard->incarnation) {
        heard->older = incarnation;
        heard->older_count += heard->older_count < TL_HEAR_OLDER_MIN ? 1 : 0;
        return false;
    }
    heard->older_count = 0;
    if (incarnation > heard->incarnation) {
        char id[TL_ID_CAP];
        memcpy(id, heard->id, sizeof id);
        memset(heard, 0, sizeof *heard);
        memcpy(heard->id, id, sizeof id);
        heard->incarnation = incarnation;
    }
    return true;
}

static void
date_verdict(struct tl_heard *heard, uint64_t sent_ms, uint32_t oldest_ms)
{
    if (!heard->dated || sent_ms > heard->dated_ms) {
        heard->dated = true;
        heard->dated_ms = sent_ms;
        heard->dated_oldest_ms = oldest_ms;
    }
}

bool
tl_hear_verdict(struct tl_hear *hear, const struct tl_envelope *envelope, bool *new_tick)
{
    struct tl_heard *heard = tl_hear_find(hear, envelope->node);
    *new_tick = false;
    if (heard == NULL || !take_incarnation(heard, envelope->incarnation)) {
        return false;
    }
    if (envelope->as.verdict.tick > heard->tick && envelope->as.verdict.is_tick) {
        heard->tick = envelope->as.verdict.tick;
        *new_tick = true;
    }
    if (heard->has_verdict && envelope->sequence <= heard->verdict_sequence) {
        return false;
    }
    heard->has_verdict = true;
    heard->verdict_sequence = envelope->sequence;
    heard->event = envelope->event;
    heard->verdict = envelope->as.verdict;
    if (heard->waiting && heard->waiting_verdict <= envelope->sequence) {
        heard->waiting = false;
        date_verdict(heard, heard->waiting_sent_ms, heard->waiting_oldest_ms);
    }
    return true;
}

static void
take_answer(struct tl_hear *hear, struct tl_heard *heard, const struct tl_receipt *receipt)
{
    const struct tl_nonce *nonce = find_nonce(hear, receipt->nonce);
    if (nonce == NULL) {
        return;
    }
    if (!heard->answered || nonce->sent_ms > heard->answered_sent_ms) {
        heard->answered = true;
        heard->answered_sent_ms = nonce->sent_ms;
    }
    if (heard->has_verdict && receipt->verdict <= heard->verdict_sequence) {
        date_verdict(heard, nonce->sent_ms, receipt->oldest_ms);
    } else if (receipt->verdict != 0) {
        heard->waiting = true;
        heard->waiting_verdict = receipt->verdict;
        heard->waiting_sent_ms = nonce->sent_ms;
        heard->waiting_oldest_ms = receipt->oldest_ms;
    }
}

struct tl_heard *
tl_hear_receipt(struct tl_hear *hear, const struct tl_envelope *envelope)
{
    const struct tl_receipt *receipt = &envelope->as.receipt;
    struct tl_heard *heard = tl_hear_find(hear, envelope->node);
    if (heard == NULL || receipt->for_incarnation != hear->incarnation ||
        !take_incarnation(heard, envelope->incarnation) ||
        envelope->sequence <= heard->receipt_sequence) {
        return NULL;
    }
    heard->receipt_sequence = envelope->sequence;
    heard->through = receipt->through;
    take_answer(hear, heard, receipt);
    return heard;
}

uint64_t
tl_heard_older(const struct tl_heard *heard)
{
    return heard->older_count == TL_HEAR_OLDER_MIN ? heard->older : 0;
}

bool
tl_heard_is(const struct tl_heard *heard, uint64_t now_ms)
{
    return heard->answered && now_ms - heard->answered_sent_ms <= TL_LOST_MS;
}

uint64_t
tl_heard_verdict_age_ms(const struct tl_heard *heard, uint64_t now_ms)
{
    return heard->has_verdict && heard->dated ? now_ms - heard->dated_ms : UINT64_MAX;
}

uint64_t
tl_heard_stands_on_ms(const struct tl_heard *heard, uint64_t now_ms)
{
    uint64_t age_ms = tl_heard_verdict_age_ms(heard, now_ms);
    return age_ms == UINT64_MAX ? age_ms : age_ms + heard->dated_oldest_ms;
}

bool
tl_heard_is_fresh(const struct tl_heard *heard, uint64_t now_ms)
{
    return tl_heard_verdict_age_ms(heard, now_ms) <= TL_LOST_MS;
}

bool
tl_hear_any(const struct tl_hear *hear, uint64_t now_ms)
{
    for (uint32_t i = 0; i < hear->count; i++) {
        if (tl_heard_is(&hear->validator[i], now_ms)) {
            return true;
        }
    }
    return false;
}

void
tl_hear_echo(const struct tl_hear *hear, struct tl_envelope *envelope)
{
    envelope->echo_count = 0;
    for (uint32_t i = 0; i < hear->count; i++) {
        const struct tl_heard *heard = &hear->validator[i];
        if (heard->tick != 0) {
            struct tl_echo *echo = &envelope->echo[envelope->echo_count++];
            memcpy(echo->validator, heard->id, TL_ID_CAP);
            echo->incarnation = heard->incarnation;
            echo->tick = heard->tick;
        }
    }
}
