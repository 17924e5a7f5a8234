/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_zap - answers of the key handler, asked as libzmq asks
 *
 * Requests are those of ZeroMQ RFC 27/ZAP, section "The ZAP request and reply" (frames as listed
 * there: version, request id, domain, address, identity, mechanism, credentials).
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <zmq.h>

#include "broker/access/zap.h"
#include "tests/access/people.h"

enum {
    FRAMES_MAX = 12,
    REPLY_FRAMES = 6,
    TEXT_CAP = 300
};

struct room {
    void *ctx;
    void *req;
    struct tl_config *config;
    struct tl_access *table;
    struct tl_zap *zap;
};

struct piece {
    const void *bytes;
    size_t len;
};
struct reply {
    unsigned count;
    char frame[REPLY_FRAMES][TEXT_CAP];
};

static struct piece
text(const char *words)
{
    return (struct piece){words, strlen(words)};
}

static int
set_up(void **state)
{
    struct room *room = calloc(1, sizeof *room);
    char why[TL_TEXT_CAP];
    const int wait_ms = 5000;
    const int zero = 0;

    assert_non_null(room);
    room->config = people_config();
    people_add_key(room->config, "deck", 2, true);
    room->table = calloc(1, sizeof *room->table);
    assert_non_null(room->table);
    assert_int_equal(tl_access_build(room->config, room->table, why, sizeof why), TL_OK);
    room->ctx = zmq_ctx_new();
    assert_int_equal(tl_zap_open(room->ctx, room->table, &room->zap), TL_OK);
    room->req = zmq_socket(room->ctx, ZMQ_REQ);
    assert_int_equal(zmq_setsockopt(room->req, ZMQ_RCVTIMEO, &wait_ms, sizeof wait_ms), 0);
    assert_int_equal(zmq_setsockopt(room->req, ZMQ_LINGER, &zero, sizeof zero), 0);
    assert_int_equal(zmq_connect(room->req, TL_ZAP_ENDPOINT), 0);
    *state = room;
    return 0;
}

static int
tear_down(void **state)
{
    struct room *room = *state;

    (void)zmq_close(room->req);
    tl_zap_close(&room->zap);
    assert_null(room->zap);
    assert_int_equal(zmq_ctx_term(room->ctx), 0); /* hangs if a socket was left open */
    free(room->config);
    free(room->table);
    free(room);
    return 0;
}

static void
ask(struct room *room, const struct piece *frame, size_t count, struct reply *reply)
{
    int more = 1;
    size_t more_len = sizeof more;

    for (size_t i = 0; i < count; i++) {
        int flags = i + 1 < count ? ZMQ_SNDMORE : 0;
        assert_int_equal(zmq_send(room->req, frame[i].bytes, frame[i].len, flags), frame[i].len);
    }
    *reply = (struct reply){.count = 0};
    while (more) {
        char *to;
        int len;
        assert_in_range(reply->count, 0, REPLY_FRAMES - 1);
        to = reply->frame[reply->count++];
        len = zmq_recv(room->req, to, TEXT_CAP - 1, 0);
        assert_in_range(len, 0, TEXT_CAP - 1);
        to[len] = '\0';
        assert_int_equal(zmq_getsockopt(room->req, ZMQ_RCVMORE, &more, &more_len), 0);
    }
    assert_int_equal(reply->count, REPLY_FRAMES);
    assert_string_equal(reply->frame[0], "1.0");
}

static void
ask_with_key(struct room *room, const uint8_t key[TL_CURVE_KEY_LEN], struct reply *reply)
{
    const struct piece frames[] = {
        text("1.0"),   text("id-1"),           text("bus"), text("10.0.0.9"), text(""),
        text("CURVE"), {key, TL_CURVE_KEY_LEN}};

    ask(room, frames, 7, reply);
    assert_string_equal(reply->frame[1], "id-1");
    assert_string_equal(reply->frame[5], "");
}

static void
expect_answer(struct room *room, const char *node, uint32_t epoch, const char *code,
              const char *user_id)
{
    struct people_key key;
    struct reply reply;

    people_key(node, epoch, &key);
    ask_with_key(room, key.curve_public, &reply);
    assert_string_equal(reply.frame[2], code);
    assert_string_equal(reply.frame[4], user_id);
}

