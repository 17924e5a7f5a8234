/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_facts - the second barrier asks for each fact by itself, and a rule that is off excuses it
 *
 * Of engines, arrests, pendants, weights, the aid's aim, the sea, people and the barricade; the
 * rest is in test_proven.c.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "broker/core/rules/check.h"
#include "tests/rules/tell.h"
#include "tests/rules/words.h"

struct fact {
    struct word_row word;
    enum tl_rule rule; /* off, it leaves the ship proven */
};

#define ENGINE(what, ...) "engine-2", TL_DATUM_##what, 0, {__VA_ARGS__}, 0, 0, ""
#define BOOK(what, ...)   "gear-officer", TL_DATUM_##what, 2, {__VA_ARGS__}, 0, 0, ""
#define ARREST(r, o, a)   ENGINE(ARREST, .as.arrest = {{4000, 3}, r, o, a, 0})
#define AID(angle, target)                                                                         \
    "aid", TL_DATUM_AID, 0, {.as.aid = {TL_AID_WORKING, "plover", angle, target}}, 0, 0, ""

/* clang-format off */
static const struct fact facts[] = {
    {{"service unsaid", UNSAID("engine-2", SERVICE, 0), ""}, TL_RULE_SERVICE_UNKNOWN},
    {{"service of no state", ENGINE(SERVICE, .as.service = {TL_SERVICE_UNKNOWN, 0})}, TL_RULE_SERVICE_UNKNOWN},
    {{"a job not signed off", ENGINE(SERVICE, .as.service = {TL_SERVICE_IN, 12})}, TL_RULE_NOT_SIGNED_OFF},
    {{"fault", ENGINE(FAULT, .as.fault = {TL_FAULT_STATE_ACTIVE, 31})}, TL_RULE_ENGINE_FAULT},
    {{"fault unsaid", UNSAID("engine-2", FAULT, 0), ""}, TL_RULE_ENGINE_FAULT},
    {{"fluid low", ENGINE(FLUID, .as.fluid = TL_FLUID_LOW)}, TL_RULE_FLUID_LEVEL},
    {{"fluid unsaid", UNSAID("engine-2", FLUID, 0), ""}, TL_RULE_FLUID_LEVEL},
    {{"something found", BOOK(INSPECTED, .as.inspected = {TL_INSPECTION_FOUND, "Ash"})}, TL_RULE_INSPECTION_OVERDUE},
    {{"inspection unsaid", UNSAID("gear-officer", INSPECTED, 2), ""}, TL_RULE_INSPECTION_OVERDUE},
    {{"pendant at its end", BOOK(PENDANT_LIFE, .as.pendant_life.traps = 125)}, TL_RULE_PENDANT_LIFE},
    {{"traps unsaid", UNSAID("gear-officer", PENDANT_LIFE, 2), ""}, TL_RULE_PENDANT_LIFE},
    {{"ram too far", ARREST(1901, 0, 0)}, TL_RULE_RAM_TRAVEL},
    {{"off centre", ARREST(1800, 201, 0)}, TL_RULE_OFF_CENTRE},
    {{"sides apart", ARREST(1800, 0, 41)}, TL_RULE_SIDES_UNEQUAL},
    {{"weight unsaid", UNSAID("approach", INBOUND, SCENE_SIDE), ""}, TL_RULE_OVER_TRAP_WEIGHT},
    {{"too heavy", "approach", TL_DATUM_INBOUND, SCENE_SIDE, {.as.inbound = {.side = SCENE_SIDE, .type = "plover", .weight_lb = 34001}}, 0, 0, ""}, TL_RULE_OVER_TRAP_WEIGHT},
    {{"no target", AID(350, 0)}, TL_RULE_AID_NOT_ON_TARGET},
    {{"no angle", AID(0, 3)}, TL_RULE_AID_ANGLE},
    {{"nobody there", UNSAID("tracks", WATCH, 0), ""}, TL_RULE_NOT_MANNED},
};
/* clang-format on */

enum {
    FACTS = sizeof facts / sizeof facts[0]
};

