/* SPDX-License-Identifier: Apache-2.0 */
/* wires.c - see wires.h. */
#include "clients/logbook/wires.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "broker/core/ledger/ledger_sql.h"
#include "proto/codec/codec.h"

enum {
    SCHEMA_LAST = 3,
    BUSY_MS = 2000,
    FIRST_CAP = 16
};

struct reading {
    sqlite3 *db;
    struct tl_ledger *ledger;
    struct tl_codec *codec;
    struct tl_envelope *envelope;
    sqlite3_stmt *changes;
    sqlite3_stmt *loads;
    bool more_loads; /* the row of `loads` has not been taken */
};

/* ---- what is over ---- */

static void
keep_over(void *ctx, const struct tl_fit *fit)
{
    struct tl_wires *wires = ctx;
    if (wires->over_count == wires->over_cap) {
        size_t cap = wires->over_cap == 0 ? FIRST_CAP : 2 * wires->over_cap;
        struct tl_fit *over = cap <= TL_WIRES_MAX ? realloc(wires->over, cap * sizeof *over) : NULL;
        if (over == NULL) {
            wires->failed = true;
            return;
        }
        wires->over = over;
        wires->over_cap = cap;
    }
    wires->over[wires->over_count++] = *fit;
}

/* What had ended it did not count. */
static void
drop_over(void *ctx, const struct tl_fit *fit)
{
    struct tl_wires *wires = ctx;
    for (size_t i = wires->over_count; i > 0; i--) {
        struct tl_fit *over = &wires->over[i - 1];
        if (over->kind == fit->kind && over->slot == fit->slot) {
            wires->over_count--;
            memmove(over, over + 1, (wires->over_count - (i - 1)) * sizeof *over);
            return;
        }
    }
}

/* ---- rows ---- */

static struct tl_event
event_at(sqlite3_stmt *row)
{
    sqlite3_int64 pass = sqlite3_column_int64(row, 1);
    return (struct tl_event){(uint64_t)sqlite3_column_int64(row, 0),
                             pass > 0 && pass <= UINT32_MAX ? (uint32_t)pass : 0};
}

static uint32_t
small_at(sqlite3_stmt *row, int column)
{
    sqlite3_int64 value = sqlite3_column_int64(row, column);
    return value > 0 && value <= UINT32_MAX ? (uint32_t)value : 0;
}

static int
foresee_to(struct reading *reading, struct tl_event event)
{
    int code = SQLITE_ROW;
    while (reading->more_loads && !tl_event_after(event_at(reading->loads), event)) {
        struct tl_would would = {.set_lb = small_at(reading->loads, 2),
                                 .tension_percent = small_at(reading->loads, 3)};
        tl_ledger_foresee(reading->ledger, event_at(reading->loads), &would);
        code = sqlite3_step(reading->loads);
        reading->more_loads = code == SQLITE_ROW;
    }
    return code == SQLITE_DONE ? SQLITE_ROW : code;
}

/* The report as its station signed it; one that does not decode is left out. */
static int
take_change(struct reading *reading)
{
    const uint8_t *bytes = sqlite3_column_blob(reading->changes, 4);
    int len = sqlite3_column_bytes(reading->changes, 4);
    sqlite3_int64 wall_ms = sqlite3_column_int64(reading->changes, 3);
    struct tl_envelope *envelope = reading->envelope;
    struct tl_frame frame;
    enum tl_refusal reason;
    int code = SQLITE_ROW;
    if (bytes == NULL || len <= 0 || tl_frame_split(bytes, (size_t)len, &frame, &reason) != TL_OK ||
        tl_frame_decode(reading->codec, &frame, envelope, &reason) != TL_OK ||
        envelope->body != TL_BODY_CHANGE) {
        return code;
    }
    const struct tl_datum *datum = &envelope->as.change.datum;
    struct tl_entry entry = {.incarnation = envelope->incarnation,
                             .sequence = envelope->sequence,
                             .wall_ms = wall_ms > 0 ? (uint64_t)wall_ms : 0,
                             .applied = sqlite3_column_int(reading->changes, 5) != 0,
                             .refused = sqlite3_column_int(reading->changes, 6) != 0,
                             .datum = datum};
    memcpy(entry.node, envelope->node, TL_ID_CAP);
    if (datum->kind == TL_DATUM_RESULT && datum->stated_for_count > 0) {
        code = foresee_to(reading, datum->stated_for[0]);
    }
    tl_ledger_change(reading->ledger, &entry);
    return code;
}

