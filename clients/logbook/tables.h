/* SPDX-License-Identifier: Apache-2.0 */
/*
 * tables.h - the answers of the verbs as tables, for printing and for the report.
 *
 * Each initialises the table, which the caller frees whatever is returned, and fills in what the
 * answer's filter asks for. TL_NOMEM.
 */
#ifndef CLIENTS_LOGBOOK_TABLES_H
#define CLIENTS_LOGBOOK_TABLES_H

#include "clients/logbook/filter.h"

TL_MUST_USE enum tl_err tl_alerts_table(const struct tl_answer *answer, struct tl_table *table);
TL_MUST_USE enum tl_err tl_who_table(const struct tl_answer *answer, struct tl_table *table);
TL_MUST_USE enum tl_err tl_overrides_table(const struct tl_answer *answer, struct tl_table *table);
TL_MUST_USE enum tl_err tl_faults_table(const struct tl_answer *answer, struct tl_table *table);

/* Read, make the table, print it; what: "alert", for "no alert found". */
struct tl_table_verb {
    enum tl_err (*make)(const struct tl_answer *answer, struct tl_table *table);
    const char *what;
    size_t wide;     /* the option for all columns as text */
    bool of_no_pass; /* --event, --aircraft and --type are refused */
};
enum tl_exit tl_log_table(struct tl_log *log, const struct tl_table_verb *verb);

#endif
