/* SPDX-License-Identifier: Apache-2.0 */
/* test_access - the authority table: who may publish what, and under which id. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/access/people.h"

struct room {
    struct tl_config *config;
    struct tl_access *table;
};

static void
build(struct room *room)
{
    char why[TL_TEXT_CAP] = "";

    assert_int_equal(tl_access_build(room->config, room->table, why, sizeof why), TL_OK);
}

static int
set_up(void **state)
{
    struct room *room = calloc(1, sizeof *room);

    assert_non_null(room);
    room->config = people_config();
    room->table = calloc(1, sizeof *room->table);
    assert_non_null(room->table);
    build(room);
    *state = room;
    return 0;
}

static int
tear_down(void **state)
{
    struct room *room = *state;

    free(room->config);
    free(room->table);
    free(room);
    return 0;
}

/* Which kinds each kind of node may publish, written down anew: b c v p a r j d u, in schema order. */
static const char *
allowed_kinds(const struct tl_node *node)
{
    switch (node->kind) {
    case TL_NODE_STATION:
        return "bc";
    case TL_NODE_VALIDATOR:
        return "vparj";
    case TL_NODE_RECORDER:
        return "bd";
    case TL_NODE_RELAY:
        return "u";
    case TL_NODE_VIEWER:
        return "b";
    case TL_NODE_UNKNOWN:
        break;
    }
    return "";
}

static bool
is_allowed(const struct tl_node *node, const struct tl_topic *topic)
{
    static const char LETTER[TL_TOPIC_KINDS] = {'?', 'b', 'c', 'v', 'p', 'a', 'r', 'j', 'd', 'u'};

    return strcmp(node->id, topic->publisher) == 0 &&
           strchr(allowed_kinds(node), LETTER[topic->kind]) != NULL;
}

static void
/* NOLINTNEXTLINE(readability-function-size): three loops are the matrix */
each_node_publishes_its_own_kinds_under_its_own_name_only(void **state)
{
    struct room *room = *state;
    unsigned allowed = 0;

    for (size_t n = 0; n < PEOPLE_COUNT; n++) {
        for (size_t p = 0; p < PEOPLE_COUNT; p++) {
            for (int kind = 0; kind < TL_TOPIC_KINDS; kind++) {
                const struct tl_node *node = &PEOPLE_NODES[n];
                struct tl_topic topic = {.kind = (enum tl_topic_kind)kind};
                char user_id[TL_USER_ID_CAP];
                enum tl_refusal expected;
                (void)snprintf(topic.publisher, sizeof topic.publisher, "%s", PEOPLE_NODES[p].id);
                (void)snprintf(user_id, sizeof user_id, "%s/1", node->id);
                expected =
                    is_allowed(node, &topic) ? TL_REFUSAL_UNKNOWN : TL_REFUSAL_NOT_YOUR_TOPIC;
                if (tl_access_check(room->table, user_id, &topic) != expected) {
                    fail_msg("%s on kind %d of %s: not %s", user_id, kind, topic.publisher,
                             tl_refusal_name(expected));
                }
                allowed += expected == TL_REFUSAL_UNKNOWN ? 1U : 0U;
            }
        }
    }
    /* 7 stations x 2, 2 validators x 5, recorder 2, 2 brokers x 1, viewer 1 */
    assert_int_equal(allowed, 29);
}

static void
only_an_exact_user_id_is_accepted(void **state)
{
    static const char *const WRONG[] = {
        "",           "deck",
        "deck/",      "deck/2",
        "deck/11",    "deck/1/",
        " deck/1",    "deck/1 ",
        "Deck/1",     "deck/01",
        "deck/+1",    "deck/1\n",
        "dec",        "deck/4294967297",
        "/1",         "self-test/0",
        "deck/0",     "admin",
        "deck/1\xc3", "zzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzzz/1",
    };
    struct room *room = *state;
    struct tl_topic topic = {.kind = TL_TOPIC_BEAT, .publisher = "deck"};

    assert_int_equal(tl_access_check(room->table, "deck/1", &topic), TL_REFUSAL_UNKNOWN);
    assert_int_equal(tl_access_check(room->table, NULL, &topic), TL_REFUSAL_UNKNOWN_USER);
    for (size_t i = 0; i < sizeof WRONG / sizeof WRONG[0]; i++) {
        if (tl_access_check(room->table, WRONG[i], &topic) != TL_REFUSAL_UNKNOWN_USER) {
            fail_msg("accepted '%s'", WRONG[i]);
        }
    }
}

static void
a_revoked_epoch_is_refused_and_the_next_one_is_not(void **state)
{
    struct room *room = *state;
    struct tl_topic topic = {.kind = TL_TOPIC_BEAT, .publisher = "deck"};

    people_add_key(room->config, "deck", 2, true);
    people_add_key(room->config, "deck", 3, false);
    build(room);
    assert_int_equal(tl_access_check(room->table, "deck/1", &topic), TL_REFUSAL_UNKNOWN);
    assert_int_equal(tl_access_check(room->table, "deck/2", &topic), TL_REFUSAL_REVOKED);
    assert_int_equal(tl_access_check(room->table, "deck/3", &topic), TL_REFUSAL_UNKNOWN);
}

