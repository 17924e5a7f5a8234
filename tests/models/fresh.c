/* SPDX-License-Identifier: Apache-2.0 */
/* fresh.c - see fresh.h. */
#include "tests/models/fresh.h"

#include <string.h>

#include "proto/link/hear.h"
#include "tests/models/model.h"

enum {
    NO_BEAT = 254,
    NUMBER = 1000 /* of the newest tick, and of a beat that is sent now */
};

#define NOW_MS     MODEL_JUDGE_CLOCK_MS
#define EACH_LIFE  for (unsigned i = 0; i < FRESH_LIVES; i++)
#define EACH_PLACE for (unsigned at = 0; at < FRESH_STATIONS; at++)

static const char *const stations[] = {"wires", "tracks"};

/* NOLINTBEGIN(cppcoreguidelines-avoid-non-const-global-variables): set once, or before each use */
/* Constant once fresh_begin has run. */
static struct tl_config config;
static struct tl_fold empty_fold;
static struct tl_hear empty_hear;
/* Written whole before each use. */
static struct tl_fold fold;
static struct tl_fold rest;
static struct tl_outside outside;
static struct tl_decision decision;
static struct tl_envelope envelope;
/* NOLINTEND(cppcoreguidelines-avoid-non-const-global-variables) */

static uint64_t
ago_ms(uint8_t steps)
{
    return NOW_MS - (uint64_t)steps * FRESH_STEP_MS;
}

static uint8_t
age_of(uint64_t then_ms)
{
    return model_age(NOW_MS, then_ms, FRESH_STEP_MS, FRESH_OLD);
}

/* ---- between the small state and the real one ---- */

static void
unpack_one(const struct fresh_station *s, struct tl_told *told)
{
    told->incarnation = s->life == 0 ? 0 : MODEL_LIFE + s->life;
    told->based = s->based != 0;
    told->echoed = s->echoed != 0;
    told->echo_sent_ms = s->echoed != 0 ? ago_ms(s->echo) : 0;
    told->live = s->live != 0;
    told->ever_live = s->ever_live != 0;
    told->back_ms = ago_ms(s->back);
    told->twin = s->twin != 0;
    told->twin_ms = s->twin != 0 ? ago_ms(s->twin_age) : 0;
    told->newer_heard_ms = s->newer_heard != MODEL_NONE ? ago_ms(s->newer_heard) : 0;
    told->beat_sequence = s->beat_age != MODEL_NONE ? NUMBER - (uint64_t)s->beat_age : 0;
}

static void
unpack(const struct fresh_state *s)
{
    memcpy(&fold, &empty_fold, sizeof fold);
    EACH_PLACE
    {
        unpack_one(&s->station[at], &fold.told[at]);
    }
}

/*
 * What is not carried must be as it was, but for what is written and not read here: away_ms (read
 * only while a recovery is open), loss_untold, changes. Nor are beat_ms and beat_wall_ms, without
 * which two programs of one life are not looked for: here each program has its own.
 */
static void
put_back(struct tl_told *told, const struct tl_told *was)
{
    told->incarnation = was->incarnation;
    told->based = was->based;
    told->echoed = was->echoed;
    told->echo_sent_ms = was->echo_sent_ms;
    told->live = was->live;
    told->ever_live = was->ever_live;
    told->back_ms = was->back_ms;
    told->twin = was->twin;
    told->twin_ms = was->twin_ms;
    told->newer_heard_ms = was->newer_heard_ms;
    told->beat_sequence = was->beat_sequence;
    told->beat_ms = was->beat_ms;
    told->beat_wall_ms = was->beat_wall_ms;
    told->away_ms = was->away_ms;
    told->loss_untold = was->loss_untold;
}

static void
check_rest(void)
{
    memcpy(&rest, &fold, sizeof rest);
    EACH_PLACE
    {
        put_back(&rest.told[at], &empty_fold.told[at]);
    }
    rest.tick[NUMBER % TL_TICKS_KEPT] = empty_fold.tick[NUMBER % TL_TICKS_KEPT];
    rest.newest_tick = empty_fold.newest_tick;
    rest.changes = empty_fold.changes;
    model_same(&rest, &empty_fold, sizeof rest, "the fold");
}

static void
pack_one(struct fresh_station *s, const struct tl_told *told)
{
    s->life = told->incarnation == 0 ? 0 : (uint8_t)(told->incarnation - MODEL_LIFE);
    s->based = told->based;
    s->echoed = told->echoed;
    s->echo = told->echoed ? age_of(told->echo_sent_ms) : MODEL_NONE;
    s->live = told->live;
    s->ever_live = told->ever_live;
    s->back = model_age(NOW_MS, told->back_ms, FRESH_STEP_MS, FRESH_HOLD);
    s->twin = told->twin;
    s->twin_age = told->twin ? age_of(told->twin_ms) : MODEL_NONE;
    s->newer_heard = told->newer_heard_ms != 0 ? age_of(told->newer_heard_ms) : MODEL_NONE;
    s->beat_age = told->beat_sequence != 0 ? (uint8_t)(NUMBER - told->beat_sequence) : MODEL_NONE;
}

