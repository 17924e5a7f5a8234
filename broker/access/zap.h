/* SPDX-License-Identifier: Apache-2.0 */
/*
 * zap - answers libzmq when it asks whether a peer may join, and under which name
 *
 * The handler of ZeroMQ RFC 27/ZAP for one context, in a thread of its own: libzmq asks it for
 * every CURVE handshake on a socket that has the domain TL_ZAP_DOMAIN, and puts the user id of the
 * answer on each message of that session.
 *
 *     key in the table, not revoked   200, its user id
 *     key not in the table            500: told to the peer, which builds its socket anew and so
 *                                     recovers when the key is listed; a 300 would be a silent end
 *     key revoked                     400: told to the peer
 *     other mechanism or domain       400
 *     not a request as RFC 27 has it  500; libzmq itself makes none
 *
 * 1. It is bound when tl_zap_open returns. Open it before any server socket: libzmq 4.3.4 lets a
 *    peer in under a name of the peer's choosing where no handler is asked.
 * 2. The table is held by value under a lock; the next handshake sees a replacement.
 * 3. No request can stop the thread. If it stops all the same, nobody new gets in.
 */
#ifndef BROKER_ACCESS_ZAP_H
#define BROKER_ACCESS_ZAP_H

#include "broker/access/access.h"

#define TL_ZAP_ENDPOINT "inproc://zeromq.zap.01"
#define TL_ZAP_DOMAIN   "bus"
/* User id of the key admitted for the self-test; epoch 0 is never in a table. */
#define TL_ZAP_PROBE_ID "self-test/0"

enum {
    TL_ADDRESS_CAP = 48
};

struct tl_zap;

struct tl_zap_counters {
    uint64_t accepted;  /* 200 */
    uint64_t unknown;   /* 500, a key that is not in the table */
    uint64_t revoked;   /* 400, a key of the table */
    uint64_t malformed; /* 400 and 500 for any other reason */
    uint8_t last_unknown_key[TL_CURVE_KEY_LEN];
    char last_refused_address[TL_ADDRESS_CAP]; /* numeric, made plain; empty = none yet */
    char last_revoked_user[TL_USER_ID_CAP];
};

/*
 * Bind the handler in that context and start its thread, with all signals blocked in it.
 *
 * zmq_ctx: borrowed until tl_zap_close. table: borrowed for the call. out: taken over by the
 * caller, who closes it in the thread that opened it.
 * Errors: TL_EXISTS the context has a handler already; TL_NOMEM; TL_IO no socket or no thread.
 */
TL_MUST_USE enum tl_err tl_zap_open(void *zmq_ctx, const struct tl_access *table,
                                    struct tl_zap **out);

/* Put another table in place of the present one; see tl_access_update for what it returns. */
uint32_t tl_zap_update(struct tl_zap *zap, const struct tl_access *next);

/* Copy the counters of now. */
void tl_zap_counters(struct tl_zap *zap, struct tl_zap_counters *out);

/* Answer 200 and TL_ZAP_PROBE_ID to one more key, which is in no table, until the next call. */
void tl_zap_admit_probe(struct tl_zap *zap, const uint8_t curve_public[TL_CURVE_KEY_LEN]);
void tl_zap_refuse_probe(struct tl_zap *zap);

/* Stop the thread, wait for it, release all. Accepts NULL; sets the caller's pointer to NULL. */
void tl_zap_close(struct tl_zap **zap);

#endif
