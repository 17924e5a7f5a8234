/* SPDX-License-Identifier: Apache-2.0 */
/* plot.c - see plot.h. */
#include "clients/plan/plot.h"

#include <math.h>
#include <string.h>

#include "clients/plan/say.h"

enum {
    GRID_ROWS = 16,
    GRID_COLUMNS = 66,
    TICK_WIDTH = 9, /* of a number left of the grid */
    TICK_BELOW = 7, /* of a number below it */
    TICKS_MOST = 8,
    ROWS_A_TICK = 3, /* about */
    NUMBER_CAP = 32
};

/* Past this times the other curve's peak, a curve is cut. */
static const double spike = 3.0;
static const double headroom = 1.15;
static const char both_mark = '#';

struct grid {
    char cell[GRID_ROWS][GRID_COLUMNS + 1]; /* row 0 is the top */
    struct tl_plot_scale scale;
};

/* 1, 2 or 5 times a power of ten, so that at most `ticks` of them span it. */
static double
step_of(double span, int ticks)
{
    double rough = span / ticks;
    double power = pow(10.0, floor(log10(rough)));
    double lead = rough / power;
    if (lead <= 1.0) {
        return power;
    }
    if (lead <= 2.0) {
        return 2.0 * power;
    }
    return lead <= 5.0 ? 5.0 * power : 10.0 * power;
}

int
tl_plot_digits(double step)
{
    return step < 1.0 ? (int)ceil(-log10(step) - 1e-9) : 0;
}

static void
find_extent(const struct tl_plot *plot, size_t i, struct tl_plot_scale *scale)
{
    const struct tl_plot_curve *curve = &plot->curve[i];
    for (size_t k = 0; k < curve->count; k++) {
        scale->x_most = fmax(scale->x_most, curve->point[k].x);
        scale->peak[i] = fmax(scale->peak[i], curve->point[k].y);
    }
}

struct tl_plot_scale
tl_plot_scale_of(const struct tl_plot *plot)
{
    struct tl_plot_scale scale = {0};
    double low = INFINITY;
    double high = 0.0;
    for (size_t i = 0; i < plot->curves; i++) {
        find_extent(plot, i, &scale);
        low = fmin(low, scale.peak[i]);
        high = fmax(high, scale.peak[i]);
    }
    /* Nothing to draw still needs an axis. */
    high = high > 0.0 && isfinite(high) ? high : 1.0;
    double top = low > 0.0 && high > spike * low ? headroom * low : high;
    double x = scale.x_most > 0.0 ? scale.x_most : 1.0;
    scale.x_step = step_of(x, TICKS_MOST);
    scale.x_most = scale.x_step * ceil(x / scale.x_step);
    scale.y_step = step_of(top, GRID_ROWS / ROWS_A_TICK);
    scale.y_most = scale.y_step * ceil(top / scale.y_step);
    for (size_t i = 0; i < plot->curves; i++) {
        scale.cut[i] = scale.peak[i] > scale.y_most;
    }
    return scale;
}

static int
column_of(const struct grid *grid, double x)
{
    return (int)lround(x / grid->scale.x_most * (GRID_COLUMNS - 1));
}

/* Above 0 at the top; past the top, row -1. */
static int
row_of(const struct grid *grid, double y)
{
    double share = y / grid->scale.y_most;
    return share > 1.0 ? -1 : GRID_ROWS - 1 - (int)lround(fmax(share, 0.0) * (GRID_ROWS - 1));
}

struct dot {
    int row;
    int column;
};

/* Put a mark where the other curve may be already; a level gives way. */
static void
mix(char *cell, char mark)
{
    if (*cell == ' ' || *cell == '-' || *cell == mark) {
        *cell = mark;
    } else {
        *cell = both_mark;
    }
}

/* Past the top it is cut, whatever else of the curve goes through that cell. */
static void
put(struct grid *grid, struct dot at, char mark)
{
    if (at.row < 0) {
        grid->cell[0][at.column] = '^';
    } else if (grid->cell[at.row][at.column] == ' ') {
        grid->cell[at.row][at.column] = mark;
    }
}

/* Every cell from one point to the next, so that a steep curve has no holes. */
static void
draw_line(struct grid *grid, const struct tl_plot_point *from, char mark)
{
    const struct tl_plot_point *to = from + 1;
    double columns = fabs(to->x - from->x) / grid->scale.x_most * (GRID_COLUMNS - 1);
    double rows = fabs(to->y - from->y) / grid->scale.y_most * (GRID_ROWS - 1);
    int steps = (int)fmin(2.0 * ceil(fmax(columns, rows)) + 1.0, 4.0 * GRID_COLUMNS);
    for (int i = 0; i <= steps; i++) {
        double share = (double)i / steps;
        double x = from->x + share * (to->x - from->x);
        double y = from->y + share * (to->y - from->y);
        put(grid, (struct dot){row_of(grid, y), column_of(grid, x)}, mark);
    }
}

