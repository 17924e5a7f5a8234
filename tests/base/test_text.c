/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_text - nothing that commands a terminal survives tl_text_plain
 *
 * Rows for UTF-8 follow RFC 3629: section 3 (table of ranges; surrogates prohibited), section 4
 * (syntax) and section 10 (overlong forms as an attack, C0 80 and 2F C0 AE 2E 2F).
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "proto/base/text.h"

struct row {
    const char *name;
    const char *src;
    const char *want;
};

static const struct row rows[] = {
    {"empty", "", ""},
    {"plain", "engine 3", "engine 3"},
    {"first printable", " ", " "},
    {"last printable", "~", "~"},
    {"0x1F, one below", "\x1F", "?"},
    {"0x7F, one above", "\x7F", "?"},
    {"newline and tab", "a\nb\tc", "a?b?c"},
    {"colour sequence", "\x1B[31mred", "?[31mred"},
    {"two bytes, U+00E9", "caf\xC3\xA9", "caf\xC3\xA9"},
    {"first after C1, U+00A0", "\xC2\xA0", "\xC2\xA0"},
    {"last C1, U+009F", "\xC2\x9F", "?"},
    {"first C1, U+0080", "\xC2\x80", "?"},
    {"C1 as CSI, U+009B",
     "\xC2\x9B"
     "31m",
     "?31m"},
    {"raw byte 0x9B",
     "\x9B"
     "31m",
     "?31m"},
    {"three bytes, U+2192", "\xE2\x86\x92", "\xE2\x86\x92"},
    {"U+2027, one below", "\xE2\x80\xA7", "\xE2\x80\xA7"},
    {"U+2028 line separator", "\xE2\x80\xA8", "?"},
    {"U+202E right-to-left override",
     "a\xE2\x80\xAE"
     "b",
     "a?b"},
    {"U+202F, one above", "\xE2\x80\xAF", "\xE2\x80\xAF"},
    {"U+2065, one below", "\xE2\x81\xA5", "\xE2\x81\xA5"},
    {"U+2066 isolate", "\xE2\x81\xA6", "?"},
    {"U+2069 isolate", "\xE2\x81\xA9", "?"},
    {"U+206A, one above", "\xE2\x81\xAA", "\xE2\x81\xAA"},
    {"first of three bytes, U+0800", "\xE0\xA0\x80", "\xE0\xA0\x80"},
    {"last before surrogates, U+D7FF", "\xED\x9F\xBF", "\xED\x9F\xBF"},
    {"first surrogate, U+D800", "\xED\xA0\x80", "???"},
    {"last surrogate, U+DFFF", "\xED\xBF\xBF", "???"},
    {"first after surrogates, U+E000", "\xEE\x80\x80", "\xEE\x80\x80"},
    {"first of four bytes, U+10000", "\xF0\x90\x80\x80", "\xF0\x90\x80\x80"},
    {"last of all, U+10FFFF", "\xF4\x8F\xBF\xBF", "\xF4\x8F\xBF\xBF"},
    {"one past the last, U+110000", "\xF4\x90\x80\x80", "????"},
    {"lead 0xF5", "\xF5\x80\x80\x80", "????"},
    {"overlong NUL", "\xC0\x80", "??"},
    {"overlong dot", "/\xC0\xAE./", "/??./"},
    {"overlong of three bytes", "\xE0\x9F\xBF", "???"},
    {"overlong of four bytes", "\xF0\x8F\xBF\xBF", "????"},
    {"continuation alone",
     "a\x80"
     "b",
     "a?b"},
    {"two bytes cut short", "a\xC3", "a?"},
    {"three bytes cut short", "\xE2\x86", "??"},
    {"four bytes, third is text",
     "\xF0\x90"
     "ab",
     "??ab"},
    {"second continuation wrong",
     "\xE2\x86"
     "A",
     "??A"},
    {"continuation one above, 0xC0", "\xE2\x86\xC0", "???"},
    {"invalid then valid", "\xFF\xC3\xA9", "?\xC3\xA9"},
    {"bytes FE FF", "\xFE\xFF", "??"},
};

