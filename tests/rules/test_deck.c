/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_deck - whose FOUL and STOP stand: said now, in an earlier life, by one voice; who lifts them
 *
 * And what the decision does at its bounds: the due times, more causes than fit, notes alone.
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
#include "tests/support/ship.h"

static const struct tl_datum foul_word = {.kind = TL_DATUM_DECK,
                                          .as.deck = {TL_DECK_FOUL, TL_FOUL_WIRE, 0, false}};
static const struct tl_datum stop_word = {.kind = TL_DATUM_DECK,
                                          .as.deck = {.state = TL_DECK_STOP}};
static const struct tl_datum no_foul_word = {.kind = TL_DATUM_DECK,
                                             .as.deck = {.state = TL_DECK_NO_FOUL}};
static const struct tl_datum clear_word = {.kind = TL_DATUM_DECK,
                                           .as.deck = {.state = TL_DECK_CLEAR}};

static void
say_deck(struct scene *scene, const char *station, enum tl_deck_state state)
{
    scene_held(scene, station, TL_DATUM_DECK, 0)->datum.as.deck =
        (struct tl_deck){.state = state, .reason = TL_FOUL_WIRE};
}

/* Its earlier life said that, as number 88 of incarnation 3. */
static void
said_before(struct scene *scene, const char *station, enum tl_deck_state state)
{
    struct tl_told *told = scene_told(scene, station);
    told->old_foul = true;
    told->old_foul_incarnation = 3;
    told->old_foul_datum.kind = TL_DATUM_DECK;
    told->old_foul_datum.known = true;
    told->old_foul_datum.sequence = 88;
    told->old_foul_datum.as.deck.state = state;
    told->old_foul_datum.as.deck.reason = TL_FOUL_WIRE;
}

static void
a_foul_of_an_earlier_life_stands_until_this_one_speaks(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_held *held = scene_held(scene, "platform", TL_DATUM_DECK, 0);
    tell_expect(scene, "before", "");
    said_before(scene, "platform", TL_DECK_FOUL);
    held->datum.known = false;
    tell_expect(scene, "taken back", "deck-foul:platform wrong said 4 key platform!3 #88");
    scene_drop(scene, "platform", TL_DATUM_DECK, 0);
    tell_expect(scene, "never said", "deck-foul:platform wrong said 4 key platform!3 #88");
    say_deck(scene, "platform", TL_DECK_NO_FOUL);
    tell_expect(scene, "no foul", "");
    free(scene);
}

static void
a_stop_of_an_earlier_life_is_not_a_foul_nor_the_other_way_round(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    tell_expect(scene, "before", "");
    scene_drop(scene, "safety", TL_DATUM_DECK, 0);
    said_before(scene, "safety", TL_DECK_STOP);
    tell_expect(scene, "stop", "stop:safety wrong said 19 key safety!3 #88");
    scene_told(scene, "safety")->old_foul_datum.as.deck.state = TL_DECK_FOUL;
    tell_expect(scene, "foul", "deck-foul:safety wrong said 4 key safety!3 #88");
    say_deck(scene, "safety", TL_DECK_NO_FOUL);
    tell_expect(scene, "spoken", "");
    free(scene);
}

/* Once it has spoken, what its earlier life said is over, also when it takes its word back. */
static void
what_an_earlier_life_said_does_not_come_again(void **state)
{
    static const enum tl_deck_state states[] = {TL_DECK_FOUL, TL_DECK_STOP};

    (void)state;
    for (size_t i = 0; i < 2; i++) {
        struct scene *scene = scene_ready_full();
        tell_expect(scene, "before", "");
        said_before(scene, "safety", states[i]);
        scene_told(scene, "safety")->old_foul = false;
        tell_expect(scene, "spoken", "");
        scene_held(scene, "safety", TL_DATUM_DECK, 0)->datum.known = false;
        tell_expect(scene, "taken back", "foul-word-missing:safety pending key primary order 1");
        free(scene);
    }
}

