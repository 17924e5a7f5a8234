/* SPDX-License-Identifier: Apache-2.0 */
/* test_mix - a text mixed byte by byte, and by words; docs/protocol.md section 7 says how */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "proto/vocab/mix.h"

enum {
    CAP = 24
};

static const char alphabet[] = "abcdefghijklmnopqrstuvwxyz";

/* The text as docs/protocol.md describes it, word by word. */
static uint64_t
by_hand(uint64_t state, const char *text, size_t len)
{
    uint64_t word = 0;
    for (size_t i = 0; i < len; i++) {
        word += (uint64_t)(unsigned char)text[i] << (8 * (i % 8));
        if (i % 8 == 7 || i + 1 == len) {
            state = tl_mix(state, word);
            word = 0;
        }
    }
    return tl_mix(state, len);
}

static void
words_are_mixed_as_they_are_described(void **state)
{
    (void)state;
    char text[CAP + 1];
    for (size_t len = 0; len <= CAP; len++) {
        memset(text, 'x', sizeof text);
        memcpy(text, alphabet, len);
        text[len] = '\0';
        assert_true(tl_mix_words(7, text, sizeof text) == by_hand(7, text, len));
        assert_true(tl_mix_words(7, alphabet, len) == by_hand(7, text, len)); /* cut by its room */
    }
}

static void
bytes_above_127_are_no_sign(void **state)
{
    (void)state;
    const char text[] = "\xff\x80";
    assert_true(tl_mix_words(1, text, sizeof text) == tl_mix(tl_mix(1, 0x80FF), 2));
    assert_true(tl_mix_text(1, text, sizeof text) == tl_mix(tl_mix(tl_mix(1, 0xFF), 0x80), 0x100));
}

/* Where one text ends and the next begins is mixed too. */
static void
texts_in_a_row_are_told_apart(void **state)
{
    (void)state;
    assert_true(tl_mix_words(tl_mix_words(1, "ab", CAP), "c", CAP) !=
                tl_mix_words(tl_mix_words(1, "a", CAP), "bc", CAP));
    assert_true(tl_mix_words(tl_mix_words(1, "", CAP), "abc", CAP) !=
                tl_mix_words(tl_mix_words(1, "abc", CAP), "", CAP));
    assert_true(tl_mix_words(1, "", CAP) != 1);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(words_are_mixed_as_they_are_described),
        cmocka_unit_test(bytes_above_127_are_no_sign),
        cmocka_unit_test(texts_in_a_row_are_told_apart),
    };
    return cmocka_run_group_tests_name("vocab_mix", tests, NULL, NULL);
}
