/* SPDX-License-Identifier: Apache-2.0 */
/* test_strangers - wrong, unknown and revoked keys, forged names, and attacks on a running bus. */
#include <errno.h>
#include <poll.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cmocka.h>
#include <sodium.h>
#include <zmq.h>

#include "proto/base/clock.h"
#include "tests/relay/raw.h"
#include "tests/relay/ship.h"

#define HANDSHAKE_EVENTS                                                                           \
    (ZMQ_EVENT_HANDSHAKE_SUCCEEDED | ZMQ_EVENT_HANDSHAKE_FAILED_NO_DETAIL |                        \
     ZMQ_EVENT_HANDSHAKE_FAILED_PROTOCOL | ZMQ_EVENT_HANDSHAKE_FAILED_AUTH)

/* How the next handshake of a client ends; connects it. */
struct outcome {
    uint16_t event;
    uint32_t value;
};

static struct outcome
connect_and_see(struct ship *ship, void *client, const char *endpoint)
{
    struct outcome outcome = {.event = 0};
    const int wait_ms = SHIP_WAIT_MS;
    uint8_t bytes[6];
    void *pair = zmq_socket(ship->ctx, ZMQ_PAIR);

    assert_int_equal(zmq_socket_monitor(client, "inproc://client", HANDSHAKE_EVENTS), 0);
    assert_int_equal(zmq_setsockopt(pair, ZMQ_RCVTIMEO, &wait_ms, sizeof wait_ms), 0);
    assert_int_equal(zmq_connect(pair, "inproc://client"), 0);
    assert_int_equal(zmq_connect(client, endpoint), 0);
    assert_int_equal(zmq_recv(pair, bytes, sizeof bytes, 0), sizeof bytes);
    memcpy(&outcome.event, bytes, sizeof outcome.event);
    memcpy(&outcome.value, bytes + 2, sizeof outcome.value);
    assert_true(zmq_recv(pair, bytes, sizeof bytes, 0) >= 0); /* the endpoint: its second frame */
    assert_int_equal(zmq_socket_monitor(client, NULL, 0), 0);
    assert_int_equal(zmq_close(pair), 0);
    return outcome;
}

static void
set_keys(void *client, const char *public_key, const char *secret_key)
{
    assert_int_equal(zmq_setsockopt(client, ZMQ_CURVE_PUBLICKEY, public_key, TL_CURVE_CAP), 0);
    assert_int_equal(zmq_setsockopt(client, ZMQ_CURVE_SECRETKEY, secret_key, TL_CURVE_CAP), 0);
}

/* Read keys.yaml again, and be sure of it. */
static void
reload(struct ship *ship, const char *said)
{
    char text[SHIP_TEXT_CAP];
    uint64_t end_ms = tl_clock_boot_ms() + SHIP_WAIT_MS;

    ship_write_keys(ship);
    assert_int_equal(kill(ship->pid, SIGHUP), 0);
    do {
        assert_true(tl_clock_boot_ms() < end_ms);
        (void)poll(NULL, 0, 1); /* the log is a file: nothing to wait on */
        ship_read_log(ship, text);
    } while (strstr(text, said) == NULL);
}

static void
expect_bus_works(struct ship *ship)
{
    void *listener = ship_listener(ship, "change/");
    void *primary = ship_publisher(ship, "primary");

    ship_say(primary, "change/primary/");
    ship_expect_topic(listener, "change/primary/");
    ship_close(ship, listener);
    ship_close(ship, primary);
}

static struct tl_refused_publisher
next_refusal(struct ship *ship, void *bus)
{
    struct tl_envelope *said = calloc(1, sizeof *said);
    struct tl_refused_publisher line;

    assert_non_null(said);
    ship_hear_bus(ship, bus, TL_BODY_REFUSALS, said);
    line = said->as.refusals.refusal[0];
    free(said);
    return line;
}

static struct tl_counters
next_counters(struct ship *ship, void *bus)
{
    struct tl_envelope *said = calloc(1, sizeof *said);
    struct tl_counters counters;

    assert_non_null(said);
    ship_hear_bus(ship, bus, TL_BODY_COUNTERS, said);
    counters = said->as.counters;
    free(said);
    return counters;
}

/* ---- keys ---- */

static void
a_key_that_is_in_no_list_does_not_get_in_until_it_is_listed(void **state)
{
    struct ship *ship = *state;
    void *bus = ship_listener(ship, "bus/");
    void *listener = ship_listener(ship, "beat/");
    void *deck;
    struct tl_counters counters;

    ship_add_key(ship, "deck", 2); /* not yet in keys.yaml */
    deck = ship_socket(ship, ZMQ_XPUB, "deck", 2);
    assert_int_equal(zmq_connect(deck, ship->bus->ingress), 0);
    do {
        counters = next_counters(ship, bus);
    } while (counters.handshakes_refused == 0);
    assert_false(ship_is_invited(deck, 0));
    reload(ship, "BRK-001");
    deck = ship_socket(ship, ZMQ_XPUB, "deck", 2); /* the answer ended the other one's tries */
    assert_int_equal(zmq_connect(deck, ship->bus->ingress), 0);
    assert_true(ship_is_invited(deck, SHIP_WAIT_MS));
    ship_say(deck, "beat/deck/");
    ship_expect_topic(listener, "beat/deck/");
}

