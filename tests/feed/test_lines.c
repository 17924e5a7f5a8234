/* SPDX-License-Identifier: Apache-2.0 */
/* Lines of "NAME VALUE UNIT": what is one, what is refused, and that no cut of the bytes matters. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "clients/station/feed/lines.h"

enum {
    LINES_MAX = 64,
    STREAM_CAP = 2048,
    STREAMS = 2000,
    TWO_BUFFERS = 2 * (TL_FEED_LINE_MAX + 1)
};

struct got {
    size_t count;
    struct tl_feed_line line[LINES_MAX];
};

static void
keep(struct got *got, const struct tl_feed_line *line)
{
    assert_true(got->count < LINES_MAX);
    got->line[got->count++] = *line;
}

static void
take(struct tl_feed_lines *lines, const char *bytes, size_t len, struct got *got)
{
    struct tl_feed_line line;
    size_t used = 0;
    bool found = true;

    while (used < len) {
        size_t took =
            tl_feed_lines_take(lines, (const uint8_t *)bytes + used, len - used, &line, &found);
        assert_true(took > 0 && took <= len - used);
        assert_true(found || took == len - used);
        used += took;
        if (found) {
            keep(got, &line);
        }
    }
}

/* One unit of its own. */
static struct got
take_unit(struct tl_feed_lines *lines, const char *bytes, size_t len)
{
    struct got got = {0};
    struct tl_feed_line line;

    take(lines, bytes, len, &got);
    if (tl_feed_lines_end(lines, &line)) {
        keep(&got, &line);
    }
    return got;
}

static void
expect(const struct tl_feed_line *line, const char *name, const char *value, const char *unit)
{
    assert_string_equal(line->name, name);
    assert_string_equal(line->value, value);
    assert_string_equal(line->unit, unit);
}

static void
lines_are_three_words(void **state)
{
    static const char text[] = "# drum of engine 3, 2° aft\r\n\r\n\nweight-set 34000 lb\n"
                               "#\nvalve 2.05 -\r\nx - -";
    struct tl_feed_lines lines;

    (void)state;
    tl_feed_lines_init(&lines);
    struct got got = take_unit(&lines, text, sizeof text - 1);
    assert_int_equal(got.count, 3);
    expect(&got.line[0], "weight-set", "34000", "lb");
    expect(&got.line[1], "valve", "2.05", "-");
    expect(&got.line[2], "x", "-", "-");
    assert_int_equal(lines.good, 3);
    assert_int_equal(lines.bad, 0);
    assert_string_equal(lines.last_bad, "");
}

#define N23       "abcdefghijklmnopqrstuvw"
#define V23       "12345678901234567890123"
#define U15       "abcdefghijklmno"
#define LONG_WORD (N23 V23 U15)
#define N23_SPACE (N23 " ")
#define V23_SPACE (V23 " ")

static void
lines_of_another_form_are_refused_and_counted(void **state)
{
    static const struct {
        const char *bytes;
        bool good;
    } rows[] = {
        {"set 34000 lb", true},        {"set 34000 lb\r", true},
        {N23 " " V23 " " U15, true},   {N23 "x " V23 " " U15, false},
        {N23 " " V23 "4 " U15, false}, {N23 " " V23 " " U15 "p", false},
        {"set 34000", false},          {"set 34000 ", false},
        {"set  34000 lb", false},      {"set 34000  lb", false},
        {" set 34000 lb", false},      {"set 34000 lb ", false},
        {"set 34000 lb x", false},     {"set\t34000\tlb", false},
        {"set 34000 lb\r\r", false},   {"set 34000 l\rb", false},
        {"set 34000 \xc2\xb0", false}, {"set 34000 l\x7f", false},
        {"set 34000 l\033", false},    {" ", false},
        {" # not a comment", false},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_feed_lines lines;
        tl_feed_lines_init(&lines);
        struct got got = take_unit(&lines, rows[i].bytes, strlen(rows[i].bytes));
        if (got.count != (rows[i].good ? 1 : 0) || lines.bad != (rows[i].good ? 0 : 1)) {
            fail_msg("'%s': %zu lines, %llu refused", rows[i].bytes, got.count,
                     (unsigned long long)lines.bad);
        }
    }
}

