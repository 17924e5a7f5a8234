/* SPDX-License-Identifier: Apache-2.0 */
/*
 * file - whole small files: read, replace, and check that a secret is private
 *
 * For configuration, keys and saved state; not for the record (that is SQLite's job). All of it
 * blocks on the disk, so none of it is called from a loop after start-up except by the recorder.
 */
#ifndef PROTO_BASE_FILE_H
#define PROTO_BASE_FILE_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

#include "proto/base/err.h"

/*
 * Read a whole regular file into the caller's memory.
 *
 * path: borrowed; a symbolic link is followed. max: bytes that buf holds. buf: taken; undefined on
 * error. len: out, bytes read, 0 for an empty file.
 * Errors: TL_NOTFOUND no such file; TL_PERM not readable by us; TL_BADARG not a regular file;
 * TL_FULL longer than max; TL_IO anything else.
 */
TL_MUST_USE enum tl_err tl_file_read(const char *path, size_t max, void *buf, size_t *len);

/*
 * Replace a file so that a reader, or we after a power cut, find the old content or the new and
 * never a mixture. Writes path + ".XXXXXX" in the same directory, syncs it, renames it over path
 * and syncs the directory.
 *
 * path: borrowed, below PATH_MAX - 8 bytes; the file need not exist. mode: exact permission bits,
 * whatever the umask. data: borrowed, len bytes; may be NULL only if len is 0.
 * Errors: TL_NOTFOUND no such directory; TL_PERM not allowed there; TL_BADARG path too long or
 * names a directory; TL_FULL no space; TL_IO anything else. The old file is untouched on error,
 * with one exception: TL_IO from the last sync leaves the new content in place, perhaps not yet
 * durable.
 */
TL_MUST_USE enum tl_err tl_file_write_atomic(const char *path, mode_t mode, const void *data,
                                             size_t len);

/*
 * Write all of data to an open descriptor that blocks, over interruptions and short writes.
 * Errors: TL_PERM, TL_FULL no space, TL_IO anything else; how much was written is not told.
 */
TL_MUST_USE enum tl_err tl_file_write_all(int fd, const void *data, size_t len);

/*
 * Tell whether only we can read a file: it is a regular file (a symbolic link is not), owned by the
 * effective user, without any permission for group or others.
 *
 * path: borrowed. Returns false also when it cannot be examined.
 */
TL_MUST_USE bool tl_file_is_private(const char *path);

#endif
