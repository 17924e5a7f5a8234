/* SPDX-License-Identifier: Apache-2.0 */
/* test_judged - what a validator says of its inputs: which, in what order, with which outcome */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "broker/core/judge/judge.h"
#include "tests/support/ship.h"

enum {
    START_MS = 100000,
    LIFE = 7,
    ROWS_MAX = 64
};

struct room {
    struct tl_config config;
    struct tl_judge judge;
    struct tl_envelope envelope; /* the next message */
    uint64_t now_ms;
    uint32_t count;
    struct tl_judged row[ROWS_MAX];
    uint64_t sequence; /* of the last row */
    uint32_t verdicts;
};

static void
take(void *ctx, const struct tl_topic *topic, const struct tl_envelope *envelope)
{
    struct room *room = ctx;
    room->verdicts += topic->kind == TL_TOPIC_VERDICT ? 1 : 0;
    if (topic->kind == TL_TOPIC_JUDGED) {
        assert_int_equal(envelope->sequence, room->sequence + 1);
        assert_true(room->count < ROWS_MAX);
        room->sequence = envelope->sequence;
        room->row[room->count++] = envelope->as.judged;
    }
}

static int
set_up(void **state)
{
    struct room *room = calloc(1, sizeof *room);
    assert_non_null(room);
    ship_config(&room->config, 2);
    struct tl_node *node = &room->config.node[room->config.node_count++];
    node->kind = TL_NODE_RECORDER;
    memcpy(node->id, "recorder", sizeof "recorder");
    room->now_ms = START_MS;
    tl_judge_init(&room->judge, &room->config, "validator-1", LIFE, room->now_ms);
    room->judge.port = (struct tl_port){room, take};
    *state = room;
    return 0;
}

static int
tear_down(void **state)
{
    free(*state);
    return 0;
}

static void
forget(struct room *room)
{
    room->count = 0;
}

static void
tend(struct room *room, uint64_t ms)
{
    for (uint64_t until_ms = room->now_ms + ms; room->now_ms < until_ms; room->now_ms += 20) {
        tl_judge_tend(&room->judge, room->now_ms);
    }
}

/* A message of that node that echoes the newest tick. */
static struct tl_envelope *
message(struct room *room, const char *node, enum tl_body_kind body, uint64_t sequence)
{
    struct tl_envelope *envelope = &room->envelope;
    memset(envelope, 0, sizeof *envelope);
    (void)snprintf(envelope->node, sizeof envelope->node, "%s", node);
    envelope->incarnation = 3;
    envelope->sequence = sequence;
    envelope->wall_ms = sequence;
    envelope->body = body;
    envelope->echo_count = 1;
    envelope->echo[0] = (struct tl_echo){
        .validator = "validator-1", .incarnation = LIFE, .tick = room->judge.fold.newest_tick};
    return envelope;
}

static void
deliver(struct room *room)
{
    tl_judge_message(&room->judge, &room->envelope, room->envelope.sequence, room->now_ms);
}

static void
beat(struct room *room, const char *node, uint64_t sequence)
{
    (void)message(room, node, TL_BODY_BEAT, sequence);
    deliver(room);
}

static void
foul(struct room *room, const char *node, uint64_t sequence)
{
    struct tl_datum *datum = &message(room, node, TL_BODY_CHANGE, sequence)->as.change.datum;
    *datum = (struct tl_datum){.kind = TL_DATUM_DECK, .known = true, .sequence = sequence};
    datum->as.deck.state = TL_DECK_FOUL;
    datum->as.deck.reason = TL_FOUL_PERSON;
    deliver(room);
}

static void
wind(struct room *room, uint64_t sequence, int32_t headwind_kt_x10)
{
    struct tl_beat *body = &message(room, "bridge", TL_BODY_BEAT, sequence)->as.beat;
    body->sample_count = 1;
    body->samples[0].kind = TL_SAMPLE_WIND;
    body->samples[0].as.wind.state = TL_WIND_KNOWN;
    body->samples[0].as.wind.headwind_kt_x10 = headwind_kt_x10;
    deliver(room);
}

