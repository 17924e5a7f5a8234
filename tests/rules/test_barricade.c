/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_barricade - a pass into the barricade, and the rules on computed figures
 *
 * Webbing is never used again, and no pendant is left in the barricade's way: NAVEDTRA 14310 p. 133.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rules/words.h"

static void
say_order(struct scene *scene, bool barricade, uint32_t weight_lb)
{
    struct tl_order *order = &scene_held(scene, "primary", TL_DATUM_ORDER, 1)->datum.as.order;
    order->barricade = barricade;
    order->weight_lb = weight_lb;
    (void)tl_events_update(&scene->fold, SCENE_NOW_MS - 10000);
    scene->fold.list.event[0].order = *order;
}

/* Everything as a pass into the barricade needs it: engine 4 at 32,000 lb, wires 3 and 4 off. */
static struct scene *
barricade_ready(void)
{
    struct scene *scene = scene_ready_full();
    scene_expect(scene, "a pass on the wires", "");
    say_order(scene, true, 32000);
    scene_held(scene, "engine-4", TL_DATUM_SET, 0)->datum.as.set_lb = 32000;
    scene_held(scene, "primary", TL_DATUM_REPEATER, 4)->datum.as.repeater_lb = 32000;
    scene_held(scene, "wires", TL_DATUM_RIG, 3)->datum.as.rig = TL_RIG_STRIPPED;
    scene_held(scene, "wires", TL_DATUM_RIG, 4)->datum.as.rig = TL_RIG_STRIPPED;
    scene_held(scene, "wires", TL_DATUM_STANCHIONS, 0)->datum.as.stanchions = TL_STANCHION_RAISED;
    scene_held(scene, "barricade", TL_DATUM_BARRICADE, 0)->datum.as.barricade.state =
        TL_BARRICADE_RIGGED;
    return scene;
}

