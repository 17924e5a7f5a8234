/* SPDX-License-Identifier: Apache-2.0 */
/* tell.h - a decision with all that its causes carry, and words said by voice, for scenes. */
#ifndef TESTS_RULES_TELL_H
#define TESTS_RULES_TELL_H

#include "tests/rules/scene.h"

/*
 * Decide now, and write every cause, notes too, one a line:
 *
 *   rule:station state said NUMBER/WORD needs NUMBER/WORD key NODE!INCARNATION DATUM SLOT
 *
 * with what is not there left out: the incarnation when it is the present one, the datum when the
 * key is the node; #SEQUENCE when the node holds nothing under that number.
 */
const char *tell_causes(struct scene *scene, char *dst, size_t cap);
/* Exactly these lines. */
void tell_expect(struct scene *scene, const char *row, const char *lines);

/* Lost for 5 s. */
void tell_lose(struct scene *scene, const char *station);
/* A word that `signer` says by voice for `station`, 2 s ago; for the current event. */
struct tl_held *tell_voice(struct scene *scene, const char *signer, const char *station,
                           const struct tl_datum *word);
/* The same, by two. */
void tell_voices(struct scene *scene, const char *one, const char *two, const char *station,
                 const struct tl_datum *word);
/* No station of that kind is on the ship: what was one is of no kind. */
void tell_remove(struct scene *scene, const char *station);

#endif
