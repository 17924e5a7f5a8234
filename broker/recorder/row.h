/* SPDX-License-Identifier: Apache-2.0 */
/*
 * row.h - the values of one row, bound to its statement from left to right, and its hash
 *
 * What fails is noted in the row and told when it is put. Texts and bytes are borrowed until then.
 */
#ifndef TL_RECORDER_ROW_H
#define TL_RECORDER_ROW_H

#include <sqlite3.h>

#include "broker/recorder/sql.h"
#include "proto/codec/chain.h"
#include "proto/vocab/message.h"

struct tl_row {
    sqlite3_stmt *statement;
    int at;
    int code; /* first failure */
    enum tl_record_table table;
    struct tl_chain chain;
};

/* Begin the row after `head` of that table: its id is bound. */
void tl_row_begin(struct tl_row *row, sqlite3_stmt *statement, enum tl_record_table table,
                  const struct tl_chain_head *head);
/* Bind the hash, which is borrowed. SQLITE_OK, or the first failure. */
int tl_row_end(struct tl_row *row, uint8_t hash[TL_CHAIN_LEN]);

/* Above INT64_MAX it is INT64_MAX. */
void tl_row_number(struct tl_row *row, uint64_t number);
void tl_row_signed(struct tl_row *row, int64_t number);
/* NULL binds NULL. */
void tl_row_text(struct tl_row *row, const char *text);
/* NULL binds NULL; len is then not looked at. */
void tl_row_blob(struct tl_row *row, const void *bytes, size_t len);
/* Two columns. */
void tl_row_event(struct tl_row *row, struct tl_event event);
/* NULL when it is negative. */
void tl_row_column(struct tl_row *row, int64_t value);

/* Of a judged message: all values of its row in `predicted`, `predicted_setting`, `expected`. */
void tl_row_predicted(struct tl_row *row, const struct tl_envelope *envelope);
void tl_row_setting(struct tl_row *row, const struct tl_envelope *envelope,
                    const struct tl_would *would);
void tl_row_expected(struct tl_row *row, const struct tl_envelope *envelope);

#endif
