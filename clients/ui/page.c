/* SPDX-License-Identifier: Apache-2.0 */
/* page.c - see page.h. */
#include "clients/ui/page.h"

#include <ctype.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

enum {
    ROW_TITLE = 0,
    ROW_VERDICT = 1,
    ROW_FACTS = 2,
    ROW_COUNT = ROW_FACTS + TL_FACT_ROWS,
    ROW_ALERTS = ROW_COUNT + 1,
    ROWS_LAST = 3,   /* links, entry, keys: all below the alerts but `below` */
    ROWS_SMALL = 3,  /* on a small screen: the verdict, entry, keys */
    SMALL_ALL = 8,   /* a small screen of so many rows has these; one of less only the verdict */
    SMALL_LEAST = 4, /* one of less has not even `below` */
    /* columns of a fact */
    COL_NAME = 1,
    COL_VALUE = 11,
    WIDTH_VALUE = 28,
    COL_NEEDED = 40,
    WIDTH_NEEDED = 14,
    COL_STATE = 55,
    WIDTH_STATE = 8,
    COL_AGE = 64,
    WIDTH_AGE = 4,
    COL_FROM = 69,
    WIDTH_FROM = 11,
    /* columns of an alert */
    COL_SEVERITY = 2,
    WIDTH_SEVERITY = 9,
    COL_SINCE = 12,
    COL_CAUSE = 17,
    WIDTH_CAUSE = 40,
    COL_WAITS = 58,
    WIDTH_WAITS = 22,
    LIVE_MS = 2000,
    TURN_MS = 500, /* the live mark moves twice a second */
    MARK_MS = 125, /* on and off four times a second (MIL-STD-1472E 5.15.3.3.2: 3 to 5) */
    AGE_CAP = 24,
    WIDE_FROM = 120,
    WIDTH_TITLE = 20,
    TITLE_CAP = 64, /* longer than its width, so that what is cut is seen to be */
    VERDICT_CAP = TL_TEXT_CAP + 32,
    NARROW = 10 /* "NOT READY:" */
};

const char *
tl_page_clock(uint64_t wall_ms, char *dst, size_t cap)
{
    time_t now = (time_t)(wall_ms / 1000);
    struct tm parts;
    if (localtime_r(&now, &parts) == NULL || strftime(dst, cap, "%H:%M:%S", &parts) == 0) {
        (void)snprintf(dst, cap, "no clock");
    }
    return dst;
}

void
tl_page_time(struct tl_page *page, uint64_t now_ms)
{
    page->turn = (uint32_t)(now_ms / TURN_MS);
    page->mark_on = now_ms / MARK_MS % 2 == 0;
}

/* "EMERGENCY", ...: in one width. */
static const char *
severity_word(enum tl_severity severity)
{
    return severity == TL_SEVERITY_EMERGENCY ? "EMERGENCY"
           : severity == TL_SEVERITY_ALARM   ? "ALARM"
                                             : tl_severity_name(severity);
}

/* "live", "12s", "3m", "2h". */
static const char *
age_text(uint64_t age_ms, char dst[AGE_CAP])
{
    uint64_t seconds = age_ms / 1000;
    if (age_ms < LIVE_MS) {
        (void)snprintf(dst, AGE_CAP, "live");
    } else if (seconds < 1000) {
        (void)snprintf(dst, AGE_CAP, "%" PRIu64 "s", seconds);
    } else if (seconds < 36000) {
        (void)snprintf(dst, AGE_CAP, "%" PRIu64 "m", seconds / 60);
    } else {
        (void)snprintf(dst, AGE_CAP, "%" PRIu64 "h", seconds / 3600);
    }
    return dst;
}

