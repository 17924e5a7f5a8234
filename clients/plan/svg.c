/* SPDX-License-Identifier: Apache-2.0 */
/* svg.c - see svg.h. */
#include "clients/plan/svg.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "clients/plan/say.h"
#include "proto/base/file.h"

enum {
    WIDTH = 800,
    LEFT = 80,
    RIGHT = 24,
    HEAD = 64,    /* title and subtitle */
    PLOT = 340,   /* one plot with its axes and legend */
    ABOVE = 28,   /* its own title */
    HEIGHT = 230, /* of the area of the curves */
    FOOT = 58,
    NUMBER_CAP = 32,
    LINE_CAP = 512,
    FOOT_COLUMNS = 118,
    FILE_MODE = 0644
};

/* Points nearer than this in x and y, in pixels, are one. */
static const double same_px = 0.4;

/* Where a plot lies, and its scale. */
struct panel {
    const struct tl_plot *plot;
    struct tl_plot_scale scale;
    double top;
};

static void
put_text(const char *text, FILE *out)
{
    for (; *text != '\0'; text++) {
        unsigned char c = (unsigned char)*text;
        if (c == '&') {
            (void)fputs("&amp;", out);
        } else if (c == '<') {
            (void)fputs("&lt;", out);
        } else if (c == '>') {
            (void)fputs("&gt;", out);
        } else {
            (void)fputc(c < ' ' || c > '~' ? '?' : c, out);
        }
    }
}

struct place {
    double x;
    double y;
};

static void
put_label(struct place at, const char *attributes, const char *text, FILE *out)
{
    (void)fprintf(out, "<text x=\"%.1f\" y=\"%.1f\"%s>", at.x, at.y, attributes);
    put_text(text, out);
    (void)fputs("</text>\n", out);
}

static struct place
place_of(const struct panel *panel, const struct tl_plot_point *point)
{
    double x = point->x / panel->scale.x_most;
    double y = fmin(fmax(point->y / panel->scale.y_most, 0.0), 1.0);
    return (struct place){LEFT + x * (WIDTH - LEFT - RIGHT), panel->top + (1.0 - y) * HEIGHT};
}

struct segment {
    struct place from;
    struct place to;
};

static void
put_line(struct segment line, const char *class, FILE *out)
{
    (void)fprintf(out, "<line class=\"%s\" x1=\"%.1f\" y1=\"%.1f\" x2=\"%.1f\" y2=\"%.1f\"/>\n",
                  class, line.from.x, line.from.y, line.to.x, line.to.y);
}

static void
put_axes(const struct panel *panel, FILE *out)
{
    const struct tl_plot_scale *scale = &panel->scale;
    double bottom = panel->top + HEIGHT;
    char number[NUMBER_CAP];
    for (int i = 0; i <= (int)lround(scale->x_most / scale->x_step); i++) {
        double value = i * scale->x_step;
        struct place at = place_of(panel, &(struct tl_plot_point){value, 0.0});
        put_line((struct segment){at, {at.x, panel->top}}, "grid", out);
        put_label((struct place){at.x, bottom + 16}, " text-anchor=\"middle\"",
                  tl_say_digits(value, tl_plot_digits(scale->x_step), number, sizeof number), out);
    }
    for (int i = 0; i <= (int)lround(scale->y_most / scale->y_step); i++) {
        double value = i * scale->y_step;
        struct place at = place_of(panel, &(struct tl_plot_point){0.0, value});
        put_line((struct segment){at, {WIDTH - RIGHT, at.y}}, "grid", out);
        put_label((struct place){LEFT - 6, at.y + 4}, " text-anchor=\"end\"",
                  tl_say_digits(value, tl_plot_digits(scale->y_step), number, sizeof number), out);
    }
    put_line((struct segment){{LEFT, bottom}, {WIDTH - RIGHT, bottom}}, "axis", out);
    put_line((struct segment){{LEFT, panel->top}, {LEFT, bottom}}, "axis", out);
    put_label((struct place){(LEFT + WIDTH - RIGHT) / 2.0, bottom + 34}, " text-anchor=\"middle\"",
              panel->plot->x_label, out);
    put_label((struct place){LEFT, panel->top - 10}, " class=\"name\"", panel->plot->title, out);
}

static void
put_curve(const struct panel *panel, size_t i, FILE *out)
{
    const struct tl_plot_curve *curve = &panel->plot->curve[i];
    struct place last = {-1.0, -1.0};
    (void)fprintf(out, "<polyline class=\"curve%zu\" points=\"", i);
    for (size_t k = 0; k < curve->count; k++) {
        struct place at = place_of(panel, &curve->point[k]);
        if (k + 1 == curve->count || fabs(at.x - last.x) > same_px ||
            fabs(at.y - last.y) > same_px) {
            (void)fprintf(out, "%s%.1f,%.1f", k > 0 ? " " : "", at.x, at.y);
            last = at;
        }
    }
    (void)fputs("\"/>\n", out);
}

