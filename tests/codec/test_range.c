/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_range - every field with a range is accepted at its end and refused one past it
 *
 * The ends are those of proto/codec/check.h and proto/vocab/limits.h, said here a second time.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "tests/codec/rows.h"

#define ID_23                  "abcdefghijklmnopqrstu-9"
#define TYPE_15                "abcdefghijklmno"
#define U64_MAX                "18446744073709551615"
#define ORDER(order)           SLOTTED("7", "18:{" order "}")
#define INBOUND(slot, inbound) SLOTTED(slot, "26:{" inbound "}")

static void
range_of_the_envelope(void **state)
{
    static const struct row rows[] = {
        {"highest everything", TL_BODY_BEAT,
         "1:1 2:'engine-1' 3:4294967295 4:" U64_MAX " 5:" U64_MAX " 6:{1:" U64_MAX
         " 2:4294967295} 8:" U64_MAX " 16:{}",
         OK},
        {"node of 24 bytes", TL_BODY_BEAT, "1:1 2:'" ID_23 "x' 3:1 4:5 5:7 16:{}",
         TL_REFUSAL_RANGE},
        {"node in capitals", TL_BODY_BEAT, "1:1 2:'Engine-1' 3:1 4:5 5:7 16:{}", TL_REFUSAL_RANGE},
        {"node with a slash", TL_BODY_BEAT, "1:1 2:'engine/1' 3:1 4:5 5:7 16:{}", TL_REFUSAL_RANGE},
        {"node ending in a dash", TL_BODY_BEAT, "1:1 2:'engine-' 3:1 4:5 5:7 16:{}",
         TL_REFUSAL_RANGE},
        {"validator of 23 bytes", TL_BODY_BEAT, HEAD "7:{1:'" ID_23 "' 2:1 3:1} 16:{}", OK},
        {"validator of 24 bytes", TL_BODY_BEAT, HEAD "7:{1:'" ID_23 "x' 2:1 3:1} 16:{}",
         TL_REFUSAL_RANGE},
    };
    ROWS_CHECK(*state, rows);
}

static void
range_of_an_order(void **state)
{
    static const struct row rows[] = {
        {"side 1", TL_BODY_CHANGE, ORDER("1:1 2:'a' 3:1 5:53"), OK},
        {"side 9999", TL_BODY_CHANGE, ORDER("1:9999 2:'a' 3:1 5:53"), OK},
        {"side 10000", TL_BODY_CHANGE, ORDER("1:10000 2:'a' 3:1 5:53"), TL_REFUSAL_RANGE},
        {"type of 15 bytes", TL_BODY_CHANGE, ORDER("1:1 2:'" TYPE_15 "' 3:1 5:53"), OK},
        {"type of 16 bytes", TL_BODY_CHANGE, ORDER("1:1 2:'" TYPE_15 "p' 3:1 5:53"),
         TL_REFUSAL_RANGE},
        {"type in capitals", TL_BODY_CHANGE, ORDER("1:1 2:'Plover' 3:1 5:53"), TL_REFUSAL_RANGE},
        {"200000 lb", TL_BODY_CHANGE, ORDER("1:1 2:'a' 3:200000 5:53"), OK},
        {"200001 lb", TL_BODY_CHANGE, ORDER("1:1 2:'a' 3:200001 5:53"), TL_REFUSAL_RANGE},
        {"place 100000", TL_BODY_CHANGE, ORDER("1:1 2:'a' 3:1 4:z100000 5:74"), OK},
        {"place 100001", TL_BODY_CHANGE, ORDER("1:1 2:'a' 3:1 4:z100001 5:74"), TL_REFUSAL_RANGE},
        {"place -100000", TL_BODY_CHANGE, ORDER("1:1 2:'a' 3:1 4:z-100000 5:53"), OK},
        {"place -100001", TL_BODY_CHANGE, ORDER("1:1 2:'a' 3:1 4:z-100001 5:53"), TL_REFUSAL_RANGE},
        {"lowest place", TL_BODY_CHANGE, ORDER("1:1 2:'a' 3:1 4:z-2147483648 5:53"),
         TL_REFUSAL_RANGE},
        {"state between ORDERED and CANCELLED", TL_BODY_CHANGE, ORDER("1:1 2:'a' 3:1 5:54"),
         TL_REFUSAL_ENUM},
    };
    ROWS_CHECK(*state, rows);
}

