/* SPDX-License-Identifier: Apache-2.0 */
/*
 * sensors - fold the ship's own sensors into the wind and motion that the bridge publishes
 *
 * A pure fold of sentences (nmea.h) with the time each one came; what is published is worked out
 * from it for any moment asked. The wind triangle is broker/core/mechanics/wind.h.
 *
 * A wind sensor is a talker, apart by its TAG source if it has one: "WI", "WI/mast-1". It may speak
 * relative wind (MWV,R), theoretical wind (MWV,T), or both.
 *
 * 1. Unknown is not ready. A word counts for its validity time and not a millisecond longer; a time
 *    before the word's own (a clock that went back) makes it count as old. A sensor that says it
 *    has no data counts as not knowing at once.
 * 2. Headwind and crosswind along the angle need only R. From T they need heading, course and speed
 *    too. The true wind needs R, heading, course and speed, or T and heading.
 * 3. Sensors that disagree are shown each, never averaged, and nothing is published as the wind.
 *    Two winds disagree if their speeds differ by more than the limit, or if their directions do
 *    and the winds differ by more than the speed limit as vectors: in light airs a direction alone
 *    means nothing. R and T of one sensor that differ so are a disagreement too.
 * 4. A sensor that stops: the wind stays KNOWN from the others and says sensor_lost, as long as
 *    wind_required of them speak; with fewer it is UNKNOWN. A ship that wants two sets 2. A stopped
 *    sensor stays in the list, with its age, until tl_sensors_forget.
 * 5. With several that agree, the headwind is the lowest and the crosswind the strongest of them;
 *    the over-deck and true wind are those of the sensor with the lowest headwind. Headwind is
 *    rounded down, crosswind away from zero, motion away from zero, all else to nearest.
 * 6. Heading sources that disagree give no heading, speed sources that disagree no course and no
 *    speed. Pitch, roll, heave and turn of several sources: the greatest is published.
 * 7. Without VTG, speed through the water (VHW) stands in, with the heading for the course, and
 *    through_water says so: current and leeway are then not in it.
 */
#ifndef CLIENTS_STATION_BRIDGE_SENSORS_H
#define CLIENTS_STATION_BRIDGE_SENSORS_H

#include <stdbool.h>
#include <stdint.h>

#include "clients/station/bridge/nmea.h"
#include "proto/base/err.h"
#include "proto/vocab/message.h"

/* "WI/" or "HEHDT/" and a source, with the final NUL. */
#define TL_SENSORS_LABEL_CAP 24
/* Sources kept of each other measure; a silent one gives way to a new one. */
#define TL_SENSORS_SOURCES_MAX 4

struct tl_sensors_config {
    uint32_t wind_valid_ms; /* above 0, as all of these */
    uint32_t heading_valid_ms;
    uint32_t speed_valid_ms;  /* course and speed */
    uint32_t motion_valid_ms; /* pitch, roll, heave, turn */
    uint32_t wind_required;   /* fewest fresh wind sensors, 1..TL_READINGS_MAX */
    double axis_port_deg;     /* landing axis to port of the bow, 0..TL_WIND_AXIS_PORT_DEG_MAX */
    double wind_disagree_deg; /* above 0, as all of these; at the limit is still agreement */
    double wind_disagree_kt;
    double heading_disagree_deg;
    double course_disagree_deg;
    double speed_disagree_kt;
    /* The ship's wind sensors by label. None listed: each that speaks is taken, in order. */
    uint32_t wind_count; /* 0..TL_READINGS_MAX */
    char wind_label[TL_READINGS_MAX][TL_SENSORS_LABEL_CAP];
};

/* Private: the newest word of one source on one thing. */
struct tl_sensors_word {
    bool heard;
    bool valid; /* false: it said that it has no data */
    bool has_direction;
    uint64_t at_ms;
    int32_t value_x1000;
    int32_t direction_deg_x1000;
};
struct tl_sensors_source {
    char label[TL_SENSORS_LABEL_CAP]; /* "" = free */
    struct tl_sensors_word word;
};
struct tl_sensors_vane {
    char label[TL_SENSORS_LABEL_CAP];
    struct tl_sensors_word relative;
    struct tl_sensors_word theoretical;
};
enum tl_sensors_measure {
    TL_SENSORS_HEADING = 0,
    TL_SENSORS_TRACK, /* speed over ground, direction = course */
    TL_SENSORS_WATER,
    TL_SENSORS_PITCH,
    TL_SENSORS_ROLL,
    TL_SENSORS_HEAVE,
    TL_SENSORS_TURN,
    TL_SENSORS_MEASURES
};

/* The caller owns the memory; made by tl_sensors_init, read through the functions below. */
struct tl_sensors {
    struct tl_sensors_config config;
    uint64_t unlisted;  /* wind sentences of sensors not in the list */
    uint64_t overflow;  /* sentences of sensors for which there was no place */
    bool vane_overflow; /* one of those was a wind sensor */
    uint32_t vane_count;
    struct tl_sensors_vane vane[TL_READINGS_MAX];
    struct tl_sensors_source source[TL_SENSORS_MEASURES][TL_SENSORS_SOURCES_MAX];
};

