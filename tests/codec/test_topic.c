/* SPDX-License-Identifier: Apache-2.0 */
/* test_topic - topics are written one way, and nothing else is read */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "proto/codec/codec.h"

#define LONGEST_ID "abcdefghijklmnopqrstu-9" /* 23 bytes */

struct pair {
    const char *text;
    struct tl_topic topic;
};

static const struct pair pairs[] = {
    {"beat/engine-3/", {TL_TOPIC_BEAT, "engine-3", ""}},
    {"change/deck/", {TL_TOPIC_CHANGE, "deck", ""}},
    {"verdict/validator-1/", {TL_TOPIC_VERDICT, "validator-1", ""}},
    {"picture/validator-1/", {TL_TOPIC_PICTURE, "validator-1", ""}},
    {"alert/validator-1/", {TL_TOPIC_ALERT, "validator-1", ""}},
    {"receipt/validator-1/engine-3/", {TL_TOPIC_RECEIPT, "validator-1", "engine-3"}},
    {"judged/validator-1/", {TL_TOPIC_JUDGED, "validator-1", ""}},
    {"recorded/recorder-1/engine-3/", {TL_TOPIC_RECORDED, "recorder-1", "engine-3"}},
    {"bus/a/", {TL_TOPIC_BUS, "a", ""}},
    {"recorded/" LONGEST_ID "/" LONGEST_ID "/", {TL_TOPIC_RECORDED, LONGEST_ID, LONGEST_ID}},
};
enum {
    PAIRS = sizeof pairs / sizeof pairs[0]
};

static void
topic_is_written_and_read_back(void **state)
{
    (void)state;
    for (size_t i = 0; i < PAIRS; i++) {
        char text[TL_TOPIC_CAP];
        size_t len = 0;
        struct tl_topic topic = {0};
        assert_int_equal(tl_topic_write(&pairs[i].topic, text, sizeof text, &len), TL_OK);
        assert_string_equal(text, pairs[i].text);
        assert_int_equal(len, strlen(pairs[i].text));
        assert_int_equal(tl_topic_read(text, len, &topic), TL_OK);
        assert_int_equal(topic.kind, pairs[i].topic.kind);
        assert_string_equal(topic.publisher, pairs[i].topic.publisher);
        assert_string_equal(topic.addressee, pairs[i].topic.addressee);
    }
}

static void
topic_every_kind_is_in_the_table(void **state)
{
    (void)state;
    for (int kind = 1; kind < TL_TOPIC_KINDS; kind++) {
        size_t found = 0;
        for (size_t i = 0; i < PAIRS; i++) {
            found += pairs[i].topic.kind == (enum tl_topic_kind)kind;
        }
        assert_true(found > 0);
        assert_true(tl_frame_max((enum tl_topic_kind)kind) > 0);
    }
}

static void
topic_that_is_not_written_so_is_malformed(void **state)
{
    static const char *const rows[] = {
        "",
        "/",
        "beat",
        "beat/",
        "beat//",
        "beat/engine-3",
        "/beat/engine-3/",
        "beat/engine-3//",
        "beat/engine-3/deck/",
        "beat/Engine-3/",
        "beat/engine_3/",
        "beat/engine 3/",
        "beat/-engine/",
        "beat/engine-/",
        "beat/-/",
        "beat/m\xC3\xA2t/",
        ("beat/" LONGEST_ID "x/"),
        "Beat/engine-3/",
        "beats/engine-3/",
        "unknown/engine-3/",
        "receipt/validator-1/",
        "receipt/validator-1//",
        "receipt//engine-3/",
        "receipt/validator-1/engine-3",
        "receipt/validator-1/engine-3/x/",
        "recorded/recorder-1/",
        "verdict/validator-1/engine-3/",
        "bus/a/b/",
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_topic topic = {.kind = TL_TOPIC_BUS, .publisher = "untouched"};
        enum tl_err err = tl_topic_read(rows[i], strlen(rows[i]), &topic);
        if (err != TL_MALFORMED || strcmp(topic.publisher, "untouched") != 0) {
            fail_msg("'%s': %s, publisher '%s'", rows[i], tl_err_text(err), topic.publisher);
        }
    }
}

static void
topic_with_a_nul_inside_is_malformed(void **state)
{
    static const char text[] = "beat/en\0ine/";
    struct tl_topic topic;

    (void)state;
    assert_int_equal(tl_topic_read(text, sizeof text - 1, &topic), TL_MALFORMED);
}

static void
topic_length_counts_and_not_the_nul(void **state)
{
    struct tl_topic topic;

    (void)state;
    assert_int_equal(tl_topic_read("beat/deck/more", strlen("beat/deck/"), &topic), TL_OK);
    assert_int_equal(tl_topic_read("beat/deck/", strlen("beat/deck"), &topic), TL_MALFORMED);
}

