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
#include "broker/recorder/row.h"
#include "broker/recorder/sql.h"

enum {
    WHY_CAP = TL_PATH_CAP + 200,
    BUSY_MS = 200 /* somebody looks at the file with a tool that locks it */
};

struct tl_store {
    sqlite3 *db;
    sqlite3_stmt *statement[TL_SQL_STATEMENTS];
    bool began;
    dev_t device; /* which file it is, so that another one at its path is noticed */
    ino_t inode;
    char path[TL_PATH_CAP];
    char why[WHY_CAP];
};

/* A number of the preprocessor as text. */
#define TEXT_OF(number) #number
#define DIGITS(number)  TEXT_OF(number)

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

static struct tl_row
row_for(struct tl_store *store, enum tl_sql which)
{
    return (struct tl_row){store->statement[which], 0, SQLITE_OK};
}

static enum tl_err
put(struct tl_store *store, struct tl_row *row, const char *what)
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

enum tl_err
tl_store_change(struct tl_store *store, const struct tl_envelope *envelope)
{
    const struct tl_datum *datum = &envelope->as.change.datum;
    struct tl_columns columns;
    char events[TL_EVENTS_CAP];
    char word[TL_TEXT_CAP];
    struct tl_row row = row_for(store, TL_SQL_PUT_CHANGE);
    tl_columns_events(datum, events);
    tl_columns_fill(datum, &columns);
    tl_row_text(&row, envelope->node);
    tl_row_number(&row, envelope->incarnation);
    tl_row_number(&row, envelope->sequence);
    tl_row_number(&row, envelope->wall_ms);
    tl_row_event(&row, envelope->event);
    tl_row_text(&row, tl_datum_kind_name(datum->kind));
    tl_row_number(&row, datum->slot);
    tl_row_text(&row, datum->voice_for);
    tl_row_number(&row, datum->known ? 1 : 0);
    tl_row_text(&row, events);
    tl_row_text(&row, tl_datum_text(datum, word, sizeof word));
    tl_row_column(&row, columns.number);
    tl_row_column(&row, columns.side);
    tl_row_text(&row, columns.type); /* NULL binds NULL */
    tl_row_column(&row, columns.weight_lb);
    tl_row_column(&row, columns.fuel_lb);
    tl_row_column(&row, columns.state);
    tl_row_column(&row, columns.outcome);
    tl_row_column(&row, columns.wire);
    return put(store, &row, "cannot write a change");
}

static const char *
judged_name(enum tl_judged_kind kind)
{
    static const char *const names[] = {
        [TL_JUDGED_UNKNOWN] = "unknown",     [TL_JUDGED_APPLIED] = "applied",
        [TL_JUDGED_REFUSED] = "refused",     [TL_JUDGED_LOST] = "lost",
        [TL_JUDGED_HEARD] = "heard",         [TL_JUDGED_BEAT] = "beat",
        [TL_JUDGED_PREDICTED] = "predicted", [TL_JUDGED_EXPECTED] = "expected"};
    return (size_t)kind < sizeof names / sizeof names[0] ? names[kind] : names[0];
}

/* The row of the prediction, and one of each setting in it. */
static enum tl_err
put_predicted(struct tl_store *store, const struct tl_envelope *envelope)
{
    const struct tl_predicted_arrest *arrest = &envelope->as.judged.predicted.arrest;
    struct tl_row row = row_for(store, TL_SQL_PUT_PREDICTED);
    tl_row_predicted(&row, envelope);
    enum tl_err err = put(store, &row, "cannot write a prediction");
    for (uint32_t i = 0; err == TL_OK && arrest->known && i < arrest->would_count; i++) {
        row = row_for(store, TL_SQL_PUT_SETTING);
        tl_row_setting(&row, envelope, &arrest->would[i]);
        err = put(store, &row, "cannot write a predicted setting");
    }
    return err;
}

static enum tl_err
put_expected(struct tl_store *store, const struct tl_envelope *envelope)
{
    struct tl_row row = row_for(store, TL_SQL_PUT_EXPECTED);
    tl_row_expected(&row, envelope);
    return put(store, &row, "cannot write an expected ram travel");
}