static void
lines_with_a_nul_are_refused(void **state)
{
    struct tl_feed_lines lines;

    (void)state;
    tl_feed_lines_init(&lines);
    assert_int_equal(take_unit(&lines, "set 34000 lb\0", 13).count, 0);
    assert_int_equal(take_unit(&lines, "set 34000 lb\0x", 14).count, 0);
    assert_int_equal(take_unit(&lines, "set 34000\0lb", 12).count, 0);
    assert_int_equal(take_unit(&lines, "\0", 1).count, 0);
    assert_int_equal(lines.bad, 4);
}

static void
lines_keep_the_last_bad_one_without_control_bytes(void **state)
{
    struct tl_feed_lines lines;

    (void)state;
    tl_feed_lines_init(&lines);
    assert_int_equal(take_unit(&lines, "one\nset \033[2J 1\n", 15).count, 0);
    assert_string_equal(lines.last_bad, "set ?[2J 1");
    assert_int_equal(take_unit(&lines, "set 34000 lb\n", 13).count, 1);
    assert_string_equal(lines.last_bad, "set ?[2J 1");
    assert_int_equal(lines.bad, 2);
}

/* The limit cannot be reached by three words that fit; a comment may be longer than any line. */
static void
lines_too_long_are_refused_whole(void **state)
{
    char text[STREAM_CAP];
    struct tl_feed_lines lines;

    (void)state;
    for (size_t len = TL_FEED_LINE_MAX - 1; len <= TL_FEED_LINE_MAX + 3; len++) {
        tl_feed_lines_init(&lines);
        memset(text, 'a', len);
        memcpy(text + len, "\nset 34000 lb\n", 15);
        struct got got = take_unit(&lines, text, len + 14);
        assert_int_equal(got.count, 1);
        expect(&got.line[0], "set", "34000", "lb");
        assert_int_equal(lines.bad, 1);
        assert_true(strlen(lines.last_bad) <= TL_FEED_LINE_MAX);
        text[0] = '#';
        assert_int_equal(take_unit(&lines, text, len + 14).count, 1);
        assert_int_equal(lines.bad, 1);
    }
    /* The end of a line that was too long is no line, though it looks like one. */
    tl_feed_lines_init(&lines);
    memset(text, 'a', STREAM_CAP);
    memcpy(&text[TWO_BUFFERS], "set 34000 lb\n", 13);
    assert_int_equal(take_unit(&lines, text, TWO_BUFFERS + 13).count, 0);
    assert_int_equal(lines.bad, 1);
}

static void
lines_of_two_datagrams_do_not_join(void **state)
{
    struct tl_feed_lines lines;

    (void)state;
    tl_feed_lines_init(&lines);
    assert_int_equal(take_unit(&lines, "set 340", 7).count, 0);
    assert_int_equal(take_unit(&lines, "00 lb\n", 6).count, 0);
    assert_int_equal(lines.bad, 2);
    struct got got = take_unit(&lines, "set 340 lb", 10);
    assert_int_equal(got.count, 1);
    expect(&got.line[0], "set", "340", "lb");
}

/* ---- one damaged byte ---- */

struct damaged {
    const char *const *words;
    char good[128];
    size_t len;
    size_t at;
    unsigned byte;
};

/* As long as before, and at most one byte is another. */
static bool
is_like(const char *got, const char *was)
{
    size_t len = strlen(was);
    size_t other = 0;

    for (size_t i = 0; i < len && got[i] != '\0'; i++) {
        other += got[i] != was[i] ? 1 : 0;
    }
    return strlen(got) == len && other <= 1;
}

static bool
is_begin(const char *got, const char *was)
{
    return strncmp(got, was, strlen(got)) == 0;
}

static bool
is_end(const char *got, const char *was)
{
    return strlen(got) <= strlen(was) && strcmp(got, was + strlen(was) - strlen(got)) == 0;
}

static void
damage(const struct damaged *d)
{
    struct tl_feed_lines lines;
    char bad[sizeof d->good];
    bool end = d->byte == '\n' || d->byte == '\r';

    tl_feed_lines_init(&lines);
    memcpy(bad, d->good, sizeof bad);
    bad[d->at] = (char)d->byte;
    struct got got = take_unit(&lines, bad, d->len);
    const struct tl_feed_line *line = &got.line[0];
    bool name = is_like(line->name, d->words[0]) || (end && is_end(line->name, d->words[0]));
    bool longer = d->at == d->len - 1 && is_begin(d->words[2], line->unit);
    bool unit =
        longer || is_like(line->unit, d->words[2]) || (end && is_begin(line->unit, d->words[2]));
    if (got.count > 1 ||
        (got.count == 1 && (!name || !is_like(line->value, d->words[1]) || !unit))) {
        fail_msg("%s, byte %zu as 0x%02x: '%s' '%s' '%s'", d->words[0], d->at, d->byte, line->name,
                 line->value, line->unit);
    }
}

