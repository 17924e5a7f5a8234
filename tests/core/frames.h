/* SPDX-License-Identifier: Apache-2.0 */
/* frames.h - one validator's picture, and frames made by hand that are folded into it. */
#ifndef TESTS_CORE_FRAMES_H
#define TESTS_CORE_FRAMES_H

#include "broker/core/events/events.h"
#include "broker/core/picture/fold_internal.h"

enum {
    FRAMES_NOW_MS = 1000000,
    FRAMES_TICK = 10, /* sent 100 ms ago; 9 is 300 ms old, 8 500, 7 700, 6 900 */
    FRAMES_LIFE = 7
};

struct frames {
    struct tl_config config;
    struct tl_fold fold;
    struct tl_envelope envelope; /* the next frame: sequence 1, echoes the newest tick */
};

/* The full ship; recovery 5000 open, event 1 current, all of 900,000 ms ago. Free with free(). */
struct frames *frames_new(void);
/* The next frame is of that station, life FRAMES_LIFE. */
struct tl_told *frames_of(struct frames *f, const char *station);
/* The same, after a first beat with nothing in it: live, based, nothing applied. */
struct tl_told *frames_based(struct frames *f, const char *station);
/* The next frame is a change with that number: 34,000 lb set, or what is put there. */
struct tl_datum *frames_change(struct frames *f, uint64_t sequence, enum tl_datum_kind kind);
/* The next frame is a beat with nothing in it. */
struct tl_beat *frames_beat(struct frames *f, uint64_t sequence);
/* One more datum of the beat. */
struct tl_datum *frames_add(struct frames *f, enum tl_datum_kind kind, uint64_t sequence);
/* Fold it now; the digest of a change is its sequence. */
struct tl_folded frames_fold(struct frames *f);

#endif
