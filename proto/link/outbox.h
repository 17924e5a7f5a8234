/* SPDX-License-Identifier: Apache-2.0 */
/*
 * outbox.h - what a station has said: its own data, and the changes not yet settled.
 *
 * Pure: no socket, no clock. The machine of one statement:
 *
 *   say -> SENT --all validators heard receipt it--> SETTLED --(recorder covers it)--> gone
 *           |  |
 *           |  +--a validator refuses it--> REFUSED, and UNKNOWN is said as the next change
 *           +--2.0 s, toward READY--> WITHDRAWN, and UNKNOWN is said as the next change
 *
 * Invariants:
 *  1. `settled` never falls, and does not move while no validator is heard.
 *  2. A beat carries a value toward READY only when its change is settled and not refused; until
 *     then the datum is UNKNOWN under the new sequence. A value toward safe enters it at once.
 *  3. The same sequence always carries the same body.
 *  4. A word toward safe is never refused for want of room or of a validator.
 */
#ifndef TL_LINK_OUTBOX_H
#define TL_LINK_OUTBOX_H

#include "proto/base/err.h"
#include "proto/link/hear.h"

enum {
    TL_OUTBOX_RESERVE = 16, /* places that only words toward safe may take */
    TL_OUTCOMES_MAX = 32
};

enum tl_outcome_kind {
    TL_OUTCOME_NONE = 0,
    TL_SAID_ACCEPTED,  /* settled and refused by nobody */
    TL_SAID_REFUSED,   /* by `validator`, for `reason` */
    TL_SAID_WITHDRAWN, /* not settled in 2.0 s; it will not take effect later */
    TL_SAID_VOID       /* told as accepted before, void now: the current event changed */
};
struct tl_said_outcome {
    enum tl_outcome_kind kind;
    uint64_t sequence;
    enum tl_refusal reason;
    uint32_t rule;
    char validator[TL_ID_CAP];
    struct tl_datum datum;
};

struct tl_said {
    struct tl_datum datum; /* its sequence is the change's */
    uint64_t said_ms;
    bool refused;
    bool withdrawn;
    bool reported; /* an outcome has been given */
};
struct tl_own {
    struct tl_datum datum;
    uint64_t said_ms;
    bool refused;      /* the statement under this sequence was refused or is void */
    bool needs_change; /* no room for its change yet; the beat carries it */
};

struct tl_outbox {
    uint64_t last;     /* newest sequence given out */
    uint64_t settled;  /* all receipts are in up to here */
    uint64_t recorded; /* a recorder covers up to here */
    bool recorder;     /* one is configured */
    uint32_t said_count;
    struct tl_said said[TL_OUTBOX_MAX]; /* oldest first, ascending sequence */
    uint32_t own_count;
    struct tl_own own[TL_DATA_MAX];
    uint64_t resend_at_ms;
    uint64_t resend_gap_ms;
    uint64_t not_recorded; /* dropped to make room */
    uint32_t outcome_count;
    struct tl_said_outcome outcome[TL_OUTCOMES_MAX];
};

void tl_outbox_init(struct tl_outbox *box, bool recorder);

/*
 * State a datum (kind, slot, known, value, stated_for; sequence is given here). Toward READY needs
 * a validator heard, also when it only repeats. Saying again what is newest and not refused gives
 * the same sequence. Without room a word toward safe is carried by the beats, under the newest
 * number, until there is room for its change.
 * TL_REFUSED: no validator is heard. TL_FULL: no room (toward READY only), or no place for one
 * more datum. On error nothing is said. *sequence is the change's number.
 */
TL_MUST_USE enum tl_err tl_outbox_say(struct tl_outbox *box, const struct tl_hear *hear,
                                      const struct tl_datum *datum, uint64_t now_ms,
                                      uint64_t *sequence);

/* Say that an own datum is UNKNOWN, as the next change; never fails, since that is toward safe. */
void tl_outbox_unsay(struct tl_outbox *box, const struct tl_hear *hear, const struct tl_own *own,
                     uint64_t now_ms);

/*
 * Let a datum go (primary drops an ended order, platform its result): it leaves the beat. Nothing
 * happens when there is no such datum or its change is not settled.
 */
void tl_outbox_drop(struct tl_outbox *box, const struct tl_datum *name);

/* A receipt that tl_hear_receipt took. Settles, refuses, and says withdrawals. */
void tl_outbox_receipt(struct tl_outbox *box, const struct tl_hear *hear,
                       const struct tl_heard *from, const struct tl_receipt *receipt,
                       uint64_t now_ms);

/* A recorder covers all changes up to there. */
void tl_outbox_recorded(struct tl_outbox *box, uint64_t through);

/* A validator is heard again, or a receipt has advanced: resend within TL_RESEND_MIN_MS. */
void tl_outbox_hurry(struct tl_outbox *box, uint64_t now_ms);

/* Withdraw what is over age; say what had no room. */
void tl_outbox_tend(struct tl_outbox *box, const struct tl_hear *hear, uint64_t now_ms);

/*
 * Changes to send now, when the resend timer is due: at most TL_RESEND_MAX, the oldest unsettled
 * ones first and then the oldest that only a recorder lacks, in ascending sequence; advances the
 * timer. Returns how many pointers were written.
 */
size_t tl_outbox_resend(struct tl_outbox *box, uint64_t now_ms,
                        const struct tl_said *out[TL_RESEND_MAX]);

/* The statement of that sequence while it is held, or NULL. */
const struct tl_said *tl_outbox_find(const struct tl_outbox *box, uint64_t sequence);

/* The newest own word, as said (not as the beat shows it), or NULL; not one said by voice. */
const struct tl_own *tl_outbox_own(const struct tl_outbox *box, enum tl_datum_kind kind,
                                   uint32_t slot);
/* The same of any name. */
const struct tl_own *tl_outbox_named(const struct tl_outbox *box, const struct tl_datum *name);

/* Fill last_change, oldest_held and data of a beat. */
void tl_outbox_beat(const struct tl_outbox *box, struct tl_beat *beat, uint64_t now_ms);

/* Take the oldest outcome; false when there is none. */
bool tl_outbox_outcome(struct tl_outbox *box, struct tl_said_outcome *out);

#endif
