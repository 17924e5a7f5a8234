/* SPDX-License-Identifier: Apache-2.0 */
/* test_computed.c - rules on computed figures, one at a time: at the bound, past it, not there. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "broker/core/rules/check.h"
#include "tests/rules/scene.h"
#include "tests/rules/words.h"

static void
a_figure_is_judged_at_its_bound(void **state)
{
    static const char every_stroke[] = "stroke-predicted:engine-1 stroke-predicted:engine-2 "
                                       "stroke-predicted:engine-3 stroke-predicted:engine-4";
    static const char every_hook[] =
        "hook-load:engine-1 hook-load:engine-2 hook-load:engine-3 hook-load:engine-4";

    (void)state;
    struct scene *scene = scene_computed();
    struct tl_predicted *p = &scene->outside.predicted;
    const struct tl_predicted good = *p;
    const char *expected[] = {"energy-over", "energy-thin", every_hook,      every_stroke,
                              every_stroke,  every_stroke,  "ramp-clearance"};
    for (size_t i = 0; i < sizeof expected / sizeof expected[0]; i++) {
        struct tl_would *would = scene_would(scene, SCENE_LB);
        p->arrest.energy_kftlb += i == 0 ? 1 : 0;
        p->arrest.margin_percent -= i == 1 ? 1 : 0;
        would->hook_lbf += i == 2 ? 1 : 0;
        would->stroke_in_x10 += i == 3 ? 1 : 0;
        would->bottoms = i == 4;
        would->parts = i == 5;
        p->ramp.clearance_ft_x10 -= i == 6 ? 1 : 0;
        scene_expect(scene, expected[i], expected[i]);
        assert_string_equal(scene->decision.cause[0].subject.node, "primary");
        assert_false(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
        *p = good;
        scene_expect(scene, "after", "");
    }
    free(scene);
}

static void
the_touchdown_is_noted_beyond_its_band_either_way(void **state)
{
    (void)state;
    struct scene *scene = scene_computed();
    const int32_t bad[] = {-201, 201};
    assert_null(words_cause(scene, TL_RULE_TOUCHDOWN_OFF));
    for (size_t i = 0; i < 2; i++) {
        scene->outside.predicted.ramp.touchdown_ft_x10 = bad[i];
        scene_expect(scene, "off", "");
        assert_non_null(words_cause(scene, TL_RULE_TOUCHDOWN_OFF));
        scene->outside.predicted.ramp.touchdown_ft_x10 = i == 0 ? -200 : 200;
        scene_expect(scene, "on", "");
        assert_null(words_cause(scene, TL_RULE_TOUCHDOWN_OFF));
    }
    scene->config.computed.touchdown_band_ft_x10 = 0;
    scene->outside.predicted.ramp.known = false;
    scene_expect(scene, "not computed", "ramp-clearance?");
    assert_null(words_cause(scene, TL_RULE_TOUCHDOWN_OFF));
    free(scene);
}

/* Every input that the figures were computed for: with another one they are not known. */
static void
a_figure_counts_for_its_own_inputs_only(void **state)
{
    (void)state;
    struct scene *scene = scene_computed();
    struct tl_predicted *p = &scene->outside.predicted;
    const struct tl_predicted good = *p;
    const struct {
        const char *name;
        const char *causes;
    } rows[] = {
        {"another event", "energy-over? ramp-clearance?"},
        {"another type", "energy-over? ramp-clearance?"},
        {"into the barricade", "energy-over? ramp-clearance?"},
        {"another weight", "energy-over?"},
        {"no setting computed", "stroke-predicted?"},
        {"arrest not computed", "energy-over?"},
        {"aid set for another type", "ramp-clearance?"},
        {"another angle", "ramp-clearance?"},
        {"another target", "ramp-clearance?"},
        {"ramp not computed", "ramp-clearance?"},
        {"more wind was counted on", "energy-over?"},
        {"less pitch was counted on", "ramp-clearance?"},
    };
    assert_true(p->ramp.pitch_deg_x10 > 0);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        p->event.pass += i == 0 ? 1 : 0;
        if (i == 1) {
            p->type[0] = 'x';
        }
        p->barricade = i == 2;
        p->weight_lb += i == 3 ? 1 : 0;
        p->arrest.would_count = i == 4 ? 0 : p->arrest.would_count;
        p->arrest.known = i != 5;
        if (i == 6) {
            p->ramp.aid_type[0] = 'x';
        }
        p->ramp.angle_deg_x100 += i == 7 ? 1 : 0;
        p->ramp.target_wire += i == 8 ? 1 : 0;
        p->ramp.known = i != 9;
        p->arrest.headwind_kt_x10 += i == 10 ? 10 : 0;
        p->ramp.pitch_deg_x10 -= i == 11 ? 1 : 0;
        scene_expect(scene, rows[i].name, rows[i].causes);
        assert_false(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
        *p = good;
        scene_expect(scene, "after", "");
    }
    free(scene);
}