static bool
proven(struct scene *scene)
{
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    return tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS);
}

/* Proven before; not with that; proven again with its own rule off, and with no other. */
static void
each_fact_is_asked_for_by_one_rule(void **state)
{
    (void)state;
    for (size_t i = 0; i < FACTS; i++) {
        for (uint32_t rule = 0; rule < TL_RULES_MAX; rule++) {
            struct scene *scene = scene_ready_full();
            if (rule != 0) {
                scene->config.ship.rule_off[rule] = true;
            }
            assert_true(proven(scene));
            words_spoil(scene, &facts[i].word);
            bool own = rule == (uint32_t)facts[i].rule;
            if (proven(scene) != own) {
                fail_msg("%s, rule %u off: proven %d", facts[i].word.name, rule, !own);
            }
            free(scene);
        }
    }
}

static void
an_engine_said_out_of_service_and_taken_back_is_in_use(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_held *service = scene_held(scene, "engine-2", TL_DATUM_SERVICE, 0);
    service->datum.as.service.state = TL_SERVICE_OUT;
    scene_held(scene, "wires", TL_DATUM_RIG, 2)->datum.as.rig = TL_RIG_STRIPPED;
    scene_drop(scene, "engine-2", TL_DATUM_FLUID, 0);
    scene_expect(scene, "out", "");
    assert_true(proven(scene));
    service->datum.known = false;
    scene_expect(scene, "taken back", "service-unknown:engine-2? fluid-level:engine-2?");
    assert_false(proven(scene));
    free(scene);
}

static struct tl_held *
arrest(struct scene *scene, uint32_t ram_in_x10, uint32_t pass)
{
    struct tl_held *held = scene_held(scene, "engine-2", TL_DATUM_ARREST, 0);
    held->datum.as.arrest = (struct tl_arrest){.event = {4000, pass}, .ram_in_x10 = ram_in_x10};
    return held;
}

static void
an_arrest_is_read_and_an_engine_freed_for_the_very_pass(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene->fold.list.trap[1] = (struct tl_event){4000, 3};
    assert_false(proven(scene));
    (void)arrest(scene, 1800, 2);
    assert_false(proven(scene));
    scene->config.ship.rule_off[TL_RULE_ARREST_UNREAD] = true;
    assert_true(proven(scene));
    scene->config.ship.rule_off[TL_RULE_ARREST_UNREAD] = false;
    (void)arrest(scene, 1800, 3);
    assert_true(proven(scene));
    (void)arrest(scene, 1950, 3);
    assert_false(proven(scene));
    struct tl_freed *freed = &scene_held(scene, "gear-officer", TL_DATUM_FREED, 2)->datum.as.freed;
    freed->event = (struct tl_event){4000, 2};
    assert_false(proven(scene));
    freed->event.pass = 3;
    assert_true(proven(scene));
    free(scene);
}

static void
a_job_is_signed_off_by_its_own_number(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_held(scene, "engine-2", TL_DATUM_SERVICE, 0)->datum.as.service.job = 12;
    struct tl_signed_off *off =
        &scene_held(scene, "gear-officer", TL_DATUM_SIGNED_OFF, 2)->datum.as.signed_off;
    off->job = 11;
    assert_false(proven(scene));
    off->job = 12;
    assert_true(proven(scene));
    free(scene);
}

/* A result of an earlier recovery with a higher pass number is not the later one. */
static void
the_later_trap_is_by_recovery_first(void **state)
{
    static const struct {
        struct tl_event before;
        bool taken;
    } table[] = {{{6000, 0}, false},
                 {{5000, 1}, true},
                 {{5000, 2}, false},
                 {{4000, 9}, true},
                 {{0, 0}, true}};

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct scene *scene = scene_ready_full();
        scene->fold.list.trap[1] = table[i].before;
        scene_held(scene, "platform", TL_DATUM_RESULT, 1)->datum.as.result =
            (struct tl_result){TL_OUTCOME_TRAP, 2};
        (void)tl_events_update(&scene->fold, SCENE_NOW_MS);
        bool taken = tl_event_equal(scene->fold.list.trap[1], scene_event());
        assert_int_equal(taken, table[i].taken);
        free(scene);
    }
}

