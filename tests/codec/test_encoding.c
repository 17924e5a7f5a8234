/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_encoding - what is wrong with the bytes is named, whatever they would mean
 *
 * Wire format: "Protocol Buffers Encoding", protobuf.dev/programming-guides/encoding. UTF-8: F.
 * Yergeau, RFC 3629, November 2003, sections 3, 4 and 10.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/codec/rows.h"

#define SET           VALUE("19:{1:40000}")
#define READING(text) WIND("7:{1:'" text "'}")

static void
encoding_a_canonical_change_is_accepted(void **state)
{
    static const struct row rows[] = {
        {"a set", TL_BODY_CHANGE, SET, OK},
        {"an empty beat", TL_BODY_BEAT, HEAD "16:{}", OK},
    };
    ROWS_CHECK(*state, rows);
}

static void
encoding_an_unknown_field_is_newer_schema(void **state)
{
    static const struct row rows[] = {
        {"behind all others", TL_BODY_CHANGE, SET " 99:1", TL_REFUSAL_NEWER_SCHEMA},
        {"the next number", TL_BODY_CHANGE, SET " 26:1", TL_REFUSAL_NEWER_SCHEMA},
        {"between known ones", TL_BODY_CHANGE, HEAD "11:1 17:{1:{1:7 19:{1:40000}}}",
         TL_REFUSAL_NEWER_SCHEMA},
        {"a text", TL_BODY_CHANGE, SET " 99:'x'", TL_REFUSAL_NEWER_SCHEMA},
        {"64 bits fixed", TL_BODY_CHANGE, SET " !f9060000000000000000", TL_REFUSAL_NEWER_SCHEMA},
        {"32 bits fixed", TL_BODY_CHANGE, SET " !fd0600000000", TL_REFUSAL_NEWER_SCHEMA},
        {"depth 1", TL_BODY_CHANGE, HEAD "17:{1:{1:7 19:{1:40000}} 2:1}", TL_REFUSAL_NEWER_SCHEMA},
        {"depth 2", TL_BODY_CHANGE, VALUE("7:1 19:{1:40000}"), TL_REFUSAL_NEWER_SCHEMA},
        {"depth 3", TL_BODY_CHANGE, VALUE("19:{1:40000 2:1}"), TL_REFUSAL_NEWER_SCHEMA},
        {"depth 3 in the second of two", TL_BODY_BEAT,
         BEAT("3:{1:7 19:{1:5}} 3:{1:8 3:{" EVENT " 3:1} 21:{1:53}}"), TL_REFUSAL_NEWER_SCHEMA},
        {"depth 4", TL_BODY_PICTURE, PICTURE("7:{" STATION " 8:{16:{7:{1:'x' 5:1}}}}"),
         TL_REFUSAL_NEWER_SCHEMA},
        {"a kind of body of its own", TL_BODY_CHANGE, HEAD "26:{1:7}", TL_REFUSAL_NEWER_SCHEMA},
        {"a kind of datum of its own", TL_BODY_CHANGE, VALUE("99:{1:7}"), TL_REFUSAL_NEWER_SCHEMA},
        {"schema 2", TL_BODY_CHANGE, "1:2 2:'engine-1' 3:1 4:5 5:7 17:{1:{1:7 19:{1:40000}}}",
         TL_REFUSAL_NEWER_SCHEMA},
        {"the highest schema", TL_BODY_CHANGE, "1:4294967295 2:'engine-1'",
         TL_REFUSAL_NEWER_SCHEMA},
        {"said before not canonical", TL_BODY_CHANGE, SET " 1:1 99:1", TL_REFUSAL_NEWER_SCHEMA},
        {"said before out of range", TL_BODY_CHANGE, VALUE("19:{1:999999 2:1}"),
         TL_REFUSAL_NEWER_SCHEMA},
    };
    ROWS_CHECK(*state, rows);
}

