/* SPDX-License-Identifier: Apache-2.0 */
/* check.c - the walk of check.h, and what a text may hold. */
#include "proto/codec/check.h"

#include <string.h>

#include "proto/codec/field.h"

enum {
    TAIL_BITS = 6
};

/* Bytes of a UTF-8 character by its first byte; 0 if none begins so. */
static size_t
measure_character(uint8_t first)
{
    if (first < 0x80) {
        return 1;
    }
    if (first < 0xC0 || first > 0xF7) {
        return 0;
    }
    return first < 0xE0 ? 2 : first < 0xF0 ? 3 : 4;
}

/*
 * Length of the UTF-8 character at text and its value; 0 if it is not well formed. RFC 3629
 * section 3: the shortest form only, no surrogates, nothing above U+10FFFF. The final NUL is no
 * continuation byte, so a character that is cut short ends there.
 */
static size_t
decode_character(const uint8_t *text, uint32_t *value)
{
    static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
    size_t len = measure_character(text[0]);

    *value = text[0];
    if (len <= 1) {
        return len;
    }
    *value &= 0x7FU >> len;
    for (size_t i = 1; i < len; i++) {
        if ((text[i] & 0xC0) != 0x80) {
            return 0;
        }
        *value = (*value << TAIL_BITS) | (text[i] & 0x3FU);
    }
    bool surrogate = *value >= 0xD800 && *value <= 0xDFFF;
    return *value < least[len] || *value > 0x10FFFF || surrogate ? 0 : len;
}

/* The same characters that proto/base/text.h keeps from a terminal. */
static bool
is_control(uint32_t value)
{
    return value < 0x20 || (value >= 0x7F && value <= 0x9F) ||
           (value >= 0x2028 && value <= 0x202E) || (value >= 0x2066 && value <= 0x2069);
}

/* UTF8 wins over CONTROL_BYTES wherever they stand. */
static enum tl_refusal
check_text(const char *text)
{
    enum tl_refusal fault = TL_FAULT_NONE;
    const uint8_t *at = (const uint8_t *)text;

    while (*at != '\0') {
        uint32_t value;
        size_t len = decode_character(at, &value);
        if (len == 0) {
            return TL_REFUSAL_UTF8;
        }
        if (is_control(value)) {
            fault = TL_REFUSAL_CONTROL_BYTES;
        }
        at += len;
    }
    return fault;
}

static enum tl_refusal
check_string(const struct tl_check_row *row, const char *text)
{
    enum tl_refusal fault = check_text(text);
    bool fits;

    if (fault != TL_FAULT_NONE) {
        return fault;
    }
    if (row->kind == TL_CHECK_ID) {
        fits = tl_id_is_wellformed(text);
    } else if (row->kind == TL_CHECK_TYPE) {
        fits = tl_type_is_wellformed(text);
    } else {
        fits = text[0] != '\0' && strlen(text) <= row->max;
    }
    return fits ? TL_FAULT_NONE : TL_REFUSAL_RANGE;
}

static enum tl_refusal
check_enum(const ProtobufCFieldDescriptor *field, uint64_t value)
{
    /* A negative value is one of the high ones here and is in no table. */
    return protobuf_c_enum_descriptor_get_value(field->descriptor, (int)(uint32_t)value) == NULL
               ? TL_REFUSAL_ENUM
               : TL_FAULT_NONE;
}

static enum tl_refusal
check_sint(const struct tl_check_row *row, int64_t value)
{
    bool over = value >= 0 && (uint64_t)value > row->max;
    return value < row->min || over ? TL_REFUSAL_RANGE : TL_FAULT_NONE;
}

/* The range is the parent's: degrees here, knots there. */
static enum tl_refusal
check_value(const struct tl_check_row *row, const ProtobufCMessage *message)
{
    enum tl_refusal fault = tl_check_message(row->sub, message);

    if (fault != TL_FAULT_NONE) {
        return fault;
    }
    return check_sint(row, ((const wire_motion_value *)message)->value);
}

static enum tl_refusal
check_length(const struct tl_check_row *row, size_t len)
{
    uint64_t least = row->min != 0 ? (uint64_t)row->min : row->max;
    return len >= least && len <= row->max ? TL_FAULT_NONE : TL_REFUSAL_RANGE;
}

static enum tl_refusal
check_entry(const struct tl_check_row *row, const ProtobufCMessage *message,
            const ProtobufCFieldDescriptor *field, size_t i)
{
    switch (row->kind) {
    case TL_CHECK_UINT:
        return tl_field_uint(message, field) > row->max ? TL_REFUSAL_RANGE : TL_FAULT_NONE;
    case TL_CHECK_SINT:
        return check_sint(row, tl_field_sint(message, field));
    case TL_CHECK_FLAG:
        return TL_FAULT_NONE;
    case TL_CHECK_ENUM:
        return check_enum(field, tl_field_uint(message, field));
    case TL_CHECK_ID:
    case TL_CHECK_TYPE:
    case TL_CHECK_TEXT:
        return check_string(row, tl_field_text(message, field, i));
    case TL_CHECK_BYTES:
        return check_length(row, tl_field_bytes(message, field));
    case TL_CHECK_MESSAGE:
        return tl_check_message(row->sub, tl_field_message(message, field, i));
    case TL_CHECK_VALUE:
        return check_value(row, tl_field_message(message, field, i));
    case TL_CHECK_NONE:
        break;
    }
    return TL_REFUSAL_NEWER_SCHEMA;
}

static enum tl_refusal
check_field(const struct tl_check_row *row, const ProtobufCMessage *message,
            const ProtobufCFieldDescriptor *field)
{
    size_t count = tl_field_count(message, field);

    if (count == 0) {
        return row->required ? TL_REFUSAL_MISSING : TL_FAULT_NONE;
    }
    if (field->label == PROTOBUF_C_LABEL_REPEATED && count > row->count_max) {
        return TL_REFUSAL_TOO_MANY;
    }
    for (size_t i = 0; i < count; i++) {
        enum tl_refusal fault = check_entry(row, message, field, i);
        if (fault != TL_FAULT_NONE) {
            return fault;
        }
    }
    return TL_FAULT_NONE;
}

static bool
is_empty(const ProtobufCMessage *message)
{
    for (unsigned i = 0; i < message->descriptor->n_fields; i++) {
        if (tl_field_count(message, &message->descriptor->fields[i]) > 0) {
            return false;
        }
    }
    return true;
}

enum tl_refusal
tl_check_message(const struct tl_check_message *table, const ProtobufCMessage *message)
{
    const ProtobufCMessageDescriptor *descriptor = message->descriptor;

    if (!table->may_be_empty && is_empty(message)) {
        return TL_REFUSAL_EMPTY;
    }
    for (unsigned i = 0; i < descriptor->n_fields; i++) {
        const ProtobufCFieldDescriptor *field = &descriptor->fields[i];
        if (i >= table->count || table->rows[i].field != field->id) {
            return TL_REFUSAL_NEWER_SCHEMA;
        }
        enum tl_refusal fault = check_field(&table->rows[i], message, field);
        if (fault != TL_FAULT_NONE) {
            return fault;
        }
    }
    return table->rule == NULL ? TL_FAULT_NONE : table->rule(message);
}