/* ---- the sea ---- */

struct sea {
    const char *name;
    int32_t down, across;
    struct tl_motion motion;
    uint32_t motion_age_ms;
    enum tl_rule rule; /* NONE: proven */
};

#define STILL                                                                                      \
    {                                                                                              \
        {true, 0}, {true, 0}, {true, 0}, {true, 0}, {0}, {0},                                      \
        {                                                                                          \
            0                                                                                      \
        }                                                                                          \
    }

static void
the_sea_is_known_and_the_wind_within_its_bounds(void **state)
{
    /* clang-format off */
    static const struct sea table[] = {
        {"at the least", 200, 70, STILL, 3000, TL_RULE_NONE},
        {"at the most the other way", 200, -70, STILL, 0, TL_RULE_NONE},
        {"below the least", 199, 0, STILL, 0, TL_RULE_WIND_LOW},
        {"across from starboard", 260, 71, STILL, 0, TL_RULE_CROSSWIND_OVER},
        {"across from port", 260, -71, STILL, 0, TL_RULE_CROSSWIND_OVER},
        {"pitch unknown", 260, 0, {{0}, {true, 0}, {true, 0}, {true, 0}, {0}, {0}, {0}}, 0, TL_RULE_DECK_MOTION},
        {"heave unknown", 260, 0, {{true, 0}, {true, 0}, {0}, {true, 0}, {0}, {0}, {0}}, 0, TL_RULE_DECK_MOTION},
        {"roll unknown", 260, 0, {{true, 0}, {0}, {true, 0}, {true, 0}, {0}, {0}, {0}}, 0, TL_RULE_SHIP_NOT_STEADY},
        {"turn unknown", 260, 0, {{true, 0}, {true, 0}, {true, 0}, {0}, {0}, {0}, {0}}, 0, TL_RULE_SHIP_NOT_STEADY},
    };
    /* clang-format on */
    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct scene *scene = scene_ready_full();
        struct tl_told *bridge = scene_told(scene, "bridge");
        assert_true(proven(scene));
        bridge->samples[0].as.wind.headwind_kt_x10 = table[i].down;
        bridge->samples[0].as.wind.crosswind_kt_x10 = table[i].across;
        bridge->samples[1].as.motion = table[i].motion;
        bridge->samples[1].age_ms = table[i].motion_age_ms;
        if (proven(scene) != (table[i].rule == TL_RULE_NONE)) {
            fail_msg("%s", table[i].name);
        }
        scene->config.ship.rule_off[table[i].rule] = true;
        assert_true(proven(scene));
        free(scene);
    }
    struct scene *scene = scene_ready_full();
    scene_told(scene, "bridge")->samples[1].age_ms = 3001;
    assert_false(proven(scene));
    scene->config.ship.rule_off[TL_RULE_DECK_MOTION] = true;
    assert_false(proven(scene));
    scene->config.ship.rule_off[TL_RULE_SHIP_NOT_STEADY] = true;
    assert_true(proven(scene));
    free(scene);
}

/* A band of its own between two changes that are nearer than twice the slack. */
static void
an_angle_is_right_by_the_wind_itself_too(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    static const struct tl_aid_angle narrow[] = {{0, 350}, {260, 375}, {270, 400}};
    memcpy(scene->config.ship.aid_angle, narrow, sizeof narrow);
    for (uint32_t angle = 350; angle <= 425; angle += 25) {
        scene_held(scene, "aid", TL_DATUM_AID, 0)->datum.as.aid.angle_deg_x100 = angle;
        scene_expect(scene, "26.5 kn", angle <= 400 ? "" : "aid-angle:aid");
    }
    free(scene);
}

/* ---- people, and stations that are not there ---- */

