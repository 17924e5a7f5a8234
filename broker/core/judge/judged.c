/* SPDX-License-Identifier: Apache-2.0 */
/* judged.c - see judged.h. */
#include "broker/core/judge/judged.h"

#include <string.h>

#include "broker/core/judge/publish.h"
#include "broker/core/judge/state.h"

static struct tl_judged
row_of(const char *node, enum tl_judged_kind kind, uint64_t now_ms)
{
    struct tl_judged row = {.now_ms = now_ms, .kind = kind};
    memcpy(row.node, node, strnlen(node, TL_ID_CAP - 1));
    return row;
}

/* ---- rows ---- */

static void
send_waiting(struct tl_judge *judge)
{
    struct tl_judged_book *book = &judge->judged;
    if (book->waits) {
        book->waits = false;
        tl_publish_judged(judge, &book->row);
    }
}

static void
hold(struct tl_judge *judge, const struct tl_judged *row)
{
    send_waiting(judge);
    judge->judged.row = *row;
    judge->judged.waits = true;
}

static void
hold_sea(struct tl_judge *judge)
{
    if (judge->judged.sea_waits) {
        judge->judged.sea_waits = false;
        hold(judge, &judge->judged.sea);
    }
}

void
tl_judged_take(struct tl_judge *judge, const struct tl_judged *row)
{
    hold_sea(judge);
    hold(judge, row);
}

void
tl_judged_station(struct tl_judge *judge, const struct tl_told *told, enum tl_judged_kind kind,
                  uint64_t sequence, uint64_t now_ms)
{
    struct tl_judged row = row_of(told->node->id, kind, now_ms);
    row.incarnation = told->incarnation;
    row.sequence = sequence;
    tl_judged_take(judge, &row);
}

void
tl_judged_change(struct tl_judge *judge, const struct tl_envelope *envelope,
                 const struct tl_folded *folded, uint64_t now_ms)
{
    bool refused = folded->kind == TL_FOLD_REFUSED;
    struct tl_judged row =
        row_of(envelope->node, refused ? TL_JUDGED_REFUSED : TL_JUDGED_APPLIED, now_ms);
    row.incarnation = envelope->incarnation;
    row.sequence = envelope->sequence;
    row.reason = folded->reason;
    row.said_age_ms = envelope->said_age_ms;
    tl_judged_take(judge, &row);
}

void
tl_judged_beat(struct tl_judge *judge, const struct tl_envelope *envelope,
               const struct tl_folded *folded, uint64_t now_ms)
{
    struct tl_judged_book *book = &judge->judged;
    struct tl_judged row =
        row_of(envelope->node, folded->fresh ? TL_JUDGED_BEAT : TL_JUDGED_STALE_BEAT, now_ms);
    row.incarnation = envelope->incarnation;
    row.sequence = envelope->sequence;
    if (folded->sampled) {
        book->sea_waits = false; /* of the one before nothing is left */
    }
    if (folded->changed) {
        tl_judged_take(judge, &row);
    } else if (folded->sampled) {
        book->sea = row;
        book->sea_waits = true;
    }
}

/* ---- what is outside ---- */

static void
see(struct tl_judge *judge, const struct tl_sighting *seen, uint64_t now_ms)
{
    struct tl_judged row = row_of(judge->me, TL_JUDGED_SEEN, now_ms);
    row.incarnation = judge->incarnation;
    row.seen = *seen;
    tl_judged_take(judge, &row);
}

static void
see_node(struct tl_judge *judge, enum tl_rule rule, const char *node, uint64_t incarnation,
         bool there, uint64_t now_ms)
{
    struct tl_sighting seen = {.rule = (uint32_t)rule, .incarnation = incarnation, .gone = !there};
    memcpy(seen.node, node, TL_ID_CAP);
    see(judge, &seen, now_ms);
}

