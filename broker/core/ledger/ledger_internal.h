/* SPDX-License-Identifier: Apache-2.0 */
/* ledger_internal.h - shared by the files of the ledger. */
#ifndef TL_CORE_LEDGER_LEDGER_INTERNAL_H
#define TL_CORE_LEDGER_LEDGER_INTERNAL_H

#include "broker/core/ledger/ledger.h"

struct tl_sum {
    uint32_t traps;
    uint32_t unweighed;
    uint64_t ppm;
};

/* Loads of that fit which are known and not in `counted`. */
struct tl_sum tl_ledger_sum(const struct tl_ledger *ledger, const struct tl_fit *fit,
                            const struct tl_counted *counted);
void tl_ledger_note_loads(struct tl_ledger *ledger, struct tl_event event);
void tl_ledger_let_go(struct tl_ledger *ledger, const struct tl_ended *gone);

#endif
