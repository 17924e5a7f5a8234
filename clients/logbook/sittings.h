/* SPDX-License-Identifier: Apache-2.0 */
/*
 * sittings.h - who sat where when, and what was said and signed there meanwhile.
 *
 * Pure but for the heap. A sitting begins with the word that says who has the watch, or, before
 * there is one, with the first word of that life of the station: then the name is not known. It
 * ends with the next such word, or with the first word of a new life, which has to say it again.
 */
#ifndef CLIENTS_LOGBOOK_SITTINGS_H
#define CLIENTS_LOGBOOK_SITTINGS_H

#include "clients/logbook/book.h"

enum tl_sitting_end {
    TL_SITTING_LASTS = 0, /* to the end of the record */
    TL_SITTING_RELIEVED,
    TL_SITTING_LEFT, /* the word was taken back */
    TL_SITTING_RESTART
};

struct tl_sitting {
    char station[TL_ID_CAP];
    char name[TL_NAME_CAP]; /* empty = not said */
    uint64_t incarnation;
    uint64_t from_ms, to_ms; /* to: of the end, else of the last word */
    enum tl_sitting_end end;
    uint32_t words;   /* all that were said, refused ones too */
    uint32_t refused; /* of them */
    uint32_t results, corrections;
    uint32_t acknowledged;
    uint32_t signed_first, signed_second; /* overrides */
    uint32_t voiced_first, voiced_second; /* words for other stations */
};
struct tl_sittings {
    size_t count, cap;
    struct tl_sitting *sitting;
};

/* In the order of their beginnings. sittings: zeroed; freed by the caller. TL_NOMEM. */
TL_MUST_USE enum tl_err tl_sittings_fold(const struct tl_book *book, struct tl_sittings *sittings);
void tl_sittings_free(struct tl_sittings *sittings);
/* "relieved", ...; NULL when it lasts. */
const char *tl_sitting_end_text(enum tl_sitting_end end);

#endif