static void
encoding_what_does_not_unpack_is_truncated(void **state)
{
    static const struct row rows[] = {
        {"field 0", TL_BODY_CHANGE, SET " !0000", TL_REFUSAL_TRUNCATED},
        {"field 0 in a long tag", TL_BODY_CHANGE, SET " !800000", TL_REFUSAL_TRUNCATED},
        {"field 0 as a text", TL_BODY_CHANGE, SET " !0200", TL_REFUSAL_TRUNCATED},
        {"field 0 at depth 3", TL_BODY_CHANGE, VALUE("19:{1:40000 !0000}"), TL_REFUSAL_TRUNCATED},
        {"a tag alone", TL_BODY_CHANGE, SET " !08", TL_REFUSAL_TRUNCATED},
        {"half a tag", TL_BODY_CHANGE, SET " !80", TL_REFUSAL_TRUNCATED},
        {"a varint without end", TL_BODY_CHANGE, SET " !4080", TL_REFUSAL_TRUNCATED},
        {"a varint without end at depth 3", TL_BODY_CHANGE, VALUE("19:{!08ff}"),
         TL_REFUSAL_TRUNCATED},
        {"a varint of 11 bytes", TL_BODY_CHANGE, HEAD "!40ffffffffffffffffffff01",
         TL_REFUSAL_TRUNCATED},
        {"longer than what is left", TL_BODY_CHANGE, HEAD "!8a01050a03", TL_REFUSAL_TRUNCATED},
        {"length near 2^32", TL_BODY_CHANGE, HEAD "!8a01ffffffff0f", TL_REFUSAL_TRUNCATED},
        {"length of 64 bits", TL_BODY_CHANGE, HEAD "!8a01ffffffffffffffffff01",
         TL_REFUSAL_TRUNCATED},
        {"inner longer than outer", TL_BODY_CHANGE, HEAD "17:{!0a05 1:7}", TL_REFUSAL_TRUNCATED},
        {"schema as a text", TL_BODY_CHANGE, "1:'x' 2:'engine-1'", TL_REFUSAL_TRUNCATED},
        {"schema as 32 bits fixed", TL_BODY_CHANGE, "!0d01000000", TL_REFUSAL_TRUNCATED},
        {"schema as 64 bits fixed", TL_BODY_CHANGE, "!090100000000000000", TL_REFUSAL_TRUNCATED},
        {"node as a varint", TL_BODY_CHANGE, "1:1 2:5", TL_REFUSAL_TRUNCATED},
        {"body as a varint", TL_BODY_CHANGE, HEAD "17:5", TL_REFUSAL_TRUNCATED},
        {"weight as a message", TL_BODY_CHANGE, VALUE("19:{1:{1:1}}"), TL_REFUSAL_TRUNCATED},
        {"wire type 3, a group", TL_BODY_CHANGE, SET " !9b069c06", TL_REFUSAL_TRUNCATED},
        {"wire type 6", TL_BODY_CHANGE, SET " !9e0600", TL_REFUSAL_TRUNCATED},
        {"wire type 7", TL_BODY_CHANGE, SET " !9f0600", TL_REFUSAL_TRUNCATED},
        {"said before newer schema", TL_BODY_CHANGE, SET " 99:1 !08", TL_REFUSAL_TRUNCATED},
    };
    ROWS_CHECK(*state, rows);
}

