/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_engine - an engine's service, its last arrest, the pendants' life, the aircraft's weight
 *
 * Figures with their published source: crosshead to stop, NAVEDTRA 14310 p. 117; inspection after
 * landings, the same p. 131; off-centre engagement, NAVEDTRA 14001 p. 93; run back after the stop,
 * the same p. 135. Life of a pendant, 125 traps: press articles, as quoted. The other bounds are
 * those of the ship in memory.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rules/words.h"

#define ENGINE(what, ...)  "engine-2", TL_DATUM_##what, 0, {__VA_ARGS__}, 0, 0
#define BOOK(what, n, ...) "gear-officer", TL_DATUM_##what, n, {__VA_ARGS__}, 0, 0

/* clang-format off */
static const struct word_row rows[] = {
    {"service not said", UNSAID("engine-2", SERVICE, 0), "service-unknown:engine-2?"},
    {"out of service, pendant rigged", ENGINE(SERVICE, .as.service = {TL_SERVICE_OUT, 0}), "inactive-rigged:wires"},
    {"back from a job, not signed off", ENGINE(SERVICE, .as.service = {TL_SERVICE_IN, 12}), "not-signed-off:engine-2"},
    {"fault code", ENGINE(FAULT, .as.fault = {TL_FAULT_STATE_ACTIVE, 31}), "engine-fault:engine-2"},
    {"fault not read", UNSAID("engine-2", FAULT, 0), "engine-fault:engine-2?"},
    {"fluid low", ENGINE(FLUID, .as.fluid = TL_FLUID_LOW), "fluid-level:engine-2"},
    {"fluid high", ENGINE(FLUID, .as.fluid = TL_FLUID_HIGH), "fluid-level:engine-2"},
    {"fluid not said", UNSAID("engine-2", FLUID, 0), "fluid-level:engine-2?"},
    {"inspection found something", BOOK(INSPECTED, 2, .as.inspected = {TL_INSPECTION_FOUND, "Ash"}), "inspection-overdue:gear-officer"},
    {"inspection not said", UNSAID("gear-officer", INSPECTED, 2), "inspection-overdue:gear-officer?"},
    {"pendant 124 traps", BOOK(PENDANT_LIFE, 2, .as.pendant_life.traps = 124), ""},
    {"pendant 125 traps", BOOK(PENDANT_LIFE, 2, .as.pendant_life.traps = 125), "pendant-life:gear-officer"},
    {"traps not said", UNSAID("gear-officer", PENDANT_LIFE, 2), "pendant-life:gear-officer?"},
    {"ram 190.0 in", ENGINE(ARREST, .as.arrest = {{4000, 3}, 1900, 0, 0, 0}), ""},
    {"ram 190.1 in", ENGINE(ARREST, .as.arrest = {{4000, 3}, 1901, 0, 0, 0}), "ram-travel:engine-2"},
    {"20.0 ft off centre", ENGINE(ARREST, .as.arrest = {{4000, 3}, 1800, 200, 0, 0}), ""},
    {"20.1 ft off centre", ENGINE(ARREST, .as.arrest = {{4000, 3}, 1800, 201, 0, 0}), "off-centre:engine-2"},
    {"sides 4.0 in apart", ENGINE(ARREST, .as.arrest = {{4000, 3}, 1800, 0, 40, 0}), ""},
    {"sides 4.1 in apart", ENGINE(ARREST, .as.arrest = {{4000, 3}, 1800, 0, 41, 0}), "sides-unequal:engine-2"},
    {"ran back 10.1 ft, a note", ENGINE(ARREST, .as.arrest = {{4000, 3}, 1800, 0, 0, 101}), ""},
    {"at its trap weight", "approach", TL_DATUM_INBOUND, SCENE_SIDE, {.as.inbound = {.side = SCENE_SIDE, .type = "plover", .weight_lb = 34000}}, 0, 0, ""},
    {"a pound over", "approach", TL_DATUM_INBOUND, SCENE_SIDE, {.as.inbound = {.side = SCENE_SIDE, .type = "plover", .weight_lb = 34001}}, 0, 0, "over-trap-weight:approach"},
    {"weight not known", UNSAID("approach", INBOUND, SCENE_SIDE), "over-trap-weight:approach?"},
};
/* clang-format on */

static void
each_word_is_asked_for(void **state)
{
    (void)state;
    words_each(rows, sizeof rows / sizeof rows[0]);
}

static void
nothing_is_proven_while_one_is_missing_or_bad(void **state)
{
    (void)state;
    words_unproven(rows, sizeof rows / sizeof rows[0]);
}

