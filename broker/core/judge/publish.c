/* SPDX-License-Identifier: Apache-2.0 */
/* publish.c - see publish.h. */
#include "broker/core/judge/publish.h"

#include "broker/core/rules/check.h"

#include <string.h>

static struct tl_envelope *
start(struct tl_judge *judge, enum tl_body_kind body, uint64_t sequence, struct tl_event event)
{
    struct tl_envelope *envelope = &judge->scratch;
    envelope->body = body;
    envelope->sequence = sequence;
    envelope->event = event;
    envelope->echo_count = 0;
    envelope->settled = 0;
    envelope->said_age_ms = 0;
    return envelope;
}

static void
send_on(struct tl_judge *judge, enum tl_topic_kind kind, const char *addressee)
{
    struct tl_topic topic = {.kind = kind};
    memcpy(topic.publisher, judge->me, TL_ID_CAP);
    if (addressee != NULL) {
        memcpy(topic.addressee, addressee, TL_ID_CAP);
    }
    judge->port.send(judge->port.ctx, &topic, &judge->scratch);
}

/* The number of the picture that stands now; rises when anything in it but readings has changed. */
static uint64_t
number_picture(struct tl_judge *judge)
{
    if (judge->picture_number == 0 || judge->fold.changes != judge->picture_changes) {
        judge->picture_number++;
        judge->picture_changes = judge->fold.changes;
        judge->picture_wanted = true;
    }
    return judge->picture_number;
}

void
tl_publish_verdict(struct tl_judge *judge, bool is_tick, uint64_t now_ms)
{
    const struct tl_decision *decision = &judge->decision;
    uint64_t number = number_picture(judge);
    struct tl_envelope *envelope =
        start(judge, TL_BODY_VERDICT, ++judge->verdict_sequence, judge->fold.list.current);
    struct tl_verdict *verdict = &envelope->as.verdict;
    memset(verdict, 0, sizeof *verdict);
    verdict->tick = judge->tick;
    verdict->is_tick = is_tick;
    verdict->word = decision->word == TL_WORD_READY ? TL_WORD_READY : TL_WORD_NOT_READY;
    verdict->list_heard = judge->fold.list.heard && judge->fold.list.results_heard;
    verdict->picture = number;
    verdict->drill = judge->fold.list.drill;
    verdict->out_of_service_count = judge->fold.out_count;
    memcpy(verdict->out_of_service, judge->fold.out_of_service, sizeof verdict->out_of_service);
    if (verdict->word != TL_WORD_READY) {
        verdict->kind = decision->kind;
        verdict->first = decision->cause[0];
        verdict->first.would = (struct tl_would){0}; /* in the picture: a verdict stays small */
        verdict->cause_count = decision->forcing;
    }
    memcpy(verdict->judgement_digest, judge->config->judgement_digest, TL_DIGEST_LEN);
    memcpy(verdict->key_digest, judge->config->key_digest, TL_DIGEST_LEN);
    judge->last_verdict_ms = now_ms;
    judge->verdict_wanted = false;
    send_on(judge, TL_TOPIC_VERDICT, NULL);
}

static uint32_t
clip_ms(uint64_t age_ms)
{
    return age_ms > UINT32_MAX ? UINT32_MAX : (uint32_t)age_ms;
}

static void
fill_station(const struct tl_told *told, uint64_t now_ms, struct tl_station_state *state)
{
    memcpy(state->node, told->node->id, TL_ID_CAP);
    state->incarnation = told->incarnation;
    state->live = told->live ? TL_LIVE_LIVE : (told->ever_live ? TL_LIVE_LOST : TL_LIVE_NEVER);
    state->age_ms = told->echoed ? clip_ms(now_ms - told->echo_sent_ms) : 0;
    state->applied = told->applied;
    tl_told_digest(told, state->digest);
    state->datum_count = 0;
    for (uint32_t i = 0; i < told->held_count; i++) {
        const struct tl_held *held = &told->held[i];
        if (held->datum.sequence == 0) {
            continue;
        }
        state->data[state->datum_count] = held->datum;
        state->data[state->datum_count++].said_age_ms = clip_ms(now_ms - held->said_ms);
    }
    state->sample_count = told->sample_count;
    for (uint32_t i = 0; i < told->sample_count; i++) {
        state->samples[i] = told->samples[i];
        state->samples[i].age_ms = clip_ms(told->samples[i].age_ms + (now_ms - told->samples_ms));
    }
}

