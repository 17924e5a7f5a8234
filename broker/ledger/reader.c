/* SPDX-License-Identifier: Apache-2.0 */
/* reader.c - see reader.h. */
#include "broker/ledger/reader.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* id, wall_ms, frame, then 1 or 0: a validator applied it; one refused it */
static const char changes_sql[] =
    "SELECT c.id, c.wall_ms, c.frame, EXISTS (SELECT 1 FROM judged AS j WHERE j.node = c.node"
    " AND j.incarnation = c.incarnation AND j.change_sequence = c.sequence"
    " AND j.kind = 'applied'), EXISTS (SELECT 1 FROM judged AS j WHERE j.node = c.node"
    " AND j.incarnation = c.incarnation AND j.change_sequence = c.sequence"
    " AND j.kind = 'refused') FROM change AS c WHERE c.id > ?1 AND c.kind IN ('recovery', 'order',"
    " 'set', 'result', 'inspected', 'cable', 'pendant-life') AND c.frame IS NOT NULL"
    " ORDER BY c.id LIMIT ?2";

/* set_lb, tension_percent: what was computed of that event; a setting is there where the arrest is */
static const char loads_sql[] =
    "SELECT s.set_lb, max(s.tension_percent) FROM predicted AS p JOIN predicted_setting AS s"
    " ON s.validator = p.validator AND s.validator_incarnation = p.validator_incarnation"
    " AND s.sequence = p.sequence WHERE p.event_recovery_ms = ?1 AND p.event_pass = ?2"
    " AND p.engaging_kt_x10 IS NOT NULL GROUP BY s.set_lb";

struct statements {
    sqlite3_stmt *changes;
    sqlite3_stmt *loads;
};

static uint32_t
small_at(sqlite3_stmt *row, int column)
{
    sqlite3_int64 value = sqlite3_column_int64(row, column);
    return value > 0 && value <= UINT32_MAX ? (uint32_t)value : 0;
}

/* What was computed of that event, before how it ended is counted. */
static int
foresee(struct tl_ledger_reader *reader, sqlite3_stmt *loads, struct tl_event event)
{
    int code = SQLITE_ROW;
    (void)sqlite3_bind_int64(loads, 1, (sqlite3_int64)event.recovery_ms);
    (void)sqlite3_bind_int64(loads, 2, (sqlite3_int64)event.pass);
    while ((code = sqlite3_step(loads)) == SQLITE_ROW) {
        struct tl_would would = {.set_lb = small_at(loads, 0),
                                 .tension_percent = small_at(loads, 1)};
        tl_ledger_foresee(reader->ledger, event, &would);
    }
    (void)sqlite3_reset(loads);
    return code == SQLITE_DONE ? SQLITE_ROW : code;
}

static int
take_change(struct tl_ledger_reader *reader, const struct statements *statements)
{
    sqlite3_stmt *row = statements->changes;
    const uint8_t *bytes = sqlite3_column_blob(row, 2);
    int len = sqlite3_column_bytes(row, 2);
    sqlite3_int64 wall_ms = sqlite3_column_int64(row, 1);
    struct tl_envelope *envelope = reader->envelope;
    struct tl_frame frame;
    enum tl_refusal reason;
    int code = SQLITE_ROW;
    reader->last = sqlite3_column_int64(row, 0);
    if (bytes == NULL || len <= 0 || tl_frame_split(bytes, (size_t)len, &frame, &reason) != TL_OK ||
        tl_frame_decode(reader->codec, &frame, envelope, &reason) != TL_OK ||
        envelope->body != TL_BODY_CHANGE) {
        return code;
    }
    const struct tl_datum *datum = &envelope->as.change.datum;
    struct tl_entry entry = {.incarnation = envelope->incarnation,
                             .sequence = envelope->sequence,
                             .wall_ms = wall_ms > 0 ? (uint64_t)wall_ms : 0,
                             .applied = sqlite3_column_int(row, 3) != 0,
                             .refused = sqlite3_column_int(row, 4) != 0,
                             .datum = datum};
    memcpy(entry.node, envelope->node, TL_ID_CAP);
    if (datum->kind == TL_DATUM_RESULT && datum->stated_for_count > 0) {
        code = foresee(reader, statements->loads, datum->stated_for[0]);
    }
    tl_ledger_change(reader->ledger, &entry);
    return code;
}

enum tl_err
tl_ledger_reader_open(struct tl_ledger_reader *reader, sqlite3 *db, struct tl_ledger *ledger)
{
    *reader = (struct tl_ledger_reader){.db = db, .ledger = ledger};
    reader->codec = malloc(sizeof *reader->codec);
    reader->envelope = malloc(sizeof *reader->envelope);
    return reader->codec != NULL && reader->envelope != NULL ? TL_OK : TL_NOMEM;
}

enum tl_err
tl_ledger_read(struct tl_ledger_reader *reader, uint32_t rows)
{
    struct statements statements = {NULL, NULL};
    uint32_t taken = 0;
    int code = sqlite3_prepare_v2(reader->db, changes_sql, -1, &statements.changes, NULL);
    if (code == SQLITE_OK) {
        code = sqlite3_prepare_v2(reader->db, loads_sql, -1, &statements.loads, NULL);
    }
    if (code == SQLITE_OK) {
        (void)sqlite3_bind_int64(statements.changes, 1, reader->last);
        (void)sqlite3_bind_int64(statements.changes, 2, rows);
        code = SQLITE_ROW;
    }
    while (code == SQLITE_ROW && (code = sqlite3_step(statements.changes)) == SQLITE_ROW) {
        code = take_change(reader, &statements);
        taken++;
    }
    if (code != SQLITE_DONE) { /* before the statements go, and what the database says with them */
        (void)snprintf(reader->why, sizeof reader->why, "%.120s", sqlite3_errmsg(reader->db));
    }
    (void)sqlite3_finalize(statements.changes);
    (void)sqlite3_finalize(statements.loads);
    if (code != SQLITE_DONE) {
        return TL_IO;
    }
    return taken < rows ? TL_EMPTY : TL_OK;
}

void
tl_ledger_reader_close(struct tl_ledger_reader *reader)
{
    free(reader->codec);
    free(reader->envelope);
    *reader = (struct tl_ledger_reader){0};
}
