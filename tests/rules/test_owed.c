/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_owed - what each station owes for the event, and that two voices must say all of it
 *
 * For each kind of station: lost, it is a cause; spoken for in full by two, it is a note; with any
 * one word less it is a cause again.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "broker/core/rules/check.h"
#include "tests/rules/tell.h"

enum {
    WORDS_MAX = 20
};

struct row {
    const char *station;
    const char *one, *two; /* who speak for it */
    uint32_t word_count;
    struct tl_datum words[WORDS_MAX];
};

#define W(what, n, ...)                                                                            \
    {                                                                                              \
        .kind = TL_DATUM_##what, .slot = n, .as = { __VA_ARGS__ }                                  \
    }
#define RIG(n)     W(RIG, n, .rig = TL_RIG_RIGGED)
#define SHEAVE(n)  W(SHEAVE, n, .sheave = {TL_SHEAVE_UP, false})
#define PENDANT(n) W(PENDANT, n, .pendant = {TL_PENDANT_GOOD, 275, 490})
#define CABLE(n)   W(CABLE, n, .cable = {.wear.traps = 20})
#define LOOKED(n)  W(INSPECTED, n, .inspected = {TL_INSPECTION_GOOD, "Ash"})
#define LIFE(n)    W(PENDANT_LIFE, n, .pendant_life = {.traps = 20})
#define NO_FOUL    W(DECK, 0, .deck = {.state = TL_DECK_NO_FOUL})
#define CLEAR      W(DECK, 0, .deck = {.state = TL_DECK_CLEAR})

/* clang-format off */
static const struct row rows[] = {
    {"engine-2", "deck", "gear-officer", 7,
     {W(SERVICE, 0, .service = {TL_SERVICE_IN, 0}), W(FAULT, 0, .fault = {TL_FAULT_STATE_NONE, 0}),
      W(FLUID, 0, .fluid = TL_FLUID_BATTERY), W(SET, 0, .set_lb = SCENE_LB), W(BATTERY, 0, .battery = TL_BATTERY_IN),
      W(ACCUMULATOR, 0, .accumulator_psi = 400), W(CROSSHEAD, 0, .crosshead_in_x100 = 600)}},
    {"wires", "deck", "gear-officer", 15,
     {RIG(1), RIG(2), RIG(3), RIG(4), SHEAVE(1), SHEAVE(2), SHEAVE(3), SHEAVE(4),
      PENDANT(1), PENDANT(2), PENDANT(3), PENDANT(4), W(FREE, 0, .free = {TL_FREE_FREE, 0}),
      W(RETRACT, 0, .retract = {TL_RETRACT_RETRACTED, 0}),
      W(STANCHIONS, 0, .stanchions = TL_STANCHION_LOWERED)}},
    {"platform", "deck", "primary", 3,
     {W(CALL, 0, .call = {SCENE_SIDE, "plover", 0}), W(HOOK, 0, .hook = TL_HOOK_DOWN), NO_FOUL}},
    {"approach", "deck", "gear-officer", 1,
     {W(INBOUND, SCENE_SIDE, .inbound = {.side = SCENE_SIDE, .type = "plover", .weight_lb = 33500})}},
    {"tracks", "deck", "gear-officer", 2,
     {W(TRACK, 1, .track = TL_TRACK_SECURED), W(TRACK, 2, .track = TL_TRACK_SECURED)}},
    {"aid", "deck", "gear-officer", 1, {W(AID, 0, .aid = {TL_AID_WORKING, "plover", 350, 3})}},
    {"gear-officer", "deck", "primary", 13,
     {CABLE(1), CABLE(2), CABLE(3), CABLE(4), LOOKED(1), LOOKED(2), LOOKED(3), LOOKED(4),
      LIFE(1), LIFE(2), LIFE(3), LIFE(4), NO_FOUL}},
    {"barricade", "deck", "gear-officer", 2,
     {W(BARRICADE, 0, .barricade = {TL_BARRICADE_READY, false}),
      W(BARRICADE_POWER, 0, .barricade_power = {1500, 3})}},
    {"deck", "primary", "gear-officer", 1, {CLEAR}},
    {"safety", "deck", "primary", 1, {NO_FOUL}},
};
/* clang-format on */

static void
speak(struct scene *scene, const struct row *row)
{
    for (uint32_t i = 0; i < row->word_count; i++) {
        tell_voices(scene, row->one, row->two, row->station, &row->words[i]);
    }
}