/* Who may stop owes a word; a STOP taken back is none; the owner's no foul is not CLEAR. */
static void
each_word_on_the_deck_is_what_it_is(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_held *safety = scene_held(scene, "safety", TL_DATUM_DECK, 0);
    tell_expect(scene, "before", "");
    for (uint32_t i = 0; i < scene->config.node_count; i++) {
        struct tl_node *node = &scene->config.node[i];
        node->may_foul = node->may_foul && strcmp(node->id, "safety") != 0;
    }
    safety->datum.as.deck.state = TL_DECK_STOP;
    safety->datum.known = false;
    tell_expect(scene, "taken back", "foul-word-missing:safety pending key primary order 1");
    safety->datum.as.deck.state = TL_DECK_NO_FOUL;
    safety->datum.known = true;
    tell_expect(scene, "no foul", "");
    say_deck(scene, "deck", TL_DECK_NO_FOUL);
    tell_expect(scene, "the owner", "deck-foul:deck pending key primary order 1");
    say_deck(scene, "deck", TL_DECK_CLEAR);
    tell_expect(scene, "clear", "");
    free(scene);
}

static void
a_stop_by_one_voice_stands_under_the_key_of_the_voice(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    tell_expect(scene, "before", "");
    scene_held(scene, "safety", TL_DATUM_DECK, 0)->datum.known = false;
    struct tl_held *voice = tell_voice(scene, "primary", "safety", &stop_word);
    voice->datum.sequence = 555;
    tell_expect(scene, "by voice",
                "wave-off-advised:safety wrong said 16 key safety #555\n"
                "stop:safety wrong said 19 key safety #555\n"
                "foul-word-missing:safety pending key primary order 1");
    said_before(scene, "safety", TL_DECK_STOP);
    tell_expect(scene, "and before",
                "wave-off-advised:safety wrong said 16 key safety #555\n"
                "stop:safety wrong said 19 key safety #555");
    voice->datum.known = false;
    tell_expect(scene, "before alone", "stop:safety wrong said 19 key safety!3 #88");
    say_deck(scene, "safety", TL_DECK_NO_FOUL);
    scene_held(scene, "safety", TL_DATUM_DECK, 0)->datum.known = true;
    tell_expect(scene, "spoken", "");
    free(scene);
}

static void
a_foul_by_one_voice_stands_under_the_key_of_the_voice(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    tell_expect(scene, "before", "");
    scene_held(scene, "safety", TL_DATUM_DECK, 0)->datum.known = false;
    tell_voice(scene, "primary", "safety", &foul_word)->datum.sequence = 556;
    tell_expect(scene, "by voice",
                "wave-off-advised:safety wrong said 9 key safety #556\n"
                "deck-foul:safety wrong said 4 key safety #556\n"
                "foul-word-missing:safety pending key primary order 1");
    free(scene);
}

/* Lost with its STOP or FOUL standing: the owner and primary lift it for the station. */
static void
what_a_lost_station_said_is_lifted_by_the_owner_and_primary(void **state)
{
    static const enum tl_deck_state states[] = {TL_DECK_STOP, TL_DECK_FOUL};
    static const char *const causes[] = {"station-lost:safety stop:safety",
                                         "station-lost:safety deck-foul:safety"};

    (void)state;
    for (size_t i = 0; i < 2; i++) {
        struct scene *scene = scene_ready_full();
        scene_expect(scene, "before", "");
        say_deck(scene, "safety", states[i]);
        tell_lose(scene, "safety");
        scene_expect(scene, "lost", causes[i]);
        struct tl_held *first = tell_voice(scene, "deck", "safety", &no_foul_word);
        scene_expect(scene, "one", causes[i]);
        struct tl_held *second = tell_voice(scene, "primary", "safety", &no_foul_word);
        scene_expect(scene, "two", "");
        second->datum.as.deck = foul_word.as.deck;
        scene_expect(scene, "the second says foul",
                     i == 0 ? "wave-off-advised:safety station-lost:safety stop:safety "
                              "deck-foul:safety"
                            : "wave-off-advised:safety station-lost:safety deck-foul:safety");
        first->datum.as.deck = foul_word.as.deck;
        scene_expect(scene, "both say foul",
                     i == 0 ? "wave-off-advised:safety stop:safety deck-foul:safety"
                            : "wave-off-advised:safety deck-foul:safety");
        free(scene);
    }
}

