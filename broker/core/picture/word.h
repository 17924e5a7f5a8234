/* SPDX-License-Identifier: Apache-2.0 */
/*
 * word.h - what is known of a station: its own word, or what two others have said for it by voice.
 *
 * Pure. The one place that decides whose word counts:
 *
 *   live, and has said it          its own word
 *   else, said by voice by two     that word
 *   else                           its own word as it was (the station is then a cause itself)
 *
 * A word older than the time of validity that ship.yaml gives to its kind is not known.
 *
 * By voice. Two distinct stations that stations.yaml names say the same of a station that is lost,
 * the second within 60 s. It ends when either withdraws it, with its event, or when that station
 * speaks for itself; if it then says otherwise, people are told. One signature counts toward safe
 * only.
 */
#ifndef TL_CORE_PICTURE_WORD_H
#define TL_CORE_PICTURE_WORD_H

#include "broker/core/picture/fold.h"

/* Recompute what is known by voice, overrides and validators out of service, after any fold. */
void tl_people_update(struct tl_fold *fold, uint64_t now_ms);

/* The word that counts, which may be UNKNOWN; NULL = none. told may be NULL. */
const struct tl_held *tl_word(const struct tl_fold *fold, uint64_t now_ms,
                              const struct tl_told *told, enum tl_datum_kind kind, uint32_t slot);

/* The same when it is known and stated for that event, else NULL. */
const struct tl_held *tl_word_for(const struct tl_fold *fold, uint64_t now_ms,
                                  const struct tl_told *told, enum tl_datum_kind kind,
                                  uint32_t slot, struct tl_event event);

/* What two have said by voice of that name, or NULL. */
const struct tl_voice *tl_voice_of(const struct tl_fold *fold, const struct tl_told *told,
                                   enum tl_datum_kind kind, uint32_t slot);

/* A live override of that rule at that station ("" = it names none), or NULL. */
const struct tl_signed *tl_override_of(const struct tl_fold *fold, uint32_t rule,
                                       const char *station);

#endif
