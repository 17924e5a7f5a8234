/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_told - each cause about engines, arrests, the aid's aim, the sea and the barricade in full
 *
 * What is reported, what is needed, and the statement that keys it; and the edges that no other
 * test looks at.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "broker/core/alerts/alerts.h"
#include "tests/rules/tell.h"
#include "tests/rules/words.h"

#define ENGINE(n, what, ...) "engine-" #n, TL_DATUM_##what, 0, {__VA_ARGS__}, 0, 0
#define BOOK(n, what, ...)   "gear-officer", TL_DATUM_##what, n, {__VA_ARGS__}, 0, 0
#define READ(n, r, o, a, b)  ENGINE(n, ARREST, .as.arrest = {{4000, 3}, r, o, a, b})
#define AIMED(angle, target)                                                                       \
    "aid", TL_DATUM_AID, 0, {.as.aid = {TL_AID_WORKING, "plover", angle, target}}, 0, 0
#define INBOUND(lb)                                                                                \
    "approach", TL_DATUM_INBOUND, SCENE_SIDE,                                                      \
        {.as.inbound = {.side = SCENE_SIDE, .type = "plover", .weight_lb = (lb)}}, 0, 0

/* clang-format off */
static const struct word_row rows[] = {
    {"out, rigged", ENGINE(1, SERVICE, .as.service = {TL_SERVICE_OUT, 0}),
     "inactive-rigged:wires wrong said 1 key wires rig 1"},
    {"service", UNSAID("engine-1", SERVICE, 0), "service-unknown:engine-1 pending key primary order 1"},
    {"fault", ENGINE(1, FAULT, .as.fault = {TL_FAULT_STATE_ACTIVE, 31}), "engine-fault:engine-1 wrong said 31 key engine-1 fault 0"},
    {"low", ENGINE(1, FLUID, .as.fluid = TL_FLUID_LOW), "fluid-level:engine-1 wrong said 0/low key engine-1 fluid 0"},
    {"high", ENGINE(1, FLUID, .as.fluid = TL_FLUID_HIGH), "fluid-level:engine-1 wrong said 0/high key engine-1 fluid 0"},
    {"job", ENGINE(1, SERVICE, .as.service = {TL_SERVICE_IN, 12}), "not-signed-off:engine-1 wrong said 12 key engine-1 service 0"},
    {"found", BOOK(1, INSPECTED, .as.inspected = {TL_INSPECTION_FOUND, "Ash"}), "inspection-overdue:gear-officer wrong said 1/not good key gear-officer inspected 1"},
    {"inspection", UNSAID("gear-officer", INSPECTED, 1), "inspection-overdue:gear-officer pending needs 1 key primary order 1"},
    {"life", BOOK(1, PENDANT_LIFE, .as.pendant_life.traps = 125), "pendant-life:gear-officer wrong said 1 needs 125 key gear-officer pendant-life 1"},
    {"near", BOOK(1, PENDANT_LIFE, .as.pendant_life.traps = 124), "pendant-life-near:gear-officer note said 1 needs 124 key gear-officer pendant-life 1"},
    {"traps", UNSAID("gear-officer", PENDANT_LIFE, 1), "pendant-life:gear-officer pending needs 1 key primary order 1"},
    {"ram", READ(1, 1901, 0, 0, 0), "ram-travel:engine-1 wrong said 1901 needs 1900 key engine-1 arrest 0"},
    {"off", READ(1, 1800, 201, 0, 0), "off-centre:engine-1 wrong said 201 needs 200 key engine-1 arrest 0"},
    {"apart", READ(1, 1800, 0, 41, 0), "sides-unequal:engine-1 wrong said 41 needs 40 key engine-1 arrest 0"},
    {"back", READ(1, 1800, 0, 0, 101), "walk-back:engine-1 note said 101 needs 100 key engine-1 arrest 0"},
    {"heavy", INBOUND(34001), "over-trap-weight:approach wrong said 34001 needs 34000 key approach inbound 204"},
    {"weight", UNSAID("approach", INBOUND, SCENE_SIDE), "over-trap-weight:approach pending key primary order 1"},
    {"aim", AIMED(350, 2), "aid-not-on-target:aid wrong said 2 needs 3 key aid aid 0"},
    {"no aim", AIMED(350, 0), "aid-not-on-target:aid pending key primary order 1"},
    {"angle", AIMED(375, 3), "aid-angle:aid wrong said 375 needs 350 key aid aid 0"},
    {"no angle", AIMED(0, 3), "aid-angle:aid pending key primary order 1"},
    {"watch", UNSAID("engine-1", WATCH, 0), "not-manned:engine-1 pending key primary order 1"},
    {"good without a height", "wires", TL_DATUM_PENDANT, 2, {.as.pendant = {TL_PENDANT_GOOD, 275, 0}}, 0, 0,
     "pendant-height:wires pending needs 2 key primary order 1"},
};
/* clang-format on */

