/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_gear - the rules of the deck edge, gauges, cables, tracks, aid and barricade, one at a time
 *
 * Each row changes one word of a READY ship and names exactly what must then be said. Figures with
 * their published source: sheave interlock and bypass, NAVEDTRA 14001 p. 100; pendant heights 2.00
 * and 5.50 in, NAVEDTRA 14001 p. 104, fig. 3-30; detorque at 50 to 60, then every 200, crosshead
 * gap of 1 in, NAVEDTRA 14310 p. 117; pendant of an engine out of use, NAVEDTRA 14310 p. 133 and
 * 14001 p. 137; stanchions, 1,500 psi and three cycles, NAVEDTRA 14001 p. 116. The accumulator band
 * is invented around a figure from memory.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "tests/rules/words.h"

#define SHEAVE(wire, s, b) "wires", TL_DATUM_SHEAVE, wire, {.as.sheave = {TL_SHEAVE_##s, b}}, 0, 0
#define PENDANT(wire, s, l, h)                                                                     \
    "wires", TL_DATUM_PENDANT, wire, {.as.pendant = {TL_PENDANT_##s, l, h}}, 0, 0

/* clang-format off */
static const struct word_row rows[] = {
    {"sheave down", SHEAVE(2, DOWN, false), "sheave-down:wires"},
    {"sheave not said", UNSAID("wires", SHEAVE, 2), "sheave-down:wires?"},
    {"up and bypassed with its pendant", SHEAVE(2, UP, true), "bypass-with-pendant:wires"},
    {"down and bypassed with its pendant", SHEAVE(2, DOWN, true), "bypass-with-pendant:wires"},
    {"rig not said", UNSAID("wires", RIG, 3), "rig-unknown:wires?"},
    {"stripped, sheave up", "wires", TL_DATUM_RIG, 2, {.as.rig = TL_RIG_STRIPPED}, 0, 0, ""},
    {"low 1.99", PENDANT(1, GOOD, 199, 490), "pendant-height:wires"},
    {"low 2.00", PENDANT(1, GOOD, 200, 490), ""},
    {"high 5.50", PENDANT(1, GOOD, 275, 550), ""},
    {"high 5.51", PENDANT(1, GOOD, 275, 551), "pendant-height:wires"},
    {"pendant not said", UNSAID("wires", PENDANT, 4), "pendant-height:wires?"},
    {"pendant worn", PENDANT(4, WORN, 275, 490), "pendant-worn:wires"},
    {"worn, and not measured", PENDANT(4, WORN, 0, 0), "pendant-worn:wires"},
    {"worn and low", PENDANT(4, WORN, 199, 490), "pendant-height:wires pendant-worn:wires"},
    {"a support down", PENDANT(4, SUPPORT, 275, 490), "pendant-worn:wires"},
    {"off centre", PENDANT(4, OFF_CENTRE, 275, 490), "pendant-worn:wires"},
    {"wire held", "wires", TL_DATUM_FREE, 0, {.as.free = {TL_FREE_HELD, 3}}, 0, 0, "wire-not-free:wires?"},
    {"free not said", UNSAID("wires", FREE, 0), "wire-not-free:wires?"},
    {"free for another event", ELSEWHERE("wires", FREE, 0), "wire-not-free:wires?"},
    {"retract running", "wires", TL_DATUM_RETRACT, 0, {.as.retract = {TL_RETRACT_RUNNING, 3}}, 0, 0, "retract-running:wires?"},
    {"retract not said", UNSAID("wires", RETRACT, 0), "retract-running:wires?"},
    {"379 psi", "engine-2", TL_DATUM_ACCUMULATOR, 0, {.as.accumulator_psi = 379}, 0, 0, "accumulator-pressure:engine-2"},
    {"380 psi", "engine-2", TL_DATUM_ACCUMULATOR, 0, {.as.accumulator_psi = 380}, 0, 0, ""},
    {"430 psi", "engine-2", TL_DATUM_ACCUMULATOR, 0, {.as.accumulator_psi = 430}, 0, 0, ""},
    {"431 psi", "engine-2", TL_DATUM_ACCUMULATOR, 0, {.as.accumulator_psi = 431}, 0, 0, "accumulator-pressure:engine-2"},
    {"pressure not said", UNSAID("engine-2", ACCUMULATOR, 0), "accumulator-pressure:engine-2?"},
    {"gap 0.99 in", "engine-1", TL_DATUM_CROSSHEAD, 0, {.as.crosshead_in_x100 = 99}, 0, 0, "crosshead-gap:engine-1"},
    {"gap 1.00 in", "engine-1", TL_DATUM_CROSSHEAD, 0, {.as.crosshead_in_x100 = 100}, 0, 0, ""},
    {"gap not said", UNSAID("engine-1", CROSSHEAD, 0), "crosshead-gap:engine-1?"},
    {"60 traps", "gear-officer", TL_DATUM_CABLE, 2, {.as.cable = {.wear.traps = 60}}, 0, 0, ""},
    {"61 traps", "gear-officer", TL_DATUM_CABLE, 2, {.as.cable = {.wear.traps = 61}}, 0, 0, "detorque-overdue:gear-officer"},
    {"250 traps, detorqued at 50", "gear-officer", TL_DATUM_CABLE, 2, {.as.cable = {.wear.traps = 250, .detorqued_at = 50}}, 0, 0, ""},
    {"251 traps, detorqued at 50", "gear-officer", TL_DATUM_CABLE, 2, {.as.cable = {.wear.traps = 251, .detorqued_at = 50}}, 0, 0, "detorque-overdue:gear-officer"},
    {"450 traps, detorqued at 250", "gear-officer", TL_DATUM_CABLE, 2, {.as.cable = {.wear.traps = 450, .detorqued_at = 250}}, 0, 0, ""},
    {"count not said", UNSAID("gear-officer", CABLE, 2), "detorque-overdue:gear-officer?"},
    {"slot open", "tracks", TL_DATUM_TRACK, 2, {.as.track = TL_TRACK_OPEN}, 0, 0, "track-open:tracks"},
    {"deflector up", "tracks", TL_DATUM_TRACK, 1, {.as.track = TL_TRACK_DEFLECTOR}, 0, 0, "track-open:tracks"},
    {"shuttle in the area", "tracks", TL_DATUM_TRACK, 1, {.as.track = TL_TRACK_SHUTTLE}, 0, 0, "track-open:tracks"},
    {"crew not clear", "tracks", TL_DATUM_TRACK, 1, {.as.track = TL_TRACK_CREW}, 0, 0, "track-open:tracks"},
    {"track not said", UNSAID("tracks", TRACK, 2), "track-open:tracks?"},
    {"track for another event", ELSEWHERE("tracks", TRACK, 2), "track-open:tracks?"},
    {"aid for curlew", "aid", TL_DATUM_AID, 0, {.as.aid = {TL_AID_WORKING, "curlew", 350, 3}}, 0, 0, "aid-not-for-type:aid"},
    {"aid for dunlin, same distance", "aid", TL_DATUM_AID, 0, {.as.aid = {TL_AID_WORKING, "dunlin", 350, 3}}, 0, 0, ""},
    {"aid for a type not in the table", "aid", TL_DATUM_AID, 0, {.as.aid = {TL_AID_WORKING, "stint", 350, 3}}, 0, 0, "aid-not-for-type:aid"},
    {"aid not said", UNSAID("aid", AID, 0), "aid-not-for-type:aid?"},
    {"aid for another event", ELSEWHERE("aid", AID, 0), "aid-not-for-type:aid?"},
    {"aid at fault", "aid", TL_DATUM_AID, 0, {.as.aid = {TL_AID_FAULT, "", 0, 0}}, 0, 0, "aid-fault:aid"},
    {"barricade half rigged", "barricade", TL_DATUM_BARRICADE, 0, {.as.barricade = {TL_BARRICADE_PARTIAL, false}}, 0, 0, "barricade-not-stowed:barricade"},
    {"barricade rigged", "barricade", TL_DATUM_BARRICADE, 0, {.as.barricade = {TL_BARRICADE_RIGGED, false}}, 0, 0, "barricade-not-stowed:barricade"},
    {"barricade not said", UNSAID("barricade", BARRICADE, 0), "barricade-not-stowed:barricade?"},
    {"stanchions raised", "wires", TL_DATUM_STANCHIONS, 0, {.as.stanchions = TL_STANCHION_RAISED}, 0, 0, "barricade-not-stowed:wires"},
    {"stanchions not said", UNSAID("wires", STANCHIONS, 0), "barricade-not-stowed:wires?"},
    {"1,499 psi", "barricade", TL_DATUM_BARRICADE_POWER, 0, {.as.barricade_power = {1499, 0}}, 0, 0, "barricade-power:barricade"},
    {"1,500 psi", "barricade", TL_DATUM_BARRICADE_POWER, 0, {.as.barricade_power = {1500, 0}}, 0, 0, ""},
    {"a fourth cycle", "barricade", TL_DATUM_BARRICADE_POWER, 0, {.as.barricade_power = {1500, 4}}, 0, 0, "barricade-power:barricade"},
    {"stanchion pressure not said", UNSAID("barricade", BARRICADE_POWER, 0), "barricade-power:barricade?"},
    {"secure, whatever the pressure", "barricade", TL_DATUM_BARRICADE, 0, {.as.barricade = {TL_BARRICADE_SECURE, false}}, 0, 0, ""},
    {"safety says stop", "safety", TL_DATUM_DECK, 0, {.as.deck = {.state = TL_DECK_STOP}}, 0, 0, "stop:safety"},
    {"safety has not spoken", UNSAID("safety", DECK, 0), "foul-word-missing:safety?"},
    {"the gear officer's foul", "gear-officer", TL_DATUM_DECK, 0, {.as.deck = {TL_DECK_FOUL, TL_FOUL_WIRE, 10, false}}, 0, 0, "deck-foul:gear-officer"},
};
/* clang-format on */

static void
each_word_of_the_gear_is_asked_for(void **state)
{
    (void)state;
    words_each(rows, sizeof rows / sizeof rows[0]);
}

/*
 * The second barrier, without the rules. Two rules of effect hold are about the books and the
 * barricade's pressure, which no fact of this pass rests on.
 */
static void
nothing_is_proven_while_a_word_of_the_gear_is_missing_or_bad(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct scene *scene = scene_ready_full();
        assert_true(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
        words_spoil(scene, &rows[i]);
        bool books = strstr(rows[i].causes, "detorque") != NULL ||
                     strstr(rows[i].causes, "barricade-power") != NULL;
        bool proven = tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS);
        if (!books && proven != (rows[i].causes[0] == '\0')) {
            fail_msg("%s: proven %d", rows[i].name, proven);
        }
        free(scene);
    }
}

/* NAVEDTRA 14001 p. 100: sheave, bypass, pendant; each of the eight. */
static void
the_sheave_interlock_is_the_published_truth_table(void **state)
{
    static const struct {
        bool up, bypassed, rigged;
        const char *causes;
    } table[] = {
        {true, false, true, ""},
        {true, false, false, ""},
        {false, false, true, "sheave-down:wires"},
        {false, false, false, "sheave-down:wires"},
        {false, true, false, ""},
        {true, true, false, ""},
        {false, true, true, "bypass-with-pendant:wires"},
        {true, true, true, "bypass-with-pendant:wires"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct scene *scene = scene_ready_full();
        struct tl_sheave *sheave = &scene_held(scene, "wires", TL_DATUM_SHEAVE, 3)->datum.as.sheave;
        sheave->state = table[i].up ? TL_SHEAVE_UP : TL_SHEAVE_DOWN;
        sheave->bypassed = table[i].bypassed;
        scene_held(scene, "wires", TL_DATUM_RIG, 3)->datum.as.rig =
            table[i].rigged ? TL_RIG_RIGGED : TL_RIG_STRIPPED;
        scene_held(scene, "aid", TL_DATUM_AID, 0)->datum.as.aid.target_wire =
            table[i].rigged ? 3 : 2; /* the 3rd of 4, the 2nd of 1, 2 and 4 */
        scene_expect(scene, table[i].causes, table[i].causes);
        assert_int_equal(scene->decision.clear_refused, table[i].causes[0] != '\0');
        free(scene);
    }
}

/* NAVEDTRA 14310 p. 117: due at 50, overdue past 60; then 250, 450, ... */
static void
a_cable_is_due_for_detorque_before_it_is_overdue(void **state)
{
    static const struct {
        uint32_t traps, at;
        bool due;
    } table[] = {
        {49, 0, false},  {50, 0, true},    {60, 0, true},     {61, 0, false},   {249, 50, false},
        {250, 50, true}, {251, 50, false}, {449, 250, false}, {450, 250, true},
    };

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct scene *scene = scene_ready_full();
        char causes[256];
        scene_held(scene, "gear-officer", TL_DATUM_CABLE, 1)->datum.as.cable =
            (struct tl_cable){.wear.traps = table[i].traps, .detorqued_at = table[i].at};
        (void)scene_causes(scene, causes, sizeof causes);
        bool due = false;
        for (uint32_t k = 0; k < scene->decision.cause_count; k++) {
            due = due || scene->decision.cause[k].rule == TL_RULE_DETORQUE_DUE;
        }
        if (due != table[i].due) {
            fail_msg("%u traps, detorqued at %u", table[i].traps, table[i].at);
        }
        free(scene);
    }
}

/* What is missing is named by its number, in the words that people read. */
static void
a_missing_word_is_named_by_its_number(void **state)
{
    static const struct {
        const char *station;
        enum tl_datum_kind kind;
        uint32_t slot;
        const char *text;
    } table[] = {
        {"gear-officer", TL_DATUM_CABLE, 2, "gear-officer: cable count not yet reported: engine 2"},
        {"wires", TL_DATUM_SHEAVE, 3, "wires: sheave not yet reported: wire 3"},
        {"wires", TL_DATUM_PENDANT, 4, "wires: pendant height not yet reported: wire 4"},
        {"tracks", TL_DATUM_TRACK, 2, "tracks: track not yet reported: track 2"},
        {"engine-2", TL_DATUM_ACCUMULATOR, 0, "engine 2: accumulator not yet reported"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct scene *scene = scene_ready_full();
        char causes[256];
        char text[TL_TEXT_CAP];
        scene_drop(scene, table[i].station, table[i].kind, table[i].slot);
        (void)scene_causes(scene, causes, sizeof causes);
        (void)tl_cause_text(&scene->decision.cause[0], (struct tl_event){0}, text, sizeof text);
        assert_string_equal(text, table[i].text);
        free(scene);
    }
}

/* NAVEDTRA 14310 p. 133, 14001 p. 137: an inactive engine's pendant must be removed. */
static void
the_pendant_of_an_engine_out_of_use_must_be_removed(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_expect(scene, "before", "");
    scene->config.gear.engine[1].in_service = false;
    scene_expect(scene, "rigged", "inactive-rigged:wires");
    scene_held(scene, "wires", TL_DATUM_RIG, 2)->datum.as.rig = TL_RIG_STRIPPED;
    scene_expect(scene, "stripped", "");
    free(scene);
}

static void
a_word_past_its_time_of_validity_is_not_known(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_held *held = scene_held(scene, "wires", TL_DATUM_PENDANT, 2);
    scene->config.ship.valid_s[TL_DATUM_PENDANT] = 3600;
    held->said_ms = SCENE_NOW_MS - 3600000;
    scene_expect(scene, "at its end", "");
    held->said_ms--;
    scene_expect(scene, "one millisecond past", "pendant-height:wires?");
    assert_false(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
    free(scene);
}

static void
what_is_bad_as_a_matter_of_course_is_told_when_it_is_due(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_held(scene, "wires", TL_DATUM_RETRACT, 0)->datum.as.retract.state = TL_RETRACT_RUNNING;
    scene_expect(scene, "before its due", "retract-running:wires?");
    assert_true(scene->decision.clear_refused);
    scene->fold.list.current_since_ms = SCENE_NOW_MS - 60000;
    scene_expect(scene, "due", "retract-running:wires");
    free(scene);
}

static void
an_aircraft_that_is_diverted_or_in_trouble_is_told(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_inbound *inbound =
        &scene_held(scene, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->datum.as.inbound;
    *inbound = (struct tl_inbound){.side = SCENE_SIDE, .type = "plover", .weight_lb = 33000};
    scene_expect(scene, "inbound", "");
    inbound->trouble = TL_TROUBLE_HOOK;
    scene_expect(scene, "trouble is a note", "");
    bool noted = false;
    for (uint32_t i = 0; i < scene->decision.cause_count; i++) {
        noted = noted || scene->decision.cause[i].rule == TL_RULE_INBOUND_TROUBLE;
    }
    assert_true(noted);
    inbound->diverted = true;
    scene_expect(scene, "diverted", "ordered-diverted:approach");
    free(scene);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_word_of_the_gear_is_asked_for),
        cmocka_unit_test(nothing_is_proven_while_a_word_of_the_gear_is_missing_or_bad),
        cmocka_unit_test(the_sheave_interlock_is_the_published_truth_table),
        cmocka_unit_test(a_cable_is_due_for_detorque_before_it_is_overdue),
        cmocka_unit_test(the_pendant_of_an_engine_out_of_use_must_be_removed),
        cmocka_unit_test(a_missing_word_is_named_by_its_number),
        cmocka_unit_test(a_word_past_its_time_of_validity_is_not_known),
        cmocka_unit_test(what_is_bad_as_a_matter_of_course_is_told_when_it_is_due),
        cmocka_unit_test(an_aircraft_that_is_diverted_or_in_trouble_is_told),
    };
    return cmocka_run_group_tests_name("rules_gear", tests, NULL, NULL);
}
