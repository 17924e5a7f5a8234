/* SPDX-License-Identifier: Apache-2.0 */
/* judge.c - see judge.h; publish.c lays out what is sent. */
#include "broker/core/judge/judge.h"

#include <string.h>

#include "broker/core/judge/publish.h"
#include "broker/core/judge/step.h"

enum {
    TEND_MS = 20,
    FIRST_BEATS = 3 /* one of them comes when its subscriptions are through */
};

/* Which recorder and which buses there are. */
static void
name_outside(struct tl_judge *judge)
{
    const struct tl_config *config = judge->config;
    struct tl_outside *outside = &judge->outside;
    for (uint32_t i = 0; i < config->node_count; i++) {
        const struct tl_node *node = &config->node[i];
        if (node->kind == TL_NODE_RECORDER && outside->recorder[0] == '\0') {
            memcpy(outside->recorder, node->id, TL_ID_CAP);
        } else if (node->kind == TL_NODE_RELAY && outside->bus_count < TL_BUSES_MAX) {
            memcpy(outside->bus[outside->bus_count++].id, node->id, TL_ID_CAP);
        }
    }
}

void
tl_judge_init(struct tl_judge *judge, const struct tl_config *config, const char *me,
              uint64_t incarnation, uint64_t now_ms)
{
    memset(judge, 0, sizeof *judge);
    judge->config = config;
    judge->incarnation = incarnation;
    memcpy(judge->me, me, strnlen(me, TL_ID_CAP - 1));
    tl_fold_init(&judge->fold, config, judge->me, incarnation, now_ms);
    tl_peers_init(&judge->peers, &judge->outside, config, judge->me, now_ms);
    tl_alert_book_init(&judge->alerts);
    tl_predictions_init(&judge->predictions, config);
    judge->next_tick_ms = now_ms;
    judge->recorder_ms = now_ms;
    name_outside(judge);
    tl_judged_init(judge);
    judge->decision.word = TL_WORD_NOT_READY;
    tl_decide(&judge->fold, &judge->outside, now_ms, &judge->decision);
}

/* The notice, new or seen again. */
static struct tl_notice *
note(struct tl_judge *judge, uint32_t rule, const char *node, uint64_t incarnation,
     enum tl_refusal reason, uint64_t now_ms)
{
    struct tl_outside *outside = &judge->outside;
    uint32_t oldest = 0;
    for (uint32_t i = 0; i < outside->notice_count; i++) {
        struct tl_notice *notice = &outside->notice[i];
        if (notice->rule == rule && notice->reason == reason &&
            strncmp(notice->node, node, TL_ID_CAP) == 0) {
            notice->last_ms = now_ms;
            notice->count++;
            return notice;
        }
        oldest = notice->last_ms < outside->notice[oldest].last_ms ? i : oldest;
    }
    if (outside->notice_count == TL_NOTICES_MAX) { /* a new one always stands last */
        memmove(&outside->notice[oldest], &outside->notice[oldest + 1],
                (TL_NOTICES_MAX - 1 - oldest) * sizeof outside->notice[0]);
        outside->notice_count--;
    }
    struct tl_notice *place = &outside->notice[outside->notice_count++];
    memset(place, 0, sizeof *place);
    place->rule = rule;
    place->reason = reason;
    place->incarnation = incarnation;
    place->first_ms = now_ms;
    place->last_ms = now_ms;
    place->count = 1;
    memcpy(place->node, node, strnlen(node, TL_ID_CAP - 1));
    judge->fold.changes++;
    return place;
}

static void
lapse_notices(struct tl_judge *judge, uint64_t now_ms)
{
    struct tl_outside *outside = &judge->outside;
    uint32_t kept = 0;
    for (uint32_t i = 0; i < outside->notice_count; i++) {
        if (now_ms - outside->notice[i].last_ms < TL_NOTICE_MS) {
            outside->notice[kept++] = outside->notice[i];
        }
    }
    if (kept != outside->notice_count) {
        outside->notice_count = kept;
        judge->fold.changes++;
    }
}