static void
pack(struct fresh_state *s)
{
    EACH_PLACE
    {
        pack_one(&s->station[at], &fold.told[at]);
    }
    check_rest();
}

/* ---- what must hold ---- */

static const struct tl_cause *
cause_of(unsigned at, enum tl_rule rule)
{
    for (uint32_t i = 0; i < decision.cause_count; i++) {
        if (decision.cause[i].rule == (uint32_t)rule &&
            strcmp(decision.cause[i].station, stations[at]) == 0) {
            return &decision.cause[i];
        }
    }
    return NULL;
}

static unsigned
running(const struct fresh_station *s)
{
    unsigned count = 0;
    EACH_LIFE
    {
        count += s->program[i].running;
    }
    return count;
}

static void
check_lives(struct fresh_state *all, const struct fresh_station *s, bool judged_live)
{
    model_claim(&all->broken, !judged_live || s->life == s->newest_life, 2,
                "a station is not believed in an older life");
    model_claim(&all->broken, s->twin == 0 || s->both != 0, 3,
                "one program at a time is never called two");
}

static void
check_calm(struct fresh_state *all, unsigned at)
{
    const struct fresh_station *s = &all->station[at];
    bool lost = cause_of(at, TL_RULE_STATION_LOST) != NULL;
    bool two = cause_of(at, TL_RULE_TWO_WRITERS) != NULL;
    if (all->calm == MODEL_NONE || all->calm < FRESH_BACK) {
        return;
    }
    if (running(s) == 1 && s->program[s->newest_life - 1].running != 0) {
        model_claim(&all->broken, s->live != 0, 4, "a station comes back when the faults end");
        model_claim(&all->broken, all->calm < FRESH_SETTLED || (!lost && !two), 5,
                    "a station that is back is a cause no longer than it is held");
    }
    if (running(s) > 1) {
        model_claim(&all->broken, two, 6, "two programs are seen");
    }
}

static void
check_station(struct fresh_state *all, unsigned at)
{
    struct fresh_station *s = &all->station[at];
    const struct tl_cause *lost = cause_of(at, TL_RULE_STATION_LOST);
    bool judged_live = lost == NULL || lost->state == (enum tl_cause_state)TL_CAUSE_HOLDING;
    uint8_t truth = s->life != 0 ? s->program[s->life - 1].known : MODEL_NONE;
    for (unsigned i = 0; i + 1 < s->life; i++) {
        s->program[i].known = MODEL_NONE; /* nothing asks for it any more */
    }
    if (!judged_live || s->live == 0) {
        s->away = 0;
    }
    model_claim(&all->broken, !judged_live || truth <= FRESH_LOST, 1,
                "a station is judged live only on a beat that was sent lately");
    model_claim(&all->broken,
                lost != NULL || cause_of(at, TL_RULE_TWO_WRITERS) != NULL || s->away >= FRESH_HOLD,
                7, "a station that was lost is held 3.0 s");
    check_lives(all, s, judged_live);
    check_calm(all, at);
}

/* The validator judges now. */
static void
judge(struct fresh_state *s)
{
    tl_decide(&fold, &outside, NOW_MS, &decision);
    pack(s);
    EACH_PLACE
    {
        check_station(s, at);
    }
}

/* ---- what happens ---- */

static void
take(struct fresh_state *all, unsigned p, uint8_t sent, uint8_t echo)
{
    unsigned at = p / FRESH_LIVES;
    struct fresh_station *s = &all->station[at];
    unsigned life = p % FRESH_LIVES + 1;
    struct fresh_program *program = &s->program[life - 1];
    unpack(all);
    fold.tick[NUMBER % TL_TICKS_KEPT] = (struct tl_tick_sent){NUMBER, NOW_MS};
    fold.newest_tick = NUMBER;
    model_envelope(&envelope, stations[at], MODEL_LIFE + life, NUMBER - sent, TL_BODY_BEAT);
    if (echo != MODEL_NONE) {
        envelope.echo_count = 1;
        envelope.echo[0] = (struct tl_echo){.validator = "validator-1",
                                            .incarnation = MODEL_JUDGE_LIFE,
                                            .tick = NUMBER - (uint64_t)echo};
    }
    if (program->known == MODEL_NONE || sent < program->known) {
        program->known = sent;
    }
    if (life > s->newest_life) {
        s->newest_life = (uint8_t)life;
        s->away = 0;
    }
    (void)tl_fold_age(&fold, NOW_MS);
    (void)tl_fold_beat(&fold, &fold.told[at], &envelope, NOW_MS);
    judge(all);
}

