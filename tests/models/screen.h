/* SPDX-License-Identifier: Apache-2.0 */
/*
 * screen.h - what a screen shows of two validators.
 *
 * Real code: tl_hear_verdict, tl_hear_receipt, tl_screen_tend, tl_screen_view. The validators are
 * not: in each step each says READY, or not, or nothing, and while the other says nothing it may
 * list it as out of service. Every verdict and every answer that was ever sent may arrive
 * now, later, never, and any number of times; an answer names a beat and the verdict that stood
 * when it was given. The order of the answers is not asked for: one that is older than the last is
 * taken too, which the real code would not.
 */
#ifndef TESTS_MODELS_SCREEN_H
#define TESTS_MODELS_SCREEN_H

#include <stdbool.h>
#include <stdint.h>

#include "proto/vocab/limits.h"

#ifndef SCREEN_STEP_MS
#define SCREEN_STEP_MS 800
#endif

/* Frames arrive until they have been too old for so many steps. */
#ifndef SCREEN_LATE
#define SCREEN_LATE 1
#endif

enum {
    SCREEN_LOST = TL_LOST_MS / SCREEN_STEP_MS,
    SCREEN_OLD = SCREEN_LOST + SCREEN_LATE,
    SCREEN_HOLD = (TL_HOLD_MS + SCREEN_STEP_MS - 1) / SCREEN_STEP_MS,
    SCREEN_SETTLED = SCREEN_HOLD + SCREEN_LOST + 1,
    SCREEN_ANSWERS = SCREEN_OLD * (SCREEN_OLD + 1) / 2
};

enum screen_event {
    SCREEN_CALM, /* both run, say READY and are heard from now on */
    SCREEN_TICK, /* a step passes; what each says in it, as screen.c lists it */
    SCREEN_TICKS = 13,
    SCREEN_EVENTS_OF_ONE = SCREEN_TICK + SCREEN_TICKS,
    SCREEN_VERDICT = 0, /* and its age */
    SCREEN_ANSWER =
        SCREEN_VERDICT + SCREEN_OLD, /* and the pair of the beat's age and the verdict's */
    SCREEN_PER_ONE = SCREEN_ANSWER + SCREEN_ANSWERS,
    SCREEN_EVENTS = SCREEN_EVENTS_OF_ONE + 2 * SCREEN_PER_ONE
};

struct screen_validator {
    uint8_t said[SCREEN_OLD]; /* the verdict that was sent so many steps ago; 0 = none */
    /* tl_heard; what can never be fresh again is none */
    uint8_t hand, hand_age, dated, waiting, waiting_age;
    /* tl_screen_validator */
    uint8_t ever, lost, held, back;
    uint8_t away; /* truth: steps since its verdict in hand was last too old, when one was shown */
};

struct screen_state {
    uint64_t may;
    struct screen_validator validator[2];
    uint8_t calm;
    uint8_t broken;
};

void screen_begin(struct screen_state *s);
void screen_do(struct screen_state *s, int event);

#endif