/* Less wind and more pitch than there is may be counted on; for a moment also a little too much. */
static void
the_sea_may_be_late_for_half_a_second(void **state)
{
    (void)state;
    struct scene *scene = scene_computed();
    struct tl_predicted *p = &scene->outside.predicted;
    p->arrest.headwind_kt_x10 -= 100;
    p->ramp.pitch_deg_x10 += 5;
    scene_expect(scene, "a worse sea was counted on", "");
    scene_compute(scene);
    p->arrest.headwind_kt_x10 += 10;
    p->ramp.pitch_deg_x10 -= 1;
    scene_expect(scene, "not dated", "energy-over? ramp-clearance?");
    scene->outside.sea_late_ms = SCENE_NOW_MS - TL_SEA_LATE_MS;
    scene_expect(scene, "late by 500 ms", "");
    scene->outside.sea_late_ms--;
    scene_expect(scene, "late by more", "energy-over? ramp-clearance?");
    assert_false(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
    free(scene);
}

/* Half a second after a clock began, a sea that is not dated is not late: it is not counted on. */
static void
a_sea_that_is_not_dated_never_counts(void **state)
{
    (void)state;
    struct scene *scene = scene_computed();
    struct tl_ask ask = scene->decision.ask;
    const struct tl_check check = {
        .fold = &scene->fold, .outside = &scene->outside, .now_ms = 400, .ask = &ask};
    assert_non_null(tl_predicted_arrest_of(&check));
    ask.less_headwind_kt++;
    assert_null(tl_predicted_arrest_of(&check));
    scene->outside.sea_late_ms = 1;
    assert_non_null(tl_predicted_arrest_of(&check));
    free(scene);
}

/* What is missing is told by its own rule; where that is off, the figure itself is told of. */
static void
a_missing_input_is_never_computed_with(void **state)
{
    static const enum tl_rule own[][3] = {
        {TL_RULE_OVER_TRAP_WEIGHT, TL_RULE_SETTING_LIGHT},
        {TL_RULE_TYPE_CALLED_DIFFERS, TL_RULE_SETTING_LIGHT},
        {TL_RULE_AID_NOT_FOR_TYPE, TL_RULE_AID_ANGLE, TL_RULE_AID_NOT_ON_TARGET},
        {TL_RULE_WIND_UNKNOWN},
        {TL_RULE_DECK_MOTION, TL_RULE_SHIP_NOT_STEADY},
        {TL_RULE_SETTING_NOT_ORDERED, TL_RULE_REPEATER_DIFFERS}};
    static const char *const told[] = {"over-trap-weight:approach?",
                                       "type-called-differs:approach",
                                       "aid-not-for-type:aid?",
                                       "wind-unknown:bridge?",
                                       "deck-motion:bridge? ship-not-steady:bridge?",
                                       "setting-not-ordered:engine-3?"};
    static const char *const alone[] = {"energy-over?", "energy-over?",    "ramp-clearance?",
                                        "energy-over?", "ramp-clearance?", "stroke-predicted?"};

    (void)state;
    for (size_t i = 0; i < sizeof told / sizeof told[0]; i++) {
        struct scene *scene = scene_computed();
        struct tl_told *bridge = scene_told(scene, "bridge");
        if (i == 0) {
            scene_drop(scene, "approach", TL_DATUM_INBOUND, SCENE_SIDE);
        } else if (i == 1) {
            struct tl_held *inbound = scene_held(scene, "approach", TL_DATUM_INBOUND, SCENE_SIDE);
            memcpy(inbound->datum.as.inbound.type, "curlew", sizeof "curlew");
        } else if (i == 2) {
            scene_drop(scene, "aid", TL_DATUM_AID, 0);
        } else if (i == 5) {
            scene_drop(scene, "engine-3", TL_DATUM_SET, 0);
        }
        for (uint32_t k = 0; k < bridge->sample_count; k++) {
            bool wind = bridge->samples[k].kind == TL_SAMPLE_WIND;
            if ((i == 3 && wind) || (i == 4 && !wind)) {
                bridge->samples[k].kind = TL_SAMPLE_UNKNOWN;
            }
        }
        scene_expect(scene, "told by its own rule", told[i]);
        for (size_t k = 0; k < 3; k++) {
            scene->config.ship.rule_off[own[i][k]] = true;
        }
        scene_expect(scene, "its own rule is off", alone[i]);
        assert_false(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
        free(scene);
    }
}

/* The rule on the angle is silent of an aid that does not work: it tells of nothing then. */
static void
an_aid_at_fault_that_no_rule_tells_of_leaves_the_ramp_untold(void **state)
{
    (void)state;
    struct scene *scene = scene_computed();
    struct tl_aid *aid = &scene_held(scene, "aid", TL_DATUM_AID, 0)->datum.as.aid;
    *aid = (struct tl_aid){.state = TL_AID_FAULT};
    scene_expect(scene, "told", "aid-fault:aid");
    scene->config.ship.rule_off[TL_RULE_AID_FAULT] = true;
    scene_expect(scene, "that rule is off", "ramp-clearance?");
    free(scene);
}

/* Each setting that stands somewhere is asked for, once; the wind by the worse whole knot. */
static void
what_is_asked_for_is_what_stands(void **state)
{
    (void)state;
    struct scene *scene = scene_computed();
    const struct tl_ask *ask = &scene->decision.ask;
    assert_int_equal(ask->setting_count, 1);
    assert_int_equal(ask->setting_lb[0], SCENE_LB);
    scene_held(scene, "engine-2", TL_DATUM_SET, 0)->datum.as.set_lb = 40000;
    scene_held(scene, "primary", TL_DATUM_REPEATER, 3)->datum.as.repeater_lb = 14500;
    char causes[1024];
    (void)scene_causes(scene, causes, sizeof causes);
    assert_int_equal(ask->setting_count, 3);
    assert_int_equal(ask->setting_lb[0], 14500);
    assert_int_equal(ask->setting_lb[1], SCENE_LB);
    assert_int_equal(ask->setting_lb[2], 40000);
    struct tl_wind *wind = NULL;
    struct tl_told *bridge = scene_told(scene, "bridge");
    for (uint32_t i = 0; i < bridge->sample_count; i++) {
        wind = bridge->samples[i].kind == TL_SAMPLE_WIND ? &bridge->samples[i].as.wind : wind;
    }
    if (wind == NULL) {
        fail_msg("no wind");
        return;
    }
    const int32_t winds[][2] = {{249, -24}, {250, -25}, {9, 0},  {0, 0},
                                {-1, 1},    {-10, 1},   {-11, 2}};
    for (size_t i = 0; i < sizeof winds / sizeof winds[0]; i++) {
        wind->headwind_kt_x10 = winds[i][0];
        (void)scene_causes(scene, causes, sizeof causes);
        assert_int_equal(ask->less_headwind_kt, winds[i][1]);
    }
    free(scene);
}

/* A wrong setting is one cause with what it would do; its figures are not told beside it. */
static void
a_wrong_setting_carries_its_consequence(void **state)
{
    (void)state;
    struct scene *scene = scene_computed();
    scene_held(scene, "engine-3", TL_DATUM_SET, 0)->datum.as.set_lb = 40000;
    scene_compute(scene);
    struct tl_would *light = scene_would(scene, 40000);
    light->bottoms = true;
    light->end_kt_x10 = 123;
    light->hook_lbf = 212000;
    scene_expect(scene, "set for another", "setting-other-aircraft:engine-3");
    const struct tl_cause *cause = words_cause(scene, TL_RULE_SETTING_OTHER_AIRCRAFT);
    assert_int_equal(cause->would.set_lb, 40000);
    assert_true(cause->would.bottoms);
    assert_int_equal(cause->would.end_kt_x10, 123);
    assert_int_equal(cause->would.hook_lbf, 212000);
    scene->outside.predicted.weight_lb++;
    scene_expect(scene, "computed for another weight",
                 "setting-other-aircraft:engine-3 energy-over?");
    assert_int_equal(words_cause(scene, TL_RULE_SETTING_OTHER_AIRCRAFT)->would.set_lb, 0);
    scene->config.ship.rule_off[TL_RULE_SETTING_OTHER_AIRCRAFT] = true;
    scene->outside.predicted.weight_lb--;
    scene_expect(scene, "the rule of the setting is off",
                 "stroke-predicted:engine-3 hook-load:engine-3");
    free(scene);
    scene = scene_computed();
    scene_held(scene, "primary", TL_DATUM_REPEATER, 2)->datum.as.repeater_lb = 14500;
    scene_compute(scene);
    scene_would(scene, 14500)->parts = true;
    scene_expect(scene, "the repeater differs", "repeater-differs:engine-2");
    assert_true(words_cause(scene, TL_RULE_REPEATER_DIFFERS)->would.parts);
    free(scene);
}

/* Nothing is computed for nobody, nor for an engine that does not take part. */
static void
only_what_takes_part_has_to_be_computed(void **state)
{
    (void)state;
    struct scene *scene = scene_computed();
    scene_held(scene, "engine-2", TL_DATUM_SERVICE, 0)->datum.as.service.state = TL_SERVICE_OUT;
    scene_held(scene, "wires", TL_DATUM_RIG, 2)->datum.as.rig = TL_RIG_STRIPPED;
    scene_held(scene, "engine-2", TL_DATUM_SET, 0)->datum.as.set_lb = 40000;
    scene_compute(scene);
    scene_would(scene, 40000)->bottoms = true;
    scene_expect(scene, "engine 2 is out", "");
    scene_drop(scene, "engine-3", TL_DATUM_SET, 0);
    scene_expect(scene, "engine 3 not set", "setting-not-ordered:engine-3?");
    scene->fold.list.current.pass = 0;
    scene_expect(scene, "nobody is next", "no-event?");
    assert_int_equal(scene->decision.ask.event.pass, 0);
    free(scene);
}

/* ---- what an arrest has shown ---- */

static void
arrest(struct scene *scene, uint32_t ram_in_x10)
{
    struct tl_held *held = scene_held(scene, "engine-2", TL_DATUM_ARREST, 0);
    struct tl_event event = {.recovery_ms = scene_event().recovery_ms, .pass = 7};
    held->datum.known = true;
    held->datum.as.arrest = (struct tl_arrest){.event = event, .ram_in_x10 = ram_in_x10};
    scene->outside.expected_count = 1;
    scene->outside.expected[0] =
        (struct tl_expected){.unit = 2, .event = event, .ram_in_x10 = 1800};
}

static void
the_travel_read_is_compared_with_the_one_computed(void **state)
{
    (void)state;
    struct scene *scene = scene_computed();
    const struct {
        uint32_t ram_in_x10;
        const char *causes;
    } rows[] = {{1890, ""},
                {1710, ""},
                {1891, "travel-disagrees:engine-2"},
                {1709, "travel-disagrees:engine-2"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        arrest(scene, rows[i].ram_in_x10);
        scene_expect(scene, rows[i].causes, rows[i].causes);
        assert_int_equal(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS),
                         rows[i].causes[0] == '\0');
    }
    const struct tl_cause *cause = words_cause(scene, TL_RULE_TRAVEL_DISAGREES);
    assert_int_equal(cause->reported.number, 1709);
    assert_int_equal(cause->needed.number, 1800);
    struct tl_held *freed = scene_held(scene, "gear-officer", TL_DATUM_FREED, 2);
    freed->datum.known = true;
    freed->datum.as.freed = (struct tl_freed){
        .event = scene_held(scene, "engine-2", TL_DATUM_ARREST, 0)->datum.as.arrest.event,
        .name = "brandt"};
    scene_expect(scene, "freed by name", "");
    freed->datum.as.freed.event.pass++;
    scene_expect(scene, "freed of another pass", "travel-disagrees:engine-2");
    free(scene);
}

/* 0.2 percent of 1,500 is 3, of 1,499 a little less. */
static void
the_travel_may_differ_by_a_share_to_the_last_tenth(void **state)
{
    (void)state;
    struct scene *scene = scene_computed();
    scene->config.computed.travel_apart_percent_x10 = 2;
    for (uint32_t expected = 1499; expected <= 1500; expected++) {
        bool good = expected == 1500;
        for (uint32_t i = 0; i < 2; i++) {
            arrest(scene, expected + 3 - 6 * i);
            scene->outside.expected[0].ram_in_x10 = expected;
            scene_expect(scene, good ? "1500" : "1499", good ? "" : "travel-disagrees:engine-2");
            assert_int_equal(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS), good);
        }
    }
    free(scene);
}

static void
an_arrest_that_was_not_computed_is_not_compared_as_good(void **state)
{
    (void)state;
    struct scene *scene = scene_computed();
    const struct {
        const char *name;
        uint32_t unit, pass;
        uint32_t count;
        const char *causes;
    } rows[] = {{"of that engine and pass", 2, 7, 1, ""},
                {"of another engine", 1, 7, 1, "travel-disagrees:engine-2?"},
                {"of another pass", 2, 6, 1, "travel-disagrees:engine-2?"},
                {"none", 2, 7, 0, "travel-disagrees:engine-2?"}};
    arrest(scene, 1800);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        scene->outside.expected_count = rows[i].count;
        scene->outside.expected[0].unit = rows[i].unit;
        scene->outside.expected[0].event.pass = rows[i].pass;
        scene_expect(scene, rows[i].name, rows[i].causes);
        assert_int_equal(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS),
                         rows[i].causes[0] == '\0');
    }
    scene_held(scene, "engine-2", TL_DATUM_ARREST, 0)->datum.as.arrest.event.recovery_ms--;
    scene_expect(scene, "of an earlier recovery", "");
    free(scene);
}