/* On a grid of its own, so that a curve does not take itself for the other. */
static void
draw_curve(struct grid *grid, const struct tl_plot_curve *curve)
{
    struct grid own = {.scale = grid->scale};
    memset(own.cell, ' ', sizeof own.cell);
    for (size_t i = 0; i + 1 < curve->count; i++) {
        draw_line(&own, &curve->point[i], curve->mark);
    }
    for (int row = 0; row < GRID_ROWS; row++) {
        for (int column = 0; column < GRID_COLUMNS; column++) {
            char *cell = &grid->cell[row][column];
            if (own.cell[row][column] != ' ') {
                mix(cell, own.cell[row][column]);
            }
        }
    }
}

static void
draw_level(struct grid *grid, const struct tl_plot_level *level)
{
    if (level->name != NULL && level->y <= grid->scale.y_most) {
        memset(grid->cell[row_of(grid, level->y)], '-', GRID_COLUMNS);
    }
}

/* Number of the i-th tick of an axis; one that is too wide is written with an exponent. */
static const char *
tick_text(int i, double step, size_t width, char dst[NUMBER_CAP])
{
    (void)tl_say_digits(i * step, tl_plot_digits(step), dst, NUMBER_CAP);
    if (strlen(dst) > width) {
        (void)snprintf(dst, NUMBER_CAP, "%.2g", i * step);
    }
    return dst;
}

/* The number left of a row that a tick is nearest to; "" for the rows between. */
static const char *
tick_of_row(const struct grid *grid, int row, char dst[NUMBER_CAP])
{
    double step = grid->scale.y_step;
    int ticks = (int)lround(grid->scale.y_most / step);
    for (int i = 0; i <= ticks; i++) {
        if (row_of(grid, i * step) == row) {
            return tick_text(i, step, TICK_WIDTH, dst);
        }
    }
    return "";
}

static void
print_x_axis(const struct grid *grid, const char *label, FILE *out)
{
    char line[GRID_COLUMNS + 1];
    char numbers[GRID_COLUMNS + TICK_BELOW];
    size_t used = 0;
    int ticks = (int)lround(grid->scale.x_most / grid->scale.x_step);
    memset(line, '-', GRID_COLUMNS);
    line[GRID_COLUMNS] = '\0';
    memset(numbers, ' ', sizeof numbers);
    for (int i = 0; i <= ticks; i++) {
        char number[NUMBER_CAP];
        size_t column = (size_t)column_of(grid, i * grid->scale.x_step);
        size_t length = strlen(tick_text(i, grid->scale.x_step, TICK_BELOW, number));
        size_t at = column < length / 2 ? 0 : column - length / 2;
        line[column] = '+';
        memcpy(&numbers[at], number, length);
        used = at + length;
    }
    (void)fprintf(out, "%*s +%s\n%*s  %.*s\n", TICK_WIDTH, "", line, TICK_WIDTH, "", (int)used,
                  numbers);
    (void)fprintf(out, "%*s\n", TICK_WIDTH + 2 + (GRID_COLUMNS + (int)strlen(label)) / 2, label);
}

static void
print_legend(const struct tl_plot *plot, const struct grid *grid, FILE *out)
{
    for (size_t i = 0; i < plot->curves; i++) {
        char peak[NUMBER_CAP];
        int digits = tl_plot_digits(grid->scale.y_step / 10.0);
        (void)fprintf(out, "  %c %s: peak %s%s", plot->curve[i].mark, plot->curve[i].name,
                      tl_say_digits(grid->scale.peak[i], digits, peak, sizeof peak),
                      grid->scale.cut[i] ? ", ^ off the scale" : "");
        (void)fprintf(out, "%s\n", i == 0 && plot->curves > 1 ? "   (# both)" : "");
    }
    if (plot->level.name != NULL && plot->level.y <= grid->scale.y_most) {
        (void)fprintf(out, "  - %s\n", plot->level.name);
    }
}

void
tl_plot_print(const struct tl_plot *plot, FILE *out)
{
    struct grid grid = {.scale = tl_plot_scale_of(plot)};
    memset(grid.cell, ' ', sizeof grid.cell);
    draw_level(&grid, &plot->level);
    for (size_t i = 0; i < plot->curves; i++) {
        draw_curve(&grid, &plot->curve[i]);
    }
    (void)fprintf(out, "%s\n", plot->title);
    for (int row = 0; row < GRID_ROWS; row++) {
        char number[NUMBER_CAP];
        const char *tick = tick_of_row(&grid, row, number);
        int last = GRID_COLUMNS;
        while (last > 0 && grid.cell[row][last - 1] == ' ') {
            last--;
        }
        (void)fprintf(out, "%*s %c%.*s\n", TICK_WIDTH, tick, tick[0] != '\0' ? '+' : '|', last,
                      grid.cell[row]);
    }
    print_x_axis(&grid, plot->x_label, out);
    print_legend(plot, &grid, out);
}
