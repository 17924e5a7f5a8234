/* SPDX-License-Identifier: Apache-2.0 */
/*
 * sentence - what one IEC 61162-1 (NMEA 0183) sentence says
 *
 * Takes the text between '$' and '*' whose checksum is already known to be right. A sentence is
 * taken whole or not at all; each refusal has a reason with a fixed text.
 *
 * 1. An empty field is "no data", never zero. A sentence whose needed field is empty, or that says
 *    of itself that it is not valid (status V, mode other than measured), gives a reason of its own
 *    (tl_nmea_reason_is_no_data), so that its sensor counts as not knowing at once, without waiting
 *    for a time-out.
 * 2. Numbers are read into integer thousandths by the grammar of field.h; units are converted.
 * 3. Talkers are a fixed list; a proprietary (P) sentence is refused by name.
 * 4. Pure: no heap, no clock, no I/O, no locale.
 *
 * Sentences taken (formats from memory of IEC 61162-1; $-- is any listed talker):
 *   MWV angle,R|T,speed,K|M|N,A|V     wind; the angle is from the bow, clockwise, both for R
 *       (relative: what the moving ship feels) and for T (theoretical: what she would feel standing
 *       still on the same heading). T is no bearing from north. Unit S (statute) is refused.
 *   HDT heading,T                     THS heading,mode: A measured; E, M, S, V are no data
 *   VTG course,T,course,M,speed,N,speed,K,mode: A, D, P, R, F measured; E, M, S, N are no data. The
 *       older form without a mode cannot say that it is not valid, and is refused by field count.
 *   VHW heading,T,heading,M,speed,N,speed,K     speed through the water
 *   ROT rate,A|V                      degrees a minute, minus = bow to port
 *   XDR type,value,unit,name,...      pitch and roll (A, D), heave (D, M) by the names PTCH, PITCH,
 *       ROLL, HEAV, HEAVE in any case; other measures are checked for form and passed over
 */
#ifndef CLIENTS_STATION_BRIDGE_SENTENCE_H
#define CLIENTS_STATION_BRIDGE_SENTENCE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "proto/vocab/limits.h"

/* "WIMWV": two of the talker, three of the formatter. */
#define TL_NMEA_ADDRESS_LEN 5

/*
 * Sanity of a sensor, not a limit of the ship: above these a number is a fault code (999.9).
 * The rate of turn is the range of ROT, degrees a minute.
 */
#define TL_NMEA_WIND_KT_X1000_MAX  200000
#define TL_NMEA_SHIP_KT_X1000_MAX  100000
#define TL_NMEA_TURN_X1000_MAX     720000
#define TL_NMEA_TILT_DEG_X1000_MAX 90000
#define TL_NMEA_HEAVE_M_X1000_MAX  50000
/* Two speeds of one sentence (knots and km/h) may differ by their rounding, no more. */
#define TL_NMEA_TWO_SPEEDS_KT_X1000 600

enum tl_nmea_reason {
    TL_NMEA_FINE = 0,
    TL_NMEA_NOISE,             /* bytes outside any sentence; once for each run of them */
    TL_NMEA_CUT,               /* ended by the next sentence or by the end of a datagram */
    TL_NMEA_OVERSIZE,          /* longer than TL_NMEA_SENTENCE_MAX */
    TL_NMEA_CHARACTER,         /* a byte that is not printable ASCII */
    TL_NMEA_TAG_BAD,           /* TAG block damaged: whose sentence it is cannot be known */
    TL_NMEA_TAG_ALONE,         /* TAG block without a sentence on its line */
    TL_NMEA_CHECKSUM_MISSING,  /* line does not end with '*' and two hex digits */
    TL_NMEA_CHECKSUM_BAD,      /* checksum is another */
    TL_NMEA_ADDRESS_BAD,       /* not five capitals or digits and a comma */
    TL_NMEA_PROPRIETARY,       /* $P...: meaning known to its maker only */
    TL_NMEA_TALKER_UNKNOWN,    /* not in the list */
    TL_NMEA_FORMATTER_UNKNOWN, /* a sentence that is not read here */
    TL_NMEA_FIELD_COUNT,       /* too few or too many fields for its format */
    TL_NMEA_LETTER_BAD,        /* a status, mode, reference or fixed letter that is not allowed */
    TL_NMEA_UNIT_BAD,          /* a unit that is not allowed or is missing */
    TL_NMEA_NUMBER_BAD,        /* a number outside the grammar above */
    TL_NMEA_RANGE,             /* a number no such sensor can mean */
    TL_NMEA_CONTRADICTION,     /* knots and km/h differ, or a measure is given twice */
    TL_NMEA_NOTHING_USED,      /* XDR without a measure of ours */
    TL_NMEA_NOT_VALID,         /* the sender says so by status or mode */
    TL_NMEA_FIELD_EMPTY,       /* the field that matters is empty */
    TL_NMEA_REASONS
};

