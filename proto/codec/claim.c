/* SPDX-License-Identifier: Apache-2.0 */
/*
 * claim.c - who claims to have signed, read before the signature is checked
 *
 * The key to check with depends on the claim, so this reads bytes of anyone. It therefore uses
 * neither the unpacker nor memory: it looks at the first five fields, which come first and once in
 * every canonical envelope, and at nothing behind them. If such a claim differs from what the
 * unpacker would have read, the envelope is not canonical and tl_frame_decode refuses it.
 */
#include <string.h>

#include "proto/codec/codec.h"

enum {
    FIELD_SCHEMA = 1,
    FIELD_NODE = 2,
    FIELD_KEY_EPOCH = 3,
    FIELD_INCARNATION = 4,
    FIELD_SEQUENCE = 5,
    WIRE_VARINT = 0,
    WIRE_LENGTH = 2,
    WIRE_BITS = 3,
    VARINT_BYTES_MAX = 10
};

struct reader {
    const uint8_t *at;
    size_t left;
};

/* False when it has no end within the bytes, or needs more than 64 bits. */
static bool
read_varint(struct reader *reader, uint64_t *value)
{
    uint64_t sum = 0;

    for (unsigned i = 0; i < VARINT_BYTES_MAX && i < reader->left; i++) {
        uint64_t bits = reader->at[i] & 0x7FU;
        if (i == VARINT_BYTES_MAX - 1 && bits > 1) {
            return false;
        }
        sum |= bits << (7 * i);
        if ((reader->at[i] & 0x80) == 0) {
            reader->at += i + 1;
            reader->left -= i + 1;
            *value = sum;
            return true;
        }
    }
    return false;
}

static enum tl_refusal
read_node(struct reader *reader, char node[TL_ID_CAP])
{
    uint64_t len;

    if (!read_varint(reader, &len) || len > reader->left) {
        return TL_REFUSAL_TRUNCATED;
    }
    if (len >= TL_ID_CAP) {
        return TL_REFUSAL_RANGE;
    }
    memcpy(node, reader->at, (size_t)len);
    node[len] = '\0';
    reader->at += len;
    reader->left -= (size_t)len;
    /* A NUL inside would make it another id than the one that was sent. */
    return strlen(node) == len && tl_id_is_wellformed(node) ? TL_REFUSAL_UNKNOWN : TL_REFUSAL_RANGE;
}

/* Read the value after the tag of one of the five fields; UNKNOWN when there is nothing wrong. */
static enum tl_refusal
read_field(struct reader *reader, uint64_t field, struct tl_claim *claim)
{
    uint64_t value;

    if (field == FIELD_NODE) {
        return read_node(reader, claim->node);
    }
    if (!read_varint(reader, &value)) {
        return TL_REFUSAL_TRUNCATED;
    }
    if (field == FIELD_KEY_EPOCH) {
        claim->key_epoch = (uint32_t)value;
        return value > UINT32_MAX ? TL_REFUSAL_RANGE : TL_REFUSAL_UNKNOWN;
    }
    if (field == FIELD_SCHEMA) {
        claim->schema = value > UINT32_MAX ? UINT32_MAX : (uint32_t)value;
    } else if (field == FIELD_INCARNATION) {
        claim->incarnation = value;
    } else if (field == FIELD_SEQUENCE) {
        claim->sequence = value;
    }
    return TL_REFUSAL_UNKNOWN;
}

static enum tl_refusal
read_claim(struct reader *reader, struct tl_claim *claim)
{
    uint64_t last = 0;

    while (reader->left > 0) {
        uint64_t tag;
        if (!read_varint(reader, &tag)) {
            return TL_REFUSAL_TRUNCATED;
        }
        uint64_t field = tag >> WIRE_BITS;
        uint64_t type = tag & ((1U << WIRE_BITS) - 1);
        if (field > FIELD_SEQUENCE) {
            break;
        }
        if (field <= last || type != (field == FIELD_NODE ? WIRE_LENGTH : WIRE_VARINT)) {
            return TL_REFUSAL_TRUNCATED;
        }
        enum tl_refusal fault = read_field(reader, field, claim);
        if (fault != TL_REFUSAL_UNKNOWN) {
            return fault;
        }
        last = field;
    }
    bool whole = claim->node[0] != '\0' && claim->key_epoch != 0 && claim->incarnation != 0 &&
                 claim->sequence != 0;
    return whole ? TL_REFUSAL_UNKNOWN : TL_REFUSAL_MISSING;
}

enum tl_err
tl_frame_claim(struct tl_codec *codec, const struct tl_frame *frame, struct tl_claim *claim,
               enum tl_refusal *reason)
{
    struct reader reader = {.at = frame->envelope, .left = frame->envelope_len};
    struct tl_claim found = {0};

    (void)codec; /* nothing unsigned gets as far as the arena */
    enum tl_refusal fault = read_claim(&reader, &found);
    if (fault != TL_REFUSAL_UNKNOWN) {
        *reason = fault;
        return TL_REFUSED;
    }
    *claim = found;
    return TL_OK;
}
