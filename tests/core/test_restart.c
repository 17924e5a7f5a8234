/* SPDX-License-Identifier: Apache-2.0 */
/* Timelines of restarts: validators, stations, primary, twins, both brokers. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <string.h>

#include "tests/core/timeline.h"

static void
restart_both_validators_on_final_blanks_every_screen_and_voids_nothing(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(101));
    sim_kill(sim, "validator-1");
    sim_kill(sim, "validator-2");
    assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 1500) <= TL_NOT_READY_MS);
    timeline_screen_cause(sim, "viewer", TL_RULE_SCREEN_NO_VALIDATOR, "validator-1");
    sim_run(sim, 500);
    sim_start(sim, "validator-1");
    sim_start(sim, "validator-2");
    /* No key is pressed: what was said is in the beats, and held 3.0 s. */
    timeline_ready_between(sim, TL_HOLD_MS, TL_HOLD_MS + 1000);
    timeline_all_causes(sim, "");
    assert_int_equal(timeline_alerts(sim), 0);
    sim_free(&sim);
}

static void
restart_of_one_validator_of_two_blanks_every_screen(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(102));
    sim_kill(sim, "validator-2");
    assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 1500) <= TL_NOT_READY_MS);
    timeline_screen_cause(sim, "deck", TL_RULE_SCREEN_NO_VALIDATOR, "validator-2");
    timeline_causes(sim, "validator-1", ""); /* a verdict does not depend on the other */
    sim_start(sim, "validator-2");
    timeline_ready_between(sim, TL_HOLD_MS, TL_HOLD_MS + 1000);
    sim_free(&sim);
}

static void
restart_of_a_station_makes_its_words_unknown_and_is_held(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(103));
    sim_kill(sim, "engine-3");
    assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 1500) <= TL_NOT_READY_MS);
    timeline_all_causes(sim, "station-lost:engine-3");
    sim_start(sim, "engine-3");
    sim_run(sim, 400);
    timeline_all_causes(sim, "station-lost:engine-3~ setting-not-ordered:engine-3? "
                             "not-in-battery:engine-3?");
    (void)sim_say(sim, "engine-3", say_set(TIMELINE_WEIGHT_LB, timeline_event(1)));
    (void)sim_say(sim, "engine-3", say_battery(true, timeline_event(1)));
    sim_run(sim, 400);
    (void)sim_say(sim, "primary", say_repeater(3, TIMELINE_WEIGHT_LB, timeline_event(1)));
    sim_run(sim, 300);
    timeline_all_causes(sim, "station-lost:engine-3~");
    timeline_ready_between(sim, 1500, TL_HOLD_MS);
    sim_free(&sim);
}

static void
restart_of_a_station_does_not_lift_its_foul(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(104));
    (void)sim_say(sim, "platform", say_deck(TL_DECK_FOUL, TL_FOUL_WIRE, timeline_event(1)));
    sim_run(sim, 300);
    timeline_all_causes(sim, "wave-off-advised:platform deck-foul:platform");
    sim_kill(sim, "platform");
    sim_start(sim, "platform");
    sim_run(sim, TL_HOLD_MS + 500);
    timeline_all_causes(sim, "deck-foul:platform type-called-differs:platform? "
                             "hook-not-down:platform?");
    (void)sim_say(sim, "platform",
                  say_deck(TL_DECK_NO_FOUL, TL_FOUL_UNKNOWN, (struct tl_event){0}));
    (void)sim_say(sim, "platform", say_call(TIMELINE_SIDE, "plover", timeline_event(1)));
    (void)sim_say(sim, "platform", say_hook(true, timeline_event(1)));
    assert_true(timeline_comes_to(sim, TL_WORD_READY, 1000) <= 1000);
    sim_free(&sim);
}

