/* SPDX-License-Identifier: Apache-2.0 */
/*
 * server - the two sockets that a bus offers, with every option that they need
 *
 * Ingress is a SUB that nodes publish to, egress an XPUB that nodes subscribe at. Their options
 * are one table, so what the self-test proves of a socket holds for the socket that serves.
 *
 * 1. CURVE server, domain TL_ZAP_DOMAIN and "enforce domain" always go together: with any of them
 *    missing, libzmq 4.3.4 takes the user id that the peer itself states.
 * 2. No ZMTP heartbeats: with a finite queue and a slow reader 4.3.4 aborts (a known fault of 4.3.4).
 *    Dead peers are found by the kernel, in TCP_MAXRT and keepalive times.
 * 3. A slow reader loses messages; it never delays another one.
 */
#ifndef BROKER_ACCESS_SERVER_H
#define BROKER_ACCESS_SERVER_H

#include <stdbool.h>
#include <stddef.h>

#include "proto/base/err.h"
#include "proto/vocab/limits.h"

enum tl_server_role {
    TL_SERVER_UNKNOWN = 0,
    TL_SERVER_INGRESS,
    TL_SERVER_EGRESS
};

enum {
    /*
     * One frame on the wire at the ingress, CURVE's 33 bytes included. Above the largest frame, so
     * that one a little too large is refused by name; libzmq drops the connection beyond this.
     */
    TL_INGRESS_WIRE_MAX = 2 * TL_FRAME_MAX,
    /*
     * One frame on the wire at the egress. A subscription is one byte, a topic and CURVE's 33, and
     * topics of megabytes could exhaust memory or stack; but the limit holds for the handshake
     * too, and CURVE's INITIATE is about 290 bytes (RFC 26).
     */
    TL_EGRESS_WIRE_MAX = 512,
    TL_HANDSHAKE_MS = 1500
};

/* ZMQ_ZAP_ENFORCE_DOMAIN: Debian's zmq.h hides the name, its library has the option. */
#define TL_ZMQ_ENFORCE_DOMAIN 93

/*
 * True when that libzmq has the behaviour all this was measured with and no known hole: 4.3.4 or
 * later, with CURVE. has_curve: zmq_has("curve").
 */
bool tl_server_library_is_usable(int major, int minor, int patch, bool has_curve);

/*
 * Open a socket of that role with all options set, not bound.
 *
 * zmq_ctx: borrowed. curve_secret: server key, 40 characters of Z85 and a NUL; borrowed for the
 * call. out: taken over by the caller, who closes it with zmq_close. why: out on error, one line.
 * Errors: TL_IO.
 */
TL_MUST_USE enum tl_err tl_server_open(void *zmq_ctx, enum tl_server_role role,
                                       const char *curve_secret, void **out, char why[TL_TEXT_CAP]);

/*
 * Bind it where nodes look for it.
 *
 * endpoint: tcp://ADDRESS:PORT, numeric. why: out on error, one line: what, where, what to do.
 * Errors: TL_EXISTS the port is in use; TL_PERM not allowed; TL_IO anything else. The socket is
 * unchanged on error.
 */
TL_MUST_USE enum tl_err tl_server_bind(void *socket, const char *endpoint, char why[TL_TEXT_CAP]);

#endif
