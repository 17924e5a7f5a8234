/* SPDX-License-Identifier: Apache-2.0 */
/* self_test.c - see self_test.h. */
#include "broker/access/self_test.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include <sodium.h>
#include <zmq.h>

#include "proto/base/clock.h"

enum {
    Z85_CAP = 41,
    WORD_CAP = 24,
    MESSAGE_CAP = 64,
    PUMP_MS = 10,
    EVENTS_MAX = 1000
};

struct bench {
    const struct tl_self_test *test;
    char endpoint[TL_ENDPOINT_CAP];
    uint64_t deadline_ms;
    char word[WORD_CAP]; /* random; what the clients publish or subscribe to */
    size_t word_len;
    void *client;
    uint8_t client_key[TL_CURVE_KEY_LEN];
    bool invited;      /* the ingress told the client what it wants to hear */
    unsigned arrived;  /* messages at the server socket */
    bool named;        /* the word arrived under the probe's user id */
    bool unsubscribed; /* the egress saw the client leave */
};

static enum tl_err
fail(char why[TL_TEXT_CAP], enum tl_err err, const char *text)
{
    (void)snprintf(why, TL_TEXT_CAP, "self-test: %s", text);
    return err;
}

static bool
open_client(struct bench *bench)
{
    const int zero = 0;
    const int never = -1;
    const bool at_ingress = bench->test->role == TL_SERVER_INGRESS;
    char public_key[Z85_CAP];
    char secret_key[Z85_CAP];
    void *client = zmq_socket(bench->test->zmq_ctx, at_ingress ? ZMQ_XPUB : ZMQ_SUB);
    bool done = false;

    if (client == NULL) {
        return false;
    }
    if (zmq_curve_keypair(public_key, secret_key) == 0 &&
        zmq_z85_decode(bench->client_key, public_key) != NULL) {
        done =
            zmq_setsockopt(client, ZMQ_LINGER, &zero, sizeof zero) == 0 &&
            zmq_setsockopt(client, ZMQ_RECONNECT_IVL, &never, sizeof never) == 0 &&
            zmq_setsockopt(client, ZMQ_CURVE_SERVERKEY, bench->test->curve_public, Z85_CAP) == 0 &&
            zmq_setsockopt(client, ZMQ_CURVE_PUBLICKEY, public_key, Z85_CAP) == 0 &&
            zmq_setsockopt(client, ZMQ_CURVE_SECRETKEY, secret_key, Z85_CAP) == 0 &&
            (at_ingress ||
             zmq_setsockopt(client, ZMQ_SUBSCRIBE, bench->word, bench->word_len) == 0);
    }
    sodium_memzero(secret_key, sizeof secret_key);
    if (!done) {
        (void)zmq_close(client);
        return false;
    }
    bench->client = client;
    bench->invited = false;
    return true;
}

static void
close_client(struct bench *bench)
{
    if (bench->client != NULL) {
        (void)zmq_close(bench->client);
        bench->client = NULL;
    }
}

/* A subscription has one more byte in front: 1 for its begin, 0 for its end. */
static void
note_arrival(struct bench *bench, zmq_msg_t *msg)
{
    const uint8_t *bytes = zmq_msg_data(msg);
    size_t len = zmq_msg_size(msg);
    size_t mark = bench->test->role == TL_SERVER_EGRESS ? 1 : 0;
    const char *user_id = zmq_msg_gets(msg, "User-Id");

    bench->arrived++;
    if (len != mark + bench->word_len || memcmp(bytes + mark, bench->word, bench->word_len) != 0) {
        return;
    }
    if (mark == 1 && bytes[0] == 0) {
        bench->unsubscribed = true;
        return;
    }
    bench->named = user_id != NULL && strcmp(user_id, TL_ZAP_PROBE_ID) == 0;
}

static void
receive_at_server(struct bench *bench)
{
    for (int i = 0; i < EVENTS_MAX; i++) {
        zmq_msg_t msg;
        (void)zmq_msg_init(&msg);
        if (zmq_msg_recv(&msg, bench->test->socket, ZMQ_DONTWAIT) < 0) {
            (void)zmq_msg_close(&msg);
            return;
        }
        note_arrival(bench, &msg);
        (void)zmq_msg_close(&msg);
    }
}

/* Only an ingress sends its client something: that it wants to hear everything. */
static void
receive_at_client(struct bench *bench)
{
    char bytes[MESSAGE_CAP];

    if (bench->client != NULL && bench->test->role == TL_SERVER_INGRESS &&
        zmq_recv(bench->client, bytes, sizeof bytes, ZMQ_DONTWAIT) >= 0) {
        bench->invited = true;
        /* Cannot block: the queue is empty. If it fails, the word does not arrive. */
        (void)zmq_send(bench->client, bench->word, bench->word_len, ZMQ_DONTWAIT);
    }
}

