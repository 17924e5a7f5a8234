/* SPDX-License-Identifier: Apache-2.0 */
/* test_check - which frames may pass, by number of frames, topic, size and key; and the options. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "broker/relay/check.h"
#include "broker/relay/options.h"
#include "proto/codec/codec.h"
#include "tests/access/people.h"

struct room {
    struct tl_config *config;
    struct tl_access *table;
    uint8_t *bytes; /* TL_INGRESS-sized and more */
};

enum {
    BYTES = 100000,
    SMALL = 200
};

static int
set_up(void **state)
{
    struct room *room = calloc(1, sizeof *room);
    char why[TL_TEXT_CAP];

    assert_non_null(room);
    room->config = people_config();
    people_add_key(room->config, "deck", 2, true);
    room->table = calloc(1, sizeof *room->table);
    room->bytes = malloc(BYTES);
    assert_non_null(room->table);
    assert_non_null(room->bytes);
    assert_int_equal(tl_access_build(room->config, room->table, why, sizeof why), TL_OK);
    *state = room;
    return 0;
}

static int
tear_down(void **state)
{
    struct room *room = *state;

    free(room->config);
    free(room->table);
    free(room->bytes);
    free(room);
    return 0;
}

struct row {
    const char *name;
    const char *user_id;
    const char *topic;
    size_t len; /* of the whole frame */
    bool not_alone;
    bool no_nul;
    enum tl_refusal expected;
};

static const struct row ROWS[] = {
    {"own beat", "deck/1", "beat/deck/", SMALL, .expected = TL_REFUSAL_UNKNOWN},
    {"own change", "engine-2/1", "change/engine-2/", SMALL, .expected = TL_REFUSAL_UNKNOWN},
    {"receipt", "validator-1/1", "receipt/validator-1/deck/", SMALL,
     .expected = TL_REFUSAL_UNKNOWN},
    {"largest beat", "deck/1", "beat/deck/", 4096, .expected = TL_REFUSAL_UNKNOWN},
    {"beat one byte too large", "deck/1", "beat/deck/", 4097, .expected = TL_REFUSAL_OVERSIZE},
    {"largest change", "deck/1", "change/deck/", 2048, .expected = TL_REFUSAL_UNKNOWN},
    {"change too large", "deck/1", "change/deck/", 2049, .expected = TL_REFUSAL_OVERSIZE},
    {"largest verdict", "validator-1/1", "verdict/validator-1/", 512,
     .expected = TL_REFUSAL_UNKNOWN},
    {"verdict too large", "validator-1/1", "verdict/validator-1/", 513,
     .expected = TL_REFUSAL_OVERSIZE},
    {"largest picture", "validator-1/1", "picture/validator-1/", 32768,
     .expected = TL_REFUSAL_UNKNOWN},
    {"picture too large", "validator-1/1", "picture/validator-1/", 32769,
     .expected = TL_REFUSAL_OVERSIZE},
    {"beyond every kind", "deck/1", "beat/deck/", 65536, .expected = TL_REFUSAL_OVERSIZE},
    {"two frames", "deck/1", "beat/deck/", SMALL, .not_alone = true, .expected = TL_REFUSAL_FRAMES},
    {"no NUL", "deck/1", "beat/deck/", SMALL, .no_nul = true, .expected = TL_REFUSAL_NO_TOPIC},
    {"NUL first", "deck/1", "", SMALL, .expected = TL_REFUSAL_NO_TOPIC},
    {"empty frame", "deck/1", "", 0, .expected = TL_REFUSAL_NO_TOPIC},
    {"no signature", "deck/1", "beat/deck/", 11, .expected = TL_REFUSAL_TRUNCATED},
    {"half a signature", "deck/1", "beat/deck/", 11 + 63, .expected = TL_REFUSAL_TRUNCATED},
    {"no envelope", "deck/1", "beat/deck/", 11 + 64, .expected = TL_REFUSAL_EMPTY},
    {"one byte of envelope", "deck/1", "beat/deck/", 11 + 65, .expected = TL_REFUSAL_UNKNOWN},
    {"unknown kind", "deck/1", "shout/deck/", SMALL, .expected = TL_REFUSAL_NOT_YOUR_TOPIC},
    {"no slash at the end", "deck/1", "beat/deck", SMALL, .expected = TL_REFUSAL_NOT_YOUR_TOPIC},
    {"a level too many", "deck/1", "beat/deck/deck/", SMALL, .expected = TL_REFUSAL_NOT_YOUR_TOPIC},
    {"capital letters", "deck/1", "BEAT/deck/", SMALL, .expected = TL_REFUSAL_NOT_YOUR_TOPIC},
    {"another's beat", "deck/1", "beat/bridge/", SMALL, .expected = TL_REFUSAL_NOT_YOUR_TOPIC},
    {"a longer name", "deck/1", "beat/deck-1/", SMALL, .expected = TL_REFUSAL_NOT_YOUR_TOPIC},
    {"a shorter name", "engine-1/1", "beat/engine-/", SMALL, .expected = TL_REFUSAL_NOT_YOUR_TOPIC},
    {"a verdict from a station", "deck/1", "verdict/deck/", SMALL,
     .expected = TL_REFUSAL_NOT_YOUR_TOPIC},
    {"bus counters from a station", "deck/1", "bus/bus-a/", SMALL,
     .expected = TL_REFUSAL_NOT_YOUR_TOPIC},
    {"a change from a viewer", "viewer/1", "change/viewer/", SMALL,
     .expected = TL_REFUSAL_NOT_YOUR_TOPIC},
    {"no user id", NULL, "beat/deck/", SMALL, .expected = TL_REFUSAL_UNKNOWN_USER},
    {"empty user id", "", "beat/deck/", SMALL, .expected = TL_REFUSAL_UNKNOWN_USER},
    {"user id in no table", "deck/7", "beat/deck/", SMALL, .expected = TL_REFUSAL_UNKNOWN_USER},
    {"the self-test's", "self-test/0", "beat/deck/", SMALL, .expected = TL_REFUSAL_UNKNOWN_USER},
    {"revoked", "deck/2", "beat/deck/", SMALL, .expected = TL_REFUSAL_REVOKED},
};

