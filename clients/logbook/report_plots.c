/* SPDX-License-Identifier: Apache-2.0 */
/* report_plots.c - see report_plots.h. */
#include "clients/logbook/report_plots.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "clients/logbook/html.h"
#include "clients/logbook/words.h"

enum {
    MS_PER_S = 1000
};

static void
plot_intervals(const struct tl_values *values, FILE *out)
{
    struct tl_html_bar bar[TL_BINS_MAX];
    struct tl_bins bins;
    if (values->count == 0) {
        return;
    }
    tl_interval_bins(values, &bins);
    for (size_t i = 0; i < bins.count; i++) {
        uint64_t from_s = (bins.first + i * bins.width) / MS_PER_S;
        bar[i].value = bins.in[i];
        (void)snprintf(bar[i].label, sizeof bar[i].label, "%" PRIu64 " to %" PRIu64 " s", from_s,
                       from_s + bins.width / MS_PER_S);
        (void)snprintf(bar[i].text, sizeof bar[i].text, "%zu", bins.in[i]);
    }
    tl_html_print_bars(
        &(struct tl_html_bars){"Intervals between ends of passes", bar, bins.count, 0, NULL}, out);
}

static void
plot_wires(const struct tl_boarding *boarding, FILE *out)
{
    struct tl_html_bar bar[TL_BOARDING_WIRES_MAX];
    size_t count = 0;
    for (uint32_t wire = 1; wire < TL_BOARDING_WIRES_MAX; wire++) {
        if (boarding->wire[wire] > 0) {
            bar[count].value = boarding->wire[wire];
            (void)snprintf(bar[count].label, sizeof bar[count].label, "wire %" PRIu32, wire);
            (void)snprintf(bar[count].text, sizeof bar[count].text, "%" PRIu64,
                           boarding->wire[wire]);
            count++;
        }
    }
    if (count > 0) {
        tl_html_print_bars(&(struct tl_html_bars){"Traps by wire", bar, count, 0, NULL}, out);
    }
}

static void
plot_stations(const struct tl_reset_parts *parts, FILE *out)
{
    struct tl_html_bar bar[TL_STATIONS_MAX];
    char last[TL_NUMBER_CAP];
    char waited[TL_NUMBER_CAP];
    for (uint32_t i = 0; i < parts->count; i++) {
        const struct tl_reset_part *part = &parts->part[i];
        uint64_t median_ms = tl_quartile(&part->after_ms, 2);
        bar[i].value = median_ms;
        (void)snprintf(bar[i].label, sizeof bar[i].label, "%s", part->station);
        (void)snprintf(bar[i].text, sizeof bar[i].text, "%.10s s; %" PRIu32 " x last, %.10s s",
                       tl_scaled_text((int64_t)median_ms, 3, last), part->last,
                       tl_scaled_text((int64_t)part->margin_ms, 3, waited));
    }
    if (parts->count > 0) {
        tl_html_print_bars(
            &(struct tl_html_bars){"From a trap to each station's last word: median; "
                                   "how often it was last, waited for in all",
                                   bar, parts->count, 0, NULL},
            out);
    }
}

static void
plot_alerts(const struct tl_rates *rates, FILE *out)
{
    struct tl_html_bar bar[TL_OPERATORS_MAX + 1];
    char average[TL_NUMBER_CAP];
    size_t count = 0;
    for (uint32_t i = 1; i < rates->count; i++) {
        const struct tl_rate *rate = &rates->rate[i];
        bar[count].value = rate->most;
        (void)snprintf(bar[count].label, sizeof bar[count].label, "%s", rate->operator);
        (void)snprintf(bar[count].text, sizeof bar[count].text, "%" PRIu64 "%s%.12s%s", rate->most,
                       rates->open_ms >= TL_RATE_WINDOW_MS ? "; on average " : "",
                       rates->open_ms >= TL_RATE_WINDOW_MS
                           ? tl_scaled_text((int64_t)rate->per_10_min_x1000, 3, average)
                           : "",
                       "");
        count++;
    }
    if (count > 0) {
        tl_html_print_bars(&(struct tl_html_bars){"Alerts to acknowledge, most in any 10 minutes",
                                                  bar, count, TL_RATE_FLOOD,
                                                  "10: EEMUA 191, as restated"},
                           out);
    }
}

/* ---- READY per pass ---- */

struct timeline {
    struct tl_html_line line[TL_REPORT_LINES_MAX];
    size_t lines;
    struct tl_html_piece *piece;
    size_t pieces, cap;
};

/* What each validator said last of the event. */
struct said {
    uint32_t count;
    struct {
        const char *id;
        bool ready;
    } of[TL_VALIDATORS_MAX];
};

static bool
all_ready(const struct said *said)
{
    bool ready = said->count > 0;
    for (uint32_t i = 0; i < said->count; i++) {
        ready = ready && said->of[i].ready;
    }
    return ready;
}

