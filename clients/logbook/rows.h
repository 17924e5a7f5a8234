/* SPDX-License-Identifier: Apache-2.0 */
/*
 * rows.h - the rows of a recorder's file as the rows of a book: with record.h all the SQL of the
 * clients. docs/record.md has the tables.
 */
#ifndef CLIENTS_LOGBOOK_ROWS_H
#define CLIENTS_LOGBOOK_ROWS_H

#include <sqlite3.h>

#include "clients/logbook/book.h"

/* One query, and what takes a row of it. The take functions fail with TL_FULL or TL_NOMEM. */
struct tl_rows {
    int schema_first; /* from this schema on */
    const char *sql;
    enum tl_err (*take)(sqlite3_stmt *row, struct tl_book *book);
};

/* All of them; the first two values of a query that has ?1 and ?2 are the times it is bound by. */
const struct tl_rows *tl_rows_all(size_t *count);

#endif
