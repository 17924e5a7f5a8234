/* SPDX-License-Identifier: Apache-2.0 */
/* would_words.c - what a setting would do, when a person reads it. See rules.h. */
#include <inttypes.h>
#include <stdio.h>

#include "proto/vocab/rules.h"

enum {
    TEN = 10,
    THOUSAND = 1000,
    FIGURE_CAP = 40
};

const char *
tl_grouped_text(uint32_t number, const char *unit, char *dst, size_t cap)
{
    const uint32_t thousands = number / THOUSAND;
    if (thousands >= THOUSAND) {
        (void)snprintf(dst, cap, "%" PRIu32 ",%03" PRIu32 ",%03" PRIu32 " %s", thousands / THOUSAND,
                       thousands % THOUSAND, number % THOUSAND, unit);
    } else if (thousands > 0) {
        (void)snprintf(dst, cap, "%" PRIu32 ",%03" PRIu32 " %s", thousands, number % THOUSAND,
                       unit);
    } else {
        (void)snprintf(dst, cap, "%" PRIu32 " %s", number, unit);
    }
    return dst;
}

static uint32_t
whole_up(uint32_t tenths)
{
    return tenths / TEN + (tenths % TEN != 0 ? 1 : 0);
}

/* A cable that parts does so before the ram can bottom: the run would end there. */
const char *
tl_would_end_text(const struct tl_would *would, char *dst, size_t cap)
{
    char figure[FIGURE_CAP];
    if (would->parts || would->bottoms) {
        (void)snprintf(dst, cap, "%s with %" PRIu32 " kn left",
                       would->parts ? "cable past its strength" : "ram bottoms",
                       whole_up(would->end_kt_x10));
    } else {
        (void)snprintf(
            dst, cap, "stops in %s",
            tl_grouped_text(whole_up(would->runout_ft_x10), "ft", figure, sizeof figure));
    }
    return dst;
}

const char *
tl_would_text(const struct tl_would *would, char *dst, size_t cap)
{
    char end[TL_TEXT_CAP];
    char figure[FIGURE_CAP];
    (void)tl_would_end_text(would, end, sizeof end);
    if (would->parts) { /* what the hook would still feel is of no use to anyone */
        (void)snprintf(dst, cap, "%s", end);
    } else {
        (void)snprintf(dst, cap, "%s, hook load to %s", end,
                       tl_grouped_text(would->hook_lbf, "lbf", figure, sizeof figure));
    }
    return dst;
}
