/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_incarnation - numbers that only rise, whatever clock, file, disk and neighbours do
 */
#include <fcntl.h>
#include <inttypes.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include "proto/link/incarnation.h"
#include "tests/identity/home.h"

#define WALL       UINT64_C(1785000000123)
#define UNTOUCHED  UINT64_C(0x5a5a5a5a)
#define OTHER_USER 65534U

/* What a station takes: its state folder and the number, UNTOUCHED on error. */
static enum tl_err
take(struct home *home, uint64_t above, uint64_t wall_ms, uint64_t *number)
{
    *number = UNTOUCHED;
    home->why[0] = '\0';
    return tl_incarnation_take(home->config->state_dir, "deck", above, wall_ms, number, home->why,
                               sizeof home->why);
}

static void
expect(struct home *home, uint64_t above, uint64_t wall_ms, uint64_t want)
{
    uint64_t number = 0;
    enum tl_err err = take(home, above, wall_ms, &number);

    if (err != TL_OK || number != want) {
        fail_msg("above %" PRIu64 ", wall %" PRIu64 ": want %" PRIu64 ", got %" PRIu64 " (%s %s)",
                 above, wall_ms, want, number, tl_err_text(err), home->why);
    }
    assert_string_equal(home->why, "");
}

static void
expect_refused(struct home *home, uint64_t above, enum tl_err want, const char *word)
{
    uint64_t number = 0;
    enum tl_err err = take(home, above, WALL, &number);

    if (err != want || strstr(home->why, word) == NULL) {
        fail_msg("want %s ...%s..., got %s %s", tl_err_text(want), word, tl_err_text(err),
                 home->why);
    }
    assert_true(number == UNTOUCHED);
}

static void
incarnation_is_above_all_that_is_known(void **state)
{
    struct home *home = *state;

    expect(home, 0, WALL, WALL);                /* first start */
    expect(home, 0, WALL, WALL + 1);            /* again within the millisecond */
    expect(home, 0, WALL + 5000, WALL + 5000);  /* later */
    expect(home, 0, WALL - 90000, WALL + 5001); /* the clock went back */
    expect(home, 0, 0, WALL + 5002);            /* no clock at all */
    expect(home, WALL + 7000, WALL, WALL + 7001);
    expect(home, WALL + 7001, WALL, WALL + 7002);
    expect(home, 3, WALL, WALL + 7003); /* a number below what is saved changes nothing */
    expect(home, WALL + 7000, WALL + 9000, WALL + 9000);
}

static void
incarnation_without_a_clock_begins_at_one(void **state)
{
    struct home *home = *state;

    expect(home, 0, 0, 1);
    expect(home, 0, 0, 2);
}

static void
incarnation_is_saved_before_it_is_given(void **state)
{
    struct home *home = *state;
    char path[HOME_PATH_CAP];
    char text[HOME_PATH_CAP];
    struct stat st;

    expect(home, 0, WALL, WALL);
    home_read(home_path(home, "state/deck.incarnation", path), text);
    assert_int_equal(strncmp(text, "trapline-incarnation 1 deck 1785000000123 ", 42), 0);
    assert_int_equal(strlen(text), 42 + 16 + 1);
    assert_int_equal(lstat(path, &st), 0);
    assert_int_equal(st.st_mode & 07777, 0600);
    assert_int_equal(lstat(home->config->state_dir, &st), 0);
    assert_int_equal(st.st_mode & 07777, 0700);
}

static void
incarnation_of_each_node_is_its_own(void **state)
{
    struct home *home = *state;
    uint64_t number = 0;

    expect(home, WALL + 100, WALL, WALL + 101);
    assert_int_equal(tl_incarnation_take(home->config->state_dir, "bridge", 0, WALL, &number,
                                         home->why, sizeof home->why),
                     TL_OK);
    assert_true(number == WALL);
}

