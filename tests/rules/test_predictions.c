/* SPDX-License-Identifier: Apache-2.0 */
/* test_predictions.c - when the mechanics are asked, and what is kept of their answers. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "broker/core/judge/predictions.h"
#include "tests/rules/scene.h"

static const uint64_t start_ms = 1000;

static struct tl_ask
question(void)
{
    return (struct tl_ask){.event = {.recovery_ms = 5, .pass = 3},
                           .type = "plover",
                           .weight_lb = 33500,
                           .setting_count = 1,
                           .setting_lb = {34000},
                           .aid_type = "plover",
                           .angle_deg_x100 = 350,
                           .target_wire = 3,
                           .less_headwind_kt = -25,
                           .pitch_deg_x10 = 3};
}

static struct tl_predictions
asked_once(void)
{
    struct tl_predictions predictions = {.wanted = true};
    struct tl_ask ask = question();
    assert_true(tl_predictions_ask(&predictions, &ask, start_ms));
    return predictions;
}

static void
each_change_of_a_word_is_asked_at_once(void **state)
{
    (void)state;
    for (int i = 0; i < 12; i++) {
        struct tl_predictions predictions = asked_once();
        struct tl_ask ask = question();
        ask.event.pass += i == 0 ? 1 : 0;
        if (i == 1) {
            ask.type[0] = 'x';
        }
        ask.barricade = i == 2;
        ask.weight_lb += i == 3 ? 1 : 0;
        ask.setting_count += i == 4 ? 1 : 0;
        ask.setting_lb[0] += i == 5 ? 500 : 0;
        if (i == 6) {
            ask.aid_type[0] = '\0';
        }
        ask.angle_deg_x100 += i == 7 ? 25 : 0;
        ask.target_wire += i == 8 ? 1 : 0;
        ask.less_headwind_kt += i == 9 ? 1 : 0;
        ask.pitch_deg_x10 += i == 10 ? 1 : 0;
        ask.less_headwind_kt = i == 11 ? TL_SEA_UNKNOWN : ask.less_headwind_kt;
        assert_true(tl_predictions_ask(&predictions, &ask, start_ms + 40));
        assert_memory_equal(&predictions.asked, &ask, sizeof ask);
        assert_false(tl_predictions_ask(&predictions, &ask, start_ms + 60));
    }
}

static void
nothing_is_asked_without_a_rule_or_an_aircraft(void **state)
{
    (void)state;
    struct tl_predictions predictions = {.wanted = false};
    struct tl_ask ask = question();
    assert_false(tl_predictions_ask(&predictions, &ask, start_ms));
    predictions.wanted = true;
    ask.event.pass = 0;
    assert_false(tl_predictions_ask(&predictions, &ask, start_ms));
    ask = question();
    assert_true(tl_predictions_ask(&predictions, &ask, start_ms));
}

static void
it_is_wanted_while_one_rule_on_a_computed_figure_is_on(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_predictions predictions = asked_once();
    tl_predictions_init(&predictions, &scene->config);
    assert_false(predictions.wanted);
    assert_int_equal(predictions.asked.event.pass, 0);
    for (uint32_t rule = 1; rule < TL_RULES_MAX; rule++) {
        const struct tl_rule_row *row = tl_rule_row(rule);
        bool before = scene->config.ship.rule_off[rule];
        scene->config.ship.rule_off[rule] = false;
        tl_predictions_init(&predictions, &scene->config);
        assert_int_equal(predictions.wanted, row != NULL && row->computed);
        scene->config.ship.rule_off[rule] = before;
    }
    free(scene);
}

/* Waves come and go: the worst of the last seconds is counted on. */
static void
a_better_sea_is_counted_on_after_its_time(void **state)
{
    (void)state;
    struct tl_predictions predictions = asked_once();
    struct tl_ask ask = question();
    uint64_t now_ms = start_ms + 40;
    ask.less_headwind_kt = -30;
    ask.pitch_deg_x10 = 0;
    for (; now_ms < start_ms + 40 + TL_SEA_BETTER_MS; now_ms += 20) {
        ask.pitch_deg_x10 = now_ms == start_ms + 2000 ? 2 : 0;
        ask.less_headwind_kt = now_ms == start_ms + 3000 ? -28 : -30;
        assert_false(tl_predictions_ask(&predictions, &ask, now_ms));
    }
    assert_true(tl_predictions_ask(&predictions, &ask, now_ms));
    assert_int_equal(predictions.asked.less_headwind_kt, -28);
    assert_int_equal(predictions.asked.pitch_deg_x10, 2);
    ask.pitch_deg_x10 = 3;
    assert_true(tl_predictions_ask(&predictions, &ask, now_ms + 20));
}

