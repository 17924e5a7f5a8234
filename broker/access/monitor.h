/* SPDX-License-Identifier: Apache-2.0 */
/*
 * monitor - counts what happens to the connections of a server socket
 *
 * 1. It is connected at once and without a limit on its queue, and must be drained in every turn
 *    of the owner's loop: libzmq 4.3.4 stops all traffic while a monitor's queue is full.
 * 2. It is stopped before its socket is closed.
 *
 * A key that is refused with 300 makes two failures, the refusal and the end of that connection up
 * to TL_HANDSHAKE_MS later; they are counted once.
 */
#ifndef BROKER_ACCESS_MONITOR_H
#define BROKER_ACCESS_MONITOR_H

#include <stddef.h>
#include <stdint.h>

#include "proto/base/err.h"

struct tl_monitor_counts {
    uint64_t accepted;    /* TCP connections */
    uint64_t ended;       /* of those */
    uint64_t joined;      /* handshakes that succeeded */
    uint64_t failed;      /* handshakes that did not, for any reason */
    uint64_t auth_failed; /* of those, refused by the handler of broker/access/zap.h */
    uint64_t unaccepted;  /* connections that the system had no room for */
};

struct tl_monitor {
    void *socket;  /* watched; borrowed */
    void *pair;    /* NULL when closed */
    uint64_t held; /* refused with 300, not yet ended */
    struct tl_monitor_counts counts;
};

/*
 * Start to watch a socket that is not yet bound.
 *
 * name: inproc address, "inproc://...", free in this context. out: closed with tl_monitor_close.
 * Errors: TL_IO; nothing is then held.
 */
TL_MUST_USE enum tl_err tl_monitor_open(void *zmq_ctx, void *socket, const char *name,
                                        struct tl_monitor *out);

/* Count up to max waiting events; returns how many. Does not block. */
size_t tl_monitor_drain(struct tl_monitor *monitor, size_t max);

/* Connections that stand now. */
uint64_t tl_monitor_connections(const struct tl_monitor *monitor);

/* Stop watching; call it before the socket is closed. May be called again, or on a zeroed one. */
void tl_monitor_close(struct tl_monitor *monitor);

#endif
