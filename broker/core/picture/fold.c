/* SPDX-License-Identifier: Apache-2.0 */
/* fold.c - stations, ticks, freshness, receipts. See fold.h; changes.c and beats.c fold frames. */
#include "broker/core/picture/fold.h"

#include <string.h>

#include "broker/core/picture/fold_internal.h"

void
tl_fold_init(struct tl_fold *fold, const struct tl_config *config, const char *me,
             uint64_t incarnation, uint64_t now_ms)
{
    memset(fold, 0, sizeof *fold);
    fold->config = config;
    fold->incarnation = incarnation;
    memcpy(fold->me, me, strnlen(me, TL_ID_CAP - 1));
    for (uint32_t i = 0; i < config->node_count && fold->told_count < TL_STATIONS_MAX; i++) {
        if (config->node[i].kind == TL_NODE_STATION) {
            struct tl_told *told = &fold->told[fold->told_count++];
            told->node = &config->node[i];
            told->away_ms = now_ms;
            told->back_ms = now_ms;
        }
    }
}

struct tl_told *
tl_fold_told(struct tl_fold *fold, const char *node)
{
    for (uint32_t i = 0; i < fold->told_count; i++) {
        if (strncmp(fold->told[i].node->id, node, TL_ID_CAP) == 0) {
            return &fold->told[i];
        }
    }
    return NULL;
}

const struct tl_told *
tl_fold_told_const(const struct tl_fold *fold, const char *node)
{
    for (uint32_t i = 0; i < fold->told_count; i++) {
        if (strncmp(fold->told[i].node->id, node, TL_ID_CAP) == 0) {
            return &fold->told[i];
        }
    }
    return NULL;
}

const struct tl_told *
tl_told_of(const struct tl_fold *fold, enum tl_station_kind kind, uint32_t unit)
{
    for (uint32_t i = 0; i < fold->told_count; i++) {
        const struct tl_node *node = fold->told[i].node;
        if (node->station == kind && node->unit == unit) {
            return &fold->told[i];
        }
    }
    return NULL;
}

void
tl_fold_ticked(struct tl_fold *fold, uint64_t tick, uint64_t now_ms)
{
    fold->tick[tick % TL_TICKS_KEPT] = (struct tl_tick_sent){tick, now_ms};
    fold->newest_tick = tick;
}

/* When the tick that the frame echoes was sent; false when it echoes none of ours. */
static bool
echo_sent(const struct tl_fold *fold, const struct tl_envelope *envelope, uint64_t *sent_ms)
{
    for (uint32_t i = 0; i < envelope->echo_count; i++) {
        const struct tl_echo *echo = &envelope->echo[i];
        const struct tl_tick_sent *tick = &fold->tick[echo->tick % TL_TICKS_KEPT];
        if (strncmp(echo->validator, fold->me, TL_ID_CAP) == 0 &&
            echo->incarnation == fold->incarnation && echo->tick != 0 && tick->tick == echo->tick) {
            *sent_ms = tick->sent_ms;
            return true;
        }
    }
    return false;
}

uint64_t
tl_fold_echo_age_ms(const struct tl_fold *fold, const struct tl_envelope *envelope, uint64_t now_ms)
{
    uint64_t sent_ms = 0;
    return echo_sent(fold, envelope, &sent_ms) ? now_ms - sent_ms : UINT64_MAX;
}

uint64_t
tl_fold_oldest_ms(const struct tl_fold *fold, uint64_t now_ms)
{
    uint64_t oldest_ms = 0;
    for (uint32_t i = 0; i < fold->told_count; i++) {
        const struct tl_told *told = &fold->told[i];
        if (told->live && now_ms - told->echo_sent_ms > oldest_ms) {
            oldest_ms = now_ms - told->echo_sent_ms;
        }
    }
    return oldest_ms;
}

/* The newest alert set that the frame says is shown; never less than before. */
static uint64_t
echo_alerts(const struct tl_fold *fold, const struct tl_envelope *envelope, uint64_t before)
{
    for (uint32_t i = 0; i < envelope->echo_count; i++) {
        const struct tl_echo *echo = &envelope->echo[i];
        if (strncmp(echo->validator, fold->me, TL_ID_CAP) == 0 &&
            echo->incarnation == fold->incarnation && echo->alerts > before) {
            before = echo->alerts;
        }
    }
    return before;
}

static void
keep_old_foul(struct tl_told *told)
{
    const struct tl_held *deck = tl_told_held(told, TL_DATUM_DECK, 0);
    if (deck != NULL && deck->datum.known &&
        (deck->datum.as.deck.state == TL_DECK_FOUL || deck->datum.as.deck.state == TL_DECK_STOP)) {
        told->old_foul = true;
        told->old_foul_datum = deck->datum;
        told->old_foul_incarnation = told->incarnation;
    }
}

void
tl_told_begin(struct tl_told *told, uint64_t incarnation, uint64_t now_ms)
{
    struct tl_told fresh = {.node = told->node,
                            .incarnation = incarnation,
                            .away_ms = now_ms,
                            .back_ms = now_ms,
                            .ever_live = told->ever_live,
                            .newer_heard_ms = now_ms,
                            .receipt_sequence = told->receipt_sequence};
    keep_old_foul(told);
    fresh.old_foul = told->old_foul;
    fresh.old_foul_datum = told->old_foul_datum;
    fresh.old_foul_incarnation = told->old_foul_incarnation;
    *told = fresh;
}

/* The old life echoes a tick that was sent after the new one was heard: both run at this time. */
static void
look_for_twin(const struct tl_fold *fold, struct tl_told *told, const struct tl_envelope *envelope,
              uint64_t now_ms)
{
    uint64_t sent_ms = 0;
    if (echo_sent(fold, envelope, &sent_ms) && sent_ms > told->newer_heard_ms) {
        told->twin = true;
        told->twin_ms = now_ms;
    }
}

