/* SPDX-License-Identifier: Apache-2.0 */
/*
 * replay.h - judge once more what a validator has judged, from what it told of it (judged.h).
 *
 * Pure. The rows of one life of one validator are taken in the order of their sequence; each input
 * goes through the same fold and the same judgement, at the time at which it was judged, and where
 * a row has an outcome the two are compared.
 *
 *   WAITING --base taken--> EXACT --a row or a frame is missing--> LACKING --base taken--> EXACT
 *
 * Invariants:
 *  1. An outcome is compared only in EXACT. Everything else is counted as unchecked, with what is
 *     lacking: nothing is called equal that was not compared.
 *  2. A base in EXACT is compared and not taken, so that it cannot cover a difference up. After a
 *     difference it is taken, so that what comes later is judged by itself.
 *  3. Freshness is not judged again: a record has no moments of sending. What was lost, heard again
 *     or seen twice is told by its own row, and a frame counts as fresh where it was taken so.
 *
 * What-if: another configuration judges. Then only what people see is compared (event, word,
 * causes), the first base alone is taken unless something is lacking, and what the mechanics
 * gave is taken as it was given.
 */
#ifndef TL_CORE_JUDGE_REPLAY_H
#define TL_CORE_JUDGE_REPLAY_H

#include "broker/core/judge/judge.h"

enum tl_replay_lack {
    TL_LACK_NOTHING = 0,
    TL_LACK_BASE,   /* none has come yet */
    TL_LACK_ROWS,   /* from..to of the validator's own */
    TL_LACK_CHANGE, /* a change that it took, of node: from */
    TL_LACK_BEAT,   /* a beat that it took, of node: from */
    TL_LACK_STATE,  /* a base that cannot be read: damaged, of another version, other stations */
    TL_LACK_KIND    /* a row of a kind that this program does not know */
};
struct tl_replay_lacking {
    enum tl_replay_lack what;
    char node[TL_ID_CAP];
    uint64_t from, to;
};

/* What is not the same; a set. */
enum {
    TL_DIFFERS_FATE = 1, /* what became of the input: applied, refused, why */
    TL_DIFFERS_TIME = 2, /* it is older than the one before */
    TL_DIFFERS_EVENT = 4,
    TL_DIFFERS_WORD = 8,
    TL_DIFFERS_FIRST = 16, /* the first cause, or how many there are */
    TL_DIFFERS_CAUSES = 32,
    TL_DIFFERS_INPUTS = 64, /* what stations have said */
    TL_DIFFERS_HELD = 128   /* what else is held */
};

struct tl_replay_row {
    uint64_t sequence;
    struct tl_event event; /* current after the judgement; read where there is an outcome */
    const struct tl_judged *judged;
    /* The change or beat that it names, or NULL; its echo, age and mark are overwritten. */
    struct tl_envelope *frame;
    uint64_t digest; /* tl_change_digest of a change */
};
struct tl_replay_step {
    bool judged;  /* a judgement was made: replay->judge holds it */
    bool checked; /* and compared */
    unsigned differs;
};

struct tl_replay {
    struct tl_judge judge;
    const struct tl_config *config;
    char validator[TL_ID_CAP];
    bool what_if;
    uint64_t incarnation;
    uint64_t next; /* sequence of the next row; 0 = any */
    uint64_t now_ms;
    uint64_t tick;
    bool differed;                    /* since the last base */
    unsigned waits;                   /* differences of inputs that are not judged yet */
    struct tl_replay_lacking lacking; /* NOTHING = EXACT */
    uint64_t rows, bases, checked, equal, unchecked;
    /* the base that is coming */
    uint32_t base_parts, base_have;
    size_t base_len;
    uint8_t base[TL_BASE_PARTS_MAX * TL_BASE_PART_LEN];
};

/*
 * The structure is large: allocate it once. `config` is borrowed: what to judge by. `validator` and
 * `incarnation`: whose rows will come.
 */
void tl_replay_init(struct tl_replay *replay, const struct tl_config *config, const char *validator,
                    uint64_t incarnation);

/* The next row. What it cannot use it counts as lacking; no row can trip it. */
struct tl_replay_step tl_replay_take(struct tl_replay *replay, const struct tl_replay_row *row);

/* True when that kind of row names a change or a beat, which then belongs to it. */
bool tl_replay_names_frame(enum tl_judged_kind kind);

#endif
