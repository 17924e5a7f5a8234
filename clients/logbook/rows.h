/* SPDX-License-Identifier: Apache-2.0 */
/*
 * rows.h - the rows of a recorder's file as the rows of a book: with record.h all the SQL of the
 * clients. docs/record.md has the tables.
 */
#ifndef CLIENTS_LOGBOOK_ROWS_H
#define CLIENTS_LOGBOOK_ROWS_H

#include <sqlite3.h>

#include "clients/logbook/book.h"
#include "proto/codec/codec.h"

/* What takes rows: the book, and what reads a frame; the last two are large. */
struct tl_reading {
    struct tl_book *book;
    struct tl_codec *codec;
    struct tl_envelope *envelope;
};

/* One query, and what takes a row of it. The take functions fail with TL_FULL or TL_NOMEM. */
struct tl_rows {
    int schema_first, schema_last; /* that have it */
    const char *sql;
    enum tl_err (*take)(sqlite3_stmt *row, struct tl_reading *reading);
};

/* All of them; the first two values of a query that has ?1 and ?2 are the times it is bound by. */
const struct tl_rows *tl_rows_all(size_t *count);

#endif
