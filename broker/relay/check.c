/* SPDX-License-Identifier: Apache-2.0 */
/* check.c - see check.h. */
#include "broker/relay/check.h"

#include <string.h>

#include "proto/codec/codec.h"

enum tl_refusal
tl_relay_check(const struct tl_access *access, const struct tl_relay_frame *frame,
               enum tl_topic_kind *kind)
{
    struct tl_frame split;
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;

    *kind = TL_TOPIC_UNKNOWN;
    if (!frame->alone) {
        return TL_REFUSAL_FRAMES;
    }
    if (tl_frame_split(frame->bytes, frame->len, &split, &reason) != TL_OK) {
        return reason != TL_REFUSAL_UNKNOWN ? reason : TL_REFUSAL_NO_TOPIC;
    }
    reason = tl_access_check(access, frame->user_id, &split.topic);
    if (reason == TL_REFUSAL_UNKNOWN) {
        *kind = split.topic.kind;
    }
    return reason;
}

bool
tl_relay_subscribes(const struct tl_relay_frame *frame, uint64_t *count)
{
    if (frame->len == 0 || frame->bytes[0] > 1) {
        return false;
    }
    if (frame->bytes[0] == 1) {
        (*count)++;
    } else if (*count > 0) {
        (*count)--;
    }
    return true;
}

void
tl_relay_topic_text(const struct tl_relay_frame *frame, char dst[TL_TOPIC_CAP])
{
    size_t len = 0;

    while (len < frame->len && len < TL_TOPIC_CAP - 1 && frame->bytes[len] != 0) {
        uint8_t byte = frame->bytes[len];
        bool printable = byte >= 0x20 && byte <= 0x7e;
        dst[len++] = '?';
        if (printable) {
            memcpy(&dst[len - 1], &byte, 1);
        }
    }
    dst[len] = '\0';
}
