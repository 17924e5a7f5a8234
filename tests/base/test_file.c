/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_file - whole-file reads, replacements that never mix, and private files
 *
 * Each test has a fresh folder. Tests of permissions need a user whom the kernel does not exempt:
 * as root they borrow another effective user, and as any other user the ownership test is skipped.
 */
#include <dirent.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "proto/base/file.h"

#define PATH_CAP      256
#define OTHER_USER    65534U
#define LEN_UNTOUCHED 12345U

struct room {
    char dir[64];
    char path[PATH_CAP]; /* of the file under test, absent at first */
};

static int
set_up(void **state)
{
    struct room *room = calloc(1, sizeof *room);

    assert_non_null(room);
    (void)snprintf(room->dir, sizeof room->dir, "/tmp/trapline-file-XXXXXX");
    assert_non_null(mkdtemp(room->dir));
    (void)snprintf(room->path, sizeof room->path, "%s/f", room->dir);
    *state = room;
    return 0;
}

static int
tear_down(void **state)
{
    struct room *room = *state;
    DIR *dir = opendir(room->dir);

    assert_non_null(dir);
    for (struct dirent *entry = readdir(dir); entry != NULL; entry = readdir(dir)) {
        char path[PATH_CAP + 64];
        (void)snprintf(path, sizeof path, "%s/%s", room->dir, entry->d_name);
        (void)remove(path);
    }
    (void)closedir(dir);
    assert_int_equal(rmdir(room->dir), 0);
    free(room);
    return 0;
}

static size_t
count_entries(const char *path)
{
    size_t count = 0;
    DIR *dir = opendir(path);

    assert_non_null(dir);
    while (readdir(dir) != NULL) {
        count++;
    }
    (void)closedir(dir);
    return count - 2; /* "." and ".." */
}

static void
write_text(const char *path, const char *text)
{
    assert_int_equal(tl_file_write_atomic(path, 0600, text, strlen(text)), TL_OK);
}

static void
assert_content(const char *path, const char *want)
{
    char got[64] = "";
    size_t len = 0;

    assert_int_equal(tl_file_read(path, sizeof got - 1, got, &len), TL_OK);
    got[len] = '\0';
    assert_string_equal(got, want);
}

static void
assert_read_fails(const char *path, size_t max, enum tl_err want)
{
    char got[64];
    size_t len = LEN_UNTOUCHED;

    assert_true(max <= sizeof got);
    assert_int_equal(tl_file_read(path, max, got, &len), want);
    assert_int_equal(len, LEN_UNTOUCHED);
}

static void
file_written_is_read_back(void **state)
{
    struct room *room = *state;

    write_text(room->path, "wire 3");
    assert_content(room->path, "wire 3");
    write_text(room->path, "");
    assert_content(room->path, "");
    assert_int_equal(tl_file_write_atomic(room->path, 0600, NULL, 0), TL_OK);
    assert_content(room->path, "");
}

static void
file_in_the_working_directory_is_written(void **state)
{
    struct room *room = *state;
    char before[PATH_CAP];

    assert_non_null(getcwd(before, sizeof before));
    assert_int_equal(chdir(room->dir), 0);
    write_text("f", "here");
    assert_int_equal(chdir(before), 0);
    assert_content(room->path, "here");
}

static void
file_that_just_fits_is_read_and_one_byte_more_is_full(void **state)
{
    struct room *room = *state;

    write_text(room->path, "12345");
    char got[5];
    size_t len = 0;
    assert_int_equal(tl_file_read(room->path, 5, got, &len), TL_OK);
    assert_int_equal(len, 5);
    assert_memory_equal(got, "12345", 5);
    assert_read_fails(room->path, 4, TL_FULL);
    assert_read_fails(room->path, 0, TL_FULL);
}

static void
file_absent_is_not_found(void **state)
{
    struct room *room = *state;

    assert_read_fails(room->path, 8, TL_NOTFOUND);
}

static void
file_that_is_not_regular_is_not_read(void **state)
{
    struct room *room = *state;

    assert_read_fails(room->dir, 8, TL_BADARG);
    assert_read_fails("/dev/null", 8, TL_BADARG);
    assert_int_equal(mkfifo(room->path, 0600), 0);
    assert_read_fails(room->path, 8, TL_BADARG);
}

static void
file_mode_is_exact_whatever_the_umask(void **state)
{
    struct room *room = *state;
    struct stat st;
    mode_t before = umask(0077);

    assert_int_equal(tl_file_write_atomic(room->path, 0644, "x", 1), TL_OK);
    (void)umask(before);
    assert_int_equal(stat(room->path, &st), 0);
    assert_int_equal(st.st_mode & 07777, 0644);
    assert_int_equal(tl_file_write_atomic(room->path, 0600, "x", 1), TL_OK);
    assert_int_equal(stat(room->path, &st), 0);
    assert_int_equal(st.st_mode & 07777, 0600);
}

/* A reader that opened the old file keeps the old content: it was replaced, not rewritten. */
static void
file_replaced_is_another_file(void **state)
{
    struct room *room = *state;
    char old[8] = "";

    write_text(room->path, "old");
    FILE *reader = fopen(room->path, "r");
    assert_non_null(reader);
    write_text(room->path, "new");
    assert_non_null(fgets(old, sizeof old, reader));
    (void)fclose(reader);
    assert_string_equal(old, "old");
    assert_content(room->path, "new");
    assert_int_equal(count_entries(room->dir), 1);
}

