/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_rows - what docs/rules.md does not hold of each rule: who acts, who owes an acknowledgement,
 * which station it hears, what keys its alert, whether two may override it, and its words
 *
 * Written down a second time, so that a slip in the table is seen. A rule without its line here
 * fails the test, which prints the line as the table has it.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <string.h>

#include "proto/vocab/rules.h"

struct row {
    enum tl_rule rule;
    unsigned acts;
    unsigned owes;
    enum tl_station_kind from;
    enum tl_datum_kind subject;
    bool overridable;
    const char *text;
};

#define R(rule)      TL_RULE_##rule
#define S(station)   TL_STATION_##station
#define D(datum)     TL_DATUM_##datum
#define N            TL_ACTS_NAMED
#define P            TL_ACTS_PRIMARY
#define APPROACH     TL_ACTS_APPROACH
#define BRIDGE       TL_ACTS_BRIDGE
#define ENGINES      TL_ACTS_ENGINES
#define GEAR_OFFICER TL_ACTS_GEAR_OFFICER
#define WIRES        TL_ACTS_WIRES
#define AID          TL_ACTS_AID
#define BARRICADE    TL_ACTS_BARRICADE
#define SAFETY       TL_ACTS_SAFETY
#define PLATFORM     TL_ACTS_PLATFORM

