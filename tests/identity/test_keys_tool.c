/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_keys_tool - what `trapline keys` makes, refuses, and leaves alone
 */
#include <fcntl.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "clients/tools/keys.h"
#include "proto/base/conf.h"
#include "proto/base/file.h"
#include "proto/link/identity.h"
#include "tests/conf/folder.h"
#include "tests/identity/tool.h"

#define OTHER_USER 65534U

struct room {
    struct folder folder; /* good, without keys.yaml */
    struct tl_config *config;
    struct tool tool;
    char before[TL_CONF_FILE_MAX];
    char after[TL_CONF_FILE_MAX];
};

static int
set_up(void **state)
{
    struct room *room = calloc(1, sizeof *room);

    assert_non_null(room);
    room->config = calloc(1, sizeof *room->config);
    assert_non_null(room->config);
    folder_make(&room->folder);
    folder_put(&room->folder, "keys.yaml", NULL, 0);
    *state = room;
    return 0;
}

static int
tear_down(void **state)
{
    struct room *room = *state;

    folder_remove(&room->folder);
    free(room->config);
    free(room);
    return 0;
}

/* Run "keys WORD -C folder WORD..." with at most four words. */
static int
run(struct room *room, const char *first, const char *second, const char *third)
{
    const char *words[] = {"keys", first, "-C", room->folder.dir, second, third, NULL};

    tool_run(&room->tool, tl_keys_main, words);
    return room->tool.code;
}

static void
path_of(const struct room *room, const char *name, char path[FOLDER_PATH_CAP])
{
    (void)snprintf(path, FOLDER_PATH_CAP, "%s/%s", room->folder.dir, name);
}

static bool
exists(const struct room *room, const char *name)
{
    char path[FOLDER_PATH_CAP];
    struct stat st;

    path_of(room, name, path);
    return lstat(path, &st) == 0;
}

/* keys.yaml as text; "" if there is none. */
static void
read_keys(const struct room *room, char text[TL_CONF_FILE_MAX])
{
    char path[FOLDER_PATH_CAP];
    size_t len = 0;

    path_of(room, "keys.yaml", path);
    if (tl_file_read(path, TL_CONF_FILE_MAX - 1, text, &len) != TL_OK) {
        len = 0;
    }
    text[len] = '\0';
}

static void
load(struct room *room)
{
    struct tl_conf_fault fault = {.line = 0};

    if (tl_conf_load(room->folder.dir, room->config, &fault) != TL_OK) {
        fail_msg("%s:%u: %s", fault.file, fault.line, fault.text);
    }
}

/* Refused with that code, one line with that word, and not a byte of keys.yaml other than before. */
static void
expect_refused(struct room *room, int code, const char *word)
{
    read_keys(room, room->after);
    if (room->tool.code != code || strstr(room->tool.err, word) == NULL) {
        fail_msg("want %d ...%s..., got %d %s", code, word, room->tool.code, room->tool.err);
    }
    assert_ptr_equal(strchr(room->tool.err, '\n'), strrchr(room->tool.err, '\n'));
    assert_string_equal(room->tool.out, "");
    assert_string_equal(room->before, room->after);
}

static void
keys_new_all_makes_a_folder_that_loads_and_opens(void **state)
{
    struct room *room = *state;
    char why[512];

    assert_int_equal(run(room, "new", "--all", NULL), 0);
    assert_string_equal(room->tool.err, "");
    load(room);
    assert_int_equal(room->config->key_count, room->config->node_count);
    for (uint32_t i = 0; i < room->config->node_count; i++) {
        struct tl_identity identity;
        assert_int_equal(
            tl_identity_open(room->config, room->config->node[i].id, 0, &identity, why, sizeof why),
            TL_OK);
        assert_int_equal(identity.epoch, 1);
        tl_identity_close(&identity);
    }
    read_keys(room, room->before);
    assert_int_equal(run(room, "new", "--all", NULL), 0);
    assert_non_null(strstr(room->tool.out, "nothing to make"));
    read_keys(room, room->after);
    assert_string_equal(room->before, room->after);
}

