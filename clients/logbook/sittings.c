/* SPDX-License-Identifier: Apache-2.0 */
/* sittings.c - see sittings.h. */
#include "clients/logbook/sittings.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/logbook/passes.h"
#include "clients/logbook/signatures.h"
#include "clients/logbook/voices.h"

enum {
    FIRST_CAP = 32
};

/* Of a word of more nodes than a bus has. */
#define NO_SITTING SIZE_MAX

/* The sitting of each station that lasts, by place. */
struct seats {
    uint32_t count;
    struct {
        const char *station;
        size_t place;
    } seat[TL_NODES_MAX];
};

static bool
same_id(const char *a, const char *b)
{
    return strncmp(a, b, TL_ID_CAP) == 0;
}

static struct tl_sitting *
add(struct tl_sittings *sittings, const struct tl_word_row *word, const char *name)
{
    if (sittings->count == sittings->cap) {
        size_t cap = sittings->cap == 0 ? FIRST_CAP : 2 * sittings->cap;
        struct tl_sitting *sitting = realloc(sittings->sitting, cap * sizeof *sitting);
        if (sitting == NULL) {
            return NULL;
        }
        sittings->sitting = sitting;
        sittings->cap = cap;
    }
    struct tl_sitting *sitting = &sittings->sitting[sittings->count++];
    *sitting = (struct tl_sitting){.incarnation = word->stated.incarnation,
                                   .from_ms = word->stated.wall_ms,
                                   .to_ms = word->stated.wall_ms};
    memcpy(sitting->station, word->stated.node, TL_ID_CAP);
    (void)snprintf(sitting->name, sizeof sitting->name, "%s", name);
    return sitting;
}

static uint32_t
seat_of(struct seats *seats, const char *station)
{
    uint32_t i = 0;
    while (i < seats->count && !same_id(seats->seat[i].station, station)) {
        i++;
    }
    return i;
}

static void
end(struct tl_sitting *sitting, enum tl_sitting_end how, uint64_t wall_ms)
{
    sitting->end = how;
    sitting->to_ms = wall_ms;
}

static bool
is_watch(const struct tl_word_row *word)
{
    return word->datum.kind == TL_DATUM_WATCH && !tl_datum_is_voice(&word->datum) &&
           tl_word_counts(word);
}

static const char *
name_in(const struct tl_word_row *word)
{
    return is_watch(word) && word->datum.known ? word->datum.as.watch : "";
}

/* True when the word begins another sitting than the one that lasts; which then has its end. */
static bool
begins(struct tl_sitting *sitting, const struct tl_word_row *word)
{
    if (word->stated.incarnation > sitting->incarnation) {
        end(sitting, TL_SITTING_RESTART, sitting->to_ms);
        return true;
    }
    if (!is_watch(word) || word->stated.incarnation < sitting->incarnation ||
        strncmp(sitting->name, name_in(word), TL_NAME_CAP) == 0) {
        return false;
    }
    end(sitting, word->datum.known ? TL_SITTING_RELIEVED : TL_SITTING_LEFT, word->stated.wall_ms);
    return true;
}

static void
count_word(struct tl_sitting *sitting, const struct tl_word_row *word)
{
    sitting->to_ms = word->stated.wall_ms > sitting->to_ms ? word->stated.wall_ms : sitting->to_ms;
    sitting->words++;
    sitting->refused += tl_word_counts(word) ? 0 : 1;
    if (tl_word_counts(word) && word->datum.known) {
        sitting->results += word->datum.kind == TL_DATUM_RESULT ? 1 : 0;
        sitting->acknowledged += word->datum.kind == TL_DATUM_ACKNOWLEDGED ? 1 : 0;
    }
}

/* sitting_of: for each word of the book the place of its sitting. */
static enum tl_err
walk(const struct tl_book *book, struct tl_sittings *sittings, size_t *sitting_of)
{
    struct seats seats = {0};
    for (size_t i = 0; i < book->word_count; i++) {
        const struct tl_word_row *word = &book->word[i];
        uint32_t k = seat_of(&seats, word->stated.node);
        sitting_of[i] = NO_SITTING;
        if (k == TL_NODES_MAX) {
            continue;
        }
        bool first = k == seats.count;
        if (first || begins(&sittings->sitting[seats.seat[k].place], word)) {
            if (add(sittings, word, name_in(word)) == NULL) {
                return TL_NOMEM;
            }
            seats.count += first ? 1 : 0;
            seats.seat[k].station = word->stated.node;
            seats.seat[k].place = sittings->count - 1;
        }
        sitting_of[i] = seats.seat[k].place;
        count_word(&sittings->sitting[sitting_of[i]], word);
    }
    return TL_OK;
}

