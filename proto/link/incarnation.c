/* SPDX-License-Identifier: Apache-2.0 */
/*
 * incarnation - the saved number, the lock around taking one, and the lock of a station's life
 */
#include "proto/link/incarnation.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <limits.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include <sodium.h>

#include "proto/base/file.h"

enum {
    STATE_FILE_CAP = 160,
    CHECK_LEN = 8,
    CHECK_HEX = 16,
    WAIT_STEP_MS = 10,
    WAIT_STEPS = 200 /* 2 s in all; the file is held for as long as one fsync takes */
};

struct place {
    const char *dir;
    const char *node;
    char *why;
    size_t cap;
};

static enum tl_err say(const struct place *place, enum tl_err err, const char *fmt, ...)
    __attribute__((format(printf, 3, 4)));

static enum tl_err
say(const struct place *place, enum tl_err err, const char *fmt, ...)
{
    va_list args;

    va_start(args, fmt);
    (void)vsnprintf(place->why, place->cap, fmt, args);
    va_end(args);
    return err;
}

static enum tl_err
make_folder(const struct place *place)
{
    struct stat st;

    if (mkdir(place->dir, S_IRWXU) == 0) {
        return TL_OK;
    }
    int reason = errno;
    if (reason == EEXIST && stat(place->dir, &st) == 0 && S_ISDIR(st.st_mode)) {
        return TL_OK;
    }
    enum tl_err err = tl_err_of_errno(reason);
    return say(place, err, "state folder %s cannot be made (%s); make it with mkdir -m 700",
               place->dir, reason == EEXIST ? "a file is in its place" : tl_err_text(err));
}

static enum tl_err
make_path(const struct place *place, const char *suffix, char path[PATH_MAX])
{
    int len = snprintf(path, PATH_MAX, "%s/%s.%s", place->dir, place->node, suffix);

    if (len < 0 || len >= PATH_MAX) {
        return say(place, TL_IO, "state folder %.80s... has too long a path; move it", place->dir);
    }
    return TL_OK;
}

static enum tl_err
open_lock(const struct place *place, const char *path, int *fd)
{
    *fd = open(path, O_RDWR | O_CREAT | O_NOFOLLOW | O_CLOEXEC, S_IRUSR | S_IWUSR);
    if (*fd >= 0) {
        return TL_OK;
    }
    enum tl_err err = tl_err_of_errno(errno);
    return say(place, err, "%s cannot be opened (%s); give the folder to the user that runs this",
               path, tl_err_text(err));
}

static void
wait_a_step(void)
{
    const struct timespec step = {.tv_nsec = WAIT_STEP_MS * 1000000L};

    (void)nanosleep(&step, NULL);
}

/* Lock an open file; steps: how often to try again before giving up with TL_AGAIN. */
static enum tl_err
lock_fd(int fd, unsigned steps)
{
    for (unsigned i = 0; flock(fd, LOCK_EX | LOCK_NB) != 0; i++) {
        if (errno != EWOULDBLOCK && errno != EINTR) {
            return TL_IO;
        }
        if (i >= steps) {
            return TL_AGAIN;
        }
        wait_a_step();
    }
    return TL_OK;
}

/* Write the line of a number, with a check over all before it. Returns its length. */
static size_t
format_line(const struct place *place, uint64_t number, char line[STATE_FILE_CAP])
{
    uint8_t check[crypto_generichash_BYTES_MIN];
    char hex[CHECK_HEX + 1];
    int head = snprintf(line, STATE_FILE_CAP, "trapline-incarnation 1 %.23s %" PRIu64 " ",
                        place->node, number);
    size_t len = head < 0 ? 0 : (size_t)head; /* far below the cap: 23 + 20 + 25 bytes */

    (void)crypto_generichash(check, sizeof check, (const uint8_t *)line, len, NULL, 0);
    (void)sodium_bin2hex(hex, sizeof hex, check, CHECK_LEN);
    (void)snprintf(line + len, STATE_FILE_CAP - len, "%s\n", hex);
    return len + CHECK_HEX + 1;
}

/* The number in a line, if the line is exactly what we write for it; else 0. */
static uint64_t
parse_line(const struct place *place, const char *text, size_t len)
{
    char again[STATE_FILE_CAP];
    char prefix[STATE_FILE_CAP];
    uint64_t number = 0;
    int head = snprintf(prefix, sizeof prefix, "trapline-incarnation 1 %.23s ", place->node);

    if (head < 0 || len < (size_t)head || memcmp(text, prefix, (size_t)head) != 0) {
        return 0;
    }
    for (size_t i = (size_t)head; i < len && text[i] >= '0' && text[i] <= '9'; i++) {
        /* More digits than fit wrap round, and then do not read the same again. */
        number = number * 10 + (uint64_t)(text[i] - '0');
    }
    size_t want = format_line(place, number, again);
    return want == len && memcmp(again, text, len) == 0 ? number : 0;
}

