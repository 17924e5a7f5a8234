/* SPDX-License-Identifier: Apache-2.0 */
/* audit.c - see audit.h. */
#include "tests/recorder/audit.h"

#include <sqlite3.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/logbook/verify.h"

enum {
    LAST_LIFE = 999 /* of the changes that are written on */
};

__attribute__((format(printf, 2, 3))) static bool
wrong(struct audit *audit, const char *fmt, ...)
{
    va_list values;
    va_start(values, fmt);
    (void)vsnprintf(audit->why, sizeof audit->why, fmt, values);
    va_end(values);
    return false;
}

/* ---- rows ---- */

static int
compare_rows(const void *a, const void *b, void *rows)
{
    const struct work_row *row = rows;
    const struct row *one = &row[*(const uint32_t *)a].row;
    const struct row *other = &row[*(const uint32_t *)b].row;
    return one->table != other->table ? (int)one->table - (int)other->table
                                      : strcmp(one->text, other->text);
}

void
audit_init(struct audit *audit, struct work *work)
{
    memset(audit, 0, sizeof *audit);
    audit->work = work;
    audit->row_count = work->row_count;
    for (uint32_t i = 0; i < work->row_count; i++) {
        audit->sorted[i] = i;
    }
    qsort_r(audit->sorted, work->row_count, sizeof audit->sorted[0], compare_rows, work->row);
}

/* Index of the row with that text, or WORK_NEVER. */
static uint32_t
find_row(const struct audit *audit, const struct row *wanted)
{
    uint32_t low = 0;
    uint32_t high = audit->row_count;
    while (low < high) {
        uint32_t middle = (low + high) / 2;
        const struct row *row = &audit->work->row[audit->sorted[middle]].row;
        int order = row->table != wanted->table ? (int)row->table - (int)wanted->table
                                                : strcmp(row->text, wanted->text);
        if (order == 0) {
            return audit->sorted[middle];
        }
        low = order < 0 ? middle + 1 : low;
        high = order < 0 ? high : middle;
    }
    return WORK_NEVER;
}

/* Of a row of `change` or `gap`: station, life and first number, by its columns. */
static bool
find_key(sqlite3_stmt *statement, struct row_key *key)
{
    const char *node = (const char *)sqlite3_column_text(statement, 0);
    sqlite3_int64 life = sqlite3_column_int64(statement, 1) - (sqlite3_int64)ROW_INCARNATION;
    sqlite3_int64 sequence = sqlite3_column_int64(statement, 2);
    uint32_t station = 0;
    while (station < ROW_STATIONS && (node == NULL || strcmp(node, row_stations[station]) != 0)) {
        station++;
    }
    *key = (struct row_key){station, (uint32_t)life, (uint32_t)sequence};
    return station < ROW_STATIONS && life >= 0 && life < WORK_LIVES && sequence > 0 &&
           sequence < WORK_SEQUENCES;
}

static bool
take_gap(struct audit *audit, sqlite3_stmt *statement, struct row_key key)
{
    sqlite3_int64 last = sqlite3_column_int64(statement, 3);
    const struct work_station *station = &audit->work->station[key.station];
    for (; key.sequence <= last; key.sequence++) {
        if (key.sequence >= WORK_SEQUENCES || station->said[key.life][key.sequence] != WORK_LOST) {
            return wrong(audit, "a gap of %s, life %u, has %u, which can be given",
                         row_stations[key.station], key.life, key.sequence);
        }
        audit->gap[key.station][key.life][key.sequence] = true;
    }
    return true;
}

static bool
take_row(struct audit *audit, enum row_table table, sqlite3_stmt *statement)
{
    struct row row = {.table = table};
    struct row_key key;
    size_t used = 0;
    for (int i = 0; i < sqlite3_column_count(statement) && used < sizeof row.text; i++) {
        const unsigned char *text = sqlite3_column_text(statement, i);
        used += (size_t)snprintf(row.text + used, sizeof row.text - used, "%s%s", i > 0 ? "|" : "",
                                 text != NULL ? (const char *)text : "-");
    }
    uint32_t index = find_row(audit, &row);
    if (index == WORK_NEVER || audit->work->row[index].born > audit->at) {
        return wrong(audit, "a row that was not written: %.300s", row.text);
    }
    if (++audit->found[index] > 1) {
        return wrong(audit, "there twice: %.300s", row.text);
    }
    if (table == ROW_CHANGE || table == ROW_GAP) {
        if (!find_key(statement, &key)) {
            return wrong(audit, "of nobody: %.300s", row.text);
        }
        if (table == ROW_GAP) {
            return take_gap(audit, statement, key);
        }
        audit->change[key.station][key.life][key.sequence] = true;
    }
    return true;
}

