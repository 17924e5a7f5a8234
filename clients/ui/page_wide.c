/* SPDX-License-Identifier: Apache-2.0 */
/* page_wide.c - what a larger screen shows beside the page: sequence, wires, figures. See page.h. */
#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "clients/ui/page.h"

enum {
    LIST_ROWS = 8,
    POUNDS_CAP = 32,
    TEN = 10,
    WIRE_WIDTH = 16
};

struct panel {
    const struct tl_page *page;
    struct tl_sheet *sheet;
    uint32_t row, col, width, end; /* rows from `end` on are not the panel's */
};

static void __attribute__((format(printf, 3, 4)))
line(struct panel *panel, enum tl_ink ink, const char *format, ...)
{
    char text[2 * TL_TEXT_CAP];
    va_list values;
    va_start(values, format);
    (void)vsnprintf(text, sizeof text, format, values);
    va_end(values);
    if (panel->row < panel->end) {
        (void)tl_sheet_put(panel->sheet, panel->row++, panel->col, panel->width, ink, text);
    }
}

static void
head(struct panel *panel, const char *title)
{
    char text[64];
    if (panel->row >= panel->end) {
        return;
    }
    tl_sheet_rule(panel->sheet, panel->row, panel->col, panel->width, '-');
    (void)snprintf(text, sizeof text, " %s ", title);
    (void)tl_sheet_put(panel->sheet, panel->row++, panel->col + 1, panel->width - 1, TL_INK_PLAIN,
                       text);
}

static void
draw_sequence(struct panel *panel)
{
    const struct tl_ui_state *state = panel->page->state;
    const struct tl_picture *picture = state->picture;
    char pounds[POUNDS_CAP];
    uint32_t shown = 0;
    head(panel, "sequence");
    for (uint32_t i = 0; i < picture->list_count; i++) {
        const struct tl_listed *listed = &picture->list[i];
        bool current = tl_event_equal(listed->event, state->view->event);
        if (listed->ended) {
            continue;
        }
        if (shown == LIST_ROWS) {
            line(panel, TL_INK_PLAIN, "and more: 'status'");
            break;
        }
        shown++;
        if (!listed->order_known) {
            line(panel, TL_INK_DOUBT, "%s %3" PRIu32 " order unknown", current ? ">" : " ",
                 listed->event.pass);
            continue;
        }
        line(panel, current ? TL_INK_STRONG : TL_INK_PLAIN, "%s %3" PRIu32 "  %4" PRIu32 " %s %s%s",
             current ? ">" : " ", listed->event.pass, listed->order.side, listed->order.type,
             tl_pounds_text(listed->order.weight_lb, pounds, sizeof pounds),
             listed->order.state == TL_ORDER_CANCELLED
                 ? " cancelled"
                 : (listed->order.barricade ? " BARRICADE" : ""));
    }
    if (shown == 0) {
        line(panel, TL_INK_PLAIN, "  nobody is ordered");
    }
    if (picture->last_known && picture->last.result_known) {
        struct tl_datum result = {.kind = TL_DATUM_RESULT, .known = true};
        char text[TL_TEXT_CAP];
        result.as.result = picture->last.result;
        line(panel, TL_INK_PLAIN, "last: event %" PRIu32 " %s", picture->last.event.pass,
             tl_datum_text(&result, text, sizeof text));
    }
}

static const struct tl_datum *
wire_word(const struct tl_ui_state *state, enum tl_datum_kind kind, uint32_t wire)
{
    const struct tl_node *node = tl_config_station(state->config, TL_STATION_WIRES, 0);
    return node != NULL ? tl_ui_word(state->picture, node->id, kind, wire) : NULL;
}

/* The one across which the aid guides, when it says so; 0 = not known. */
static uint32_t
target_wire(const struct tl_ui_state *state)
{
    const struct tl_node *node = tl_config_station(state->config, TL_STATION_AID, 0);
    const struct tl_datum *aid =
        node != NULL ? tl_ui_word(state->picture, node->id, TL_DATUM_AID, 0) : NULL;
    return aid != NULL ? aid->as.aid.target_wire : 0;
}

static void
draw_wire(struct panel *panel, uint32_t wire)
{
    const struct tl_ui_state *state = panel->page->state;
    const struct tl_datum *rig = wire_word(state, TL_DATUM_RIG, wire);
    const struct tl_datum *sheave = wire_word(state, TL_DATUM_SHEAVE, wire);
    const struct tl_datum *pendant = wire_word(state, TL_DATUM_PENDANT, wire);
    char drawn[WIRE_WIDTH + 1];
    uint32_t row = panel->row;
    bool rigged = rig != NULL && rig->as.rig == TL_RIG_RIGGED;
    bool up = sheave != NULL && sheave->as.sheave.state == TL_SHEAVE_UP;
    bool worn = pendant != NULL && pendant->as.pendant.state != TL_PENDANT_GOOD;
    bool good = rigged && up && pendant != NULL && !worn;
    memset(drawn, rig == NULL ? '?' : (rigged ? (good ? '=' : '-') : ' '), WIRE_WIDTH);
    memcpy(drawn, sheave == NULL ? "?" : (up ? "o" : "x"), 1);
    drawn[WIRE_WIDTH - 1] = drawn[0];
    drawn[WIRE_WIDTH] = '\0';
    line(panel, good ? TL_INK_PLAIN : TL_INK_DOUBT, "%" PRIu32 " %s %s%s%s%s", wire, drawn,
         rig == NULL ? "unknown" : (rigged ? "rigged" : "stripped"),
         sheave == NULL ? ", sheave unknown"
                        : (up ? "" : (sheave->as.sheave.bypassed ? ", bypassed" : ", SHEAVE DOWN")),
         worn ? ", pendant " : "", worn ? tl_pendant_word(pendant->as.pendant.state) : "");
    if (target_wire(state) == wire && row < panel->row) {
        (void)tl_sheet_put(panel->sheet, panel->row - 1, panel->col + panel->width - 4, 3,
                           TL_INK_STRONG, "AIM");
    }
}

