/* SPDX-License-Identifier: Apache-2.0 */
/*
 * unpack.c - see unpack.h
 *
 * protobuf-c keeps the last of a field given twice, merges sub-messages, cuts varints to the width
 * of the field and keeps what it does not know. All of that changes the bytes when it is packed
 * again, so one comparison finds it; the bytes are compared as they come, without a second copy.
 */
#include "proto/codec/unpack.h"

#include <string.h>

#include "proto/codec/field.h"

/* A sink for protobuf_c_message_pack_to_buffer. */
struct comparison {
    ProtobufCBuffer base;
    const uint8_t *expected;
    size_t left;
    bool equal;
};

static void
compare_next(ProtobufCBuffer *buffer, size_t len, const uint8_t *data)
{
    struct comparison *comparison = (struct comparison *)buffer; /* base is its first member */

    if (len > comparison->left || memcmp(comparison->expected, data, len) != 0) {
        comparison->equal = false;
        comparison->left = 0;
        return;
    }
    comparison->expected += len;
    comparison->left -= len;
}

static bool
packs_to(const ProtobufCMessage *message, const uint8_t *bytes, size_t len)
{
    struct comparison comparison = {
        .base = {.append = compare_next}, .expected = bytes, .left = len, .equal = true};

    (void)protobuf_c_message_pack_to_buffer(message, &comparison.base);
    return comparison.equal && comparison.left == 0;
}

static enum tl_refusal find_unknown(const ProtobufCMessage *message);

static enum tl_refusal
find_unknown_below(const ProtobufCMessage *message, const ProtobufCFieldDescriptor *field)
{
    enum tl_refusal fault = TL_FAULT_NONE;
    size_t count = tl_field_count(message, field);

    for (size_t i = 0; i < count && fault == TL_FAULT_NONE; i++) {
        fault = find_unknown(tl_field_message(message, field, i));
    }
    return fault;
}

static enum tl_refusal
find_unknown(const ProtobufCMessage *message)
{
    const ProtobufCMessageDescriptor *descriptor = message->descriptor;
    enum tl_refusal fault = TL_FAULT_NONE;

    if (message->n_unknown_fields > 0) {
        return message->unknown_fields[0].tag == 0 ? TL_REFUSAL_TRUNCATED : TL_REFUSAL_NEWER_SCHEMA;
    }
    for (unsigned i = 0; i < descriptor->n_fields && fault == TL_FAULT_NONE; i++) {
        const ProtobufCFieldDescriptor *field = &descriptor->fields[i];
        if (field->type == PROTOBUF_C_TYPE_MESSAGE) {
            fault = find_unknown_below(message, field);
        }
    }
    return fault;
}

enum tl_refusal
tl_unpack(struct tl_arena *arena, const uint8_t *bytes, size_t len, wire_envelope **out)
{
    wire_envelope *envelope = trapline__v1__envelope__unpack(&arena->allocator, len, bytes);

    if (envelope == NULL) {
        return arena->full ? TL_REFUSAL_TOO_MANY : TL_REFUSAL_TRUNCATED;
    }
    enum tl_refusal fault = find_unknown(&envelope->base);
    if (fault != TL_FAULT_NONE) {
        return fault;
    }
    if (envelope->schema > TL_SCHEMA_VERSION) {
        return TL_REFUSAL_NEWER_SCHEMA;
    }
    if (!packs_to(&envelope->base, bytes, len)) {
        return TL_REFUSAL_NOT_CANONICAL;
    }
    *out = envelope;
    return TL_FAULT_NONE;
}
