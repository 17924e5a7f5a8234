/* SPDX-License-Identifier: Apache-2.0 */
/* record.c - see record.h. */
#include "clients/logbook/record.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "clients/logbook/opened.h"
#include "clients/logbook/rows.h"

enum {
    SCHEMA_FIRST = 1 /* what is read here is in every one of these, or said to be newer */
};

/* TL_IO: SQLite says why. */
static enum tl_err
each(sqlite3 *db, const struct tl_rows *rows, const struct tl_record_span *span,
     struct tl_reading *reading)
{
    sqlite3_stmt *row = NULL;
    enum tl_err err = TL_OK;
    int code = SQLITE_ROW;
    if (sqlite3_prepare_v2(db, rows->sql, -1, &row, NULL) != SQLITE_OK) {
        return TL_IO;
    }
    sqlite3_int64 to = span->to_ms > INT64_MAX ? INT64_MAX : (sqlite3_int64)span->to_ms;
    if (sqlite3_bind_int64(row, 1, (sqlite3_int64)span->from_ms) != SQLITE_OK ||
        sqlite3_bind_int64(row, 2, to) != SQLITE_OK) {
        err = TL_IO;
    }
    while (err == TL_OK && (code = sqlite3_step(row)) == SQLITE_ROW) {
        err = rows->take(row, reading);
    }
    if (err == TL_OK && code != SQLITE_DONE) {
        err = TL_IO;
    }
    (void)sqlite3_finalize(row);
    return err;
}

static enum tl_err
read_all(sqlite3 *db, const struct tl_record_span *span, struct tl_book *book)
{
    size_t count = 0;
    const struct tl_rows *rows = tl_rows_all(&count);
    struct tl_reading reading = {book, malloc(sizeof *reading.codec),
                                 calloc(1, sizeof *reading.envelope)};
    enum tl_err err = reading.codec != NULL && reading.envelope != NULL ? TL_OK : TL_NOMEM;
    for (size_t i = 0; i < count && err == TL_OK; i++) {
        if (book->schema >= rows[i].schema_first && book->schema <= rows[i].schema_last) {
            err = each(db, &rows[i], span, &reading);
        }
    }
    free(reading.codec);
    free(reading.envelope);
    return err;
}

/* The sentence of an error; TL_NOTFOUND is told before. */
static void
explain(enum tl_err err, const char *path, sqlite3 *db, int version, char *why, size_t why_cap)
{
    if (err == TL_REFUSED) {
        (void)snprintf(why, why_cap, "record %s has schema %d, this program knows %d", path,
                       version, TL_RECORD_SCHEMA_LAST);
    } else if (err == TL_FULL) {
        (void)snprintf(why, why_cap,
                       "record %s has more rows than can be read at once; narrow it with --from "
                       "and --to, as whole times",
                       path);
    } else {
        (void)snprintf(why, why_cap, "record %s cannot be read: %.120s", path,
                       err == TL_IO && db != NULL ? sqlite3_errmsg(db) : tl_err_text(err));
    }
}

enum tl_err
tl_record_read(const char *path, const struct tl_record_span *span, struct tl_book *book, char *why,
               size_t why_cap)
{
    sqlite3 *db = NULL;
    enum tl_err err = tl_record_open(path, &db, &book->schema, why, why_cap);
    if (err == TL_OK && (book->schema < SCHEMA_FIRST || book->schema > TL_RECORD_SCHEMA_LAST)) {
        err = TL_REFUSED;
    }
    if (err == TL_OK) {
        err = read_all(db, span, book);
    }
    if (err != TL_OK && err != TL_NOTFOUND) {
        explain(err, path, db, book->schema, why, why_cap);
    }
    (void)sqlite3_close(db);
    return err;
}

enum tl_err
tl_record_find(const struct tl_config *config, char path[TL_PATH_CAP])
{
    for (uint32_t i = 0; i < config->node_count; i++) {
        const struct tl_node *node = &config->node[i];
        if (node->kind != TL_NODE_RECORDER) {
            continue;
        }
        int len = snprintf(path, TL_PATH_CAP, "%s/%s.db", config->record_dir, node->id);
        if (len > 0 && len < TL_PATH_CAP && access(path, F_OK) == 0) {
            return TL_OK;
        }
    }
    return TL_NOTFOUND;
}
