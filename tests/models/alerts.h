/* SPDX-License-Identifier: Apache-2.0 */
/*
 * alerts.h - an alert, its delivery, its acknowledgement, and their races.
 *
 * Real code: tl_decide (rule on loss), tl_alert_book_update, tl_alert_book_fill, tl_fold_change,
 * tl_fold_beat, tl_fold_age in the validator; tl_outbox_*, tl_session_upkeep, tl_bell_take in the
 * station that owes the acknowledgement. The alert is the loss of another station, which comes and
 * goes as it likes, in one of two lives: two instances.
 *
 * A step is 800 ms. A long step of 30 s is there besides, for the bell alone, once the faults have
 * ended: beside it a step takes no time. Frames of this step and of the one before arrive, in any order, or never; a change
 * that was sent may arrive at any time later and again.
 */
#ifndef TESTS_MODELS_ALERTS_H
#define TESTS_MODELS_ALERTS_H

#include <stdbool.h>
#include <stdint.h>

#include "proto/vocab/limits.h"

#ifndef ALERTS_SAID /* acknowledgements that are given in one run */
#define ALERTS_SAID 1
#endif
/* 1: a verdict may come without the alert set of its picture; 0: they come together. */
#ifndef ALERTS_APART
#define ALERTS_APART 0
#endif

enum {
    ALERTS_STEP_MS = TL_LOST_MS,
    ALERTS_LIVES = 2,
    ALERTS_KEPT = 2, /* frames arrive up to this age */
    ALERTS_OLD = 3,
    ALERTS_SETTLED = 5
};

enum alerts_event {
    ALERTS_TICK,
    ALERTS_LONG,
    ALERTS_CALM, /* nothing is lost any more, and the other station stays as it is */
    ALERTS_TURN, /* the other station is lost, or back */
    ALERTS_LIFE, /* it begins its second life */
    ALERTS_ACK,  /* and the instance */
    ALERTS_RECEIPT = ALERTS_ACK + ALERTS_LIVES,
    ALERTS_HEAR,                               /* and the age of the verdict */
    ALERTS_SET = ALERTS_HEAR + ALERTS_KEPT,    /* and the age of the alert set */
    ALERTS_BEAT = ALERTS_SET + ALERTS_KEPT,    /* and the age of the beat */
    ALERTS_CHANGE = ALERTS_BEAT + ALERTS_KEPT, /* and its sequence, less 1 */
    ALERTS_EVENTS = ALERTS_CHANGE + ALERTS_SAID
};

struct alerts_beat {
    uint8_t sent;
    uint8_t carries[ALERTS_LIVES]; /* sequence of the acknowledgement of that instance; 0 = none */
    uint8_t last, settled;
    uint8_t echo, shown; /* ages of the tick and of the alert set that it echoes */
};

struct alerts_entry {
    uint8_t state; /* enum tl_alert_state, 0 = not in the book */
    uint8_t acknowledged, delivered;
    uint8_t set;  /* age of the first set that listed it */
    uint8_t aged; /* steps of 30 s since it was raised, up to 2 */
};

struct alerts_state {
    uint64_t may;
    /* the other station, as the validator knows it */
    uint8_t life, lost;
    /* the validator: the owner's tl_told, and the book */
    uint8_t known, based, applied, last, settled, live, echo, beat, shown;
    uint8_t held[ALERTS_LIVES], by_change[ALERTS_LIVES];
    struct alerts_entry entry[ALERTS_LIVES];
    uint8_t ticks;                          /* so many were sent, up to ALERTS_KEPT */
    uint8_t set[ALERTS_KEPT][ALERTS_LIVES]; /* state of each in the sets sent, 0 = not listed */
    uint8_t owes[ALERTS_KEPT][ALERTS_LIVES];
    /* the station: what it has heard, its bell, what it has said */
    uint8_t verdict;            /* age of the verdict in hand */
    uint8_t hand;               /* age of the set in hand, which is the one shown */
    uint8_t rung[ALERTS_LIVES]; /* state in it */
    uint8_t rung_owes[ALERTS_LIVES];
    uint8_t due[ALERTS_LIVES]; /* until it sounds again, in steps of 30 s; 3 = never */
    uint8_t said[ALERTS_SAID]; /* instance + 1 that this change acknowledges, 0 = not said */
    uint8_t own[ALERTS_LIVES]; /* sequence in the own list, 0 = none */
    uint8_t own_settled;
    struct alerts_beat frame[ALERTS_KEPT];
    /* truth */
    uint8_t pressed[ALERTS_LIVES]; /* somebody has acknowledged it */
    uint8_t lapsed[ALERTS_LIVES];  /* and the validator has been told that it counts no more */
    uint8_t seen[ALERTS_LIVES];    /* the station was shown it since it was raised */
    uint8_t must_ring;             /* 30 s have passed and nobody has acknowledged */
    uint8_t calm;
    uint8_t broken;
};

void alerts_begin(struct alerts_state *s);
void alerts_do(struct alerts_state *s, int event);

#endif
