/* SPDX-License-Identifier: Apache-2.0 */
/*
 * ask.h - what the mechanics would have to compute for the picture as it stands.
 *
 * A prediction holds for the inputs that it names and for no others. Words (aircraft, weight,
 * settings, aid) must be the same; wind and motion may be better than those counted on, and for
 * TL_SEA_LATE_MS worse, while a new prediction is under way. What is missing is missing: nothing is
 * put in its place.
 */
#ifndef TL_CORE_RULES_ASK_H
#define TL_CORE_RULES_ASK_H

#include "proto/vocab/message.h"

/* Read and not good enough, or not read at all: the worst of all. */
enum {
    TL_SEA_UNKNOWN = INT32_MAX
};

struct tl_ask {
    struct tl_event event; /* pass 0 = nobody is next, or the order is not known */
    char type[TL_TYPE_CAP];
    bool barricade;
    uint32_t weight_lb; /* actual, by approach; 0 = not said */
    uint32_t setting_count;
    uint32_t setting_lb[TL_WOULDS_MAX]; /* rising: ordered, set, repeated */
    char aid_type[TL_TYPE_CAP]; /* "" = the aid does not work, or is not set for this event */
    uint32_t angle_deg_x100;    /* 0 = not said */
    uint32_t target_wire;       /* 0 = not said */
    /* sea: more is worse */
    int32_t less_headwind_kt; /* minus the headwind, rounded to the worse whole knot */
    int32_t pitch_deg_x10;    /* either way of level */
};

/* Anything but the sea. */
bool tl_ask_same_words(const struct tl_ask *a, const struct tl_ask *b);
/* `now` is worse than what was counted on, in wind or motion. */
bool tl_ask_sea_worse(const struct tl_ask *now, const struct tl_ask *counted);
/* The worse of each. */
void tl_ask_worst_sea(struct tl_ask *into, const struct tl_ask *other);

/* The outcome computed for a setting, or NULL. */
const struct tl_would *tl_would_at(const struct tl_predicted_arrest *arrest, uint32_t set_lb);

#endif