static void
draw_title(const struct tl_page *page, struct tl_sheet *sheet)
{
    static const char marks[] = ".oOo";
    const struct tl_view *view = page->state->view;
    const struct tl_listed *current = tl_ui_current(page->state->picture, view->event);
    char pounds[AGE_CAP + TL_TYPE_CAP];
    char title[TITLE_CAP];
    (void)snprintf(title, sizeof title, "%s", page->title);
    for (char *at = title; *at != '\0'; at++) {
        *at = (char)toupper((unsigned char)*at);
    }
    uint32_t col = tl_sheet_put(sheet, ROW_TITLE, 1, WIDTH_TITLE, TL_INK_STRONG, title) + 2;
    uint32_t clock = sheet->cols < TL_PAGE_COLS ? sheet->cols : TL_PAGE_COLS;
    bool old = tl_ui_is_memory(page->state);
    if (view->drill) {
        col = tl_sheet_put(sheet, ROW_TITLE, col, 5, TL_INK_STRONG, "DRILL") + 2;
    }
    if (!view->event_known) {
        (void)tl_sheet_put(sheet, ROW_TITLE, col, 40, TL_INK_DOUBT, "event unknown");
    } else if (!tl_event_is(view->event)) {
        (void)tl_sheet_put(sheet, ROW_TITLE, col, 40, TL_INK_PLAIN, "no event");
    } else if (current == NULL || !current->order_known || old) {
        (void)tl_sheet_print(sheet, ROW_TITLE, col, TL_INK_PLAIN,
                             "event %" PRIu32 ": order unknown", view->event.pass);
    } else {
        (void)tl_sheet_print(sheet, ROW_TITLE, col, TL_INK_STRONG,
                             "event %" PRIu32 ": %" PRIu32 " %s %s", view->event.pass,
                             current->order.side, current->order.type,
                             tl_pounds_text(current->order.weight_lb, pounds, sizeof pounds));
    }
    if (clock > 12) {
        (void)tl_sheet_put(sheet, ROW_TITLE, clock - 12, 9, TL_INK_PLAIN, page->clock);
        (void)tl_sheet_print(sheet, ROW_TITLE, clock - 2, TL_INK_PLAIN, " %c",
                             marks[page->turn % (sizeof marks - 1)]);
    }
}

static enum tl_ink
verdict_ink(const struct tl_view *view)
{
    return view->word == TL_WORD_READY ? TL_INK_GOOD : TL_INK_BAD;
}

static enum tl_ink
fact_ink(enum tl_fact_state state)
{
    switch (state) {
    case TL_FACT_GOOD:
        return TL_INK_PLAIN;
    case TL_FACT_UNUSED:
        return TL_INK_FAINT;
    case TL_FACT_WRONG:
    case TL_FACT_LOST:
        return TL_INK_BAD;
    case TL_FACT_WAITS:
    case TL_FACT_HELD:
    case TL_FACT_OLD:
    case TL_FACT_OVERRIDE:
    case TL_FACT_UNKNOWN:
        break;
    }
    return TL_INK_DOUBT;
}

static void
draw_fact(struct tl_sheet *sheet, uint32_t row, enum tl_fact_row which, const struct tl_fact *fact)
{
    enum tl_ink ink = fact_ink(fact->state);
    char age[AGE_CAP];
    (void)tl_sheet_put(sheet, row, 0, 1, TL_INK_STRONG, fact->mine ? ">" : " ");
    (void)tl_sheet_put(sheet, row, COL_NAME, COL_VALUE - COL_NAME - 1,
                       fact->mine ? TL_INK_STRONG : TL_INK_PLAIN, tl_fact_name(which));
    (void)tl_sheet_put(sheet, row, COL_VALUE, WIDTH_VALUE, ink,
                       fact->value[0] != '\0' ? fact->value : "-");
    (void)tl_sheet_put(sheet, row, COL_NEEDED, WIDTH_NEEDED, TL_INK_PLAIN, fact->needed);
    (void)tl_sheet_put(sheet, row, COL_STATE, WIDTH_STATE, ink, tl_fact_word(fact->state));
    if (fact->age_known) {
        (void)tl_sheet_put(sheet, row, COL_AGE, WIDTH_AGE, TL_INK_PLAIN,
                           age_text(fact->age_ms, age));
    }
    (void)tl_sheet_put(sheet, row, COL_FROM, WIDTH_FROM, TL_INK_PLAIN, fact->from);
}

static uint32_t
rank(const struct tl_belled *entry)
{
    const struct tl_alert *alert = &entry->alert;
    bool waits = tl_alert_waits_for(alert) != 0;
    uint32_t gone = tl_alert_is_active(alert) ? 0 : 1;
    return (waits ? 0 : 100) + 10 * gone + (uint32_t)alert->severity;
}

