/* SPDX-License-Identifier: Apache-2.0 */
/* resets.c - see resets.h. */
#include "clients/logbook/resets.h"

#include <stdlib.h>
#include <string.h>

/* When every validator that judged a pass had said READY for it. */
struct ready {
    uint32_t validators;
    struct {
        const char *id;
        uint64_t first_ms; /* 0 = not yet */
    } of[TL_VALIDATORS_MAX];
};

/* A pass in the order of what happened to it. */
struct moment {
    size_t pass;
    uint64_t wall_ms;
    size_t word; /* place of the result */
};
struct moments {
    size_t count;
    struct moment *moment;
};

static bool
same_id(const char *a, const char *b)
{
    return strncmp(a, b, TL_ID_CAP) == 0;
}

static void
take_verdict(struct ready *ready, const struct tl_verdict_row *verdict)
{
    uint32_t i = 0;
    while (i < ready->validators && !same_id(ready->of[i].id, verdict->stated.node)) {
        i++;
    }
    if (i == TL_VALIDATORS_MAX) {
        return;
    }
    if (i == ready->validators) {
        ready->validators++;
        ready->of[i].id = verdict->stated.node;
    }
    if (verdict->ready && ready->of[i].first_ms == 0) {
        ready->of[i].first_ms = verdict->stated.wall_ms;
    }
}

/* 0 = it was not READY for all of them. */
static uint64_t
ready_ms(const struct ready *ready)
{
    uint64_t latest_ms = 0;
    for (uint32_t i = 0; i < ready->validators; i++) {
        if (ready->of[i].first_ms == 0) {
            return 0;
        }
        latest_ms = ready->of[i].first_ms > latest_ms ? ready->of[i].first_ms : latest_ms;
    }
    return latest_ms;
}

static int
compare_times(const void *a, const void *b)
{
    const struct moment *left = a;
    const struct moment *right = b;
    if (left->wall_ms != right->wall_ms) {
        return left->wall_ms < right->wall_ms ? -1 : 1;
    }
    return left->pass < right->pass ? -1 : 1;
}

static int
compare_words(const void *a, const void *b)
{
    const struct moment *left = a;
    const struct moment *right = b;
    if (left->word != right->word) {
        return left->word < right->word ? -1 : 1;
    }
    return left->pass < right->pass ? -1 : 1;
}

static enum tl_err
list_readies(const struct tl_book *book, const struct tl_passes *passes, struct moments *moments)
{
    struct ready *ready = calloc(passes->count + 1, sizeof *ready);
    moments->moment = calloc(passes->count + 1, sizeof *moments->moment);
    if (ready == NULL || moments->moment == NULL) {
        free(ready);
        return TL_NOMEM;
    }
    for (size_t i = 0; i < book->verdict_count; i++) {
        const struct tl_pass *pass = tl_passes_find(passes, book->verdict[i].event);
        if (pass != NULL) {
            take_verdict(&ready[pass - passes->pass], &book->verdict[i]);
        }
    }
    for (size_t i = 0; i < passes->count; i++) {
        uint64_t wall_ms = ready_ms(&ready[i]);
        if (wall_ms != 0) {
            moments->moment[moments->count++] = (struct moment){.pass = i, .wall_ms = wall_ms};
        }
    }
    qsort(moments->moment, moments->count, sizeof moments->moment[0], compare_times);
    free(ready);
    return TL_OK;
}

static enum tl_err
list_ends(const struct tl_passes *passes, struct moments *moments)
{
    moments->moment = calloc(passes->count + 1, sizeof *moments->moment);
    if (moments->moment == NULL) {
        return TL_NOMEM;
    }
    for (size_t i = 0; i < passes->count; i++) {
        const struct tl_pass *pass = &passes->pass[i];
        if (tl_pass_ended(pass)) {
            moments->moment[moments->count++] =
                (struct moment){i, pass->ended.wall_ms, pass->ended_at};
        }
    }
    qsort(moments->moment, moments->count, sizeof moments->moment[0], compare_words);
    return TL_OK;
}

