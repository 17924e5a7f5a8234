/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_proven_computed - the second barrier alone: each computed figure, and what it was computed for
 *
 * The rules are not asked here. A figure that is bad, missing or for something else keeps READY
 * away until every rule that asks for it is off, and each of these alone is enough to keep it away.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rules/scene.h"

enum {
    RULES_OF_ROW = 8
};

typedef void change_fn(struct scene *scene);

static struct tl_datum *
datum(struct scene *s, const char *station, enum tl_datum_kind kind, uint32_t slot)
{
    return &scene_held(s, station, kind, slot)->datum;
}

static struct tl_predicted *
predicted(struct scene *s)
{
    return &s->outside.predicted;
}

/* ---- what it was computed for ---- */

static void
other_event(struct scene *s)
{
    predicted(s)->event.pass++;
}
static void
other_type(struct scene *s)
{
    predicted(s)->type[0] = 'x';
    datum(s, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->as.inbound.type[0] = 'x';
}
static void
other_way(struct scene *s)
{
    predicted(s)->barricade = true;
}
static void
other_weight_computed(struct scene *s)
{
    predicted(s)->weight_lb++;
}
static void
other_weight_said(struct scene *s)
{
    datum(s, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->as.inbound.weight_lb--;
}
static void
other_type_said(struct scene *s)
{
    datum(s, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->as.inbound.type[0] = 'x';
}
static void
weight_unsaid(struct scene *s)
{
    scene_drop(s, "approach", TL_DATUM_INBOUND, SCENE_SIDE);
}
static void
weight_of_nothing(struct scene *s)
{
    datum(s, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->as.inbound.weight_lb = 0;
    predicted(s)->weight_lb = 0;
}

/* ---- arrest ---- */

static void
arrest_unknown(struct scene *s)
{
    predicted(s)->arrest.known = false;
}
static void
energy_over(struct scene *s)
{
    predicted(s)->arrest.energy_kftlb++;
}
static void
margin_thin(struct scene *s)
{
    predicted(s)->arrest.margin_percent--;
}
static void
hook_over(struct scene *s)
{
    predicted(s)->arrest.would[0].hook_lbf++;
}
static void
stroke_over(struct scene *s)
{
    predicted(s)->arrest.would[0].stroke_in_x10++;
}
static void
bottoms(struct scene *s)
{
    predicted(s)->arrest.would[0].bottoms = true;
}
static void
parts(struct scene *s)
{
    predicted(s)->arrest.would[0].parts = true;
}
static void
no_outcome(struct scene *s)
{
    predicted(s)->arrest.would_count = 0;
}
/* Past the count stands what was computed before. */
static void
other_outcome_only(struct scene *s)
{
    predicted(s)->arrest.would[1] = predicted(s)->arrest.would[0];
    predicted(s)->arrest.would[0].set_lb = 14500;
}
static void
bad_outcome_of_another_setting(struct scene *s)
{
    other_outcome_only(s);
    bottoms(s);
    predicted(s)->arrest.would_count = 2;
}
static void
engine_out(struct scene *s)
{
    datum(s, "engine-2", TL_DATUM_SERVICE, 0)->as.service.state = TL_SERVICE_OUT;
    datum(s, "wires", TL_DATUM_RIG, 2)->as.rig = TL_RIG_STRIPPED;
}
static void
first_set_to_nothing_computed(struct scene *s)
{
    datum(s, "engine-1", TL_DATUM_SET, 0)->as.set_lb = 34500;
    datum(s, "primary", TL_DATUM_REPEATER, 1)->as.repeater_lb = 34500;
}
static void
last_set_to_nothing_computed(struct scene *s)
{
    datum(s, "engine-4", TL_DATUM_SET, 0)->as.set_lb = 34500;
    datum(s, "primary", TL_DATUM_REPEATER, 4)->as.repeater_lb = 34500;
}
static void
set_to_nothing_computed_and_out(struct scene *s)
{
    engine_out(s);
    datum(s, "engine-2", TL_DATUM_SET, 0)->as.set_lb = 40000;
}

/* ---- sea ---- */

static void
more_wind_counted_on(struct scene *s)
{
    predicted(s)->arrest.headwind_kt_x10++;
}
static void
less_wind_counted_on(struct scene *s)
{
    predicted(s)->arrest.headwind_kt_x10--;
}
static void
wind_gone(struct scene *s)
{
    scene_told(s, "bridge")->samples[0].kind = TL_SAMPLE_UNKNOWN;
}
static void
wind_in_doubt(struct scene *s)
{
    scene_told(s, "bridge")->samples[0].as.wind.state = TL_WIND_DISAGREE;
}
static void
less_pitch_counted_on(struct scene *s)
{
    predicted(s)->ramp.pitch_deg_x10--;
}
static void
more_pitch_counted_on(struct scene *s)
{
    predicted(s)->ramp.pitch_deg_x10++;
}
static void
sea_late(struct scene *s)
{
    more_wind_counted_on(s);
    less_pitch_counted_on(s);
    s->outside.sea_late_ms = SCENE_NOW_MS - TL_SEA_LATE_MS;
}
static void
wind_too_late(struct scene *s)
{
    more_wind_counted_on(s);
    s->outside.sea_late_ms = SCENE_NOW_MS - TL_SEA_LATE_MS - 1;
}
static void
pitch_too_late(struct scene *s)
{
    less_pitch_counted_on(s);
    s->outside.sea_late_ms = SCENE_NOW_MS - TL_SEA_LATE_MS - 1;
}
static void
stern_down(struct scene *s)
{
    scene_told(s, "bridge")->samples[1].as.motion.pitch_deg_x10.value = -5;
}
static void
stern_down_further(struct scene *s)
{
    scene_told(s, "bridge")->samples[1].as.motion.pitch_deg_x10.value = -6;
}
static void
stern_up_further(struct scene *s)
{
    scene_told(s, "bridge")->samples[1].as.motion.pitch_deg_x10.value = 6;
}
static void
pitch_unknown(struct scene *s)
{
    scene_told(s, "bridge")->samples[1].as.motion.pitch_deg_x10.known = false;
}
static void
motion_gone(struct scene *s)
{
    scene_told(s, "bridge")->samples[1].kind = TL_SAMPLE_UNKNOWN;
}

/* ---- ramp ---- */

static void
ramp_unknown(struct scene *s)
{
    predicted(s)->ramp.known = false;
}
static void
clearance_small(struct scene *s)
{
    predicted(s)->ramp.clearance_ft_x10--;
}
static void
ramp_for_other_aid(struct scene *s)
{
    predicted(s)->ramp.aid_type[0] = 'x';
}
static void
ramp_for_other_angle(struct scene *s)
{
    predicted(s)->ramp.angle_deg_x100++;
}
static void
ramp_for_other_wire(struct scene *s)
{
    predicted(s)->ramp.target_wire++;
}
static void
aid_unsaid(struct scene *s)
{
    scene_drop(s, "aid", TL_DATUM_AID, 0);
}
static void
aid_at_fault(struct scene *s)
{
    datum(s, "aid", TL_DATUM_AID, 0)->as.aid.state = TL_AID_FAULT;
}

/* ---- travel of the last arrest ---- */

static void
read_travel(struct scene *s, const char *station, uint32_t ram_in_x10)
{
    struct tl_event event = {.recovery_ms = scene_event().recovery_ms, .pass = 7};
    datum(s, station, TL_DATUM_ARREST, 0)->as.arrest =
        (struct tl_arrest){.event = event, .ram_in_x10 = ram_in_x10};
    s->outside.expected_count = 1;
    s->outside.expected[0] = (struct tl_expected){.unit = 2, .event = event, .ram_in_x10 = 1800};
}
static void
free_engine(struct scene *s, uint32_t pass)
{
    datum(s, "gear-officer", TL_DATUM_FREED, 2)->as.freed = (struct tl_freed){
        .event = {.recovery_ms = scene_event().recovery_ms, .pass = pass}, .name = "brandt"};
}
static void
travel_long(struct scene *s)
{
    read_travel(s, "engine-2", 1890);
}
static void
travel_too_long(struct scene *s)
{
    read_travel(s, "engine-2", 1891);
}
static void
travel_short(struct scene *s)
{
    read_travel(s, "engine-2", 1710);
}
static void
travel_too_short(struct scene *s)
{
    read_travel(s, "engine-2", 1709);
}
static void
travel_freed(struct scene *s)
{
    travel_too_long(s);
    free_engine(s, 7);
}
static void
travel_freed_of_another(struct scene *s)
{
    travel_too_long(s);
    free_engine(s, 6);
}
static void
travel_of_another_engine(struct scene *s)
{
    read_travel(s, "engine-2", 1800);
    s->outside.expected[0].unit = 1;
}
static void
travel_of_another_pass(struct scene *s)
{
    read_travel(s, "engine-2", 1800);
    s->outside.expected[0].event.pass++;
}
static void
travel_not_computed(struct scene *s)
{
    read_travel(s, "engine-2", 1800);
    s->outside.expected_count = 0;
}
/* The engine's own stands after another's: it is found. */
static void
travel_second(struct scene *s)
{
    read_travel(s, "engine-2", 1800);
    s->outside.expected[1] = s->outside.expected[0];
    s->outside.expected[0].unit = 1;
    s->outside.expected_count = 2;
}
static void
travel_of_an_earlier_recovery(struct scene *s)
{
    travel_too_long(s);
    datum(s, "engine-2", TL_DATUM_ARREST, 0)->as.arrest.event.recovery_ms--;
}
static void
travel_of_an_engine_that_is_out(struct scene *s)
{
    travel_too_long(s);
    engine_out(s);
}

static void
travel_of_the_first_engine(struct scene *s)
{
    read_travel(s, "engine-1", 1891);
    s->outside.expected[0].unit = 1;
}
static void
travel_of_the_last_engine(struct scene *s)
{
    read_travel(s, "engine-4", 1891);
    s->outside.expected[0].unit = 4;
}

/* Engine 3 brakes a wire that such a pass wants stripped: nothing of it counts. */
static void
into_the_barricade(struct scene *s)
{
    struct tl_order *order = &s->fold.list.event[0].order;
    order->barricade = true;
    order->weight_lb = 32000;
    datum(s, "engine-4", TL_DATUM_SET, 0)->as.set_lb = 32000;
    datum(s, "primary", TL_DATUM_REPEATER, 4)->as.repeater_lb = 32000;
    datum(s, "wires", TL_DATUM_RIG, 3)->as.rig = TL_RIG_STRIPPED;
    datum(s, "wires", TL_DATUM_RIG, 4)->as.rig = TL_RIG_STRIPPED;
    datum(s, "wires", TL_DATUM_STANCHIONS, 0)->as.stanchions = TL_STANCHION_RAISED;
    datum(s, "barricade", TL_DATUM_BARRICADE, 0)->as.barricade.state = TL_BARRICADE_RIGGED;
    datum(s, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->as.inbound.weight_lb = 31000;
    scene_compute(s);
}
static void
barricade_without_engine_3(struct scene *s)
{
    into_the_barricade(s);
    scene_drop(s, "engine-3", TL_DATUM_SET, 0);
    read_travel(s, "engine-3", 1);
}

/* ---- rows ---- */

#define ARREST_RULES                                                                               \
    TL_RULE_ENERGY_OVER, TL_RULE_ENERGY_THIN, TL_RULE_HOOK_LOAD, TL_RULE_STROKE_PREDICTED

/* What is changed; whether it is still proven; the rules that ask for it, all of them. */
static const struct row {
    const char *name;
    change_fn *change;
    bool proven;
    enum tl_rule rules[RULES_OF_ROW];
} rows[] = {
    {"another event", other_event, false, {ARREST_RULES, TL_RULE_RAMP_CLEARANCE}},
    {"another type", other_type, false, {ARREST_RULES, TL_RULE_RAMP_CLEARANCE}},
    {"into the barricade", other_way, false, {ARREST_RULES, TL_RULE_RAMP_CLEARANCE}},
    {"another weight computed", other_weight_computed, false, {ARREST_RULES}},
    {"another weight said", other_weight_said, false, {ARREST_RULES}},
    {"another type said", other_type_said, false, {ARREST_RULES}},
    {"weight unsaid", weight_unsaid, false, {ARREST_RULES, TL_RULE_OVER_TRAP_WEIGHT}},
    {"a weight of nothing", weight_of_nothing, false, {ARREST_RULES}},
    {"arrest unknown", arrest_unknown, false, {ARREST_RULES}},
    {"energy over", energy_over, false, {TL_RULE_ENERGY_OVER}},
    {"margin thin", margin_thin, false, {TL_RULE_ENERGY_THIN}},
    {"hook over", hook_over, false, {TL_RULE_HOOK_LOAD}},
    {"stroke over", stroke_over, false, {TL_RULE_STROKE_PREDICTED}},
    {"bottoms", bottoms, false, {TL_RULE_STROKE_PREDICTED}},
    {"parts", parts, false, {TL_RULE_STROKE_PREDICTED}},
    {"no outcome", no_outcome, false, {TL_RULE_STROKE_PREDICTED, TL_RULE_HOOK_LOAD}},
    {"outcome of another setting only",
     other_outcome_only,
     false,
     {TL_RULE_STROKE_PREDICTED, TL_RULE_HOOK_LOAD}},
    {"bad outcome of another setting", bad_outcome_of_another_setting, true, {TL_RULE_NONE}},
    {"first set to nothing computed",
     first_set_to_nothing_computed,
     false,
     {TL_RULE_STROKE_PREDICTED, TL_RULE_HOOK_LOAD}},
    {"last set to nothing computed",
     last_set_to_nothing_computed,
     false,
     {TL_RULE_STROKE_PREDICTED, TL_RULE_HOOK_LOAD}},
    {"set to nothing computed, and out", set_to_nothing_computed_and_out, true, {TL_RULE_NONE}},
    {"more wind counted on", more_wind_counted_on, false, {ARREST_RULES}},
    {"less wind counted on", less_wind_counted_on, true, {TL_RULE_NONE}},
    {"wind gone",
     wind_gone,
     false,
     {ARREST_RULES, TL_RULE_WIND_UNKNOWN, TL_RULE_WIND_LOW, TL_RULE_CROSSWIND_OVER}},
    {"wind in doubt",
     wind_in_doubt,
     false,
     {ARREST_RULES, TL_RULE_WIND_UNKNOWN, TL_RULE_WIND_LOW, TL_RULE_CROSSWIND_OVER}},
    {"less pitch counted on", less_pitch_counted_on, false, {TL_RULE_RAMP_CLEARANCE}},
    {"more pitch counted on", more_pitch_counted_on, true, {TL_RULE_NONE}},
    {"sea late by 500 ms", sea_late, true, {TL_RULE_NONE}},
    {"wind late by more", wind_too_late, false, {ARREST_RULES}},
    {"pitch late by more", pitch_too_late, false, {TL_RULE_RAMP_CLEARANCE}},
    {"stern down", stern_down, true, {TL_RULE_NONE}},
    {"stern down further", stern_down_further, false, {TL_RULE_RAMP_CLEARANCE}},
    {"stern up further", stern_up_further, false, {TL_RULE_RAMP_CLEARANCE}},
    {"pitch unknown", pitch_unknown, false, {TL_RULE_RAMP_CLEARANCE, TL_RULE_DECK_MOTION}},
    {"motion gone",
     motion_gone,
     false,
     {TL_RULE_RAMP_CLEARANCE, TL_RULE_DECK_MOTION, TL_RULE_SHIP_NOT_STEADY}},
    {"ramp unknown", ramp_unknown, false, {TL_RULE_RAMP_CLEARANCE}},
    {"clearance small", clearance_small, false, {TL_RULE_RAMP_CLEARANCE}},
    {"ramp for another aid", ramp_for_other_aid, false, {TL_RULE_RAMP_CLEARANCE}},
    {"ramp for another angle", ramp_for_other_angle, false, {TL_RULE_RAMP_CLEARANCE}},
    {"ramp for another wire", ramp_for_other_wire, false, {TL_RULE_RAMP_CLEARANCE}},
    {"aid unsaid",
     aid_unsaid,
     false,
     {TL_RULE_RAMP_CLEARANCE, TL_RULE_AID_FAULT, TL_RULE_AID_NOT_FOR_TYPE,
      TL_RULE_AID_NOT_ON_TARGET, TL_RULE_AID_ANGLE}},
    {"aid at fault", aid_at_fault, false, {TL_RULE_RAMP_CLEARANCE, TL_RULE_AID_FAULT}},
    {"travel long", travel_long, true, {TL_RULE_NONE}},
    {"travel too long", travel_too_long, false, {TL_RULE_TRAVEL_DISAGREES}},
    {"travel short", travel_short, true, {TL_RULE_NONE}},
    {"travel too short", travel_too_short, false, {TL_RULE_TRAVEL_DISAGREES}},
    {"freed after it", travel_freed, true, {TL_RULE_NONE}},
    {"freed after another", travel_freed_of_another, false, {TL_RULE_TRAVEL_DISAGREES}},
    {"travel of another engine", travel_of_another_engine, false, {TL_RULE_TRAVEL_DISAGREES}},
    {"travel of another pass", travel_of_another_pass, false, {TL_RULE_TRAVEL_DISAGREES}},
    {"travel not computed", travel_not_computed, false, {TL_RULE_TRAVEL_DISAGREES}},
    {"travel in the second place", travel_second, true, {TL_RULE_NONE}},
    {"travel of the first engine", travel_of_the_first_engine, false, {TL_RULE_TRAVEL_DISAGREES}},
    {"travel of the last engine", travel_of_the_last_engine, false, {TL_RULE_TRAVEL_DISAGREES}},
    {"travel of an earlier recovery", travel_of_an_earlier_recovery, true, {TL_RULE_NONE}},
    {"travel of an engine that is out", travel_of_an_engine_that_is_out, true, {TL_RULE_NONE}},
    {"a pass into the barricade", into_the_barricade, true, {TL_RULE_NONE}},
    {"and nothing of engine 3", barricade_without_engine_3, true, {TL_RULE_NONE}},
};

static struct scene *
changed_scene(const struct row *row)
{
    struct scene *scene = scene_ready_full();
    scene_compute(scene);
    assert_true(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
    row->change(scene);
    return scene;
}

static void
expect_proven(const struct scene *scene, const char *row, enum tl_rule rule, bool proven)
{
    if (tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS) != proven) {
        fail_msg("%s: proven %d, rule %d", row, !proven, (int)rule);
    }
}

static void
each_computed_fact_is_asked_for(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct scene *scene = changed_scene(&rows[i]);
        expect_proven(scene, rows[i].name, TL_RULE_NONE, rows[i].proven);
        free(scene);
    }
}

/* All that ask for it are off: it is not needed. One of them is on: it is. */
static void
each_rule_that_asks_for_it_is_enough(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct scene *scene = changed_scene(&rows[i]);
        bool *off = scene->config.ship.rule_off;
        for (size_t k = 0; k < RULES_OF_ROW; k++) {
            off[rows[i].rules[k]] = true;
        }
        expect_proven(scene, rows[i].name, TL_RULE_NONE, true);
        for (size_t k = 0; k < RULES_OF_ROW && rows[i].rules[k] != TL_RULE_NONE; k++) {
            off[rows[i].rules[k]] = false;
            expect_proven(scene, rows[i].name, rows[i].rules[k], false);
            off[rows[i].rules[k]] = true;
        }
        free(scene);
    }
}

/* No rule that is off, and none of the others together, excuses what another asks for. */
static void
a_rule_that_is_off_excuses_nothing_else(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct scene *scene = changed_scene(&rows[i]);
        bool *off = scene->config.ship.rule_off;
        for (uint32_t rule = 1; rule < TL_RULES_MAX && !rows[i].proven; rule++) {
            bool only = rule == (uint32_t)rows[i].rules[0] && rows[i].rules[1] == TL_RULE_NONE;
            off[rule] = true;
            expect_proven(scene, rows[i].name, (enum tl_rule)rule, only);
            off[rule] = false;
        }
        memset(off, true, TL_RULES_MAX * sizeof off[0]);
        expect_proven(scene, rows[i].name, TL_RULE_NONE, true);
        for (size_t k = 0; k < RULES_OF_ROW && rows[i].rules[k] != TL_RULE_NONE; k++) {
            off[rows[i].rules[k]] = false;
            expect_proven(scene, rows[i].name, rows[i].rules[k], false);
            off[rows[i].rules[k]] = true;
        }
        free(scene);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_computed_fact_is_asked_for),
        cmocka_unit_test(each_rule_that_asks_for_it_is_enough),
        cmocka_unit_test(a_rule_that_is_off_excuses_nothing_else),
    };
    return cmocka_run_group_tests_name("rules_proven_computed", tests, NULL, NULL);
}
