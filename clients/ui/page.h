/* SPDX-License-Identifier: Apache-2.0 */
/*
 * page.h - one page for every screen: the same things in the same places at every station.
 *
 *   row 1        who this is, the event as understood here, the time of day, the live mark
 *   row 2        the verdict: its word always in the same cells, then the first cause
 *   rows 3-12    the ten facts (facts.h): what, value, needed, how it stands, age, from whom
 *   row 13       how many alerts, and how many wait
 *   rows 14-20   alerts, those that nobody has acknowledged first; the first of them in full
 *   row 21       validators, buses, recorder
 *   rows 22-23   what is typed; the read-back, or what became of the last word
 *   row 24       the keys that act now
 *
 * What is read back, or answered, is never cut: it takes more rows, and those above it move up into
 * the alerts.
 *
 * Pure. 80x24 is complete. More rows and columns show more beside it (page_wide.c); fewer show the
 * verdict and its first cause in full, and the last three rows.
 */
#ifndef TL_UI_PAGE_H
#define TL_UI_PAGE_H

#include "clients/ui/facts.h"
#include "clients/ui/sheet.h"

enum {
    TL_PAGE_ROWS = 24,
    TL_PAGE_COLS = 80
};

struct tl_page {
    const struct tl_ui_state *state;
    const struct tl_node *self; /* NULL = a viewer */
    const struct tl_bell *bell; /* the alerts, with their numbers */
    const char *title;          /* "engine 3", shown in capitals */
    bool was;                   /* of a record: the verdict begins with "WAS", nothing moves */
    const char *clock;          /* "14:03:22" */
    uint32_t turn;              /* moves the live mark; from the loop that paints */
    bool mark_on;               /* of what is not acknowledged */
    const char *links;
    const char *entry; /* what is typed; NULL = nothing is being typed */
    const char *last;  /* the last own word, and how far it has come */
    const char *below; /* the read-back, or the last message */
    bool asks;         /* `below` waits for the confirm key */
    const char *keys;
};

/* What came to stand on it. */
struct tl_page_drawn {
    bool cursor; /* something is typed, at that place */
    uint32_t row, col;
    bool alerts;         /* there is room for alerts: those of it, and how many more */
    bool all_owed;       /* each active one that this station owes has a row */
    uint32_t first_owed; /* number of the alert that this station owes first, 0 = it has no row */
};

/* Whether a screen of that size has the whole page, with its facts. */
bool tl_page_is_whole(struct tl_sheet_size size);
/*
 * Whether a screen of that size shows all of `below`, and the verdict. What it does not show must not
 * be confirmed.
 */
bool tl_page_has_room(struct tl_sheet_size size, const char *below);

/* Write the whole page into a sheet that has been cleared to the size of the screen. */
void tl_page_draw(const struct tl_page *page, struct tl_sheet *sheet, struct tl_page_drawn *drawn);

/* "14:03:22", this host's time. Returns dst. */
const char *tl_page_clock(uint64_t wall_ms, char *dst, size_t cap);
/* Sets what moves with the time: the live mark twice a second, the other one eight times. */
void tl_page_time(struct tl_page *page, uint64_t now_ms);

/* The alerts of a bell in the order of the page; returns how many. `order` takes TL_ALERTS_MAX. */
uint32_t tl_page_alert_order(const struct tl_bell *bell, const struct tl_belled **order);
/* The alert that stands first and that this station owes, or NULL. */
const struct tl_belled *tl_page_first_owed(const struct tl_bell *bell);

/* page_wide.c: what a larger screen shows beside the 80x24, from column `col` on and above row `end`. */
void tl_page_draw_wide(const struct tl_page *page, struct tl_sheet *sheet, uint32_t col,
                       uint32_t end);

#endif
