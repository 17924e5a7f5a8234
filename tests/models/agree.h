/* SPDX-License-Identifier: Apache-2.0 */
/*
 * agree.h - two validators that hear one station through two buses, and each other.
 *
 * Real code: tl_fold_change, tl_fold_beat, tl_told_digest, tl_peers_message, tl_peers_compare,
 * tl_decide (rule on validators that differ) in both; tl_outbox_beat in the station. The station is
 * live throughout, which is the subject of another model, and says one thing: a wire rigged, taken
 * back, rigged again. Every change that was said, and the newest beats, may arrive at either
 * validator in any order, again or never, with a fresh echo or without. A change is settled when
 * the validators that the station hears have applied it, and it may hear one alone.
 *
 * The two validators are alike, so a state and its mirror image are one state.
 */
#ifndef TESTS_MODELS_AGREE_H
#define TESTS_MODELS_AGREE_H

#include <stdbool.h>
#include <stdint.h>

#include "proto/vocab/limits.h"

#ifndef AGREE_SAID /* changes that are said in one run */
#define AGREE_SAID 2
#endif
/* 1: the validators do not hear each other, and the faults do not end. */
#ifndef AGREE_ALONE
#define AGREE_ALONE 0
#endif
#ifndef AGREE_BEATS /* so many of the newest beats may still arrive */
#define AGREE_BEATS 1
#endif

enum {
    AGREE_STEP_MS = TL_DIFFER_MS / 2,
    AGREE_DIFFER = 2, /* steps */
    AGREE_OLD = 4,
    AGREE_SETTLED = 6
};

enum agree_event {
    AGREE_TICK, /* a step: and the station beats */
    AGREE_SAY,
    AGREE_SETTLE,     /* both have applied it */
    AGREE_SETTLE_ONE, /* one has, and the other is not heard */
    AGREE_CALM,
    AGREE_EVENTS_OF_ONE,
    AGREE_PICTURE = 0,                           /* of the other, with what it holds now */
    AGREE_BEAT,                                  /* and its age; twice: fresh and not */
    AGREE_CHANGE = AGREE_BEAT + 2 * AGREE_BEATS, /* and its number; twice */
    AGREE_PER_ONE = AGREE_CHANGE + 2 * AGREE_SAID,
    AGREE_EVENTS = AGREE_EVENTS_OF_ONE + 2 * AGREE_PER_ONE
};

struct agree_validator {
    /* tl_told */
    uint8_t based, applied, beat;
    uint8_t held, known, by_change; /* sequence, known */
    /* tl_peer and tl_peer_station: what it was told of the other */
    uint8_t told, told_applied, told_held, told_known, picture;
    uint8_t behind, behind_target, we_are_behind, digest, digest_applied;
    uint8_t differ;
    /* truth */
    uint8_t apart; /* steps that the same difference has stood, with a picture in each */
    uint8_t whole; /* the newest beat that it took was fresh */
    uint8_t heard; /* a picture came in this step */
};

struct agree_state {
    uint64_t may;
    uint8_t said, settled;
    uint8_t beat_said[AGREE_BEATS], beat_settled[AGREE_BEATS], beats;
    struct agree_validator validator[2];
    uint8_t calm;
    uint8_t broken;
};

void agree_begin(struct agree_state *s);
void agree_do(struct agree_state *s, int event);

#endif
