/* SPDX-License-Identifier: Apache-2.0 */
/* bus.c - see bus.h. */
#include "proto/link/bus.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

enum {
    PUBLISH_HWM = 200,
    ZAP_NOT_LISTED = 500, /* a broker's answer to a key that its list does not have */
    EVENTS_A_TURN = 256
};

static int
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): the order of zmq_setsockopt */
set_int(void *socket, int option, int value)
{
    return zmq_setsockopt(socket, option, &value, sizeof value);
}

/*
 * Of the broker's unrevoked keys the newest; after a handshake that failed, the other one, since
 * the broker may still run with the key before.
 */
static const struct tl_key *
choose_key(const struct tl_config *config, const char *bus, uint32_t last_epoch)
{
    const struct tl_key *newest = NULL;
    const struct tl_key *other = NULL;
    for (uint32_t i = 0; i < config->key_count; i++) {
        const struct tl_key *key = &config->key[i];
        if (key->revoked || strncmp(key->node, bus, TL_ID_CAP) != 0) {
            continue;
        }
        if (newest == NULL || key->epoch > newest->epoch) {
            other = newest;
            newest = key;
        } else {
            other = key;
        }
    }
    bool tried = newest != NULL && newest->epoch == last_epoch;
    return tried && other != NULL ? other : newest;
}

size_t
tl_bus_own_topic(const struct tl_link_options *options, char text[TL_TOPIC_CAP])
{
    const struct tl_node *node = tl_config_node(options->config, options->identity->node);
    struct tl_topic topic = {.kind = TL_TOPIC_CHANGE};
    size_t len = 0;
    memset(text, 0, TL_TOPIC_CAP);
    memcpy(topic.publisher, options->identity->node, TL_ID_CAP);
    if (node == NULL || node->kind != TL_NODE_STATION ||
        tl_topic_write(&topic, text, TL_TOPIC_CAP, &len) != TL_OK) {
        return 0;
    }
    return len;
}

static bool
set_common(void *socket, const struct tl_identity *identity, const char *server_key)
{
    const struct {
        int option;
        int value;
    } numbers[] = {
        {ZMQ_LINGER, 0},
        {ZMQ_IMMEDIATE, 1},
        {ZMQ_TCP_MAXRT, 1500},
        {ZMQ_CONNECT_TIMEOUT, 1000},
        {ZMQ_RECONNECT_IVL, 100},
        {ZMQ_RECONNECT_IVL_MAX, 2000},
        {ZMQ_TCP_KEEPALIVE, 1},
        {ZMQ_TCP_KEEPALIVE_IDLE, 1},
        {ZMQ_TCP_KEEPALIVE_INTVL, 1},
        {ZMQ_TCP_KEEPALIVE_CNT, 2},
        {ZMQ_HANDSHAKE_IVL, 1500},
    };
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        if (set_int(socket, numbers[i].option, numbers[i].value) != 0) {
            return false;
        }
    }
    return zmq_setsockopt(socket, ZMQ_CURVE_SERVERKEY, server_key, TL_CURVE_CAP) == 0 &&
           zmq_setsockopt(socket, ZMQ_CURVE_PUBLICKEY, identity->curve_public, TL_CURVE_CAP) == 0 &&
           zmq_setsockopt(socket, ZMQ_CURVE_SECRETKEY, identity->curve_secret, TL_CURVE_CAP) == 0;
}

