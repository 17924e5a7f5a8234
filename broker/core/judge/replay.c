/* SPDX-License-Identifier: Apache-2.0 */
/* replay.c - see replay.h. */
#include "broker/core/judge/replay.h"

#include <string.h>

#include "broker/core/judge/state.h"
#include "broker/core/judge/step.h"
#include "broker/core/picture/fold_internal.h"
#include "broker/core/picture/word.h"

void
tl_replay_init(struct tl_replay *replay, const struct tl_config *config, const char *validator,
               uint64_t incarnation)
{
    memset(replay, 0, sizeof *replay);
    replay->config = config;
    replay->incarnation = incarnation;
    memcpy(replay->validator, validator, strnlen(validator, TL_ID_CAP - 1));
    replay->lacking.what = TL_LACK_BASE;
    tl_judge_init(&replay->judge, config, validator, incarnation, 0);
}

bool
tl_replay_names_frame(enum tl_judged_kind kind)
{
    return kind == TL_JUDGED_APPLIED || kind == TL_JUDGED_REFUSED || kind == TL_JUDGED_BEAT ||
           kind == TL_JUDGED_STALE_BEAT;
}

/* The first thing that is lacking is told until a base makes up for it. */
static void
lack(struct tl_replay *replay, enum tl_replay_lack what, const char *node, uint64_t from)
{
    if (replay->lacking.what == TL_LACK_NOTHING) {
        replay->lacking = (struct tl_replay_lacking){.what = what, .from = from, .to = from};
        memcpy(replay->lacking.node, node, TL_ID_CAP);
    }
}

/* ---- frames ---- */

/* Who counts as live counts as fresh: a loss has its own row. */
static void
keep_fresh(struct tl_fold *fold, uint64_t now_ms)
{
    for (uint32_t i = 0; i < fold->told_count; i++) {
        struct tl_told *told = &fold->told[i];
        if (told->live) {
            told->echoed = true;
            told->echo_sent_ms = now_ms;
        }
    }
}

/* It echoes a tick that leaves now, if it was taken as fresh, and was settled as it was judged. */
static void
date_frame(struct tl_replay *replay, const struct tl_replay_row *row, bool fresh)
{
    struct tl_envelope *frame = row->frame;
    const struct tl_judged *judged = row->judged;
    struct tl_fold *fold = &replay->judge.fold;
    frame->echo_count = 0;
    if (fresh) {
        tl_fold_ticked(fold, ++replay->tick, judged->now_ms);
        struct tl_echo *echo = &frame->echo[frame->echo_count++];
        *echo = (struct tl_echo){.incarnation = fold->incarnation, .tick = replay->tick};
        memcpy(echo->validator, fold->me, TL_ID_CAP);
    }
    if (frame->body == TL_BODY_CHANGE) { /* it may be another copy than the one that was taken */
        frame->said_age_ms = judged->said_age_ms;
        frame->settled = judged->reason == TL_REFUSAL_TOO_OLD ? 0 : frame->sequence;
    }
}

static bool
is_named(const struct tl_replay_row *row, enum tl_body_kind body)
{
    const struct tl_envelope *frame = row->frame;
    const struct tl_judged *judged = row->judged;
    return frame != NULL && frame->body == body && frame->incarnation == judged->incarnation &&
           frame->sequence == judged->sequence &&
           strncmp(frame->node, judged->node, TL_ID_CAP) == 0;
}

static void
take_change(struct tl_replay *replay, const struct tl_replay_row *row, struct tl_told *told)
{
    const struct tl_judged *judged = row->judged;
    if (!is_named(row, TL_BODY_CHANGE)) {
        lack(replay, TL_LACK_CHANGE, judged->node, judged->sequence);
        return;
    }
    date_frame(replay, row, told->live);
    struct tl_folded folded =
        tl_fold_change(&replay->judge.fold, told, row->frame, row->digest, judged->now_ms);
    bool refused = judged->kind == TL_JUDGED_REFUSED;
    bool same = refused ? folded.kind == TL_FOLD_REFUSED && folded.reason == judged->reason
                        : folded.kind == TL_FOLD_APPLIED || folded.kind == TL_FOLD_AGAIN;
    replay->waits |= same ? 0u : TL_DIFFERS_FATE;
}