static void
keys_new_of_some_nodes_adds_and_keeps_the_rest(void **state)
{
    struct room *room = *state;
    struct tl_key deck;

    assert_int_equal(run(room, "new", "deck", "viewer"), 0);
    assert_true(exists(room, "identity/deck.1.key"));
    assert_true(exists(room, "identity/viewer.1.key"));
    assert_false(exists(room, "identity/primary.1.key"));
    struct tl_conf_fault fault;
    assert_int_equal(tl_conf_load_unkeyed(room->folder.dir, room->config, &fault), TL_OK);
    deck = *tl_config_key(room->config, "deck", 1);
    assert_int_equal(run(room, "new", "--all", NULL), 0);
    load(room);
    assert_memory_equal(tl_config_key(room->config, "deck", 1)->identity, deck.identity, 32);
}

static void
keys_new_with_an_epoch_gives_it_that_number(void **state)
{
    struct room *room = *state;
    const char *words[] = {"keys", "new", "--epoch", "7", "deck", "-C", room->folder.dir, NULL};
    struct tl_conf_fault fault;

    tool_run(&room->tool, tl_keys_main, words);
    assert_int_equal(room->tool.code, 0);
    assert_int_equal(tl_conf_load_unkeyed(room->folder.dir, room->config, &fault), TL_OK);
    assert_non_null(tl_config_key(room->config, "deck", 7));
    /* Numbers go up: a lower one may have been used and forgotten. */
    read_keys(room, room->before);
    words[3] = "6";
    tool_run(&room->tool, tl_keys_main, words);
    expect_refused(room, 1, "epoch 7 already");
}

static void
keys_new_refuses_what_it_cannot_make(void **state)
{
    struct room *room = *state;

    read_keys(room, room->before);
    (void)run(room, "new", "desk", NULL);
    expect_refused(room, 1, "desk is not in stations.yaml");
    (void)run(room, "new", "deck", "desk");
    expect_refused(room, 1, "desk is not in stations.yaml");
    assert_false(exists(room, "identity/deck.1.key"));
    (void)run(room, "new", "deck", "deck");
    expect_refused(room, 1, "deck has a key of epoch 1 already");
    assert_false(exists(room, "identity/deck.1.key"));
    assert_int_equal(run(room, "new", "deck", NULL), 0);
    read_keys(room, room->before);
    (void)run(room, "new", "deck", NULL);
    expect_refused(room, 1, "trapline keys rotate -C DIR deck");
}

/* The secret of the last node is there: those made before it are taken back. */
static void
keys_new_that_fails_half_way_leaves_nothing(void **state)
{
    struct room *room = *state;
    char path[FOLDER_PATH_CAP];
    char text[64];
    size_t len = 0;

    path_of(room, "identity", path);
    assert_int_equal(mkdir(path, 0700), 0);
    folder_put(&room->folder, "identity/viewer.1.key", "precious", 8);
    read_keys(room, room->before);
    (void)run(room, "new", "--all", NULL);
    expect_refused(room, 1, "viewer.1.key exists and is never overwritten");
    assert_false(exists(room, "keys.yaml"));
    assert_false(exists(room, "identity/engine-1.1.key"));
    assert_false(exists(room, "identity/bus-b.1.key"));
    path_of(room, "identity/viewer.1.key", path);
    assert_int_equal(tl_file_read(path, sizeof text, text, &len), TL_OK);
    assert_int_equal(len, 8);
    assert_memory_equal(text, "precious", 8);
}

/* The identity folder can be written, and the configuration folder cannot. */
static void
keys_new_that_cannot_write_keys_yaml_leaves_nothing(void **state)
{
    struct room *room = *state;
    char path[FOLDER_PATH_CAP];
    bool is_root = geteuid() == 0;

    path_of(room, "identity", path);
    assert_int_equal(mkdir(path, 0700), 0);
    assert_true(!is_root || chown(path, OTHER_USER, OTHER_USER) == 0);
    assert_int_equal(chmod(room->folder.dir, 0555), 0);
    read_keys(room, room->before);
    assert_true(!is_root || seteuid(OTHER_USER) == 0);
    (void)run(room, "new", "deck", "viewer");
    assert_true(!is_root || seteuid(0) == 0);
    expect_refused(room, 1, "keys.yaml cannot be written (permission denied); nothing was changed");
    assert_false(exists(room, "identity/deck.1.key"));
    assert_false(exists(room, "identity/viewer.1.key"));
    assert_int_equal(chmod(room->folder.dir, 0755), 0);
}