/* clang-format off */
static const struct row rows[] = {
    {R(WAVE_OFF_ADVISED), PLATFORM, PLATFORM, S(UNKNOWN), D(UNKNOWN), false, "WAVE-OFF ADVISED"},
    {R(TWO_WRITERS), P | N, P | N, S(UNKNOWN), D(UNKNOWN), false, "two programs claim one station"},
    {R(STATION_LOST), P | N, P, S(UNKNOWN), D(UNKNOWN), false, "station lost or stale"},
    {R(VALIDATORS_DIFFER), P, P, S(UNKNOWN), D(UNKNOWN), false, "validators differ"},
    {R(LIST_NOT_HEARD), P, P, S(UNKNOWN), D(UNKNOWN), false, "primary's list not heard yet"},
    {R(PRIMARY_RESTARTED), P, P, S(UNKNOWN), D(UNKNOWN), false, "primary restarted: resume or open"},
    {R(LIMIT_REACHED), P, P, S(UNKNOWN), D(UNKNOWN), false, "more causes than can be listed"},
    {R(UNPROVEN), P, P, S(UNKNOWN), D(UNKNOWN), false, "not every fact is there"},
    {R(NO_EVENT), P, 0, S(PRIMARY), D(RECOVERY), false, "no aircraft ordered"},
    {R(ORDER_UNKNOWN), P, P, S(PRIMARY), D(ORDER), false, "order not complete"},
    {R(ORDERED_DIVERTED), P | APPROACH, P | APPROACH, S(APPROACH), D(INBOUND), false, "the aircraft ordered is diverted"},
    {R(TYPE_UNKNOWN), P, P, S(UNKNOWN), D(ORDER), false, "type not in the table"},
    {R(TYPE_CALLED_DIFFERS), P | PLATFORM, P | PLATFORM, S(PLATFORM), D(CALL), false, "type called is not the type ordered"},
    {R(OVER_TRAP_WEIGHT), P | APPROACH, P | APPROACH, S(APPROACH), D(INBOUND), false, "aircraft over its trap weight"},
    {R(SETTING_OTHER_AIRCRAFT), N | P, N | P, S(UNKNOWN), D(SET), false, "weight set for another aircraft"},
    {R(SETTING_NOT_ORDERED), N | P, N | P, S(ENGINE), D(SET), false, "weight set is not the one ordered"},
    {R(SETTING_LIGHT), N | P, N | P, S(APPROACH), D(SET), false, "weight set below the actual one"},
    {R(ENGINES_DISAGREE), P | ENGINES, P | ENGINES, S(UNKNOWN), D(ORDER), false, "engines are not set alike"},
    {R(REPEATER_DIFFERS), N | P, N | P, S(UNKNOWN), D(SET), false, "repeater differs from the setting"},
    {R(NOT_IN_BATTERY), N, N | P, S(ENGINE), D(BATTERY), false, "engine not in battery"},
    {R(SERVICE_UNKNOWN), N, N | P, S(ENGINE), D(SERVICE), false, "engine neither in nor out of use"},
    {R(ENGINE_FAULT), N | GEAR_OFFICER, N | GEAR_OFFICER | P, S(ENGINE), D(FAULT), false, "engine has a fault code"},
    {R(FLUID_LEVEL), N, N | P, S(ENGINE), D(FLUID), false, "fluid level not at battery"},
    {R(NOT_SIGNED_OFF), GEAR_OFFICER, GEAR_OFFICER | P, S(GEAR_OFFICER), D(SERVICE), false, "engine not signed off after work"},
    {R(INSPECTION_OVERDUE), GEAR_OFFICER, GEAR_OFFICER | P, S(GEAR_OFFICER), D(INSPECTED), false, "inspection due or not good"},
    {R(ARREST_UNREAD), N, N | P, S(ENGINE), D(ARREST), false, "last arrest not read"},
    {R(RAM_TRAVEL), N | GEAR_OFFICER, N | GEAR_OFFICER | P, S(GEAR_OFFICER), D(ARREST), false, "ram travelled too far"},
    {R(OFF_CENTRE), N | GEAR_OFFICER, N | GEAR_OFFICER | P, S(GEAR_OFFICER), D(ARREST), false, "last engagement off centre"},
    {R(SIDES_UNEQUAL), N | GEAR_OFFICER, N | GEAR_OFFICER | P, S(GEAR_OFFICER), D(ARREST), false, "left and right travel differ"},
    {R(NO_ENGINE), P, P, S(UNKNOWN), D(UNKNOWN), false, "no engine in service"},
    {R(ENERGY_OVER), P, P, S(UNKNOWN), D(ORDER), false, "energy over the engine's capacity"},
    {R(STROKE_PREDICTED), N | P, N | P, S(UNKNOWN), D(ORDER), false, "ram would travel too far"},
    {R(TRAVEL_DISAGREES), N | GEAR_OFFICER, N | GEAR_OFFICER | P, S(UNKNOWN), D(ARREST), false, "ram travel is not as computed"},
    {R(HOOK_LOAD), N | P, N | P, S(UNKNOWN), D(ORDER), false, "hook load over its limit"},
    {R(ENERGY_THIN), P, P, S(UNKNOWN), D(ORDER), false, "energy margin thin"},
    {R(RIG_UNKNOWN), N, N | P, S(WIRES), D(RIG), false, "wire neither rigged nor stripped"},
    {R(SHEAVE_DOWN), N, N | P, S(WIRES), D(SHEAVE), false, "sheave not up, not bypassed"},
    {R(BYPASS_WITH_PENDANT), N | GEAR_OFFICER, N | GEAR_OFFICER | P, S(WIRES), D(SHEAVE), false, "bypassed with its pendant rigged"},
    {R(PENDANT_HEIGHT), N, N | P, S(WIRES), D(PENDANT), false, "pendant height out of bounds"},
    {R(PENDANT_WORN), N, N | P, S(WIRES), D(PENDANT), false, "pendant or support not good"},
    {R(PENDANT_LIFE), GEAR_OFFICER, GEAR_OFFICER | P, S(GEAR_OFFICER), D(PENDANT_LIFE), false, "pendant at the end of its life"},
    {R(INACTIVE_RIGGED), N | GEAR_OFFICER, N | GEAR_OFFICER | P, S(WIRES), D(RIG), false, "pendant of an engine out of use"},
    {R(TOO_FEW_WIRES), P | GEAR_OFFICER, P | GEAR_OFFICER, S(WIRES), D(RIG), true, "too few wires"},
    {R(WIRE_NOT_FREE), N, N | P, S(WIRES), D(FREE), false, "wire not free"},
    {R(RETRACT_RUNNING), N, N | P, S(WIRES), D(RETRACT), false, "retract running"},
    {R(ACCUMULATOR), N | P, N | P, S(ENGINE), D(ACCUMULATOR), false, "accumulator pressure out of bounds"},
    {R(CROSSHEAD_GAP), N | P, N | P, S(ENGINE), D(CROSSHEAD), false, "crosshead too near to its stop"},
    {R(DETORQUE_OVERDUE), N, N | P, S(GEAR_OFFICER), D(CABLE), true, "purchase cable past its detorque"},
    {R(STOP), N | P, N | P, S(UNKNOWN), D(DECK), false, "STOP"},
    {R(LINE_CROSSED), N, N | P, S(UNKNOWN), D(DECK), false, "person or aircraft over the line"},
    {R(DECK_FOUL), N, N | P, S(UNKNOWN), D(DECK), false, "deck foul"},
    {R(TRACK_OPEN), N, N | P, S(TRACKS), D(TRACK), false, "track not secured"},
    {R(BARRICADE_NOT_STOWED), N | GEAR_OFFICER, N | GEAR_OFFICER | P, S(BARRICADE), D(BARRICADE), false, "barricade not stowed"},
    {R(BARRICADE_POWER), N, N | P, S(BARRICADE), D(BARRICADE_POWER), true, "barricade will not rise"},
    {R(BARRICADE_NOT_RIGGED), BARRICADE | WIRES, BARRICADE | WIRES | P, S(BARRICADE), D(BARRICADE), false, "barricade not rigged"},
    {R(BARRICADE_WIRES), WIRES | GEAR_OFFICER, WIRES | GEAR_OFFICER | P, S(BARRICADE), D(RIG), false, "pendant in the barricade's way"},
    {R(WEBBING_USED), BARRICADE | GEAR_OFFICER, BARRICADE | GEAR_OFFICER | P, S(BARRICADE), D(BARRICADE), false, "barricade webbing used before"},
    {R(FOUL_WORD_MISSING), N, N | P, S(UNKNOWN), D(DECK), false, "has not said foul or no foul"},
    {R(AID_FAULT), N | PLATFORM, N | PLATFORM | P, S(AID), D(AID), false, "landing aid at fault"},
    {R(AID_NOT_FOR_TYPE), N | PLATFORM, N | PLATFORM | P, S(AID), D(AID), false, "aid set for another type"},
    {R(AID_NOT_ON_TARGET), AID | PLATFORM, AID | PLATFORM | P, S(AID), D(AID), false, "aid not on the target wire"},
    {R(AID_ANGLE), AID | PLATFORM, AID | PLATFORM | P, S(AID), D(AID), false, "basic angle not for this wind"},
    {R(RAMP_CLEARANCE), PLATFORM, PLATFORM | P, S(UNKNOWN), D(ORDER), false, "hook too low over the ramp"},
    {R(HOOK_NOT_DOWN), PLATFORM, PLATFORM | P, S(PLATFORM), D(HOOK), false, "hook not reported down"},
    {R(WIND_UNKNOWN), BRIDGE, BRIDGE | P, S(BRIDGE), D(UNKNOWN), false, "wind not known"},
    {R(WIND_LOW), BRIDGE, BRIDGE | P, S(BRIDGE), D(UNKNOWN), false, "too little wind down the deck"},
    {R(DECK_MOTION), BRIDGE | PLATFORM, BRIDGE | PLATFORM | P, S(BRIDGE), D(UNKNOWN), false, "deck moves too much"},
    {R(CROSSWIND_OVER), BRIDGE, BRIDGE | P, S(BRIDGE), D(UNKNOWN), false, "too much crosswind"},
    {R(SHIP_NOT_STEADY), BRIDGE, BRIDGE | P, S(BRIDGE), D(UNKNOWN), false, "ship not steady"},
    {R(NOT_MANNED), N, N | P, S(UNKNOWN), D(WATCH), false, "nobody has the watch here"},
    {R(REFUSED_PUBLISHER), P, P, S(UNKNOWN), D(UNKNOWN), false, "publisher refused"},
    {R(OTHER_BODY), P | N, P, S(UNKNOWN), D(UNKNOWN), false, "one number, two messages"},
    {R(VALIDATOR_LOST), P, P, S(UNKNOWN), D(UNKNOWN), false, "validator lost"},
    {R(PICTURE_LOST), PLATFORM | P, PLATFORM | P, S(UNKNOWN), D(UNKNOWN), false, "picture lost: go by voice"},
    {R(BUS_DEGRADED), P, 0, S(UNKNOWN), D(UNKNOWN), false, "bus down or behind"},
    {R(KEYS_DIFFER), P, 0, S(UNKNOWN), D(UNKNOWN), false, "validators hold other key files"},
    {R(INBOUND_TROUBLE), P | PLATFORM, P | PLATFORM, S(APPROACH), D(INBOUND), false, "aircraft with trouble"},
    {R(WALK_BACK), N | GEAR_OFFICER, N | GEAR_OFFICER, S(GEAR_OFFICER), D(ARREST), false, "ran back after the stop"},
    {R(PENDANT_LIFE_NEAR), GEAR_OFFICER, 0, S(GEAR_OFFICER), D(PENDANT_LIFE), false, "pendant near the end of its life"},
    {R(TOUCHDOWN_OFF), PLATFORM, PLATFORM, S(UNKNOWN), D(ORDER), false, "touchdown off the target"},
    {R(INTERVAL_SHORT), APPROACH, 0, S(UNKNOWN), D(ORDER), false, "next aircraft too soon"},
    {R(DETORQUE_DUE), N, 0, S(GEAR_OFFICER), D(CABLE), false, "purchase cable due for detorque"},
    {R(VOICE_DIFFERS), N | P, N | P, S(UNKNOWN), D(UNKNOWN), false, "said otherwise than by voice"},
    {R(BY_VOICE), P, 0, S(UNKNOWN), D(UNKNOWN), false, "known BY VOICE"},
    {R(OVERRIDE_LIVE), P, 0, S(UNKNOWN), D(UNKNOWN), false, "OVERRIDE"},
    {R(ONE_VALIDATOR), P, 0, S(UNKNOWN), D(UNKNOWN), false, "ONE VALIDATOR: out of service"},
    {R(RECORDER_LOST), P, P, S(UNKNOWN), D(UNKNOWN), false, "recorder lost: not recorded"},
    {R(ALARM_FLOOD), SAFETY, 0, S(UNKNOWN), D(UNKNOWN), false, "more alerts than can be read"},
    {R(SCREEN_NO_VALIDATOR), P | N, 0, S(UNKNOWN), D(UNKNOWN), false, "validator not heard here"},
    {R(SCREEN_HOLDING), P, 0, S(UNKNOWN), D(UNKNOWN), false, "verdict back, held 3 s"},
    {R(SCREEN_OTHER_CONFIGURATION), P, 0, S(UNKNOWN), D(UNKNOWN), false, "this screen has other configuration"},
    {R(SCREEN_VALIDATORS_DIFFER), P, 0, S(UNKNOWN), D(UNKNOWN), false, "validators speak of other events"},
};
/* clang-format on */

