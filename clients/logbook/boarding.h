/* SPDX-License-Identifier: Apache-2.0 */
/*
 * boarding.h - how passes ended, counted: boarding rates, wires, intervals, foul decks.
 *
 * Pure but for the heap. Three rates, because people mean three things (common practice, no
 * source):
 *   hook       traps of traps and bolters: of those that touched down
 *   boarding   traps of traps, bolters and wave-offs while READY: a foul deck is not the pilot's
 *   deck       traps of all passes that ended: what the deck and the pilot together made of them
 * A foul deck here is any NOT READY: the deck or its gear was not ready when the pass was waved
 * off. Wave-offs whose verdict is not recorded are in the last rate alone.
 */
#ifndef CLIENTS_LOGBOOK_BOARDING_H
#define CLIENTS_LOGBOOK_BOARDING_H

#include "clients/logbook/passes.h"
#include "clients/logbook/stats.h"

enum {
    TL_BOARDING_WIRES_MAX = 16,
    TL_BOARDING_CAUSES_MAX = 64
};

struct tl_boarding {
    uint64_t ended, traps, bolters;
    uint64_t waved_ready, waved_not_ready, waved_unknown;
    uint64_t other;                       /* a result with no known outcome */
    uint64_t wire[TL_BOARDING_WIRES_MAX]; /* traps by wire; 0 = no wire named, or beyond */
};

void tl_boarding_add(struct tl_boarding *boarding, const struct tl_pass *pass);

/* In permille, rounded to the nearest; false when there is nothing to divide by. */
bool tl_boarding_hook(const struct tl_boarding *boarding, uint64_t *permille);
bool tl_boarding_boarding(const struct tl_boarding *boarding, uint64_t *permille);
bool tl_boarding_deck(const struct tl_boarding *boarding, uint64_t *permille);

/* Wave-offs while NOT READY by what was the first cause. */
struct tl_foul {
    char rule[TL_RULE_NAME_CAP];
    char station[TL_ID_CAP];
    uint32_t id; /* of the rule */
    uint64_t count;
};
struct tl_fouls {
    uint32_t count;
    uint64_t others; /* beyond TL_BOARDING_CAUSES_MAX, or without a cause in the record */
    struct tl_foul foul[TL_BOARDING_CAUSES_MAX];
};
void tl_fouls_add(struct tl_fouls *fouls, const struct tl_pass *pass);
/* Most first. */
void tl_fouls_sort(struct tl_fouls *fouls);

#endif