static struct tl_held *
spoken(struct scene *scene, const struct row *row, uint32_t word)
{
    struct tl_told *told = scene_told(scene, row->one);
    return &told->held[told->held_count - row->word_count + word];
}

static void
expect_lost(struct scene *scene, const struct row *row, const char *when)
{
    char text[4096];
    char wanted[64];
    (void)snprintf(wanted, sizeof wanted, "station-lost:%s", row->station);
    (void)scene_causes(scene, text, sizeof text);
    if (strncmp(text, wanted, strlen(wanted)) != 0) {
        fail_msg("%s, %s: wanted %s first, got \"%s\"", row->station, when, wanted, text);
    }
    assert_int_equal(scene->decision.word, TL_WORD_NOT_READY);
    assert_false(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
}

static void
each_station_is_covered_by_all_of_its_words_and_by_no_less(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct scene *scene = scene_ready_full();
        char wanted[256];
        scene_expect(scene, "before", "");
        tell_lose(scene, rows[i].station);
        expect_lost(scene, &rows[i], "nobody speaks");
        speak(scene, &rows[i]);
        scene_expect(scene, rows[i].station, "");
        assert_true(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
        (void)snprintf(wanted, sizeof wanted,
                       "station-lost:%s note key %s\nby-voice:%s note key %s", rows[i].station,
                       rows[i].station, rows[i].station, rows[i].station);
        tell_expect(scene, rows[i].station, wanted);
        for (uint32_t word = 0; word < rows[i].word_count; word++) {
            spoken(scene, &rows[i], word)->datum.known = false;
            expect_lost(scene, &rows[i], "one word less");
            spoken(scene, &rows[i], word)->datum.known = true;
        }
        scene_expect(scene, "all again", "");
        free(scene);
    }
}

/* A word of the event that is said for another event covers nothing; no foul stands all the same. */
static void
words_of_the_event_must_be_for_it(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct scene *scene = scene_ready_full();
        tell_lose(scene, rows[i].station);
        speak(scene, &rows[i]);
        scene_expect(scene, rows[i].station, "");
        for (uint32_t word = 0; word < rows[i].word_count; word++) {
            const struct tl_datum *datum = &rows[i].words[word];
            bool no_foul = datum->kind == TL_DATUM_DECK && datum->as.deck.state == TL_DECK_NO_FOUL;
            enum tl_cadence cadence = tl_datum_cadence(datum->kind);
            bool by_event = cadence == TL_CADENCE_EVENT || cadence == TL_CADENCE_EVENT_CARRIED;
            spoken(scene, &rows[i], word)->datum.stated_for[0].pass = 2;
            if (by_event && !no_foul) {
                expect_lost(scene, &rows[i], "for another event");
            } else {
                scene_expect(scene, rows[i].station, "");
            }
            spoken(scene, &rows[i], word)->datum.stated_for[0].pass = 1;
        }
        free(scene);
    }
}

static const struct row *
row_of(const char *station)
{
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (strcmp(rows[i].station, station) == 0) {
            return &rows[i];
        }
    }
    fail_msg("no row of %s", station);
    return NULL;
}

/* Take that word out of what the two have said. */
static void
leave_out(struct scene *scene, const struct row *row, enum tl_datum_kind kind, uint32_t slot)
{
    for (uint32_t word = 0; word < row->word_count; word++) {
        if (row->words[word].kind == kind && row->words[word].slot == slot) {
            spoken(scene, row, word)->datum.known = false;
            return;
        }
    }
    fail_msg("%s does not owe that", row->station);
}

static struct scene *
spoken_for(const char *station)
{
    struct scene *scene = scene_ready_full();
    tell_lose(scene, station);
    speak(scene, row_of(station));
    scene_expect(scene, station, "");
    return scene;
}

