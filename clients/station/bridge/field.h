/* SPDX-License-Identifier: Apache-2.0 */
/*
 * field - one field of a sentence: a letter, a word, a number
 *
 * Numbers become integer thousandths. Allowed: an optional '-', digits, one optional '.'; at least
 * one digit ("5." and ".5" are legal: IEC 61162-1 lets leading and trailing zeros go). Refused: '+',
 * blanks, exponents, "nan", a second point, more than 9 digits before the point. Digits past the
 * third decimal are rounded by the fourth, half away from zero. Pure; no float, no locale.
 */
#ifndef CLIENTS_STATION_BRIDGE_FIELD_H
#define CLIENTS_STATION_BRIDGE_FIELD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "clients/station/bridge/sentence.h"

/* The text of a field, borrowed from the line; len may be 0. */
struct tl_field {
    const char *at;
    size_t len;
};
/* Bounds, both allowed, in thousandths. */
struct tl_field_range {
    int32_t min;
    int32_t max;
};

/* Give the only character of a field; 0 if it has none or several. */
char tl_field_letter(struct tl_field t);

/* Tell whether a field is this word, in capitals or not. capitals: borrowed, in capitals. */
bool tl_field_is_word(struct tl_field t, const char *capitals);

/*
 * Read a number of any size the grammar allows.
 *
 * x1000: written on TL_NMEA_FINE only. Returns TL_NMEA_NUMBER_BAD for all else, empty too.
 */
enum tl_nmea_reason tl_field_x1000(struct tl_field t, int64_t *x1000);

/*
 * Read a number that may be empty (FINE, presence EMPTY).
 *
 * range: borrowed. out: written on TL_NMEA_FINE only.
 * Returns TL_NMEA_NUMBER_BAD, or TL_NMEA_RANGE for a number outside.
 */
enum tl_nmea_reason tl_field_number(struct tl_field t, const struct tl_field_range *range,
                                    struct tl_nmea_number *out);

/* Read a direction 0..360 as tl_field_number does; 360 is given as 0. */
enum tl_nmea_reason tl_field_angle(struct tl_field t, struct tl_nmea_number *out);

/*
 * Read a speed and the letter of its unit, N knots, M metres a second, K kilometres an hour, and
 * give knots (1852 m an hour, NIST SP 811) to the nearest thousandth. An empty speed needs no unit.
 *
 * value_unit: the two fields. knots: borrowed; bounds after conversion, min 0.
 * out: holds a speed only if the result is TL_NMEA_FINE; else its content means nothing.
 * Returns TL_NMEA_NUMBER_BAD, TL_NMEA_RANGE, or TL_NMEA_UNIT_BAD for any other letter or none.
 */
enum tl_nmea_reason tl_field_speed(const struct tl_field value_unit[2],
                                   const struct tl_field_range *knots, struct tl_nmea_number *out);

#endif
