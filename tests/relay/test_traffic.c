/* SPDX-License-Identifier: Apache-2.0 */
/* test_traffic - what passes a running broker, what does not, and what it says of that. */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <zmq.h>

#include "proto/base/clock.h"
#include "tests/relay/ship.h"

enum {
    LARGE = 40000
};

static void
expect_refusal(struct ship *ship, void *listener, const struct tl_refused_publisher *expected)
{
    struct tl_envelope *said = calloc(1, sizeof *said);
    const struct tl_refused_publisher *line;

    assert_non_null(said);
    ship_hear_bus(ship, listener, TL_BODY_REFUSALS, said);
    assert_string_equal(said->node, "bus-a");
    assert_int_equal(said->key_epoch, 1);
    assert_int_equal(said->as.refusals.count, 1);
    line = &said->as.refusals.refusal[0];
    assert_string_equal(line->publisher, expected->publisher);
    if (line->reason != expected->reason) {
        fail_msg("%s, not %s", tl_refusal_name(line->reason), tl_refusal_name(expected->reason));
    }
    assert_int_equal(line->count, expected->count);
    assert_string_equal(line->topic, expected->topic);
    free(said);
}

/* ---- what passes ---- */

struct size_row {
    const char *node;
    const char *topic;
    size_t len;
};
static const struct size_row SIZES[] = {
    {"deck", "beat/deck/", 11 + 65},
    {"deck", "beat/deck/", 2048},
    {"deck", "change/deck/", 300},
    {"validator-1", "verdict/validator-1/", 512},
    {"validator-1", "receipt/validator-1/deck/", 100},
    {"validator-1", "picture/validator-1/", 32768},
    {"validator-1", "alert/validator-1/", 32767},
};

static void
every_byte_comes_out_as_it_went_in(void **state)
{
    struct ship *ship = *state;
    void *listener = ship_listener(ship, "");
    uint8_t *got = malloc(LARGE);

    assert_non_null(got);
    for (size_t i = 0; i < sizeof SIZES / sizeof SIZES[0]; i++) {
        const struct size_row *row = &SIZES[i];
        void *publisher = ship_publisher(ship, row->node);
        uint8_t *sent = ship_frame(row->topic, row->len, (unsigned)i);
        int len;
        ship_send(publisher, sent, row->len);
        do {
            len = ship_hear(listener, got, LARGE, SHIP_WAIT_MS);
        } while (len > 0 && memcmp(got, "bus/", 4) == 0);
        assert_int_equal(len, row->len);
        assert_memory_equal(got, sent, row->len);
        free(sent);
        ship_close(ship, publisher);
    }
    free(got);
}

static void
a_listener_hears_only_what_it_asked_for(void **state)
{
    struct ship *ship = *state;
    void *listener = ship_listener(ship, "beat/engine-1/");
    void *one = ship_publisher(ship, "engine-1");
    void *two = ship_publisher(ship, "engine-2");
    void *all = ship_listener(ship, "beat/");

    ship_say(two, "beat/engine-2/");
    ship_expect_topic(all, "beat/engine-2/"); /* it has passed the broker */
    ship_say(one, "change/engine-1/");
    ship_say(one, "beat/engine-1/");
    ship_expect_topic(listener, "beat/engine-1/");
}

static void
order_is_kept_over_a_thousand_messages(void **state)
{
    enum {
        COUNT = 1000
    };
    struct ship *ship = *state;
    void *listener = ship_listener(ship, "change/");
    void *deck = ship_publisher(ship, "deck");
    uint8_t got[SHIP_TEXT_CAP];

    for (unsigned i = 0; i < COUNT; i++) {
        uint8_t *bytes = ship_frame("change/deck/", 120, 3);
        memcpy(bytes + 20, &i, sizeof i);
        ship_send(deck, bytes, 120);
        free(bytes);
        if (i % 100 == 99) { /* no queue on the way holds more than 200 */
            for (unsigned j = i - 99; j <= i; j++) {
                unsigned number;
                assert_int_equal(ship_hear(listener, got, sizeof got, SHIP_WAIT_MS), 120);
                memcpy(&number, got + 20, sizeof number);
                assert_int_equal(number, j);
            }
        }
    }
}

static void
a_listener_that_does_not_read_delays_nobody(void **state)
{
    enum {
        COUNT = 2000
    };
    struct ship *ship = *state;
    void *stalled = ship_listener(ship, ""); /* never read again */
    void *listener = ship_listener(ship, "picture/");
    void *validator = ship_publisher(ship, "validator-1");
    uint8_t *bytes = ship_frame("picture/validator-1/", 30000, 4);
    uint8_t *got = malloc(LARGE);
    uint64_t worst_ms = 0;

    assert_non_null(stalled);
    assert_non_null(got);
    for (int i = 0; i < COUNT; i++) { /* 60 MB: far more than any queue holds */
        uint64_t from_ms = tl_clock_boot_ms();
        ship_send(validator, bytes, 30000);
        assert_int_equal(ship_hear(listener, got, LARGE, SHIP_WAIT_MS), 30000);
        from_ms = tl_clock_boot_ms() - from_ms;
        worst_ms = from_ms > worst_ms ? from_ms : worst_ms;
    }
    print_message("slowest of %d: %lu ms\n", COUNT, (unsigned long)worst_ms);
    assert_true(worst_ms < 500);
    free(bytes);
    free(got);
}