enum tl_nmea_form {
    TL_NMEA_FORM_UNKNOWN = 0,
    TL_NMEA_MWV,
    TL_NMEA_HDT,
    TL_NMEA_THS,
    TL_NMEA_VTG,
    TL_NMEA_VHW,
    TL_NMEA_ROT,
    TL_NMEA_XDR
};

enum tl_nmea_wind {
    TL_NMEA_WIND_UNKNOWN = 0,
    TL_NMEA_WIND_RELATIVE,
    TL_NMEA_WIND_THEORETICAL
};

/* One number of a sentence, in thousandths of its unit. */
enum tl_nmea_presence {
    TL_NMEA_ABSENT = 0,
    TL_NMEA_EMPTY,
    TL_NMEA_PRESENT
};
struct tl_nmea_number {
    enum tl_nmea_presence presence; /* ABSENT: this sentence does not speak of it */
    int32_t x1000;                  /* when PRESENT */
};

struct tl_nmea_sentence {
    enum tl_nmea_form form;
    char talker[3];             /* two of A-Z, 0-9 */
    char source[TL_SOURCE_CAP]; /* s: of the TAG block, or the reader's own; may be "" */
    enum tl_nmea_wind wind;     /* MWV; UNKNOWN in a NO_DATA sentence that does not say */
    struct tl_nmea_number angle_deg_x1000;    /* MWV, from the bow, 0..359999 */
    struct tl_nmea_number wind_kt_x1000;      /* MWV */
    struct tl_nmea_number heading_deg_x1000;  /* HDT THS VHW, true, 0..359999 */
    struct tl_nmea_number course_deg_x1000;   /* VTG, true, 0..359999 */
    struct tl_nmea_number speed_kt_x1000;     /* VTG, over ground */
    struct tl_nmea_number water_kt_x1000;     /* VHW, through the water */
    struct tl_nmea_number turn_deg_min_x1000; /* ROT, minus = to port */
    struct tl_nmea_number pitch_deg_x1000;    /* XDR, sign as the sensor sends it */
    struct tl_nmea_number roll_deg_x1000;     /* XDR, sign as the sensor sends it */
    struct tl_nmea_number heave_m_x1000;      /* XDR, sign as the sensor sends it */
};

/*
 * Read the text of one sentence.
 *
 * text: borrowed, len bytes: what stands between '$' and '*', both left out; printable ASCII.
 * out:  always written; all zero unless the result is TL_NMEA_FINE or a "no data" reason. With "no
 *       data" it names form, talker and, if said, the kind of wind, and holds no number. source is
 *       left "".
 * Returns TL_NMEA_FINE, or why the sentence is not taken.
 */
enum tl_nmea_reason tl_nmea_sentence_read(const char *text, size_t len,
                                          struct tl_nmea_sentence *out);

/* Tell whether a reason means that a right sentence says it has no data. */
bool tl_nmea_reason_is_no_data(enum tl_nmea_reason reason);

/* Name a reason in plain words ("checksum is wrong"). Static text, never NULL, for any value. */
const char *tl_nmea_reason_text(enum tl_nmea_reason reason);

#endif
