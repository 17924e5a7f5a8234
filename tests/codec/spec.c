/* SPDX-License-Identifier: Apache-2.0 */
/* spec.c - see spec.h. */
#include "tests/codec/spec.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

struct spec {
    const char *whole;
    const char *at;
};

struct sink {
    uint8_t *bytes;
    size_t len;
    size_t cap;
};

static void
fail_at(const struct spec *spec)
{
    fail_msg("spec is malformed at '%s' in '%s'", spec->at, spec->whole);
}

static void
put_byte(struct sink *sink, unsigned byte)
{
    assert_true(sink->len < sink->cap);
    sink->bytes[sink->len++] = (uint8_t)byte;
}

static void
put_varint(struct sink *sink, uint64_t value)
{
    while (value > 0x7F) {
        put_byte(sink, (unsigned)(value & 0x7F) | 0x80U);
        value >>= 7;
    }
    put_byte(sink, (unsigned)value);
}

static unsigned
take_hex(struct spec *spec)
{
    char digits[3] = {0};
    char *end;
    memcpy(digits, spec->at, strnlen(spec->at, 2));
    unsigned long value = strtoul(digits, &end, 16);

    if (end != digits + 2) {
        fail_at(spec);
    }
    spec->at += 2;
    return (unsigned)value;
}

static uint64_t
take_number(struct spec *spec)
{
    char *end;
    uint64_t value = strtoull(spec->at, &end, 10);

    if (end == spec->at) {
        fail_at(spec);
    }
    spec->at = end;
    return value;
}

static uint64_t
take_zigzag(struct spec *spec)
{
    char *end;
    long long value = strtoll(spec->at, &end, 10);

    if (end == spec->at) {
        fail_at(spec);
    }
    spec->at = end;
    return value < 0 ? ((uint64_t) - (value + 1) << 1) | 1U : (uint64_t)value << 1;
}

/* Move what stands from `start` on behind its own length. */
static void
prefix_length(struct sink *sink, size_t start)
{
    uint8_t prefix[10];
    struct sink front = {.bytes = prefix, .cap = sizeof prefix};
    size_t len = sink->len - start;

    put_varint(&front, len);
    assert_true(sink->len + front.len <= sink->cap);
    memmove(sink->bytes + start + front.len, sink->bytes + start, len);
    memcpy(sink->bytes + start, prefix, front.len);
    sink->len += front.len;
}

static void
put_text(struct spec *spec, struct sink *sink)
{
    size_t start = sink->len;

    spec->at++;
    while (*spec->at != '\'') {
        if (*spec->at == '\0') {
            fail_at(spec);
        }
        if (spec->at[0] == '\\' && spec->at[1] == 'x') {
            spec->at += 2;
            put_byte(sink, take_hex(spec));
        } else {
            put_byte(sink, (unsigned char)*spec->at++);
        }
    }
    spec->at++;
    prefix_length(sink, start);
}

static void put_fields(struct spec *spec, struct sink *sink);

static void
put_message(struct spec *spec, struct sink *sink)
{
    size_t start = sink->len;

    spec->at++;
    put_fields(spec, sink);
    if (*spec->at != '}') {
        fail_at(spec);
    }
    spec->at++;
    prefix_length(sink, start);
}

static void
put_field(struct spec *spec, struct sink *sink)
{
    uint64_t field = take_number(spec);

    if (*spec->at != ':') {
        fail_at(spec);
    }
    spec->at++;
    bool has_length = *spec->at == '\'' || *spec->at == '{';
    put_varint(sink, field << 3 | (has_length ? 2U : 0U));
    if (*spec->at == '\'') {
        put_text(spec, sink);
    } else if (*spec->at == '{') {
        put_message(spec, sink);
    } else if (*spec->at == 'z') {
        spec->at++;
        put_varint(sink, take_zigzag(spec));
    } else {
        put_varint(sink, take_number(spec));
    }
}

static void
put_fields(struct spec *spec, struct sink *sink)
{
    while (*spec->at != '\0' && *spec->at != '}') {
        if (*spec->at == ' ') {
            spec->at++;
        } else if (*spec->at == '!') {
            spec->at++;
            while (*spec->at != '\0' && *spec->at != ' ' && *spec->at != '}') {
                put_byte(sink, take_hex(spec));
            }
        } else {
            put_field(spec, sink);
        }
    }
}

size_t
/* NOLINTNEXTLINE(readability-non-const-parameter): written through the sink */
spec_write(const char *spec, uint8_t *dst, size_t cap)
{
    struct spec reader = {.whole = spec, .at = spec};
    struct sink sink = {.bytes = dst, .cap = cap};

    put_fields(&reader, &sink);
    if (*reader.at != '\0') {
        fail_at(&reader);
    }
    return sink.len;
}