static void
is_row(const struct room *room, uint32_t at, enum tl_judged_kind kind, const char *node, bool told)
{
    assert_true(at < room->count);
    assert_int_equal(room->row[at].kind, kind);
    assert_string_equal(room->row[at].node, node);
    assert_int_equal(room->row[at].outcome.word != TL_WORD_UNKNOWN, told);
}

static void
is_seen(const struct room *room, uint32_t at, enum tl_rule rule, const char *node, bool gone)
{
    is_row(room, at, TL_JUDGED_SEEN, "validator-1", at + 1 == room->count);
    assert_int_equal(room->row[at].seen.rule, rule);
    assert_string_equal(room->row[at].seen.node, node);
    assert_int_equal(room->row[at].seen.gone, gone);
}

static uint32_t
count_seen(const struct room *room, enum tl_rule rule, bool gone)
{
    uint32_t count = 0;
    for (uint32_t i = 0; i < room->count; i++) {
        count += room->row[i].seen.rule == (uint32_t)rule && room->row[i].seen.gone == gone ? 1 : 0;
    }
    return count;
}

static void
the_last_input_of_a_judgement_has_its_outcome(void **state)
{
    struct room *room = *state;
    tend(room, 100);
    forget(room);
    beat(room, "deck", 1); /* a new life, heard, taken whole for the first time */
    assert_int_equal(room->count, 3);
    is_row(room, 0, TL_JUDGED_BEGUN, "deck", false);
    is_row(room, 1, TL_JUDGED_HEARD, "deck", false);
    is_row(room, 2, TL_JUDGED_BEAT, "deck", true);
    const struct tl_judgement *outcome = &room->row[2].outcome;
    assert_int_equal(outcome->word, TL_WORD_NOT_READY);
    assert_int_equal(outcome->cause_count, room->judge.decision.cause_count);
    assert_int_equal(outcome->rule, room->judge.decision.cause[0].rule);
    assert_string_equal(outcome->station, room->judge.decision.cause[0].station);
    assert_int_equal(room->row[2].now_ms, room->now_ms);
}

static void
a_beat_that_changes_nothing_is_not_told(void **state)
{
    struct room *room = *state;
    tend(room, 100);
    beat(room, "deck", 1);
    forget(room);
    for (uint64_t sequence = 2; sequence < 10; sequence++) {
        beat(room, "deck", sequence);
    }
    assert_int_equal(room->count, 0);
}

static void
a_loss_is_told_before_the_newer_word_that_shows_it(void **state)
{
    struct room *room = *state;
    tend(room, 100);
    beat(room, "deck", 1);
    beat(room, "platform", 1);
    forget(room);
    room->now_ms += TL_LOST_MS + 50; /* this program was stopped */
    (void)message(room, "platform", TL_BODY_BEAT, 2);
    foul(room, "platform", 1);
    is_row(room, 0, TL_JUDGED_LOST, "deck", false);
    is_row(room, 1, TL_JUDGED_LOST, "platform", false);
    is_row(room, 2, TL_JUDGED_APPLIED, "platform", true);
    assert_int_equal(room->count, 3);
}

static void
a_beat_without_a_fresh_echo_says_so(void **state)
{
    struct room *room = *state;
    tend(room, 100);
    beat(room, "deck", 1);
    forget(room);
    struct tl_envelope *envelope = message(room, "deck", TL_BODY_BEAT, 2);
    envelope->echo_count = 0;
    envelope->as.beat.datum_count = 1;
    envelope->as.beat.data[0] =
        (struct tl_datum){.kind = TL_DATUM_DECK, .known = true, .sequence = 1};
    envelope->as.beat.data[0].as.deck.state = TL_DECK_FOUL;
    deliver(room);
    assert_int_equal(room->count, 1);
    is_row(room, 0, TL_JUDGED_STALE_BEAT, "deck", true);
}

