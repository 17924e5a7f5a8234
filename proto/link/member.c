/* SPDX-License-Identifier: Apache-2.0 */
/* member.c - see member.h. */
#include "proto/link/member.h"

#include <string.h>

void
tl_member_init(struct tl_member *member, const struct tl_config *config, const struct tl_node *node,
               uint64_t incarnation, uint64_t now_ms)
{
    memset(member, 0, sizeof *member);
    member->config = config;
    member->node = node;
    member->incarnation = incarnation;
    member->last_heard_ms = now_ms;
    member->beat_wanted = true;
    bool recorder = false;
    for (uint32_t i = 0; i < config->node_count; i++) {
        recorder = recorder || config->node[i].kind == TL_NODE_RECORDER;
    }
    tl_hear_init(&member->hear, config, incarnation);
    tl_outbox_init(&member->outbox, recorder);
    tl_screen_init(&member->screen, config);
}

/* Callers read the clock at different moments of one turn: an older time must not make an age. */
static uint64_t
forward(struct tl_member *member, uint64_t now_ms)
{
    if (now_ms > member->latest_ms) {
        member->latest_ms = now_ms;
    }
    return member->latest_ms;
}

static void
echo_alerts(const struct tl_member *member, struct tl_envelope *envelope)
{
    for (uint32_t i = 0; i < envelope->echo_count; i++) {
        struct tl_echo *echo = &envelope->echo[i];
        echo->alerts = 0;
        for (uint32_t v = 0; v < member->hear.count; v++) {
            bool same = strncmp(member->hear.validator[v].id, echo->validator, TL_ID_CAP) == 0 &&
                        member->seen[v].incarnation == echo->incarnation;
            echo->alerts = same ? member->seen[v].alerts_shown : echo->alerts;
        }
    }
}

static struct tl_envelope *
start_envelope(struct tl_member *member, enum tl_body_kind body, uint64_t sequence)
{
    struct tl_envelope *envelope = &member->scratch;
    envelope->sequence = sequence;
    envelope->event = (struct tl_event){0};
    envelope->settled = member->outbox.settled;
    envelope->said_age_ms = 0;
    envelope->body = body;
    tl_hear_echo(&member->hear, envelope);
    echo_alerts(member, envelope);
    return envelope;
}

static void
send_on(struct tl_member *member, enum tl_topic_kind kind)
{
    struct tl_topic topic = {.kind = kind};
    memcpy(topic.publisher, member->node->id, TL_ID_CAP);
    member->port.send(member->port.ctx, &topic, &member->scratch);
}

static void
send_beat(struct tl_member *member, uint64_t now_ms)
{
    struct tl_envelope *envelope = start_envelope(member, TL_BODY_BEAT, ++member->beat_sequence);
    tl_outbox_beat(&member->outbox, &envelope->as.beat, now_ms);
    envelope->as.beat.sample_count = member->sample_count;
    memcpy(envelope->as.beat.samples, member->sample, sizeof member->sample);
    tl_hear_sent(&member->hear, member->beat_sequence, now_ms);
    member->last_beat_ms = now_ms;
    member->beat_wanted = false;
    member->ever_beat = true;
    send_on(member, TL_TOPIC_BEAT);
}

static void
send_change(struct tl_member *member, const struct tl_said *said, uint64_t now_ms)
{
    struct tl_envelope *envelope = start_envelope(member, TL_BODY_CHANGE, said->datum.sequence);
    uint64_t age = now_ms - said->said_ms;
    envelope->said_age_ms = age > UINT32_MAX ? UINT32_MAX : (uint32_t)age;
    if (said->datum.stated_for_count > 0) {
        envelope->event = said->datum.stated_for[0];
    }
    envelope->as.change.datum = said->datum;
    send_on(member, TL_TOPIC_CHANGE);
}

