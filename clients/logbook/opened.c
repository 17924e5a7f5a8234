/* SPDX-License-Identifier: Apache-2.0 */
/* opened.c - see opened.h. */
#include "clients/logbook/opened.h"

#include <stdbool.h>
#include <stdio.h>
#include <unistd.h>

#include "broker/ledger/foreign.h"

enum {
    BUSY_MS = 2000
};

static enum tl_err
ask_schema(sqlite3 *db, int *schema)
{
    sqlite3_stmt *row = NULL;
    bool read = sqlite3_prepare_v2(db, "PRAGMA user_version", -1, &row, NULL) == SQLITE_OK &&
                sqlite3_step(row) == SQLITE_ROW;
    *schema = read ? sqlite3_column_int(row, 0) : 0;
    (void)sqlite3_finalize(row);
    return read ? TL_OK : TL_IO;
}

enum tl_err
tl_record_open(const char *path, sqlite3 **db, int *schema, char *why, size_t why_cap)
{
    *db = NULL;
    *schema = 0;
    if (access(path, F_OK) != 0) {
        (void)snprintf(why, why_cap, "no record at %s", path);
        return TL_NOTFOUND;
    }
    if (sqlite3_open_v2(path, db, SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX, NULL) != SQLITE_OK) {
        return TL_IO;
    }
    (void)sqlite3_busy_timeout(*db, BUSY_MS);
    if (tl_foreign_guard(*db) != TL_OK ||
        sqlite3_exec(*db, "BEGIN", NULL, NULL, NULL) != SQLITE_OK) {
        return TL_IO;
    }
    return ask_schema(*db, schema);
}