static void
put_legend(const struct panel *panel, FILE *out)
{
    double y = panel->top + HEIGHT + 54;
    for (size_t i = 0; i < panel->plot->curves; i++) {
        char peak[NUMBER_CAP];
        char text[LINE_CAP];
        char class[NUMBER_CAP];
        double x = LEFT + (double)i * (WIDTH - LEFT - RIGHT) / TL_PLOT_CURVES_MAX;
        int digits = tl_plot_digits(panel->scale.y_step / 10.0);
        (void)snprintf(class, sizeof class, "curve%zu", i);
        (void)snprintf(text, sizeof text, "%s: peak %s%s", panel->plot->curve[i].name,
                       tl_say_digits(panel->scale.peak[i], digits, peak, sizeof peak),
                       panel->scale.cut[i] ? ", off the scale" : "");
        put_line((struct segment){{x, y - 4}, {x + 32, y - 4}}, class, out);
        put_label((struct place){x + 38, y}, "", text, out);
    }
}

static void
put_panel(const struct panel *panel, FILE *out)
{
    const struct tl_plot_level *level = &panel->plot->level;
    put_axes(panel, out);
    if (level->name != NULL && level->y <= panel->scale.y_most) {
        struct place at = place_of(panel, &(struct tl_plot_point){0.0, level->y});
        put_line((struct segment){at, {WIDTH - RIGHT, at.y}}, "level", out);
        put_label((struct place){WIDTH - RIGHT - 4, at.y - 4}, " text-anchor=\"end\"", level->name,
                  out);
    }
    for (size_t i = 0; i < panel->plot->curves; i++) {
        put_curve(panel, i, out);
    }
    put_legend(panel, out);
}

/* Two lines of the caution at most, broken at a blank. */
static void
put_caution(const char *caution, double y, FILE *out)
{
    char line[FOOT_COLUMNS + 1];
    size_t cut = strlen(caution);
    if (cut > FOOT_COLUMNS) {
        cut = FOOT_COLUMNS;
        while (cut > 0 && caution[cut] != ' ') {
            cut--;
        }
    }
    (void)snprintf(line, sizeof line, "%.*s", (int)cut, caution);
    put_label((struct place){LEFT, y}, " class=\"caution\"", line, out);
    if (caution[cut] == ' ') {
        put_label((struct place){LEFT, y + 16}, " class=\"caution\"", caution + cut + 1, out);
    }
}

enum tl_err
tl_svg_print(const struct tl_svg *svg, FILE *out)
{
    int height = HEAD + (int)svg->plots * PLOT + FOOT;
    (void)fprintf(out,
                  "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                  "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%d\" height=\"%d\" "
                  "viewBox=\"0 0 %d %d\" role=\"img\">\n<title>",
                  WIDTH, height, WIDTH, height);
    put_text(svg->title, out);
    (void)fputs("</title>\n<desc>", out);
    put_text(svg->caution, out);
    (void)fputs("</desc>\n<style>text{font:12px sans-serif;fill:#222}.head{font-size:17px}"
                ".name{font-weight:bold}.caution{font-size:11px;font-style:italic}"
                ".grid{stroke:#ddd}.axis{stroke:#222}.level{stroke:#222;stroke-dasharray:2 4}"
                ".curve0,.curve1{fill:none;stroke-width:2}.curve0{stroke:#0b5394}"
                ".curve1{stroke:#b45f06;stroke-dasharray:8 4}</style>\n"
                "<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n",
                out);
    put_label((struct place){LEFT, 28}, " class=\"head\"", svg->title, out);
    put_label((struct place){LEFT, 48}, "", svg->subtitle, out);
    for (size_t i = 0; i < svg->plots; i++) {
        struct panel panel = {.plot = &svg->plot[i],
                              .scale = tl_plot_scale_of(&svg->plot[i]),
                              .top = HEAD + (double)i * PLOT + ABOVE};
        put_panel(&panel, out);
    }
    put_caution(svg->caution, height - FOOT + 26.0, out);
    (void)fputs("</svg>\n", out);
    return ferror(out) == 0 ? TL_OK : TL_IO;
}

enum tl_err
tl_svg_save(const struct tl_svg *svg, const char *path)
{
    char *bytes = NULL;
    size_t length = 0;
    struct stat st;
    if (stat(path, &st) == 0 && !S_ISREG(st.st_mode)) {
        return TL_BADARG; /* a device or a folder would be replaced */
    }
    FILE *out = open_memstream(&bytes, &length);
    if (out == NULL) {
        return TL_NOMEM;
    }
    enum tl_err err = tl_svg_print(svg, out);
    err = fclose(out) == 0 && err == TL_OK ? TL_OK : TL_NOMEM;
    if (err == TL_OK) {
        err = tl_file_write_atomic(path, FILE_MODE, bytes, length);
    }
    free(bytes);
    return err;
}
