/* SPDX-License-Identifier: Apache-2.0 */
/* judged_rows.c - see judged_rows.h. */
#include "clients/logbook/judged_rows.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/logbook/opened.h"
#include "proto/base/text.h"
#include "proto/codec/codec.h"

enum {
    SCHEMA_FIRST = 3, /* the first with frames */
    WHY_CAP = 256
};

struct tl_judged_rows {
    sqlite3 *db;
    sqlite3_stmt *row, *change, *beat;
    struct tl_codec codec;
    struct tl_envelope judged; /* of the row */
    struct tl_envelope frame;  /* that it names */
    char why[WHY_CAP];
};

static const char sql_lives[] =
    "SELECT validator, validator_incarnation, min(wall_ms), count(*) FROM judged"
    " WHERE frame IS NOT NULL GROUP BY validator, validator_incarnation"
    " ORDER BY validator, validator_incarnation";
static const char sql_rows[] = "SELECT frame FROM judged WHERE validator = ?1"
                               " AND validator_incarnation = ?2 AND frame IS NOT NULL"
                               " ORDER BY sequence";
static const char sql_change[] =
    "SELECT frame FROM change WHERE node = ?1 AND incarnation = ?2 AND sequence = ?3";
static const char sql_beat[] =
    "SELECT frame FROM beat WHERE node = ?1 AND incarnation = ?2 AND sequence = ?3";

static enum tl_err
fail(struct tl_judged_rows *rows)
{
    (void)snprintf(rows->why, sizeof rows->why, "the record cannot be read: %.120s",
                   rows->db != NULL ? sqlite3_errmsg(rows->db) : "out of memory");
    return TL_IO;
}

const char *
tl_judged_rows_why(const struct tl_judged_rows *rows)
{
    return rows->why;
}

static enum tl_err
prepare(struct tl_judged_rows *rows, const char *sql, sqlite3_stmt **statement)
{
    return sqlite3_prepare_v2(rows->db, sql, -1, statement, NULL) == SQLITE_OK ? TL_OK : fail(rows);
}

static enum tl_err
check_schema(struct tl_judged_rows *rows, int schema)
{
    if (schema >= SCHEMA_FIRST && schema <= TL_RECORD_SCHEMA_LAST) {
        return TL_OK;
    }
    (void)snprintf(rows->why, sizeof rows->why,
                   schema < SCHEMA_FIRST
                       ? "the record has schema %d, which keeps no frames to judge again"
                       : "the record has schema %d, which is newer than this program",
                   schema);
    return TL_REFUSED;
}

static enum tl_err
open_file(struct tl_judged_rows *rows, const char *path)
{
    int schema = 0;
    enum tl_err err = tl_record_open(path, &rows->db, &schema, rows->why, sizeof rows->why);
    err = err == TL_IO ? fail(rows) : err;
    err = err == TL_OK ? check_schema(rows, schema) : err;
    err = err == TL_OK ? prepare(rows, sql_change, &rows->change) : err;
    return err == TL_OK ? prepare(rows, sql_beat, &rows->beat) : err;
}

enum tl_err
tl_judged_rows_open(const char *path, struct tl_judged_rows **out, char *why, size_t why_cap)
{
    *out = NULL;
    struct tl_judged_rows *rows = calloc(1, sizeof *rows);
    if (rows == NULL) {
        (void)snprintf(why, why_cap, "out of memory");
        return TL_NOMEM;
    }
    enum tl_err err = open_file(rows, path);
    if (err != TL_OK) {
        bool named = err == TL_NOTFOUND; /* that sentence has the path */
        (void)snprintf(why, why_cap, "%s%s%s", named ? "" : path, named ? "" : ": ", rows->why);
        tl_judged_rows_close(&rows);
        return err;
    }
    *out = rows;
    return TL_OK;
}

void
tl_judged_rows_close(struct tl_judged_rows **rows)
{
    if (*rows != NULL) {
        (void)sqlite3_finalize((*rows)->row);
        (void)sqlite3_finalize((*rows)->change);
        (void)sqlite3_finalize((*rows)->beat);
        (void)sqlite3_close((*rows)->db);
        free(*rows);
        *rows = NULL;
    }
}

