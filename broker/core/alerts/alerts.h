/* SPDX-License-Identifier: Apache-2.0 */
/*
 * alerts.h - which alerts are active: causes that people must be told of, as instances.
 *
 * Pure. An instance is (rule, station, event, subject): the same in every validator and after a
 * restart, because the subject is a statement of a station and not "whichever came last". What is
 * pending raises nothing; what is wrong, overdue or a note does, and is gone when its cause is.
 */
#ifndef TL_CORE_ALERTS_ALERTS_H
#define TL_CORE_ALERTS_ALERTS_H

#include "broker/core/rules/decide.h"

struct tl_active_alert {
    struct tl_alert alert;
    uint64_t raised_ms;
};
struct tl_alert_book {
    uint32_t count;
    struct tl_active_alert active[TL_ALERTS_MAX];
    uint64_t raised; /* since start */
    uint64_t cleared;
};

void tl_alert_book_init(struct tl_alert_book *book);

/* Take a decision. Returns true when an alert was raised or cleared. */
bool tl_alert_book_update(struct tl_alert_book *book, const struct tl_decision *decision,
                          struct tl_event current, uint64_t now_ms);

void tl_alert_book_fill(const struct tl_alert_book *book, uint64_t now_ms,
                        struct tl_alert_set *set);

#endif
