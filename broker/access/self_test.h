/* SPDX-License-Identifier: Apache-2.0 */
/*
 * self_test - proves, before a bus serves anyone, that its sockets let in and name only whom they
 * should
 *
 * libzmq 4.3.4 reports no error when a socket lacks its domain or its handler; it then lets every
 * key in, under any user id the peer states. So the very socket that will serve is bound to a
 * loopback port of its own for a moment, and two clients try it:
 *
 *  1. one with a fresh random key: the handler must have been asked about that key, must have
 *     refused it, and nothing of it may come through;
 *  2. one with a fresh key that the handler admits as TL_ZAP_PROBE_ID: its message must come
 *     through under exactly that user id.
 *
 * On return the port is closed and the monitor's counts are zero.
 */
#ifndef BROKER_ACCESS_SELF_TEST_H
#define BROKER_ACCESS_SELF_TEST_H

#include "broker/access/monitor.h"
#include "broker/access/server.h"
#include "broker/access/zap.h"

struct tl_self_test {
    void *zmq_ctx;
    struct tl_zap *zap;
    struct tl_monitor *monitor; /* of socket */
    void *socket;               /* with its options, not yet bound */
    enum tl_server_role role;
    const char *curve_public; /* of the server, Z85 */
    uint64_t timeout_ms;      /* for the whole test */
};

/*
 * Run it. Blocks up to the timeout.
 *
 * test: all members borrowed. why: out on error, one line saying what was found.
 * Errors: TL_REFUSED the socket is not safe to serve with; TL_IO the test could not be run.
 */
TL_MUST_USE enum tl_err tl_self_test_run(const struct tl_self_test *test, char why[TL_TEXT_CAP]);

#endif
