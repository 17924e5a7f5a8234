/* SPDX-License-Identifier: Apache-2.0 */
/* alerts.c - see alerts.h: the station, and what may happen; alerts_validator.c is the other side. */
#include <string.h>

#include "clients/station/session.h"
#include "clients/ui/bell.h"
#include "tests/models/alerts_parts.h"

/* Asked of orders only; nobody has given one. */
bool
tl_listed_is_open(const struct tl_listed *listed)
{
    return listed != NULL;
}

/* Said of orders only. */
void
tl_session_say_line(struct tl_session *session, int client, const char *text)
{
    (void)session;
    (void)client;
    (void)text;
}

/* NOLINTBEGIN(cppcoreguidelines-avoid-non-const-global-variables): set once, or before each use */
struct tl_config alerts_config;

/* Constant once alerts_begin has run. */
static struct tl_session empty_session;
/* Written whole before each use. */
static struct tl_session session;
static struct tl_bell bell;
/* NOLINTEND(cppcoreguidelines-avoid-non-const-global-variables) */

uint64_t
alerts_number(uint8_t age)
{
    return NUMBER - (uint64_t)age;
}

uint64_t
alerts_ago_ms(uint8_t steps)
{
    return NOW_MS - (uint64_t)steps * ALERTS_STEP_MS;
}

/* The alert of that life of the other station, as tl_decide and the book make it. */
struct tl_alert
alerts_of(unsigned life)
{
    struct tl_alert alert = {.severity = TL_SEVERITY_ALARM, .owed = 1u << OWNER};
    alert.cause.rule = TL_RULE_STATION_LOST;
    alert.cause.state = TL_CAUSE_WRONG;
    memcpy(alert.cause.station, alerts_config.node[OTHER].id, TL_ID_CAP);
    memcpy(alert.cause.subject.node, alerts_config.node[OTHER].id, TL_ID_CAP);
    alert.cause.subject.incarnation = MODEL_LIFE + life;
    return alert;
}

struct tl_datum
alerts_acknowledgement(unsigned life, uint8_t sequence)
{
    struct tl_alert alert = alerts_of(life);
    struct tl_datum datum = {.kind = TL_DATUM_ACKNOWLEDGED, .known = true, .sequence = sequence};
    datum.as.instance = tl_alert_instance(&alert);
    datum.slot = tl_acknowledged_slot(datum.as.instance);
    return datum;
}

/* ---- the station ---- */

static void
unpack_box(const struct alerts_state *s, struct tl_outbox *box)
{
    box->settled = s->own_settled;
    for (uint8_t n = 1; n <= ALERTS_SAID && s->said[n - 1] != 0; n++) {
        box->last = n;
        if (n > s->own_settled) {
            box->said[box->said_count++].datum = alerts_acknowledgement(s->said[n - 1] - 1u, n);
        }
    }
    FOR_EACH
    {
        if (s->own[i] != 0) {
            box->own[box->own_count++].datum = alerts_acknowledgement(i, s->own[i]);
        }
    }
}

static void
unpack_seen(const struct alerts_state *s, struct tl_member *member)
{
    struct tl_heard *heard = &member->hear.validator[0];
    struct tl_member_seen *seen = &member->seen[0];
    heard->incarnation = MODEL_JUDGE_LIFE;
    heard->has_verdict = s->verdict != MODEL_NONE;
    heard->dated = heard->has_verdict;
    heard->dated_ms = alerts_ago_ms(s->verdict);
    heard->answered = heard->has_verdict;
    heard->answered_sent_ms = heard->dated_ms;
    heard->verdict.picture = heard->has_verdict ? alerts_number(s->verdict) : 0;
    seen->incarnation = MODEL_JUDGE_LIFE;
    seen->has_picture = s->hand != MODEL_NONE;
    seen->has_alerts = seen->has_picture;
    seen->picture.number = seen->has_picture ? alerts_number(s->hand) : 0;
    seen->alerts.picture = seen->picture.number;
    FOR_EACH
    {
        if (s->rung[i] != 0) {
            seen->alerts.alert[seen->alerts.alert_count++] = alerts_of(i);
        }
    }
}

