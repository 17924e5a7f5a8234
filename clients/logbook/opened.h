/* SPDX-License-Identifier: Apache-2.0 */
/* opened.h - a record opened to be read: one state of it for all that is read, and nothing written */
#ifndef CLIENTS_LOGBOOK_OPENED_H
#define CLIENTS_LOGBOOK_OPENED_H

#include <sqlite3.h>
#include <stddef.h>

#include "proto/base/err.h"

enum {
    TL_RECORD_SCHEMA_LAST = 3 /* the newest that is known here */
};

/*
 * *db is to be closed by the caller whatever is returned; which schemas it can read, the caller says.
 * TL_NOTFOUND: no such file, and `why` says so. TL_IO: sqlite3_errmsg says why.
 */
TL_MUST_USE enum tl_err tl_record_open(const char *path, sqlite3 **db, int *schema, char *why,
                                       size_t why_cap);

#endif
