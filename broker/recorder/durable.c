/* SPDX-License-Identifier: Apache-2.0 */
/* durable.c - see durable.h. */
#include "broker/recorder/durable.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum {
    PIECE_LEN = 8192
};

enum tl_err
tl_durable_log(sqlite3 *db)
{
    unsigned char piece[PIECE_LEN];
    sqlite3_file *log = NULL;
    sqlite3_int64 len = 0;
    if (sqlite3_file_control(db, "main", SQLITE_FCNTL_JOURNAL_POINTER, &log) != SQLITE_OK) {
        return TL_IO;
    }
    if (log == NULL || log->pMethods == NULL) {
        return TL_OK;
    }
    int code = log->pMethods->xFileSize(log, &len);
    for (sqlite3_int64 at = 0; at < len && code == SQLITE_OK; at += PIECE_LEN) {
        int count = len - at < PIECE_LEN ? (int)(len - at) : PIECE_LEN;
        code = log->pMethods->xRead(log, piece, count, at);
        if (code == SQLITE_OK) {
            code = log->pMethods->xWrite(log, piece, count, at);
        }
    }
    if (code == SQLITE_OK && len > 0) {
        code = log->pMethods->xSync(log, SQLITE_SYNC_FULL);
    }
    return code == SQLITE_OK ? TL_OK : TL_IO;
}

enum tl_err
tl_durable_folder(const char *folder)
{
    char parent[PATH_MAX];
    int len = snprintf(parent, sizeof parent, "%s/..", folder);
    if (len < 0 || (size_t)len >= sizeof parent) {
        return TL_FULL;
    }
    int fd = open(parent, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0) {
        return TL_IO;
    }
    enum tl_err err = fsync(fd) == 0 ? TL_OK : TL_IO;
    int saved = errno;
    (void)close(fd);
    errno = saved;
    return err;
}
