/* SPDX-License-Identifier: Apache-2.0 */
/*
 * sentence - one small reader for each format, the table of formats, the table of talkers
 */
#include "clients/station/bridge/sentence.h"

#include <string.h>

#include "clients/station/bridge/field.h"

#define FIELDS_MAX 64
#define QUADRUPLE  4

struct fields {
    size_t count;
    struct tl_field field[FIELDS_MAX];
};

static const struct tl_field_range wind_range = {0, TL_NMEA_WIND_KT_X1000_MAX};
static const struct tl_field_range ship_range = {0, TL_NMEA_SHIP_KT_X1000_MAX};
static const struct tl_field_range turn_range = {-TL_NMEA_TURN_X1000_MAX, TL_NMEA_TURN_X1000_MAX};
static const struct tl_field_range tilt_range = {-TL_NMEA_TILT_DEG_X1000_MAX,
                                                 TL_NMEA_TILT_DEG_X1000_MAX};
static const struct tl_field_range heave_range = {-TL_NMEA_HEAVE_M_X1000_MAX,
                                                  TL_NMEA_HEAVE_M_X1000_MAX};

static enum tl_nmea_reason
split_fields(struct tl_field body, struct fields *f)
{
    const char *end = body.at + body.len;
    const char *from = body.at;

    f->count = 0;
    for (;;) {
        const char *comma = memchr(from, ',', (size_t)(end - from));
        const char *to = comma != NULL ? comma : end;

        if (f->count == FIELDS_MAX) {
            return TL_NMEA_FIELD_COUNT;
        }
        f->field[f->count++] = (struct tl_field){.at = from, .len = (size_t)(to - from)};
        if (comma == NULL) {
            return TL_NMEA_FINE;
        }
        from = comma + 1;
    }
}

/* A fixed letter stands by its number; a sender that blanks the number may blank the letter. */
static bool
letter_stands(struct tl_field t, char letter, const struct tl_nmea_number *number)
{
    return tl_field_letter(t) == letter || (t.len == 0 && number->presence == TL_NMEA_EMPTY);
}

/* "5.5,N,10.2,K" at f: knots if given, else from km/h; both must mean one speed. */
static enum tl_nmea_reason
read_two_speeds(const struct tl_field f[4], struct tl_nmea_number *out)
{
    struct tl_nmea_number kt = {.presence = TL_NMEA_ABSENT};
    struct tl_nmea_number kmh = {.presence = TL_NMEA_ABSENT};
    enum tl_nmea_reason reason = tl_field_speed(&f[0], &ship_range, &kt);

    if (reason == TL_NMEA_FINE) {
        reason = tl_field_speed(&f[2], &ship_range, &kmh);
    }
    if (reason != TL_NMEA_FINE) {
        return reason;
    }
    if (!letter_stands(f[1], 'N', &kt) || !letter_stands(f[3], 'K', &kmh)) {
        return TL_NMEA_UNIT_BAD;
    }
    if (kt.presence == TL_NMEA_PRESENT && kmh.presence == TL_NMEA_PRESENT) {
        int32_t apart = kt.x1000 > kmh.x1000 ? kt.x1000 - kmh.x1000 : kmh.x1000 - kt.x1000;

        if (apart > TL_NMEA_TWO_SPEEDS_KT_X1000) {
            return TL_NMEA_CONTRADICTION;
        }
    }
    *out = kt.presence == TL_NMEA_PRESENT ? kt : kmh;
    return TL_NMEA_FINE;
}

/* What a sentence with one needed number is worth. */
static enum tl_nmea_reason
need(const struct tl_nmea_number *number)
{
    return number->presence == TL_NMEA_PRESENT ? TL_NMEA_FINE : TL_NMEA_FIELD_EMPTY;
}

/* ---- sentences; field 0 is the address ---- */

static enum tl_nmea_reason
read_status(struct tl_field t)
{
    switch (tl_field_letter(t)) {
    case 'A':
        return TL_NMEA_FINE;
    case 'V':
        return TL_NMEA_NOT_VALID;
    default:
        return t.len == 0 ? TL_NMEA_FIELD_EMPTY : TL_NMEA_LETTER_BAD;
    }
}

/* measured and not_measured: the mode letters of either kind. */
static enum tl_nmea_reason
read_mode(struct tl_field t, const char *const kinds[2])
{
    char mode = tl_field_letter(t);

    if (mode == '\0') {
        return t.len == 0 ? TL_NMEA_FIELD_EMPTY : TL_NMEA_LETTER_BAD;
    }
    if (strchr(kinds[0], mode) != NULL) {
        return TL_NMEA_FINE;
    }
    return strchr(kinds[1], mode) != NULL ? TL_NMEA_NOT_VALID : TL_NMEA_LETTER_BAD;
}

