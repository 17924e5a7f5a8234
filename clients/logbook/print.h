/* SPDX-License-Identifier: Apache-2.0 */
/* print.h - the passes as a table of at most 80 columns, or as JSON. */
#ifndef TL_LOGBOOK_PRINT_H
#define TL_LOGBOOK_PRINT_H

#include <stdio.h>

#include "clients/logbook/passes.h"

/* A line for each pass under a line for each recovery; what does not fit it is below, indented. */
void tl_passes_print(const struct tl_passes *passes, FILE *out);

/* One object, {"passes": [...]}; docs/json.md lists the fields. False when memory is out. */
bool tl_passes_print_json(const struct tl_passes *passes, FILE *out);

#endif
