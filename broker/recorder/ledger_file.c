/* SPDX-License-Identifier: Apache-2.0 */
/* ledger_file.c - see ledger_file.h. */
#include "broker/recorder/ledger_file.h"

#include <stdio.h>

#include "broker/recorder/store_internal.h"

enum tl_err
tl_store_open_ledger(struct tl_store *store, struct tl_ledger *ledger,
                     struct tl_ledger_reader *reader)
{
    enum tl_err err = tl_ledger_reader_open(reader, store->db, ledger);
    if (err != TL_OK) {
        (void)snprintf(store->why, sizeof store->why, "record %s: out of memory", store->path);
    }
    return err;
}

enum tl_err
tl_store_read_ledger(struct tl_store *store, struct tl_ledger_reader *reader, uint32_t rows)
{
    enum tl_err err = tl_ledger_read(reader, rows);
    if (err == TL_IO) {
        (void)snprintf(store->why, sizeof store->why,
                       "record %s: its counts cannot be read: %.120s", store->path, reader->why);
    }
    return err;
}

uint64_t
tl_store_change_rows(const struct tl_store *store)
{
    return store->head[TL_TABLE_CHANGE].id;
}