/* Place of the first that is not before that time. */
static size_t
first_from(const struct moments *readies, uint64_t wall_ms)
{
    size_t low = 0;
    size_t high = readies->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        bool before = readies->moment[middle].wall_ms < wall_ms;
        low = before ? middle + 1 : low;
        high = before ? high : middle;
    }
    return low;
}

/* The first that became READY after one end and not after the next, in the same recovery. */
static const struct moment *
find_ready(const struct moments *readies, const struct tl_passes *passes, const struct moment *end,
           uint64_t until_ms)
{
    for (size_t i = first_from(readies, end->wall_ms);
         i < readies->count && readies->moment[i].wall_ms <= until_ms; i++) {
        const struct moment *ready = &readies->moment[i];
        if (ready->pass != end->pass && passes->pass[ready->pass].event.recovery_ms ==
                                            passes->pass[end->pass].event.recovery_ms) {
            return ready;
        }
    }
    return NULL;
}

static bool
is_for(const struct tl_word_row *word, const struct tl_pass *next)
{
    const struct tl_datum *datum = &word->datum;
    if (datum->kind == TL_DATUM_INBOUND && datum->slot != next->order.side) {
        return false;
    }
    return datum->stated_for_count == 0 || tl_datum_is_for(datum, next->event);
}

static void
take_word(struct tl_reset *reset, const struct tl_word_row *word)
{
    const char *station = tl_word_station(word);
    uint64_t after_ms = word->stated.wall_ms - reset->from_ms;
    uint32_t i = 0;
    while (i < reset->count && !same_id(reset->word[i].station, station)) {
        i++;
    }
    if (i == TL_STATIONS_MAX) {
        return;
    }
    if (i == reset->count) {
        memcpy(reset->word[reset->count++].station, station, TL_ID_CAP);
    } else if (after_ms < reset->word[i].after_ms) {
        return;
    }
    reset->word[i].after_ms = after_ms;
    reset->word[i].word = word;
}

static int
compare_parts(const void *a, const void *b)
{
    const struct tl_reset_word *left = a;
    const struct tl_reset_word *right = b;
    if (left->after_ms != right->after_ms) {
        return left->after_ms > right->after_ms ? -1 : 1;
    }
    return strncmp(left->station, right->station, TL_ID_CAP);
}

static void
take_words(const struct tl_book *book, const struct tl_passes *passes, size_t from,
           struct tl_reset *reset)
{
    const struct tl_pass *next = tl_passes_find(passes, reset->next);
    uint64_t until_ms = reset->from_ms + reset->ready_ms;
    size_t until = tl_pass_ended(next) ? next->ended_at : book->word_count;
    for (size_t i = from + 1; i < until; i++) {
        const struct tl_word_row *word = &book->word[i];
        bool in_time = word->stated.wall_ms >= reset->from_ms && word->stated.wall_ms <= until_ms;
        if (in_time && tl_word_counts(word) && !tl_datum_is_safeward(&word->datum) &&
            is_for(word, next)) {
            take_word(reset, word);
        }
    }
    qsort(reset->word, reset->count, sizeof reset->word[0], compare_parts);
    if (reset->count > 0) {
        uint64_t before_ms = reset->count > 1 ? reset->word[1].after_ms : 0;
        reset->margin_ms = reset->word[0].after_ms - before_ms;
    }
}