enum tl_err
tl_judged_rows_lives(struct tl_judged_rows *rows, struct tl_judged_life *life, uint32_t *count)
{
    sqlite3_stmt *row = NULL;
    enum tl_err err = prepare(rows, sql_lives, &row);
    int code = SQLITE_ROW;
    *count = 0;
    while (err == TL_OK && (code = sqlite3_step(row)) == SQLITE_ROW) {
        const unsigned char *text = sqlite3_column_text(row, 0);
        const char *id = text != NULL ? (const char *)text : "";
        if (*count == TL_JUDGED_LIVES_MAX) {
            (void)snprintf(rows->why, sizeof rows->why, "the record has more lives than %d",
                           TL_JUDGED_LIVES_MAX);
            err = TL_FULL;
            break;
        }
        struct tl_judged_life *next = &life[(*count)++];
        (void)tl_text_plain(next->validator, sizeof next->validator, id, strlen(id));
        next->incarnation = (uint64_t)sqlite3_column_int64(row, 1);
        next->first_ms = (uint64_t)sqlite3_column_int64(row, 2);
        next->rows = (uint64_t)sqlite3_column_int64(row, 3);
    }
    err = err == TL_OK && code != SQLITE_DONE ? fail(rows) : err;
    (void)sqlite3_finalize(row);
    return err;
}

enum tl_err
tl_judged_rows_begin(struct tl_judged_rows *rows, const struct tl_judged_life *life)
{
    (void)sqlite3_finalize(rows->row);
    rows->row = NULL;
    enum tl_err err = prepare(rows, sql_rows, &rows->row);
    if (err != TL_OK) {
        return err;
    }
    int code = sqlite3_bind_text(rows->row, 1, life->validator, -1, SQLITE_STATIC);
    code |= sqlite3_bind_int64(rows->row, 2, (sqlite3_int64)life->incarnation);
    return code == SQLITE_OK ? TL_OK : fail(rows);
}

/* False: it is no frame that anybody could have sent. */
static bool
decode(struct tl_judged_rows *rows, sqlite3_stmt *row, struct tl_envelope *envelope)
{
    struct tl_frame frame;
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    const uint8_t *bytes = sqlite3_column_blob(row, 0);
    size_t len = (size_t)sqlite3_column_bytes(row, 0);
    return bytes != NULL && tl_frame_split(bytes, len, &frame, &reason) == TL_OK &&
           tl_frame_decode(&rows->codec, &frame, envelope, &reason) == TL_OK;
}

/* row->frame stays NULL when the record has no such frame. */
static enum tl_err
find_frame(struct tl_judged_rows *rows, struct tl_replay_row *row)
{
    const struct tl_judged *judged = row->judged;
    bool change = judged->kind == TL_JUDGED_APPLIED || judged->kind == TL_JUDGED_REFUSED;
    sqlite3_stmt *find = change ? rows->change : rows->beat;
    int code = sqlite3_bind_text(find, 1, judged->node, -1, SQLITE_STATIC);
    code |= sqlite3_bind_int64(find, 2, (sqlite3_int64)judged->incarnation);
    code |= sqlite3_bind_int64(find, 3, (sqlite3_int64)judged->sequence);
    code = code == SQLITE_OK ? sqlite3_step(find) : code;
    if (code == SQLITE_ROW && decode(rows, find, &rows->frame)) {
        row->frame = &rows->frame;
        row->digest = change ? tl_change_digest(&rows->codec, &rows->frame.as.change) : row->digest;
    }
    enum tl_err err = code == SQLITE_ROW || code == SQLITE_DONE ? TL_OK : fail(rows);
    (void)sqlite3_reset(find);
    return err;
}

enum tl_err
tl_judged_rows_next(struct tl_judged_rows *rows, struct tl_replay_row *row, uint64_t *wall_ms)
{
    int code = SQLITE_ROW;
    while ((code = sqlite3_step(rows->row)) == SQLITE_ROW) {
        if (!decode(rows, rows->row, &rows->judged) || rows->judged.body != TL_BODY_JUDGED) {
            continue;
        }
        *row = (struct tl_replay_row){.sequence = rows->judged.sequence,
                                      .event = rows->judged.event,
                                      .judged = &rows->judged.as.judged};
        *wall_ms = rows->judged.wall_ms;
        return tl_replay_names_frame(row->judged->kind) ? find_frame(rows, row) : TL_OK;
    }
    return code == SQLITE_DONE ? TL_EMPTY : fail(rows);
}
