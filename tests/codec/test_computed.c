/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_computed - what the mechanics say: each field at its end and one past it, and what it owes
 *
 * The ends are those of proto/codec/check.h and proto/vocab/limits.h, said here a second time. A
 * measure that reads 0 when it is left out would read as the best there is: those are owed.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#include "tests/codec/rows.h"

#define TYPE_15              "abcdefghijklmno"
#define OTHERS               "5:1 6:1 7:1 8:1 9:1" /* of a setting, without weight and end */
#define IN_CAUSE(would)      PICTURE("8:{" CAUSE " 8:{" would "}}")
#define PREDICTED(predicted) PICTURE("14:{1:{" EVENT "} " predicted "}")
#define ARREST(arrest)       PREDICTED("2:'plover' 3:33400 5:{" arrest "}")
#define SETTING(pounds)      "5:{1:" pounds " " OTHERS "}"
#define RAMP(ramp)           PREDICTED("2:'plover' 6:{" ramp "}")
#define TIME(time)           PREDICTED("7:{" time "}")
#define EXPECTED(expected)   PICTURE("15:{" expected "}")
#define LAST                 "2:{1:1764050400000 2:6}"

static void
computed_range_of_a_setting(void **state)
{
    static const struct row rows[] = {
        {"everything highest", TL_BODY_PICTURE,
         IN_CAUSE("1:200000 2:1 3:1 4:2000 5:9999999 6:99999 7:20000 8:20000 9:20000"), OK},
        {"everything lowest", TL_BODY_PICTURE, IN_CAUSE("1:1 " OTHERS), OK},
        {"200001 lb", TL_BODY_PICTURE, IN_CAUSE("1:200001 " OTHERS), TL_REFUSAL_RANGE},
        {"200.1 kn left", TL_BODY_PICTURE, IN_CAUSE("1:1 2:1 4:2001 " OTHERS), TL_REFUSAL_RANGE},
        {"10000000 lbf", TL_BODY_PICTURE, IN_CAUSE("1:1 5:10000000 6:1 7:1 8:1 9:1"),
         TL_REFUSAL_RANGE},
        {"100000 %", TL_BODY_PICTURE, IN_CAUSE("1:1 5:1 6:100000 7:1 8:1 9:1"), TL_REFUSAL_RANGE},
        {"ram at 2000.1 in", TL_BODY_PICTURE, IN_CAUSE("1:1 5:1 6:1 7:20001 8:1 9:1"),
         TL_REFUSAL_RANGE},
        {"read at 2000.1 in", TL_BODY_PICTURE, IN_CAUSE("1:1 5:1 6:1 7:1 8:20001 9:1"),
         TL_REFUSAL_RANGE},
        {"run-out 2000.1 ft", TL_BODY_PICTURE, IN_CAUSE("1:1 5:1 6:1 7:1 8:1 9:20001"),
         TL_REFUSAL_RANGE},
        {"a flag of 2", TL_BODY_PICTURE, IN_CAUSE("1:1 2:2 4:1 " OTHERS), TL_REFUSAL_NOT_CANONICAL},
        {"a field that is not there", TL_BODY_PICTURE, IN_CAUSE("1:1 " OTHERS " 10:1"),
         TL_REFUSAL_NEWER_SCHEMA},
        {"in an alert too", TL_BODY_ALERTS, ALERT("1:{" CAUSE " 8:{1:200001 " OTHERS "}} 3:2 5:1"),
         TL_REFUSAL_RANGE},
        {"in an alert", TL_BODY_ALERTS, ALERT("1:{" CAUSE " 8:{1:200000 " OTHERS "}} 3:2 5:1"), OK},
    };
    ROWS_CHECK(*state, rows);
}