/* Any one bit of the file turned over: refused in words, and the file stays as it is. */
static void
incarnation_file_with_a_wrong_bit_is_refused(void **state)
{
    struct home *home = *state;
    char path[HOME_PATH_CAP];
    char good[HOME_PATH_CAP];
    char text[HOME_PATH_CAP];

    expect(home, 0, WALL, WALL);
    home_read(home_path(home, "state/deck.incarnation", path), good);
    size_t len = strlen(good);
    assert_true(len > 50);
    for (size_t bit = 0; bit < 8 * len; bit++) {
        char bad[HOME_PATH_CAP];
        (void)snprintf(bad, sizeof bad, "%s", good);
        bad[bit / 8] = (char)((uint8_t)bad[bit / 8] ^ (1U << (bit % 8)));
        home_write(path, bad, 0600);
        expect_refused(home, 0, TL_MALFORMED, "--incarnation-above N");
        home_read(path, text);
        assert_string_equal(text, bad);
    }
    home_write(path, good, 0600);
    expect(home, 0, 0, WALL + 1);
}

static void
incarnation_file_of_other_form_is_refused(void **state)
{
    struct home *home = *state;
    char path[HOME_PATH_CAP];
    char good[HOME_PATH_CAP];
    char long_text[1024];
    uint64_t number = 0;

    expect(home, 0, WALL, WALL);
    home_read(home_path(home, "state/deck.incarnation", path), good);
    memset(long_text, '1', sizeof long_text - 1);
    long_text[sizeof long_text - 1] = '\0';
    char twice[2 * HOME_PATH_CAP];
    (void)snprintf(twice, sizeof twice, "%s%s", good, good);
    const char *const texts[] = {"", "\n", "1785000000123\n", long_text, twice};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        home_write(path, texts[i], 0600);
        expect_refused(home, 0, TL_MALFORMED, path);
    }
    /* Cut anywhere, as a bad disk may leave it. */
    for (size_t len = 0; len < strlen(good); len++) {
        char cut[HOME_PATH_CAP];
        (void)snprintf(cut, sizeof cut, "%.*s", (int)len, good);
        home_write(path, cut, 0600);
        expect_refused(home, 0, TL_MALFORMED, "is damaged");
    }
    /* Whole, but another node's: its number says nothing about this one. */
    assert_int_equal(tl_incarnation_take(home->config->state_dir, "bridge", 0, WALL, &number,
                                         home->why, sizeof home->why),
                     TL_OK);
    char other[HOME_PATH_CAP];
    home_read(home_path(home, "state/bridge.incarnation", other), good);
    home_write(path, good, 0600);
    expect_refused(home, 0, TL_MALFORMED, "deck");
}

static void
incarnation_of_a_damaged_file_goes_on_above_the_number_given(void **state)
{
    struct home *home = *state;
    char path[HOME_PATH_CAP];

    expect(home, 0, WALL, WALL);
    home_write(home_path(home, "state/deck.incarnation", path), "damaged", 0600);
    expect(home, WALL + 40, WALL, WALL + 41);
    expect(home, 0, WALL, WALL + 42);
}

static void
incarnation_has_an_end_that_is_said(void **state)
{
    struct home *home = *state;

    expect_refused(home, UINT64_MAX, TL_BADARG, "--incarnation-above");
    expect_refused(home, INT64_MAX, TL_BADARG, "--incarnation-above"); /* no record could hold it */
    expect(home, INT64_MAX - 1, WALL, INT64_MAX);
    expect_refused(home, 0, TL_BADARG, "no higher incarnation");
    expect_refused(home, 5, TL_BADARG, "no higher incarnation");
}

/* Become a user whom the kernel does not exempt. Returns false if that cannot be. */
static bool
become_other(void)
{
    return geteuid() != 0 || seteuid(OTHER_USER) == 0;
}

static void
become_self(void)
{
    assert_int_equal(seteuid(getuid()), 0);
}

static void
incarnation_in_a_folder_that_is_closed_is_refused(void **state)
{
    struct home *home = *state;
    struct tl_incarnation_lock lock;

    expect(home, 0, WALL, WALL);
    assert_int_equal(chmod(home->config->state_dir, 0), 0);
    assert_int_equal(chmod(home->dir, 0755), 0);
    assert_true(become_other());
    expect_refused(home, 0, TL_PERM, "give the folder to the user");
    enum tl_err err =
        tl_incarnation_lock(home->config->state_dir, "deck", &lock, home->why, sizeof home->why);
    become_self();
    assert_int_equal(err, TL_PERM);
    assert_false(lock.is_held);
}

