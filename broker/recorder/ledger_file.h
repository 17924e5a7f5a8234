/* SPDX-License-Identifier: Apache-2.0 */
/* ledger_file.h - the counts of pendants and cables, from what the file holds. See ledger.h. */
#ifndef TL_RECORDER_LEDGER_FILE_H
#define TL_RECORDER_LEDGER_FILE_H

#include "broker/core/ledger/ledger.h"
#include "broker/recorder/store.h"

/*
 * Fold the whole file into a ledger that was just made (tl_ledger_init). TL_IO, TL_NOMEM: why, see
 * tl_store_why; the ledger is then of no use.
 */
TL_MUST_USE enum tl_err tl_store_load_ledger(struct tl_store *store, struct tl_ledger *ledger);

/* Rows of changes so far: it rises with each that was not there before. */
uint64_t tl_store_change_rows(const struct tl_store *store);

#endif
