/* SPDX-License-Identifier: Apache-2.0 */
/*
 * field.c - see field.h
 *
 * A member is read by copying it from its offset: the struct is some generated type that this file
 * does not know.
 */
#include "proto/codec/field.h"

#include <stdbool.h>
#include <string.h>

static void
read_member(const ProtobufCMessage *message, size_t offset, void *value, size_t size)
{
    memcpy(value, (const uint8_t *)message + offset, size);
}

static const void *
read_pointer(const ProtobufCMessage *message, size_t offset)
{
    const void *pointer;
    read_member(message, offset, &pointer, sizeof pointer);
    return pointer;
}

/* The i-th pointer of a field of messages or texts, repeated or not. */
static const void *
read_entry(const ProtobufCMessage *message, const ProtobufCFieldDescriptor *field, size_t i)
{
    const void *first = read_pointer(message, field->offset);

    if (field->label != PROTOBUF_C_LABEL_REPEATED) {
        return first;
    }
    const void *entry;
    memcpy(&entry, (const uint8_t *)first + i * sizeof entry, sizeof entry);
    return entry;
}

static bool
is_chosen(const ProtobufCMessage *message, const ProtobufCFieldDescriptor *field)
{
    uint32_t chosen; /* the case enum of a oneof is as wide as an int */

    if ((field->flags & PROTOBUF_C_FIELD_FLAG_ONEOF) == 0) {
        return true;
    }
    read_member(message, field->quantifier_offset, &chosen, sizeof chosen);
    return chosen == field->id;
}

static bool
is_set(const ProtobufCMessage *message, const ProtobufCFieldDescriptor *field)
{
    const char *text;

    if (field->type == PROTOBUF_C_TYPE_MESSAGE) {
        return read_pointer(message, field->offset) != NULL;
    }
    if (field->type == PROTOBUF_C_TYPE_STRING) {
        text = read_pointer(message, field->offset);
        return text != NULL && text[0] != '\0';
    }
    if (field->type == PROTOBUF_C_TYPE_BYTES) {
        return tl_field_bytes(message, field) != 0;
    }
    if (field->type == PROTOBUF_C_TYPE_SINT32 || field->type == PROTOBUF_C_TYPE_SINT64) {
        return tl_field_sint(message, field) != 0;
    }
    return tl_field_uint(message, field) != 0;
}

size_t
tl_field_count(const ProtobufCMessage *message, const ProtobufCFieldDescriptor *field)
{
    size_t count;

    if (field->label == PROTOBUF_C_LABEL_REPEATED) {
        read_member(message, field->quantifier_offset, &count, sizeof count);
        return count;
    }
    return is_chosen(message, field) && is_set(message, field) ? 1 : 0;
}

const ProtobufCMessage *
tl_field_message(const ProtobufCMessage *message, const ProtobufCFieldDescriptor *field, size_t i)
{
    return read_entry(message, field, i);
}

const char *
tl_field_text(const ProtobufCMessage *message, const ProtobufCFieldDescriptor *field, size_t i)
{
    return read_entry(message, field, i);
}

static size_t
measure_uint(ProtobufCType type)
{
    if (type == PROTOBUF_C_TYPE_UINT64) {
        return sizeof(uint64_t);
    }
    bool small = type == PROTOBUF_C_TYPE_UINT32 || type == PROTOBUF_C_TYPE_ENUM ||
                 type == PROTOBUF_C_TYPE_BOOL;
    return small ? sizeof(uint32_t) : 0;
}

uint64_t
tl_field_uint(const ProtobufCMessage *message, const ProtobufCFieldDescriptor *field)
{
    uint64_t wide = 0;
    uint32_t small = 0;
    size_t size = measure_uint(field->type);

    if (size == sizeof wide) {
        read_member(message, field->offset, &wide, sizeof wide);
    } else if (size == sizeof small) {
        read_member(message, field->offset, &small, sizeof small);
        wide = small;
    }
    return wide;
}

int64_t
tl_field_sint(const ProtobufCMessage *message, const ProtobufCFieldDescriptor *field)
{
    int64_t wide;
    int32_t small;

    if (field->type == PROTOBUF_C_TYPE_SINT64) {
        read_member(message, field->offset, &wide, sizeof wide);
        return wide;
    }
    read_member(message, field->offset, &small, sizeof small);
    return small;
}

size_t
tl_field_bytes(const ProtobufCMessage *message, const ProtobufCFieldDescriptor *field)
{
    ProtobufCBinaryData bytes;
    read_member(message, field->offset, &bytes, sizeof bytes);
    return bytes.len;
}
