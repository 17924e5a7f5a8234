/* SPDX-License-Identifier: Apache-2.0 */
/* verify_internal.h - the parts of tl_verify; see verify.h. Each: TL_OK or TL_IO. */
#ifndef CLIENTS_LOGBOOK_VERIFY_INTERNAL_H
#define CLIENTS_LOGBOOK_VERIFY_INTERNAL_H

#include <sqlite3.h>

#include "clients/logbook/verify.h"

struct tl_verifying {
    sqlite3 *db;
    const struct tl_config *config; /* NULL = no keys */
    struct tl_codec *codec;
    struct tl_verified *out;
};

/* Prepare a statement of the form "... %s ..." with the name of a table. */
TL_MUST_USE enum tl_err tl_verify_prepare(struct tl_verifying *on, const char *form,
                                          enum tl_record_table table, sqlite3_stmt **row);
TL_MUST_USE enum tl_err tl_verify_chain(struct tl_verifying *on, enum tl_record_table table);
TL_MUST_USE enum tl_err tl_verify_seals(struct tl_verifying *on);
/* Of a table with signed frames: change, judged, beat. */
TL_MUST_USE enum tl_err tl_verify_frames(struct tl_verifying *on, enum tl_record_table table);

#endif
