/* SPDX-License-Identifier: Apache-2.0 */
/* pane_paint.c - what a station's page shows now. See pane.h. */
#include <inttypes.h>
#include <string.h>

#include "clients/station/pane.h"
#include "clients/ui/glass.h"
#include "clients/ui/links.h"
#include "proto/base/clock.h"

enum {
    BELOW_CAP = 2 * TL_PANE_LINE_CAP + 4, /* a warning, two blanks, an answer */
    WARNING_MS = 3000,
    LINKS_CAP = 512
};

struct texts {
    char title[TL_ID_CAP];
    char clock[16];
    char links[LINKS_CAP];
    char last[LINKS_CAP];
    char below[BELOW_CAP];
    char keys[TL_SHEET_COLS_MAX];
};

const char *
tl_pane_read_back(const struct tl_pane *pane, uint64_t now_ms, char dst[TL_PANE_READ_CAP])
{
    const struct tl_session *session = pane->session;
    if (pane->quit_until_ms != 0) {
        (void)snprintf(dst, TL_PANE_READ_CAP, "LEAVE this station? the others will see it lost");
        return dst;
    }
    uint64_t left_ms = session->pending_until_ms > now_ms ? session->pending_until_ms - now_ms : 0;
    (void)snprintf(dst, TL_PANE_READ_CAP, "READ BACK %s? %" PRIu64 " s", session->command.text,
                   (left_ms + 999) / 1000);
    return dst;
}

static void
write_below(const struct tl_pane *pane, uint64_t now_ms, struct texts *texts, bool *asks)
{
    char question[TL_PANE_READ_CAP];
    bool same = strcmp(pane->warning, pane->message) == 0;
    *asks = pane->typing.mode == TL_TYPING_READ_BACK;
    if (*asks) {
        (void)snprintf(texts->below, sizeof texts->below, "%s",
                       tl_pane_read_back(pane, now_ms, question));
    } else {
        (void)snprintf(texts->below, sizeof texts->below, "%s%s%s", pane->warning,
                       pane->warning[0] != '\0' && !same ? "  " : "", same ? "" : pane->message);
    }
}

/* It has been there to be read; the newest answer stays as it is. */
static void
let_warning_go(struct tl_pane *pane, bool covered, uint64_t now_ms)
{
    if (pane->warning[0] == '\0' || covered) {
        pane->warning_ms = 0;
    } else if (pane->warning_ms == 0) {
        pane->warning_ms = now_ms;
    } else if (now_ms - pane->warning_ms > WARNING_MS) {
        pane->warning[0] = '\0';
    }
}

static const char *
line_of(const struct tl_pane *pane, uint64_t i)
{
    return pane->line[i % TL_PANE_LINES];
}

static uint32_t
line_rows(const char *line, uint32_t cols)
{
    uint32_t rows = tl_sheet_fold_rows(line, cols);
    return rows > 0 ? rows : 1;
}

/* As many of them as there is room for, each whole; SPACE shows the next. */
static void
draw_lines(struct tl_pane *pane, struct tl_sheet *sheet)
{
    uint32_t end = sheet->rows - 2;
    uint32_t row = 2;
    uint64_t i = pane->leaf_from;
    for (; i < pane->line_count; i++) {
        const char *line = line_of(pane, i);
        uint32_t rows = line_rows(line, sheet->cols);
        if (row + rows > end && i > pane->leaf_from) {
            break;
        }
        (void)tl_sheet_fold(sheet, (struct tl_area){row, 0, sheet->cols, rows}, TL_INK_PLAIN, line);
        row += rows;
    }
    pane->leaf_next = i;
    if (i < pane->line_count) {
        (void)tl_sheet_print(sheet, end, 0, TL_INK_STRONG, "%" PRIu64 " more lines: press SPACE",
                             pane->line_count - i);
    }
}

/* What the station may say, in two columns; what has no room is told how many there are. */
static void
draw_verbs(const struct tl_room *room, struct tl_sheet *sheet, uint32_t row)
{
    if (row + 3 >= sheet->rows) {
        return;
    }
    uint32_t rows = sheet->rows - 3 - row;
    uint32_t places = 2 * rows;
    uint32_t shown = room->count <= places ? (uint32_t)room->count : places - 1;
    for (uint32_t i = 0; i < shown; i++) {
        bool left = i < rows;
        (void)tl_sheet_put(sheet, row + (left ? i : i - rows), left ? 1 : 1 + TL_PAGE_COLS / 2,
                           TL_PAGE_COLS / 2 - 1, TL_INK_PLAIN, room->verb[i].syntax);
    }
    if (shown < room->count) {
        (void)tl_sheet_print(sheet, row + rows - 1, 1 + TL_PAGE_COLS / 2, TL_INK_STRONG,
                             "%zu more: type help", room->count - shown);
    }
}

