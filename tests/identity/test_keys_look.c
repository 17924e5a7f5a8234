/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_keys_look - what `trapline keys show` and `trapline keys check` see, and what they call wrong
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>
#include <jansson.h>

#include "clients/tools/keys.h"
#include "proto/base/file.h"
#include "tests/conf/folder.h"
#include "tests/identity/tool.h"

#define OTHER_USER 65534U

enum {
    TEXT_CAP = 16384
};

struct room {
    struct folder folder; /* good, with the secrets of all of its nodes */
    struct tool tool;
    char list[TEXT_CAP];
};

static void
run(struct room *room, const char *const *more)
{
    const char *words[TOOL_WORDS_MAX] = {"keys", more[0], "-C", room->folder.dir};
    for (size_t i = 1; more[i] != NULL; i++) {
        words[3 + i] = more[i];
    }
    tool_run(&room->tool, tl_keys_main, words);
}

/* RUN(room, "check", "--json") */
#define RUN(room, ...) run(room, (const char *const[]){__VA_ARGS__, NULL})

static int
set_up(void **state)
{
    struct room *room = calloc(1, sizeof *room);

    assert_non_null(room);
    folder_make(&room->folder);
    folder_put(&room->folder, "keys.yaml", NULL, 0);
    RUN(room, "new", "--all");
    assert_int_equal(room->tool.code, 0);
    *state = room;
    return 0;
}

static int
tear_down(void **state)
{
    struct room *room = *state;

    folder_remove(&room->folder);
    free(room);
    return 0;
}

static void
path_of(const struct room *room, const char *name, char path[FOLDER_PATH_CAP])
{
    (void)snprintf(path, FOLDER_PATH_CAP, "%s/%s", room->folder.dir, name);
}

static void
set_mode(const struct room *room, const char *name, mode_t mode)
{
    char path[FOLDER_PATH_CAP];

    path_of(room, name, path);
    assert_int_equal(chmod(path, mode), 0);
}

static const char *
read_list(struct room *room)
{
    char path[FOLDER_PATH_CAP];
    size_t len = 0;

    path_of(room, "keys.yaml", path);
    assert_int_equal(tl_file_read(path, sizeof room->list - 1, room->list, &len), TL_OK);
    room->list[len] = '\0';
    return room->list;
}

/* The check ends with that code, says that, and counts so many problems. */
static void
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): code before count, as it is read */
expect_found(struct room *room, int code, unsigned problems, const char *word)
{
    char last[32];

    RUN(room, "check");
    (void)snprintf(last, sizeof last, "\n%u problem", problems);
    bool counted = problems == 0 ? strstr(room->tool.out, "keys OK: ") != NULL
                                 : strstr(room->tool.out, last) != NULL;
    if (room->tool.code != code || !counted || strstr(room->tool.out, word) == NULL) {
        fail_msg("want %d, %u, ...%s..., got %d %s%s", code, problems, word, room->tool.code,
                 room->tool.out, room->tool.err);
    }
}

/*
 * BLAKE2b of RFC 7693 with 16 bytes of output, over the public half of RFC 8032 section 7.1, TEST 1:
 *     printf '%s' 'deck 1 d75a...511a' | b2sum -l 128
 */
static void
show_has_the_fingerprint_that_another_program_computes(void **state)
{
    struct room *room = *state;
    static const char list[] =
        "keys:\n  - {node: deck, epoch: 1, identity: "
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a, revoked: false}\n";

    folder_put(&room->folder, "keys.yaml", list, sizeof list - 1);
    RUN(room, "show", "deck");
    assert_non_null(
        strstr(room->tool.out, "fingerprint  8983 007f 2371 8014 96ec 1129 593f a47a\n"));
    /* The secret on this host is of the key that was made before. */
    assert_int_equal(room->tool.code, 1);
    assert_non_null(strstr(room->tool.out, "cannot be used, mode 0600"));
    assert_non_null(strstr(room->tool.out, "is not the secret of the key that keys.yaml has"));
}