/* What no rule asks for is not owed. */
static void
what_a_rule_that_is_off_asks_for_is_not_owed(void **state)
{
    static const struct {
        const char *station;
        enum tl_datum_kind kind;
        uint32_t slot;
        enum tl_rule rule;
    } off[] = {
        {"engine-2", TL_DATUM_ACCUMULATOR, 0, TL_RULE_ACCUMULATOR},
        {"engine-2", TL_DATUM_CROSSHEAD, 0, TL_RULE_CROSSHEAD_GAP},
        {"wires", TL_DATUM_STANCHIONS, 0, TL_RULE_BARRICADE_NOT_STOWED},
        {"gear-officer", TL_DATUM_CABLE, 2, TL_RULE_DETORQUE_OVERDUE},
    };

    (void)state;
    for (size_t i = 0; i < sizeof off / sizeof off[0]; i++) {
        struct scene *scene = spoken_for(off[i].station);
        leave_out(scene, row_of(off[i].station), off[i].kind, off[i].slot);
        expect_lost(scene, row_of(off[i].station), "left out");
        scene->config.ship.rule_off[off[i].rule] = true;
        scene_expect(scene, tl_rule_row(off[i].rule)->name, "");
        free(scene);
    }
}

/* An engine out of service owes neither gauge, nor the gear officer its cable. */
static void
an_engine_out_of_service_owes_no_gauge(void **state)
{
    (void)state;
    struct scene *scene = spoken_for("engine-2");
    leave_out(scene, row_of("engine-2"), TL_DATUM_ACCUMULATOR, 0);
    leave_out(scene, row_of("engine-2"), TL_DATUM_CROSSHEAD, 0);
    expect_lost(scene, row_of("engine-2"), "in service");
    scene->config.gear.engine[1].in_service = false;
    scene_held(scene, "wires", TL_DATUM_RIG, 2)->datum.as.rig = TL_RIG_STRIPPED;
    scene_expect(scene, "out of service", "");
    free(scene);
    scene = spoken_for("gear-officer");
    leave_out(scene, row_of("gear-officer"), TL_DATUM_CABLE, 2);
    expect_lost(scene, row_of("gear-officer"), "in service");
    scene->config.gear.engine[1].in_service = false;
    scene_held(scene, "wires", TL_DATUM_RIG, 2)->datum.as.rig = TL_RIG_STRIPPED;
    scene_expect(scene, "out of service", "");
    free(scene);
}

static void
a_wire_said_stripped_owes_no_pendant(void **state)
{
    (void)state;
    const struct row *row = row_of("wires");
    struct scene *scene = spoken_for("wires");
    leave_out(scene, row, TL_DATUM_PENDANT, 2);
    expect_lost(scene, row, "rigged");
    for (uint32_t i = 0; i < 2; i++) {
        struct tl_told *told = scene_told(scene, i == 0 ? row->one : row->two);
        told->held[told->held_count - row->word_count + 1].datum.as.rig = TL_RIG_STRIPPED;
    }
    scene_expect(scene, "stripped", "");
    free(scene);
}

/* The wires' own last word is not known any more: then nothing says stripped. */
static void
an_own_word_taken_back_is_not_stripped(void **state)
{
    (void)state;
    const struct row *row = row_of("wires");
    struct scene *scene = spoken_for("wires");
    struct tl_held *rig = scene_held(scene, "wires", TL_DATUM_RIG, 2);
    leave_out(scene, row, TL_DATUM_PENDANT, 2);
    leave_out(scene, row, TL_DATUM_RIG, 2);
    rig->datum.as.rig = TL_RIG_STRIPPED;
    rig->datum.known = false;
    expect_lost(scene, row, "unknown");
    free(scene);
}

/* With no word on the wire at all, its own or by voice, the pendant is owed too. */
static void
a_wire_of_which_nothing_was_said_is_not_stripped(void **state)
{
    (void)state;
    const struct row *row = row_of("wires");
    struct scene *scene = spoken_for("wires");
    leave_out(scene, row, TL_DATUM_PENDANT, 2);
    leave_out(scene, row, TL_DATUM_RIG, 2);
    scene_drop(scene, "wires", TL_DATUM_RIG, 2);
    expect_lost(scene, row, "nothing said");
    free(scene);
}

/* What was said by voice grows old like any word. */
static void
a_voice_past_its_time_of_validity_covers_nothing(void **state)
{
    (void)state;
    struct scene *scene = spoken_for("aid");
    scene->config.ship.valid_s[TL_DATUM_AID] = 2;
    scene_expect(scene, "at its end", "");
    scene_told(scene, "aid")->held_count = 0;
    spoken(scene, row_of("aid"), 0)->said_ms--;
    struct tl_told *second = scene_told(scene, "gear-officer");
    second->held[second->held_count - 1].said_ms--;
    expect_lost(scene, row_of("aid"), "past it");
    free(scene);
}