uint32_t
tl_page_alert_order(const struct tl_bell *bell, const struct tl_belled **order)
{
    uint32_t count = 0;
    for (uint32_t i = 0; i < bell->count; i++) {
        uint32_t at = count++;
        while (at > 0 && rank(&bell->entry[i]) < rank(order[at - 1])) {
            order[at] = order[at - 1];
            at--;
        }
        order[at] = &bell->entry[i];
    }
    return count;
}

const struct tl_belled *
tl_page_first_owed(const struct tl_bell *bell)
{
    const struct tl_belled *order[TL_ALERTS_MAX];
    uint32_t count = tl_page_alert_order(bell, order);
    for (uint32_t i = 0; i < count; i++) {
        if (tl_alert_waits_for_place(&order[i]->alert, bell->place)) {
            return order[i];
        }
    }
    return NULL;
}

/* Who has not acknowledged, and of these who has not even been shown it. */
static const char *
waits_text(const struct tl_page *page, const struct tl_alert *alert, char *dst, size_t cap)
{
    char names[TL_TEXT_CAP];
    uint32_t waits = tl_alert_waits_for(alert);
    uint32_t unseen = waits & ~alert->delivered;
    if (waits == 0) {
        (void)snprintf(dst, cap, "%s", alert->owed != 0 ? "acknowledged" : "");
    } else if (unseen != 0) {
        (void)snprintf(dst, cap, "NOT SHOWN %.*s", TL_TEXT_CAP - 16,
                       tl_places_text(page->state->config, unseen, names, sizeof names));
    } else {
        (void)snprintf(dst, cap, "waits %.*s", TL_TEXT_CAP - 16,
                       tl_places_text(page->state->config, waits, names, sizeof names));
    }
    return dst;
}

static uint32_t
draw_alert(const struct tl_page *page, struct tl_sheet *sheet, uint32_t row,
           const struct tl_belled *entry, uint32_t rows)
{
    const struct tl_alert *alert = &entry->alert;
    char text[TL_TEXT_CAP];
    char waits[TL_TEXT_CAP];
    char age[AGE_CAP];
    bool active = tl_alert_is_active(alert);
    bool unacknowledged = tl_alert_waits_for(alert) != 0;
    bool mine = tl_alert_waits_for_place(alert, page->bell->place);
    if (unacknowledged) {
        (void)tl_sheet_put(sheet, row, 0, 1, TL_INK_MARK, page->mark_on ? "*" : " ");
    }
    (void)tl_sheet_put(sheet, row, COL_SEVERITY, WIDTH_SEVERITY,
                       active && unacknowledged ? TL_INK_BAD : TL_INK_PLAIN,
                       active ? severity_word(alert->severity) : "gone");
    (void)tl_sheet_put(
        sheet, row, COL_SINCE, WIDTH_AGE, TL_INK_PLAIN,
        age_text(alert->raised_age_ms < LIVE_MS ? LIVE_MS : alert->raised_age_ms, age));
    (void)tl_sheet_put(sheet, row, COL_WAITS, WIDTH_WAITS, mine ? TL_INK_STRONG : TL_INK_PLAIN,
                       waits_text(page, alert, waits, sizeof waits));
    return tl_sheet_fold(sheet, (struct tl_area){row, COL_CAUSE, WIDTH_CAUSE, rows},
                         unacknowledged ? TL_INK_STRONG : TL_INK_PLAIN,
                         tl_cause_text(&alert->cause, alert->event, text, sizeof text));
}

/* What has gone can wait for its row: it has been told, or is an alarm no more. */
static bool
any_waits_for(const struct tl_belled *const *entry, uint32_t count, int place)
{
    for (uint32_t i = 0; i < count; i++) {
        const struct tl_alert *alert = &entry[i]->alert;
        if (tl_alert_is_active(alert) && tl_alert_waits_for_place(alert, place)) {
            return true;
        }
    }
    return false;
}

