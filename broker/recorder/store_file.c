/* SPDX-License-Identifier: Apache-2.0 */
/* store_file.c - the file of a store: opened, proven, read, closed. See store.h. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "broker/recorder/durable.h"
#include "broker/recorder/store_internal.h"

enum {
    BUSY_MS = 200 /* somebody looks at the file with a tool that locks it */
};

/* A number of the preprocessor as text. */
#define TEXT_OF(number) #number
#define DIGITS(number)  TEXT_OF(number)

/* ---- errors ---- */

enum tl_err
tl_store_fail(struct tl_store *store, const char *what)
{
    const char *said = store->db != NULL ? sqlite3_errmsg(store->db) : "out of memory";
    (void)snprintf(store->why, sizeof store->why, "record %s: %s: %.120s", store->path, what, said);
    return TL_IO;
}

enum tl_err
tl_store_exec(struct tl_store *store, const char *sql, const char *what)
{
    return sqlite3_exec(store->db, sql, NULL, NULL, NULL) == SQLITE_OK ? TL_OK
                                                                       : tl_store_fail(store, what);
}

const char *
tl_store_why(const struct tl_store *store)
{
    return store->why;
}

/* ---- where it is ---- */

/* A file that was removed or renamed goes on taking rows that nobody will find at the path. */
enum tl_err
tl_store_check_place(struct tl_store *store)
{
    struct stat now;
    if (stat(store->path, &now) == 0 && now.st_dev == store->device && now.st_ino == store->inode) {
        return TL_OK;
    }
    (void)snprintf(store->why, sizeof store->why,
                   "record %s was removed or renamed while it was written", store->path);
    return TL_IO;
}

/* ---- open, load, close ---- */

static void
take_range(sqlite3_stmt *statement, struct tl_watermark *mark)
{
    uint64_t incarnation = (uint64_t)sqlite3_column_int64(statement, 0);
    struct tl_gap range = {(uint64_t)sqlite3_column_int64(statement, 1),
                           (uint64_t)sqlite3_column_int64(statement, 2)};
    if (sqlite3_column_int(statement, 3) != 0) {
        tl_watermark_take_gap(mark, incarnation, &range);
    } else {
        (void)tl_watermark_take(mark, incarnation, range.first);
    }
}

static enum tl_err
load_mark(struct tl_store *store, sqlite3_stmt *statement, struct tl_watermark *mark)
{
    int code = sqlite3_bind_text(statement, 1, mark->node, -1, SQLITE_STATIC);
    while (code == SQLITE_OK || code == SQLITE_ROW) {
        code = sqlite3_step(statement);
        if (code == SQLITE_ROW) {
            take_range(statement, mark);
        }
    }
    enum tl_err err = code == SQLITE_DONE ? TL_OK : tl_store_fail(store, "cannot be read");
    (void)sqlite3_reset(statement);
    return err;
}

