/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_people - by voice, overrides, and alerts as a matter of people
 *
 * By voice for a lost station; what two must sign; and the states of an alert: ISA-18.2 as the
 * documentation of a public library lists them (normal, unacknowledged, acknowledged, returned
 * unacknowledged), with the 30 s of IMO MSC.252(83) 20.2.5 in tests/ui.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "broker/core/alerts/alerts.h"
#include "broker/core/picture/word.h"
#include "tests/rules/tell.h"

static const struct tl_datum set_word = {.kind = TL_DATUM_SET, .as.set_lb = SCENE_LB};
static const struct tl_datum battery_word = {.kind = TL_DATUM_BATTERY, .as.battery = TL_BATTERY_IN};
static const struct tl_datum psi_word = {.kind = TL_DATUM_ACCUMULATOR, .as.accumulator_psi = 400};
static const struct tl_datum service_word = {.kind = TL_DATUM_SERVICE,
                                             .as.service = {TL_SERVICE_IN, 0}};
static const struct tl_datum fault_word = {.kind = TL_DATUM_FAULT,
                                           .as.fault = {TL_FAULT_STATE_NONE, 0}};
static const struct tl_datum fluid_word = {.kind = TL_DATUM_FLUID, .as.fluid = TL_FLUID_BATTERY};
static const struct tl_datum gap_word = {.kind = TL_DATUM_CROSSHEAD, .as.crosshead_in_x100 = 600};

static void
lose(struct scene *scene, const char *station)
{
    scene_told(scene, station)->live = false;
    scene_told(scene, station)->away_ms = SCENE_NOW_MS - 5000;
    scene_told(scene, station)->echo_sent_ms = SCENE_NOW_MS - 5000;
}

static void
sign_engine(struct scene *scene, const char *signer)
{
    (void)tell_voice(scene, signer, "engine-2", &service_word);
    (void)tell_voice(scene, signer, "engine-2", &fault_word);
    (void)tell_voice(scene, signer, "engine-2", &fluid_word);
    (void)tell_voice(scene, signer, "engine-2", &set_word);
    (void)tell_voice(scene, signer, "engine-2", &battery_word);
    (void)tell_voice(scene, signer, "engine-2", &psi_word);
    (void)tell_voice(scene, signer, "engine-2", &gap_word);
}

