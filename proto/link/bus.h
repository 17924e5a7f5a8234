/* SPDX-License-Identifier: Apache-2.0 */
/*
 * bus.h - the two sockets that join one bus, and their monitors. Used by link.c alone.
 *
 * Options as measured with libzmq 4.3.4, and why:
 *   IMMEDIATE 1, LINGER 0   nothing old is delivered after a broker comes back
 *   TCP_MAXRT 1500, keepalive   a vanished peer is noticed; ZMTP heartbeats abort the library on
 *                               receiving sockets, so there are none
 *   XPUB to publish         a received 0x01 says that the broker has subscribed: it hears us
 *   SUB SNDHWM 0            subscriptions are never lost
 *   no MAXMSGSIZE           an oversize frame would silence a connecting socket for ever
 *   monitors RCVHWM 0, read at once   an unread monitor stops the whole context
 */
#ifndef TL_LINK_BUS_H
#define TL_LINK_BUS_H

#include "proto/link/link.h"
#include "proto/link/supervise.h"

enum {
    TL_BUS_MONITORS = 2
};

struct tl_bus_sockets {
    void *publish;
    void *subscribe;
    void *monitor[TL_BUS_MONITORS]; /* of publish, of subscribe */
    uint64_t built;                 /* makes the names of monitors unique */
    uint32_t server_epoch;          /* of the broker's key in use */
    uint8_t server_identity[32];
};

/*
 * Build and connect. TL_CONFIG: no key of the broker may be believed. TL_IO: the context is out of
 * sockets. Nothing is left open on error.
 */
TL_MUST_USE enum tl_err tl_bus_build(void *context, const struct tl_link_options *options,
                                     const struct tl_bus *bus, struct tl_bus_sockets *sockets);
/* Monitors first, then the sockets, which linger that long. */
void tl_bus_drop(struct tl_bus_sockets *sockets, int linger_ms);

/* Whether keys.yaml still has the broker's key that is in use, not revoked; true when none is. */
bool tl_bus_server_believed(const struct tl_bus_sockets *sockets, const struct tl_config *config,
                            const char *bus);

/* "change/<self>/" of a station, its length without the NUL; 0 for another kind of node. */
size_t tl_bus_own_topic(const struct tl_link_options *options, char text[TL_TOPIC_CAP]);

/* Read monitors and subscriptions; hand what they say to the supervision. */
void tl_bus_listen(struct tl_bus_sockets *sockets, struct tl_supervise *supervise, uint64_t now_ms);

#endif