static void
encoding_another_spelling_is_not_canonical(void **state)
{
    static const struct row rows[] = {
        {"a field twice, same", TL_BODY_CHANGE, SET " 1:1", TL_REFUSAL_NOT_CANONICAL},
        {"a field twice, other", TL_BODY_CHANGE, "1:1 2:'engine-1' 3:1 4:5 5:8 5:7 17:{}",
         TL_REFUSAL_NOT_CANONICAL},
        {"a node twice", TL_BODY_CHANGE, "1:1 2:'deck' 2:'engine-1' 3:1 4:5 5:7 17:{}",
         TL_REFUSAL_NOT_CANONICAL},
        {"foul, then clear", TL_BODY_CHANGE, VALUE("22:{1:74 2:1 1:53}"), TL_REFUSAL_NOT_CANONICAL},
        {"two values", TL_BODY_CHANGE, VALUE("19:{1:5} 21:{1:53}"), TL_REFUSAL_NOT_CANONICAL},
        {"a value twice", TL_BODY_CHANGE, VALUE("19:{1:5} 19:{1:5}"), TL_REFUSAL_NOT_CANONICAL},
        {"two bodies", TL_BODY_CHANGE, HEAD "16:{} 17:{1:{1:7 19:{1:5}}}",
         TL_REFUSAL_NOT_CANONICAL},
        {"a body twice", TL_BODY_CHANGE, SET " 17:{1:{1:7 19:{1:40000}}}",
         TL_REFUSAL_NOT_CANONICAL},
        {"a message in two halves", TL_BODY_BEAT, HEAD "6:{1:9} 6:{2:9} 16:{}",
         TL_REFUSAL_NOT_CANONICAL},
        {"fields out of order", TL_BODY_CHANGE, "2:'engine-1' 1:1 3:1 4:5 5:7 17:{}",
         TL_REFUSAL_NOT_CANONICAL},
        {"inner fields out of order", TL_BODY_CHANGE, HEAD "17:{1:{19:{1:5} 1:7}}",
         TL_REFUSAL_NOT_CANONICAL},
        {"a repeated field in two places", TL_BODY_BEAT,
         BEAT("3:{1:7 19:{1:5}} 4:{17:{}} 3:{1:8 21:{1:53}}"), TL_REFUSAL_NOT_CANONICAL},
        {"a zero spelled out", TL_BODY_BEAT, HEAD "8:0 16:{}", TL_REFUSAL_NOT_CANONICAL},
        {"a false spelled out", TL_BODY_CHANGE, VALUE("17:{1:9 2:53 3:0}"),
         TL_REFUSAL_NOT_CANONICAL},
        {"an UNKNOWN spelled out", TL_BODY_CHANGE, VALUE("22:{1:53 2:0}"),
         TL_REFUSAL_NOT_CANONICAL},
        {"an empty text spelled out", TL_BODY_REFUSALS, REFUSAL("1:'' 2:7 3:1"),
         TL_REFUSAL_NOT_CANONICAL},
        {"true as 2", TL_BODY_CHANGE, VALUE("17:{1:9 2:53 3:2}"), TL_REFUSAL_NOT_CANONICAL},
        {"an overlong value", TL_BODY_CHANGE, "!088100 2:'engine-1' 3:1 4:5 5:7 17:{}",
         TL_REFUSAL_NOT_CANONICAL},
        {"an overlong tag", TL_BODY_CHANGE, "!880001 2:'engine-1' 3:1 4:5 5:7 17:{}",
         TL_REFUSAL_NOT_CANONICAL},
        {"an overlong length", TL_BODY_CHANGE, "1:1 !128800656e67696e652d31 3:1 4:5 5:7 17:{}",
         TL_REFUSAL_NOT_CANONICAL},
        {"33 bits in an enum, IN when cut", TL_BODY_CHANGE, VALUE("21:{1:4294967349}"),
         TL_REFUSAL_NOT_CANONICAL},
        {"33 bits in a verdict, READY when cut", TL_BODY_VERDICT,
         HEAD "6:{" EVENT "} 19:{1:1 2:4294990531 " DIGESTS "}", TL_REFUSAL_NOT_CANONICAL},
        {"33 bits in a uint32", TL_BODY_CHANGE, VALUE("19:{1:4295007296}"),
         TL_REFUSAL_NOT_CANONICAL},
        {"33 bits in a sint32", TL_BODY_CHANGE,
         SLOTTED("7", "18:{1:204 2:'plover' 3:34000 4:4294967298 5:53}"), TL_REFUSAL_NOT_CANONICAL},
        {"65 bits in a uint64", TL_BODY_BEAT, HEAD "!40ffffffffffffffffff7f 16:{}",
         TL_REFUSAL_NOT_CANONICAL},
        {"-1 in an enum, 5 bytes", TL_BODY_CHANGE, VALUE("21:{1:4294967295}"),
         TL_REFUSAL_NOT_CANONICAL},
        {"a NUL in a node", TL_BODY_CHANGE, "1:1 2:'engine-1\\x00' 3:1 4:5 5:7 17:{}",
         TL_REFUSAL_NOT_CANONICAL},
        {"a NUL in a text", TL_BODY_BEAT, READING("a\\x00b"), TL_REFUSAL_NOT_CANONICAL},
        {"a text of one NUL", TL_BODY_BEAT, READING("\\x00"), TL_REFUSAL_NOT_CANONICAL},
    };
    ROWS_CHECK(*state, rows);
}