static void
a_listed_key_gets_its_user_id(void **state)
{
    struct room *room = *state;
    struct tl_zap_counters counters;

    for (size_t i = 0; i < PEOPLE_COUNT; i++) {
        char user_id[TL_USER_ID_CAP];
        (void)snprintf(user_id, sizeof user_id, "%s/1", PEOPLE_NODES[i].id);
        expect_answer(room, PEOPLE_NODES[i].id, 1, "200", user_id);
    }
    tl_zap_counters(room->zap, &counters);
    assert_int_equal(counters.accepted, PEOPLE_COUNT);
    assert_int_equal(counters.unknown + counters.revoked + counters.malformed, 0);
}

static void
an_unknown_key_is_told_that_it_is_not_listed(void **state)
{
    struct room *room = *state;
    struct tl_zap_counters counters;
    struct people_key key;

    people_key("stranger", 1, &key);
    expect_answer(room, "stranger", 1, "500", "");
    tl_zap_counters(room->zap, &counters);
    assert_int_equal(counters.unknown, 1);
    assert_memory_equal(counters.last_unknown_key, key.curve_public, TL_CURVE_KEY_LEN);
    assert_string_equal(counters.last_refused_address, "10.0.0.9");
}

static void
a_revoked_key_is_refused_for_good(void **state)
{
    struct room *room = *state;
    struct tl_zap_counters counters;

    expect_answer(room, "deck", 2, "400", "");
    tl_zap_counters(room->zap, &counters);
    assert_int_equal(counters.revoked, 1);
    assert_string_equal(counters.last_revoked_user, "deck/2");
}

static void
a_key_listed_later_is_accepted_from_then_on(void **state)
{
    struct room *room = *state;
    char why[TL_TEXT_CAP];

    expect_answer(room, "deck", 3, "500", "");
    people_add_key(room->config, "deck", 3, false);
    room->config->key[0].revoked = true; /* engine-1 */
    assert_int_equal(tl_access_build(room->config, room->table, why, sizeof why), TL_OK);
    assert_int_equal(tl_zap_update(room->zap, room->table), 0);
    expect_answer(room, "deck", 3, "200", "deck/3");
    expect_answer(room, "engine-1", 1, "400", "");
}

static void
the_probe_is_admitted_only_while_the_test_runs(void **state)
{
    struct room *room = *state;
    struct people_key key;

    people_key("stranger", 1, &key);
    tl_zap_admit_probe(room->zap, key.curve_public);
    expect_answer(room, "stranger", 1, "200", TL_ZAP_PROBE_ID);
    expect_answer(room, "stranger", 2, "500", "");
    tl_zap_refuse_probe(room->zap);
    expect_answer(room, "stranger", 1, "500", "");
}

static void
a_probe_with_a_listed_key_gets_no_other_name(void **state)
{
    struct room *room = *state;
    struct people_key key;

    people_key("deck", 2, &key); /* revoked */
    tl_zap_admit_probe(room->zap, key.curve_public);
    expect_answer(room, "deck", 2, "400", "");
}

/* ---- requests that are none ---- */

struct bad_request {
    const char *name;
    const char *code;
    size_t count;
    struct piece frame[FRAMES_MAX];
};

#define KEY32                                                                                      \
    {                                                                                              \
        "0123456789abcdef0123456789abcdef", 32                                                     \
    }
#define GOOD5                                                                                      \
    {"1.0", 3}, {"7", 1}, {"bus", 3}, {"10.0.0.9", 8},                                             \
    {                                                                                              \
        "", 0                                                                                      \
    }
#define LONG256                                                                                    \
    {                                                                                              \
        "0123456789012345678901234567890123456789012345678901234567890123456789012345678901234567" \
        "0123456789012345678901234567890123456789012345678901234567890123456789012345678901234567" \
        "01234567890123456789012345678901234567890123456789012345678901234567890123456789",        \
            256                                                                                    \
    }

