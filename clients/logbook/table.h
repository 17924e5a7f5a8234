/* SPDX-License-Identifier: Apache-2.0 */
/*
 * table.h - rows under columns: the one form of every answer, printed as text, CSV or JSON.
 *
 *  1. A cell that is not given is not known: "-" in text, empty in CSV, null in JSON; never 0.
 *  2. Text has the narrow columns, at most 80 wide, unless all are asked for; CSV and JSON have all.
 *  3. Texts come from a record: control bytes are out of them (tl_text_plain), CSV gets an
 *     apostrophe before what a spreadsheet would take for a formula, JSON and HTML are escaped.
 *  4. Memory that cannot be had is remembered and makes printing fail; no call between needs a
 *     check.
 */
#ifndef CLIENTS_LOGBOOK_TABLE_H
#define CLIENTS_LOGBOOK_TABLE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

enum {
    TL_TABLE_WIDTH = 80,
    TL_TABLE_COLUMNS_MAX = 64,
    TL_TABLE_TEXT_CAP = 512 /* of one cell */
};

enum tl_field_kind {
    TL_FIELD_TEXT = 0,
    TL_FIELD_NUMBER, /* scaled by `digits` decimals */
    TL_FIELD_TIME,   /* Unix ms; narrow text has the time of day alone */
    TL_FIELD_FLAG    /* true, false; in text "yes", "no" */
};

struct tl_field_column {
    const char *key;  /* in CSV and JSON; ends in the unit */
    const char *head; /* in text */
    enum tl_field_kind kind;
    int digits;
    int narrow; /* columns in narrow text, longer texts are cut; 0 = not there, -1 = as needed */
};

struct tl_field {
    bool known;
    int digits; /* of a number, decimals */
    int64_t number;
    char *text; /* owned */
};

struct tl_table {
    const char *key; /* of the array in JSON */
    int columns;
    struct tl_field_column column[TL_TABLE_COLUMNS_MAX];
    size_t rows, rows_cap;
    struct tl_field *field; /* rows * columns */
    char **heading;         /* of a row: a line above it, or NULL */
    char **note;            /* of a row: below it, wrapped, or NULL */
    bool failed;
};

/* Copy the columns. */
void tl_table_init(struct tl_table *table, const char *key, const struct tl_field_column *column,
                   int columns);
void tl_table_free(struct tl_table *table);

/* One more column, before the first row; key and head stay the caller's. */
void tl_table_column(struct tl_table *table, const struct tl_field_column *column);

/* Begin a row; what follows goes into it. */
void tl_table_row(struct tl_table *table);
/* An empty text and NULL are not known. */
void tl_table_text(struct tl_table *table, int column, const char *text);
void tl_table_number(struct tl_table *table, int column, int64_t value);
/* With other decimals than those of its column. */
void tl_table_scaled(struct tl_table *table, int column, int64_t value, int digits);
/* 0 is not known. */
void tl_table_time(struct tl_table *table, int column, uint64_t wall_ms);
void tl_table_flag(struct tl_table *table, int column, bool value);
/* Lines in narrow and wide text that CSV and JSON say in columns. */
void tl_table_heading(struct tl_table *table, const char *text);
void tl_table_note(struct tl_table *table, const char *text);

const struct tl_field *tl_table_at(const struct tl_table *table, size_t row, int column);

/* False when memory was out or `out` does not take it. */
bool tl_table_print(const struct tl_table *table, bool wide, FILE *out);
/* RFC 4180: a header, CRLF, quotes where needed. */
bool tl_table_print_csv(const struct tl_table *table, FILE *out);

#endif
