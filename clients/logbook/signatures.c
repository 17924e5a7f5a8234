/* SPDX-License-Identifier: Apache-2.0 */
/* signatures.c - see signatures.h. */
#include "clients/logbook/signatures.h"

#include <stdlib.h>
#include <string.h>

enum {
    FIRST_CAP = 16,
    MS_PER_S = 1000
};

static bool
same_id(const char *a, const char *b)
{
    return strncmp(a, b, TL_ID_CAP) == 0;
}

static bool
signed_by(const struct tl_signature *signature, const char *node)
{
    return same_id(signature->said_by, node) || same_id(signature->confirmed_by, node);
}

static bool
is_open(const struct tl_signature *signature, uint64_t wall_ms)
{
    return signature->ended_by[0] == '\0' &&
           (signature->until_ms == 0 || wall_ms < signature->until_ms);
}

static uint64_t
expiry_ms(const struct tl_word_row *word)
{
    uint32_t valid_s = word->datum.as.override.valid_s;
    return valid_s != 0 ? word->stated.wall_ms + (uint64_t)valid_s * MS_PER_S : 0;
}

static uint64_t
earlier(uint64_t a, uint64_t b)
{
    return a == 0 || (b != 0 && b < a) ? b : a;
}

static enum tl_err
add(struct tl_signatures *signatures, const struct tl_word_row *word)
{
    if (signatures->count == signatures->cap) {
        size_t cap = signatures->cap == 0 ? FIRST_CAP : 2 * signatures->cap;
        struct tl_signature *one = realloc(signatures->one, cap * sizeof *one);
        if (one == NULL) {
            return TL_NOMEM;
        }
        signatures->one = one;
        signatures->cap = cap;
    }
    struct tl_signature *signature = &signatures->one[signatures->count++];
    *signature = (struct tl_signature){.override = word->datum.as.override,
                                       .slot = word->datum.slot,
                                       .said_ms = word->stated.wall_ms,
                                       .said_incarnation = word->stated.incarnation,
                                       .until_ms = expiry_ms(word)};
    memcpy(signature->said_by, word->stated.node, TL_ID_CAP);
    return TL_OK;
}

static uint64_t
between(uint64_t a, uint64_t b)
{
    return a > b ? a - b : b - a;
}

/* The second signature makes it live; the same one again begins another. */
static enum tl_err
take_signature(struct tl_signatures *signatures, const struct tl_word_row *word)
{
    uint64_t now_ms = word->stated.wall_ms;
    for (size_t i = signatures->count; i > 0; i--) {
        struct tl_signature *signature = &signatures->one[i - 1];
        bool waits = signature->slot == word->datum.slot && signature->confirmed_by[0] == '\0' &&
                     is_open(signature, now_ms) && !same_id(signature->said_by, word->stated.node);
        if (waits && between(now_ms, signature->said_ms) <= TL_CONFIRM_BY_MS) {
            memcpy(signature->confirmed_by, word->stated.node, TL_ID_CAP);
            signature->confirmed_ms = now_ms;
            signature->confirmed_incarnation = word->stated.incarnation;
            signature->until_ms = earlier(signature->until_ms, expiry_ms(word));
            return TL_OK;
        }
    }
    return add(signatures, word);
}

static void
end(struct tl_signature *signature, const struct tl_word_row *word, bool restarted)
{
    memcpy(signature->ended_by, word->stated.node, TL_ID_CAP);
    signature->ended_ms = word->stated.wall_ms;
    signature->restarted = restarted;
}

/* A word of a new life says that nothing of the old one stands. */
static void
end_by_restart(struct tl_signatures *signatures, const struct tl_word_row *word)
{
    for (size_t i = 0; i < signatures->count; i++) {
        struct tl_signature *signature = &signatures->one[i];
        bool first = same_id(signature->said_by, word->stated.node) &&
                     word->stated.incarnation > signature->said_incarnation;
        bool second = same_id(signature->confirmed_by, word->stated.node) &&
                      word->stated.incarnation > signature->confirmed_incarnation;
        if ((first || second) && is_open(signature, word->stated.wall_ms)) {
            end(signature, word, true);
        }
    }
}

static void
end_by_word(struct tl_signatures *signatures, const struct tl_word_row *word)
{
    for (size_t i = 0; i < signatures->count; i++) {
        struct tl_signature *signature = &signatures->one[i];
        if (signature->slot == word->datum.slot && signed_by(signature, word->stated.node) &&
            is_open(signature, word->stated.wall_ms)) {
            end(signature, word, false);
        }
    }
}

enum tl_err
tl_signatures_fold(const struct tl_book *book, struct tl_signatures *signatures)
{
    enum tl_err err = TL_OK;
    for (size_t i = 0; i < book->word_count && err == TL_OK; i++) {
        const struct tl_word_row *word = &book->word[i];
        end_by_restart(signatures, word);
        if (word->datum.kind != TL_DATUM_OVERRIDE || !tl_word_counts(word)) {
            continue;
        }
        if (word->datum.known) {
            err = take_signature(signatures, word);
        } else {
            end_by_word(signatures, word);
        }
    }
    return err;
}

void
tl_signatures_free(struct tl_signatures *signatures)
{
    free(signatures->one);
    *signatures = (struct tl_signatures){0};
}

bool
tl_signature_live(const struct tl_signature *signature, uint64_t wall_ms)
{
    bool began = signature->confirmed_by[0] != '\0' && wall_ms >= signature->confirmed_ms;
    bool ended = signature->ended_by[0] != '\0' && wall_ms >= signature->ended_ms;
    bool expired = signature->until_ms != 0 && wall_ms >= signature->until_ms;
    return began && !ended && !expired;
}