static enum tl_nmea_reason
read_mwv(const struct fields *f, struct tl_nmea_sentence *out)
{
    char reference = tl_field_letter(f->field[2]);

    if (reference == 'R') {
        out->wind = TL_NMEA_WIND_RELATIVE;
    } else if (reference == 'T') {
        out->wind = TL_NMEA_WIND_THEORETICAL;
    }
    enum tl_nmea_reason reason = read_status(f->field[5]);

    if (reason != TL_NMEA_FINE) {
        return reason;
    }
    if (out->wind == TL_NMEA_WIND_UNKNOWN) {
        return TL_NMEA_LETTER_BAD;
    }
    reason = tl_field_angle(f->field[1], &out->angle_deg_x1000);
    if (reason == TL_NMEA_FINE) {
        reason = tl_field_speed(&f->field[3], &wind_range, &out->wind_kt_x1000);
    }
    if (reason == TL_NMEA_FINE) {
        reason = need(&out->angle_deg_x1000);
    }
    return reason == TL_NMEA_FINE ? need(&out->wind_kt_x1000) : reason;
}

static enum tl_nmea_reason
read_hdt(const struct fields *f, struct tl_nmea_sentence *out)
{
    enum tl_nmea_reason reason = tl_field_angle(f->field[1], &out->heading_deg_x1000);

    if (reason != TL_NMEA_FINE) {
        return reason;
    }
    if (!letter_stands(f->field[2], 'T', &out->heading_deg_x1000)) {
        return TL_NMEA_LETTER_BAD;
    }
    return need(&out->heading_deg_x1000);
}

static enum tl_nmea_reason
read_ths(const struct fields *f, struct tl_nmea_sentence *out)
{
    static const char *const kinds[2] = {"A", "EMSV"};
    enum tl_nmea_reason reason = read_mode(f->field[2], kinds);

    if (reason == TL_NMEA_FINE) {
        reason = tl_field_angle(f->field[1], &out->heading_deg_x1000);
    }
    return reason != TL_NMEA_FINE ? reason : need(&out->heading_deg_x1000);
}

/* "54.7,T,34.4,M" at f, of which the magnetic half is checked and dropped. */
static enum tl_nmea_reason
read_direction(const struct tl_field f[4], struct tl_nmea_number *out)
{
    struct tl_nmea_number magnetic = {.presence = TL_NMEA_ABSENT};
    enum tl_nmea_reason reason = tl_field_angle(f[0], out);

    if (reason == TL_NMEA_FINE) {
        reason = tl_field_angle(f[2], &magnetic);
    }
    if (reason != TL_NMEA_FINE) {
        return reason;
    }
    return letter_stands(f[1], 'T', out) && letter_stands(f[3], 'M', &magnetic)
               ? TL_NMEA_FINE
               : TL_NMEA_LETTER_BAD;
}

static enum tl_nmea_reason
read_vtg(const struct fields *f, struct tl_nmea_sentence *out)
{
    static const char *const kinds[2] = {"ADPRF", "EMSN"};
    enum tl_nmea_reason reason = read_mode(f->field[9], kinds);

    if (reason == TL_NMEA_FINE) {
        reason = read_direction(&f->field[1], &out->course_deg_x1000);
    }
    if (reason == TL_NMEA_FINE) {
        reason = read_two_speeds(&f->field[5], &out->speed_kt_x1000);
    }
    /* the course may be blank: receivers leave it out when hardly moving */
    return reason == TL_NMEA_FINE ? need(&out->speed_kt_x1000) : reason;
}

static enum tl_nmea_reason
read_vhw(const struct fields *f, struct tl_nmea_sentence *out)
{
    enum tl_nmea_reason reason = read_direction(&f->field[1], &out->heading_deg_x1000);

    if (reason == TL_NMEA_FINE) {
        reason = read_two_speeds(&f->field[5], &out->water_kt_x1000);
    }
    if (reason == TL_NMEA_FINE && need(&out->heading_deg_x1000) != TL_NMEA_FINE) {
        reason = need(&out->water_kt_x1000); /* a log without a compass blanks the heading */
    }
    return reason;
}

static enum tl_nmea_reason
read_rot(const struct fields *f, struct tl_nmea_sentence *out)
{
    enum tl_nmea_reason reason = read_status(f->field[2]);

    if (reason == TL_NMEA_FINE) {
        reason = tl_field_number(f->field[1], &turn_range, &out->turn_deg_min_x1000);
    }
    return reason == TL_NMEA_FINE ? need(&out->turn_deg_min_x1000) : reason;
}

