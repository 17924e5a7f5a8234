/* SPDX-License-Identifier: Apache-2.0 */
/* store.c - see store.h. */
#include "broker/recorder/store.h"

#include <errno.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "broker/recorder/columns.h"

enum {
    WHY_CAP = TL_PATH_CAP + 200,
    BUSY_MS = 200 /* somebody looks at the file with a tool that locks it */
};

enum statement {
    PUT_CHANGE = 0,
    PUT_JUDGED,
    PUT_VERDICT,
    PUT_ALERT,
    PUT_GAP,
    STATEMENTS
};

struct tl_store {
    sqlite3 *db;
    sqlite3_stmt *statement[STATEMENTS];
    bool began;
    char path[TL_PATH_CAP];
    char why[WHY_CAP];
};

static const char schema_sql[] =
    "BEGIN IMMEDIATE;"
    "CREATE TABLE change (id INTEGER PRIMARY KEY, node TEXT NOT NULL, incarnation INTEGER NOT NULL,"
    " sequence INTEGER NOT NULL, wall_ms INTEGER NOT NULL, event_recovery_ms INTEGER NOT NULL,"
    " event_pass INTEGER NOT NULL, kind TEXT NOT NULL, slot INTEGER NOT NULL,"
    " voice_for TEXT NOT NULL, known INTEGER NOT NULL, stated_for TEXT NOT NULL,"
    " word TEXT NOT NULL, number INTEGER, side INTEGER, type TEXT, weight_lb INTEGER,"
    " fuel_lb INTEGER, state INTEGER, outcome INTEGER, wire INTEGER,"
    " UNIQUE (node, incarnation, sequence));"
    "CREATE TABLE judged (id INTEGER PRIMARY KEY, validator TEXT NOT NULL,"
    " validator_incarnation INTEGER NOT NULL, sequence INTEGER NOT NULL, now_ms INTEGER NOT NULL,"
    " node TEXT NOT NULL, incarnation INTEGER NOT NULL, change_sequence INTEGER NOT NULL,"
    " kind TEXT NOT NULL, reason TEXT NOT NULL,"
    " UNIQUE (validator, validator_incarnation, sequence));"
    "CREATE INDEX judged_change ON judged (node, incarnation, change_sequence);"
    "CREATE TABLE verdict (id INTEGER PRIMARY KEY, validator TEXT NOT NULL,"
    " validator_incarnation INTEGER NOT NULL, sequence INTEGER NOT NULL, wall_ms INTEGER NOT NULL,"
    " event_recovery_ms INTEGER NOT NULL, event_pass INTEGER NOT NULL, tick INTEGER NOT NULL,"
    " word TEXT NOT NULL, rule TEXT NOT NULL, station TEXT NOT NULL, state TEXT NOT NULL,"
    " text TEXT NOT NULL, drill INTEGER NOT NULL,"
    " UNIQUE (validator, validator_incarnation, sequence));"
    "CREATE TABLE alert (id INTEGER PRIMARY KEY, validator TEXT NOT NULL,"
    " validator_incarnation INTEGER NOT NULL, sequence INTEGER NOT NULL, wall_ms INTEGER NOT NULL,"
    " step TEXT NOT NULL, rule TEXT NOT NULL, station TEXT NOT NULL, severity TEXT NOT NULL,"
    " event_recovery_ms INTEGER NOT NULL, event_pass INTEGER NOT NULL, subject_node TEXT NOT NULL,"
    " subject_incarnation INTEGER NOT NULL, subject_sequence INTEGER NOT NULL);"
    "CREATE TABLE gap (id INTEGER PRIMARY KEY, node TEXT NOT NULL, incarnation INTEGER NOT NULL,"
    " first INTEGER NOT NULL, last INTEGER NOT NULL, wall_ms INTEGER NOT NULL,"
    " UNIQUE (node, incarnation, first));"
    "PRAGMA user_version = 1;"
    "COMMIT;";