/* The last number taken; 0 when there is no file, or when `is_forced` and it cannot be trusted. */
static enum tl_err
read_saved(const struct place *place, const char *path, bool is_forced, uint64_t *saved)
{
    char text[STATE_FILE_CAP];
    size_t len = 0;
    enum tl_err err = tl_file_read(path, sizeof text, text, &len);

    *saved = 0;
    if (err == TL_NOTFOUND) {
        return TL_OK;
    }
    if (err != TL_OK && err != TL_FULL) {
        return say(place, err == TL_PERM ? err : TL_IO,
                   "%s cannot be read (%s); check its owner and the disk", path, tl_err_text(err));
    }
    *saved = err == TL_FULL ? 0 : parse_line(place, text, len);
    if (*saved == 0 && !is_forced) {
        return say(place, TL_MALFORMED,
                   "%s is damaged, so the last incarnation of %s is not known; start with "
                   "--incarnation-above N, where N is at least the highest that the validators "
                   "have seen",
                   path, place->node);
    }
    return TL_OK;
}

static uint64_t
greater(uint64_t a, uint64_t b)
{
    return a > b ? a : b;
}

/* What the new number must exceed, and reach. */
struct bounds {
    uint64_t above;
    uint64_t wall_ms;
};

/* With the lock held. */
static enum tl_err
advance(const struct place *place, const struct bounds *bounds, uint64_t *out)
{
    char path[PATH_MAX];
    char line[STATE_FILE_CAP];
    uint64_t saved = 0;
    enum tl_err err = make_path(place, "incarnation", path);

    if (err == TL_OK) {
        err = read_saved(place, path, bounds->above > 0, &saved);
    }
    if (err != TL_OK) {
        return err;
    }
    uint64_t floor = greater(saved, bounds->above);
    if (floor >= INT64_MAX || bounds->wall_ms > INT64_MAX) { /* what a record can hold */
        return say(place, TL_BADARG,
                   "%s has no higher incarnation left; correct the number given "
                   "with --incarnation-above",
                   place->node);
    }
    uint64_t number = greater(floor + 1, bounds->wall_ms);
    size_t len = format_line(place, number, line);
    err = tl_file_write_atomic(path, S_IRUSR | S_IWUSR, line, len);
    if (err != TL_OK) {
        return say(place, err == TL_BADARG ? TL_IO : err,
                   "%s cannot be written (%s); check the folder's owner and the disk", path,
                   tl_err_text(err));
    }
    *out = number;
    return TL_OK;
}

/* NOLINTBEGIN(readability-*,bugprone-easily-*): the parameters are the contract's */
enum tl_err
tl_incarnation_take(const char *state_dir, const char *node, uint64_t above, uint64_t wall_ms,
                    uint64_t *out, char *why, size_t cap)
/* NOLINTEND(readability-*,bugprone-easily-*) */
{
    const struct place place = {state_dir, node, why, cap};
    char path[PATH_MAX];
    int fd = -1;
    enum tl_err err = sodium_init() < 0 ? say(&place, TL_IO,
                                              "the cryptographic library does not "
                                              "start")
                                        : make_folder(&place);

    if (err == TL_OK) {
        err = make_path(&place, "taking", path);
    }
    if (err == TL_OK) {
        err = open_lock(&place, path, &fd);
    }
    if (err != TL_OK) {
        return err;
    }
    err = lock_fd(fd, WAIT_STEPS);
    if (err == TL_OK) {
        err = advance(&place, &(struct bounds){above, wall_ms}, out);
    } else {
        err = say(&place, err, "%s is held by another program for more than 2 s; end that program",
                  path);
    }
    (void)close(fd);
    return err;
}

/* Who holds a lock, for the sentence only; 0 if it cannot be told. */
static long
read_holder(int fd)
{
    char text[24] = "";
    ssize_t len = pread(fd, text, sizeof text - 1, 0);
    long holder = len > 0 ? strtol(text, NULL, 10) : 0;

    return holder > 0 ? holder : 0;
}

static void
note_holder(int fd)
{
    char text[24];
    int len = snprintf(text, sizeof text, "%ld\n", (long)getpid());

    ssize_t done = ftruncate(fd, 0) == 0 ? pwrite(fd, text, (size_t)len, 0) : -1;
    (void)
        done; /* the lock is the file's, not its content's: a failure costs a number in a sentence */
}

/* NOLINTBEGIN(readability-*,bugprone-easily-*): the parameters are the contract's */
enum tl_err
tl_incarnation_lock(const char *state_dir, const char *node, struct tl_incarnation_lock *lock,
                    char *why, size_t cap)
/* NOLINTEND(readability-*,bugprone-easily-*) */
{
    const struct place place = {state_dir, node, why, cap};
    char path[PATH_MAX];
    int fd = -1;
    enum tl_err err = make_folder(&place);

    *lock = (struct tl_incarnation_lock){.is_held = false, .fd = -1};
    if (err == TL_OK) {
        err = make_path(&place, "lock", path);
    }
    if (err == TL_OK) {
        err = open_lock(&place, path, &fd);
    }
    if (err != TL_OK) {
        return err;
    }
    err = lock_fd(fd, 0);
    if (err == TL_OK) {
        note_holder(fd);
        *lock = (struct tl_incarnation_lock){.is_held = true, .fd = fd};
        return TL_OK;
    }
    if (err == TL_AGAIN) {
        err = say(&place, TL_EXISTS,
                  "%s runs on this host already (process %ld); use that one, or end it first", node,
                  read_holder(fd));
    } else {
        err = say(&place, err, "%s cannot be locked; put the state folder on a local disk", path);
    }
    (void)close(fd);
    return err;
}

void
tl_incarnation_unlock(struct tl_incarnation_lock *lock)
{
    if (lock != NULL && lock->is_held) {
        (void)close(lock->fd);
        *lock = (struct tl_incarnation_lock){.is_held = false, .fd = -1};
    }
}
