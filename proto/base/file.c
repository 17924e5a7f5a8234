/* SPDX-License-Identifier: Apache-2.0 */
/*
 * file - the system calls behind whole-file reads and replacements
 */
#include "proto/base/file.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char temp_suffix[] = ".XXXXXX";

/* A whole file has two more ways to fail than a system call at large. */
static enum tl_err
map_errno(int err)
{
    switch (err) {
    case ENAMETOOLONG:
    case EISDIR:
    case ENOTDIR:
        return TL_BADARG;
    case EFBIG:
        return TL_FULL;
    default:
        return tl_err_of_errno(err);
    }
}

/* Read until max bytes or the end; *len is what came. */
static enum tl_err
read_all(int fd, size_t max, void *buf, size_t *len)
{
    uint8_t *at = buf;
    size_t got = 0;

    while (got < max) {
        ssize_t done = read(fd, at + got, max - got);
        if (done < 0 && errno == EINTR) {
            continue;
        }
        if (done < 0) {
            return map_errno(errno);
        }
        if (done == 0) {
            break;
        }
        got += (size_t)done;
    }
    *len = got;
    return TL_OK;
}

/* A file can grow after its size was asked for, so the end is looked for, not computed. */
static enum tl_err
read_whole(int fd, size_t max, void *buf, size_t *len)
{
    struct stat st;
    uint8_t extra;
    size_t got = 0;
    size_t over = 0;

    if (fstat(fd, &st) != 0) {
        return map_errno(errno);
    }
    if (!S_ISREG(st.st_mode)) {
        return TL_BADARG;
    }
    enum tl_err err = read_all(fd, max, buf, &got);
    if (err == TL_OK) {
        err = read_all(fd, 1, &extra, &over);
    }
    if (err != TL_OK) {
        return err;
    }
    if (over != 0) {
        return TL_FULL;
    }
    *len = got;
    return TL_OK;
}

enum tl_err
tl_file_read(const char *path, size_t max, void *buf, size_t *len)
{
    /* Not blocking, or opening a FIFO would wait for its writer. */
    int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);

    if (fd < 0) {
        return map_errno(errno);
    }
    enum tl_err err = read_whole(fd, max, buf, len);
    (void)close(fd);
    return err;
}

enum tl_err
tl_file_write_all(int fd, const void *data, size_t len)
{
    const uint8_t *at = data;

    while (len > 0) {
        ssize_t done = write(fd, at, len);
        if (done < 0 && errno == EINTR) {
            continue;
        }
        if (done <= 0) {
            return done < 0 ? map_errno(errno) : TL_IO;
        }
        at += done;
        len -= (size_t)done;
    }
    return TL_OK;
}

/* Fill an open temporary file and close it, durable. Closes fd in every case. */
static enum tl_err
fill_temp(int fd, mode_t mode, const void *data, size_t len)
{
    enum tl_err err = tl_file_write_all(fd, data, len);

    if (err == TL_OK && (fchmod(fd, mode) != 0 || fsync(fd) != 0)) {
        err = map_errno(errno);
    }
    if (close(fd) != 0 && err == TL_OK) {
        err = map_errno(errno);
    }
    return err;
}

/* Sync the directory that holds path, so that the rename survives a power cut. */
static enum tl_err
sync_directory(const char *path)
{
    char dir[PATH_MAX];
    enum tl_err err = TL_OK;

    (void)snprintf(dir, sizeof dir, "%s", path);
    char *slash = strrchr(dir, '/');
    if (slash == NULL) {
        (void)snprintf(dir, sizeof dir, ".");
    } else {
        slash[slash == dir ? 1 : 0] = '\0';
    }
    int fd = open(dir, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0) {
        return TL_IO;
    }
    if (fsync(fd) != 0) {
        err = TL_IO;
    }
    (void)close(fd);
    return err;
}

enum tl_err
tl_file_write_atomic(const char *path, mode_t mode, const void *data, size_t len)
{
    char temp[PATH_MAX];

    if (strlen(path) + sizeof temp_suffix > sizeof temp) {
        return TL_BADARG;
    }
    (void)snprintf(temp, sizeof temp, "%s%s", path, temp_suffix);
    int fd = mkostemp(temp, O_CLOEXEC);
    if (fd < 0) {
        return map_errno(errno);
    }
    enum tl_err err = fill_temp(fd, mode, data, len);
    if (err == TL_OK && rename(temp, path) != 0) {
        err = map_errno(errno);
    }
    if (err != TL_OK) {
        (void)unlink(temp);
        return err;
    }
    return sync_directory(path);
}

bool
tl_file_is_private(const char *path)
{
    struct stat st;

    return lstat(path, &st) == 0 && S_ISREG(st.st_mode) && st.st_uid == geteuid() &&
           (st.st_mode & (S_IRWXG | S_IRWXO)) == 0;
}
