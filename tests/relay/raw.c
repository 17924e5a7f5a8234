/* SPDX-License-Identifier: Apache-2.0 */
/* raw.c - see raw.h. */
#include "tests/relay/raw.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/time.h>

#include <cmocka.h>
#include <sodium.h>
#include <zmq.h>

enum {
    KEY = 32,
    MAC = 16,
    NONCE = 24,
    GREETING = 64,
    COOKIE = 96,
    WELCOME = 168,
    FRAME_CAP = 1024,
    FLAG_LONG = 2,
    FLAG_COMMAND = 4
};

struct handshake {
    uint8_t server[KEY];
    uint8_t own_public[KEY], own_secret[KEY];
    uint8_t short_public[KEY], short_secret[KEY];
    uint8_t short_server[KEY];
    uint8_t cookie[COOKIE];
};

int
raw_connect(const char *endpoint)
{
    struct sockaddr_in address = {.sin_family = AF_INET};
    const struct timeval limit = {.tv_sec = 10};
    int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);

    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    address.sin_port = htons((uint16_t)strtoul(strrchr(endpoint, ':') + 1, NULL, 10));
    assert_true(fd >= 0);
    assert_int_equal(setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &limit, sizeof limit), 0);
    assert_int_equal(connect(fd, (struct sockaddr *)&address, sizeof address), 0);
    return fd;
}

static void
send_all(int fd, const void *bytes, size_t len)
{
    assert_int_equal(send(fd, bytes, len, MSG_NOSIGNAL), len);
}

static void
receive_all(int fd, void *bytes, size_t len)
{
    assert_int_equal(recv(fd, bytes, len, MSG_WAITALL), len);
}

static void
send_frame(int fd, uint8_t flags, const uint8_t *bytes, size_t len)
{
    uint8_t head[9] = {flags, (uint8_t)len};
    size_t head_len = 2;

    if (len > 255) {
        head[0] |= FLAG_LONG;
        for (int i = 0; i < 8; i++) {
            head[1 + i] = (uint8_t)((uint64_t)len >> (56 - 8 * i));
        }
        head_len = 9;
    }
    send_all(fd, head, head_len);
    send_all(fd, bytes, len);
}

/* A command below 256 bytes, as WELCOME and READY are. */
static size_t
receive_command(int fd, uint8_t *bytes)
{
    uint8_t head[2];

    receive_all(fd, head, sizeof head);
    assert_int_equal(head[0], FLAG_COMMAND);
    receive_all(fd, bytes, head[1]);
    return head[1];
}

static void
make_nonce(uint8_t nonce[NONCE], const char *prefix, uint64_t number)
{
    size_t len = strlen(prefix);

    memcpy(nonce, prefix, len);
    for (size_t i = 0; i < 8; i++) {
        nonce[len + i] = (uint8_t)(number >> (56 - 8 * i));
    }
}

static void
greet(int fd)
{
    uint8_t mine[GREETING] = {0xff, [9] = 0x7f, [10] = 3, [11] = 1};
    uint8_t theirs[GREETING];

    memcpy(mine + 12, "CURVE", 5);
    send_all(fd, mine, sizeof mine);
    receive_all(fd, theirs, sizeof theirs);
    assert_memory_equal(theirs + 12, "CURVE", 5);
}

static void
say_hello(int fd, const struct handshake *shake)
{
    uint8_t hello[200] = "\x05HELLO\x01";
    uint8_t nonce[NONCE];
    const uint8_t zeros[64] = {0};

    make_nonce(nonce, "CurveZMQHELLO---", 1);
    memcpy(hello + 80, shake->short_public, KEY);
    memcpy(hello + 112, nonce + 16, 8);
    assert_int_equal(crypto_box_easy(hello + 120, zeros, sizeof zeros, nonce, shake->server,
                                     shake->short_secret),
                     0);
    send_frame(fd, FLAG_COMMAND, hello, sizeof hello);
}

static void
take_welcome(int fd, struct handshake *shake)
{
    uint8_t welcome[256];
    uint8_t nonce[NONCE] = "WELCOME-";
    uint8_t plain[KEY + COOKIE];

    assert_int_equal(receive_command(fd, welcome), WELCOME);
    memcpy(nonce + 8, welcome + 8, 16);
    assert_int_equal(crypto_box_open_easy(plain, welcome + 24, sizeof plain + MAC, nonce,
                                          shake->server, shake->short_secret),
                     0);
    memcpy(shake->short_server, plain, KEY);
    memcpy(shake->cookie, plain + KEY, COOKIE);
}

