/* SPDX-License-Identifier: Apache-2.0 */
/* sql.h - every statement of the recorder, in the words of SQLite; docs/record.md has the tables. */
#ifndef TL_RECORDER_SQL_H
#define TL_RECORDER_SQL_H

/* Places of the values in each are those of the fill functions in store.c and row.c. */
enum tl_sql {
    TL_SQL_PUT_CHANGE = 0,
    TL_SQL_PUT_JUDGED,
    TL_SQL_PUT_VERDICT,
    TL_SQL_PUT_ALERT,
    TL_SQL_PUT_GAP,
    TL_SQL_PUT_PREDICTED,
    TL_SQL_PUT_SETTING,
    TL_SQL_PUT_EXPECTED,
    TL_SQL_STATEMENTS
};
extern const char *const tl_sql_statements[TL_SQL_STATEMENTS];

/* An empty file to schema 1, and from there on step by step; each is one transaction. */
extern const char tl_sql_schema[];
extern const char tl_sql_to_schema_2[];

/* Every range of changes that is held or given up, of the newest life of each node. */
extern const char tl_sql_load[];

#endif
