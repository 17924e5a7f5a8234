/* SPDX-License-Identifier: Apache-2.0 */
/*
 * log - format, make plain, write once
 *
 * The whole line passes through tl_text_plain after formatting, so no caller can forget it.
 */
#include "proto/base/log.h"

#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "proto/base/text.h"

static const char cut_mark[] = "...";

static const char *
name_level(enum tl_log_level level)
{
    switch (level) {
    case TL_LOG_ERROR:
        return "error";
    case TL_LOG_WARNING:
        return "warning";
    case TL_LOG_NOTICE:
        return "notice";
    case TL_LOG_INFO:
        return "info";
    }
    return "error";
}

/* Bytes held in a buffer of cap bytes after vsnprintf returned count. */
static size_t
clip_count(int count, size_t cap)
{
    if (count < 0) {
        return 0;
    }
    return (size_t)count < cap ? (size_t)count : cap - 1;
}

static void
write_line(const char *line, size_t len)
{
    while (len > 0) {
        ssize_t done = write(STDERR_FILENO, line, len);
        if (done < 0 && errno == EINTR) {
            continue;
        }
        if (done <= 0) {
            return;
        }
        line += done;
        len -= (size_t)done;
    }
}

void
tl_log(enum tl_log_level level, const char *id, const char *fmt, ...)
{
    int saved = errno;
    /* Twice the line, so that a cut made in raw bytes is always cut again below, on a character. */
    char raw[2 * TL_LOG_LINE_MAX];
    char line[TL_LOG_LINE_MAX + 1];
    va_list args;

    size_t used =
        clip_count(snprintf(raw, sizeof raw, "%s %s ", name_level(level), id), sizeof raw);
    va_start(args, fmt);
    used += clip_count(vsnprintf(raw + used, sizeof raw - used, fmt, args), sizeof raw - used);
    va_end(args);

    size_t room = TL_LOG_LINE_MAX - 1; /* for all but the newline */
    size_t len = tl_text_plain(line, room + 1, raw, used);
    if (used > room) {
        len = tl_text_plain(line, room + 1 - strlen(cut_mark), raw, used);
        memcpy(line + len, cut_mark, strlen(cut_mark));
        len += strlen(cut_mark);
    }
    line[len] = '\n';
    write_line(line, len + 1);
    errno = saved;
}
