/* SPDX-License-Identifier: Apache-2.0 */
/*
 * sensors_wind - the wind at one moment
 *
 *   vane    one wind sensor: its over-deck wind from R, or from T and the ship, or why not
 *   all     known, unknown or disagreeing, and which one is published
 */
#include "clients/station/bridge/sensors_ship.h"

#include <math.h>
#include <string.h>

#include "broker/core/mechanics/wind.h"

#define TURN_X10 3600U
static const double turn_deg = 360.0;

struct vane {
    enum tl_sensors_reason reason;
    bool has_wind;
    bool theoretical;          /* over_deck was worked out from T */
    bool has_t;                /* T counts now, whichever of the two is used */
    struct tl_polar t;         /* from the bow, as if the ship stood still */
    struct tl_polar over_deck; /* from the bow */
    struct tl_wind_deck_out deck;
};

/* ---- one wind sensor ---- */

/* What T means over the moving deck. T is from the bow; the triangle wants it from north. */
static enum tl_sensors_reason
turn_to_over_deck(const struct tl_polar *theoretical, const struct tl_sensors_ship *ship,
                  struct tl_polar *over_deck)
{
    double course_deg = 0.0;
    enum tl_sensors_reason reason = tl_sensors_ship_course(ship, &course_deg);
    struct tl_wind_over_deck_out out;

    if (reason != TL_SENSORS_FINE) {
        return reason;
    }
    const struct tl_wind_over_deck_in in = {
        .course_deg = course_deg,
        .speed_kt = ship->track.kt,
        .heading_deg = ship->heading_deg,
        .true_deg = fmod(ship->heading_deg + theoretical->deg, turn_deg),
        .true_kt = theoretical->kt,
    };
    if (tl_wind_over_deck(&in, &out) != TL_OK) {
        return TL_SENSORS_WIND_NOT_KNOWN;
    }
    *over_deck = (struct tl_polar){.deg = out.over_deck_deg, .kt = out.over_deck_kt};
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
judge_vane(const struct tl_sensors *s, const struct tl_sensors_vane *v,
           const struct tl_sensors_ship *ship, uint64_t now_ms)
{
    const struct tl_sensors_config *c = &s->config;
    const struct tl_polar limit = {.deg = c->wind_disagree_deg, .kt = c->wind_disagree_kt};
    bool has_r = tl_sensors_counts(&v->relative, now_ms, c->wind_valid_ms);
    bool has_t = tl_sensors_counts(&v->theoretical, now_ms, c->wind_valid_ms);
    struct tl_polar r = tl_polar_of(&v->relative);
    struct tl_polar t = tl_polar_of(&v->theoretical);
    struct tl_polar from_t = {.deg = 0.0};
    enum tl_sensors_reason t_reason =
        has_t ? turn_to_over_deck(&t, ship, &from_t) : TL_SENSORS_WIND_NOT_KNOWN;

    if (has_r) {
        bool apart = t_reason == TL_SENSORS_FINE && tl_polar_differ(&r, &from_t, &limit);

        return (struct vane){.reason = apart ? TL_SENSORS_WIND_CONTRADICTS : TL_SENSORS_FINE,
                             .has_wind = true,
                             .over_deck = r,
                             .has_t = has_t,
                             .t = t};
    }
    if (has_t) {
        return (struct vane){.reason = t_reason,
                             .has_wind = t_reason == TL_SENSORS_FINE,
                             .theoretical = true,
                             .over_deck = from_t,
                             .has_t = true,
                             .t = t};
    }
    enum tl_sensors_reason reason = why_no_word(v, now_ms, c->wind_valid_ms);

    return (struct vane){.reason = reason,
                         .has_wind = reason == TL_SENSORS_SILENT && v->relative.valid,
                         .over_deck = r};
}

/* judge_vane, and its wind along and across the landing axis. */
static struct vane
look_at_vane(const struct tl_sensors *s, const struct tl_sensors_vane *v,
             const struct tl_sensors_ship *ship, uint64_t now_ms)
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
        out->from_deg_x10 = tl_polar_x10(judged->over_deck.deg);
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
    const struct tl_polar limit = {.deg = s->config.wind_disagree_deg,
                                   .kt = s->config.wind_disagree_kt};
    bool found = false;

    for (uint32_t i = 0; i < s->vane_count; i++) {
        for (uint32_t j = 0; j < i; j++) {
            found = found || (is_speaking(&vane[i]) && is_speaking(&vane[j]) &&
                              tl_polar_differ(&vane[i].over_deck, &vane[j].over_deck, &limit));
        }
    }
    return found;
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
publish_true(const struct tl_polar *true_wind, struct tl_wind *wind)
{
    wind->true_known = true;
    wind->true_speed_kt_x10 = (uint32_t)tl_wind_x10(true_wind->kt);
    if (true_wind->kt > 0.0) {
        wind->true_from_deg_x10 = tl_polar_x10(true_wind->deg);
        wind->true_from_deg_x10 += wind->true_from_deg_x10 == 0 ? TURN_X10 : 0;
    }
}

/* True wind from R through the triangle. */
static enum tl_sensors_reason
solve_true(const struct tl_polar *relative, const struct tl_sensors_ship *ship,
           struct tl_polar *true_wind)
{
    double course_deg = 0.0;
    enum tl_sensors_reason reason = tl_sensors_ship_course(ship, &course_deg);
    struct tl_wind_true_out out;

    if (reason != TL_SENSORS_FINE) {
        return reason;
    }
    const struct tl_wind_true_in in = {.course_deg = course_deg,
                                       .speed_kt = ship->track.kt,
                                       .heading_deg = ship->heading_deg,
                                       .over_deck_deg = relative->deg,
                                       .over_deck_kt = relative->kt};
    if (tl_wind_true(&in, &out) != TL_OK) {
        return TL_SENSORS_WIND_NOT_KNOWN;
    }
    *true_wind = (struct tl_polar){.deg = out.true_deg, .kt = out.true_kt};
    return TL_SENSORS_FINE;
}

/* From R if the wind came from R and the ship is known; else from T, which lacks the heading only. */
static enum tl_sensors_reason
find_true(const struct vane *judged, const struct tl_sensors_ship *ship, struct tl_polar *true_wind)
{
    enum tl_sensors_reason reason = TL_SENSORS_WIND_NOT_KNOWN;

    if (!judged->theoretical) {
        reason = solve_true(&judged->over_deck, ship, true_wind);
    }
    if (reason == TL_SENSORS_FINE || !judged->has_t || ship->heading_reason != TL_SENSORS_FINE) {
        return reason;
    }
    *true_wind = (struct tl_polar){.deg = fmod(ship->heading_deg + judged->t.deg, turn_deg),
                                   .kt = judged->t.kt};
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
    struct tl_sensors_ship ship = tl_sensors_ship_find(s, now_ms);
    struct vane vane[TL_READINGS_MAX];
    struct tl_polar true_wind = {.kt = 0.0};
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
    out->true_reason = find_true(&vane[lowest], &ship, &true_wind);
    if (out->true_reason == TL_SENSORS_FINE) {
        publish_true(&true_wind, &out->wind);
    }
}
