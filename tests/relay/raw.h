/* SPDX-License-Identifier: Apache-2.0 */
/*
 * raw - a publisher that speaks ZMTP 3.1 and CURVE by hand, to say what libzmq would not
 *
 * ZeroMQ RFC 37/ZMTP (greeting, frames), RFC 26/CurveZMQ (HELLO, WELCOME, INITIATE, READY, MESSAGE
 * and their nonces). The handshake is honest but for the metadata, which is the caller's.
 */
#ifndef TESTS_RELAY_RAW_H
#define TESTS_RELAY_RAW_H

#include <stddef.h>
#include <stdint.h>

struct raw_property {
    const char *name;
    const char *value;
};

/* A TCP connection to tcp://127.0.0.1:PORT; a file descriptor. Reading times out. */
int raw_connect(const char *endpoint);

struct raw_peer {
    int fd;
    uint64_t nonce;
    uint8_t key[32]; /* between its short-term key and the server's, precomputed */
};

/*
 * Join with that CURVE pair and metadata (ended by a NULL name, beside "Socket-Type: PUB"). Fails
 * the test when the server does not accept.
 */
void raw_join(struct raw_peer *peer, const char *endpoint, const char *server_key,
              const char *public_key, const char *secret_key, const struct raw_property *extra);
/* Send one message of one frame. */
void raw_send(struct raw_peer *peer, const void *bytes, size_t len);

#endif
