/* SPDX-License-Identifier: Apache-2.0 */
/* book.c - see book.h. */
#include "clients/logbook/book.h"

#include <stdlib.h>
#include <string.h>

enum {
    FIRST_CAP = 64
};

/* An array of this room: where it is, and its two counters. */
struct array {
    void **data;
    size_t *count, *cap;
    size_t size, most;
};

static void *
add(const struct array *array, enum tl_err *err)
{
    if (*array->count == array->most) {
        *err = TL_FULL;
        return NULL;
    }
    if (*array->count == *array->cap) {
        size_t cap = *array->cap == 0 ? FIRST_CAP : 2 * *array->cap;
        void *data = realloc(*array->data, cap * array->size);
        if (data == NULL) {
            *err = TL_NOMEM;
            return NULL;
        }
        *array->data = data;
        *array->cap = cap;
    }
    void *row = (char *)*array->data + *array->count * array->size;
    memset(row, 0, array->size);
    ++*array->count;
    return row;
}

#define ADD(book, name, most_rows)                                                                 \
    void *data = (book)->name;                                                                     \
    void *row = add(&(struct array){&data, &(book)->name##_count, &(book)->name##_cap,             \
                                    sizeof *(book)->name, (most_rows)},                            \
                    err);                                                                          \
    (book)->name = data;                                                                           \
    return row

struct tl_word_row *
tl_book_word(struct tl_book *book, enum tl_err *err)
{
    ADD(book, word, TL_BOOK_WORDS_MAX);
}

struct tl_verdict_row *
tl_book_verdict(struct tl_book *book, enum tl_err *err)
{
    ADD(book, verdict, TL_BOOK_ROWS_MAX);
}

struct tl_alert_row *
tl_book_alert(struct tl_book *book, enum tl_err *err)
{
    ADD(book, alert, TL_BOOK_ROWS_MAX);
}

struct tl_wind_row *
tl_book_wind(struct tl_book *book, enum tl_err *err)
{
    ADD(book, wind, TL_BOOK_ROWS_MAX);
}

struct tl_loss_row *
tl_book_loss(struct tl_book *book, enum tl_err *err)
{
    ADD(book, loss, TL_BOOK_ROWS_MAX);
}

struct tl_gap_row *
tl_book_gap(struct tl_book *book, enum tl_err *err)
{
    ADD(book, gap, TL_BOOK_ROWS_MAX);
}

struct tl_predicted_row *
tl_book_predicted(struct tl_book *book, enum tl_err *err)
{
    ADD(book, predicted, TL_BOOK_ROWS_MAX);
}

void
tl_book_free(struct tl_book *book)
{
    for (size_t i = 0; i < book->word_count; i++) {
        free(book->word[i].text);
    }
    free(book->word);
    free(book->verdict);
    free(book->alert);
    free(book->wind);
    free(book->loss);
    free(book->gap);
    free(book->predicted);
    *book = (struct tl_book){0};
}

uint64_t
tl_book_newest_recovery(const struct tl_book *book)
{
    uint64_t newest = 0;
    for (size_t i = 0; i < book->word_count; i++) {
        const struct tl_word_row *word = &book->word[i];
        const struct tl_datum *datum = &word->datum;
        if (!tl_word_counts(word)) {
            continue;
        }
        if (datum->kind == TL_DATUM_RECOVERY && datum->known &&
            datum->as.recovery.recovery_ms > newest) {
            newest = datum->as.recovery.recovery_ms;
        }
        for (uint32_t k = 0; datum->kind == TL_DATUM_ORDER && k < datum->stated_for_count; k++) {
            newest = datum->stated_for[k].recovery_ms > newest ? datum->stated_for[k].recovery_ms
                                                               : newest;
        }
    }
    return newest;
}

const char *
tl_word_station(const struct tl_word_row *word)
{
    return tl_datum_is_voice(&word->datum) ? word->datum.voice_for : word->stated.node;
}

bool
tl_word_counts(const struct tl_word_row *word)
{
    return word->refused[0] == '\0';
}
