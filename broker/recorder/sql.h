/* SPDX-License-Identifier: Apache-2.0 */
/* sql.h - every statement of the recorder, in the words of SQLite; docs/record.md has the tables. */
#ifndef TL_RECORDER_SQL_H
#define TL_RECORDER_SQL_H

#include "proto/codec/seal.h"

enum {
    TL_SQL_CAP = 1024
};

/* Columns are between `id` and `hash`, in the order of the fill functions in store.c and row.c. */
struct tl_sql_table {
    const char *columns;
    const char *unique; /* a row with these again is left out; NULL = none */
};
extern const struct tl_sql_table tl_sql_tables[TL_TABLES];

/* The statement that adds a row; values are id, the columns, hash. */
void tl_sql_insert(enum tl_record_table table, char sql[TL_SQL_CAP]);

/* An empty file to schema 1, and from there on step by step; each is one transaction. */
extern const char tl_sql_schema[];
extern const char tl_sql_to_schema_2[];
extern const char tl_sql_to_schema_3[];

/* A seal's values: id, node, key_epoch, incarnation, wall_ms, heads, signature. */
extern const char tl_sql_insert_seal[];
/* Its id, heads and signature; no row when there is none. */
extern const char tl_sql_last_seal[];

/* Of one node: life, first, last, whether given up: every range of changes of its newest life. */
extern const char tl_sql_load[];

#endif
