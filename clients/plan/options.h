/* SPDX-License-Identifier: Apache-2.0 */
/*
 * options.h - the words of a command line against a table, strictly.
 *
 * One row an option; the help is printed from the same rows. `--name value` and `--name=value` are
 * the same. Refused, with one sentence: an unknown or shortened name, an option given twice, a
 * value that is missing, a word that is no option, and a number that is not plain decimal digits
 * (a sign, one point) or is outside the row's range. Pure, but for the help.
 */
#ifndef CLIENTS_PLAN_OPTIONS_H
#define CLIENTS_PLAN_OPTIONS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "proto/base/err.h"

enum {
    TL_OPTIONS_MAX = 24,
    TL_OPTIONS_WHY_CAP = 256,
    TL_SPAN_ROWS_MAX = 100 /* of a table */
};

enum tl_option_kind {
    TL_OPTION_FLAG = 0, /* no value */
    TL_OPTION_NUMBER,
    TL_OPTION_WHOLE, /* a number without a point */
    TL_OPTION_WORD,
    TL_OPTION_SPAN /* FROM:TO:STEP, TO not below FROM, at most TL_SPAN_ROWS_MAX rows */
};

struct tl_option_row {
    const char *name; /* with its dashes */
    enum tl_option_kind kind;
    double least, most; /* still taken; of a span, both ends */
    bool above;         /* above `least`, not `least` itself */
    const char *unit;   /* of the value, "kn"; of a word, what it is: "TYPE" */
    const char *help;   /* without the unit and the range */
};
struct tl_option_table {
    const struct tl_option_row *row;
    size_t count; /* at most TL_OPTIONS_MAX */
};

struct tl_span {
    double from, to, step;
};
struct tl_option {
    bool given;
    double number;
    const char *word; /* borrowed from argv */
    struct tl_span span;
};

/* argv[1] to argv[argc - 1] are the options. */
struct tl_option_words {
    int argc;
    char **argv;
};

/*
 * Read every word.
 *
 * value: one for each row, as many as the table has; written on TL_OK only.
 * TL_MALFORMED: why is then one sentence that may be shown on a terminal.
 */
TL_MUST_USE enum tl_err tl_options_read(const struct tl_option_table *table,
                                        const struct tl_option_words *words,
                                        struct tl_option *value, char why[TL_OPTIONS_WHY_CAP]);

/* Rows that a span has, 1 or more; the value of row i (from 0), exactly `to` on the last one. */
uint32_t tl_span_rows(const struct tl_span *span);
double tl_span_at(const struct tl_span *span, uint32_t i);

/* One paragraph an option: name, value, help, unit and range. At most 80 columns. */
void tl_options_print(const struct tl_option_table *table, FILE *out);

#endif