static void
range_of_the_other_data(void **state)
{
    static const struct row rows[] = {
        {"set 200000", TL_BODY_CHANGE, VALUE("19:{1:200000}"), OK},
        {"set 200001", TL_BODY_CHANGE, VALUE("19:{1:200001}"), TL_REFUSAL_RANGE},
        {"repeater 200000", TL_BODY_CHANGE, SLOTTED("8", "20:{1:200000}"), OK},
        {"repeater 200001", TL_BODY_CHANGE, SLOTTED("8", "20:{1:200001}"), TL_REFUSAL_RANGE},
        {"expected in 86400 s", TL_BODY_CHANGE, VALUE("22:{1:74 2:1 3:86400}"), OK},
        {"expected in 86401 s", TL_BODY_CHANGE, VALUE("22:{1:74 2:1 3:86401}"), TL_REFUSAL_RANGE},
        {"call, side 9999, 200000 lb of fuel", TL_BODY_CHANGE,
         VALUE("23:{1:9999 2:'" TYPE_15 "' 3:200000}"), OK},
        {"call, side 10000", TL_BODY_CHANGE, VALUE("23:{1:10000 2:'a'}"), TL_REFUSAL_RANGE},
        {"call, type of 16 bytes", TL_BODY_CHANGE, VALUE("23:{1:1 2:'" TYPE_15 "p'}"),
         TL_REFUSAL_RANGE},
        {"call, 200001 lb of fuel", TL_BODY_CHANGE, VALUE("23:{1:1 2:'a' 3:200001}"),
         TL_REFUSAL_RANGE},
        {"wire 8", TL_BODY_CHANGE, SLOTTED("7", "25:{1:53 2:8}"), OK},
        {"wire 9", TL_BODY_CHANGE, SLOTTED("7", "25:{1:53 2:9}"), TL_REFUSAL_RANGE},
        {"inbound at its ends", TL_BODY_CHANGE,
         INBOUND("9999", "1:9999 2:'" TYPE_15 "' 3:200000 4:200000"), OK},
        {"inbound, side 10000", TL_BODY_CHANGE, INBOUND("10000", "1:10000 2:'a' 3:1"),
         TL_REFUSAL_RANGE},
        {"inbound, type of 16 bytes", TL_BODY_CHANGE, INBOUND("1", "1:1 2:'" TYPE_15 "p' 3:1"),
         TL_REFUSAL_RANGE},
        {"inbound, 200001 lb", TL_BODY_CHANGE, INBOUND("1", "1:1 2:'a' 3:200001"),
         TL_REFUSAL_RANGE},
        {"inbound, 200001 lb of fuel", TL_BODY_CHANGE, INBOUND("1", "1:1 2:'a' 3:1 4:200001"),
         TL_REFUSAL_RANGE},
        {"highest slot, age and event", TL_BODY_BEAT,
         BEAT("3:{1:7 2:4294967295 3:{1:" U64_MAX " 2:4294967295} 4:4294967295 16:{1:2}}"), OK},
    };
    ROWS_CHECK(*state, rows);
}

static void
range_of_wind(void **state)
{
    static const struct row rows[] = {
        {"everything highest", TL_BODY_BEAT,
         WIND("1:53 2:z2000 3:z2000 4:2000 5:3599 6:{1:2000 2:3599} 7:{1:'a' 2:4294967295 3:2000 "
              "4:3599} 8:1"),
         OK},
        {"everything lowest", TL_BODY_BEAT, WIND("1:74 2:z-2000 3:z-2000 6:{} 7:{1:'a'}"), OK},
        {"nothing known", TL_BODY_BEAT, WIND(""), OK},
        {"headwind 2001", TL_BODY_BEAT, WIND("1:53 2:z2001"), TL_REFUSAL_RANGE},
        {"headwind -2001", TL_BODY_BEAT, WIND("1:53 2:z-2001"), TL_REFUSAL_RANGE},
        {"crosswind 2001", TL_BODY_BEAT, WIND("1:53 3:z2001"), TL_REFUSAL_RANGE},
        {"crosswind -2001", TL_BODY_BEAT, WIND("1:53 3:z-2001"), TL_REFUSAL_RANGE},
        {"over deck 2001", TL_BODY_BEAT, WIND("1:53 4:2001"), TL_REFUSAL_RANGE},
        {"over deck from 3600", TL_BODY_BEAT, WIND("1:53 5:3600"), TL_REFUSAL_RANGE},
        {"true 2001", TL_BODY_BEAT, WIND("1:53 6:{1:2001}"), TL_REFUSAL_RANGE},
        {"true from 3600", TL_BODY_BEAT, WIND("1:53 6:{2:3600}"), TL_REFUSAL_RANGE},
        {"source of 15 bytes", TL_BODY_BEAT, WIND("7:{1:'0123456789ABCDE'}"), OK},
        {"source of 16 bytes", TL_BODY_BEAT, WIND("7:{1:'0123456789ABCDEF'}"), TL_REFUSAL_RANGE},
        {"reading 2001", TL_BODY_BEAT, WIND("7:{1:'a' 3:2001}"), TL_REFUSAL_RANGE},
        {"reading from 3600", TL_BODY_BEAT, WIND("7:{1:'a' 4:3600}"), TL_REFUSAL_RANGE},
    };
    ROWS_CHECK(*state, rows);
}

