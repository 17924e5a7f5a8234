/* SPDX-License-Identifier: Apache-2.0 */
/*
 * plot.h - one or two curves as characters, for a terminal of any kind.
 *
 * Plain ASCII, no colour: curves differ by their mark. TL_PLOT_WIDTH columns and TL_PLOT_LINES
 * lines at most, title, axes and legend in it. Pure, but for the lines.
 */
#ifndef CLIENTS_PLAN_PLOT_H
#define CLIENTS_PLAN_PLOT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

enum {
    TL_PLOT_WIDTH = 80,
    TL_PLOT_LINES = 22,
    TL_PLOT_CURVES_MAX = 2
};

struct tl_plot_point {
    double x, y;
};
struct tl_plot_curve {
    const char *name;
    char mark;
    const struct tl_plot_point *point; /* x rising */
    size_t count;
};
/* A level to be seen, such as the strength of a cable. */
struct tl_plot_level {
    const char *name; /* NULL = none */
    double y;
};
struct tl_plot {
    const char *title;
    const char *x_label, *y_label; /* with their units */
    struct tl_plot_curve curve[TL_PLOT_CURVES_MAX];
    size_t curves;
    struct tl_plot_level level; /* drawn where the scale reaches it */
};

/* Round bounds and steps of both axes. */
struct tl_plot_scale {
    double x_most, x_step;
    double y_most, y_step;
    bool cut[TL_PLOT_CURVES_MAX]; /* that curve goes past y_most */
    double peak[TL_PLOT_CURVES_MAX];
};
/*
 * Choose the scale: from 0 to all of x, and to all of y, unless one curve has a spike past three
 * times the peak of the other: then that curve is cut, so that the other can still be read.
 */
struct tl_plot_scale tl_plot_scale_of(const struct tl_plot *plot);

void tl_plot_print(const struct tl_plot *plot, FILE *out);

/* Decimals that a tick of that step needs. */
int tl_plot_digits(double step);

#endif
