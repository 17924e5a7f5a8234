/* SPDX-License-Identifier: Apache-2.0 */
/* alerts_validator.c - the validator of the model of alerts, and what must hold there. */
#include <string.h>

#include "broker/core/alerts/alerts.h"
#include "clients/ui/bell.h"
#include "tests/models/alerts_parts.h"

enum {
    BODY = 5 /* digest of every change: none has two bodies */
};

/* NOLINTBEGIN(cppcoreguidelines-avoid-non-const-global-variables): set once, or before each use */
/* Constant once alerts_judge_begin has run. */
static struct tl_fold empty_fold;
/* Written whole before each use. */
static struct tl_fold fold;
static struct tl_outside outside;
static struct tl_decision decision;
static struct tl_alert_book book;
static struct tl_envelope envelope;
/* NOLINTEND(cppcoreguidelines-avoid-non-const-global-variables) */

/* An old set that was shown and an old one that listed it first are told apart by `delivered`. */
static uint64_t
shown_number(uint8_t age)
{
    if (age == MODEL_NONE) {
        return 0;
    }
    return alerts_number(age == ALERTS_OLD ? ALERTS_OLD + 1 : age);
}

/* ---- the validator: between the small state and the real one ---- */

static void
unpack_told(const struct alerts_state *s)
{
    memcpy(&fold, &empty_fold, sizeof fold);
    struct tl_told *other = &fold.told[OTHER];
    other->incarnation = MODEL_LIFE + s->life;
    other->live = s->lost == 0;
    other->echo_sent_ms = s->lost == 0 ? NOW_MS : 0;
    struct tl_told *owner = &fold.told[OWNER];
    owner->incarnation = s->known != 0 ? MODEL_LIFE : 0;
    owner->based = s->based != 0;
    owner->applied = s->applied;
    owner->last_change = s->last;
    owner->settled = s->settled;
    owner->live = s->live != 0;
    owner->ever_live = s->echo != MODEL_NONE;
    owner->echoed = s->echo != MODEL_NONE;
    owner->echo_sent_ms = owner->echoed ? alerts_ago_ms(s->echo) : 0;
    owner->beat_sequence = s->beat != MODEL_NONE ? alerts_number(s->beat) : 0;
    owner->alerts_shown = shown_number(s->shown);
    FOR_EACH
    {
        if (s->held[i] != 0) {
            struct tl_held *held = &owner->held[owner->held_count++];
            held->datum = alerts_acknowledgement(i, s->held[i]);
            held->by_change = s->by_change[i] != 0;
        }
    }
}

static void
unpack_entry(const struct alerts_state *s, unsigned i)
{
    const struct alerts_entry *entry = &s->entry[i];
    struct tl_active_alert *active = &book.active[book.count++];
    active->alert = alerts_of(i);
    active->alert.state = (enum tl_alert_state)entry->state;
    active->alert.acknowledged = entry->acknowledged != 0 ? 1u << OWNER : 0;
    active->alert.delivered = entry->delivered != 0 ? 1u << OWNER : 0;
    active->raised_ms = NOW_MS - (uint64_t)entry->aged * TL_RESOUND_MS;
    active->returned_ms = NOW_MS;
    bool reached = entry->set == ALERTS_OLD && entry->delivered != 0;
    active->set = alerts_number(reached ? ALERTS_OLD + 1 : entry->set);
    active->set = entry->set == MODEL_NONE ? 0 : active->set;
}

static void
unpack(const struct alerts_state *s)
{
    unpack_told(s);
    memset(&book, 0, sizeof book);
    FOR_EACH
    {
        if (s->entry[i].state != 0 && s->entry[i].state != TL_ALERT_RETURNED) {
            unpack_entry(s, i);
        }
    }
    FOR_EACH
    {
        if (s->entry[i].state == TL_ALERT_RETURNED) {
            unpack_entry(s, i);
        }
    }
}

static uint8_t
age_of(uint64_t number)
{
    return number == 0 ? MODEL_NONE
                       : (uint8_t)(NUMBER - number < ALERTS_OLD ? NUMBER - number : ALERTS_OLD);
}

/* The owner's own loss is an alert too; it is not carried. */
static bool
is_of_other(const struct tl_alert *alert)
{
    return strncmp(alert->cause.station, alerts_config.node[OTHER].id, TL_ID_CAP) == 0;
}

