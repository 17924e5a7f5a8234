/* SPDX-License-Identifier: Apache-2.0 */
/*
 * refusals - what was refused since it was last said, and when it may be said again
 *
 * Each refusal is counted under (publisher, reason). A line says one such count and sets it back
 * to zero. Pure: the caller brings the clock.
 *
 * 1. In any second at most TL_REFUSALS_PER_PUBLISHER_HZ lines name one publisher, and at most
 *    TL_REFUSALS_PER_BUS_HZ lines leave in all.
 * 2. Nothing is forgotten: what may not be said now is in the count of a later line.
 * 3. Publishers take turns, so one that is refused all the time cannot hide another.
 */
#ifndef BROKER_RELAY_REFUSALS_H
#define BROKER_RELAY_REFUSALS_H

#include "proto/vocab/message.h"

enum {
    TL_REFUSAL_PUBLISHERS = TL_NODES_MAX + 1, /* and the one without a verified name */
    TL_REFUSAL_REASONS = TL_REFUSAL_EMPTY + 1 /* the relay gives none above */
};

/* Times of the last lines, oldest at `next` once all are used. */
struct tl_line_times {
    uint32_t used;
    uint32_t next;
    uint64_t at_ms[TL_REFUSALS_PER_BUS_HZ];
};

struct tl_refusal_count {
    uint32_t count;
    char topic[TL_TOPIC_CAP]; /* of the newest */
};
struct tl_refusal_page {
    char publisher[TL_ID_CAP];
    uint32_t next_reason; /* whose turn it is */
    uint32_t waiting;     /* reasons with a count */
    struct tl_line_times lines;
    struct tl_refusal_count by_reason[TL_REFUSAL_REASONS];
};

/* Zeroed is empty. Needs no closing. */
struct tl_refusal_book {
    uint32_t page_count;
    uint32_t next_page; /* whose turn it is */
    struct tl_line_times lines;
    struct tl_refusal_page page[TL_REFUSAL_PUBLISHERS];
};

/*
 * Count one refusal.
 *
 * publisher: a verified node id, or "" when there is none. reason: below TL_REFUSAL_REASONS.
 * topic: plain text.
 */
void tl_refusals_note(struct tl_refusal_book *book, const char *publisher, enum tl_refusal reason,
                      const char *topic);

/*
 * Take the lines that may be said now, at most TL_REFUSALS_MAX of them. now_ms: never goes back.
 * out: written always. Returns how many.
 */
uint32_t tl_refusals_take(struct tl_refusal_book *book, uint64_t now_ms, struct tl_refusals *out);

/* When the next line may be said: now_ms or later; UINT64_MAX when nothing waits. */
uint64_t tl_refusals_due_ms(const struct tl_refusal_book *book, uint64_t now_ms);

#endif
