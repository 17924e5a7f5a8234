/* SPDX-License-Identifier: Apache-2.0 */
/*
 * log - format, make plain, write once
 *
 * The whole text passes through tl_text_plain after formatting, so no caller can forget it. What is
 * plain has no control bytes: for JSON (RFC 8259, section 7) only '"' and '\\' are left to escape.
 */
#include "proto/base/log.h"

#include <errno.h>
#include <inttypes.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "proto/base/text.h"

static const char cut_mark[] = "...";

#define CUT_LEN (sizeof cut_mark - 1)
/* Made plain, text gets shorter or stays: more than a line is taken, so that little is lost. */
#define RAW_MAX (2 * TL_LOG_LINE_MAX)

enum {
    HEAD_CAP = 96, /* level and id; ids are fixed and short */
    WRITTEN_CAP = HEAD_CAP + 2 * TL_LOG_LINE_MAX + 4,
    STREAM_CAP = 48
};

enum form {
    FORM_PLAIN,
    FORM_JOURNAL, /* "<3>" before the line, as in sd-daemon(3) */
    FORM_JSON
};

struct line {
    char text[WRITTEN_CAP];
    size_t len;
};

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

/* As in syslog(3). */
static int
priority_of(enum tl_log_level level)
{
    switch (level) {
    case TL_LOG_ERROR:
        return 3;
    case TL_LOG_WARNING:
        return 4;
    case TL_LOG_NOTICE:
        return 5;
    case TL_LOG_INFO:
        return 6;
    }
    return 3;
}

/* systemd.exec(5), $JOURNAL_STREAM: device and inode of what leads to the journal. */
static bool
leads_to_journal(void)
{
    const char *stream = getenv("JOURNAL_STREAM");
    char ours[STREAM_CAP];
    struct stat st;

    if (stream == NULL || fstat(STDERR_FILENO, &st) != 0) {
        return false;
    }
    (void)snprintf(ours, sizeof ours, "%" PRIuMAX ":%" PRIuMAX, (uintmax_t)st.st_dev,
                   (uintmax_t)st.st_ino);
    return strcmp(stream, ours) == 0;
}

static enum form
find_form(void)
{
    const char *asked = getenv("TRAPLINE_LOG");

    if (asked != NULL && strcmp(asked, "json") == 0) {
        return FORM_JSON;
    }
    if (asked != NULL && strcmp(asked, "plain") == 0) {
        return FORM_PLAIN;
    }
    bool journal = (asked != NULL && strcmp(asked, "journal") == 0) || leads_to_journal();
    return journal ? FORM_JOURNAL : FORM_PLAIN;
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

static void
add(struct line *line, const char *text, size_t len)
{
    size_t left = sizeof line->text - line->len;

    len = len < left ? len : left;
    memcpy(line->text + line->len, text, len);
    line->len += len;
}

static void
add_escaped(struct line *line, const char *text, size_t len)
{
    for (size_t i = 0; i < len; i++) {
        if (text[i] == '"' || text[i] == '\\') {
            add(line, "\\", 1);
        }
        add(line, &text[i], 1);
    }
}

/* Before the text in the journal's form and in JSON; id: NULL for none. */
static void
add_head(struct line *line, enum form form, enum tl_log_level level, const char *id)
{
    char head[HEAD_CAP] = "";
    int len = 0;

    if (form == FORM_JOURNAL) {
        len = snprintf(head, sizeof head, "<%d>", priority_of(level));
    } else if (form == FORM_JSON && id != NULL) {
        len = snprintf(head, sizeof head, "{\"level\":\"%s\",\"id\":\"%s\",\"text\":\"",
                       name_level(level), id);
    } else if (form == FORM_JSON) {
        len = snprintf(head, sizeof head, "{\"level\":\"%s\",\"text\":\"", name_level(level));
    }
    add(line, head, clip_count(len, sizeof head));
}

static void say(enum tl_log_level level, const char *id, const char *fmt, va_list args)
    __attribute__((format(printf, 3, 0)));

static void
say(enum tl_log_level level, const char *id, const char *fmt, va_list args)
{
    enum form form = find_form();
    char raw[RAW_MAX];
    char plain[RAW_MAX];
    char text[TL_LOG_LINE_MAX];
    struct line line = {.len = 0};
    size_t used = 0;

    if (form != FORM_JSON && id != NULL) {
        used = clip_count(snprintf(raw, sizeof raw, "%s %s ", name_level(level), id), sizeof raw);
    }
    used += clip_count(vsnprintf(raw + used, sizeof raw - used, fmt, args), sizeof raw - used);

    size_t whole = tl_text_plain(plain, sizeof plain, raw, used);
    size_t len = tl_text_plain(text, sizeof text, plain, whole);
    if (len < whole || used == sizeof raw - 1) {
        len = tl_text_plain(text, sizeof text - CUT_LEN, plain, whole);
        memcpy(text + len, cut_mark, sizeof cut_mark);
        len += CUT_LEN;
    }
    add_head(&line, form, level, id);
    if (form == FORM_JSON) {
        add_escaped(&line, text, len);
        add(&line, "\"}", 2);
    } else {
        add(&line, text, len);
    }
    add(&line, "\n", 1);
    write_line(line.text, line.len);
}

void
tl_log(enum tl_log_level level, const char *id, const char *fmt, ...)
{
    int saved = errno;
    va_list args;

    va_start(args, fmt);
    say(level, id, fmt, args);
    va_end(args);
    errno = saved;
}

void
tl_log_fault(const char *fmt, ...)
{
    int saved = errno;
    va_list args;

    va_start(args, fmt);
    say(TL_LOG_ERROR, NULL, fmt, args);
    va_end(args);
    errno = saved;
}