static void
every_listed_key_is_found_by_its_curve_half(void **state)
{
    struct room *room = *state;
    struct people_key stranger;

    for (size_t i = 0; i < PEOPLE_COUNT; i++) {
        struct people_key key;
        const struct tl_access_row *row;
        people_key(PEOPLE_NODES[i].id, 1, &key);
        row = tl_access_by_key(room->table, key.curve_public);
        assert_non_null(row);
        assert_string_equal(row->node.id, PEOPLE_NODES[i].id);
    }
    people_key("stranger", 1, &stranger);
    assert_null(tl_access_by_key(room->table, stranger.curve_public));
}

static void
a_full_table_finds_every_id(void **state)
{
    struct room *room = *state;

    room->config->key_count = 0;
    for (uint32_t epoch = TL_KEYS_MAX; epoch >= 1; epoch--) {
        people_add_key(room->config, "deck", epoch, false);
    }
    build(room);
    for (uint32_t epoch = 1; epoch <= TL_KEYS_MAX; epoch++) {
        char user_id[TL_USER_ID_CAP];
        (void)snprintf(user_id, sizeof user_id, "deck/%u", (unsigned)epoch);
        assert_non_null(tl_access_by_user(room->table, user_id));
    }
}

static void
an_empty_table_knows_nobody(void **state)
{
    struct room *room = *state;
    struct tl_topic topic = {.kind = TL_TOPIC_BEAT, .publisher = "deck"};

    room->config->key_count = 0;
    build(room);
    assert_int_equal(tl_access_check(room->table, "deck/1", &topic), TL_REFUSAL_UNKNOWN_USER);
}

/* ---- keys that cannot be used ---- */

static void
expect_no_table(struct room *room, const char *expected_why)
{
    char why[TL_TEXT_CAP] = "";
    struct tl_access before = *room->table;

    assert_int_equal(tl_access_build(room->config, room->table, why, sizeof why), TL_CONFIG);
    assert_string_equal(why, expected_why);
    assert_memory_equal(room->table, &before, sizeof before);
}

static void
a_key_of_no_node_is_refused(void **state)
{
    struct room *room = *state;

    people_add_key(room->config, "nobody", 7, false);
    expect_no_table(room, "key nobody, epoch 7: no node has that name");
}

static void
an_identity_that_is_no_point_is_refused(void **state)
{
    struct room *room = *state;

    people_add_key(room->config, "deck", 2, false);
    memset(room->config->key[room->config->key_count - 1].identity, 0, 32); /* small order */
    expect_no_table(room, "key deck/2: its identity is not a usable public key");
}

static void
a_key_and_its_negative_are_refused_together(void **state)
{
    struct room *room = *state;

    /* The top bit of an Ed25519 key is the sign of x (RFC 8032 5.1.2); u does not depend on it. */
    people_add_key(room->config, "deck", 1, false);
    room->config->key[room->config->key_count - 1].epoch = 2;
    room->config->key[room->config->key_count - 1].identity[31] ^= 0x80;
    expect_no_table(room, "key deck/2: the same CURVE key as deck/1");
}

static void
two_keys_under_one_user_id_are_refused(void **state)
{
    struct room *room = *state;

    people_add_key(room->config, "deck", 2, false);
    room->config->key[room->config->key_count - 1].epoch = 1;
    expect_no_table(room, "key deck/1: listed twice");
}

/* ---- replacing a table ---- */

static void
an_update_takes_new_keys_and_revocations(void **state)
{
    struct room *room = *state;
    struct tl_access in_use = *room->table;
    struct tl_topic topic = {.kind = TL_TOPIC_BEAT, .publisher = "deck"};

    room->config->key[2].revoked = true; /* deck */
    people_add_key(room->config, "deck", 2, false);
    build(room);
    assert_int_equal(tl_access_update(&in_use, room->table), 0);
    assert_int_equal(tl_access_check(&in_use, "deck/1", &topic), TL_REFUSAL_REVOKED);
    assert_int_equal(tl_access_check(&in_use, "deck/2", &topic), TL_REFUSAL_UNKNOWN);
}

static void
an_epoch_used_for_another_key_stays_revoked(void **state)
{
    struct room *room = *state;
    struct tl_access in_use = *room->table;
    struct tl_topic topic = {.kind = TL_TOPIC_BEAT, .publisher = "deck"};
    struct people_key other;

    people_key("deck", 9, &other);
    memcpy(room->config->key[2].identity, other.identity, sizeof other.identity);
    build(room);
    for (int again = 0; again < 3; again++) {
        assert_int_equal(tl_access_update(&in_use, room->table), 1);
        assert_int_equal(tl_access_check(&in_use, "deck/1", &topic), TL_REFUSAL_REVOKED);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(each_node_publishes_its_own_kinds_under_its_own_name_only,
                                        set_up, tear_down),
        cmocka_unit_test_setup_teardown(only_an_exact_user_id_is_accepted, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_revoked_epoch_is_refused_and_the_next_one_is_not, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(every_listed_key_is_found_by_its_curve_half, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(a_full_table_finds_every_id, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_empty_table_knows_nobody, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_key_of_no_node_is_refused, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_identity_that_is_no_point_is_refused, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_key_and_its_negative_are_refused_together, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(two_keys_under_one_user_id_are_refused, set_up, tear_down),
        cmocka_unit_test_setup_teardown(an_update_takes_new_keys_and_revocations, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(an_epoch_used_for_another_key_stays_revoked, set_up,
                                        tear_down),
    };

    return cmocka_run_group_tests_name("access", tests, NULL, NULL);
}