static const char *const statement_sql[STATEMENTS] = {
    [PUT_CHANGE] =
        "INSERT INTO change (node, incarnation, sequence, wall_ms, event_recovery_ms, event_pass,"
        " kind, slot, voice_for, known, stated_for, word, number, side, type, weight_lb, fuel_lb,"
        " state, outcome, wire) VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)"
        " ON CONFLICT DO NOTHING",
    [PUT_JUDGED] = "INSERT INTO judged (validator, validator_incarnation, sequence, now_ms, node,"
                   " incarnation, change_sequence, kind, reason) VALUES (?,?,?,?,?,?,?,?,?)"
                   " ON CONFLICT DO NOTHING",
    [PUT_VERDICT] = "INSERT INTO verdict (validator, validator_incarnation, sequence, wall_ms,"
                    " event_recovery_ms, event_pass, tick, word, rule, station, state, text, drill)"
                    " VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?) ON CONFLICT DO NOTHING",
    [PUT_ALERT] = "INSERT INTO alert (validator, validator_incarnation, sequence, wall_ms, step,"
                  " rule, station, severity, event_recovery_ms, event_pass, subject_node,"
                  " subject_incarnation, subject_sequence) VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?)",
    [PUT_GAP] = "INSERT INTO gap (node, incarnation, first, last, wall_ms) VALUES (?,?,?,?,?)"
                " ON CONFLICT DO NOTHING",
};

static const char load_sql[] =
    "WITH row AS (SELECT node, incarnation, sequence AS first, sequence AS last, 0 AS is_gap"
    " FROM change UNION ALL SELECT node, incarnation, first, last, 1 FROM gap),"
    " newest AS (SELECT node, max(incarnation) AS incarnation FROM row GROUP BY node)"
    " SELECT row.node, row.incarnation, first, last, is_gap FROM row JOIN newest"
    " ON row.node = newest.node AND row.incarnation = newest.incarnation ORDER BY 1, 3";

/* ---- errors ---- */

static enum tl_err
fail(struct tl_store *store, const char *what)
{
    const char *said = store->db != NULL ? sqlite3_errmsg(store->db) : "out of memory";
    (void)snprintf(store->why, sizeof store->why, "record %s: %s: %.120s", store->path, what, said);
    return TL_IO;
}

static enum tl_err
run(struct tl_store *store, const char *sql, const char *what)
{
    return sqlite3_exec(store->db, sql, NULL, NULL, NULL) == SQLITE_OK ? TL_OK : fail(store, what);
}

const char *
tl_store_why(const struct tl_store *store)
{
    return store->why;
}

/* ---- rows ---- */

/* Values of one row, bound from left to right; the texts are borrowed until put() returns. */
struct row {
    sqlite3_stmt *statement;
    int at;
    int code; /* first failure */
};

static struct row
row_for(struct tl_store *store, enum statement which)
{
    return (struct row){store->statement[which], 0, SQLITE_OK};
}

static void
note_code(struct row *row, int code)
{
    row->code = row->code == SQLITE_OK ? code : row->code;
}

static void
add_number(struct row *row, uint64_t number)
{
    sqlite3_int64 value = number > INT64_MAX ? INT64_MAX : (sqlite3_int64)number;
    note_code(row, sqlite3_bind_int64(row->statement, ++row->at, value));
}

static void
add_signed(struct row *row, int64_t number)
{
    note_code(row, sqlite3_bind_int64(row->statement, ++row->at, number));
}

static void
add_text(struct row *row, const char *text)
{
    note_code(row, sqlite3_bind_text(row->statement, ++row->at, text, -1, SQLITE_STATIC));
}

static void
add_event(struct row *row, struct tl_event event)
{
    add_number(row, event.recovery_ms);
    add_number(row, event.pass);
}

static enum tl_err
put(struct tl_store *store, struct row *row, const char *what)
{
    enum tl_err err = TL_OK;
    if (!store->began) {
        err = run(store, "BEGIN IMMEDIATE", "cannot begin a transaction");
        store->began = err == TL_OK;
    }
    if (err == TL_OK && (row->code != SQLITE_OK || sqlite3_step(row->statement) != SQLITE_DONE)) {
        err = fail(store, what);
    }
    (void)sqlite3_reset(row->statement); /* repeats the code of the step */
    (void)sqlite3_clear_bindings(row->statement);
    return err;
}

bool
tl_store_can_hold(const struct tl_envelope *envelope)
{
    const struct tl_beat *beat = &envelope->as.beat;
    const struct tl_judged *judged = &envelope->as.judged;
    bool fits = envelope->incarnation <= INT64_MAX && envelope->sequence <= INT64_MAX;
    if (envelope->body == TL_BODY_BEAT) { /* oldest_held <= last_change, says the check */
        fits = fits && beat->last_change < INT64_MAX && beat->oldest_held <= beat->last_change;
    } else if (envelope->body == TL_BODY_JUDGED) {
        fits = fits && judged->incarnation <= INT64_MAX && judged->sequence <= INT64_MAX;
    }
    return fits;
}