/* ---- what does not ---- */

static void
another_nodes_topic_is_refused_and_the_publisher_named(void **state)
{
    struct ship *ship = *state;
    void *listener = ship_listener(ship, "change/");
    void *bus = ship_listener(ship, "bus/");
    void *engine = ship_publisher(ship, "engine-1");

    ship_say(engine, "change/engine-2/");
    ship_say(engine, "change/engine-1/");
    ship_expect_topic(listener, "change/engine-1/"); /* the first is not before it */
    expect_refusal(ship, bus,
                   &(struct tl_refused_publisher){.publisher = "engine-1",
                                                  .reason = TL_REFUSAL_NOT_YOUR_TOPIC,
                                                  .count = 1,
                                                  .topic = "change/engine-2/"});
    ship_say(engine, "bus/bus-a/");
    expect_refusal(ship, bus,
                   &(struct tl_refused_publisher){.publisher = "engine-1",
                                                  .reason = TL_REFUSAL_NOT_YOUR_TOPIC,
                                                  .count = 1,
                                                  .topic = "bus/bus-a/"});
}

struct bad_row {
    const char *name;
    const char *topic;
    size_t len;
    bool no_nul;
    enum tl_refusal reason;
    const char *shown;
};
static const struct bad_row BAD[] = {
    {"no NUL", "change/deck/", 12, .no_nul = true, TL_REFUSAL_NO_TOPIC, "change/deck/"},
    {"empty", "", 0, .no_nul = true, TL_REFUSAL_NO_TOPIC, ""},
    {"no signature", "change/deck/", 20, .no_nul = false, TL_REFUSAL_TRUNCATED, "change/deck/"},
    {"too large for a change", "change/deck/", 2049, .no_nul = false, TL_REFUSAL_OVERSIZE,
     "change/deck/"},
    {"too large for anything", "change/deck/", 60000, .no_nul = false, TL_REFUSAL_OVERSIZE,
     "change/deck/"},
    {"control bytes", "\x1b]0;x\x07/", 200, .no_nul = false, TL_REFUSAL_NOT_YOUR_TOPIC, "?]0;x?/"},
};

static void
what_is_no_message_is_refused_and_the_next_one_passes(void **state)
{
    struct ship *ship = *state;
    void *listener = ship_listener(ship, "");
    void *deck = ship_publisher(ship, "deck");
    uint8_t *bytes = malloc((size_t)LARGE * 2);

    assert_non_null(bytes);
    for (size_t i = 0; i < sizeof BAD / sizeof BAD[0]; i++) {
        struct tl_refused_publisher expected = {
            .publisher = "deck", .reason = BAD[i].reason, .count = 1};
        void *bus = ship_listener(ship, "bus/");
        int len;
        (void)snprintf(expected.topic, sizeof expected.topic, "%s", BAD[i].shown);
        memset(bytes, 'x', (size_t)LARGE * 2);
        memcpy(bytes, BAD[i].topic, strlen(BAD[i].topic) + (BAD[i].no_nul ? 0U : 1U));
        print_message("%s\n", BAD[i].name);
        ship_send(deck, bytes, BAD[i].len);
        ship_say(deck, "beat/deck/");
        do {
            len = ship_hear(listener, bytes, LARGE, SHIP_WAIT_MS);
        } while (len > 0 && memcmp(bytes, "bus/", 4) == 0);
        assert_int_equal(len, 200);
        assert_string_equal((const char *)bytes, "beat/deck/");
        expect_refusal(ship, bus, &expected);
        ship_close(ship, bus);
    }
    free(bytes);
}

static void
a_message_of_several_frames_is_refused_whole(void **state)
{
    struct ship *ship = *state;
    void *listener = ship_listener(ship, "change/");
    void *bus = ship_listener(ship, "bus/");
    void *deck = ship_publisher(ship, "deck");
    uint8_t *bytes = ship_frame("change/deck/", 200, 5);

    for (int i = 0; i < 600; i++) { /* more frames than the loop takes in a turn */
        assert_int_equal(zmq_send(deck, bytes, 200, ZMQ_SNDMORE), 200);
    }
    assert_int_equal(zmq_send(deck, bytes, 200, 0), 200);
    bytes[100] ^= 0xff;
    ship_send(deck, bytes, 200);
    {
        uint8_t got[SHIP_TEXT_CAP];
        assert_int_equal(ship_hear(listener, got, sizeof got, SHIP_WAIT_MS), 200);
        assert_memory_equal(got, bytes, 200);
    }
    expect_refusal(
        ship, bus,
        &(struct tl_refused_publisher){
            .publisher = "deck", .reason = TL_REFUSAL_FRAMES, .count = 1, .topic = "change/deck/"});
    free(bytes);
}

