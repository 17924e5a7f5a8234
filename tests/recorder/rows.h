/* SPDX-License-Identifier: Apache-2.0 */
/*
 * rows.h - what is recorded in the crash tests: frames by number, and each row of them as text
 *
 * A frame depends on its numbers alone, so that it is the same whenever it is said again. The text
 * of a row is written from the figures here, not from what the store made of them.
 */
#ifndef TESTS_RECORDER_ROWS_H
#define TESTS_RECORDER_ROWS_H

#include "proto/vocab/message.h"

#define ROW_INCARNATION 1700000000000u /* of life 0; +1 a life */

enum {
    ROW_CAP = 800,
    ROW_FRAME_CAP = 400,
    ROW_STATIONS = 4,
    ROW_SETTINGS_MAX = 3
};

enum row_table {
    ROW_CHANGE = 0,
    ROW_JUDGED,
    ROW_PREDICTED,
    ROW_SETTING,
    ROW_EXPECTED,
    ROW_VERDICT,
    ROW_ALERT,
    ROW_GAP,
    ROW_BEAT,
    ROW_SEAL,
    ROW_TABLES
};

struct row {
    enum row_table table;
    char text[ROW_CAP];
};

/* A change of a station by its life and sequence. */
struct row_key {
    uint32_t station, life, sequence;
};

/* The columns that make the text of a row, '|' between them and '-' for NULL. */
extern const char *const row_select[ROW_TABLES];
extern const char *const row_stations[ROW_STATIONS];

/* The bytes of its frame, which are printable text and no frame of the bus; returns how many. */
size_t row_frame(struct row_key key, char frame[ROW_FRAME_CAP]);
void row_change(struct row_key key, struct tl_envelope *envelope, struct row *row);
void row_beat(struct row_key key, uint64_t wall_ms, struct row *row);
void row_seal(const char *node, uint64_t incarnation, uint64_t wall_ms, struct row *row);
/* kind: APPLIED, REFUSED, PREDICTED (1 + ROW_SETTINGS_MAX rows more at most) or EXPECTED (one
 * more); returns how many rows. */
uint32_t row_judged(enum tl_judged_kind kind, uint64_t sequence, struct tl_envelope *envelope,
                    struct row rows[2 + ROW_SETTINGS_MAX]);
void row_verdict(uint64_t sequence, struct tl_envelope *envelope, struct row *row);
void row_alert(uint64_t sequence, struct tl_envelope *envelope, struct tl_alert *alert,
               struct row *row);
void row_gap(struct row_key first, uint64_t last, uint64_t wall_ms, struct row *row);

#endif