/* Send each change with a sequence above `before`: those said since then. */
static void
send_new_changes(struct tl_member *member, uint64_t before, uint64_t now_ms)
{
    for (uint64_t sequence = before + 1; sequence <= member->outbox.last; sequence++) {
        const struct tl_said *said = tl_outbox_find(&member->outbox, sequence);
        if (said != NULL) {
            send_change(member, said, now_ms);
        }
    }
    if (member->outbox.last > before) {
        member->beat_wanted = true;
    }
}

static void
beat_if_due(struct tl_member *member, uint64_t now_ms)
{
    uint64_t since = now_ms - member->last_beat_ms;
    if (!member->ever_beat || (member->beat_wanted && since >= TL_BEAT_GAP_MS) ||
        since >= TL_BEAT_MS) {
        send_beat(member, now_ms);
    }
}

/* One physical thing has one value: changed for a queued event, it is changed for the current. */
static void
state_for_current(const struct tl_member *member, struct tl_datum *datum, uint64_t now_ms)
{
    const struct tl_own *own = tl_outbox_named(&member->outbox, datum);
    struct tl_view view;
    if (!datum->known || tl_datum_cadence(datum->kind) != TL_CADENCE_EVENT_CARRIED ||
        datum->stated_for_count == 0 || (own != NULL && tl_datum_same_value(&own->datum, datum))) {
        return;
    }
    tl_screen_view(&member->screen, &member->hear, now_ms, &view);
    if (!view.event_known || !tl_event_is(view.event) || tl_datum_is_for(datum, view.event)) {
        return;
    }
    uint32_t kept = datum->stated_for_count < TL_STATED_FOR_MAX ? datum->stated_for_count
                                                                : TL_STATED_FOR_MAX - 1u;
    memmove(&datum->stated_for[1], &datum->stated_for[0], kept * sizeof datum->stated_for[0]);
    datum->stated_for[0] = view.event;
    datum->stated_for_count = kept + 1;
}

enum tl_err
tl_member_say(struct tl_member *member, const struct tl_datum *datum, uint64_t now_ms,
              uint64_t *sequence)
{
    uint64_t before = member->outbox.last;
    struct tl_datum said = *datum;
    now_ms = forward(member, now_ms);
    if (!tl_config_may_state(member->config, member->node, datum)) {
        return TL_PERM;
    }
    state_for_current(member, &said, now_ms);
    enum tl_err err = tl_outbox_say(&member->outbox, &member->hear, &said, now_ms, sequence);
    if (err == TL_OK) {
        send_new_changes(member, before, now_ms);
        member->beat_wanted = true; /* also when there was no room for its change */
        beat_if_due(member, now_ms);
    }
    return err;
}

static uint32_t
index_of(const struct tl_member *member, const struct tl_heard *heard)
{
    return (uint32_t)(heard - member->hear.validator);
}

static struct tl_member_seen *
seen_of(struct tl_member *member, const struct tl_envelope *envelope)
{
    struct tl_heard *heard = tl_hear_find(&member->hear, envelope->node);
    if (heard == NULL) {
        return NULL;
    }
    struct tl_member_seen *seen = &member->seen[index_of(member, heard)];
    if (envelope->incarnation < seen->incarnation) {
        return NULL;
    }
    if (envelope->incarnation > seen->incarnation) {
        seen->incarnation = envelope->incarnation;
        seen->picture_sequence = 0;
        seen->alerts_sequence = 0;
        seen->has_picture = false;
        seen->has_alerts = false;
        seen->alerts_shown = 0;
    }
    return seen;
}

static void
take_picture(struct tl_member *member, const struct tl_envelope *envelope)
{
    struct tl_member_seen *seen = seen_of(member, envelope);
    if (seen != NULL && envelope->sequence > seen->picture_sequence) {
        seen->picture_sequence = envelope->sequence;
        seen->picture = envelope->as.picture;
        seen->has_picture = true;
    }
}

static void
take_alerts(struct tl_member *member, const struct tl_envelope *envelope)
{
    struct tl_member_seen *seen = seen_of(member, envelope);
    if (seen != NULL && envelope->sequence > seen->alerts_sequence) {
        seen->alerts_sequence = envelope->sequence;
        seen->alerts = envelope->as.alerts;
        seen->has_alerts = true;
    }
}