enum {
    ROW_COUNT = sizeof rows / sizeof rows[0]
};

static const struct row *
find(enum tl_rule rule)
{
    for (size_t i = 0; i < ROW_COUNT; i++) {
        if (rows[i].rule == rule) {
            return &rows[i];
        }
    }
    return NULL;
}

static bool
is_same(const struct row *wanted, const struct tl_rule_row *row)
{
    return wanted != NULL && wanted->acts == row->acts && wanted->owes == row->owes &&
           wanted->from == row->from && wanted->subject == row->subject &&
           wanted->overridable == row->overridable && strcmp(wanted->text, row->short_text) == 0;
}

static void
every_row_is_as_it_was_agreed(void **state)
{
    (void)state;
    size_t count = 0;
    size_t other = 0;
    const struct tl_rule_row *table = tl_rule_rows(&count);
    for (size_t i = 0; i < count; i++) {
        const struct tl_rule_row *row = &table[i];
        if (!is_same(find(row->rule), row)) {
            other++;
            (void)printf("not as agreed: rule %d: acts 0x%x, owes 0x%x, from %d, subject %d, "
                         "overridable %d, \"%s\"\n",
                         (int)row->rule, row->acts, row->owes, (int)row->from, (int)row->subject,
                         row->overridable, row->short_text);
        }
    }
    assert_int_equal(other, 0);
    assert_int_equal(count, ROW_COUNT);
}