static void
twin_of_a_station_is_two_writers_until_one_is_gone(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(105));
    struct sim_node *twin = sim_twin(sim, "engine-2");
    sim_run(sim, 600);
    char text[512];
    assert_non_null(
        strstr(sim_causes(sim, "validator-1", text, sizeof text), "two-writers:engine-2"));
    assert_int_equal(sim_word(sim, "viewer"), TL_WORD_NOT_READY);
    assert_true(timeline_member(sim, "engine-2")->higher_incarnation > 0);
    twin->running = false;
    sim_run(sim, 5000);
    /* The older life stays refused: its words do not come back by themselves. */
    assert_int_equal(sim_word(sim, "viewer"), TL_WORD_NOT_READY);
    sim_free(&sim);
}

static void
primary_restart_keeps_the_list_and_withholds_ready_until_it_resumes(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(106));
    sim_kill(sim, "primary");
    sim_start(sim, "primary");
    sim_run(sim, TL_HOLD_MS + 500);
    timeline_all_causes(sim, "primary-restarted:primary repeater-differs:engine-1? "
                             "repeater-differs:engine-2? repeater-differs:engine-3? "
                             "repeater-differs:engine-4? foul-word-missing:primary?");
    (void)sim_say(sim, "primary",
                  say_order(timeline_event(1), TIMELINE_SIDE, "plover", TIMELINE_WEIGHT_LB, 1));
    (void)sim_say(sim, "primary", say_recovery(TIMELINE_RECOVERY_MS, true));
    (void)sim_say(sim, "primary", say_deck(TL_DECK_NO_FOUL, TL_FOUL_UNKNOWN, (struct tl_event){0}));
    for (uint32_t unit = 1; unit <= TIMELINE_ENGINES; unit++) {
        (void)sim_say(sim, "primary", say_repeater(unit, TIMELINE_WEIGHT_LB, timeline_event(1)));
    }
    /* What the other stations said for event 1 still stands. */
    assert_true(timeline_comes_to(sim, TL_WORD_READY, 1000) <= 1000);
    sim_free(&sim);
}

static void
primary_opening_a_new_recovery_voids_every_event(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(107));
    sim_kill(sim, "primary");
    sim_start(sim, "primary");
    sim_run(sim, TL_HOLD_MS + 500);
    (void)sim_say(sim, "primary", say_recovery(TIMELINE_RECOVERY_MS + 1, true));
    (void)sim_say(sim, "primary", say_deck(TL_DECK_NO_FOUL, TL_FOUL_UNKNOWN, (struct tl_event){0}));
    sim_run(sim, 500);
    timeline_all_causes(sim, "no-event?");
    assert_false(
        tl_outbox_own(&timeline_member(sim, "deck")->outbox, TL_DATUM_DECK, 0)->datum.known);
    sim_free(&sim);
}

static void
both_brokers_dead_then_back_shows_no_old_word(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(108));
    sim->bus_up[0] = false;
    sim->bus_up[1] = false;
    assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 1500) <= TL_NOT_READY_MS);
    sim_run(sim, 3000);
    sim->bus_up[0] = true;
    sim->bus_up[1] = true;
    timeline_ready_between(sim, TL_HOLD_MS, TL_HOLD_MS + 1000);
    timeline_converged(sim);
    sim_free(&sim);
}

static void
outage_that_outlives_a_keyed_clear_does_not_bring_it_back(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(109));
    (void)sim_say(sim, "deck", say_deck(TL_DECK_FOUL, TL_FOUL_PERSON, timeline_event(1)));
    sim_run(sim, 300);
    timeline_all_causes(sim, "line-crossed:deck?");
    sim->bus_up[0] = false;
    sim->bus_up[1] = false;
    (void)sim_say(sim, "deck", say_deck(TL_DECK_CLEAR, TL_FOUL_UNKNOWN, timeline_event(1)));
    sim_run(sim, TL_SAID_MAX_MS + 300);
    struct tl_said_outcome outcome = {0};
    bool withdrawn = false;
    while (tl_outbox_outcome(&timeline_member(sim, "deck")->outbox, &outcome)) {
        withdrawn = withdrawn || outcome.kind == TL_SAID_WITHDRAWN;
    }
    assert_true(withdrawn);
    sim->bus_up[0] = true;
    sim->bus_up[1] = true;
    timeline_never_ready(sim, TL_HOLD_MS + 2000);
    timeline_all_causes(sim, "deck-foul:deck?");
    (void)sim_say(sim, "deck", say_deck(TL_DECK_CLEAR, TL_FOUL_UNKNOWN, timeline_event(1)));
    assert_true(timeline_comes_to(sim, TL_WORD_READY, 500) <= 500);
    sim_free(&sim);
}