static void
text_table_of_characters(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char got[32];
        memset(got, 'x', sizeof got);
        size_t len = tl_text_plain(got, sizeof got, rows[i].src, strlen(rows[i].src));
        if (len != strlen(rows[i].want) || strcmp(got, rows[i].want) != 0) {
            fail_msg("row '%s': got '%s', %zu bytes", rows[i].name, got, len);
        }
    }
}

static void
text_nul_inside_is_replaced(void **state)
{
    char got[8];

    (void)state;
    assert_int_equal(tl_text_plain(got, sizeof got, "a\0b", 3), 3);
    assert_string_equal(got, "a?b");
}

static void
text_every_single_byte_is_printable_ascii_or_replaced(void **state)
{
    (void)state;
    for (int byte = 0; byte <= 0xFF; byte++) {
        char src = (char)byte;
        char got[4] = "";
        assert_int_equal(tl_text_plain(got, sizeof got, &src, 1), 1);
        assert_int_equal(got[0], byte >= 0x20 && byte <= 0x7E ? byte : '?');
    }
}

struct cut_row {
    const char *name;
    const char *src;
    const char *want;
    size_t cap;
};

static const struct cut_row cut_rows[] = {
    {"only the end mark fits", "abc", "", 1},
    {"one short", "abc", "ab", 3},
    {"exact", "abc", "abc", 4},
    {"character not split", "a\xE2\x86\x92", "a", 4},
    {"character exact", "a\xE2\x86\x92", "a\xE2\x86\x92", 5},
    {"nothing after the cut",
     "a\xE2\x86\x92"
     "b",
     "a", 4},
};

static void
text_is_cut_between_characters(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof cut_rows / sizeof cut_rows[0]; i++) {
        const struct cut_row *row = &cut_rows[i];
        char got[8];
        memset(got, 'x', sizeof got);
        size_t len = tl_text_plain(got, row->cap, row->src, strlen(row->src));
        if (len != strlen(row->want) || strcmp(got, row->want) != 0 || got[row->cap] != 'x') {
            fail_msg("row '%s': got '%s', %zu bytes", row->name, got, len);
        }
    }
}

static void
text_no_room_writes_nothing(void **state)
{
    char got = 'x';

    (void)state;
    assert_int_equal(tl_text_plain(&got, 0, "abc", 3), 0);
    assert_int_equal(got, 'x');
    assert_int_equal(tl_text_plain(NULL, 0, NULL, 0), 0);
}

static void
text_plain_text_passes_unchanged_a_second_time(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char once[32];
        char twice[32];
        size_t len = tl_text_plain(once, sizeof once, rows[i].src, strlen(rows[i].src));
        assert_int_equal(tl_text_plain(twice, sizeof twice, once, len), len);
        assert_string_equal(twice, once);
    }
}

static void
text_number_is_digits_only_and_in_range(void **state)
{
    static const struct {
        const char *text;
        bool read;
        uint64_t want;
    } numbers[] = {
        {"0", true, 0},
        {"007", true, 7},
        {"18446744073709551615", true, UINT64_MAX},
        {"18446744073709551616", false, 0},
        {"", false, 0},
        {" 7", false, 0},
        {"+7", false, 0},
        {"-7", false, 0},
        {"7 ", false, 0},
        {"0x7", false, 0},
    };

    (void)state;
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        uint64_t got = 12345;
        print_message("%s\n", numbers[i].text);
        assert_int_equal(tl_text_number(numbers[i].text, &got), numbers[i].read);
        assert_int_equal(got, numbers[i].read ? numbers[i].want : 12345);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(text_number_is_digits_only_and_in_range),
        cmocka_unit_test(text_table_of_characters),
        cmocka_unit_test(text_nul_inside_is_replaced),
        cmocka_unit_test(text_every_single_byte_is_printable_ascii_or_replaced),
        cmocka_unit_test(text_is_cut_between_characters),
        cmocka_unit_test(text_no_room_writes_nothing),
        cmocka_unit_test(text_plain_text_passes_unchanged_a_second_time),
    };

    return cmocka_run_group_tests_name("text", tests, NULL, NULL);
}