static void
show_says_of_each_epoch_how_it_stands(void **state)
{
    struct room *room = *state;

    RUN(room, "show", "deck");
    assert_int_equal(room->tool.code, 0);
    assert_int_equal(strncmp(room->tool.out, "deck: deck, 1 key in use\n", 25), 0);
    assert_non_null(strstr(room->tool.out, "epoch 1, in use"));
    assert_non_null(strstr(room->tool.out, "secret       good, mode 0600"));
    assert_non_null(strstr(room->tool.out, "/identity/deck.1.key\n"));
    RUN(room, "rotate", "deck");
    RUN(room, "revoke", "deck", "1");
    folder_put(&room->folder, "identity/deck.1.key", NULL, 0);
    RUN(room, "show", "deck");
    assert_int_equal(room->tool.code, 0);
    const char *old = strstr(room->tool.out, "epoch 1, revoked: nobody believes it");
    const char *new = strstr(room->tool.out, "epoch 2, in use");
    assert_true(old != NULL && new != NULL &&old < new);
    assert_true(strstr(old, "secret       not on this host") < new);
    assert_non_null(strstr(new, "secret       good"));
    set_mode(room, "identity/deck.2.key", 0640);
    RUN(room, "show", "deck");
    assert_int_equal(room->tool.code, 1);
    assert_non_null(strstr(room->tool.out, "cannot be used, mode 0640"));
    assert_non_null(strstr(room->tool.out, "chmod 600"));
    RUN(room, "revoke", "deck", "2");
    RUN(room, "show", "deck");
    assert_int_equal(room->tool.code, 1);
    assert_non_null(strstr(room->tool.err, "deck has no key in use"));
    RUN(room, "show", "desk");
    assert_int_equal(room->tool.code, 1);
    assert_non_null(strstr(room->tool.err, "desk is not in stations.yaml"));
}

static void
show_as_json_has_the_same(void **state)
{
    struct room *room = *state;

    RUN(room, "rotate", "bus-a");
    folder_put(&room->folder, "identity/bus-a.1.key", NULL, 0);
    RUN(room, "show", "bus-a", "--json");
    assert_int_equal(room->tool.code, 0);
    json_t *object = json_loads(room->tool.out, 0, NULL);
    json_t *keys = json_object_get(object, "keys");
    assert_string_equal(json_string_value(json_object_get(object, "node")), "bus-a");
    assert_int_equal(json_integer_value(json_object_get(object, "in_use")), 2);
    assert_int_equal(json_array_size(keys), 2);
    for (size_t i = 0; i < 2; i++) {
        const json_t *key = json_array_get(keys, i);
        assert_int_equal(json_integer_value(json_object_get(key, "epoch")), i + 1);
        assert_string_equal(json_string_value(json_object_get(key, "secret")),
                            i == 0 ? "not on this host" : "good");
        assert_true(json_is_null(json_object_get(key, "mode")) == (i == 0));
        assert_true(json_is_false(json_object_get(key, "revoked")));
        assert_int_equal(json_string_length(json_object_get(key, "fingerprint")), 39);
    }
    json_decref(object);
}

static void
check_passes_what_is_whole_and_notes_what_waits(void **state)
{
    struct room *room = *state;

    expect_found(room, 0, 0, "10 keys in use, 0 revoked, 10 secrets on this host");
    RUN(room, "rotate", "deck");
    expect_found(room, 0, 0,
                 "note: deck has 2 keys in use; when it runs with the newer one: "
                 "trapline keys revoke -C DIR deck 1");
    RUN(room, "revoke", "deck", "1");
    expect_found(room, 0, 0, "deck.1.key is the secret of a revoked key; remove it");
    folder_put(&room->folder, "identity/deck.1.key", NULL, 0);
    RUN(room, "check");
    assert_int_equal(room->tool.code, 0);
    assert_null(strstr(room->tool.out, "note: "));
    assert_non_null(strstr(room->tool.out, "1 revoked, 10 secrets on this host\nkey digest "));
}

