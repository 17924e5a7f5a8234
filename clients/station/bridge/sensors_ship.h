/* SPDX-License-Identifier: Apache-2.0 */
/*
 * sensors_ship - how the ship moves, from the sources that count at one moment
 *
 * Private to the room: used by sensors_wind.c and sensors_ship.c. Doubles live between the sensors'
 * thousandths and the published tenths only, because the wind triangle is in doubles.
 */
#ifndef CLIENTS_STATION_BRIDGE_SENSORS_SHIP_H
#define CLIENTS_STATION_BRIDGE_SENSORS_SHIP_H

#include <stdbool.h>
#include <stdint.h>

#include "clients/station/bridge/sensors.h"

/* Direction and speed of a wind or of a ship. */
struct tl_polar {
    double deg;
    double kt;
};

/* The figures hold where the reason beside them is TL_SENSORS_FINE. */
struct tl_sensors_ship {
    enum tl_sensors_reason heading_reason;
    enum tl_sensors_reason speed_reason;
    enum tl_sensors_reason course_reason;
    bool through_water; /* speed is through the water; there is no course */
    double heading_deg;
    struct tl_polar track;
};

/* Give the direction and speed that a word says. w: borrowed. */
struct tl_polar tl_polar_of(const struct tl_sensors_word *w);

/* Give tenths of a degree, 0..3599. deg: 0..360. */
uint32_t tl_polar_x10(double deg);

/*
 * Tell whether two winds or tracks disagree: the speeds differ by more than limit->kt, or the
 * directions by more than limit->deg while the vectors differ by more than limit->kt. All borrowed.
 */
bool tl_polar_differ(const struct tl_polar *a, const struct tl_polar *b,
                     const struct tl_polar *limit);

/* Work out heading, course and speed as they stand at now_ms. s: borrowed. */
struct tl_sensors_ship tl_sensors_ship_find(const struct tl_sensors *s, uint64_t now_ms);

/*
 * Give the course that the wind triangle needs: the course itself; the heading for a speed through
 * the water; any for a ship that is stopped.
 *
 * ship: borrowed. course_deg: written on TL_SENSORS_FINE only.
 * Returns TL_SENSORS_FINE, or what is missing of heading, speed and course.
 */
enum tl_sensors_reason tl_sensors_ship_course(const struct tl_sensors_ship *ship,
                                              double *course_deg);

#endif