static const struct bad_request BAD[] = {
    {"one empty frame", "500", 1, {{"", 0}}},
    {"version only", "500", 1, {{"1.0", 3}}},
    {"no mechanism", "500", 5, {GOOD5}},
    {"version 2",
     "500",
     7,
     {{"2.0", 3}, {"7", 1}, {"bus", 3}, {"", 0}, {"", 0}, {"CURVE", 5}, KEY32}},
    {"version with a NUL",
     "500",
     7,
     {{"1.0", 4}, {"7", 1}, {"bus", 3}, {"", 0}, {"", 0}, {"CURVE", 5}, KEY32}},
    {"other domain",
     "400",
     7,
     {{"1.0", 3}, {"7", 1}, {"bus2", 4}, {"", 0}, {"", 0}, {"CURVE", 5}, KEY32}},
    {"no domain", "400", 7, {{"1.0", 3}, {"7", 1}, {"", 0}, {"", 0}, {"", 0}, {"CURVE", 5}, KEY32}},
    {"NULL mechanism", "400", 6, {GOOD5, {"NULL", 4}}},
    {"PLAIN mechanism", "400", 8, {GOOD5, {"PLAIN", 5}, {"deck", 4}, {"x", 1}}},
    {"curve in lower case", "400", 7, {GOOD5, {"curve", 5}, KEY32}},
    {"CURVE without a key", "400", 6, {GOOD5, {"CURVE", 5}}},
    {"key of 31 bytes", "400", 7, {GOOD5, {"CURVE", 5}, {"0123456789abcdef0123456789abcde", 31}}},
    {"key of 33 bytes", "400", 7, {GOOD5, {"CURVE", 5}, {"0123456789abcdef0123456789abcdef0", 33}}},
    {"two keys", "400", 8, {GOOD5, {"CURVE", 5}, KEY32, KEY32}},
    {"twelve frames", "400", 12, {GOOD5, {"CURVE", 5}, KEY32, KEY32, KEY32, KEY32, KEY32, KEY32}},
    {"address of 256 bytes",
     "500",
     7,
     {{"1.0", 3}, {"7", 1}, {"bus", 3}, LONG256, {"", 0}, {"CURVE", 5}, KEY32}},
};

static void
what_is_no_request_is_refused_and_the_next_one_answered(void **state)
{
    struct room *room = *state;
    const size_t count = sizeof BAD / sizeof BAD[0];
    struct tl_zap_counters counters;

    for (size_t i = 0; i < count; i++) {
        struct reply reply;
        ask(room, BAD[i].frame, BAD[i].count, &reply);
        if (strcmp(reply.frame[2], BAD[i].code) != 0 || reply.frame[4][0] != '\0') {
            fail_msg("%s: %s '%s', not %s", BAD[i].name, reply.frame[2], reply.frame[4],
                     BAD[i].code);
        }
        expect_answer(room, "deck", 1, "200", "deck/1");
    }
    tl_zap_counters(room->zap, &counters);
    assert_int_equal(counters.malformed, count);
}

static void
an_address_is_made_plain(void **state)
{
    struct room *room = *state;
    struct people_key key;
    struct tl_zap_counters counters;
    struct reply reply;
    struct piece frames[] = {text("1.0"),
                             text("1"),
                             text("bus"),
                             text("\x1b]0;x\a\n"),
                             text(""),
                             text("CURVE"),
                             {key.curve_public, TL_CURVE_KEY_LEN}};

    people_key("stranger", 1, &key);
    ask(room, frames, 7, &reply);
    assert_string_equal(reply.frame[2], "500");
    tl_zap_counters(room->zap, &counters);
    assert_string_equal(counters.last_refused_address, "?]0;x??");
}

static void
a_second_handler_in_a_context_is_refused(void **state)
{
    struct room *room = *state;
    struct tl_zap *second = NULL;

    assert_int_equal(tl_zap_open(room->ctx, room->table, &second), TL_EXISTS);
    assert_null(second);
    expect_answer(room, "deck", 1, "200", "deck/1");
}

static void
closing_nothing_is_allowed(void **state)
{
    struct tl_zap *none = NULL;

    (void)state;
    tl_zap_close(&none);
    assert_null(none);
}

static void
a_handler_can_be_closed_after_its_context_was_shut_down(void **state)
{
    struct room *room = *state;

    assert_int_equal(zmq_ctx_shutdown(room->ctx), 0);
    tl_zap_close(&room->zap);
    assert_null(room->zap);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_listed_key_gets_its_user_id, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_unknown_key_is_told_that_it_is_not_listed, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(a_revoked_key_is_refused_for_good, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_key_listed_later_is_accepted_from_then_on, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(the_probe_is_admitted_only_while_the_test_runs, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(a_probe_with_a_listed_key_gets_no_other_name, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(what_is_no_request_is_refused_and_the_next_one_answered,
                                        set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_address_is_made_plain, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_second_handler_in_a_context_is_refused, set_up,
                                        tear_down),
        cmocka_unit_test(closing_nothing_is_allowed),
        cmocka_unit_test_setup_teardown(a_handler_can_be_closed_after_its_context_was_shut_down,
                                        set_up, tear_down),
    };

    return cmocka_run_group_tests_name("zap", tests, NULL, NULL);
}