static void
the_age_of_the_copy_that_was_taken_is_told(void **state)
{
    struct room *room = *state;
    tend(room, 100);
    beat(room, "deck", 1);
    forget(room);
    message(room, "deck", TL_BODY_CHANGE, 1)->said_age_ms = 321;
    room->envelope.as.change.datum =
        (struct tl_datum){.kind = TL_DATUM_DECK, .known = true, .sequence = 1};
    room->envelope.as.change.datum.as.deck.state = TL_DECK_FOUL;
    deliver(room);
    is_row(room, 0, TL_JUDGED_APPLIED, "deck", true);
    assert_int_equal(room->row[0].said_age_ms, 321);
}

static void
what_time_alone_changes_is_told(void **state)
{
    struct room *room = *state;
    tend(room, 100);
    beat(room, "deck", 1);
    forget(room);
    for (uint64_t i = 0; i < 40; i++) { /* the hold ends 3.0 s after it came */
        beat(room, "deck", 2 + i);
        tend(room, 100);
    }
    uint32_t of_time = 0;
    for (uint32_t i = 0; i < room->count; i++) {
        if (room->row[i].kind == TL_JUDGED_TIME) {
            of_time++;
            is_row(room, i, TL_JUDGED_TIME, "validator-1", true);
            assert_in_range(room->row[i].now_ms, START_MS + 3100, START_MS + 3140);
        }
    }
    assert_int_equal(of_time, 1);
}

/* ---- beside the reports ---- */

static void
a_bus_and_the_recorder_are_told_when_they_change(void **state)
{
    struct room *room = *state;
    tend(room, 100);
    forget(room);
    tl_judge_bus(&room->judge, "bus-b", true);
    tl_judge_bus(&room->judge, "bus-b", true);
    tend(room, 100);
    assert_int_equal(room->count, 1);
    is_seen(room, 0, TL_RULE_BUS_DEGRADED, "bus-b", false);
    forget(room);
    tl_judge_bus(&room->judge, "bus-b", false);
    tend(room, 100);
    is_seen(room, 0, TL_RULE_BUS_DEGRADED, "bus-b", true);
    tend(room, TL_RECORDER_LOST_MS);
    forget(room);
    beat(room, "recorder", 1);
    tend(room, 40);
    is_seen(room, 0, TL_RULE_RECORDER_LOST, "recorder", true);
}

static void
a_notice_is_told_when_it_comes_and_when_it_lapses(void **state)
{
    struct room *room = *state;
    tend(room, TL_RECORDER_LOST_MS + 100);
    forget(room);
    tl_judge_dropped(&room->judge, "deck", TL_REFUSAL_SIGNATURE, room->now_ms);
    tl_judge_dropped(&room->judge, "deck", TL_REFUSAL_SIGNATURE, room->now_ms);
    assert_int_equal(room->count, 1);
    is_seen(room, 0, TL_RULE_REFUSED_PUBLISHER, "deck", false);
    assert_int_equal(room->row[0].seen.reason, TL_REFUSAL_SIGNATURE);
    forget(room);
    tend(room, TL_NOTICE_MS - 20);
    assert_int_equal(count_seen(room, TL_RULE_REFUSED_PUBLISHER, true), 0);
    tend(room, 100);
    assert_int_equal(count_seen(room, TL_RULE_REFUSED_PUBLISHER, true), 1);
}