static void
a_lost_engine_is_covered_when_two_have_said_all_that_it_owes(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_expect(scene, "before", "");
    lose(scene, "engine-2");
    scene_expect(scene, "lost", "station-lost:engine-2");
    sign_engine(scene, "deck");
    scene_expect(scene, "one signature", "station-lost:engine-2");
    assert_false(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
    sign_engine(scene, "gear-officer");
    scene_expect(scene, "two signatures", "");
    assert_true(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
    free(scene);
}

/* Each of the seven words is needed, and must be said alike. */
static void
one_word_less_or_another_value_does_not_cover(void **state)
{
    (void)state;
    for (uint32_t left_out = 0; left_out < 7; left_out++) {
        struct scene *scene = scene_ready_full();
        lose(scene, "engine-2");
        sign_engine(scene, "deck");
        sign_engine(scene, "gear-officer");
        scene_expect(scene, "all", "");
        struct tl_told *told = scene_told(scene, "deck");
        told->held[told->held_count - 1 - left_out].datum.known = false;
        scene_expect(scene, "one withdrawn", "station-lost:engine-2");
        free(scene);
    }
    struct scene *scene = scene_ready_full();
    lose(scene, "engine-2");
    sign_engine(scene, "deck");
    sign_engine(scene, "gear-officer");
    struct tl_told *told = scene_told(scene, "deck");
    told->held[told->held_count - 4].datum.as.set_lb = 33500;
    scene_expect(scene, "two values", "station-lost:engine-2");
    free(scene);
}

static void
the_second_signature_has_a_minute(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    lose(scene, "engine-2");
    sign_engine(scene, "deck");
    sign_engine(scene, "gear-officer");
    struct tl_told *told = scene_told(scene, "deck");
    struct tl_held *held = &told->held[told->held_count - 1];
    held->said_ms -= TL_CONFIRM_BY_MS;
    scene_expect(scene, "60 s", "");
    held->said_ms--;
    scene_expect(scene, "past 60 s", "station-lost:engine-2");
    free(scene);
}

/* A third who says otherwise leaves nothing known. */
static void
a_third_voice_that_differs_undoes_two(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    lose(scene, "engine-2");
    sign_engine(scene, "deck");
    sign_engine(scene, "gear-officer");
    scene_expect(scene, "two", "");
    struct tl_held *third = tell_voice(scene, "primary", "engine-2", &set_word);
    scene_expect(scene, "a third, alike", "");
    third->datum.as.set_lb = 33500;
    scene_expect(scene, "a third, otherwise", "station-lost:engine-2");
    free(scene);
}

static void
a_wrong_setting_by_voice_is_wrong(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    lose(scene, "engine-2");
    sign_engine(scene, "deck");
    sign_engine(scene, "gear-officer");
    for (uint32_t i = 0; i < 2; i++) {
        struct tl_told *told = scene_told(scene, i == 0 ? "deck" : "gear-officer");
        told->held[told->held_count - 4].datum.as.set_lb = 40000;
    }
    scene_expect(scene, "40,000 by voice",
                 "wave-off-advised:engine-2 setting-other-aircraft:engine-2");
    free(scene);
}

/* Its own word counts and ends what was said for it; a difference is told. */
static void
a_station_that_is_back_speaks_for_itself(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    lose(scene, "engine-2");
    sign_engine(scene, "deck");
    sign_engine(scene, "gear-officer");
    scene_expect(scene, "by voice", "");
    struct tl_told *engine = scene_told(scene, "engine-2");
    engine->live = true;
    engine->echo_sent_ms = SCENE_NOW_MS - 100;
    scene_held(scene, "engine-2", TL_DATUM_SET, 0)->datum.as.set_lb = 33500;
    scene_held(scene, "engine-2", TL_DATUM_BATTERY, 0)->datum.known = false;
    scene_held(scene, "primary", TL_DATUM_REPEATER, 2)->datum.as.repeater_lb = 33500;
    scene_expect(scene, "its own setting, and the battery still by voice", "engines-disagree");
    assert_int_equal(scene->fold.voice_count, 1);
    assert_true(engine->voice_differed);
    assert_true(scene_told(scene, "deck")->refused_count > 0);
    assert_int_equal(scene_told(scene, "deck")->refused[0].refused.reason, TL_REFUSAL_OWN_WORD);
    free(scene);
}

static void
foul_by_one_voice_stands_and_no_foul_needs_the_owner_and_primary(void **state)
{
    static const struct tl_datum foul = {.kind = TL_DATUM_DECK,
                                         .as.deck = {TL_DECK_FOUL, TL_FOUL_PERSON, 0, false}};
    static const struct tl_datum none = {.kind = TL_DATUM_DECK,
                                         .as.deck = {.state = TL_DECK_NO_FOUL}};

    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_held *held = tell_voice(scene, "primary", "platform", &foul);
    scene_held(scene, "platform", TL_DATUM_DECK, 0)->datum.known = false;
    scene_expect(scene, "one voice",
                 "wave-off-advised:platform line-crossed:platform foul-word-missing:platform?");
    assert_false(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
    held->datum.known = false;
    scene_expect(scene, "taken back", "foul-word-missing:platform?");
    struct tl_held *first = tell_voice(scene, "gear-officer", "platform", &none);
    (void)tell_voice(scene, "primary", "platform", &none);
    scene_expect(scene, "not the owner", "foul-word-missing:platform?");
    first->datum.known = false;
    (void)tell_voice(scene, "deck", "platform", &none);
    scene_expect(scene, "owner and primary", "");
    free(scene);
}

static struct tl_held *
sign_override(struct scene *scene, const char *signer, uint32_t valid_s)
{
    struct tl_held *held = scene_held(scene, signer, TL_DATUM_OVERRIDE, 1);
    held->datum.as.override = (struct tl_override){.rule = TL_RULE_DETORQUE_OVERDUE,
                                                   .station = "gear-officer",
                                                   .reason = "one pass",
                                                   .valid_s = valid_s};
    held->said_ms = SCENE_NOW_MS - 1000;
    return held;
}

static struct scene *
overdue_cable(void)
{
    struct scene *scene = scene_ready_full();
    scene_expect(scene, "before", "");
    scene_held(scene, "gear-officer", TL_DATUM_CABLE, 1)->datum.as.cable =
        (struct tl_cable){.wear.traps = 61};
    scene_expect(scene, "overdue", "detorque-overdue:gear-officer");
    return scene;
}

static void
an_override_is_live_with_two_and_withdrawn_by_either(void **state)
{
    (void)state;
    struct scene *scene = overdue_cable();
    struct tl_held *first = sign_override(scene, "primary", 600);
    scene_expect(scene, "one", "detorque-overdue:gear-officer");
    struct tl_held *second = sign_override(scene, "safety", 600);
    scene_expect(scene, "two", "detorque-overdue:gear-officer#");
    assert_int_equal(scene->decision.word, TL_WORD_READY);
    first->datum.known = false;
    scene_expect(scene, "the first withdraws", "detorque-overdue:gear-officer");
    first->datum.known = true;
    second->datum.known = false;
    scene_expect(scene, "the second withdraws", "detorque-overdue:gear-officer");
    free(scene);
}

static void
an_override_ends_with_its_time_and_needs_the_second_in_time(void **state)
{
    (void)state;
    struct scene *scene = overdue_cable();
    struct tl_held *first = sign_override(scene, "primary", 600);
    struct tl_held *second = sign_override(scene, "safety", 600);
    first->said_ms = second->said_ms = SCENE_NOW_MS - 600000 + 1;
    scene_expect(scene, "a millisecond left", "detorque-overdue:gear-officer#");
    first->said_ms--;
    scene_expect(scene, "run out", "detorque-overdue:gear-officer");
    first->said_ms = SCENE_NOW_MS - 61000;
    second->said_ms = SCENE_NOW_MS - 1000;
    scene_expect(scene, "60 s between", "detorque-overdue:gear-officer#");
    first->said_ms--;
    scene_expect(scene, "more", "detorque-overdue:gear-officer");
    free(scene);
}

/* One entry an override, whoever signed first; another station's is another. */
static void
each_override_is_listed_once(void **state)
{
    (void)state;
    struct scene *scene = overdue_cable();
    sign_override(scene, "primary", 600);
    sign_override(scene, "safety", 600);
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    assert_int_equal(scene->fold.signed_count, 1);
    for (uint32_t i = 0; i < 2; i++) {
        struct tl_held *held =
            scene_held(scene, i == 0 ? "primary" : "safety", TL_DATUM_OVERRIDE, 2);
        held->datum.as.override = (struct tl_override){
            .rule = TL_RULE_DETORQUE_OVERDUE, .station = "wires", .reason = "x", .valid_s = 600};
    }
    tl_people_update(&scene->fold, SCENE_NOW_MS);
    assert_int_equal(scene->fold.signed_count, 2);
    assert_non_null(tl_override_of(&scene->fold, TL_RULE_DETORQUE_OVERDUE, "wires"));
    assert_null(tl_override_of(&scene->fold, TL_RULE_DETORQUE_OVERDUE, "deck"));
    free(scene);
}

/* A STOP stands through a restart, as the instance that it was. */
static void
a_stop_of_an_earlier_life_stands_under_its_own_key(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_told *safety = scene_told(scene, "safety");
    struct tl_held *held = scene_held(scene, "safety", TL_DATUM_DECK, 0);
    scene_expect(scene, "before", "");
    held->datum.as.deck.state = TL_DECK_STOP;
    scene_expect(scene, "said now", "stop:safety");
    assert_int_equal(scene->decision.cause[0].subject.incarnation, safety->incarnation);
    assert_int_equal(scene->decision.cause[0].subject.sequence, held->datum.sequence);
    safety->old_foul = true;
    safety->old_foul_datum = held->datum;
    safety->old_foul_datum.sequence = 99;
    safety->old_foul_incarnation = 3;
    held->datum.known = false;
    scene_expect(scene, "of the life before", "stop:safety");
    assert_int_equal(scene->decision.cause[0].subject.incarnation, 3);
    assert_int_equal(scene->decision.cause[0].subject.sequence, 99);
    free(scene);
}

/* A lost signer is tolerated for ten minutes. */
static void
a_lost_signer_is_tolerated_for_ten_minutes(void **state)
{
    (void)state;
    struct scene *scene = overdue_cable();
    struct tl_held *first = sign_override(scene, "primary", 3600);
    struct tl_held *second = sign_override(scene, "safety", 3600);
    first->said_ms = second->said_ms = SCENE_NOW_MS - 900000;
    struct tl_told *safety = scene_told(scene, "safety");
    lose(scene, "safety");
    safety->away_ms = SCENE_NOW_MS - 600000;
    scene_expect(scene, "ten minutes", "station-lost:safety detorque-overdue:gear-officer#");
    safety->away_ms--;
    scene_expect(scene, "longer", "station-lost:safety detorque-overdue:gear-officer");
    free(scene);
}

/* Never of what is foul, unknown, set for another aircraft or of the aid. */
static void
only_what_may_be_overridden_is(void **state)
{
    (void)state;
    size_t count = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);
    for (size_t i = 0; i < count; i++) {
        bool may = rows[i].rule == TL_RULE_DETORQUE_OVERDUE ||
                   rows[i].rule == TL_RULE_BARRICADE_POWER || rows[i].rule == TL_RULE_TOO_FEW_WIRES;
        assert_int_equal(rows[i].overridable, may);
    }
    struct scene *scene = scene_ready_full();
    scene_held(scene, "engine-1", TL_DATUM_SET, 0)->datum.as.set_lb = 40000;
    sign_override(scene, "primary", 600)->datum.as.override.rule = TL_RULE_SETTING_OTHER_AIRCRAFT;
    sign_override(scene, "safety", 600)->datum.as.override.rule = TL_RULE_SETTING_OTHER_AIRCRAFT;
    memcpy(scene_held(scene, "primary", TL_DATUM_OVERRIDE, 1)->datum.as.override.station,
           "engine-1", 9);
    memcpy(scene_held(scene, "safety", TL_DATUM_OVERRIDE, 1)->datum.as.override.station, "engine-1",
           9);
    scene_expect(scene, "signed by two all the same", "setting-other-aircraft:engine-1");
    free(scene);
}

static const struct tl_alert *
alert_now(struct scene *scene, struct tl_alert_book *book, uint64_t now_ms)
{
    char causes[512];
    (void)scene_causes(scene, causes, sizeof causes);
    (void)tl_alert_book_update(book, &scene->decision, &scene->fold, now_ms);
    return book->count > 0 ? &book->active[0].alert : NULL;
}

static void
acknowledge(struct scene *scene, const char *station, const struct tl_alert *alert)
{
    uint64_t instance = tl_alert_instance(alert);
    scene_held(scene, station, TL_DATUM_ACKNOWLEDGED, tl_acknowledged_slot(instance))
        ->datum.as.instance = instance;
}

/* normal -> unacknowledged -> acknowledged -> normal; and -> returned unacknowledged -> normal. */
static void
an_alert_goes_through_the_published_states(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_alert_book book;
    tl_alert_book_init(&book);
    assert_null(alert_now(scene, &book, SCENE_NOW_MS));
    struct tl_held *sheave = scene_held(scene, "wires", TL_DATUM_SHEAVE, 1);
    sheave->datum.as.sheave.state = TL_SHEAVE_DOWN;
    const struct tl_alert *alert = alert_now(scene, &book, SCENE_NOW_MS);
    assert_non_null(alert);
    assert_int_equal(alert->state, TL_ALERT_UNACKNOWLEDGED);
    uint32_t wires = 1u << tl_config_place(&scene->config, "wires");
    uint32_t primary = 1u << tl_config_place(&scene->config, "primary");
    assert_int_equal(alert->owed, wires | primary);
    acknowledge(scene, "deck", alert); /* who does not owe it changes nothing */
    alert = alert_now(scene, &book, SCENE_NOW_MS);
    assert_int_equal(alert->state, TL_ALERT_UNACKNOWLEDGED);
    acknowledge(scene, "wires", alert);
    alert = alert_now(scene, &book, SCENE_NOW_MS);
    assert_int_equal(alert->state, TL_ALERT_UNACKNOWLEDGED);
    acknowledge(scene, "primary", alert);
    alert = alert_now(scene, &book, SCENE_NOW_MS);
    assert_int_equal(alert->state, TL_ALERT_ACKNOWLEDGED);
    scene_expect(scene, "an acknowledgement clears nothing", "sheave-down:wires");
    sheave->datum.as.sheave.state = TL_SHEAVE_UP;
    sheave->datum.sequence += 100;
    assert_null(alert_now(scene, &book, SCENE_NOW_MS));
    sheave->datum.as.sheave.state = TL_SHEAVE_DOWN;
    alert = alert_now(scene, &book, SCENE_NOW_MS);
    assert_int_equal(alert->state, TL_ALERT_UNACKNOWLEDGED);
    sheave->datum.as.sheave.state = TL_SHEAVE_UP;
    alert = alert_now(scene, &book, SCENE_NOW_MS);
    assert_int_equal(alert->state, TL_ALERT_RETURNED);
    acknowledge(scene, "wires", alert);
    acknowledge(scene, "primary", alert);
    assert_null(alert_now(scene, &book, SCENE_NOW_MS));
    free(scene);
}

static void
a_warning_nobody_acknowledges_is_an_alarm_after_a_minute(void **state)
{
    (void)state;
    struct scene *scene = overdue_cable();
    struct tl_alert_book book;
    tl_alert_book_init(&book);
    const struct tl_alert *alert = alert_now(scene, &book, SCENE_NOW_MS);
    assert_int_equal(alert->severity, TL_SEVERITY_WARNING);
    alert = alert_now(scene, &book, SCENE_NOW_MS + TL_ESCALATE_MS - 1);
    assert_int_equal(alert->severity, TL_SEVERITY_WARNING);
    alert = alert_now(scene, &book, SCENE_NOW_MS + TL_ESCALATE_MS);
    assert_int_equal(alert->severity, TL_SEVERITY_ALARM);
    acknowledge(scene, "gear-officer", alert);
    acknowledge(scene, "primary", alert);
    alert = alert_now(scene, &book, SCENE_NOW_MS + TL_ESCALATE_MS);
    assert_int_equal(alert->severity, TL_SEVERITY_WARNING);
    free(scene);
}

static void
who_has_shown_an_alert_is_told_by_what_they_echo(void **state)
{
    (void)state;
    struct scene *scene = overdue_cable();
    struct tl_alert_book book;
    struct tl_alert_set *set = calloc(1, sizeof *set);
    assert_non_null(set);
    tl_alert_book_init(&book);
    assert_int_equal(alert_now(scene, &book, SCENE_NOW_MS)->delivered, 0);
    tl_alert_book_fill(&book, 41, SCENE_NOW_MS, set);
    scene_told(scene, "deck")->alerts_shown = 40;
    assert_int_equal(alert_now(scene, &book, SCENE_NOW_MS)->delivered, 0);
    scene_told(scene, "deck")->alerts_shown = 41;
    assert_int_equal(alert_now(scene, &book, SCENE_NOW_MS)->delivered,
                     1u << tl_config_place(&scene->config, "deck"));
    free(set);
    free(scene);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_lost_engine_is_covered_when_two_have_said_all_that_it_owes),
        cmocka_unit_test(one_word_less_or_another_value_does_not_cover),
        cmocka_unit_test(the_second_signature_has_a_minute),
        cmocka_unit_test(a_third_voice_that_differs_undoes_two),
        cmocka_unit_test(each_override_is_listed_once),
        cmocka_unit_test(a_stop_of_an_earlier_life_stands_under_its_own_key),
        cmocka_unit_test(a_wrong_setting_by_voice_is_wrong),
        cmocka_unit_test(a_station_that_is_back_speaks_for_itself),
        cmocka_unit_test(foul_by_one_voice_stands_and_no_foul_needs_the_owner_and_primary),
        cmocka_unit_test(an_override_is_live_with_two_and_withdrawn_by_either),
        cmocka_unit_test(an_override_ends_with_its_time_and_needs_the_second_in_time),
        cmocka_unit_test(a_lost_signer_is_tolerated_for_ten_minutes),
        cmocka_unit_test(only_what_may_be_overridden_is),
        cmocka_unit_test(an_alert_goes_through_the_published_states),
        cmocka_unit_test(a_warning_nobody_acknowledges_is_an_alarm_after_a_minute),
        cmocka_unit_test(who_has_shown_an_alert_is_told_by_what_they_echo),
    };
    return cmocka_run_group_tests_name("rules_people", tests, NULL, NULL);
}
