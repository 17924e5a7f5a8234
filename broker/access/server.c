/* SPDX-License-Identifier: Apache-2.0 */
/* server.c - options of the two sockets, and their binding. See server.h. */
#include "broker/access/server.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

#include <zmq.h>

#include "broker/access/zap.h"
#include "proto/base/require.h"

enum role_mask {
    FOR_INGRESS = 1,
    FOR_EGRESS = 2,
    FOR_BOTH = 3
};

struct number_option {
    enum role_mask roles;
    int name;
    int value;
};

/*
 * Each figure was measured with libzmq 4.3.4; times are ms unless said otherwise.
 *
 * Egress send buffer: two of the largest pictures, so that a verdict behind one does not wait for
 * the reader. More would only hold more old messages for a reader that has stopped, and TCP_MAXRT
 * cuts such a reader off only once the buffer is full.
 */
static const struct number_option OPTIONS[] = {
    {FOR_BOTH, ZMQ_CURVE_SERVER, 1},
    {FOR_BOTH, TL_ZMQ_ENFORCE_DOMAIN, 1},
    {FOR_BOTH, ZMQ_HANDSHAKE_IVL, TL_HANDSHAKE_MS}, /* idle and refused connections go */
    {FOR_BOTH, ZMQ_TCP_KEEPALIVE, 1},
    {FOR_BOTH, ZMQ_TCP_KEEPALIVE_IDLE, 1},  /* s */
    {FOR_BOTH, ZMQ_TCP_KEEPALIVE_INTVL, 1}, /* s */
    {FOR_BOTH, ZMQ_TCP_KEEPALIVE_CNT, 2},
    {FOR_BOTH, ZMQ_TCP_MAXRT, 1500}, /* a peer that acknowledges nothing, or reads nothing */
    {FOR_BOTH, ZMQ_BACKLOG, 100},
    {FOR_BOTH, ZMQ_LINGER, 0}, /* an old message delivered late is worse than none */
    {FOR_INGRESS, ZMQ_RCVHWM, 1000},
    {FOR_EGRESS, ZMQ_SNDHWM, 200},
    {FOR_EGRESS, ZMQ_SNDBUF, 2 * TL_FRAME_MAX},
    {FOR_EGRESS, ZMQ_RCVHWM, 64},
    {FOR_EGRESS, ZMQ_XPUB_VERBOSER, 1}, /* each subscription and its end, so they can be counted */
};

bool
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): the order in which versions are written */
tl_server_library_is_usable(int major, int minor, int patch, bool has_curve)
{
    int version = ZMQ_MAKE_VERSION(major, minor, patch);

    return has_curve && version >= ZMQ_MAKE_VERSION(4, 3, 4);
}

static bool
set_options(void *socket, enum tl_server_role role, const char *curve_secret)
{
    enum role_mask mask = role == TL_SERVER_INGRESS ? FOR_INGRESS : FOR_EGRESS;
    int64_t wire_max = role == TL_SERVER_INGRESS ? TL_INGRESS_WIRE_MAX : TL_EGRESS_WIRE_MAX;

    for (size_t i = 0; i < sizeof OPTIONS / sizeof OPTIONS[0]; i++) {
        const struct number_option *option = &OPTIONS[i];
        if ((option->roles & mask) != 0 &&
            zmq_setsockopt(socket, option->name, &option->value, sizeof option->value) != 0) {
            return false;
        }
    }
    return zmq_setsockopt(socket, ZMQ_MAXMSGSIZE, &wire_max, sizeof wire_max) == 0 &&
           zmq_setsockopt(socket, ZMQ_CURVE_SECRETKEY, curve_secret, strlen(curve_secret) + 1) ==
               0 &&
           zmq_setsockopt(socket, ZMQ_ZAP_DOMAIN, TL_ZAP_DOMAIN, strlen(TL_ZAP_DOMAIN)) == 0 &&
           (role != TL_SERVER_INGRESS || zmq_setsockopt(socket, ZMQ_SUBSCRIBE, "", 0) == 0);
}

enum tl_err
tl_server_open(void *zmq_ctx, enum tl_server_role role, const char *curve_secret, void **out,
               char why[TL_TEXT_CAP])
{
    void *socket;

    TL_REQUIRE(role == TL_SERVER_INGRESS || role == TL_SERVER_EGRESS);
    socket = zmq_socket(zmq_ctx, role == TL_SERVER_INGRESS ? ZMQ_SUB : ZMQ_XPUB);
    if (socket == NULL || !set_options(socket, role, curve_secret)) {
        (void)snprintf(why, TL_TEXT_CAP, "cannot set up a socket: %s", zmq_strerror(zmq_errno()));
        if (socket != NULL) {
            (void)zmq_close(socket);
        }
        return TL_IO;
    }
    *out = socket;
    return TL_OK;
}

enum tl_err
tl_server_bind(void *socket, const char *endpoint, char why[TL_TEXT_CAP])
{
    if (zmq_bind(socket, endpoint) == 0) {
        return TL_OK;
    }
    switch (zmq_errno()) {
    case EADDRINUSE:
        (void)snprintf(why, TL_TEXT_CAP,
                       "%s is in use by another program: stop that one, or change bus.yaml",
                       endpoint);
        return TL_EXISTS;
    case EACCES:
    case EPERM:
        (void)snprintf(why, TL_TEXT_CAP,
                       "not allowed to open %s: run as a user who may, or change bus.yaml",
                       endpoint);
        return TL_PERM;
    case EADDRNOTAVAIL:
    case ENODEV:
        (void)snprintf(why, TL_TEXT_CAP,
                       "%s is not an address of this host: set it up, or change bus.yaml",
                       endpoint);
        return TL_IO;
    default:
        (void)snprintf(why, TL_TEXT_CAP, "cannot open %s: %s", endpoint, zmq_strerror(zmq_errno()));
        return TL_IO;
    }
}