/* An unbound column is NULL. */
static void
add_column(struct row *row, int64_t value)
{
    if (value < 0) {
        row->at++;
    } else {
        add_signed(row, value);
    }
}

enum tl_err
tl_store_change(struct tl_store *store, const struct tl_envelope *envelope)
{
    const struct tl_datum *datum = &envelope->as.change.datum;
    struct tl_columns columns;
    char events[TL_EVENTS_CAP];
    char word[TL_TEXT_CAP];
    struct row row = row_for(store, PUT_CHANGE);
    tl_columns_events(datum, events);
    tl_columns_fill(datum, &columns);
    add_text(&row, envelope->node);
    add_number(&row, envelope->incarnation);
    add_number(&row, envelope->sequence);
    add_number(&row, envelope->wall_ms);
    add_event(&row, envelope->event);
    add_text(&row, tl_datum_kind_name(datum->kind));
    add_number(&row, datum->slot);
    add_text(&row, datum->voice_for);
    add_number(&row, datum->known ? 1 : 0);
    add_text(&row, events);
    add_text(&row, tl_datum_text(datum, word, sizeof word));
    add_column(&row, columns.number);
    add_column(&row, columns.side);
    add_text(&row, columns.type); /* NULL binds NULL */
    add_column(&row, columns.weight_lb);
    add_column(&row, columns.fuel_lb);
    add_column(&row, columns.state);
    add_column(&row, columns.outcome);
    add_column(&row, columns.wire);
    return put(store, &row, "cannot write a change");
}

static const char *
judged_name(enum tl_judged_kind kind)
{
    static const char *const names[] = {"unknown", "applied", "refused", "lost", "heard", "beat"};
    return (size_t)kind < sizeof names / sizeof names[0] ? names[kind] : names[0];
}

enum tl_err
tl_store_judged(struct tl_store *store, const struct tl_envelope *envelope)
{
    const struct tl_judged *judged = &envelope->as.judged;
    struct row row = row_for(store, PUT_JUDGED);
    bool refused = judged->kind == TL_JUDGED_REFUSED;
    add_text(&row, envelope->node);
    add_number(&row, envelope->incarnation);
    add_number(&row, envelope->sequence);
    add_number(&row, judged->now_ms);
    add_text(&row, judged->node);
    add_number(&row, judged->incarnation);
    add_number(&row, judged->sequence);
    add_text(&row, judged_name(judged->kind));
    add_text(&row, refused ? tl_refusal_name(judged->reason) : "");
    return put(store, &row, "cannot write what was judged");
}

static const char *
word_name(enum tl_word word)
{
    switch (word) {
    case TL_WORD_READY:
        return "READY";
    case TL_WORD_NOT_READY:
        return "NOT READY";
    case TL_WORD_UNKNOWN:
        break;
    }
    return "UNKNOWN";
}

static const char *
cause_state_name(enum tl_cause_state state)
{
    static const char *const names[] = {"unknown", "wrong",   "pending",
                                        "overdue", "holding", "note"};
    return (size_t)state < sizeof names / sizeof names[0] ? names[state] : names[0];
}

static const char *
rule_name(uint32_t rule)
{
    const struct tl_rule_row *row = tl_rule_row(rule);
    return row != NULL ? row->name : "";
}

/* Of advice to wave off, the rule that it is about. */
static uint32_t
rule_of(const struct tl_cause *cause)
{
    bool advice = cause->rule == TL_RULE_WAVE_OFF_ADVISED && cause->reported.known;
    return advice ? (uint32_t)cause->reported.number : cause->rule;
}