static void
add_reset(const struct tl_book *book, const struct tl_passes *passes, const struct moments *lists,
          size_t i, struct tl_reset *reset)
{
    const struct moments *ends = &lists[0];
    const struct moment *end = &ends->moment[i];
    const struct tl_pass *ended = &passes->pass[end->pass];
    uint64_t until_ms = i + 1 < ends->count && ends->moment[i + 1].wall_ms >= end->wall_ms
                            ? ends->moment[i + 1].wall_ms
                            : UINT64_MAX;
    const struct moment *ready = find_ready(&lists[1], passes, end, until_ms);
    bool last = i + 1 == ends->count || passes->pass[ends->moment[i + 1].pass].event.recovery_ms !=
                                            ended->event.recovery_ms;
    *reset = (struct tl_reset){.ended = ended->event,
                               .outcome = ended->result.outcome,
                               .drill = ended->drill,
                               .from_ms = end->wall_ms,
                               .was_last = last,
                               .was_ready = ready != NULL};
    if (ready != NULL) {
        reset->next = passes->pass[ready->pass].event;
        reset->ready_ms = ready->wall_ms - end->wall_ms;
        take_words(book, passes, end->word, reset);
    }
}

enum tl_err
tl_resets_fold(const struct tl_book *book, const struct tl_passes *passes, struct tl_resets *resets)
{
    struct moments lists[2] = {{0}, {0}}; /* ends, readies */
    enum tl_err err = list_ends(passes, &lists[0]);
    if (err == TL_OK) {
        err = list_readies(book, passes, &lists[1]);
    }
    if (err == TL_OK) {
        resets->reset = calloc(lists[0].count + 1, sizeof *resets->reset);
        err = resets->reset != NULL ? TL_OK : TL_NOMEM;
    }
    for (size_t i = 0; err == TL_OK && i < lists[0].count; i++) {
        add_reset(book, passes, lists, i, &resets->reset[resets->count++]);
    }
    free(lists[0].moment);
    free(lists[1].moment);
    return err;
}

void
tl_resets_free(struct tl_resets *resets)
{
    free(resets->reset);
    *resets = (struct tl_resets){0};
}

/* ---- over several ---- */

static struct tl_reset_part *
part_of(struct tl_reset_parts *parts, const char *station)
{
    for (uint32_t i = 0; i < parts->count; i++) {
        if (same_id(parts->part[i].station, station)) {
            return &parts->part[i];
        }
    }
    if (parts->count == TL_STATIONS_MAX) {
        return NULL;
    }
    struct tl_reset_part *part = &parts->part[parts->count++];
    memcpy(part->station, station, TL_ID_CAP);
    return part;
}

enum tl_err
tl_reset_parts_add(struct tl_reset_parts *parts, const struct tl_reset *reset)
{
    if (!reset->was_ready) {
        parts->never += reset->was_last ? 0 : 1;
        return TL_OK;
    }
    enum tl_err err = tl_values_add(&parts->ready_ms, reset->ready_ms);
    for (uint32_t i = 0; i < reset->count && err == TL_OK; i++) {
        struct tl_reset_part *part = part_of(parts, reset->word[i].station);
        if (part == NULL) {
            continue;
        }
        err = tl_values_add(&part->after_ms, reset->word[i].after_ms);
        part->last += i == 0 ? 1 : 0;
        part->margin_ms += i == 0 ? reset->margin_ms : 0;
    }
    return err;
}

static int
compare_margins(const void *a, const void *b)
{
    const struct tl_reset_part *left = a;
    const struct tl_reset_part *right = b;
    if (left->margin_ms != right->margin_ms) {
        return left->margin_ms > right->margin_ms ? -1 : 1;
    }
    return strncmp(left->station, right->station, TL_ID_CAP);
}

void
tl_reset_parts_close(struct tl_reset_parts *parts)
{
    tl_values_sort(&parts->ready_ms);
    for (uint32_t i = 0; i < parts->count; i++) {
        tl_values_sort(&parts->part[i].after_ms);
    }
    qsort(parts->part, parts->count, sizeof parts->part[0], compare_margins);
}

void
tl_reset_parts_free(struct tl_reset_parts *parts)
{
    for (uint32_t i = 0; i < parts->count; i++) {
        tl_values_free(&parts->part[i].after_ms);
    }
    tl_values_free(&parts->ready_ms);
    *parts = (struct tl_reset_parts){0};
}