/* The actual weight is above the barricade's setting in this scene; the approach says a lighter. */
static struct scene *
barricade_scene(void)
{
    struct scene *scene = barricade_ready();
    scene_held(scene, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->datum.as.inbound.weight_lb = 31000;
    return scene;
}

/* Nothing is asked of the barricade for a type that nobody knows. */
static void
an_unknown_type_has_no_pass_into_the_barricade(void **state)
{
    (void)state;
    struct scene *scene = barricade_scene();
    scene_expect(scene, "before", "");
    memcpy(scene->fold.list.event[0].order.type, "stint", sizeof "stint");
    char text[1024];
    const char *causes = scene_causes(scene, text, sizeof text);
    assert_non_null(strstr(causes, "type-unknown"));
    assert_int_equal(scene->decision.word, TL_WORD_NOT_READY);
    memcpy(scene->fold.list.event[0].order.type, "plover", sizeof "plover");
    scene_expect(scene, "after", "");
    free(scene);
}

static void
a_pass_into_the_barricade_has_its_own_needs(void **state)
{
    (void)state;
    struct scene *scene = barricade_ready();
    scene_expect(scene, "too heavy for it", "setting-light:engine-4");
    scene_held(scene, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->datum.as.inbound.weight_lb = 31000;
    scene_expect(scene, "rigged", "");
    assert_true(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
    scene_drop(scene, "platform", TL_DATUM_HOOK, 0);
    scene_drop(scene, "engine-3", TL_DATUM_SET, 0);
    scene_drop(scene, "engine-3", TL_DATUM_BATTERY, 0);
    scene_drop(scene, "primary", TL_DATUM_REPEATER, 3);
    scene_expect(scene, "no hook, and nothing of engine 3", "");
    assert_true(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
    free(scene);
}

/* A ship where one wire alone is in its way: the room of that wire, and no other, has no part. */
static void
the_room_of_the_wire_that_goes_owes_nothing(void **state)
{
    (void)state;
    struct scene *scene = barricade_scene();
    scene->config.gear.barricade.strip = 1u << 3;
    scene_expect(scene, "before", "");
    scene_drop(scene, "engine-3", TL_DATUM_SET, 0);
    scene_expect(scene, "wire 3", "");
    scene_drop(scene, "engine-2", TL_DATUM_BATTERY, 0);
    scene_expect(scene, "wire 2", "not-in-battery:engine-2?");
    free(scene);
}

static void
used_webbing_is_nothing_to_a_pass_on_the_wires(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_held(scene, "barricade", TL_DATUM_BARRICADE, 0)->datum.as.barricade.webbing_used = true;
    scene_expect(scene, "on the wires", "");
    assert_true(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
    free(scene);
}

struct bad {
    const char *station;
    enum tl_datum_kind kind;
    uint32_t slot;
    struct tl_datum value;
    const char *causes, *due;
};

static void
each_thing_that_it_needs_is_asked_for(void **state)
{
    /* clang-format off */
    static const struct bad table[] = {
        {"barricade", TL_DATUM_BARRICADE, 0, {.as.barricade = {TL_BARRICADE_PARTIAL, false}}, "barricade-not-rigged:barricade?", "barricade-not-rigged:barricade"},
        {"barricade", TL_DATUM_BARRICADE, 0, {.as.barricade = {TL_BARRICADE_READY, false}}, "barricade-not-rigged:barricade?", "barricade-not-rigged:barricade"},
        {"barricade", TL_DATUM_BARRICADE, 0, {.as.barricade = {TL_BARRICADE_RIGGED, true}}, "webbing-used:barricade", "webbing-used:barricade"},
        {"wires", TL_DATUM_STANCHIONS, 0, {.as.stanchions = TL_STANCHION_LOWERED}, "barricade-not-rigged:wires?", "barricade-not-rigged:wires"},
        {"wires", TL_DATUM_STANCHIONS, 0, {.as.stanchions = TL_STANCHION_MOVING}, "barricade-not-rigged:wires?", "barricade-not-rigged:wires"},
        {"wires", TL_DATUM_RIG, 3, {.as.rig = TL_RIG_RIGGED}, "barricade-wires:wires?", "barricade-wires:wires"},
        {"wires", TL_DATUM_RIG, 4, {.as.rig = TL_RIG_RIGGED}, "barricade-wires:wires?", "barricade-wires:wires"},
        {"engine-4", TL_DATUM_SET, 0, {.as.set_lb = 34000}, "setting-other-aircraft:engine-4", "setting-other-aircraft:engine-4"},
        {"engine-4", TL_DATUM_SET, 0, {.as.set_lb = 32501}, "setting-not-ordered:engine-4", "setting-not-ordered:engine-4"},
        {"engine-1", TL_DATUM_SET, 0, {.as.set_lb = 32000}, "setting-other-aircraft:engine-1", "setting-other-aircraft:engine-1"},
    };
    /* clang-format on */
    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        const struct bad *bad = &table[i];
        struct scene *scene = barricade_scene();
        scene_expect(scene, "before", "");
        struct tl_held *held = scene_held(scene, bad->station, bad->kind, bad->slot);
        struct tl_held before = *held;
        held->datum.as = bad->value.as;
        scene_expect(scene, bad->causes, bad->causes);
        assert_false(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
        scene->fold.list.current_since_ms = SCENE_NOW_MS - 60000;
        scene_expect(scene, bad->due, bad->due);
        *held = before;
        scene_expect(scene, "after", "");
        held->datum.known = false;
        char causes[256];
        (void)scene_causes(scene, causes, sizeof causes);
        assert_int_equal(scene->decision.word, TL_WORD_NOT_READY);
        assert_false(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
        free(scene);
    }
}

/* Rigging that is not known is not stripped, also where nobody asks for it on the wires. */
static void
a_wire_of_which_nothing_is_known_is_in_the_way(void **state)
{
    (void)state;
    struct scene *scene = barricade_scene();
    scene->config.ship.rule_off[TL_RULE_RIG_UNKNOWN] = true;
    scene_expect(scene, "before", "");
    scene_drop(scene, "wires", TL_DATUM_RIG, 3);
    char causes[512];
    (void)scene_causes(scene, causes, sizeof causes);
    assert_non_null(strstr(causes, "barricade-wires:wires?"));
    assert_false(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
    free(scene);
}

static void
a_type_without_a_barricade_setting_cannot_be_ordered_into_it(void **state)
{
    (void)state;
    struct scene *scene = barricade_scene();
    scene_expect(scene, "before", "");
    scene->config.type[1].barricade_setting_lb = 0;
    char causes[512];
    (void)scene_causes(scene, causes, sizeof causes);
    assert_non_null(strstr(causes, "type-unknown"));
    assert_int_equal(scene->decision.word, TL_WORD_NOT_READY);
    assert_false(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
    scene->config.type[1].barricade_setting_lb = 32000;
    scene->config.gear.barricade.unit = 0;
    (void)scene_causes(scene, causes, sizeof causes);
    assert_non_null(strstr(causes, "type-unknown"));
    assert_int_equal(scene->decision.word, TL_WORD_NOT_READY);
    assert_false(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
    free(scene);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_unknown_type_has_no_pass_into_the_barricade),
        cmocka_unit_test(a_pass_into_the_barricade_has_its_own_needs),
        cmocka_unit_test(the_room_of_the_wire_that_goes_owes_nothing),
        cmocka_unit_test(used_webbing_is_nothing_to_a_pass_on_the_wires),
        cmocka_unit_test(each_thing_that_it_needs_is_asked_for),
        cmocka_unit_test(a_wire_of_which_nothing_is_known_is_in_the_way),
        cmocka_unit_test(a_type_without_a_barricade_setting_cannot_be_ordered_into_it),
    };
    return cmocka_run_group_tests_name("rules_barricade", tests, NULL, NULL);
}