static void
a_lost_station_that_two_speak_for_needs_nobody_named(void **state)
{
    static const struct tl_datum aid = {.kind = TL_DATUM_AID,
                                        .as.aid = {TL_AID_WORKING, "plover", 350, 3}};

    (void)state;
    struct scene *scene = scene_ready_full();
    assert_true(proven(scene));
    scene_drop(scene, "aid", TL_DATUM_WATCH, 0);
    tell_lose(scene, "aid");
    scene_expect(scene, "lost", "station-lost:aid not-manned:aid?");
    tell_voices(scene, "deck", "gear-officer", "aid", &aid);
    scene_expect(scene, "spoken for", "");
    assert_true(proven(scene));
    free(scene);
}

static void
what_no_station_can_say_is_pending_of_nobody(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_expect(scene, "before", "");
    tell_remove(scene, "approach");
    scene_expect(scene, "no approach", "over-trap-weight?");
    assert_false(proven(scene));
    free(scene);
    scene = scene_ready_full();
    scene->fold.list.event[0].order.barricade = true;
    tell_remove(scene, "wires");
    tell_remove(scene, "barricade");
    char causes[1024];
    (void)scene_causes(scene, causes, sizeof causes);
    assert_non_null(strstr(causes, "barricade-not-rigged? barricade-not-rigged? barricade-wires? "
                                   "barricade-wires?"));
    assert_false(proven(scene));
    free(scene);
}

/* An engine of which there is no station still owes the reading of its trap, of nobody. */
static void
a_trap_of_an_engine_without_a_station_is_unread(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene->fold.list.trap[1] = (struct tl_event){4000, 3};
    for (uint32_t i = 0; i < scene->config.node_count; i++) {
        if (strcmp(scene->config.node[i].id, "engine-2") == 0) {
            scene->config.node[i].unit = 9;
        }
    }
    char causes[1024];
    (void)scene_causes(scene, causes, sizeof causes);
    assert_non_null(strstr(causes, "arrest-unread?"));
    assert_false(proven(scene));
    free(scene);
}

/* A correction of an order that was on its way when this validator began counts. */
static void
an_order_in_flight_is_one_that_a_beat_has_brought(void **state)
{
    static const struct {
        bool held, by_change;
        uint64_t barred;
        enum tl_refusal reason;
    } table[] = {
        {true, false, 0, TL_REFUSAL_UNKNOWN},
        {true, true, 0, TL_REFUSAL_LATE},
        {true, false, 5, TL_REFUSAL_LATE},
        {false, false, 0, TL_REFUSAL_LATE},
    };

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct scene *scene = scene_ready_full();
        scene->fold.list.highest_pass = 9;
        if (table[i].held) {
            struct tl_held *held = scene_held(scene, "primary", TL_DATUM_ORDER, 7);
            held->datum.known = false;
            held->by_change = table[i].by_change;
            held->barred = table[i].barred;
        }
        struct tl_datum order = {.kind = TL_DATUM_ORDER, .slot = 7, .known = true};
        order.stated_for_count = 1;
        order.stated_for[0] = (struct tl_event){5000, 7};
        order.as.order.state = TL_ORDER_ORDERED;
        bool wait = false;
        assert_int_equal(tl_events_check(&scene->fold, &order, &wait), table[i].reason);
        free(scene);
    }
}

/* A word by voice is found among those of another station that have the same number. */
static void
a_voice_is_dated_by_its_own_station(void **state)
{
    static const struct tl_datum foul = {.kind = TL_DATUM_DECK,
                                         .as.deck = {TL_DECK_FOUL, TL_FOUL_OTHER, 0, false}};

    (void)state;
    struct scene *scene = scene_ready_full();
    scene_expect(scene, "before", "");
    scene_held(scene, "safety", TL_DATUM_DECK, 0)->datum.known = false;
    scene_held(scene, "platform", TL_DATUM_DECK, 0)->datum.known = false;
    struct tl_held *old = tell_voice(scene, "deck", "safety", &foul);
    struct tl_held *late = tell_voice(scene, "primary", "platform", &foul);
    old->said_ms = SCENE_NOW_MS - 6000; /* before the pilot's call */
    late->datum.sequence = old->datum.sequence = 777;
    scene_expect(scene, "the later one advises",
                 "wave-off-advised:platform deck-foul:platform deck-foul:safety "
                 "foul-word-missing:platform? foul-word-missing:safety?");
    late->said_ms = SCENE_NOW_MS - 6000;
    scene_expect(scene, "neither does",
                 "deck-foul:platform deck-foul:safety foul-word-missing:platform? "
                 "foul-word-missing:safety?");
    free(scene);
}

