/* SPDX-License-Identifier: Apache-2.0 */
/* voices.c - see voices.h. */
#include "clients/logbook/voices.h"

#include <stdlib.h>
#include <string.h>

enum {
    FIRST_CAP = 32,
    LOOK_BACK = 1024 /* words by voice; what stands is near the end */
};

static bool
same_id(const char *a, const char *b)
{
    return strncmp(a, b, TL_ID_CAP) == 0;
}

static bool
same_name(const struct tl_word_row *a, const struct tl_word_row *b)
{
    return a->datum.kind == b->datum.kind && a->datum.slot == b->datum.slot &&
           same_id(tl_word_station(a), tl_word_station(b));
}

static bool
same_author(const struct tl_word_row *a, const struct tl_word_row *b)
{
    return same_id(a->stated.node, b->stated.node);
}

/* The words that people read say the value; the events are beside it. */
static bool
same_word(const struct tl_word_row *a, const struct tl_word_row *b)
{
    bool same =
        a->datum.stated_for_count == b->datum.stated_for_count && strcmp(a->text, b->text) == 0;
    for (uint32_t i = 0; i < a->datum.stated_for_count && same; i++) {
        same = tl_event_equal(a->datum.stated_for[i], b->datum.stated_for[i]);
    }
    return same;
}

static bool
in_time(const struct tl_word_row *a, const struct tl_word_row *b)
{
    uint64_t first = a->stated.wall_ms;
    uint64_t second = b->stated.wall_ms;
    return (first > second ? first - second : second - first) <= TL_CONFIRM_BY_MS;
}

static void
end(struct tl_voice *voice, enum tl_voice_end how, const struct tl_word_row *word)
{
    voice->end = how;
    voice->ended = word;
}

static bool
is_signer(const struct tl_voice *voice, const struct tl_word_row *word)
{
    return same_author(voice->word, word) ||
           (voice->second != NULL && same_author(voice->second, word));
}

static bool
is_new_life(const struct tl_voice *voice, const struct tl_word_row *word)
{
    const struct tl_word_row *signature =
        voice->second != NULL && same_author(voice->second, word) ? voice->second : voice->word;
    return is_signer(voice, word) && word->stated.incarnation > signature->stated.incarnation;
}

/* What a word does to those that stand. True when it is the confirmation of one of them. */
static bool
meet(struct tl_voices *voices, const struct tl_word_row *word)
{
    bool voice_word = tl_datum_is_voice(&word->datum);
    for (size_t i = voices->count; i > 0 && voices->count - i < LOOK_BACK; i--) {
        struct tl_voice *voice = &voices->voice[i - 1];
        if (voice->end != TL_VOICE_STANDS) {
            continue;
        }
        if (is_new_life(voice, word)) {
            end(voice, TL_VOICE_RESTARTED, word);
        } else if (!same_name(voice->word, word)) {
            continue;
        } else if (!voice_word) {
            end(voice, TL_VOICE_OWN_WORD, word);
        } else if (!word->datum.known && is_signer(voice, word)) {
            end(voice, TL_VOICE_TAKEN_BACK, word);
        } else if (word->datum.known && voice->second == NULL && !same_author(voice->word, word) &&
                   same_word(voice->word, word) && in_time(voice->word, word)) {
            voice->second = word;
            return true;
        } else if (word->datum.known && is_signer(voice, word) && !same_word(voice->word, word)) {
            end(voice, TL_VOICE_SAID_AGAIN, word);
        }
    }
    return false;
}

static enum tl_err
add(struct tl_voices *voices, const struct tl_word_row *word)
{
    if (voices->count == voices->cap) {
        size_t cap = voices->cap == 0 ? FIRST_CAP : 2 * voices->cap;
        struct tl_voice *voice = realloc(voices->voice, cap * sizeof *voice);
        if (voice == NULL) {
            return TL_NOMEM;
        }
        voices->voice = voice;
        voices->cap = cap;
    }
    voices->voice[voices->count++] = (struct tl_voice){.word = word};
    return TL_OK;
}

enum tl_err
tl_voices_fold(const struct tl_book *book, struct tl_voices *voices)
{
    enum tl_err err = TL_OK;
    for (size_t i = 0; i < book->word_count && err == TL_OK; i++) {
        const struct tl_word_row *word = &book->word[i];
        if (!tl_word_counts(word)) {
            continue;
        }
        bool confirms = meet(voices, word);
        if (!confirms && word->datum.known && tl_datum_is_voice(&word->datum)) {
            err = add(voices, word);
        }
    }
    return err;
}

void
tl_voices_free(struct tl_voices *voices)
{
    free(voices->voice);
    *voices = (struct tl_voices){0};
}

const char *
tl_voice_end_text(enum tl_voice_end end)
{
    switch (end) {
    case TL_VOICE_TAKEN_BACK:
        return "taken back";
    case TL_VOICE_RESTARTED:
        return "signer restarted";
    case TL_VOICE_OWN_WORD:
        return "own word";
    case TL_VOICE_SAID_AGAIN:
        return "said again";
    case TL_VOICE_STANDS:
        break;
    }
    return NULL;
}