static void
take_receipt(struct tl_member *member, const struct tl_envelope *envelope, uint64_t now_ms)
{
    const struct tl_receipt *receipt = &envelope->as.receipt;
    uint64_t before = member->outbox.last;
    struct tl_heard *heard = tl_hear_find(&member->hear, envelope->node);
    bool was = heard != NULL && tl_heard_is(heard, now_ms);
    uint64_t through = heard != NULL ? heard->through : 0;
    heard = tl_hear_receipt(&member->hear, envelope);
    if (heard == NULL) {
        return;
    }
    if (receipt->higher_incarnation > member->incarnation) {
        member->higher_incarnation = receipt->higher_incarnation;
        return;
    }
    if ((!was && tl_heard_is(heard, now_ms)) || heard->through > through) {
        tl_outbox_hurry(&member->outbox, now_ms);
    }
    tl_outbox_receipt(&member->outbox, &member->hear, heard, receipt, now_ms);
    send_new_changes(member, before, now_ms);
}

/* The place of that recorder, made when there is room; NULL when full, or it is none. */
static struct tl_member_worn *
worn_of(struct tl_member *member, const char *recorder)
{
    const struct tl_node *node = tl_config_node(member->config, recorder);
    for (uint32_t i = 0; i < member->worn_count; i++) {
        if (strncmp(member->worn[i].recorder, recorder, TL_ID_CAP) == 0) {
            return &member->worn[i];
        }
    }
    if (node == NULL || node->kind != TL_NODE_RECORDER || member->worn_count == TL_RECORDERS_MAX) {
        return NULL;
    }
    struct tl_member_worn *worn = &member->worn[member->worn_count++];
    memset(worn, 0, sizeof *worn);
    memcpy(worn->recorder, node->id, TL_ID_CAP);
    return worn;
}

/* It is of the ship and not of this life: a station that has just started is told too. */
static void
take_worn(struct tl_member *member, const struct tl_envelope *envelope, uint64_t now_ms)
{
    const struct tl_recorded *recorded = &envelope->as.recorded;
    struct tl_member_worn *worn = worn_of(member, envelope->node);
    if (worn == NULL || envelope->incarnation < worn->incarnation ||
        (envelope->incarnation == worn->incarnation && envelope->sequence <= worn->sequence)) {
        return;
    }
    worn->heard_ms = now_ms;
    worn->incarnation = envelope->incarnation;
    worn->sequence = envelope->sequence;
    worn->count = recorded->worn_count;
    memcpy(worn->worn, recorded->worn, recorded->worn_count * sizeof worn->worn[0]);
}

static void
take_recorded(struct tl_member *member, const struct tl_envelope *envelope, uint64_t now_ms)
{
    take_worn(member, envelope, now_ms);
    if (envelope->as.recorded.for_incarnation == member->incarnation) {
        tl_outbox_recorded(&member->outbox, envelope->as.recorded.through);
    }
}

void
tl_member_message(struct tl_member *member, const struct tl_envelope *envelope, uint64_t now_ms)
{
    bool new_tick = false;
    now_ms = forward(member, now_ms);
    switch (envelope->body) {
    case TL_BODY_VERDICT:
        (void)tl_hear_verdict(&member->hear, envelope, &new_tick);
        member->beat_wanted = member->beat_wanted || new_tick;
        break;
    case TL_BODY_PICTURE:
        take_picture(member, envelope);
        break;
    case TL_BODY_ALERTS:
        take_alerts(member, envelope);
        break;
    case TL_BODY_RECEIPT:
        take_receipt(member, envelope, now_ms);
        break;
    case TL_BODY_RECORDED:
        take_recorded(member, envelope, now_ms);
        break;
    case TL_BODY_BEAT:
    case TL_BODY_CHANGE:
    case TL_BODY_REFUSALS:
    case TL_BODY_JUDGED:
    case TL_BODY_COUNTERS:
    case TL_BODY_UNKNOWN:
    case TL_BODY_KINDS:
        break;
    }
}

