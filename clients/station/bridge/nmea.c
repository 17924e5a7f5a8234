/* SPDX-License-Identifier: Apache-2.0 */
/*
 * nmea - framing: what is a sentence, and whose
 *
 *             '\'            '\'               '$' '!'
 *   BETWEEN ------> IN_TAG ------> AFTER_TAG ----------> IN_SENTENCE
 *   BETWEEN ----------------------------------- '$' '!' -> IN_SENTENCE
 *   IN_TAG  -- '$' '!' ----------> AFTER_TAG, tag marked bad
 *   any     -- CR, LF, end of unit -> BETWEEN
 *   IN_SENTENCE -- '$' '!' '\' -> BETWEEN, and the character is looked at again
 */
#include "clients/station/bridge/nmea.h"

#include <string.h>

#define CHECKSUM_LEN  3 /* "*hh" */
#define PRINTABLE_MIN 0x20
#define PRINTABLE_MAX 0x7e

/* Some senders of datagrams put this before the TAG block (IEC 61162-450, from memory). */
static const char datagram_header[6] = {'U', 'd', 'P', 'b', 'C', '\0'};

struct span {
    const char *at;
    size_t len;
};

static bool
is_printable(char c)
{
    return c >= PRINTABLE_MIN && c <= PRINTABLE_MAX;
}

static bool
is_line_end(char c)
{
    return c == '\r' || c == '\n';
}

static bool
is_start(char c)
{
    return c == '$' || c == '!' || c == '\\';
}