static bool
take_table(struct audit *audit, sqlite3 *db, enum row_table table)
{
    sqlite3_stmt *statement = NULL;
    int code = sqlite3_prepare_v2(db, row_select[table], -1, &statement, NULL);
    bool good = code == SQLITE_OK;
    while (good && (code = sqlite3_step(statement)) == SQLITE_ROW) {
        good = take_row(audit, table, statement);
    }
    if (good && code != SQLITE_DONE) {
        good = wrong(audit, "cannot be read: %s", sqlite3_errmsg(db));
    }
    (void)sqlite3_finalize(statement);
    return good;
}

/* By SQLite, by the chains of the rows, and by the seals; the frames here are none of the bus. */
static bool
is_whole(struct audit *audit, const char *path)
{
    static struct tl_verified verified;
    char why[512] = "";
    if (tl_verify(path, NULL, &verified, why, sizeof why) != TL_OK) {
        return wrong(audit, "%s", why);
    }
    for (int i = 0; i < TL_TABLES; i++) {
        const struct tl_verified_table *table = &verified.table[i];
        if (table->bad_id != 0) {
            return wrong(audit, "%s row %llu %s", tl_record_table_name((enum tl_record_table)i),
                         (unsigned long long)table->bad_id, table->bad);
        }
    }
    return (verified.file[0] == '\0' || wrong(audit, "not whole: %s", verified.file)) &&
           (verified.bad_seal == 0 ||
            wrong(audit, "seal %llu: %s", (unsigned long long)verified.bad_seal, verified.seal));
}

static bool
read_rows(struct audit *audit, const char *path)
{
    sqlite3 *db = NULL;
    bool good = sqlite3_open_v2(path, &db, SQLITE_OPEN_READONLY, NULL) == SQLITE_OK ||
                wrong(audit, "cannot be opened to be read");
    for (enum row_table table = 0; table < ROW_TABLES && good; table++) {
        good = take_table(audit, db, table);
    }
    (void)sqlite3_close(db);
    return good;
}

/* ---- what is owed ---- */

/* Of a transaction that was not answered: all of its rows or none. */
static bool
check_turns(struct audit *audit)
{
    const struct work *work = audit->work;
    for (uint32_t i = 0; i < work->row_count;) {
        uint32_t turn = work->row[i].turn;
        uint32_t rows = 0;
        uint32_t there = 0;
        for (; i < work->row_count && work->row[i].turn == turn; i++) {
            bool open = work->row[i].due > audit->at && work->row[i].born <= audit->at;
            rows += open && !work->row[i].again ? 1 : 0;
            there += open && !work->row[i].again ? audit->found[i] : 0;
        }
        if (there > 0 && there < rows) {
            return wrong(audit, "%u of %u rows of a transaction", there, rows);
        }
        audit->open_turns += rows > 0 ? 1 : 0;
        audit->open_turns_there += there > 0 ? 1 : 0;
    }
    return true;
}

static bool
check_due(struct audit *audit)
{
    for (uint32_t i = 0; i < audit->row_count; i++) {
        const struct work_row *row = &audit->work->row[i];
        if (row->due <= audit->at && audit->found[i] == 0) {
            return wrong(audit, "lost: committed at %u: %.300s", row->due, row->row.text);
        }
    }
    return true;
}

static bool
is_covered(struct audit *audit, struct row_key key, uint64_t through, const char *whose)
{
    for (key.sequence = 1; key.sequence <= through; key.sequence++) {
        if (key.life >= WORK_LIVES || key.sequence >= WORK_SEQUENCES ||
            (!audit->change[key.station][key.life][key.sequence] &&
             !audit->gap[key.station][key.life][key.sequence])) {
            return wrong(audit, "%s, life %u: %u is under the mark %s, %llu, and not there",
                         row_stations[key.station], key.life, key.sequence, whose,
                         (unsigned long long)through);
        }
    }
    return true;
}

