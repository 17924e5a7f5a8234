/* SPDX-License-Identifier: Apache-2.0 */
/*
 * sensors_picture - what the words of the sensors amount to at one moment
 *
 *   ship    heading, course, speed: from the sources that count now, if they agree
 *   vane    one wind sensor: its over-deck wind from R, or from T and the ship, or why not
 *   picture all vanes: known, unknown or disagreeing
 *
 * Doubles live between the sensors' thousandths and the published tenths only, because the wind
 * triangle is in doubles.
 */
#include "clients/station/bridge/sensors.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "broker/core/mechanics/wind.h"

static const double MILLI = 1000.0;
static const double TURN_DEG = 360.0;
static const double HALF_TURN_DEG = 180.0;
static const double RAD_PER_DEG = 3.14159265358979323846 / 180.0;
/* Tenths and thousandths are not exact in binary: at the limit is still agreement. */
static const double LIMIT_NOISE = 1e-6;
#define TURN_X10 3600U

/* Direction and speed of a wind or of a ship. */
struct polar {
    double deg;
    double kt;
};
struct ship {
    enum tl_sensors_reason heading_reason;
    enum tl_sensors_reason speed_reason;
    enum tl_sensors_reason course_reason;
    bool through_water;
    double heading_deg;
    struct polar track;
};
struct vane {
    enum tl_sensors_reason reason;
    bool has_wind;
    bool theoretical;
    struct polar over_deck; /* from the bow */
    struct tl_wind_deck_out deck;
};

/* ---- words ---- */

static uint32_t
age_ms(const struct tl_sensors_word *w, uint64_t now_ms)
{
    if (!w->heard) {
        return 0;
    }
    if (now_ms < w->at_ms || now_ms - w->at_ms > UINT32_MAX) {
        return UINT32_MAX;
    }
    return (uint32_t)(now_ms - w->at_ms);
}

static struct polar
polar_of(const struct tl_sensors_word *w)
{
    return (struct polar){.deg = w->direction_deg_x1000 / MILLI, .kt = w->value_x1000 / MILLI};
}

/* 0..180 */
static double
turn_between(const double deg[2])
{
    double d = fmod(fabs(deg[0] - deg[1]), TURN_DEG);

    return d > HALF_TURN_DEG ? TURN_DEG - d : d;
}

static bool
differ(const struct polar p[2], const struct polar *limit)
{
    double apart_deg = turn_between((const double[2]){p[0].deg, p[1].deg});
    double apart_kt = sqrt(fmax(0.0, p[0].kt * p[0].kt + p[1].kt * p[1].kt -
                                         2.0 * p[0].kt * p[1].kt * cos(apart_deg * RAD_PER_DEG)));

    return fabs(p[0].kt - p[1].kt) > limit->kt + LIMIT_NOISE ||
           (apart_deg > limit->deg + LIMIT_NOISE && apart_kt > limit->kt + LIMIT_NOISE);
}

/* ---- the ship ---- */

/* The sources of a measure that count at one moment. */
struct fresh {
    size_t count;
    const struct tl_sensors_word *word[TL_SENSORS_SOURCES_MAX];
};

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
any_pair(const struct fresh *f, const struct polar *limit,
         bool (*apart)(const struct tl_sensors_word *const pair[2], const struct polar *limit))
{
    for (size_t i = 0; i < f->count; i++) {
        for (size_t j = 0; j < i; j++) {
            if (apart((const struct tl_sensors_word *const[2]){f->word[i], f->word[j]}, limit)) {
                return true;
            }
        }
    }
    return false;
}

static bool
headings_differ(const struct tl_sensors_word *const pair[2], const struct polar *limit)
{
    const double deg[2] = {pair[0]->value_x1000 / MILLI, pair[1]->value_x1000 / MILLI};

    return turn_between(deg) > limit->deg + LIMIT_NOISE;
}

/* Without a course on both sides only the speeds can be compared. */
static bool
tracks_differ(const struct tl_sensors_word *const pair[2], const struct polar *limit)
{
    struct polar p[2] = {polar_of(pair[0]), polar_of(pair[1])};

    if (!pair[0]->has_direction || !pair[1]->has_direction) {
        p[0].deg = p[1].deg;
    }
    return differ(p, limit);
}