static void
draw_alerts(const struct tl_page *page, struct tl_sheet *sheet, uint32_t end,
            struct tl_page_drawn *drawn)
{
    const struct tl_belled *order[TL_ALERTS_MAX];
    uint32_t count = tl_page_alert_order(page->bell, order);
    drawn->alerts = end > ROW_ALERTS;
    drawn->all_owed = drawn->alerts;
    uint32_t waits = 0;
    uint32_t row = ROW_ALERTS;
    for (uint32_t i = 0; i < count; i++) {
        waits += tl_alert_waits_for(&order[i]->alert) != 0 ? 1 : 0;
    }
    tl_sheet_rule(sheet, ROW_COUNT, 0, TL_PAGE_COLS - 1, '-');
    if (!page->state->view->any_verdict) {
        (void)tl_sheet_put(sheet, ROW_COUNT, 1, TL_PAGE_COLS - 2, TL_INK_DOUBT,
                           " alerts not heard: those below are the last ones ");
    } else {
        (void)tl_sheet_print(sheet, ROW_COUNT, 1, TL_INK_PLAIN,
                             " %" PRIu32 " alert%s, %" PRIu32 " not acknowledged ", count,
                             count == 1 ? "" : "s", waits);
    }
    if (page->state->picture_old && !tl_ui_is_memory(page->state)) {
        (void)tl_sheet_put(sheet, ROW_COUNT, TL_PAGE_COLS - 14, 12, TL_INK_PLAIN, " rows older ");
    }
    for (uint32_t i = 0; i < count && row < end; i++) {
        if (row + 1 == end && i + 1 < count) {
            (void)tl_sheet_print(sheet, row, COL_SEVERITY, TL_INK_STRONG,
                                 "and %" PRIu32 " more: type 'alerts'", count - i);
            drawn->all_owed = !any_waits_for(&order[i], count - i, page->bell->place);
            return;
        }
        uint32_t room = end - row - (i + 1 < count ? 1 : 0);
        uint32_t most = i == 0 ? 3 : 1;
        uint32_t used = draw_alert(page, sheet, row, order[i], room < most ? room : most);
        row += used > 0 ? used : 1;
        if (drawn->first_owed == 0 &&
            tl_alert_waits_for_place(&order[i]->alert, page->bell->place)) {
            drawn->first_owed = order[i]->number;
        }
    }
}

/* Beside a wide page stands something else. */
static uint32_t
below_width(uint32_t cols)
{
    return cols >= WIDE_FROM ? TL_PAGE_COLS : cols;
}

static struct tl_sheet_size
size_of(const struct tl_sheet *sheet)
{
    return (struct tl_sheet_size){sheet->rows, sheet->cols};
}

bool
tl_page_is_whole(struct tl_sheet_size size)
{
    return size.rows >= TL_PAGE_ROWS && size.cols >= TL_PAGE_COLS;
}

/* The most rows that `below` may have on a screen of that size: facts and verdict stay. */
static uint32_t
below_most(struct tl_sheet_size size)
{
    if (tl_page_is_whole(size)) {
        return size.rows - ROW_ALERTS - ROWS_LAST;
    }
    return size.rows >= SMALL_ALL     ? size.rows - ROWS_SMALL
           : size.rows >= SMALL_LEAST ? size.rows - 1
                                      : 0;
}

/* The rows that it has, one at least. */
static uint32_t
below_rows(struct tl_sheet_size size, const char *below)
{
    uint32_t most = below_most(size);
    uint32_t wanted = tl_sheet_fold_rows(below, below_width(size.cols));
    wanted = wanted > 0 ? wanted : 1;
    return wanted < most ? wanted : most;
}

bool
tl_page_has_room(struct tl_sheet_size size, const char *below)
{
    return tl_sheet_fold_rows(below, below_width(size.cols)) <= below_most(size);
}