static size_t
put_property(uint8_t *at, const struct raw_property *property)
{
    size_t name_len = strlen(property->name);
    size_t value_len = strlen(property->value);

    at[0] = (uint8_t)name_len;
    memcpy(at + 1, property->name, name_len);
    memset(at + 1 + name_len, 0, 3);
    at[1 + name_len + 3] = (uint8_t)value_len;
    memcpy(at + 1 + name_len + 4, property->value, value_len);
    return 1 + name_len + 4 + value_len;
}

static void
initiate(int fd, const struct handshake *shake, const struct raw_property *extra)
{
    uint8_t plain[FRAME_CAP / 2];
    uint8_t frame[FRAME_CAP] = "\x08INITIATE";
    uint8_t nonce[NONCE] = "VOUCH---";
    uint8_t vouch[2 * KEY];
    size_t len = KEY + 16 + sizeof vouch + MAC;

    randombytes_buf(nonce + 8, 16);
    memcpy(vouch, shake->short_public, KEY);
    memcpy(vouch + KEY, shake->server, KEY);
    memcpy(plain, shake->own_public, KEY);
    memcpy(plain + KEY, nonce + 8, 16);
    assert_int_equal(crypto_box_easy(plain + KEY + 16, vouch, sizeof vouch, nonce,
                                     shake->short_server, shake->own_secret),
                     0);
    len += put_property(plain + len, &(struct raw_property){"Socket-Type", "PUB"});
    for (; extra->name != NULL; extra++) {
        len += put_property(plain + len, extra);
    }
    make_nonce(nonce, "CurveZMQINITIATE", 2);
    memcpy(frame + 9, shake->cookie, COOKIE);
    memcpy(frame + 9 + COOKIE, nonce + 16, 8);
    assert_int_equal(crypto_box_easy(frame + 9 + COOKIE + 8, plain, len, nonce, shake->short_server,
                                     shake->short_secret),
                     0);
    send_frame(fd, FLAG_COMMAND, frame, 9 + COOKIE + 8 + len + MAC);
}

void
/* NOLINTNEXTLINE(readability-function-size): four of them are one key each */
raw_join(struct raw_peer *peer, const char *endpoint, const char *server_key,
         const char *public_key, const char *secret_key, const struct raw_property *extra)
{
    struct handshake shake;
    uint8_t ready[256];

    assert_non_null(zmq_z85_decode(shake.server, server_key));
    assert_non_null(zmq_z85_decode(shake.own_public, public_key));
    assert_non_null(zmq_z85_decode(shake.own_secret, secret_key));
    assert_int_equal(crypto_box_keypair(shake.short_public, shake.short_secret), 0);
    peer->fd = raw_connect(endpoint);
    greet(peer->fd);
    say_hello(peer->fd, &shake);
    take_welcome(peer->fd, &shake);
    initiate(peer->fd, &shake, extra);
    assert_true(receive_command(peer->fd, ready) > 6);
    assert_memory_equal(ready, "\x05READY", 6);
    assert_int_equal(crypto_box_beforenm(peer->key, shake.short_server, shake.short_secret), 0);
    peer->nonce = 3;
}

void
raw_send(struct raw_peer *peer, const void *bytes, size_t len)
{
    uint8_t *plain = calloc(1, len + 1); /* flags in front: no more frames */
    uint8_t *frame = malloc(8 + 8 + MAC + 1 + len);
    uint8_t nonce[NONCE];

    assert_non_null(plain);
    assert_non_null(frame);
    memcpy(plain + 1, bytes, len);
    make_nonce(nonce, "CurveZMQMESSAGEC", peer->nonce++);
    memcpy(frame, "\x07MESSAGE", 8);
    memcpy(frame + 8, nonce + 16, 8);
    assert_int_equal(crypto_box_easy_afternm(frame + 16, plain, len + 1, nonce, peer->key), 0);
    send_frame(peer->fd, 0, frame, 16 + MAC + 1 + len);
    free(plain);
    free(frame);
}
