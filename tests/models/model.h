/* SPDX-License-Identifier: Apache-2.0 */
/*
 * model.h - what the models have in common: a small ship, saturating ages, claims.
 *
 * A state is a small structure of bytes that holds ages in steps and nothing absolute. Each step
 * rebuilds the real structures from it on a clock that always reads the same, calls the real
 * functions, and packs the result again; so a run has no end and the states are finite.
 */
#ifndef TESTS_MODELS_MODEL_H
#define TESTS_MODELS_MODEL_H

#include "broker/core/rules/decide.h"

enum {
    MODEL_NONE = 255, /* an age: never */
    MODEL_JUDGES = 2,
    MODEL_JUDGE_LIFE = 77, /* incarnation of every validator */
    MODEL_LIFE = 10        /* incarnation of the first life of a station */
};

#define MODEL_JUDGE_CLOCK_MS  1000000000ull /* it always is this time at a validator ... */
#define MODEL_PEOPLE_CLOCK_MS 50000000ull   /* ... and this at a station and a screen */

/* Station `wires`, station `primary`, so many validators, one viewer; every rule off but those. */
void model_config(struct tl_config *config, uint32_t validators, const enum tl_rule *on,
                  size_t count);

/* A frame's head; the body is the caller's. */
void model_envelope(struct tl_envelope *envelope, const char *node, uint64_t life,
                    uint64_t sequence, enum tl_body_kind body);

/* One step older, `oldest` standing for all that is as old or older. */
uint8_t model_older(uint8_t age, unsigned oldest);
uint8_t model_age(uint64_t now_ms, uint64_t then_ms, unsigned step_ms, unsigned oldest);

/* Remember and print the first property that does not hold; MODEL_ONLY in the environment asks for
 * one alone. */
void model_claim(uint8_t *broken, bool holds, unsigned number, const char *property);

/* Everything in `real` but the parts that were put back into it equals the template. */
void model_same(const void *real, const void *templ, size_t size, const char *what);

#endif
