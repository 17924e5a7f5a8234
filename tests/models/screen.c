/* SPDX-License-Identifier: Apache-2.0 */
/* screen.c - see screen.h. */
#include "tests/models/screen.h"

#include <string.h>

#include "proto/link/screen.h"
#include "tests/models/model.h"

enum {
    SAID_NOT_READY = 1,
    SAID_READY = 2,
    SAID_LISTS = 4, /* and the other one is out of service */
    NUMBER = 1000   /* of the newest verdict and of the newest beat */
};

#define NOW_MS   MODEL_PEOPLE_CLOCK_MS
#define FOR_EACH for (unsigned i = 0; i < 2; i++)

/* What the two say in one step. */
static const uint8_t TICKS[SCREEN_TICKS][2] = {
    {SAID_READY, SAID_READY},
    {SAID_READY, SAID_NOT_READY},
    {SAID_NOT_READY, SAID_READY},
    {SAID_NOT_READY, SAID_NOT_READY},
    {SAID_READY, 0},
    {SAID_NOT_READY, 0},
    {SAID_READY | SAID_LISTS, 0},
    {SAID_NOT_READY | SAID_LISTS, 0},
    {0, SAID_READY},
    {0, SAID_NOT_READY},
    {0, SAID_READY | SAID_LISTS},
    {0, SAID_NOT_READY | SAID_LISTS},
    {0, 0},
};

/* NOLINTBEGIN(cppcoreguidelines-avoid-non-const-global-variables): set once, or before each use */
/* Constant once screen_begin has run. */
static struct tl_config config;
static struct tl_hear empty_hear;
static struct tl_screen empty_screen;
/* Written whole before each use. */
static struct tl_hear hear;
static struct tl_screen screen;
static struct tl_envelope envelope;
/* NOLINTEND(cppcoreguidelines-avoid-non-const-global-variables) */

/* ---- between the small state and the real one ---- */

static uint64_t
ago_ms(uint8_t steps)
{
    return NOW_MS - (uint64_t)steps * SCREEN_STEP_MS;
}

static void
fill_verdict(struct tl_verdict *verdict, unsigned from, uint8_t said)
{
    memset(verdict, 0, sizeof *verdict);
    verdict->list_heard = true;
    verdict->word = (said & SAID_READY) != 0 ? TL_WORD_READY : TL_WORD_NOT_READY;
    if (verdict->word != TL_WORD_READY) {
        verdict->first.rule = TL_RULE_DECK_FOUL;
    }
    memcpy(verdict->judgement_digest, config.judgement_digest, TL_DIGEST_LEN);
    if ((said & SAID_LISTS) != 0) {
        verdict->out_of_service_count = 1;
        memcpy(verdict->out_of_service[0], empty_hear.validator[1 - from].id, TL_ID_CAP);
    }
}

static void
unpack_heard(const struct screen_validator *v, unsigned i)
{
    struct tl_heard *heard = &hear.validator[i];
    heard->incarnation = MODEL_JUDGE_LIFE;
    heard->has_verdict = v->hand != 0;
    if (heard->has_verdict) {
        heard->event = (struct tl_event){1, 1};
        heard->verdict_sequence = NUMBER - (uint64_t)v->hand_age;
        fill_verdict(&heard->verdict, i, v->hand);
    }
    heard->dated = v->dated != MODEL_NONE;
    heard->dated_ms = heard->dated ? ago_ms(v->dated) : 0;
    heard->waiting = v->waiting != MODEL_NONE;
    heard->waiting_sent_ms = heard->waiting ? ago_ms(v->waiting) : 0;
    heard->waiting_verdict = heard->waiting ? NUMBER - (uint64_t)v->waiting_age : 0;
}

static void
unpack(const struct screen_state *s)
{
    memcpy(&hear, &empty_hear, sizeof hear);
    memcpy(&screen, &empty_screen, sizeof screen);
    FOR_EACH
    {
        const struct screen_validator *v = &s->validator[i];
        unpack_heard(v, i);
        screen.validator[i] = (struct tl_screen_validator){.ever = v->ever != 0,
                                                           .lost = v->lost != 0,
                                                           .held = v->held != 0,
                                                           .back_ms = ago_ms(v->back)};
    }
}

static uint8_t
age_of(uint64_t then_ms)
{
    return model_age(NOW_MS, then_ms, SCREEN_STEP_MS, SCREEN_OLD);
}

/*
 * A verdict, an answer or one that is waited for, once too old, is as good as none: it cannot
 * become fresh, and nothing that still may come is older.
 */
static void
forget_old(struct screen_validator *v)
{
    if (v->hand_age == SCREEN_OLD) {
        v->hand = 0;
        v->hand_age = MODEL_NONE;
    }
    if (v->dated > SCREEN_LOST) {
        v->dated = MODEL_NONE;
    }
    if (v->waiting > SCREEN_LOST) {
        v->waiting = MODEL_NONE;
        v->waiting_age = MODEL_NONE;
    }
}