static void
range_of_motion(void **state)
{
    static const struct row rows[] = {
        {"everything highest", TL_BODY_BEAT,
         MOTION("1:{1:z900} 2:{1:z900} 3:{1:z10000} 4:{1:z36000} 5:{1:z3599} 6:{1:z3599} "
                "7:{1:z2000}"),
         OK},
        {"everything lowest", TL_BODY_BEAT,
         MOTION("1:{1:z-900} 2:{1:z-900} 3:{1:z-10000} 4:{1:z-36000} 5:{} 6:{} 7:{1:z-2000}"), OK},
        {"nothing known", TL_BODY_BEAT, MOTION(""), OK},
        {"pitch 901", TL_BODY_BEAT, MOTION("1:{1:z901}"), TL_REFUSAL_RANGE},
        {"pitch -901", TL_BODY_BEAT, MOTION("1:{1:z-901}"), TL_REFUSAL_RANGE},
        {"roll 901", TL_BODY_BEAT, MOTION("2:{1:z901}"), TL_REFUSAL_RANGE},
        {"roll -901", TL_BODY_BEAT, MOTION("2:{1:z-901}"), TL_REFUSAL_RANGE},
        {"heave 10001", TL_BODY_BEAT, MOTION("3:{1:z10001}"), TL_REFUSAL_RANGE},
        {"heave -10001", TL_BODY_BEAT, MOTION("3:{1:z-10001}"), TL_REFUSAL_RANGE},
        {"turn 36001", TL_BODY_BEAT, MOTION("4:{1:z36001}"), TL_REFUSAL_RANGE},
        {"turn -36001", TL_BODY_BEAT, MOTION("4:{1:z-36001}"), TL_REFUSAL_RANGE},
        {"heading 3600", TL_BODY_BEAT, MOTION("5:{1:z3600}"), TL_REFUSAL_RANGE},
        {"heading -1", TL_BODY_BEAT, MOTION("5:{1:z-1}"), TL_REFUSAL_RANGE},
        {"course 3600", TL_BODY_BEAT, MOTION("6:{1:z3600}"), TL_REFUSAL_RANGE},
        {"course -1", TL_BODY_BEAT, MOTION("6:{1:z-1}"), TL_REFUSAL_RANGE},
        {"speed 2001", TL_BODY_BEAT, MOTION("7:{1:z2001}"), TL_REFUSAL_RANGE},
        {"speed -2001", TL_BODY_BEAT, MOTION("7:{1:z-2001}"), TL_REFUSAL_RANGE},
    };
    ROWS_CHECK(*state, rows);
}

