/* SPDX-License-Identifier: Apache-2.0 */
/*
 * What one sentence says: each format, each refusal by its exact reason, and the grammar of numbers.
 *
 * The sentences with a checksum written out are examples printed in public descriptions of NMEA
 * 0183 (commonly printed, from memory, no one source); that the printed checksum fits shows that
 * they are remembered right. The others follow the formats of IEC 61162-1 (from memory).
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <string.h>

#include "clients/station/bridge/field.h"
#include "clients/station/bridge/nmea.h"
#include "clients/station/bridge/sentence.h"

#define P(n)                                                                                       \
    {                                                                                              \
        TL_NMEA_PRESENT, (n)                                                                       \
    }
#define E                                                                                          \
    {                                                                                              \
        TL_NMEA_EMPTY, 0                                                                           \
    }
#define R TL_NMEA_WIND_RELATIVE
#define T TL_NMEA_WIND_THEORETICAL

struct row {
    const char *body;
    enum tl_nmea_reason reason;
    struct tl_nmea_sentence want; /* talker is compared with the body */
};

static void
same_number(const char *row, const char *what, const struct tl_nmea_number number[2])
{
    if (number[0].presence != number[1].presence || number[0].x1000 != number[1].x1000) {
        fail_msg("%s: %s: got %d/%d, wanted %d/%d", row, what, (int)number[0].presence,
                 (int)number[0].x1000, (int)number[1].presence, (int)number[1].x1000);
    }
}

