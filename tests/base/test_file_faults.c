/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_file_faults - tl_file_write_atomic when the disk is slow to take, fails, or loses power
 *
 * The linker sends write, fsync and rename of the code under test through the functions here (ld,
 * option --wrap). They note the order of the calls, make each write short, and fail on demand.
 */
#include <errno.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "proto/base/file.h"

#define SHORT_WRITE_BYTES 3U
#define PATH_CAP          256

struct disk {
    char order
        [64];     /* one letter a call: w write, f fsync of a file, r rename, d fsync of a folder */
    char fail_at; /* this letter fails ... */
    int fail_errno; /* ... with this, once */
    bool active;    /* false: the calls of the test itself pass through */
};

/* The linker passes no state to these functions. */
static struct disk disk; // NOLINT(cppcoreguidelines-avoid-non-const-global-variables)

ssize_t __real_write(int fd, const void *data, size_t len);
int __real_fsync(int fd);
int __real_rename(const char *from, const char *to);
ssize_t __wrap_write(int fd, const void *data, size_t len);
int __wrap_fsync(int fd);
int __wrap_rename(const char *from, const char *to);

/* Note a call; true if it is to fail. */
static bool
note_call(char letter)
{
    size_t count = strlen(disk.order);

    if (!disk.active) {
        return false;
    }
    assert_true(count + 1 < sizeof disk.order);
    disk.order[count] = letter;
    if (letter != disk.fail_at) {
        return false;
    }
    disk.fail_at = '\0';
    errno = disk.fail_errno;
    return true;
}

ssize_t
__wrap_write(int fd, const void *data, size_t len)
{
    if (note_call('w')) {
        return -1;
    }
    if (disk.active && len > SHORT_WRITE_BYTES) {
        len = SHORT_WRITE_BYTES;
    }
    return __real_write(fd, data, len);
}

int
__wrap_fsync(int fd)
{
    struct stat st;

    assert_int_equal(fstat(fd, &st), 0);
    return note_call(S_ISDIR(st.st_mode) ? 'd' : 'f') ? -1 : __real_fsync(fd);
}

int
__wrap_rename(const char *from, const char *to)
{
    return note_call('r') ? -1 : __real_rename(from, to);
}

struct row {
    const char *name;
    char fail_at;
    int fail_errno;
    enum tl_err want_err;
    const char *want_order;
    const char *want_content;
};

/* "new text" is 8 bytes: three writes of at most 3. */
static const struct row rows[] = {
    {"no fault", '\0', 0, TL_OK, "wwwfrd", "new text"},
    {"interrupted", 'w', EINTR, TL_OK, "wwwwfrd", "new text"},
    {"disk full", 'w', ENOSPC, TL_FULL, "w", "old"},
    {"quota used up", 'w', EDQUOT, TL_FULL, "w", "old"},
    {"write fails", 'w', EIO, TL_IO, "w", "old"},
    {"sync of the file fails", 'f', EIO, TL_IO, "wwwf", "old"},
    {"sync of the file finds no room", 'f', ENOSPC, TL_FULL, "wwwf", "old"},
    {"rename fails", 'r', EIO, TL_IO, "wwwfr", "old"},
    {"read-only by now", 'r', EROFS, TL_PERM, "wwwfr", "old"},
    {"sync of the folder fails", 'd', ENOSPC, TL_IO, "wwwfrd", "new text"},
};

static void
try_row(const struct row *row, const char *path)
{
    char got[32] = "";
    size_t len = 0;

    assert_int_equal(tl_file_write_atomic(path, 0600, "old", 3), TL_OK);
    disk = (struct disk){.active = true, .fail_at = row->fail_at, .fail_errno = row->fail_errno};
    enum tl_err err = tl_file_write_atomic(path, 0600, "new text", 8);
    disk.active = false;
    assert_int_equal(tl_file_read(path, sizeof got - 1, got, &len), TL_OK);
    if (err != row->want_err || strcmp(disk.order, row->want_order) != 0 ||
        strcmp(got, row->want_content) != 0) {
        fail_msg("row '%s': %s, calls %s, content '%s'", row->name, tl_err_text(err), disk.order,
                 got);
    }
}

static void
file_is_old_or_new_whatever_fails(void **state)
{
    char dir[] = "/tmp/trapline-faults-XXXXXX";
    char path[PATH_CAP];

    (void)state;
    assert_non_null(mkdtemp(dir));
    (void)snprintf(path, sizeof path, "%s/f", dir);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        try_row(&rows[i], path);
    }
    assert_int_equal(unlink(path), 0);
    assert_int_equal(rmdir(dir), 0); /* nothing temporary was left in it */
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(file_is_old_or_new_whatever_fails),
    };

    return cmocka_run_group_tests_name("file faults", tests, NULL, NULL);
}
