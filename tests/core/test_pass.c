/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_pass - an aircraft after another: words, READY, result, and nothing of it for the next
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "tests/core/timeline.h"

#define NOTHING_SAID                                                                               \
    "type-called-differs:platform? setting-not-ordered:engine-1? setting-not-ordered:engine-2? "   \
    "setting-not-ordered:engine-3? setting-not-ordered:engine-4? not-in-battery:engine-1? "        \
    "not-in-battery:engine-2? not-in-battery:engine-3? not-in-battery:engine-4? deck-foul:deck? "  \
    "hook-not-down:platform?"

static void
pass_needs_every_word_then_is_ready_on_every_screen(void **state)
{
    (void)state;
    struct sim *sim = timeline_joined(2, timeline_seed(1));
    struct tl_event event = timeline_event(1);
    timeline_all_causes(sim, "no-event? foul-word-missing:platform? foul-word-missing:primary?");
    sim_open(sim, TIMELINE_RECOVERY_MS);
    timeline_all_causes(sim, "no-event?");
    timeline_order(sim, 1, 1);
    timeline_all_causes(sim, NOTHING_SAID);
    timeline_never_ready(sim, 1000);
    timeline_say_all(sim, 1);
    timeline_all_causes(sim, "");
    timeline_shows(sim, TL_WORD_READY);
    for (uint32_t i = 0; i < sim->count; i++) {
        struct tl_view view;
        if (sim->node[i].member == NULL) {
            continue;
        }
        sim_view(sim, sim->node[i].id, &view);
        assert_true(view.event_known);
        assert_true(tl_event_equal(view.event, event));
        assert_int_equal(view.first.rule, TL_RULE_NONE);
    }
    timeline_stays_ready(sim, 10000);
    assert_int_equal(timeline_alerts(sim), 0);
    sim_free(&sim);
}

static void
pass_word_alone_missing_is_the_only_cause(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        const char *station;
        enum tl_datum_kind kind;
        const char *causes;
    } rows[] = {
        {"set", "engine-2", TL_DATUM_SET, "setting-not-ordered:engine-2?"},
        {"battery", "engine-3", TL_DATUM_BATTERY, "not-in-battery:engine-3?"},
        {"deck", "deck", TL_DATUM_DECK, "deck-foul:deck?"},
        {"call", "platform", TL_DATUM_CALL, "type-called-differs:platform?"},
        {"hook", "platform", TL_DATUM_HOOK, "hook-not-down:platform?"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        (void)printf("           row: %s\n", rows[i].name);
        struct sim *sim = timeline_ready(2, timeline_seed(2 + i));
        const struct tl_own *own =
            tl_outbox_own(&timeline_member(sim, rows[i].station)->outbox, rows[i].kind, 0);
        struct tl_datum word = own->datum;
        (void)sim_say(sim, rows[i].station, say_unknown(rows[i].kind, 0));
        assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 100) <= 20);
        timeline_all_causes(sim, rows[i].causes);
        (void)sim_say(sim, rows[i].station, word);
        /* a repeater is compared only with a setting that stood when it was read */
        if (rows[i].kind == TL_DATUM_SET) {
            sim_run(sim, 300); /* primary is told with the receipt of its next beat */
            timeline_all_causes(sim, "repeater-differs:engine-2?");
            (void)sim_say(sim, "primary", say_repeater(2, TIMELINE_WEIGHT_LB, timeline_event(1)));
        }
        assert_true(timeline_comes_to(sim, TL_WORD_READY, 500) <= 100);
        sim_free(&sim);
    }
}

static void
pass_trap_ends_ready_at_once_and_counts_for_no_next_aircraft(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(10));
    timeline_order(sim, 2, 2);
    timeline_stays_ready(sim, 500);
    timeline_result(sim, 1, TL_OUTCOME_TRAP);
    assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 100) <= 20);
    sim_run(sim, 500);
    timeline_all_causes(sim, NOTHING_SAID);
    timeline_never_ready(sim, 4000);
    for (uint32_t v = 1; v <= 2; v++) {
        const char *validator = v == 1 ? "validator-1" : "validator-2";
        assert_false(timeline_held(sim, validator, "deck", TL_DATUM_DECK)->datum.known);
        assert_false(timeline_held(sim, validator, "platform", TL_DATUM_HOOK)->datum.known);
        assert_false(timeline_held(sim, validator, "engine-1", TL_DATUM_BATTERY)->datum.known);
    }
    timeline_words(sim, 2);
    assert_int_equal(timeline_alerts(sim), 0);
    timeline_converged(sim);
    sim_free(&sim);
}