/* The lock file can be opened, and the number cannot be written. */
static void
incarnation_that_cannot_be_written_is_not_given(void **state)
{
    struct home *home = *state;
    char path[HOME_PATH_CAP];
    char before[HOME_PATH_CAP];
    char after[HOME_PATH_CAP];

    expect(home, 0, WALL, WALL);
    home_read(home_path(home, "state/deck.incarnation", path), before);
    assert_int_equal(chmod(path, 0644), 0);
    assert_int_equal(chmod(home_path(home, "state/deck.taking", path), 0666), 0);
    assert_int_equal(chmod(home->config->state_dir, 0555), 0);
    assert_int_equal(chmod(home->dir, 0755), 0);
    assert_true(become_other());
    expect_refused(home, 0, TL_PERM, "cannot be written");
    become_self();
    home_read(home_path(home, "state/deck.incarnation", path), after);
    assert_string_equal(before, after);
}

static void
incarnation_without_a_folder_is_refused(void **state)
{
    struct home *home = *state;
    char path[HOME_PATH_CAP];

    (void)snprintf(home->config->state_dir, TL_PATH_CAP, "%s/no/state", home->dir);
    expect_refused(home, 0, TL_NOTFOUND, "cannot be made");
    home_write(home_path(home, "file", path), "", 0600);
    (void)snprintf(home->config->state_dir, TL_PATH_CAP, "%s/file", home->dir);
    expect_refused(home, 0, TL_IO, "a file is in its place");
}

static void
incarnation_behind_a_link_is_refused(void **state)
{
    struct home *home = *state;
    char link[HOME_PATH_CAP];

    assert_int_equal(mkdir(home->config->state_dir, 0700), 0);
    assert_int_equal(symlink("/dev/null", home_path(home, "state/deck.taking", link)), 0);
    expect_refused(home, 0, TL_IO, "cannot be opened");
}

/* 8 programs that start at once, each 25 times: 200 numbers, none twice. */
static void
incarnation_of_simultaneous_starts_are_distinct(void **state)
{
    struct home *home = *state;
    enum {
        PROGRAMS = 8,
        STARTS = 25,
        ALL = PROGRAMS * STARTS
    };
    static uint64_t numbers[ALL];
    int pipe_fd[2];

    assert_int_equal(pipe(pipe_fd), 0);
    for (int i = 0; i < PROGRAMS; i++) {
        pid_t child = fork();
        assert_true(child >= 0);
        if (child == 0) {
            uint64_t number = 0;
            bool is_done = true;
            for (int start = 0; start < STARTS && is_done; start++) {
                is_done = take(home, 0, WALL, &number) == TL_OK &&
                          write(pipe_fd[1], &number, sizeof number) == (ssize_t)sizeof number;
            }
            _exit(is_done ? 0 : 1);
        }
    }
    (void)close(pipe_fd[1]);
    size_t got = 0;
    while (got < ALL &&
           read(pipe_fd[0], &numbers[got], sizeof numbers[got]) == (ssize_t)sizeof numbers[got]) {
        got++;
    }
    (void)close(pipe_fd[0]);
    for (int i = 0; i < PROGRAMS; i++) {
        int status = -1;
        assert_true(wait(&status) > 0);
        assert_int_equal(status, 0);
    }
    assert_int_equal(got, ALL);
    for (size_t i = 0; i < got; i++) {
        for (size_t j = 0; j < i; j++) {
            assert_true(numbers[i] != numbers[j]);
        }
    }
}

static void
incarnation_held_by_another_program_is_refused_in_the_end(void **state)
{
    struct home *home = *state;
    char path[HOME_PATH_CAP];

    expect(home, 0, WALL, WALL);
    int fd = open(home_path(home, "state/deck.taking", path), O_RDWR | O_CLOEXEC);
    assert_true(fd >= 0);
    assert_int_equal(flock(fd, LOCK_EX), 0);
    expect_refused(home, 0, TL_AGAIN, "held by another program");
    (void)close(fd);
    expect(home, 0, WALL, WALL + 1);
}

