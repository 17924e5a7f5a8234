/* SPDX-License-Identifier: Apache-2.0 */
/*
 * sensors - the fold: who said what, and when
 *
 * What it amounts to at one moment is worked out by sensors_ship.c and sensors_wind.c.
 */
#include "clients/station/bridge/sensors.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "broker/core/mechanics/wind.h"

/* ---- configuration ---- */

void
tl_sensors_defaults(struct tl_sensors_config *config)
{
    *config = (struct tl_sensors_config){
        .wind_valid_ms = 3000,
        .heading_valid_ms = 3000,
        .speed_valid_ms = 5000,
        .motion_valid_ms = 3000,
        .wind_required = 1,
        .axis_port_deg = 0.0,
        .wind_disagree_deg = 15.0,
        .wind_disagree_kt = 5.0,
        .heading_disagree_deg = 3.0,
        .course_disagree_deg = 10.0,
        .speed_disagree_kt = 2.0,
    };
}

static bool
is_limit(double limit)
{
    return isfinite(limit) && limit > 0.0;
}

static bool
label_is_good(const struct tl_sensors_config *c, uint32_t at)
{
    if (c->wind_label[at][0] == '\0' ||
        memchr(c->wind_label[at], '\0', sizeof c->wind_label[at]) == NULL) {
        return false;
    }
    for (uint32_t i = 0; i < at; i++) {
        if (strcmp(c->wind_label[i], c->wind_label[at]) == 0) {
            return false;
        }
    }
    return true;
}

static bool
labels_are_good(const struct tl_sensors_config *c)
{
    bool good = true;

    for (uint32_t i = 0; i < c->wind_count; i++) {
        good = good && label_is_good(c, i);
    }
    return good;
}

static bool
config_is_good(const struct tl_sensors_config *c)
{
    uint32_t most = c->wind_count > 0 ? c->wind_count : TL_READINGS_MAX;

    return c->wind_valid_ms > 0 && c->heading_valid_ms > 0 && c->speed_valid_ms > 0 &&
           c->motion_valid_ms > 0 && c->wind_count <= TL_READINGS_MAX && c->wind_required >= 1 &&
           c->wind_required <= most && isfinite(c->axis_port_deg) && c->axis_port_deg >= 0.0 &&
           c->axis_port_deg <= TL_WIND_AXIS_PORT_DEG_MAX && is_limit(c->wind_disagree_deg) &&
           is_limit(c->wind_disagree_kt) && is_limit(c->heading_disagree_deg) &&
           is_limit(c->course_disagree_deg) && is_limit(c->speed_disagree_kt) && labels_are_good(c);
}

enum tl_err
tl_sensors_init(struct tl_sensors *s, const struct tl_sensors_config *config)
{
    if (!config_is_good(config)) {
        return TL_BADARG;
    }
    memset(s, 0, sizeof *s);
    s->config = *config;
    s->vane_count = config->wind_count;
    for (uint32_t i = 0; i < config->wind_count; i++) {
        memcpy(s->vane[i].label, config->wind_label[i], sizeof s->vane[i].label);
    }
    return TL_OK;
}

/* ---- words ---- */

static const char *
name_form(enum tl_nmea_form form)
{
    switch (form) {
    case TL_NMEA_HDT:
        return "HDT";
    case TL_NMEA_THS:
        return "THS";
    case TL_NMEA_VTG:
        return "VTG";
    case TL_NMEA_VHW:
        return "VHW";
    case TL_NMEA_ROT:
        return "ROT";
    case TL_NMEA_XDR:
        return "XDR";
    case TL_NMEA_MWV: /* a wind sensor goes by its talker alone */
    case TL_NMEA_FORM_UNKNOWN:
        break;
    }
    return "";
}

static void
make_label(const struct tl_nmea_sentence *sentence, char label[TL_SENSORS_LABEL_CAP])
{
    /* two of the talker, three of the form, '/', 15 of the source: it always fits */
    (void)snprintf(label, TL_SENSORS_LABEL_CAP, "%.2s%s%s%.15s", sentence->talker,
                   name_form(sentence->form), sentence->source[0] != '\0' ? "/" : "",
                   sentence->source);
}

static struct tl_sensors_word
say(const struct tl_nmea_number *number, uint64_t now_ms)
{
    return (struct tl_sensors_word){.heard = true,
                                    .valid = number->presence == TL_NMEA_PRESENT,
                                    .at_ms = now_ms,
                                    .value_x1000 = number->x1000};
}

