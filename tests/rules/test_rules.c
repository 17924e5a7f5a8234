/* SPDX-License-Identifier: Apache-2.0 */
/*
 * Each rule: accepts at the boundary, refuses one unit past, unknown, stated for another event,
 * due; with READY before and after, and exactly the causes named.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rules/spoil.h"
#include "tests/support/ship.h"

static void
each_rule_speaks_exactly_when_it_must(void **state)
{
    (void)state;
    size_t count = 0;
    const struct spoil_row *rows = spoil_rows(&count);
    for (size_t i = 0; i < count; i++) {
        struct scene *scene = scene_ready();
        scene_expect(scene, "before", "");
        rows[i].spoil(scene);
        scene_expect(scene, rows[i].name, rows[i].causes);
        free(scene);
    }
}

/* The second barrier says no wherever the rules do, without looking at them. */
static void
nothing_is_proven_while_a_rule_forces(void **state)
{
    (void)state;
    size_t count = 0;
    const struct spoil_row *rows = spoil_rows(&count);
    for (size_t i = 0; i < count; i++) {
        struct scene *scene = scene_ready();
        assert_true(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
        rows[i].spoil(scene);
        bool outside = strstr(rows[i].name, "validators") != NULL; /* not a fact of the deck */
        bool between = strcmp(rows[i].causes, "engines-disagree") == 0;
        bool compared = strcmp(rows[i].causes, "type-called-differs:approach") == 0;
        bool proven = tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS);
        if (!outside && !between && !compared && proven != (rows[i].causes[0] == '\0')) {
            fail_msg("%s: proven %d", rows[i].name, proven);
        }
        free(scene);
    }
}

static void
pending_becomes_overdue_at_its_second_and_not_before(void **state)
{
    (void)state;
    static const struct {
        spoil_fn *spoil;
        const char *pending;
        const char *overdue;
    } due[] = {
        {spoil_battery_unknown, "not-in-battery:engine-2?", "not-in-battery:engine-2!"},
        {spoil_battery_out, "not-in-battery:engine-2?", "not-in-battery:engine-2"},
        {spoil_foul_routine, "deck-foul:deck?", "deck-foul:deck"},
        {spoil_hook_unknown, "hook-not-down:platform?", "hook-not-down:platform!"},
        {spoil_wind_unknown, "wind-unknown:bridge?", "wind-unknown:bridge!"},
    };
    for (size_t i = 0; i < sizeof due / sizeof due[0]; i++) {
        struct scene *scene = scene_ready();
        due[i].spoil(scene);
        scene->fold.list.current_since_ms = SCENE_NOW_MS - 1000 * SHIP_DUE_S + 1;
        scene_expect(scene, "one millisecond before", due[i].pending);
        scene->fold.list.current_since_ms = SCENE_NOW_MS - 1000 * SHIP_DUE_S;
        scene_expect(scene, "due", due[i].overdue);
        /* Or before the ramp, whichever is first: the call was 5 s ago, the ramp is in 20 s. */
        scene->fold.list.current_since_ms = SCENE_NOW_MS - 1000 * SHIP_DUE_S + 1;
        scene->config.ship.due_before_ramp_s[TL_RULE_NOT_IN_BATTERY] = 19;
        scene->config.ship.due_before_ramp_s[TL_RULE_DECK_FOUL] = 19;
        scene->config.ship.due_before_ramp_s[TL_RULE_HOOK_NOT_DOWN] = 19;
        scene->config.ship.due_before_ramp_s[TL_RULE_WIND_UNKNOWN] = 19;
        scene_expect(scene, "a second before the ramp's due", due[i].pending);
        scene->fold.list.current_since_ms--;
        scene_expect(scene, "due by the order all the same", due[i].overdue);
        scene->fold.list.current_since_ms++;
        scene->config.ship.due_before_ramp_s[TL_RULE_NOT_IN_BATTERY] = 20;
        scene->config.ship.due_before_ramp_s[TL_RULE_DECK_FOUL] = 20;
        scene->config.ship.due_before_ramp_s[TL_RULE_HOOK_NOT_DOWN] = 20;
        scene->config.ship.due_before_ramp_s[TL_RULE_WIND_UNKNOWN] = 20;
        scene_expect(scene, "at the ramp's due", due[i].overdue);
        free(scene);
    }
}

static void
clear_is_refused_only_while_an_engine_says_out_of_battery(void **state)
{
    (void)state;
    struct scene *scene = scene_ready();
    scene_expect(scene, "before", "");
    assert_false(scene->decision.clear_refused);
    spoil_battery_unknown(scene);
    scene_expect(scene, "unknown", "not-in-battery:engine-2?");
    assert_false(scene->decision.clear_refused);
    spoil_battery_out(scene);
    scene_expect(scene, "out", "not-in-battery:engine-2?");
    assert_true(scene->decision.clear_refused);
    assert_int_equal(scene->decision.clear_refused_rule, TL_RULE_NOT_IN_BATTERY);
    free(scene);
}

