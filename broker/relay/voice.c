/* SPDX-License-Identifier: Apache-2.0 */
/* voice.c - see voice.h. */
#include "broker/relay/voice.h"

#include <stdlib.h>
#include <string.h>

struct tl_voice {
    const struct tl_identity *identity;
    uint64_t incarnation;
    uint64_t sequence; /* of the last frame */
    struct tl_topic topic;
    struct tl_envelope envelope;
    struct tl_codec codec;
    uint8_t frame[TL_FRAME_SMALL_MAX];
};

enum tl_err
tl_voice_open(const struct tl_identity *identity, uint64_t incarnation, struct tl_voice **out)
{
    struct tl_voice *voice = calloc(1, sizeof *voice);

    if (voice == NULL) {
        return TL_NOMEM;
    }
    voice->identity = identity;
    voice->incarnation = incarnation;
    voice->topic.kind = TL_TOPIC_BUS;
    memcpy(voice->topic.publisher, identity->node, sizeof voice->topic.publisher);
    *out = voice;
    return TL_OK;
}

/* The envelope without its body. */
static struct tl_envelope *
begin(struct tl_voice *voice, uint64_t wall_ms, enum tl_body_kind body)
{
    struct tl_envelope *envelope = &voice->envelope;

    *envelope = (struct tl_envelope){
        .schema = TL_SCHEMA_VERSION,
        .key_epoch = voice->identity->epoch,
        .incarnation = voice->incarnation,
        .sequence = ++voice->sequence,
        .wall_ms = wall_ms,
        .body = body,
    };
    memcpy(envelope->node, voice->identity->node, sizeof envelope->node);
    return envelope;
}

static enum tl_err
finish(struct tl_voice *voice, struct tl_voice_frame *out)
{
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    size_t len = 0;
    enum tl_err err =
        tl_frame_build(&voice->codec, &voice->identity->signer, &voice->topic, &voice->envelope,
                       voice->frame, sizeof voice->frame, &len, &reason);

    if (err == TL_OK) {
        *out = (struct tl_voice_frame){.bytes = voice->frame, .len = len};
    }
    return err;
}

enum tl_err
tl_voice_counters(struct tl_voice *voice, uint64_t wall_ms, const struct tl_counters *counters,
                  struct tl_voice_frame *out)
{
    begin(voice, wall_ms, TL_BODY_COUNTERS)->as.counters = *counters;
    return finish(voice, out);
}

enum tl_err
tl_voice_refusals(struct tl_voice *voice, uint64_t wall_ms, const struct tl_refusals *refusals,
                  struct tl_voice_frame *out)
{
    begin(voice, wall_ms, TL_BODY_REFUSALS)->as.refusals = *refusals;
    return finish(voice, out);
}

void
tl_voice_close(struct tl_voice **voice)
{
    free(*voice);
    *voice = NULL;
}