/* ---- interval ---- */

static void
the_interval_is_noted_when_the_deck_cannot_be_ready(void **state)
{
    (void)state;
    struct scene *scene = scene_computed();
    struct tl_list *list = &scene->fold.list;
    uint64_t called_ms = scene_held(scene, "platform", TL_DATUM_CALL, 0)->said_ms;
    scene_held(scene, "platform", TL_DATUM_HOOK, 0)->said_ms = called_ms + 3000;
    list->last_known = true;
    list->last.result = (struct tl_result){.outcome = TL_OUTCOME_TRAP, .wire = 2};
    list->last_ms = called_ms + 25700 - 44000; /* reset 32.0 and wave-off 12.0 s */
    scene_expect(scene, "44 s", "");
    assert_null(words_cause(scene, TL_RULE_INTERVAL_SHORT));
    list->last_ms++;
    scene_expect(scene, "a little less", "");
    const struct tl_cause *cause = words_cause(scene, TL_RULE_INTERVAL_SHORT);
    assert_non_null(cause);
    assert_int_equal(cause->reported.number, 43);
    assert_int_equal(cause->needed.number, 44);
    list->last_ms--;
    scene->outside.predicted.time.reset_s_x10++;
    scene_expect(scene, "44 s, and 44.1 s needed", "");
    assert_int_equal(words_cause(scene, TL_RULE_INTERVAL_SHORT)->reported.number, 44);
    assert_int_equal(words_cause(scene, TL_RULE_INTERVAL_SHORT)->needed.number, 45);
    scene_drop(scene, "platform", TL_DATUM_CALL, 0);
    scene_expect(scene, "nobody has called", "type-called-differs:platform?");
    assert_null(words_cause(scene, TL_RULE_INTERVAL_SHORT));
    struct tl_call *call = &scene_held(scene, "platform", TL_DATUM_CALL, 0)->datum.as.call;
    *call = (struct tl_call){.side = SCENE_SIDE, .type = "plover"};
    scene_expect(scene, "called again", "");
    assert_non_null(words_cause(scene, TL_RULE_INTERVAL_SHORT));
    list->last_known = false;
    scene_expect(scene, "no pass before", "");
    assert_null(words_cause(scene, TL_RULE_INTERVAL_SHORT));
    list->last_known = true;
    list->last.result.outcome = TL_OUTCOME_BOLTER;
    scene_expect(scene, "no wire was taken", "");
    assert_null(words_cause(scene, TL_RULE_INTERVAL_SHORT));
    free(scene);
}

