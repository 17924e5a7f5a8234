/* SPDX-License-Identifier: Apache-2.0 */
/*
 * timeline.h - the steps that timelines on the simulated bus have in common.
 *
 * Every function asserts what its name says and prints seed, time and causes when it does not
 * hold. Causes are compared as the exact set that a validator lists, in its order, with the marks
 * of sim_causes: ? pending, ! overdue, ~ holding, nothing = wrong.
 */
#ifndef TESTS_CORE_TIMELINE_H
#define TESTS_CORE_TIMELINE_H

#include "tests/support/simbus.h"

enum {
    TIMELINE_RECOVERY_MS = 5000,
    TIMELINE_SIDE = 204,
    TIMELINE_WEIGHT_LB = 34000,
    TIMELINE_STEP_MS = SIM_STEP_MS,
    TIMELINE_ENGINES = 4
};

/* TL_SEED of the environment, else the number given; printed. */
uint64_t timeline_seed(uint64_t otherwise);

struct tl_event timeline_event(uint32_t pass);

/* Joined, held off and live; nothing is said. Two validators unless told otherwise. */
struct sim *timeline_joined(uint32_t validators, uint64_t seed);
/* A recovery is open and event 1 (204, plover, 34,000 lb) ordered; no other word is said. */
struct sim *timeline_ordered(uint32_t validators, uint64_t seed);
/* The same, all words said, READY on every screen. */
struct sim *timeline_ready(uint32_t validators, uint64_t seed);

/* Order an aircraft: a plover of 34,000 lb. */
void timeline_order(struct sim *sim, uint32_t pass, int32_t place);
/* All words of that event for 204, and READY on every screen within 1.0 s. */
void timeline_words(struct sim *sim, uint32_t pass);
/* As timeline_words, but nothing is awaited. */
void timeline_say_all(struct sim *sim, uint32_t pass);
void timeline_result(struct sim *sim, uint32_t pass, enum tl_outcome outcome);

/* Every live screen shows that word. */
void timeline_shows(struct sim *sim, enum tl_word word);
/* It comes to that within `limit_ms`; returns how long it took. */
uint64_t timeline_comes_to(struct sim *sim, enum tl_word word, uint64_t limit_ms);
/* READY on every screen not before `least_ms` and not after `most_ms` from now. */
void timeline_ready_between(struct sim *sim, uint64_t least_ms, uint64_t most_ms);
/* For that long no live screen, or every live screen, shows READY at any step. */
void timeline_never_ready(struct sim *sim, uint64_t ms);
void timeline_stays_ready(struct sim *sim, uint64_t ms);

/* Exactly these causes, at that validator or at all that run. */
void timeline_causes(struct sim *sim, const char *validator, const char *causes);
void timeline_all_causes(struct sim *sim, const char *causes);
/* The first cause on that screen, and the station it names. */
void timeline_screen_cause(struct sim *sim, const char *screen, enum tl_rule rule,
                           const char *station);

/* Alerts that all validators have raised since they started. */
uint64_t timeline_alerts(struct sim *sim);

/* Both validators hold the same of every station, and all that each live station has said. */
void timeline_converged(struct sim *sim);

/* What a validator holds of a station; NULL when it holds nothing under that name. */
const struct tl_held *timeline_held(struct sim *sim, const char *validator, const char *station,
                                    enum tl_datum_kind kind);
struct tl_told *timeline_told(struct sim *sim, const char *validator, const char *station);
struct tl_member *timeline_member(struct sim *sim, const char *station);
struct tl_judge *timeline_judge(struct sim *sim, const char *validator);

#endif