static void
each_cause_is_told_in_full(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct scene *scene = scene_ready_full();
        tell_expect(scene, "before", "");
        words_spoil(scene, &rows[i]);
        tell_expect(scene, rows[i].name, rows[i].causes);
        free(scene);
    }
}

/* Wherever a station holds it: the first of its words is as late as the last. */
static void
the_first_word_of_a_station_turns_bad_late(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_told *told = scene_told(scene, "engine-1");
    tell_expect(scene, "before", "");
    struct tl_held *fault = scene_held(scene, "engine-1", TL_DATUM_FAULT, 0);
    struct tl_held first = told->held[0];
    told->held[0] = *fault;
    *fault = first;
    told->held[0].datum.as.fault.state = TL_FAULT_STATE_ACTIVE;
    told->held[0].datum.as.fault.code = 31;
    tell_expect(scene, "before the call",
                "engine-fault:engine-1 wrong said 31 key engine-1 fault 0");
    told->held[0].said_ms = SCENE_NOW_MS - 1;
    tell_expect(scene, "since",
                "wave-off-advised:engine-1 wrong said 60 key engine-1 fault 0\n"
                "engine-fault:engine-1 wrong said 31 key engine-1 fault 0");
    free(scene);
}

static void
a_flood_is_of_one_life_of_its_station(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    tell_expect(scene, "before", "");
    scene->outside.flood_places = 1u << tl_config_place(&scene->config, "wires");
    scene_expect(scene, "a note", "");
    const struct tl_cause *cause = words_cause(scene, TL_RULE_ALARM_FLOOD);
    assert_int_equal(cause->subject.incarnation, scene_told(scene, "wires")->incarnation);
    assert_int_not_equal(cause->subject.incarnation, 0);
    free(scene);
}

struct sea_row {
    const char *name;
    int32_t down, across;
    struct tl_motion motion;
    const char *lines;
};

