/* SPDX-License-Identifier: Apache-2.0 */
/*
 * ledger.h - pendants and cables by serial, counted from a record. See proto/vocab/wear.h.
 *
 * Pure: the changes of the record go in, in the order of its rows. A recorder folds what it writes
 * and begins with what its file holds; trapline log folds a file. Both must come to the same.
 *
 * A *fit* is one pendant or cable from the word that first named its serial to the one that names
 * another. What the gear officer keyed is its base, and traps are counted from there:
 *
 *   a keyed word, not lower        -> the base is what it says; the fit goes on
 *   a keyed word, lower            -> no base: kept as stated, to be shown beside the count
 *   a keyed word, another serial   -> the fit ends, a new one begins
 *   a word moved on by the station -> kept as stated; the base of a fit that has none
 *   refused, or taken back unanswered -> as if it had not been said
 *
 * Loads are of the strength, in percent, as the mechanics gave them for the setting of the engine.
 * D = sum (F_i / F_ref)^k: the weighted traps; over the life of a pendant it is a fraction. Millionths
 * of a trap, each rounded up; a load that is not known counts as one trap.
 */
#ifndef TL_CORE_LEDGER_LEDGER_H
#define TL_CORE_LEDGER_LEDGER_H

#include "proto/vocab/wear.h"

enum {
    TL_LEDGER_FITS = 2 * TL_ENGINES_MAX,
    TL_LEDGER_REMOVED = 2 * TL_ENGINES_MAX, /* remembered; a reader of a file is told of each */
    TL_LEDGER_RECOVERIES = 16,
    TL_LOADS_MAX = TL_ENDED_MAX + 1, /* one more than ends: it is noted before one is let go */
    TL_LEDGER_PREDICTED = 16,
    TL_LEDGER_WITHDRAWN_MS = 10000 /* a word taken back within so long was never answered */
};

/* One change of the record. */
struct tl_entry {
    char node[TL_ID_CAP];
    uint64_t incarnation;
    uint64_t sequence;
    uint64_t wall_ms;
    bool applied; /* a validator is known to have applied it */
    bool refused; /* one is known to have refused it */
    const struct tl_datum *datum;
};

/* What was set when a pass ended and what it loads of the strength, by engine in the order of gear.yaml. */
struct tl_loads {
    struct tl_event event;
    uint32_t set_lb[TL_ENGINES_MAX];  /* 0 = not known */
    uint32_t percent[TL_ENGINES_MAX]; /* 0 = not known */
};

/* What was computed for one event, by setting. */
struct tl_foreseen {
    struct tl_event event;
    uint32_t count;
    uint32_t set_lb[TL_WOULDS_MAX];
    uint32_t percent[TL_WOULDS_MAX]; /* the highest that was said of it */
};

/* Who stated how a pass ended. */
struct tl_end_stated {
    struct tl_event event;
    bool voice;
    uint64_t incarnation;
    uint64_t sequence;
};

struct tl_fit {
    enum tl_datum_kind kind; /* PENDANT_LIFE or CABLE */
    uint32_t slot;
    struct tl_tally tally; /* its serial is the fit's */
    uint32_t detorqued_at;
    uint64_t base_ppm;           /* the traps of the base, weighted */
    uint32_t base_unweighed;     /* of them, whose load is not known */
    uint64_t fitted_ms;          /* 0 = before the record */
    uint64_t removed_ms;         /* 0 = it is there */
    struct tl_counted inspected; /* the passes that were before its last inspection */
    bool inspected_once;
    uint64_t inspected_incarnation, inspected_sequence; /* of the word that said so */
    bool uninspected_gone;                              /* a load since then was let go */
    bool stated;
    struct tl_wear said; /* the station's last word of it */
    uint64_t said_ms;
    uint64_t said_incarnation, said_sequence;
};

/* The last keyed word, while it may still turn out not to count. */
struct tl_undo {
    bool open;
    bool applied;
    bool replaced; /* it ended the fit before */
    char node[TL_ID_CAP];
    uint64_t incarnation;
    uint64_t sequence;
    uint64_t wall_ms;
    struct tl_fit before;
};

