/* SPDX-License-Identifier: Apache-2.0 */
/*
 * say - a bridge that hears what a test says, sentence by sentence, at a time the test sets
 */
#ifndef TESTS_BRIDGE_SAY_H
#define TESTS_BRIDGE_SAY_H

#include <stdint.h>

#include "clients/station/bridge/nmea.h"
#include "clients/station/bridge/sensors.h"

enum {
    SAY_NOW_MS = 100000, /* when a bridge begins */
    SAY_CAP = 256
};

struct bridge {
    struct tl_sensors sensors;
    uint64_t now_ms;
};

/* The defaults with the landing axis 9 degrees to port. */
struct tl_sensors_config angled(void);

/* Begin at SAY_NOW_MS, with angled() or with a configuration that must be accepted. */
void begin(struct bridge *b);
void begin_with(struct bridge *b, const struct tl_sensors_config *config);

/* Hear "body" or "source:body" now; the reader must find data or "no data" in it. */
void say(struct bridge *b, const char *text);

/* The wind and the motion so many ms after now. */
struct tl_sensors_wind wind_at(const struct bridge *b, uint64_t after_ms);
struct tl_sensors_motion motion_at(const struct bridge *b, uint64_t after_ms);

#endif