enum tl_sensors_reason {
    TL_SENSORS_FINE = 0,
    TL_SENSORS_NEVER_HEARD,
    TL_SENSORS_SILENT,
    TL_SENSORS_NO_DATA, /* speaks, and says that it has no data */
    TL_SENSORS_TOO_FEW, /* fewer wind sensors than required */
    TL_SENSORS_NO_HEADING,
    TL_SENSORS_HEADINGS_DISAGREE,
    TL_SENSORS_NO_SPEED,
    TL_SENSORS_SPEEDS_DISAGREE,
    TL_SENSORS_NO_COURSE,
    TL_SENSORS_WINDS_DISAGREE,   /* between sensors */
    TL_SENSORS_WIND_CONTRADICTS, /* R and T of one sensor */
    TL_SENSORS_WIND_NOT_KNOWN,   /* no true wind, since the over-deck wind is not known */
    TL_SENSORS_REASONS
};

struct tl_sensors_reading {
    char label[TL_SENSORS_LABEL_CAP];
    /* FINE: counts now. Else why not; CONTRADICTS: fresh, and R and T differ, R is shown. */
    enum tl_sensors_reason reason;
    bool has_wind;    /* the figures below are there; of a SILENT sensor, the last ones */
    bool theoretical; /* worked out from T */
    uint32_t age_ms;  /* of the word shown, else of its newest; 0 when never heard */
    uint32_t speed_kt_x10;
    uint32_t from_deg_x10; /* from the bow, 0..3599 */
    int32_t headwind_kt_x10;
    int32_t crosswind_kt_x10; /* + from starboard of the landing axis */
};

struct tl_sensors_wind {
    struct tl_wind wind;           /* as published; all figures are 0 unless its state is KNOWN */
    enum tl_sensors_reason reason; /* why the state is not KNOWN */
    enum tl_sensors_reason true_reason; /* why true_known is false */
    bool sensor_lost;                   /* a listed or once heard wind sensor does not count now */
    bool sensor_beyond; /* a wind sensor spoke for which there was no place: it is not judged */
    bool through_water; /* the ship's motion used is through the water */
    uint32_t sensor_count;
    struct tl_sensors_reading sensor[TL_READINGS_MAX]; /* in order of the list, or as first heard */
};

struct tl_sensors_motion {
    struct tl_motion motion; /* as published */
    enum tl_sensors_reason heading_reason;
    enum tl_sensors_reason course_reason;
    enum tl_sensors_reason speed_reason;
    bool through_water; /* speed is through the water, and no course is known */
};

/*
 * Fill in the project's defaults: 3 s for wind, heading and motion, 5 s for speed; one wind sensor
 * is enough; disagreement past 15 deg and 5 kn of wind, 3 deg of heading, 10 deg of course and 2 kn
 * of speed; axis 0. They are choices of this project without a published source; a ship sets its
 * own.
 */
void tl_sensors_defaults(struct tl_sensors_config *config);

/*
 * Make an empty state.
 *
 * s:      taken; untouched on error. config: borrowed, copied.
 * TL_BADARG: a figure out of its range, wind_required above the sensors listed, a label that is
 *            empty, not ended, or listed twice.
 */
TL_MUST_USE enum tl_err tl_sensors_init(struct tl_sensors *s,
                                        const struct tl_sensors_config *config);

/*
 * Fold one event of the reader in. Events that are neither TAKEN nor NO_DATA change nothing.
 *
 * s: changed. event: borrowed. now_ms: when it came, by the clock of the calls below.
 */
void tl_sensors_take(struct tl_sensors *s, const struct tl_nmea_event *event, uint64_t now_ms);

/* Work out the wind as it stands at now_ms. s: borrowed. out: always written. */
void tl_sensors_wind(const struct tl_sensors *s, uint64_t now_ms, struct tl_sensors_wind *out);

/* Work out heading, course, speed and motion at now_ms. s: borrowed. out: always written. */
void tl_sensors_motion(const struct tl_sensors *s, uint64_t now_ms, struct tl_sensors_motion *out);

/*
 * Take a wind sensor that was learned by hearing it out of the list; it comes back if it speaks.
 *
 * label: borrowed. Returns TL_NOTFOUND if there is none of this label, TL_REFUSED for one that is
 * in the configuration's list.
 */
TL_MUST_USE enum tl_err tl_sensors_forget(struct tl_sensors *s, const char *label);

/*
 * Tell whether a word still counts: said with data, and no older than valid_ms. One said after
 * now_ms does not count: the clock went back, and its age is not known. word: borrowed.
 */
bool tl_sensors_counts(const struct tl_sensors_word *word, uint64_t now_ms, uint32_t valid_ms);

/* Name a reason in plain words ("no heading"). Static text, never NULL, for any value. */
const char *tl_sensors_reason_text(enum tl_sensors_reason reason);

#endif