/* Judge again, and publish what that calls for. */
static void
judge_again(struct tl_judge *judge, uint64_t now_ms)
{
    tl_judged_outside(judge, now_ms);
    struct tl_stepped stepped = tl_step(judge, now_ms);
    if (stepped.news) {
        judge->fold.changes++;
        judge->verdict_wanted = true;
    }
    if (judge->fold.changes != judge->picture_changes) {
        judge->picture_wanted = true;
    }
    bool rested = now_ms - judge->last_verdict_ms >= TL_VERDICT_GAP_MS;
    if (stepped.edge || (judge->verdict_wanted && rested)) {
        tl_publish_verdict(judge, false, now_ms); /* before the receipt of what changed it */
    }
    tl_judged_outcome(judge, now_ms);
}

/* Who is lost by now is told before anything newer about it: a record is replayed in order. */
static void
tell_losses(struct tl_judge *judge, uint64_t now_ms)
{
    (void)tl_fold_age(&judge->fold, now_ms);
    for (uint32_t i = 0; i < judge->fold.told_count; i++) {
        struct tl_told *told = &judge->fold.told[i];
        if (told->loss_untold) {
            told->loss_untold = false;
            tl_judged_station(judge, told, TL_JUDGED_LOST, told->last_change, now_ms);
        }
    }
}

static void
publish_due(struct tl_judge *judge, uint64_t now_ms)
{
    if (now_ms >= judge->next_tick_ms) {
        judge->tick++;
        judge->next_tick_ms += TL_TICK_MS;
        if (judge->next_tick_ms <= now_ms) {
            judge->next_tick_ms = now_ms + TL_TICK_MS; /* we were stopped: no burst of old ticks */
        }
        tl_fold_ticked(&judge->fold, judge->tick, now_ms);
        tl_publish_verdict(judge, true, now_ms);
    }
    uint64_t since = now_ms - judge->last_picture_ms;
    bool read = judge->fold.readings != judge->picture_readings;
    if (since >= TL_PICTURE_MS || (read && since >= TL_PICTURE_READ_MS) ||
        (judge->picture_wanted && since >= TL_PICTURE_GAP_MS)) {
        tl_publish_picture(judge, now_ms);
    }
}

static void
watch_recorder(struct tl_judge *judge, uint64_t now_ms)
{
    struct tl_outside *outside = &judge->outside;
    bool lost = outside->recorder[0] != '\0' && now_ms - judge->recorder_ms > TL_RECORDER_LOST_MS;
    judge->fold.changes += outside->recorder_lost != lost ? 1 : 0;
    outside->recorder_lost = lost;
}

void
tl_judge_tend(struct tl_judge *judge, uint64_t now_ms)
{
    tell_losses(judge, now_ms);
    if (tl_peers_compare(&judge->peers, &judge->outside, &judge->fold, now_ms)) {
        judge->fold.changes++;
    }
    lapse_notices(judge, now_ms);
    watch_recorder(judge, now_ms);
    judge_again(judge, now_ms);
    tl_judged_base(judge, now_ms);
    publish_due(judge, now_ms);
}

uint32_t
tl_judge_wait_ms(const struct tl_judge *judge, uint64_t now_ms)
{
    if (judge->next_tick_ms <= now_ms) {
        return 0;
    }
    uint64_t wait = judge->next_tick_ms - now_ms;
    return wait < TEND_MS ? (uint32_t)wait : TEND_MS;
}

/* What a fold says that people must hear, besides its causes. */
static void
note_fault(struct tl_judge *judge, const struct tl_envelope *envelope,
           const struct tl_folded *folded, uint64_t now_ms)
{
    if (folded->reason == TL_REFUSAL_OTHER_BODY) {
        (void)note(judge, TL_RULE_OTHER_BODY, envelope->node, envelope->incarnation, folded->reason,
                   now_ms);
    } else if (folded->reason == TL_REFUSAL_NOT_YOUR_KIND ||
               folded->reason == TL_REFUSAL_NOT_OWNER || folded->reason == TL_REFUSAL_JUMP) {
        (void)note(judge, TL_RULE_REFUSED_PUBLISHER, envelope->node, envelope->incarnation,
                   folded->reason, now_ms);
    }
}

static void
tell_return(struct tl_judge *judge, const struct tl_told *told, const struct tl_envelope *envelope,
            const struct tl_folded *folded, uint64_t now_ms)
{
    if (folded->new_incarnation) {
        tl_judged_station(judge, told, TL_JUDGED_BEGUN, envelope->sequence, now_ms);
    }
    if (folded->came_back) {
        tl_judged_station(judge, told, TL_JUDGED_HEARD, envelope->sequence, now_ms);
    }
}