static void
computed_a_setting_owes_its_figures(void **state)
{
    static const struct row rows[] = {
        {"nothing", TL_BODY_PICTURE, IN_CAUSE(""), TL_REFUSAL_EMPTY},
        {"no weight", TL_BODY_PICTURE, IN_CAUSE(OTHERS), TL_REFUSAL_MISSING},
        {"no hook load", TL_BODY_PICTURE, IN_CAUSE("1:1 6:1 7:1 8:1 9:1"), TL_REFUSAL_MISSING},
        {"no tension", TL_BODY_PICTURE, IN_CAUSE("1:1 5:1 7:1 8:1 9:1"), TL_REFUSAL_MISSING},
        {"no ram travel", TL_BODY_PICTURE, IN_CAUSE("1:1 5:1 6:1 8:1 9:1"), TL_REFUSAL_MISSING},
        {"no travel to be read", TL_BODY_PICTURE, IN_CAUSE("1:1 5:1 6:1 7:1 9:1"),
         TL_REFUSAL_MISSING},
        {"no run-out", TL_BODY_PICTURE, IN_CAUSE("1:1 5:1 6:1 7:1 8:1"), TL_REFUSAL_MISSING},
        {"it stops", TL_BODY_PICTURE, IN_CAUSE("1:1 " OTHERS), OK},
        {"it stops with speed left", TL_BODY_PICTURE, IN_CAUSE("1:1 4:1 " OTHERS),
         TL_REFUSAL_RANGE},
        {"the ram bottoms", TL_BODY_PICTURE, IN_CAUSE("1:1 2:1 4:1 " OTHERS), OK},
        {"the ram bottoms at no speed", TL_BODY_PICTURE, IN_CAUSE("1:1 2:1 " OTHERS),
         TL_REFUSAL_MISSING},
        {"the cable parts", TL_BODY_PICTURE, IN_CAUSE("1:1 3:1 4:1 " OTHERS), OK},
        {"the cable parts at no speed", TL_BODY_PICTURE, IN_CAUSE("1:1 3:1 " OTHERS),
         TL_REFUSAL_MISSING},
    };
    ROWS_CHECK(*state, rows);
}

/* 502 of 512 bytes are taken by the largest verdict without one. */
static void
computed_a_verdict_tells_no_setting(void **state)
{
    static const struct row rows[] = {
        {"in a verdict", TL_BODY_VERDICT,
         HEAD "19:{1:1 2:42300 3:1 5:{" CAUSE " 8:{1:1 " OTHERS "}} 6:1 " DIGESTS "}",
         TL_REFUSAL_RANGE},
        {"in a picture", TL_BODY_PICTURE, IN_CAUSE("1:1 " OTHERS), OK},
    };
    ROWS_CHECK(*state, rows);
}

static void
computed_range_of_an_arrest(void **state)
{
    static const struct row rows[] = {
        {"everything highest", TL_BODY_PICTURE, ARREST("1:z2000 2:2000 3:9999999 4:z100"), OK},
        {"everything lowest", TL_BODY_PICTURE, ARREST("1:z-2000 2:1 3:1 4:z-99999"), OK},
        {"no headwind, no margin", TL_BODY_PICTURE, ARREST("2:1 3:1"), OK},
        {"headwind 200.1", TL_BODY_PICTURE, ARREST("1:z2001 2:1 3:1"), TL_REFUSAL_RANGE},
        {"headwind -200.1", TL_BODY_PICTURE, ARREST("1:z-2001 2:1 3:1"), TL_REFUSAL_RANGE},
        {"engaging 200.1", TL_BODY_PICTURE, ARREST("2:2001 3:1"), TL_REFUSAL_RANGE},
        {"engaging at nothing", TL_BODY_PICTURE, ARREST("1:z9 3:1"), TL_REFUSAL_MISSING},
        {"energy one past", TL_BODY_PICTURE, ARREST("2:1 3:10000000"), TL_REFUSAL_RANGE},
        {"no energy", TL_BODY_PICTURE, ARREST("2:1"), TL_REFUSAL_MISSING},
        {"margin 101", TL_BODY_PICTURE, ARREST("2:1 3:1 4:z101"), TL_REFUSAL_RANGE},
        {"margin -100000", TL_BODY_PICTURE, ARREST("2:1 3:1 4:z-100000"), TL_REFUSAL_RANGE},
        {"nothing", TL_BODY_PICTURE, ARREST(""), TL_REFUSAL_EMPTY},
        {"a setting out of range", TL_BODY_PICTURE, ARREST("2:1 3:1 " SETTING("200001")),
         TL_REFUSAL_RANGE},
        {"a setting of nothing", TL_BODY_PICTURE, ARREST("2:1 3:1 5:{}"), TL_REFUSAL_EMPTY},
    };
    ROWS_CHECK(*state, rows);
}

