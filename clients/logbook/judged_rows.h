/* SPDX-License-Identifier: Apache-2.0 */
/*
 * judged_rows.h - what the validators judged, from a record of schema 3 or newer, with the frames
 * that it names: rows for a replay.
 *
 * The frames are read as their senders signed them; no signature is looked at (trapline log verify
 * does). One state of the file is read, also while its recorder writes.
 */
#ifndef CLIENTS_LOGBOOK_JUDGED_ROWS_H
#define CLIENTS_LOGBOOK_JUDGED_ROWS_H

#include "broker/core/judge/replay.h"
#include "proto/base/err.h"

enum {
    TL_JUDGED_LIVES_MAX = 4096
};

/* One life of one validator, as far as the record has it. */
struct tl_judged_life {
    char validator[TL_ID_CAP];
    uint64_t incarnation;
    uint64_t first_ms; /* its own UTC clock */
    uint64_t rows;
};

struct tl_judged_rows;

/*
 * why: one sentence on error. Errors: TL_NOTFOUND no such file; TL_REFUSED a schema without frames,
 * or a newer one; TL_NOMEM; TL_IO.
 */
TL_MUST_USE enum tl_err tl_judged_rows_open(const char *path, struct tl_judged_rows **out,
                                            char *why, size_t why_cap);
/* Accepts NULL; sets the caller's pointer to NULL. */
void tl_judged_rows_close(struct tl_judged_rows **rows);
/* Why the last call failed; static in rows. */
const char *tl_judged_rows_why(const struct tl_judged_rows *rows);

/* In the order of validators, then of lives. TL_FULL: more than TL_JUDGED_LIVES_MAX. */
TL_MUST_USE enum tl_err tl_judged_rows_lives(struct tl_judged_rows *rows,
                                             struct tl_judged_life *life, uint32_t *count);

/* From now on the rows of that life, by their sequence. */
TL_MUST_USE enum tl_err tl_judged_rows_begin(struct tl_judged_rows *rows,
                                             const struct tl_judged_life *life);
/*
 * The next row; what it points to is borrowed until the next call. A row whose frame is not there
 * or not good is left out: its sequence is then missing. TL_EMPTY: no more.
 */
TL_MUST_USE enum tl_err tl_judged_rows_next(struct tl_judged_rows *rows, struct tl_replay_row *row,
                                            uint64_t *wall_ms);

#endif