static void
an_unknown_key_hears_nothing(void **state)
{
    struct ship *ship = *state;
    void *viewer = ship_socket(ship, ZMQ_SUB, "viewer", 1);
    void *bus = ship_listener(ship, "bus/");
    char public_key[TL_CURVE_CAP];
    char secret_key[TL_CURVE_CAP];
    uint8_t bytes[SHIP_TEXT_CAP];

    assert_int_equal(zmq_curve_keypair(public_key, secret_key), 0);
    set_keys(viewer, public_key, secret_key);
    assert_int_equal(zmq_setsockopt(viewer, ZMQ_SUBSCRIBE, "", 0), 0);
    assert_int_equal(zmq_connect(viewer, ship->bus->egress), 0);
    while (next_counters(ship, bus).handshakes_refused == 0) {
    }
    (void)next_counters(ship, bus); /* one more was sent after the refusal */
    assert_int_equal(ship_hear(viewer, bytes, sizeof bytes, 0), -1);
}

static void
a_revocation_cuts_off_a_session_that_stands(void **state)
{
    struct ship *ship = *state;
    void *listener = ship_listener(ship, "change/");
    void *bus = ship_listener(ship, "bus/");
    void *deck = ship_publisher(ship, "deck");
    void *engine = ship_publisher(ship, "engine-1");
    struct tl_refused_publisher line;
    uint64_t from_ms;

    ship_say(deck, "change/deck/");
    ship_expect_topic(listener, "change/deck/");
    ship_revoke(ship, "deck", 1);
    ship_add_key(ship, "deck", 2);
    from_ms = tl_clock_boot_ms();
    reload(ship, "BRK-001");
    assert_in_range(tl_clock_boot_ms() - from_ms, 0, 1000);
    ship_say(deck, "change/deck/");
    line = next_refusal(ship, bus);
    assert_string_equal(line.publisher, "deck");
    assert_int_equal(line.reason, TL_REFUSAL_REVOKED);
    ship_say(engine, "change/engine-1/");
    ship_expect_topic(listener, "change/engine-1/"); /* nothing of deck's is before it */
}

static void
a_key_taken_off_the_list_loses_its_session_too(void **state)
{
    struct ship *ship = *state;
    void *bus = ship_listener(ship, "bus/");
    void *deck = ship_publisher(ship, "deck");
    struct tl_refused_publisher line;

    ship_add_key(ship, "deck", 2);
    for (uint32_t i = 0; i < ship->config->key_count; i++) {
        if (strcmp(ship->config->key[i].node, "deck") == 0) {
            ship->config->key[i] = ship->config->key[--ship->config->key_count];
            break;
        }
    }
    reload(ship, "BRK-001");
    ship_say(deck, "change/deck/");
    line = next_refusal(ship, bus);
    assert_string_equal(line.publisher, ""); /* no name is known for it any more */
    assert_int_equal(line.reason, TL_REFUSAL_UNKNOWN_USER);
}

static void
an_epoch_given_to_another_key_serves_neither(void **state)
{
    struct ship *ship = *state;
    void *bus = ship_listener(ship, "bus/");
    void *deck = ship_publisher(ship, "deck");
    struct tl_refused_publisher line;
    uint8_t other[32];
    uint8_t secret[64];

    assert_int_equal(crypto_sign_keypair(other, secret), 0);
    for (uint32_t i = 0; i < ship->config->key_count; i++) {
        if (strcmp(ship->config->key[i].node, "deck") == 0) {
            memcpy(ship->config->key[i].identity, other, sizeof other);
        }
    }
    reload(ship, "BRK-004");
    ship_say(deck, "change/deck/");
    line = next_refusal(ship, bus);
    assert_string_equal(line.publisher, "deck");
    assert_int_equal(line.reason, TL_REFUSAL_REVOKED);
}