static void
hear(struct said *said, const struct tl_verdict_row *verdict)
{
    uint32_t i = 0;
    while (i < said->count && strncmp(said->of[i].id, verdict->stated.node, TL_ID_CAP) != 0) {
        i++;
    }
    if (i < TL_VALIDATORS_MAX) {
        said->count += i == said->count ? 1 : 0;
        said->of[i].id = verdict->stated.node;
        said->of[i].ready = verdict->ready;
    }
}

static enum tl_err
add_piece(struct timeline *timeline, const struct tl_html_piece *piece)
{
    if (piece->to_ms <= piece->from_ms) {
        return TL_OK;
    }
    if (timeline->pieces == timeline->cap) {
        size_t cap = timeline->cap == 0 ? TL_REPORT_LINES_MAX : 2 * timeline->cap;
        struct tl_html_piece *moved = realloc(timeline->piece, cap * sizeof *moved);
        if (moved == NULL) {
            return TL_NOMEM;
        }
        timeline->piece = moved;
        timeline->cap = cap;
    }
    timeline->piece[timeline->pieces++] = *piece;
    return TL_OK;
}

static void
write_line(const struct tl_pass *pass, struct tl_html_line *line)
{
    (void)snprintf(line->label, sizeof line->label, "pass %" PRIu32 ", %" PRIu32 " %.15s",
                   pass->event.pass, pass->order.side, pass->order.type);
    (void)snprintf(line->text, sizeof line->text, "%s", tl_pass_result_name(pass));
}

/* From the first verdict of the event to its end, by the clocks of the validators and the platform. */
static enum tl_err
add_line(struct timeline *timeline, const struct tl_book *book, const struct tl_pass *pass)
{
    struct said said = {0};
    struct tl_html_piece piece = {.row = timeline->lines};
    uint64_t begin_ms = 0;
    enum tl_err err = TL_OK;
    for (size_t i = 0; i < book->verdict_count && err == TL_OK; i++) {
        const struct tl_verdict_row *verdict = &book->verdict[i];
        if (!tl_event_equal(verdict->event, pass->event) ||
            verdict->stated.wall_ms > pass->ended.wall_ms) {
            continue;
        }
        begin_ms = begin_ms == 0 ? verdict->stated.wall_ms : begin_ms;
        uint64_t now_ms =
            verdict->stated.wall_ms > begin_ms ? verdict->stated.wall_ms - begin_ms : 0;
        bool before = all_ready(&said);
        hear(&said, verdict);
        if (before != all_ready(&said)) {
            piece.to_ms = now_ms;
            piece.ready = before;
            err = add_piece(timeline, &piece);
            piece.from_ms = now_ms > piece.from_ms ? now_ms : piece.from_ms;
        }
    }
    if (begin_ms == 0 || err != TL_OK) {
        return err;
    }
    struct tl_html_line *line = &timeline->line[timeline->lines++];
    write_line(pass, line);
    line->length_ms = pass->ended.wall_ms - begin_ms;
    piece.to_ms = line->length_ms;
    piece.ready = all_ready(&said);
    return add_piece(timeline, &piece);
}

static enum tl_err
plot_ready(const struct tl_book *book, const struct tl_passes *passes, FILE *out)
{
    struct timeline *timeline = calloc(1, sizeof *timeline);
    enum tl_err err = timeline != NULL ? TL_OK : TL_NOMEM;
    size_t ended = 0;
    size_t seen = 0;
    for (size_t i = 0; i < passes->count; i++) {
        ended += tl_pass_ended(&passes->pass[i]) ? 1 : 0;
    }
    for (size_t i = 0; i < passes->count && err == TL_OK; i++) {
        if (!tl_pass_ended(&passes->pass[i])) {
            continue;
        }
        if (++seen + TL_REPORT_LINES_MAX > ended) {
            err = add_line(timeline, book, &passes->pass[i]);
        }
    }
    if (err == TL_OK && timeline->lines > 0) {
        tl_html_print_times(
            &(struct tl_html_times){"READY (filled) and NOT READY (hatched) of each pass, from its "
                                    "first verdict to its end",
                                    timeline->line, timeline->lines, timeline->piece,
                                    timeline->pieces},
            out);
    }
    if (timeline != NULL) {
        free(timeline->piece);
    }
    free(timeline);
    return err;
}

enum tl_err
tl_report_plots(const struct tl_answer *answer, const struct tl_passes *passes,
                const struct tl_figures_told *figures, FILE *out)
{
    (void)fputs("<section>\n<h2>Plots</h2>\n", out);
    enum tl_err err = plot_ready(&answer->book, passes, out);
    plot_intervals(&figures->interval_ms, out);
    plot_stations(&figures->parts, out);
    plot_wires(&figures->group[0].boarding, out);
    plot_alerts(&figures->rates, out);
    (void)fputs("</section>\n", out);
    return err;
}
