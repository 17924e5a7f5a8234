/* SPDX-License-Identifier: Apache-2.0 */
/* words.h - rows that change one word of a READY ship, and name exactly what must then be said. */
#ifndef TESTS_RULES_WORDS_H
#define TESTS_RULES_WORDS_H

#include "tests/rules/scene.h"

struct word_row {
    const char *name;
    const char *station;
    enum tl_datum_kind kind;
    uint32_t slot;
    struct tl_datum value; /* its `as` alone counts */
    bool unsaid;           /* the word is taken away instead */
    bool other_event;      /* the word stays, and is for another event */
    const char *causes;    /* "" = READY */
};

#define UNSAID(who, what, n)    who, TL_DATUM_##what, n, {.sequence = 0}, true, 0
#define ELSEWHERE(who, what, n) who, TL_DATUM_##what, n, {.sequence = 0}, 0, true

void words_spoil(struct scene *scene, const struct word_row *row);
/* Each row by itself on the full ship: READY before, exactly its causes, READY when undone. */
void words_each(const struct word_row *rows, size_t count);
/* The second barrier says not proven wherever a row has a cause, without the rules. */
void words_unproven(const struct word_row *rows, size_t count);
/* The first cause of that rule, note or not, in the decision just made; NULL = none. */
const struct tl_cause *words_cause(const struct scene *scene, enum tl_rule rule);

#endif
