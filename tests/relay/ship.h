/* SPDX-License-Identifier: Apache-2.0 */
/*
 * ship - a configuration folder of its own, a real trapline-broker on it, and nodes that join
 *
 * Ports are free ones of loopback. Nothing here sleeps: a publisher is ready when the broker has
 * told it what it wants to hear, a listener when it has heard a frame sent for that purpose.
 */
#ifndef TESTS_RELAY_SHIP_H
#define TESTS_RELAY_SHIP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>

#include "proto/codec/codec.h"
#include "proto/link/identity.h"
#include "proto/vocab/config.h"

enum {
    SHIP_WAIT_MS = 10000,
    SHIP_TEXT_CAP = 4096,
    SHIP_SOCKETS_MAX = 16
};

struct ship {
    char dir[64]; /* of the test; holds the folder and the broker's log */
    char config_dir[96];
    char log[96]; /* standard error of the broker */
    struct tl_config *config;
    const struct tl_bus *bus; /* bus-a */
    char bus_key[TL_CURVE_CAP];
    pid_t pid; /* of the broker; 0 = not running */
    int out;   /* its standard output; -1 = none */
    void *ctx;
    void *socket[SHIP_SOCKETS_MAX];
    unsigned socket_count;
    void *probe; /* a publisher as "viewer", for listeners to hear */
    struct tl_codec *codec;
};

/* cmocka set-up and tear-down; the broker is not started. */
int ship_set_up(void **state);
int ship_tear_down(void **state);

/* As above, with the broker running. */
int ship_set_up_running(void **state);

/* Write keys.yaml anew from ship->config. */
void ship_write_keys(const struct ship *ship);
/* Make one more key and its secret; added to ship->config, not yet to keys.yaml. */
void ship_add_key(struct ship *ship, const char *node, uint32_t epoch);
void ship_revoke(struct ship *ship, const char *node, uint32_t epoch);

/* Run the broker with these arguments after the program's name, ended by NULL. err_fd: -1 = log. */
void ship_spawn(struct ship *ship, const char *const *args, int err_fd);
/* Run it on bus-a and wait for its ready line. */
void ship_start(struct ship *ship);
/* Wait for its end; the exit status, or 256 + the signal that killed it. */
int ship_wait(struct ship *ship);
/* The first lines of its output or log. */
void ship_read_output(struct ship *ship, char text[SHIP_TEXT_CAP]);
void ship_read_log(const struct ship *ship, char text[SHIP_TEXT_CAP]);

/* ---- nodes ---- */

/* A socket of that zmq type with the keys of that node; not connected. Closed by tear-down. */
void *ship_socket(struct ship *ship, int type, const char *node, uint32_t epoch);
/* Publisher that the broker listens to. */
void *ship_publisher(struct ship *ship, const char *node);
/* Whether the broker invites that XPUB within the time. */
bool ship_is_invited(void *publisher, int wait_ms);
/* Subscriber whose subscriptions are in force: to that prefix, and to the probe's topic. */
void *ship_listener(struct ship *ship, const char *prefix);
void ship_close(struct ship *ship, void *socket);

/* A frame on that topic with `len` bytes in all; the rest is made from `seed`. Freed with free(). */
uint8_t *ship_frame(const char *topic, size_t len, unsigned seed);
void ship_send(void *publisher, const void *bytes, size_t len);
/* A small frame on that topic. */
void ship_say(void *publisher, const char *topic);

/* The next frame that is not the probe's; its length, or -1 after the time. */
int ship_hear(void *listener, uint8_t *dst, size_t cap, int wait_ms);
/* Require that the next frame is on that topic. */
void ship_expect_topic(void *listener, const char *topic);
/* The next of the bus's own messages of that body, signature and all checked. */
void ship_hear_bus(struct ship *ship, void *listener, enum tl_body_kind body,
                   struct tl_envelope *out);

#endif