static void
take_beat(struct tl_replay *replay, const struct tl_replay_row *row, struct tl_told *told)
{
    const struct tl_judged *judged = row->judged;
    if (!is_named(row, TL_BODY_BEAT)) {
        lack(replay, TL_LACK_BEAT, judged->node, judged->sequence);
        return;
    }
    bool fresh = judged->kind == TL_JUDGED_BEAT;
    date_frame(replay, row, fresh && told->live);
    struct tl_folded folded = tl_fold_beat(&replay->judge.fold, told, row->frame, judged->now_ms);
    bool same = folded.kind == TL_FOLD_APPLIED && folded.fresh == fresh;
    replay->waits |= same ? 0u : TL_DIFFERS_FATE;
}

static void
take_station(struct tl_replay *replay, const struct tl_replay_row *row)
{
    const struct tl_judged *judged = row->judged;
    struct tl_told *told = tl_fold_told(&replay->judge.fold, judged->node);
    if (told == NULL) {
        replay->waits |= TL_DIFFERS_FATE; /* no station of this configuration */
    } else if (judged->kind == TL_JUDGED_BEGUN) {
        tl_told_begin(told, judged->incarnation, judged->now_ms);
    } else if (judged->kind == TL_JUDGED_LOST) {
        tl_told_lose(told, judged->now_ms);
    } else if (judged->kind == TL_JUDGED_HEARD) {
        tl_told_return(told, judged->now_ms);
    } else if (judged->kind == TL_JUDGED_APPLIED || judged->kind == TL_JUDGED_REFUSED) {
        take_change(replay, row, told);
    } else {
        take_beat(replay, row, told);
    }
}

/* ---- what is outside ---- */

static void
see_twin(struct tl_fold *fold, const struct tl_sighting *seen, uint64_t now_ms)
{
    struct tl_told *told = tl_fold_told(fold, seen->node);
    if (told != NULL && !seen->gone) {
        told->twin = true;
        told->twin_ms = now_ms;
    } else if (told != NULL && told->twin) {
        tl_told_alone_again(told, now_ms);
    }
}

static void
see_peer(struct tl_outside *outside, const struct tl_sighting *seen, uint64_t now_ms)
{
    for (uint32_t i = 0; i < outside->peer_count; i++) {
        struct tl_peer_state *peer = &outside->peer[i];
        if (strncmp(peer->id, seen->node, TL_ID_CAP) != 0) {
            continue;
        }
        peer->incarnation = seen->incarnation;
        if (seen->rule == TL_RULE_VALIDATOR_LOST) {
            peer->lost = !seen->gone;
        } else if (seen->rule == TL_RULE_KEYS_DIFFER) {
            peer->keys_differ = !seen->gone;
        } else {
            peer->differ_back_ms = peer->differ && seen->gone ? now_ms : peer->differ_back_ms;
            peer->differ = !seen->gone;
        }
    }
}

static void
see_bus(struct tl_outside *outside, const struct tl_sighting *seen)
{
    for (uint32_t i = 0; i < outside->bus_count; i++) {
        if (strncmp(outside->bus[i].id, seen->node, TL_ID_CAP) == 0) {
            outside->bus[i].degraded = !seen->gone;
        }
    }
}

static void
see_notice(struct tl_outside *outside, const struct tl_sighting *seen, uint64_t now_ms)
{
    uint32_t kept = 0;
    for (uint32_t i = 0; i < outside->notice_count; i++) {
        const struct tl_notice *notice = &outside->notice[i];
        if (notice->rule != seen->rule || notice->reason != seen->reason ||
            notice->incarnation != seen->incarnation ||
            strncmp(notice->node, seen->node, TL_ID_CAP) != 0) {
            outside->notice[kept++] = *notice;
        }
    }
    outside->notice_count = kept;
    if (!seen->gone && kept < TL_NOTICES_MAX) {
        outside->notice[kept] = (struct tl_notice){.rule = seen->rule,
                                                   .reason = seen->reason,
                                                   .incarnation = seen->incarnation,
                                                   .first_ms = now_ms,
                                                   .last_ms = now_ms,
                                                   .count = 1};
        memcpy(outside->notice[kept].node, seen->node, TL_ID_CAP);
        outside->notice_count++;
    }
}

