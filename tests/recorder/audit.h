/* SPDX-License-Identifier: Apache-2.0 */
/*
 * audit.h - does a file have what the work owed at a moment, and nothing else?
 *
 *  1. It opens, can be written on, and is whole: file, chains of rows, seals. But where syncs failed
 *     while it was made, and nothing was committed yet, it may be refused: somebody is told to move
 *     it away.
 *  2. Each row whose commit was answered well by then is there, with its values, once.
 *  3. No other row is there but those of transactions that were begun and not answered, each whole
 *     or not at all.
 *  4. Each change under a mark that was told by then is a row, or is in a gap and was never given.
 *  5. The marks that are read from it are not below those told, and each change under them is a row
 *     or in a gap.
 */
#ifndef TESTS_RECORDER_AUDIT_H
#define TESTS_RECORDER_AUDIT_H

#include "tests/recorder/work.h"

struct audit {
    struct work *work;              /* read alone */
    uint32_t at;                    /* operations that the disk had done */
    uint32_t sorted[WORK_ROWS_MAX]; /* rows of the work by their text */
    uint32_t found[WORK_ROWS_MAX];  /* how often that row is there */
    uint32_t row_count;
    bool change[ROW_STATIONS][WORK_LIVES][WORK_SEQUENCES];
    bool gap[ROW_STATIONS][WORK_LIVES][WORK_SEQUENCES];
    bool may_refuse; /* syncs have failed */
    bool refused;
    uint32_t open_turns, open_turns_there; /* not answered; and of these, in the file */
    char why[1024];
};

/* The work has ended; nothing is added to it any more. */
void audit_init(struct audit *audit, struct work *work);

/* path: of the file; it is opened by the store, read, and written on. False: see why. */
bool audit_file(struct audit *audit, uint32_t at, const char *path);

#endif