static void
keys_rotate_puts_a_new_key_beside_the_old(void **state)
{
    struct room *room = *state;

    assert_int_equal(run(room, "new", "--all", NULL), 0);
    assert_int_equal(run(room, "rotate", "deck", NULL), 0);
    assert_non_null(strstr(room->tool.out, "deck: epoch 2 made"));
    assert_non_null(strstr(room->tool.out, "trapline keys revoke -C DIR deck 1"));
    load(room);
    assert_false(tl_config_key(room->config, "deck", 1)->revoked);
    assert_false(tl_config_key(room->config, "deck", 2)->revoked);
    read_keys(room, room->before);
    (void)run(room, "rotate", "deck", NULL);
    expect_refused(room, 1, "deck has two keys that are not revoked");
    assert_false(exists(room, "identity/deck.3.key"));

    assert_int_equal(run(room, "revoke", "deck", "1"), 0);
    load(room);
    assert_true(tl_config_key(room->config, "deck", 1)->revoked);
    assert_false(tl_config_key(room->config, "deck", 2)->revoked);
    assert_int_equal(run(room, "rotate", "deck", NULL), 0);
    load(room);
    assert_non_null(tl_config_key(room->config, "deck", 3));
}

static void
keys_revoke_says_what_it_did(void **state)
{
    struct room *room = *state;

    assert_int_equal(run(room, "new", "--all", NULL), 0);
    assert_int_equal(run(room, "revoke", "viewer", "1"), 0);
    assert_non_null(strstr(room->tool.out, "viewer: epoch 1 revoked; it has no other key in use"));
    read_keys(room, room->before);
    assert_int_equal(run(room, "revoke", "viewer", "1"), 0);
    assert_non_null(strstr(room->tool.out, "was revoked already"));
    (void)run(room, "revoke", "viewer", "2");
    expect_refused(room, 1, "viewer has no key of epoch 2");
    (void)run(room, "revoke", "desk", "1");
    expect_refused(room, 1, "desk has no key of epoch 1");
    (void)run(room, "revoke", "viewer", "01");
    expect_refused(room, 64, "EPOCH is a number");
}

static void
keys_list_shows_each_key_and_where_its_secret_is(void **state)
{
    struct room *room = *state;

    assert_int_equal(run(room, "new", "deck", "viewer"), 0);
    assert_int_equal(run(room, "revoke", "viewer", "1"), 0);
    folder_put(&room->folder, "identity/viewer.1.key", NULL, 0);
    assert_int_equal(run(room, "list", NULL, NULL), 0);
    const char *deck = strstr(room->tool.out, "deck ");
    const char *viewer = strstr(room->tool.out, "viewer ");
    assert_true(deck != NULL && viewer != NULL && deck < viewer);
    assert_non_null(strstr(deck, "in use"));
    assert_true(strstr(deck, "secret on this host") < viewer);
    assert_non_null(strstr(viewer, "revoked"));
    assert_non_null(strstr(viewer, "secret elsewhere"));
    assert_non_null(strstr(room->tool.out, "primary                 no key"));
}

static void
keys_file_is_readable_by_all_and_secrets_by_none(void **state)
{
    struct room *room = *state;
    char path[FOLDER_PATH_CAP];
    struct stat st;
    mode_t mask = umask(0);

    assert_int_equal(run(room, "new", "deck", NULL), 0);
    (void)umask(mask);
    path_of(room, "keys.yaml", path);
    assert_int_equal(lstat(path, &st), 0);
    assert_int_equal(st.st_mode & 07777, 0644);
    path_of(room, "identity/deck.1.key", path);
    assert_int_equal(lstat(path, &st), 0);
    assert_int_equal(st.st_mode & 07777, 0600);
}

