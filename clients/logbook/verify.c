/* SPDX-License-Identifier: Apache-2.0 */
/* verify.c - see verify.h: the file, and the chain of its rows. */
#include "clients/logbook/verify.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/logbook/opened.h"
#include "clients/logbook/verify_internal.h"
#include "proto/base/text.h"

enum {
    SCHEMA_FIRST = 3,
    SQL_CAP = 256
};

bool
tl_verified_whole(const struct tl_verified *verified)
{
    bool whole = verified->file[0] == '\0' && verified->bad_seal == 0 && verified->frames_bad == 0;
    for (int i = 0; i < TL_TABLES && whole; i++) {
        whole = verified->table[i].bad_id == 0;
    }
    return whole;
}

enum tl_err
tl_verify_prepare(struct tl_verifying *on, const char *form, enum tl_record_table table,
                  sqlite3_stmt **row)
{
    char sql[SQL_CAP];
    char *name = sqlite3_mprintf(form, tl_record_table_name(table));
    if (name == NULL) {
        return TL_NOMEM;
    }
    (void)snprintf(sql, sizeof sql, "%s", name);
    sqlite3_free(name);
    return sqlite3_prepare_v2(on->db, sql, -1, row, NULL) == SQLITE_OK ? TL_OK : TL_IO;
}

/* ---- the chain of a table ---- */

/* Where the walk stands: the row before, as the file has it. */
struct walk {
    struct tl_chain_head before;
    bool chained; /* a row with a hash has been seen */
    int hash_column;
};

static void
hash_column(sqlite3_stmt *row, int column, struct tl_chain *chain)
{
    switch (sqlite3_column_type(row, column)) {
    case SQLITE_INTEGER:
        tl_chain_integer(chain, sqlite3_column_int64(row, column));
        break;
    case SQLITE_TEXT:
        tl_chain_text(chain, (const char *)sqlite3_column_text(row, column),
                      (size_t)sqlite3_column_bytes(row, column));
        break;
    case SQLITE_NULL:
        tl_chain_null(chain);
        break;
    default: /* a real number, which no column of ours has, gives a hash that does not fit */
        tl_chain_blob(chain, sqlite3_column_blob(row, column),
                      (size_t)sqlite3_column_bytes(row, column));
        break;
    }
}

static void
say_bad(struct tl_verified_table *table, uint64_t id, const char *what)
{
    if (table->bad_id == 0) {
        table->bad_id = id;
        (void)snprintf(table->bad, sizeof table->bad, "%s", what);
    }
}

/* The stored hash, or NULL when the row has none of the right length. */
static const uint8_t *
stored_hash(sqlite3_stmt *row, int column)
{
    bool whole = sqlite3_column_type(row, column) == SQLITE_BLOB &&
                 sqlite3_column_bytes(row, column) == TL_CHAIN_LEN;
    return whole ? sqlite3_column_blob(row, column) : NULL;
}

static void
check_row(sqlite3_stmt *row, enum tl_record_table which, struct walk *walk,
          struct tl_verified_table *table)
{
    uint64_t id = (uint64_t)sqlite3_column_int64(row, 0);
    const uint8_t *stored = stored_hash(row, walk->hash_column);
    uint8_t hash[TL_CHAIN_LEN];
    struct tl_chain chain;
    if (id != walk->before.id + 1) {
        say_bad(table, walk->before.id + 1, "is missing");
    }
    if (stored == NULL && !walk->chained &&
        sqlite3_column_type(row, walk->hash_column) == SQLITE_NULL) {
        table->unchained++;
        walk->before.id = id;
        return;
    }
    table->rows++;
    walk->chained = true;
    tl_chain_begin(&chain, tl_record_table_name(which), walk->before.hash, id);
    for (int i = 1; i < sqlite3_column_count(row); i++) {
        if (i != walk->hash_column) {
            hash_column(row, i, &chain);
        }
    }
    tl_chain_end(&chain, hash);
    if (stored == NULL) {
        say_bad(table, id, "has no hash");
    } else if (memcmp(hash, stored, sizeof hash) != 0) {
        say_bad(table, id, "was altered, or a row before it was put in or taken out");
    }
    walk->before.id = id;
    memcpy(walk->before.hash, stored != NULL ? stored : hash, sizeof hash);
}