/* The verbs that every station has, by their names. */
static void
write_people(char *dst, size_t cap)
{
    size_t used = (size_t)snprintf(dst, cap, "everybody:");
    for (size_t i = 0; i < tl_room_people.count && used < cap; i++) {
        int n = snprintf(dst + used, cap - used, " %s", tl_room_people.verb[i].name);
        used += n > 0 ? (size_t)n : 0;
    }
}

static void
draw_help(const struct tl_pane *pane, struct tl_sheet *sheet)
{
    static const char *const words[] = {
        "Each row: what, value, what is needed, how it stands, when it was last heard, from whom.",
        "> your own rows.  ok: known, heard and as needed.  NOT YET: asked for, not due.",
        "WRONG: against what is needed.  LOST: who says it is not heard.  OLD, [was ..]: a memory.",
        "UNKNOWN is never ready.  READY is advice: people decide.",
        "* an alert that somebody has still to acknowledge.  a: the first owed here, alone.",
        "A word toward READY is read back: press y if it is right; any other key says nothing.",
        "ENTER types a line; what this station may say:",
    };
    const struct tl_room *room = tl_room_of(pane->session->seat.join.node->station);
    char people[TL_SHEET_COLS_MAX];
    uint32_t row = 2;
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        row +=
            tl_sheet_fold(sheet, (struct tl_area){row, 0, TL_PAGE_COLS, 2}, TL_INK_PLAIN, words[i]);
    }
    draw_verbs(room, sheet, row);
    write_people(people, sizeof people);
    (void)tl_sheet_put(sheet, sheet->rows - 3, 0, TL_PAGE_COLS, TL_INK_PLAIN, people);
    (void)tl_sheet_put(
        sheet, sheet->rows - 2, 0, TL_PAGE_COLS, TL_INK_PLAIN,
        "n night or day   q leave   CTRL-L paint anew   type: status alerts mine help");
}

/* The verdict stays on every page; only what is below it gives way. */
static void
draw_leaf(struct tl_pane *pane, struct tl_sheet *sheet)
{
    for (uint32_t row = 2; row + 1 < sheet->rows; row++) {
        for (uint32_t col = 0; col < sheet->cols; col++) {
            sheet->cell[row][col] = (struct tl_cell){.byte = ' '};
        }
    }
    if (pane->leaf_of_lines) {
        draw_lines(pane, sheet);
    } else {
        draw_help(pane, sheet);
    }
}

/* The key acknowledges what stands on the glass, and has for a while. */
static void
offer_alert(struct tl_pane *pane, uint32_t number, uint64_t now_ms)
{
    if (number != pane->offered) {
        pane->offered = number;
        pane->offered_ms = now_ms;
    }
}

void
tl_pane_paint(struct tl_pane *pane, uint64_t now_ms)
{
    struct tl_session *session = pane->session;
    struct tl_view view;
    struct tl_ui_state state;
    struct texts texts;
    struct tl_page_drawn drawn;
    struct tl_page page = {
        .state = &state, .self = session->seat.join.node, .bell = &session->bell};
    tl_pane_settle(pane);
    tl_pane_say_safe(pane);
    tl_ui_take(&pane->aged, &session->seat.member, now_ms, &view, &state);
    tl_ui_links(&session->seat, now_ms, texts.links, sizeof texts.links);
    tl_session_last_way(session, texts.last, sizeof texts.last);
    write_below(pane, now_ms, &texts, &page.asks);
    page.title = tl_node_spoken(page.self->id, texts.title, sizeof texts.title);
    page.clock = tl_page_clock(tl_clock_wall_ms(), texts.clock, sizeof texts.clock);
    page.links = texts.links;
    page.below = texts.below;
    page.last = texts.last;
    page.entry = pane->typing.mode == TL_TYPING_LINE ? pane->typing.line : NULL;
    tl_page_time(&page, now_ms);
    page.keys =
        tl_typing_help(&pane->typing, pane->offered != 0, now_ms, texts.keys, sizeof texts.keys);
    const struct tl_sheet_size size = tl_glass_size();
    tl_sheet_clear(&pane->sheet, size);
    tl_page_draw(&page, &pane->sheet, &drawn);
    bool leaf = pane->typing.mode == TL_TYPING_LEAF && tl_page_is_whole(size);
    if (leaf) {
        draw_leaf(pane, &pane->sheet);
    }
    pane->shows_alerts = drawn.alerts && !leaf;
    let_warning_go(pane, page.asks || leaf, now_ms);
    offer_alert(pane, pane->shows_alerts ? drawn.first_owed : 0, now_ms);
    tl_glass_paint(&pane->sheet, pane->night, drawn.cursor ? (int)drawn.row : -1, (int)drawn.col);
    tl_pane_painted(pane);
    if (pane->shows_alerts && drawn.all_owed && view.any_verdict) {
        tl_member_alerts_shown(&session->seat.member, now_ms);
    }
    if (pane->ring) {
        tl_glass_ring();
        pane->ring = false;
    }
}
