/* SPDX-License-Identifier: Apache-2.0 */
/*
 * sensors_ship - heading, course, speed and motion of the ship at one moment
 */
#include "clients/station/bridge/sensors_ship.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "broker/core/mechanics/wind.h"

static const double milli = 1000.0;
static const double turn_deg = 360.0;
static const double half_turn_deg = 180.0;
static const double rad_per_deg = 3.14159265358979323846 / 180.0;
/* Tenths and thousandths are not exact in binary: at the limit is still agreement. */
static const double limit_noise = 1e-6;

/* Published parts of a unit: tenths or hundredths. */
#define TENTH_X1000     100
#define HUNDREDTH_X1000 10
#define TURN_X10        3600U

/* The sources of a measure that count at one moment. */
struct fresh {
    size_t count;
    const struct tl_sensors_word *word[TL_SENSORS_SOURCES_MAX];
};
typedef bool (*apart_fn)(const struct tl_sensors_word *a, const struct tl_sensors_word *b,
                         const struct tl_polar *limit);

/* ---- comparing ---- */

/* 0..180 */
static double
turn_between(double a, double b)
{
    double d = fmod(fabs(a - b), turn_deg);

    return d > half_turn_deg ? turn_deg - d : d;
}

struct tl_polar
tl_polar_of(const struct tl_sensors_word *w)
{
    return (struct tl_polar){.deg = w->direction_deg_x1000 / milli, .kt = w->value_x1000 / milli};
}

uint32_t
tl_polar_x10(double deg)
{
    return (uint32_t)lround(deg * 10.0) % TURN_X10;
}

bool
tl_polar_differ(const struct tl_polar *a, const struct tl_polar *b, const struct tl_polar *limit)
{
    double apart_deg = turn_between(a->deg, b->deg);
    double apart_kt_sq =
        a->kt * a->kt + b->kt * b->kt - 2.0 * a->kt * b->kt * cos(apart_deg * rad_per_deg);
    double apart_kt = sqrt(fmax(0.0, apart_kt_sq));

    return fabs(a->kt - b->kt) > limit->kt + limit_noise ||
           (apart_deg > limit->deg + limit_noise && apart_kt > limit->kt + limit_noise);
}

static bool
headings_differ(const struct tl_sensors_word *a, const struct tl_sensors_word *b,
                const struct tl_polar *limit)
{
    return turn_between(a->value_x1000 / milli, b->value_x1000 / milli) > limit->deg + limit_noise;
}

/* Without a course on both sides only the speeds can be compared. */
static bool
tracks_differ(const struct tl_sensors_word *a, const struct tl_sensors_word *b,
              const struct tl_polar *limit)
{
    struct tl_polar one = tl_polar_of(a);
    struct tl_polar two = tl_polar_of(b);

    if (!a->has_direction || !b->has_direction) {
        one.deg = two.deg;
    }
    return tl_polar_differ(&one, &two, limit);
}

static struct fresh
find_fresh(const struct tl_sensors_source source[TL_SENSORS_SOURCES_MAX], uint64_t now_ms,
           uint32_t valid_ms)
{
    struct fresh f = {.count = 0};

    for (size_t i = 0; i < TL_SENSORS_SOURCES_MAX; i++) {
        if (tl_sensors_counts(&source[i].word, now_ms, valid_ms)) {
            f.word[f.count++] = &source[i].word;
        }
    }
    return f;
}

static bool
any_pair(const struct fresh *f, apart_fn apart, const struct tl_polar *limit)
{
    bool found = false;

    for (size_t i = 0; i < f->count; i++) {
        for (size_t j = 0; j < i; j++) {
            found = found || apart(f->word[i], f->word[j], limit);
        }
    }
    return found;
}

/* ---- the ship ---- */

static void
find_heading(const struct tl_sensors *s, uint64_t now_ms, struct tl_sensors_ship *ship)
{
    const struct tl_polar limit = {.deg = s->config.heading_disagree_deg};
    struct fresh f = find_fresh(s->source[TL_SENSORS_HEADING], now_ms, s->config.heading_valid_ms);

    if (f.count == 0) {
        ship->heading_reason = TL_SENSORS_NO_HEADING;
    } else if (any_pair(&f, headings_differ, &limit)) {
        ship->heading_reason = TL_SENSORS_HEADINGS_DISAGREE;
    } else {
        ship->heading_deg = f.word[0]->value_x1000 / milli;
    }
}

/* A word with a course, if there is one. */
static const struct tl_sensors_word *
choose_track(const struct fresh *f)
{
    for (size_t i = 0; i < f->count; i++) {
        if (f->word[i]->has_direction) {
            return f->word[i];
        }
    }
    return f->word[0];
}