void
tl_told_lose(struct tl_told *told, uint64_t now_ms)
{
    told->live = false;
    told->away_ms = now_ms;
    told->loss_untold = true;
}

void
tl_told_return(struct tl_told *told, uint64_t now_ms)
{
    told->live = true;
    told->ever_live = true;
    told->back_ms = now_ms;
}

void
tl_told_alone_again(struct tl_told *told, uint64_t now_ms)
{
    told->twin = false;
    told->away_ms = now_ms;
    told->back_ms = now_ms;
}

static bool
take_echo(const struct tl_fold *fold, struct tl_told *told, const struct tl_envelope *envelope,
          uint64_t now_ms, bool *came_back)
{
    uint64_t sent_ms = 0;
    if (!echo_sent(fold, envelope, &sent_ms)) {
        return false;
    }
    bool fresh = now_ms - sent_ms <= TL_LOST_MS;
    if (told->live && now_ms - told->echo_sent_ms > TL_LOST_MS) {
        tl_told_lose(told, now_ms);
    }
    if (!told->echoed || sent_ms > told->echo_sent_ms) {
        told->echoed = true;
        told->echo_sent_ms = sent_ms;
    }
    told->alerts_shown = echo_alerts(fold, envelope, told->alerts_shown);
    if (fresh && !told->live) {
        tl_told_return(told, now_ms);
        *came_back = true;
    }
    return fresh;
}

struct tl_arrival
tl_arrive(struct tl_fold *fold, struct tl_told *told, const struct tl_envelope *envelope,
          uint64_t now_ms)
{
    struct tl_arrival arrival = {0};
    if (envelope->incarnation < told->incarnation) {
        look_for_twin(fold, told, envelope, now_ms);
        arrival.folded.kind = TL_FOLD_OLD;
        arrival.folded.reason = told->twin ? TL_REFUSAL_TWIN : TL_REFUSAL_OLD_INCARNATION;
        return arrival;
    }
    if (envelope->incarnation > told->incarnation) {
        tl_told_begin(told, envelope->incarnation, now_ms);
        arrival.folded.new_incarnation = true;
        fold->changes++;
    }
    arrival.current = true;
    arrival.fresh = take_echo(fold, told, envelope, now_ms, &arrival.folded.came_back);
    if (arrival.folded.came_back) {
        fold->changes++;
    }
    return arrival;
}

bool
tl_fold_age(struct tl_fold *fold, uint64_t now_ms)
{
    bool changed = false;
    for (uint32_t i = 0; i < fold->told_count; i++) {
        struct tl_told *told = &fold->told[i];
        if (told->live && now_ms - told->echo_sent_ms > TL_LOST_MS) {
            tl_told_lose(told, now_ms);
            changed = true;
        }
        if (told->twin && now_ms - told->twin_ms > TL_LOST_MS) {
            tl_told_alone_again(told, now_ms);
            changed = true;
        }
    }
    if (changed) {
        fold->changes++;
    }
    return changed;
}

struct tl_held *
tl_told_place(struct tl_told *told, const struct tl_datum *name)
{
    for (uint32_t i = 0; i < told->held_count; i++) {
        if (tl_datum_same_name(&told->held[i].datum, name)) {
            return &told->held[i];
        }
    }
    if (told->held_count == TL_DATA_MAX) {
        return NULL;
    }
    struct tl_held *held = &told->held[told->held_count++];
    memset(held, 0, sizeof *held);
    held->datum = *name;
    tl_datum_make_unknown(&held->datum, 0);
    return held;
}

const struct tl_held *
tl_told_held(const struct tl_told *told, enum tl_datum_kind kind, uint32_t slot)
{
    for (uint32_t i = 0; i < told->held_count; i++) {
        const struct tl_datum *datum = &told->held[i].datum;
        if (datum->kind == kind && datum->slot == slot && !tl_datum_is_voice(datum)) {
            return &told->held[i];
        }
    }
    return NULL;
}

void
tl_held_stands(struct tl_held *held)
{
    if (held->datum.kind == TL_DATUM_SET && held->datum.known && !tl_datum_is_voice(&held->datum)) {
        held->stood_known = true;
        held->stood_lb = held->datum.as.set_lb;
    }
}

void
tl_told_refused(struct tl_told *told, const struct tl_datum *datum, enum tl_refusal reason,
                uint32_t rule)
{
    if (told->refused_count == TL_REFUSED_KEPT) {
        memmove(&told->refused[0], &told->refused[1],
                (TL_REFUSED_KEPT - 1) * sizeof told->refused[0]);
        told->refused_count--;
    }
    told->refused[told->refused_count++] = (struct tl_refused_here){
        .refused = {.sequence = datum->sequence, .reason = reason, .rule = rule}, .name = *datum};
}

void
tl_told_void(struct tl_told *told, struct tl_held *held, enum tl_refusal reason)
{
    uint64_t sequence = held->datum.sequence;
    tl_told_refused(told, &held->datum, reason, 0);
    tl_datum_make_unknown(&held->datum, sequence);
    held->barred = sequence;
    held->by_change = false;
}

void
tl_fold_receipt(const struct tl_told *told, struct tl_receipt *receipt)
{
    memset(receipt, 0, sizeof *receipt);
    receipt->for_incarnation = told->incarnation;
    receipt->through = told->applied;
    for (uint32_t i = 0; i < told->refused_count; i++) {
        receipt->refused[receipt->refused_count++] = told->refused[i].refused;
    }
}
