/* SPDX-License-Identifier: Apache-2.0 */
/*
 * work.h - what a recorder does with its store, from a seed, and what it owes for it
 *
 * Turns as those of broker/recorder/node.c: some frames, one commit, then the marks are told. The
 * stations state changes, of which some come late, twice, in another order or never; a station
 * begins a new life; what is never given is a gap once a beat proves it. When a call fails the
 * store is closed, opened and read, and stations repeat what is not covered.
 *
 * What was put, when, and which marks were told when, is kept: that is what an audit asks for.
 */
#ifndef TESTS_RECORDER_WORK_H
#define TESTS_RECORDER_WORK_H

#include "broker/recorder/store.h"
#include "tests/recorder/chance.h"
#include "tests/recorder/rows.h"

enum {
    WORK_LIVES = 16,
    WORK_SEQUENCES = 192,
    WORK_ROWS_MAX = 1024,
    WORK_TELLS_MAX = 4096,
    WORK_NEVER = UINT32_MAX
};

/* `at` is everywhere the number of operations that the disk had done. */
struct work_row {
    struct row row;
    uint32_t turn; /* the transaction that it was first put into */
    bool again;    /* and into a later one too */
    uint32_t born; /* it was put for the first time */
    uint32_t due;  /* the commit was answered well; or WORK_NEVER */
};

/* A mark that was told. */
struct work_told {
    uint32_t at;
    uint32_t station, life;
    uint64_t through;
};

enum work_said {
    WORK_UNSAID = 0,
    WORK_SAID, /* and brought to the recorder */
    WORK_LATE, /* still under way */
    WORK_LOST  /* nobody can give it */
};

struct work_station {
    uint32_t life, last;
    enum work_said said[WORK_LIVES][WORK_SEQUENCES];
    uint32_t row[WORK_LIVES][WORK_SEQUENCES]; /* index + 1 of its row */
};

struct work {
    struct chance chance;
    const uint32_t *clock; /* operations of the disk; NULL: none is counted */
    bool *dead;            /* of the disk: set while a process dies; NULL: it closes in order */
    bool dies_of_errors;   /* else closes the store, and lives */
    void (*opened)(void);  /* the store has been opened; NULL: nothing */
    char path[TL_PATH_CAP];
    char why[2 * TL_PATH_CAP];
    struct tl_config config;
    struct tl_identity identity; /* of the recorder: recorder-1, key epoch 1 */
    struct tl_store *store;
    struct tl_watermarks marks;
    struct work_station station[ROW_STATIONS];
    uint32_t turn;
    uint32_t judged; /* so far; their kinds take turns */
    uint32_t errors; /* calls that said TL_IO */
    uint32_t in_turn_count;
    uint32_t in_turn[WORK_ROWS_MAX]; /* rows of the open transaction */
    uint32_t row_count;
    struct work_row row[WORK_ROWS_MAX];
    uint32_t told_count;
    struct work_told told[WORK_TELLS_MAX];
};

/* path: of the file of the record. */
void work_init(struct work *work, uint64_t seed, const char *path);
/* Open, read, tell; again while it fails, at most a few times. */
void work_open(struct work *work);
/* One turn more; also an opening anew, now and then. */
void work_turn(struct work *work);
/* In order, or as a process that is killed. */
void work_close(struct work *work);
void work_die(struct work *work);

#endif
