/* SPDX-License-Identifier: Apache-2.0 */
/* drawn.h - a page of the deck's screen drawn into cells, to be looked at. */
#ifndef TESTS_UI_DRAWN_H
#define TESTS_UI_DRAWN_H

#include "clients/ui/page.h"
#include "tests/ui/shown.h"

struct drawn {
    struct tl_bell bell;
    struct tl_page page;
    struct tl_page_drawn drawn;
    struct tl_sheet sheet;
};

/* The page of that picture, without alerts; to be freed. */
struct drawn *drawn_new(struct shown *shown);
void draw(struct drawn *drawn, uint32_t rows, uint32_t cols);
/* A row as text, valid until the next call. */
const char *row(const struct drawn *drawn, uint32_t number);
/* Whether that text stands in some row. */
bool stands(const struct drawn *drawn, const char *text);
/* An active alert of that event; places as bits. */
struct tl_alert alert_of(enum tl_rule rule, enum tl_severity severity, uint32_t owed,
                         uint32_t acknowledged);

#endif