static void
check_finds_what_is_wrong(void **state)
{
    struct room *room = *state;

    RUN(room, "revoke", "viewer", "1");
    expect_found(room, 1, 1,
                 "viewer has no key in use; make one: trapline keys rotate -C DIR viewer");
    set_mode(room, "identity/deck.1.key", 0604);
    expect_found(room, 1, 2, "deck.1.key is not a private file of this user");
    folder_put(&room->folder, "identity/deck.9.key", "left over\n", 10);
    expect_found(room, 1, 3, "deck.9.key is the secret file of no key in keys.yaml");
    set_mode(room, "identity", 0750);
    expect_found(room, 1, 4, "identity is not a private folder of this user");
    set_mode(room, "keys.yaml", 0664);
    expect_found(room, 1, 5, "keys.yaml can be written by others than its owner");
    set_mode(room, "keys.yaml", 0644);
    set_mode(room, "identity", 0700);
    set_mode(room, "identity/deck.1.key", 0600);
    folder_put(&room->folder, "identity/deck.9.key", NULL, 0);
    expect_found(room, 1, 1, "viewer has no key in use");
}

static void
check_finds_a_secret_of_another_owner(void **state)
{
    struct room *room = *state;
    char path[FOLDER_PATH_CAP];

    if (geteuid() != 0) {
        skip();
    }
    path_of(room, "identity/deck.1.key", path);
    assert_int_equal(chown(path, OTHER_USER, OTHER_USER), 0);
    expect_found(room, 1, 1, "owned by the user that runs this");
}

/* Nodes with one key: the list is not loaded at all. */
static void
check_of_a_list_with_one_key_twice_is_78(void **state)
{
    struct room *room = *state;
    char twice[TEXT_CAP];
    const char *list = read_list(room);
    const char *deck = strstr(list, "{node: deck,");
    const char *viewer = strstr(list, "{node: viewer,");

    assert_true(deck != NULL && viewer != NULL);
    (void)snprintf(twice, sizeof twice, "%.*s{node: viewer,%.*s", (int)(viewer - list), list,
                   (int)(strchr(deck, '\n') - deck - 11), deck + 12);
    (void)strcat(twice, "\n");
    folder_put(&room->folder, "keys.yaml", twice, strlen(twice));
    RUN(room, "check");
    assert_int_equal(room->tool.code, 78);
    assert_non_null(strstr(room->tool.err, "identity is that of deck, epoch 1, too"));
}

static void
expect_against(struct room *room, int code, const char *word)
{
    char path[FOLDER_PATH_CAP];

    path_of(room, "other.yaml", path);
    RUN(room, "check", "--against", path);
    const char *said = code == 78 ? room->tool.err : room->tool.out;
    if (room->tool.code != code || strstr(said, word) == NULL) {
        fail_msg("want %d ...%s..., got %d %s%s", code, word, room->tool.code, room->tool.out,
                 room->tool.err);
    }
}

static void
put_other(struct room *room)
{
    (void)read_list(room);
    folder_put(&room->folder, "other.yaml", room->list, strlen(room->list));
}

static void
check_against_another_copy_names_each_difference(void **state)
{
    struct room *room = *state;

    put_other(room);
    expect_against(room, 0, "keys OK");
    RUN(room, "rotate", "deck");
    expect_against(room, 1, "other.yaml: deck, epoch 2, is missing there");
    put_other(room);
    RUN(room, "revoke", "deck", "1");
    expect_against(room, 1, "other.yaml: deck, epoch 1, is revoked here and in use there");
    char *comment = read_list(room) == NULL ? NULL : strstr(room->list, "keys:");
    assert_non_null(comment);
    folder_put(&room->folder, "other.yaml", comment, strlen(comment));
    expect_against(room, 1, "the same keys, written otherwise");
    put_other(room);
    RUN(room, "rotate", "viewer");
    (void)read_list(room);
    folder_put(&room->folder, "keys.yaml", NULL, 0);
    RUN(room, "new", "--all", "--epoch", "1");
    assert_int_equal(room->tool.code, 1); /* secrets are there: nothing is overwritten */
    folder_put(&room->folder, "keys.yaml", room->list, strlen(room->list));
    expect_against(room, 1, "other.yaml: viewer, epoch 2, is missing there");
}

