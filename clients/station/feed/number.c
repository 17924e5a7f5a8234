/* SPDX-License-Identifier: Apache-2.0 */
/* number.c - a value as text to a scaled whole number, exactly. See lines.h. */
#include "clients/station/feed/lines.h"

enum {
    SCALE_MAX = 1000000000
};

static bool
is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool
is_scale(uint32_t scale)
{
    for (uint32_t power = 1;; power *= 10) {
        if (power >= scale || power == SCALE_MAX) {
            return power == scale;
        }
    }
}

/* *sum becomes 10 * *sum + digit, if that is not above the limit. */
static bool
append_digit(uint64_t *sum, int digit, uint64_t limit)
{
    uint64_t add = (uint64_t)digit;
    if (*sum > (limit - add) / 10) {
        return false;
    }
    *sum = 10 * *sum + add;
    return true;
}

/* The digits behind the point: so many as the scale holds, zeros after them. */
static bool
append_fraction(const char *text, uint32_t scale, uint64_t limit, uint64_t *sum)
{
    for (uint32_t left = scale; left > 1; left /= 10) {
        bool given = is_digit(*text);
        if (!append_digit(sum, given ? *text - '0' : 0, limit)) {
            return false;
        }
        text += given ? 1 : 0;
    }
    while (*text == '0') {
        text++;
    }
    return *text == '\0';
}

bool
tl_feed_number(const char *value, uint32_t scale, int64_t *out)
{
    bool negative = value[0] == '-';
    const char *text = negative ? value + 1 : value;
    uint64_t limit = (uint64_t)INT64_MAX + (negative ? 1 : 0);
    uint64_t sum = 0;
    if (!is_scale(scale) || !is_digit(*text)) {
        return false;
    }
    for (; is_digit(*text); text++) {
        if (!append_digit(&sum, *text - '0', limit)) {
            return false;
        }
    }
    if (*text == '.' && is_digit(text[1])) {
        text++;
    } else if (*text != '\0') {
        return false;
    }
    if (!append_fraction(text, scale, limit, &sum)) {
        return false;
    }
    *out = negative ? (int64_t)(0 - sum) : (int64_t)sum;
    return true;
}