static void
fill_listed(const struct tl_listed_event *from, struct tl_listed *to)
{
    *to = (struct tl_listed){.event = from->event,
                             .order_known = from->order_known,
                             .result_known = from->result_known,
                             .result = from->result,
                             .ended = from->ended};
    if (from->order_known) {
        to->order = from->order;
    }
}

static void
fill_list(const struct tl_list *list, struct tl_picture *picture)
{
    picture->list_heard = list->heard;
    picture->recovery_ms = list->recovery_ms;
    picture->open = list->open;
    picture->drill = list->drill;
    picture->highest_pass = list->highest_pass;
    picture->highest_recovery_ms = list->highest_recovery_ms;
    picture->list_count = list->count;
    for (uint32_t i = 0; i < list->count; i++) {
        fill_listed(&list->event[i], &picture->list[i]);
    }
}

/* The last ones. */
static void
fill_ended(const struct tl_ends *ends, struct tl_picture *picture)
{
    uint32_t first = ends->count > TL_ENDED_SHOWN ? ends->count - TL_ENDED_SHOWN : 0;
    picture->ended_count = ends->count - first;
    for (uint32_t i = 0; i < picture->ended_count; i++) {
        picture->ended[i] = ends->end[first + i].ended;
    }
}

static void
fill_voiced(const struct tl_voice *voice, uint64_t now_ms, struct tl_voiced *out)
{
    memset(out, 0, sizeof *out);
    memcpy(out->station, voice->told->node->id, TL_ID_CAP);
    out->datum = voice->held.datum;
    out->datum.said_age_ms = clip_ms(now_ms - voice->held.said_ms);
    memcpy(out->said_by, voice->said_by->node->id, TL_ID_CAP);
    if (voice->confirmed_by != NULL) {
        memcpy(out->confirmed_by, voice->confirmed_by->node->id, TL_ID_CAP);
    }
}

static void
fill_override(const struct tl_signed *entry, uint64_t now_ms, struct tl_override_live *out)
{
    memset(out, 0, sizeof *out);
    out->override = entry->override;
    memcpy(out->said_by, entry->said_by->node->id, TL_ID_CAP);
    if (entry->confirmed_by != NULL) {
        memcpy(out->confirmed_by, entry->confirmed_by->node->id, TL_ID_CAP);
    }
    out->left_s = (uint32_t)((entry->until_ms - now_ms + 999) / 1000);
}

/* What was said by voice, what is overridden, and how the last pass ended. */
static void
fill_people(const struct tl_fold *fold, uint64_t now_ms, struct tl_picture *picture)
{
    picture->last_known = fold->list.last_known;
    if (fold->list.last_known) {
        fill_listed(&fold->list.last, &picture->last);
    }
    picture->voiced_count = fold->voice_count;
    for (uint32_t i = 0; i < fold->voice_count; i++) {
        fill_voiced(&fold->voice[i], now_ms, &picture->voiced[i]);
    }
    picture->override_count = 0;
    for (uint32_t i = 0; i < fold->signed_count; i++) {
        if (fold->signed_by_two[i].until_ms > now_ms) {
            fill_override(&fold->signed_by_two[i], now_ms,
                          &picture->override[picture->override_count++]);
        }
    }
    for (uint32_t i = 0; i < fold->told_count; i++) {
        picture->station[i].by_voice =
            !fold->told[i].live && tl_is_covered_by_voice(fold, now_ms, &fold->told[i]);
    }
}

static void
publish_alerts(struct tl_judge *judge, uint64_t number, uint64_t now_ms)
{
    struct tl_envelope *envelope =
        start(judge, TL_BODY_ALERTS, ++judge->alert_sequence, judge->fold.list.current);
    envelope->as.alerts.picture = number;
    tl_alert_book_fill(&judge->alerts, judge->alert_sequence, now_ms, &envelope->as.alerts);
    send_on(judge, TL_TOPIC_ALERT, NULL);
}

