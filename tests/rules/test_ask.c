/* SPDX-License-Identifier: Apache-2.0 */
/* test_ask - what the mechanics are asked for: every setting that stands somewhere, and the aid. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rules/scene.h"

enum {
    FIRST_LB = 20000, /* ordered; the others rise from here */
    STEP_LB = 100
};

/* Stations of other kinds become engines 5 to 8, so that the ship has as many as it can. */
static void
make_eight_engines(struct scene *scene)
{
    static const char *const rooms[] = {"wires", "tracks", "barricade", "safety"};
    struct tl_gear *gear = &scene->config.gear;
    for (uint32_t i = 0; i < scene->config.node_count; i++) {
        struct tl_node *node = &scene->config.node[i];
        for (uint32_t k = 0; k < 4; k++) {
            if (strcmp(node->id, rooms[k]) == 0) {
                node->station = TL_STATION_ENGINE;
                node->unit = 5 + k;
            }
        }
    }
    for (uint32_t i = 4; i < TL_ENGINES_MAX; i++) {
        gear->engine[i] = (struct tl_engine_gear){.unit = i + 1, .wire = i + 1, .in_service = true};
    }
    gear->engine_count = TL_ENGINES_MAX;
}

/* Sets and repeats `engines` of them, each 100 lb above the one before, and the order below all. */
static void
set_apart(struct scene *scene, uint32_t engines)
{
    static const char *const rooms[] = {"engine-1", "engine-2", "engine-3",  "engine-4",
                                        "wires",    "tracks",   "barricade", "safety"};
    scene->fold.list.event[0].order.weight_lb = FIRST_LB;
    for (uint32_t i = 0; i < engines; i++) {
        scene_held(scene, rooms[i], TL_DATUM_SET, 0)->datum.as.set_lb =
            FIRST_LB + STEP_LB * (2 * i + 1);
        scene_held(scene, "primary", TL_DATUM_REPEATER, i + 1)->datum.as.repeater_lb =
            FIRST_LB + STEP_LB * (2 * i + 2);
    }
}

static const struct tl_ask *
ask_of(struct scene *scene)
{
    char causes[8192];
    (void)scene_causes(scene, causes, sizeof causes);
    return &scene->decision.ask;
}

static void
expect_rising(const struct tl_ask *ask, uint32_t count)
{
    assert_int_equal(ask->setting_count, count);
    for (uint32_t i = 0; i < TL_WOULDS_MAX; i++) {
        assert_int_equal(ask->setting_lb[i], i < count ? FIRST_LB + STEP_LB * i : 0);
    }
}

/* Where nothing is known of the sea it stays so, however many settings stand before it. */
static void
nine_settings_are_asked_for_and_the_sea_stays_unknown(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    set_apart(scene, 4);
    expect_rising(ask_of(scene), 9);
    scene_told(scene, "bridge")->sample_count = 0;
    const struct tl_ask *ask = ask_of(scene);
    expect_rising(ask, 9);
    assert_int_equal(ask->less_headwind_kt, TL_SEA_UNKNOWN);
    assert_int_equal(ask->pitch_deg_x10, TL_SEA_UNKNOWN);
    assert_string_equal(ask->aid_type, "plover");
    assert_int_equal(ask->angle_deg_x100, 350);
    assert_int_equal(ask->target_wire, 3);
    free(scene);
}

/* In falling order too: each new one goes before all that are there. */
static void
eight_engines_are_asked_for_in_full(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    make_eight_engines(scene);
    set_apart(scene, TL_ENGINES_MAX);
    expect_rising(ask_of(scene), TL_WOULDS_MAX);
    struct tl_held *last = scene_held(scene, "safety", TL_DATUM_SET, 0);
    struct tl_held *first = scene_held(scene, "engine-1", TL_DATUM_SET, 0);
    uint32_t swapped_lb = last->datum.as.set_lb;
    last->datum.as.set_lb = first->datum.as.set_lb;
    first->datum.as.set_lb = swapped_lb;
    expect_rising(ask_of(scene), TL_WOULDS_MAX);
    free(scene);
}

/* A value without a reading behind it is none, and either way of level is as bad. */
static void
a_pitch_is_asked_for_by_its_size_while_it_is_known(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_maybe *pitch = &scene_told(scene, "bridge")->samples[1].as.motion.pitch_deg_x10;
    const int32_t values[] = {5, -5, 1, -1, 0};
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        pitch->value = values[i];
        assert_int_equal(ask_of(scene)->pitch_deg_x10, values[i] < 0 ? -values[i] : values[i]);
    }
    pitch->known = false;
    assert_int_equal(ask_of(scene)->pitch_deg_x10, TL_SEA_UNKNOWN);
    free(scene);
}

/* Sensors that disagree give no wind, whatever number came with that. */
static void
a_wind_in_doubt_is_not_known(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    assert_int_equal(ask_of(scene)->less_headwind_kt, -26);
    scene_told(scene, "bridge")->samples[0].as.wind.state = TL_WIND_DISAGREE;
    assert_int_equal(ask_of(scene)->less_headwind_kt, TL_SEA_UNKNOWN);
    free(scene);
}

/* What stands twice is asked for once; what is not said, or 0, is not. */
static void
a_setting_is_asked_for_once(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    assert_int_equal(ask_of(scene)->setting_count, 1);
    assert_int_equal(ask_of(scene)->setting_lb[0], SCENE_LB);
    scene_held(scene, "engine-1", TL_DATUM_SET, 0)->datum.as.set_lb = 0;
    scene_drop(scene, "engine-2", TL_DATUM_SET, 0);
    scene_held(scene, "engine-3", TL_DATUM_SET, 0)->datum.known = false;
    scene_held(scene, "engine-3", TL_DATUM_SET, 0)->datum.as.set_lb = 20000;
    scene_drop(scene, "primary", TL_DATUM_REPEATER, 4);
    assert_int_equal(ask_of(scene)->setting_count, 1);
    assert_int_equal(ask_of(scene)->setting_lb[0], SCENE_LB);
    free(scene);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nine_settings_are_asked_for_and_the_sea_stays_unknown),
        cmocka_unit_test(eight_engines_are_asked_for_in_full),
        cmocka_unit_test(a_pitch_is_asked_for_by_its_size_while_it_is_known),
        cmocka_unit_test(a_wind_in_doubt_is_not_known),
        cmocka_unit_test(a_setting_is_asked_for_once),
    };
    return cmocka_run_group_tests_name("rules_ask", tests, NULL, NULL);
}
