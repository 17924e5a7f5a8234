/* SPDX-License-Identifier: Apache-2.0 */
/* drawn.c - see drawn.h. */
#include "tests/ui/drawn.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

struct drawn *
drawn_new(struct shown *shown)
{
    struct drawn *drawn = calloc(1, sizeof *drawn);
    assert_non_null(drawn);
    tl_bell_init(&drawn->bell, 0, NULL, NULL);
    drawn->page = (struct tl_page){.state = &shown->state,
                                   .bell = &drawn->bell,
                                   .title = "DECK",
                                   .clock = "14:03:22",
                                   .links = "bus-a up",
                                   .last = "",
                                   .below = "",
                                   .keys = "TAB FOUL",
                                   .mark_on = true};
    return drawn;
}

void
draw(struct drawn *drawn, uint32_t rows, uint32_t cols)
{
    tl_sheet_clear(&drawn->sheet, (struct tl_sheet_size){rows, cols});
    tl_page_draw(&drawn->page, &drawn->sheet, &drawn->drawn);
}

const char *
row(const struct drawn *drawn, uint32_t number)
{
    static char text[TL_SHEET_COLS_MAX + 1];
    return tl_sheet_text(&drawn->sheet, number, text, sizeof text);
}

bool
stands(const struct drawn *drawn, const char *text)
{
    for (uint32_t i = 0; i < drawn->sheet.rows; i++) {
        if (strstr(row(drawn, i), text) != NULL) {
            return true;
        }
    }
    return false;
}

struct tl_alert
alert_of(enum tl_rule rule, enum tl_severity severity, uint32_t owed, uint32_t acknowledged)
{
    struct tl_alert alert = {.severity = severity,
                             .state = TL_ALERT_UNACKNOWLEDGED,
                             .owed = owed,
                             .acknowledged = acknowledged,
                             .delivered = owed,
                             .raised_age_ms = 12000,
                             .event = shown_event};
    alert.cause = (struct tl_cause){
        .rule = rule, .state = TL_CAUSE_WRONG, .station = "deck", .subject = {"deck", 1, rule}};
    if ((owed & ~acknowledged) == 0) {
        alert.state = TL_ALERT_ACKNOWLEDGED;
    }
    return alert;
}
