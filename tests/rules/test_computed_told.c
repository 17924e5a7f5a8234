/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_computed_told - what is told once: a figure that is missing, and what hangs on a wrong setting
 *
 * The figures themselves are in test_computed.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rules/scene.h"
#include "tests/rules/words.h"

static void
set_engine(struct scene *scene, uint32_t unit, uint32_t set_lb)
{
    char id[] = "engine-0";
    id[sizeof id - 2] = (char)('0' + unit);
    scene_held(scene, id, TL_DATUM_SET, 0)->datum.as.set_lb = set_lb;
    scene_held(scene, "primary", TL_DATUM_REPEATER, unit)->datum.as.repeater_lb = set_lb;
}

/* ---- an aircraft of which nothing can be computed ---- */

static void
switch_off(struct scene *scene, const enum tl_rule *rules, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        scene->config.ship.rule_off[rules[i]] = true;
    }
}

/* Nothing stands in for the rule of the type or of the order, also where every other is off. */
static void
a_type_or_an_order_that_is_not_known_is_told_of_alone(void **state)
{
    static const enum tl_rule inputs[] = {TL_RULE_TYPE_CALLED_DIFFERS, TL_RULE_OVER_TRAP_WEIGHT,
                                          TL_RULE_WIND_UNKNOWN,        TL_RULE_AID_NOT_FOR_TYPE,
                                          TL_RULE_AID_ANGLE,           TL_RULE_DECK_MOTION};

    (void)state;
    struct scene *scene = scene_computed();
    switch_off(scene, inputs, sizeof inputs / sizeof inputs[0]);
    scene_expect(scene, "before", "");
    memcpy(scene->fold.list.event[0].order.type, "stint", sizeof "stint");
    scene_expect(scene, "type not in the table", "type-unknown");
    assert_int_equal(scene->decision.ask.event.pass, 0);
    memcpy(scene->fold.list.event[0].order.type, "plover", sizeof "plover");
    scene_expect(scene, "after", "");
    scene->fold.list.event[0].order_known = false;
    char causes[512];
    (void)scene_causes(scene, causes, sizeof causes);
    assert_non_null(strstr(causes, "order-unknown:primary?"));
    assert_null(words_cause(scene, TL_RULE_ENERGY_OVER));
    assert_null(words_cause(scene, TL_RULE_STROKE_PREDICTED));
    assert_null(words_cause(scene, TL_RULE_HOOK_LOAD));
    assert_null(words_cause(scene, TL_RULE_ENERGY_THIN));
    assert_null(words_cause(scene, TL_RULE_RAMP_CLEARANCE));
    free(scene);
}

/* ---- that a figure is missing is told once ---- */

static void
a_missing_arrest_is_told_by_the_first_rule_that_is_on(void **state)
{
    static const struct {
        enum tl_rule rule;
        const char *causes;
    } steps[] = {{TL_RULE_ENERGY_OVER, "energy-over?"},
                 {TL_RULE_STROKE_PREDICTED, "stroke-predicted?"},
                 {TL_RULE_HOOK_LOAD, "hook-load?"},
                 {TL_RULE_ENERGY_THIN, "energy-thin?"}};

    (void)state;
    struct scene *scene = scene_computed();
    scene->outside.predicted.arrest.known = false;
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
        scene_expect(scene, steps[i].causes, steps[i].causes);
        scene->config.ship.rule_off[steps[i].rule] = true;
    }
    scene_expect(scene, "all are off", "");
    free(scene);
}

/* What nobody asked for is no answer, also when both name no event. */
static void
an_answer_to_no_question_counts_for_nothing(void **state)
{
    (void)state;
    struct scene *scene = scene_computed();
    struct tl_predicted *predicted = &scene->outside.predicted;
    memset(predicted, 0, sizeof *predicted);
    predicted->ramp = (struct tl_predicted_ramp){
        .known = true, .pitch_deg_x10 = INT32_MAX, .clearance_ft_x10 = -1};
    memcpy(scene->fold.list.event[0].order.type, "stint", sizeof "stint");
    char causes[512];
    assert_non_null(strstr(scene_causes(scene, causes, sizeof causes), "type-unknown"));
    assert_null(words_cause(scene, TL_RULE_RAMP_CLEARANCE));
    free(scene);
}