/* The rows from the one that is typed on. `below` has `rows` of them. */
static void
draw_below(const struct tl_page *page, struct tl_sheet *sheet, uint32_t rows,
           struct tl_page_drawn *drawn)
{
    uint32_t keys = sheet->rows - 1;
    uint32_t entry = keys - rows - 1;
    enum tl_ink ink = page->asks ? TL_INK_STRONG : TL_INK_PLAIN;
    struct tl_area area = {keys - rows, 0, below_width(sheet->cols), rows};
    (void)tl_sheet_fold(sheet, area, ink, page->below);
    (void)tl_sheet_put(sheet, keys, 0, sheet->cols - 1, TL_INK_PLAIN, page->keys);
    if (page->entry == NULL) {
        (void)tl_sheet_put(sheet, entry, 0, TL_SHEET_COLS_MAX, TL_INK_PLAIN, page->last);
    } else {
        uint32_t col = tl_sheet_put(sheet, entry, 0, 8, TL_INK_STRONG, "typing: ");
        size_t length = strlen(page->entry);
        size_t room = sheet->cols > col + 1 ? sheet->cols - col - 1 : 0;
        const char *end = page->entry + (length > room ? length - room : 0);
        drawn->col = tl_sheet_put(sheet, entry, col, TL_SHEET_COLS_MAX, TL_INK_STRONG, end);
        drawn->row = entry;
        drawn->cursor = true;
    }
}

static const char *
verdict_text(const struct tl_page *page, char *dst, size_t cap)
{
    const size_t used = page->was ? (size_t)snprintf(dst, cap, "WAS ") : 0;
    (void)tl_ui_verdict(page->state->view, dst + used, cap - used);
    return dst;
}

/* Too small for the page: the verdict and its first cause in full before all. */
static void
draw_small(const struct tl_page *page, struct tl_sheet *sheet, struct tl_page_drawn *drawn)
{
    char text[VERDICT_CAP];
    (void)verdict_text(page, text, sizeof text);
    if (sheet->cols < NARROW && page->state->view->word != TL_WORD_READY) {
        (void)snprintf(text, sizeof text, "NOT"); /* else a row would begin with READY */
    }
    uint32_t rows = below_rows(size_of(sheet), page->below);
    bool all = sheet->rows >= SMALL_ALL;
    uint32_t bottom = all ? rows + 2 : rows;
    uint32_t top = sheet->rows > bottom + 2 ? 1 : 0;
    if (top > 0) {
        draw_title(page, sheet);
    }
    (void)tl_sheet_fold(sheet, (struct tl_area){top, 0, sheet->cols, sheet->rows - bottom - top},
                        verdict_ink(page->state->view), text);
    if (all) {
        draw_below(page, sheet, rows, drawn);
    } else {
        (void)tl_sheet_fold(sheet, (struct tl_area){sheet->rows - bottom, 0, sheet->cols, rows},
                            page->asks ? TL_INK_STRONG : TL_INK_PLAIN,
                            page->asks || page->entry == NULL ? page->below : page->entry);
    }
}

void
tl_page_draw(const struct tl_page *page, struct tl_sheet *sheet, struct tl_page_drawn *drawn)
{
    struct tl_fact fact[TL_FACT_ROWS];
    char text[VERDICT_CAP];
    *drawn = (struct tl_page_drawn){.cursor = false};
    if (!tl_page_is_whole(size_of(sheet))) {
        if (sheet->rows > 0 && sheet->cols > 0) {
            draw_small(page, sheet, drawn);
        }
        return;
    }
    draw_title(page, sheet);
    (void)tl_sheet_put(sheet, ROW_VERDICT, 0, TL_SHEET_COLS_MAX, verdict_ink(page->state->view),
                       verdict_text(page, text, sizeof text));
    tl_ui_facts(page->state, page->self, fact);
    for (uint32_t i = 0; i < TL_FACT_ROWS; i++) {
        draw_fact(sheet, ROW_FACTS + i, (enum tl_fact_row)i, &fact[i]);
    }
    uint32_t rows = below_rows(size_of(sheet), page->below);
    uint32_t links = sheet->rows - ROWS_LAST - rows;
    draw_alerts(page, sheet, links, drawn);
    (void)tl_sheet_put(sheet, links, 0, TL_SHEET_COLS_MAX, TL_INK_PLAIN, page->links);
    draw_below(page, sheet, rows, drawn);
    if (sheet->cols >= WIDE_FROM) {
        tl_page_draw_wide(page, sheet, TL_PAGE_COLS + 2, links);
    }
}