static void
hear(struct fresh_program *program, uint8_t age)
{
    struct tl_hear real = empty_hear;
    bool new_tick = false;
    model_envelope(&envelope, "validator-1", MODEL_JUDGE_LIFE, NUMBER - (uint64_t)age,
                   TL_BODY_VERDICT);
    envelope.as.verdict.is_tick = true;
    envelope.as.verdict.tick = NUMBER - (uint64_t)age;
    real.validator[0].incarnation = MODEL_JUDGE_LIFE;
    if (program->heard != MODEL_NONE) {
        real.validator[0].tick = NUMBER - (uint64_t)program->heard;
        real.validator[0].has_verdict = true;
        real.validator[0].verdict_sequence = NUMBER - (uint64_t)program->heard;
    }
    (void)tl_hear_verdict(&real, &envelope, &new_tick);
    program->heard = (uint8_t)(NUMBER - real.validator[0].tick);
}

/* The echo of a beat that leaves now. */
static uint8_t
echo_now(const struct fresh_program *program)
{
    struct tl_hear real = empty_hear;
    real.validator[0].incarnation = MODEL_JUDGE_LIFE;
    real.validator[0].tick = program->heard != MODEL_NONE ? NUMBER - (uint64_t)program->heard : 0;
    model_envelope(&envelope, stations[0], MODEL_LIFE, NUMBER, TL_BODY_BEAT);
    tl_hear_echo(&real, &envelope);
    return envelope.echo_count == 0 ? MODEL_NONE : (uint8_t)(NUMBER - envelope.echo[0].tick);
}

static void
age_program(struct fresh_program *program)
{
    memmove(&program->beat[1], &program->beat[0], FRESH_OLD - 1);
    program->beat[0] = NO_BEAT;
    for (unsigned k = 1; FRESH_PROMPT && k < FRESH_OLD; k++) {
        program->beat[k] = NO_BEAT; /* nothing takes it any more */
    }
    for (unsigned k = 1; k < FRESH_OLD; k++) {
        program->beat[k] =
            program->beat[k] == NO_BEAT ? NO_BEAT : model_older(program->beat[k], FRESH_OLD);
    }
    program->heard = model_older(program->heard, FRESH_OLD);
    program->known = model_older(program->known, FRESH_OLD);
}

/* The programs of all stations, counted on. */
static struct fresh_program *
program_of(struct fresh_state *s, unsigned p)
{
    return &s->station[p / FRESH_LIVES].program[p % FRESH_LIVES];
}

static void
deliver_all(struct fresh_state *s)
{
    for (unsigned p = 0; p < FRESH_STATIONS * FRESH_LIVES; p++) {
        struct fresh_program *program = program_of(s, p);
        if (program->running != 0) {
            hear(program, 0);
            program->beat[0] = echo_now(program);
            take(s, p, 0, program->beat[0]);
        }
    }
}

static void
age_station(struct fresh_station *s)
{
    EACH_LIFE
    {
        age_program(&s->program[i]);
    }
    s->echo = model_older(s->echo, FRESH_OLD);
    s->back = model_older(s->back, FRESH_HOLD);
    s->twin_age = model_older(s->twin_age, FRESH_OLD);
    s->newer_heard = model_older(s->newer_heard, FRESH_OLD);
    s->beat_age = model_older(s->beat_age, FRESH_OLD);
    s->away = model_older(s->away, FRESH_HOLD);
}

static void
tick(struct fresh_state *s)
{
    EACH_PLACE
    {
        age_station(&s->station[at]);
    }
    s->calm = model_older(s->calm, FRESH_SETTLED);
    unpack(s);
    (void)tl_fold_age(&fold, NOW_MS);
    tl_fold_ticked(&fold, NUMBER, NOW_MS);
    bool calm = s->calm != MODEL_NONE;
    if (!calm) {
        judge(s);
    } else {
        pack(s);
        deliver_all(s);
    }
}