#define SAME(member)                                                                               \
    same_number(row->body, #member, (const struct tl_nmea_number[2]){got.member, row->want.member})

static void
check_row(const struct row *row)
{
    struct tl_nmea_sentence got;
    enum tl_nmea_reason reason = tl_nmea_sentence_read(row->body, strlen(row->body), &got);

    if (reason != row->reason) {
        fail_msg("%s: got '%s', wanted '%s'", row->body, tl_nmea_reason_text(reason),
                 tl_nmea_reason_text(row->reason));
    }
    if (got.form != row->want.form || got.wind != row->want.wind) {
        fail_msg("%s: form %d wind %d", row->body, (int)got.form, (int)got.wind);
    }
    if (got.form != TL_NMEA_FORM_UNKNOWN && strncmp(got.talker, row->body, 2) != 0) {
        fail_msg("%s: talker '%s'", row->body, got.talker);
    }
    SAME(angle_deg_x1000);
    SAME(wind_kt_x1000);
    SAME(heading_deg_x1000);
    SAME(course_deg_x1000);
    SAME(speed_kt_x1000);
    SAME(water_kt_x1000);
    SAME(turn_deg_min_x1000);
    SAME(pitch_deg_x1000);
    SAME(roll_deg_x1000);
    SAME(heave_m_x1000);
}

#define CHECK(rows)                                                                                \
    for (size_t i = 0; i < sizeof(rows) / sizeof((rows)[0]); i++)                                  \
    check_row(&(rows)[i])

/* ---- printed examples, with the checksum printed beside them ---- */

static void
sentence_printed_examples_read_as_printed(void **state)
{
    static const struct {
        const char *line;
        enum tl_nmea_event_kind kind;
        enum tl_nmea_reason reason;
        int32_t x1000; /* the first number of the sentence */
    } rows[] = {
        {"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47", TL_NMEA_REFUSED,
         TL_NMEA_FORMATTER_UNKNOWN, 0},
        {"$WIMWV,214.8,R,0.1,K,A*28", TL_NMEA_TAKEN, TL_NMEA_FINE, 214800},
        {"$WIMWV,320,R,15.0,M,A*0B", TL_NMEA_TAKEN, TL_NMEA_FINE, 320000},
        {"$GPHDT,274.07,T*03", TL_NMEA_TAKEN, TL_NMEA_FINE, 274070},
        {"$GPHDT,123.456,T*32", TL_NMEA_TAKEN, TL_NMEA_FINE, 123456},
        {"$HCHDT,86.2,T*15", TL_NMEA_TAKEN, TL_NMEA_FINE, 86200},
        {"$GPTHS,338.01,A*0E", TL_NMEA_TAKEN, TL_NMEA_FINE, 338010},
        {"$HEROT,0.0,A*2B", TL_NMEA_TAKEN, TL_NMEA_FINE, 0},
        {"$GPVTG,220.86,T,,M,2.550,N,4.724,K,A*34", TL_NMEA_TAKEN, TL_NMEA_FINE, 220860},
        /* of the time before the mode indicator: cannot say that it is not valid */
        {"$GPVTG,054.7,T,034.4,M,005.5,N,010.2,K*48", TL_NMEA_REFUSED, TL_NMEA_FIELD_COUNT, 0},
        {"$GPVTG,360.0,T,348.7,M,000.0,N,000.0,K*43", TL_NMEA_REFUSED, TL_NMEA_FIELD_COUNT, 0},
        {"$GPVTG,,T,,M,0.00,N,0.00,K*4E", TL_NMEA_REFUSED, TL_NMEA_FIELD_COUNT, 0},
        {"$IIXDR,C,19.52,C,TempAir*19", TL_NMEA_REFUSED, TL_NMEA_NOTHING_USED, 0},
        /* a compass that was lying on its back: no ship pitches 171 degrees */
        {"$HCXDR,A,171,D,PITCH,A,-37,D,ROLL,G,367,,MAGX,G,2420,,MAGY,G,-8984,,MAGZ*41",
         TL_NMEA_REFUSED, TL_NMEA_RANGE, 0},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_nmea_reader reader;
        struct tl_nmea_event e;

        tl_nmea_init(&reader, "");
        (void)tl_nmea_feed(&reader, (const uint8_t *)rows[i].line, strlen(rows[i].line), &e);
        tl_nmea_end_unit(&reader, &e);
        const struct tl_nmea_sentence *s = &e.sentence;
        int32_t first = s->angle_deg_x1000.x1000 + s->heading_deg_x1000.x1000 +
                        s->course_deg_x1000.x1000 + s->turn_deg_min_x1000.x1000;
        if (e.kind != rows[i].kind || e.reason != rows[i].reason || first != rows[i].x1000) {
            fail_msg("%s: kind %d, '%s', %d", rows[i].line, (int)e.kind,
                     tl_nmea_reason_text(e.reason), (int)first);
        }
    }
}

/* ---- wind ---- */

/* 1 kn = 1852/3600 m/s = 1.852 km/h exactly (NIST SP 811, App. B). */
static void
sentence_wind_is_taken_in_its_unit(void **state)
{
    static const struct row rows[] = {
        {"WIMWV,352.5,R,27.0,N,A",
         TL_NMEA_FINE,
         {.form = TL_NMEA_MWV, .wind = R, .angle_deg_x1000 = P(352500), .wind_kt_x1000 = P(27000)}},
        {"IIMWV,10,T,463.0,K,A", TL_NMEA_RANGE, {.form = TL_NMEA_FORM_UNKNOWN}}, /* 250 kn */
        {"IIMWV,10,T,370.4,K,A",
         TL_NMEA_FINE,
         {.form = TL_NMEA_MWV, .wind = T, .angle_deg_x1000 = P(10000), .wind_kt_x1000 = P(200000)}},
        {"IIMWV,10,T,185.2,K,A",
         TL_NMEA_FINE,
         {.form = TL_NMEA_MWV, .wind = T, .angle_deg_x1000 = P(10000), .wind_kt_x1000 = P(100000)}},
        {"IIMWV,10,R,9.26,M,A",
         TL_NMEA_FINE,
         {.form = TL_NMEA_MWV, .wind = R, .angle_deg_x1000 = P(10000), .wind_kt_x1000 = P(18000)}},
        {"IIMWV,10,R,15.0,M,A",
         TL_NMEA_FINE,
         {.form = TL_NMEA_MWV, .wind = R, .angle_deg_x1000 = P(10000), .wind_kt_x1000 = P(29158)}},
        {"IIMWV,360,R,0.0,N,A",
         TL_NMEA_FINE,
         {.form = TL_NMEA_MWV, .wind = R, .angle_deg_x1000 = P(0), .wind_kt_x1000 = P(0)}},
        {"IIMWV,360.001,R,0.0,N,A", TL_NMEA_RANGE, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"IIMWV,-10,R,5.0,N,A", TL_NMEA_RANGE, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"IIMWV,10,R,-5.0,N,A", TL_NMEA_RANGE, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"IIMWV,10,R,200,N,A",
         TL_NMEA_FINE,
         {.form = TL_NMEA_MWV, .wind = R, .angle_deg_x1000 = P(10000), .wind_kt_x1000 = P(200000)}},
        {"IIMWV,10,R,200.001,N,A", TL_NMEA_RANGE, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"IIMWV,999.9,R,99.9,N,A", TL_NMEA_RANGE, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"IIMWV,10,R,999.9,N,A", TL_NMEA_RANGE, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"IIMWV,10,R,10.0,S,A", TL_NMEA_UNIT_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"IIMWV,10,R,10.0,n,A", TL_NMEA_UNIT_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"IIMWV,10,R,10.0,,A", TL_NMEA_UNIT_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"IIMWV,10,R,10.0,NN,A", TL_NMEA_UNIT_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
    };

    (void)state;
    CHECK(rows);
}

static void
sentence_wind_that_says_it_is_not_valid_is_no_data(void **state)
{
    static const struct row rows[] = {
        {"WIMWV,352.5,R,27.0,N,V", TL_NMEA_NOT_VALID, {.form = TL_NMEA_MWV, .wind = R}},
        {"WIMWV,352.5,T,27.0,N,V", TL_NMEA_NOT_VALID, {.form = TL_NMEA_MWV, .wind = T}},
        {"WIMWV,,R,,N,V", TL_NMEA_NOT_VALID, {.form = TL_NMEA_MWV, .wind = R}},
        {"WIMWV,,,,,V", TL_NMEA_NOT_VALID, {.form = TL_NMEA_MWV}},
        {"WIMWV,garbage,R,999,N,V", TL_NMEA_NOT_VALID, {.form = TL_NMEA_MWV, .wind = R}},
        {"WIMWV,352.5,R,27.0,N,", TL_NMEA_FIELD_EMPTY, {.form = TL_NMEA_MWV, .wind = R}},
        {"WIMWV,,R,27.0,N,A", TL_NMEA_FIELD_EMPTY, {.form = TL_NMEA_MWV, .wind = R}},
        {"WIMWV,352.5,R,,N,A", TL_NMEA_FIELD_EMPTY, {.form = TL_NMEA_MWV, .wind = R}},
        {"WIMWV,352.5,R,,,A", TL_NMEA_FIELD_EMPTY, {.form = TL_NMEA_MWV, .wind = R}},
        {"WIMWV,352.5,R,27.0,N,B", TL_NMEA_LETTER_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"WIMWV,352.5,R,27.0,N,a", TL_NMEA_LETTER_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"WIMWV,352.5,r,27.0,N,A", TL_NMEA_LETTER_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"WIMWV,352.5,,27.0,N,A", TL_NMEA_LETTER_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
    };

    (void)state;
    CHECK(rows);
}

/* ---- ship ---- */

static void
sentence_heading_is_taken_from_three_forms(void **state)
{
    static const struct row rows[] = {
        {"HEHDT,359.95,T", TL_NMEA_FINE, {.form = TL_NMEA_HDT, .heading_deg_x1000 = P(359950)}},
        {"HEHDT,360.0,T", TL_NMEA_FINE, {.form = TL_NMEA_HDT, .heading_deg_x1000 = P(0)}},
        {"HEHDT,,T", TL_NMEA_FIELD_EMPTY, {.form = TL_NMEA_HDT}},
        {"HEHDT,,", TL_NMEA_FIELD_EMPTY, {.form = TL_NMEA_HDT}},
        {"HEHDT,12.0,M", TL_NMEA_LETTER_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"HEHDT,12.0,", TL_NMEA_LETTER_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"HEHDT,12.0", TL_NMEA_FIELD_COUNT, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"HETHS,12.0,A", TL_NMEA_FINE, {.form = TL_NMEA_THS, .heading_deg_x1000 = P(12000)}},
        {"HETHS,12.0,E", TL_NMEA_NOT_VALID, {.form = TL_NMEA_THS}},
        {"HETHS,12.0,M", TL_NMEA_NOT_VALID, {.form = TL_NMEA_THS}},
        {"HETHS,12.0,S", TL_NMEA_NOT_VALID, {.form = TL_NMEA_THS}},
        {"HETHS,12.0,V", TL_NMEA_NOT_VALID, {.form = TL_NMEA_THS}},
        {"HETHS,12.0,X", TL_NMEA_LETTER_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"HETHS,12.0,", TL_NMEA_FIELD_EMPTY, {.form = TL_NMEA_THS}},
        {"HETHS,,A", TL_NMEA_FIELD_EMPTY, {.form = TL_NMEA_THS}},
        {"VWVHW,90.0,T,80.0,M,12.0,N,22.2,K",
         TL_NMEA_FINE,
         {.form = TL_NMEA_VHW, .heading_deg_x1000 = P(90000), .water_kt_x1000 = P(12000)}},
        {"VWVHW,,T,,M,12.0,N,22.2,K",
         TL_NMEA_FINE,
         {.form = TL_NMEA_VHW, .heading_deg_x1000 = E, .water_kt_x1000 = P(12000)}},
        {"VWVHW,,,,,,,18.52,K",
         TL_NMEA_FINE,
         {.form = TL_NMEA_VHW, .heading_deg_x1000 = E, .water_kt_x1000 = P(10000)}},
        {"VWVHW,90.0,T,,M,,N,,K",
         TL_NMEA_FINE,
         {.form = TL_NMEA_VHW, .heading_deg_x1000 = P(90000), .water_kt_x1000 = E}},
        {"VWVHW,,T,,M,,N,,K", TL_NMEA_FIELD_EMPTY, {.form = TL_NMEA_VHW}},
        {"VWVHW,,T,,M,-1.0,N,-1.9,K", TL_NMEA_RANGE, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"VWVHW,90.0,T,400.0,M,12.0,N,22.2,K", TL_NMEA_RANGE, {.form = TL_NMEA_FORM_UNKNOWN}},
    };

    (void)state;
    CHECK(rows);
}

static void
sentence_track_needs_its_mode_and_one_speed(void **state)
{
    static const struct row rows[] = {
        {"GPVTG,90.5,T,,M,12.0,N,22.2,K,A",
         TL_NMEA_FINE,
         {.form = TL_NMEA_VTG, .course_deg_x1000 = P(90500), .speed_kt_x1000 = P(12000)}},
        {"GNVTG,90.5,T,80.0,M,12.0,N,22.2,K,D",
         TL_NMEA_FINE,
         {.form = TL_NMEA_VTG, .course_deg_x1000 = P(90500), .speed_kt_x1000 = P(12000)}},
        /* hardly moving: the receiver leaves the course out */
        {"GNVTG,,T,,M,0.1,N,0.2,K,A",
         TL_NMEA_FINE,
         {.form = TL_NMEA_VTG, .course_deg_x1000 = E, .speed_kt_x1000 = P(100)}},
        {"GNVTG,90.5,T,,M,,N,18.52,K,A",
         TL_NMEA_FINE,
         {.form = TL_NMEA_VTG, .course_deg_x1000 = P(90500), .speed_kt_x1000 = P(10000)}},
        {"GPVTG,90.5,T,,M,12.0,N,22.2,K,E", TL_NMEA_NOT_VALID, {.form = TL_NMEA_VTG}},
        {"GPVTG,90.5,T,,M,12.0,N,22.2,K,M", TL_NMEA_NOT_VALID, {.form = TL_NMEA_VTG}},
        {"GPVTG,90.5,T,,M,12.0,N,22.2,K,S", TL_NMEA_NOT_VALID, {.form = TL_NMEA_VTG}},
        {"GPVTG,,,,,,,,,N", TL_NMEA_NOT_VALID, {.form = TL_NMEA_VTG}},
        {"GPVTG,90.5,T,,M,12.0,N,22.2,K,", TL_NMEA_FIELD_EMPTY, {.form = TL_NMEA_VTG}},
        {"GPVTG,90.5,T,,M,,N,,K,A", TL_NMEA_FIELD_EMPTY, {.form = TL_NMEA_VTG}},
        {"GPVTG,90.5,T,,M,12.0,N,22.2,K", TL_NMEA_FIELD_COUNT, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"GPVTG,90.5,,,M,12.0,N,22.2,K,A", TL_NMEA_LETTER_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"GPVTG,90.5,T,,M,12.0,K,22.2,N,A", TL_NMEA_UNIT_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"GPVTG,90.5,T,,M,12.0,N,12.0,N,A", TL_NMEA_UNIT_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"GPVTG,90.5,T,,M,12.0,N,2.22,K,A", TL_NMEA_CONTRADICTION, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"GPVTG,90.5,T,,M,100.0,N,185.2,K,A",
         TL_NMEA_FINE,
         {.form = TL_NMEA_VTG, .course_deg_x1000 = P(90500), .speed_kt_x1000 = P(100000)}},
        {"GPVTG,90.5,T,,M,100.001,N,185.2,K,A", TL_NMEA_RANGE, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"HEROT,-720.0,A", TL_NMEA_FINE, {.form = TL_NMEA_ROT, .turn_deg_min_x1000 = P(-720000)}},
        {"HEROT,-720.1,A", TL_NMEA_RANGE, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"HEROT,12.0,V", TL_NMEA_NOT_VALID, {.form = TL_NMEA_ROT}},
        {"HEROT,,A", TL_NMEA_FIELD_EMPTY, {.form = TL_NMEA_ROT}},
    };

    (void)state;
    CHECK(rows);
}

static void
sentence_motion_is_found_among_other_measures(void **state)
{
    static const struct row rows[] = {
        {"IIXDR,A,-3.2,D,PTCH,A,5.1,D,ROLL,D,0.35,M,HEAVE",
         TL_NMEA_FINE,
         {.form = TL_NMEA_XDR,
          .pitch_deg_x1000 = P(-3200),
          .roll_deg_x1000 = P(5100),
          .heave_m_x1000 = P(350)}},
        {"YXXDR,C,19.52,C,TempAir,P,1.01325,B,Barometer,A,2.5,D,pitch,G,-8984,,MAGZ",
         TL_NMEA_FINE,
         {.form = TL_NMEA_XDR, .pitch_deg_x1000 = P(2500)}},
        {"IIXDR,D,-0.1,M,HEAV", TL_NMEA_FINE, {.form = TL_NMEA_XDR, .heave_m_x1000 = P(-100)}},
        {"IIXDR,A,,D,PTCH,A,5.1,D,ROLL",
         TL_NMEA_FINE,
         {.form = TL_NMEA_XDR, .pitch_deg_x1000 = E, .roll_deg_x1000 = P(5100)}},
        {"IIXDR,A,5.1,D,ROLL,A,5.2,D,ROLL", TL_NMEA_CONTRADICTION, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"IIXDR,A,5.1,D,PTCH,A,5.2,D,PITCH", TL_NMEA_CONTRADICTION, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"IIXDR,A,0.05,R,ROLL", TL_NMEA_UNIT_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"IIXDR,D,1.0,D,ROLL", TL_NMEA_LETTER_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"IIXDR,D,1.0,D,HEAVE", TL_NMEA_UNIT_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"IIXDR,A,90.1,D,ROLL", TL_NMEA_RANGE, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"IIXDR,D,50.1,M,HEAVE", TL_NMEA_RANGE, {.form = TL_NMEA_FORM_UNKNOWN}},
        /* whole or not at all: one bad measure that is not ours takes the roll with it */
        {"IIXDR,A,5.1,D,ROLL,C,1e2,C,TempAir", TL_NMEA_NUMBER_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"IIXDR,A,5.1,D,ROLL,CC,1,C,TempAir", TL_NMEA_LETTER_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"IIXDR,A,5.1,D,ROLL,C,1.0,C", TL_NMEA_FIELD_COUNT, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"IIXDR", TL_NMEA_FIELD_COUNT, {.form = TL_NMEA_FORM_UNKNOWN}},
    };

    (void)state;
    CHECK(rows);
}

static void
sentence_of_an_unknown_kind_or_talker_is_named(void **state)
{
    static const struct row rows[] = {
        {"QQMWV,1.0,R,2.0,N,A", TL_NMEA_TALKER_UNKNOWN, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"WIMWD,1.0,T,2.0,M,3.0,N,4.0,M",
         TL_NMEA_FORMATTER_UNKNOWN,
         {.form = TL_NMEA_FORM_UNKNOWN}},
        {"CCGPQ,GGA", TL_NMEA_TALKER_UNKNOWN, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"PABCD,15.0,M,45.0,M,25.0,M", TL_NMEA_PROPRIETARY, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"PXYZ", TL_NMEA_PROPRIETARY, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"wimwv,1.0,R,2.0,N,A", TL_NMEA_ADDRESS_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"WIMW,1.0,R,2.0,N,A", TL_NMEA_ADDRESS_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"WIMWVX,1.0,R,2.0,N,A", TL_NMEA_ADDRESS_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"WI MWV,1.0,R,2.0,N,A", TL_NMEA_ADDRESS_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"", TL_NMEA_ADDRESS_BAD, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"WIMWV", TL_NMEA_FIELD_COUNT, {.form = TL_NMEA_FORM_UNKNOWN}},
        {"WIMWV,1.0,R,2.0,N,A,A", TL_NMEA_FIELD_COUNT, {.form = TL_NMEA_FORM_UNKNOWN}},
    };

    (void)state;
    CHECK(rows);
}

/* ---- numbers ---- */

static void
field_number_grammar_is_what_is_written(void **state)
{
    static const struct {
        const char *text;
        enum tl_nmea_reason reason;
        int64_t x1000;
    } rows[] = {
        {"0", TL_NMEA_FINE, 0},
        {"007.30", TL_NMEA_FINE, 7300},
        {"73", TL_NMEA_FINE, 73000},
        {"5.", TL_NMEA_FINE, 5000},
        {".5", TL_NMEA_FINE, 500},
        {"-.5", TL_NMEA_FINE, -500},
        {"-0.0", TL_NMEA_FINE, 0},
        {"1.2344", TL_NMEA_FINE, 1234},
        {"1.2345", TL_NMEA_FINE, 1235},
        {"-1.2345", TL_NMEA_FINE, -1235},
        {"1.23449999999999999", TL_NMEA_FINE, 1234},
        {"359.9996", TL_NMEA_FINE, 360000},
        {"999999999", TL_NMEA_FINE, 999999999000},
        {"0999999999", TL_NMEA_NUMBER_BAD, 0},
        {"", TL_NMEA_NUMBER_BAD, 0},
        {".", TL_NMEA_NUMBER_BAD, 0},
        {"-", TL_NMEA_NUMBER_BAD, 0},
        {"-.", TL_NMEA_NUMBER_BAD, 0},
        {"--1", TL_NMEA_NUMBER_BAD, 0},
        {"+5", TL_NMEA_NUMBER_BAD, 0},
        {"12.3.4", TL_NMEA_NUMBER_BAD, 0},
        {"1e5", TL_NMEA_NUMBER_BAD, 0},
        {"1E5", TL_NMEA_NUMBER_BAD, 0},
        {"0x1A", TL_NMEA_NUMBER_BAD, 0},
        {"nan", TL_NMEA_NUMBER_BAD, 0},
        {"inf", TL_NMEA_NUMBER_BAD, 0},
        {" 5", TL_NMEA_NUMBER_BAD, 0},
        {"5 ", TL_NMEA_NUMBER_BAD, 0},
        {"5-", TL_NMEA_NUMBER_BAD, 0},
        {"1'000", TL_NMEA_NUMBER_BAD, 0},
        {"3O", TL_NMEA_NUMBER_BAD, 0}, /* a letter O */
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        int64_t x1000 = 0;
        struct tl_field field = {.at = rows[i].text, .len = strlen(rows[i].text)};
        enum tl_nmea_reason reason = tl_field_x1000(field, &x1000);

        if (reason != rows[i].reason || x1000 != rows[i].x1000) {
            fail_msg("'%s': '%s', %lld", rows[i].text, tl_nmea_reason_text(reason),
                     (long long)x1000);
        }
    }
}

static void
reason_each_has_its_own_text(void **state)
{
    (void)state;
    for (int i = 0; i < TL_NMEA_REASONS; i++) {
        assert_non_null(tl_nmea_reason_text((enum tl_nmea_reason)i));
        for (int j = 0; j < i; j++) {
            assert_string_not_equal(tl_nmea_reason_text((enum tl_nmea_reason)i),
                                    tl_nmea_reason_text((enum tl_nmea_reason)j));
        }
    }
    assert_string_equal(tl_nmea_reason_text(TL_NMEA_REASONS), "unknown reason");
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sentence_printed_examples_read_as_printed),
        cmocka_unit_test(sentence_wind_is_taken_in_its_unit),
        cmocka_unit_test(sentence_wind_that_says_it_is_not_valid_is_no_data),
        cmocka_unit_test(sentence_heading_is_taken_from_three_forms),
        cmocka_unit_test(sentence_track_needs_its_mode_and_one_speed),
        cmocka_unit_test(sentence_motion_is_found_among_other_measures),
        cmocka_unit_test(sentence_of_an_unknown_kind_or_talker_is_named),
        cmocka_unit_test(field_number_grammar_is_what_is_written),
        cmocka_unit_test(reason_each_has_its_own_text),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
