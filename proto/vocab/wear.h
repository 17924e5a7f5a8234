/* SPDX-License-Identifier: Apache-2.0 */
/*
 * wear.h - how many traps a pendant or a purchase cable has taken: each trap once.
 *
 * Pure. The gear officer's word is a number of traps and up to where it goes (struct tl_counted).
 * Whoever knows of passes that ended, the station itself, a validator, a recorder, adds those that
 * the word does not yet have in it:
 *
 *   traps now = traps of the word + traps among the ends that are known and not in the word
 *
 * so it does not matter who counted first, how often a result is said, or in which order things come.
 *
 * Invariants:
 *  1. An event has one end here, the newest that was taken: said again it changes nothing, corrected
 *     it moves from one wire to another, or to none.
 *  2. Ends are kept by rising event. When one more comes than there is room for, the lowest is let go;
 *     nothing at or below it is taken again.
 *  3. Ends of a drill are not taken; that is the caller's.
 */
#ifndef TL_VOCAB_WEAR_H
#define TL_VOCAB_WEAR_H

#include "proto/vocab/config.h"

struct tl_end {
    struct tl_ended ended;
    uint32_t wires_before; /* bits of the wires that it was on before it was corrected */
};

/* The passes that ended, as far as is known. Zeroed = none. */
struct tl_ends {
    uint32_t count;
    struct tl_end end[TL_ENDED_MAX]; /* rising */
    struct tl_event
        below; /* what is at or below it and not listed is not known here; pass 0 = none */
    /* the last load that was let go, by engine in the order of gear.yaml */
    struct tl_event gone_pendant[TL_ENGINES_MAX], gone_cable[TL_ENGINES_MAX];
};

/* What was confirmed, and moves on with the ends that are known. Zeroed = nothing known. */
struct tl_tally {
    bool known;
    struct tl_wear base; /* as confirmed; what is let go is added to its traps */
};

/* Recovery first, then pass: a is after b. Any event is after none. */
bool tl_event_after(struct tl_event a, struct tl_event b);

/* [A-Z][A-Z0-9-]*, 1..15. */
bool tl_serial_is_wellformed(const char *serial);

/* Both without a serial is the same too. */
bool tl_wear_same_serial(const struct tl_wear *a, const struct tl_wear *b);
/* The same outcome, wire and barricade; events are not looked at. */
bool tl_ended_same(const struct tl_ended *a, const struct tl_ended *b);

/* The wear of a known PENDANT_LIFE or CABLE, else NULL. */
const struct tl_wear *tl_datum_wear(const struct tl_datum *datum);
/* The same of any datum of those kinds, to be written. */
struct tl_wear *tl_datum_wear_of(struct tl_datum *datum);

/* A trap of that event is in the count, or is so far back that it may be. */
bool tl_counted_has(const struct tl_counted *counted, struct tl_event event);

/*
 * That end loaded the pendant of wire `slot` (PENDANT_LIFE) or the cable of engine `slot` (CABLE):
 * a trap on its wire, or on one that the ship does not have, for then it may have been any. In a
 * pass into the barricade the pendants that are off for it were not there.
 */
bool tl_ended_loads(const struct tl_gear *gear, const struct tl_ended *ended,
                    enum tl_datum_kind kind, uint32_t slot);

/*
 * Take how a pass ended. Returns true when that is news. *gone: the end that was let go for it, pass
 * 0 = none.
 */
bool tl_ends_take(struct tl_ends *ends, const struct tl_gear *gear, const struct tl_ended *ended,
                  struct tl_ended *gone);

/* Forget the ends of a recovery: it was a drill. */
void tl_ends_drop_recovery(struct tl_ends *ends, uint64_t recovery_ms);

/* The end of that event, or NULL. */
const struct tl_end *tl_ends_find(const struct tl_ends *ends, struct tl_event event);

/* Loads of that pendant or cable that are known and not in `counted`. */
uint32_t tl_ends_not_in(const struct tl_ends *ends, const struct tl_gear *gear,
                        enum tl_datum_kind kind, uint32_t slot, const struct tl_counted *counted);

/* Ends in `counted` that were a load of it, as far as is known, before they were corrected. */
uint32_t tl_ends_corrected(const struct tl_ends *ends, const struct tl_gear *gear,
                           enum tl_datum_kind kind, uint32_t slot,
                           const struct tl_counted *counted);

/* False when a load of it that is not in `counted` was let go: what is here is then too little. */
bool tl_ends_suffice(const struct tl_ends *ends, const struct tl_gear *gear,
                     enum tl_datum_kind kind, uint32_t slot, const struct tl_counted *counted);

/* What has in it all of `base`, and each load of that pendant or cable that is known. */
struct tl_counted tl_ends_counted(const struct tl_ends *ends, const struct tl_gear *gear,
                                  enum tl_datum_kind kind, uint32_t slot,
                                  const struct tl_counted *base);

/*
 * Count at which a purchase cable is due for its detorque, and past which it is overdue: NAVEDTRA
 * 14310 p. 117. detorqued_at: at the last one, 0 = never.
 */
void tl_detorque_bounds(const struct tl_gear_limits *limits, uint32_t detorqued_at, uint32_t *due,
                        uint32_t *last);

/* Traps now; 0 when nothing is known. */
uint32_t tl_tally_traps(const struct tl_tally *tally, const struct tl_ends *ends,
                        const struct tl_gear *gear, enum tl_datum_kind kind, uint32_t slot);

/* An end was let go: it is added to the base when it is not in it. */
void tl_tally_let_go(struct tl_tally *tally, const struct tl_gear *gear, enum tl_datum_kind kind,
                     uint32_t slot, const struct tl_ended *gone);

#endif