/* A word by voice that one has signed. */
struct tl_signed_wear {
    char said_by[TL_ID_CAP]; /* empty = none */
    struct tl_datum datum;
};

struct tl_ledger_set {
    uint32_t lb; /* 0 = not known */
    char node[TL_ID_CAP];
    uint64_t incarnation, sequence;
};

struct tl_ledger_recovery {
    uint64_t recovery_ms;
    bool drill;
    bool closed;
};

struct tl_ledger {
    const struct tl_config *config;
    struct tl_ends ends;
    struct tl_loads load[TL_LOADS_MAX]; /* of an end, anywhere; pass 0 = free */
    struct tl_end_stated stated[TL_ENDED_MAX];
    uint32_t stated_next;
    struct tl_event barricade[TL_ENDED_MAX]; /* passes that were ordered into it */
    uint32_t barricade_next;
    struct tl_ledger_set set[TL_ENGINES_MAX]; /* by engine in the order of gear.yaml */
    struct tl_foreseen foreseen[TL_LEDGER_PREDICTED];
    uint32_t foreseen_next;
    struct tl_ledger_recovery recovery[TL_LEDGER_RECOVERIES];
    uint32_t recovery_next;
    uint64_t newest_recovery_ms;
    uint32_t fit_count;
    struct tl_fit fit[TL_LEDGER_FITS]; /* what is there, or was never named */
    struct tl_undo undo[TL_LEDGER_FITS];
    struct tl_signed_wear signed_by_one[TL_LEDGER_FITS];
    uint32_t removed_count;
    struct tl_fit removed[TL_LEDGER_REMOVED];             /* oldest first */
    void (*ended)(void *ctx, const struct tl_fit *fit);   /* or NULL; a fit is over */
    void (*goes_on)(void *ctx, const struct tl_fit *fit); /* or NULL; it was not over after all */
    void *ctx;
};

/* `config` is borrowed. Large: allocate it once. */
void tl_ledger_init(struct tl_ledger *ledger, const struct tl_config *config);

/* A change of the record. What its node may not state is left out. */
void tl_ledger_change(struct tl_ledger *ledger, const struct tl_entry *entry);

/*
 * What a validator did with a change: applied, or refused. A count is undone when one refused it; how
 * a pass ended is not: it did end, and too high is the safe error.
 */
void tl_ledger_judged(struct tl_ledger *ledger, const struct tl_judged *judged);

/* A load that was computed for that event and setting: the highest counts. */
void tl_ledger_foresee(struct tl_ledger *ledger, struct tl_event event,
                       const struct tl_would *would);
void tl_ledger_predicted(struct tl_ledger *ledger, const struct tl_predicted *predicted);

/* A keyed or taken word names it: its count is known. */
bool tl_fit_is_known(const struct tl_fit *fit);
uint32_t tl_fit_traps(const struct tl_ledger *ledger, const struct tl_fit *fit);
/* Millionths of a trap; 0 when the configuration gives no power and reference. */
uint64_t tl_fit_weighted_ppm(const struct tl_ledger *ledger, const struct tl_fit *fit);
uint32_t tl_fit_unweighed(const struct tl_ledger *ledger, const struct tl_fit *fit);
/*
 * After each group of landings, which is a recovery, and after a load above inspect_load_percent:
 * NAVEDTRA 14001 p. 103. The inspection of an engine is that of its pendant and its cable.
 */
bool tl_fit_needs_inspection(const struct tl_ledger *ledger, const struct tl_fit *fit);
/* What the station says of it now, counted on as the ledger counts; false when it says nothing. */
bool tl_fit_stated_traps(const struct tl_ledger *ledger, const struct tl_fit *fit, uint32_t *traps);

/* What a recorder tells the station: each fit that is known, then the last that were removed. */
uint32_t tl_ledger_worn(const struct tl_ledger *ledger, struct tl_worn out[TL_WORN_MAX]);

/* (percent / reference)^power of a trap, millionths, rounded up at each step. */
uint64_t tl_load_ppm(uint32_t percent, const struct tl_wear_figures *figures);

#endif
