/* SPDX-License-Identifier: Apache-2.0 */
/* print.h - the passes as narrow text, as a table with all that the record has, and as JSON. */
#ifndef CLIENTS_LOGBOOK_PRINT_H
#define CLIENTS_LOGBOOK_PRINT_H

#include <jansson.h>
#include <stdio.h>

#include "clients/logbook/passes.h"
#include "clients/logbook/table.h"

/*
 * At most 80 columns: a line for each pass under a line for each recovery; what does not fit it is
 * below, indented.
 */
void tl_passes_print(const struct tl_passes *passes, FILE *out);

/*
 * Every column, those of each engine of these passes too. table: to be initialised; the names of
 * the engines' columns are in `names`, which must outlive it.
 */
enum {
    TL_WEIGHT_COLUMNS_MAX = 2 * TL_ENGINES_MAX,
    TL_WEIGHT_NAME_CAP = TL_ID_CAP + 24
};
struct tl_weight_names {
    uint32_t count;
    char key[TL_WEIGHT_COLUMNS_MAX][TL_WEIGHT_NAME_CAP];
    char head[TL_WEIGHT_COLUMNS_MAX][TL_WEIGHT_NAME_CAP];
};
void tl_passes_table(const struct tl_passes *passes, struct tl_weight_names *names,
                     struct tl_table *table);

/* {"passes": [...]}; docs/json.md lists the fields. NULL: memory. */
json_t *tl_passes_json(const struct tl_passes *passes);

/* Every result word of these passes: who said what when, and which one counts. */
void tl_passes_history(const struct tl_passes *passes, const struct tl_book *book,
                       struct tl_table *table);

/* Who acts on a rule: the station that the cause names, or the kinds of its row. Returns dst. */
const char *tl_acts_text(uint32_t rule, const char *station, char *dst, size_t cap);

#endif