struct bad_topic {
    const char *name;
    struct tl_topic topic;
};

static void
topic_that_cannot_be_said_is_a_bad_argument(void **state)
{
    static const struct bad_topic rows[] = {
        {"no kind", {TL_TOPIC_UNKNOWN, "deck", ""}},
        {"a kind past the last", {TL_TOPIC_KINDS, "deck", ""}},
        {"no publisher", {TL_TOPIC_BEAT, "", ""}},
        {"publisher in capitals", {TL_TOPIC_BEAT, "DECK", ""}},
        {"publisher with a slash", {TL_TOPIC_BEAT, "a/b", ""}},
        {"an addressee too many", {TL_TOPIC_BEAT, "deck", "deck"}},
        {"no addressee", {TL_TOPIC_RECEIPT, "validator-1", ""}},
        {"addressee not well formed", {TL_TOPIC_RECEIPT, "validator-1", "-"}},
    };
    struct tl_topic unended = {.kind = TL_TOPIC_BEAT};
    char text[TL_TOPIC_CAP] = "untouched";
    size_t len = 999;

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        enum tl_err err = tl_topic_write(&rows[i].topic, text, sizeof text, &len);
        if (err != TL_BADARG || strcmp(text, "untouched") != 0 || len != 999) {
            fail_msg("%s: %s", rows[i].name, tl_err_text(err));
        }
    }
    memset(unended.publisher, 'a', sizeof unended.publisher);
    assert_int_equal(tl_topic_write(&unended, text, sizeof text, &len), TL_BADARG);
}

static void
topic_needs_room_for_its_nul(void **state)
{
    char text[TL_TOPIC_CAP];
    size_t len = 0;

    (void)state;
    for (size_t i = 0; i < PAIRS; i++) {
        size_t size = strlen(pairs[i].text);
        assert_int_equal(tl_topic_write(&pairs[i].topic, text, size, &len), TL_FULL);
        assert_int_equal(tl_topic_write(&pairs[i].topic, text, size + 1, &len), TL_OK);
    }
}

struct name_row {
    const char *name;
    bool id;
    bool type;
};

static void
topic_ids_and_types_are_bounded(void **state)
{
    static const struct name_row rows[] = {
        {"", false, false},
        {"a", true, true},
        {"9", true, true},
        {"-", false, true},
        {"a-9", true, true},
        {"-a", false, true},
        {"a-", false, true},
        {"A", false, false},
        {"a.b", false, false},
        {"a\x1b", false, false},
        {"abcdefghijklmno", true, true},
        {"abcdefghijklmnop", true, false},
        {LONGEST_ID, true, false},
        {LONGEST_ID "x", false, false},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (tl_id_is_wellformed(rows[i].name) != rows[i].id ||
            tl_type_is_wellformed(rows[i].name) != rows[i].type) {
            fail_msg("'%s'", rows[i].name);
        }
    }
}

static void
topic_frames_have_the_limits_of_the_bus(void **state)
{
    (void)state;
    assert_int_equal(tl_frame_max(TL_TOPIC_BEAT), 4096);
    assert_int_equal(tl_frame_max(TL_TOPIC_CHANGE), 2048);
    assert_int_equal(tl_frame_max(TL_TOPIC_VERDICT), 512);
    assert_int_equal(tl_frame_max(TL_TOPIC_PICTURE), 32768);
    assert_int_equal(tl_frame_max(TL_TOPIC_ALERT), 32768);
    assert_int_equal(tl_frame_max(TL_TOPIC_RECEIPT), 2048);
    assert_int_equal(tl_frame_max(TL_TOPIC_JUDGED), 2048);
    assert_int_equal(tl_frame_max(TL_TOPIC_RECORDED), 32768);
    assert_int_equal(tl_frame_max(TL_TOPIC_BUS), 2048);
    assert_int_equal(tl_frame_max(TL_TOPIC_UNKNOWN), 0);
    assert_int_equal(tl_frame_max(TL_TOPIC_KINDS), 0);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(topic_is_written_and_read_back),
        cmocka_unit_test(topic_every_kind_is_in_the_table),
        cmocka_unit_test(topic_that_is_not_written_so_is_malformed),
        cmocka_unit_test(topic_with_a_nul_inside_is_malformed),
        cmocka_unit_test(topic_length_counts_and_not_the_nul),
        cmocka_unit_test(topic_that_cannot_be_said_is_a_bad_argument),
        cmocka_unit_test(topic_needs_room_for_its_nul),
        cmocka_unit_test(topic_ids_and_types_are_bounded),
        cmocka_unit_test(topic_frames_have_the_limits_of_the_bus),
    };
    return cmocka_run_group_tests_name("topic", tests, NULL, NULL);
}