static void
pass_without_next_order_has_no_current_event(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(11));
    timeline_result(sim, 1, TL_OUTCOME_TRAP);
    sim_run(sim, 300);
    timeline_all_causes(sim, "no-event?");
    timeline_order(sim, 2, 2);
    timeline_words(sim, 2);
    sim_free(&sim);
}

/* What is said between two passes as a matter of course: out of battery, foul, then back. */
static void
clean_pass(struct sim *sim, uint32_t pass)
{
    struct tl_event next = timeline_event(pass + 1);
    timeline_order(sim, pass + 1, (int32_t)pass + 1);
    timeline_result(sim, pass, TL_OUTCOME_TRAP);
    (void)sim_say(sim, "deck", say_deck(TL_DECK_FOUL, TL_FOUL_AIRCRAFT, next));
    for (uint32_t unit = 1; unit <= TIMELINE_ENGINES; unit++) {
        char id[TL_ID_CAP];
        (void)snprintf(id, sizeof id, "engine-%u", unit);
        (void)sim_say(sim, id, say_battery(false, next));
    }
    sim_run(sim, 1000);
    timeline_shows(sim, TL_WORD_NOT_READY);
    timeline_words(sim, pass + 1);
    timeline_stays_ready(sim, 300);
}

static void
pass_fifty_clean_ones_raise_no_alert(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(12));
    for (uint32_t pass = 1; pass <= 50; pass++) {
        clean_pass(sim, pass);
        /* primary drops what has ended, and the platform its result */
        tl_outbox_drop(&timeline_member(sim, "primary")->outbox,
                       &(struct tl_datum){.kind = TL_DATUM_ORDER, .slot = pass});
        sim_run(sim, 300);
        tl_outbox_drop(&timeline_member(sim, "platform")->outbox,
                       &(struct tl_datum){.kind = TL_DATUM_RESULT, .slot = pass});
        assert_int_equal(timeline_alerts(sim), 0);
    }
    timeline_shows(sim, TL_WORD_READY);
    timeline_converged(sim);
    sim_free(&sim);
}

static void
pass_bolter_ends_the_event_and_the_aircraft_has_none_until_ordered_again(void **state)
{
    (void)state;
    static const enum tl_outcome outcomes[] = {TL_OUTCOME_BOLTER, TL_OUTCOME_WAVE_OFF};
    for (size_t i = 0; i < 2; i++) {
        struct sim *sim = timeline_ready(2, timeline_seed(20 + i));
        timeline_result(sim, 1, outcomes[i]);
        assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 100) <= 20);
        sim_run(sim, 300);
        timeline_all_causes(sim, "no-event?");
        timeline_order(sim, 2, 1); /* the same aircraft, a new event */
        timeline_all_causes(sim, NOTHING_SAID);
        timeline_words(sim, 2);
        assert_int_equal(timeline_alerts(sim), 0);
        sim_free(&sim);
    }
}

/* 1 and 2 are listed; 1 bolters and is ordered again behind 2. */
static void
pass_bolter_changes_the_order(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(22));
    timeline_order(sim, 2, 2);
    timeline_result(sim, 1, TL_OUTCOME_BOLTER);
    timeline_order(sim, 3, 3);
    for (uint32_t v = 1; v <= 2; v++) {
        const char *validator = v == 1 ? "validator-1" : "validator-2";
        const struct tl_list *list = &timeline_judge(sim, validator)->fold.list;
        assert_int_equal(list->count, 3);
        assert_int_equal(list->current.pass, 2);
    }
    timeline_words(sim, 2);
    timeline_result(sim, 2, TL_OUTCOME_TRAP);
    sim_run(sim, 300);
    assert_int_equal(timeline_judge(sim, "validator-1")->fold.list.current.pass, 3);
    timeline_words(sim, 3);
    sim_free(&sim);
}

