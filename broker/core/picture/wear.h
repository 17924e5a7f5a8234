/* SPDX-License-Identifier: Apache-2.0 */
/*
 * wear.h - what a validator makes of the counts of pendants and cables. See proto/vocab/wear.h.
 *
 * The gear officer states a count and moves it on after each trap; until that word is here the
 * validator adds the traps that it knows of and the word does not have in it. What was once known of
 * a serial is remembered, so that a number typed lower than that does not begin it anew: the word is
 * refused. What a station has moved on by itself may fall, by as much as a corrected result took
 * away; it comes from that station's own reckoning and not from a key.
 *
 * Pure. The memory is that of this life of the validator.
 */
#ifndef TL_CORE_PICTURE_WEAR_H
#define TL_CORE_PICTURE_WEAR_H

#include "broker/core/picture/fold.h"

/* Traps now of a known PENDANT_LIFE or CABLE: stated, and those known since. */
uint32_t tl_wear_traps(const struct tl_fold *fold, const struct tl_datum *datum);

/* LOWER_COUNT for fewer traps than were known of that serial; UNKNOWN = it may be said. */
enum tl_refusal tl_wear_check(const struct tl_fold *fold, const struct tl_datum *datum);

/*
 * After a frame: remember what is held, and make void what came by a beat and may not be said, or
 * is so old that passes after it have been let go here.
 */
void tl_wear_update(struct tl_fold *fold);

/* How a pass on the list ended, unless it is a drill. */
void tl_wear_ended(const struct tl_gear *gear, struct tl_list *list,
                   const struct tl_listed_event *listed);

/* Passes of the list that may still end on a wire. */
uint32_t tl_wear_awaited(const struct tl_list *list);

#endif
