/* SPDX-License-Identifier: Apache-2.0 */
/*
 * hours.h - when recoveries were open: the time that rates of alerts are of.
 *
 * Pure but for the heap. From "recovery open" to the word that closes it or opens another one; a
 * recovery that nobody closed lasts to the last row of the record that is of its day.
 */
#ifndef CLIENTS_LOGBOOK_HOURS_H
#define CLIENTS_LOGBOOK_HOURS_H

#include "clients/logbook/book.h"

struct tl_open_time {
    uint64_t recovery_ms;
    uint64_t from_ms, to_ms;
    bool drill;
    bool closed; /* by a word */
};
struct tl_open_times {
    size_t count, cap;
    struct tl_open_time *time;
};

/* In the order of their words. times: zeroed; freed by the caller. TL_NOMEM. */
TL_MUST_USE enum tl_err tl_open_times_fold(const struct tl_book *book, struct tl_open_times *times);
void tl_open_times_free(struct tl_open_times *times);

struct tl_time_span {
    uint64_t from_ms, to_ms;
};
/* Cut to a span; what is outside of it is gone. */
void tl_open_times_cut(struct tl_open_times *times, const struct tl_time_span *span);

/* NULL = at no open time. */
const struct tl_open_time *tl_open_time_at(const struct tl_open_times *times, uint64_t wall_ms);
uint64_t tl_open_times_sum(const struct tl_open_times *times);

#endif