static void
a_sea_that_stays_is_not_asked_again(void **state)
{
    (void)state;
    struct tl_predictions predictions = asked_once();
    struct tl_ask ask = question();
    for (uint64_t now_ms = start_ms + 40; now_ms < start_ms + 4ull * TL_SEA_BETTER_MS;
         now_ms += 20) {
        assert_false(tl_predictions_ask(&predictions, &ask, now_ms));
    }
}

/* What is asked at once begins the wait anew. */
static void
a_question_ends_the_window(void **state)
{
    (void)state;
    struct tl_predictions predictions = asked_once();
    struct tl_ask ask = question();
    ask.pitch_deg_x10 = 1;
    assert_false(tl_predictions_ask(&predictions, &ask, start_ms + 40));
    assert_int_equal(predictions.window_ms, start_ms + 40);
    ask.weight_lb++;
    ask.pitch_deg_x10 = 0;
    assert_true(tl_predictions_ask(&predictions, &ask, start_ms + 4000));
    assert_int_equal(predictions.window_ms, 0);
    ask.less_headwind_kt--;
    assert_false(tl_predictions_ask(&predictions, &ask, start_ms + 4040));
    assert_false(tl_predictions_ask(&predictions, &ask, start_ms + 4039 + TL_SEA_BETTER_MS));
    assert_true(tl_predictions_ask(&predictions, &ask, start_ms + 4040 + TL_SEA_BETTER_MS));
    assert_int_equal(predictions.asked.less_headwind_kt, ask.less_headwind_kt);
    assert_int_equal(predictions.asked.pitch_deg_x10, 0);
    assert_int_equal(predictions.window_ms, 0);
}

/* ---- a sea that is worse than counted on ---- */

/* What is not computed counts on nothing, so that no sea is worse than it. */
static void
a_sea_is_late_for_what_was_computed_only(void **state)
{
    (void)state;
    for (int i = 0; i < 4; i++) {
        bool arrest = (i & 1) != 0;
        bool ramp = (i & 2) != 0;
        struct tl_outside outside = {
            .predicted = {.event = question().event,
                          .arrest = {.known = arrest, .headwind_kt_x10 = 260},
                          .ramp = {.known = ramp, .pitch_deg_x10 = 3}}};
        struct tl_ask ask = question();
        assert_int_equal(tl_predictions_date_sea(&outside, &ask, 100), arrest);
        assert_int_equal(outside.sea_late_ms, arrest ? 100 : 0);
        ask.less_headwind_kt = -26;
        (void)tl_predictions_date_sea(&outside, &ask, 120);
        assert_int_equal(outside.sea_late_ms, 0);
        ask.pitch_deg_x10 = TL_SEA_UNKNOWN;
        assert_int_equal(tl_predictions_date_sea(&outside, &ask, 140), ramp);
        assert_int_equal(outside.sea_late_ms, ramp ? 140 : 0);
        ask = question();
        ask.less_headwind_kt = TL_SEA_UNKNOWN;
        (void)tl_predictions_date_sea(&outside, &ask, 160);
        assert_int_equal(outside.sea_late_ms != 0, arrest);
    }
}

static void
the_moment_that_the_sea_grew_worse_is_dated_once(void **state)
{
    (void)state;
    struct tl_outside outside = {.predicted = {.event = {.recovery_ms = 5, .pass = 3},
                                               .arrest = {.known = true, .headwind_kt_x10 = 250},
                                               .ramp = {.known = true, .pitch_deg_x10 = 3}}};
    struct tl_ask ask = question();
    assert_false(tl_predictions_date_sea(&outside, &ask, 100));
    ask.less_headwind_kt = -24;
    assert_true(tl_predictions_date_sea(&outside, &ask, 120));
    assert_int_equal(outside.sea_late_ms, 120);
    assert_false(tl_predictions_date_sea(&outside, &ask, 140));
    assert_int_equal(outside.sea_late_ms, 120);
    ask.less_headwind_kt = -25;
    assert_true(tl_predictions_date_sea(&outside, &ask, 160));
    assert_int_equal(outside.sea_late_ms, 0);
    ask.pitch_deg_x10 = 4;
    assert_true(tl_predictions_date_sea(&outside, &ask, 180));
    assert_int_equal(outside.sea_late_ms, 180);
    ask.event.pass++;
    assert_true(tl_predictions_date_sea(&outside, &ask, 200));
    assert_int_equal(outside.sea_late_ms, 0);
}