enum motion {
    PITCH,
    ROLL,
    HEAVE
};
struct measure {
    const char *name;
    enum motion motion;
    char type; /* A angle, D displacement */
    char unit; /* D degrees, M metres */
    const struct tl_field_range *range;
};
static const struct measure measures[] = {
    {"PTCH", PITCH, 'A', 'D', &tilt_range},   {"PITCH", PITCH, 'A', 'D', &tilt_range},
    {"ROLL", ROLL, 'A', 'D', &tilt_range},    {"HEAV", HEAVE, 'D', 'M', &heave_range},
    {"HEAVE", HEAVE, 'D', 'M', &heave_range},
};

static const struct measure *
find_measure(struct tl_field name)
{
    for (size_t i = 0; i < sizeof measures / sizeof measures[0]; i++) {
        if (tl_field_is_word(name, measures[i].name)) {
            return &measures[i];
        }
    }
    return NULL;
}

static struct tl_nmea_number *
pick_motion(struct tl_nmea_sentence *out, enum motion motion)
{
    switch (motion) {
    case PITCH:
        return &out->pitch_deg_x1000;
    case ROLL:
        return &out->roll_deg_x1000;
    case HEAVE:
        break;
    }
    return &out->heave_m_x1000;
}

/* One "type,value,unit,name"; its form is checked even when the measure is not ours. */
static enum tl_nmea_reason
read_quadruple(const struct tl_field q[QUADRUPLE], struct tl_nmea_sentence *out)
{
    const struct measure *m = find_measure(q[3]);
    int64_t other_x1000 = 0;

    if (q[0].len > 1 || q[2].len > 1) {
        return TL_NMEA_LETTER_BAD;
    }
    if (m == NULL) {
        return q[1].len == 0 ? TL_NMEA_FINE : tl_field_x1000(q[1], &other_x1000);
    }
    struct tl_nmea_number *number = pick_motion(out, m->motion);

    if (number->presence != TL_NMEA_ABSENT) {
        return TL_NMEA_CONTRADICTION;
    }
    enum tl_nmea_reason reason = tl_field_number(q[1], m->range, number);

    if (reason != TL_NMEA_FINE) {
        return reason;
    }
    if (!letter_stands(q[0], m->type, number)) {
        return TL_NMEA_LETTER_BAD;
    }
    return letter_stands(q[2], m->unit, number) ? TL_NMEA_FINE : TL_NMEA_UNIT_BAD;
}

static enum tl_nmea_reason
read_xdr(const struct fields *f, struct tl_nmea_sentence *out)
{
    if (f->count < 1 + QUADRUPLE || (f->count - 1) % QUADRUPLE != 0) {
        return TL_NMEA_FIELD_COUNT;
    }
    for (size_t i = 1; i < f->count; i += QUADRUPLE) {
        enum tl_nmea_reason reason = read_quadruple(&f->field[i], out);

        if (reason != TL_NMEA_FINE) {
            return reason;
        }
    }
    if (out->pitch_deg_x1000.presence == TL_NMEA_ABSENT &&
        out->roll_deg_x1000.presence == TL_NMEA_ABSENT &&
        out->heave_m_x1000.presence == TL_NMEA_ABSENT) {
        return TL_NMEA_NOTHING_USED;
    }
    return TL_NMEA_FINE;
}

/* ---- tables ---- */

struct format {
    char formatter[4];
    enum tl_nmea_form form;
    size_t fields; /* with the address; 0 = the reader counts */
    enum tl_nmea_reason (*read)(const struct fields *f, struct tl_nmea_sentence *out);
};
static const struct format formats[] = {
    {"MWV", TL_NMEA_MWV, 6, read_mwv}, {"HDT", TL_NMEA_HDT, 3, read_hdt},
    {"THS", TL_NMEA_THS, 3, read_ths}, {"VTG", TL_NMEA_VTG, 10, read_vtg},
    {"VHW", TL_NMEA_VHW, 9, read_vhw}, {"ROT", TL_NMEA_ROT, 3, read_rot},
    {"XDR", TL_NMEA_XDR, 0, read_xdr},
};

/* Who may speak; from memory of the talker table of IEC 61162-1. */
static const char talkers[][3] = {
    "AG", "AI", "AP", "BD", "BN", "CD", "CR", "CS", "CT", "CV", "CX", "DE", "DF", "DU", "EC", "EI",
    "EP", "ER", "FD", "FE", "FR", "FS", "GA", "GB", "GI", "GL", "GN", "GP", "GQ", "HC", "HD", "HE",
    "HF", "HN", "HS", "II", "IN", "LC", "NL", "RA", "RB", "RC", "SA", "SD", "SG", "SM", "SN", "SS",
    "TC", "TI", "UP", "VA", "VD", "VM", "VR", "VW", "WD", "WI", "WL", "YX", "ZA", "ZC", "ZQ", "ZV",
};

