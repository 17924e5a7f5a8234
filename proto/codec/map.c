/* SPDX-License-Identifier: Apache-2.0 */
/* map.c - the pieces that every map_*.c is made of. See map.h. */
#include "proto/codec/map.h"

#include <string.h>

#include "proto/base/require.h"

static void *
take(struct tl_writer *writer, size_t size)
{
    void *piece = tl_arena_take(writer->arena, size);
    TL_REQUIRE(piece != NULL);
    return piece;
}

static void
note_fault(struct tl_writer *writer, enum tl_refusal fault)
{
    if (writer->fault == TL_FAULT_NONE) {
        writer->fault = fault;
    }
}

void *
tl_writer_message(struct tl_writer *writer, const ProtobufCMessageDescriptor *descriptor)
{
    ProtobufCMessage *message = take(writer, descriptor->sizeof_message);
    descriptor->message_init(message);
    return message;
}

char *
tl_writer_text(struct tl_writer *writer, const char *text, size_t cap)
{
    size_t len = strnlen(text, cap);

    if (len == cap) {
        note_fault(writer, TL_REFUSAL_RANGE);
        len = 0;
    }
    char *copy = take(writer, len + 1);
    memcpy(copy, text, len);
    copy[len] = '\0';
    return copy;
}

ProtobufCBinaryData
tl_writer_bytes(struct tl_writer *writer, const uint8_t *bytes, size_t len)
{
    ProtobufCBinaryData copy = {.len = len, .data = take(writer, len)};
    memcpy(copy.data, bytes, len);
    return copy;
}

ProtobufCBinaryData
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): count and limit as of a list */
tl_writer_some_bytes(struct tl_writer *writer, const uint8_t *bytes, size_t count, size_t max)
{
    if (count > max) {
        note_fault(writer, TL_REFUSAL_TOO_MANY);
        count = 0;
    }
    return tl_writer_bytes(writer, bytes, count);
}

void *
tl_writer_list(struct tl_writer *writer, size_t count, size_t *n, size_t max)
{
    if (count > max) {
        note_fault(writer, TL_REFUSAL_TOO_MANY);
        count = 0;
    }
    *n = count;
    return count == 0 ? NULL : take(writer, count * sizeof(void *));
}

uint32_t
tl_writer_enum(struct tl_writer *writer, enum tl_enum id, uint32_t ours)
{
    uint32_t wire = 0;

    if (!tl_enum_to_wire(id, ours, &wire)) {
        note_fault(writer, TL_REFUSAL_ENUM);
    }
    return wire;
}

void
tl_map_text_in(char *dst, size_t cap, const char *src)
{
    size_t len = strnlen(src, cap - 1);
    memcpy(dst, src, len);
    memset(dst + len, 0, cap - len);
}

void
tl_map_bytes_in(uint8_t *dst, size_t len, ProtobufCBinaryData src)
{
    if (src.len == len) {
        memcpy(dst, src.data, len);
    } else {
        memset(dst, 0, len);
    }
}

uint32_t
tl_map_count_in(size_t n, uint32_t max)
{
    return n < max ? (uint32_t)n : max;
}