/* The kind's prefix, or the own address at each node that may write to it. */
static bool
subscribe_kind(void *socket, const struct tl_link_options *options, enum tl_topic_kind kind)
{
    const struct tl_config *config = options->config;
    enum tl_node_kind from = kind == TL_TOPIC_RECEIPT ? TL_NODE_VALIDATOR : TL_NODE_RECORDER;
    bool addressed = kind == TL_TOPIC_RECEIPT || kind == TL_TOPIC_RECORDED;
    char text[TL_TOPIC_CAP];
    size_t len = 0;
    for (uint32_t i = 0; i < config->node_count; i++) {
        struct tl_topic topic = {.kind = kind};
        memcpy(topic.publisher, config->node[i].id, TL_ID_CAP);
        memcpy(topic.addressee, options->identity->node, TL_ID_CAP);
        if (!addressed) {
            memset(topic.addressee, 0, sizeof topic.addressee);
        } else if (config->node[i].kind != from) {
            continue;
        }
        if (tl_topic_write(&topic, text, sizeof text, &len) != TL_OK) {
            return false;
        }
        if (!addressed) {
            len = (size_t)(strchr(text, '/') - text) + 1;
        }
        if (zmq_setsockopt(socket, ZMQ_SUBSCRIBE, text, len) != 0) {
            return false;
        }
        if (!addressed) {
            return true;
        }
    }
    return true;
}

/* A station hears its own changes come back: see carried.h. */
static bool
subscribe_own(void *socket, const struct tl_link_options *options)
{
    char text[TL_TOPIC_CAP];
    size_t len = tl_bus_own_topic(options, text);
    return len == 0 || zmq_setsockopt(socket, ZMQ_SUBSCRIBE, text, len) == 0;
}

static bool
subscribe_all(void *socket, const struct tl_link_options *options)
{
    for (size_t i = 0; i < options->listen_count; i++) {
        if (options->listen[i] != TL_TOPIC_BUS &&
            !subscribe_kind(socket, options, options->listen[i])) {
            return false;
        }
    }
    return subscribe_kind(socket, options, TL_TOPIC_BUS) && /* the broker's sign of life */
           subscribe_own(socket, options);
}

static void *
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): bus before side, as in its name */
open_monitor(void *context, void *socket, const char *bus, const char *side, uint64_t built)
{
    char name[TL_TOPIC_CAP + 32];
    int events = ZMQ_EVENT_HANDSHAKE_FAILED_AUTH | ZMQ_EVENT_HANDSHAKE_FAILED_PROTOCOL |
                 ZMQ_EVENT_HANDSHAKE_FAILED_NO_DETAIL;
    (void)snprintf(name, sizeof name, "inproc://%s-%s-%" PRIu64, bus, side, built);
    if (zmq_socket_monitor(socket, name, events) != 0) {
        return NULL;
    }
    void *monitor = zmq_socket(context, ZMQ_PAIR);
    if (monitor == NULL || set_int(monitor, ZMQ_RCVHWM, 0) != 0 ||
        set_int(monitor, ZMQ_LINGER, 0) != 0 || zmq_connect(monitor, name) != 0) {
        (void)zmq_socket_monitor(socket, NULL, 0);
        if (monitor != NULL) {
            (void)zmq_close(monitor);
        }
        return NULL;
    }
    return monitor;
}

static bool
build_sockets(void *context, const struct tl_link_options *options, const struct tl_bus *bus,
              struct tl_bus_sockets *sockets, const char *server_key)
{
    sockets->publish = zmq_socket(context, ZMQ_XPUB);
    sockets->subscribe = zmq_socket(context, ZMQ_SUB);
    if (sockets->publish == NULL || sockets->subscribe == NULL ||
        !set_common(sockets->publish, options->identity, server_key) ||
        !set_common(sockets->subscribe, options->identity, server_key) ||
        set_int(sockets->publish, ZMQ_SNDHWM, PUBLISH_HWM) != 0 ||
        set_int(sockets->subscribe, ZMQ_SNDHWM, 0) != 0 ||
        !subscribe_all(sockets->subscribe, options)) {
        return false;
    }
    sockets->monitor[0] =
        open_monitor(context, sockets->publish, bus->id, "publish", sockets->built);
    sockets->monitor[1] =
        open_monitor(context, sockets->subscribe, bus->id, "subscribe", sockets->built);
    return sockets->monitor[0] != NULL && sockets->monitor[1] != NULL &&
           zmq_connect(sockets->publish, bus->ingress) == 0 &&
           zmq_connect(sockets->subscribe, bus->egress) == 0;
}

