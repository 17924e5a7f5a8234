/* SPDX-License-Identifier: Apache-2.0 */
/*
 * wires.h - pendants and cables of a record, by serial: the ledger of broker/core/ledger, folded from
 * a file as its recorder folds it
 */
#ifndef CLIENTS_LOGBOOK_WIRES_H
#define CLIENTS_LOGBOOK_WIRES_H

#include "broker/core/ledger/ledger.h"
#include "proto/base/err.h"

enum {
    TL_WIRES_MAX = 10000 /* fits that are over, of one record */
};

struct tl_wires {
    struct tl_ledger *ledger;
    size_t over_count, over_cap;
    struct tl_fit *over; /* in the order in which they ended */
    bool failed;         /* memory, or TL_WIRES_MAX, was out */
};

/*
 * Read a record. wires: zeroed by the caller, who frees it whatever is returned; `config` is
 * borrowed by the ledger. why: one sentence on error.
 * Errors: TL_NOTFOUND no such file; TL_REFUSED a schema without what is counted from; TL_FULL,
 * TL_NOMEM; TL_IO.
 */
TL_MUST_USE enum tl_err tl_wires_read(const char *path, const struct tl_config *config,
                                      struct tl_wires *wires, char *why, size_t why_cap);
void tl_wires_free(struct tl_wires *wires);

/* What is there now in that place, or NULL when nothing is known of it. */
const struct tl_fit *tl_wires_fitted(const struct tl_wires *wires, enum tl_datum_kind kind,
                                     uint32_t slot);

#endif