static void
each_frame_passes_or_is_refused_for_its_reason(void **state)
{
    struct room *room = *state;

    for (size_t i = 0; i < sizeof ROWS / sizeof ROWS[0]; i++) {
        const struct row *row = &ROWS[i];
        const struct tl_relay_frame frame = {.bytes = room->bytes,
                                             .len = row->len,
                                             .alone = !row->not_alone,
                                             .user_id = row->user_id};
        enum tl_topic_kind kind = TL_TOPIC_BUS;
        enum tl_refusal got;
        memset(room->bytes, 'x', BYTES);
        memcpy(room->bytes, row->topic, strlen(row->topic) + (row->no_nul ? 0U : 1U));
        got = tl_relay_check(room->table, &frame, &kind);
        const char *word = got == TL_REFUSAL_UNKNOWN ? row->topic : "/";
        assert_int_equal(strcspn(word, "/"), strlen(tl_topic_word(kind)));
        assert_memory_equal(word, tl_topic_word(kind), strcspn(word, "/"));
        if (got != row->expected) {
            fail_msg("%s: %s, not %s", row->name, tl_refusal_name(got),
                     tl_refusal_name(row->expected));
        }
    }
}

static void
a_frame_of_one_byte_less_memory_is_not_read_beyond_its_end(void **state)
{
    struct room *room = *state;

    /* Exact heap blocks, so that the sanitizers see a read past the end. */
    for (size_t len = 1; len < 100; len++) {
        uint8_t *exact = malloc(len);
        const struct tl_relay_frame frame = {
            .bytes = exact, .len = len, .alone = true, .user_id = "deck/1"};
        char text[TL_TOPIC_CAP];
        assert_non_null(exact);
        memset(exact, 'x', len);
        enum tl_topic_kind kind = TL_TOPIC_BUS;
        assert_int_equal(tl_relay_check(room->table, &frame, &kind), TL_REFUSAL_NO_TOPIC);
        tl_relay_topic_text(&frame, text);
        assert_int_equal(strlen(text), len < TL_TOPIC_CAP - 1 ? len : TL_TOPIC_CAP - 1);
        free(exact);
    }
}

static void
a_topic_is_shown_as_printable_ascii_only(void **state)
{
    static const uint8_t BYTES_IN[] = "change/\x1b[2J\n\x7f\x80\xc3\xa9~ /\0rest";
    const struct tl_relay_frame frame = {.bytes = BYTES_IN, .len = sizeof BYTES_IN};
    char text[TL_TOPIC_CAP];

    (void)state;
    tl_relay_topic_text(&frame, text);
    assert_string_equal(text, "change/?[2J?????~ /");
}

static void
subscriptions_are_counted_and_nothing_else_is_one(void **state)
{
    static const struct {
        const char *name;
        uint8_t bytes[8];
        size_t len;
        uint64_t before;
        bool is_one;
        uint64_t after;
    } rows[] = {
        {"subscribe to all", {1}, 1, 0, true, 1},
        {"subscribe", {1, 'b'}, 2, 7, true, 8},
        {"unsubscribe", {0, 'b'}, 2, 7, true, 6},
        {"unsubscribe what never was", {0, 'b'}, 2, 0, true, 0},
        {"nothing", {0}, 0, 7, false, 7},
        {"2", {2, 'b'}, 2, 7, false, 7},
        {"a topic", {'b', 'e', 'a', 't', '/'}, 5, 7, false, 7},
        {"255", {255}, 1, 0, false, 0},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct tl_relay_frame frame = {.bytes = rows[i].bytes, .len = rows[i].len};
        uint64_t count = rows[i].before;
        if (tl_relay_subscribes(&frame, &count) != rows[i].is_one || count != rows[i].after) {
            fail_msg("%s: %llu", rows[i].name, (unsigned long long)count);
        }
    }
}

