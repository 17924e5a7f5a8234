/* SPDX-License-Identifier: Apache-2.0 */
/* agree.c - see agree.h. */
#include "tests/models/agree.h"

#include <string.h>

#include "broker/core/judge/peers.h"
#include "proto/link/outbox.h"
#include "tests/models/model.h"

enum {
    NUMBER = 1000, /* of the newest beat, tick and picture */
    STATION = 0,
    WIRE = 1,
    BODY = 5 /* digest of every change: none has two bodies */
};

#define NOW_MS   MODEL_JUDGE_CLOCK_MS
#define FOR_EACH for (unsigned i = 0; i < 2; i++)

/* NOLINTBEGIN(cppcoreguidelines-avoid-non-const-global-variables): set once, or before each use */
/* Constant once agree_begin has run. */
static struct tl_config config;
static struct tl_fold empty_fold[2];
static struct tl_peers empty_peers[2];
static struct tl_outside empty_outside[2];
/* Written whole before each use. */
static struct tl_fold fold;
static struct tl_peers peers;
static struct tl_outside outside;
static struct tl_decision decision;
static struct tl_envelope envelope;
static struct tl_told other;
static struct tl_outbox box;
/* NOLINTEND(cppcoreguidelines-avoid-non-const-global-variables) */

/* What the station says under that number: rigged, not known, rigged, ... */
static struct tl_datum
word_of(uint8_t sequence, bool known)
{
    struct tl_datum datum = {.kind = TL_DATUM_RIG, .slot = WIRE, .sequence = sequence};
    datum.known = known && sequence % 2 == 1;
    if (datum.known) {
        datum.as.rig = TL_RIG_RIGGED;
    }
    return datum;
}

static uint64_t
ago_ms(uint8_t steps)
{
    return NOW_MS - (uint64_t)steps * AGREE_STEP_MS;
}

static uint8_t
age_of(uint64_t then_ms)
{
    return then_ms == 0 ? MODEL_NONE : model_age(NOW_MS, then_ms, AGREE_STEP_MS, AGREE_OLD);
}

static void
hold(struct tl_told *told, uint8_t sequence, uint8_t known, uint8_t by_change)
{
    if (sequence != 0) {
        struct tl_held *held = &told->held[told->held_count++];
        held->datum = word_of(sequence, known != 0);
        held->by_change = by_change != 0;
    }
}

static void
digest_of(uint8_t sequence, uint8_t known, uint8_t digest[TL_DATA_DIGEST_LEN])
{
    memset(&other, 0, sizeof other);
    other.incarnation = MODEL_LIFE;
    hold(&other, sequence, known, 0);
    tl_told_digest(&other, digest);
}

/* ---- between the small state and the real one ---- */

static void
unpack_peer(const struct agree_validator *v)
{
    struct tl_peer *peer = &peers.peer[0];
    peer->incarnation = MODEL_JUDGE_LIFE;
    peer->tick_ms = NOW_MS;
    peer->picture_sequence = v->picture != MODEL_NONE ? NUMBER - (uint64_t)v->picture : 0;
    peer->picture_ms = v->picture != MODEL_NONE ? ago_ms(v->picture) : 0;
    outside.peer[0].incarnation = MODEL_JUDGE_LIFE;
    outside.peer[0].differ = v->differ != 0;
    if (v->told == 0) {
        return;
    }
    struct tl_peer_station *station = &peer->station[peer->station_count++];
    memcpy(station->node, config.node[STATION].id, TL_ID_CAP);
    station->incarnation = MODEL_LIFE;
    station->live = true;
    station->applied = v->told_applied;
    digest_of(v->told_held, v->told_known, station->digest);
    station->behind_since_ms = v->behind != MODEL_NONE ? ago_ms(v->behind) : 0;
    station->behind_target = v->behind_target;
    station->we_are_behind = v->we_are_behind != 0;
    station->digest_since_ms = v->digest != MODEL_NONE ? ago_ms(v->digest) : 0;
    station->digest_applied = v->digest_applied;
}

/* last_change and settled are not carried: nothing that runs here reads them. */
static void
unpack(const struct agree_state *s, unsigned i)
{
    const struct agree_validator *v = &s->validator[i];
    memcpy(&fold, &empty_fold[i], sizeof fold);
    memcpy(&peers, &empty_peers[i], sizeof peers);
    memcpy(&outside, &empty_outside[i], sizeof outside);
    struct tl_told *told = &fold.told[STATION];
    told->based = v->based != 0;
    told->applied = v->applied;
    told->beat_sequence = v->beat != MODEL_NONE ? NUMBER - (uint64_t)v->beat : 0;
    hold(told, v->held, v->known, v->by_change);
    unpack_peer(v);
}

