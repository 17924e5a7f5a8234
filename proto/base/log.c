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

#define CUT_LEN (sizeof cut_mark - 1)
/* Made plain, text gets shorter or stays: more than a line is taken, so that little is lost. */
#define RAW_MAX (2 * TL_LOG_LINE_MAX)

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
    char raw[RAW_MAX];
    char plain[RAW_MAX];
    char line[TL_LOG_LINE_MAX];
    va_list args;

    size_t used =
        clip_count(snprintf(raw, sizeof raw, "%s %s ", name_level(level), id), sizeof raw);
    va_start(args, fmt);
    used += clip_count(vsnprintf(raw + used, sizeof raw - used, fmt, args), sizeof raw - used);
    va_end(args);

    size_t whole = tl_text_plain(plain, sizeof plain, raw, used);
    size_t len = tl_text_plain(line, sizeof line, plain, whole);
    if (len < whole || used == sizeof raw - 1) {
        len = tl_text_plain(line, sizeof line - CUT_LEN, plain, whole);
        memcpy(line + len, cut_mark, sizeof cut_mark);
        len += CUT_LEN;
    }
    line[len] = '\n'; /* in place of the end mark */
    write_line(line, len + 1);
    errno = saved;
}
