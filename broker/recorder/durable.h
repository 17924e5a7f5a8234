/* SPDX-License-Identifier: Apache-2.0 */
/*
 * durable.h - what SQLite leaves to its user before a file counts as on the disk
 *
 * Both block on the disk.
 */
#ifndef TL_RECORDER_DURABLE_H
#define TL_RECORDER_DURABLE_H

#include <sqlite3.h>

#include "proto/base/err.h"

/*
 * Write the log of a database again, as readers see it, and sync it; nothing when it has none yet.
 *
 * After a sync that failed, the kernel may show a log that the disk does not have, and answers the
 * next sync well. What is copied from such a log into the database, or put behind it, is torn by a
 * power cut: so this comes before either. A byte that the disk has is written over with itself,
 * which by the log's own assumption (powersafe overwrite) no power cut spoils.
 *
 * db: in a transaction that may write, so that nobody else changes the log meanwhile.
 * Errors: TL_IO.
 */
TL_MUST_USE enum tl_err tl_durable_log(sqlite3 *db);

/*
 * Sync the name of a folder into the one that it is in: else a power cut may take the folder, with
 * all that was synced in it.
 *
 * Errors: TL_FULL path too long; TL_IO, errno tells why.
 */
TL_MUST_USE enum tl_err tl_durable_folder(const char *folder);

#endif
