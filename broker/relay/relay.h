/* SPDX-License-Identifier: Apache-2.0 */
/*
 * relay - one bus: what nodes publish comes in, is checked, and goes out to all who listen
 *
 *     nodes --> SUB (ingress) --> check --> XPUB (egress) --> nodes
 *                                   |          ^
 *                                   +- counts -+  bus/<bus>/, once a second and on refusals
 *
 * 1. A message passes verbatim, as the same block of memory, or not at all. No body is decoded.
 * 2. The user id of the session is looked up for every message in the table of this moment.
 * 3. One loop, the thread that answers handshakes, and one that writes the page of metrics where
 *    it is wanted. Each turn of the loop does a bounded amount of work, never waits for a peer, and
 *    never touches the disk except to read keys.yaml again.
 * 4. Nothing is served before the self-test of both sockets has passed.
 */
#ifndef BROKER_RELAY_RELAY_H
#define BROKER_RELAY_RELAY_H

#include "broker/access/access.h"
#include "proto/base/notify.h"
#include "proto/link/identity.h"
#include "proto/metrics/writer.h"

struct tl_relay;

struct tl_relay_start {
    struct tl_config *config;           /* borrowed until closed; its keys change on SIGHUP */
    const struct tl_bus *bus;           /* of that configuration */
    const struct tl_access *access;     /* borrowed for the call */
    const struct tl_identity *identity; /* of the bus; borrowed until closed */
    uint64_t incarnation;
    struct tl_metrics *metrics; /* borrowed until closed; NULL = no page is wanted */
    struct tl_notify *notify;   /* the service manager; borrowed until closed */
    int signal_fd; /* signalfd for SIGHUP, SIGTERM, SIGINT, blocked in this thread; borrowed */
};

/*
 * Open the sockets, test them, bind them. Blocks for the self-test, up to some seconds. On TL_OK
 * nodes can join. Signals must be blocked before: libzmq starts threads here.
 *
 * why: out on error, one line: what, where, what to do.
 * Errors: TL_REFUSED the self-test failed; TL_EXISTS, TL_PERM a port; TL_NOMEM; TL_IO.
 */
TL_MUST_USE enum tl_err tl_relay_open(const struct tl_relay_start *start, struct tl_relay **out,
                                      char why[TL_TEXT_CAP]);

/*
 * Serve until SIGTERM or SIGINT.
 * Errors: TL_IO the sockets or the signals fail for good.
 */
TL_MUST_USE enum tl_err tl_relay_run(struct tl_relay *relay);

/* Release all in reverse. Accepts NULL; sets the caller's pointer to NULL. */
void tl_relay_close(struct tl_relay **relay);

#endif