static void
check_against_finds_another_key_under_the_same_name(void **state)
{
    struct room *room = *state;

    put_other(room);
    char *deck = strstr(room->list, "{node: deck,");
    assert_non_null(deck);
    char *digits = strstr(deck, "identity: ") + 10;
    memcpy(digits, "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", 64);
    folder_put(&room->folder, "other.yaml", room->list, strlen(room->list));
    expect_against(room, 1, "other.yaml: deck, epoch 1, is another key there");
    (void)strcat(room->list, "  - {node: deck, epoch: 4, identity: "
                             "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c, "
                             "revoked: true}\n");
    folder_put(&room->folder, "other.yaml", room->list, strlen(room->list));
    expect_against(room, 1, "other.yaml: deck, epoch 4, is missing here");
    folder_put(&room->folder, "other.yaml", "keys:\n  - {node: deck\n", 22);
    expect_against(room, 78, "other.yaml:");
    folder_put(&room->folder, "other.yaml", NULL, 0);
    expect_against(room, 78, "does not exist");
}

static void
check_as_json_has_the_same(void **state)
{
    struct room *room = *state;

    RUN(room, "rotate", "deck");
    RUN(room, "revoke", "viewer", "1");
    RUN(room, "check", "--json");
    assert_int_equal(room->tool.code, 1);
    json_t *object = json_loads(room->tool.out, 0, NULL);
    assert_true(json_is_false(json_object_get(object, "ok")));
    assert_int_equal(json_array_size(json_object_get(object, "problems")), 1);
    assert_int_equal(json_array_size(json_object_get(object, "notes")), 2);
    assert_int_equal(json_integer_value(json_object_get(object, "in_use")), 10);
    assert_int_equal(json_integer_value(json_object_get(object, "revoked")), 1);
    assert_int_equal(json_integer_value(json_object_get(object, "secrets_here")), 11);
    assert_int_equal(json_string_length(json_object_get(object, "key_digest")), 39);
    json_decref(object);
}

static void
nothing_is_changed_by_looking(void **state)
{
    struct room *room = *state;
    char before[TEXT_CAP];

    (void)snprintf(before, sizeof before, "%s", read_list(room));
    RUN(room, "check");
    RUN(room, "show", "deck");
    assert_string_equal(before, read_list(room));
}

static void
wrong_usage_is_64(void **state)
{
    struct room *room = *state;
    static const char *const rows[][4] = {
        {"show", NULL},
        {"show", "deck", "viewer", NULL},
        {"show", "deck", "--all", NULL},
        {"check", "deck", NULL},
        {"check", "--against", NULL},
        {"list", "--json", NULL},
        {"rotate", "deck", "--json", NULL},
        {"show", "deck", "--against", NULL},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        run(room, rows[i]);
        if (room->tool.code != 64 || room->tool.out[0] != '\0') {
            fail_msg("row %zu: exit %d, %s", i, room->tool.code, room->tool.out);
        }
    }
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(show_has_the_fingerprint_that_another_program_computes),
        TEST(show_says_of_each_epoch_how_it_stands),
        TEST(show_as_json_has_the_same),
        TEST(check_passes_what_is_whole_and_notes_what_waits),
        TEST(check_finds_what_is_wrong),
        TEST(check_finds_a_secret_of_another_owner),
        TEST(check_of_a_list_with_one_key_twice_is_78),
        TEST(check_against_another_copy_names_each_difference),
        TEST(check_against_finds_another_key_under_the_same_name),
        TEST(check_as_json_has_the_same),
        TEST(nothing_is_changed_by_looking),
        TEST(wrong_usage_is_64),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