enum tl_err
tl_store_load(struct tl_store *store, struct tl_watermarks *marks)
{
    sqlite3_stmt *statement = NULL;
    if (sqlite3_prepare_v2(store->db, tl_sql_load, -1, &statement, NULL) != SQLITE_OK) {
        return tl_store_fail(store, "cannot be read");
    }
    enum tl_err err = TL_OK;
    for (uint32_t i = 0; i < marks->count && err == TL_OK; i++) {
        err = load_mark(store, statement, &marks->mark[i]);
    }
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
    bool made = mkdir(folder, S_IRWXU) == 0;
    /* Who finds it there tries too: the one who made it may have died before. */
    if ((made || errno == EEXIST) && (tl_durable_folder(folder) == TL_OK || !made)) {
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
    enum tl_err err =
        read ? TL_OK : tl_store_fail(store, "cannot be read; move it away or free the disk");
    (void)sqlite3_finalize(statement);
    return err;
}

/* Whether the end of the connection copies the log into the file. */
static enum tl_err
copy_at_end(struct tl_store *store, bool copies)
{
    int code = sqlite3_db_config(store->db, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, copies ? 0 : 1, NULL);
    return code == SQLITE_OK ? TL_OK : tl_store_fail(store, "cannot be set up");
}

/* Before anything is put behind what the log shows, or copied from it; not even at the end. */
static enum tl_err
trust_log(struct tl_store *store)
{
    enum tl_err err = tl_store_exec(store, "BEGIN IMMEDIATE", "cannot be written");
    if (err == TL_OK && tl_durable_log(store->db) != TL_OK) {
        (void)snprintf(store->why, sizeof store->why,
                       "record %s: its log cannot be written again and synced; look at the disk",
                       store->path);
        return TL_IO;
    }
    if (err == TL_OK) {
        err = tl_store_exec(store, "COMMIT", "cannot be written");
    }
    return err == TL_OK ? copy_at_end(store, true) : err;
}

/* Nothing is counted that only the log has. */
static enum tl_err
settle(struct tl_store *store)
{
    int busy = 0;
    enum tl_err err = ask(store, "PRAGMA wal_checkpoint(FULL)", &busy);
    return err == TL_OK && busy != 0 ? tl_store_fail(store, "is held by a reader; end it") : err;
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
        err = tl_store_exec(store, "PRAGMA journal_mode = WAL", "cannot be written");
    }
    if (err == TL_OK) {
        err = tl_store_exec(store, "PRAGMA synchronous = FULL", "cannot be written");
    }
    if (err == TL_OK) {
        err = trust_log(store);
    }
    if (err == TL_OK && version == 0) {
        err = tl_store_exec(store, tl_sql_schema, "its tables cannot be made");
    }
    if (err == TL_OK && version < 2) {
        err = tl_store_exec(store, tl_sql_to_schema_2, "its new tables cannot be made");
    }
    if (err == TL_OK && version < 3) {
        err = tl_store_exec(store, tl_sql_to_schema_3, "its new columns cannot be made");
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
prepare(struct tl_store *store)
{
    int code = sqlite3_prepare_v3(store->db, tl_sql_insert_seal, -1, SQLITE_PREPARE_PERSISTENT,
                                  &store->insert_seal, NULL);
    for (int i = 0; i < TL_TABLES && code == SQLITE_OK; i++) {
        char sql[TL_SQL_CAP];
        tl_sql_insert((enum tl_record_table)i, sql);
        code = sqlite3_prepare_v3(store->db, sql, -1, SQLITE_PREPARE_PERSISTENT, &store->insert[i],
                                  NULL);
    }
    return code == SQLITE_OK ? TL_OK : tl_store_fail(store, "has other tables than a record");
}

/* A blob of exactly that length; a column of another is left out. */
static void
take_blob(sqlite3_stmt *row, int column, uint8_t *dst, size_t len)
{
    const void *bytes = sqlite3_column_blob(row, column);
    if (bytes != NULL && (size_t)sqlite3_column_bytes(row, column) == len) {
        memcpy(dst, bytes, len);
    }
}

/* Where the chain of a table goes on. Rows of an older schema have no hash: it begins behind them. */
static enum tl_err
load_head(struct tl_store *store, enum tl_record_table table)
{
    char sql[TL_SQL_CAP];
    sqlite3_stmt *row = NULL;
    struct tl_chain_head *head = &store->head[table];
    (void)snprintf(sql, sizeof sql, "SELECT id, hash FROM %s ORDER BY id DESC LIMIT 1",
                   tl_record_table_name(table));
    int code = sqlite3_prepare_v2(store->db, sql, -1, &row, NULL);
    code = code == SQLITE_OK ? sqlite3_step(row) : code;
    if (code == SQLITE_ROW) {
        head->id = (uint64_t)sqlite3_column_int64(row, 0);
        take_blob(row, 1, head->hash, TL_CHAIN_LEN);
    }
    (void)sqlite3_finalize(row);
    return code == SQLITE_ROW || code == SQLITE_DONE ? TL_OK
                                                     : tl_store_fail(store, "cannot be read");
}

static enum tl_err
load_seal(struct tl_store *store)
{
    sqlite3_stmt *row = NULL;
    struct tl_seal *seal = &store->seal;
    int code = sqlite3_prepare_v2(store->db, tl_sql_last_seal, -1, &row, NULL);
    code = code == SQLITE_OK ? sqlite3_step(row) : code;
    if (code == SQLITE_ROW) {
        const uint8_t *heads = sqlite3_column_blob(row, 1);
        size_t len = (size_t)sqlite3_column_bytes(row, 1);
        seal->id = (uint64_t)sqlite3_column_int64(row, 0);
        tl_err_ignore(tl_seal_read_heads(heads, len, seal), "then everything counts as not sealed");
        take_blob(row, 2, seal->signature, TL_SIGNATURE_LEN);
    }
    (void)sqlite3_finalize(row);
    return code == SQLITE_ROW || code == SQLITE_DONE ? TL_OK
                                                     : tl_store_fail(store, "cannot be read");
}

static enum tl_err
load_heads(struct tl_store *store)
{
    enum tl_err err = load_seal(store);
    for (int i = 0; i < TL_TABLES && err == TL_OK; i++) {
        err = load_head(store, (enum tl_record_table)i);
    }
    return err;
}

static enum tl_err
open_file(struct tl_store *store)
{
    int flags = SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE | SQLITE_OPEN_NOMUTEX;
    enum tl_err err = make_folder(store);
    if (err == TL_OK && sqlite3_open_v2(store->path, &store->db, flags, NULL) != SQLITE_OK) {
        err = tl_store_fail(store, "cannot be opened; look at the folder's permissions");
    }
    if (err == TL_OK && sqlite3_db_readonly(store->db, "main") == 1) {
        (void)snprintf(store->why, sizeof store->why,
                       "record %s can only be read here; look at its permissions and at how its "
                       "disk is mounted",
                       store->path);
        err = TL_IO;
    }
    if (err != TL_OK) {
        return err;
    }
    (void)sqlite3_busy_timeout(store->db, BUSY_MS);
    err = copy_at_end(store, false);
    if (err == TL_OK) {
        err = take_schema(store);
    }
    if (err == TL_OK) {
        err = prepare(store);
    }
    /* A disk that syncs nothing is found out by something to sync: the schema's number again. */
    if (err == TL_OK) {
        err = tl_store_exec(
            store, "BEGIN IMMEDIATE; PRAGMA user_version = " DIGITS(TL_STORE_SCHEMA) "; COMMIT",
            "cannot be written");
    }
    if (err == TL_OK) {
        err = note_place(store);
    }
    if (err == TL_OK) {
        err = settle(store);
    }
    return err == TL_OK ? load_heads(store) : err;
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
    for (int i = 0; i < TL_TABLES; i++) {
        (void)sqlite3_finalize((*store)->insert[i]);
    }
    (void)sqlite3_finalize((*store)->insert_seal);
    (void)sqlite3_close((*store)->db); /* rolls back what is open */
    free(*store);
    *store = NULL;
}