/* Let everything move once; false when the time is over. */
static bool
pump(struct bench *bench)
{
    zmq_pollitem_t items[] = {
        {bench->test->socket, 0, ZMQ_POLLIN, 0},
        {bench->test->monitor->pair, 0, ZMQ_POLLIN, 0},
        {bench->client, 0, ZMQ_POLLIN, 0},
    };

    if (tl_clock_boot_ms() >= bench->deadline_ms) {
        return false;
    }
    (void)zmq_poll(items, bench->client != NULL ? 3 : 2, PUMP_MS);
    (void)tl_monitor_drain(bench->test->monitor, EVENTS_MAX);
    receive_at_server(bench);
    receive_at_client(bench);
    return true;
}

static enum tl_err
try_stranger(struct bench *bench, char why[TL_TEXT_CAP])
{
    const struct tl_monitor_counts *counts = &bench->test->monitor->counts;
    struct tl_zap_counters answers = {.unknown = 0};
    bool asked = false;

    if (!open_client(bench) || zmq_connect(bench->client, bench->endpoint) != 0) {
        return fail(why, TL_IO, "cannot make a client");
    }
    while ((!asked || counts->auth_failed == 0) && pump(bench)) {
        if (counts->joined > 0 || bench->arrived > 0 || bench->invited) {
            return fail(why, TL_REFUSED, "a key that is in no list was let in; nothing is served");
        }
        tl_zap_counters(bench->test->zap, &answers);
        asked = memcmp(answers.last_unknown_key, bench->client_key, TL_CURVE_KEY_LEN) == 0;
    }
    if (!asked) {
        return fail(why, TL_REFUSED, "the key handler was not asked about an unknown key");
    }
    if (counts->auth_failed == 0) {
        return fail(why, TL_REFUSED, "the refusal of an unknown key had no effect");
    }
    return TL_OK;
}

static enum tl_err
try_probe(struct bench *bench, char why[TL_TEXT_CAP])
{
    if (!open_client(bench)) {
        return fail(why, TL_IO, "cannot make a client");
    }
    tl_zap_admit_probe(bench->test->zap, bench->client_key);
    if (zmq_connect(bench->client, bench->endpoint) != 0) {
        return fail(why, TL_IO, "cannot connect a client");
    }
    while (bench->arrived == 0) {
        if (!pump(bench)) {
            return fail(why, TL_REFUSED, "a key that is admitted could not get through");
        }
    }
    if (!bench->named || bench->arrived != 1) {
        return fail(why, TL_REFUSED, "a message came without the user id of its key");
    }
    return TL_OK;
}

/*
 * Wait until nothing of the test is left that the relay would count. The port must still be open:
 * closing it drops the connections that it has accepted without an event.
 */
static enum tl_err
wait_until_quiet(struct bench *bench, char why[TL_TEXT_CAP])
{
    while (tl_monitor_connections(bench->test->monitor) > 0 ||
           (bench->test->role == TL_SERVER_EGRESS && !bench->unsubscribed)) {
        if (!pump(bench)) {
            return fail(why, TL_IO, "a client that left is still counted");
        }
    }
    bench->test->monitor->counts = (struct tl_monitor_counts){.accepted = 0};
    bench->test->monitor->held = 0;
    return TL_OK;
}

static bool
bind_bench(struct bench *bench)
{
    size_t len = sizeof bench->endpoint;

    /* Any free port will do: both ends live in this process, for a moment. */
    return zmq_bind(bench->test->socket, "tcp://127.0.0.1:*") == 0 &&
           zmq_getsockopt(bench->test->socket, ZMQ_LAST_ENDPOINT, bench->endpoint, &len) == 0;
}

enum tl_err
tl_self_test_run(const struct tl_self_test *test, char why[TL_TEXT_CAP])
{
    struct bench bench = {.test = test, .deadline_ms = tl_clock_boot_ms() + test->timeout_ms};
    uint64_t nonce;
    enum tl_err err;

    randombytes_buf(&nonce, sizeof nonce);
    bench.word_len = (size_t)snprintf(bench.word, sizeof bench.word, "test/%016" PRIx64, nonce);
    if (!bind_bench(&bench)) {
        return fail(why, TL_IO, "cannot open a port on 127.0.0.1");
    }
    err = try_stranger(&bench, why);
    close_client(&bench);
    if (err == TL_OK) {
        err = try_probe(&bench, why);
        close_client(&bench);
        tl_zap_refuse_probe(test->zap);
    }
    if (err == TL_OK) {
        err = wait_until_quiet(&bench, why);
    }
    if (zmq_unbind(test->socket, bench.endpoint) != 0 && err == TL_OK) {
        err = fail(why, TL_IO, "cannot close its port again");
    }
    return err;
}
