/* SPDX-License-Identifier: Apache-2.0 */
/*
 * bounds.h - what the mechanics still take for a figure of a recovery
 *
 * Past a bound a number is a fault of whoever gave it, and is refused. The bounds are ours, wide of
 * anything flown; no source.
 */
#ifndef BROKER_CORE_MECHANICS_BOUNDS_H
#define BROKER_CORE_MECHANICS_BOUNDS_H

#include <stdbool.h>
#include <stddef.h>

struct tl_bounds {
    double least;
    double most;
};

static const struct tl_bounds tl_bounds_weight_lb = {1000.0, 200000.0};
static const struct tl_bounds tl_bounds_airspeed_kt = {20.0, 300.0};
static const struct tl_bounds tl_bounds_headwind_kt = {-100.0, 100.0};
/* Of an arrestment and of a setting: wider, so that a gear can be tried by itself. */
static const struct tl_bounds tl_bounds_arrest_lb = {500.0, 300000.0};
static const struct tl_bounds tl_bounds_slope_deg = {1.0, 8.0};  /* of the landing aid */
static const struct tl_bounds tl_bounds_deck_ft = {0.0, 2000.0}; /* along the landing area */

/* Both ends are in. Not a number and the infinities never are. */
static inline bool
tl_is_in(double value, struct tl_bounds bounds)
{
    return value >= bounds.least && value <= bounds.most;
}

/* One input, and the sentence for people when it is out. */
struct tl_bounded {
    double value;
    struct tl_bounds bounds;
    const char *why;
};

/* The sentence of the first that is not in; NULL when all are. */
static inline const char *
tl_find_out(const struct tl_bounded *inputs, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (!tl_is_in(inputs[i].value, inputs[i].bounds)) {
            return inputs[i].why;
        }
    }
    return NULL;
}

/* The lower end is out, the upper one in. */
static inline bool
tl_is_above_in(double value, struct tl_bounds bounds)
{
    return value > bounds.least && value <= bounds.most;
}

#endif