/* ---- what a lost station owes with its rules off, out of service, and into the barricade ---- */

static bool
covered(struct scene *scene, const char *station)
{
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    return tl_is_covered_by_voice(&scene->fold, SCENE_NOW_MS, scene_told(scene, station));
}

static void
an_engine_out_of_service_owes_that_it_is(void **state)
{
    static const struct tl_datum out = {.kind = TL_DATUM_SERVICE,
                                        .as.service = {TL_SERVICE_OUT, 0}};
    static const struct tl_datum in = {.kind = TL_DATUM_SERVICE, .as.service = {TL_SERVICE_IN, 0}};
    static const struct tl_datum set = {.kind = TL_DATUM_SET, .as.set_lb = SCENE_LB};
    static const struct tl_datum battery = {.kind = TL_DATUM_BATTERY, .as.battery = TL_BATTERY_IN};

    (void)state;
    struct scene *scene = scene_ready_full();
    tell_lose(scene, "engine-2");
    tell_voices(scene, "deck", "gear-officer", "engine-2", &in);
    assert_false(covered(scene, "engine-2"));
    free(scene);
    scene = scene_ready_full();
    tell_lose(scene, "engine-2");
    tell_voices(scene, "deck", "gear-officer", "engine-2", &out);
    assert_true(covered(scene, "engine-2"));
    free(scene);
    scene = scene_ready_full(); /* by gear.yaml nothing is asked of its state */
    scene->config.gear.engine[1].in_service = false;
    tell_lose(scene, "engine-2");
    tell_voices(scene, "deck", "gear-officer", "engine-2", &set);
    assert_false(covered(scene, "engine-2"));
    tell_voices(scene, "deck", "gear-officer", "engine-2", &battery);
    assert_true(covered(scene, "engine-2"));
    free(scene);
}

static void
an_arrest_that_was_not_read_is_owed_by_that_engine(void **state)
{
    (void)state;
    for (uint32_t place = 0; place < 2; place++) {
        struct scene *scene = scene_ready_full();
        static const struct tl_datum read = {.kind = TL_DATUM_ARREST,
                                             .as.arrest = {.event = {4000, 3}, .ram_in_x10 = 1800}};
        const struct tl_datum words[] = {
            {.kind = TL_DATUM_SERVICE, .as.service = {TL_SERVICE_IN, 0}},
            {.kind = TL_DATUM_FAULT, .as.fault = {TL_FAULT_STATE_NONE, 0}},
            {.kind = TL_DATUM_FLUID, .as.fluid = TL_FLUID_BATTERY},
            {.kind = TL_DATUM_SET, .as.set_lb = SCENE_LB},
            {.kind = TL_DATUM_BATTERY, .as.battery = TL_BATTERY_IN},
            {.kind = TL_DATUM_ACCUMULATOR, .as.accumulator_psi = 400},
            {.kind = TL_DATUM_CROSSHEAD, .as.crosshead_in_x100 = 600},
        };
        scene->fold.list.trap[place] = (struct tl_event){4000, 3};
        tell_lose(scene, "engine-2");
        for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
            assert_false(covered(scene, "engine-2"));
            tell_voices(scene, "deck", "gear-officer", "engine-2", &words[i]);
        }
        assert_int_equal(covered(scene, "engine-2"), place == 0);
        tell_voices(scene, "deck", "gear-officer", "engine-2", &read);
        assert_true(covered(scene, "engine-2"));
        free(scene);
    }
}

