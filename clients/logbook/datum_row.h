/* SPDX-License-Identifier: Apache-2.0 */
/*
 * datum_row.h - a datum again, from the columns of its change and the words that people read.
 *
 * The other way round than the recorder's columns.c, and only what the questions need: of a kind
 * with several figures the columns hold one, and the rest is read out of its text where the text is
 * exactly as tl_datum_text writes it. What is neither in the columns nor in the text stays 0.
 */
#ifndef CLIENTS_LOGBOOK_DATUM_ROW_H
#define CLIENTS_LOGBOOK_DATUM_ROW_H

#include "proto/vocab/datum.h"

/* As in the file; -1 and an empty type where a column is null. */
struct tl_datum_row {
    int64_t number, side, weight_lb, fuel_lb, state, outcome, wire;
    char type[TL_TYPE_CAP];
    const char *word;
};

/* Fill datum->as; kind, slot and known are there. `event`: that its message spoke of. */
void tl_datum_row_read(const struct tl_datum_row *row, struct tl_event event,
                       struct tl_datum *datum);

/* "recovery:pass,recovery:pass"; stops at what is not well formed. */
void tl_datum_row_events(const char *text, struct tl_datum *datum);

#endif