static bool
is_address_char(char c)
{
    return (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
}

/* What a source name may hold, so that it is safe to show as it is. */
static bool
is_source_char(char c)
{
    return is_address_char(c) || (c >= 'a' && c <= 'z') || c == '-' || c == '_' || c == '.';
}

/* Value of a hex digit of either case (some senders use small letters), or -1. */
static int
hex_value(char c)
{
    if (c >= '0' && c <= '9') {
        return c - '0';
    }
    if (c >= 'A' && c <= 'F') {
        return c - 'A' + 10;
    }
    return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

/* Cut "*hh" off if it is the end, holds the only '*' and is the checksum. */
static enum tl_nmea_reason
check_sum(struct span *s)
{
    const char *star = s->len > 0 ? memchr(s->at, '*', s->len) : NULL;

    if (star == NULL || (size_t)(star - s->at) + CHECKSUM_LEN != s->len) {
        return TL_NMEA_CHECKSUM_MISSING;
    }
    int high = hex_value(star[1]);
    int low = hex_value(star[2]);

    if (high < 0 || low < 0) {
        return TL_NMEA_CHECKSUM_MISSING;
    }
    s->len = (size_t)(star - s->at);
    return tl_nmea_checksum(s->at, s->len) == high * 16 + low ? TL_NMEA_FINE : TL_NMEA_CHECKSUM_BAD;
}

/* ---- the TAG block ---- */

/* Keep the value of "s:" if that is what the field is; false if the value cannot be a name. */
static bool
read_tag_field(struct tl_nmea_reader *r, struct span field)
{
    if (field.len < 2 || field.at[0] != 's' || field.at[1] != ':') {
        return true; /* time, group, destination and others are not used */
    }
    size_t len = field.len - 2;

    if (len == 0 || len >= sizeof r->tag_source) {
        return false;
    }
    for (size_t i = 0; i < len; i++) {
        if (!is_source_char(field.at[2 + i])) {
            return false;
        }
    }
    memcpy(r->tag_source, field.at + 2, len);
    r->tag_source[len] = '\0';
    return true;
}

static bool
read_tag(struct tl_nmea_reader *r)
{
    struct span rest = {.at = r->tag, .len = r->tag_len};

    if (check_sum(&rest) != TL_NMEA_FINE) {
        return false;
    }
    while (rest.len > 0) {
        const char *comma = memchr(rest.at, ',', rest.len);
        size_t len = comma != NULL ? (size_t)(comma - rest.at) : rest.len;

        if (!read_tag_field(r, (struct span){.at = rest.at, .len = len})) {
            return false;
        }
        len += comma != NULL ? 1 : 0;
        rest = (struct span){.at = rest.at + len, .len = rest.len - len};
    }
    return true;
}

static void
start_tag(struct tl_nmea_reader *r)
{
    r->place = TL_NMEA_IN_TAG;
    r->tag_len = 0;
}

static void
put_in_tag(struct tl_nmea_reader *r, char c)
{
    if (r->tag_len == sizeof r->tag || !is_printable(c)) {
        r->tag_bad = true;
        return;
    }
    r->tag[r->tag_len++] = c;
}

/* ---- the sentence ---- */

static void
start_sentence(struct tl_nmea_reader *r, char c)
{
    r->place = TL_NMEA_IN_SENTENCE;
    r->spoiled = TL_NMEA_FINE;
    r->line_len = 0;
    r->line[r->line_len++] = c;
}

static void
put_in_sentence(struct tl_nmea_reader *r, char c)
{
    if (r->spoiled != TL_NMEA_FINE) {
        return;
    }
    if (!is_printable(c)) {
        r->spoiled = TL_NMEA_CHARACTER;
    } else if (r->line_len == sizeof r->line) {
        r->spoiled = TL_NMEA_OVERSIZE;
    } else {
        r->line[r->line_len++] = c;
    }
}

/* Back to BETWEEN; nothing of the line just ended reaches the next. */
static void
forget_line(struct tl_nmea_reader *r)
{
    r->place = TL_NMEA_BETWEEN;
    r->tag_bad = false;
    r->in_noise = false;
    r->tag_source[0] = '\0';
}

static void
tell(struct tl_nmea_reader *r, enum tl_nmea_reason reason, struct tl_nmea_event *event)
{
    event->reason = reason;
    if (reason == TL_NMEA_FINE) {
        event->kind = TL_NMEA_TAKEN;
        r->taken++;
        return;
    }
    event->kind = tl_nmea_reason_is_no_data(reason) ? TL_NMEA_NO_DATA : TL_NMEA_REFUSED;
    r->refused[reason]++;
}

static void
copy_address(const struct tl_nmea_reader *r, char *address)
{
    if (r->line_len < 1 + TL_NMEA_ADDRESS_LEN) {
        return;
    }
    for (size_t i = 1; i <= TL_NMEA_ADDRESS_LEN; i++) {
        if (!is_address_char(r->line[i])) {
            return;
        }
    }
    memcpy(address, r->line + 1, TL_NMEA_ADDRESS_LEN);
}

/* if_open: why the line counts as not whole when it has no checksum at its end. */
static enum tl_nmea_reason
judge_line(const struct tl_nmea_reader *r, enum tl_nmea_reason if_open,
           struct tl_nmea_sentence *sentence)
{
    struct span body = {.at = r->line + 1, .len = r->line_len - 1};

    if (r->spoiled != TL_NMEA_FINE) {
        return r->spoiled;
    }
    if (r->tag_bad) {
        return TL_NMEA_TAG_BAD;
    }
    enum tl_nmea_reason reason = check_sum(&body);

    if (reason == TL_NMEA_CHECKSUM_MISSING) {
        return if_open;
    }
    if (reason != TL_NMEA_FINE) {
        return reason;
    }
    if (r->line[0] != '$') {
        return TL_NMEA_FORMATTER_UNKNOWN;
    }
    return tl_nmea_sentence_read(body.at, body.len, sentence);
}

static void
end_sentence(struct tl_nmea_reader *r, enum tl_nmea_reason if_open, struct tl_nmea_event *event)
{
    enum tl_nmea_reason reason = judge_line(r, if_open, &event->sentence);

    copy_address(r, event->address);
    tell(r, reason, event);
    if (event->kind != TL_NMEA_REFUSED) {
        const char *source = r->tag_source[0] != '\0' ? r->tag_source : r->source;

        memcpy(event->sentence.source, source, sizeof event->sentence.source);
    }
    forget_line(r);
}

/* ---- one byte in each place ---- */

static void
take_between(struct tl_nmea_reader *r, char c, struct tl_nmea_event *event)
{
    if (is_line_end(c)) {
        r->in_noise = false;
    } else if (c == '\\') {
        r->tag_bad = false; /* it names its own source, whatever was cut before */
        start_tag(r);
    } else if (is_start(c)) {
        start_sentence(r, c);
    } else {
        r->noise_bytes++;
        if (!r->in_noise) {
            tell(r, TL_NMEA_NOISE, event);
        }
        r->in_noise = true;
    }
}

static void
take_in_tag(struct tl_nmea_reader *r, char c, struct tl_nmea_event *event)
{
    if (is_line_end(c)) {
        tell(r, TL_NMEA_TAG_BAD, event);
        forget_line(r);
        r->tag_bad = true; /* its closing backslash may have become this line end */
    } else if (c == '\\') {
        r->tag_bad = r->tag_bad || !read_tag(r);
        r->place = TL_NMEA_AFTER_TAG;
    } else if (is_start(c)) {
        r->tag_bad = true;
        start_sentence(r, c);
    } else {
        put_in_tag(r, c);
    }
}

static void
take_after_tag(struct tl_nmea_reader *r, char c, struct tl_nmea_event *event)
{
    if (is_line_end(c)) {
        tell(r, r->tag_bad ? TL_NMEA_TAG_BAD : TL_NMEA_TAG_ALONE, event);
        forget_line(r);
    } else if (c == '\\') {
        start_tag(r);
    } else if (is_start(c)) {
        start_sentence(r, c);
    } else {
        r->tag_bad = true; /* a sentence that does not follow at once may not be the one meant */
    }
}

static void
take_byte(struct tl_nmea_reader *r, char c, struct tl_nmea_event *event)
{
    switch (r->place) {
    case TL_NMEA_BETWEEN:
        take_between(r, c, event);
        break;
    case TL_NMEA_IN_TAG:
        take_in_tag(r, c, event);
        break;
    case TL_NMEA_AFTER_TAG:
        take_after_tag(r, c, event);
        break;
    case TL_NMEA_IN_SENTENCE:
        if (is_line_end(c)) {
            end_sentence(r, TL_NMEA_CHECKSUM_MISSING, event);
        } else {
            put_in_sentence(r, c);
        }
        break;
    }
}

/* True if the byte belongs to a datagram header. One that turns out to be none was noise. */
static bool
take_header(struct tl_nmea_reader *r, char c, struct tl_nmea_event *event)
{
    if (r->header_len >= sizeof datagram_header) {
        return false;
    }
    if (c == datagram_header[r->header_len]) {
        r->header_len++;
        return true;
    }
    if (r->header_len > 0) {
        r->noise_bytes += r->header_len;
        r->in_noise = true;
        tell(r, TL_NMEA_NOISE, event);
    }
    r->header_len = sizeof datagram_header;
    return false;
}

/* ---- public ---- */

void
tl_nmea_init(struct tl_nmea_reader *r, const char *source)
{
    memset(r, 0, sizeof *r);
    memcpy(r->source, source, strnlen(source, sizeof r->source - 1));
}

size_t
tl_nmea_feed(struct tl_nmea_reader *r, const uint8_t *bytes, size_t len,
             struct tl_nmea_event *event)
{
    memset(event, 0, sizeof *event);
    for (size_t i = 0; i < len; i++) {
        char c = (char)bytes[i];

        if (take_header(r, c, event)) {
            continue;
        }
        if (event->kind != TL_NMEA_NOTHING) {
            return i; /* the header that was none is told first; this byte comes again */
        }
        if (r->place == TL_NMEA_IN_SENTENCE && is_start(c)) {
            bool tag_bad = r->tag_bad;

            end_sentence(r, TL_NMEA_CUT, event);
            r->tag_bad = tag_bad; /* still the same line: c may be where the TAG block ended */
            return i;
        }
        take_byte(r, c, event);
        if (event->kind != TL_NMEA_NOTHING) {
            return i + 1;
        }
    }
    return len;
}

void
tl_nmea_end_unit(struct tl_nmea_reader *r, struct tl_nmea_event *event)
{
    memset(event, 0, sizeof *event);
    switch (r->place) {
    case TL_NMEA_BETWEEN:
        if (r->header_len > 0 && r->header_len < sizeof datagram_header) {
            r->noise_bytes += r->header_len;
            tell(r, TL_NMEA_NOISE, event);
        }
        break;
    case TL_NMEA_IN_TAG:
        tell(r, TL_NMEA_TAG_BAD, event);
        break;
    case TL_NMEA_AFTER_TAG:
        tell(r, r->tag_bad ? TL_NMEA_TAG_BAD : TL_NMEA_TAG_ALONE, event);
        break;
    case TL_NMEA_IN_SENTENCE:
        end_sentence(r, TL_NMEA_CUT, event);
        break;
    }
    forget_line(r);
    r->header_len = 0;
}

uint8_t
tl_nmea_checksum(const char *text, size_t len)
{
    uint8_t sum = 0;

    for (size_t i = 0; i < len; i++) {
        sum = (uint8_t)(sum ^ (uint8_t)text[i]);
    }
    return sum;
}