static void
what_the_sea_does_is_told_in_full(void **state)
{
    /* clang-format off */
    static const struct sea_row table[] = {
        {"low", 199, 0, {{true, 0}, {true, 0}, {true, 0}, {true, 0}, {0}, {0}, {0}}, "wind-low:bridge wrong said 199 needs 200 key bridge"},
        {"across", 260, -75, {{true, 0}, {true, 0}, {true, 0}, {true, 0}, {0}, {0}, {0}}, "crosswind-over:bridge wrong said 75 needs 70 key bridge"},
        {"pitch", 260, 0, {{true, -23}, {true, 0}, {true, 0}, {true, 0}, {0}, {0}, {0}}, "deck-motion:bridge wrong said 23/pitch needs 15/deg key bridge"},
        {"heave", 260, 0, {{true, 0}, {true, 0}, {true, 151}, {true, 0}, {0}, {0}, {0}}, "deck-motion:bridge wrong said 16/heave needs 15/m key bridge"},
        {"more heave", 260, 0, {{true, 0}, {true, 0}, {true, -230}, {true, 0}, {0}, {0}, {0}}, "deck-motion:bridge wrong said 23/heave needs 15/m key bridge"},
        {"roll", 260, 0, {{true, 0}, {true, 61}, {true, 0}, {true, 0}, {0}, {0}, {0}}, "ship-not-steady:bridge wrong said 61/rolled needs 50/deg key bridge"},
        {"turn", 260, 0, {{true, 0}, {true, 0}, {true, 0}, {true, -123}, {0}, {0}, {0}}, "ship-not-steady:bridge wrong said 123/turning needs 100/deg/min key bridge"},
        {"both", 260, 0, {{true, 16}, {true, 0}, {true, 160}, {true, 0}, {0}, {0}, {0}},
         "deck-motion:bridge wrong said 16/pitch needs 15/deg key bridge\ndeck-motion:bridge wrong said 16/heave needs 15/m key bridge"},
        {"one not known", 260, 0, {{true, 0}, {true, 0}, {0}, {true, 0}, {0}, {0}, {0}}, "deck-motion:bridge pending key primary order 1"},
    };
    /* clang-format on */
    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct scene *scene = scene_ready_full();
        struct tl_told *bridge = scene_told(scene, "bridge");
        tell_expect(scene, "before", "");
        bridge->samples[0].as.wind.headwind_kt_x10 = table[i].down;
        bridge->samples[0].as.wind.crosswind_kt_x10 = table[i].across;
        bridge->samples[1].as.motion = table[i].motion;
        tell_expect(scene, table[i].name, table[i].lines);
        free(scene);
    }
}

/* Nothing is judged by a wind of which the sensors disagree, nor where nobody is next. */
static void
a_wind_that_is_not_known_is_judged_by_nobody(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_wind *wind = &scene_told(scene, "bridge")->samples[0].as.wind;
    scene_held(scene, "aid", TL_DATUM_AID, 0)->datum.as.aid.angle_deg_x100 = 400;
    wind->headwind_kt_x10 = 10;
    wind->crosswind_kt_x10 = 99;
    scene_expect(scene, "known", "aid-angle:aid wind-low:bridge crosswind-over:bridge");
    wind->state = TL_WIND_DISAGREE;
    scene_expect(scene, "disagree", "wind-unknown:bridge");
    wind->state = TL_WIND_KNOWN;
    scene->fold.list.current.pass = 0;
    scene_expect(scene, "nobody is next", "no-event?");
    free(scene);
}

static void
what_is_out_of_use_by_the_ships_file_is_not_asked_of_its_state(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene->config.gear.engine[2].in_service = false;
    scene_held(scene, "wires", TL_DATUM_RIG, 3)->datum.as.rig = TL_RIG_STRIPPED;
    scene_held(scene, "aid", TL_DATUM_AID, 0)->datum.as.aid.target_wire = 2;
    scene_drop(scene, "engine-3", TL_DATUM_SERVICE, 0);
    scene->fold.list.trap[2] = (struct tl_event){4000, 3};
    scene_expect(scene, "engine 3", "");
    free(scene);
}

static void
a_walk_back_is_noted_also_when_the_engine_was_freed(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_held(scene, "engine-1", TL_DATUM_ARREST, 0)->datum.as.arrest =
        (struct tl_arrest){.event = {4000, 3}, .ram_in_x10 = 1950, .walk_back_ft_x10 = 101};
    scene_held(scene, "gear-officer", TL_DATUM_FREED, 1)->datum.as.freed =
        (struct tl_freed){.event = {4000, 3}, .name = "Rowan"};
    tell_expect(scene, "freed", "walk-back:engine-1 note said 101 needs 100 key engine-1 arrest 0");
    free(scene);
}

static void
the_first_engines_trap_is_unread_too(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene->fold.list.trap[0] = (struct tl_event){4000, 3};
    tell_expect(scene, "unread", "arrest-unread:engine-1 pending needs 3 key primary order 1");
    free(scene);
}

