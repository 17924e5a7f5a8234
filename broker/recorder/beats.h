/* SPDX-License-Identifier: Apache-2.0 */
/*
 * beats.h - the last beats of each station, until a validator says which of them changed something
 *
 * Pure but for the heap at the start. Beats are many and nearly all say what is known; only one that
 * a validator names as its input belongs into the record. Either may come first, and both validators
 * may name the same.
 */
#ifndef TL_RECORDER_BEATS_H
#define TL_RECORDER_BEATS_H

#include "broker/recorder/store.h"

enum {
    TL_BEATS_KEPT = 16, /* of a station: at 10 a second longer than a bus may lag */
    TL_BEATS_WANTED = 64
};

struct tl_beats;

/* TL_NOMEM. */
TL_MUST_USE enum tl_err tl_beats_open(const struct tl_config *config, struct tl_beats **out);
/* Accepts NULL; sets the caller's pointer to NULL. */
void tl_beats_close(struct tl_beats **beats);

/*
 * Keep a verified beat; one of a node that is no station is left out. True when it has been named
 * before: it belongs into the record now.
 */
bool tl_beats_keep(struct tl_beats *beats, const struct tl_envelope *envelope,
                   const struct tl_verbatim *frame);

/*
 * A validator has named that beat of the claim's node, life and sequence. True when it is at hand:
 * *frame is borrowed until the next call, *wall_ms is its sender's clock. Else it is waited for.
 */
bool tl_beats_name(struct tl_beats *beats, const struct tl_claim *claim, struct tl_verbatim *frame,
                   uint64_t *wall_ms);

#endif
