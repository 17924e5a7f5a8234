/* SPDX-License-Identifier: Apache-2.0 */
/* test_publish - how a validator lays out what the mechanics say */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "broker/core/judge/publish.h"
#include "tests/support/ship.h"

enum {
    NOW_MS = 100000,
    LIFE = 7,
    STALE = 0xA5 /* what an earlier message has left in the memory of the next */
};

static const struct tl_event event = {1764050400000, 7};
static const struct tl_would bottoms = {.set_lb = 34000,
                                        .bottoms = true,
                                        .end_kt_x10 = 121,
                                        .hook_lbf = 212000,
                                        .tension_percent = 58,
                                        .stroke_in_x10 = 1830,
                                        .expect_in_x10 = 1829,
                                        .runout_ft_x10 = 3300};

struct room {
    struct tl_config config;
    struct tl_judge judge;
    uint32_t count;
    uint32_t pictures;
    struct tl_topic topic;
    struct tl_envelope sent; /* the last one but alerts */
};

static void
take(void *ctx, const struct tl_topic *topic, const struct tl_envelope *envelope)
{
    struct room *room = ctx;
    if (topic->kind == TL_TOPIC_ALERT) {
        return;
    }
    room->count++;
    room->pictures += topic->kind == TL_TOPIC_PICTURE ? 1 : 0;
    room->topic = *topic;
    memcpy(&room->sent, envelope, sizeof room->sent);
}

