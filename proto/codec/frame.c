/* SPDX-License-Identifier: Apache-2.0 */
/*
 * frame.c - split, verify, decode and build one frame. See codec.h.
 *
 * What is signed is "trapline.v1" NUL topic NUL envelope: the domain keeps a signature from being
 * taken for one of another protocol, the topic from being moved to another topic. Each part but
 * the last ends with a NUL and holds none, so no two frames give the same bytes.
 */
#include <string.h>

#include <sodium.h>

#include "proto/base/require.h"
#include "proto/codec/check.h"
#include "proto/codec/map.h"
#include "proto/codec/sign.h"

static const char domain[] = "trapline.v1";

/* Room for what is signed; the signature library wants it in one piece. */
struct signed_buffer {
    uint8_t bytes[sizeof domain + TL_TOPIC_CAP + TL_FRAME_MAX];
};

/* The one topic kind that each body belongs on. */
static const enum tl_topic_kind homes[TL_BODY_KINDS] = {
    [TL_BODY_BEAT] = TL_TOPIC_BEAT,         [TL_BODY_CHANGE] = TL_TOPIC_CHANGE,
    [TL_BODY_RECEIPT] = TL_TOPIC_RECEIPT,   [TL_BODY_VERDICT] = TL_TOPIC_VERDICT,
    [TL_BODY_PICTURE] = TL_TOPIC_PICTURE,   [TL_BODY_ALERTS] = TL_TOPIC_ALERT,
    [TL_BODY_REFUSALS] = TL_TOPIC_BUS,      [TL_BODY_JUDGED] = TL_TOPIC_JUDGED,
    [TL_BODY_RECORDED] = TL_TOPIC_RECORDED, [TL_BODY_COUNTERS] = TL_TOPIC_BUS,
};

static enum tl_err
refuse(enum tl_refusal fault, enum tl_refusal *reason)
{
    *reason = fault;
    return TL_REFUSED;
}

enum tl_err
tl_frame_split(const uint8_t *bytes, size_t len, struct tl_frame *frame, enum tl_refusal *reason)
{
    struct tl_frame found = {0};

    if (len > TL_FRAME_MAX) {
        return refuse(TL_REFUSAL_OVERSIZE, reason);
    }
    if (len == 0 || bytes[0] == '\0') {
        return refuse(TL_REFUSAL_NO_TOPIC, reason);
    }
    const uint8_t *nul = memchr(bytes, '\0', len < TL_TOPIC_CAP ? len : TL_TOPIC_CAP);
    if (nul == NULL) {
        return refuse(TL_REFUSAL_NO_TOPIC, reason);
    }
    found.signed_topic = bytes;
    found.topic_len = (size_t)(nul - bytes);
    if (tl_topic_read((const char *)bytes, found.topic_len, &found.topic) != TL_OK) {
        return refuse(TL_REFUSAL_NOT_YOUR_TOPIC, reason);
    }
    if (len > tl_frame_max(found.topic.kind)) {
        return refuse(TL_REFUSAL_OVERSIZE, reason);
    }
    size_t left = len - found.topic_len - 1;
    if (left < TL_SIGNATURE_LEN) {
        return refuse(TL_REFUSAL_TRUNCATED, reason);
    }
    if (left == TL_SIGNATURE_LEN) {
        return refuse(TL_REFUSAL_EMPTY, reason);
    }
    found.signature = nul + 1;
    found.envelope = found.signature + TL_SIGNATURE_LEN;
    found.envelope_len = left - TL_SIGNATURE_LEN;
    *frame = found;
    return TL_OK;
}

static struct tl_signed
lay_out_signed(const struct tl_frame *frame, struct signed_buffer *buffer)
{
    uint8_t *at = buffer->bytes;

    TL_REQUIRE(frame->topic_len < TL_TOPIC_CAP && frame->envelope_len <= TL_FRAME_MAX);
    memcpy(at, domain, sizeof domain);
    at += sizeof domain;
    memcpy(at, frame->signed_topic, frame->topic_len);
    at += frame->topic_len;
    *at++ = '\0';
    memcpy(at, frame->envelope, frame->envelope_len);
    at += frame->envelope_len;
    return (struct tl_signed){.bytes = buffer->bytes, .len = (size_t)(at - buffer->bytes)};
}

bool
tl_frame_verify(const struct tl_frame *frame, const uint8_t identity[32])
{
    struct signed_buffer buffer;

    return tl_verify_bytes(identity, lay_out_signed(frame, &buffer), frame->signature);
}

static enum tl_refusal
fit_topic(const struct tl_topic *topic, const wire_envelope *wire)
{
    bool fits = strcmp(wire->node, topic->publisher) == 0 &&
                homes[tl_map_body_kind_in(wire)] == topic->kind;
    return fits ? TL_FAULT_NONE : TL_REFUSAL_NOT_YOUR_TOPIC;
}