static void
pack_box(struct alerts_state *s, const struct tl_outbox *box)
{
    s->own_settled = (uint8_t)box->settled;
    memset(s->own, 0, sizeof s->own);
    for (uint32_t k = 0; k < box->own_count; k++) {
        uint64_t instance = box->own[k].datum.as.instance;
        s->own[instance == alerts_acknowledgement(0, 0).as.instance ? 0 : 1] =
            (uint8_t)box->own[k].datum.sequence;
    }
}

/* The loop of the station: its own upkeep after whatever happened. */
static void
tend(struct alerts_state *s)
{
    memcpy(&session, &empty_session, sizeof session);
    struct tl_member *member = &session.seat.member;
    unpack_box(s, &member->outbox);
    unpack_seen(s, member);
    tl_session_upkeep(&session, NOW_MS);
    pack_box(s, &member->outbox);
}

static void
take_receipt(struct alerts_state *s)
{
    memcpy(&session, &empty_session, sizeof session);
    struct tl_member *member = &session.seat.member;
    unpack_box(s, &member->outbox);
    unpack_seen(s, member);
    struct tl_heard *heard = &member->hear.validator[0];
    heard->answered = true;
    heard->answered_sent_ms = NOW_MS;
    heard->through = s->applied;
    struct tl_receipt receipt = {.for_incarnation = MODEL_LIFE, .through = s->applied};
    tl_outbox_receipt(&member->outbox, &member->hear, heard, &receipt, NOW_MS);
    pack_box(s, &member->outbox);
    tend(s);
}

static void
acknowledge(struct alerts_state *s, unsigned i)
{
    uint64_t sequence = 0;
    memcpy(&session, &empty_session, sizeof session);
    struct tl_member *member = &session.seat.member;
    unpack_box(s, &member->outbox);
    struct tl_datum datum = alerts_acknowledgement(i, 0);
    tl_err_ignore(tl_outbox_say(&member->outbox, &member->hear, &datum, NOW_MS, &sequence),
                  "toward safe, and there is room");
    s->said[sequence - 1] = (uint8_t)(i + 1);
    s->pressed[i] = 1;
    s->lapsed[i] = 0;
    pack_box(s, &member->outbox);
}

struct rings {
    unsigned raised, again;
};

static void
ring(void *ctx, enum tl_bell_edge edge, const struct tl_belled *entry)
{
    struct rings *rings = ctx;
    unsigned bit = 1u << (entry->alert.cause.subject.incarnation - MODEL_LIFE);
    rings->raised |= edge == TL_BELL_RAISED ? bit : 0;
    rings->again |= edge == TL_BELL_AGAIN || edge == TL_BELL_GRAVER ? bit : 0;
}

static struct tl_alert
listed(unsigned i, uint8_t state, uint8_t owes)
{
    struct tl_alert alert = alerts_of(i);
    alert.state = (enum tl_alert_state)state;
    alert.acknowledged = owes != 0 ? 0 : alert.owed;
    return alert;
}

static void
unpack_bell(const struct alerts_state *s, struct rings *rings)
{
    tl_bell_init(&bell, OWNER, ring, rings);
    FOR_EACH
    {
        if (s->rung[i] != 0) {
            bell.entry[bell.count++] = (struct tl_belled){
                .alert = listed(i, s->rung[i], s->rung_owes[i]),
                .number = i + 1,
                .sound_ms =
                    s->due[i] == NEVER ? UINT64_MAX : NOW_MS + s->due[i] * (uint64_t)TL_RESOUND_MS};
        }
    }
}

static void
pack_bell(struct alerts_state *s)
{
    memset(s->due, NEVER, sizeof s->due);
    memset(s->rung, 0, sizeof s->rung);
    memset(s->rung_owes, 0, sizeof s->rung_owes);
    for (uint32_t k = 0; k < bell.count; k++) {
        const struct tl_belled *entry = &bell.entry[k];
        unsigned i = (unsigned)(entry->alert.cause.subject.incarnation - MODEL_LIFE);
        s->rung[i] = (uint8_t)entry->alert.state;
        s->rung_owes[i] = tl_alert_waits_for_place(&entry->alert, OWNER);
        uint64_t left = entry->sound_ms > NOW_MS ? (entry->sound_ms - NOW_MS) / TL_RESOUND_MS : 0;
        s->due[i] = (uint8_t)(left < NEVER ? left : NEVER);
    }
}

