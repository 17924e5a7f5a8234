/* SPDX-License-Identifier: Apache-2.0 */
/* ledger_file.h - the counts of pendants and cables, from what the file holds. See reader.h. */
#ifndef TL_RECORDER_LEDGER_FILE_H
#define TL_RECORDER_LEDGER_FILE_H

#include "broker/ledger/reader.h"
#include "broker/recorder/store.h"

/*
 * Begin to read the file into a ledger that was just made (tl_ledger_init); close the reader before
 * the store. TL_NOMEM: why, see tl_store_why.
 */
TL_MUST_USE enum tl_err tl_store_open_ledger(struct tl_store *store, struct tl_ledger *ledger,
                                             struct tl_ledger_reader *reader);
/* As tl_ledger_read. TL_IO: why, see tl_store_why; the ledger is then of no use. */
TL_MUST_USE enum tl_err tl_store_read_ledger(struct tl_store *store,
                                             struct tl_ledger_reader *reader, uint32_t rows);

/* Rows of changes so far: it rises with each that was not there before. */
uint64_t tl_store_change_rows(const struct tl_store *store);

#endif
