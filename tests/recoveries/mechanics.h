/* SPDX-License-Identifier: Apache-2.0 */
/*
 * mechanics.h - the mechanics of each validator of the simulation, played.
 *
 * As broker/validator/worker.h: one question at a time, a newer one replaces one that is not begun,
 * answers come in the order of the questions. So an old answer is one that took long.
 */
#ifndef TESTS_RECOVERIES_MECHANICS_H
#define TESTS_RECOVERIES_MECHANICS_H

#include "broker/core/rules/ask.h"

enum {
    MECHANICS = 2 /* one a validator */
};

struct mechanics {
    bool waits; /* a question that is not begun */
    struct tl_ask question;
    bool busy;
    struct tl_ask begun;
    uint64_t due_ms;
    bool hangs; /* answers nothing meanwhile */
    bool slow;  /* begins what takes seconds */
};

struct recovery;

/* The rules on, with their bounds; before the first step. */
void mechanics_begin(struct recovery *r);
/* A new life of that validator: nothing is asked, nothing answered. */
void mechanics_connect(struct recovery *r, uint32_t validator);
/* Answer what is due. */
void mechanics_tend(struct recovery *r);

#endif