/* A picture counts only against what was noticed 600 ms before it. */
static bool
may_count(uint8_t picture, uint8_t since)
{
    return since != MODEL_NONE && picture < since;
}

static void
pack_peer(struct agree_validator *v)
{
    const struct tl_peer *peer = &peers.peer[0];
    v->picture = age_of(peer->picture_ms);
    v->differ = outside.peer[0].differ;
    if (peer->station_count == 0) {
        v->picture = MODEL_NONE;
        return;
    }
    const struct tl_peer_station *station = &peer->station[0];
    v->told = 1;
    v->told_applied = (uint8_t)station->applied;
    v->behind = age_of(station->behind_since_ms);
    v->behind_target = v->behind != MODEL_NONE ? (uint8_t)station->behind_target : 0;
    v->we_are_behind = v->behind != MODEL_NONE && station->we_are_behind;
    v->digest = age_of(station->digest_since_ms);
    v->digest_applied = v->digest != MODEL_NONE ? (uint8_t)station->digest_applied : 0;
    if (!may_count(v->picture, v->behind) && !may_count(v->picture, v->digest)) {
        v->picture = MODEL_NONE;
    }
}

static void
pack(struct agree_state *s, unsigned i)
{
    struct agree_validator *v = &s->validator[i];
    const struct tl_told *told = &fold.told[STATION];
    v->based = told->based;
    v->applied = (uint8_t)told->applied;
    v->beat = told->beat_sequence != 0 ? (uint8_t)(NUMBER - told->beat_sequence) : MODEL_NONE;
    const struct tl_held *held = told->held_count > 0 ? &told->held[0] : NULL;
    v->held = held != NULL ? (uint8_t)held->datum.sequence : 0;
    v->known = held != NULL && held->datum.known;
    v->by_change = held != NULL && held->by_change;
    pack_peer(v);
}

/* ---- what must hold ---- */

static bool
same_told(const struct agree_validator *a, const struct agree_validator *b)
{
    uint8_t left[TL_DATA_DIGEST_LEN];
    uint8_t right[TL_DATA_DIGEST_LEN];
    digest_of(a->held, a->known, left);
    digest_of(b->held, b->known, right);
    return a->applied == b->applied && memcmp(left, right, sizeof left) == 0;
}

static void
check(struct agree_state *s, unsigned i)
{
    const struct agree_validator *v = &s->validator[i];
    const struct agree_validator *w = &s->validator[1 - i];
    bool same = same_told(v, w);
    bool all = v->beat == 0 && w->beat == 0 && v->whole != 0 && w->whole != 0 &&
               s->beat_settled[0] == s->said && s->settled == s->said;
    model_claim(&s->broken, !all || same, 1,
                "two validators that have taken the same beat, all settled, hold the same");
    bool caused = decision.cause_count > 0 &&
                  decision.cause[0].rule == (uint32_t)TL_RULE_VALIDATORS_DIFFER &&
                  decision.word != TL_WORD_READY;
    model_claim(&s->broken, v->apart <= AGREE_DIFFER + 1 || caused, 2,
                "a difference that stands for 600 ms is a cause at both, a picture later");
    if (s->calm != MODEL_NONE && s->calm >= AGREE_SETTLED) {
        bool truth = v->applied == s->said && v->held == s->said && v->known == s->said % 2;
        model_claim(&s->broken, same && truth, 4,
                    "both come to hold what the station says when the faults end");
        model_claim(&s->broken, v->differ == 0, 5,
                    "validators that agree are not called different");
    }
}

/* The validator has been given that word. */
static void
check_safe(struct agree_state *s, unsigned i, uint8_t number)
{
    bool safe = number != 0 && !word_of(number, true).known;
    model_claim(&s->broken, !safe || s->validator[i].held >= number, 3,
                "a word toward safe acts at once, whatever its echo and its turn");
}