/* The marks that the store reads from the file, against those told and against the rows. */
static bool
check_marks(struct audit *audit, struct tl_watermarks *marks)
{
    const struct work *work = audit->work;
    for (uint32_t i = 0; i < work->told_count && work->told[i].at <= audit->at; i++) {
        const struct work_told *told = &work->told[i];
        const struct tl_watermark *mark = tl_watermark_of(marks, row_stations[told->station]);
        uint64_t incarnation = ROW_INCARNATION + told->life;
        if (!is_covered(audit, (struct row_key){told->station, told->life, 0}, told->through,
                        "told")) {
            return false;
        }
        if (mark->incarnation < incarnation ||
            (mark->incarnation == incarnation && mark->through < told->through)) {
            return wrong(audit, "%s: the mark is %llu/%llu, told was %llu/%llu", mark->node,
                         (unsigned long long)mark->incarnation, (unsigned long long)mark->through,
                         (unsigned long long)incarnation, (unsigned long long)told->through);
        }
    }
    for (uint32_t i = 0; i < ROW_STATIONS; i++) {
        const struct tl_watermark *mark = tl_watermark_of(marks, row_stations[i]);
        struct row_key key = {i, (uint32_t)(mark->incarnation - ROW_INCARNATION), 0};
        if (mark->through > 0 && !is_covered(audit, key, mark->through, "read")) {
            return false;
        }
    }
    return true;
}

/* ---- it goes on ---- */

static bool
write_on(struct audit *audit, struct tl_store *store, struct tl_watermarks *marks)
{
    struct tl_envelope envelope;
    struct row row;
    for (uint32_t i = 0; i < ROW_STATIONS; i++) {
        const struct tl_verbatim none = {NULL, 0};
        row_change((struct row_key){i, LAST_LIFE, 1}, &envelope, &row);
        if (tl_store_change(store, &envelope, &none) != TL_OK) {
            return wrong(audit, "not written on: %s", tl_store_why(store));
        }
    }
    if (tl_store_commit(store) != TL_OK || tl_store_load(store, marks) != TL_OK) {
        return wrong(audit, "not written on: %s", tl_store_why(store));
    }
    for (uint32_t i = 0; i < ROW_STATIONS; i++) {
        const struct tl_watermark *mark = tl_watermark_of(marks, row_stations[i]);
        if (mark->incarnation != ROW_INCARNATION + LAST_LIFE || mark->through != 1) {
            return wrong(audit, "%s: what was written on is not under its mark", mark->node);
        }
    }
    return true;
}

static bool
is_nothing_owed(const struct audit *audit)
{
    const struct work *work = audit->work;
    bool nothing = work->told_count == 0 || work->told[0].at > audit->at;
    for (uint32_t i = 0; i < audit->row_count && nothing; i++) {
        nothing = work->row[i].due > audit->at;
    }
    return nothing;
}

bool
audit_file(struct audit *audit, uint32_t at, const char *path)
{
    struct tl_store *store = NULL;
    struct tl_watermarks marks;
    audit->at = at;
    audit->open_turns = 0;
    audit->open_turns_there = 0;
    memset(audit->found, 0, sizeof audit->found);
    memset(audit->change, 0, sizeof audit->change);
    memset(audit->gap, 0, sizeof audit->gap);
    audit->refused = tl_store_open(path, &store, audit->why, sizeof audit->why) != TL_OK;
    if (audit->refused) {
        return audit->may_refuse && is_nothing_owed(audit);
    }
    tl_watermarks_init(&marks, &audit->work->config);
    bool good = tl_store_load(store, &marks) == TL_OK ||
                wrong(audit, "not loaded: %s", tl_store_why(store));
    good = good && read_rows(audit, path) && check_due(audit) && check_turns(audit) &&
           check_marks(audit, &marks) && write_on(audit, store, &marks) && is_whole(audit, path);
    tl_store_close(&store);
    return good;
}
