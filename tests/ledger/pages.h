/* SPDX-License-Identifier: Apache-2.0 */
/* pages.h - a ledger of the invented ship, and changes of a record made by hand. */
#ifndef TESTS_LEDGER_PAGES_H
#define TESTS_LEDGER_PAGES_H

#include "broker/core/ledger/ledger.h"

enum {
    PAGES_R = 5000,        /* a recovery */
    PAGES_STEP_MS = 15000, /* from one change to the next: longer than a word waits for an answer */
    PAGES_REMOVED = 64
};

/* A count as it is keyed. */
struct pages_word {
    enum tl_datum_kind kind;
    uint32_t slot;
    uint32_t traps;
    const char *serial; /* "" = not said */
    struct tl_counted counted;
    uint32_t detorqued_at;
    bool moved;
};

struct pages {
    struct tl_config config;
    struct tl_ledger ledger;
    uint64_t wall_ms;
    uint64_t sequence;      /* of the last change, of whomever */
    uint64_t incarnation;   /* of the next one */
    uint32_t removed_count; /* told by the ledger, in this order */
    uint32_t back_count;    /* told to have not been removed */
    struct tl_fit removed[PAGES_REMOVED];
};

/* Free with free(). */
struct pages *pages_new(void);
/* The next change of the record, by that node. */
void pages_change(struct pages *p, const char *node, const struct tl_datum *datum);
void pages_recovery(struct pages *p, uint64_t recovery_ms, bool drill,
                    enum tl_recovery_state state);
void pages_order(struct pages *p, struct tl_event event, bool barricade);
void pages_set(struct pages *p, uint32_t unit, uint32_t lb);
/* By the platform. */
void pages_result(struct pages *p, struct tl_event event, enum tl_outcome outcome, uint32_t wire);
/* The same of a pass of PAGES_R that ended with a trap. */
void pages_trap(struct pages *p, uint32_t pass, uint32_t wire);
/* By the gear officer. */
void pages_word(struct pages *p, struct pages_word word);
void pages_unknown(struct pages *p, enum tl_datum_kind kind, uint32_t slot);
void pages_inspected(struct pages *p, uint32_t unit, enum tl_inspection_state state);
/* What the mechanics gave for that setting. */
void pages_foresee(struct pages *p, struct tl_event event, uint32_t set_lb, uint32_t percent);
/* What a validator did with the last change, which `node` said. */
void pages_judged(struct pages *p, const char *node, enum tl_judged_kind kind);

const struct tl_fit *pages_fit(const struct pages *p, enum tl_datum_kind kind, uint32_t slot);
/* Asserts that its count is known. */
uint32_t pages_traps(const struct pages *p, enum tl_datum_kind kind, uint32_t slot);

#endif
