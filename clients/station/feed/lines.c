/* SPDX-License-Identifier: Apache-2.0 */
/* lines.c - see lines.h. */
#include "clients/station/feed/lines.h"

#include <string.h>

#include "proto/base/text.h"

void
tl_feed_lines_init(struct tl_feed_lines *lines)
{
    memset(lines, 0, sizeof *lines);
}

/* The word at *at, then the byte `end`, which the line has after its last word too. */
static bool
take_word(const char **at, char end, char *dst, size_t cap)
{
    size_t len = 0;
    while (len < cap && (*at)[len] > ' ' && (*at)[len] <= '~') {
        len++;
    }
    if (len == 0 || len == cap || (*at)[len] != end) {
        return false;
    }
    memcpy(dst, *at, len);
    memset(dst + len, 0, cap - len);
    *at += len + 1;
    return true;
}

/* `text` has len bytes and a NUL, which is the end of the last word only there. */
static bool
read_words(const char *text, size_t len, struct tl_feed_line *line)
{
    const char *at = text;
    return take_word(&at, ' ', line->name, sizeof line->name) &&
           take_word(&at, ' ', line->value, sizeof line->value) &&
           take_word(&at, '\0', line->unit, sizeof line->unit) && at == text + len + 1;
}

/* Judge the line that has ended, and begin the next. */
static bool
end_line(struct tl_feed_lines *lines, struct tl_feed_line *out)
{
    struct tl_feed_line line;
    char text[sizeof lines->held + 1];
    size_t len = lines->used;
    bool too_long = lines->too_long;
    memcpy(text, lines->held, len);
    lines->used = 0;
    lines->too_long = false;
    if (!too_long && len > 0 && text[len - 1] == '\r') {
        len--;
    }
    text[len] = '\0';
    if (len == 0 || text[0] == '#') {
        return false;
    }
    if (!too_long && len <= TL_FEED_LINE_MAX && read_words(text, len, &line)) {
        lines->good++;
        *out = line;
        return true;
    }
    lines->bad++;
    (void)tl_text_plain(lines->last_bad, sizeof lines->last_bad, text, len);
    return false;
}

size_t
tl_feed_lines_take(struct tl_feed_lines *lines, const uint8_t *bytes, size_t len,
                   struct tl_feed_line *out, bool *found)
{
    *found = false;
    for (size_t i = 0; i < len; i++) {
        if (bytes[i] == '\n') {
            *found = end_line(lines, out);
        } else if (lines->used < sizeof lines->held) {
            lines->held[lines->used++] = (char)bytes[i];
        } else {
            lines->too_long = true;
        }
        if (*found) {
            return i + 1;
        }
    }
    return len;
}

bool
tl_feed_lines_end(struct tl_feed_lines *lines, struct tl_feed_line *out)
{
    return end_line(lines, out);
}
