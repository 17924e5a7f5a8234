/* SPDX-License-Identifier: Apache-2.0 */
/* books.h - verbs of the gear officer on the counts of pendants and purchase cables. */
#ifndef TL_GEAR_OFFICER_BOOKS_H
#define TL_GEAR_OFFICER_BOOKS_H

#include "clients/station/command.h"

/*
 * A count is keyed from the paper book, or taken from the record. It goes up to the last pass that
 * has ended by the newest picture. Fewer traps than are known of that pendant or cable are an error:
 * only another serial begins anew, and that is another verb.
 */
void tl_verb_cable(struct tl_asking *asking);
void tl_verb_cable_new(struct tl_asking *asking);
void tl_verb_detorqued(struct tl_asking *asking);
void tl_verb_pendant_life(struct tl_asking *asking);
void tl_verb_pendant_new(struct tl_asking *asking);
void tl_verb_from_record(struct tl_asking *asking);
void tl_verb_wear(struct tl_asking *asking);

#endif
