/* SPDX-License-Identifier: Apache-2.0 */
/*
 * signatures.h - what two signed: overrides, and when each was live.
 *
 * Pure but for the heap. As the validators judge it (broker/core/picture/signed.h): the same rule
 * and station, another signer, the second within 60 s of the first; live from the second signature
 * until the earlier of the two expiries, or until one of them takes it back or begins a new life.
 * The minutes of the expiry are rounded up where only the words of a change are recorded.
 */
#ifndef CLIENTS_LOGBOOK_SIGNATURES_H
#define CLIENTS_LOGBOOK_SIGNATURES_H

#include "clients/logbook/book.h"

/* One override, from its first signature. */
struct tl_signature {
    struct tl_override override;
    uint32_t slot; /* of the datum */
    char said_by[TL_ID_CAP];
    uint64_t said_ms, said_incarnation;
    char confirmed_by[TL_ID_CAP]; /* empty = nobody did: never live */
    uint64_t confirmed_ms, confirmed_incarnation;
    uint64_t until_ms;        /* expiry of the earlier signature; 0 = not known */
    char ended_by[TL_ID_CAP]; /* who took it back or restarted before that; empty = nobody */
    uint64_t ended_ms;
    bool restarted; /* it ended with a new life of ended_by */
};
struct tl_signatures {
    size_t count, cap;
    struct tl_signature *one;
};

/* In the order of the first signatures. signatures: zeroed by the caller, who frees it. */
TL_MUST_USE enum tl_err tl_signatures_fold(const struct tl_book *book,
                                           struct tl_signatures *signatures);
void tl_signatures_free(struct tl_signatures *signatures);

/* Live at that moment of the signers' clocks. */
bool tl_signature_live(const struct tl_signature *signature, uint64_t wall_ms);

#endif