/* ---- what was signed, by whom in which sitting ---- */

static struct tl_sitting *
sitting_at(struct tl_sittings *sittings, const char *station, uint64_t wall_ms)
{
    struct tl_sitting *found = NULL;
    for (size_t i = 0; i < sittings->count; i++) {
        struct tl_sitting *sitting = &sittings->sitting[i];
        if (same_id(sitting->station, station) && sitting->from_ms <= wall_ms) {
            found = sitting;
        }
    }
    return found;
}

static enum tl_err
count_signatures(const struct tl_book *book, struct tl_sittings *sittings)
{
    struct tl_signatures signatures = {0};
    enum tl_err err = tl_signatures_fold(book, &signatures);
    for (size_t i = 0; i < signatures.count && err == TL_OK; i++) {
        const struct tl_signature *one = &signatures.one[i];
        struct tl_sitting *first = sitting_at(sittings, one->said_by, one->said_ms);
        struct tl_sitting *second = sitting_at(sittings, one->confirmed_by, one->confirmed_ms);
        if (first != NULL) {
            first->signed_first++;
        }
        if (second != NULL) {
            second->signed_second++;
        }
    }
    tl_signatures_free(&signatures);
    return err;
}

/* The sitting in which that word was said, or `none`. */
static struct tl_sitting *
sitting_in(struct tl_sittings *sittings, size_t place, struct tl_sitting *none)
{
    return place != NO_SITTING ? &sittings->sitting[place] : none;
}

static enum tl_err
count_voices(const struct tl_book *book, struct tl_sittings *sittings, const size_t *sitting_of)
{
    struct tl_voices voices = {0};
    enum tl_err err = tl_voices_fold(book, &voices);
    for (size_t i = 0; i < voices.count && err == TL_OK; i++) {
        const struct tl_voice *voice = &voices.voice[i];
        struct tl_sitting none = {0};
        sitting_in(sittings, sitting_of[voice->word - book->word], &none)->voiced_first++;
        if (voice->second != NULL) {
            sitting_in(sittings, sitting_of[voice->second - book->word], &none)->voiced_second++;
        }
    }
    tl_voices_free(&voices);
    return err;
}

/* A result that is another than the one said before for the same event. */
static enum tl_err
count_corrections(const struct tl_book *book, struct tl_sittings *sittings,
                  const size_t *sitting_of)
{
    const struct tl_word_row **last = calloc(book->word_count + 1, sizeof(void *));
    size_t count = 0;
    if (last == NULL) {
        return TL_NOMEM;
    }
    for (size_t i = 0; i < book->word_count; i++) {
        const struct tl_word_row *word = &book->word[i];
        if (word->datum.kind != TL_DATUM_RESULT || !word->datum.known || !tl_word_counts(word) ||
            word->datum.stated_for_count == 0) {
            continue;
        }
        size_t k = count;
        while (k > 0 &&
               !tl_event_equal(last[k - 1]->datum.stated_for[0], word->datum.stated_for[0])) {
            k--;
        }
        const struct tl_result *said = &word->datum.as.result;
        if (k > 0) {
            const struct tl_result *before = &last[k - 1]->datum.as.result;
            bool other = before->outcome != said->outcome || before->wire != said->wire;
            struct tl_sitting none = {0};
            sitting_in(sittings, sitting_of[i], &none)->corrections += other ? 1 : 0;
            last[k - 1] = word;
        } else {
            last[count++] = word;
        }
    }
    free(last);
    return TL_OK;
}

enum tl_err
tl_sittings_fold(const struct tl_book *book, struct tl_sittings *sittings)
{
    size_t *sitting_of = calloc(book->word_count + 1, sizeof *sitting_of);
    enum tl_err err = sitting_of != NULL ? walk(book, sittings, sitting_of) : TL_NOMEM;
    if (err == TL_OK) {
        err = count_signatures(book, sittings);
    }
    if (err == TL_OK) {
        err = count_voices(book, sittings, sitting_of);
    }
    if (err == TL_OK) {
        err = count_corrections(book, sittings, sitting_of);
    }
    free(sitting_of);
    return err;
}

void
tl_sittings_free(struct tl_sittings *sittings)
{
    free(sittings->sitting);
    *sittings = (struct tl_sittings){0};
}

const char *
tl_sitting_end_text(enum tl_sitting_end end)
{
    switch (end) {
    case TL_SITTING_RELIEVED:
        return "relieved";
    case TL_SITTING_LEFT:
        return "left";
    case TL_SITTING_RESTART:
        return "restart";
    case TL_SITTING_LASTS:
        break;
    }
    return NULL;
}
