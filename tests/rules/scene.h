/* SPDX-License-Identifier: Apache-2.0 */
/* scene.h - a picture put together by hand, for rules one at a time: no bus, no time passing. */
#ifndef TESTS_RULES_SCENE_H
#define TESTS_RULES_SCENE_H

#include "broker/core/rules/decide.h"

enum {
    SCENE_NOW_MS = 10000000,
    SCENE_SIDE = 204,
    SCENE_LB = 34000
};

struct scene {
    struct tl_config config;
    struct tl_fold fold;
    struct tl_outside outside;
    struct tl_decision decision;
};

/* Allocated; every fact there for event 1 of a plover: READY. Free with free(). */
struct scene *scene_ready(void);
/* The same on the ship with everyone on it (ship_config_full). */
struct scene *scene_ready_full(void);
struct tl_event scene_event(void);

struct tl_told *scene_told(struct scene *scene, const char *station);
/* The held datum, made when it is not there. */
struct tl_held *scene_held(struct scene *scene, const char *station, enum tl_datum_kind kind,
                           uint32_t slot);
/* Take it away. */
void scene_drop(struct scene *scene, const char *station, enum tl_datum_kind kind, uint32_t slot);

/* Decide now; "rule:station? rule:station" as sim_causes writes them, notes left out;
 * `#` marks what is overridden. */
const char *scene_causes(struct scene *scene, char *dst, size_t cap);
/* Exactly these causes; READY when "". */
void scene_expect(struct scene *scene, const char *row, const char *causes);

/*
 * Switch on the rules on computed figures, give the ship their bounds, and give the scene a
 * prediction for what it now asks, every figure at its bound. An answer to another question is
 * made by calling it again.
 */
void scene_compute(struct scene *scene);
/* scene_ready_full, computed: READY before and after. */
struct scene *scene_computed(void);
/* The outcome computed for that setting; fails the test when there is none. */
struct tl_would *scene_would(struct scene *scene, uint32_t set_lb);

#endif
