/* SPDX-License-Identifier: Apache-2.0 */
/* links.c - see links.h. */
#include "clients/ui/links.h"

#include <stdio.h>

enum {
    LATE_MS = 500 /* a verdict comes every 200 ms, and is lost at 800 */
};

void
tl_ui_links(struct tl_seat *seat, uint64_t now_ms, char *dst, size_t cap)
{
    const struct tl_hear *hear = &seat->member.hear;
    const struct tl_outbox *box = &seat->member.outbox;
    size_t used = 0;
    if (tl_seat_trouble(seat, now_ms, dst, cap)) {
        return;
    }
    for (uint32_t i = 0; i < hear->count && used < cap; i++) {
        const struct tl_heard *heard = &hear->validator[i];
        uint64_t age_ms = tl_heard_verdict_age_ms(heard, now_ms);
        const char *word = age_ms < LATE_MS ? "heard" : "LATE";
        int n = snprintf(dst + used, cap - used, "%s %s  ", heard->id,
                         tl_heard_is_fresh(heard, now_ms) ? word : "NOT HEARD");
        used += n > 0 ? (size_t)n : 0;
    }
    for (uint32_t i = 0; i < tl_link_bus_count(seat->join.link) && used < cap; i++) {
        const struct tl_bus_health *bus = tl_link_bus(seat->join.link, i);
        int n = snprintf(dst + used, cap - used, "%s %s  ", bus->id,
                         bus->state == TL_BUS_UP ? "up" : "DOWN");
        used += n > 0 ? (size_t)n : 0;
    }
    if (used < cap && box->recorder) {
        (void)snprintf(dst + used, cap - used, "%s",
                       box->recorded >= box->last ? "all recorded" : "NOT ALL RECORDED");
    }
}