static void
pack(struct screen_state *s)
{
    FOR_EACH
    {
        struct screen_validator *v = &s->validator[i];
        const struct tl_heard *heard = &hear.validator[i];
        v->hand_age = heard->has_verdict ? (uint8_t)(NUMBER - heard->verdict_sequence) : MODEL_NONE;
        v->hand = 0;
        if (heard->has_verdict) {
            v->hand = heard->verdict.word == TL_WORD_READY ? SAID_READY : SAID_NOT_READY;
            v->hand |= heard->verdict.out_of_service_count > 0 ? SAID_LISTS : 0;
        }
        v->dated = heard->dated ? age_of(heard->dated_ms) : MODEL_NONE;
        v->waiting = heard->waiting ? age_of(heard->waiting_sent_ms) : MODEL_NONE;
        v->waiting_age = heard->waiting ? (uint8_t)(NUMBER - heard->waiting_verdict) : MODEL_NONE;
        v->ever = screen.validator[i].ever;
        v->lost = screen.validator[i].lost;
        v->held = screen.validator[i].held;
        v->back = model_age(NOW_MS, screen.validator[i].back_ms, SCREEN_STEP_MS, SCREEN_HOLD);
        v->back = v->held != 0 ? v->back : SCREEN_HOLD; /* not looked at else */
        forget_old(v);
    }
}

/* ---- what must hold ---- */

/* It said so at most 800 ms ago, whatever the screen believes. */
static bool
said_lately(const struct screen_validator *v, uint8_t what)
{
    for (unsigned k = 0; k <= SCREEN_LOST; k++) {
        if ((v->said[k] & what) != 0) {
            return true;
        }
    }
    return false;
}

static void
check_ready(struct screen_state *s, const struct tl_view *view)
{
    FOR_EACH
    {
        const struct screen_validator *v = &s->validator[i];
        const struct screen_validator *other = &s->validator[1 - i];
        bool asked = (view->out_of_service >> i & 1u) == 0;
        bool old = v->dated > SCREEN_LOST; /* never is older than all */
        model_claim(&s->broken, !asked || said_lately(v, SAID_READY), 1,
                    "READY is shown only when each validator that counts said so lately");
        model_claim(&s->broken, asked || (said_lately(other, SAID_LISTS) && old), 2,
                    "a validator does not count only while two say so and it is not heard");
        model_claim(&s->broken, old || (v->hand & SAID_READY) != 0, 3,
                    "NOT READY of either acts at once");
        model_claim(&s->broken, !asked || v->away >= SCREEN_HOLD, 4,
                    "a validator that was lost is held 3.0 s");
    }
}

/* Nobody has said anything lately: it must not be taken for heard. */
static void
check_silence(struct screen_state *s, const struct tl_view *view)
{
    FOR_EACH
    {
        const struct screen_validator *v = &s->validator[i];
        bool silent = !said_lately(v, SAID_READY | SAID_NOT_READY);
        bool asked = (view->out_of_service >> i & 1u) == 0;
        model_claim(&s->broken, !silent || !asked || !view->all_verdicts, 5,
                    "a screen that hears a validator no more says so");
    }
    if (s->calm != MODEL_NONE && s->calm >= SCREEN_SETTLED) {
        model_claim(&s->broken, view->word == TL_WORD_READY, 6,
                    "READY comes back when the faults end");
    }
}

static void
look(struct screen_state *s)
{
    struct tl_view view;
    FOR_EACH
    {
        struct screen_validator *v = &s->validator[i];
        bool fresh = tl_heard_is_fresh(&hear.validator[i], NOW_MS);
        if (!fresh && screen.validator[i].ever) {
            v->away = 0;
        }
    }
    tl_screen_tend(&screen, &hear, NOW_MS);
    tl_screen_view(&screen, &hear, NOW_MS, &view);
    pack(s);
    if (view.word == TL_WORD_READY) {
        check_ready(s, &view);
    }
    check_silence(s, &view);
}

/* ---- what happens ---- */

static void
take_verdict(struct screen_state *s, unsigned from, uint8_t age)
{
    bool new_tick = false;
    unpack(s);
    model_envelope(&envelope, empty_hear.validator[from].id, MODEL_JUDGE_LIFE,
                   NUMBER - (uint64_t)age, TL_BODY_VERDICT);
    envelope.event = (struct tl_event){1, 1};
    fill_verdict(&envelope.as.verdict, from, s->validator[from].said[age]);
    (void)tl_hear_verdict(&hear, &envelope, &new_tick);
    look(s);
}