static void
arrest(struct scene *scene, uint32_t ram_in_x10)
{
    scene_held(scene, "engine-2", TL_DATUM_ARREST, 0)->datum.as.arrest =
        (struct tl_arrest){.event = {4000, 3}, .ram_in_x10 = ram_in_x10};
}

/* Freed for that very pass and engine, and not for another. */
static void
an_engine_beyond_its_limits_is_out_until_it_is_freed_by_name(void **state)
{
    static const struct {
        uint32_t unit;
        struct tl_event event;
        const char *causes;
    } table[] = {
        {2, {4000, 3}, ""},
        {2, {4000, 2}, "ram-travel:engine-2"},
        {2, {3999, 3}, "ram-travel:engine-2"},
        {3, {4000, 3}, "ram-travel:engine-2"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct scene *scene = scene_ready_full();
        scene_expect(scene, "before", "");
        arrest(scene, 1950);
        scene_expect(scene, "beyond", "ram-travel:engine-2");
        scene_held(scene, "gear-officer", TL_DATUM_FREED, table[i].unit)->datum.as.freed =
            (struct tl_freed){.event = table[i].event, .name = "Rowan"};
        scene_expect(scene, "freed", table[i].causes);
        assert_int_equal(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS),
                         table[i].causes[0] == '\0');
        free(scene);
    }
}

/* The other way out: its room takes it out of use, its pendant is off, and the aid re-aimed. */
static void
an_engine_taken_out_leaves_the_rest_usable(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    arrest(scene, 1950);
    scene_expect(scene, "beyond", "ram-travel:engine-2");
    scene_held(scene, "engine-2", TL_DATUM_SERVICE, 0)->datum.as.service.state = TL_SERVICE_OUT;
    scene_expect(scene, "out", "inactive-rigged:wires");
    scene_held(scene, "wires", TL_DATUM_RIG, 2)->datum.as.rig = TL_RIG_STRIPPED;
    scene_expect(scene, "stripped: 1, 3 and 4 are left", "");
    /* what it had owed is not asked for */
    scene_drop(scene, "engine-2", TL_DATUM_SET, 0);
    scene_drop(scene, "engine-2", TL_DATUM_BATTERY, 0);
    scene_drop(scene, "engine-2", TL_DATUM_FLUID, 0);
    scene_drop(scene, "primary", TL_DATUM_REPEATER, 2);
    scene_expect(scene, "it owes nothing else", "");
    scene_held(scene, "engine-3", TL_DATUM_SERVICE, 0)->datum.as.service.state = TL_SERVICE_OUT;
    scene_held(scene, "wires", TL_DATUM_RIG, 3)->datum.as.rig = TL_RIG_STRIPPED;
    scene_held(scene, "aid", TL_DATUM_AID, 0)->datum.as.aid.target_wire = 4;
    scene_expect(scene, "two wires", "too-few-wires");
    free(scene);
}

/* The last wire that a ship can have is a wire like the others. */
static void
the_aid_may_be_aimed_at_the_highest_wire(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    static const char *const stations[] = {"wires", "gear-officer"};
    scene->config.gear.engine[3].wire = TL_ENGINES_MAX;
    scene->config.gear.target_of_usable[3] = 4;
    for (size_t i = 0; i < sizeof stations / sizeof stations[0]; i++) {
        struct tl_told *told = scene_told(scene, stations[i]);
        for (uint32_t k = 0; k < told->held_count; k++) {
            enum tl_datum_kind kind = told->held[k].datum.kind;
            bool of_wire = kind == TL_DATUM_RIG || kind == TL_DATUM_SHEAVE ||
                           kind == TL_DATUM_PENDANT || kind == TL_DATUM_PENDANT_LIFE;
            uint32_t *slot = &told->held[k].datum.slot;
            *slot = of_wire && *slot == 4 ? (uint32_t)TL_ENGINES_MAX : *slot;
        }
    }
    scene_expect(scene, "at the 3rd", "aid-not-on-target:aid");
    scene_held(scene, "aid", TL_DATUM_AID, 0)->datum.as.aid.target_wire = TL_ENGINES_MAX;
    scene_expect(scene, "at the last", "");
    free(scene);
}

