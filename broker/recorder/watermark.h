/* SPDX-License-Identifier: Apache-2.0 */
/*
 * watermark.h - up to which change of each station the record has everything
 *
 * Pure: no file, clock or heap. `through` is what a station may forget, so it only moves over a
 * change that was taken or over one that nobody can give any more, which is then a named gap.
 *
 * Invariants:
 *  1. Only the newest incarnation of a node has a mark; an older one moves nothing.
 *  2. Within an incarnation `through` never goes back.
 *  3. Changes beyond through + TL_WINDOW are not remembered: their station says them again.
 */
#ifndef TL_RECORDER_WATERMARK_H
#define TL_RECORDER_WATERMARK_H

#include "proto/vocab/config.h"

enum {
    TL_LATER_WORDS = TL_WINDOW / 64
};

struct tl_watermark {
    char node[TL_ID_CAP];
    uint64_t incarnation;
    uint64_t through;               /* 0 = nothing yet; sequences begin at 1 */
    uint64_t later[TL_LATER_WORDS]; /* bit s % TL_WINDOW: s is taken, through < s */
};

struct tl_watermarks {
    uint32_t count;
    struct tl_watermark mark[TL_STATIONS_MAX];
};

/* Changes first..last that nobody can give any more. */
struct tl_gap {
    uint64_t first, last;
};

/* What a beat says of its station's changes. */
struct tl_held_range {
    uint64_t incarnation;
    uint64_t last_change; /* 0 = none yet */
    uint64_t oldest_held; /* 0 = none */
};

/* A mark at 0 for every station of the configuration; nobody else states changes. */
void tl_watermarks_init(struct tl_watermarks *marks, const struct tl_config *config);

/* The mark of that station, or NULL. */
struct tl_watermark *tl_watermark_of(struct tl_watermarks *marks, const char *node);

/* Change `sequence` is in the record. True when `through` moved or the incarnation is new. */
bool tl_watermark_take(struct tl_watermark *mark, uint64_t incarnation, uint64_t sequence);

/*
 * The next gap that a beat proves; `through` goes over it and over what is taken behind it. False
 * when there is no more. Each call gives one run of missing changes, so call it until false; at
 * most TL_WINDOW / 2 + 1 times true for one beat.
 */
bool tl_watermark_gap(struct tl_watermark *mark, const struct tl_held_range *held,
                      struct tl_gap *gap);

/* Put a gap that the record names already under the mark, as when it was read from the file. */
void tl_watermark_take_gap(struct tl_watermark *mark, uint64_t incarnation,
                           const struct tl_gap *gap);

#endif
