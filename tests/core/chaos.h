/* SPDX-License-Identifier: Apache-2.0 */
/*
 * chaos.h - everything that a validator can meet, at random and from one seed, on the simulated bus
 *
 * Stations say whatever they may say, right or absurd, also by voice and as overrides; stations,
 * validators and buses die, freeze and come back; a second program runs with a station's key; wind
 * and motion swing; the mechanics answer; publishers are refused. On the small ship a crew works
 * passes meanwhile, so that READY comes and goes; on the full ship every kind of word is said.
 */
#ifndef TESTS_CORE_CHAOS_H
#define TESTS_CORE_CHAOS_H

#include "tests/support/simbus.h"

struct chaos {
    struct sim *sim;
    uint64_t random;
    bool full;
    uint32_t pass; /* the newest ordered */
    uint64_t recovery_ms;
    uint64_t next_act_ms, next_word_ms, next_pass_ms, next_sea_ms;
    uint32_t twins;
    int32_t headwind_kt_x10, pitch_deg_x10;
    char down[TL_ID_CAP]; /* is dead, frozen or cut off until then */
    uint64_t down_ms;
    uint32_t down_how;
};

/* One process a node: every one of them on one clock, 10 ms a step. */
void chaos_begin(struct chaos *chaos, bool full, uint64_t seed);
/* One step of the clock, with what happens in it. */
void chaos_step(struct chaos *chaos);

#endif
