/* SPDX-License-Identifier: Apache-2.0 */
/*
 * conf_value - the grammar of numbers, words, ids and lines in configuration files
 */
#include "proto/base/conf_value.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "proto/base/text.h"

/* As much of a wrong value as a sentence quotes. */
#define QUOTED "\"%.40s\""

enum {
    PATH_CAP = 3 * TL_CONF_KEY_CAP,
    DECIMALS = 3,
    LIST_CAP = 160,
    REAL_SCALE_MAX = 10000 /* four digits after the point */
};

struct tl_conf_item
tl_conf_item_of(const struct tl_conf_file *file, struct tl_conf_fault *fault, const char *list,
                size_t index)
{
    struct tl_conf_item item = {.file = file, .fault = fault};

    if (list != NULL) {
        (void)snprintf(item.path, sizeof item.path, "%s[%zu]", list, index);
    }
    return item;
}

uint32_t
tl_conf_item_line(const struct tl_conf_item *item, const char *key)
{
    char path[PATH_CAP];

    (void)snprintf(path, sizeof path, "%s%s%s", item->path,
                   item->path[0] != '\0' && key[0] != '\0' ? "." : "", key);
    return tl_conf_file_line(item->file, path);
}

enum tl_err
tl_conf_say(const struct tl_conf_item *item, const char *key, const char *fmt, ...)
{
    char text[TL_CONF_FAULT_TEXT_CAP];
    va_list args;

    va_start(args, fmt);
    int len = vsnprintf(text, sizeof text, fmt, args);
    va_end(args);
    if (len < 0) {
        text[0] = '\0';
    }
    return tl_conf_fault_at(item->fault, item->file->name, tl_conf_item_line(item, key), "%s",
                            text);
}

static bool
is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* 1 to 9 digits, no leading zero: cannot overflow. Returns the digits read, 0 if malformed. */
static size_t
read_whole(const char *text, uint32_t *out)
{
    size_t len = 0;
    uint32_t value = 0;

    while (is_digit(text[len]) && len < 10) {
        value = len < 9 ? value * 10 + (uint32_t)(text[len] - '0') : value;
        len++;
    }
    if (len > 9 || (len > 1 && text[0] == '0')) {
        return 0;
    }
    *out = value;
    return len;
}

enum tl_err
tl_conf_number(struct tl_conf_field field, const struct tl_conf_range *range, uint32_t *out)
{
    uint32_t value = 0;
    size_t len = read_whole(field.text, &value);
    const char *gap = range->unit[0] == '\0' ? "" : " ";

    if (len == 0 || field.text[len] != '\0') {
        return tl_conf_say(field.item, field.key,
                           "%s " QUOTED " is not a whole number; write %u to %u%s%s in digits only",
                           field.key, field.text, range->min, range->max, gap, range->unit);
    }
    if (value < range->min || value > range->max) {
        return tl_conf_say(field.item, field.key, "%s %u is out of range; write %u to %u%s%s",
                           field.key, value, range->min, range->max, gap, range->unit);
    }
    *out = value;
    return TL_OK;
}

/* Read "9", "9.5" or "9.125" as thousandths. False if it is none of these, or not below 10^6. */
static bool
read_thousandths(const char *text, uint32_t *out)
{
    uint32_t whole = 0;
    uint32_t part = 0;
    size_t len = read_whole(text, &whole);

    if (len == 0 || len > 6) {
        return false;
    }
    const char *at = text + len;
    size_t places = 0;
    if (*at == '.') {
        for (at++; is_digit(*at) && places < DECIMALS; at++, places++) {
            part = part * 10 + (uint32_t)(*at - '0');
        }
        if (places == 0) {
            return false;
        }
    }
    for (; places < DECIMALS; places++) {
        part *= 10;
    }
    *out = whole * 1000 + part;
    return *at == '\0';
}

/* strtod would follow the locale and take "nan", "1e9" and "0x1p3". */
enum tl_err
tl_conf_decimal(struct tl_conf_field field, const struct tl_conf_range *range, double *out)
{
    uint32_t value = 0;
    bool is_read = read_thousandths(field.text, &value);

    if (!is_read || value < range->min || value > range->max) {
        return tl_conf_say(
            field.item, field.key, "%s " QUOTED " is %s; write %u.%03u to %u.%03u %s, such as 9.5",
            field.key, field.text, is_read ? "out of range" : "not a number", range->min / 1000,
            range->min % 1000, range->max / 1000, range->max % 1000, range->unit);
    }
    *out = (double)value / 1000.0;
    return TL_OK;
}

enum tl_err
tl_conf_hundredths(struct tl_conf_field field, const struct tl_conf_range *range, uint32_t *out)
{
    uint32_t value = 0;
    bool is_read = read_thousandths(field.text, &value) && value % 10 == 0;

    if (!is_read || value < range->min || value > range->max) {
        return tl_conf_say(
            field.item, field.key, "%s " QUOTED " is %s; write %u.%02u to %u.%02u %s, such as 2.05",
            field.key, field.text, is_read ? "out of range" : "not a number", range->min / 1000,
            range->min % 1000 / 10, range->max / 1000, range->max % 1000 / 10, range->unit);
    }
    *out = value / 10;
    return TL_OK;
}