/* An answer to an older question: the sea that it counts on has been gone for a while. */
static void
an_old_answer_is_late_since_the_sea_grew_worse(void **state)
{
    (void)state;
    struct tl_predictions predictions = asked_once();
    struct tl_outside outside = {.sea_late_ms = 0};
    struct tl_predicted old = {.event = {.recovery_ms = 5, .pass = 3},
                               .arrest = {.known = true, .headwind_kt_x10 = 250},
                               .ramp = {.known = true, .pitch_deg_x10 = 3}};
    struct tl_ask now = question();
    now.less_headwind_kt = -20;
    assert_true(tl_predictions_ask(&predictions, &now, start_ms + 100));
    now.less_headwind_kt = -18;
    assert_true(tl_predictions_ask(&predictions, &now, start_ms + 700));
    tl_predictions_take(&predictions, &outside, &old, &now);
    assert_int_equal(outside.sea_late_ms, start_ms + 100);
    assert_int_equal(outside.predicted.arrest.headwind_kt_x10, 250);
    assert_false(tl_predictions_date_sea(&outside, &now, start_ms + 720));
    assert_int_equal(outside.sea_late_ms, start_ms + 100);
    old.arrest.headwind_kt_x10 = 180;
    tl_predictions_take(&predictions, &outside, &old, &now);
    assert_int_equal(outside.sea_late_ms, 0);
    now.less_headwind_kt = -17;
    assert_true(tl_predictions_ask(&predictions, &now, start_ms + 900));
    tl_predictions_take(&predictions, &outside, &old, &now);
    assert_int_equal(outside.sea_late_ms, start_ms + 900);
}

/* A sensor is back: there is nothing to wait for. */
static void
a_sea_that_is_known_again_is_asked_at_once(void **state)
{
    (void)state;
    for (int i = 0; i < 2; i++) {
        struct tl_predictions predictions = asked_once();
        struct tl_ask lost = question();
        struct tl_ask back = question();
        if (i == 0) {
            lost.less_headwind_kt = TL_SEA_UNKNOWN;
        } else {
            lost.pitch_deg_x10 = TL_SEA_UNKNOWN;
        }
        assert_true(tl_predictions_ask(&predictions, &lost, start_ms + 20));
        assert_false(tl_predictions_ask(&predictions, &lost, start_ms + 40));
        assert_true(tl_predictions_ask(&predictions, &back, start_ms + 60));
        assert_memory_equal(&predictions.asked, &back, sizeof back);
    }
}

/* ---- travels ---- */

static struct scene *
trapped_scene(void)
{
    struct scene *scene = scene_ready_full();
    scene_compute(scene);
    scene->fold.list.trap[1] = scene_event();
    return scene;
}

static void
the_travel_of_a_trap_is_kept_for_its_engine(void **state)
{
    (void)state;
    struct scene *scene = trapped_scene();
    struct tl_outside *outside = &scene->outside;
    assert_true(tl_predictions_keep_traps(outside, &scene->fold));
    assert_int_equal(outside->expected_count, 1);
    assert_int_equal(outside->expected[0].unit, 2);
    assert_int_equal(outside->expected[0].ram_in_x10, 1800);
    assert_true(tl_event_equal(outside->expected[0].event, scene_event()));
    outside->predicted.arrest.would[0].expect_in_x10 = 1;
    assert_false(tl_predictions_keep_traps(outside, &scene->fold));
    assert_int_equal(outside->expected[0].ram_in_x10, 1800);
    scene->fold.list.trap[1].pass++;
    outside->predicted.event.pass++;
    assert_true(tl_predictions_keep_traps(outside, &scene->fold));
    assert_int_equal(outside->expected_count, 1);
    assert_int_equal(outside->expected[0].ram_in_x10, 1);
    free(scene);
}

