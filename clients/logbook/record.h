/* SPDX-License-Identifier: Apache-2.0 */
/*
 * record.h - a recorder's file, read only: with rows.h the only place of the clients that knows SQL
 *
 * The tables are described in docs/record.md. The recorder may be writing meanwhile: one state of
 * the file is read.
 */
#ifndef CLIENTS_LOGBOOK_RECORD_H
#define CLIENTS_LOGBOOK_RECORD_H

#include "clients/logbook/book.h"
#include "proto/vocab/config.h"

/* The first recorder of the configuration that has a file; TL_NOTFOUND when none has. */
TL_MUST_USE enum tl_err tl_record_find(const struct tl_config *config, char path[TL_PATH_CAP]);

/* Rows whose clock says another time are left out. */
struct tl_record_span {
    uint64_t from_ms, to_ms;
};

/*
 * Read the book.
 *
 * book: zeroed by the caller, who frees it whatever is returned. why: one sentence on error.
 * Errors: TL_NOTFOUND no such file; TL_REFUSED a schema that is not ours; TL_FULL, TL_NOMEM; TL_IO.
 */
TL_MUST_USE enum tl_err tl_record_read(const char *path, const struct tl_record_span *span,
                                       struct tl_book *book, char *why, size_t why_cap);

#endif
