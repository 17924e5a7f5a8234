/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_check_tool - what `trapline check` passes, and what it finds
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

#include "clients/tools/check.h"
#include "clients/tools/keys.h"
#include "tests/conf/folder.h"
#include "tests/identity/tool.h"

struct room {
    struct folder folder; /* good, with all secrets */
    struct tool tool;
};

static int
set_up(void **state)
{
    struct room *room = calloc(1, sizeof *room);

    assert_non_null(room);
    folder_make(&room->folder);
    folder_put(&room->folder, "keys.yaml", NULL, 0);
    const char *words[] = {"keys", "new", "--all", "-C", room->folder.dir, NULL};
    tool_run(&room->tool, tl_keys_main, words);
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
run(struct room *room)
{
    const char *words[] = {"check", "-C", room->folder.dir, NULL};

    tool_run(&room->tool, tl_check_main, words);
}

static void
expect_ok(struct room *room, const char *word)
{
    run(room);
    if (room->tool.code != 0 || strncmp(room->tool.out, "configuration OK\n", 17) != 0 ||
        strstr(room->tool.out, word) == NULL || room->tool.err[0] != '\0') {
        fail_msg("want 0 ...%s..., got %d %s%s", word, room->tool.code, room->tool.out,
                 room->tool.err);
    }
}

static void
expect_bad(struct room *room, const char *word)
{
    run(room);
    if (room->tool.code != 78 || strstr(room->tool.err, word) == NULL ||
        room->tool.out[0] != '\0') {
        fail_msg("want 78 ...%s..., got %d %s%s", word, room->tool.code, room->tool.out,
                 room->tool.err);
    }
}

static void
check_of_a_good_folder_says_so_and_sums_up(void **state)
{
    struct room *room = *state;
    static const char *const words[] = {
        "ship Grey Heron (invented)\n",
        "6 stations, 2 engines (1 in service), 2 aircraft types\n",
        "2 buses, 1 validators, 0 recorders, 1 viewers\n",
        "10 keys in use, 10 of them on this host\n",
        /* as computed by another implementation, see test_conf.c */
        "judgement digest 7533ad0498690331b512bd971e562482\n",
        "rule off: wind-unknown (no wind sensor fitted)\n",
    };

    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        expect_ok(room, words[i]);
    }
}

static void
check_of_a_host_with_few_secrets_is_good(void **state)
{
    struct room *room = *state;

    folder_put(&room->folder, "identity/deck.1.key", NULL, 0);
    folder_put(&room->folder, "identity/viewer.1.key", NULL, 0);
    expect_ok(room, "10 keys in use, 8 of them on this host");
}

static void
check_finds_a_fault_of_a_file(void **state)
{
    struct room *room = *state;

    folder_put(&room->folder, "aircraft.yaml", "types: []\n", 10);
    expect_bad(room, "aircraft.yaml:1: types is empty");
    folder_put(&room->folder, "aircraft.yaml", NULL, 0);
    expect_bad(room, "aircraft.yaml: does not exist");
}

static void
check_finds_every_secret_that_would_not_open(void **state)
{
    struct room *room = *state;
    char path[FOLDER_PATH_CAP];

    (void)snprintf(path, sizeof path, "%s/identity/deck.1.key", room->folder.dir);
    assert_int_equal(chmod(path, 0644), 0);
    folder_put(&room->folder, "identity/viewer.1.key", "no key\n", 7);
    (void)snprintf(path, sizeof path, "%s/identity/viewer.1.key", room->folder.dir);
    assert_int_equal(chmod(path, 0600), 0);
    expect_bad(room, "deck.1.key is not a private file");
    expect_bad(room, "viewer.1.key is not the secret key of viewer, epoch 1");
}

/* A key that is revoked opens nowhere, so its file is nobody's concern. */
static void
check_does_not_mind_the_secret_of_a_revoked_key(void **state)
{
    struct room *room = *state;
    const char *words[] = {"keys", "revoke", "-C", room->folder.dir, "deck", "1", NULL};

    folder_put(&room->folder, "identity/deck.1.key", "no key\n", 7);
    expect_bad(room, "deck.1.key");
    tool_run(&room->tool, tl_keys_main, words);
    assert_int_equal(room->tool.code, 0);
    expect_ok(room, "9 keys in use, 9 of them on this host");
}

static void
check_wrong_usage_is_64(void **state)
{
    struct room *room = *state;
    const char *dir = room->folder.dir;
    const char *const rows[][6] = {
        {"check", NULL},
        {"check", "-C", NULL},
        {"check", dir, NULL},
        {"check", "-C", dir, "deck", NULL},
        {"check", "-C", dir, "-C", dir, NULL},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        tool_run(&room->tool, tl_check_main, rows[i]);
        assert_int_equal(room->tool.code, 64);
        assert_string_equal(room->tool.out, "");
        assert_int_equal(strncmp(room->tool.err, "check: ", 7), 0);
    }
    const char *const help[] = {"check", "--help", NULL};
    tool_run(&room->tool, tl_check_main, help);
    assert_int_equal(room->tool.code, 0);
    assert_int_equal(strncmp(room->tool.out, "usage: trapline check -C DIR", 28), 0);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(check_of_a_good_folder_says_so_and_sums_up),
        TEST(check_of_a_host_with_few_secrets_is_good),
        TEST(check_finds_a_fault_of_a_file),
        TEST(check_finds_every_secret_that_would_not_open),
        TEST(check_does_not_mind_the_secret_of_a_revoked_key),
        TEST(check_wrong_usage_is_64),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