enum tl_err
tl_conf_tenths(struct tl_conf_field field, const struct tl_conf_range *range, uint32_t *out)
{
    uint32_t value = 0;
    bool is_read = read_thousandths(field.text, &value) && value % 100 == 0;

    if (!is_read || value < range->min || value > range->max) {
        return tl_conf_say(
            field.item, field.key, "%s " QUOTED " is %s; write %u.%u to %u.%u %s, such as 2.5",
            field.key, field.text, is_read ? "out of range" : "not a number", range->min / 1000,
            range->min % 1000 / 100, range->max / 1000, range->max % 1000 / 100, range->unit);
    }
    *out = value / 100;
    return TL_OK;
}

/* The nearest double: both parts of the quotient are whole and below 2^53. */
static bool
read_real(const char *text, double *out)
{
    bool is_negative = *text == '-';
    const char *at = text + (is_negative ? 1 : 0);
    uint32_t whole = 0;
    size_t len = read_whole(at, &whole);
    uint32_t part = 0;
    uint32_t scale = 1;

    if (len == 0) {
        return false;
    }
    at += len;
    if (*at == '.') {
        for (at++; is_digit(*at) && scale < REAL_SCALE_MAX; at++, scale *= 10) {
            part = part * 10 + (uint32_t)(*at - '0');
        }
        if (scale == 1) {
            return false;
        }
    }
    double value = (double)((uint64_t)whole * scale + part) / scale;
    *out = is_negative && value > 0.0 ? -value : value;
    return *at == '\0';
}

enum tl_err
tl_conf_real(struct tl_conf_field field, const struct tl_conf_span *span, double *out)
{
    double value = 0.0;

    if (!read_real(field.text, &value)) {
        return tl_conf_say(field.item, field.key,
                           "%s " QUOTED " is not a number; write %.10g to %.10g in digits, at most "
                           "four after a point",
                           span->name, field.text, span->least, span->most);
    }
    if (value < span->least || value > span->most) {
        return tl_conf_say(field.item, field.key,
                           "%s " QUOTED " is out of range; write %.10g to %.10g", span->name,
                           field.text, span->least, span->most);
    }
    *out = value;
    return TL_OK;
}

enum tl_err
tl_conf_bool(struct tl_conf_field field, bool *out)
{
    static const char *const words[] = {"false", "true"};
    size_t place = 0;
    enum tl_err err = tl_conf_choice(field, words, sizeof words / sizeof words[0], &place);

    if (err == TL_OK) {
        *out = place == 1;
    }
    return err;
}

enum tl_err
tl_conf_choice(struct tl_conf_field field, const char *const *words, size_t count, size_t *out)
{
    char list[LIST_CAP] = "";
    size_t len = 0;

    for (size_t i = 0; i < count; i++) {
        if (strcmp(words[i], field.text) == 0) {
            *out = i;
            return TL_OK;
        }
        int add = snprintf(list + len, sizeof list - len, "%s%s", i == 0 ? "" : ", ", words[i]);
        if (add > 0 && (size_t)add < sizeof list - len) {
            len += (size_t)add;
        }
    }
    return tl_conf_say(field.item, field.key, "%s " QUOTED " is not known; write one of: %s",
                       field.key, field.text, list);
}

enum tl_err
tl_conf_id(struct tl_conf_field field, char *dst, size_t cap)
{
    size_t len = strlen(field.text);

    if (len == 0 || len >= cap || field.text[0] == '-' || field.text[len - 1] == '-' ||
        strspn(field.text, "abcdefghijklmnopqrstuvwxyz0123456789-") != len) {
        return tl_conf_say(field.item, field.key,
                           "%s " QUOTED " is not an id; write 1 to %zu of a-z, 0-9 and -, not "
                           "beginning or ending with -",
                           field.key, field.text, cap - 1);
    }
    memcpy(dst, field.text, len + 1);
    return TL_OK;
}

enum tl_err
tl_conf_text(struct tl_conf_field field, char *dst, size_t cap)
{
    char plain[TL_PATH_CAP];
    size_t len = strlen(field.text);
    size_t got = tl_text_plain(plain, sizeof plain, field.text, len);

    if (strspn(field.text, " ") == len) {
        return tl_conf_say(field.item, field.key, "%s is blank; write it in words", field.key);
    }
    if (len >= cap) {
        return tl_conf_say(field.item, field.key, "%s is longer than %zu bytes; shorten it",
                           field.key, cap - 1);
    }
    if (got != len || memcmp(plain, field.text, len) != 0) {
        return tl_conf_say(field.item, field.key, "%s has an invisible character; write plain text",
                           field.key);
    }
    memcpy(dst, field.text, len + 1);
    return TL_OK;
}