static void
range_of_causes_and_verdicts(void **state)
{
    static const struct row rows[] = {
        {"rule 63", TL_BODY_PICTURE, PICTURE("8:{1:63 3:1}"), OK},
        {"rule 96", TL_BODY_PICTURE, PICTURE("8:{1:96 3:1}"), TL_REFUSAL_RANGE},
        {"cause, station of 23 bytes", TL_BODY_PICTURE, PICTURE("8:{1:9 2:'" ID_23 "' 3:1}"), OK},
        {"cause, station of 24 bytes", TL_BODY_PICTURE, PICTURE("8:{1:9 2:'" ID_23 "x' 3:1}"),
         TL_REFUSAL_RANGE},
        {"subject of 24 bytes", TL_BODY_PICTURE, PICTURE("8:{" CAUSE " 4:{1:'" ID_23 "x'}}"),
         TL_REFUSAL_RANGE},
        {"lowest number", TL_BODY_PICTURE,
         PICTURE("8:{" CAUSE " 5:{1:z-9223372036854775808} 6:{1:z9223372036854775807}}"), OK},
        {"word of 15 bytes", TL_BODY_PICTURE, PICTURE("8:{" CAUSE " 5:{2:'" TYPE_15 "'}}"), OK},
        {"word of 16 bytes", TL_BODY_PICTURE, PICTURE("8:{" CAUSE " 6:{2:'" TYPE_15 "p'}}"),
         TL_REFUSAL_RANGE},
        {"9999 causes", TL_BODY_VERDICT,
         HEAD "19:{1:1 2:42300 3:1 5:{" CAUSE "} 6:9999 " DIGESTS "}", OK},
        {"10000 causes", TL_BODY_VERDICT,
         HEAD "19:{1:1 2:42300 3:1 5:{" CAUSE "} 6:10000 " DIGESTS "}", TL_REFUSAL_RANGE},
        {"digest of 15 bytes", TL_BODY_VERDICT,
         HEAD "19:{2:42300 3:1 5:{" CAUSE "} 6:1 8:'0123456789abcde' 9:'fedcba9876543210'}",
         TL_REFUSAL_RANGE},
        {"digest of 17 bytes", TL_BODY_VERDICT,
         HEAD "19:{2:42300 3:1 5:{" CAUSE "} 6:1 8:'0123456789abcdef' 9:'fedcba9876543210x'}",
         TL_REFUSAL_RANGE},
        {"out of service, 24 bytes", TL_BODY_VERDICT, NOT_READY(" 10:'" ID_23 "x'"),
         TL_REFUSAL_RANGE},
        {"out of service, empty", TL_BODY_VERDICT, NOT_READY(" 10:''"), TL_REFUSAL_RANGE},
        {"refused, rule 95", TL_BODY_RECEIPT, RECEIPT("3:{1:1 2:39  3:95}"), OK},
        {"refused, rule 96", TL_BODY_RECEIPT, RECEIPT("3:{1:1 2:39 3:96}"), TL_REFUSAL_RANGE},
    };
    ROWS_CHECK(*state, rows);
}

static void
range_of_pictures_and_the_rest(void **state)
{
    static const struct row rows[] = {
        {"station of 24 bytes", TL_BODY_PICTURE, PICTURE("7:{1:'" ID_23 "x' 3:53 6:'01234567'}"),
         TL_REFUSAL_RANGE},
        {"station digest of 7 bytes", TL_BODY_PICTURE, PICTURE("7:{1:'deck' 3:53 6:'0123456'}"),
         TL_REFUSAL_RANGE},
        {"station digest of 9 bytes", TL_BODY_PICTURE, PICTURE("7:{1:'deck' 3:53 6:'012345678'}"),
         TL_REFUSAL_RANGE},
        {"listed order, side 10000", TL_BODY_PICTURE,
         PICTURE("6:{1:{" EVENT "} 2:{1:10000 2:'a' 3:1 5:53}}"), TL_REFUSAL_RANGE},
        {"listed result, wire 9", TL_BODY_PICTURE, PICTURE("6:{1:{" EVENT "} 3:{1:53 2:9}}"),
         TL_REFUSAL_RANGE},
        {"judged node of 24 bytes", TL_BODY_JUDGED, JUDGED("2:'" ID_23 "x' 5:1"), TL_REFUSAL_RANGE},
        {"publisher of 24 bytes", TL_BODY_REFUSALS, REFUSAL("1:'" ID_23 "x' 2:4 3:1"),
         TL_REFUSAL_RANGE},
        {"topic of 63 bytes", TL_BODY_REFUSALS,
         REFUSAL("2:4 3:1 4:'" TYPE_15 TYPE_15 TYPE_15 TYPE_15 "abc'"), OK},
        {"topic of 64 bytes", TL_BODY_REFUSALS,
         REFUSAL("2:4 3:1 4:'" TYPE_15 TYPE_15 TYPE_15 TYPE_15 "abcd'"), TL_REFUSAL_RANGE},
        {"recorded highest", TL_BODY_RECORDED, HEAD "24:{1:" U64_MAX " 2:" U64_MAX "}", OK},
        {"counters highest", TL_BODY_COUNTERS,
         HEAD "25:{1:" U64_MAX " 2:" U64_MAX " 3:" U64_MAX " 4:" U64_MAX " 5:" U64_MAX " 6:" U64_MAX
              "}",
         OK},
    };
    ROWS_CHECK(*state, rows);
}

