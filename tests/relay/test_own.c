/* SPDX-License-Identifier: Apache-2.0 */
/* test_own - a station hears its own changes come back through a running broker, and only those. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <zmq.h>

#include "proto/base/clock.h"
#include "proto/link/link.h"
#include "tests/relay/ship.h"

enum {
    BUS_A = 0,
    BUS_B = 1, /* no broker runs there */
    ON_A = 1,
    RESEND_MS = 50,
    LIFE = 5000
};

struct node {
    struct tl_identity identity;
    struct tl_link *link;
    struct tl_envelope envelope;
    uint64_t handed_out; /* messages other than the broker's own */
    uint64_t twins;      /* frames of our topic that are not ours */
};

static struct node *
join(const struct ship *ship, const char *id, uint64_t incarnation)
{
    static const enum tl_topic_kind listen[] = {TL_TOPIC_BUS};
    struct node *node = calloc(1, sizeof *node);
    char why[TL_PATH_CAP] = "";

    assert_non_null(node);
    if (tl_identity_open(ship->config, id, 0, &node->identity, why, sizeof why) != TL_OK) {
        fail_msg("%s", why);
    }
    struct tl_link_options options = {.config = ship->config,
                                      .identity = &node->identity,
                                      .incarnation = incarnation,
                                      .listen = listen,
                                      .listen_count = 1};
    if (tl_link_open(&options, &node->link, why, sizeof why) != TL_OK) {
        fail_msg("%s", why);
    }
    return node;
}

static void
leave(struct node *node)
{
    tl_link_close(&node->link);
    tl_identity_close(&node->identity);
    free(node);
}

/* Wait a moment for frames, and read what is there. */
static void
turn(struct node *node)
{
    zmq_pollitem_t items[TL_LINK_POLL_MAX];
    size_t count = tl_link_poll_items(node->link, items, TL_LINK_POLL_MAX);
    enum tl_err err = TL_OK;

    assert_true(zmq_poll(items, (int)count, RESEND_MS) >= 0);
    while (err != TL_EMPTY) {
        struct tl_topic topic;
        struct tl_drop drop;
        uint32_t bus = 0;
        err = tl_link_receive(node->link, &topic, &node->envelope, &bus, &drop);
        node->handed_out += err == TL_OK && topic.kind != TL_TOPIC_BUS ? 1 : 0;
        node->twins += err == TL_REFUSED && drop.reason == TL_REFUSAL_TWIN ? 1 : 0;
    }
    tl_link_tend(node->link, tl_clock_boot_ms());
}

static void
say(struct node *node, uint64_t sequence)
{
    struct tl_topic topic = {.kind = TL_TOPIC_CHANGE};
    struct tl_envelope *envelope = &node->envelope;
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;

    memcpy(topic.publisher, node->identity.node, TL_ID_CAP);
    memset(envelope, 0, sizeof *envelope);
    envelope->body = TL_BODY_CHANGE;
    envelope->sequence = sequence;
    envelope->as.change.datum =
        (struct tl_datum){.kind = TL_DATUM_DECK, .sequence = sequence, .known = true};
    envelope->as.change.datum.as.deck =
        (struct tl_deck){.state = TL_DECK_FOUL, .reason = TL_FOUL_OTHER};
    enum tl_err err = tl_link_send(node->link, &topic, envelope, &reason);
    if (err != TL_OK && err != TL_AGAIN) {
        fail_msg("%s, %s", tl_err_text(err), tl_refusal_name(reason));
    }
}

/* Say it, again and again as a station does, until it is heard back. */
static void
say_until_heard(struct node *node, uint64_t sequence)
{
    uint64_t end_ms = tl_clock_boot_ms() + SHIP_WAIT_MS;

    while (tl_link_own_heard(node->link, BUS_A) != sequence) {
        assert_true(tl_clock_boot_ms() < end_ms);
        say(node, sequence);
        turn(node);
    }
}

static void
an_own_change_is_heard_back_on_the_bus_that_carried_it(void **state)
{
    struct node *deck = join(*state, "deck", LIFE);
    bool kept = false;

    assert_int_equal(tl_link_own_heard(deck->link, BUS_A), 0);
    say_until_heard(deck, 1);
    assert_int_equal(tl_link_own_carried(deck->link, 1, &kept), ON_A);
    assert_true(kept);
    assert_int_equal(tl_link_own_heard(deck->link, BUS_B), 0);
    assert_int_equal(tl_link_own_heard(deck->link, TL_BUSES_MAX), 0); /* there is none */
    assert_int_equal(tl_link_own_carried(deck->link, 2, &kept), 0);
    assert_false(kept);
    say_until_heard(deck, 7);
    assert_int_equal(deck->handed_out, 0);
    assert_int_equal(deck->twins, 0);
    leave(deck);
}

/* Properly signed with the same key, and with a higher number: still not ours. */
static void
a_change_of_another_program_with_our_key_does_not_count(void **state)
{
    struct node *deck = join(*state, "deck", LIFE);
    struct node *twin = join(*state, "deck", LIFE + 1);
    uint64_t end_ms = tl_clock_boot_ms() + SHIP_WAIT_MS;

    say_until_heard(deck, 1);
    say_until_heard(twin, 9);
    while (deck->twins == 0) {
        assert_true(tl_clock_boot_ms() < end_ms);
        turn(deck);
    }
    assert_int_equal(tl_link_own_heard(deck->link, BUS_A), 1);
    assert_int_equal(tl_link_own_heard(twin->link, BUS_A), 9);
    assert_int_equal(deck->handed_out, 0);
    leave(twin);
    leave(deck);
}

/* One byte of the frame that we sent is another; its topic is ours. */
static void
a_forged_copy_does_not_count(void **state)
{
    struct ship *ship = *state;
    struct node *deck = join(ship, "deck", LIFE);
    void *listener = ship_listener(ship, "change/deck/");
    void *forger = ship_publisher(ship, "deck");
    uint8_t frame[TL_FRAME_CHANGE_MAX];
    uint64_t end_ms = tl_clock_boot_ms() + SHIP_WAIT_MS;

    say_until_heard(deck, 1);
    say(deck, 2);
    int len = ship_hear(listener, frame, sizeof frame, SHIP_WAIT_MS);
    assert_true(len > 0);
    frame[len - 1] ^= 1;
    ship_send(forger, frame, (size_t)len);
    while (deck->twins == 0) {
        assert_true(tl_clock_boot_ms() < end_ms);
        turn(deck);
    }
    assert_int_equal(deck->twins, 1);
    assert_int_equal(deck->handed_out, 0);
    leave(deck);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(an_own_change_is_heard_back_on_the_bus_that_carried_it,
                                        ship_set_up_running, ship_tear_down),
        cmocka_unit_test_setup_teardown(a_change_of_another_program_with_our_key_does_not_count,
                                        ship_set_up_running, ship_tear_down),
        cmocka_unit_test_setup_teardown(a_forged_copy_does_not_count, ship_set_up_running,
                                        ship_tear_down),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
