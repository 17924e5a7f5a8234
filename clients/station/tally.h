/* SPDX-License-Identifier: Apache-2.0 */
/*
 * tally.h - the gear officer's counts: what the operator confirmed, moved on by each trap
 *
 * Pure. The station takes from the pictures how passes ended, and restates a count when a trap (or
 * its correction) has changed it. Nobody confirms that: it adds to what somebody did confirm.
 *
 *   UNKNOWN --a keyed word, or the record's figure, is accepted--> COUNTING
 *   COUNTING --a pass ended, or was corrected--> COUNTING, restated
 *   COUNTING --withdrawn; refused; keyed anew; no picture for so long that ends were missed--> UNKNOWN
 *
 * Invariants:
 *  1. By itself it never states fewer traps than its operator confirmed for that serial.
 *  2. A pass is counted when every validator that shows how it ended shows the same end.
 *  3. It starts with nothing: the figures of the recorders are offered, and taken by a command.
 */
#ifndef TL_STATION_TALLY_H
#define TL_STATION_TALLY_H

#include "proto/link/member.h"
#include "proto/vocab/wear.h"

enum {
    TL_TALLIES_MAX = 2 * TL_ENGINES_MAX,
    TL_TALLY_AGAIN_MS = 500,   /* between two tries to restate */
    TL_TALLY_DIFFERS_MS = 3000 /* a recorder that counts otherwise for so long is told of */
};

struct tl_tallied {
    enum tl_datum_kind kind; /* PENDANT_LIFE or CABLE */
    uint32_t slot;
    struct tl_tally tally;
    uint32_t detorqued_at;
    uint64_t tried_ms;
    /* a recorder that says otherwise, by its place in the member */
    uint32_t differs_traps[TL_RECORDERS_MAX]; /* what it says; 0 = the same */
    uint64_t differs_ms[TL_RECORDERS_MAX];    /* since when */
    bool differs_told[TL_RECORDERS_MAX];
};

struct tl_tallies {
    const struct tl_config *config; /* NULL = this station keeps no counts */
    struct tl_ends ends;
    bool seen; /* a picture has been taken since the start, or since ends were missed */
    uint64_t seen_ms;
    uint64_t now_ms;                         /* of the last tl_tallies_tend */
    uint64_t incarnation[TL_VALIDATORS_MAX]; /* whose pictures they were */
    bool offered;
    uint32_t count;
    struct tl_tallied item[TL_TALLIES_MAX];
    void (*say)(void *ctx, const char *line); /* a line for the operator */
    void *ctx;
};

/* `config` is borrowed. Every pendant and cable of gear.yaml, nothing known. */
void tl_tallies_init(struct tl_tallies *tallies, const struct tl_config *config);

/* Take what the pictures show, restate what has moved, say what is offered. */
void tl_tallies_tend(struct tl_tallies *tallies, struct tl_member *member, uint64_t now_ms);

/* The operator says something of it: what was counted until now no longer stands. */
void tl_tallies_keyed(struct tl_tallies *tallies, const struct tl_datum *datum);

/* What became of a word of this station. */
void tl_tallies_outcome(struct tl_tallies *tallies, const struct tl_said_outcome *outcome);

/* Traps of a word with those that are known here since. */
uint32_t tl_tallies_traps(const struct tl_tallies *tallies, const struct tl_datum *datum);

/*
 * What the records have of it: the highest figure; NULL when there is none, or when they name
 * different serials. *recorder: who says so. A recorder that has not told for TL_ALONE_MS is not
 * asked: it does not know what ended since.
 */
const struct tl_worn *tl_tallies_recorded(const struct tl_tallies *tallies,
                                          const struct tl_member *member, enum tl_datum_kind kind,
                                          uint32_t slot, const char **recorder);

/* A figure of the record as a word. */
struct tl_datum tl_worn_datum(const struct tl_worn *worn);

/* How that pass ended by that picture, or NULL. */
const struct tl_ended *tl_picture_ended(const struct tl_picture *picture, struct tl_event event);

/*
 * What a count that is keyed now has in it, by that picture: each load of that pendant or cable. Of
 * a new one (NULL): whatever has ended was not on it, and is not to be added.
 */
struct tl_counted tl_picture_counted(const struct tl_picture *picture, const struct tl_gear *gear,
                                     const struct tl_datum *of);

/* The word is known here, or is on its way. */
bool tl_tallies_has(const struct tl_member *member, enum tl_datum_kind kind, uint32_t slot);

#endif
