/* SPDX-License-Identifier: Apache-2.0 */
/*
 * wind - plane vectors, east and north, pointing where the air or the ship goes
 *
 * A wind is kept FROM at the border and TOWARD inside, so that true = over deck + ship is a plain
 * sum.
 */
#include "broker/core/mechanics/wind.h"

#include <math.h>
#include <stdbool.h>

static const double turn_deg = 360.0;
static const double half_turn_deg = 180.0;
/* A direction this close to north is north: 1e-9 deg is 360 in the convention of the rows. */
static const double north_deg = 1e-6;
static const double x10_noise = 1e-6;

struct polar {
    double deg;
    double kt;
};
struct vector {
    double east_kt;
    double north_kt;
};

static bool
is_angle(double deg)
{
    return isfinite(deg) && deg >= 0.0 && deg <= turn_deg;
}

static bool
is_speed(double kt)
{
    return isfinite(kt) && kt >= 0.0 && kt <= TL_WIND_SPEED_KT_MAX;
}

static bool
is_axis(double deg)
{
    return isfinite(deg) && deg >= 0.0 && deg <= TL_WIND_AXIS_PORT_DEG_MAX;
}

/* 0 up to below 360. */
static double
wrap(double deg)
{
    double d = fmod(deg, turn_deg);

    if (d < 0.0) {
        d += turn_deg;
    }
    return d >= turn_deg ? 0.0 : d;
}

static struct vector
go_toward(struct polar p)
{
    double rad = p.deg * TL_RAD_PER_DEG;

    return (struct vector){.east_kt = p.kt * sin(rad), .north_kt = p.kt * cos(rad)};
}

static struct vector
blow_from(struct polar p)
{
    struct vector v = go_toward(p);

    return (struct vector){.east_kt = -v.east_kt, .north_kt = -v.north_kt};
}

/* Direction 0 up to below 360 that the vector comes from, and its length; a calm is 0 and 0. */
static struct polar
come_from(struct vector v)
{
    double kt = hypot(v.east_kt, v.north_kt);

    if (kt < TL_WIND_CALM_KT) {
        return (struct polar){.deg = 0.0, .kt = 0.0};
    }
    return (struct polar){.deg = wrap(atan2(-v.east_kt, -v.north_kt) / TL_RAD_PER_DEG), .kt = kt};
}

enum tl_err
tl_wind_true(const struct tl_wind_true_in *in, struct tl_wind_true_out *out)
{
    if (!is_angle(in->course_deg) || !is_speed(in->speed_kt) || !is_angle(in->heading_deg) ||
        !is_angle(in->over_deck_deg) || !is_speed(in->over_deck_kt)) {
        return TL_BADARG;
    }
    double apparent_deg = wrap(in->heading_deg + in->over_deck_deg);
    struct vector felt = blow_from((struct polar){.deg = apparent_deg, .kt = in->over_deck_kt});
    struct vector ship = go_toward((struct polar){.deg = in->course_deg, .kt = in->speed_kt});
    struct polar wind = come_from((struct vector){.east_kt = felt.east_kt + ship.east_kt,
                                                  .north_kt = felt.north_kt + ship.north_kt});

    if (wind.kt > 0.0 && wind.deg < north_deg) {
        wind.deg = turn_deg;
    }
    out->true_deg = wind.deg;
    out->true_kt = wind.kt;
    out->apparent_deg = apparent_deg;
    return TL_OK;
}

enum tl_err
tl_wind_over_deck(const struct tl_wind_over_deck_in *in, struct tl_wind_over_deck_out *out)
{
    if (!is_angle(in->course_deg) || !is_speed(in->speed_kt) || !is_angle(in->heading_deg) ||
        !is_angle(in->true_deg) || !is_speed(in->true_kt)) {
        return TL_BADARG;
    }
    struct vector wind = blow_from((struct polar){.deg = in->true_deg, .kt = in->true_kt});
    struct vector ship = go_toward((struct polar){.deg = in->course_deg, .kt = in->speed_kt});
    struct polar felt = come_from((struct vector){.east_kt = wind.east_kt - ship.east_kt,
                                                  .north_kt = wind.north_kt - ship.north_kt});

    out->over_deck_deg = felt.kt > 0.0 ? wrap(felt.deg - in->heading_deg) : 0.0;
    out->over_deck_kt = felt.kt;
    return TL_OK;
}

enum tl_err
tl_wind_deck(const struct tl_wind_deck_in *in, struct tl_wind_deck_out *out)
{
    if (!isfinite(in->over_deck_deg) || in->over_deck_deg < -half_turn_deg ||
        in->over_deck_deg > turn_deg || !is_speed(in->over_deck_kt) ||
        !is_axis(in->axis_port_deg)) {
        return TL_BADARG;
    }
    double rad = (in->over_deck_deg + in->axis_port_deg) * TL_RAD_PER_DEG;

    out->headwind_kt = in->over_deck_kt * cos(rad);
    out->crosswind_kt = in->over_deck_kt * sin(rad);
    return TL_OK;
}

enum tl_err
tl_wind_steer(const struct tl_wind_steer_in *in, struct tl_wind_steer_out *out)
{
    if (!is_speed(in->headwind_kt) || !is_axis(in->axis_port_deg) || !is_angle(in->true_deg) ||
        !is_speed(in->true_kt)) {
        return TL_BADARG;
    }
    double along_kt = in->headwind_kt * cos(in->axis_port_deg * TL_RAD_PER_DEG);
    double across_kt = in->headwind_kt * sin(in->axis_port_deg * TL_RAD_PER_DEG);
    double root_sq = in->true_kt * in->true_kt - across_kt * across_kt;

    *out = (struct tl_wind_steer_out){.count = 0};
    if (root_sq < 0.0) {
        return TL_OK;
    }
    double root_kt = sqrt(root_sq);
    double speed_kt[2] = {along_kt - root_kt, along_kt + root_kt};

    for (int i = 0; i < 2; i++) {
        if (speed_kt[i] < -TL_WIND_CALM_KT || (i == 1 && root_kt <= TL_WIND_CALM_KT)) {
            continue; /* sternway, or the same answer twice */
        }
        double off_deg = atan2(across_kt, along_kt - speed_kt[i]) / TL_RAD_PER_DEG;

        out->steer[out->count] = (struct tl_wind_steer){.heading_deg = wrap(in->true_deg + off_deg),
                                                        .speed_kt = fmax(speed_kt[i], 0.0)};
        out->count++;
    }
    return TL_OK;
}

int32_t
tl_wind_x10(double kt)
{
    return (int32_t)lround(kt * 10.0);
}

int32_t
tl_wind_x10_down(double kt)
{
    return (int32_t)floor(kt * 10.0 + x10_noise);
}

int32_t
tl_wind_x10_away(double kt)
{
    double tenths = ceil(fabs(kt) * 10.0 - x10_noise);

    return (int32_t)(kt < 0.0 ? -tenths : tenths);
}
