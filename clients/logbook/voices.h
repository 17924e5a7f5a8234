/* SPDX-License-Identifier: Apache-2.0 */
/*
 * voices.h - words said by voice for a station that is lost: by whom, confirmed by whom, until when.
 *
 * Pure but for the heap. As the validators judge it: the same word of another station for the same
 * one within 60 s confirms it. It ends when one of the two takes it back or begins a new life, or
 * when the station itself says a word of that name.
 */
#ifndef CLIENTS_LOGBOOK_VOICES_H
#define CLIENTS_LOGBOOK_VOICES_H

#include "clients/logbook/book.h"

enum tl_voice_end {
    TL_VOICE_STANDS = 0, /* nothing recorded ended it */
    TL_VOICE_TAKEN_BACK,
    TL_VOICE_RESTARTED, /* a signer began a new life */
    TL_VOICE_OWN_WORD,  /* the station speaks for itself again */
    TL_VOICE_SAID_AGAIN /* by voice, with another value or for another event */
};

struct tl_voice {
    const struct tl_word_row *word;   /* first signature; borrowed from the book */
    const struct tl_word_row *second; /* NULL = nobody confirmed it */
    enum tl_voice_end end;
    const struct tl_word_row *ended; /* the word that ended it, or NULL */
};
struct tl_voices {
    size_t count, cap;
    struct tl_voice *voice;
};

/* voices: zeroed; the caller frees them whatever is returned. TL_NOMEM. */
TL_MUST_USE enum tl_err tl_voices_fold(const struct tl_book *book, struct tl_voices *voices);
void tl_voices_free(struct tl_voices *voices);
/* "taken back", ...; NULL when it stands. */
const char *tl_voice_end_text(enum tl_voice_end end);

#endif