static void
take_answer(struct screen_state *s, unsigned from, uint8_t beat, uint8_t verdict)
{
    unpack(s);
    model_envelope(&envelope, empty_hear.validator[from].id, MODEL_JUDGE_LIFE, NUMBER,
                   TL_BODY_RECEIPT);
    envelope.as.receipt.for_incarnation = MODEL_LIFE;
    envelope.as.receipt.nonce = NUMBER - (uint64_t)beat;
    envelope.as.receipt.verdict = NUMBER - (uint64_t)verdict;
    (void)tl_hear_receipt(&hear, &envelope);
    look(s);
}

static void
age_one(struct screen_validator *v)
{
    memmove(&v->said[1], &v->said[0], SCREEN_OLD - 1);
    v->hand_age = model_older(v->hand_age, SCREEN_OLD);
    v->dated = model_older(v->dated, SCREEN_OLD);
    v->waiting = model_older(v->waiting, SCREEN_OLD);
    v->waiting_age = model_older(v->waiting_age, SCREEN_OLD);
    v->back = model_older(v->back, SCREEN_HOLD);
    v->away = model_older(v->away, SCREEN_HOLD);
}

static void
tick(struct screen_state *s, const uint8_t said[2])
{
    FOR_EACH
    {
        age_one(&s->validator[i]);
        s->validator[i].said[0] = said[i];
    }
    s->calm = model_older(s->calm, SCREEN_SETTLED);
    unpack(s);
    look(s);
    for (unsigned i = 0; s->calm != MODEL_NONE && i < 2; i++) {
        take_verdict(s, i, 0);
        take_answer(s, i, 0, 0);
    }
}

/* The pair of that number: beat >= verdict. */
static void
pair_of(int number, uint8_t *beat, uint8_t *verdict)
{
    *beat = 0;
    while (number > *beat) {
        number -= *beat + 1;
        (*beat)++;
    }
    *verdict = (uint8_t)number;
}

static bool
may_one(const struct screen_validator *v, int event)
{
    if (event < SCREEN_ANSWER) {
        return v->said[event - SCREEN_VERDICT] != 0;
    }
    uint8_t beat = 0;
    uint8_t verdict = 0;
    pair_of(event - SCREEN_ANSWER, &beat, &verdict);
    return v->said[verdict] != 0;
}

static void
find_events(struct screen_state *s)
{
    bool calm = s->calm != MODEL_NONE;
    s->may = calm ? 0 : 1u << SCREEN_CALM;
    for (int event = SCREEN_TICK; event < SCREEN_EVENTS; event++) {
        int at = event - SCREEN_EVENTS_OF_ONE;
        bool may = at < 0 ? !calm || event == SCREEN_TICK
                          : may_one(&s->validator[at / SCREEN_PER_ONE], at % SCREEN_PER_ONE);
        s->may |= may ? 1ull << event : 0;
    }
}

static void
do_one(struct screen_state *s, unsigned i, int event)
{
    if (event < SCREEN_ANSWER) {
        take_verdict(s, i, (uint8_t)(event - SCREEN_VERDICT));
    } else {
        uint8_t beat = 0;
        uint8_t verdict = 0;
        pair_of(event - SCREEN_ANSWER, &beat, &verdict);
        take_answer(s, i, beat, verdict);
    }
}

void
screen_do(struct screen_state *s, int event)
{
    if (event >= SCREEN_EVENTS_OF_ONE) {
        int at = event - SCREEN_EVENTS_OF_ONE;
        do_one(s, (unsigned)(at / SCREEN_PER_ONE), at % SCREEN_PER_ONE);
    } else if (event == SCREEN_CALM) {
        s->calm = 0;
    } else {
        tick(s, TICKS[event - SCREEN_TICK]);
    }
    find_events(s);
}

void
screen_begin(struct screen_state *s)
{
    static_assert(SCREEN_EVENTS <= 64, "events are bits");
    model_config(&config, 2, NULL, 0);
    tl_hear_init(&empty_hear, &config, MODEL_LIFE);
    tl_screen_init(&empty_screen, &config);
    for (uint8_t k = SCREEN_OLD; k > 0; k--) {
        tl_hear_sent(&empty_hear, NUMBER - k, ago_ms(k));
    }
    tl_hear_sent(&empty_hear, NUMBER, NOW_MS);
    memset(s, 0, sizeof *s);
    s->calm = MODEL_NONE;
    FOR_EACH
    {
        struct screen_validator *v = &s->validator[i];
        v->hand_age = MODEL_NONE;
        v->dated = MODEL_NONE;
        v->waiting = MODEL_NONE;
        v->waiting_age = MODEL_NONE;
        v->back = SCREEN_HOLD;
        v->away = SCREEN_HOLD;
    }
    find_events(s);
}
