/* SPDX-License-Identifier: Apache-2.0 */
/*
 * events.h - which aircraft is next: the list, its results, and the current event.
 *
 * Pure. Primary alone assigns events; the platform's results end them. The current event is the
 * first on the list with neither a result nor a cancellation: computed from each station's own
 * state, so that it is the same in every validator whatever came first.
 *
 * Invariants:
 *  1. An event that has once had a result here stays ended while it is on the list, whatever the
 *     platform's incarnation.
 *  2. When the current event changes, every READY-ward event word for the one left is void for
 *     good: barred, and told to its station as refused.
 *  3. After a restart of primary, and when it takes its recovery back, the last list is kept and
 *     READY withheld until it speaks of a recovery.
 *  4. A validator that has not heard the platform since it started knows no results: it names no
 *     current event, and says so (results_heard), so that no station gives up words by its verdict.
 */
#ifndef TL_CORE_EVENTS_EVENTS_H
#define TL_CORE_EVENTS_EVENTS_H

#include "broker/core/picture/fold.h"

/* Recompute the list after any fold. Returns true when list or current event changed. */
bool tl_events_update(struct tl_fold *fold, uint64_t now_ms);

/* The listed event, or NULL. */
const struct tl_listed_event *tl_events_find(const struct tl_list *list, struct tl_event event);

/* The current event, or NULL when there is none. */
const struct tl_listed_event *tl_events_current(const struct tl_list *list);

/*
 * May this change toward READY name its events? UNKNOWN = yes. *wait is set when it must be left
 * unreceipted: the order that it speaks of may be on its way.
 */
enum tl_refusal tl_events_check(const struct tl_fold *fold, const struct tl_datum *datum,
                                bool *wait);

#endif