static void
pack_book(struct alerts_state *s)
{
    memset(s->entry, 0, sizeof s->entry);
    for (uint32_t k = 0; k < book.count; k++) {
        const struct tl_active_alert *active = &book.active[k];
        if (!is_of_other(&active->alert)) {
            continue;
        }
        unsigned i = (unsigned)(active->alert.cause.subject.incarnation - MODEL_LIFE);
        uint64_t aged = (NOW_MS - active->raised_ms) / TL_RESOUND_MS;
        s->entry[i] = (struct alerts_entry){.state = (uint8_t)active->alert.state,
                                            .acknowledged = active->alert.acknowledged != 0,
                                            .delivered = active->alert.delivered != 0,
                                            .set = age_of(active->set),
                                            .aged = (uint8_t)(aged < 2 ? aged : 2)};
    }
    FOR_EACH
    {
        s->seen[i] = s->entry[i].state != 0 ? s->seen[i] : 0;
    }
}

static void
pack(struct alerts_state *s)
{
    const struct tl_told *owner = &fold.told[OWNER];
    s->known = owner->incarnation != 0;
    s->based = owner->based;
    s->applied = (uint8_t)owner->applied;
    s->last = (uint8_t)owner->last_change;
    s->settled = (uint8_t)owner->settled;
    s->live = owner->live;
    s->echo = owner->echoed ? model_age(NOW_MS, owner->echo_sent_ms, ALERTS_STEP_MS, ALERTS_OLD)
                            : MODEL_NONE;
    s->beat = age_of(owner->beat_sequence);
    s->shown = age_of(owner->alerts_shown);
    memset(s->held, 0, sizeof s->held);
    memset(s->by_change, 0, sizeof s->by_change);
    for (uint32_t k = 0; k < owner->held_count; k++) {
        const struct tl_held *held = &owner->held[k];
        unsigned i = held->datum.as.instance == alerts_acknowledgement(0, 0).as.instance ? 0 : 1;
        s->held[i] = (uint8_t)held->datum.sequence;
        s->by_change[i] = held->by_change;
    }
    pack_book(s);
}

/* ---- what must hold ---- */

static bool
lists_loss(const struct alerts_state *s)
{
    for (uint32_t k = 0; k < decision.cause_count; k++) {
        const struct tl_cause *cause = &decision.cause[k];
        if (cause->rule == TL_RULE_STATION_LOST && cause->state == TL_CAUSE_WRONG &&
            strncmp(cause->station, alerts_config.node[OTHER].id, TL_ID_CAP) == 0 &&
            cause->subject.incarnation == (uint64_t)MODEL_LIFE + s->life) {
            return true;
        }
    }
    return false;
}

static void
check_calm(struct alerts_state *s)
{
    const struct alerts_entry *now = &s->entry[s->life];
    if (s->calm == MODEL_NONE || s->calm < ALERTS_SETTLED) {
        return;
    }
    model_claim(&s->broken, s->lost == 0 || now->delivered != 0, 5,
                "an alert is shown at a station that is live");
    FOR_EACH
    {
        bool gone = s->lost == 0 || i != s->life;
        bool held = s->entry[i].acknowledged != 0 || s->held[i] != 0;
        model_claim(&s->broken, !gone || !held, 6,
                    "an acknowledgement lapses when its alert is gone");
    }
}

static void
check(struct alerts_state *s)
{
    uint8_t state = s->entry[s->life].state;
    bool active = state == TL_ALERT_UNACKNOWLEDGED || state == TL_ALERT_ACKNOWLEDGED;
    model_claim(&s->broken,
                s->lost == 0 || (decision.word == TL_WORD_NOT_READY && lists_loss(s) && active), 1,
                "an acknowledgement clears nothing");
    FOR_EACH
    {
        const struct alerts_entry *entry = &s->entry[i];
        bool quiet = entry->acknowledged != 0 || entry->state == TL_ALERT_ACKNOWLEDGED;
        model_claim(&s->broken, !quiet || s->pressed[i] != 0, 2,
                    "an acknowledgement silences no other instance");
        model_claim(&s->broken, !quiet || s->lapsed[i] == 0, 3,
                    "an acknowledgement does not outlive its instance");
        model_claim(&s->broken, entry->delivered == 0 || s->seen[i] != 0, 4,
                    "an alert that was not shown is not called delivered");
    }
    check_calm(s);
}

static void
judge(struct alerts_state *s)
{
    tl_decide(&fold, &outside, NOW_MS, &decision);
    (void)tl_alert_book_update(&book, &decision, &fold, NOW_MS);
    pack(s);
    check(s);
}

/* ---- the validator ---- */