static void
a_frame_beyond_the_wire_limit_costs_its_sender_the_connection_only(void **state)
{
    enum {
        MEGABYTE = 1 << 20
    };
    struct ship *ship = *state;
    void *listener = ship_listener(ship, "beat/");
    void *deck = ship_publisher(ship, "deck");
    void *engine = ship_publisher(ship, "engine-1");
    uint8_t *bytes = ship_frame("beat/deck/", MEGABYTE, 6);

    ship_send(deck, bytes, MEGABYTE);
    free(bytes);
    ship_say(engine, "beat/engine-1/");
    ship_expect_topic(listener, "beat/engine-1/");
    assert_true(ship_is_invited(deck, SHIP_WAIT_MS)); /* it has joined again by itself */
    ship_say(deck, "beat/deck/");
    ship_expect_topic(listener, "beat/deck/");
}

static void
a_flood_of_refusals_makes_two_lines_a_second_that_count_all(void **state)
{
    enum {
        COUNT = 5000
    };
    struct ship *ship = *state;
    void *bus = ship_listener(ship, "bus/");
    void *deck = ship_publisher(ship, "deck");
    struct tl_envelope *said = calloc(1, sizeof *said);
    uint64_t at_ms[COUNT];
    uint32_t counted = 0;
    int lines = 0;
    const int no_limit = 0;

    assert_non_null(said);
    assert_int_equal(zmq_setsockopt(deck, ZMQ_SNDHWM, &no_limit, sizeof no_limit), 0);
    assert_int_equal(zmq_disconnect(deck, ship->bus->ingress), 0);
    assert_int_equal(zmq_connect(deck, ship->bus->ingress), 0);
    while (!ship_is_invited(deck, SHIP_WAIT_MS)) { /* first the end of the old invitation */
    }
    for (int i = 0; i < COUNT; i++) {
        ship_say(deck, "beat/bridge/");
    }
    while (counted < COUNT) {
        ship_hear_bus(ship, bus, TL_BODY_REFUSALS, said);
        assert_int_equal(said->as.refusals.count, 1);
        counted += said->as.refusals.refusal[0].count;
        at_ms[lines++] = said->wall_ms; /* when it left, not when it came: the flood is before it */
    }
    assert_int_equal(counted, COUNT);
    for (int i = 2; i < lines; i++) {
        assert_true(at_ms[i] - at_ms[i - 2] >= 900); /* 1 s, less a rest between two clocks */
    }
    free(said);
}

/* ---- its own beat ---- */

static void
the_bus_counts_and_says_so_every_second(void **state)
{
    struct ship *ship = *state;
    void *bus = ship_listener(ship, "bus/");
    void *deck = ship_publisher(ship, "deck");
    struct tl_envelope *said = calloc(1, sizeof *said);
    struct tl_counters before;
    uint64_t sequence;
    uint64_t from_ms;

    assert_non_null(said);
    ship_hear_bus(ship, bus, TL_BODY_COUNTERS, said);
    from_ms = tl_clock_boot_ms();
    before = said->as.counters;
    sequence = said->sequence;
    assert_int_equal(said->schema, TL_SCHEMA_VERSION);
    assert_true(said->incarnation > 0);
    for (int i = 0; i < 7; i++) {
        ship_say(deck, "beat/deck/");
    }
    ship_hear_bus(ship, bus, TL_BODY_COUNTERS, said);
    assert_in_range(tl_clock_boot_ms() - from_ms, 900, 1500);
    assert_int_equal(said->sequence, sequence + 1);
    assert_int_equal(said->as.counters.forwarded, before.forwarded + 7);
    assert_int_equal(said->as.counters.refused, 0);
    assert_int_equal(said->as.counters.handshakes_refused, 0);
    assert_int_equal(said->as.counters.connections, 3); /* the probe, the listener, deck */
    assert_int_equal(said->as.counters.subscriptions, 2);
    assert_in_range(said->as.counters.uptime_ms - before.uptime_ms, 900, 1500);
    free(said);
}