static void
take_change(struct tl_judge *judge, const struct tl_envelope *envelope, uint64_t digest,
            uint64_t now_ms)
{
    struct tl_told *told = tl_fold_told(&judge->fold, envelope->node);
    if (told == NULL) {
        return;
    }
    tell_losses(judge, now_ms);
    struct tl_folded folded = tl_fold_change(&judge->fold, told, envelope, digest, now_ms);
    note_fault(judge, envelope, &folded, now_ms);
    tell_return(judge, told, envelope, &folded, now_ms);
    if (folded.kind == TL_FOLD_OLD) {
        tl_publish_old(judge, told, envelope);
    } else if (folded.kind != TL_FOLD_IGNORED) {
        tl_judged_change(judge, envelope, &folded, now_ms);
        judge_again(judge, now_ms);
        tl_publish_receipt(judge, told, 0, now_ms);
        return;
    }
    judge_again(judge, now_ms);
}

/* Its answer dates the verdict, so the verdict must be judged as of now: we may have been stopped. */
static void
take_viewer(struct tl_judge *judge, const struct tl_envelope *envelope, uint64_t now_ms)
{
    const struct tl_node *node = tl_config_node(judge->config, envelope->node);
    if (node != NULL && node->kind == TL_NODE_VIEWER) {
        tell_losses(judge, now_ms);
        judge_again(judge, now_ms);
        tl_publish_viewer_receipt(judge, envelope, now_ms);
        /* Who has just come has nothing to show yet; a station's new life is a change anyhow. */
        judge->picture_wanted = judge->picture_wanted || envelope->sequence <= FIRST_BEATS;
    }
}

/* A recorder beats only while what it was given is on disk. */
static bool
take_recorder(struct tl_judge *judge, const struct tl_envelope *envelope, uint64_t now_ms)
{
    const struct tl_node *node = tl_config_node(judge->config, envelope->node);
    if (node == NULL || node->kind != TL_NODE_RECORDER) {
        return false;
    }
    judge->recorder_ms = now_ms;
    tl_judged_recorder(judge, now_ms);
    return true;
}

static void
take_beat(struct tl_judge *judge, const struct tl_envelope *envelope, uint64_t now_ms)
{
    struct tl_told *told = tl_fold_told(&judge->fold, envelope->node);
    if (told == NULL) {
        if (!take_recorder(judge, envelope, now_ms)) {
            take_viewer(judge, envelope, now_ms);
        }
        return;
    }
    tell_losses(judge, now_ms);
    struct tl_folded folded = tl_fold_beat(&judge->fold, told, envelope, now_ms);
    note_fault(judge, envelope, &folded, now_ms);
    if (folded.kind == TL_FOLD_OLD) {
        tl_publish_old(judge, told, envelope);
        judge_again(judge, now_ms);
        return;
    }
    tell_return(judge, told, envelope, &folded, now_ms);
    tl_judged_beat(judge, envelope, &folded, now_ms);
    judge_again(judge, now_ms);
    if (folded.kind != TL_FOLD_IGNORED) {
        tl_publish_receipt(judge, told, envelope->sequence, now_ms);
    }
}

static void
take_refusals(struct tl_judge *judge, const struct tl_refusals *refusals, uint64_t now_ms)
{
    tell_losses(judge, now_ms);
    for (uint32_t i = 0; i < refusals->count; i++) {
        const struct tl_refused_publisher *refusal = &refusals->refusal[i];
        (void)note(judge, TL_RULE_REFUSED_PUBLISHER, refusal->publisher, 0, refusal->reason,
                   now_ms);
    }
    judge_again(judge, now_ms);
}

static void
tell_expected(struct tl_judge *judge, const char *from, const struct tl_expected *expected,
              uint64_t now_ms)
{
    struct tl_judged row = {.now_ms = now_ms, .kind = TL_JUDGED_EXPECTED, .expected = *expected};
    memcpy(row.node, from, TL_ID_CAP);
    tl_judged_take(judge, &row);
}

