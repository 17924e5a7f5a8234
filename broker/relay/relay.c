/* SPDX-License-Identifier: Apache-2.0 */
/* relay.c - opening and closing of a relay. See relay.h. */
#include "broker/relay/relay.h"

#include <stdio.h>
#include <stdlib.h>

#include "broker/access/self_test.h"
#include "broker/access/server.h"
#include "broker/relay/state.h"

enum {
    SELF_TEST_MS = 2000
};

static enum tl_err
fail(enum tl_err err, const char *text, char why[TL_TEXT_CAP])
{
    (void)snprintf(why, TL_TEXT_CAP, "%s: %s", text, zmq_strerror(zmq_errno()));
    return err;
}

/* The handler comes first: where none is bound, libzmq lets peers in under names they choose. */
static enum tl_err
open_context(struct tl_relay *relay, char why[TL_TEXT_CAP])
{
    enum tl_err err;

    relay->zmq_ctx = zmq_ctx_new();
    if (relay->zmq_ctx == NULL || zmq_ctx_set(relay->zmq_ctx, ZMQ_BLOCKY, 0) != 0) {
        return fail(TL_IO, "cannot start the message library", why);
    }
    err = tl_zap_open(relay->zmq_ctx, &relay->access, &relay->zap);
    return err == TL_OK ? TL_OK : fail(err, "cannot start the key handler", why);
}

static enum tl_err
open_sockets(struct tl_relay *relay, char why[TL_TEXT_CAP])
{
    const char *secret = relay->identity->curve_secret;
    enum tl_err err =
        tl_server_open(relay->zmq_ctx, TL_SERVER_INGRESS, secret, &relay->ingress, why);

    if (err == TL_OK) {
        err = tl_server_open(relay->zmq_ctx, TL_SERVER_EGRESS, secret, &relay->egress, why);
    }
    if (err != TL_OK) {
        return err;
    }
    err = tl_monitor_open(relay->zmq_ctx, relay->ingress, "inproc://trapline.ingress",
                          &relay->ingress_monitor);
    if (err == TL_OK) {
        err = tl_monitor_open(relay->zmq_ctx, relay->egress, "inproc://trapline.egress",
                              &relay->egress_monitor);
    }
    return err == TL_OK ? TL_OK : fail(err, "cannot watch a socket", why);
}

static enum tl_err
test_sockets(struct tl_relay *relay, char why[TL_TEXT_CAP])
{
    struct tl_self_test test = {
        .zmq_ctx = relay->zmq_ctx,
        .zap = relay->zap,
        .monitor = &relay->ingress_monitor,
        .socket = relay->ingress,
        .role = TL_SERVER_INGRESS,
        .curve_public = relay->identity->curve_public,
        .timeout_ms = SELF_TEST_MS,
    };
    enum tl_err err = tl_self_test_run(&test, why);

    if (err != TL_OK) {
        return err;
    }
    test.monitor = &relay->egress_monitor;
    test.socket = relay->egress;
    test.role = TL_SERVER_EGRESS;
    err = tl_self_test_run(&test, why);
    tl_zap_counters(relay->zap, &relay->answered);
    return err;
}

static enum tl_err
open_all(struct tl_relay *relay, uint64_t incarnation, char why[TL_TEXT_CAP])
{
    enum tl_err err = open_context(relay, why);

    if (err == TL_OK) {
        err = open_sockets(relay, why);
    }
    if (err == TL_OK) {
        err = test_sockets(relay, why);
    }
    if (err != TL_OK) {
        return err;
    }
    err = tl_voice_open(relay->identity, incarnation, &relay->voice);
    if (err != TL_OK) {
        return fail(err, "cannot prepare own messages", why);
    }
    err = tl_server_bind(relay->ingress, relay->bus->ingress, why);
    return err == TL_OK ? tl_server_bind(relay->egress, relay->bus->egress, why) : err;
}

enum tl_err
tl_relay_open(const struct tl_relay_start *start, struct tl_relay **out, char why[TL_TEXT_CAP])
{
    struct tl_relay *relay = calloc(1, sizeof *relay);
    enum tl_err err;

    if (relay == NULL) {
        return fail(TL_NOMEM, "cannot start", why);
    }
    (void)zmq_msg_init(&relay->msg);
    relay->config = start->config;
    relay->bus = start->bus;
    relay->identity = start->identity;
    relay->notify = start->notify;
    relay->signal_fd = start->signal_fd;
    relay->metrics = start->metrics;
    relay->incarnation = start->incarnation;
    relay->access = *start->access;
    err = open_all(relay, start->incarnation, why);
    if (err != TL_OK) {
        tl_relay_close(&relay);
        return err;
    }
    *out = relay;
    return TL_OK;
}

static void
close_socket(void *socket)
{
    if (socket != NULL) {
        (void)zmq_close(socket);
    }
}

/* A signal may interrupt the wait for the library's threads; they still end. */
static void
end_context(void *zmq_ctx)
{
    while (zmq_ctx != NULL && zmq_ctx_term(zmq_ctx) != 0 && zmq_errno() == EINTR) {
    }
}

void
tl_relay_close(struct tl_relay **relay)
{
    struct tl_relay *old = *relay;

    if (old == NULL) {
        return;
    }
    *relay = NULL;
    tl_monitor_close(&old->ingress_monitor);
    tl_monitor_close(&old->egress_monitor);
    (void)zmq_msg_close(&old->msg);
    close_socket(old->ingress);
    close_socket(old->egress);
    tl_zap_close(&old->zap);
    tl_voice_close(&old->voice);
    end_context(old->zmq_ctx);
    free(old);
}