/* An aircraft of no weight is none that an arrest was computed for. */
static void
a_weight_of_nothing_is_never_computed_with(void **state)
{
    (void)state;
    struct scene *scene = scene_computed();
    scene->config.ship.rule_off[TL_RULE_TYPE_CALLED_DIFFERS] = true;
    scene_held(scene, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->datum.as.inbound.weight_lb = 0;
    scene->outside.predicted.weight_lb = 0;
    scene_expect(scene, "weight 0", "energy-over?");
    free(scene);
}

/* Another rule's missing figure, or a figure that is there and bad, does not tell of it. */
static void
a_missing_arrest_is_told_beside_what_else_is_wrong(void **state)
{
    (void)state;
    struct scene *scene = scene_computed();
    scene->outside.predicted.arrest.known = false;
    scene_drop(scene, "engine-1", TL_DATUM_BATTERY, 0);
    scene_expect(scene, "a battery unsaid", "not-in-battery:engine-1? energy-over?");
    scene_held(scene, "engine-1", TL_DATUM_BATTERY, 0)->datum.as.battery = TL_BATTERY_IN;
    scene->outside.predicted.arrest.known = true;
    scene->outside.predicted.arrest.energy_kftlb++;
    scene_expect(scene, "energy over", "energy-over");
    scene->outside.predicted.arrest.would_count = 0;
    scene_expect(scene, "and no outcome", "energy-over stroke-predicted?");
    scene->outside.predicted.arrest.known = false;
    scene->config.ship.rule_off[TL_RULE_ENERGY_OVER] = true;
    scene->config.ship.rule_off[TL_RULE_STROKE_PREDICTED] = true;
    struct tl_held *held = scene_held(scene, "engine-2", TL_DATUM_ARREST, 0);
    held->datum.as.arrest =
        (struct tl_arrest){.event = {.recovery_ms = scene_event().recovery_ms, .pass = 7}};
    scene_expect(scene, "a travel not computed", "travel-disagrees:engine-2? hook-load?");
    const struct tl_cause *cause = words_cause(scene, TL_RULE_TRAVEL_DISAGREES);
    assert_true(cause->needed.known);
    assert_int_equal(cause->needed.number, 7);
    assert_string_equal(cause->subject.node, "primary");
    free(scene);
}

/* ---- what hangs on a wrong setting ---- */

/* One engine alone is wrong, and would bottom: one cause, with that. */
static void
each_rule_of_the_setting_tells_its_consequence(void **state)
{
    (void)state;
    const struct {
        uint32_t unit, set_lb, inbound_lb;
        enum tl_rule rule;
        const char *causes;
    } rows[] = {
        {1, 40000, 33500, TL_RULE_SETTING_OTHER_AIRCRAFT, "setting-other-aircraft:engine-1"},
        {2, 34600, 33500, TL_RULE_SETTING_NOT_ORDERED, "setting-not-ordered:engine-2"},
        {3, 33500, 34000, TL_RULE_SETTING_LIGHT, "setting-light:engine-3"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct scene *scene = scene_computed();
        scene->config.gear.agree_tolerance_lb = i == 2 ? 499 : 500;
        scene_held(scene, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->datum.as.inbound.weight_lb =
            rows[i].inbound_lb;
        set_engine(scene, rows[i].unit, rows[i].set_lb);
        scene_compute(scene);
        scene->config.ship.rule_off[TL_RULE_SETTING_NOT_ORDERED] = i == 2;
        scene_would(scene, rows[i].set_lb)->bottoms = true;
        scene_would(scene, rows[i].set_lb)->end_kt_x10 = 123;
        scene_expect(scene, rows[i].causes, rows[i].causes);
        const struct tl_cause *cause = words_cause(scene, rows[i].rule);
        assert_non_null(cause);
        assert_true(cause->would.bottoms);
        assert_int_equal(cause->would.end_kt_x10, 123);
        assert_int_equal(cause->would.set_lb, rows[i].set_lb);
        free(scene);
    }
}

static void
a_setting_of_another_engine_excuses_nothing(void **state)
{
    static const char others[] =
        "stroke-predicted:engine-1 stroke-predicted:engine-2 stroke-predicted:engine-4";

    (void)state;
    char expected[256];
    struct scene *scene = scene_computed();
    set_engine(scene, 3, 40000);
    scene_compute(scene);
    scene_would(scene, SCENE_LB)->parts = true;
    (void)snprintf(expected, sizeof expected, "setting-other-aircraft:engine-3 %s", others);
    scene_expect(scene, "engine 3 set for another", expected);
    assert_int_equal(words_cause(scene, TL_RULE_STROKE_PREDICTED)->would.set_lb, SCENE_LB);
    free(scene);
    scene = scene_computed();
    scene_would(scene, SCENE_LB)->parts = true;
    scene_drop(scene, "engine-3", TL_DATUM_SET, 0);
    (void)snprintf(expected, sizeof expected, "%s setting-not-ordered:engine-3?", others);
    scene_expect(scene, "engine 3 not set", expected);
    assert_int_equal(words_cause(scene, TL_RULE_SETTING_NOT_ORDERED)->would.set_lb, 0);
    free(scene);
}

/* A figure that happens to be that of a setting is still none. */
static void
what_is_no_setting_has_no_consequence(void **state)
{
    (void)state;
    struct scene *scene = scene_computed();
    scene_held(scene, "engine-1", TL_DATUM_ACCUMULATOR, 0)->datum.as.accumulator_psi = SCENE_LB;
    scene_expect(scene, "34,000 psi", "accumulator-pressure:engine-1");
    const struct tl_cause *cause = words_cause(scene, TL_RULE_ACCUMULATOR);
    assert_int_equal(cause->reported.number, SCENE_LB);
    assert_int_equal(cause->would.set_lb, 0);
    set_engine(scene, 3, 1);
    scene_compute(scene);
    scene_expect(scene, "and engine 3 at 1 lb",
                 "setting-other-aircraft:engine-3 accumulator-pressure:engine-1");
    assert_int_equal(words_cause(scene, TL_RULE_ACCUMULATOR)->would.set_lb, 0);
    free(scene);
}

/* The last engine's missing word is told of, and the outcome that the first lacks beside it. */
static void
an_outcome_that_one_engine_lacks_is_told_beside_a_setting_unsaid(void **state)
{
    (void)state;
    for (uint32_t unit = 1; unit <= 4; unit++) {
        struct scene *scene = scene_computed();
        char id[] = "engine-0";
        char expected[128];
        id[sizeof id - 2] = (char)('0' + unit);
        scene->outside.predicted.arrest.would_count = 0;
        scene_drop(scene, id, TL_DATUM_SET, 0);
        (void)snprintf(expected, sizeof expected, "setting-not-ordered:%s? stroke-predicted?", id);
        scene_expect(scene, id, expected);
        free(scene);
    }
}

/* Nothing is what no outcome is for. */
static void
a_setting_of_nothing_has_no_outcome(void **state)
{
    (void)state;
    const struct tl_predicted_arrest arrest = {
        .known = true, .would_count = 2, .would = {{.set_lb = 0}, {.set_lb = SCENE_LB}}};
    assert_null(tl_would_at(&arrest, 0));
    assert_ptr_equal(tl_would_at(&arrest, SCENE_LB), &arrest.would[1]);
    struct scene *scene = scene_computed();
    set_engine(scene, 3, 0);
    scene_expect(scene, "set to 0", "setting-other-aircraft:engine-3 stroke-predicted?");
    assert_int_equal(words_cause(scene, TL_RULE_SETTING_OTHER_AIRCRAFT)->would.set_lb, 0);
    set_engine(scene, 3, 1);
    scene_compute(scene);
    scene_expect(scene, "set to 1", "setting-other-aircraft:engine-3");
    assert_int_equal(words_cause(scene, TL_RULE_SETTING_OTHER_AIRCRAFT)->would.set_lb, 1);
    free(scene);
}

/* ---- ramp ---- */

static void
a_missing_ramp_is_told_unless_the_rule_of_its_input_is_on(void **state)
{
    (void)state;
    struct scene *scene = scene_computed();
    struct tl_aid *aid = &scene_held(scene, "aid", TL_DATUM_AID, 0)->datum.as.aid;
    const struct tl_aid good = *aid;
    bool *off = scene->config.ship.rule_off;
    off[TL_RULE_AID_ANGLE] = true;
    aid->state = TL_AID_FAULT;
    scene_expect(scene, "aid at fault", "aid-fault:aid");
    off[TL_RULE_AID_FAULT] = true;
    scene_expect(scene, "nobody asks for the fault", "ramp-clearance?");
    off[TL_RULE_AID_FAULT] = false;
    off[TL_RULE_AID_NOT_FOR_TYPE] = true;
    scene_expect(scene, "nobody asks for what it is set to", "aid-fault:aid ramp-clearance?");
    off[TL_RULE_AID_NOT_FOR_TYPE] = false;
    off[TL_RULE_AID_ANGLE] = false;
    *aid = good;
    scene_expect(scene, "after", "");
    memcpy(aid->type, "x", sizeof "x");
    scene_expect(scene, "set for no type", "aid-not-for-type:aid ramp-clearance?");
    *aid = good;
    aid->angle_deg_x100 = 0;
    scene_expect(scene, "angle unsaid", "aid-angle:aid?");
    off[TL_RULE_AID_ANGLE] = true;
    scene_expect(scene, "nobody asks for the angle", "ramp-clearance?");
    free(scene);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_type_or_an_order_that_is_not_known_is_told_of_alone),
        cmocka_unit_test(a_missing_arrest_is_told_by_the_first_rule_that_is_on),
        cmocka_unit_test(an_answer_to_no_question_counts_for_nothing),
        cmocka_unit_test(a_weight_of_nothing_is_never_computed_with),
        cmocka_unit_test(a_missing_arrest_is_told_beside_what_else_is_wrong),
        cmocka_unit_test(each_rule_of_the_setting_tells_its_consequence),
        cmocka_unit_test(a_setting_of_another_engine_excuses_nothing),
        cmocka_unit_test(what_is_no_setting_has_no_consequence),
        cmocka_unit_test(an_outcome_that_one_engine_lacks_is_told_beside_a_setting_unsaid),
        cmocka_unit_test(a_setting_of_nothing_has_no_outcome),
        cmocka_unit_test(a_missing_ramp_is_told_unless_the_rule_of_its_input_is_on),
    };
    return cmocka_run_group_tests_name("rules_computed_told", tests, NULL, NULL);
}