static void
computed_settings_of_an_arrest_rise_and_are_there_once(void **state)
{
    static const struct row rows[] = {
        {"one", TL_BODY_PICTURE, ARREST("2:1 3:1 " SETTING("34000")), OK},
        {"rising", TL_BODY_PICTURE, ARREST("2:1 3:1 " SETTING("34000") SETTING("34001")), OK},
        {"twice", TL_BODY_PICTURE, ARREST("2:1 3:1 " SETTING("34000") SETTING("34000")),
         TL_REFUSAL_TOO_MANY},
        {"falling", TL_BODY_PICTURE, ARREST("2:1 3:1 " SETTING("34000") SETTING("33999")),
         TL_REFUSAL_RANGE},
        {"falling at the end", TL_BODY_PICTURE,
         ARREST("2:1 3:1 " SETTING("1") SETTING("3") SETTING("2")), TL_REFUSAL_RANGE},
        {"twice at the end", TL_BODY_PICTURE,
         ARREST("2:1 3:1 " SETTING("1") SETTING("3") SETTING("3")), TL_REFUSAL_TOO_MANY},
    };
    ROWS_CHECK(*state, rows);
}

static void
computed_range_of_the_ramp_and_of_time(void **state)
{
    static const struct row rows[] = {
        {"ramp highest", TL_BODY_PICTURE,
         RAMP("1:'" TYPE_15 "' 2:900 3:8 4:900 5:z20000 6:z100000"), OK},
        {"ramp lowest", TL_BODY_PICTURE, RAMP("1:'a' 2:1 5:z-20000 6:z-100000"), OK},
        {"ramp of nothing", TL_BODY_PICTURE, RAMP(""), TL_REFUSAL_EMPTY},
        {"aid set for no type", TL_BODY_PICTURE, RAMP("2:1"), TL_REFUSAL_MISSING},
        {"aid of 16 bytes", TL_BODY_PICTURE, RAMP("1:'" TYPE_15 "p' 2:1"), TL_REFUSAL_RANGE},
        {"no angle", TL_BODY_PICTURE, RAMP("1:'a'"), TL_REFUSAL_MISSING},
        {"9.01 deg", TL_BODY_PICTURE, RAMP("1:'a' 2:901"), TL_REFUSAL_RANGE},
        {"wire 9", TL_BODY_PICTURE, RAMP("1:'a' 2:1 3:9"), TL_REFUSAL_RANGE},
        {"pitch 90.1", TL_BODY_PICTURE, RAMP("1:'a' 2:1 4:901"), TL_REFUSAL_RANGE},
        {"clearance 2000.1", TL_BODY_PICTURE, RAMP("1:'a' 2:1 5:z20001"), TL_REFUSAL_RANGE},
        {"clearance -2000.1", TL_BODY_PICTURE, RAMP("1:'a' 2:1 5:z-20001"), TL_REFUSAL_RANGE},
        {"touchdown 10000.1", TL_BODY_PICTURE, RAMP("1:'a' 2:1 6:z100001"), TL_REFUSAL_RANGE},
        {"touchdown -10000.1", TL_BODY_PICTURE, RAMP("1:'a' 2:1 6:z-100001"), TL_REFUSAL_RANGE},
        {"an hour each", TL_BODY_PICTURE, TIME("1:36000 2:36000 3:36000 4:36000"), OK},
        {"only the reset", TL_BODY_PICTURE, TIME("4:1"), OK},
        {"no time at all", TL_BODY_PICTURE, TIME(""), TL_REFUSAL_EMPTY},
        {"to the ramp, past an hour", TL_BODY_PICTURE, TIME("1:36001"), TL_REFUSAL_RANGE},
        {"wave-off, past an hour", TL_BODY_PICTURE, TIME("2:36001"), TL_REFUSAL_RANGE},
        {"people, past an hour", TL_BODY_PICTURE, TIME("3:36001"), TL_REFUSAL_RANGE},
        {"reset, past an hour", TL_BODY_PICTURE, TIME("4:36001"), TL_REFUSAL_RANGE},
    };
    ROWS_CHECK(*state, rows);
}