static enum tl_err
read_rows(struct reading *reading)
{
    int code = sqlite3_prepare_v2(reading->db, TL_LEDGER_LOADS_SQL, -1, &reading->loads, NULL);
    code = code == SQLITE_OK ? sqlite3_step(reading->loads) : code;
    reading->more_loads = code == SQLITE_ROW;
    if (code == SQLITE_ROW || code == SQLITE_DONE) {
        code = sqlite3_prepare_v2(reading->db, TL_LEDGER_CHANGES_SQL, -1, &reading->changes, NULL);
        code = code == SQLITE_OK ? SQLITE_ROW : code;
    }
    while (code == SQLITE_ROW) {
        code = sqlite3_step(reading->changes);
        code = code == SQLITE_ROW ? take_change(reading) : code;
    }
    return code == SQLITE_DONE ? TL_OK : TL_IO;
}

static enum tl_err
ask_schema(sqlite3 *db, int *version)
{
    sqlite3_stmt *row = NULL;
    enum tl_err err = TL_IO;
    if (sqlite3_prepare_v2(db, "PRAGMA user_version", -1, &row, NULL) == SQLITE_OK &&
        sqlite3_step(row) == SQLITE_ROW) {
        *version = sqlite3_column_int(row, 0);
        err = *version >= TL_LEDGER_SCHEMA_FIRST && *version <= SCHEMA_LAST ? TL_OK : TL_REFUSED;
    }
    (void)sqlite3_finalize(row);
    return err;
}

static enum tl_err
read_file(const char *path, struct reading *reading, int *version)
{
    int flags = SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX;
    if (sqlite3_open_v2(path, &reading->db, flags, NULL) != SQLITE_OK) {
        return TL_IO;
    }
    (void)sqlite3_busy_timeout(reading->db, BUSY_MS);
    if (sqlite3_exec(reading->db, "BEGIN", NULL, NULL, NULL) != SQLITE_OK) {
        return TL_IO; /* one state for all reads */
    }
    enum tl_err err = ask_schema(reading->db, version);
    return err == TL_OK ? read_rows(reading) : err;
}

static void
explain(enum tl_err err, const char *path, const struct reading *reading, int version, char *why,
        size_t why_cap)
{
    if (err == TL_REFUSED) {
        (void)snprintf(
            why, why_cap,
            "record %s has schema %d; counts of pendants and cables are read from schema "
            "%d to %d: its recorder must have been started once by a newer program",
            path, version, TL_LEDGER_SCHEMA_FIRST, SCHEMA_LAST);
    } else {
        (void)snprintf(why, why_cap, "record %s cannot be read: %.120s", path,
                       err == TL_IO && reading->db != NULL ? sqlite3_errmsg(reading->db)
                                                           : tl_err_text(err));
    }
}

enum tl_err
tl_wires_read(const char *path, const struct tl_config *config, struct tl_wires *wires, char *why,
              size_t why_cap)
{
    struct reading reading = {0};
    int version = 0;
    enum tl_err err = TL_NOMEM;
    if (access(path, F_OK) != 0) {
        (void)snprintf(why, why_cap, "no record at %s", path);
        return TL_NOTFOUND;
    }
    wires->ledger = malloc(sizeof *wires->ledger);
    reading.codec = malloc(sizeof *reading.codec);
    reading.envelope = malloc(sizeof *reading.envelope);
    if (wires->ledger != NULL && reading.codec != NULL && reading.envelope != NULL) {
        reading.ledger = wires->ledger;
        tl_ledger_init(wires->ledger, config);
        wires->ledger->ended = keep_over;
        wires->ledger->goes_on = drop_over;
        wires->ledger->ctx = wires;
        err = read_file(path, &reading, &version);
        err = err == TL_OK && wires->failed ? TL_FULL : err;
    }
    if (err != TL_OK) {
        explain(err, path, &reading, version, why, why_cap);
    }
    (void)sqlite3_finalize(reading.changes);
    (void)sqlite3_finalize(reading.loads);
    (void)sqlite3_close(reading.db);
    free(reading.codec);
    free(reading.envelope);
    return err;
}

void
tl_wires_free(struct tl_wires *wires)
{
    free(wires->ledger);
    free(wires->over);
    *wires = (struct tl_wires){0};
}

const struct tl_fit *
tl_wires_fitted(const struct tl_wires *wires, enum tl_datum_kind kind, uint32_t slot)
{
    const struct tl_ledger *ledger = wires->ledger;
    for (uint32_t i = 0; ledger != NULL && i < ledger->fit_count; i++) {
        const struct tl_fit *fit = &ledger->fit[i];
        if (fit->kind == kind && fit->slot == slot) {
            return tl_fit_is_known(fit) ? fit : NULL;
        }
    }
    return NULL;
}