static void
a_key_list_that_cannot_be_used_leaves_the_keys_as_they_were(void **state)
{
    struct ship *ship = *state;
    void *listener = ship_listener(ship, "change/");
    void *primary;
    struct tl_identity identity;
    char why[TL_TEXT_CAP];

    assert_int_equal(tl_identity_open(ship->config, "primary", 1, &identity, why, sizeof why),
                     TL_OK);
    ship_revoke(ship, "primary", 1);
    ship_add_key(ship, "primary", 2);
    ship->config->key[0].epoch = 0; /* not allowed */
    reload(ship, "BRK-002");
    primary = ship_socket(ship, ZMQ_XPUB, "deck", 1);
    set_keys(primary, identity.curve_public, identity.curve_secret);
    tl_identity_close(&identity);
    assert_int_equal(zmq_connect(primary, ship->bus->ingress), 0);
    assert_true(ship_is_invited(primary, SHIP_WAIT_MS));
    ship_say(primary, "change/primary/");
    ship_expect_topic(listener, "change/primary/");
}

static void
the_loss_of_its_own_key_is_said(void **state)
{
    struct ship *ship = *state;

    ship_add_key(ship, "bus-a", 2);
    ship_revoke(ship, "bus-a", 1);
    reload(ship, "BRK-003");
    expect_bus_works(ship);
}

/* ---- handshakes that do not fit ---- */

static void
another_server_key_is_a_failed_handshake(void **state)
{
    struct ship *ship = *state;
    void *deck = ship_socket(ship, ZMQ_XPUB, "deck", 1);
    char public_key[TL_CURVE_CAP];
    char secret_key[TL_CURVE_CAP];

    assert_int_equal(zmq_curve_keypair(public_key, secret_key), 0);
    assert_int_equal(zmq_setsockopt(deck, ZMQ_CURVE_SERVERKEY, public_key, TL_CURVE_CAP), 0);
    assert_int_not_equal(connect_and_see(ship, deck, ship->bus->ingress).event,
                         ZMQ_EVENT_HANDSHAKE_SUCCEEDED);
    expect_bus_works(ship);
}

static void
a_listed_public_key_without_its_secret_does_not_get_in(void **state)
{
    struct ship *ship = *state;
    void *thief = ship_socket(ship, ZMQ_XPUB, "deck", 1);
    char public_key[TL_CURVE_CAP];
    char secret_key[TL_CURVE_CAP];
    char deck_key[TL_CURVE_CAP];

    assert_int_equal(zmq_curve_keypair(public_key, secret_key), 0);
    assert_int_equal(
        tl_identity_curve_public(tl_config_key(ship->config, "deck", 1)->identity, deck_key),
        TL_OK);
    set_keys(thief, deck_key, secret_key);
    assert_int_not_equal(connect_and_see(ship, thief, ship->bus->ingress).event,
                         ZMQ_EVENT_HANDSHAKE_SUCCEEDED);
    expect_bus_works(ship);
}

static void
a_client_without_curve_does_not_get_in(void **state)
{
    struct ship *ship = *state;
    void *plain = zmq_socket(ship->ctx, ZMQ_XPUB);
    const int zero = 0;
    struct outcome outcome;

    assert_non_null(plain);
    ship->socket[ship->socket_count++] = plain;
    assert_int_equal(zmq_setsockopt(plain, ZMQ_LINGER, &zero, sizeof zero), 0);
    outcome = connect_and_see(ship, plain, ship->bus->ingress);
    assert_int_not_equal(outcome.event, ZMQ_EVENT_HANDSHAKE_SUCCEEDED);
    expect_bus_works(ship);
}

/* ---- forged names ---- */

static void
join_as_deck(struct ship *ship, struct raw_peer *peer, const struct raw_property *extra)
{
    struct tl_identity identity;
    char why[TL_TEXT_CAP];

    assert_int_equal(tl_identity_open(ship->config, "deck", 1, &identity, why, sizeof why), TL_OK);
    raw_join(peer, ship->bus->ingress, ship->bus_key, identity.curve_public, identity.curve_secret,
             extra);
    tl_identity_close(&identity);
}

static void
a_peer_that_states_another_user_id_keeps_its_own(void **state)
{
    static const struct raw_property FORGED[] = {{"User-Id", "validator-1/1"},
                                                 {"user-id", "validator-1/1"},
                                                 {"Peer-Address", "10.9.8.7"},
                                                 {"User-Id", "validator-1/1"},
                                                 {NULL, NULL}};
    struct ship *ship = *state;
    void *listener = ship_listener(ship, "");
    void *bus = ship_listener(ship, "bus/");
    struct raw_peer peer;
    struct tl_refused_publisher line;
    uint8_t *verdict = ship_frame("verdict/validator-1/", 300, 8);
    uint8_t *beat = ship_frame("beat/deck/", 300, 9);
    uint8_t got[SHIP_TEXT_CAP];

    join_as_deck(ship, &peer, FORGED);
    raw_send(&peer, verdict, 300);
    raw_send(&peer, beat, 300);
    do {
        assert_true(ship_hear(listener, got, sizeof got, SHIP_WAIT_MS) > 0);
    } while (memcmp(got, "bus/", 4) == 0);
    assert_memory_equal(got, beat, 300);
    line = next_refusal(ship, bus);
    assert_string_equal(line.publisher, "deck");
    assert_int_equal(line.reason, TL_REFUSAL_NOT_YOUR_TOPIC);
    assert_string_equal(line.topic, "verdict/validator-1/");
    (void)close(peer.fd);
    free(verdict);
    free(beat);
}