static int
set_up(void **state)
{
    struct room *room = calloc(1, sizeof *room);
    assert_non_null(room);
    ship_config(&room->config, 2);
    tl_judge_init(&room->judge, &room->config, "validator-1", LIFE, NOW_MS);
    room->judge.port = (struct tl_port){room, take};
    memset(&room->judge.scratch.as, STALE, sizeof room->judge.scratch.as);
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
add_cause(struct room *room)
{
    struct tl_decision *decision = &room->judge.decision;
    *decision = (struct tl_decision){
        .word = TL_WORD_NOT_READY, .kind = TL_CAUSE_SHIP, .forcing = 1, .cause_count = 1};
    decision->cause[0] = (struct tl_cause){.rule = TL_RULE_SETTING_NOT_ORDERED,
                                           .station = "engine-3",
                                           .state = TL_CAUSE_WRONG,
                                           .would = bottoms};
}

static void
a_verdict_names_its_cause_without_the_consequence(void **state)
{
    struct room *room = *state;
    static const struct tl_would none;
    add_cause(room);
    tl_publish_verdict(&room->judge, true, NOW_MS);
    assert_int_equal(room->topic.kind, TL_TOPIC_VERDICT);
    assert_int_equal(room->sent.as.verdict.first.rule, TL_RULE_SETTING_NOT_ORDERED);
    assert_memory_equal(&room->sent.as.verdict.first.would, &none, sizeof none);
    assert_memory_equal(&room->judge.decision.cause[0].would, &bottoms, sizeof bottoms);
}

static void
a_picture_tells_the_consequence(void **state)
{
    struct room *room = *state;
    add_cause(room);
    tl_publish_picture(&room->judge, NOW_MS);
    assert_int_equal(room->topic.kind, TL_TOPIC_PICTURE);
    assert_int_equal(room->sent.as.picture.cause_count, 1);
    assert_memory_equal(&room->sent.as.picture.cause[0].would, &bottoms, sizeof bottoms);
}

/* The memory of the message held another one before. */
static void
a_picture_without_mechanics_predicts_nothing(void **state)
{
    struct room *room = *state;
    static const struct tl_predicted none;
    tl_publish_picture(&room->judge, NOW_MS);
    assert_memory_equal(&room->sent.as.picture.predicted, &none, sizeof none);
    assert_int_equal(room->sent.as.picture.expected_count, 0);
}

static void
what_was_predicted_is_told_for_the_record(void **state)
{
    struct room *room = *state;
    const struct tl_judged *judged = &room->sent.as.judged;
    struct tl_predicted predicted = {.event = event, .type = "plover", .weight_lb = 33400};
    predicted.arrest.known = true;
    predicted.arrest.would_count = 1;
    predicted.arrest.would[0] = bottoms;
    tl_judge_predicted(&room->judge, &predicted, NOW_MS);
    assert_int_equal(room->topic.kind, TL_TOPIC_JUDGED);
    assert_int_equal(room->sent.body, TL_BODY_JUDGED);
    assert_int_equal(room->sent.sequence, 1);
    assert_int_equal(judged->kind, TL_JUDGED_PREDICTED);
    assert_string_equal(judged->node, "validator-1");
    assert_int_equal(judged->incarnation, LIFE);
    assert_int_equal(judged->now_ms, NOW_MS);
    assert_int_equal(judged->reason, TL_REFUSAL_UNKNOWN);
    assert_memory_equal(&judged->predicted, &predicted, sizeof predicted);
    assert_int_equal(judged->expected.unit, 0);
}

static void
what_was_expected_is_told_with_who_gave_it(void **state)
{
    struct room *room = *state;
    const struct tl_judged *judged = &room->sent.as.judged;
    struct tl_envelope *envelope = calloc(1, sizeof *envelope);
    assert_non_null(envelope);
    memcpy(envelope->node, "validator-2", sizeof "validator-2");
    envelope->body = TL_BODY_PICTURE;
    envelope->as.picture.expected_count = 1;
    envelope->as.picture.expected[0] = (struct tl_expected){3, event, 1744};
    room->judge.fold.list.trap[2] = event;
    tl_judge_predicted(&room->judge, &(struct tl_predicted){.event = event}, NOW_MS);
    tl_judge_message(&room->judge, envelope, 0, NOW_MS + 1);
    free(envelope);
    assert_int_equal(room->topic.kind, TL_TOPIC_JUDGED);
    assert_int_equal(room->sent.sequence, 2);
    assert_int_equal(judged->kind, TL_JUDGED_EXPECTED);
    assert_string_equal(judged->node, "validator-2");
    assert_int_equal(judged->incarnation, 0);
    assert_int_equal(judged->now_ms, NOW_MS + 1);
    assert_int_equal(judged->expected.unit, 3);
    assert_int_equal(judged->expected.ram_in_x10, 1744);
    assert_int_equal(judged->expected.event.pass, 7);
    assert_false(tl_event_is(judged->predicted.event));
}

/* Pictures from one time to another, with readings each 100 ms or none. */
static uint32_t
pictures_in(struct room *room, uint64_t from_ms, uint64_t to_ms, bool readings)
{
    uint32_t before = room->pictures;
    for (uint64_t now_ms = from_ms; now_ms < to_ms; now_ms++) {
        room->judge.fold.readings += readings && now_ms % 100 == 0 ? 1 : 0;
        tl_judge_tend(&room->judge, now_ms);
    }
    return room->pictures - before;
}

/* What an eye must see comes within 50 ms; readings twice a second, under the same number. */
static void
readings_alone_bring_a_picture_twice_a_second(void **state)
{
    struct room *room = *state;
    struct tl_judge *judge = &room->judge;
    (void)pictures_in(room, NOW_MS, NOW_MS + 10000, false); /* till all is lost that can be */
    assert_int_equal(pictures_in(room, NOW_MS + 10000, NOW_MS + 20000, false), 10);
    uint64_t number = judge->picture_number;
    assert_int_equal(pictures_in(room, NOW_MS + 20000, NOW_MS + 30000, true), 20);
    assert_int_equal(judge->picture_number, number);
    uint64_t now_ms = judge->last_picture_ms + TL_PICTURE_GAP_MS;
    judge->fold.changes++;
    tl_judge_tend(judge, now_ms - 1);
    uint32_t before = room->pictures;
    tl_judge_tend(judge, now_ms);
    assert_int_equal(room->pictures, before + 1);
    assert_int_equal(judge->picture_number, number + 1);
}

/* Within 50 ms of its beat, which is one of the first three of its life. */
static void
who_has_just_come_is_given_a_picture(void **state)
{
    struct room *room = *state;
    struct tl_judge *judge = &room->judge;
    struct tl_envelope *envelope = calloc(1, sizeof *envelope);
    assert_non_null(envelope);
    memcpy(envelope->node, "viewer", sizeof "viewer");
    envelope->body = TL_BODY_BEAT;
    envelope->incarnation = 5;
    uint64_t now_ms = NOW_MS + 10000;
    (void)pictures_in(room, NOW_MS, now_ms, false);
    for (envelope->sequence = 1; envelope->sequence <= 5; envelope->sequence++) {
        now_ms = judge->last_picture_ms + 100;
        tl_judge_message(judge, envelope, 0, now_ms);
        bool early = envelope->sequence <= 3;
        assert_int_equal(pictures_in(room, now_ms, now_ms + 2, false), early ? 1 : 0);
    }
    free(envelope);
}

#define CASE(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        CASE(a_verdict_names_its_cause_without_the_consequence),
        CASE(a_picture_tells_the_consequence),
        CASE(a_picture_without_mechanics_predicts_nothing),
        CASE(who_has_just_come_is_given_a_picture),
        CASE(readings_alone_bring_a_picture_twice_a_second),
        CASE(what_was_predicted_is_told_for_the_record),
        CASE(what_was_expected_is_told_with_who_gave_it),
    };
    return cmocka_run_group_tests_name("publish", tests, NULL, NULL);
}
