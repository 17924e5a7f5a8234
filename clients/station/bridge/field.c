/* SPDX-License-Identifier: Apache-2.0 */
/*
 * field - decimal text to integer thousandths, by hand: strtod would take "nan", "1e5" and "0x1p3",
 * and reads the locale
 */
#include "clients/station/bridge/field.h"

#include <string.h>

#define DIGITS_MAX 9 /* before the point */
#define DECIMALS   3
#define MILLI      1000
#define TURN_X1000 360000
#define M_PER_MILE 1852
#define S_PER_HOUR 3600
#define M_PER_KM   1000

static const struct tl_field_range angle_range = {0, TURN_X1000};

static bool
is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static int
to_capital(int c)
{
    return c >= 'a' && c <= 'z' ? c - 'a' + 'A' : c;
}

bool
tl_field_is_word(struct tl_field t, const char *capitals)
{
    if (t.len != strlen(capitals)) {
        return false;
    }
    for (size_t i = 0; i < t.len; i++) {
        if (to_capital(t.at[i]) != capitals[i]) {
            return false;
        }
    }
    return true;
}

char
tl_field_letter(struct tl_field t)
{
    if (t.len != 1) {
        return '\0';
    }
    return t.at[0];
}

/* Digits before the point; false if there are too many to be a measure. */
static bool
read_whole(struct tl_field t, size_t *at, int64_t *value)
{
    size_t first = *at;

    while (*at < t.len && is_digit(t.at[*at])) {
        *value = *value * 10 + (t.at[*at] - '0');
        (*at)++;
        if (*at - first > DIGITS_MAX) {
            return false;
        }
    }
    return true;
}

/* Digits after the point, as thousandths, rounded by the fourth. */
static int64_t
read_decimals(struct tl_field t, size_t *at)
{
    int64_t value = 0;
    size_t first = *at;

    for (; *at < t.len && is_digit(t.at[*at]); (*at)++) {
        size_t place = *at - first;

        if (place < DECIMALS) {
            value = value * 10 + (t.at[*at] - '0');
        } else if (place == DECIMALS && t.at[*at] >= '5') {
            value++;
        }
    }
    for (size_t place = *at - first; place < DECIMALS; place++) {
        value *= 10;
    }
    return value;
}

enum tl_nmea_reason
tl_field_x1000(struct tl_field t, int64_t *x1000)
{
    size_t at = 0;
    int64_t whole = 0;
    int64_t decimals = 0;
    size_t points = 0;
    bool minus = t.len > 0 && t.at[0] == '-';

    at += minus ? 1 : 0;
    if (!read_whole(t, &at, &whole)) {
        return TL_NMEA_NUMBER_BAD;
    }
    if (at < t.len && t.at[at] == '.') {
        points = 1;
        at++;
        decimals = read_decimals(t, &at);
    }
    if (at != t.len || t.len == (minus ? 1U : 0U) + points) {
        return TL_NMEA_NUMBER_BAD; /* something else follows, or there was no digit at all */
    }
    *x1000 = whole * MILLI + decimals;
    if (minus) {
        *x1000 = -*x1000;
    }
    return TL_NMEA_FINE;
}

enum tl_nmea_reason
tl_field_number(struct tl_field t, const struct tl_field_range *range, struct tl_nmea_number *out)
{
    int64_t x1000 = 0;

    if (t.len == 0) {
        out->presence = TL_NMEA_EMPTY;
        return TL_NMEA_FINE;
    }
    enum tl_nmea_reason reason = tl_field_x1000(t, &x1000);

    if (reason != TL_NMEA_FINE) {
        return reason;
    }
    if (x1000 < range->min || x1000 > range->max) {
        return TL_NMEA_RANGE;
    }
    *out = (struct tl_nmea_number){.presence = TL_NMEA_PRESENT, .x1000 = (int32_t)x1000};
    return TL_NMEA_FINE;
}

enum tl_nmea_reason
tl_field_angle(struct tl_field t, struct tl_nmea_number *out)
{
    enum tl_nmea_reason reason = tl_field_number(t, &angle_range, out);

    if (out->presence == TL_NMEA_PRESENT && out->x1000 == TURN_X1000) {
        out->x1000 = 0;
    }
    return reason;
}

enum tl_nmea_reason
tl_field_speed(const struct tl_field value_unit[2], const struct tl_field_range *knots,
               struct tl_nmea_number *out)
{
    /* twice the bound in knots is enough for km/h, and keeps the product small */
    struct tl_field_range any_unit = {knots->min, knots->max * 2};
    enum tl_nmea_reason reason = tl_field_number(value_unit[0], &any_unit, out);
    int64_t x1000 = out->x1000;

    if (reason != TL_NMEA_FINE || out->presence != TL_NMEA_PRESENT) {
        return reason;
    }
    switch (tl_field_letter(value_unit[1])) {
    case 'N':
        break;
    case 'M':
        x1000 = (x1000 * S_PER_HOUR + M_PER_MILE / 2) / M_PER_MILE;
        break;
    case 'K':
        x1000 = (x1000 * M_PER_KM + M_PER_MILE / 2) / M_PER_MILE;
        break;
    default:
        return TL_NMEA_UNIT_BAD;
    }
    out->x1000 = (int32_t)x1000;
    return x1000 > knots->max ? TL_NMEA_RANGE : TL_NMEA_FINE;
}