static void
the_gear_officers_books_are_owed_while_their_rules_are_on(void **state)
{
    static const enum tl_rule rules[] = {TL_RULE_DETORQUE_OVERDUE, TL_RULE_INSPECTION_OVERDUE,
                                         TL_RULE_PENDANT_LIFE};
    static const struct tl_datum none = {.kind = TL_DATUM_DECK,
                                         .as.deck = {.state = TL_DECK_NO_FOUL}};

    (void)state;
    for (size_t on = 0; on <= 3; on++) {
        struct scene *scene = scene_ready_full();
        for (size_t i = 0; i < 3; i++) {
            scene->config.ship.rule_off[rules[i]] = i != on;
        }
        tell_lose(scene, "gear-officer");
        tell_voices(scene, "deck", "primary", "gear-officer", &none);
        assert_int_equal(covered(scene, "gear-officer"), on == 3);
        free(scene);
    }
}

static void
stanchions_are_owed_by_the_rule_of_the_pass(void **state)
{
    (void)state;
    for (uint32_t k = 0; k < 4; k++) {
        struct scene *scene = scene_ready_full();
        bool barricade = (k & 1u) != 0;
        bool asked = (k & 2u) != 0;
        scene->fold.list.event[0].order.barricade = barricade;
        scene->config.ship.rule_off[TL_RULE_BARRICADE_NOT_STOWED] = barricade || !asked;
        scene->config.ship.rule_off[TL_RULE_BARRICADE_NOT_RIGGED] = !barricade || !asked;
        tell_lose(scene, "wires");
        for (uint32_t n = 1; n <= 4; n++) {
            const struct tl_datum words[] = {
                {.kind = TL_DATUM_RIG, .slot = n, .as.rig = TL_RIG_STRIPPED},
                {.kind = TL_DATUM_SHEAVE, .slot = n, .as.sheave = {TL_SHEAVE_UP, false}},
            };
            tell_voices(scene, "deck", "gear-officer", "wires", &words[0]);
            tell_voices(scene, "deck", "gear-officer", "wires", &words[1]);
        }
        const struct tl_datum loose = {.kind = TL_DATUM_FREE, .as.free = {TL_FREE_FREE, 0}};
        const struct tl_datum home = {.kind = TL_DATUM_RETRACT,
                                      .as.retract = {TL_RETRACT_RETRACTED, 0}};
        tell_voices(scene, "deck", "gear-officer", "wires", &loose);
        tell_voices(scene, "deck", "gear-officer", "wires", &home);
        assert_int_equal(covered(scene, "wires"), !asked);
        free(scene);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_fact_is_asked_for_by_one_rule),
        cmocka_unit_test(an_engine_said_out_of_service_and_taken_back_is_in_use),
        cmocka_unit_test(an_arrest_is_read_and_an_engine_freed_for_the_very_pass),
        cmocka_unit_test(a_job_is_signed_off_by_its_own_number),
        cmocka_unit_test(the_later_trap_is_by_recovery_first),
        cmocka_unit_test(the_sea_is_known_and_the_wind_within_its_bounds),
        cmocka_unit_test(an_angle_is_right_by_the_wind_itself_too),
        cmocka_unit_test(a_lost_station_that_two_speak_for_needs_nobody_named),
        cmocka_unit_test(what_no_station_can_say_is_pending_of_nobody),
        cmocka_unit_test(a_trap_of_an_engine_without_a_station_is_unread),
        cmocka_unit_test(an_order_in_flight_is_one_that_a_beat_has_brought),
        cmocka_unit_test(a_voice_is_dated_by_its_own_station),
        cmocka_unit_test(an_engine_out_of_service_owes_that_it_is),
        cmocka_unit_test(an_arrest_that_was_not_read_is_owed_by_that_engine),
        cmocka_unit_test(the_gear_officers_books_are_owed_while_their_rules_are_on),
        cmocka_unit_test(stanchions_are_owed_by_the_rule_of_the_pass),
    };
    return cmocka_run_group_tests_name("rules_facts", tests, NULL, NULL);
}