static void
take_set(struct alerts_state *s, uint8_t age)
{
    struct rings rings = {0};
    struct tl_alert alert[ALERTS_LIVES];
    uint32_t count = 0;
    uint8_t before[ALERTS_LIVES];
    memcpy(before, s->rung, sizeof before);
    unpack_bell(s, &rings);
    FOR_EACH
    {
        if (s->set[age][i] != 0) {
            alert[count] = listed(i, s->set[age][i], s->owes[age][i]);
            alert[count++].raised_age_ms = s->entry[i].aged * (uint32_t)TL_RESOUND_MS;
            s->seen[i] = 1;
        }
    }
    tl_bell_take(&bell, alert, count, NOW_MS);
    pack_bell(s);
    s->hand = age;
    FOR_EACH
    {
        bool active = s->rung[i] != 0 && s->rung[i] != TL_ALERT_RETURNED;
        bool was = before[i] != 0 && before[i] != TL_ALERT_RETURNED;
        model_claim(&s->broken, !active || was || (rings.raised >> i & 1u) != 0, 7,
                    "an alert that is new at a station sounds there");
    }
    if (s->must_ring != 0 && s->rung[s->life] == TL_ALERT_UNACKNOWLEDGED) {
        model_claim(&s->broken, (rings.again >> s->life & 1u) != 0, 8,
                    "an alert nobody acknowledged sounds again after 30 s");
    }
    s->must_ring = 0;
    tend(s);
}

static void
send_beat(struct alerts_state *s)
{
    struct alerts_beat *frame = &s->frame[0];
    frame->sent = 1;
    memcpy(frame->carries, s->own, sizeof frame->carries);
    frame->last = 0;
    while (frame->last < ALERTS_SAID && s->said[frame->last] != 0) {
        frame->last++;
    }
    frame->settled = s->own_settled;
    frame->echo = s->verdict;
    frame->shown = s->hand;
}

/* ---- time ---- */

static void
age_all(struct alerts_state *s)
{
    memmove(&s->set[1], &s->set[0], sizeof s->set[0] * (ALERTS_KEPT - 1));
    memmove(&s->owes[1], &s->owes[0], sizeof s->owes[0] * (ALERTS_KEPT - 1));
    memmove(&s->frame[1], &s->frame[0], sizeof s->frame[0] * (ALERTS_KEPT - 1));
    for (unsigned k = 1; k < ALERTS_KEPT; k++) {
        s->frame[k].echo = model_older(s->frame[k].echo, ALERTS_OLD);
        s->frame[k].shown = model_older(s->frame[k].shown, ALERTS_OLD);
    }
    FOR_EACH
    {
        s->entry[i].set = model_older(s->entry[i].set, ALERTS_OLD);
    }
    s->echo = model_older(s->echo, ALERTS_OLD);
    s->beat = model_older(s->beat, ALERTS_OLD);
    s->shown = model_older(s->shown, ALERTS_OLD);
    s->verdict = model_older(s->verdict, ALERTS_OLD);
    s->hand = model_older(s->hand, ALERTS_OLD);
    s->calm = model_older(s->calm, ALERTS_SETTLED);
    s->ticks = model_older(s->ticks, ALERTS_KEPT);
}

static void
deliver_all(struct alerts_state *s)
{
    s->verdict = 0;
    take_set(s, 0);
    for (uint8_t n = (uint8_t)(s->own_settled + 1); n <= ALERTS_SAID && s->said[n - 1] != 0; n++) {
        alerts_take_change(s, n);
    }
    take_receipt(s);
    send_beat(s);
    alerts_take_beat(s, 0);
    take_receipt(s);
}

static void
tick(struct alerts_state *s)
{
    age_all(s);
    alerts_judge_tick(s);
    tend(s);
    send_beat(s);
    if (s->calm != MODEL_NONE) {
        deliver_all(s);
    }
}

static void
pass_long(struct alerts_state *s)
{
    FOR_EACH
    {
        struct alerts_entry *entry = &s->entry[i];
        entry->aged =
            (uint8_t)(entry->state != 0 && entry->aged < 2 ? entry->aged + 1 : entry->aged);
        s->due[i] = (uint8_t)(s->due[i] > 0 && s->due[i] < NEVER ? s->due[i] - 1 : s->due[i]);
    }
    uint8_t now = s->life;
    s->must_ring = s->calm != MODEL_NONE && s->calm >= ALERTS_SETTLED &&
                   s->rung[now] == TL_ALERT_UNACKNOWLEDGED && s->rung_owes[now] != 0;
}