enum tl_err
tl_store_judged(struct tl_store *store, const struct tl_envelope *envelope)
{
    const struct tl_judged *judged = &envelope->as.judged;
    struct tl_row row = row_for(store, TL_SQL_PUT_JUDGED);
    bool refused = judged->kind == TL_JUDGED_REFUSED;
    tl_row_text(&row, envelope->node);
    tl_row_number(&row, envelope->incarnation);
    tl_row_number(&row, envelope->sequence);
    tl_row_number(&row, judged->now_ms);
    tl_row_text(&row, judged->node);
    tl_row_number(&row, judged->incarnation);
    tl_row_number(&row, judged->sequence);
    tl_row_text(&row, judged_name(judged->kind));
    tl_row_text(&row, refused ? tl_refusal_name(judged->reason) : "");
    enum tl_err err = put(store, &row, "cannot write what was judged");
    if (err == TL_OK && judged->kind == TL_JUDGED_PREDICTED) {
        err = put_predicted(store, envelope);
    } else if (err == TL_OK && judged->kind == TL_JUDGED_EXPECTED) {
        err = put_expected(store, envelope);
    }
    return err;
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
    struct tl_row row = row_for(store, TL_SQL_PUT_VERDICT);
    if (has_cause) {
        (void)tl_cause_text(&verdict->first, envelope->event, text, sizeof text);
    }
    tl_row_text(&row, envelope->node);
    tl_row_number(&row, envelope->incarnation);
    tl_row_number(&row, envelope->sequence);
    tl_row_number(&row, envelope->wall_ms);
    tl_row_event(&row, envelope->event);
    tl_row_number(&row, verdict->tick);
    tl_row_text(&row, word_name(verdict->word));
    tl_row_text(&row, rule_name(rule_of(&verdict->first)));
    tl_row_text(&row, verdict->first.station);
    tl_row_text(&row, has_cause ? cause_state_name(verdict->first.state) : "");
    tl_row_text(&row, text);
    tl_row_number(&row, verdict->drill ? 1 : 0);
    return put(store, &row, "cannot write a verdict");
}

enum tl_err
tl_store_alert(struct tl_store *store, const struct tl_envelope *envelope,
               const struct tl_alert_step *step)
{
    const struct tl_cause *cause = &step->alert.cause;
    struct tl_row row = row_for(store, TL_SQL_PUT_ALERT);
    tl_row_text(&row, envelope->node);
    tl_row_number(&row, envelope->incarnation);
    tl_row_number(&row, envelope->sequence);
    tl_row_number(&row, envelope->wall_ms);
    tl_row_text(&row, step->raised ? "raised" : "gone");
    tl_row_text(&row, rule_name(cause->rule));
    tl_row_text(&row, cause->station);
    tl_row_text(&row, tl_severity_name(step->alert.severity));
    tl_row_event(&row, step->alert.event);
    tl_row_text(&row, cause->subject.node);
    tl_row_number(&row, cause->subject.incarnation);
    tl_row_number(&row, cause->subject.sequence);
    return put(store, &row, "cannot write an alert");
}

enum tl_err
tl_store_gap(struct tl_store *store, const struct tl_watermark *mark, const struct tl_gap *gap,
             uint64_t wall_ms)
{
    struct tl_row row = row_for(store, TL_SQL_PUT_GAP);
    tl_row_text(&row, mark->node);
    tl_row_number(&row, mark->incarnation);
    tl_row_number(&row, gap->first);
    tl_row_number(&row, gap->last);
    tl_row_number(&row, wall_ms);
    return put(store, &row, "cannot write a gap");
}

/* A file that was removed or renamed goes on taking rows that nobody will find at the path. */
static enum tl_err
check_place(struct tl_store *store)
{
    struct stat now;
    if (stat(store->path, &now) == 0 && now.st_dev == store->device && now.st_ino == store->inode) {
        return TL_OK;
    }
    (void)snprintf(store->why, sizeof store->why,
                   "record %s was removed or renamed while it was written", store->path);
    return TL_IO;
}

enum tl_err
tl_store_commit(struct tl_store *store)
{
    if (!store->began) {
        return TL_OK;
    }
    enum tl_err err = run(store, "COMMIT", "the commit failed, its outcome is not known");
    store->began = err != TL_OK;
    return err == TL_OK ? check_place(store) : err;
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
    if (sqlite3_prepare_v2(store->db, tl_sql_load, -1, &statement, NULL) != SQLITE_OK) {
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
        err = run(store, tl_sql_schema, "its tables cannot be made");
    }
    if (err == TL_OK && version < 2) {
        err = run(store, tl_sql_to_schema_2, "its new tables cannot be made");
    }
    return err;
}

static enum tl_err
note_place(struct tl_store *store)
{
    struct stat now;
    if (stat(store->path, &now) != 0) {
        (void)snprintf(store->why, sizeof store->why, "record %s is not there", store->path);
        return TL_IO;
    }
    store->device = now.st_dev;
    store->inode = now.st_ino;
    return TL_OK;
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
    for (int i = 0; i < TL_SQL_STATEMENTS && err == TL_OK; i++) {
        if (sqlite3_prepare_v3(store->db, tl_sql_statements[i], -1, SQLITE_PREPARE_PERSISTENT,
                               &store->statement[i], NULL) != SQLITE_OK) {
            err = fail(store, "has other tables than a record");
        }
    }
    /*
     * A file that can only be read opens without complaint, and a disk that syncs nothing is found
     * out only by something to sync: so the schema's number is written again.
     */
    if (err == TL_OK) {
        err =
            run(store, "BEGIN IMMEDIATE; PRAGMA user_version = " DIGITS(TL_STORE_SCHEMA) "; COMMIT",
                "cannot be written");
    }
    if (err == TL_OK) {
        err = note_place(store);
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
    for (int i = 0; i < TL_SQL_STATEMENTS; i++) {
        (void)sqlite3_finalize((*store)->statement[i]);
    }
    (void)sqlite3_close((*store)->db); /* rolls back what is open */
    free(*store);
    *store = NULL;
}