/* 3rd of 4, 2nd of 3, counted from the ramp, whichever is out. */
static void
the_aid_is_aimed_anew_when_a_wire_goes(void **state)
{
    static const uint32_t second_of_the_rest[] = {3, 3, 2, 2};

    (void)state;
    for (uint32_t out = 1; out <= 4; out++) {
        struct scene *scene = scene_ready_full();
        char id[] = "engine-0";
        id[7] = (char)('0' + out);
        scene_expect(scene, "before, 3rd of 4", "");
        scene_held(scene, id, TL_DATUM_SERVICE, 0)->datum.as.service.state = TL_SERVICE_OUT;
        scene_held(scene, "wires", TL_DATUM_RIG, out)->datum.as.rig = TL_RIG_STRIPPED;
        for (uint32_t wire = 1; wire <= 4; wire++) {
            scene_held(scene, "aid", TL_DATUM_AID, 0)->datum.as.aid.target_wire = wire;
            bool right = wire == second_of_the_rest[out - 1];
            scene_expect(scene, "2nd of 3", right ? "" : "aid-not-on-target:aid");
        }
        free(scene);
    }
}

static void
all_engines_out_is_no_engine(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    for (uint32_t unit = 1; unit <= 4; unit++) {
        char id[] = "engine-0";
        id[7] = (char)('0' + unit);
        scene_held(scene, id, TL_DATUM_SERVICE, 0)->datum.as.service.state = TL_SERVICE_OUT;
        scene_held(scene, "wires", TL_DATUM_RIG, unit)->datum.as.rig = TL_RIG_STRIPPED;
    }
    scene_expect(scene, "all out", "no-engine too-few-wires");
    free(scene);
}

static void
a_job_is_signed_off_by_its_number(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_held(scene, "engine-2", TL_DATUM_SERVICE, 0)->datum.as.service.job = 12;
    struct tl_signed_off *off =
        &scene_held(scene, "gear-officer", TL_DATUM_SIGNED_OFF, 2)->datum.as.signed_off;
    *off = (struct tl_signed_off){11, "Rowan"};
    scene_expect(scene, "another job", "not-signed-off:engine-2");
    off->job = 12;
    scene_expect(scene, "that job", "");
    free(scene);
}

/* The wire that was caught is read by its own room, for that pass. */
static void
a_trap_is_read_before_the_engine_is_used_again(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene->fold.list.trap[1] = (struct tl_event){4000, 3};
    scene_expect(scene, "unread", "arrest-unread:engine-2?");
    assert_false(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
    scene_held(scene, "engine-2", TL_DATUM_ARREST, 0)->datum.as.arrest =
        (struct tl_arrest){.event = {4000, 2}, .ram_in_x10 = 1800};
    scene_expect(scene, "another pass", "arrest-unread:engine-2?");
    arrest(scene, 1800);
    scene_expect(scene, "read", "");
    scene->fold.list.current_since_ms = SCENE_NOW_MS - 60000;
    scene_drop(scene, "engine-2", TL_DATUM_ARREST, 0);
    scene_expect(scene, "due", "arrest-unread:engine-2!");
    free(scene);
}

/* The platform's word says which; a corrected word moves it, an older pass does not undo a newer. */
static void
which_engine_has_an_arrest_to_read_follows_the_result(void **state)
{
    static const struct tl_event first = {5000, 1};

    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_held *held = scene_held(scene, "platform", TL_DATUM_RESULT, 1);
    const struct tl_event *trap = scene->fold.list.trap;
    held->datum.as.result = (struct tl_result){TL_OUTCOME_TRAP, 2};
    (void)tl_events_update(&scene->fold, SCENE_NOW_MS);
    assert_true(tl_event_equal(trap[1], first));
    held->datum.as.result.wire = 3;
    (void)tl_events_update(&scene->fold, SCENE_NOW_MS);
    assert_false(tl_event_is(trap[1]));
    assert_true(tl_event_equal(trap[2], first));
    held->datum.as.result = (struct tl_result){TL_OUTCOME_BOLTER, 0};
    (void)tl_events_update(&scene->fold, SCENE_NOW_MS);
    assert_false(tl_event_is(trap[2]));
    scene->fold.list.trap[3] = (struct tl_event){5000, 2};
    held->datum.as.result = (struct tl_result){TL_OUTCOME_TRAP, 4};
    (void)tl_events_update(&scene->fold, SCENE_NOW_MS);
    assert_int_equal(trap[3].pass, 2);
    free(scene);
}

/* It may have been any: each is asked, until the platform's word is corrected. */
static void
a_trap_on_a_wire_that_is_not_there_is_to_be_read_by_each(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    const struct tl_event *trap = scene->fold.list.trap;
    struct tl_held *held = scene_held(scene, "platform", TL_DATUM_RESULT, 1);
    held->datum.as.result = (struct tl_result){TL_OUTCOME_TRAP, 5};
    (void)tl_events_update(&scene->fold, SCENE_NOW_MS);
    for (uint32_t i = 0; i < 4; i++) {
        assert_int_equal(trap[i].pass, 1);
    }
    held->datum.as.result.wire = 3;
    (void)tl_events_update(&scene->fold, SCENE_NOW_MS);
    for (uint32_t i = 0; i < 4; i++) {
        assert_int_equal(trap[i].pass, i == 2 ? 1 : 0);
    }
    free(scene);
}

static void
notes_are_made_before_a_pendant_ends_and_of_a_walk_back(void **state)
{
    static const struct {
        uint32_t traps;
        bool near;
    } table[] = {{109, false}, {110, true}, {124, true}, {125, false}};

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct scene *scene = scene_ready_full();
        char causes[256];
        scene_held(scene, "gear-officer", TL_DATUM_PENDANT_LIFE, 3)->datum.as.pendant_life.traps =
            table[i].traps;
        (void)scene_causes(scene, causes, sizeof causes);
        const struct tl_cause *cause = words_cause(scene, TL_RULE_PENDANT_LIFE_NEAR);
        assert_int_equal(cause != NULL, table[i].near);
        assert_true(cause == NULL || cause->reported.number == 3);
        free(scene);
    }
    struct scene *scene = scene_ready_full();
    struct tl_arrest *read = &scene_held(scene, "engine-2", TL_DATUM_ARREST, 0)->datum.as.arrest;
    *read = (struct tl_arrest){.event = {4000, 3}, .ram_in_x10 = 1800, .walk_back_ft_x10 = 100};
    scene_expect(scene, "ran back 10.0 ft", "");
    assert_null(words_cause(scene, TL_RULE_WALK_BACK));
    read->walk_back_ft_x10 = 101;
    scene_expect(scene, "ran back 10.1 ft", "");
    assert_non_null(words_cause(scene, TL_RULE_WALK_BACK));
    free(scene);
}