static void
take_sighting(struct tl_replay *replay, const struct tl_judged *judged)
{
    struct tl_judge *judge = &replay->judge;
    const struct tl_sighting *seen = &judged->seen;
    if (seen->rule == TL_RULE_TWO_WRITERS) {
        see_twin(&judge->fold, seen, judged->now_ms);
    } else if (seen->rule == TL_RULE_RECORDER_LOST) {
        judge->outside.recorder_lost = !seen->gone;
    } else if (seen->rule == TL_RULE_BUS_DEGRADED) {
        see_bus(&judge->outside, seen);
    } else if (seen->rule == TL_RULE_REFUSED_PUBLISHER || seen->rule == TL_RULE_OTHER_BODY) {
        see_notice(&judge->outside, seen, judged->now_ms);
    } else if (seen->rule == TL_RULE_VALIDATOR_LOST || seen->rule == TL_RULE_VALIDATORS_DIFFER ||
               seen->rule == TL_RULE_KEYS_DIFFER) {
        see_peer(&judge->outside, seen, judged->now_ms);
    } else {
        lack(replay, TL_LACK_KIND, judged->node, seen->rule);
    }
}

/* ---- judging ---- */

static unsigned
compare_held(struct tl_judge *judge, const struct tl_judgement *told)
{
    uint8_t inputs[TL_DATA_DIGEST_LEN];
    uint8_t held[TL_DATA_DIGEST_LEN];
    tl_state_inputs(judge, inputs);
    tl_state_digest(judge, held);
    return (memcmp(inputs, told->inputs, sizeof inputs) != 0 ? (unsigned)TL_DIFFERS_INPUTS : 0u) |
           (memcmp(held, told->held, sizeof held) != 0 ? (unsigned)TL_DIFFERS_HELD : 0u);
}

static unsigned
compare_seen(const struct tl_judge *judge, const struct tl_replay_row *row)
{
    const struct tl_judgement *told = &row->judged->outcome;
    const struct tl_decision *decision = &judge->decision;
    const struct tl_cause *first = &decision->cause[0];
    uint8_t causes[TL_DATA_DIGEST_LEN];
    bool any = decision->cause_count > 0;
    bool same_first = decision->cause_count == told->cause_count &&
                      (!any || (first->rule == told->rule &&
                                strncmp(first->station, told->station, TL_ID_CAP) == 0));
    tl_state_causes(decision, causes);
    unsigned differs = 0;
    differs |= tl_event_equal(judge->fold.list.current, row->event) ? 0u : TL_DIFFERS_EVENT;
    differs |= decision->word == told->word ? 0u : TL_DIFFERS_WORD;
    differs |= same_first ? 0u : TL_DIFFERS_FIRST;
    differs |= memcmp(causes, told->causes, sizeof causes) == 0 ? 0u : TL_DIFFERS_CAUSES;
    return differs;
}

static void
count(struct tl_replay *replay, struct tl_replay_step *step)
{
    step->checked = replay->lacking.what == TL_LACK_NOTHING;
    if (!step->checked) {
        step->differs = 0;
        replay->unchecked++;
        return;
    }
    replay->checked++;
    replay->equal += step->differs == 0 ? 1 : 0;
    replay->differed = replay->differed || step->differs != 0;
}

static void
judge_row(struct tl_replay *replay, const struct tl_replay_row *row, struct tl_replay_step *step)
{
    struct tl_judge *judge = &replay->judge;
    keep_fresh(&judge->fold, row->judged->now_ms);
    (void)tl_step(judge, row->judged->now_ms);
    step->judged = true;
    step->differs = compare_seen(judge, row);
    if (!replay->what_if) {
        step->differs |= replay->waits | compare_held(judge, &row->judged->outcome);
    }
    replay->waits = 0;
    count(replay, step);
}

/* ---- bases ---- */

/* What stands by the base, without moving anything that it holds. */
static void
look(struct tl_judge *judge, uint64_t now_ms)
{
    keep_fresh(&judge->fold, now_ms);
    tl_people_update(&judge->fold, now_ms);
    tl_decide(&judge->fold, &judge->outside, now_ms, &judge->decision);
}

static void
restore(struct tl_replay *replay, const struct tl_judged *judged)
{
    struct tl_judge *judge = &replay->judge;
    struct tl_port port = judge->port;
    replay->lacking = (struct tl_replay_lacking){.what = TL_LACK_STATE, .from = replay->next - 1};
    tl_judge_init(judge, replay->config, replay->validator, replay->incarnation, judged->now_ms);
    judge->port = port;
    if (tl_state_read(judge, replay->base, replay->base_len) != TL_OK ||
        compare_held(judge, &judged->outcome) != 0) {
        tl_judge_init(judge, replay->config, replay->validator, replay->incarnation,
                      judged->now_ms);
        judge->port = port;
        return;
    }
    look(judge, judged->now_ms);
    replay->lacking.what = TL_LACK_NOTHING;
    replay->differed = false;
    replay->waits = 0;
    replay->bases++;
}