/* ---- what may happen ---- */

static bool
may_ack(const struct alerts_state *s, unsigned i)
{
    return s->rung[i] != 0 && s->rung_owes[i] != 0 && s->own[i] == 0 &&
           s->said[ALERTS_SAID - 1] == 0;
}

static bool
may_happen(const struct alerts_state *s, int event)
{
    bool calm = s->calm != MODEL_NONE;
    if (event == ALERTS_TICK || event == ALERTS_LONG) {
        return event == ALERTS_TICK || (calm && s->calm >= ALERTS_SETTLED);
    }
    if (event >= ALERTS_ACK && event < ALERTS_RECEIPT) {
        return may_ack(s, (unsigned)(event - ALERTS_ACK)) && (!calm || s->calm == 0);
    }
    if (event >= ALERTS_CHANGE) {
        return s->said[event - ALERTS_CHANGE] != 0;
    }
    if (calm) {
        return false;
    }
    if (event == ALERTS_LIFE) {
        return s->life == 0;
    }
    if (event >= ALERTS_BEAT) {
        return s->frame[event - ALERTS_BEAT].sent != 0;
    }
    if (event >= ALERTS_SET) {
        return event - ALERTS_SET < s->hand && event - ALERTS_SET < s->ticks;
    }
    return event < ALERTS_HEAR ||
           (ALERTS_APART && event - ALERTS_HEAR < s->verdict && event - ALERTS_HEAR < s->ticks);
}

static void
find_events(struct alerts_state *s)
{
    s->may = 0;
    for (int event = 0; event < ALERTS_EVENTS; event++) {
        s->may |= may_happen(s, event) ? 1ull << event : 0;
    }
}

static void
frame_do(struct alerts_state *s, int event)
{
    if (event >= ALERTS_CHANGE) {
        alerts_take_change(s, (uint8_t)(event - ALERTS_CHANGE + 1));
    } else if (event >= ALERTS_BEAT) {
        alerts_take_beat(s, (uint8_t)(event - ALERTS_BEAT));
    } else if (event >= ALERTS_SET) {
        uint8_t age = (uint8_t)(event - ALERTS_SET);
        s->verdict = !ALERTS_APART && age < s->verdict ? age : s->verdict;
        take_set(s, age);
    } else if (event >= ALERTS_HEAR) {
        s->verdict = (uint8_t)(event - ALERTS_HEAR);
        tend(s);
    } else if (event == ALERTS_RECEIPT) {
        take_receipt(s);
    } else {
        acknowledge(s, (unsigned)(event - ALERTS_ACK));
    }
}

void
alerts_do(struct alerts_state *s, int event)
{
    if (event == ALERTS_TICK) {
        tick(s);
    } else if (event == ALERTS_LONG) {
        pass_long(s);
    } else if (event == ALERTS_CALM) {
        s->calm = 0;
    } else if (event == ALERTS_TURN || event == ALERTS_LIFE) {
        s->lost = event == ALERTS_TURN ? s->lost == 0 : 0;
        s->life = event == ALERTS_LIFE ? 1 : s->life;
        alerts_judge_other(s);
    } else {
        frame_do(s, event);
    }
    find_events(s);
}

void
alerts_begin(struct alerts_state *s)
{
    static const enum tl_rule on[] = {TL_RULE_STATION_LOST};
    model_config(&alerts_config, 1, on, 1);
    struct tl_member *member = &empty_session.seat.member;
    member->config = &alerts_config;
    tl_hear_init(&member->hear, &alerts_config, MODEL_LIFE);
    tl_outbox_init(&member->outbox, false);
    empty_session.seat.join.node = &alerts_config.node[OWNER];
    memset(s, 0, sizeof *s);
    s->echo = MODEL_NONE;
    s->beat = MODEL_NONE;
    s->shown = MODEL_NONE;
    s->verdict = MODEL_NONE;
    s->hand = MODEL_NONE;
    s->calm = MODEL_NONE;
    memset(s->due, NEVER, sizeof s->due);
    FOR_EACH
    {
        s->entry[i].set = MODEL_NONE;
    }
    alerts_judge_begin(s);
    find_events(s);
}