enum tl_err
tl_store_verdict(struct tl_store *store, const struct tl_envelope *envelope)
{
    const struct tl_verdict *verdict = &envelope->as.verdict;
    bool has_cause = verdict->first.rule != TL_RULE_NONE;
    char text[TL_TEXT_CAP] = "";
    struct row row = row_for(store, PUT_VERDICT);
    if (has_cause) {
        (void)tl_cause_text(&verdict->first, envelope->event, text, sizeof text);
    }
    add_text(&row, envelope->node);
    add_number(&row, envelope->incarnation);
    add_number(&row, envelope->sequence);
    add_number(&row, envelope->wall_ms);
    add_event(&row, envelope->event);
    add_number(&row, verdict->tick);
    add_text(&row, word_name(verdict->word));
    add_text(&row, rule_name(rule_of(&verdict->first)));
    add_text(&row, verdict->first.station);
    add_text(&row, has_cause ? cause_state_name(verdict->first.state) : "");
    add_text(&row, text);
    add_number(&row, verdict->drill ? 1 : 0);
    return put(store, &row, "cannot write a verdict");
}

enum tl_err
tl_store_alert(struct tl_store *store, const struct tl_envelope *envelope,
               const struct tl_alert_step *step)
{
    const struct tl_cause *cause = &step->alert.cause;
    struct row row = row_for(store, PUT_ALERT);
    add_text(&row, envelope->node);
    add_number(&row, envelope->incarnation);
    add_number(&row, envelope->sequence);
    add_number(&row, envelope->wall_ms);
    add_text(&row, step->raised ? "raised" : "gone");
    add_text(&row, rule_name(cause->rule));
    add_text(&row, cause->station);
    add_text(&row, tl_severity_name(step->alert.severity));
    add_event(&row, step->alert.event);
    add_text(&row, cause->subject.node);
    add_number(&row, cause->subject.incarnation);
    add_number(&row, cause->subject.sequence);
    return put(store, &row, "cannot write an alert");
}

enum tl_err
tl_store_gap(struct tl_store *store, const struct tl_watermark *mark, const struct tl_gap *gap,
             uint64_t wall_ms)
{
    struct row row = row_for(store, PUT_GAP);
    add_text(&row, mark->node);
    add_number(&row, mark->incarnation);
    add_number(&row, gap->first);
    add_number(&row, gap->last);
    add_number(&row, wall_ms);
    return put(store, &row, "cannot write a gap");
}

enum tl_err
tl_store_commit(struct tl_store *store)
{
    if (!store->began) {
        return TL_OK;
    }
    enum tl_err err = run(store, "COMMIT", "the commit failed, its outcome is not known");
    store->began = err != TL_OK;
    return err;
}

/* ---- open, load, close ---- */

static void
take_row(sqlite3_stmt *statement, struct tl_watermarks *marks)
{
    const unsigned char *text = sqlite3_column_text(statement, 0);
    char node[TL_ID_CAP] = "";
    (void)snprintf(node, sizeof node, "%s", text != NULL ? (const char *)text : "");
    struct tl_watermark *mark = tl_watermark_of(marks, node);
    uint64_t incarnation = (uint64_t)sqlite3_column_int64(statement, 1);
    struct tl_gap range = {(uint64_t)sqlite3_column_int64(statement, 2),
                           (uint64_t)sqlite3_column_int64(statement, 3)};
    if (mark == NULL) {
        return; /* no station of this configuration any more */
    }
    if (sqlite3_column_int(statement, 4) != 0) {
        tl_watermark_take_gap(mark, incarnation, &range);
    } else {
        (void)tl_watermark_take(mark, incarnation, range.first);
    }
}

enum tl_err
tl_store_load(struct tl_store *store, struct tl_watermarks *marks)
{
    sqlite3_stmt *statement = NULL;
    if (sqlite3_prepare_v2(store->db, load_sql, -1, &statement, NULL) != SQLITE_OK) {
        return fail(store, "cannot be read");
    }
    int code = SQLITE_ROW;
    while ((code = sqlite3_step(statement)) == SQLITE_ROW) {
        take_row(statement, marks);
    }
    enum tl_err err = code == SQLITE_DONE ? TL_OK : fail(store, "cannot be read");
    (void)sqlite3_finalize(statement);
    return err;
}

enum tl_err
tl_store_path(const struct tl_config *config, const char *node, char path[TL_PATH_CAP])
{
    int len = snprintf(path, TL_PATH_CAP, "%s/%s.db", config->record_dir, node);
    return len > 0 && len < TL_PATH_CAP ? TL_OK : TL_FULL;
}