/* While it is there, nobody else lifts what it said before. */
static void
what_a_station_that_is_there_said_is_lifted_by_itself_alone(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_expect(scene, "before", "");
    scene_held(scene, "safety", TL_DATUM_DECK, 0)->datum.known = false;
    said_before(scene, "safety", TL_DECK_STOP);
    tell_voices(scene, "deck", "primary", "safety", &no_foul_word);
    scene_expect(scene, "there", "stop:safety");
    tell_lose(scene, "safety");
    scene_expect(scene, "lost", "");
    free(scene);
}

/* The owner of CLEAR is lost with FOUL: two say CLEAR for it. */
static void
the_owners_foul_is_lifted_by_clear(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_expect(scene, "before", "");
    say_deck(scene, "deck", TL_DECK_FOUL);
    tell_lose(scene, "deck");
    scene_expect(scene, "lost", "station-lost:deck deck-foul:deck?");
    tell_voices(scene, "primary", "gear-officer", "deck", &clear_word);
    scene_expect(scene, "two say clear", "");
    free(scene);
}

/* A state that is none is not a report: it is asked for again. */
static void
a_hook_of_no_state_is_not_said(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_held *hook = scene_held(scene, "platform", TL_DATUM_HOOK, 0);
    tell_expect(scene, "before", "");
    hook->datum.as.hook = TL_HOOK_UNKNOWN;
    tell_expect(scene, "none", "hook-not-down:platform pending key primary order 1");
    hook->datum.as.hook = TL_HOOK_DOWN;
    tell_expect(scene, "down", "");
    free(scene);
}

static void
the_wind_is_found_among_other_samples_and_ages(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_told *bridge = scene_told(scene, "bridge");
    tell_expect(scene, "before", "");
    bridge->sample_count = 2;
    struct tl_sample motion = bridge->samples[1];
    bridge->samples[1] = bridge->samples[0];
    bridge->samples[0] = motion;
    tell_expect(scene, "second", "");
    bridge->samples[1].age_ms = 1000;
    bridge->samples_ms = SCENE_NOW_MS - 2000;
    tell_expect(scene, "as old as it may be", "");
    bridge->samples_ms--;
    tell_expect(scene, "older", "wind-unknown:bridge pending key primary order 1");
    bridge->samples[1].as.wind.keyed = true;
    bridge->samples[1].age_ms = 300000 - 2001;
    tell_expect(scene, "keyed", "");
    bridge->samples[1].age_ms++;
    tell_expect(scene, "keyed, older", "wind-unknown:bridge pending key primary order 1");
    free(scene);
}

/* A height that was not said is no height: nothing is wrong, and nothing is proven. */
static void
heights_and_distances_that_were_not_given_prove_nothing(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    tell_expect(scene, "before", "");
    scene_held(scene, "wires", TL_DATUM_PENDANT, 1)->datum.as.pendant.low_in_x100 = 0;
    tell_expect(scene, "low not said", "pendant-height:wires pending needs 1 key primary order 1");
    free(scene);
    scene = scene_ready_full();
    tell_expect(scene, "before", "");
    for (uint32_t i = 0; i < scene->config.type_count; i++) {
        scene->config.type[i].hook_to_eye_ft_x100 = 0;
    }
    tell_expect(scene, "no distance",
                "aid-not-for-type:aid wrong said 0/plover needs 0/plover "
                "key aid aid 0");
    free(scene);
}

/* An aid is compared with the ordered type only when that is in the table. */
static void
an_aid_is_not_compared_with_an_unknown_type(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    tell_expect(scene, "before", "");
    memcpy(scene->fold.list.event[0].order.type, "stint", sizeof "stint");
    memcpy(scene_held(scene, "platform", TL_DATUM_CALL, 0)->datum.as.call.type, "stint",
           sizeof "stint");
    memcpy(scene_held(scene, "approach", TL_DATUM_INBOUND, SCENE_SIDE)->datum.as.inbound.type,
           "stint", sizeof "stint");
    scene_expect(scene, "not in the table", "type-unknown");
    free(scene);
}

