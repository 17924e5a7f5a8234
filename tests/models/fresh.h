/* SPDX-License-Identifier: Apache-2.0 */
/*
 * fresh.h - freshness by echo: one validator, and the programs that run with a station's key.
 *
 * Real code: tl_fold_ticked, tl_fold_beat, tl_fold_age, tl_decide with its rules on loss and on
 * two writers; tl_hear_verdict and tl_hear_echo in the station.
 *
 * The network is the worst there is: every tick and every beat that was ever sent may arrive now,
 * later, never, and any number of times. A life is a program of its own: one that dies before the
 * next starts is a restart, one that goes on is a twin.
 */
#ifndef TESTS_MODELS_FRESH_H
#define TESTS_MODELS_FRESH_H

#include <stdbool.h>
#include <stdint.h>

#include "proto/vocab/limits.h"

#ifndef FRESH_STEP_MS
#define FRESH_STEP_MS 400
#endif
#ifndef FRESH_LIVES
#define FRESH_LIVES 2
#endif
/* 2: what is of one station must not touch the other. */
#ifndef FRESH_STATIONS
#define FRESH_STATIONS 1
#endif
/* 1: ticks and beats are lost, and never late. */
#ifndef FRESH_PROMPT
#define FRESH_PROMPT 0
#endif
/*
 * 1, 2: the next life may start while the one before it goes on. Then ticks are lost but not late,
 * and with 1 beats neither.
 */
#ifndef FRESH_TWIN
#define FRESH_TWIN 0
#endif

enum {
    FRESH_LOST = TL_LOST_MS / FRESH_STEP_MS, /* the oldest echo that is fresh, in steps */
    FRESH_OLD = FRESH_LOST + 2,              /* this old or older: all the same */
    FRESH_HOLD = (TL_HOLD_MS + FRESH_STEP_MS - 1) / FRESH_STEP_MS,
    FRESH_BACK = 2, /* steps of a good network until a station is live again */
    FRESH_SETTLED = FRESH_BACK + FRESH_HOLD + FRESH_LOST + 1
};

/* What happens next. Those of a life, counted over the stations, take its number times FRESH_PER_LIFE as well. */
enum fresh_event {
    FRESH_TICK, /* a step of time passes and the validator ticks */
    FRESH_CALM, /* the faults end: nothing is lost or late any more; old copies still arrive */
    FRESH_LIFE_EVENTS,
    FRESH_START = 0,
    FRESH_DIE,
    FRESH_BEAT,
    FRESH_HEAR,                              /* and the age of the tick */
    FRESH_TAKE = FRESH_HEAR + FRESH_OLD + 1, /* and the age of the beat */
    FRESH_TAKE_OLD = FRESH_TAKE + FRESH_OLD, /* an older beat, with an old echo; */
    FRESH_TAKE_DEAF = FRESH_TAKE_OLD + 1,    /* with none; both taken as sent once started */
    FRESH_PER_LIFE = FRESH_TAKE_DEAF + 1,
    FRESH_EVENTS = FRESH_LIFE_EVENTS + FRESH_STATIONS * FRESH_LIVES * FRESH_PER_LIFE
};

struct fresh_program {
    uint8_t started;
    uint8_t running;
    uint8_t heard;           /* age of the newest tick heard */
    uint8_t beat[FRESH_OLD]; /* of the beat sent so many steps ago: age of the tick it echoes */
    uint8_t known;           /* truth: age of the newest beat that the validator took */
};

struct fresh_station {
    struct fresh_program program[FRESH_LIVES];
    /* what the validator holds of the station, tl_told */
    uint8_t life; /* 0 = never heard */
    uint8_t based, echoed, echo, live, back, ever_live, beat_age;
    uint8_t twin, twin_age, newer_heard;
    /* truth */
    uint8_t newest_life; /* of which a beat was ever taken */
    uint8_t away;        /* steps since it was last known not live, or of another life */
    uint8_t both;        /* two programs have run at one time */
};

struct fresh_state {
    uint64_t may; /* the events that may happen now */
    struct fresh_station station[FRESH_STATIONS];
    uint8_t calm; /* steps since the faults ended, MODEL_NONE = they go on */
    uint8_t broken;
};

void fresh_begin(struct fresh_state *s);
void fresh_do(struct fresh_state *s, int event);

#endif