/* What the other validator computed for a trap that this one was not there for. */
static void
adopt_expected(struct tl_judge *judge, const struct tl_envelope *envelope, uint64_t now_ms)
{
    const struct tl_picture *picture = &envelope->as.picture;
    const struct tl_node *node = tl_config_node(judge->config, envelope->node);
    bool peer = node != NULL && node->kind == TL_NODE_VALIDATOR;
    bool any = false;
    for (uint32_t i = 0; peer && i < picture->expected_count; i++) {
        if (tl_predictions_adopt(&judge->outside, &judge->fold, &picture->expected[i])) {
            judge->fold.changes++;
            tell_expected(judge, envelope->node, &picture->expected[i], now_ms);
            any = true;
        }
    }
    if (any) {
        tell_losses(judge, now_ms);
        judge_again(judge, now_ms);
    }
}

void
tl_judge_predicted(struct tl_judge *judge, const struct tl_predicted *predicted, uint64_t now_ms)
{
    struct tl_judged row = {.now_ms = now_ms,
                            .incarnation = judge->incarnation,
                            .kind = TL_JUDGED_PREDICTED,
                            .predicted = *predicted};
    tell_losses(judge, now_ms);
    tl_predictions_take(&judge->predictions, &judge->outside, predicted, &judge->decision.ask);
    judge->fold.changes++;
    memcpy(row.node, judge->me, TL_ID_CAP);
    row.sea_late_ms = judge->outside.sea_late_ms;
    tl_judged_take(judge, &row);
    judge_again(judge, now_ms);
}

void
tl_judge_message(struct tl_judge *judge, const struct tl_envelope *envelope, uint64_t digest,
                 uint64_t now_ms)
{
    switch (envelope->body) {
    case TL_BODY_CHANGE:
        take_change(judge, envelope, digest, now_ms);
        break;
    case TL_BODY_BEAT:
        take_beat(judge, envelope, now_ms);
        break;
    case TL_BODY_PICTURE:
        adopt_expected(judge, envelope, now_ms);
        tl_peers_message(&judge->peers, &judge->outside, judge->config, envelope, now_ms);
        break;
    case TL_BODY_VERDICT:
        tl_peers_message(&judge->peers, &judge->outside, judge->config, envelope, now_ms);
        break;
    case TL_BODY_REFUSALS:
        take_refusals(judge, &envelope->as.refusals, now_ms);
        break;
    case TL_BODY_RECEIPT:
    case TL_BODY_ALERTS:
    case TL_BODY_JUDGED:
    case TL_BODY_RECORDED:
    case TL_BODY_COUNTERS:
    case TL_BODY_UNKNOWN:
    case TL_BODY_KINDS:
        break;
    }
}

void
tl_judge_dropped(struct tl_judge *judge, const char *node, enum tl_refusal reason, uint64_t now_ms)
{
    tell_losses(judge, now_ms);
    (void)note(judge, TL_RULE_REFUSED_PUBLISHER, node, 0, reason, now_ms);
    judge_again(judge, now_ms);
}

void
tl_judge_newer(struct tl_judge *judge, const char *node, uint32_t schema, uint64_t now_ms)
{
    tell_losses(judge, now_ms);
    struct tl_notice *notice =
        note(judge, TL_RULE_REFUSED_PUBLISHER, node, 0, TL_REFUSAL_NEWER_SCHEMA, now_ms);
    judge->fold.changes += notice->schema != schema ? 1 : 0;
    notice->schema = schema;
    judge_again(judge, now_ms);
}

void
tl_judge_bus(struct tl_judge *judge, const char *bus, bool degraded)
{
    struct tl_outside *outside = &judge->outside;
    for (uint32_t i = 0; i < outside->bus_count; i++) {
        if (strncmp(outside->bus[i].id, bus, TL_ID_CAP) == 0) {
            judge->fold.changes += outside->bus[i].degraded != degraded ? 1 : 0;
            outside->bus[i].degraded = degraded;
            return;
        }
    }
    if (outside->bus_count < TL_BUSES_MAX) {
        struct tl_bus_condition *place = &outside->bus[outside->bus_count++];
        memset(place, 0, sizeof *place);
        memcpy(place->id, bus, strnlen(bus, TL_ID_CAP - 1));
        place->degraded = degraded;
    }
}
