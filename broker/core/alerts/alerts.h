/* SPDX-License-Identifier: Apache-2.0 */
/*
 * alerts.h - which alerts are active: causes that people must be told of, as instances.
 *
 * Pure. An instance is (rule, station, event, subject): the same in every validator and after a
 * restart, because the subject is a statement of a station and not "whichever came last". What is
 * pending raises nothing; what is wrong, overdue or a note does. States and words of ISA-18.2:
 *
 *   normal --cause--> UNACKNOWLEDGED --all who owe it acknowledge--> ACKNOWLEDGED
 *     ^                 |    ^                                           |
 *     |          cause gone  | cause again                          cause gone
 *     |                 v    |                                           |
 *     +--acknowledged-- RETURNED                              normal <---+
 *
 * Who owes an acknowledgement is in the rule's row: those who act, and primary. Where nobody does
 * the alert is ACKNOWLEDGED from the start. An acknowledgement silences and never clears. A
 * warning that has not been acknowledged for 60 s is an alarm. RETURNED ones leave after 10
 * minutes, or when their place is needed. An alert on a reading that swings about its limit stays
 * for 10 s after it has gone, acknowledged or not, so that it does not come again and again.
 */
#ifndef TL_CORE_ALERTS_ALERTS_H
#define TL_CORE_ALERTS_ALERTS_H

#include "broker/core/rules/decide.h"

enum {
    TL_RETURNED_MS = 600000,
    TL_SETTLE_MS = 10000, /* a measured one that has gone is kept for so long: no chattering */
    TL_FLOOD_MS = 600000, /* EEMUA 191: 10 alarms in 10 minutes are the most */
    TL_FLOOD_ALERTS = 10
};

struct tl_active_alert {
    struct tl_alert alert;
    uint64_t raised_ms;
    uint64_t returned_ms;
    uint64_t set; /* number of the alert set that listed it first; 0 = none yet */
};
struct tl_alert_book {
    uint32_t count; /* active ones first, then those that have returned */
    struct tl_active_alert active[TL_ALERTS_MAX];
    uint64_t raised; /* instances since the start */
    /* when the last alerts of each station (by place) were raised that it owes; a ring each */
    uint64_t owed_ms[TL_STATIONS_MAX][TL_FLOOD_ALERTS + 1];
    uint32_t owed_count[TL_STATIONS_MAX];
};

void tl_alert_book_init(struct tl_alert_book *book);

/*
 * Take a decision, and what the stations have acknowledged and shown. Returns true when anything
 * that people see of an alert has changed.
 */
bool tl_alert_book_update(struct tl_alert_book *book, const struct tl_decision *decision,
                          const struct tl_fold *fold, uint64_t now_ms);

/* Stations that have been given more than 10 alerts to acknowledge in 10 minutes; bits of place. */
uint32_t tl_alert_book_flood(const struct tl_alert_book *book, uint64_t now_ms);

/* Lay out the set with that number. */
void tl_alert_book_fill(struct tl_alert_book *book, uint64_t number, uint64_t now_ms,
                        struct tl_alert_set *set);

#endif
