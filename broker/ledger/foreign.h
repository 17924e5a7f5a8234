/* SPDX-License-Identifier: Apache-2.0 */
/*
 * foreign.h - a record's file may come from anybody: what it may not do to a program that reads it
 *
 * After "Untrusted SQLite Database Files" in "Defense Against The Dark Arts" of the SQLite
 * documentation (sqlite.org/security.html). Tables are tables: a view or a virtual table of the same
 * name, which could read for ever or give what never was a row, is an error of the query that asks it.
 * No trigger runs, and no value is longer than any of ours.
 */
#ifndef TL_LEDGER_FOREIGN_H
#define TL_LEDGER_FOREIGN_H

#include <sqlite3.h>

#include "proto/base/err.h"

enum {
    TL_FOREIGN_VALUE_MAX = 1024 * 1024 /* bytes of a row, too; the largest frame is 64 KiB */
};

/* Guard a connection that was just opened. TL_IO: sqlite3_errmsg says why. */
TL_MUST_USE enum tl_err tl_foreign_guard(sqlite3 *db);

#endif
