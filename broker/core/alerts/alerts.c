/* SPDX-License-Identifier: Apache-2.0 */
/* alerts.c - see alerts.h. */
#include "broker/core/alerts/alerts.h"

#include <string.h>

void
tl_alert_book_init(struct tl_alert_book *book)
{
    memset(book, 0, sizeof *book);
}

static bool
is_told(const struct tl_cause *cause)
{
    return cause->state == TL_CAUSE_WRONG || cause->state == TL_CAUSE_OVERDUE ||
           cause->state == TL_CAUSE_NOTE;
}

static uint64_t
raised_before(const struct tl_alert_book *book, const struct tl_alert *alert, bool *found)
{
    for (uint32_t i = 0; i < book->count; i++) {
        if (tl_alert_same_instance(&book->active[i].alert, alert)) {
            *found = true;
            return book->active[i].raised_ms;
        }
    }
    *found = false;
    return 0;
}

bool
tl_alert_book_update(struct tl_alert_book *book, const struct tl_decision *decision,
                     struct tl_event current, uint64_t now_ms)
{
    struct tl_alert_book next = {.raised = book->raised, .cleared = book->cleared};
    uint32_t kept = 0;
    for (uint32_t i = 0; i < decision->cause_count && next.count < TL_ALERTS_MAX; i++) {
        const struct tl_cause *cause = &decision->cause[i];
        const struct tl_rule_row *row = tl_rule_row(cause->rule);
        if (!is_told(cause) || row == NULL) {
            continue;
        }
        struct tl_active_alert *active = &next.active[next.count++];
        active->alert.cause = *cause;
        active->alert.severity = row->severity;
        if (row->kind == TL_CAUSE_SHIP) {
            active->alert.event = current;
        }
        bool found = false;
        uint64_t before_ms = raised_before(book, &active->alert, &found);
        active->raised_ms = found ? before_ms : now_ms;
        kept += found ? 1 : 0;
    }
    next.raised += next.count - kept;
    next.cleared += book->count > kept ? book->count - kept : 0;
    bool changed = next.count != kept || book->count != kept;
    *book = next;
    return changed;
}

void
tl_alert_book_fill(const struct tl_alert_book *book, uint64_t now_ms, struct tl_alert_set *set)
{
    set->alert_count = book->count;
    for (uint32_t i = 0; i < book->count; i++) {
        uint64_t age_ms = now_ms - book->active[i].raised_ms;
        set->alert[i] = book->active[i].alert;
        set->alert[i].raised_age_ms = age_ms > UINT32_MAX ? UINT32_MAX : (uint32_t)age_ms;
    }
}