static void
a_trap_that_was_not_computed_is_not_kept(void **state)
{
    (void)state;
    for (int i = 0; i < 4; i++) {
        struct scene *scene = trapped_scene();
        scene->outside.predicted.event.pass += i == 0 ? 1 : 0;
        scene->outside.predicted.arrest.known = i != 1;
        scene_held(scene, "engine-2", TL_DATUM_SET, 0)->datum.as.set_lb += i == 2 ? 500 : 0;
        scene_held(scene, "engine-2", TL_DATUM_SET, 0)->datum.known = i != 3;
        assert_false(tl_predictions_keep_traps(&scene->outside, &scene->fold));
        assert_int_equal(scene->outside.expected_count, 0);
        free(scene);
    }
}

/* Each engine has a place of its own, the newest trap in it. */
static void
the_travels_of_two_engines_are_kept_side_by_side(void **state)
{
    (void)state;
    struct scene *scene = trapped_scene();
    struct tl_outside *outside = &scene->outside;
    scene->fold.list.trap[3] = scene_event();
    assert_true(tl_predictions_keep_traps(outside, &scene->fold));
    assert_int_equal(outside->expected_count, 2);
    assert_int_equal(outside->expected[0].unit, 2);
    assert_int_equal(outside->expected[1].unit, 4);
    scene->fold.list.trap[3].pass++;
    outside->predicted.event.pass++;
    outside->predicted.arrest.would[0].expect_in_x10 = 7;
    assert_true(tl_predictions_keep_traps(outside, &scene->fold));
    assert_int_equal(outside->expected_count, 2);
    assert_int_equal(outside->expected[0].ram_in_x10, 1800);
    assert_int_equal(outside->expected[1].ram_in_x10, 7);
    assert_int_equal(outside->expected[1].event.pass, scene->fold.list.trap[3].pass);
    free(scene);
}

static void
what_has_no_place_changes_nothing(void **state)
{
    (void)state;
    struct scene *scene = trapped_scene();
    struct tl_outside *outside = &scene->outside;
    outside->expected_count = TL_ENGINES_MAX;
    for (uint32_t i = 0; i < TL_ENGINES_MAX; i++) {
        outside->expected[i] = (struct tl_expected){.unit = 11 + i, .ram_in_x10 = 5};
    }
    (void)tl_predictions_keep_traps(outside, &scene->fold);
    assert_int_equal(outside->expected_count, TL_ENGINES_MAX);
    for (uint32_t i = 0; i < TL_ENGINES_MAX; i++) {
        assert_int_equal(outside->expected[i].unit, 11 + i);
    }
    outside->expected[TL_ENGINES_MAX - 1].unit = 2;
    assert_true(tl_predictions_keep_traps(outside, &scene->fold));
    assert_int_equal(outside->expected[TL_ENGINES_MAX - 1].ram_in_x10, 1800);
    free(scene);
}

/* An engine that never trapped has no event: it is not one to keep. */
static void
nothing_is_kept_for_no_event(void **state)
{
    (void)state;
    struct scene *scene = trapped_scene();
    const struct tl_expected none = {.unit = 3, .ram_in_x10 = 1800};
    memset(&scene->fold.list.trap, 0, sizeof scene->fold.list.trap);
    memset(&scene->outside.predicted.event, 0, sizeof scene->outside.predicted.event);
    assert_false(tl_predictions_keep_traps(&scene->outside, &scene->fold));
    assert_false(tl_predictions_adopt(&scene->outside, &scene->fold, &none));
    assert_int_equal(scene->outside.expected_count, 0);
    free(scene);
}

/* Whichever engine it is, the first and the last too. */
static void
each_engine_keeps_its_own_travel(void **state)
{
    (void)state;
    for (uint32_t i = 0; i < 4; i++) {
        struct scene *scene = trapped_scene();
        struct tl_expected expected = {.unit = i + 1, .event = scene_event(), .ram_in_x10 = 9};
        memset(&scene->fold.list.trap, 0, sizeof scene->fold.list.trap);
        assert_false(tl_predictions_keep_traps(&scene->outside, &scene->fold));
        assert_false(tl_predictions_adopt(&scene->outside, &scene->fold, &expected));
        scene->fold.list.trap[i] = scene_event();
        assert_true(tl_predictions_keep_traps(&scene->outside, &scene->fold));
        assert_int_equal(scene->outside.expected[0].unit, i + 1);
        scene->outside.expected_count = 0;
        assert_true(tl_predictions_adopt(&scene->outside, &scene->fold, &expected));
        assert_int_equal(scene->outside.expected[0].ram_in_x10, 9);
        free(scene);
    }
}