static void
outage_of_ten_seconds_makes_event_words_unknown(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(110));
    sim->bus_up[0] = false;
    sim->bus_up[1] = false;
    sim_run(sim, TL_ALONE_MS + TL_LOST_MS + 300);
    sim->bus_up[0] = true;
    sim->bus_up[1] = true;
    timeline_never_ready(sim, TL_HOLD_MS + 2000);
    timeline_all_causes(sim, "type-called-differs:platform? setting-not-ordered:engine-1? "
                             "setting-not-ordered:engine-2? setting-not-ordered:engine-3? "
                             "setting-not-ordered:engine-4? not-in-battery:engine-1? "
                             "not-in-battery:engine-2? not-in-battery:engine-3? "
                             "not-in-battery:engine-4? deck-foul:deck? hook-not-down:platform?");
    timeline_words(sim, 1);
    sim_free(&sim);
}

/*
 * A correction was in flight when both validators restarted: in primary's beat that order is
 * UNKNOWN, so that they have never heard of the event, and its number is below the highest.
 */
static void
restart_of_both_validators_does_not_refuse_a_correction_in_flight(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(111));
    timeline_order(sim, 2, 2);
    timeline_order(sim, 3, 3);
    sim_kill(sim, "validator-1");
    sim_kill(sim, "validator-2");
    (void)sim_say(sim, "primary",
                  say_order(timeline_event(2), TIMELINE_SIDE + 1, "plover", 33500, 2));
    sim_run(sim, 300);
    sim_start(sim, "validator-1");
    sim_start(sim, "validator-2");
    (void)timeline_comes_to(sim, TL_WORD_NOT_READY, TL_NOT_READY_MS);
    (void)timeline_comes_to(sim, TL_WORD_READY, TL_HOLD_MS + 1000);
    const struct tl_own *own =
        tl_outbox_own(&timeline_member(sim, "primary")->outbox, TL_DATUM_ORDER, 2);
    assert_true(own->datum.known);
    timeline_result(sim, 1, TL_OUTCOME_TRAP);
    sim_run(sim, 300);
    struct tl_view view;
    sim_view(sim, "viewer", &view);
    assert_true(view.event_known);
    assert_int_equal(view.event.pass, 2);
    timeline_converged(sim);
    sim_free(&sim);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(restart_both_validators_on_final_blanks_every_screen_and_voids_nothing),
        cmocka_unit_test(restart_of_one_validator_of_two_blanks_every_screen),
        cmocka_unit_test(restart_of_a_station_makes_its_words_unknown_and_is_held),
        cmocka_unit_test(restart_of_a_station_does_not_lift_its_foul),
        cmocka_unit_test(twin_of_a_station_is_two_writers_until_one_is_gone),
        cmocka_unit_test(primary_restart_keeps_the_list_and_withholds_ready_until_it_resumes),
        cmocka_unit_test(primary_opening_a_new_recovery_voids_every_event),
        cmocka_unit_test(both_brokers_dead_then_back_shows_no_old_word),
        cmocka_unit_test(outage_that_outlives_a_keyed_clear_does_not_bring_it_back),
        cmocka_unit_test(outage_of_ten_seconds_makes_event_words_unknown),
        cmocka_unit_test(restart_of_both_validators_does_not_refuse_a_correction_in_flight),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