/* Light is set below the aircraft by more than the tolerance, where the type allows its weight. */
static void
a_setting_below_the_actual_weight_is_told_once(void **state)
{
    static const struct {
        uint32_t set_lb, actual_lb, max_trap_lb;
        const char *causes;
    } table[] = {
        {34000, 34500, 34500, ""},
        {34000, 34501, 34501, "setting-light:engine-2 setting-light:engine-1"},
        {34000, 34501, 34500, "over-trap-weight:approach"},
        {33500, 34001, 34500, "setting-light:engine-2"},
        {40000, 34501, 34501, "setting-other-aircraft:engine-2 setting-light:engine-1"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct scene *scene = scene_ready_full();
        char causes[256];
        scene->config.type[1].max_trap_lb = table[i].max_trap_lb;
        scene_held(scene, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->datum.as.inbound.weight_lb =
            table[i].actual_lb;
        scene_held(scene, "engine-2", TL_DATUM_SET, 0)->datum.as.set_lb = table[i].set_lb;
        (void)scene_causes(scene, causes, sizeof causes);
        bool two = strstr(causes, "setting-light:engine-2") != NULL;
        bool one = strstr(causes, "setting-light:engine-1") != NULL;
        if (two != (strstr(table[i].causes, "light:engine-2") != NULL) ||
            one != (strstr(table[i].causes, "light:engine-1") != NULL) ||
            (strstr(causes, "over-trap") != NULL) != (strstr(table[i].causes, "over") != NULL)) {
            fail_msg("row %zu: %s", i, causes);
        }
        assert_int_equal(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS),
                         table[i].causes[0] == '\0');
        free(scene);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_word_is_asked_for),
        cmocka_unit_test(nothing_is_proven_while_one_is_missing_or_bad),
        cmocka_unit_test(an_engine_beyond_its_limits_is_out_until_it_is_freed_by_name),
        cmocka_unit_test(an_engine_taken_out_leaves_the_rest_usable),
        cmocka_unit_test(the_aid_is_aimed_anew_when_a_wire_goes),
        cmocka_unit_test(the_aid_may_be_aimed_at_the_highest_wire),
        cmocka_unit_test(all_engines_out_is_no_engine),
        cmocka_unit_test(a_job_is_signed_off_by_its_number),
        cmocka_unit_test(a_trap_is_read_before_the_engine_is_used_again),
        cmocka_unit_test(which_engine_has_an_arrest_to_read_follows_the_result),
        cmocka_unit_test(a_trap_on_a_wire_that_is_not_there_is_to_be_read_by_each),
        cmocka_unit_test(notes_are_made_before_a_pendant_ends_and_of_a_walk_back),
        cmocka_unit_test(a_setting_below_the_actual_weight_is_told_once),
    };
    return cmocka_run_group_tests_name("rules_engine", tests, NULL, NULL);
}
