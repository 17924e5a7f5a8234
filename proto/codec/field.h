/* SPDX-License-Identifier: Apache-2.0 */
/*
 * field.h - read a generated struct through its descriptor
 *
 * So that one loop can walk every message, and a field added to the schema cannot be walked past.
 * An *entry* is one element of a repeated field; a singular field has one when it is set, that is,
 * neither absent nor 0, false or empty (proto3 makes no difference between these).
 */
#ifndef TL_CODEC_FIELD_H
#define TL_CODEC_FIELD_H

#include <stddef.h>
#include <stdint.h>

#include <protobuf-c/protobuf-c.h>

/* Number of entries. A type that the schema does not use (floating point, fixed, ...) gives 0. */
size_t tl_field_count(const ProtobufCMessage *message, const ProtobufCFieldDescriptor *field);

/* The calls below take i < tl_field_count and a field of the type that they name. */
const ProtobufCMessage *tl_field_message(const ProtobufCMessage *message,
                                         const ProtobufCFieldDescriptor *field, size_t i);
const char *tl_field_text(const ProtobufCMessage *message, const ProtobufCFieldDescriptor *field,
                          size_t i);
/* uint32, uint64, bool and enum; an enum as the bits of its int. */
uint64_t tl_field_uint(const ProtobufCMessage *message, const ProtobufCFieldDescriptor *field);
/* sint32 and sint64. */
int64_t tl_field_sint(const ProtobufCMessage *message, const ProtobufCFieldDescriptor *field);
size_t tl_field_bytes(const ProtobufCMessage *message, const ProtobufCFieldDescriptor *field);

#endif