static enum tl_err
make_folder(struct tl_store *store)
{
    char folder[TL_PATH_CAP];
    (void)snprintf(folder, sizeof folder, "%s", store->path);
    char *slash = strrchr(folder, '/');
    if (slash == NULL || slash == folder) {
        return TL_OK;
    }
    *slash = '\0';
    if (mkdir(folder, S_IRWXU) == 0 || errno == EEXIST) {
        return TL_OK;
    }
    (void)snprintf(store->why, sizeof store->why,
                   "record folder %s cannot be made: %s; make it or name another in bus.yaml",
                   folder, strerror(errno)); // NOLINT(concurrency-mt-unsafe): one thread
    return TL_IO;
}

/* The first number that a statement gives. */
static enum tl_err
ask(struct tl_store *store, const char *sql, int *number)
{
    sqlite3_stmt *statement = NULL;
    bool read = sqlite3_prepare_v2(store->db, sql, -1, &statement, NULL) == SQLITE_OK &&
                sqlite3_step(statement) == SQLITE_ROW;
    *number = read ? sqlite3_column_int(statement, 0) : 0;
    enum tl_err err = read ? TL_OK : fail(store, "cannot be read; move it away or free the disk");
    (void)sqlite3_finalize(statement);
    return err;
}

/*
 * After a failed sync the kernel may show us rows that never reached the disk, and a second sync
 * of the same pages says all is well. Copying the log into the file writes and syncs them anew.
 */
static enum tl_err
settle(struct tl_store *store)
{
    int busy = 0;
    enum tl_err err = ask(store, "PRAGMA wal_checkpoint(FULL)", &busy);
    return err == TL_OK && busy != 0 ? fail(store, "is held by a reader; end it") : err;
}

static enum tl_err
take_schema(struct tl_store *store)
{
    int version = 0;
    enum tl_err err = ask(store, "PRAGMA user_version", &version);
    if (err == TL_OK && (version < 0 || version > TL_STORE_SCHEMA)) {
        (void)snprintf(store->why, sizeof store->why,
                       "record %s has schema %d, this program knows up to %d; start a newer "
                       "trapline-recorder or move the file away",
                       store->path, version, TL_STORE_SCHEMA);
        return TL_REFUSED;
    }
    if (err == TL_OK) {
        err = run(store, "PRAGMA journal_mode = WAL", "cannot be written");
    }
    if (err == TL_OK) {
        err = run(store, "PRAGMA synchronous = FULL", "cannot be written");
    }
    if (err == TL_OK && version == 0) {
        err = run(store, schema_sql, "its tables cannot be made");
    }
    return err;
}

static enum tl_err
open_file(struct tl_store *store)
{
    int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX;
    enum tl_err err = make_folder(store);
    if (err == TL_OK && sqlite3_open_v2(store->path, &store->db, flags, NULL) != SQLITE_OK) {
        err = fail(store, "cannot be opened; look at the folder's permissions");
    }
    if (err != TL_OK) {
        return err;
    }
    (void)sqlite3_busy_timeout(store->db, BUSY_MS);
    err = take_schema(store);
    for (int i = 0; i < STATEMENTS && err == TL_OK; i++) {
        if (sqlite3_prepare_v3(store->db, statement_sql[i], -1, SQLITE_PREPARE_PERSISTENT,
                               &store->statement[i], NULL) != SQLITE_OK) {
            err = fail(store, "has other tables than a record");
        }
    }
    /* A file that can only be read opens without complaint; the write lock needs a write. */
    if (err == TL_OK) {
        err = run(store, "BEGIN IMMEDIATE; COMMIT", "cannot be written");
    }
    return err == TL_OK ? settle(store) : err;
}

enum tl_err
tl_store_open(const char *path, struct tl_store **out, char *why, size_t why_cap)
{
    *out = NULL;
    struct tl_store *store = calloc(1, sizeof *store);
    if (store == NULL) {
        (void)snprintf(why, why_cap, "record %s: out of memory", path);
        return TL_IO;
    }
    (void)snprintf(store->path, sizeof store->path, "%s", path);
    enum tl_err err = open_file(store);
    if (err != TL_OK) {
        (void)snprintf(why, why_cap, "%s", store->why);
        tl_store_close(&store);
        return err;
    }
    *out = store;
    return TL_OK;
}

void
tl_store_close(struct tl_store **store)
{
    if (*store == NULL) {
        return;
    }
    for (int i = 0; i < STATEMENTS; i++) {
        (void)sqlite3_finalize((*store)->statement[i]);
    }
    (void)sqlite3_close((*store)->db); /* rolls back what is open */
    free(*store);
    *store = NULL;
}