static void
see_peers(struct tl_judge *judge, uint64_t now_ms)
{
    for (uint32_t i = 0; i < judge->outside.peer_count; i++) {
        const struct tl_peer_state *now = &judge->outside.peer[i];
        const struct tl_peer_state *told = &judge->judged.seen.peer[i];
        if (now->lost != told->lost || now->incarnation != told->incarnation) {
            see_node(judge, TL_RULE_VALIDATOR_LOST, now->id, now->incarnation, now->lost, now_ms);
        }
        if (now->differ != told->differ) {
            see_node(judge, TL_RULE_VALIDATORS_DIFFER, now->id, now->incarnation, now->differ,
                     now_ms);
        }
        if (now->keys_differ != told->keys_differ) {
            see_node(judge, TL_RULE_KEYS_DIFFER, now->id, now->incarnation, now->keys_differ,
                     now_ms);
        }
    }
}

static void
see_buses(struct tl_judge *judge, uint64_t now_ms)
{
    const struct tl_outside *told = &judge->judged.seen;
    for (uint32_t i = 0; i < judge->outside.bus_count; i++) {
        const struct tl_bus_condition *now = &judge->outside.bus[i];
        if (now->degraded != (i < told->bus_count && told->bus[i].degraded)) {
            see_node(judge, TL_RULE_BUS_DEGRADED, now->id, 0, now->degraded, now_ms);
        }
    }
}

static void
see_notice(struct tl_judge *judge, const struct tl_notice *notice, bool gone, uint64_t now_ms)
{
    struct tl_sighting seen = {.rule = notice->rule,
                               .incarnation = notice->incarnation,
                               .reason = notice->reason,
                               .gone = gone};
    memcpy(seen.node, notice->node, TL_ID_CAP);
    see(judge, &seen, now_ms);
}

static bool
same_notice(const struct tl_notice *a, const struct tl_notice *b)
{
    return a->rule == b->rule && a->reason == b->reason && a->incarnation == b->incarnation &&
           strncmp(a->node, b->node, TL_ID_CAP) == 0;
}

/* New ones stand last, so what is left of those told is a part of them in the same order. */
static void
see_notices(struct tl_judge *judge, uint64_t now_ms)
{
    const struct tl_outside *told = &judge->judged.seen;
    const struct tl_outside *now = &judge->outside;
    uint32_t at = 0;
    for (uint32_t i = 0; i < told->notice_count; i++) {
        if (at < now->notice_count && same_notice(&told->notice[i], &now->notice[at])) {
            at++;
        } else {
            see_notice(judge, &told->notice[i], true, now_ms);
        }
    }
    for (; at < now->notice_count; at++) {
        see_notice(judge, &now->notice[at], false, now_ms);
    }
}

static void
see_twins(struct tl_judge *judge, uint64_t now_ms)
{
    for (uint32_t i = 0; i < judge->fold.told_count; i++) {
        const struct tl_told *told = &judge->fold.told[i];
        uint32_t bit = 1u << i;
        if (told->twin != ((judge->judged.seen_twins & bit) != 0)) {
            see_node(judge, TL_RULE_TWO_WRITERS, told->node->id, told->incarnation, told->twin,
                     now_ms);
            judge->judged.seen_twins ^= bit;
        }
    }
}

void
tl_judged_outside(struct tl_judge *judge, uint64_t now_ms)
{
    struct tl_judged_book *book = &judge->judged;
    const struct tl_outside *now = &judge->outside;
    see_twins(judge, now_ms);
    if (now->recorder_lost != book->seen.recorder_lost) {
        see_node(judge, TL_RULE_RECORDER_LOST, now->recorder, 0, now->recorder_lost, now_ms);
    }
    see_peers(judge, now_ms);
    see_buses(judge, now_ms);
    see_notices(judge, now_ms);
    book->seen = *now;
}

/* ---- outcomes ---- */

