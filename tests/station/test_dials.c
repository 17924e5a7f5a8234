/* SPDX-License-Identifier: Apache-2.0 */
/* test_dials - what a sensor's line says for a station, when it is said, and what silence means */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "clients/station/dials.h"
#include "tests/support/ship.h"

enum {
    START_MS = 100000
};

static struct tl_config *
config_of(void **state)
{
    return *state;
}

static int
set_up(void **state)
{
    struct tl_config *config = calloc(1, sizeof *config);
    assert_non_null(config);
    ship_config_full(config, 1);
    config->ship.sensor_valid_ms = 3000;
    *state = config;
    return 0;
}

static int
tear_down(void **state)
{
    free(*state);
    return 0;
}

static void
a_line_is_a_word_of_its_own_station_or_nothing(void **state)
{
    static const struct {
        const char *station;
        struct tl_feed_line line;
        bool read;
    } rows[] = {
        {"engine-1", {"accumulator", "405", "psi"}, true},
        {"engine-1", {"accumulator", "405", "bar"}, false},
        {"engine-1", {"accumulator", "405", "-"}, false},
        {"engine-1", {"accumulator", "405.5", "psi"}, false},
        {"engine-1", {"accumulator", "0", "psi"}, false},
        {"engine-1", {"accumulator", "-5", "psi"}, false},
        {"engine-1", {"accumulator", "20001", "psi"}, false},
        {"primary", {"accumulator", "405", "psi"}, false},
        {"engine-1", {"crosshead-gap", "6.50", "in"}, true},
        {"engine-1", {"crosshead-gap", "6.505", "in"}, false},
        {"engine-1", {"battery", "in", "-"}, true},
        {"engine-1", {"battery", "out", "-"}, true},
        {"engine-1", {"battery", "IN", "-"}, false},
        {"engine-1", {"batter", "in", "-"}, false},
        {"primary", {"repeater-4", "34000", "lb"}, true},
        {"primary", {"repeater-5", "34000", "lb"}, false},
        {"primary", {"repeater-0", "34000", "lb"}, false},
        {"primary", {"repeater-", "34000", "lb"}, false},
        {"primary", {"repeater-34", "34000", "lb"}, false},
        {"engine-1", {"repeater-1", "34000", "lb"}, false},
        {"wires", {"sheave-3", "up", "-"}, true},
        {"wires", {"sheave-3", "down", "-"}, true},
        {"wires", {"sheave-3", "upp", "-"}, false},
        {"wires", {"sheave-9", "up", "-"}, false},
        {"barricade", {"stanchion-pressure", "1500", "psi"}, true},
        {"safety", {"stanchion-pressure", "1500", "psi"}, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct tl_node *node = tl_config_node(config_of(state), rows[i].station);
        struct tl_datum datum = {.kind = TL_DATUM_RESULT};
        bool read = tl_dial_read(config_of(state), node, &rows[i].line, &datum);
        if (read != rows[i].read || (!read && datum.kind != TL_DATUM_RESULT) ||
            (read && (!datum.sensor || !datum.known))) {
            fail_msg("%s: %s %s %s", rows[i].station, rows[i].line.name, rows[i].line.value,
                     rows[i].line.unit);
        }
    }
}

/* A station with one validator that answers: the port plays it. */
struct bench {
    struct tl_dials dials;
    struct tl_member member;
    FILE *out;
    int pipe[2];
    uint64_t said;
    struct tl_datum last;
};

static void
play_validator(void *ctx, const struct tl_topic *topic, const struct tl_envelope *envelope)
{
    struct bench *bench = ctx;
    if (topic->kind == TL_TOPIC_CHANGE) {
        bench->said++;
        bench->last = envelope->as.change.datum;
    }
}

/* The validator's tick and its answer: heard, fresh, event 1 or 2 current, all receipted. */
static void
answer(struct bench *bench, uint32_t pass, uint64_t now_ms)
{
    static uint64_t sequence = 0;
    struct tl_envelope *e = calloc(1, sizeof *e);
    assert_non_null(e);
    memcpy(e->node, "validator-1", 12);
    e->incarnation = 9;
    e->sequence = ++sequence;
    e->event = (struct tl_event){5000, pass};
    e->body = TL_BODY_VERDICT;
    e->as.verdict = (struct tl_verdict){.tick = sequence,
                                        .is_tick = true,
                                        .word = TL_WORD_NOT_READY,
                                        .kind = TL_CAUSE_SHIP,
                                        .list_heard = true,
                                        .cause_count = 1};
    memcpy(e->as.verdict.judgement_digest, bench->member.config->judgement_digest, TL_DIGEST_LEN);
    tl_member_message(&bench->member, e, now_ms);
    tl_member_tend(&bench->member, now_ms);
    e->body = TL_BODY_RECEIPT;
    e->as.receipt = (struct tl_receipt){.for_incarnation = 5,
                                        .through = bench->member.outbox.last,
                                        .nonce = bench->member.beat_sequence,
                                        .verdict = sequence};
    tl_member_message(&bench->member, e, now_ms);
    free(e);
}

static struct bench *
bench_of(struct tl_config *config, const char *station)
{
    struct bench *bench = calloc(1, sizeof *bench);
    char path[64];
    assert_non_null(bench);
    assert_int_equal(pipe(bench->pipe), 0);
    (void)snprintf(path, sizeof path, "/proc/self/fd/%d", bench->pipe[0]);
    bench->out = fopen("/dev/null", "w");
    assert_non_null(bench->out);
    tl_member_init(&bench->member, config, tl_config_node(config, station), 5, START_MS);
    bench->member.port = (struct tl_port){.ctx = bench, .send = play_validator};
    assert_true(
        tl_dials_open(&bench->dials, config, tl_config_node(config, station), path, bench->out));
    return bench;
}

static void
close_bench(struct bench *bench)
{
    tl_dials_close(&bench->dials);
    (void)close(bench->pipe[0]);
    (void)close(bench->pipe[1]);
    (void)fclose(bench->out);
    free(bench);
}

/* A line comes, the validator answers, a turn is made. */
static void
turn(struct bench *bench, const char *line, uint32_t pass, uint64_t now_ms)
{
    answer(bench, pass, now_ms);
    if (line != NULL) {
        assert_int_equal(write(bench->pipe[1], line, strlen(line)), (ssize_t)strlen(line));
    }
    tl_dials_tend(&bench->dials, &bench->member, now_ms);
    answer(bench, pass, now_ms);
}

static void
a_steady_value_is_said_again_before_it_is_too_old(void **state)
{
    struct tl_config *config = config_of(state);
    config->ship.valid_s[TL_DATUM_ACCUMULATOR] = 4;
    struct bench *bench = bench_of(config, "engine-1");
    turn(bench, "accumulator 400 psi\n", 1, START_MS);
    assert_int_equal(bench->said, 1);
    turn(bench, "accumulator 400 psi\n", 1, START_MS + 1000);
    turn(bench, "accumulator 400 psi\n", 1, START_MS + 1999);
    assert_int_equal(bench->said, 1);
    turn(bench, "accumulator 400 psi\n", 1, START_MS + 2000);
    assert_int_equal(bench->said, 2);
    assert_int_equal(bench->last.as.accumulator_psi, 400);
    config->ship.valid_s[TL_DATUM_ACCUMULATOR] = 0; /* counts until it is changed */
    for (uint64_t ms = 3000; ms < 20000; ms += 1000) {
        turn(bench, "accumulator 400 psi\n", 1, START_MS + ms);
    }
    assert_int_equal(bench->said, 2);
    close_bench(bench);
}

static void
out_of_battery_is_said_at_once_after_in(void **state)
{
    struct bench *bench = bench_of(config_of(state), "engine-1");
    turn(bench, "battery out -\n", 1, START_MS);
    turn(bench, "battery in -\n", 1, START_MS + 1000);
    assert_int_equal(bench->last.as.battery, TL_BATTERY_IN);
    turn(bench, "battery out -\n", 1, START_MS + 1050);
    assert_int_equal(bench->last.as.battery, TL_BATTERY_OUT);
    turn(bench, "battery in -\n", 1, START_MS + 1100); /* toward READY it rests */
    assert_int_equal(bench->last.as.battery, TL_BATTERY_OUT);
    turn(bench, "battery in -\n", 1, START_MS + 1550);
    assert_int_equal(bench->last.as.battery, TL_BATTERY_IN);
    close_bench(bench);
}

static void
a_value_is_said_when_it_moves_and_not_while_it_trembles(void **state)
{
    struct bench *bench = bench_of(config_of(state), "engine-1");
    turn(bench, "accumulator 400 psi\n", 1, START_MS);
    assert_int_equal(bench->said, 1);
    assert_int_equal(bench->last.as.accumulator_psi, 400);
    assert_true(bench->last.sensor);
    turn(bench, "accumulator 403 psi\n", 1, START_MS + 1000);
    assert_int_equal(bench->said, 1);
    turn(bench, "accumulator 404 psi\n", 1, START_MS + 2000);
    assert_int_equal(bench->said, 2);
    assert_int_equal(bench->last.as.accumulator_psi, 404);
    turn(bench, "accumulator 300 psi\n", 1, START_MS + 2100); /* too soon after the last word */
    assert_int_equal(bench->said, 2);
    turn(bench, "accumulator 300 psi\n", 1, START_MS + 2500);
    assert_int_equal(bench->said, 3);
    assert_true(tl_dials_speak(&bench->dials, &bench->last, START_MS + 2500));
    close_bench(bench);
}

static void
silence_makes_it_unknown_and_a_new_line_brings_it_back(void **state)
{
    struct bench *bench = bench_of(config_of(state), "engine-1");
    turn(bench, "accumulator 400 psi\n", 1, START_MS);
    turn(bench, NULL, 1, START_MS + 3000);
    assert_int_equal(bench->said, 1);
    turn(bench, NULL, 1, START_MS + 3001);
    assert_int_equal(bench->said, 2);
    assert_false(bench->last.known);
    assert_false(tl_dials_speak(&bench->dials, &bench->last, START_MS + 3001));
    turn(bench, NULL, 1, START_MS + 4000);
    assert_int_equal(bench->said, 2);
    turn(bench, "accumulator 400 psi\n", 1, START_MS + 5000);
    assert_int_equal(bench->said, 3);
    assert_true(bench->last.known);
    close_bench(bench);
}

static void
a_word_of_the_event_is_said_for_each_event(void **state)
{
    struct bench *bench = bench_of(config_of(state), "engine-1");
    turn(bench, "battery in -\n", 0, START_MS); /* no event that it could be for */
    assert_int_equal(bench->said, 0);
    turn(bench, "battery in -\n", 1, START_MS + 1000);
    assert_int_equal(bench->said, 1);
    assert_int_equal(bench->last.stated_for[0].pass, 1);
    turn(bench, "battery in -\n", 1, START_MS + 2000);
    assert_int_equal(bench->said, 1);
    turn(bench, "battery in -\n", 2, START_MS + 3000);
    turn(bench, "battery in -\n", 2, START_MS + 4000);
    assert_int_equal(bench->last.stated_for[0].pass, 2);
    assert_true(bench->last.known);
    turn(bench, "battery out -\n", 2, START_MS + 5000);
    assert_int_equal(bench->last.as.battery, TL_BATTERY_OUT);
    close_bench(bench);
}

/* Toward safe a person is not contradicted by a sensor, through events too, until he takes it back. */
static void
a_persons_word_toward_safe_stands_over_the_sensor(void **state)
{
    struct bench *bench = bench_of(config_of(state), "engine-1");
    struct tl_datum word = {.kind = TL_DATUM_BATTERY, .known = true};
    uint64_t sequence = 0;
    turn(bench, "battery in -\n", 1, START_MS);
    assert_int_equal(bench->last.as.battery, TL_BATTERY_IN);
    word.as.battery = TL_BATTERY_OUT;
    assert_int_equal(tl_member_say(&bench->member, &word, START_MS + 100, &sequence), TL_OK);
    for (uint32_t i = 1; i <= 4; i++) {
        turn(bench, "battery in -\n", i < 3 ? 1 : 2, START_MS + 1000 * i);
        assert_int_equal(bench->last.as.battery, TL_BATTERY_OUT);
        assert_false(bench->last.sensor);
    }
    word.as.battery = TL_BATTERY_IN; /* taken back */
    word.stated_for_count = 1;
    word.stated_for[0] = (struct tl_event){5000, 2};
    assert_int_equal(tl_member_say(&bench->member, &word, START_MS + 4100, &sequence), TL_OK);
    turn(bench, "battery in -\n", 2, START_MS + 6000);
    assert_int_equal(bench->last.as.battery, TL_BATTERY_IN);
    assert_true(bench->last.sensor);
    close_bench(bench);
}

/* What is not understood is counted, and changes nothing. */
static void
a_damaged_line_says_nothing(void **state)
{
    struct bench *bench = bench_of(config_of(state), "engine-1");
    turn(bench, "accumulator 400 psi\n", 1, START_MS);
    turn(bench, "accumulator  500 psi\naccumulator 500\nvalve 5 psi\naccumulator 500 bar\n", 1,
         START_MS + 1000);
    assert_int_equal(bench->said, 1);
    assert_int_equal(bench->dials.lines.bad + bench->dials.strange, 4);
    close_bench(bench);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_line_is_a_word_of_its_own_station_or_nothing, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(a_steady_value_is_said_again_before_it_is_too_old, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(out_of_battery_is_said_at_once_after_in, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_value_is_said_when_it_moves_and_not_while_it_trembles,
                                        set_up, tear_down),
        cmocka_unit_test_setup_teardown(silence_makes_it_unknown_and_a_new_line_brings_it_back,
                                        set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_word_of_the_event_is_said_for_each_event, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(a_persons_word_toward_safe_stands_over_the_sensor, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(a_damaged_line_says_nothing, set_up, tear_down),
    };
    return cmocka_run_group_tests_name("station_dials", tests, NULL, NULL);
}