static bool
is_named_current(const struct tl_member *member, const struct tl_datum *datum, uint64_t now_ms)
{
    bool any = false;
    for (uint32_t v = 0; v < member->hear.count; v++) {
        const struct tl_heard *heard = &member->hear.validator[v];
        if (!tl_heard_is_fresh(heard, now_ms) || !heard->verdict.list_heard) {
            continue;
        }
        if (tl_datum_is_for(datum, heard->event)) {
            return true;
        }
        any = true;
    }
    return !any; /* nobody to say otherwise */
}

/*
 * An accepted event word is over for good when no validator names its event any more. One that is
 * still in flight is left alone: its order may be in flight too, and if it is not accepted it is
 * refused or withdrawn. One validator may be behind the other: its verdict must not kill a word
 * for the event that the other has gone on to; the one that has left the event refuses its words.
 */
static void
void_left_events(struct tl_member *member, uint64_t now_ms)
{
    for (uint32_t i = 0; i < member->outbox.own_count; i++) {
        const struct tl_own *own = &member->outbox.own[i];
        if (own->datum.sequence <= member->outbox.settled && tl_datum_is_event_word(&own->datum) &&
            !is_named_current(member, &own->datum, now_ms)) {
            tl_outbox_unsay(&member->outbox, &member->hear, own, now_ms);
        }
    }
}

static bool
has_event_cadence(const struct tl_datum *datum)
{
    enum tl_cadence cadence = tl_datum_cadence(datum->kind);
    bool no_foul = datum->kind == TL_DATUM_DECK && datum->as.deck.state == TL_DECK_NO_FOUL;
    return datum->known && !no_foul && !tl_datum_is_safeward(datum) &&
           (cadence == TL_CADENCE_EVENT || cadence == TL_CADENCE_EVENT_CARRIED);
}

static void
void_when_alone(struct tl_member *member, uint64_t now_ms)
{
    if (tl_hear_any(&member->hear, now_ms)) {
        member->last_heard_ms = now_ms;
        return;
    }
    if (now_ms - member->last_heard_ms < TL_ALONE_MS) {
        return;
    }
    for (uint32_t i = 0; i < member->outbox.own_count; i++) {
        if (has_event_cadence(&member->outbox.own[i].datum)) {
            tl_outbox_unsay(&member->outbox, &member->hear, &member->outbox.own[i], now_ms);
        }
    }
}

void
tl_member_tend(struct tl_member *member, uint64_t now_ms)
{
    uint64_t before = member->outbox.last;
    now_ms = forward(member, now_ms);
    tl_screen_tend(&member->screen, &member->hear, now_ms);
    void_left_events(member, now_ms);
    void_when_alone(member, now_ms);
    tl_outbox_tend(&member->outbox, &member->hear, now_ms);
    send_new_changes(member, before, now_ms);
    const struct tl_said *resend[TL_RESEND_MAX];
    size_t count = tl_outbox_resend(&member->outbox, now_ms, resend);
    for (size_t i = 0; i < count; i++) {
        send_change(member, resend[i], now_ms);
    }
    beat_if_due(member, now_ms);
}

uint32_t
tl_member_wait_ms(const struct tl_member *member, uint64_t now_ms)
{
    uint64_t due_ms = member->last_beat_ms + (member->beat_wanted ? TL_BEAT_GAP_MS : TL_BEAT_MS);
    return due_ms > now_ms ? (uint32_t)(due_ms - now_ms) : 0;
}

void
tl_member_samples(struct tl_member *member, const struct tl_sample *sample, uint32_t count)
{
    member->sample_count = count < TL_SAMPLES_MAX ? count : TL_SAMPLES_MAX;
    for (uint32_t i = 0; i < member->sample_count; i++) {
        member->sample[i] = sample[i];
    }
}