/* Everything not said is pending, and overdue from its second on; each rule by its own time. */
static void
each_rule_has_its_own_due_time(void **state)
{
    static const struct {
        const char *station;
        enum tl_datum_kind kind;
        uint32_t slot;
        enum tl_rule rule;
        const char *pending, *overdue;
    } table[] = {
        {"engine-2", TL_DATUM_SET, 0, TL_RULE_SETTING_NOT_ORDERED, "setting-not-ordered:engine-2?",
         "setting-not-ordered:engine-2!"},
        {"wires", TL_DATUM_SHEAVE, 2, TL_RULE_SHEAVE_DOWN, "sheave-down:wires?",
         "sheave-down:wires!"},
        {"wires", TL_DATUM_FREE, 0, TL_RULE_WIRE_NOT_FREE, "wire-not-free:wires?",
         "wire-not-free:wires!"},
        {"aid", TL_DATUM_AID, 0, TL_RULE_AID_NOT_FOR_TYPE, "aid-not-for-type:aid?",
         "aid-not-for-type:aid!"},
        {"safety", TL_DATUM_DECK, 0, TL_RULE_FOUL_WORD_MISSING, "foul-word-missing:safety?",
         "foul-word-missing:safety!"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct scene *scene = scene_ready_full();
        scene_expect(scene, "before", "");
        scene_drop(scene, table[i].station, table[i].kind, table[i].slot);
        scene->fold.list.current_since_ms = SCENE_NOW_MS - 7000;
        scene_expect(scene, "60 s", table[i].pending);
        scene->config.ship.due_after_order_s[table[i].rule] = 8;
        scene_expect(scene, "8 s", table[i].pending);
        scene->config.ship.due_after_order_s[table[i].rule] = 7;
        scene_expect(scene, "7 s", table[i].overdue);
        free(scene);
    }
}

/* Without the type or the call nobody knows when the ramp is: the order counts. */
static void
the_ramp_decides_only_with_a_call_and_a_type(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_drop(scene, "platform", TL_DATUM_HOOK, 0);
    scene->fold.list.current_since_ms = SCENE_NOW_MS - 1000;
    scene->config.ship.due_before_ramp_s[TL_RULE_HOOK_NOT_DOWN] = 20;
    scene_expect(scene, "call and type", "hook-not-down:platform!");
    struct tl_held *call = scene_held(scene, "platform", TL_DATUM_CALL, 0);
    call->datum.known = false;
    scene_expect(scene, "no call", "type-called-differs:platform? hook-not-down:platform?");
    call->datum.known = true;
    memcpy(scene->fold.list.event[0].order.type, "stint", sizeof "stint");
    memcpy(call->datum.as.call.type, "stint", sizeof "stint");
    scene_drop(scene, "approach", TL_DATUM_INBOUND, SCENE_SIDE);
    scene->config.ship.rule_off[TL_RULE_OVER_TRAP_WEIGHT] = true;
    scene_expect(scene, "no type", "type-unknown hook-not-down:platform?");
    free(scene);
}

/* The ramp counts from its second on, and not for a rule that has no time before it. */
static void
overdue_before_the_ramp_to_the_millisecond(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_drop(scene, "platform", TL_DATUM_HOOK, 0);
    scene->fold.list.current_since_ms = SCENE_NOW_MS - 1000;
    const struct tl_aircraft_type *type = tl_config_type(&scene->config, "plover");
    assert_non_null(type);
    uint32_t *before_s = &scene->config.ship.due_before_ramp_s[TL_RULE_HOOK_NOT_DOWN];
    uint64_t *said_ms = &scene_held(scene, "platform", TL_DATUM_CALL, 0)->said_ms;
    for (uint32_t s = 1; s <= 20; s += 19) {
        *before_s = s;
        *said_ms = SCENE_NOW_MS + 1000ull * s - 1000ull * type->final_approach_s;
        scene_expect(scene, "to the millisecond", "hook-not-down:platform!");
        ++*said_ms;
        scene_expect(scene, "one less", "hook-not-down:platform?");
    }
    *before_s = 0;
    *said_ms = SCENE_NOW_MS - 1000ull * type->final_approach_s;
    scene_expect(scene, "no time before it", "hook-not-down:platform?");
    free(scene);
}

/* So many stations that each has two notes: `count` notes, and one fact that is not there. */
static struct scene *
noted(uint32_t count)
{
    struct scene *scene = scene_ready();
    scene_drop(scene, "engine-1", TL_DATUM_SET, 0);
    scene->config.ship.rule_off[TL_RULE_SETTING_NOT_ORDERED] = true;
    for (uint32_t i = scene->fold.told_count; i < TL_STATIONS_MAX; i++) {
        scene->fold.told[i] = *scene_told(scene, "approach");
    }
    scene->fold.told_count = TL_STATIONS_MAX;
    for (uint32_t i = 0; i < TL_STATIONS_MAX && i < count; i++) {
        scene->fold.told[i].voice_differed = true;
        scene->fold.told[i].voice_differs_ms = SCENE_NOW_MS;
    }
    for (uint32_t i = 0; TL_STATIONS_MAX + i < count; i++) {
        scene->fold.voice[i].told = &scene->fold.told[i];
        scene->fold.voice[i].confirmed_by = &scene->fold.told[0];
        scene->fold.voice_count = i + 1;
    }
    return scene;
}

/* READY is withheld by the first line, however many notes there are; the last of them make room. */
static void
unproven_comes_before_as_many_notes_as_fit(void **state)
{
    static const uint32_t counts[] = {0, 1, 62, 63, 64};

    (void)state;
    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        uint32_t notes = counts[i];
        struct scene *scene = noted(notes);
        tl_decide(&scene->fold, &scene->outside, SCENE_NOW_MS, &scene->decision);
        const struct tl_decision *decision = &scene->decision;
        assert_int_equal(decision->word, TL_WORD_NOT_READY);
        assert_int_equal(decision->kind, TL_CAUSE_PICTURE);
        bool over = notes + 1 > TL_CAUSES_MAX;
        assert_int_equal(decision->forcing, over ? 2 : 1);
        uint32_t listed = over ? TL_CAUSES_MAX : notes + 1;
        assert_int_equal(decision->cause_count, listed);
        assert_int_equal(decision->cause[0].rule, TL_RULE_UNPROVEN);
        assert_int_equal(decision->cause[0].state, TL_CAUSE_WRONG);
        assert_int_equal(decision->cause[0].station[0], '\0');
        assert_true(!over || decision->cause[1].rule == TL_RULE_LIMIT_REACHED);
        for (uint32_t k = over ? 2 : 1; k < listed; k++) {
            assert_int_equal(decision->cause[k].state, TL_CAUSE_NOTE);
            assert_int_equal(decision->cause[k].rule, k < TL_STATIONS_MAX + (over ? 2 : 1)
                                                          ? TL_RULE_VOICE_DIFFERS
                                                          : TL_RULE_BY_VOICE);
        }
        scene_held(scene, "engine-1", TL_DATUM_SET, 0)->datum.as.set_lb = SCENE_LB;
        tl_decide(&scene->fold, &scene->outside, SCENE_NOW_MS, &scene->decision);
        assert_int_equal(decision->word, TL_WORD_READY);
        assert_int_equal(decision->cause_count, notes);
        assert_int_equal(decision->forcing, 0);
        free(scene);
    }
}