static enum tl_err
lock_deck(struct home *home, struct tl_incarnation_lock *lock)
{
    return tl_incarnation_lock(home->config->state_dir, "deck", lock, home->why, sizeof home->why);
}

static void
lock_of_a_station_is_held_by_one(void **state)
{
    struct home *home = *state;
    struct tl_incarnation_lock first;
    struct tl_incarnation_lock second;
    struct tl_incarnation_lock bridge;
    char word[64];

    assert_int_equal(lock_deck(home, &first), TL_OK);
    assert_true(first.is_held);
    assert_int_equal(lock_deck(home, &second), TL_EXISTS);
    assert_false(second.is_held);
    (void)snprintf(word, sizeof word, "deck runs on this host already (process %ld)",
                   (long)getpid());
    assert_non_null(strstr(home->why, word));
    assert_int_equal(tl_incarnation_lock(home->config->state_dir, "bridge", &bridge, home->why,
                                         sizeof home->why),
                     TL_OK);
    /* Taking a number is another lock: a station takes it while it holds this one. */
    expect(home, 0, WALL, WALL);
    tl_incarnation_unlock(&first);
    assert_false(first.is_held);
    assert_int_equal(lock_deck(home, &second), TL_OK);
    tl_incarnation_unlock(&second);
    tl_incarnation_unlock(&bridge);
}

static void
lock_ends_with_its_program(void **state)
{
    struct home *home = *state;
    struct tl_incarnation_lock lock;
    int ready[2];
    int end[2];
    char byte = 0;

    assert_int_equal(pipe(ready), 0);
    assert_int_equal(pipe(end), 0);
    pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        (void)close(end[1]);
        bool is_locked = lock_deck(home, &lock) == TL_OK && write(ready[1], "x", 1) == 1;
        /* Until the test closes its end; then without unlocking, as a killed program. */
        _exit(is_locked && read(end[0], &byte, 1) == 0 ? 0 : 1);
    }
    assert_int_equal(read(ready[0], &byte, 1), 1);
    assert_int_equal(lock_deck(home, &lock), TL_EXISTS);
    (void)close(end[1]);
    int status = -1;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_int_equal(status, 0);
    assert_int_equal(lock_deck(home, &lock), TL_OK);
    tl_incarnation_unlock(&lock);
    (void)close(ready[0]);
    (void)close(ready[1]);
    (void)close(end[0]);
}

static void
lock_that_was_never_taken_unlocks_nothing(void **state)
{
    struct tl_incarnation_lock lock;

    (void)state;
    memset(&lock, 0, sizeof lock);
    tl_incarnation_unlock(&lock);
    tl_incarnation_unlock(&lock);
    tl_incarnation_unlock(NULL);
    assert_true(fcntl(STDIN_FILENO, F_GETFD) >= 0);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, home_set_up, home_tear_down)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(incarnation_is_above_all_that_is_known),
        TEST(incarnation_without_a_clock_begins_at_one),
        TEST(incarnation_is_saved_before_it_is_given),
        TEST(incarnation_of_each_node_is_its_own),
        TEST(incarnation_file_with_a_wrong_bit_is_refused),
        TEST(incarnation_file_of_other_form_is_refused),
        TEST(incarnation_of_a_damaged_file_goes_on_above_the_number_given),
        TEST(incarnation_has_an_end_that_is_said),
        TEST(incarnation_in_a_folder_that_is_closed_is_refused),
        TEST(incarnation_that_cannot_be_written_is_not_given),
        TEST(incarnation_without_a_folder_is_refused),
        TEST(incarnation_behind_a_link_is_refused),
        TEST(incarnation_of_simultaneous_starts_are_distinct),
        TEST(incarnation_held_by_another_program_is_refused_in_the_end),
        TEST(lock_of_a_station_is_held_by_one),
        TEST(lock_ends_with_its_program),
        cmocka_unit_test(lock_that_was_never_taken_unlocks_nothing),
    };

    /* Closed by a harness, standard input could not show that nothing closes it. */
    if (fcntl(STDIN_FILENO, F_GETFD) < 0 && open("/dev/null", O_RDONLY) != STDIN_FILENO) {
        return 1;
    }
    return cmocka_run_group_tests(tests, NULL, NULL);
}
