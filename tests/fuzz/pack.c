/* SPDX-License-Identifier: Apache-2.0 */
/* pack.c - see pack.h. */
#include "tests/fuzz/pack.h"

#include <string.h>

#include "proto/codec/codec.h"
#include "tests/fuzz/fuzz.h"

enum {
    SCHEMA = 1
};

void
fuzz_pack(const struct tl_topic *topic, const struct tl_envelope *given)
{
    static const struct tl_signer signer; /* any key will do */
    static struct tl_codec codec;
    static struct tl_envelope envelope;
    static uint8_t bytes[TL_FRAME_MAX + 128];
    struct tl_frame frame;
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    size_t len = 0;

    envelope = *given;
    envelope.schema = SCHEMA;
    envelope.key_epoch = 1;
    envelope.incarnation = given->incarnation != 0 ? given->incarnation : 1;
    envelope.sequence = given->sequence != 0 ? given->sequence : 1;
    envelope.wall_ms = given->wall_ms != 0 ? given->wall_ms : 1;
    memcpy(envelope.node, topic->publisher, sizeof envelope.node);
    TL_REQUIRE(tl_frame_build(&codec, &signer, topic, &envelope, bytes, sizeof bytes, &len,
                              &reason) == TL_OK);
    TL_REQUIRE(tl_frame_split(bytes, len, &frame, &reason) == TL_OK);
    TL_REQUIRE(tl_frame_decode(&codec, &frame, &envelope, &reason) == TL_OK);
}