/* One more than fits: the last place says so, names nobody, and forces. */
static void
a_note_too_many_makes_not_ready(void **state)
{
    (void)state;
    struct scene *scene = noted(64);
    scene_held(scene, "engine-1", TL_DATUM_SET, 0)->datum.as.set_lb = SCENE_LB;
    tl_decide(&scene->fold, &scene->outside, SCENE_NOW_MS, &scene->decision);
    assert_int_equal(scene->decision.word, TL_WORD_READY);
    scene->outside.recorder_lost = true;
    memcpy(scene->outside.recorder, "bus-a", sizeof "bus-a");
    tl_decide(&scene->fold, &scene->outside, SCENE_NOW_MS, &scene->decision);
    assert_int_equal(scene->decision.word, TL_WORD_NOT_READY);
    assert_int_equal(scene->decision.cause_count, TL_CAUSES_MAX);
    assert_int_equal(scene->decision.cause[0].rule, TL_RULE_LIMIT_REACHED);
    assert_int_equal(scene->decision.cause[0].state, TL_CAUSE_WRONG);
    assert_int_equal(scene->decision.cause[0].station[0], '\0');
    assert_int_equal(scene->decision.kind, TL_CAUSE_PICTURE);
    free(scene);
}

/* CLEAR is refused by the first cause, in the order of urgency, that says what is wrong. */
static void
clear_is_refused_by_what_was_reported_wrong(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_expect(scene, "before", "");
    assert_false(scene->decision.clear_refused);
    assert_int_equal(scene->decision.clear_refused_rule, 0);
    scene_held(scene, "wires", TL_DATUM_PENDANT, 1)->datum.as.pendant.state = TL_PENDANT_WORN;
    scene_held(scene, "wires", TL_DATUM_SHEAVE, 2)->datum.as.sheave.state = TL_SHEAVE_DOWN;
    scene_expect(scene, "two", "sheave-down:wires pendant-worn:wires");
    assert_true(scene->decision.clear_refused);
    assert_int_equal(scene->decision.clear_refused_rule, TL_RULE_SHEAVE_DOWN);
    scene_held(scene, "wires", TL_DATUM_SHEAVE, 2)->datum.as.sheave.state = TL_SHEAVE_UP;
    scene_expect(scene, "one", "pendant-worn:wires");
    assert_int_equal(scene->decision.clear_refused_rule, TL_RULE_PENDANT_WORN);
    scene_held(scene, "wires", TL_DATUM_PENDANT, 1)->datum.as.pendant.state = TL_PENDANT_GOOD;
    scene_held(scene, "engine-1", TL_DATUM_SET, 0)->datum.as.set_lb = 40000;
    scene_expect(scene, "another rule", "setting-other-aircraft:engine-1");
    assert_false(scene->decision.clear_refused);
    free(scene);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_foul_of_an_earlier_life_stands_until_this_one_speaks),
        cmocka_unit_test(a_stop_of_an_earlier_life_is_not_a_foul_nor_the_other_way_round),
        cmocka_unit_test(what_an_earlier_life_said_does_not_come_again),
        cmocka_unit_test(each_word_on_the_deck_is_what_it_is),
        cmocka_unit_test(a_stop_by_one_voice_stands_under_the_key_of_the_voice),
        cmocka_unit_test(a_foul_by_one_voice_stands_under_the_key_of_the_voice),
        cmocka_unit_test(what_a_lost_station_said_is_lifted_by_the_owner_and_primary),
        cmocka_unit_test(what_a_station_that_is_there_said_is_lifted_by_itself_alone),
        cmocka_unit_test(the_owners_foul_is_lifted_by_clear),
        cmocka_unit_test(a_hook_of_no_state_is_not_said),
        cmocka_unit_test(the_wind_is_found_among_other_samples_and_ages),
        cmocka_unit_test(heights_and_distances_that_were_not_given_prove_nothing),
        cmocka_unit_test(an_aid_is_not_compared_with_an_unknown_type),
        cmocka_unit_test(each_rule_has_its_own_due_time),
        cmocka_unit_test(overdue_before_the_ramp_to_the_millisecond),
        cmocka_unit_test(the_ramp_decides_only_with_a_call_and_a_type),
        cmocka_unit_test(unproven_comes_before_as_many_notes_as_fit),
        cmocka_unit_test(a_note_too_many_makes_not_ready),
        cmocka_unit_test(clear_is_refused_by_what_was_reported_wrong),
    };
    return cmocka_run_group_tests_name("rules_deck", tests, NULL, NULL);
}
