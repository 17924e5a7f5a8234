/* SPDX-License-Identifier: Apache-2.0 */
/* words.h - times and figures as the log writes them: UTC, no locale, no rounding that is not said. */
#ifndef CLIENTS_LOGBOOK_WORDS_H
#define CLIENTS_LOGBOOK_WORDS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "clients/logbook/book.h"

enum {
    TL_TIME_CAP = 32,
    TL_NUMBER_CAP = 32,
    TL_EVENT_TEXT_CAP = 2 * TL_NUMBER_CAP,
    TL_CLOCK_AT = 11 /* where the time of day begins in a time */
};

/* "2031-04-05T06:07:08.123Z" (RFC 3339); 0 and what is no date: "----------T--:--:--.---Z". */
const char *tl_time_text(uint64_t wall_ms, char dst[TL_TIME_CAP]);
/* The time of day of it, "06:07:08". */
const char *tl_clock_text(uint64_t wall_ms, char dst[TL_TIME_CAP]);

/* -275 with 1 digit: "-27.5"; digits 0..3. */
const char *tl_scaled_text(int64_t value, int digits, char dst[TL_NUMBER_CAP]);
/* 34000 -> "34,000"; the heading says lb. */
const char *tl_plain_pounds_text(uint32_t pounds, char dst[TL_NUMBER_CAP]);
/* "1700000000000:3" */
const char *tl_event_text(struct tl_event event, char dst[TL_EVENT_TEXT_CAP]);

/* RFC 3339 date-time in UTC (it ends in Z); at most 3 digits of a fraction count. */
bool tl_time_read(const char *text, uint64_t *wall_ms);
/* HH:MM or HH:MM:SS, as ms of a day. */
bool tl_clock_read(const char *text, uint64_t *day_ms);

#endif