static void
take_base(struct tl_replay *replay, const struct tl_judged *judged, struct tl_replay_step *step)
{
    const struct tl_base *base = &judged->base;
    bool next = base->part == replay->base_have + 1 && base->parts == replay->base_parts;
    if (base->part == 1) {
        replay->base_parts = base->parts;
        replay->base_len = 0;
    } else if (!next) {
        replay->base_parts = 0;
    }
    replay->base_have = base->part;
    if (replay->base_parts == 0 || base->len > sizeof base->bytes ||
        base->len > sizeof replay->base - replay->base_len) {
        replay->base_parts = 0;
        return;
    }
    memcpy(replay->base + replay->base_len, base->bytes, base->len);
    replay->base_len += base->len;
    if (base->part != base->parts) {
        return;
    }
    bool exact = replay->lacking.what == TL_LACK_NOTHING;
    bool again = exact && (replay->what_if || !replay->differed);
    if (!again) {
        restore(replay, judged);
        step->judged = replay->lacking.what == TL_LACK_NOTHING;
    } else if (!replay->what_if) {
        step->judged = true;
        step->differs = replay->waits | compare_held(&replay->judge, &judged->outcome);
        replay->waits = 0;
        count(replay, step);
    }
}

/* ---- rows ---- */

static void
take_input(struct tl_replay *replay, const struct tl_replay_row *row)
{
    const struct tl_judged *judged = row->judged;
    struct tl_judge *judge = &replay->judge;
    keep_fresh(&judge->fold, judged->now_ms);
    switch (judged->kind) {
    case TL_JUDGED_APPLIED:
    case TL_JUDGED_REFUSED:
    case TL_JUDGED_LOST:
    case TL_JUDGED_HEARD:
    case TL_JUDGED_BEAT:
    case TL_JUDGED_STALE_BEAT:
    case TL_JUDGED_BEGUN:
        take_station(replay, row);
        break;
    case TL_JUDGED_PREDICTED:
        judge->outside.predicted = judged->predicted;
        judge->outside.sea_late_ms = judged->sea_late_ms;
        break;
    case TL_JUDGED_EXPECTED:
        if (!tl_predictions_adopt(&judge->outside, &judge->fold, &judged->expected)) {
            replay->waits |= TL_DIFFERS_FATE;
        }
        break;
    case TL_JUDGED_SEEN:
        take_sighting(replay, judged);
        break;
    case TL_JUDGED_TIME:
    case TL_JUDGED_BASE:
        break;
    case TL_JUDGED_UNKNOWN:
        lack(replay, TL_LACK_KIND, judged->node, 0);
        break;
    }
    judge->fold.changes++;
}

static void
note_order(struct tl_replay *replay, const struct tl_replay_row *row)
{
    if (replay->next != 0 && row->sequence != replay->next) {
        lack(replay, TL_LACK_ROWS, replay->validator, replay->next);
        if (replay->lacking.what == TL_LACK_ROWS && replay->lacking.from == replay->next) {
            replay->lacking.to = row->sequence - 1;
        }
        replay->base_parts = 0;
    }
    replay->next = row->sequence + 1;
    replay->waits |= row->judged->now_ms < replay->now_ms ? (unsigned)TL_DIFFERS_TIME : 0u;
    replay->now_ms = row->judged->now_ms;
}

struct tl_replay_step
tl_replay_take(struct tl_replay *replay, const struct tl_replay_row *row)
{
    struct tl_replay_step step = {0};
    const struct tl_judged *judged = row->judged;
    bool told = judged->outcome.word != TL_WORD_UNKNOWN;
    replay->rows++;
    note_order(replay, row);
    if (judged->kind == TL_JUDGED_BASE) {
        take_base(replay, judged, &step);
    } else if (replay->bases == 0) {
        replay->waits = 0;
        replay->unchecked += told ? 1 : 0;
    } else {
        take_input(replay, row);
        if (told) {
            judge_row(replay, row, &step);
        }
    }
    return step;
}
