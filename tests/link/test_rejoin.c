/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_rejoin - a node and the sockets of brokers in one process: whose keys are believed, and what a
 * change of keys.yaml does to a bus that stands
 *
 * A broker here is its two sockets with the real options, the handler of joins, and its sign of life.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <arpa/inet.h>
#include <cmocka.h>
#include <sys/socket.h>
#include <unistd.h>
#include <zmq.h>

#include "broker/access/server.h"
#include "broker/access/zap.h"
#include "broker/relay/voice.h"
#include "proto/base/clock.h"
#include "proto/link/link.h"
#include "tests/access/people.h"

enum {
    LIMIT_MS = 15000,
    TURN_MS = 10,
    BACKLOG = 8,
    WHY_CAP = 256
};

struct broker {
    struct tl_identity identity;
    void *ctx;
    struct tl_zap *zap;
    void *ingress;
    void *egress;
    struct tl_voice *voice;
};

struct room {
    struct tl_config *config; /* of the node */
    struct tl_config *theirs; /* of the brokers */
    struct tl_access *access;
    struct broker broker; /* of bus-a */
    struct tl_identity identity;
    struct tl_link *link;
    struct tl_envelope envelope;
    char why[WHY_CAP];
};

static void
identity_of(const char *node, uint32_t epoch, struct tl_identity *out)
{
    struct people_key key;

    people_key(node, epoch, &key);
    memset(out, 0, sizeof *out);
    (void)snprintf(out->node, sizeof out->node, "%s", node);
    out->epoch = epoch;
    memcpy(out->identity, key.identity, sizeof out->identity);
    memcpy(out->signer.secret, key.signing, sizeof out->signer.secret);
    memcpy(out->curve_public, key.public_z85, sizeof out->curve_public);
    memcpy(out->curve_secret, key.secret_z85, sizeof out->curve_secret);
}

static void
build_access(struct room *room)
{
    assert_int_equal(tl_access_build(room->theirs, room->access, room->why, WHY_CAP), TL_OK);
}

static void
open_socket(struct broker *broker, enum tl_server_role role, void **socket, char *endpoint)
{
    char why[TL_TEXT_CAP] = "";
    size_t len = TL_ENDPOINT_CAP;

    assert_int_equal(tl_server_open(broker->ctx, role, broker->identity.curve_secret, socket, why),
                     TL_OK);
    if (tl_server_bind(*socket, endpoint, why) != TL_OK) {
        fail_msg("%s", why);
    }
    assert_int_equal(zmq_getsockopt(*socket, ZMQ_LAST_ENDPOINT, endpoint, &len), 0);
}

/* On the endpoints that the node's bus.yaml has; "...:*" becomes one that is free. */
static void
start_broker(struct room *room, uint32_t epoch)
{
    struct broker *broker = &room->broker;
    struct tl_bus *bus = &room->config->bus[0];

    identity_of("bus-a", epoch, &broker->identity);
    broker->ctx = zmq_ctx_new();
    assert_int_equal(tl_zap_open(broker->ctx, room->access, &broker->zap), TL_OK);
    open_socket(broker, TL_SERVER_INGRESS, &broker->ingress, bus->ingress);
    open_socket(broker, TL_SERVER_EGRESS, &broker->egress, bus->egress);
    assert_int_equal(tl_voice_open(&broker->identity, epoch, &broker->voice), TL_OK);
}

static void
stop_broker(struct broker *broker)
{
    if (broker->ctx != NULL) {
        tl_voice_close(&broker->voice);
        assert_int_equal(zmq_close(broker->ingress), 0);
        assert_int_equal(zmq_close(broker->egress), 0);
        tl_zap_close(&broker->zap);
        assert_int_equal(zmq_ctx_term(broker->ctx), 0);
        broker->ctx = NULL;
    }
}

static int
set_up(void **state)
{
    struct room *room = calloc(1, sizeof *room);

    assert_non_null(room);
    room->config = people_config();
    room->theirs = people_config();
    room->access = calloc(1, sizeof *room->access);
    assert_non_null(room->access);
    build_access(room);
    room->config->bus_count = 1;
    (void)snprintf(room->config->bus[0].id, TL_ID_CAP, "bus-a");
    (void)snprintf(room->config->bus[0].ingress, TL_ENDPOINT_CAP, "tcp://127.0.0.1:*");
    (void)snprintf(room->config->bus[0].egress, TL_ENDPOINT_CAP, "tcp://127.0.0.1:*");
    identity_of("deck", 1, &room->identity);
    *state = room;
    return 0;
}

static int
tear_down(void **state)
{
    struct room *room = *state;

    tl_link_close(&room->link);
    stop_broker(&room->broker);
    free(room->config);
    free(room->theirs);
    free(room->access);
    free(room);
    return 0;
}

