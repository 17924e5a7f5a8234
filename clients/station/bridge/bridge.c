/* SPDX-License-Identifier: Apache-2.0 */
/* bridge.c - see bridge.h. */
#include "clients/station/bridge/bridge.h"

#include <inttypes.h>
#include <string.h>

enum {
    UNITS_A_TURN = 64,
    SAY_REFUSED_MS = 5000
};

bool
tl_bridge_open(struct tl_bridge *bridge, const struct tl_config *config, const char *feed,
               FILE *out)
{
    struct tl_sensors_config sensors;
    char why[TL_PATH_CAP];
    memset(bridge, 0, sizeof *bridge);
    bridge->feed.fd = -1;
    bridge->out = out;
    bridge->keyed_valid_ms = 1000 * config->ship.keyed_wind_valid_s;
    tl_sensors_defaults(&sensors);
    sensors.wind_valid_ms = config->ship.wind_valid_ms;
    sensors.heading_valid_ms = config->ship.heading_valid_ms;
    sensors.speed_valid_ms = config->ship.speed_valid_ms;
    sensors.axis_port_deg = config->ship.deck_angle_deg;
    sensors.wind_disagree_deg = config->ship.wind_disagree_deg;
    sensors.wind_disagree_kt = config->ship.wind_disagree_kt;
    if (tl_sensors_init(&bridge->sensors, &sensors) != TL_OK) {
        (void)fprintf(stderr, "ship.yaml: the figures under wind cannot be used by the bridge\n");
        return false;
    }
    tl_nmea_init(&bridge->reader, "");
    if (feed == NULL) {
        return true;
    }
    if (tl_feed_open(feed, &bridge->feed, why, sizeof why) != TL_OK) {
        (void)fprintf(stderr, "trapline bridge: --nmea %s\n", why);
        return false;
    }
    bridge->has_feed = true;
    return true;
}

void
tl_bridge_close(struct tl_bridge *bridge)
{
    tl_feed_close(&bridge->feed);
}

int
tl_bridge_fd(const struct tl_bridge *bridge)
{
    return bridge->has_feed ? tl_feed_fd(&bridge->feed) : -1;
}

bool
tl_bridge_feeding(const struct tl_bridge *bridge)
{
    return bridge->has_feed && !bridge->feed_ended;
}

void
tl_bridge_key_wind(struct tl_bridge *bridge, const struct tl_wind *wind, uint64_t now_ms)
{
    bridge->keyed = *wind;
    bridge->has_keyed = wind->state == TL_WIND_KNOWN;
    bridge->keyed_ms = now_ms;
}

static void
take_bytes(struct tl_bridge *bridge, const uint8_t *bytes, size_t len, bool unit, uint64_t now_ms)
{
    struct tl_nmea_event event;
    size_t used = 0;
    while (used < len) {
        used += tl_nmea_feed(&bridge->reader, bytes + used, len - used, &event);
        tl_sensors_take(&bridge->sensors, &event, now_ms);
    }
    if (unit) {
        tl_nmea_end_unit(&bridge->reader, &event);
        tl_sensors_take(&bridge->sensors, &event, now_ms);
    }
}

static void
read_feed(struct tl_bridge *bridge, uint64_t now_ms)
{
    for (int i = 0; i < UNITS_A_TURN && tl_bridge_feeding(bridge); i++) {
        uint8_t bytes[TL_FEED_UNIT_MAX];
        size_t len = 0;
        bool unit = false;
        enum tl_err err = tl_feed_read(&bridge->feed, now_ms, bytes, sizeof bytes, &len, &unit);
        if (err == TL_EMPTY) {
            return;
        }
        if (err != TL_OK) {
            bridge->feed_ended = true;
            (void)fprintf(bridge->out, "bridge: the sensor feed has ended\n");
            (void)fflush(bridge->out);
            return;
        }
        take_bytes(bridge, bytes, len, unit, now_ms);
    }
}