static int
find_column(sqlite3_stmt *row, const char *name)
{
    for (int i = 0; i < sqlite3_column_count(row); i++) {
        if (strcmp(sqlite3_column_name(row, i), name) == 0) {
            return i;
        }
    }
    return -1;
}

enum tl_err
tl_verify_chain(struct tl_verifying *on, enum tl_record_table table)
{
    sqlite3_stmt *row = NULL;
    struct walk walk = {0};
    enum tl_err err = tl_verify_prepare(on, "SELECT * FROM %s ORDER BY id", table, &row);
    if (err != TL_OK) {
        return err;
    }
    walk.hash_column = find_column(row, "hash");
    int code = walk.hash_column > 0 ? SQLITE_ROW : SQLITE_ERROR;
    while (code == SQLITE_ROW) {
        code = sqlite3_step(row);
        if (code == SQLITE_ROW) {
            check_row(row, table, &walk, &on->out->table[table]);
        }
    }
    (void)sqlite3_finalize(row);
    return code == SQLITE_DONE ? TL_OK : TL_IO;
}

/* ---- the whole file ---- */

/* What SQLite itself finds, its first line. */
static enum tl_err
check_file(struct tl_verifying *on)
{
    sqlite3_stmt *row = NULL;
    enum tl_err err = TL_IO;
    if (sqlite3_prepare_v2(on->db, "PRAGMA integrity_check(1)", -1, &row, NULL) == SQLITE_OK &&
        sqlite3_step(row) == SQLITE_ROW) {
        const unsigned char *said = sqlite3_column_text(row, 0);
        const char *text = said != NULL ? (const char *)said : "out of memory";
        if (strcmp(text, "ok") != 0) {
            (void)tl_text_plain(on->out->file, sizeof on->out->file, text, strlen(text));
        }
        err = TL_OK;
    }
    (void)sqlite3_finalize(row);
    return err;
}

static enum tl_err
check_all(struct tl_verifying *on)
{
    enum tl_err err = check_file(on);
    for (int i = 0; i < TL_TABLES && err == TL_OK; i++) {
        err = tl_verify_chain(on, (enum tl_record_table)i);
    }
    err = err == TL_OK ? tl_verify_seals(on) : err;
    err = err == TL_OK ? tl_verify_frames(on, TL_TABLE_CHANGE) : err;
    err = err == TL_OK ? tl_verify_frames(on, TL_TABLE_JUDGED) : err;
    return err == TL_OK ? tl_verify_frames(on, TL_TABLE_BEAT) : err;
}

static void
say_why(const struct tl_verifying *on, const char *path, enum tl_err err, char *why, size_t why_cap)
{
    if (err == TL_REFUSED && on->out->schema < SCHEMA_FIRST) {
        (void)snprintf(why, why_cap,
                       "record %s has schema %d, whose rows are not chained; start its recorder on "
                       "it once, and what is written from then on is",
                       path, on->out->schema);
    } else if (err == TL_REFUSED) {
        (void)snprintf(why, why_cap, "record %s has schema %d, this program knows %d", path,
                       on->out->schema, TL_RECORD_SCHEMA_LAST);
    } else {
        (void)snprintf(why, why_cap, "record %s cannot be read: %.120s", path,
                       err == TL_IO && on->db != NULL ? sqlite3_errmsg(on->db) : tl_err_text(err));
    }
}

enum tl_err
tl_verify(const char *path, const struct tl_config *config, struct tl_verified *verified, char *why,
          size_t why_cap)
{
    struct tl_verifying on = {.config = config, .out = verified};
    memset(verified, 0, sizeof *verified);
    enum tl_err err = tl_record_open(path, &on.db, &verified->schema, why, why_cap);
    if (err == TL_OK &&
        (verified->schema < SCHEMA_FIRST || verified->schema > TL_RECORD_SCHEMA_LAST)) {
        err = TL_REFUSED;
    }
    if (err == TL_OK) {
        on.codec = malloc(sizeof *on.codec);
        err = on.codec != NULL ? check_all(&on) : TL_NOMEM;
    }
    if (err != TL_OK && err != TL_NOTFOUND) {
        say_why(&on, path, err, why, why_cap);
    }
    (void)sqlite3_close(on.db);
    free(on.codec);
    return err;
}