/* ---- measures other than wind ---- */

static uint32_t
valid_ms_of(const struct tl_sensors_config *c, enum tl_sensors_measure measure)
{
    switch (measure) {
    case TL_SENSORS_HEADING:
        return c->heading_valid_ms;
    case TL_SENSORS_TRACK:
    case TL_SENSORS_WATER:
        return c->speed_valid_ms;
    case TL_SENSORS_PITCH:
    case TL_SENSORS_ROLL:
    case TL_SENSORS_HEAVE:
    case TL_SENSORS_TURN:
    case TL_SENSORS_MEASURES:
        break;
    }
    return c->motion_valid_ms;
}

/* The place of a source: its own, a free one, or that of one which no longer counts; NULL if none. */
static struct tl_sensors_source *
find_place(struct tl_sensors *s, enum tl_sensors_measure measure, const char *label,
           uint64_t now_ms)
{
    struct tl_sensors_source *source = s->source[measure];
    struct tl_sensors_source *place = NULL;
    uint32_t valid_ms = valid_ms_of(&s->config, measure);

    for (size_t i = 0; i < TL_SENSORS_SOURCES_MAX; i++) {
        if (strcmp(source[i].label, label) == 0) {
            return &source[i];
        }
        if (place == NULL &&
            (source[i].label[0] == '\0' || !tl_sensors_counts(&source[i].word, now_ms, valid_ms))) {
            place = &source[i];
        }
    }
    return place;
}

static void
take_word(struct tl_sensors *s, enum tl_sensors_measure measure, const char *label,
          const struct tl_sensors_word *word)
{
    struct tl_sensors_source *place = find_place(s, measure, label, word->at_ms);

    if (place == NULL) {
        s->overflow++;
        return;
    }
    *place = (struct tl_sensors_source){.word = *word};
    memcpy(place->label, label, TL_SENSORS_LABEL_CAP);
}

struct said {
    enum tl_sensors_measure measure;
    const struct tl_nmea_number *number;
};

static void
take_motion(struct tl_sensors *s, const struct tl_nmea_event *event, uint64_t now_ms)
{
    const struct tl_nmea_sentence *n = &event->sentence;
    const struct said motion[] = {
        {TL_SENSORS_PITCH, &n->pitch_deg_x1000},
        {TL_SENSORS_ROLL, &n->roll_deg_x1000},
        {TL_SENSORS_HEAVE, &n->heave_m_x1000},
    };
    char label[TL_SENSORS_LABEL_CAP];

    make_label(n, label);
    for (size_t i = 0; i < sizeof motion / sizeof motion[0]; i++) {
        if (motion[i].number->presence != TL_NMEA_ABSENT) {
            struct tl_sensors_word word = say(motion[i].number, now_ms);
            take_word(s, motion[i].measure, label, &word);
        }
    }
}

/* A number that the form always speaks of: absent means that the sender has no data. */
static void
take_value(struct tl_sensors *s, const struct said *said, const struct tl_nmea_event *event,
           uint64_t now_ms)
{
    struct tl_sensors_word word = say(said->number, now_ms);
    char label[TL_SENSORS_LABEL_CAP];

    if (said->measure == TL_SENSORS_TRACK) {
        word.has_direction = event->sentence.course_deg_x1000.presence == TL_NMEA_PRESENT;
        word.direction_deg_x1000 = event->sentence.course_deg_x1000.x1000;
    }
    make_label(&event->sentence, label);
    take_word(s, said->measure, label, &word);
}

/* ---- wind ---- */

static struct tl_sensors_vane *
find_vane(struct tl_sensors *s, const char *label)
{
    for (uint32_t i = 0; i < s->vane_count; i++) {
        if (strcmp(s->vane[i].label, label) == 0) {
            return &s->vane[i];
        }
    }
    if (s->config.wind_count > 0) {
        s->unlisted++;
        return NULL;
    }
    if (s->vane_count == TL_READINGS_MAX) {
        s->overflow++;
        s->vane_overflow = true;
        return NULL;
    }
    struct tl_sensors_vane *vane = &s->vane[s->vane_count++];

    memset(vane, 0, sizeof *vane);
    memcpy(vane->label, label, sizeof vane->label);
    return vane;
}

