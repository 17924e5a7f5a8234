/* SPDX-License-Identifier: Apache-2.0 */
/*
 * report.h - one page for the debrief: tables and plots of what is asked for, for screen and print.
 *
 * A single file: no script, no font, no link, nothing fetched; a policy in it forbids all that. It
 * says that it is an advisory record.
 */
#ifndef CLIENTS_LOGBOOK_REPORT_H
#define CLIENTS_LOGBOOK_REPORT_H

#include "clients/logbook/figures.h"

/* TL_NOMEM; TL_IO: out did not take it. */
TL_MUST_USE enum tl_err tl_report_print(const struct tl_answer *answer, bool drills, FILE *out);

#endif
