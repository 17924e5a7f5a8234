/* SPDX-License-Identifier: Apache-2.0 */
/*
 * html.h - the parts of a page: escaped text, tables, and plots as inline SVG.
 *
 * Nothing outside is named, nothing runs. Every text is escaped and every attribute is ours. Plots
 * say their values in words beside each mark and differ by hatching, so that print without colour
 * tells the same.
 */
#ifndef CLIENTS_LOGBOOK_HTML_H
#define CLIENTS_LOGBOOK_HTML_H

#include <stdio.h>

#include "clients/logbook/table.h"

enum {
    TL_HTML_ROWS_MAX = 1000 /* of a table; how many more there are is said */
};

/* & < > " ' become references. */
void tl_html_text(const char *text, FILE *out);

/* A table of the given columns; NULL = all. Nothing when it has no rows: then `none` as a sentence. */
struct tl_html_table {
    const struct tl_table *table;
    const int *column;
    size_t columns;
    const char *none;
};
void tl_html_print_table(const struct tl_html_table *shown, FILE *out);

/* A bar a row: label, length, words beside it. */
struct tl_html_bar {
    char label[64];
    uint64_t value;
    char text[64];
};
struct tl_html_bars {
    const char *title;
    const struct tl_html_bar *bar;
    size_t count;
    uint64_t limit; /* a line at that value; 0 = none */
    const char *limit_text;
};
void tl_html_print_bars(const struct tl_html_bars *bars, FILE *out);

/* A row of time: pieces READY, NOT READY, one behind the other. */
struct tl_html_piece {
    size_t row;
    uint64_t from_ms, to_ms; /* since the beginning of the row */
    bool ready;
};
struct tl_html_line {
    char label[64];
    char text[64]; /* behind it */
    uint64_t length_ms;
};
struct tl_html_times {
    const char *title;
    const struct tl_html_line *line;
    size_t lines;
    const struct tl_html_piece *piece;
    size_t pieces;
};
void tl_html_print_times(const struct tl_html_times *times, FILE *out);

#endif