/* ---- attacks on the program ---- */

static void
garbage_on_its_ports_does_not_hurt_it(void **state)
{
    static const char HTTP[] = "GET / HTTP/1.1\r\nHost: bus\r\n\r\n";
    struct ship *ship = *state;
    const char *const endpoints[] = {ship->bus->ingress, ship->bus->egress};
    uint8_t bytes[65536];

    for (unsigned i = 0; i < 40; i++) {
        uint8_t seed[randombytes_SEEDBYTES] = {(uint8_t)i};
        int fd = raw_connect(endpoints[i % 2]);
        randombytes_buf_deterministic(bytes, sizeof bytes, seed);
        if (i % 4 >= 2) { /* a good greeting first, so that more of it is read */
            memset(bytes, 0, 64);
            bytes[0] = 0xff;
            bytes[9] = 0x7f;
            bytes[10] = 3;
            memcpy(bytes + 12, "CURVE", 5);
        }
        (void)send(fd, HTTP, i < 2 ? sizeof HTTP - 1 : 0, MSG_NOSIGNAL);
        (void)send(fd, bytes, sizeof bytes, MSG_NOSIGNAL);
        (void)close(fd);
    }
    expect_bus_works(ship);
}

static void
a_flood_of_connections_does_not_stop_it(void **state)
{
    struct ship *ship = *state;
    void *bus;

    for (int i = 0; i < 3000; i++) {
        (void)close(raw_connect(i % 2 == 0 ? ship->bus->ingress : ship->bus->egress));
    }
    expect_bus_works(ship);
    bus = ship_listener(ship, "bus/");
    while (next_counters(ship, bus).connections > 2) { /* the probe and this listener */
    }
    assert_in_range(next_counters(ship, bus).handshakes_refused, 3000, 3000);
}

static void
connections_that_say_nothing_are_ended(void **state)
{
    enum {
        COUNT = 200
    };
    struct ship *ship = *state;
    int fd[COUNT];
    uint8_t byte;

    for (int i = 0; i < COUNT; i++) {
        fd[i] = raw_connect(ship->bus->ingress);
    }
    expect_bus_works(ship);
    for (int i = 0; i < COUNT; i++) {
        ssize_t got;
        do { /* its greeting, then the end */
            got = recv(fd[i], &byte, 1, 0);
        } while (got > 0);
        assert_true(got == 0 || errno == ECONNRESET);
        (void)close(fd[i]);
    }
}

static void
publishing_where_one_listens_is_refused(void **state)
{
    struct ship *ship = *state;
    void *bus = ship_listener(ship, "bus/");
    void *listener = ship_listener(ship, "beat/");
    void *deck = ship_socket(ship, ZMQ_XSUB, "deck", 1);
    struct tl_refused_publisher line;

    assert_int_equal(connect_and_see(ship, deck, ship->bus->egress).event,
                     ZMQ_EVENT_HANDSHAKE_SUCCEEDED);
    ship_say(deck, "beat/deck/");
    line = next_refusal(ship, bus);
    assert_string_equal(line.publisher, "deck");
    assert_int_equal(line.reason, TL_REFUSAL_NOT_YOUR_TOPIC);
    assert_string_equal(line.topic, "beat/deck/");
    {
        void *engine = ship_publisher(ship, "engine-1");
        ship_say(engine, "beat/engine-1/");
        ship_expect_topic(listener, "beat/engine-1/");
    }
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, ship_set_up_running, ship_tear_down)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_key_that_is_in_no_list_does_not_get_in_until_it_is_listed),
        TEST(an_unknown_key_hears_nothing),
        TEST(a_revocation_cuts_off_a_session_that_stands),
        TEST(a_key_taken_off_the_list_loses_its_session_too),
        TEST(an_epoch_given_to_another_key_serves_neither),
        TEST(a_key_list_that_cannot_be_used_leaves_the_keys_as_they_were),
        TEST(the_loss_of_its_own_key_is_said),
        TEST(another_server_key_is_a_failed_handshake),
        TEST(a_listed_public_key_without_its_secret_does_not_get_in),
        TEST(a_client_without_curve_does_not_get_in),
        TEST(a_peer_that_states_another_user_id_keeps_its_own),
        TEST(garbage_on_its_ports_does_not_hurt_it),
        TEST(a_flood_of_connections_does_not_stop_it),
        TEST(connections_that_say_nothing_are_ended),
        TEST(publishing_where_one_listens_is_refused),
    };

    return cmocka_run_group_tests_name("strangers", tests, NULL, NULL);
}