/* A validator's turn: it compares and judges. */
static void
judge(struct agree_state *s, unsigned i)
{
    struct agree_validator *v = &s->validator[i];
    uint8_t before[] = {v->applied, v->held, v->known};
    (void)tl_peers_compare(&peers, &outside, &fold, NOW_MS);
    tl_decide(&fold, &outside, NOW_MS, &decision);
    pack(s, i);
    if (before[0] != v->applied || before[1] != v->held || before[2] != v->known) {
        s->validator[0].apart = 0; /* another difference, or none */
        s->validator[1].apart = 0;
    }
    check(s, i);
}

/* ---- what happens ---- */

static void
head(uint64_t sequence, enum tl_body_kind body, uint8_t settled, bool fresh)
{
    model_envelope(&envelope, config.node[STATION].id, MODEL_LIFE, sequence, body);
    envelope.settled = settled;
    for (unsigned i = 0; fresh && i < 2; i++) {
        struct tl_echo *echo = &envelope.echo[envelope.echo_count++];
        memcpy(echo->validator, empty_fold[i].me, TL_ID_CAP);
        echo->incarnation = MODEL_JUDGE_LIFE;
        echo->tick = NUMBER;
    }
}

static void
take_beat(struct agree_state *s, unsigned i, uint8_t age, bool fresh)
{
    uint8_t said = s->beat_said[age];
    unpack(s, i);
    head(NUMBER - (uint64_t)age, TL_BODY_BEAT, s->beat_settled[age], fresh);
    memset(&box, 0, sizeof box);
    box.last = said;
    box.settled = s->beat_settled[age];
    if (said != 0) {
        box.own[box.own_count++].datum = word_of(said, true);
    }
    tl_outbox_beat(&box, &envelope.as.beat, 0);
    struct tl_folded folded = tl_fold_beat(&fold, &fold.told[STATION], &envelope, NOW_MS);
    if (folded.kind == TL_FOLD_APPLIED) {
        s->validator[i].whole = fresh;
    }
    judge(s, i);
    if (folded.kind == TL_FOLD_APPLIED) {
        check_safe(s, i, said);
    }
}

static void
take_change(struct agree_state *s, unsigned i, uint8_t number, bool fresh)
{
    unpack(s, i);
    head(number, TL_BODY_CHANGE, s->settled, fresh);
    envelope.as.change.datum = word_of(number, true);
    (void)tl_fold_change(&fold, &fold.told[STATION], &envelope, BODY, NOW_MS);
    judge(s, i);
    check_safe(s, i, number);
}

static void
take_picture(struct agree_state *s, unsigned i)
{
    struct agree_validator *v = &s->validator[i];
    const struct agree_validator *from = &s->validator[1 - i];
    unpack(s, i);
    model_envelope(&envelope, empty_fold[1 - i].me, MODEL_JUDGE_LIFE, NUMBER, TL_BODY_PICTURE);
    struct tl_station_state *state = &envelope.as.picture.station[0];
    envelope.as.picture.station_count = 1;
    memcpy(state->node, config.node[STATION].id, TL_ID_CAP);
    state->incarnation = MODEL_LIFE;
    state->live = TL_LIVE_LIVE;
    state->applied = from->applied;
    digest_of(from->held, from->known, state->digest);
    tl_peers_message(&peers, &outside, &config, &envelope, NOW_MS);
    v->told_held = from->held;
    v->told_known = from->known;
    v->heard = 1;
    judge(s, i);
}

static void
age_one(struct agree_validator *v)
{
    v->beat = model_older(v->beat, AGREE_BEATS);
    v->picture = model_older(v->picture, AGREE_OLD);
    v->behind = model_older(v->behind, AGREE_OLD);
    v->digest = model_older(v->digest, AGREE_OLD);
}

static void
deliver_all(struct agree_state *s)
{
    while (s->settled < s->said) {
        s->settled++;
        FOR_EACH
        {
            take_change(s, i, s->settled, true);
        }
    }
    s->beat_settled[0] = s->settled;
    FOR_EACH
    {
        take_beat(s, i, 0, true);
    }
    FOR_EACH
    {
        take_picture(s, i);
    }
}

static void
tick(struct agree_state *s)
{
    bool same = same_told(&s->validator[0], &s->validator[1]);
    memmove(&s->beat_said[1], &s->beat_said[0], AGREE_BEATS - 1);
    memmove(&s->beat_settled[1], &s->beat_settled[0], AGREE_BEATS - 1);
    s->beat_said[0] = s->said;
    s->beat_settled[0] = s->settled;
    s->beats = model_older(s->beats, AGREE_BEATS);
    s->calm = model_older(s->calm, AGREE_SETTLED);
    FOR_EACH
    {
        struct agree_validator *v = &s->validator[i];
        v->apart = same || v->heard == 0 ? 0 : model_older(v->apart, AGREE_OLD);
        v->heard = 0;
        age_one(v);
    }
    FOR_EACH
    {
        unpack(s, i);
        judge(s, i);
    }
    if (s->calm != MODEL_NONE) {
        deliver_all(s);
    }
}

