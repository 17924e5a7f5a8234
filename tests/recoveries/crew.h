/* SPDX-License-Identifier: Apache-2.0 */
/* crew.h - what all the people of the simulated ship do alike. See crew.c. */
#ifndef TESTS_RECOVERIES_CREW_H
#define TESTS_RECOVERIES_CREW_H

#include "tests/recoveries/recovery.h"

enum {
    CREW_TYPES = 4 /* the first is no type */
};

extern const char *const CREW_TYPE[CREW_TYPES];

/* His own word as his station shows it; NULL = none, or taken back. */
const struct tl_datum *crew_own(const struct recovery *r, uint32_t place, enum tl_datum_kind kind,
                                uint32_t slot);
bool crew_own_for(const struct recovery *r, const struct tl_datum *word, uint32_t pass);

struct tl_event crew_event(const struct recovery *r, uint32_t pass);

/* Say it now; false when the station does not take it. */
bool crew_say(struct recovery *r, uint32_t place, struct tl_datum datum, uint64_t *sequence);

/* The same as the oracle is told it. */
struct truth_word crew_word(const struct recovery *r, uint64_t sequence, uint32_t pass,
                            uint32_t value);

/* The event on his own screen; 0 = none. */
uint32_t crew_pass(const struct recovery *r, uint32_t place);

/* True so many times in a hundred, while things go wrong; it is counted. */
bool crew_slips(struct recovery *r, enum fault kind, uint32_t percent);
uint32_t crew_other_weight(struct recovery *r, uint32_t weight_lb);

/* True when he has had to speak of the deck. */
bool crew_act_fouler(struct recovery *r, enum truth_fouler who);

void crew_act_primary(struct recovery *r);

#endif