static void
keys_run_beside_another_is_refused(void **state)
{
    struct room *room = *state;

    read_keys(room, room->before);
    int fd = open(room->folder.dir, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    assert_true(fd >= 0);
    assert_int_equal(flock(fd, LOCK_EX), 0);
    (void)run(room, "new", "deck", NULL);
    expect_refused(room, 1, "another run works on");
    (void)close(fd);
    assert_int_equal(run(room, "new", "deck", NULL), 0);
}

static void
keys_bad_configuration_is_said_by_file_and_line(void **state)
{
    struct room *room = *state;

    folder_put(&room->folder, "gear.yaml", "engines: []\n", 12);
    read_keys(room, room->before);
    (void)run(room, "new", "--all", NULL);
    expect_refused(room, 78, "gear.yaml:1: engines is empty");
    assert_false(exists(room, "identity"));
}

static void
keys_wrong_usage_is_64(void **state)
{
    struct room *room = *state;
    const char *dir = room->folder.dir;
    const char *const rows[][TOOL_WORDS_MAX] = {
        {"keys", NULL},
        {"keys", "make", "-C", dir, NULL},
        {"keys", "new", NULL},
        {"keys", "new", "--all", NULL},
        {"keys", "new", "-C", dir, NULL},
        {"keys", "new", "-C", NULL},
        {"keys", "new", "deck", "-C", dir, "-C", dir, NULL},
        {"keys", "new", "-C", dir, "--all", "deck", NULL},
        {"keys", "new", "-C", dir, "deck", "--epoch", NULL},
        {"keys", "new", "-C", dir, "deck", "--epoch", "0", NULL},
        {"keys", "new", "-C", dir, "deck", "--epoch", "1000000", NULL},
        {"keys", "new", "-C", dir, "deck", "--epoch", "0x1", NULL},
        {"keys", "new", "-C", dir, "deck", "--force", NULL},
        {"keys", "rotate", "-C", dir, NULL},
        {"keys", "rotate", "-C", dir, "deck", "viewer", NULL},
        {"keys", "rotate", "-C", dir, "deck", "--epoch", "2", NULL},
        {"keys", "revoke", "-C", dir, "deck", NULL},
        {"keys", "revoke", "-C", dir, "deck", "1", "2", NULL},
        {"keys", "list", "-C", dir, "deck", NULL},
        {"keys", "list", "-C", dir, "--all", NULL},
    };

    read_keys(room, room->before);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        tool_run(&room->tool, tl_keys_main, rows[i]);
        if (room->tool.code != 64) {
            fail_msg("row %zu: exit %d, %s", i, room->tool.code, room->tool.err);
        }
        expect_refused(room, 64, "trapline keys --help");
    }
    assert_false(exists(room, "identity"));
}

static void
keys_help_is_on_standard_output(void **state)
{
    struct room *room = *state;
    static const char *const rows[][4] = {
        {"keys", "--help", NULL},
        {"keys", "-h", NULL},
        {"keys", "new", "--help", NULL},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        tool_run(&room->tool, tl_keys_main, rows[i]);
        assert_int_equal(room->tool.code, 0);
        assert_int_equal(strncmp(room->tool.out, "usage: trapline keys new", 24), 0);
        assert_string_equal(room->tool.err, "");
    }
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(keys_new_all_makes_a_folder_that_loads_and_opens),
        TEST(keys_new_of_some_nodes_adds_and_keeps_the_rest),
        TEST(keys_new_with_an_epoch_gives_it_that_number),
        TEST(keys_new_refuses_what_it_cannot_make),
        TEST(keys_new_that_fails_half_way_leaves_nothing),
        TEST(keys_new_that_cannot_write_keys_yaml_leaves_nothing),
        TEST(keys_rotate_puts_a_new_key_beside_the_old),
        TEST(keys_revoke_says_what_it_did),
        TEST(keys_list_shows_each_key_and_where_its_secret_is),
        TEST(keys_file_is_readable_by_all_and_secrets_by_none),
        TEST(keys_run_beside_another_is_refused),
        TEST(keys_bad_configuration_is_said_by_file_and_line),
        TEST(keys_wrong_usage_is_64),
        TEST(keys_help_is_on_standard_output),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
