/* SPDX-License-Identifier: Apache-2.0 */
/* columns.h - the value of a datum as the columns of a change; docs/record.md says what is where. */
#ifndef TL_RECORDER_COLUMNS_H
#define TL_RECORDER_COLUMNS_H

#include "proto/vocab/datum.h"

enum {
    TL_EVENTS_CAP = 44 * TL_STATED_FOR_MAX
};

/* -1, and NULL for the type: the kind has no such thing, or the datum is unknown. */
struct tl_columns {
    int64_t number, side, weight_lb, fuel_lb, state, outcome, wire;
    const char *type; /* borrowed from the datum */
};

void tl_columns_fill(const struct tl_datum *datum, struct tl_columns *columns);

/* "1726400000000:3,1726400000000:4" */
void tl_columns_events(const struct tl_datum *datum, char text[TL_EVENTS_CAP]);

#endif
