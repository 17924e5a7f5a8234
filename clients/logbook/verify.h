/* SPDX-License-Identifier: Apache-2.0 */
/*
 * verify.h - is a record whole: the file, the chain of its rows, its seals, its signed frames.
 *
 * What each part can tell:
 *   rows     a row that was altered, taken out or put in (proto/codec/chain.h), by its first one
 *   seals    rows that were written anew, chain and all, by somebody without the recorder's key
 *            (proto/codec/seal.h); not that the newest rows and seals were all taken away: for that
 *            compare with another recorder, or with a seal that was written down
 *   frames   a report that its station did not sign, and one whose columns say something else
 *
 * Rows of an older schema have no hash; they are counted, and nothing is said for them.
 */
#ifndef CLIENTS_LOGBOOK_VERIFY_H
#define CLIENTS_LOGBOOK_VERIFY_H

#include "proto/codec/seal.h"
#include "proto/vocab/config.h"

enum {
    TL_VERIFY_SAID_CAP = 256
};

struct tl_verified_table {
    uint64_t rows;      /* chained */
    uint64_t unchained; /* before the chain */
    uint64_t newer;     /* after the last seal */
    uint64_t bad_id;    /* the first bad row; 0 = none */
    char bad[TL_VERIFY_SAID_CAP];
};

struct tl_verified {
    char file[TL_VERIFY_SAID_CAP]; /* what SQLite finds wrong with the file; "" = nothing */
    int schema;
    struct tl_verified_table table[TL_TABLES];
    uint64_t seals, seals_unchecked; /* no key of their recorder at hand */
    struct tl_seal last;             /* when there are seals */
    uint64_t bad_seal;               /* the first bad one; 0 = none */
    char seal[TL_VERIFY_SAID_CAP];
    uint64_t frames, frames_unchecked, frames_absent;
    uint64_t frames_bad;
    char frame[TL_VERIFY_SAID_CAP]; /* the first bad one */
};

/* Nothing is missing or altered, as far as it can be told. */
bool tl_verified_whole(const struct tl_verified *verified);

/*
 * Look at one state of the file. config: its keys; NULL = signatures are counted as unchecked.
 *
 * verified: out, meaningful on TL_OK. why: one sentence on error.
 * Errors: TL_NOTFOUND no such file; TL_REFUSED its schema has no chain, or is not known; TL_NOMEM;
 * TL_IO it cannot be read.
 */
TL_MUST_USE enum tl_err tl_verify(const char *path, const struct tl_config *config,
                                  struct tl_verified *verified, char *why, size_t why_cap);

#endif
