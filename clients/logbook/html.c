/* SPDX-License-Identifier: Apache-2.0 */
/* html.c - see html.h. */
#include "clients/logbook/html.h"

#include <inttypes.h>
#include <string.h>

#include "clients/logbook/words.h"

enum {
    WIDTH = 760,
    LABEL = 190, /* right end of the labels */
    ROOM = 400,  /* of the longest bar */
    ROW = 20,
    BAR = 13,
    HEAD = 26,
    FOOT = 26,
    TICKS = 8,
    LONG = 24, /* a text that may be broken */
    MS_PER_S = 1000
};

void
tl_html_text(const char *text, FILE *out)
{
    for (; *text != '\0'; text++) {
        switch (*text) {
        case '&':
            (void)fputs("&amp;", out);
            break;
        case '<':
            (void)fputs("&lt;", out);
            break;
        case '>':
            (void)fputs("&gt;", out);
            break;
        case '"':
            (void)fputs("&quot;", out);
            break;
        case '\'':
            (void)fputs("&#39;", out);
            break;
        default:
            (void)fputc(*text, out);
            break;
        }
    }
}

/* ---- tables ---- */

static int
column_at(const struct tl_html_table *shown, size_t i)
{
    return shown->column != NULL ? shown->column[i] : (int)i;
}

static void
print_cell(const struct tl_field_column *column, const struct tl_field *field, FILE *out)
{
    char text[TL_NUMBER_CAP + TL_TIME_CAP];
    bool number = column->kind == TL_FIELD_NUMBER;
    bool is_long = column->kind == TL_FIELD_TEXT && field->known && strlen(field->text) > LONG;
    (void)fputs(number ? "<td class=\"n\">" : (is_long ? "<td class=\"l\">" : "<td>"), out);
    if (!field->known) {
        (void)fputs("-", out);
    } else if (number) {
        (void)fputs(tl_scaled_text(field->number, field->digits, text), out);
    } else if (column->kind == TL_FIELD_TIME) {
        (void)fputs(tl_clock_text((uint64_t)field->number, text), out);
    } else if (column->kind == TL_FIELD_FLAG) {
        (void)fputs(field->number != 0 ? "yes" : "no", out);
    } else {
        tl_html_text(field->text, out);
    }
    (void)fputs("</td>", out);
}

void
tl_html_print_table(const struct tl_html_table *shown, FILE *out)
{
    const struct tl_table *table = shown->table;
    size_t columns = shown->column != NULL ? shown->columns : (size_t)table->columns;
    if (table->rows == 0) {
        (void)fputs("<p>", out);
        tl_html_text(shown->none, out);
        (void)fputs("</p>\n", out);
        return;
    }
    (void)fputs("<table>\n<thead><tr>", out);
    for (size_t i = 0; i < columns; i++) {
        const struct tl_field_column *column = &table->column[column_at(shown, i)];
        (void)fputs(column->kind == TL_FIELD_NUMBER ? "<th class=\"n\">" : "<th>", out);
        tl_html_text(column->head, out);
        (void)fputs("</th>", out);
    }
    (void)fputs("</tr></thead>\n<tbody>\n", out);
    for (size_t r = 0; r < table->rows && r < TL_HTML_ROWS_MAX; r++) {
        (void)fputs("<tr>", out);
        for (size_t i = 0; i < columns; i++) {
            int column = column_at(shown, i);
            print_cell(&table->column[column], tl_table_at(table, r, column), out);
        }
        (void)fputs("</tr>\n", out);
    }
    (void)fputs("</tbody>\n</table>\n", out);
    if (table->rows > TL_HTML_ROWS_MAX) {
        (void)fprintf(out, "<p>%zu more rows are not shown here.</p>\n",
                      table->rows - TL_HTML_ROWS_MAX);
    }
}

/* ---- plots ---- */

static void
open_plot(const char *title, int height, FILE *out)
{
    (void)fprintf(out,
                  "<figure><svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"%d\" "
                  "height=\"%d\" viewBox=\"0 0 %d %d\">\n<title>",
                  WIDTH, height, WIDTH, height);
    tl_html_text(title, out);
    (void)fputs("</title>\n", out);
    (void)fprintf(out, "<text x=\"0\" y=\"14\" class=\"name\">");
    tl_html_text(title, out);
    (void)fputs("</text>\n", out);
}

static void
close_plot(FILE *out)
{
    (void)fputs("</svg></figure>\n", out);
}

struct label {
    int x, y;
    const char *anchor;
};

static void
print_label(const struct label *label, const char *text, FILE *out)
{
    (void)fprintf(out, "<text x=\"%d\" y=\"%d\" text-anchor=\"%s\">", label->x, label->y,
                  label->anchor);
    tl_html_text(text, out);
    (void)fputs("</text>\n", out);
}