static void
a_listener_that_leaves_is_no_longer_counted(void **state)
{
    struct ship *ship = *state;
    void *bus = ship_listener(ship, "bus/");
    void *other = ship_listener(ship, "beat/");
    struct tl_envelope *said = calloc(1, sizeof *said);

    assert_non_null(said);
    ship_hear_bus(ship, bus, TL_BODY_COUNTERS, said);
    assert_int_equal(said->as.counters.subscriptions, 4);
    assert_int_equal(said->as.counters.connections, 3);
    ship_close(ship, other);
    ship_hear_bus(ship, bus, TL_BODY_COUNTERS, said);
    assert_int_equal(said->as.counters.subscriptions, 2);
    assert_int_equal(said->as.counters.connections, 2);
    free(said);
}

/* ---- bad frames, as fast as a station that has gone wrong may make them ---- */

/* One of each that is refused by name, of somebody whose key is good. */
static void
say_bad(void *deck, uint64_t number)
{
    static const char *const topics[] = {"beat/engine-1/", "verdict/validator-1/", "shout/deck/",
                                         "beat/deck"};
    static const uint8_t noise[] = "no topic and no end of one";
    uint8_t *frame = NULL;

    switch (number % 4) {
    case 0: /* no NUL in it */
        ship_send(deck, noise, sizeof noise - 1);
        return;
    case 1: /* no room for a signature */
        ship_send(deck, "beat/deck/\0short", 16);
        return;
    case 2: /* one byte too long */
        frame = ship_frame("beat/deck/", 4097, (unsigned)number);
        ship_send(deck, frame, 4097);
        break;
    default:
        frame = ship_frame(topics[number / 4 % 4], 200, (unsigned)number);
        ship_send(deck, frame, 200);
        break;
    }
    free(frame);
}

/*
 * A hundred in each 10 ms, for 2 s; with each hundred another station's beat, which must come within
 * the 1.0 s that its readers give it. The rate is printed: a machine with other work may not reach it.
 */
static void
ten_thousand_bad_frames_a_second_hold_up_no_beat(void **state)
{
    enum {
        TURNS = 200,
        A_TURN = 100,
        TURN_MS = 10,
        LOST_MS = 1000
    };
    struct ship *ship = *state;
    void *listener = ship_listener(ship, "beat/engine-1/");
    void *bus = ship_listener(ship, "bus/");
    void *deck = ship_publisher(ship, "deck");
    void *engine = ship_publisher(ship, "engine-1");
    struct tl_envelope *said = calloc(1, sizeof *said);
    uint64_t begin_ms = tl_clock_boot_ms();
    uint64_t worst_ms = 0;
    uint8_t got[SHIP_TEXT_CAP];

    assert_non_null(said);
    for (uint64_t turn = 0; turn < TURNS; turn++) {
        while (tl_clock_boot_ms() < begin_ms + turn * TURN_MS) {
            (void)zmq_poll(NULL, 0, 1);
        }
        for (uint64_t i = 0; i < A_TURN; i++) {
            say_bad(deck, turn * A_TURN + i);
        }
        uint64_t said_ms = tl_clock_boot_ms();
        ship_say(engine, "beat/engine-1/");
        assert_int_equal(ship_hear(listener, got, sizeof got, LOST_MS), 200);
        uint64_t late_ms = tl_clock_boot_ms() - said_ms;
        worst_ms = late_ms > worst_ms ? late_ms : worst_ms;
    }
    uint64_t all_ms = tl_clock_boot_ms() - begin_ms;
    print_message("%d bad frames in %llu ms, a beat late by %llu ms at most\n", TURNS * A_TURN,
                  (unsigned long long)all_ms, (unsigned long long)worst_ms);
    do {
        ship_hear_bus(ship, bus, TL_BODY_COUNTERS, said);
        assert_true(tl_clock_boot_ms() < begin_ms + all_ms + SHIP_WAIT_MS); /* else some are lost */
    } while (said->as.counters.refused < (uint64_t)TURNS * A_TURN);
    assert_int_equal(said->as.counters.refused, TURNS * A_TURN);
    assert_true(said->as.counters.forwarded >= TURNS);
    free(said);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, ship_set_up_running, ship_tear_down)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(every_byte_comes_out_as_it_went_in),
        TEST(a_listener_hears_only_what_it_asked_for),
        TEST(order_is_kept_over_a_thousand_messages),
        TEST(a_listener_that_does_not_read_delays_nobody),
        TEST(another_nodes_topic_is_refused_and_the_publisher_named),
        TEST(what_is_no_message_is_refused_and_the_next_one_passes),
        TEST(a_message_of_several_frames_is_refused_whole),
        TEST(a_frame_beyond_the_wire_limit_costs_its_sender_the_connection_only),
        TEST(a_flood_of_refusals_makes_two_lines_a_second_that_count_all),
        TEST(ten_thousand_bad_frames_a_second_hold_up_no_beat),
        TEST(the_bus_counts_and_says_so_every_second),
        TEST(a_listener_that_leaves_is_no_longer_counted),
    };

    return cmocka_run_group_tests_name("traffic", tests, NULL, NULL);
}
