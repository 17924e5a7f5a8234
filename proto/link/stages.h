/* SPDX-License-Identifier: Apache-2.0 */
/*
 * stages.h - where the time of a message goes in a node, stage by stage
 *
 * Off unless somebody gives a link a place for it (tl_link_measure): then each stage costs two
 * readings of the clock. Nothing is decided by it.
 *
 * A stage that runs within another is taken off the outer one, so that the sum is the whole: what
 * a judgement sends is written and passed within it. No stage is within itself.
 */
#ifndef TL_LINK_STAGES_H
#define TL_LINK_STAGES_H

#include <stddef.h>
#include <stdint.h>

enum tl_stage {
    TL_STAGE_TAKE = 0, /* out of the socket, apart, looked for among the copies */
    TL_STAGE_VERIFY,   /* key and signature */
    TL_STAGE_DECODE,   /* decoded and checked */
    TL_STAGE_JUDGE,    /* what the node does with it */
    TL_STAGE_TEND,     /* what is due without a message: ticks, ages, pictures */
    TL_STAGE_WRITE,    /* an own message encoded and signed */
    TL_STAGE_PASS,     /* given to the sockets of all buses */
    TL_STAGES
};

enum {
    TL_STAGE_STEPS = 40, /* one for each power of two of nanoseconds; the last is 9 minutes */
    TL_STAGE_LINE_CAP = 128
};

struct tl_stage_times {
    uint64_t count;
    uint64_t total_ns;
    uint64_t worst_ns;
    uint64_t within[TL_STAGE_STEPS]; /* calls of 2^k to 2^(k+1) ns */
};
struct tl_stages {
    struct tl_stage_times stage[TL_STAGES];
    uint64_t inner_ns; /* of stages that have ended, since the start */
};

/* The beginning of a stage. */
struct tl_stage_begun {
    uint64_t at_ns;
    uint64_t inner_ns;
};

/* stages: NULL = off. Neither blocks. */
struct tl_stage_begun tl_stage_begin(const struct tl_stages *stages);
void tl_stage_end(struct tl_stages *stages, enum tl_stage stage, struct tl_stage_begun begun);

/* Pure: the same with the times given. */
void tl_stage_add(struct tl_stages *stages, enum tl_stage stage, struct tl_stage_begun begun,
                  uint64_t now_ns);

/*
 * "verify: 1204 calls, 61.2 us on average, half in 65.6, 99 of 100 in 131.1, worst 220.4 us". The
 * middle figures are the upper ends of steps of two. "" when it was never called. Returns dst.
 */
const char *tl_stage_text(const struct tl_stages *stages, enum tl_stage stage,
                          char dst[TL_STAGE_LINE_CAP]);

#endif