static void
one_notice_too_many_takes_the_place_of_the_oldest(void **state)
{
    struct room *room = *state;
    tend(room, TL_RECORDER_LOST_MS + 100);
    for (uint32_t i = 0; i < TL_NOTICES_MAX; i++) {
        tl_judge_dropped(&room->judge, "deck", (enum tl_refusal)(1 + i), room->now_ms + i);
    }
    tl_judge_dropped(&room->judge, "deck", (enum tl_refusal)1, room->now_ms + 50);
    forget(room);
    tl_judge_dropped(&room->judge, "primary", TL_REFUSAL_SIGNATURE, room->now_ms + 100);
    assert_int_equal(room->count, 2);
    is_seen(room, 0, TL_RULE_REFUSED_PUBLISHER, "deck", true);
    assert_int_equal(room->row[0].seen.reason, 2);
    is_seen(room, 1, TL_RULE_REFUSED_PUBLISHER, "primary", false);
    const struct tl_outside *outside = &room->judge.outside;
    assert_int_equal(outside->notice_count, TL_NOTICES_MAX);
    for (uint32_t i = 0; i + 1 < TL_NOTICES_MAX; i++) { /* the rest in the order in which it came */
        assert_int_equal(outside->notice[i].reason, i == 0 ? 1 : i + 2);
    }
    assert_string_equal(outside->notice[TL_NOTICES_MAX - 1].node, "primary");
}

static void
a_second_program_is_told_and_that_it_is_gone(void **state)
{
    struct room *room = *state;
    tend(room, 100);
    beat(room, "deck", 5);
    tend(room, 300);
    forget(room);
    beat(room, "deck", 5); /* the same number, and sent later than the first was heard */
    assert_int_equal(room->count, 1);
    is_seen(room, 0, TL_RULE_TWO_WRITERS, "deck", false);
    forget(room);
    for (uint64_t i = 0; i < 12; i++) {
        beat(room, "deck", 6 + i);
        tend(room, 100);
    }
    assert_int_equal(count_seen(room, TL_RULE_TWO_WRITERS, true), 1);
}

static void
another_validator_is_told(void **state)
{
    struct room *room = *state;
    tend(room, TL_LOST_MS + 100); /* it has never been heard */
    assert_int_equal(count_seen(room, TL_RULE_VALIDATOR_LOST, false), 1);
    forget(room);
    struct tl_verdict *verdict = &message(room, "validator-2", TL_BODY_VERDICT, 1)->as.verdict;
    verdict->tick = 1;
    verdict->is_tick = true;
    deliver(room);
    assert_int_equal(room->count, 0); /* judged with the next */
    tend(room, 40);
    is_row(room, 0, TL_JUDGED_SEEN, "validator-1", false);
    assert_int_equal(room->row[0].seen.rule, TL_RULE_VALIDATOR_LOST);
    assert_true(room->row[0].seen.gone);
    assert_int_equal(room->row[0].seen.incarnation, 3);
    assert_int_equal(room->row[1].seen.rule, TL_RULE_KEYS_DIFFER);
}

/* ---- the bridge ---- */

static void
a_reading_is_told_before_the_next_row(void **state)
{
    struct room *room = *state;
    tend(room, 100);
    beat(room, "deck", 1);
    wind(room, 1, 270);
    is_row(room, room->count - 1, TL_JUDGED_BEAT, "bridge", true);
    forget(room);
    for (uint64_t i = 2; i < 6; i++) {
        room->now_ms += 20;
        wind(room, i, 270 + (int32_t)i);
    }
    uint64_t came_ms = room->now_ms;
    assert_int_equal(room->count, 0);
    room->now_ms += 20;
    foul(room, "deck", 1);
    assert_int_equal(room->count, 2);
    is_row(room, 0, TL_JUDGED_BEAT, "bridge", false);
    assert_int_equal(room->row[0].sequence, 5);
    assert_int_equal(room->row[0].now_ms, came_ms);
    is_row(room, 1, TL_JUDGED_APPLIED, "deck", true);
    forget(room);
    foul(room, "deck", 2);
    assert_int_equal(room->count, 1); /* told once */
}

