/* SPDX-License-Identifier: Apache-2.0 */
/* say.c - see say.h. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <string.h>

#include "tests/bridge/say.h"

struct tl_sensors_config
angled(void)
{
    struct tl_sensors_config config;

    tl_sensors_defaults(&config);
    config.axis_port_deg = 9.0;
    return config;
}

void
begin_with(struct bridge *b, const struct tl_sensors_config *config)
{
    assert_int_equal(tl_sensors_init(&b->sensors, config), TL_OK);
    b->now_ms = SAY_NOW_MS;
}

void
begin(struct bridge *b)
{
    struct tl_sensors_config config = angled();

    begin_with(b, &config);
}

/* "source:body", or a body alone: one sentence, with its TAG block if it has a source. */
void
say(struct bridge *b, const char *text)
{
    struct tl_nmea_reader reader;
    struct tl_nmea_event event;
    char line[SAY_CAP];
    const char *colon = strchr(text, ':');
    const char *body = colon != NULL ? colon + 1 : text;
    char source[TL_SOURCE_CAP] = "";

    if (colon != NULL) {
        assert_true((size_t)(colon - text) < sizeof source);
        memcpy(source, text, (size_t)(colon - text));
    }
    (void)snprintf(line, sizeof line, "$%s*%02X", body, tl_nmea_checksum(body, strlen(body)));
    tl_nmea_init(&reader, source);
    assert_int_equal(tl_nmea_feed(&reader, (const uint8_t *)line, strlen(line), &event),
                     strlen(line));
    tl_nmea_end_unit(&reader, &event);
    if (event.kind != TL_NMEA_TAKEN && event.kind != TL_NMEA_NO_DATA) {
        fail_msg("%s: %s", text, tl_nmea_reason_text(event.reason));
    }
    tl_sensors_take(&b->sensors, &event, b->now_ms);
}

struct tl_sensors_wind
wind_at(const struct bridge *b, uint64_t after_ms)
{
    struct tl_sensors_wind wind;

    tl_sensors_wind(&b->sensors, b->now_ms + after_ms, &wind);
    return wind;
}

struct tl_sensors_motion
motion_at(const struct bridge *b, uint64_t after_ms)
{
    struct tl_sensors_motion motion;

    tl_sensors_motion(&b->sensors, b->now_ms + after_ms, &motion);
    return motion;
}
