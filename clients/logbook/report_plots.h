/* SPDX-License-Identifier: Apache-2.0 */
/* report_plots.h - the plots of the report: intervals, wires, READY, seconds, alerts. */
#ifndef CLIENTS_LOGBOOK_REPORT_PLOTS_H
#define CLIENTS_LOGBOOK_REPORT_PLOTS_H

#include "clients/logbook/figures.h"

enum {
    TL_REPORT_LINES_MAX = 60 /* passes in the plot of READY; the last of them */
};

/* passes: those that are asked for. TL_NOMEM. */
TL_MUST_USE enum tl_err tl_report_plots(const struct tl_answer *answer,
                                        const struct tl_passes *passes,
                                        const struct tl_figures_told *figures, FILE *out);

#endif
