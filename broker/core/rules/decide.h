/* SPDX-License-Identifier: Apache-2.0 */
/*
 * decide.h - is the combined state ready? The one judgement.
 *
 * Pure, total, bounded; no floating point, no allocation. READY is one wide constant and needs
 * both that no rule speaks against it and that every fact it rests on is positively there
 * (proven.c asks a second time, in another way). Otherwise the full set of causes, in the fixed
 * order: what is wrong or overdue, what is held, what is not yet said, notes; within each the order
 * of the table of rules, and within a rule that of the configuration.
 */
#ifndef TL_CORE_RULES_DECIDE_H
#define TL_CORE_RULES_DECIDE_H

#include "broker/core/events/events.h"
#include "broker/core/rules/ask.h"

enum {
    TL_NOTICES_MAX = 16,
    TL_NOTICE_MS = 60000
};

/* Something seen about a publisher that people must know; it lapses 60 s after the last time. */
struct tl_notice {
    uint32_t rule; /* REFUSED_PUBLISHER, OTHER_BODY */
    char node[TL_ID_CAP];
    enum tl_refusal reason;
    uint32_t schema; /* NEWER_SCHEMA: the one it speaks, for people alone; 0 = not read */
    uint64_t incarnation;
    uint64_t first_ms;
    uint64_t last_ms;
    uint64_t count;
};
struct tl_peer_state {
    char id[TL_ID_CAP];
    uint64_t incarnation;
    bool lost;
    bool differ;
    uint64_t differ_back_ms; /* when it stopped to differ; 0 = never did */
    bool keys_differ;
};
struct tl_bus_condition {
    char id[TL_ID_CAP];
    bool degraded;
};
/* What the validator knows beside the stations. */
struct tl_outside {
    bool recorder_lost; /* one is configured, and none is heard */
    char recorder[TL_ID_CAP];
    uint32_t peer_count;
    struct tl_peer_state peer[TL_VALIDATORS_MAX];
    uint32_t bus_count;
    struct tl_bus_condition bus[TL_BUSES_MAX];
    uint32_t notice_count;
    struct tl_notice notice[TL_NOTICES_MAX];
    uint32_t flood_places; /* stations that owe more alerts than can be read; bits of place */
    struct tl_predicted predicted; /* event pass 0 = nothing is computed */
    uint64_t sea_late_ms; /* since when wind or motion is worse than it counts on; 0 = not */
    uint32_t expected_count;
    struct tl_expected expected[TL_ENGINES_MAX]; /* of the last trap of each engine */
};

struct tl_decision {
    enum tl_word word;
    enum tl_cause_kind kind; /* of the first cause */
    uint32_t forcing;        /* causes that force or hold */
    uint32_t cause_count;    /* in their fixed order, notes last */
    struct tl_cause cause[TL_CAUSES_MAX];
    bool clear_refused;
    uint32_t clear_refused_rule;
    struct tl_ask ask; /* what should be computed */
};

/* Every output field is written. */
void tl_decide(const struct tl_fold *fold, const struct tl_outside *outside, uint64_t now_ms,
               struct tl_decision *out);

/*
 * Every fact that READY rests on is there: asked without the rules, so that a rule that failed to
 * speak cannot make READY. A rule that is switched off is not asked for.
 */
bool tl_is_proven(const struct tl_fold *fold, const struct tl_outside *outside, uint64_t now_ms);

#endif