static void
find_track(const struct tl_sensors *s, uint64_t now_ms, struct tl_sensors_ship *ship)
{
    const struct tl_polar limit = {.deg = s->config.course_disagree_deg,
                                   .kt = s->config.speed_disagree_kt};
    struct fresh f = find_fresh(s->source[TL_SENSORS_TRACK], now_ms, s->config.speed_valid_ms);

    if (f.count == 0) {
        f = find_fresh(s->source[TL_SENSORS_WATER], now_ms, s->config.speed_valid_ms);
        ship->through_water = f.count > 0;
    }
    if (f.count == 0) {
        ship->speed_reason = TL_SENSORS_NO_SPEED;
        ship->course_reason = TL_SENSORS_NO_COURSE;
        return;
    }
    if (any_pair(&f, tracks_differ, &limit)) {
        ship->speed_reason = TL_SENSORS_SPEEDS_DISAGREE;
        ship->course_reason = TL_SENSORS_SPEEDS_DISAGREE;
        return;
    }
    const struct tl_sensors_word *w = choose_track(&f);

    ship->track = tl_polar_of(w);
    ship->course_reason = w->has_direction ? TL_SENSORS_FINE : TL_SENSORS_NO_COURSE;
}

struct tl_sensors_ship
tl_sensors_ship_find(const struct tl_sensors *s, uint64_t now_ms)
{
    struct tl_sensors_ship ship = {.heading_reason = TL_SENSORS_FINE};

    find_heading(s, now_ms, &ship);
    find_track(s, now_ms, &ship);
    return ship;
}

enum tl_sensors_reason
tl_sensors_ship_course(const struct tl_sensors_ship *ship, double *course_deg)
{
    if (ship->heading_reason != TL_SENSORS_FINE) {
        return ship->heading_reason;
    }
    if (ship->speed_reason != TL_SENSORS_FINE) {
        return ship->speed_reason;
    }
    if (ship->course_reason == TL_SENSORS_FINE) {
        *course_deg = ship->track.deg;
        return TL_SENSORS_FINE;
    }
    if (ship->through_water || ship->track.kt <= 0.0) {
        *course_deg = ship->heading_deg;
        return TL_SENSORS_FINE;
    }
    return ship->course_reason;
}

/* ---- motion ---- */

/* Thousandths to parts of part_x1000 thousandths, away from zero. */
static int32_t
round_away(int32_t x1000, int16_t part_x1000)
{
    int32_t rest = part_x1000 - 1;

    return (x1000 + (x1000 < 0 ? -rest : rest)) / part_x1000;
}

/* The greatest of the sources that count. */
static struct tl_maybe
find_greatest(const struct tl_sensors *s, enum tl_sensors_measure measure, uint64_t now_ms,
              int16_t part_x1000)
{
    struct fresh f = find_fresh(s->source[measure], now_ms, s->config.motion_valid_ms);
    struct tl_maybe out = {.known = f.count > 0};

    for (size_t i = 0; i < f.count; i++) {
        int32_t value = round_away(f.word[i]->value_x1000, part_x1000);

        if (abs(value) > abs(out.value)) {
            out.value = value;
        }
    }
    return out;
}

static struct tl_maybe
know(enum tl_sensors_reason reason, int32_t value)
{
    bool known = reason == TL_SENSORS_FINE;

    return (struct tl_maybe){.known = known, .value = known ? value : 0};
}

void
tl_sensors_motion(const struct tl_sensors *s, uint64_t now_ms, struct tl_sensors_motion *out)
{
    struct tl_sensors_ship ship = tl_sensors_ship_find(s, now_ms);
    struct tl_motion *m = &out->motion;

    memset(out, 0, sizeof *out);
    out->heading_reason = ship.heading_reason;
    out->course_reason = ship.course_reason;
    out->speed_reason = ship.speed_reason;
    out->through_water = ship.through_water;
    m->pitch_deg_x10 = find_greatest(s, TL_SENSORS_PITCH, now_ms, TENTH_X1000);
    m->roll_deg_x10 = find_greatest(s, TL_SENSORS_ROLL, now_ms, TENTH_X1000);
    m->heave_m_x100 = find_greatest(s, TL_SENSORS_HEAVE, now_ms, HUNDREDTH_X1000);
    m->turn_deg_min_x10 = find_greatest(s, TL_SENSORS_TURN, now_ms, TENTH_X1000);
    m->heading_deg_x10 = know(ship.heading_reason, (int32_t)tl_polar_x10(ship.heading_deg));
    m->course_deg_x10 = know(ship.course_reason, (int32_t)tl_polar_x10(ship.track.deg));
    m->speed_kt_x10 = know(ship.speed_reason, tl_wind_x10(ship.track.kt));
}
