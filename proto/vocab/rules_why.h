/* SPDX-License-Identifier: Apache-2.0 */
/*
 * rules_why.h - each rule in plain words: what makes it bad, why that is dangerous, what to do.
 *
 * What the table of rules already says (severity, effect, who acts) is not said again here. One
 * row a rule; a test demands it. Printable ASCII, no figures of a ship: those are configuration.
 */
#ifndef TL_VOCAB_RULES_WHY_H
#define TL_VOCAB_RULES_WHY_H

#include "proto/vocab/rules.h"

struct tl_rule_why {
    enum tl_rule rule;
    const char *bad_when; /* what the check looks at and when it speaks */
    const char *why;      /* what happens to people or aircraft if nobody acts */
    const char *needs;    /* which words, from whom, make it good */
    const char *waits;    /* what is pending until it is due; NULL = judged at once, no due */
    const char *act;      /* what those who act do */
};

/* The row, or NULL for an id that has none. */
const struct tl_rule_why *tl_rule_why(uint32_t rule);
/* The parts of the table; NULL past the last one. */
const struct tl_rule_why *tl_rule_why_part(size_t part, size_t *count);

#endif