/* All that a receiver checks but the signature. *wire leads into the arena. */
static enum tl_refusal
judge_frame(struct tl_codec *codec, const struct tl_frame *frame, wire_envelope **wire)
{
    struct tl_arena arena;

    tl_arena_init(&arena, codec);
    enum tl_refusal fault = tl_unpack(&arena, frame->envelope, frame->envelope_len, wire);
    if (fault == TL_FAULT_NONE) {
        fault = tl_check_message(&tl_check_envelope, &(*wire)->base);
    }
    return fault == TL_FAULT_NONE ? fit_topic(&frame->topic, *wire) : fault;
}

enum tl_err
tl_frame_decode(struct tl_codec *codec, const struct tl_frame *frame, struct tl_envelope *out,
                enum tl_refusal *reason)
{
    wire_envelope *wire = NULL;
    enum tl_refusal fault = judge_frame(codec, frame, &wire);

    if (fault != TL_FAULT_NONE) {
        return refuse(fault, reason);
    }
    tl_map_envelope_in(wire, out);
    return TL_OK;
}

/* Pack into codec->pack. TL_BADARG: no form on the wire. TL_FULL: more than max bytes. */
static enum tl_err
pack_envelope(struct tl_codec *codec, const struct tl_envelope *envelope, size_t max, size_t *len,
              enum tl_refusal *reason)
{
    struct tl_arena arena;
    struct tl_writer writer = {.arena = &arena, .fault = TL_FAULT_NONE};

    tl_arena_init(&arena, codec);
    wire_envelope *wire = tl_map_envelope_out(&writer, envelope);
    if (writer.fault != TL_FAULT_NONE) {
        *reason = writer.fault;
        return TL_BADARG;
    }
    size_t size = trapline__v1__envelope__get_packed_size(wire);
    if (size > max) {
        return TL_FULL;
    }
    *len = trapline__v1__envelope__pack(wire, codec->pack);
    return TL_OK;
}

/* Put a checked frame, whose topic and envelope lie elsewhere, into dst. Returns its length. */
static size_t
lay_out_frame(const struct tl_signer *signer, const struct tl_frame *frame, uint8_t *dst)
{
    struct signed_buffer buffer;
    uint8_t *signature = dst + frame->topic_len + 1;

    memcpy(dst, frame->signed_topic, frame->topic_len + 1);
    tl_sign_bytes(signer, lay_out_signed(frame, &buffer), signature);
    memcpy(signature + TL_SIGNATURE_LEN, frame->envelope, frame->envelope_len);
    return frame->topic_len + 1 + TL_SIGNATURE_LEN + frame->envelope_len;
}

enum tl_err
/* NOLINTNEXTLINE(readability-function-size): the parameters are the contract's */
tl_frame_build(struct tl_codec *codec, const struct tl_signer *signer, const struct tl_topic *topic,
               const struct tl_envelope *envelope, uint8_t *dst, size_t cap, size_t *len,
               enum tl_refusal *reason)
{
    char text[TL_TOPIC_CAP];
    struct tl_frame frame = {.topic = *topic, .signed_topic = (const uint8_t *)text};
    wire_envelope *wire = NULL;

    if (tl_topic_write(topic, text, sizeof text, &frame.topic_len) != TL_OK) {
        *reason = TL_REFUSAL_NOT_YOUR_TOPIC;
        return TL_BADARG;
    }
    size_t around = frame.topic_len + 1 + TL_SIGNATURE_LEN;
    size_t max = tl_frame_max(topic->kind);
    max = cap < max ? cap : max;
    if (max <= around) {
        return TL_FULL;
    }
    enum tl_err err = pack_envelope(codec, envelope, max - around, &frame.envelope_len, reason);
    if (err != TL_OK) {
        return err;
    }
    frame.envelope = codec->pack;
    enum tl_refusal fault = judge_frame(codec, &frame, &wire);
    if (fault != TL_FAULT_NONE) {
        *reason = fault;
        return TL_BADARG;
    }
    *len = lay_out_frame(signer, &frame, dst);
    return TL_OK;
}

uint64_t
tl_change_digest(struct tl_codec *codec, const struct tl_change *change)
{
    struct tl_arena arena;
    struct tl_writer writer = {.arena = &arena, .fault = TL_FAULT_NONE};
    uint8_t hash[crypto_generichash_BYTES_MIN];
    uint64_t digest = 0;

    tl_arena_init(&arena, codec);
    wire_change *wire = tl_map_change_out(&writer, change);
    if (writer.fault != TL_FAULT_NONE) {
        return 0;
    }
    size_t len = trapline__v1__change__pack(wire, codec->pack);
    int failed = crypto_generichash(hash, sizeof hash, codec->pack, len, NULL, 0);
    TL_REQUIRE(failed == 0); /* only for lengths out of its range */
    for (size_t i = 0; i < sizeof digest; i++) {
        digest = (digest << 8) | hash[i];
    }
    return digest;
}
