/* SPDX-License-Identifier: Apache-2.0 */
/*
 * codec.h - bytes of one frame <-> topic and envelope. The only user of the generated code.
 *
 * A frame is `topic NUL signature[64] envelope`. Reading goes in four steps that a caller may
 * stop between: split (where is what), verify (who signed it), decode (unpack, canonical check,
 * semantic check). Each refusal has one named reason (enum tl_refusal).
 *
 * Invariants:
 *  1. A frame that decodes re-encodes to the same envelope bytes.
 *  2. Nothing that a frame holds can make a requirement of ours fail or a function block.
 *  3. No heap: unpacking uses a bump arena inside struct tl_codec.
 */
#ifndef TL_CODEC_CODEC_H
#define TL_CODEC_CODEC_H

#include "proto/base/err.h"
#include "proto/vocab/message.h"

enum {
    TL_CODEC_ARENA = 1536 * 1024
};

/* Scratch memory of one thread; large, so allocate it once. Needs no closing. */
struct tl_codec {
    _Alignas(16) uint8_t arena[TL_CODEC_ARENA];
    size_t used;
    uint8_t pack[TL_FRAME_MAX];
};

/* Views into the caller's frame; valid as long as the frame is. */
struct tl_frame {
    struct tl_topic topic;
    const uint8_t *signed_topic; /* topic bytes, without the NUL */
    size_t topic_len;
    const uint8_t *signature;
    const uint8_t *envelope;
    size_t envelope_len;
};

/*
 * Write "beat/engine-3/" or "receipt/validator-1/engine-3/" without a NUL at the end counted.
 * dst takes cap bytes with the final NUL; *len is the length without it.
 * TL_BADARG: kind unknown, id malformed, addressee where none belongs or missing. TL_FULL: cap.
 */
TL_MUST_USE enum tl_err tl_topic_write(const struct tl_topic *topic, char *dst, size_t cap,
                                       size_t *len);

/* Exactly what tl_topic_write writes, and nothing else. TL_MALFORMED otherwise. */
TL_MUST_USE enum tl_err tl_topic_read(const char *text, size_t len, struct tl_topic *topic);

/* The first level of topics of that kind, "beat"; "" for a kind that is none. */
const char *tl_topic_word(enum tl_topic_kind kind);

/* 1..23 of [a-z0-9-], not starting or ending with '-'. */
bool tl_id_is_wellformed(const char *id);
/* 1..15 of [a-z0-9-]. */
bool tl_type_is_wellformed(const char *type);

/* Largest frame allowed for that kind of topic, bytes. */
size_t tl_frame_max(enum tl_topic_kind kind);

/*
 * Split a frame (any bytes; len may be 0). *reason is set on TL_REFUSED to the first of: OVERSIZE
 * (above TL_FRAME_MAX), NO_TOPIC (no NUL within TL_TOPIC_CAP bytes, or nothing before it),
 * NOT_YOUR_TOPIC (topic text not well formed), OVERSIZE (for its kind), TRUNCATED (no room for a
 * signature), EMPTY (no envelope).
 */
TL_MUST_USE enum tl_err tl_frame_split(const uint8_t *bytes, size_t len, struct tl_frame *frame,
                                       enum tl_refusal *reason);

/*
 * True when the signature is that identity's (Ed25519 public key, 32 bytes). Uses 33 KiB of stack,
 * as tl_frame_build does. The program calls sodium_init once before either.
 */
bool tl_frame_verify(const struct tl_frame *frame, const uint8_t identity[32]);

/*
 * Read only who claims to have signed: schema, node, key epoch, incarnation and sequence of the
 * envelope, without trusting or checking anything else. TL_REFUSED with TRUNCATED, MISSING, RANGE.
 * Of a frame that decodes, it is what tl_frame_decode gives. codec is not used: the bytes are
 * anyone's yet.
 */
struct tl_claim {
    uint32_t schema; /* 0 = not said; of a larger number the largest */
    char node[TL_ID_CAP];
    uint32_t key_epoch;
    uint64_t incarnation;
    uint64_t sequence;
};
TL_MUST_USE enum tl_err tl_frame_claim(struct tl_codec *codec, const struct tl_frame *frame,
                                       struct tl_claim *claim, enum tl_refusal *reason);

/*
 * Unpack and check the whole envelope; the signature is the caller's to verify. On TL_OK *out is
 * complete: body kind fits the topic kind, node fits the topic, all ranges hold; of the union `as`
 * only the member of that body is set. On TL_REFUSED *reason names the first fault and *out is
 * untouched. The order is fixed:
 *   1. the encoding (unpack.h): TOO_MANY, TRUNCATED, NEWER_SCHEMA, NOT_CANONICAL
 *   2. the meaning (check.h), in the order of field numbers: EMPTY, MISSING, TOO_MANY, ENUM, UTF8,
 *      CONTROL_BYTES, RANGE
 *   3. the topic: NOT_YOUR_TOPIC when the node is not its publisher or the body not of its kind
 */
TL_MUST_USE enum tl_err tl_frame_decode(struct tl_codec *codec, const struct tl_frame *frame,
                                        struct tl_envelope *out, enum tl_refusal *reason);

/* Signing half of an identity. Owned by proto/link/identity; zeroed when closed. */
struct tl_signer {
    uint8_t secret[64]; /* crypto_sign secret key */
};

/*
 * Pack, check as a receiver would, sign, and lay out the frame in dst (cap >= TL_FRAME_MAX + 128
 * is always enough). *len is its length.
 * TL_BADARG: the envelope does not pass our own semantic check, has a value that the wire has not,
 * or its body does not belong on that topic (*reason says which). TL_FULL: larger than its kind may
 * be, or than cap. dst and *len are untouched on error, *reason on all but TL_BADARG.
 */
TL_MUST_USE enum tl_err tl_frame_build(struct tl_codec *codec, const struct tl_signer *signer,
                                       const struct tl_topic *topic,
                                       const struct tl_envelope *envelope, uint8_t *dst, size_t cap,
                                       size_t *len, enum tl_refusal *reason);

/*
 * Same statement, same digest: the first 8 bytes, big-endian, of BLAKE2b-128 over the canonical
 * bytes of the change's body (the library's shortest digest is 16 bytes). 0 when the change has no
 * form on the wire; one that was decoded always has.
 */
uint64_t tl_change_digest(struct tl_codec *codec, const struct tl_change *change);

#endif