/* An engine that gear.yaml does not have owes its setting and battery, and no gauge. */
static void
an_engine_without_gear_owes_no_gauge(void **state)
{
    (void)state;
    struct scene *scene = spoken_for("engine-2");
    const struct tl_told *engine = scene_told(scene, "engine-2");
    leave_out(scene, row_of("engine-2"), TL_DATUM_ACCUMULATOR, 0);
    leave_out(scene, row_of("engine-2"), TL_DATUM_CROSSHEAD, 0);
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    assert_false(tl_is_covered_by_voice(&scene->fold, SCENE_NOW_MS, engine));
    for (uint32_t i = 0; i < scene->config.node_count; i++) {
        struct tl_node *node = &scene->config.node[i];
        node->unit = node->unit == 2 ? 9 : node->unit;
    }
    assert_true(tl_is_covered_by_voice(&scene->fold, SCENE_NOW_MS, engine));
    leave_out(scene, row_of("engine-2"), TL_DATUM_BATTERY, 0);
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    assert_false(tl_is_covered_by_voice(&scene->fold, SCENE_NOW_MS, engine));
    free(scene);
}

/* Spoken for is for a station that is lost: one that is there has somebody, and says who. */
static void
a_station_that_is_there_is_not_manned_by_voice(void **state)
{
    (void)state;
    struct scene *scene = spoken_for("aid");
    struct tl_told *aid = scene_told(scene, "aid");
    scene_expect(scene, "lost", "");
    aid->live = aid->ever_live = aid->based = aid->echoed = true;
    aid->echo_sent_ms = SCENE_NOW_MS - 100;
    aid->held_count = 0; /* it has said nothing itself, so what two say for it is its word */
    assert_true(tl_is_covered_by_voice(&scene->fold, SCENE_NOW_MS, aid));
    scene_expect(scene, "there", "not-manned:aid?");
    free(scene);
}

