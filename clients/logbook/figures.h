/* SPDX-License-Identifier: Apache-2.0 */
/* figures.h - the questions of numbers, folded once for the table of figures and for the report. */
#ifndef CLIENTS_LOGBOOK_FIGURES_H
#define CLIENTS_LOGBOOK_FIGURES_H

#include "clients/logbook/boarding.h"
#include "clients/logbook/filter.h"
#include "clients/logbook/rates.h"
#include "clients/logbook/resets.h"

enum {
    TL_GROUPS_MAX = 64 /* recoveries and types; of more the newest recoveries are left out */
};

/* Passes that have something in common. */
struct tl_group {
    char name[TL_TYPE_CAP + 24]; /* "all", "recovery 2031-...", "type plover" */
    uint64_t recovery_ms;        /* 0 = not of one */
    char type[TL_TYPE_CAP];      /* empty = not of one */
    struct tl_boarding boarding;
};

struct tl_figures_told {
    uint32_t group_count;
    struct tl_group group[TL_GROUPS_MAX];
    uint64_t drills;   /* passes left out because they were a drill */
    uint64_t no_group; /* passes of recoveries or types beyond TL_GROUPS_MAX */
    struct tl_fouls fouls;
    struct tl_values interval_ms; /* sorted */
    struct tl_reset_parts parts;  /* after traps */
    struct tl_open_times times;
    struct tl_rates rates;
};

/* drills: count them too. figures: zeroed; freed by the caller. TL_NOMEM. */
TL_MUST_USE enum tl_err tl_figures_fold(const struct tl_answer *answer, bool drills,
                                        struct tl_figures_told *figures);
void tl_figures_free(struct tl_figures_told *figures);

/* Every figure as a row. */
void tl_figures_table(const struct tl_figures_told *figures, struct tl_table *table);

/* Bins for seconds between aircraft. */
void tl_interval_bins(const struct tl_values *values, struct tl_bins *bins);

#endif