static void
fill_owner(const struct alerts_state *s, uint64_t sequence, enum tl_body_kind body)
{
    (void)s;
    model_envelope(&envelope, alerts_config.node[OWNER].id, MODEL_LIFE, sequence, body);
}

void
alerts_take_change(struct alerts_state *s, uint8_t sequence)
{
    unpack(s);
    (void)tl_fold_age(&fold, NOW_MS);
    fill_owner(s, sequence, TL_BODY_CHANGE);
    envelope.as.change.datum = alerts_acknowledgement(s->said[sequence - 1] - 1u, sequence);
    (void)tl_fold_change(&fold, &fold.told[OWNER], &envelope, BODY, NOW_MS);
    judge(s);
}

/* The newest acknowledgement of that instance, 0 = none. */
static uint8_t
last_said(const struct alerts_state *s, unsigned i)
{
    uint8_t last = 0;
    for (uint8_t n = 1; n <= ALERTS_SAID; n++) {
        last = s->said[n - 1] == i + 1 ? n : last;
    }
    return last;
}

void
alerts_take_beat(struct alerts_state *s, uint8_t age)
{
    const struct alerts_beat *frame = &s->frame[age];
    struct tl_beat *beat = &envelope.as.beat;
    unpack(s);
    (void)tl_fold_age(&fold, NOW_MS);
    fill_owner(s, alerts_number(age), TL_BODY_BEAT);
    envelope.settled = frame->settled;
    beat->last_change = frame->last;
    FOR_EACH
    {
        if (frame->carries[i] != 0) {
            beat->data[beat->datum_count++] = alerts_acknowledgement(i, frame->carries[i]);
        }
    }
    if (frame->echo != MODEL_NONE) {
        envelope.echo_count = 1;
        envelope.echo[0] = (struct tl_echo){.validator = "validator-1",
                                            .incarnation = MODEL_JUDGE_LIFE,
                                            .tick = alerts_number(frame->echo),
                                            .alerts = shown_number(frame->shown)};
    }
    struct tl_folded folded = tl_fold_beat(&fold, &fold.told[OWNER], &envelope, NOW_MS);
    bool fresh = frame->echo != MODEL_NONE && frame->echo * ALERTS_STEP_MS <= TL_LOST_MS;
    FOR_EACH
    {
        bool left = folded.kind == TL_FOLD_APPLIED && fresh && frame->carries[i] == 0 &&
                    frame->last >= last_said(s, i);
        bool spoken = s->pressed[i] != 0 && s->own[i] == 0;
        s->lapsed[i] = s->lapsed[i] != 0 || (left && spoken);
    }
    judge(s);
}

static void
publish(struct alerts_state *s)
{
    struct tl_alert_set set = {0};
    tl_alert_book_fill(&book, NUMBER, NOW_MS, &set);
    memset(s->set[0], 0, sizeof s->set[0]);
    memset(s->owes[0], 0, sizeof s->owes[0]);
    for (uint32_t k = 0; k < set.alert_count; k++) {
        if (!is_of_other(&set.alert[k])) {
            continue;
        }
        unsigned i = (unsigned)(set.alert[k].cause.subject.incarnation - MODEL_LIFE);
        s->set[0][i] = (uint8_t)set.alert[k].state;
        s->owes[0][i] = tl_alert_waits_for_place(&set.alert[k], OWNER);
    }
    pack_book(s);
}

void
alerts_judge_begin(struct alerts_state *s)
{
    tl_fold_init(&empty_fold, &alerts_config, "validator-1", MODEL_JUDGE_LIFE, NOW_MS);
    for (uint8_t k = ALERTS_OLD + 1; k > 0; k--) {
        tl_fold_ticked(&empty_fold, alerts_number(k), alerts_ago_ms(k));
    }
    tl_fold_ticked(&empty_fold, NUMBER, NOW_MS);
    struct tl_told *other = &empty_fold.told[OTHER];
    other->based = true;
    other->echoed = true;
    other->ever_live = true;
    other->back_ms = NOW_MS - TL_HOLD_MS;
    empty_fold.told[OWNER].back_ms = NOW_MS - TL_HOLD_MS;
    unpack(s);
    judge(s);
}

void
alerts_judge_tick(struct alerts_state *s)
{
    unpack(s);
    (void)tl_fold_age(&fold, NOW_MS);
    judge(s);
    publish(s);
}

void
alerts_judge_other(struct alerts_state *s)
{
    unpack(s);
    judge(s);
}