static enum tl_err
join(struct room *room)
{
    const struct tl_link_options options = {
        .config = room->config, .identity = &room->identity, .incarnation = 1};

    return tl_link_open(&options, &room->link, room->why, WHY_CAP);
}

static enum tl_bus_state
state_of(const struct room *room)
{
    return tl_link_bus(room->link, 0)->state;
}

static void
beat(struct broker *broker)
{
    const struct tl_counters counters = {.uptime_ms = 1};
    struct tl_voice_frame frame;

    if (broker->ctx != NULL) {
        uint8_t bytes[TL_FRAME_MAX];
        (void)zmq_recv(broker->ingress, bytes, sizeof bytes, ZMQ_DONTWAIT); /* who joined is seen */
        assert_int_equal(tl_voice_counters(broker->voice, 1, &counters, &frame), TL_OK);
        (void)zmq_send(broker->egress, frame.bytes, frame.len, ZMQ_DONTWAIT);
    }
}

/* Both go on a little. */
static void
turn(struct room *room)
{
    zmq_pollitem_t items[TL_LINK_POLL_MAX];
    struct tl_topic topic;
    struct tl_drop drop;
    uint32_t bus = 0;

    beat(&room->broker);
    size_t count = tl_link_poll_items(room->link, items, TL_LINK_POLL_MAX);
    (void)zmq_poll(items, (int)count, TURN_MS);
    while (tl_link_receive(room->link, &topic, &room->envelope, &bus, &drop) != TL_EMPTY) {
    }
    tl_link_tend(room->link, tl_clock_boot_ms());
}

/* Both go on until the bus is in that state. */
static void
until(struct room *room, enum tl_bus_state state)
{
    uint64_t limit_ms = tl_clock_boot_ms() + LIMIT_MS;

    for (tl_link_tend(room->link, tl_clock_boot_ms()); state_of(room) != state; turn(room)) {
        if (tl_clock_boot_ms() > limit_ms) {
            fail_msg("state is: %s", tl_bus_state_text(state_of(room)));
        }
    }
}

static struct tl_key *
key_of(struct tl_config *config, const char *node, uint32_t epoch)
{
    for (uint32_t i = 0; i < config->key_count; i++) {
        if (strcmp(config->key[i].node, node) == 0 && config->key[i].epoch == epoch) {
            return &config->key[i];
        }
    }
    fail_msg("no key %s %u", node, epoch);
    return NULL;
}

static void
a_key_that_is_not_listed_is_said_and_is_in_when_it_is_listed(void **state)
{
    struct room *room = *state;

    start_broker(room, 1);
    people_add_key(room->config, "deck", 2, false);
    identity_of("deck", 2, &room->identity);
    assert_int_equal(join(room), TL_OK);
    until(room, TL_BUS_KEY_UNKNOWN);
    people_add_key(room->theirs, "deck", 2, false);
    build_access(room);
    assert_int_equal(tl_zap_update(room->broker.zap, room->access), 0);
    until(room, TL_BUS_UP);
}

static void
a_revoked_key_is_said(void **state)
{
    struct room *room = *state;

    key_of(room->theirs, "deck", 1)->revoked = true;
    build_access(room);
    start_broker(room, 1);
    assert_int_equal(join(room), TL_OK);
    until(room, TL_BUS_KEY_REFUSED);
}

static void
a_broker_with_another_key_is_said(void **state)
{
    struct room *room = *state;

    start_broker(room, 7);
    assert_int_equal(join(room), TL_OK);
    until(room, TL_BUS_WRONG_KEY);
}

/* Somebody who takes connections and never answers; the descriptor to close. */
static int
listen_dumb(char *endpoint)
{
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_addr = {htonl(INADDR_LOOPBACK)}};
    socklen_t len = sizeof address;
    int fd = socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);

    assert_true(fd >= 0);
    assert_int_equal(bind(fd, (struct sockaddr *)&address, sizeof address), 0);
    assert_int_equal(listen(fd, BACKLOG), 0);
    assert_int_equal(getsockname(fd, (struct sockaddr *)&address, &len), 0);
    (void)snprintf(endpoint, TL_ENDPOINT_CAP, "tcp://127.0.0.1:%u", ntohs(address.sin_port));
    return fd;
}

/*
 * Its frames come, and what is sent goes nowhere. That the handshake there failed is known after the
 * library's own time for one.
 */