/* With a prediction, what is due before the ramp is due by it, not by the type's seconds. */
static void
the_ramp_is_where_it_was_computed_to_be(void **state)
{
    (void)state;
    struct scene *scene = scene_computed();
    uint64_t called_ms = scene_held(scene, "platform", TL_DATUM_CALL, 0)->said_ms;
    scene->config.ship.due_before_ramp_s[TL_RULE_NOT_IN_BATTERY] = 20;
    scene->config.ship.due_after_order_s[TL_RULE_NOT_IN_BATTERY] = 100000;
    scene->outside.predicted.time.ramp_s_x10 = (uint32_t)((SCENE_NOW_MS - called_ms) / 100 + 201);
    scene_drop(scene, "engine-1", TL_DATUM_BATTERY, 0);
    scene_expect(scene, "20.1 s before", "not-in-battery:engine-1?");
    assert_int_equal(words_cause(scene, TL_RULE_NOT_IN_BATTERY)->state, TL_CAUSE_PENDING);
    scene->outside.predicted.time.ramp_s_x10--;
    (void)tl_decide(&scene->fold, &scene->outside, SCENE_NOW_MS, &scene->decision);
    assert_int_equal(words_cause(scene, TL_RULE_NOT_IN_BATTERY)->state, TL_CAUSE_OVERDUE);
    scene->config.ship.due_before_ramp_s[TL_RULE_NOT_IN_BATTERY] = 19;
    scene->outside.predicted.time.ramp_s_x10 = 240; /* the type's is 25 s, of which 5 are over */
    for (int i = 0; i < 3; i++) {
        scene->outside.predicted.event.pass += i == 1 ? 1 : 0;
        scene->outside.predicted.time.known = i != 2;
        (void)tl_decide(&scene->fold, &scene->outside, SCENE_NOW_MS, &scene->decision);
        assert_int_equal(words_cause(scene, TL_RULE_NOT_IN_BATTERY)->state,
                         i == 0 ? TL_CAUSE_OVERDUE : TL_CAUSE_PENDING);
        scene->outside.predicted.event.pass -= i == 1 ? 1 : 0;
    }
    free(scene);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_figure_is_judged_at_its_bound),
        cmocka_unit_test(the_touchdown_is_noted_beyond_its_band_either_way),
        cmocka_unit_test(a_figure_counts_for_its_own_inputs_only),
        cmocka_unit_test(the_sea_may_be_late_for_half_a_second),
        cmocka_unit_test(a_sea_that_is_not_dated_never_counts),
        cmocka_unit_test(a_missing_input_is_never_computed_with),
        cmocka_unit_test(an_aid_at_fault_that_no_rule_tells_of_leaves_the_ramp_untold),
        cmocka_unit_test(what_is_asked_for_is_what_stands),
        cmocka_unit_test(a_wrong_setting_carries_its_consequence),
        cmocka_unit_test(only_what_takes_part_has_to_be_computed),
        cmocka_unit_test(the_travel_read_is_compared_with_the_one_computed),
        cmocka_unit_test(the_travel_may_differ_by_a_share_to_the_last_tenth),
        cmocka_unit_test(an_arrest_that_was_not_computed_is_not_compared_as_good),
        cmocka_unit_test(the_interval_is_noted_when_the_deck_cannot_be_ready),
        cmocka_unit_test(the_ramp_is_where_it_was_computed_to_be),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