static void
lines_with_one_damaged_byte_keep_their_words_or_are_refused(void **state)
{
    static const char *const rows[][3] = {
        {"weight-set", "34000", "lb"}, {"valve", "2.05", "-"}, {"a", "-1.5", "deg"}};

    (void)state;
    for (size_t r = 0; r < sizeof rows / sizeof rows[0]; r++) {
        struct damaged d = {.words = rows[r]};
        int len = snprintf(d.good, sizeof d.good, "%s %s %s\n", rows[r][0], rows[r][1], rows[r][2]);
        d.len = (size_t)len;
        for (d.at = 0; d.at < d.len; d.at++) {
            for (d.byte = 0; d.byte < 256; d.byte++) {
                damage(&d);
            }
        }
    }
}

/* ---- how the bytes are cut ---- */

static uint64_t
draw(uint64_t *seed)
{
    *seed = *seed * 6364136223846793005U + 1442695040888963407U;
    return *seed >> 33;
}

static size_t
make_stream(uint64_t *seed, char dst[STREAM_CAP])
{
    static const char *const pieces[] = {"set 34000 lb\n",
                                         "valve 2.05 -\r\n",
                                         "#",
                                         "\n",
                                         "\r",
                                         "\r\n",
                                         "a b c",
                                         " ",
                                         "x",
                                         "1 2",
                                         "# no\n",
                                         "set 405",
                                         LONG_WORD,
                                         N23_SPACE,
                                         V23_SPACE,
                                         U15};
    size_t len = 0;

    for (uint64_t n = draw(seed) % 40; n > 0; n--) {
        const char *piece = pieces[draw(seed) % (sizeof pieces / sizeof pieces[0])];
        size_t add = strlen(piece);
        if (len + add > STREAM_CAP) {
            break;
        }
        memcpy(dst + len, piece, add);
        len += add;
        if (draw(seed) % 6 == 0) {
            dst[draw(seed) % len] = (char)draw(seed);
        }
    }
    return len;
}

static void
lines_do_not_depend_on_how_the_bytes_are_cut(void **state)
{
    const char *given = getenv("TL_SEED");
    uint64_t seed = given != NULL ? strtoull(given, NULL, 0) : 20260704;
    char stream[STREAM_CAP];
    size_t found = 0;

    (void)state;
    (void)printf("           seed %llu\n", (unsigned long long)seed);
    for (int i = 0; i < STREAMS; i++) {
        struct tl_feed_lines whole;
        struct tl_feed_lines cut;
        struct tl_feed_line line;
        struct got one;
        struct got many = {0};
        size_t len = make_stream(&seed, stream);
        tl_feed_lines_init(&whole);
        tl_feed_lines_init(&cut);
        one = take_unit(&whole, stream, len);
        for (size_t at = 0; at < len;) {
            size_t step = 1 + draw(&seed) % 9;
            step = step < len - at ? step : len - at;
            take(&cut, stream + at, step, &many);
            at += step;
        }
        if (tl_feed_lines_end(&cut, &line)) {
            keep(&many, &line);
        }
        assert_int_equal(many.count, one.count);
        assert_memory_equal(many.line, one.line, one.count * sizeof one.line[0]);
        assert_int_equal(cut.good, whole.good);
        assert_int_equal(cut.bad, whole.bad);
        assert_string_equal(cut.last_bad, whole.last_bad);
        found += one.count;
    }
    assert_true(found > STREAMS / 2);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lines_are_three_words),
        cmocka_unit_test(lines_of_another_form_are_refused_and_counted),
        cmocka_unit_test(lines_with_a_nul_are_refused),
        cmocka_unit_test(lines_keep_the_last_bad_one_without_control_bytes),
        cmocka_unit_test(lines_too_long_are_refused_whole),
        cmocka_unit_test(lines_of_two_datagrams_do_not_join),
        cmocka_unit_test(lines_with_one_damaged_byte_keep_their_words_or_are_refused),
        cmocka_unit_test(lines_do_not_depend_on_how_the_bytes_are_cut),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
