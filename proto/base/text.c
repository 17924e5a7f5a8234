/* SPDX-License-Identifier: Apache-2.0 */
/*
 * text - a UTF-8 walk that keeps only what may be shown
 *
 * The table is the syntax of RFC 3629 section 4 (UTF8-2, UTF8-3, UTF8-4): the range of the second
 * byte is what excludes overlong forms, surrogates and values above U+10FFFF.
 */
#include "proto/base/text.h"

#include <errno.h>
#include <stdlib.h>

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

#define SUBSTITUTE '?'
#define TAIL_BITS  6U

struct lead {
    uint8_t first;
    uint8_t last;
    uint8_t size;       /* bytes in the whole character */
    uint8_t second_min; /* range of the second byte; the rest are 0x80..0xBF */
    uint8_t second_max;
};

static const struct lead leads[] = {
    {.first = 0xC2, .last = 0xDF, .size = 2, .second_min = 0x80, .second_max = 0xBF},
    {.first = 0xE0, .last = 0xE0, .size = 3, .second_min = 0xA0, .second_max = 0xBF},
    {.first = 0xE1, .last = 0xEC, .size = 3, .second_min = 0x80, .second_max = 0xBF},
    {.first = 0xED, .last = 0xED, .size = 3, .second_min = 0x80, .second_max = 0x9F},
    {.first = 0xEE, .last = 0xEF, .size = 3, .second_min = 0x80, .second_max = 0xBF},
    {.first = 0xF0, .last = 0xF0, .size = 4, .second_min = 0x90, .second_max = 0xBF},
    {.first = 0xF1, .last = 0xF3, .size = 4, .second_min = 0x80, .second_max = 0xBF},
    {.first = 0xF4, .last = 0xF4, .size = 4, .second_min = 0x80, .second_max = 0x8F},
};

static const struct lead *
find_lead(uint8_t byte)
{
    for (size_t i = 0; i < sizeof leads / sizeof leads[0]; i++) {
        if (byte >= leads[i].first && byte <= leads[i].last) {
            return &leads[i];
        }
    }
    return NULL;
}

/* Size of the valid multi-byte character at src, or 0. */
static size_t
measure_character(const uint8_t *src, size_t len)
{
    const struct lead *lead = find_lead(src[0]);

    if (lead == NULL || len < lead->size) {
        return 0;
    }
    if (src[1] < lead->second_min || src[1] > lead->second_max) {
        return 0;
    }
    for (size_t i = 2; i < lead->size; i++) {
        if (src[i] < 0x80 || src[i] > 0xBF) {
            return 0;
        }
    }
    return lead->size;
}

static uint32_t
decode_character(const uint8_t *src, size_t size)
{
    /* A lead byte of n bytes carries 7 - n bits. */
    uint32_t value = src[0] & (0x7FU >> size);

    for (size_t i = 1; i < size; i++) {
        value = (value << TAIL_BITS) | (src[i] & 0x3FU);
    }
    return value;
}

static bool
is_harmful(uint32_t value)
{
    return value <= 0x9F || (value >= 0x2028 && value <= 0x202E) ||
           (value >= 0x2066 && value <= 0x2069);
}

/* Decide what the character at src becomes: *keep bytes as they are, or a substitute if 0.
 * Returns the bytes of src it takes. */
static size_t
judge_character(const uint8_t *src, size_t len, size_t *keep)
{
    if (src[0] < 0x80) {
        *keep = (src[0] < 0x20 || src[0] == 0x7F) ? 0 : 1;
        return 1;
    }
    size_t size = measure_character(src, len);
    if (size == 0) {
        *keep = 0;
        return 1;
    }
    *keep = is_harmful(decode_character(src, size)) ? 0 : size;
    return size;
}

size_t
tl_text_plain(char *dst, size_t cap, const char *src, size_t len)
{
    size_t out = 0;
    size_t in = 0;

    if (cap == 0) {
        return 0;
    }
    while (in < len) {
        const uint8_t *at = (const uint8_t *)src + in;
        size_t keep;
        size_t taken = judge_character(at, len - in, &keep);
        size_t size = keep == 0 ? 1 : keep;
        if (size > cap - 1 - out) {
            break;
        }
        if (keep == 0) {
            dst[out] = SUBSTITUTE;
        } else {
            memcpy(dst + out, at, keep);
        }
        out += size;
        in += taken;
    }
    dst[out] = '\0';
    return out;
}

bool
tl_text_number(const char *text, uint64_t *out)
{
    char *end = NULL;
    if (text[0] < '0' || text[0] > '9') { /* strtoull takes a sign and blanks */
        return false;
    }
    errno = 0;
    unsigned long long value = strtoull(text, &end, 10);
    if (errno != 0 || *end != '\0') {
        return false;
    }
    *out = value;
    return true;
}