static void
computed_a_part_owes_what_it_was_computed_from(void **state)
{
    static const struct row rows[] = {
        {"of an event, and nothing known", TL_BODY_PICTURE, PREDICTED(""), OK},
        {"of no event", TL_BODY_PICTURE, PICTURE("14:{2:'plover'}"), TL_REFUSAL_MISSING},
        {"of an event without pass", TL_BODY_PICTURE, PICTURE("14:{1:{1:5}}"), TL_REFUSAL_MISSING},
        {"empty", TL_BODY_PICTURE, PICTURE("14:{}"), TL_REFUSAL_EMPTY},
        {"arrest of no type", TL_BODY_PICTURE, PREDICTED("3:1 5:{2:1 3:1}"), TL_REFUSAL_MISSING},
        {"arrest of no weight", TL_BODY_PICTURE, PREDICTED("2:'a' 5:{2:1 3:1}"),
         TL_REFUSAL_MISSING},
        {"arrest of both", TL_BODY_PICTURE, PREDICTED("2:'a' 3:1 5:{2:1 3:1}"), OK},
        {"ramp of no type", TL_BODY_PICTURE, PREDICTED("6:{1:'a' 2:1}"), TL_REFUSAL_MISSING},
        {"time of no type", TL_BODY_PICTURE, PREDICTED("7:{1:1}"), OK},
        {"200000 lb", TL_BODY_PICTURE, PREDICTED("3:200000"), OK},
        {"200001 lb", TL_BODY_PICTURE, PREDICTED("3:200001"), TL_REFUSAL_RANGE},
        {"type of 16 bytes", TL_BODY_PICTURE, PREDICTED("2:'" TYPE_15 "p'"), TL_REFUSAL_RANGE},
        {"type with control bytes", TL_BODY_PICTURE, PREDICTED("2:'a\\x07'"),
         TL_REFUSAL_CONTROL_BYTES},
    };
    ROWS_CHECK(*state, rows);
}

static void
computed_an_expected_travel_is_whole_and_once_an_engine(void **state)
{
    static const struct row rows[] = {
        {"highest", TL_BODY_PICTURE, EXPECTED("1:8 " LAST " 3:20000"), OK},
        {"engine 9", TL_BODY_PICTURE, EXPECTED("1:9 " LAST " 3:1"), TL_REFUSAL_RANGE},
        {"2000.1 in", TL_BODY_PICTURE, EXPECTED("1:1 " LAST " 3:20001"), TL_REFUSAL_RANGE},
        {"of no engine", TL_BODY_PICTURE, EXPECTED(LAST " 3:1"), TL_REFUSAL_MISSING},
        {"of no event", TL_BODY_PICTURE, EXPECTED("1:1 3:1"), TL_REFUSAL_MISSING},
        {"no travel", TL_BODY_PICTURE, EXPECTED("1:1 " LAST), TL_REFUSAL_MISSING},
        {"empty", TL_BODY_PICTURE, EXPECTED(""), TL_REFUSAL_EMPTY},
        {"two engines", TL_BODY_PICTURE, PICTURE("15:{1:2 " LAST " 3:1} 15:{1:1 " LAST " 3:1}"),
         OK},
        {"one engine twice", TL_BODY_PICTURE,
         PICTURE("15:{1:1 " LAST " 3:1} 15:{1:2 " LAST " 3:1} 15:{1:1 " LAST " 3:2}"),
         TL_REFUSAL_TOO_MANY},
    };
    ROWS_CHECK(*state, rows);
}

