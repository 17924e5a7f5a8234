/* SPDX-License-Identifier: Apache-2.0 */
/* json.h - tables as JSON; docs/json.md lists the keys. */
#ifndef CLIENTS_LOGBOOK_JSON_H
#define CLIENTS_LOGBOOK_JSON_H

#include <jansson.h>

#include "clients/logbook/table.h"

/* One cell, a number as a number; null when it is not known. NULL: memory. */
json_t *tl_field_json(const struct tl_field_column *column, const struct tl_field *field);
/* Scaled by decimals: a whole number, or a real with at most so many. */
json_t *tl_scaled_json(int64_t value, int digits);

/* [{...}, ...], a row each; NULL when memory is or was out. */
json_t *tl_table_json(const struct tl_table *table);

/* One line; takes `object`, which may be NULL. False when memory is out or `out` takes nothing. */
bool tl_log_json_print(json_t *object, FILE *out);

#endif