/* The size limit of the process stands for a full disk; the write fails half way. */
static void
file_is_untouched_when_the_write_fails_half_way(void **state)
{
    struct room *room = *state;
    static const char big[1000] = {'b'};
    struct rlimit before;

    write_text(room->path, "old");
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    struct rlimit small = {.rlim_cur = 100, .rlim_max = before.rlim_max};
    void (*handler)(int) = signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    enum tl_err err = tl_file_write_atomic(room->path, 0600, big, sizeof big);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    (void)signal(SIGXFSZ, handler);
    assert_int_equal(err, TL_FULL);
    assert_content(room->path, "old");
    assert_int_equal(count_entries(room->dir), 1);
}

static void
file_over_a_directory_is_refused_and_leaves_nothing(void **state)
{
    struct room *room = *state;

    assert_int_equal(mkdir(room->path, 0700), 0);
    assert_int_equal(tl_file_write_atomic(room->path, 0600, "x", 1), TL_BADARG);
    assert_int_equal(count_entries(room->dir), 1);
    assert_int_equal(count_entries(room->path), 0);
}

static void
file_in_no_directory_is_not_found(void **state)
{
    struct room *room = *state;
    char path[PATH_CAP + 8];

    (void)snprintf(path, sizeof path, "%s/g/h", room->dir);
    assert_int_equal(tl_file_write_atomic(path, 0600, "x", 1), TL_NOTFOUND);
    write_text(room->path, "a file");
    (void)snprintf(path, sizeof path, "%s/h", room->path);
    assert_int_equal(tl_file_write_atomic(path, 0600, "x", 1), TL_BADARG);
}

static void
file_path_too_long_is_a_bad_argument(void **state)
{
    char path[5000];

    (void)state;
    memset(path, 'a', sizeof path);
    path[sizeof path - 1] = '\0';
    assert_int_equal(tl_file_write_atomic(path, 0600, "x", 1), TL_BADARG);
    assert_read_fails(path, 8, TL_BADARG);
}

static void
file_not_permitted_is_said(void **state)
{
    struct room *room = *state;
    uid_t user = geteuid();

    write_text(room->path, "secret");
    assert_int_equal(chmod(room->path, 0), 0);
    assert_int_equal(chmod(room->dir, 0555), 0);
    if (user == 0) {
        assert_int_equal(seteuid(OTHER_USER), 0);
    }
    char got[8];
    size_t len = LEN_UNTOUCHED;
    enum tl_err read_err = tl_file_read(room->path, sizeof got, got, &len);
    enum tl_err write_err = tl_file_write_atomic(room->path, 0600, "x", 1);
    assert_int_equal(seteuid(user), 0);
    assert_int_equal(chmod(room->dir, 0700), 0);
    assert_int_equal(read_err, TL_PERM);
    assert_int_equal(len, LEN_UNTOUCHED);
    assert_int_equal(write_err, TL_PERM);
}

struct mode_row {
    mode_t mode;
    bool want;
};

static const struct mode_row mode_rows[] = {
    {0600, true},  {0400, true},  {0700, true},  {0000, true},  {0640, false}, {0620, false},
    {0610, false}, {0604, false}, {0602, false}, {0601, false}, {0644, false}, {0777, false},
};

static void
file_private_is_a_matter_of_mode(void **state)
{
    struct room *room = *state;

    write_text(room->path, "key");
    for (size_t i = 0; i < sizeof mode_rows / sizeof mode_rows[0]; i++) {
        assert_int_equal(chmod(room->path, mode_rows[i].mode), 0);
        if (tl_file_is_private(room->path) != mode_rows[i].want) {
            fail_msg("mode %04o: want %d", (unsigned)mode_rows[i].mode, mode_rows[i].want);
        }
    }
}

static void
file_private_is_a_regular_file_that_exists(void **state)
{
    struct room *room = *state;
    char link_path[PATH_CAP + 8];

    assert_false(tl_file_is_private(room->path));
    assert_false(tl_file_is_private(room->dir)); /* mode 0700, ours, a directory */
    write_text(room->path, "key");
    assert_true(tl_file_is_private(room->path));
    (void)snprintf(link_path, sizeof link_path, "%s/link", room->dir);
    assert_int_equal(symlink("f", link_path), 0);
    assert_false(tl_file_is_private(link_path));
}

static void
file_private_belongs_to_us(void **state)
{
    struct room *room = *state;

    if (geteuid() != 0) {
        print_message("only root can make a file of another user\n");
        skip();
    }
    write_text(room->path, "key");
    assert_true(tl_file_is_private(room->path));
    assert_int_equal(chown(room->path, OTHER_USER, OTHER_USER), 0);
    assert_false(tl_file_is_private(room->path));
}

#define IN_A_ROOM(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        IN_A_ROOM(file_written_is_read_back),
        IN_A_ROOM(file_in_the_working_directory_is_written),
        IN_A_ROOM(file_that_just_fits_is_read_and_one_byte_more_is_full),
        IN_A_ROOM(file_absent_is_not_found),
        IN_A_ROOM(file_that_is_not_regular_is_not_read),
        IN_A_ROOM(file_mode_is_exact_whatever_the_umask),
        IN_A_ROOM(file_replaced_is_another_file),
        IN_A_ROOM(file_is_untouched_when_the_write_fails_half_way),
        IN_A_ROOM(file_over_a_directory_is_refused_and_leaves_nothing),
        IN_A_ROOM(file_in_no_directory_is_not_found),
        IN_A_ROOM(file_path_too_long_is_a_bad_argument),
        IN_A_ROOM(file_not_permitted_is_said),
        IN_A_ROOM(file_private_is_a_matter_of_mode),
        IN_A_ROOM(file_private_is_a_regular_file_that_exists),
        IN_A_ROOM(file_private_belongs_to_us),
    };

    return cmocka_run_group_tests_name("file", tests, NULL, NULL);
}