static bool
is_talker(const char *two)
{
    for (size_t i = 0; i < sizeof talkers / sizeof talkers[0]; i++) {
        if (memcmp(talkers[i], two, 2) == 0) {
            return true;
        }
    }
    return false;
}

static const struct format *
find_format(const char *three)
{
    for (size_t i = 0; i < sizeof formats / sizeof formats[0]; i++) {
        if (memcmp(formats[i].formatter, three, 3) == 0) {
            return &formats[i];
        }
    }
    return NULL;
}

static bool
is_capital_or_digit(char c)
{
    return (c >= '0' && c <= '9') || (c >= 'A' && c <= 'Z');
}

static enum tl_nmea_reason
read_address(struct tl_field address, const struct format **format)
{
    for (size_t i = 0; i < address.len; i++) {
        if (!is_capital_or_digit(address.at[i])) {
            return TL_NMEA_ADDRESS_BAD;
        }
    }
    if (address.len > 0 && address.at[0] == 'P') {
        return TL_NMEA_PROPRIETARY; /* these are of any length */
    }
    if (address.len != TL_NMEA_ADDRESS_LEN) {
        return TL_NMEA_ADDRESS_BAD;
    }
    if (!is_talker(address.at)) {
        return TL_NMEA_TALKER_UNKNOWN;
    }
    *format = find_format(address.at + 2);
    return *format != NULL ? TL_NMEA_FINE : TL_NMEA_FORMATTER_UNKNOWN;
}

enum tl_nmea_reason
tl_nmea_sentence_read(const char *text, size_t len, struct tl_nmea_sentence *out)
{
    struct fields f;
    const struct format *format = NULL;
    struct tl_nmea_sentence s = {.form = TL_NMEA_FORM_UNKNOWN};
    enum tl_nmea_reason reason = split_fields((struct tl_field){.at = text, .len = len}, &f);

    *out = s;
    if (reason == TL_NMEA_FINE) {
        reason = read_address(f.field[0], &format);
    }
    if (reason != TL_NMEA_FINE) {
        return reason;
    }
    if (format->fields != 0 && f.count != format->fields) {
        return TL_NMEA_FIELD_COUNT;
    }
    s.form = format->form;
    memcpy(s.talker, text, 2);
    reason = format->read(&f, &s);
    if (reason == TL_NMEA_FINE) {
        *out = s;
    } else if (tl_nmea_reason_is_no_data(reason)) {
        *out = (struct tl_nmea_sentence){.form = s.form, .wind = s.wind};
        memcpy(out->talker, s.talker, sizeof out->talker);
    }
    return reason;
}

bool
tl_nmea_reason_is_no_data(enum tl_nmea_reason reason)
{
    return reason == TL_NMEA_NOT_VALID || reason == TL_NMEA_FIELD_EMPTY;
}

const char *
tl_nmea_reason_text(enum tl_nmea_reason reason)
{
    static const char *const texts[TL_NMEA_REASONS] = {
        [TL_NMEA_FINE] = "taken",
        [TL_NMEA_NOISE] = "bytes outside any sentence",
        [TL_NMEA_CUT] = "sentence cut short",
        [TL_NMEA_OVERSIZE] = "sentence too long",
        [TL_NMEA_CHARACTER] = "character that is not printable",
        [TL_NMEA_TAG_BAD] = "TAG block damaged",
        [TL_NMEA_TAG_ALONE] = "TAG block without a sentence",
        [TL_NMEA_CHECKSUM_MISSING] = "checksum missing",
        [TL_NMEA_CHECKSUM_BAD] = "checksum is wrong",
        [TL_NMEA_ADDRESS_BAD] = "address is not talker and sentence",
        [TL_NMEA_PROPRIETARY] = "proprietary sentence",
        [TL_NMEA_TALKER_UNKNOWN] = "talker is not known",
        [TL_NMEA_FORMATTER_UNKNOWN] = "sentence is not read here",
        [TL_NMEA_FIELD_COUNT] = "wrong number of fields",
        [TL_NMEA_LETTER_BAD] = "letter that is not allowed there",
        [TL_NMEA_UNIT_BAD] = "unit missing or not allowed",
        [TL_NMEA_NUMBER_BAD] = "number badly written",
        [TL_NMEA_RANGE] = "number out of range",
        [TL_NMEA_CONTRADICTION] = "sentence contradicts itself",
        [TL_NMEA_NOTHING_USED] = "no measure of ours in it",
        [TL_NMEA_NOT_VALID] = "sender says not valid",
        [TL_NMEA_FIELD_EMPTY] = "sender gives no value",
    };

    if (reason < TL_NMEA_FINE || reason >= TL_NMEA_REASONS) {
        return "unknown reason";
    }
    return texts[reason];
}