static void
computed_judged_holds_the_figures_of_its_kind_alone(void **state)
{
    static const struct row rows[] = {
        {"predicted", TL_BODY_JUDGED, JUDGED("2:'engine-1' 5:6 7:{1:{" EVENT "}}"), OK},
        {"predicted without", TL_BODY_JUDGED, JUDGED("2:'engine-1' 5:6"), TL_REFUSAL_MISSING},
        {"predicted with a travel", TL_BODY_JUDGED,
         JUDGED("2:'engine-1' 5:6 7:{1:{" EVENT "}} 8:{1:1 " LAST " 3:1}"), TL_REFUSAL_RANGE},
        {"predicted with a reason", TL_BODY_JUDGED,
         JUDGED("2:'engine-1' 5:6 6:33 7:{1:{" EVENT "}}"), TL_REFUSAL_RANGE},
        {"predicted out of range", TL_BODY_JUDGED,
         JUDGED("2:'engine-1' 5:6 7:{1:{" EVENT "} 3:200001}"), TL_REFUSAL_RANGE},
        {"applied with a prediction", TL_BODY_JUDGED, JUDGED("2:'engine-1' 5:1 7:{1:{" EVENT "}}"),
         TL_REFUSAL_RANGE},
        {"expected", TL_BODY_JUDGED, JUDGED("2:'engine-2' 5:7 8:{1:1 " LAST " 3:1}"), OK},
        {"expected without", TL_BODY_JUDGED, JUDGED("2:'engine-2' 5:7"), TL_REFUSAL_MISSING},
        {"expected with a prediction", TL_BODY_JUDGED,
         JUDGED("2:'engine-2' 5:7 7:{1:{" EVENT "}} 8:{1:1 " LAST " 3:1}"), TL_REFUSAL_RANGE},
        {"expected of engine 9", TL_BODY_JUDGED, JUDGED("2:'engine-2' 5:7 8:{1:9 " LAST " 3:1}"),
         TL_REFUSAL_RANGE},
        {"a beat with a travel", TL_BODY_JUDGED, JUDGED("2:'engine-2' 5:5 8:{1:1 " LAST " 3:1}"),
         TL_REFUSAL_RANGE},
        {"a kind one past", TL_BODY_JUDGED, JUDGED("2:'engine-2' 5:13"), TL_REFUSAL_ENUM},
        {"of nobody", TL_BODY_JUDGED, JUDGED("5:6 7:{1:{" EVENT "}}"), TL_REFUSAL_MISSING},
    };
    ROWS_CHECK(*state, rows);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(computed_range_of_a_setting),
        cmocka_unit_test(computed_a_setting_owes_its_figures),
        cmocka_unit_test(computed_a_verdict_tells_no_setting),
        cmocka_unit_test(computed_range_of_an_arrest),
        cmocka_unit_test(computed_settings_of_an_arrest_rise_and_are_there_once),
        cmocka_unit_test(computed_range_of_the_ramp_and_of_time),
        cmocka_unit_test(computed_a_part_owes_what_it_was_computed_from),
        cmocka_unit_test(computed_an_expected_travel_is_whole_and_once_an_engine),
        cmocka_unit_test(computed_judged_holds_the_figures_of_its_kind_alone),
    };
    return cmocka_run_group_tests_name("computed", tests, world_open, world_close);
}