/* Late by one millisecond, and not yet counted as lost: two speak for it. */
static void
a_station_that_is_late_is_spoken_for(void **state)
{
    (void)state;
    struct scene *scene = spoken_for("aid");
    struct tl_told *aid = scene_told(scene, "aid");
    aid->held_count = 0;
    scene_held(scene, "aid", TL_DATUM_WATCH, 0)->datum.known = true;
    aid->live = aid->ever_live = aid->based = aid->echoed = true;
    for (uint64_t late_ms = 0; late_ms <= 1; late_ms++) {
        aid->echo_sent_ms = SCENE_NOW_MS - TL_LOST_MS - late_ms;
        scene_expect(scene, "late", "");
        assert_true(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
    }
    free(scene);
}

static void
a_station_of_no_kind_cannot_be_spoken_for(void **state)
{
    (void)state;
    struct scene *scene = spoken_for("aid");
    const struct tl_told *aid = scene_told(scene, "aid");
    assert_true(tl_is_covered_by_voice(&scene->fold, SCENE_NOW_MS, aid));
    tell_remove(scene, "aid");
    assert_false(tl_is_covered_by_voice(&scene->fold, SCENE_NOW_MS, aid));
    free(scene);
}

/* Who reads the repeaters owes those of all engines in service. */
static void
the_reader_owes_the_repeaters(void **state)
{
    (void)state;
    const struct row *row = row_of("gear-officer");
    struct scene *scene = scene_ready_full();
    memcpy(scene->config.repeater_reader, "gear-officer", sizeof "gear-officer");
    scene->config.gear.engine[3].in_service = false;
    scene_held(scene, "wires", TL_DATUM_RIG, 4)->datum.as.rig = TL_RIG_STRIPPED;
    for (uint32_t unit = 1; unit <= 3; unit++) {
        scene_held(scene, "gear-officer", TL_DATUM_REPEATER, unit)->datum.as.repeater_lb = SCENE_LB;
    }
    scene_held(scene, "aid", TL_DATUM_AID, 0)->datum.as.aid.target_wire = 2;
    scene_expect(scene, "read by the gear officer", "");
    tell_lose(scene, "gear-officer");
    speak(scene, row);
    expect_lost(scene, row, "no repeater");
    for (uint32_t unit = 1; unit <= 3; unit++) {
        const struct tl_datum dial = {
            .kind = TL_DATUM_REPEATER, .slot = unit, .as.repeater_lb = SCENE_LB};
        expect_lost(scene, row, "a repeater missing");
        tell_voices(scene, row->one, row->two, "gear-officer", &dial);
    }
    scene_expect(scene, "all three", "");
    free(scene);
}

/* Primary gives out the events and the wind has no spoken form: neither can be spoken for. */
static void
primary_and_bridge_cannot_be_spoken_for(void **state)
{
    static const struct tl_datum none = {.kind = TL_DATUM_DECK,
                                         .as.deck = {.state = TL_DECK_NO_FOUL}};
    static const struct tl_datum battery = {.kind = TL_DATUM_BATTERY, .as.battery = TL_BATTERY_IN};

    (void)state;
    struct scene *scene = scene_ready_full();
    scene_expect(scene, "before", "");
    tell_lose(scene, "primary");
    tell_voices(scene, "deck", "gear-officer", "primary", &none);
    scene_expect(scene, "primary", "station-lost:primary");
    free(scene);
    scene = scene_ready_full();
    tell_lose(scene, "bridge");
    tell_voices(scene, "deck", "gear-officer", "bridge", &battery);
    scene_expect(scene, "bridge", "station-lost:bridge");
    free(scene);
}

static void
nobody_is_covered_without_an_order_or_with_two_writers(void **state)
{
    (void)state;
    struct scene *scene = spoken_for("aid");
    const struct tl_told *aid = scene_told(scene, "aid");
    assert_true(tl_is_covered_by_voice(&scene->fold, SCENE_NOW_MS, aid));
    scene->fold.list.event[0].order_known = false;
    assert_false(tl_is_covered_by_voice(&scene->fold, SCENE_NOW_MS, aid));
    scene->fold.list.event[0].order_known = true;
    scene->fold.list.current.pass = 0;
    assert_false(tl_is_covered_by_voice(&scene->fold, SCENE_NOW_MS, aid));
    scene->fold.list.current.pass = 1;
    assert_true(tl_is_covered_by_voice(&scene->fold, SCENE_NOW_MS, aid));
    scene_told(scene, "aid")->twin = true;
    assert_false(tl_is_covered_by_voice(&scene->fold, SCENE_NOW_MS, aid));
    free(scene);
}

/* A safety officer that may neither foul nor stop owes nothing: then nothing covers it. */
static void
who_owes_nothing_is_not_covered(void **state)
{
    (void)state;
    struct scene *scene = spoken_for("safety");
    const struct tl_told *safety = scene_told(scene, "safety");
    for (uint32_t i = 0; i < scene->config.node_count; i++) {
        struct tl_node *node = &scene->config.node[i];
        node->may_foul = node->may_foul && strcmp(node->id, "safety") != 0;
    }
    assert_true(tl_is_covered_by_voice(&scene->fold, SCENE_NOW_MS, safety));
    scene_expect(scene, "may stop", "");
    for (uint32_t i = 0; i < scene->config.node_count; i++) {
        scene->config.node[i].may_stop = false;
    }
    assert_false(tl_is_covered_by_voice(&scene->fold, SCENE_NOW_MS, safety));
    scene_expect(scene, "owes nothing", "station-lost:safety");
    free(scene);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_station_is_covered_by_all_of_its_words_and_by_no_less),
        cmocka_unit_test(words_of_the_event_must_be_for_it),
        cmocka_unit_test(what_a_rule_that_is_off_asks_for_is_not_owed),
        cmocka_unit_test(an_engine_out_of_service_owes_no_gauge),
        cmocka_unit_test(a_wire_said_stripped_owes_no_pendant),
        cmocka_unit_test(an_own_word_taken_back_is_not_stripped),
        cmocka_unit_test(a_wire_of_which_nothing_was_said_is_not_stripped),
        cmocka_unit_test(a_voice_past_its_time_of_validity_covers_nothing),
        cmocka_unit_test(an_engine_without_gear_owes_no_gauge),
        cmocka_unit_test(a_station_that_is_there_is_not_manned_by_voice),
        cmocka_unit_test(a_station_that_is_late_is_spoken_for),
        cmocka_unit_test(a_station_of_no_kind_cannot_be_spoken_for),
        cmocka_unit_test(the_reader_owes_the_repeaters),
        cmocka_unit_test(primary_and_bridge_cannot_be_spoken_for),
        cmocka_unit_test(nobody_is_covered_without_an_order_or_with_two_writers),
        cmocka_unit_test(who_owes_nothing_is_not_covered),
    };
    return cmocka_run_group_tests_name("rules_owed", tests, NULL, NULL);
}