/* Within one urgency the order of the table is the order on every screen. */
static void
the_rows_are_in_the_agreed_order(void **state)
{
    (void)state;
    size_t count = 0;
    const struct tl_rule_row *table = tl_rule_rows(&count);
    assert_int_equal(count, ROW_COUNT);
    for (size_t i = 0; i < count; i++) {
        assert_int_equal(table[i].rule, rows[i].rule);
    }
}

/* The words for a severity that every screen uses; IMO MSC.302(87) has the four. */
static void
every_severity_has_its_word(void **state)
{
    (void)state;
    assert_string_equal(tl_severity_name(TL_SEVERITY_EMERGENCY), "emergency alarm");
    assert_string_equal(tl_severity_name(TL_SEVERITY_ALARM), "alarm");
    assert_string_equal(tl_severity_name(TL_SEVERITY_WARNING), "warning");
    assert_string_equal(tl_severity_name(TL_SEVERITY_CAUTION), "caution");
    assert_string_equal(tl_severity_name(TL_SEVERITY_UNKNOWN), "unknown");
}

/* One alert is told from another by each of these alone, and the number that names it changes. */
static void
an_alert_is_the_same_only_when_all_of_its_key_is(void **state)
{
    (void)state;
    const struct tl_alert alert = {
        .cause = {.rule = 8,
                  .station = "wires",
                  .subject = {.node = "wires", .incarnation = 7, .sequence = 9}},
        .event = {5000, 1}};
    struct tl_alert others[7];
    for (size_t i = 0; i < 7; i++) {
        others[i] = alert;
    }
    others[0].cause.rule = 9;
    others[1].cause.station[0] = 'x';
    others[2].event.recovery_ms = 5001;
    others[3].event.pass = 2;
    others[4].cause.subject.node[0] = 'x';
    others[5].cause.subject.incarnation = 8;
    others[6].cause.subject.sequence = 10;
    assert_true(tl_alert_same_instance(&alert, &alert));
    assert_true(tl_alert_is_listed(&alert, 1, &alert));
    assert_false(tl_alert_is_listed(&alert, 0, &alert));
    for (size_t i = 0; i < 7; i++) {
        assert_false(tl_alert_same_instance(&alert, &others[i]));
        assert_true(tl_alert_instance(&alert) != tl_alert_instance(&others[i]));
    }
    assert_false(tl_alert_is_listed(others, 7, &alert));
    assert_true(tl_alert_is_listed(others, 7, &others[6]));
    assert_int_equal(tl_acknowledged_slot(0x7FFFFFFFu), 0x7FFFFFFFu);
    assert_int_equal(tl_acknowledged_slot(0x80000000u), 1);
    assert_int_equal(tl_acknowledged_slot(0x80000001u), 1);
    assert_int_equal(tl_acknowledged_slot(0x80000002u), 2);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_row_is_as_it_was_agreed),
        cmocka_unit_test(the_rows_are_in_the_agreed_order),
        cmocka_unit_test(every_severity_has_its_word),
        cmocka_unit_test(an_alert_is_the_same_only_when_all_of_its_key_is),
    };
    return cmocka_run_group_tests_name("rules_rows", tests, NULL, NULL);
}