/* "take": another aircraft first. Words for the one left are void for good, both ways. */
static void
pass_words_are_void_for_good_when_another_is_taken_first(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(23));
    timeline_order(sim, 2, 2);
    (void)sim_say(sim, "primary",
                  say_order(timeline_event(2), TIMELINE_SIDE, "plover", TIMELINE_WEIGHT_LB, 0));
    assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 100) <= 20);
    sim_run(sim, 300);
    timeline_all_causes(sim, NOTHING_SAID);
    (void)sim_say(sim, "primary",
                  say_order(timeline_event(2), TIMELINE_SIDE, "plover", TIMELINE_WEIGHT_LB, 9));
    sim_run(sim, 300);
    assert_int_equal(timeline_judge(sim, "validator-1")->fold.list.current.pass, 1);
    timeline_all_causes(sim, "type-called-differs:platform? not-in-battery:engine-1? "
                             "not-in-battery:engine-2? not-in-battery:engine-3? "
                             "not-in-battery:engine-4? deck-foul:deck? hook-not-down:platform?");
    timeline_never_ready(sim, 4000);
    timeline_words(sim, 1);
    assert_int_equal(timeline_alerts(sim), 0);
    sim_free(&sim);
}

/* There and back within one message's time: the validators alone have seen the change. */
static void
pass_words_are_void_for_good_when_the_order_flips_twice_at_once(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(24));
    timeline_order(sim, 2, 2);
    (void)sim_say(sim, "primary",
                  say_order(timeline_event(2), TIMELINE_SIDE, "plover", TIMELINE_WEIGHT_LB, 0));
    (void)sim_say(sim, "primary",
                  say_order(timeline_event(2), TIMELINE_SIDE, "plover", TIMELINE_WEIGHT_LB, 9));
    sim_run(sim, 1000);
    timeline_all_causes(sim, "type-called-differs:platform? not-in-battery:engine-1? "
                             "not-in-battery:engine-2? not-in-battery:engine-3? "
                             "not-in-battery:engine-4? deck-foul:deck? hook-not-down:platform?");
    const struct tl_own *own =
        tl_outbox_own(&timeline_member(sim, "deck")->outbox, TL_DATUM_DECK, 0);
    assert_false(own->datum.known);
    timeline_converged(sim);
    sim_free(&sim);
}

static void
pass_cancelled_order_is_not_current(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(25));
    struct tl_datum cancel =
        say_order(timeline_event(1), TIMELINE_SIDE, "plover", TIMELINE_WEIGHT_LB, 1);
    cancel.as.order.state = TL_ORDER_CANCELLED;
    (void)sim_say(sim, "primary", cancel);
    assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 100) <= 20);
    sim_run(sim, 300);
    timeline_all_causes(sim, "no-event?");
    sim_free(&sim);
}

static void
pass_closed_recovery_has_no_current_event_and_takes_no_word(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(26));
    uint64_t sequence = 0;
    (void)sim_say(sim, "primary", say_recovery(TIMELINE_RECOVERY_MS, false));
    assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 100) <= 20);
    sim_run(sim, 300);
    timeline_all_causes(sim, "no-event?");
    sequence = sim_say(sim, "deck", say_deck(TL_DECK_CLEAR, TL_FOUL_UNKNOWN, timeline_event(1)));
    sim_run(sim, 200);
    struct tl_said_outcome outcome = {0};
    while (tl_outbox_outcome(&timeline_member(sim, "deck")->outbox, &outcome) &&
           outcome.sequence != sequence) {
    }
    assert_int_equal(outcome.sequence, sequence);
    assert_int_equal(outcome.kind, TL_SAID_REFUSED);
    assert_int_equal(outcome.reason, TL_REFUSAL_LATE);
    sim_free(&sim);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pass_needs_every_word_then_is_ready_on_every_screen),
        cmocka_unit_test(pass_word_alone_missing_is_the_only_cause),
        cmocka_unit_test(pass_trap_ends_ready_at_once_and_counts_for_no_next_aircraft),
        cmocka_unit_test(pass_without_next_order_has_no_current_event),
        cmocka_unit_test(pass_fifty_clean_ones_raise_no_alert),
        cmocka_unit_test(pass_bolter_ends_the_event_and_the_aircraft_has_none_until_ordered_again),
        cmocka_unit_test(pass_bolter_changes_the_order),
        cmocka_unit_test(pass_words_are_void_for_good_when_another_is_taken_first),
        cmocka_unit_test(pass_words_are_void_for_good_when_the_order_flips_twice_at_once),
        cmocka_unit_test(pass_cancelled_order_is_not_current),
        cmocka_unit_test(pass_closed_recovery_has_no_current_event_and_takes_no_word),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
