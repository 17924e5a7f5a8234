/* SPDX-License-Identifier: Apache-2.0 */
/*
 * dials.h - what sensors say for a station: lines of "NAME VALUE UNIT" become its own words.
 *
 *   repeater-3 34000 lb        the station that reads the repeaters, for each engine
 *   accumulator 405 psi        an engine room
 *   crosshead-gap 6.50 in      an engine room
 *   battery in -               an engine room: in or out
 *   sheave-3 up -              the deck edge: up or down
 *   stanchion-pressure 1500 psi   the barricade crew
 *
 * A word is said when its value, or the event that it must be for, has changed, and is shown as
 * read by a sensor. A number is said again when it moves by a hundredth of itself or more, so the
 * bounds in gear.yaml must leave room for that; any word when half of its validity is over. Toward
 * READY a sensor is heard each 500 ms at most, toward safe at once. Silence for longer than sensor_valid_ms of
 * ship.yaml makes the word unknown. While a sensor speaks, its word cannot be
 * keyed, but toward safe.
 */
#ifndef TL_STATION_DIALS_H
#define TL_STATION_DIALS_H

#include <stdio.h>

#include "clients/station/feed/feed.h"
#include "clients/station/feed/lines.h"
#include "proto/link/member.h"

enum {
    TL_DIALS_MAX = 2 * TL_ENGINES_MAX + 4
};

struct tl_dial {
    struct tl_datum datum; /* as the sensor has it; events are not looked at */
    uint64_t read_ms;
    uint64_t tried_ms; /* last time it was said */
};
struct tl_dials {
    const struct tl_config *config;
    const struct tl_node *node;
    FILE *out;
    bool open;
    bool ended;
    struct tl_feed feed;
    struct tl_feed_lines lines;
    uint32_t count;
    struct tl_dial dial[TL_DIALS_MAX];
    uint64_t strange; /* lines whose name or unit this station does not know */
    uint64_t told_bad;
    uint64_t told_ms;
};

/*
 * Open the feed "FILE", "-" or "udp://ADDR:PORT". False with one line on standard error when it
 * cannot be opened, or when ship.yaml gives no sensor_valid_ms.
 */
bool tl_dials_open(struct tl_dials *dials, const struct tl_config *config,
                   const struct tl_node *node, const char *feed, FILE *out);
void tl_dials_close(struct tl_dials *dials);

/* To wait on; -1 = nothing. */
int tl_dials_fd(const struct tl_dials *dials);
/* More may come. */
bool tl_dials_feeding(const struct tl_dials *dials);

/* Read what is there, and say what has changed. */
void tl_dials_tend(struct tl_dials *dials, struct tl_member *member, uint64_t now_ms);

/* A person's word toward safe, which no sensor speaks over until that person takes it back. */
bool tl_dials_yield(const struct tl_own *own);
/* A sensor speaks for that datum now: it is not to be keyed. */
bool tl_dials_speak(const struct tl_dials *dials, const struct tl_datum *datum, uint64_t now_ms);

/*
 * One line as a datum of that station. False for a name that it does not have, another unit, or a
 * value out of range.
 */
bool tl_dial_read(const struct tl_config *config, const struct tl_node *node,
                  const struct tl_feed_line *line, struct tl_datum *out);

#endif