/* A rigged wire of an engine that is out is no usable one. */
static void
wires_are_counted_by_their_engines(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_held(scene, "engine-1", TL_DATUM_SERVICE, 0)->datum.as.service.state = TL_SERVICE_OUT;
    scene_held(scene, "engine-2", TL_DATUM_SERVICE, 0)->datum.as.service.state = TL_SERVICE_OUT;
    tell_expect(scene, "two out",
                "inactive-rigged:wires wrong said 1 key wires rig 1\n"
                "inactive-rigged:wires wrong said 2 key wires rig 2\n"
                "too-few-wires wrong said 2 needs 3 key primary order 1\n"
                "aid-not-on-target:aid wrong said 3 needs 4 key aid aid 0");
    scene->fold.list.current.pass = 0;
    scene_expect(scene, "nobody is next", "no-event?");
    free(scene);
}

/* Off the order, for the type, and still below the aircraft. */
static void
a_setting_off_the_order_may_be_light_too(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_held(scene, "engine-1", TL_DATUM_SET, 0)->datum.as.set_lb = 33400;
    scene_held(scene, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->datum.as.inbound.weight_lb = 34000;
    tell_expect(scene, "33,400 lb",
                "setting-not-ordered:engine-1 wrong said 33400 needs 34000 key engine-1 set 0\n"
                "setting-light:engine-1 wrong said 33400 needs 34000 key engine-1 set 0");
    free(scene);
}

/* ---- the barricade ---- */

static void
what_a_barricade_pass_lacks_is_told_in_full(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_order *order = &scene->fold.list.event[0].order;
    order->barricade = true;
    order->weight_lb = 32000;
    scene->config.gear.barricade.strip = 1u << 1 | 1u << 4;
    scene_held(scene, "engine-4", TL_DATUM_SET, 0)->datum.as.set_lb = 32000;
    scene_held(scene, "primary", TL_DATUM_REPEATER, 4)->datum.as.repeater_lb = 32000;
    scene_held(scene, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->datum.as.inbound.weight_lb = 31000;
    scene_held(scene, "barricade", TL_DATUM_BARRICADE, 0)->datum.as.barricade =
        (struct tl_barricade){TL_BARRICADE_PARTIAL, true};
    scene_drop(scene, "wires", TL_DATUM_STANCHIONS, 0);
    static const char pending[] =
        "webbing-used:barricade wrong key barricade barricade 0\n"
        "barricade-not-rigged:barricade pending said 0/half rigged key barricade barricade 0\n"
        "barricade-not-rigged:wires pending key primary order 1\n"
        "barricade-wires:wires pending said 1 key wires rig 1\n"
        "barricade-wires:wires pending said 4 key wires rig 4";
    static const char due[] =
        "barricade-not-rigged:barricade wrong said 0/half rigged key barricade barricade 0\n"
        "barricade-not-rigged:wires overdue key primary order 1\n"
        "barricade-wires:wires wrong said 1 key wires rig 1\n"
        "barricade-wires:wires wrong said 4 key wires rig 4\n"
        "webbing-used:barricade wrong key barricade barricade 0";
    tell_expect(scene, "not yet", pending);
    scene->fold.list.current_since_ms = SCENE_NOW_MS - 60000;
    tell_expect(scene, "due", due);
    free(scene);
}

/* Every wire that the ship's file names, the last one too. */
static void
wires_to_strip_are_asked_for_from_the_first_to_the_last(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene->fold.list.event[0].order.barricade = true;
    scene->config.gear.barricade.strip = 1u << 1 | 1u << TL_ENGINES_MAX;
    scene_drop(scene, "wires", TL_DATUM_RIG, 1);
    (void)words_cause(scene, TL_RULE_BARRICADE_WIRES);
    char causes[2048];
    (void)tell_causes(scene, causes, sizeof causes);
    assert_non_null(strstr(causes, "barricade-wires:wires pending needs 1 key primary order 1\n"
                                   "barricade-wires:wires pending needs 8 key primary order 1"));
    free(scene);
}

/* ---- the last seconds ---- */

static void
a_gauge_that_a_sensor_reads_advises_by_when_it_was_read(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_held *gauge = scene_held(scene, "engine-1", TL_DATUM_ACCUMULATOR, 0);
    gauge->datum.sensor = true;
    gauge->datum.as.accumulator_psi = 379;
    tell_expect(scene, "read with the call",
                "accumulator-pressure:engine-1 wrong said 379 needs 380 key engine-1");
    gauge->said_ms += 1;
    tell_expect(scene, "read after it",
                "wave-off-advised:engine-1 wrong said 39 key engine-1\n"
                "accumulator-pressure:engine-1 wrong said 379 needs 380 key engine-1");
    free(scene);
}

/* What is only overdue, or held, is no fact that turned bad; the order was changed after the call. */
static void
what_is_not_wrong_by_a_word_is_no_advice(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_held(scene, "primary", TL_DATUM_ORDER, 1)->said_ms = SCENE_NOW_MS - 1000;
    scene_drop(scene, "engine-1", TL_DATUM_FLUID, 0);
    scene->fold.list.current_since_ms = SCENE_NOW_MS - 60000;
    scene_expect(scene, "overdue", "fluid-level:engine-1!");
    scene_told(scene, "tracks")->back_ms = SCENE_NOW_MS - 1000;
    scene_expect(scene, "held", "fluid-level:engine-1! station-lost:tracks~");
    assert_null(words_cause(scene, TL_RULE_PICTURE_LOST));
    free(scene);
}

/* A note on the picture is not the picture lost; and with nobody next nothing is on final. */
static void
only_a_blind_picture_is_lost_and_only_on_final(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene->outside.peer_count = 1;
    scene->outside.peer[0] =
        (struct tl_peer_state){.id = "validator-2", .incarnation = 9, .keys_differ = true};
    tell_expect(scene, "other keys", "keys-differ:validator-2 note key validator-2!9");
    scene->outside.peer[0].lost = true;
    tell_expect(scene, "lost",
                "validator-lost:validator-2 note key validator-2!9\n"
                "picture-lost:validator-2 note said 23 key validator-2!9");
    scene->fold.list.current.pass = 0;
    tell_expect(scene, "nobody is next",
                "no-event pending\n"
                "validator-lost:validator-2 note key validator-2!9");
    free(scene);
}

static void
a_flood_is_told_of_the_station_that_has_it(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    tell_expect(scene, "before", "");
    scene->outside.flood_places =
        1u << 0 | 1u << (scene->fold.told_count - 1) | 1u << scene->fold.told_count;
    tell_expect(scene, "the first and the last",
                "alarm-flood:engine-1 note key engine-1\nalarm-flood:safety note key safety");
    free(scene);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_cause_is_told_in_full),
        cmocka_unit_test(the_first_word_of_a_station_turns_bad_late),
        cmocka_unit_test(a_flood_is_of_one_life_of_its_station),
        cmocka_unit_test(what_the_sea_does_is_told_in_full),
        cmocka_unit_test(a_wind_that_is_not_known_is_judged_by_nobody),
        cmocka_unit_test(what_is_out_of_use_by_the_ships_file_is_not_asked_of_its_state),
        cmocka_unit_test(a_walk_back_is_noted_also_when_the_engine_was_freed),
        cmocka_unit_test(the_first_engines_trap_is_unread_too),
        cmocka_unit_test(wires_are_counted_by_their_engines),
        cmocka_unit_test(a_setting_off_the_order_may_be_light_too),
        cmocka_unit_test(what_a_barricade_pass_lacks_is_told_in_full),
        cmocka_unit_test(wires_to_strip_are_asked_for_from_the_first_to_the_last),
        cmocka_unit_test(a_gauge_that_a_sensor_reads_advises_by_when_it_was_read),
        cmocka_unit_test(what_is_not_wrong_by_a_word_is_no_advice),
        cmocka_unit_test(only_a_blind_picture_is_lost_and_only_on_final),
        cmocka_unit_test(a_flood_is_told_of_the_station_that_has_it),
    };
    return cmocka_run_group_tests_name("rules_told", tests, NULL, NULL);
}
