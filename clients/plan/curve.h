/* SPDX-License-Identifier: Apache-2.0 */
/* curve.h - the moments of one arrestment, kept for a plot. */
#ifndef CLIENTS_PLAN_CURVE_H
#define CLIENTS_PLAN_CURVE_H

#include "broker/core/mechanics/arrest.h"
#include "clients/plan/plot.h"

/* Deceleration and tension over the run-out; zero-initialised is empty. */
struct tl_curves {
    struct tl_plot_point *decel;   /* ft, g */
    struct tl_plot_point *tension; /* ft, lbf */
    size_t count, cap;
    bool failed; /* memory was out */
};

/* A watch that fills it. */
struct tl_arrest_watch tl_curves_watch(struct tl_curves *curves);
void tl_curves_close(struct tl_curves *curves);

#endif
