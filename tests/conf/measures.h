/* SPDX-License-Identifier: Apache-2.0 */
/*
 * measures - lists of `figures` behind the good texts of a folder
 *
 * Item 0 is on line 10 of gear.yaml and on line 39 of ship.yaml, one line an item.
 */
#ifndef TESTS_CONF_MEASURES_H
#define TESTS_CONF_MEASURES_H

#include "proto/vocab/config.h"
#include "tests/conf/folder.h"

enum {
    MEASURES_GEAR_LINE = 10,
    MEASURES_SHIP_LINE = 39,
    MEASURES_LIST_CAP = 8 * 1024
};

/* What a test of figures works in; *state is one of these. */
struct measures_room {
    struct folder folder;
    struct tl_config *config;
    char *text; /* FOLDER_FILE_CAP */
    char *made; /* likewise, from it or by itself */
};
int measures_room_open(void **state);
int measures_room_close(void **state);

/* A value well inside the range of the figure; no two that could be mixed up are alike. */
double measures_value(enum tl_figure figure);

const struct tl_figure_row *measures_row(enum tl_figure figure);

/* Append one item to a list of cap MEASURES_LIST_CAP that is len long; its new length. */
size_t measures_add(char *list, size_t len, enum tl_figure figure, double value);

/* Write the good gear.yaml or ship.yaml with these items as its figures, and this after them. */
void measures_put_items(const struct folder *folder, const char *name, const char *items,
                        const char *after);

/* Write both, with the figures that are true in `given`. */
void measures_put(const struct folder *folder, const bool given[TL_FIGURES],
                  const char *after_gear);

#endif