static void
find_heading(const struct tl_sensors *s, uint64_t now_ms, struct ship *ship)
{
    const struct polar limit = {.deg = s->config.heading_disagree_deg};
    struct fresh f = find_fresh(s->source[TL_SENSORS_HEADING], now_ms, s->config.heading_valid_ms);

    if (f.count == 0) {
        ship->heading_reason = TL_SENSORS_NO_HEADING;
    } else if (any_pair(&f, &limit, headings_differ)) {
        ship->heading_reason = TL_SENSORS_HEADINGS_DISAGREE;
    } else {
        ship->heading_deg = f.word[0]->value_x1000 / MILLI;
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
find_track(const struct tl_sensors *s, uint64_t now_ms, struct ship *ship)
{
    const struct polar limit = {.deg = s->config.course_disagree_deg,
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
    if (any_pair(&f, &limit, tracks_differ)) {
        ship->speed_reason = TL_SENSORS_SPEEDS_DISAGREE;
        ship->course_reason = TL_SENSORS_SPEEDS_DISAGREE;
        return;
    }
    const struct tl_sensors_word *w = choose_track(&f);

    ship->track = polar_of(w);
    ship->course_reason = w->has_direction ? TL_SENSORS_FINE : TL_SENSORS_NO_COURSE;
}

static struct ship
find_ship(const struct tl_sensors *s, uint64_t now_ms)
{
    struct ship ship = {.heading_reason = TL_SENSORS_FINE};

    find_heading(s, now_ms, &ship);
    find_track(s, now_ms, &ship);
    return ship;
}

/*
 * Why the wind triangle cannot be solved, or FINE with the course to use in it: the course itself;
 * the heading for a speed through the water; any for a ship that is stopped.
 */
static enum tl_sensors_reason
need_ship(const struct ship *ship, double *course_deg)
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
    *course_deg = ship->heading_deg;
    return ship->through_water || ship->track.kt <= 0.0 ? TL_SENSORS_FINE : ship->course_reason;
}

/* ---- one wind sensor ---- */

/* What T means over the moving deck. T is from the bow; the triangle wants it from north. */
static enum tl_sensors_reason
turn_to_over_deck(const struct polar *theoretical, const struct ship *ship, struct polar *over_deck)
{
    double course_deg = 0.0;
    enum tl_sensors_reason reason = need_ship(ship, &course_deg);
    struct tl_wind_over_deck_out out;

    if (reason != TL_SENSORS_FINE) {
        return reason;
    }
    const struct tl_wind_over_deck_in in = {
        .course_deg = course_deg,
        .speed_kt = ship->track.kt,
        .heading_deg = ship->heading_deg,
        .true_deg = fmod(ship->heading_deg + theoretical->deg, TURN_DEG),
        .true_kt = theoretical->kt,
    };
    if (tl_wind_over_deck(&in, &out) != TL_OK) {
        return TL_SENSORS_WIND_NOT_KNOWN;
    }
    *over_deck = (struct polar){.deg = out.over_deck_deg, .kt = out.over_deck_kt};
    return TL_SENSORS_FINE;
}

static enum tl_sensors_reason
why_no_word(const struct tl_sensors_vane *v, uint64_t now_ms, uint32_t valid_ms)
{
    const struct tl_sensors_word *words[2] = {&v->relative, &v->theoretical};
    enum tl_sensors_reason reason = TL_SENSORS_NEVER_HEARD;

    for (size_t i = 0; i < 2; i++) {
        struct tl_sensors_word w = *words[i];

        if (!w.heard) {
            continue;
        }
        w.valid = true;
        if (tl_sensors_counts(&w, now_ms, valid_ms)) {
            return TL_SENSORS_NO_DATA; /* it still speaks, so it can only be that */
        }
        reason = TL_SENSORS_SILENT;
    }
    return reason;
}

static struct vane
judge_vane(const struct tl_sensors *s, const struct tl_sensors_vane *v, const struct ship *ship,
           uint64_t now_ms)
{
    const struct tl_sensors_config *c = &s->config;
    const struct polar limit = {.deg = c->wind_disagree_deg, .kt = c->wind_disagree_kt};
    bool has_r = tl_sensors_counts(&v->relative, now_ms, c->wind_valid_ms);
    bool has_t = tl_sensors_counts(&v->theoretical, now_ms, c->wind_valid_ms);
    struct polar r = polar_of(&v->relative);
    struct polar t = polar_of(&v->theoretical);
    struct polar from_t = {.deg = 0.0};
    enum tl_sensors_reason t_reason =
        has_t ? turn_to_over_deck(&t, ship, &from_t) : TL_SENSORS_WIND_NOT_KNOWN;

    if (has_r) {
        bool apart =
            t_reason == TL_SENSORS_FINE && differ((const struct polar[2]){r, from_t}, &limit);

        return (struct vane){.reason = apart ? TL_SENSORS_WIND_CONTRADICTS : TL_SENSORS_FINE,
                             .has_wind = true,
                             .over_deck = r};
    }
    if (has_t) {
        return (struct vane){.reason = t_reason,
                             .has_wind = t_reason == TL_SENSORS_FINE,
                             .theoretical = true,
                             .over_deck = from_t};
    }
    enum tl_sensors_reason reason = why_no_word(v, now_ms, c->wind_valid_ms);

    return (struct vane){.reason = reason,
                         .has_wind = reason == TL_SENSORS_SILENT && v->relative.valid,
                         .over_deck = r};
}

/* judge_vane, and its wind along and across the landing axis. */
static struct vane
look_at_vane(const struct tl_sensors *s, const struct tl_sensors_vane *v, const struct ship *ship,
             uint64_t now_ms)
{
    struct vane judged = judge_vane(s, v, ship, now_ms);
    const struct tl_wind_deck_in in = {.over_deck_deg = judged.over_deck.deg,
                                       .over_deck_kt = judged.over_deck.kt,
                                       .axis_port_deg = s->config.axis_port_deg};

    if (judged.has_wind && tl_wind_deck(&in, &judged.deck) != TL_OK) {
        judged.has_wind = false;
        judged.reason = TL_SENSORS_WIND_NOT_KNOWN;
    }
    return judged;
}

static uint32_t
direction_x10(double deg)
{
    return (uint32_t)lround(deg * 10.0) % TURN_X10;
}

/* The word that a reading shows; of one that shows none, the newest. */
static const struct tl_sensors_word *
shown_word(const struct tl_sensors_vane *v, const struct vane *judged)
{
    bool newer =
        v->theoretical.heard && (!v->relative.heard || v->theoretical.at_ms > v->relative.at_ms);

    return (judged->has_wind ? judged->theoretical : newer) ? &v->theoretical : &v->relative;
}

static void
fill_reading(const struct tl_sensors_vane *v, const struct vane *judged, uint64_t now_ms,
             struct tl_sensors_reading *out)
{
    *out = (struct tl_sensors_reading){.reason = judged->reason,
                                       .has_wind = judged->has_wind,
                                       .theoretical = judged->theoretical,
                                       .age_ms = age_ms(shown_word(v, judged), now_ms)};
    memcpy(out->label, v->label, sizeof out->label);
    if (judged->has_wind) {
        out->speed_kt_x10 = (uint32_t)tl_wind_x10(judged->over_deck.kt);
        out->from_deg_x10 = direction_x10(judged->over_deck.deg);
        out->headwind_kt_x10 = tl_wind_x10_down(judged->deck.headwind_kt);
        out->crosswind_kt_x10 = tl_wind_x10_away(judged->deck.crosswind_kt);
    }
}

/* A label that is too long for the wire keeps its talker and the end of its source. */
static void
publish_reading(const struct tl_sensors_reading *reading, struct tl_wind *wind)
{
    struct tl_wind_reading *out = &wind->reading[wind->reading_count++];
    size_t len = strlen(reading->label);
    size_t room = sizeof out->source - 1;

    if (len <= room) {
        memcpy(out->source, reading->label, len + 1);
    } else {
        size_t head = strcspn(reading->label, "/") + 1;

        memcpy(out->source, reading->label, head);
        memcpy(out->source + head, reading->label + len - (room - head), room - head + 1);
    }
    out->age_ms = reading->age_ms;
    out->speed_kt_x10 = reading->speed_kt_x10;
    out->from_deg_x10 = reading->from_deg_x10;
}

/* ---- all of them ---- */

static bool
is_speaking(const struct vane *v)
{
    return v->reason == TL_SENSORS_FINE || v->reason == TL_SENSORS_WIND_CONTRADICTS;
}

static bool
any_two_differ(const struct tl_sensors *s, const struct vane vane[TL_READINGS_MAX])
{
    const struct polar limit = {.deg = s->config.wind_disagree_deg,
                                .kt = s->config.wind_disagree_kt};

    for (uint32_t i = 0; i < s->vane_count; i++) {
        for (uint32_t j = 0; j < i; j++) {
            const struct polar pair[2] = {vane[i].over_deck, vane[j].over_deck};

            if (is_speaking(&vane[i]) && is_speaking(&vane[j]) && differ(pair, &limit)) {
                return true;
            }
        }
    }
    return false;
}

/* Why there is no one wind, or FINE. Of several sensors that do not count, the one that is nearest
 * to counting tells why: the reasons are listed in that order. */
static enum tl_sensors_reason
judge_all(const struct tl_sensors *s, const struct vane vane[TL_READINGS_MAX])
{
    enum tl_sensors_reason nearest = TL_SENSORS_NEVER_HEARD;
    uint32_t speaking = 0;

    for (uint32_t i = 0; i < s->vane_count; i++) {
        if (vane[i].reason == TL_SENSORS_WIND_CONTRADICTS) {
            return TL_SENSORS_WIND_CONTRADICTS;
        }
        if (is_speaking(&vane[i])) {
            speaking++;
        } else if (vane[i].reason > nearest) {
            nearest = vane[i].reason;
        }
    }
    if (any_two_differ(s, vane)) {
        return TL_SENSORS_WINDS_DISAGREE;
    }
    if (speaking == 0) {
        return nearest;
    }
    return speaking < s->config.wind_required ? TL_SENSORS_TOO_FEW : TL_SENSORS_FINE;
}

/* A true wind from north is 360 and never 0, which is a calm. */
static void
publish_true(const struct polar *true_wind, struct tl_wind *wind)
{
    wind->true_known = true;
    wind->true_speed_kt_x10 = (uint32_t)tl_wind_x10(true_wind->kt);
    if (true_wind->kt > 0.0) {
        wind->true_from_deg_x10 = direction_x10(true_wind->deg);
        wind->true_from_deg_x10 += wind->true_from_deg_x10 == 0 ? TURN_X10 : 0;
    }
}

/* From R through the triangle; else from T, which is the true wind already but for the heading. */
static enum tl_sensors_reason
find_true(const struct vane *judged, const struct polar *theoretical, const struct ship *ship,
          struct polar *true_wind)
{
    double course_deg = 0.0;
    enum tl_sensors_reason reason = need_ship(ship, &course_deg);

    if (!judged->theoretical && reason == TL_SENSORS_FINE) {
        const struct tl_wind_true_in in = {.course_deg = course_deg,
                                           .speed_kt = ship->track.kt,
                                           .heading_deg = ship->heading_deg,
                                           .over_deck_deg = judged->over_deck.deg,
                                           .over_deck_kt = judged->over_deck.kt};
        struct tl_wind_true_out out;

        if (tl_wind_true(&in, &out) != TL_OK) {
            return TL_SENSORS_WIND_NOT_KNOWN;
        }
        *true_wind = (struct polar){.deg = out.true_deg, .kt = out.true_kt};
        return TL_SENSORS_FINE;
    }
    if (theoretical == NULL || ship->heading_reason != TL_SENSORS_FINE) {
        return reason;
    }
    *true_wind = (struct polar){.deg = fmod(ship->heading_deg + theoretical->deg, TURN_DEG),
                                .kt = theoretical->kt};
    return TL_SENSORS_FINE;
}

/* The lowest headwind of those that speak gives the wind, the strongest crosswind of all goes in. */
static void
publish_wind(const struct tl_sensors *s, const struct vane vane[TL_READINGS_MAX],
             struct tl_sensors_wind *out, uint32_t *lowest)
{
    double crosswind_kt = 0.0;
    bool found = false;

    for (uint32_t i = 0; i < s->vane_count; i++) {
        if (!is_speaking(&vane[i])) {
            continue;
        }
        if (!found || vane[i].deck.headwind_kt < vane[*lowest].deck.headwind_kt) {
            *lowest = i;
        }
        if (!found || fabs(vane[i].deck.crosswind_kt) > fabs(crosswind_kt)) {
            crosswind_kt = vane[i].deck.crosswind_kt;
        }
        found = true;
    }
    out->wind.headwind_kt_x10 = out->sensor[*lowest].headwind_kt_x10;
    out->wind.crosswind_kt_x10 = tl_wind_x10_away(crosswind_kt);
    out->wind.deck_speed_kt_x10 = out->sensor[*lowest].speed_kt_x10;
    out->wind.deck_from_deg_x10 = out->sensor[*lowest].from_deg_x10;
}

static enum tl_wind_state
state_of(enum tl_sensors_reason reason)
{
    if (reason == TL_SENSORS_FINE) {
        return TL_WIND_KNOWN;
    }
    return reason == TL_SENSORS_WINDS_DISAGREE || reason == TL_SENSORS_WIND_CONTRADICTS
               ? TL_WIND_DISAGREE
               : TL_WIND_UNKNOWN;
}

void
tl_sensors_wind(const struct tl_sensors *s, uint64_t now_ms, struct tl_sensors_wind *out)
{
    struct ship ship = find_ship(s, now_ms);
    struct vane vane[TL_READINGS_MAX];
    struct polar theoretical;
    struct polar true_wind;
    uint32_t lowest = 0;

    memset(out, 0, sizeof *out);
    out->sensor_count = s->vane_count;
    out->sensor_beyond = s->vane_overflow;
    out->through_water = ship.through_water;
    for (uint32_t i = 0; i < s->vane_count; i++) {
        vane[i] = look_at_vane(s, &s->vane[i], &ship, now_ms);
        fill_reading(&s->vane[i], &vane[i], now_ms, &out->sensor[i]);
        out->sensor_lost = out->sensor_lost || !is_speaking(&vane[i]);
        if (vane[i].has_wind) {
            publish_reading(&out->sensor[i], &out->wind);
        }
    }
    out->reason = judge_all(s, vane);
    out->wind.state = state_of(out->reason);
    out->true_reason = TL_SENSORS_WIND_NOT_KNOWN;
    if (out->wind.state != TL_WIND_KNOWN) {
        return;
    }
    publish_wind(s, vane, out, &lowest);
    const struct tl_sensors_word *t = &s->vane[lowest].theoretical;
    bool has_t = tl_sensors_counts(t, now_ms, s->config.wind_valid_ms);

    theoretical = polar_of(t);
    out->true_reason = find_true(&vane[lowest], has_t ? &theoretical : NULL, &ship, &true_wind);
    if (out->true_reason == TL_SENSORS_FINE) {
        publish_true(&true_wind, &out->wind);
    }
}

/* ---- motion ---- */

/* The greatest of the sources that count, in parts of which unit_x1000 thousandths make one. */
static struct tl_maybe
greatest(const struct tl_sensors *s, enum tl_sensors_measure measure, uint64_t now_ms,
         int32_t unit_x1000)
{
    struct fresh f = find_fresh(s->source[measure], now_ms, s->config.motion_valid_ms);
    struct tl_maybe out = {.known = f.count > 0};

    for (size_t i = 0; i < f.count; i++) {
        int32_t x1000 = f.word[i]->value_x1000;
        int32_t away = x1000 < 0 ? -(unit_x1000 - 1) : unit_x1000 - 1;
        int32_t value = (x1000 + away) / unit_x1000;

        if (i == 0 || abs(value) > abs(out.value)) {
            out.value = value;
        }
    }
    return out;
}

void
tl_sensors_motion(const struct tl_sensors *s, uint64_t now_ms, struct tl_sensors_motion *out)
{
    struct ship ship = find_ship(s, now_ms);
    struct tl_motion *m = &out->motion;

    memset(out, 0, sizeof *out);
    out->heading_reason = ship.heading_reason;
    out->course_reason = ship.course_reason;
    out->speed_reason = ship.speed_reason;
    out->through_water = ship.through_water;
    m->pitch_deg_x10 = greatest(s, TL_SENSORS_PITCH, now_ms, 100);
    m->roll_deg_x10 = greatest(s, TL_SENSORS_ROLL, now_ms, 100);
    m->heave_m_x100 = greatest(s, TL_SENSORS_HEAVE, now_ms, 10);
    m->turn_deg_min_x10 = greatest(s, TL_SENSORS_TURN, now_ms, 100);
    if (ship.heading_reason == TL_SENSORS_FINE) {
        m->heading_deg_x10 =
            (struct tl_maybe){.known = true, .value = (int32_t)direction_x10(ship.heading_deg)};
    }
    if (ship.course_reason == TL_SENSORS_FINE) {
        m->course_deg_x10 =
            (struct tl_maybe){.known = true, .value = (int32_t)direction_x10(ship.track.deg)};
    }
    if (ship.speed_reason == TL_SENSORS_FINE) {
        m->speed_kt_x10 = (struct tl_maybe){.known = true, .value = tl_wind_x10(ship.track.kt)};
    }
}
