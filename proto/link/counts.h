/* SPDX-License-Identifier: Apache-2.0 */
/*
 * counts.h - what passes through the sockets of a node, counted for the ship's monitoring
 *
 * Pure: numbers in, numbers out. Every counter is since the start and never falls; nothing is
 * decided by one. The link counts (link.h); tl_counts_put lays them on the page of the program.
 *
 * A beat is missed when its sequence is not the next one of its node's life, also when it comes
 * later in another order; it is late when it comes more than two intervals after the one before.
 */
#ifndef TL_LINK_COUNTS_H
#define TL_LINK_COUNTS_H

#include "proto/metrics/page.h"
#include "proto/vocab/config.h"

enum {
    TL_COUNTS_REASONS = TL_REFUSAL_LOWER_COUNT + 1,
    TL_COUNTS_LATE_MS = 2 * TL_BEAT_MS
};

struct tl_counted_beats {
    uint64_t incarnation; /* 0 = none yet */
    uint64_t sequence;
    uint64_t heard_ms;
    uint64_t missed, late;
};

struct tl_counts {
    uint64_t received[TL_TOPIC_KINDS];
    uint64_t sent[TL_TOPIC_KINDS];
    uint64_t received_bytes, sent_bytes; /* received: each frame of each bus; sent: once for all */
    uint64_t unsent;                     /* own messages that no bus took */
    uint64_t refused[TL_COUNTS_REASONS];
    uint64_t verified;
    struct tl_counted_beats beats[TL_NODES_MAX]; /* by place in the configuration's nodes */
};

/* A verified message has been taken. */
void tl_counts_took(struct tl_counts *counts, const struct tl_config *config,
                    const struct tl_envelope *envelope, enum tl_topic_kind kind, uint64_t now_ms);
void tl_counts_refused(struct tl_counts *counts, enum tl_refusal reason);

/* Lay a row of counters on a page: one for each kind of topic, or each reason that has a name. */
void tl_counts_put_topics(struct tl_metrics_page *page, enum tl_metric metric,
                          const uint64_t count[TL_TOPIC_KINDS]);
void tl_counts_put_reasons(struct tl_metrics_page *page, const uint64_t *count, size_t reasons);
void tl_counts_put_beats(struct tl_metrics_page *page, enum tl_metric metric,
                         const struct tl_counts *counts, const struct tl_config *config);

#endif
