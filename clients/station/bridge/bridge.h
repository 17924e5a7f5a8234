/* SPDX-License-Identifier: Apache-2.0 */
/*
 * bridge.h - the bridge station's own part: a feed of sentences in, wind and motion samples out.
 *
 * A wind keyed by the operator stands in for a sensor for keyed_valid_s of ship.yaml, is marked as
 * keyed, and never hides sensors that disagree: while any sensor speaks, the sensors are shown.
 */
#ifndef TL_STATION_BRIDGE_BRIDGE_H
#define TL_STATION_BRIDGE_BRIDGE_H

#include <stdio.h>

#include "clients/station/feed/feed.h"
#include "clients/station/bridge/sensors.h"
#include "proto/link/member.h"

struct tl_bridge {
    struct tl_feed feed;
    bool has_feed;
    bool feed_ended;
    bool end_said;
    struct tl_nmea_reader reader;
    struct tl_sensors sensors;
    struct tl_wind keyed;
    bool has_keyed;
    uint64_t keyed_ms;
    uint32_t keyed_valid_ms;
    enum tl_sensors_reason said_reason;
    enum tl_wind_state said_state;
    uint64_t said_refused;
    uint64_t refused_said_ms;
    FILE *out;
};

/* `feed` may be NULL: no sensor, keyed wind only. On failure one line is printed, false. */
bool tl_bridge_open(struct tl_bridge *bridge, const struct tl_config *config, const char *feed,
                    FILE *out);
void tl_bridge_close(struct tl_bridge *bridge);

/* To wait on; -1 when there is no feed, or it is paced by time, or it has ended. */
int tl_bridge_fd(const struct tl_bridge *bridge);
/* A feed that has not ended. */
bool tl_bridge_feeding(const struct tl_bridge *bridge);

/* The operator's wind, from now on; state UNKNOWN takes it back. */
void tl_bridge_key_wind(struct tl_bridge *bridge, const struct tl_wind *wind, uint64_t now_ms);

/* Read what came, fold it, hand the samples to the member's beats, say what changed. */
void tl_bridge_tend(struct tl_bridge *bridge, struct tl_member *member, uint64_t now_ms);

#endif