/* A beat of the bridge shows that another is lost: what is judged has its readings. */
static void
a_reading_of_this_moment_has_the_outcome(void **state)
{
    struct room *room = *state;
    tend(room, 100);
    beat(room, "deck", 1);
    wind(room, 1, 270);
    room->now_ms += TL_LOST_MS - 100;
    tl_judge_tend(&room->judge, room->now_ms);
    wind(room, 2, 271);
    room->now_ms += 150;
    forget(room);
    wind(room, 3, 272);
    assert_int_equal(room->count, 3);
    is_row(room, 0, TL_JUDGED_BEAT, "bridge", false); /* the one before, with its own time */
    is_row(room, 1, TL_JUDGED_LOST, "deck", false);
    is_row(room, 2, TL_JUDGED_BEAT, "bridge", true);
    assert_int_equal(room->row[2].sequence, 3);
}

static void
a_reading_that_comes_with_a_return_has_the_outcome(void **state)
{
    struct room *room = *state;
    tend(room, 100);
    wind(room, 1, 270);
    tend(room, TL_LOST_MS + 100);
    forget(room);
    wind(room, 2, 271);
    assert_int_equal(room->count, 2);
    is_row(room, 0, TL_JUDGED_HEARD, "bridge", false);
    is_row(room, 1, TL_JUDGED_BEAT, "bridge", true);
}

/* ---- bases ---- */

static uint32_t
bases(struct room *room, uint64_t ms)
{
    uint32_t count = 0;
    for (uint64_t t = 0; t < ms; t += 200) {
        static uint64_t sequence;
        beat(room, "recorder", ++sequence);
        forget(room);
        tend(room, 200);
        for (uint32_t i = 0; i < room->count; i++) {
            bool base = room->row[i].kind == TL_JUDGED_BASE;
            count += base && room->row[i].base.part == room->row[i].base.parts ? 1 : 0;
            assert_true(!base || room->row[i].base.len <= TL_BASE_PART_LEN);
            assert_true(!base || memcmp(room->row[i].base.judgement_digest,
                                        room->config.judgement_digest, TL_DIGEST_LEN) == 0);
        }
    }
    return count;
}

static void
a_base_is_told_while_a_recorder_is_heard_and_again_when_it_comes_back(void **state)
{
    struct room *room = *state;
    tend(room, 5000);
    for (uint32_t i = 0; i < room->count; i++) {
        assert_int_not_equal(room->row[i].kind, TL_JUDGED_BASE);
    }
    assert_int_equal(bases(room, 800), 0);
    assert_int_equal(bases(room, 600), 1);   /* 1 s after it came */
    assert_int_equal(bases(room, 14000), 3); /* 2, 4 and 8 s later */
    forget(room);
    tend(room, TL_LOST_MS + 100);
    assert_int_equal(bases(room, 1400), 1);
}

#define CASE(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        CASE(the_last_input_of_a_judgement_has_its_outcome),
        CASE(a_beat_that_changes_nothing_is_not_told),
        CASE(a_loss_is_told_before_the_newer_word_that_shows_it),
        CASE(a_beat_without_a_fresh_echo_says_so),
        CASE(the_age_of_the_copy_that_was_taken_is_told),
        CASE(what_time_alone_changes_is_told),
        CASE(a_bus_and_the_recorder_are_told_when_they_change),
        CASE(a_notice_is_told_when_it_comes_and_when_it_lapses),
        CASE(one_notice_too_many_takes_the_place_of_the_oldest),
        CASE(a_second_program_is_told_and_that_it_is_gone),
        CASE(another_validator_is_told),
        CASE(a_reading_is_told_before_the_next_row),
        CASE(a_reading_of_this_moment_has_the_outcome),
        CASE(a_reading_that_comes_with_a_return_has_the_outcome),
        CASE(a_base_is_told_while_a_recorder_is_heard_and_again_when_it_comes_back),
    };
    return cmocka_run_group_tests_name("judged", tests, NULL, NULL);
}