/* The ship has an engine in its gear that nobody stands at. */
static void
an_engine_without_a_room_has_no_travel(void **state)
{
    (void)state;
    struct scene *scene = trapped_scene();
    const struct tl_expected expected = {.unit = 9, .event = scene_event(), .ram_in_x10 = 3};
    scene->config.gear.engine_count = 5; /* unit 9 stands in the fifth place */
    scene->fold.list.trap[1] = (struct tl_event){0};
    scene->fold.list.trap[4] = scene_event();
    assert_false(tl_predictions_keep_traps(&scene->outside, &scene->fold));
    assert_true(tl_predictions_adopt(&scene->outside, &scene->fold, &expected));
    free(scene);
}

static void
the_other_validators_travel_is_taken_where_it_is_missing(void **state)
{
    (void)state;
    struct scene *scene = trapped_scene();
    struct tl_expected expected = {.unit = 2, .event = scene_event(), .ram_in_x10 = 1790};
    struct tl_expected other = expected;
    other.event.pass++;
    assert_false(tl_predictions_adopt(&scene->outside, &scene->fold, &other));
    other = expected;
    other.unit = 3;
    assert_false(tl_predictions_adopt(&scene->outside, &scene->fold, &other));
    other.unit = 9;
    assert_false(tl_predictions_adopt(&scene->outside, &scene->fold, &other));
    assert_true(tl_predictions_adopt(&scene->outside, &scene->fold, &expected));
    assert_int_equal(scene->outside.expected[0].ram_in_x10, 1790);
    expected.ram_in_x10 = 5;
    assert_false(tl_predictions_adopt(&scene->outside, &scene->fold, &expected));
    assert_int_equal(scene->outside.expected[0].ram_in_x10, 1790);
    free(scene);
}

/* The event has left the list, and the engine's room still has its arrest. */
static void
a_travel_is_taken_for_an_arrest_that_was_read(void **state)
{
    (void)state;
    struct scene *scene = trapped_scene();
    struct tl_expected expected = {.unit = 3, .event = {.recovery_ms = 5, .pass = 9}};
    struct tl_held *held = scene_held(scene, "engine-3", TL_DATUM_ARREST, 0);
    held->datum.known = true;
    held->datum.as.arrest.event = expected.event;
    assert_true(tl_predictions_adopt(&scene->outside, &scene->fold, &expected));
    scene->outside.expected_count = 0;
    expected.event.pass++;
    assert_false(tl_predictions_adopt(&scene->outside, &scene->fold, &expected));
    expected.event.pass--;
    held->datum.known = false;
    assert_false(tl_predictions_adopt(&scene->outside, &scene->fold, &expected));
    free(scene);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_change_of_a_word_is_asked_at_once),
        cmocka_unit_test(nothing_is_asked_without_a_rule_or_an_aircraft),
        cmocka_unit_test(it_is_wanted_while_one_rule_on_a_computed_figure_is_on),
        cmocka_unit_test(a_better_sea_is_counted_on_after_its_time),
        cmocka_unit_test(a_sea_that_stays_is_not_asked_again),
        cmocka_unit_test(a_question_ends_the_window),
        cmocka_unit_test(a_sea_is_late_for_what_was_computed_only),
        cmocka_unit_test(the_moment_that_the_sea_grew_worse_is_dated_once),
        cmocka_unit_test(an_old_answer_is_late_since_the_sea_grew_worse),
        cmocka_unit_test(a_sea_that_is_known_again_is_asked_at_once),
        cmocka_unit_test(the_travel_of_a_trap_is_kept_for_its_engine),
        cmocka_unit_test(a_trap_that_was_not_computed_is_not_kept),
        cmocka_unit_test(the_travels_of_two_engines_are_kept_side_by_side),
        cmocka_unit_test(what_has_no_place_changes_nothing),
        cmocka_unit_test(nothing_is_kept_for_no_event),
        cmocka_unit_test(each_engine_keeps_its_own_travel),
        cmocka_unit_test(an_engine_without_a_room_has_no_travel),
        cmocka_unit_test(the_other_validators_travel_is_taken_where_it_is_missing),
        cmocka_unit_test(a_travel_is_taken_for_an_arrest_that_was_read),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