/* All but the inputs. */
static void
fill_outcome(struct tl_judge *judge, struct tl_judgement *outcome)
{
    const struct tl_decision *decision = &judge->decision;
    memset(outcome, 0, sizeof *outcome);
    outcome->word = decision->word == TL_WORD_READY ? TL_WORD_READY : TL_WORD_NOT_READY;
    outcome->cause_count = decision->cause_count;
    if (decision->cause_count > 0) {
        outcome->rule = decision->cause[0].rule;
        memcpy(outcome->station, decision->cause[0].station, TL_ID_CAP);
    }
    tl_state_causes(decision, outcome->causes);
    tl_state_digest(judge, outcome->held);
}

static bool
is_same(const struct tl_judgement *a, const struct tl_judgement *b)
{
    return a->word == b->word && memcmp(a->causes, b->causes, sizeof a->causes) == 0 &&
           memcmp(a->held, b->held, sizeof a->held) == 0;
}

void
tl_judged_outcome(struct tl_judge *judge, uint64_t now_ms)
{
    struct tl_judged_book *book = &judge->judged;
    struct tl_judgement outcome;
    fill_outcome(judge, &outcome);
    bool news = !is_same(&outcome, &book->told);
    if (!book->waits && !news) {
        return; /* what stations have said is another only with an input, or with what is held */
    }
    if (book->sea_waits && book->sea.now_ms == now_ms) {
        hold_sea(judge); /* its readings are of this judgement */
    }
    if (!book->waits) {
        struct tl_judged row = row_of(judge->me, TL_JUDGED_TIME, now_ms);
        row.incarnation = judge->incarnation;
        tl_judged_take(judge, &row);
    }
    tl_state_inputs(judge, outcome.inputs);
    book->told = outcome;
    book->row.outcome = outcome;
    send_waiting(judge);
}

/* ---- bases ---- */

void
tl_judged_init(struct tl_judge *judge)
{
    struct tl_judged_book *book = &judge->judged;
    memset(book, 0, sizeof *book);
    book->seen = judge->outside;
}

void
tl_judged_recorder(struct tl_judge *judge, uint64_t now_ms)
{
    struct tl_judged_book *book = &judge->judged;
    bool new = book->recorder_ms == 0 || now_ms - book->recorder_ms > TL_LOST_MS;
    book->recorder_ms = now_ms;
    if (new) { /* what was told in between may be missing there */
        book->base_gap_ms = TL_BASE_FIRST_MS;
        book->base_ms = now_ms + TL_BASE_FIRST_MS;
    }
}

void
tl_judged_base(struct tl_judge *judge, uint64_t now_ms)
{
    struct tl_judged_book *book = &judge->judged;
    if (book->base_ms == 0 || now_ms < book->base_ms) {
        return;
    }
    book->base_gap_ms = 2 * book->base_gap_ms < TL_BASE_EVERY_MS ? 2 * book->base_gap_ms
                                                                 : (uint64_t)TL_BASE_EVERY_MS;
    book->base_ms = now_ms + book->base_gap_ms;
    if (judge->outside.recorder_lost) {
        return;
    }
    hold_sea(judge);
    size_t len = tl_state_write(judge, 0, NULL, 0);
    size_t parts = (len + TL_BASE_PART_LEN - 1) / TL_BASE_PART_LEN;
    for (size_t i = 0; parts <= TL_BASE_PARTS_MAX && i < parts; i++) {
        struct tl_judged row = row_of(judge->me, TL_JUDGED_BASE, now_ms);
        size_t from = i * TL_BASE_PART_LEN;
        size_t left = len - from;
        row.incarnation = judge->incarnation;
        row.base.part = (uint32_t)(i + 1);
        row.base.parts = (uint32_t)parts;
        row.base.len = (uint32_t)(left < TL_BASE_PART_LEN ? left : TL_BASE_PART_LEN);
        memcpy(row.base.judgement_digest, judge->config->judgement_digest, TL_DIGEST_LEN);
        (void)tl_state_write(judge, from, row.base.bytes, sizeof row.base.bytes);
        hold(judge, &row);
    }
    if (book->waits) {
        book->row.outcome = book->told;
        send_waiting(judge);
    }
}