static bool
life_may(struct fresh_state *s, unsigned p, int event)
{
    const struct fresh_program *program = program_of(s, p);
    bool calm = s->calm != MODEL_NONE;
    if (FRESH_PROMPT && event > FRESH_HEAR && event != FRESH_TAKE) {
        return false;
    }
    if (event == FRESH_START) {
        bool first = p % FRESH_LIVES == 0;
        const struct fresh_program *last = first ? NULL : program - 1;
        bool before = first || (last->started != 0 && (FRESH_TWIN || last->running == 0));
        return !calm && program->started == 0 && before;
    }
    if (event == FRESH_DIE || event == FRESH_BEAT) {
        return !calm && program->running != 0 &&
               (event == FRESH_DIE || program->beat[0] == NO_BEAT);
    }
    if (event < FRESH_TAKE) {
        bool may = !FRESH_TWIN || event == FRESH_HEAR;
        return may && !calm && program->running != 0 && event - FRESH_HEAR != program->heard;
    }
    if (event < FRESH_TAKE_OLD) {
        return program->beat[event - FRESH_TAKE] != NO_BEAT &&
               (FRESH_TWIN != 1 || event == FRESH_TAKE);
    }
    return program->started != 0 && FRESH_TWIN != 1;
}

static bool
may_happen(struct fresh_state *s, int event)
{
    bool faults = s->calm == MODEL_NONE;
    bool any = false;
    bool due = false; /* its own timer is over: it beats first */
    if (event >= FRESH_LIFE_EVENTS) {
        int at = event - FRESH_LIFE_EVENTS;
        return life_may(s, (unsigned)(at / FRESH_PER_LIFE), at % FRESH_PER_LIFE);
    }
    for (unsigned p = 0; p < FRESH_STATIONS * FRESH_LIVES; p++) {
        const struct fresh_program *program = program_of(s, p);
        any = any || program->running != 0;
        due = due || (program->running != 0 && program->beat[0] == NO_BEAT);
    }
    return event == FRESH_CALM ? faults && any : !faults || !due;
}

static void
find_events(struct fresh_state *s)
{
    s->may = 0;
    for (int event = 0; event < FRESH_EVENTS; event++) {
        s->may |= may_happen(s, event) ? 1ull << event : 0;
    }
}

static void
life_do(struct fresh_state *s, unsigned p, int event)
{
    struct fresh_program *program = program_of(s, p);
    struct fresh_station *station = &s->station[p / FRESH_LIVES];
    if (event == FRESH_START) {
        program->started = 1;
        program->running = 1;
        station->both = station->both != 0 || running(station) > 1;
    } else if (event == FRESH_DIE) {
        program->running = 0;
        program->heard = MODEL_NONE;
    } else if (event == FRESH_BEAT) {
        program->beat[0] = echo_now(program);
    } else if (event < FRESH_TAKE) {
        hear(program, (uint8_t)(event - FRESH_HEAR));
    } else if (event < FRESH_TAKE_OLD) {
        take(s, p, (uint8_t)(event - FRESH_TAKE), program->beat[event - FRESH_TAKE]);
    } else {
        take(s, p, FRESH_OLD, event == FRESH_TAKE_OLD ? FRESH_OLD : MODEL_NONE);
    }
}

void
fresh_do(struct fresh_state *s, int event)
{
    if (event >= FRESH_LIFE_EVENTS) {
        int at = event - FRESH_LIFE_EVENTS;
        life_do(s, (unsigned)(at / FRESH_PER_LIFE), at % FRESH_PER_LIFE);
    } else if (event == FRESH_CALM) {
        s->calm = 0;
    } else {
        tick(s);
    }
    find_events(s);
}

static void
begin_station(struct fresh_station *s)
{
    s->echo = MODEL_NONE;
    s->twin_age = MODEL_NONE;
    s->beat_age = MODEL_NONE;
    s->newer_heard = MODEL_NONE;
    EACH_LIFE
    {
        memset(&s->program[i], NO_BEAT, sizeof s->program[i]);
        s->program[i].started = 0;
        s->program[i].running = 0;
        s->program[i].heard = MODEL_NONE;
        s->program[i].known = MODEL_NONE;
    }
}

void
fresh_begin(struct fresh_state *s)
{
    static const enum tl_rule on[] = {TL_RULE_TWO_WRITERS, TL_RULE_STATION_LOST};
    model_config(&config, 1, on, 2);
    memcpy(config.node[1].id, stations[1], strlen(stations[1]) + 1);
    config.node[1].station = TL_STATION_TRACKS;
    tl_fold_init(&empty_fold, &config, "validator-1", MODEL_JUDGE_LIFE, NOW_MS);
    empty_fold.told_count = FRESH_STATIONS;
    for (uint64_t k = FRESH_OLD; k >= 1; k--) {
        tl_fold_ticked(&empty_fold, NUMBER - k, NOW_MS - k * FRESH_STEP_MS);
    }
    tl_hear_init(&empty_hear, &config, MODEL_LIFE);
    memset(s, 0, sizeof *s);
    s->calm = MODEL_NONE;
    EACH_PLACE
    {
        begin_station(&s->station[at]);
    }
    find_events(s);
}