/* Refused sentences are counted and named, not printed one by one. */
static void
say_refused(struct tl_bridge *bridge, uint64_t now_ms)
{
    uint64_t total = 0;
    size_t most = 0;
    for (size_t i = 0; i < TL_NMEA_REASONS; i++) {
        total += bridge->reader.refused[i];
        most = bridge->reader.refused[i] > bridge->reader.refused[most] ? i : most;
    }
    if (total == bridge->said_refused ||
        (bridge->refused_said_ms != 0 && now_ms - bridge->refused_said_ms < SAY_REFUSED_MS)) {
        return;
    }
    (void)fprintf(bridge->out, "bridge: %" PRIu64 " sentences not taken so far, mostly: %s\n",
                  total, tl_nmea_reason_text((enum tl_nmea_reason)most));
    (void)fflush(bridge->out);
    bridge->said_refused = total;
    bridge->refused_said_ms = now_ms;
}

static void
say_wind(struct tl_bridge *bridge, const struct tl_sensors_wind *wind)
{
    if (wind->wind.state == bridge->said_state && wind->reason == bridge->said_reason) {
        return;
    }
    bridge->said_state = wind->wind.state;
    bridge->said_reason = wind->reason;
    if (wind->wind.state == TL_WIND_KNOWN) {
        (void)fprintf(bridge->out, "bridge: wind known, %.1f kn down the angle, %.1f kn across\n",
                      wind->wind.headwind_kt_x10 / 10.0, wind->wind.crosswind_kt_x10 / 10.0);
    } else {
        (void)fprintf(bridge->out, "bridge: WIND NOT KNOWN: %s\n",
                      tl_sensors_reason_text(wind->reason));
    }
    (void)fflush(bridge->out);
}

/* Sensors that speak are always shown; a keyed wind counts only while none does. */
static void
choose_wind(const struct tl_bridge *bridge, const struct tl_sensors_wind *sensed, uint64_t now_ms,
            struct tl_sample *sample)
{
    bool silent = sensed->reason == TL_SENSORS_NEVER_HEARD || sensed->reason == TL_SENSORS_SILENT;
    uint64_t keyed_age_ms = now_ms - bridge->keyed_ms;
    sample->kind = TL_SAMPLE_WIND;
    sample->age_ms = 0;
    sample->as.wind = sensed->wind;
    if (sensed->wind.state != TL_WIND_KNOWN && silent && bridge->has_keyed &&
        keyed_age_ms <= bridge->keyed_valid_ms) {
        sample->as.wind = bridge->keyed;
        sample->age_ms = (uint32_t)keyed_age_ms;
    }
}

static bool
has_motion(const struct tl_motion *motion)
{
    return motion->pitch_deg_x10.known || motion->roll_deg_x10.known ||
           motion->heave_m_x100.known || motion->turn_deg_min_x10.known ||
           motion->heading_deg_x10.known || motion->course_deg_x10.known ||
           motion->speed_kt_x10.known;
}

void
tl_bridge_tend(struct tl_bridge *bridge, struct tl_member *member, uint64_t now_ms)
{
    struct tl_sensors_wind wind;
    struct tl_sensors_motion motion;
    struct tl_sample sample[TL_SAMPLES_MAX];
    read_feed(bridge, now_ms);
    tl_sensors_wind(&bridge->sensors, now_ms, &wind);
    tl_sensors_motion(&bridge->sensors, now_ms, &motion);
    memset(sample, 0, sizeof sample);
    choose_wind(bridge, &wind, now_ms, &sample[0]);
    sample[1].kind = TL_SAMPLE_MOTION;
    sample[1].as.motion = motion.motion;
    tl_member_samples(member, sample, has_motion(&motion.motion) ? 2 : 1);
    if (bridge->has_feed) {
        say_wind(bridge, &wind);
        say_refused(bridge, now_ms);
    }
}
