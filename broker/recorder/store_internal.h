/* SPDX-License-Identifier: Apache-2.0 */
/* store_internal.h - the inside of a store, shared by store.c (rows) and store_file.c (the file) */
#ifndef TL_RECORDER_STORE_INTERNAL_H
#define TL_RECORDER_STORE_INTERNAL_H

#include <sqlite3.h>
#include <sys/types.h>

#include "broker/recorder/sql.h"
#include "broker/recorder/store.h"

enum {
    TL_STORE_WHY_CAP = TL_PATH_CAP + 200
};

struct tl_store {
    sqlite3 *db;
    sqlite3_stmt *insert[TL_TABLES];
    struct tl_chain_head head[TL_TABLES]; /* as if the open transaction were committed */
    struct tl_seal seal;                  /* the last one, of the file or put since */
    sqlite3_stmt *insert_seal;
    bool began;
    dev_t device; /* which file it is, so that another one at its path is noticed */
    ino_t inode;
    char path[TL_PATH_CAP];
    char why[TL_STORE_WHY_CAP];
};

/* Note what SQLite says; TL_IO. */
enum tl_err tl_store_fail(struct tl_store *store, const char *what);
/* Statements without a result; `what` is said when they fail. */
TL_MUST_USE enum tl_err tl_store_exec(struct tl_store *store, const char *sql, const char *what);

/* ---- store_file.c ---- */

/* TL_IO when another file, or none, is at the path by now. */
TL_MUST_USE enum tl_err tl_store_check_place(struct tl_store *store);

#endif