void
tl_publish_picture(struct tl_judge *judge, uint64_t now_ms)
{
    uint64_t number = number_picture(judge);
    struct tl_envelope *envelope =
        start(judge, TL_BODY_PICTURE, ++judge->picture_sequence, judge->fold.list.current);
    struct tl_picture *picture = &envelope->as.picture;
    picture->number = number;
    fill_list(&judge->fold.list, picture);
    picture->station_count = judge->fold.told_count;
    for (uint32_t i = 0; i < judge->fold.told_count; i++) {
        fill_station(&judge->fold.told[i], now_ms, &picture->station[i]);
    }
    picture->cause_count = judge->decision.cause_count;
    memcpy(picture->cause, judge->decision.cause, sizeof picture->cause);
    fill_people(&judge->fold, now_ms, picture);
    picture->predicted = judge->outside.predicted;
    picture->expected_count = judge->outside.expected_count;
    memcpy(picture->expected, judge->outside.expected, sizeof picture->expected);
    fill_ended(&judge->fold.list.ends, picture);
    judge->picture_readings = judge->fold.readings;
    judge->last_picture_ms = now_ms;
    judge->picture_wanted = false;
    send_on(judge, TL_TOPIC_PICTURE, NULL);
    publish_alerts(judge, number, now_ms);
}

/* What dates the verdict at the addressee: what stood, and how old what it stands on was. */
static void
date_verdict(const struct tl_judge *judge, struct tl_receipt *receipt, uint64_t nonce,
             uint64_t now_ms)
{
    receipt->nonce = nonce;
    receipt->verdict = judge->verdict_sequence;
    receipt->oldest_ms = clip_ms(tl_fold_oldest_ms(&judge->fold, now_ms));
}

void
tl_publish_receipt(struct tl_judge *judge, struct tl_told *told, uint64_t nonce, uint64_t now_ms)
{
    struct tl_envelope *envelope =
        start(judge, TL_BODY_RECEIPT, ++told->receipt_sequence, judge->fold.list.current);
    tl_fold_receipt(told, &envelope->as.receipt);
    date_verdict(judge, &envelope->as.receipt, nonce, now_ms);
    send_on(judge, TL_TOPIC_RECEIPT, told->node->id);
}

void
tl_publish_old(struct tl_judge *judge, struct tl_told *told, const struct tl_envelope *envelope)
{
    uint64_t old = envelope->incarnation;
    struct tl_envelope *out =
        start(judge, TL_BODY_RECEIPT, ++told->receipt_sequence, judge->fold.list.current);
    memset(&out->as.receipt, 0, sizeof out->as.receipt);
    out->as.receipt.for_incarnation = old;
    out->as.receipt.higher_incarnation = told->incarnation;
    send_on(judge, TL_TOPIC_RECEIPT, told->node->id);
}

void
tl_publish_viewer_receipt(struct tl_judge *judge, const struct tl_envelope *beat, uint64_t now_ms)
{
    char viewer[TL_ID_CAP];
    uint64_t incarnation = beat->incarnation;
    uint64_t nonce = beat->sequence;
    memcpy(viewer, beat->node, TL_ID_CAP);
    struct tl_envelope *envelope =
        start(judge, TL_BODY_RECEIPT, ++judge->viewer_receipt_sequence, judge->fold.list.current);
    memset(&envelope->as.receipt, 0, sizeof envelope->as.receipt);
    envelope->as.receipt.for_incarnation = incarnation;
    date_verdict(judge, &envelope->as.receipt, nonce, now_ms);
    send_on(judge, TL_TOPIC_RECEIPT, viewer);
}

void
tl_publish_judged(struct tl_judge *judge, const struct tl_judged *row)
{
    struct tl_envelope *envelope =
        start(judge, TL_BODY_JUDGED, ++judge->judged.sequence, judge->fold.list.current);
    envelope->as.judged = *row;
    send_on(judge, TL_TOPIC_JUDGED, NULL);
}