static void
take_wind(struct tl_sensors *s, const struct tl_nmea_sentence *n, uint64_t now_ms)
{
    char label[TL_SENSORS_LABEL_CAP];
    struct tl_sensors_word word = say(&n->wind_kt_x1000, now_ms);

    make_label(n, label);
    struct tl_sensors_vane *vane = find_vane(s, label);

    if (vane == NULL) {
        return;
    }
    word.has_direction = n->angle_deg_x1000.presence == TL_NMEA_PRESENT;
    word.direction_deg_x1000 = n->angle_deg_x1000.x1000;
    word.valid = word.valid && word.has_direction;
    if (n->wind != TL_NMEA_WIND_THEORETICAL) {
        vane->relative = word;
    }
    if (n->wind != TL_NMEA_WIND_RELATIVE) {
        vane->theoretical = word;
    }
}

/* ---- public ---- */

bool
tl_sensors_counts(const struct tl_sensors_word *word, uint64_t now_ms, uint32_t valid_ms)
{
    return word->heard && word->valid && now_ms >= word->at_ms && now_ms - word->at_ms <= valid_ms;
}

void
tl_sensors_take(struct tl_sensors *s, const struct tl_nmea_event *event, uint64_t now_ms)
{
    const struct tl_nmea_sentence *n = &event->sentence;
    const struct said heading = {TL_SENSORS_HEADING, &n->heading_deg_x1000};
    const struct said track = {TL_SENSORS_TRACK, &n->speed_kt_x1000};
    const struct said water = {TL_SENSORS_WATER, &n->water_kt_x1000};
    const struct said turn = {TL_SENSORS_TURN, &n->turn_deg_min_x1000};

    if (event->kind != TL_NMEA_TAKEN && event->kind != TL_NMEA_NO_DATA) {
        return;
    }
    switch (n->form) {
    case TL_NMEA_MWV:
        take_wind(s, n, now_ms);
        break;
    case TL_NMEA_HDT:
    case TL_NMEA_THS:
        take_value(s, &heading, event, now_ms);
        break;
    case TL_NMEA_VTG:
        take_value(s, &track, event, now_ms);
        break;
    case TL_NMEA_VHW:
        take_value(s, &heading, event, now_ms);
        take_value(s, &water, event, now_ms);
        break;
    case TL_NMEA_ROT:
        take_value(s, &turn, event, now_ms);
        break;
    case TL_NMEA_XDR:
        take_motion(s, event, now_ms);
        break;
    case TL_NMEA_FORM_UNKNOWN:
        break;
    }
}

enum tl_err
tl_sensors_forget(struct tl_sensors *s, const char *label)
{
    for (uint32_t i = 0; i < s->vane_count; i++) {
        if (strcmp(s->vane[i].label, label) != 0) {
            continue;
        }
        if (s->config.wind_count > 0) {
            return TL_REFUSED;
        }
        s->vane_count--;
        memmove(&s->vane[i], &s->vane[i + 1], (s->vane_count - i) * sizeof s->vane[0]);
        s->vane_overflow = false; /* there is place now; it is said again if it is not enough */
        return TL_OK;
    }
    return TL_NOTFOUND;
}

const char *
tl_sensors_reason_text(enum tl_sensors_reason reason)
{
    static const char *const texts[TL_SENSORS_REASONS] = {
        [TL_SENSORS_FINE] = "known",
        [TL_SENSORS_NEVER_HEARD] = "never heard",
        [TL_SENSORS_SILENT] = "silent",
        [TL_SENSORS_NO_DATA] = "says it has no data",
        [TL_SENSORS_TOO_FEW] = "fewer wind sensors than required",
        [TL_SENSORS_NO_HEADING] = "no heading",
        [TL_SENSORS_HEADINGS_DISAGREE] = "headings disagree",
        [TL_SENSORS_NO_SPEED] = "no ship's speed",
        [TL_SENSORS_SPEEDS_DISAGREE] = "ship's speeds disagree",
        [TL_SENSORS_NO_COURSE] = "no course",
        [TL_SENSORS_WINDS_DISAGREE] = "wind sensors disagree",
        [TL_SENSORS_WIND_CONTRADICTS] = "relative and theoretical wind of one sensor disagree",
        [TL_SENSORS_WIND_NOT_KNOWN] = "wind over deck not known",
    };

    if (reason < TL_SENSORS_FINE || reason >= TL_SENSORS_REASONS) {
        return "unknown reason";
    }
    return texts[reason];
}
