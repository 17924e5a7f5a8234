/* SPDX-License-Identifier: Apache-2.0 */
/* foreign.c - see foreign.h. */
#include "broker/ledger/foreign.h"

#include <stdbool.h>
#include <stddef.h>

enum tl_err
tl_foreign_guard(sqlite3 *db)
{
    static const struct {
        int what;
        int value;
    } settings[] = {
        {SQLITE_DBCONFIG_DEFENSIVE, 1},
        {SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0},
        {SQLITE_DBCONFIG_ENABLE_VIEW, 0},
        {SQLITE_DBCONFIG_ENABLE_TRIGGER, 0},
    };
    bool done = true;
    for (size_t i = 0; i < sizeof settings / sizeof settings[0]; i++) {
        int now = !settings[i].value;
        done = done &&
               sqlite3_db_config(db, settings[i].what, settings[i].value, &now) == SQLITE_OK &&
               now == settings[i].value;
    }
    done = done && sqlite3_drop_modules(db, NULL) == SQLITE_OK; /* of virtual tables */
    (void)sqlite3_limit(db, SQLITE_LIMIT_LENGTH, TL_FOREIGN_VALUE_MAX);
    return done && sqlite3_exec(db, "PRAGMA cell_size_check = ON", NULL, NULL, NULL) == SQLITE_OK
               ? TL_OK
               : TL_IO;
}