/* 77 is in no enumeration; -1 takes ten bytes. */
static void
range_every_enum_refuses_other_values(void **state)
{
    static const struct row rows[] = {
        {"unknown's kind", TL_BODY_CHANGE, VALUE("16:{1:77}"), TL_REFUSAL_ENUM},
        {"unknown's kind, one past", TL_BODY_CHANGE, VALUE("16:{1:36}"), TL_REFUSAL_ENUM},
        {"recovery", TL_BODY_CHANGE, VALUE("17:{1:9 2:77}"), TL_REFUSAL_ENUM},
        {"order", TL_BODY_CHANGE, ORDER("1:1 2:'a' 3:1 5:77"), TL_REFUSAL_ENUM},
        {"battery", TL_BODY_CHANGE, VALUE("21:{1:77}"), TL_REFUSAL_ENUM},
        {"battery, -1", TL_BODY_CHANGE, VALUE("21:{1:18446744073709551615}"), TL_REFUSAL_ENUM},
        {"battery, 1", TL_BODY_CHANGE, VALUE("21:{1:1}"), TL_REFUSAL_ENUM},
        {"deck", TL_BODY_CHANGE, VALUE("22:{1:77}"), TL_REFUSAL_ENUM},
        {"foul reason, one past", TL_BODY_CHANGE, VALUE("22:{1:74 2:6}"), TL_REFUSAL_ENUM},
        {"hook", TL_BODY_CHANGE, VALUE("24:{1:77}"), TL_REFUSAL_ENUM},
        {"result", TL_BODY_CHANGE, SLOTTED("7", "25:{1:77}"), TL_REFUSAL_ENUM},
        {"wind", TL_BODY_BEAT, WIND("1:77"), TL_REFUSAL_ENUM},
        {"refused", TL_BODY_RECEIPT, RECEIPT("3:{1:1 2:77}"), TL_REFUSAL_ENUM},
        {"refused, between the two groups", TL_BODY_RECEIPT, RECEIPT("3:{1:1 2:19}"),
         TL_REFUSAL_ENUM},
        {"verdict", TL_BODY_VERDICT, HEAD "6:{" EVENT "} 19:{1:1 2:77 " DIGESTS "}",
         TL_REFUSAL_ENUM},
        {"verdict, READY with one bit", TL_BODY_VERDICT,
         HEAD "6:{" EVENT "} 19:{1:1 2:23234 " DIGESTS "}", TL_REFUSAL_ENUM},
        {"verdict, kind", TL_BODY_VERDICT, HEAD "19:{2:42300 3:77 5:{" CAUSE "} 6:1 " DIGESTS "}",
         TL_REFUSAL_ENUM},
        {"cause state", TL_BODY_PICTURE, PICTURE("8:{1:9 3:77}"), TL_REFUSAL_ENUM},
        {"cause reason", TL_BODY_PICTURE, PICTURE("8:{" CAUSE " 7:77}"), TL_REFUSAL_ENUM},
        {"liveness", TL_BODY_PICTURE, PICTURE("7:{1:'deck' 3:77 6:'01234567'}"), TL_REFUSAL_ENUM},
        {"severity", TL_BODY_ALERTS, ALERT("1:{" CAUSE "} 3:77"), TL_REFUSAL_ENUM},
        {"judged", TL_BODY_JUDGED, JUDGED("2:'deck' 5:77"), TL_REFUSAL_ENUM},
        {"judged, reason", TL_BODY_JUDGED, JUDGED("2:'deck' 5:2 6:77"), TL_REFUSAL_ENUM},
        {"refusal", TL_BODY_REFUSALS, REFUSAL("2:77 3:1"), TL_REFUSAL_ENUM},
    };
    ROWS_CHECK(*state, rows);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(range_of_the_envelope),
        cmocka_unit_test(range_of_an_order),
        cmocka_unit_test(range_of_the_other_data),
        cmocka_unit_test(range_of_wind),
        cmocka_unit_test(range_of_motion),
        cmocka_unit_test(range_of_causes_and_verdicts),
        cmocka_unit_test(range_of_pictures_and_the_rest),
        cmocka_unit_test(range_every_enum_refuses_other_values),
    };
    return cmocka_run_group_tests_name("range", tests, world_open, world_close);
}
