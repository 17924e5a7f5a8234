/* SPDX-License-Identifier: Apache-2.0 */
/* mix.c - see mix.h. */
#include "proto/vocab/mix.h"

#include <endian.h>
#include <string.h>

enum {
    TEXT_END = 0x100 /* no byte has this value */
};

uint64_t
tl_mix_text(uint64_t state, const char *text, size_t cap)
{
    for (size_t i = 0; i < cap && text[i] != '\0'; i++) {
        state = tl_mix(state, (uint64_t)(unsigned char)text[i]);
    }
    return tl_mix(state, TEXT_END);
}

uint64_t
tl_mix_words(uint64_t state, const char *text, size_t cap)
{
    size_t len = strnlen(text, cap);
    for (size_t at = 0; at < len; at += sizeof(uint64_t)) {
        uint64_t word = 0;
        size_t left = len - at < sizeof word ? len - at : sizeof word;
        memcpy(&word, text + at, left);
        state = tl_mix(state, le64toh(word));
    }
    return tl_mix(state, len);
}