static void
encoding_a_text_is_utf8(void **state)
{
    static const struct row rows[] = {
        {"two bytes, U+00E2", TL_BODY_BEAT, READING("m\\xC3\\xA2t"), OK},
        {"first of three, U+0800", TL_BODY_BEAT, READING("\\xE0\\xA0\\x80"), OK},
        {"last before surrogates, U+D7FF", TL_BODY_BEAT, READING("\\xED\\x9F\\xBF"), OK},
        {"first after surrogates, U+E000", TL_BODY_BEAT, READING("\\xEE\\x80\\x80"), OK},
        {"first of four, U+10000", TL_BODY_BEAT, READING("\\xF0\\x90\\x80\\x80"), OK},
        {"last of all, U+10FFFF", TL_BODY_BEAT, READING("\\xF4\\x8F\\xBF\\xBF"), OK},
        {"one past the last, U+110000", TL_BODY_BEAT, READING("\\xF4\\x90\\x80\\x80"),
         TL_REFUSAL_UTF8},
        {"first surrogate, U+D800", TL_BODY_BEAT, READING("\\xED\\xA0\\x80"), TL_REFUSAL_UTF8},
        {"last surrogate, U+DFFF", TL_BODY_BEAT, READING("\\xED\\xBF\\xBF"), TL_REFUSAL_UTF8},
        {"overlong of two, slash", TL_BODY_BEAT, READING("\\xC0\\xAF"), TL_REFUSAL_UTF8},
        {"overlong of two, last", TL_BODY_BEAT, READING("\\xC1\\xBF"), TL_REFUSAL_UTF8},
        {"overlong NUL", TL_BODY_BEAT, READING("\\xC0\\x80"), TL_REFUSAL_UTF8},
        {"overlong of three", TL_BODY_BEAT, READING("\\xE0\\x9F\\xBF"), TL_REFUSAL_UTF8},
        {"overlong of four", TL_BODY_BEAT, READING("\\xF0\\x8F\\xBF\\xBF"), TL_REFUSAL_UTF8},
        {"lead of five", TL_BODY_BEAT, READING("\\xF8\\x88\\x80\\x80\\x80"), TL_REFUSAL_UTF8},
        {"continuation alone", TL_BODY_BEAT, READING("a\\x80"), TL_REFUSAL_UTF8},
        {"0xFF", TL_BODY_BEAT, READING("a\\xFF"), TL_REFUSAL_UTF8},
        {"two bytes cut short at the end", TL_BODY_BEAT, READING("a\\xC3"), TL_REFUSAL_UTF8},
        {"three bytes cut short by text", TL_BODY_BEAT, READING("\\xE2\\x86z"), TL_REFUSAL_UTF8},
        {"in a node", TL_BODY_CHANGE, "1:1 2:'engine\\xFF' 3:1 4:5 5:7 17:{}", TL_REFUSAL_UTF8},
        {"in a type", TL_BODY_CHANGE, VALUE("23:{1:204 2:'\\xC3'}"), TL_REFUSAL_UTF8},
        {"wins over control bytes", TL_BODY_BEAT, READING("\\x1B\\xFF"), TL_REFUSAL_UTF8},
        {"wins over length", TL_BODY_BEAT, READING("0123456789abcdef\\xFF"), TL_REFUSAL_UTF8},
    };
    ROWS_CHECK(*state, rows);
}

