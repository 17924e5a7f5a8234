/* SPDX-License-Identifier: Apache-2.0 */
/*
 * resets.h - where the seconds go: from the end of a pass to the first READY of the next one.
 *
 * Pure but for the heap. A reset begins with the first result of a pass, by the platform's clock,
 * and ends when every validator that judged the next event has said READY for it, by the latest of
 * their clocks; it must be before another pass ends. Each station's part is its last accepted word
 * toward READY in between, for that event or for none, by its own clock. Hosts whose clocks differ
 * shift these figures by the difference: the record has no common one.
 *
 * The station whose word was the last was waited for; `margin` is what it took more than the one
 * before it. A station that had said all before the pass ended is not in the list.
 */
#ifndef CLIENTS_LOGBOOK_RESETS_H
#define CLIENTS_LOGBOOK_RESETS_H

#include "clients/logbook/passes.h"
#include "clients/logbook/stats.h"

struct tl_reset_word {
    char station[TL_ID_CAP];
    uint64_t after_ms; /* since the end of the pass */
    const struct tl_word_row *word;
};

struct tl_reset {
    struct tl_event ended, next;
    enum tl_outcome outcome; /* of the one that ended */
    bool drill;
    uint64_t from_ms;
    bool was_last;     /* no other pass of the recovery ended after it */
    bool was_ready;    /* before another pass ended */
    uint64_t ready_ms; /* since from_ms */
    uint32_t count;
    struct tl_reset_word word[TL_STATIONS_MAX]; /* the last one first */
    uint64_t margin_ms;                         /* of word[0] against word[1], or against the end */
};
struct tl_resets {
    size_t count;
    struct tl_reset *reset; /* as the passes ended */
};

/* resets: zeroed; freed by the caller. The book stays until then. TL_NOMEM. */
TL_MUST_USE enum tl_err tl_resets_fold(const struct tl_book *book, const struct tl_passes *passes,
                                       struct tl_resets *resets);
void tl_resets_free(struct tl_resets *resets);

/* One station over several resets. */
struct tl_reset_part {
    char station[TL_ID_CAP];
    uint32_t last;      /* resets in which it was waited for */
    uint64_t margin_ms; /* sum of what it took more in those */
    struct tl_values after_ms;
};
struct tl_reset_parts {
    uint32_t count;
    struct tl_reset_part part[TL_STATIONS_MAX]; /* most margin first; values sorted */
    struct tl_values ready_ms;                  /* of the resets that ended READY; sorted */
    uint32_t never;                             /* another pass ended without a READY before it */
};
/* Of the resets that are asked for. parts: zeroed; freed by the caller. TL_NOMEM. */
TL_MUST_USE enum tl_err tl_reset_parts_add(struct tl_reset_parts *parts,
                                           const struct tl_reset *reset);
void tl_reset_parts_close(struct tl_reset_parts *parts);
void tl_reset_parts_free(struct tl_reset_parts *parts);

#endif
