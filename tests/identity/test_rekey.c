/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_rekey - the line that a program says when it has read its list of keys again
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "proto/link/rekey.h"

struct room {
    struct tl_config config;
    struct tl_rekey before;
    struct tl_identity own; /* deck, epoch 1 */
    char text[TL_REKEY_CAP];
};

static struct tl_key *
add(struct room *room, const char *node, uint32_t epoch)
{
    struct tl_key *key = &room->config.key[room->config.key_count++];

    memset(key, 0, sizeof *key);
    (void)snprintf(key->node, sizeof key->node, "%s", node);
    key->epoch = epoch;
    key->identity[0] = (uint8_t)room->config.key_count;
    return key;
}

static int
set_up(void **state)
{
    struct room *room = calloc(1, sizeof *room);

    assert_non_null(room);
    memcpy(room->own.identity, add(room, "deck", 1)->identity, sizeof room->own.identity);
    (void)add(room, "bridge", 1);
    (void)add(room, "bus-a", 3);
    (void)snprintf(room->own.node, sizeof room->own.node, "deck");
    room->own.epoch = 1;
    tl_rekey_keep(&room->before, &room->config);
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
expect(struct room *room, const char *want)
{
    assert_string_equal(tl_rekey_text(&room->before, &room->config, &room->own, room->text), want);
}

static void
rekey_without_a_change_says_so(void **state)
{
    expect(*state, "keys.yaml read again: 3 keys, 0 revoked; as before");
}

static void
rekey_names_each_change(void **state)
{
    struct room *room = *state;

    (void)add(room, "bridge", 2);
    add(room, "bus-a", 4)->revoked = true;
    room->config.key[1].revoked = true;
    room->config.key[2].identity[31] = 9;
    expect(room,
           "keys.yaml read again: 5 keys, 2 revoked; bridge 1 revoked; bus-a 3 IS ANOTHER KEY "
           "NOW; bridge 2 new; bus-a 4 new, revoked");
    tl_rekey_keep(&room->before, &room->config);
    room->config.key[1].revoked = false;
    room->config.key_count = 3;
    expect(room, "keys.yaml read again: 3 keys, 0 revoked; bridge 1 no longer revoked; bridge 2 "
                 "gone; bus-a 4 gone");
}

static void
rekey_says_what_it_means_for_the_program_itself(void **state)
{
    struct room *room = *state;

    assert_true(tl_rekey_believed(&room->config, &room->own));
    (void)add(room, "deck", 2);
    expect(room, "keys.yaml read again: 4 keys, 0 revoked; deck 2 new; this program runs with deck "
                 "1, and with 2 when started again");
    room->config.key[0].revoked = true;
    assert_false(tl_rekey_believed(&room->config, &room->own));
    expect(room, "keys.yaml read again: 4 keys, 1 revoked; deck 1 revoked; deck 2 new; THE KEY OF "
                 "THIS PROGRAM, deck 1, IS NOT BELIEVED ANY MORE: bring its next secret to this "
                 "host and start it again");
    room->config.key[0].revoked = false;
    room->config.key[0].identity[4] ^= 1;
    assert_false(tl_rekey_believed(&room->config, &room->own));
    memcpy(room->config.key[0].node, "deckx", 6);
    assert_false(tl_rekey_believed(&room->config, &room->own));
}

static void
rekey_of_the_largest_list_fits_its_line(void **state)
{
    struct room *room = *state;
    char node[TL_ID_CAP];

    for (uint32_t i = 3; i < TL_KEYS_MAX; i++) {
        (void)snprintf(node, sizeof node, "abcdefghijklmnopqrs-%03u", i);
        add(room, node, 999999)->revoked = true;
    }
    room->config.key[0].revoked = true;
    (void)tl_rekey_text(&room->before, &room->config, &room->own, room->text);
    assert_true(strlen(room->text) < TL_REKEY_CAP - 1);
    assert_non_null(strstr(room->text, "; and 502 more; THE KEY OF THIS PROGRAM"));
    assert_non_null(strstr(room->text, "start it again"));
    tl_rekey_put_back(&room->before, &room->config);
    expect(room, "keys.yaml read again: 3 keys, 0 revoked; as before");
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(rekey_without_a_change_says_so),
        TEST(rekey_names_each_change),
        TEST(rekey_says_what_it_means_for_the_program_itself),
        TEST(rekey_of_the_largest_list_fits_its_line),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