enum tl_err
tl_bus_build(void *context, const struct tl_link_options *options, const struct tl_bus *bus,
             struct tl_bus_sockets *sockets)
{
    char server_key[TL_CURVE_CAP];
    const struct tl_key *key = choose_key(options->config, bus->id, sockets->server_epoch);
    if (key == NULL || tl_identity_curve_public(key->identity, server_key) != TL_OK) {
        return TL_CONFIG;
    }
    sockets->server_epoch = key->epoch;
    memcpy(sockets->server_identity, key->identity, sizeof sockets->server_identity);
    sockets->built++;
    if (!build_sockets(context, options, bus, sockets, server_key)) {
        tl_bus_drop(sockets, 0);
        return TL_IO;
    }
    return TL_OK;
}

bool
tl_bus_server_believed(const struct tl_bus_sockets *sockets, const struct tl_config *config,
                       const char *bus)
{
    const struct tl_key *key = tl_config_key(config, bus, sockets->server_epoch);

    return sockets->publish == NULL ||
           (key != NULL && !key->revoked &&
            memcmp(key->identity, sockets->server_identity, sizeof key->identity) == 0);
}

static void
drop_socket(void **socket, int linger_ms)
{
    if (*socket != NULL) {
        (void)zmq_socket_monitor(*socket, NULL, 0);
        (void)set_int(*socket, ZMQ_LINGER, linger_ms);
        (void)zmq_close(*socket);
        *socket = NULL;
    }
}

void
tl_bus_drop(struct tl_bus_sockets *sockets, int linger_ms)
{
    drop_socket(&sockets->publish, linger_ms);
    drop_socket(&sockets->subscribe, 0);
    for (size_t i = 0; i < TL_BUS_MONITORS; i++) {
        if (sockets->monitor[i] != NULL) {
            (void)zmq_close(sockets->monitor[i]);
            sockets->monitor[i] = NULL;
        }
    }
}

/* One event is two frames: number and value, then the endpoint. False when there is none. */
static bool
read_event(void *monitor, enum tl_supervise_event *event)
{
    uint16_t number = 0;
    uint32_t value = 0;
    zmq_msg_t frame;
    bool got = false;
    (void)zmq_msg_init(&frame);
    if (zmq_msg_recv(&frame, monitor, ZMQ_DONTWAIT) >= 0) {
        const uint8_t *bytes = zmq_msg_data(&frame);
        got = zmq_msg_size(&frame) >= sizeof number + sizeof value;
        if (got) {
            memcpy(&number, bytes, sizeof number);
            memcpy(&value, bytes + sizeof number, sizeof value);
        }
        while (zmq_msg_more(&frame) && zmq_msg_recv(&frame, monitor, ZMQ_DONTWAIT) >= 0) {
        }
    }
    (void)zmq_msg_close(&frame);
    *event = TL_SUPERVISE_PROTOCOL;
    if (number == ZMQ_EVENT_HANDSHAKE_FAILED_AUTH) {
        *event = value == ZAP_NOT_LISTED ? TL_SUPERVISE_NOT_LISTED : TL_SUPERVISE_AUTH_FAILED;
    }
    return got;
}

void
tl_bus_listen(struct tl_bus_sockets *sockets, struct tl_supervise *supervise, uint64_t now_ms)
{
    for (size_t m = 0; m < TL_BUS_MONITORS; m++) {
        enum tl_supervise_event event = TL_SUPERVISE_PROTOCOL;
        for (int i = 0; i < EVENTS_A_TURN && sockets->monitor[m] != NULL &&
                        read_event(sockets->monitor[m], &event);
             i++) {
            tl_supervise_event(supervise, event, now_ms);
        }
    }
    for (int i = 0; i < EVENTS_A_TURN && sockets->publish != NULL; i++) {
        uint8_t word[TL_TOPIC_CAP];
        int len = zmq_recv(sockets->publish, word, sizeof word, ZMQ_DONTWAIT);
        if (len < 1) {
            break;
        }
        tl_supervise_event(supervise, word[0] == 1 ? TL_SUPERVISE_TAKEN : TL_SUPERVISE_NOT_TAKEN,
                           now_ms);
    }
}
