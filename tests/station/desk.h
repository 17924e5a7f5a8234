/* SPDX-License-Identifier: Apache-2.0 */
/*
 * desk.h - a station, the gear officer's at first, without a bus: its member, its counts, and hands
 * that play two validators and the recorders
 */
#ifndef TESTS_STATION_DESK_H
#define TESTS_STATION_DESK_H

#include "clients/station/command.h"
#include "clients/station/tally.h"

enum {
    DESK_START_MS = 100000,
    DESK_R = 5000, /* the recovery */
    DESK_LINES = 32
};

struct desk {
    struct tl_config config;
    struct tl_member member;
    struct tl_tallies tallies;
    uint64_t now_ms;
    uint64_t incarnation[TL_VALIDATORS_MAX];
    struct tl_picture picture[TL_VALIDATORS_MAX]; /* as the next turn shows them */
    bool away[TL_VALIDATORS_MAX];                 /* it says nothing */
    enum tl_refusal refuse;                       /* the next words; UNKNOWN = they are accepted */
    uint64_t sequence;
    uint64_t said; /* changes that left */
    struct tl_datum last;
    uint64_t recorded[TL_RECORDERS_MAX];
    struct tl_command command;
    char scratch[TL_LINE_MAX];
    uint32_t line_count;
    char line[DESK_LINES][2 * TL_TEXT_CAP];
};

/* Both validators show an open recovery with no pass that ended. Free with free(). */
struct desk *desk_new(void);
/* The same of another station. */
struct desk *desk_new_of(const char *id);

/* A pass ended, as a validator (0 or 1) shows it; said again it is corrected. */
void desk_ends_at(struct desk *d, uint32_t validator, uint32_t pass, struct tl_result result);
/* The same of both, with a trap. */
void desk_trap(struct desk *d, uint32_t pass, uint32_t wire);
/* Pictures, answers to what was said, and the counts tended, until nothing more is said; 1 s. */
void desk_turn(struct desk *d);
/* Time goes on without a validator. */
void desk_alone(struct desk *d, uint64_t ms);

/* A recorder (1 or 2) tells what it has. */
void desk_recorder(struct desk *d, uint32_t recorder, const struct tl_worn *worn, uint32_t count);

/* What the command line makes of it: see d->command. */
const struct tl_command *desk_ask(struct desk *d, const char *line);
/* The same; it must be a word toward READY, which is confirmed, said, and answered. */
void desk_key(struct desk *d, const char *line);

/* What the station says of it now; NULL when it does not, or says that it is not known. */
const struct tl_wear *desk_says(const struct desk *d, enum tl_datum_kind kind, uint32_t slot);
/* A line with that in it has been printed. */
bool desk_told(const struct desk *d, const char *text);

#endif