void
tl_member_view(struct tl_member *member, uint64_t now_ms, struct tl_view *view)
{
    now_ms = forward(member, now_ms);
    tl_screen_tend(&member->screen, &member->hear, now_ms);
    tl_screen_view(&member->screen, &member->hear, now_ms, view);
}

const struct tl_picture *
tl_member_picture(const struct tl_member *member, const struct tl_view *view, bool *old)
{
    uint32_t chosen = view->from;
    for (uint32_t i = 0; i < member->hear.count && !view->from_known; i++) {
        if (member->seen[i].has_picture) {
            chosen = i;
            break;
        }
    }
    const struct tl_member_seen *seen = &member->seen[chosen];
    if (!seen->has_picture) {
        return NULL;
    }
    *old = !view->from_known || seen->incarnation != member->hear.validator[chosen].incarnation ||
           seen->picture.number < member->hear.validator[chosen].verdict.picture;
    return &seen->picture;
}

const struct tl_picture *
tl_member_current_picture(const struct tl_member *member, uint32_t validator, uint64_t now_ms)
{
    const struct tl_heard *heard = &member->hear.validator[validator];
    const struct tl_member_seen *seen = &member->seen[validator];
    bool current = seen->has_picture && tl_heard_is_fresh(heard, now_ms) &&
                   seen->incarnation == heard->incarnation &&
                   seen->picture.number >= heard->verdict.picture;
    return current ? &seen->picture : NULL;
}

/* Whether the set in hand of that validator counts. */
static bool
lists_alerts(const struct tl_member *member, uint32_t validator, uint64_t now_ms)
{
    const struct tl_heard *heard = &member->hear.validator[validator];
    const struct tl_member_seen *seen = &member->seen[validator];
    return seen->has_alerts && tl_heard_is_fresh(heard, now_ms) &&
           seen->incarnation == heard->incarnation;
}

void
tl_member_alerts_shown(struct tl_member *member, uint64_t now_ms)
{
    for (uint32_t v = 0; v < member->hear.count; v++) {
        if (lists_alerts(member, v, now_ms)) {
            member->seen[v].alerts_shown = member->seen[v].alerts_sequence;
        }
    }
}

static struct tl_alert *
listed_of(struct tl_alert *set, uint32_t count, const struct tl_alert *alert)
{
    for (uint32_t i = 0; i < count; i++) {
        if (tl_alert_same_instance(&set[i], alert)) {
            return &set[i];
        }
    }
    return NULL;
}

static void
merge_alert(struct tl_alert *into, const struct tl_alert *other)
{
    into->acknowledged |= other->acknowledged;
    into->delivered |= other->delivered;
    into->owed |= other->owed;
    bool waited = (into->owed & ~into->acknowledged) != 0;
    bool returned = into->state == TL_ALERT_RETURNED && other->state == TL_ALERT_RETURNED;
    if (!returned) {
        into->state = waited ? TL_ALERT_UNACKNOWLEDGED : TL_ALERT_ACKNOWLEDGED;
    }
    if (other->severity < into->severity) {
        into->severity = other->severity; /* the graver has the lower number */
    }
    if (other->raised_age_ms > into->raised_age_ms) {
        into->raised_age_ms = other->raised_age_ms;
    }
}

uint32_t
tl_member_alerts(const struct tl_member *member, uint64_t now_ms, struct tl_alert *out,
                 uint32_t cap)
{
    uint32_t count = 0;
    for (uint32_t v = 0; v < member->hear.count; v++) {
        const struct tl_member_seen *seen = &member->seen[v];
        uint32_t listed = lists_alerts(member, v, now_ms) ? seen->alerts.alert_count : 0;
        for (uint32_t i = 0; i < listed; i++) {
            struct tl_alert *same = listed_of(out, count, &seen->alerts.alert[i]);
            if (same != NULL) {
                merge_alert(same, &seen->alerts.alert[i]);
            } else if (count < cap) {
                out[count++] = seen->alerts.alert[i];
            }
        }
    }
    return count;
}
