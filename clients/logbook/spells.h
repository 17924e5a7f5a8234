/* SPDX-License-Identifier: Apache-2.0 */
/*
 * spells.h - what began and ended in the words of several validators, as one: alerts, and times
 * that were NOT READY.
 *
 * Pure but for the heap. A spell is open while one of the validators that told it has not told its
 * end. It begins with the earliest clock and ends with the latest. One that another validator tells
 * again within 600 ms of the end, and took no part in, is the same one: it was only slower. After
 * a new start of the recorder a validator's alerts are told again; what is not among them has ended
 * meanwhile, nobody knows when.
 */
#ifndef CLIENTS_LOGBOOK_SPELLS_H
#define CLIENTS_LOGBOOK_SPELLS_H

#include "clients/logbook/book.h"

struct tl_spell_key {
    uint32_t rule; /* 0 = a name that is not known here */
    char name[TL_RULE_NAME_CAP];
    char station[TL_ID_CAP];
    struct tl_event event;
    struct tl_subject subject;
};

struct tl_teller {
    char id[TL_ID_CAP];
    bool active;
    bool doubted; /* not told again since the recorder began anew */
};

struct tl_spell {
    struct tl_spell_key key;
    char severity[TL_STATE_NAME_CAP]; /* as it was raised */
    uint64_t from_ms, to_ms;          /* to_ms 0 = not known */
    bool ended;
    uint32_t teller_count;
    struct tl_teller teller[TL_VALIDATORS_MAX];
};

struct tl_spells {
    size_t count, cap;
    struct tl_spell *spell;
    size_t open_count, open_cap;
    size_t *open; /* places of those that have not ended */
    /* the set of a validator that tells again what is open */
    struct tl_stated anew[TL_VALIDATORS_MAX];
    uint32_t anew_count;
};

/* Each takes one row in the order of arrival. severity: may be "". TL_NOMEM. */
TL_MUST_USE enum tl_err tl_spells_begin(struct tl_spells *spells, const struct tl_spell_key *key,
                                        const struct tl_stated *teller, const char *severity);
void tl_spells_end(struct tl_spells *spells, const struct tl_spell_key *key,
                   const struct tl_stated *teller);
/* When every row is in. */
void tl_spells_close(struct tl_spells *spells);
void tl_spells_free(struct tl_spells *spells);

/* True when the length is known, and then in *ms. */
bool tl_spell_length(const struct tl_spell *spell, uint64_t *ms);

#endif
