/* SPDX-License-Identifier: Apache-2.0 */
/*
 * replayer.h - a recorder of the simulated bus: what each validator tells of what it judged, with
 * the frames that it names, life by life, to be judged again.
 *
 * As the recorder of the ship it keeps the first copy of a change that it gets, and of each station
 * the last beats until a row names one. It takes the tap of the simulated bus.
 */
#ifndef TESTS_SUPPORT_REPLAYER_H
#define TESTS_SUPPORT_REPLAYER_H

#include "broker/core/judge/replay.h"
#include "tests/support/simbus.h"

enum {
    REPLAYER_LIVES = 64,
    REPLAYER_KEPT = 256
};

struct replayer_row {
    uint64_t sequence;
    struct tl_event event;
    struct tl_judged judged;
    struct tl_envelope *frame; /* a copy of only as much as its body needs; NULL = none */
};
struct replayer_life {
    char validator[TL_ID_CAP];
    uint64_t incarnation;
    uint32_t count, cap;
    struct replayer_row *row;
};
struct replayer_frames {
    struct tl_envelope *change[REPLAYER_KEPT]; /* by sequence */
    struct tl_envelope *beat[REPLAYER_KEPT];
};
struct replayer {
    struct sim *sim;
    bool deaf; /* rows are not taken meanwhile */
    uint32_t life_count;
    struct replayer_life life[REPLAYER_LIVES];
    struct replayer_frames frames[SIM_NODES];
    uint64_t heard_ms;
};

struct replayer_counts {
    uint64_t lives, rows, bases, checked, equal, unchecked, ready;
    uint64_t kind[TL_JUDGED_BASE + 1];
};

/* What did not fit, when a replay ends at the first difference. */
struct replayer_difference {
    bool found;
    char validator[TL_ID_CAP];
    uint64_t sequence;
    enum tl_judged_kind kind;
    unsigned differs;
};

struct replayer *replayer_open(struct sim *sim);
void replayer_close(struct replayer **closing);

/* Validators are told that a recorder is there; call after each step. */
void replayer_beat(struct replayer *replayer);

/* Hand one row to a replay, with a copy of its frame in `room` (a whole envelope). */
struct tl_replay_step replayer_take(struct tl_replay *replay, const struct replayer_row *row,
                                    struct tl_envelope *room);

/* Judge the whole life again by that configuration; counts are added. */
struct replayer_difference replayer_life(const struct replayer_life *life,
                                         const struct tl_config *config, bool what_if,
                                         struct replayer_counts *counts);
/* All lives by their own configuration. */
struct replayer_difference replayer_all(const struct replayer *replayer,
                                        struct replayer_counts *counts);

#endif
