/* SPDX-License-Identifier: Apache-2.0 */
/*
 * hear.h - which validators this node hears, and how old their verdicts are, by its own clock.
 *
 * Pure: no socket, no clock. A beat carries a nonce (its sequence). A validator answers it with a
 * receipt that says which verdict stood when it answered. Hence two ages, neither of which trusts
 * the time of arrival:
 *
 *   heard   the newest nonce that this validator answered was sent at most 800 ms ago
 *   fresh   the verdict in hand is at least as new as one that stood when a nonce was answered
 *           that was sent at most 800 ms ago
 *
 * and a third, from end to end: the receipt also says how old the oldest beat was that counted when
 * it answered. What the verdict stands on is older than the verdict by that much; without it two
 * faults, one on either side of the validator, would each be allowed their 800 ms.
 *
 * Invariants:
 *  1. A frame that arrives late, in order and without gaps, makes nothing fresher: the age counts
 *     from when the answered nonce was *sent*.
 *  2. A validator's older incarnation is never listened to again.
 *  3. Only ticks are echoed; a verdict between ticks repeats the tick's number.
 */
#ifndef TL_LINK_HEAR_H
#define TL_LINK_HEAR_H

#include "proto/vocab/config.h"

enum {
    TL_HEAR_OLDER_MIN = 3 /* one may be late; so many in a row are a program that runs */
};

struct tl_nonce {
    uint64_t nonce;
    uint64_t sent_ms;
};

struct tl_heard {
    char id[TL_ID_CAP];
    uint64_t incarnation; /* 0 = never */
    uint64_t older;       /* an older one that was refused last */
    uint32_t older_count; /* such frames in a row */
    uint64_t tick;        /* newest tick, 0 = none */
    bool answered;
    uint64_t answered_sent_ms; /* when the newest answered nonce was sent */
    /* verdict in hand */
    bool has_verdict;
    uint64_t verdict_sequence;
    struct tl_event event;
    struct tl_verdict verdict;
    bool dated;
    uint64_t dated_ms;        /* the verdict is no older than this */
    uint32_t dated_oldest_ms; /* what it stood on was older than that by this much */
    /* an answer that stands for a verdict not yet in hand */
    bool waiting;
    uint64_t waiting_verdict;
    uint64_t waiting_sent_ms;
    uint32_t waiting_oldest_ms;
    /* coverage of changes, from the newest receipt */
    uint64_t receipt_sequence;
    uint64_t through;
};

struct tl_hear {
    uint64_t incarnation; /* own */
    uint32_t count;
    struct tl_heard validator[TL_VALIDATORS_MAX];
    struct tl_nonce nonce[TL_NONCES_KEPT];
    uint32_t next_nonce;
};

/* Start hearing nobody. Validators are those of the configuration, in its order. */
void tl_hear_init(struct tl_hear *hear, const struct tl_config *config, uint64_t incarnation);

/* A beat with that sequence leaves now. */
void tl_hear_sent(struct tl_hear *hear, uint64_t nonce, uint64_t now_ms);

/* NULL when the node is not a configured validator. */
struct tl_heard *tl_hear_find(struct tl_hear *hear, const char *validator);

/*
 * A verified verdict. Returns true when it is newer than the one in hand. *new_tick is set when it
 * carries a tick number not heard before (the moment to beat).
 */
bool tl_hear_verdict(struct tl_hear *hear, const struct tl_envelope *envelope, bool *new_tick);

/*
 * A verified receipt addressed to this node. Returns the validator when the receipt is the newest
 * from it and for this incarnation, else NULL. The caller reads the refused ones from it.
 */
struct tl_heard *tl_hear_receipt(struct tl_hear *hear, const struct tl_envelope *envelope);

/*
 * The incarnation of a life that speaks in place of the newest that was heard, and is refused for it:
 * that validator was started with a lower number. 0 when there is none.
 */
uint64_t tl_heard_older(const struct tl_heard *heard);

bool tl_heard_is(const struct tl_heard *heard, uint64_t now_ms);
/* Age of the verdict in hand, ms; UINT64_MAX when it cannot be dated. */
uint64_t tl_heard_verdict_age_ms(const struct tl_heard *heard, uint64_t now_ms);
/* Age of the oldest beat that it stands on, ms; UINT64_MAX when it cannot be dated. */
uint64_t tl_heard_stands_on_ms(const struct tl_heard *heard, uint64_t now_ms);
bool tl_heard_is_fresh(const struct tl_heard *heard, uint64_t now_ms);
bool tl_hear_any(const struct tl_hear *hear, uint64_t now_ms);

/* Newest tick of each validator, for a beat or a change. */
void tl_hear_echo(const struct tl_hear *hear, struct tl_envelope *envelope);

#endif
