/* SPDX-License-Identifier: Apache-2.0 */
/*
 * lines - what a plain sensor says: lines of "NAME VALUE UNIT"
 *
 *     # drum of engine 3
 *     weight-set 34000 lb
 *     valve 2.05 -
 *
 * Pure: bytes in, lines out, however they are cut into reads. A line is exactly three words of
 * printable ASCII with one space between, nothing before or behind them, at most
 * TL_FEED_LINE_MAX bytes without its end (LF or CR LF). Empty lines and lines that begin with '#'
 * are skipped. Anything else is counted, and the last one kept for a message.
 *
 * Invariants:
 *  1. No byte of one line, and of one datagram, gets into another.
 *  2. One damaged byte never moves a byte from one word into another, and never shortens a value:
 *     the words keep their lengths, or the line is refused. Only a line end
 *     that appears or is lost can leave the end of a name, or cut or lengthen a unit: so let no
 *     name that is listened to be the end of another, and look at the unit.
 *
 * There is no checksum: a digit that became another digit is not seen here.
 */
#ifndef CLIENTS_STATION_FEED_LINES_H
#define CLIENTS_STATION_FEED_LINES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "proto/vocab/limits.h"

enum {
    TL_FEED_LINE_MAX = 127,
    TL_FEED_VALUE_CAP = 24,
    TL_FEED_UNIT_CAP = 16
};

struct tl_feed_line {
    char name[TL_ID_CAP];
    char value[TL_FEED_VALUE_CAP];
    char unit[TL_FEED_UNIT_CAP]; /* "-" = none */
};

struct tl_feed_lines {
    char held[TL_FEED_LINE_MAX + 1]; /* of the line that is not ended yet; room for its CR */
    size_t used;
    bool too_long;
    uint64_t good;
    uint64_t bad;
    char last_bad[TL_FEED_LINE_MAX + 1]; /* made plain; "" = none so far */
};

void tl_feed_lines_init(struct tl_feed_lines *lines);

/*
 * Take bytes up to the end of the first good line, or all of them. Returns how many were taken; call
 * again with the rest. *found says whether *out was written.
 */
size_t tl_feed_lines_take(struct tl_feed_lines *lines, const uint8_t *bytes, size_t len,
                          struct tl_feed_line *out, bool *found);

/* A unit has ended (datagram, end of file): so has its last line. True when *out was written. */
bool tl_feed_lines_end(struct tl_feed_lines *lines, struct tl_feed_line *out);

/*
 * Read a value as a whole number of 1/scale: "2.05" at scale 100 is 205. Exact or not at all.
 *
 * Digits with an optional '-' before them, and an optional '.' with digits behind; leading zeros are
 * allowed, and zeros behind what the scale holds. scale: 1, 10, 100, ... up to 10^9.
 * False, *out untouched: another form ('+', exponent, blank), more digits than the scale holds,
 * a number beyond INT64_MIN..INT64_MAX, another scale.
 */
bool tl_feed_number(const char *value, uint32_t scale, int64_t *out);

#endif