/* ---- what may happen ---- */

static bool
applied_by(const struct agree_state *s, bool both)
{
    bool first = s->validator[0].applied > s->settled;
    bool second = s->validator[1].applied > s->settled;
    return s->settled < s->said && (both ? first && second : first != second);
}

static bool
may_one(const struct agree_state *s, int event)
{
    if (event == AGREE_PICTURE) {
        return AGREE_ALONE == 0;
    }
    if (event < AGREE_CHANGE) {
        return (event - AGREE_BEAT) / 2 < s->beats;
    }
    return (event - AGREE_CHANGE) / 2 < s->said;
}

static bool
may_happen(const struct agree_state *s, int event)
{
    bool calm = s->calm != MODEL_NONE;
    if (event == AGREE_TICK) {
        return true;
    }
    if (event >= AGREE_EVENTS_OF_ONE) {
        int at = event - AGREE_EVENTS_OF_ONE;
        return !calm && may_one(s, at % AGREE_PER_ONE);
    }
    if (event == AGREE_SAY) {
        return !calm && s->said < AGREE_SAID;
    }
    if (event == AGREE_CALM) {
        return !calm && AGREE_ALONE == 0;
    }
    return !calm && applied_by(s, event == AGREE_SETTLE);
}

static void
find_events(struct agree_state *s)
{
    s->may = 0;
    for (int event = 0; event < AGREE_EVENTS; event++) {
        s->may |= may_happen(s, event) ? 1ull << event : 0;
    }
}

static void
do_one(struct agree_state *s, unsigned i, int event)
{
    if (event == AGREE_PICTURE) {
        take_picture(s, i);
    } else if (event < AGREE_CHANGE) {
        int at = event - AGREE_BEAT;
        take_beat(s, i, (uint8_t)(at / 2), at % 2 == 0);
    } else {
        int at = event - AGREE_CHANGE;
        take_change(s, i, (uint8_t)(at / 2 + 1), at % 2 == 0);
    }
}

void
agree_do(struct agree_state *s, int event)
{
    if (event == AGREE_TICK) {
        tick(s);
    } else if (event == AGREE_SAY) {
        s->said++;
    } else if (event == AGREE_CALM) {
        s->calm = 0;
    } else if (event < AGREE_EVENTS_OF_ONE) {
        s->settled++;
    } else {
        int at = event - AGREE_EVENTS_OF_ONE;
        do_one(s, (unsigned)(at / AGREE_PER_ONE), at % AGREE_PER_ONE);
    }
    if (memcmp(&s->validator[0], &s->validator[1], sizeof s->validator[0]) > 0) {
        struct agree_validator first = s->validator[0];
        s->validator[0] = s->validator[1];
        s->validator[1] = first;
    }
    find_events(s);
}

void
agree_begin(struct agree_state *s)
{
    static const enum tl_rule on[] = {TL_RULE_VALIDATORS_DIFFER};
    model_config(&config, 2, on, 1);
    FOR_EACH
    {
        const char *me = i == 0 ? "validator-1" : "validator-2";
        tl_fold_init(&empty_fold[i], &config, me, MODEL_JUDGE_LIFE, NOW_MS);
        tl_fold_ticked(&empty_fold[i], NUMBER, NOW_MS);
        struct tl_told *told = &empty_fold[i].told[STATION];
        told->incarnation = MODEL_LIFE;
        told->live = true;
        told->echoed = true;
        told->echo_sent_ms = NOW_MS;
        told->back_ms = NOW_MS - TL_HOLD_MS;
        tl_peers_init(&empty_peers[i], &empty_outside[i], &config, me, NOW_MS);
    }
    memset(s, 0, sizeof *s);
    s->calm = MODEL_NONE;
    FOR_EACH
    {
        struct agree_validator *v = &s->validator[i];
        v->beat = MODEL_NONE;
        v->picture = MODEL_NONE;
        v->behind = MODEL_NONE;
        v->digest = MODEL_NONE;
    }
    find_events(s);
}