/* The longest of a plot. */
struct scale {
    uint64_t most;
};

static int
scaled(const struct scale *scale, uint64_t value)
{
    return scale->most > 0 ? (int)(value * ROOM / scale->most) : 0;
}

void
tl_html_print_bars(const struct tl_html_bars *bars, FILE *out)
{
    struct scale scale = {bars->limit};
    int bottom = HEAD + (int)bars->count * ROW;
    for (size_t i = 0; i < bars->count; i++) {
        scale.most = bars->bar[i].value > scale.most ? bars->bar[i].value : scale.most;
    }
    open_plot(bars->title, bottom + (bars->limit > 0 ? FOOT : 4), out);
    for (size_t i = 0; i < bars->count; i++) {
        const struct tl_html_bar *bar = &bars->bar[i];
        int top = HEAD + (int)i * ROW;
        int length = scaled(&scale, bar->value);
        print_label(&(struct label){LABEL - 8, top + 11, "end"}, bar->label, out);
        (void)fprintf(out, "<rect class=\"bar\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/>\n",
                      LABEL, top, length, BAR);
        print_label(&(struct label){LABEL + length + 6, top + 11, "start"}, bar->text, out);
    }
    (void)fprintf(out, "<line class=\"axis\" x1=\"%d\" y1=\"%d\" x2=\"%d\" y2=\"%d\"/>\n", LABEL,
                  HEAD - 4, LABEL, bottom);
    if (bars->limit > 0) {
        int x = LABEL + scaled(&scale, bars->limit);
        (void)fprintf(out, "<line class=\"limit\" x1=\"%d\" y1=\"%d\" x2=\"%d\" y2=\"%d\"/>\n", x,
                      HEAD - 4, x, bottom);
        print_label(&(struct label){x, bottom + 14, "middle"}, bars->limit_text, out);
    }
    close_plot(out);
}

/* A round number of seconds between ticks, so that there are not too many. */
static uint64_t
tick_ms(uint64_t most_ms)
{
    static const uint64_t steps_s[] = {1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1800, 3600};
    uint64_t step_s = steps_s[0];
    for (size_t i = 0; i < sizeof steps_s / sizeof steps_s[0]; i++) {
        step_s = steps_s[i];
        if (most_ms / (step_s * MS_PER_S) < TICKS) {
            break;
        }
    }
    while (most_ms / (step_s * MS_PER_S) >= 2 * (uint64_t)TICKS) {
        step_s *= 2;
    }
    return step_s * MS_PER_S;
}

static void
print_ticks(const struct scale *scale, int bottom, FILE *out)
{
    char text[TL_NUMBER_CAP + 4];
    uint64_t step_ms = tick_ms(scale->most);
    for (uint64_t at_ms = 0; at_ms <= scale->most; at_ms += step_ms) {
        int x = LABEL + scaled(scale, at_ms);
        (void)fprintf(out, "<line class=\"grid\" x1=\"%d\" y1=\"%d\" x2=\"%d\" y2=\"%d\"/>\n", x,
                      HEAD - 4, x, bottom);
        (void)snprintf(text, sizeof text, "%" PRIu64 " s", at_ms / MS_PER_S);
        print_label(&(struct label){x, bottom + 14, "middle"}, text, out);
    }
}

void
tl_html_print_times(const struct tl_html_times *times, FILE *out)
{
    struct scale scale = {MS_PER_S};
    int bottom = HEAD + (int)times->lines * ROW;
    for (size_t i = 0; i < times->lines; i++) {
        scale.most = times->line[i].length_ms > scale.most ? times->line[i].length_ms : scale.most;
    }
    open_plot(times->title, bottom + FOOT, out);
    print_ticks(&scale, bottom, out);
    for (size_t i = 0; i < times->pieces; i++) {
        const struct tl_html_piece *piece = &times->piece[i];
        int x = LABEL + scaled(&scale, piece->from_ms);
        int end = LABEL + scaled(&scale, piece->to_ms);
        (void)fprintf(out, "<rect class=\"%s\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/>\n",
                      piece->ready ? "ready" : "not", x, HEAD + (int)piece->row * ROW,
                      end > x ? end - x : 1, BAR);
    }
    for (size_t i = 0; i < times->lines; i++) {
        const struct tl_html_line *line = &times->line[i];
        int y = HEAD + (int)i * ROW + 11;
        print_label(&(struct label){LABEL - 8, y, "end"}, line->label, out);
        print_label(&(struct label){LABEL + scaled(&scale, line->length_ms) + 6, y, "start"},
                    line->text, out);
    }
    close_plot(out);
}