/* As seen from astern: the highest number is the farthest. */
static void
draw_wires(struct panel *panel)
{
    const struct tl_gear *gear = &panel->page->state->config->gear;
    if (tl_config_station(panel->page->state->config, TL_STATION_WIRES, 0) == NULL) {
        return;
    }
    head(panel, "wires, ramp below");
    for (uint32_t wire = TL_ENGINES_MAX; wire > 0; wire--) {
        if (tl_gear_has_wire(gear, wire)) {
            draw_wire(panel, wire);
        }
    }
}

static void
draw_would(struct panel *panel, const struct tl_would *would)
{
    char end[TL_TEXT_CAP];
    char pounds[POUNDS_CAP];
    line(panel, would->bottoms || would->parts ? TL_INK_BAD : TL_INK_PLAIN,
         "at %s:", tl_pounds_text(would->set_lb, pounds, sizeof pounds));
    uint32_t rows = panel->end > panel->row ? panel->end - panel->row : 0;
    struct tl_area area = {panel->row, panel->col + 2, panel->width - 2, rows < 2 ? rows : 2};
    panel->row +=
        tl_sheet_fold(panel->sheet, area, TL_INK_PLAIN, tl_would_end_text(would, end, sizeof end));
}

static void
draw_figures(struct panel *panel)
{
    const struct tl_ui_state *state = panel->page->state;
    const struct tl_predicted *predicted = &state->picture->predicted;
    const int32_t clearance = predicted->ramp.clearance_ft_x10;
    int64_t ramp_x10 = 0;
    if (!tl_event_is(state->view->event)) {
        return;
    }
    head(panel, "computed");
    if (!tl_event_equal(predicted->event, state->view->event)) {
        line(panel, TL_INK_DOUBT, "not computed");
        return;
    }
    if (tl_ui_ramp_in(state, &ramp_x10)) {
        line(panel, TL_INK_STRONG, ramp_x10 >= 0 ? "RAMP IN %" PRId64 " s" : "past the ramp",
             ramp_x10 / TEN);
    }
    if (predicted->arrest.known) {
        line(panel, TL_INK_PLAIN, "engaging %" PRIu32 " kn at most",
             (predicted->arrest.engaging_kt_x10 + TEN - 1) / TEN);
        for (uint32_t i = 0; i < predicted->arrest.would_count && i < 3; i++) {
            draw_would(panel, &predicted->arrest.would[i]);
        }
    } else {
        line(panel, TL_INK_DOUBT, "arrest not known");
    }
    if (predicted->ramp.known) {
        line(panel, clearance < 0 ? TL_INK_BAD : TL_INK_PLAIN, "hook over the ramp %s%d.%d ft",
             clearance < 0 ? "-" : "", (clearance < 0 ? -clearance : clearance) / TEN,
             (clearance < 0 ? -clearance : clearance) % TEN);
    }
}

static void
draw_missing(struct panel *panel)
{
    const struct tl_picture *picture = panel->page->state->picture;
    head(panel, "not heard");
    for (uint32_t place = 0; place < TL_STATIONS_MAX; place++) {
        const struct tl_node *node = tl_config_at(panel->page->state->config, place);
        const struct tl_station_state *station =
            node != NULL ? tl_ui_station(picture, node->id) : NULL;
        if (node != NULL && (station == NULL || station->live != TL_LIVE_LIVE)) {
            line(panel, TL_INK_BAD, "%s%s", node->id,
                 station != NULL && station->by_voice ? ", BY VOICE" : "");
        }
    }
}

void
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): column, then the row where it ends */
tl_page_draw_wide(const struct tl_page *page, struct tl_sheet *sheet, uint32_t col, uint32_t end)
{
    struct panel panel = {.page = page,
                          .sheet = sheet,
                          .row = 2, /* the verdict has its whole row */
                          .col = col,
                          .width = sheet->cols - col - 1,
                          .end = end};
    const struct tl_ui_state *state = page->state;
    if (state->picture == NULL || tl_ui_is_memory(state)) {
        line(&panel, TL_INK_DOUBT, "no picture that counts");
        return;
    }
    draw_sequence(&panel);
    draw_wires(&panel);
    draw_figures(&panel);
    draw_missing(&panel);
}