static void
a_rule_that_is_off_is_neither_asked_nor_needed(void **state)
{
    (void)state;
    static const struct {
        enum tl_rule rule;
        spoil_fn *spoil;
    } off[] = {
        {TL_RULE_WIND_UNKNOWN, spoil_wind_unknown},
        {TL_RULE_NOT_IN_BATTERY, spoil_battery_unknown},
        {TL_RULE_REPEATER_DIFFERS, spoil_repeater_unread},
        {TL_RULE_HOOK_NOT_DOWN, spoil_hook_unknown},
        {TL_RULE_TYPE_CALLED_DIFFERS, spoil_call_unknown},
    };
    for (size_t i = 0; i < sizeof off / sizeof off[0]; i++) {
        struct scene *scene = scene_ready();
        off[i].spoil(scene);
        scene->config.ship.rule_off[off[i].rule] = true;
        scene_expect(scene, tl_rule_row(off[i].rule)->name, "");
        free(scene);
    }
}

static void
a_silent_rule_cannot_make_ready(void **state)
{
    (void)state;
    /* The rule of a missing setting is silenced; the missing fact still keeps READY away. */
    struct scene *scene = scene_ready();
    spoil_set_unknown(scene);
    scene->config.ship.rule_off[TL_RULE_SETTING_NOT_ORDERED] = true;
    scene_expect(scene, "silenced", "unproven");
    assert_int_equal(scene->decision.kind, TL_CAUSE_PICTURE);
    free(scene);
}

static void
more_causes_than_fit_are_still_not_ready(void **state)
{
    (void)state;
    struct scene *scene = scene_ready();
    for (uint32_t i = 0; i < TL_STATIONS_MAX; i++) {
        struct tl_told *told = &scene->fold.told[i];
        if (i >= scene->fold.told_count) {
            *told = scene->fold.told[0];
        }
        told->live = false;
        told->twin = true;
    }
    scene->fold.told_count = TL_STATIONS_MAX;
    spoil_battery_unknown(scene);
    spoil_hook_unknown(scene);
    tl_decide(&scene->fold, &scene->outside, SCENE_NOW_MS, &scene->decision);
    assert_int_equal(scene->decision.word, TL_WORD_NOT_READY);
    assert_int_equal(scene->decision.cause_count, TL_CAUSES_MAX);
    assert_int_equal(scene->decision.cause[TL_CAUSES_MAX - 1].rule, TL_RULE_LIMIT_REACHED);
    free(scene);
}

/* The first line of every screen must be the fault, not what is merely not yet said. */
static void
a_fault_comes_before_what_is_not_yet_said(void **state)
{
    (void)state;
    struct scene *scene = scene_ready();
    spoil_call_unknown(scene);
    spoil_other_aircraft(scene);
    scene_told(scene, "deck")->back_ms = SCENE_NOW_MS - 1;
    scene_expect(scene, "order",
                 "setting-other-aircraft:engine-3 station-lost:deck~ "
                 "type-called-differs:platform?");
    assert_int_equal(scene->decision.kind, TL_CAUSE_SHIP);
    free(scene);
}

static void
an_instance_is_keyed_by_the_statement_that_is_wrong(void **state)
{
    (void)state;
    struct scene *scene = scene_ready();
    spoil_other_aircraft(scene);
    scene_expect(scene, "wrong", "setting-other-aircraft:engine-3");
    const struct tl_cause *cause = &scene->decision.cause[0];
    assert_string_equal(cause->subject.node, "engine-3");
    assert_int_equal(cause->subject.incarnation, scene_told(scene, "engine-3")->incarnation);
    assert_int_equal(cause->subject.sequence,
                     spoil_datum(scene, "engine-3", TL_DATUM_SET, 0)->sequence);
    assert_int_equal(cause->reported.number, 40000);
    assert_int_equal(cause->needed.number, 34000);
    assert_string_equal(cause->needed.word, "plover");
    char text[TL_TEXT_CAP];
    assert_string_equal(tl_cause_text(cause, scene_event(), text, sizeof text),
                        "engine 3: weight set for another aircraft: 40,000 lb, needed 34,000 lb "
                        "for plover (event 1)");
    free(scene);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_rule_speaks_exactly_when_it_must),
        cmocka_unit_test(nothing_is_proven_while_a_rule_forces),
        cmocka_unit_test(pending_becomes_overdue_at_its_second_and_not_before),
        cmocka_unit_test(clear_is_refused_only_while_an_engine_says_out_of_battery),
        cmocka_unit_test(a_rule_that_is_off_is_neither_asked_nor_needed),
        cmocka_unit_test(a_silent_rule_cannot_make_ready),
        cmocka_unit_test(more_causes_than_fit_are_still_not_ready),
        cmocka_unit_test(a_fault_comes_before_what_is_not_yet_said),
        cmocka_unit_test(an_instance_is_keyed_by_the_statement_that_is_wrong),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