static void
a_bus_that_takes_nothing_is_not_up_though_it_is_heard(void **state)
{
    struct room *room = *state;
    char *ingress = room->config->bus[0].ingress;
    char good[TL_ENDPOINT_CAP];

    start_broker(room, 1);
    memcpy(good, ingress, sizeof good);
    int fd = listen_dumb(ingress);
    assert_int_equal(join(room), TL_OK);
    const struct tl_bus_health *bus = tl_link_bus(room->link, 0);
    uint64_t limit_ms = tl_clock_boot_ms() + LIMIT_MS;
    while (bus->rebuilt < 3) {
        turn(room);
        assert_true(tl_clock_boot_ms() < limit_ms);
        assert_int_not_equal(bus->state, TL_BUS_UP);
    }
    assert_true(bus->received > 3);
    until(room, TL_BUS_MUTE);
    memcpy(ingress, good, sizeof good);
    until(room, TL_BUS_UP);
    assert_true(bus->can_send);
    assert_int_equal(close(fd), 0);
}

/* Whichever of its two keys a broker runs with, and when it changes from one to the other. */
static void
both_keys_of_a_broker_are_tried(void **state)
{
    struct room *room = *state;

    people_add_key(room->config, "bus-a", 2, false);
    start_broker(room, 1);
    assert_int_equal(join(room), TL_OK);
    until(room, TL_BUS_UP);
    stop_broker(&room->broker);
    start_broker(room, 2);
    until(room, TL_BUS_DOWN);
    until(room, TL_BUS_UP);
    stop_broker(&room->broker);
    start_broker(room, 1);
    until(room, TL_BUS_DOWN);
    until(room, TL_BUS_UP);
}

static void
a_bus_whose_key_is_revoked_is_left_at_once(void **state)
{
    struct room *room = *state;

    people_add_key(room->config, "bus-a", 2, false);
    start_broker(room, 1);
    assert_int_equal(join(room), TL_OK);
    until(room, TL_BUS_UP);
    uint64_t rebuilt = tl_link_bus(room->link, 0)->rebuilt;
    key_of(room->config, "bus-a", 1)->revoked = true;
    tl_link_keys_changed(room->link);
    assert_int_equal(state_of(room), TL_BUS_CONNECTING);
    assert_int_equal(tl_link_bus(room->link, 0)->rebuilt, rebuilt + 1);
    until(room, TL_BUS_WRONG_KEY);
    stop_broker(&room->broker);
    start_broker(room, 2);
    until(room, TL_BUS_UP);
    /* The same list again: nothing of a bus that stands is touched. */
    rebuilt = tl_link_bus(room->link, 0)->rebuilt;
    tl_link_keys_changed(room->link);
    assert_int_equal(state_of(room), TL_BUS_UP);
    assert_int_equal(tl_link_bus(room->link, 0)->rebuilt, rebuilt);
}

static void
a_bus_without_a_key_is_borne_beside_another_and_joined_when_it_has_one(void **state)
{
    struct room *room = *state;
    struct tl_config *config = room->config;

    start_broker(room, 1);
    key_of(config, "bus-b", 1)->revoked = true;
    config->bus_count = 2;
    (void)snprintf(config->bus[1].id, TL_ID_CAP, "bus-b");
    (void)snprintf(config->bus[1].ingress, TL_ENDPOINT_CAP, "tcp://127.0.0.1:1");
    (void)snprintf(config->bus[1].egress, TL_ENDPOINT_CAP, "tcp://127.0.0.1:1");
    assert_int_equal(join(room), TL_OK);
    assert_int_equal(tl_link_bus(room->link, 1)->state, TL_BUS_NO_KEY);
    until(room, TL_BUS_UP);
    assert_int_equal(tl_link_bus(room->link, 1)->state, TL_BUS_NO_KEY);
    key_of(config, "bus-a", 1)->revoked = true;
    tl_link_keys_changed(room->link);
    assert_int_equal(state_of(room), TL_BUS_NO_KEY);
    key_of(config, "bus-a", 1)->revoked = false;
    tl_link_keys_changed(room->link);
    until(room, TL_BUS_UP);
}

static void
without_any_key_of_a_broker_nothing_is_opened(void **state)
{
    struct room *room = *state;

    key_of(room->config, "bus-a", 1)->revoked = true;
    assert_int_equal(join(room), TL_CONFIG);
    assert_null(room->link);
    assert_non_null(strstr(room->why, "trapline keys rotate -C DIR BUS"));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_key_that_is_not_listed_is_said_and_is_in_when_it_is_listed),
        TEST(a_revoked_key_is_said),
        TEST(a_broker_with_another_key_is_said),
        TEST(a_bus_that_takes_nothing_is_not_up_though_it_is_heard),
        TEST(both_keys_of_a_broker_are_tried),
        TEST(a_bus_whose_key_is_revoked_is_left_at_once),
        TEST(a_bus_without_a_key_is_borne_beside_another_and_joined_when_it_has_one),
        TEST(without_any_key_of_a_broker_nothing_is_opened),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
