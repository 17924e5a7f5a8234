/* SPDX-License-Identifier: Apache-2.0 */
/*
 * voice - what a bus says itself: frames on bus/<bus>/, signed with its own identity
 *
 * A relay passes on what others signed and signs nothing for them. Its own counters and refusals
 * are messages like any other node's: same envelope, own incarnation, one sequence for the topic.
 * All memory is taken when it is opened.
 */
#ifndef BROKER_RELAY_VOICE_H
#define BROKER_RELAY_VOICE_H

#include "proto/link/identity.h"
#include "proto/vocab/message.h"

struct tl_voice;

/* A view into the voice, valid until it speaks again. */
struct tl_voice_frame {
    const uint8_t *bytes;
    size_t len;
};

/*
 * Open it. identity: borrowed until tl_voice_close. incarnation: of this life, from 1.
 * Errors: TL_NOMEM.
 */
TL_MUST_USE enum tl_err tl_voice_open(const struct tl_identity *identity, uint64_t incarnation,
                                      struct tl_voice **out);

/*
 * Make the frame that says it. wall_ms: for the record only.
 * Errors: those of tl_frame_build; the sequence number is then used up, and out is untouched.
 */
TL_MUST_USE enum tl_err tl_voice_counters(struct tl_voice *voice, uint64_t wall_ms,
                                          const struct tl_counters *counters,
                                          struct tl_voice_frame *out);
TL_MUST_USE enum tl_err tl_voice_refusals(struct tl_voice *voice, uint64_t wall_ms,
                                          const struct tl_refusals *refusals,
                                          struct tl_voice_frame *out);

/* Release it. Accepts NULL; sets the caller's pointer to NULL. */
void tl_voice_close(struct tl_voice **voice);

#endif
