/* SPDX-License-Identifier: Apache-2.0 */
/* hours.c - see hours.h. */
#include "clients/logbook/hours.h"

#include <stdlib.h>

enum {
    FIRST_CAP = 16
};
static const uint64_t day_ms = 86400000u;

static enum tl_err
add(struct tl_open_times *times, const struct tl_word_row *word)
{
    if (times->time == NULL || times->count == times->cap) {
        size_t cap = times->cap == 0 ? FIRST_CAP : 2 * times->cap;
        struct tl_open_time *time = realloc(times->time, cap * sizeof *time);
        if (time == NULL) {
            return TL_NOMEM;
        }
        times->time = time;
        times->cap = cap;
    }
    times->time[times->count++] =
        (struct tl_open_time){.recovery_ms = word->datum.as.recovery.recovery_ms,
                              .from_ms = word->stated.wall_ms,
                              .to_ms = word->stated.wall_ms,
                              .drill = word->datum.as.recovery.drill};
    return TL_OK;
}

static void
close_last(struct tl_open_times *times, uint64_t wall_ms)
{
    struct tl_open_time *last = times->count > 0 ? &times->time[times->count - 1] : NULL;
    if (last != NULL && !last->closed) {
        last->to_ms = wall_ms > last->from_ms ? wall_ms : last->from_ms;
        last->closed = true;
    }
}

static enum tl_err
take_word(struct tl_open_times *times, const struct tl_word_row *word)
{
    const struct tl_recovery *recovery = &word->datum.as.recovery;
    struct tl_open_time *last = times->count > 0 ? &times->time[times->count - 1] : NULL;
    bool same = last != NULL && last->recovery_ms == recovery->recovery_ms;
    if (recovery->state != TL_RECOVERY_OPEN) {
        if (same) {
            close_last(times, word->stated.wall_ms);
        }
        return TL_OK;
    }
    if (same && !last->closed) {
        last->drill = last->drill || recovery->drill; /* said again, or resumed */
        return TL_OK;
    }
    close_last(times, word->stated.wall_ms);
    return add(times, word);
}

static void
stretch(struct tl_open_time *last, uint64_t wall_ms)
{
    if (!last->closed && wall_ms > last->to_ms && wall_ms - last->from_ms < day_ms) {
        last->to_ms = wall_ms;
    }
}

enum tl_err
tl_open_times_fold(const struct tl_book *book, struct tl_open_times *times)
{
    enum tl_err err = TL_OK;
    for (size_t i = 0; i < book->word_count && err == TL_OK; i++) {
        const struct tl_word_row *word = &book->word[i];
        if (word->datum.kind == TL_DATUM_RECOVERY && word->datum.known && tl_word_counts(word)) {
            err = take_word(times, word);
        }
    }
    if (times->count == 0) {
        return err;
    }
    struct tl_open_time *last = &times->time[times->count - 1];
    for (size_t i = 0; i < book->word_count; i++) {
        stretch(last, book->word[i].stated.wall_ms);
    }
    for (size_t i = 0; i < book->verdict_count; i++) {
        stretch(last, book->verdict[i].stated.wall_ms);
    }
    for (size_t i = 0; i < book->alert_count; i++) {
        stretch(last, book->alert[i].stated.wall_ms);
    }
    return err;
}

void
tl_open_times_free(struct tl_open_times *times)
{
    free(times->time);
    *times = (struct tl_open_times){0};
}

void
tl_open_times_cut(struct tl_open_times *times, const struct tl_time_span *span)
{
    size_t kept = 0;
    for (size_t i = 0; i < times->count; i++) {
        struct tl_open_time time = times->time[i];
        time.from_ms = time.from_ms < span->from_ms ? span->from_ms : time.from_ms;
        time.to_ms = time.to_ms > span->to_ms ? span->to_ms : time.to_ms;
        if (time.from_ms <= time.to_ms) {
            times->time[kept++] = time;
        }
    }
    times->count = kept;
}

const struct tl_open_time *
tl_open_time_at(const struct tl_open_times *times, uint64_t wall_ms)
{
    for (size_t i = 0; i < times->count; i++) {
        if (wall_ms >= times->time[i].from_ms && wall_ms <= times->time[i].to_ms) {
            return &times->time[i];
        }
    }
    return NULL;
}

uint64_t
tl_open_times_sum(const struct tl_open_times *times)
{
    uint64_t sum_ms = 0;
    for (size_t i = 0; i < times->count; i++) {
        sum_ms += times->time[i].to_ms - times->time[i].from_ms;
    }
    return sum_ms;
}
