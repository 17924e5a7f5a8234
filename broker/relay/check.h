/* SPDX-License-Identifier: Apache-2.0 */
/*
 * check - may this frame pass? The relay's whole judgement, and nothing of the body
 *
 * Pure. Looks at the number of frames, the topic, the size that its kind may have, and whether the
 * key behind the session may publish on that topic at this moment. Signature and content are the
 * receivers' to judge.
 */
#ifndef BROKER_RELAY_CHECK_H
#define BROKER_RELAY_CHECK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "broker/access/access.h"

struct tl_relay_frame {
    const uint8_t *bytes; /* borrowed */
    size_t len;
    bool alone;          /* the message is this one frame */
    const char *user_id; /* of the handshake, borrowed; NULL = none */
};

/*
 * Rule on one message. Returns TL_REFUSAL_UNKNOWN, which is 0, when it may pass; else the first of
 * FRAMES, NO_TOPIC, NOT_YOUR_TOPIC, TRUNCATED, EMPTY, OVERSIZE, UNKNOWN_USER, REVOKED that holds.
 * kind: out, of its topic; TL_TOPIC_UNKNOWN when it may not pass.
 */
enum tl_refusal tl_relay_check(const struct tl_access *access, const struct tl_relay_frame *frame,
                               enum tl_topic_kind *kind);

/*
 * Take one message of the socket where nodes subscribe into the count of subscriptions, which does
 * not go below 0. False, and nothing is counted: it is none; somebody publishes where one subscribes.
 */
bool tl_relay_subscribes(const struct tl_relay_frame *frame, uint64_t *count);

/*
 * Text of what a refused frame has for a topic: up to the first NUL, or its first bytes, with '?'
 * for whatever is not printable ASCII, as no topic is. dst: ended by NUL.
 */
void tl_relay_topic_text(const struct tl_relay_frame *frame, char dst[TL_TOPIC_CAP]);

#endif
