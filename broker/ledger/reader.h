/* SPDX-License-Identifier: Apache-2.0 */
/*
 * reader.h - fold the rows of a record into a ledger: the same for its recorder and for trapline log.
 * docs/record.md has the tables.
 *
 * A record grows for years, and a recorder must not stand still for the length of it: rows are taken in
 * their order, at most so many a call, each result with what was computed of its event. A row is what
 * its station signed; one whose frame does not decode is left out.
 */
#ifndef TL_LEDGER_READER_H
#define TL_LEDGER_READER_H

#include <sqlite3.h>

#include "broker/core/ledger/ledger.h"
#include "proto/base/err.h"
#include "proto/codec/codec.h"

enum {
    TL_LEDGER_SCHEMA_FIRST = 3 /* rows of before have no frame, and no serial: left out */
};

struct tl_ledger_reader {
    sqlite3 *db;
    struct tl_ledger *ledger;
    struct tl_codec *codec;
    struct tl_envelope *envelope;
    int64_t last;          /* id of the last change that was taken */
    char why[TL_TEXT_CAP]; /* of TL_IO, as the database says it */
};

/*
 * Begin with a ledger that was just made (tl_ledger_init). Both are borrowed until
 * tl_ledger_reader_close, which also follows a failure. TL_NOMEM.
 */
TL_MUST_USE enum tl_err tl_ledger_reader_open(struct tl_ledger_reader *reader, sqlite3 *db,
                                              struct tl_ledger *ledger);
/* Take at most `rows` changes more. TL_EMPTY: every one that is there has been taken. TL_IO: why. */
TL_MUST_USE enum tl_err tl_ledger_read(struct tl_ledger_reader *reader, uint32_t rows);
/* Also of a zeroed one. */
void tl_ledger_reader_close(struct tl_ledger_reader *reader);

#endif