/* ---- options ---- */

struct args_row {
    const char *name;
    const char *args[8];
    enum tl_err err;
    const char *why;
};

static const struct args_row ARGS[] = {
    {"all that is needed", {"-C", "x", "--bus", "bus-a"}, TL_OK, ""},
    {"in another order", {"--bus=bus-a", "-n", "-Cx"}, TL_OK, ""},
    {"with a higher number",
     {"-C", "x", "--bus", "b", "--incarnation-above", "18446744073709551615"},
     TL_OK,
     ""},
    {"nothing", {NULL}, TL_BADARG, "-C DIR is missing: name the configuration folder"},
    {"no bus", {"-C", "x"}, TL_BADARG, "--bus ID is missing: name the bus to run"},
    {"no value", {"-C"}, TL_BADARG, "an option lacks its value"},
    {"unknown", {"-C", "x", "--bus", "b", "--fast"}, TL_BADARG, "no such option"},
    {"a word", {"-C", "x", "--bus", "b", "go\x1b"}, TL_BADARG, "go?: not an option"},
    {"too large a number",
     {"-C", "x", "--bus", "b", "--incarnation-above", "18446744073709551616"},
     TL_BADARG,
     "18446744073709551616: --incarnation-above needs a whole number"},
    {"a signed number",
     {"-C", "x", "--bus", "b", "--incarnation-above", "-1"},
     TL_BADARG,
     "-1: --incarnation-above needs a whole number"},
    {"a number and more",
     {"-C", "x", "--bus", "b", "--incarnation-above", "1x"},
     TL_BADARG,
     "1x: --incarnation-above needs a whole number"},
    {"no number",
     {"-C", "x", "--bus", "b", "--incarnation-above", ""},
     TL_BADARG,
     "--incarnation-above needs a whole number"},
};

static enum tl_err
read_args(const char *const *args, struct tl_relay_options *options, char why[TL_TEXT_CAP])
{
    char *argv[16];
    char text[16][32];
    int argc = 0;

    (void)snprintf(text[0], sizeof text[0], "trapline-broker");
    argv[argc++] = text[0];
    for (int i = 0; i < 8 && args[i] != NULL; i++) {
        (void)snprintf(text[argc], sizeof text[argc], "%s", args[i]);
        argv[argc] = text[argc];
        argc++;
    }
    argv[argc] = NULL;
    return tl_relay_options_read(argc, argv, options, why);
}

static void
each_command_line_is_taken_or_refused_with_its_reason(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof ARGS / sizeof ARGS[0]; i++) {
        struct tl_relay_options options;
        char why[TL_TEXT_CAP] = "";
        char expected[TL_TEXT_CAP] = "";
        enum tl_err err = read_args(ARGS[i].args, &options, why);
        if (ARGS[i].err != TL_OK) {
            (void)snprintf(expected, sizeof expected, "%s; see trapline-broker --help",
                           ARGS[i].why);
        }
        if (err != ARGS[i].err || strcmp(why, expected) != 0) {
            fail_msg("%s: '%s', not '%s'", ARGS[i].name, why, expected);
        }
    }
}

static void
options_have_the_values_given(void **state)
{
    static const char *const GIVEN[] = {
        "-n", "--incarnation-above", "18446744073709551615", "--bus=bus-a", "-Cx", NULL};
    static const char *const HELP[] = {"--help", "--nonsense", NULL};
    struct tl_relay_options options;
    char why[TL_TEXT_CAP];

    (void)state;
    assert_int_equal(read_args(GIVEN, &options, why), TL_OK);
    assert_true(options.check_only);
    assert_false(options.help);
    assert_true(options.incarnation_above == UINT64_MAX);
    assert_int_equal(read_args(HELP, &options, why), TL_OK);
    assert_true(options.help);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(each_frame_passes_or_is_refused_for_its_reason, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(a_frame_of_one_byte_less_memory_is_not_read_beyond_its_end,
                                        set_up, tear_down),
        cmocka_unit_test(a_topic_is_shown_as_printable_ascii_only),
        cmocka_unit_test(subscriptions_are_counted_and_nothing_else_is_one),
        cmocka_unit_test(each_command_line_is_taken_or_refused_with_its_reason),
        cmocka_unit_test(options_have_the_values_given),
    };

    return cmocka_run_group_tests_name("check", tests, NULL, NULL);
}
