/* SPDX-License-Identifier: Apache-2.0 */
/* step.c - see step.h. */
#include "broker/core/judge/step.h"

#include <string.h>

#include "broker/core/picture/wear.h"
#include "broker/core/picture/word.h"

static bool
same_causes(const struct tl_decision *a, const struct tl_decision *b)
{
    if (a->word != b->word || a->cause_count != b->cause_count) {
        return false;
    }
    for (uint32_t i = 0; i < a->cause_count; i++) {
        const struct tl_cause *x = &a->cause[i];
        const struct tl_cause *y = &b->cause[i];
        if (x->rule != y->rule || x->state != y->state ||
            strncmp(x->station, y->station, TL_ID_CAP) != 0 ||
            x->subject.sequence != y->subject.sequence ||
            x->subject.incarnation != y->subject.incarnation ||
            x->reported.number != y->reported.number || x->needed.number != y->needed.number ||
            x->would.set_lb != y->would.set_lb || x->would.hook_lbf != y->would.hook_lbf ||
            x->would.end_kt_x10 != y->would.end_kt_x10) {
            return false;
        }
    }
    return true;
}

/* The fold judges who may be put out of service: a validator that this one has lost. */
static void
tell_lost_validators(struct tl_judge *judge)
{
    struct tl_fold *fold = &judge->fold;
    fold->lost_count = 0;
    for (uint32_t i = 0; i < judge->outside.peer_count; i++) {
        if (judge->outside.peer[i].lost) {
            memcpy(fold->lost_validator[fold->lost_count++], judge->outside.peer[i].id, TL_ID_CAP);
        }
    }
}

/* One judgement, with what is computed dated by it and asked for by it. */
static void
decide(struct tl_judge *judge, uint64_t now_ms)
{
    judge->fold.changes += tl_predictions_keep_traps(&judge->outside, &judge->fold) ? 1 : 0;
    tl_decide(&judge->fold, &judge->outside, now_ms, &judge->decision);
    if (tl_predictions_date_sea(&judge->outside, &judge->decision.ask, now_ms)) {
        tl_decide(&judge->fold, &judge->outside, now_ms, &judge->decision);
    }
    if (judge->predict != NULL &&
        tl_predictions_ask(&judge->predictions, &judge->decision.ask, now_ms)) {
        judge->predict(judge->predict_ctx, &judge->predictions.asked);
    }
}

struct tl_stepped
tl_step(struct tl_judge *judge, uint64_t now_ms)
{
    struct tl_decision before = judge->decision;
    struct tl_event current_before = judge->fold.list.current;
    tell_lost_validators(judge);
    tl_wear_update(&judge->fold);
    tl_people_update(&judge->fold, now_ms);
    (void)tl_events_update(&judge->fold, now_ms);
    decide(judge, now_ms);
    judge->fold.clear_refused = judge->decision.clear_refused;
    judge->fold.clear_refused_rule = judge->decision.clear_refused_rule;
    bool alerts = tl_alert_book_update(&judge->alerts, &judge->decision, &judge->fold, now_ms);
    judge->outside.flood_places = tl_alert_book_flood(&judge->alerts, now_ms);
    bool causes = !same_causes(&before, &judge->decision);
    bool event = !tl_event_equal(current_before, judge->fold.list.current);
    return (struct tl_stepped){.news = causes || alerts || event,
                               .edge = before.word == TL_WORD_READY &&
                                       judge->decision.word != TL_WORD_READY};
}
