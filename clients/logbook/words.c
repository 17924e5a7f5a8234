/* SPDX-License-Identifier: Apache-2.0 */
/* words.c - see words.h. */
#include "clients/logbook/words.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "proto/vocab/rules.h"

enum {
    MS_PER_S = 1000,
    S_PER_MIN = 60,
    S_PER_HOUR = 3600,
    DIGITS_MAX = 3
};
/* The year 9999 is the last with four digits. */
static const uint64_t seconds_most = 253402300799u;

const char *
tl_time_text(uint64_t wall_ms, char dst[TL_TIME_CAP])
{
    time_t seconds = (time_t)(wall_ms / MS_PER_S);
    struct tm utc;
    size_t len = 0;
    if (wall_ms != 0 && wall_ms / MS_PER_S <= seconds_most && gmtime_r(&seconds, &utc) != NULL) {
        len = strftime(dst, TL_TIME_CAP, "%Y-%m-%dT%H:%M:%S", &utc);
    }
    if (len == 0) {
        (void)snprintf(dst, TL_TIME_CAP, "----------T--:--:--.---Z");
    } else {
        (void)snprintf(dst + len, TL_TIME_CAP - len, ".%03uZ", (unsigned)(wall_ms % MS_PER_S));
    }
    return dst;
}

const char *
tl_clock_text(uint64_t wall_ms, char dst[TL_TIME_CAP])
{
    char time[TL_TIME_CAP];
    (void)snprintf(dst, TL_TIME_CAP, "%.8s", tl_time_text(wall_ms, time) + TL_CLOCK_AT);
    return dst;
}

const char *
tl_scaled_text(int64_t value, int digits, char dst[TL_NUMBER_CAP])
{
    uint64_t size = value < 0 ? 0 - (uint64_t)value : (uint64_t)value;
    uint64_t scale = 1;
    for (int i = 0; i < digits && i < DIGITS_MAX; i++) {
        scale *= 10u;
    }
    const char *sign = value < 0 ? "-" : "";
    if (scale == 1) {
        (void)snprintf(dst, TL_NUMBER_CAP, "%s%" PRIu64, sign, size);
    } else {
        (void)snprintf(dst, TL_NUMBER_CAP, "%s%" PRIu64 ".%0*" PRIu64, sign, size / scale, digits,
                       size % scale);
    }
    return dst;
}

const char *
tl_plain_pounds_text(uint32_t pounds, char dst[TL_NUMBER_CAP])
{
    (void)tl_pounds_text(pounds, dst, TL_NUMBER_CAP);
    char *unit = strstr(dst, " lb");
    if (unit != NULL) {
        *unit = '\0';
    }
    return dst;
}

const char *
tl_event_text(struct tl_event event, char dst[TL_EVENT_TEXT_CAP])
{
    (void)snprintf(dst, TL_EVENT_TEXT_CAP, "%" PRIu64 ":%" PRIu32, event.recovery_ms, event.pass);
    return dst;
}

/* Exactly `digits` digits at *text, which moves behind them. */
static bool
take_digits(const char **text, int digits, int *value)
{
    *value = 0;
    for (int i = 0; i < digits; i++, ++*text) {
        if (**text < '0' || **text > '9') {
            return false;
        }
        *value = 10 * *value + (**text - '0');
    }
    return true;
}

static bool
take_one(const char **text, const char *of)
{
    bool good = **text != '\0' && strchr(of, **text) != NULL;
    *text += good ? 1 : 0;
    return good;
}

/* "HH:MM:SS", the seconds may be missing when `brief` */
static bool
take_clock(const char **text, bool brief, struct tm *utc)
{
    if (!take_digits(text, 2, &utc->tm_hour) || !take_one(text, ":") ||
        !take_digits(text, 2, &utc->tm_min)) {
        return false;
    }
    utc->tm_sec = 0;
    if ((**text == ':' || !brief) &&
        (!take_one(text, ":") || !take_digits(text, 2, &utc->tm_sec))) {
        return false;
    }
    bool leap = utc->tm_sec == 60 && utc->tm_hour == 23 && utc->tm_min == 59;
    return utc->tm_hour < 24 && utc->tm_min < 60 && (utc->tm_sec < 60 || leap);
}

/* ".5" is 500; digits behind the third are left out. */
static bool
take_fraction(const char **text, int *ms)
{
    int weight = 100;
    *ms = 0;
    if (**text != '.') {
        return true;
    }
    ++*text;
    const char *first = *text;
    while (**text >= '0' && **text <= '9') {
        *ms += weight * (**text - '0');
        weight /= 10;
        ++*text;
    }
    return *text > first;
}

bool
tl_time_read(const char *text, uint64_t *wall_ms)
{
    struct tm utc = {0};
    int year = 0;
    int month = 0;
    int ms = 0;
    if (!take_digits(&text, 4, &year) || !take_one(&text, "-") || !take_digits(&text, 2, &month) ||
        !take_one(&text, "-") || !take_digits(&text, 2, &utc.tm_mday) || !take_one(&text, "Tt") ||
        !take_clock(&text, false, &utc) || !take_fraction(&text, &ms) || !take_one(&text, "Zz") ||
        *text != '\0') {
        return false;
    }
    utc.tm_year = year - 1900;
    utc.tm_mon = month - 1;
    int day = utc.tm_mday;
    int leap = utc.tm_sec == 60 ? 1 : 0; /* the first second of the next day */
    utc.tm_sec -= leap;
    time_t seconds = timegm(&utc) + leap;
    if (utc.tm_mon != month - 1 || utc.tm_mday != day) { /* no date: it has become another */
        return false;
    }
    if (year < 1970 || seconds < 0) {
        return false;
    }
    *wall_ms = (uint64_t)seconds * MS_PER_S + (uint64_t)ms;
    return true;
}

bool
tl_clock_read(const char *text, uint64_t *day_ms)
{
    struct tm utc = {0};
    if (!take_clock(&text, true, &utc) || *text != '\0' || utc.tm_sec >= 60) {
        return false;
    }
    *day_ms = (uint64_t)(utc.tm_hour * S_PER_HOUR + utc.tm_min * S_PER_MIN + utc.tm_sec) * MS_PER_S;
    return true;
}