static void
encoding_a_text_commands_no_terminal(void **state)
{
    static const struct row rows[] = {
        {"space", TL_BODY_BEAT, READING(" "), OK},
        {"last printable", TL_BODY_BEAT, READING("~"), OK},
        {"0x1F", TL_BODY_BEAT, READING("\\x1F"), TL_REFUSAL_CONTROL_BYTES},
        {"0x7F", TL_BODY_BEAT, READING("\\x7F"), TL_REFUSAL_CONTROL_BYTES},
        {"0x01", TL_BODY_BEAT, READING("\\x01"), TL_REFUSAL_CONTROL_BYTES},
        {"ESC", TL_BODY_BEAT, READING("\\x1B[31mred"), TL_REFUSAL_CONTROL_BYTES},
        {"newline", TL_BODY_BEAT, READING("a\\x0Ab"), TL_REFUSAL_CONTROL_BYTES},
        {"tab", TL_BODY_BEAT, READING("a\\x09b"), TL_REFUSAL_CONTROL_BYTES},
        {"first C1, U+0080", TL_BODY_BEAT, READING("\\xC2\\x80"), TL_REFUSAL_CONTROL_BYTES},
        {"last C1, U+009F", TL_BODY_BEAT, READING("\\xC2\\x9F"), TL_REFUSAL_CONTROL_BYTES},
        {"one above, U+00A0", TL_BODY_BEAT, READING("\\xC2\\xA0"), OK},
        {"one below, U+2027", TL_BODY_BEAT, READING("\\xE2\\x80\\xA7"), OK},
        {"line separator, U+2028", TL_BODY_BEAT, READING("\\xE2\\x80\\xA8"),
         TL_REFUSAL_CONTROL_BYTES},
        {"right to left, U+202E", TL_BODY_BEAT, READING("\\xE2\\x80\\xAE"),
         TL_REFUSAL_CONTROL_BYTES},
        {"one above, U+202F", TL_BODY_BEAT, READING("\\xE2\\x80\\xAF"), OK},
        {"one below, U+2065", TL_BODY_BEAT, READING("\\xE2\\x81\\xA5"), OK},
        {"isolate, U+2066", TL_BODY_BEAT, READING("\\xE2\\x81\\xA6"), TL_REFUSAL_CONTROL_BYTES},
        {"isolate, U+2069", TL_BODY_BEAT, READING("\\xE2\\x81\\xA9"), TL_REFUSAL_CONTROL_BYTES},
        {"one above, U+206A", TL_BODY_BEAT, READING("\\xE2\\x81\\xAA"), OK},
        {"ESC in a node", TL_BODY_CHANGE, "1:1 2:'engine\\x1B' 3:1 4:5 5:7 17:{}",
         TL_REFUSAL_CONTROL_BYTES},
        {"ESC in a topic", TL_BODY_REFUSALS, REFUSAL("2:7 3:1 4:'\\x1Bc'"),
         TL_REFUSAL_CONTROL_BYTES},
        {"ESC in a cause's word", TL_BODY_PICTURE, PICTURE("8:{" CAUSE " 5:{2:'\\x1Bc'}}"),
         TL_REFUSAL_CONTROL_BYTES},
        {"wins over length", TL_BODY_BEAT, READING("0123456789abcdef\\x1B"),
         TL_REFUSAL_CONTROL_BYTES},
    };
    ROWS_CHECK(*state, rows);
}

static void
encoding_the_first_fault_in_field_order_is_named(void **state)
{
    static const struct row rows[] = {
        {"node before epoch", TL_BODY_BEAT, "1:1 2:'Engine' 4:5 5:7 16:{}", TL_REFUSAL_RANGE},
        {"schema before node", TL_BODY_BEAT, "2:'Engine' 3:1 4:5 5:7 16:{}", TL_REFUSAL_MISSING},
        {"first datum before the second", TL_BODY_BEAT,
         BEAT("3:{1:7 21:{1:77}} 3:{1:8 19:{1:999999}}"), TL_REFUSAL_ENUM},
        {"the other way round", TL_BODY_BEAT, BEAT("3:{1:8 19:{1:999999}} 3:{1:7 21:{1:77}}"),
         TL_REFUSAL_RANGE},
        {"fields before the rule of the message", TL_BODY_CHANGE, VALUE("22:{1:74 3:86401}"),
         TL_REFUSAL_RANGE},
        {"meaning before the topic", TL_BODY_BEAT, "1:1 2:'deck' 3:1 4:5 5:7 19:{}",
         TL_REFUSAL_EMPTY},
    };
    ROWS_CHECK(*state, rows);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(encoding_a_canonical_change_is_accepted),
        cmocka_unit_test(encoding_an_unknown_field_is_newer_schema),
        cmocka_unit_test(encoding_what_does_not_unpack_is_truncated),
        cmocka_unit_test(encoding_another_spelling_is_not_canonical),
        cmocka_unit_test(encoding_a_text_is_utf8),
        cmocka_unit_test(encoding_a_text_commands_no_terminal),
        cmocka_unit_test(encoding_the_first_fault_in_field_order_is_named),
    };
    return cmocka_run_group_tests_name("encoding", tests, world_open, world_close);
}
