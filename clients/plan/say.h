/* SPDX-License-Identifier: Apache-2.0 */
/*
 * say.h - what a plan prints, as text for people and as JSON for programs, from the same figures.
 *
 * 1. Each figure is given once, with key, label and unit, and goes into both: neither can say what
 *    the other does not. Text has the digits asked for; JSON ten significant ones.
 * 2. Nothing is printed before tl_say_print: a plan that fails half way says nothing.
 * 3. What is not known is "not given" and null, never 0.
 * 4. Lines have at most TL_SAY_WIDTH columns of plain ASCII.
 *
 * Memory that cannot be had is remembered and makes tl_say_print fail, so that the calls between
 * need no checks.
 */
#ifndef CLIENTS_PLAN_SAY_H
#define CLIENTS_PLAN_SAY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "proto/base/err.h"

enum {
    TL_SAY_WIDTH = 80,
    TL_SAY_COLUMNS_MAX = 12
};

/* A figure: digits are those after the point. */
struct tl_say_item {
    const char *key;   /* in JSON; its end is the unit: "runout_ft" */
    const char *label; /* in text */
    const char *unit;  /* "" = none */
    int digits;
};

enum tl_cell_kind {
    TL_CELL_UNKNOWN = 0, /* "-" and null */
    TL_CELL_NUMBER,
    TL_CELL_WORD,
    TL_CELL_FLAG /* number is not 0: "YES"; else "no" */
};
struct tl_cell {
    enum tl_cell_kind kind;
    double number;
    const char *word; /* borrowed for the call */
};
/* A column of a table; label over unit over values. */
struct tl_say_column {
    const char *key;
    const char *label;
    const char *unit;
    int digits;
    int width; /* of the values; 0 = in JSON only */
};
struct tl_say_table {
    const char *key; /* of the array; a table with the same key goes on with it */
    const struct tl_say_column *column;
    size_t count;
};

struct tl_say; /* both forms, as they grow */

/* NULL when memory is out. Accepts NULL, and nulls the caller's pointer. */
struct tl_say *tl_say_open(void);
void tl_say_close(struct tl_say **say);

/* A line of text that begins a part; not in JSON. */
void tl_say_heading(struct tl_say *say, const char *fmt, ...) __attribute__((format(printf, 2, 3)));

void tl_say_number(struct tl_say *say, const struct tl_say_item *item, double value);
void tl_say_whole(struct tl_say *say, const struct tl_say_item *item, uint32_t value);
void tl_say_word(struct tl_say *say, const struct tl_say_item *item, const char *word);
void tl_say_flag(struct tl_say *say, const struct tl_say_item *item, bool value);
void tl_say_unknown(struct tl_say *say, const struct tl_say_item *item);

/* Begin a table; its rows follow. */
void tl_say_table(struct tl_say *say, const struct tl_say_table *table);
void tl_say_row(struct tl_say *say, const struct tl_say_table *table, const struct tl_cell *cells);
struct tl_cell tl_cell_number(double value);
struct tl_cell tl_cell_word(const char *word); /* NULL = unknown */
struct tl_cell tl_cell_flag(bool value);

/* Text broken at blanks so that no line has more than TL_SAY_WIDTH columns. */
void tl_say_wrap(const char *text, FILE *out);

/* A sentence: wrapped in text, an entry of the array "notes" in JSON. */
void tl_say_note(struct tl_say *say, const char *fmt, ...) __attribute__((format(printf, 2, 3)));
/* The last words of every plan: key "caution". */
void tl_say_caution(struct tl_say *say, const char *caution);

/* Lines that text alone has, a plot: the caller writes them; NULL when memory is out. */
FILE *tl_say_lines(struct tl_say *say);

/*
 * Print one of the two.
 *
 * TL_NOMEM: something was lost on the way, and nothing is printed. TL_IO: out did not take it.
 */
TL_MUST_USE enum tl_err tl_say_print(struct tl_say *say, bool json, FILE *out);

/* A number with commas between thousands; dst holds cap bytes. Returns dst. */
const char *tl_say_digits(double value, int digits, char *dst, size_t cap);

#endif
