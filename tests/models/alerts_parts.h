/* SPDX-License-Identifier: Apache-2.0 */
/* alerts_parts.h - what the two sides of the model of alerts share. */
#ifndef TESTS_MODELS_ALERTS_PARTS_H
#define TESTS_MODELS_ALERTS_PARTS_H

#include "tests/models/alerts.h"
#include "tests/models/model.h"

enum {
    NUMBER = 1000, /* of the newest tick, alert set and beat */
    OTHER = 0,     /* places of the two stations */
    OWNER = 1,
    NEVER = 3
};

#define NOW_MS   MODEL_JUDGE_CLOCK_MS
#define FOR_EACH for (unsigned i = 0; i < ALERTS_LIVES; i++)

/* NOLINTBEGIN(cppcoreguidelines-avoid-non-const-global-variables): set once, or before each use */
/* Constant once alerts_begin has run. */
extern struct tl_config alerts_config;
/* NOLINTEND(cppcoreguidelines-avoid-non-const-global-variables) */

/* The number of what was sent so many steps ago, and when that was. */
uint64_t alerts_number(uint8_t age);
uint64_t alerts_ago_ms(uint8_t steps);
/* The alert of that life of the other station, as tl_decide and the book make it. */
struct tl_alert alerts_of(unsigned life);
struct tl_datum alerts_acknowledgement(unsigned life, uint8_t sequence);

/* The validator's turns; each judges and checks what must hold. */
void alerts_judge_begin(struct alerts_state *s);
void alerts_judge_tick(struct alerts_state *s); /* and it publishes */
void alerts_judge_other(struct alerts_state *s);
void alerts_take_change(struct alerts_state *s, uint8_t sequence);
void alerts_take_beat(struct alerts_state *s, uint8_t age);

#endif
