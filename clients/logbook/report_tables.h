/* SPDX-License-Identifier: Apache-2.0 */
/* report_tables.h - tables made for the page: short, and wide enough for A4. */
#ifndef CLIENTS_LOGBOOK_REPORT_TABLES_H
#define CLIENTS_LOGBOOK_REPORT_TABLES_H

#include "clients/logbook/figures.h"

/* Each initialises the table, which the caller frees. */
void tl_report_passes(const struct tl_passes *passes, struct tl_table *table);
void tl_report_boarding(const struct tl_figures_told *figures, struct tl_table *table);
void tl_report_fouls(const struct tl_figures_told *figures, struct tl_table *table);
void tl_report_seconds(const struct tl_figures_told *figures, struct tl_table *table);
void tl_report_rates(const struct tl_figures_told *figures, struct tl_table *table);

#endif
