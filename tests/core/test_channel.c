/* SPDX-License-Identifier: Apache-2.0 */
/* Timelines of the channel: delay, loss, events out of turn, forged sequences, frozen programs. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/core/timeline.h"

static void
foul_against_an_ended_event_acts(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(201));
    timeline_order(sim, 2, 2);
    timeline_result(sim, 1, TL_OUTCOME_TRAP);
    sim_run(sim, 300);
    timeline_words(sim, 2);
    (void)sim_say(sim, "deck", say_deck(TL_DECK_FOUL, TL_FOUL_EQUIPMENT, timeline_event(1)));
    assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 100) <= 20);
    timeline_all_causes(sim, "deck-foul:deck?");
    sim_free(&sim);
}

static void
order_for_the_next_while_one_is_on_final_changes_nothing_for_it(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(202));
    timeline_order(sim, 2, 2);
    timeline_stays_ready(sim, 500);
    /* The same weight is stated for the queued event too: READY is not touched. */
    struct tl_datum both = say_set(TIMELINE_WEIGHT_LB, timeline_event(1));
    both.stated_for[both.stated_for_count++] = timeline_event(2);
    (void)sim_say(sim, "engine-1", both);
    timeline_stays_ready(sim, 500);
    /* Another weight is the weight at once, under the aircraft on final. */
    (void)sim_say(sim, "engine-1", say_set(44000, timeline_event(2)));
    assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 100) <= 20);
    timeline_all_causes(sim, "wave-off-advised:engine-1 setting-other-aircraft:engine-1");
    sim_free(&sim);
}

static void
delay_case(uint64_t delay_ms, bool up, uint64_t seed)
{
    struct sim *sim = timeline_ready(2, timeline_seed(seed));
    struct sim_node *engine = sim_node(sim, "engine-2");
    for (uint32_t bus = 0; bus < SIM_BUSES; bus++) {
        engine->out_delay_ms[bus] = up ? delay_ms : 0;
        engine->in_delay_ms[bus] = up ? 0 : delay_ms;
    }
    assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 1500) <= TL_NOT_READY_MS + 100);
    timeline_all_causes(sim, "station-lost:engine-2");
    timeline_never_ready(sim, 4000); /* below 10 s, after which its own words end */
    for (uint32_t bus = 0; bus < SIM_BUSES; bus++) {
        engine->out_delay_ms[bus] = 0;
        engine->in_delay_ms[bus] = 0;
    }
    timeline_ready_between(sim, 1, TL_HOLD_MS + delay_ms + 2000);
    sim_free(&sim);
}

static void
delay_in_order_without_gaps_is_never_fresh_in_either_direction(void **state)
{
    (void)state;
    static const uint64_t delays_ms[] = {1000, 2000, 5000};
    for (size_t i = 0; i < sizeof delays_ms / sizeof delays_ms[0]; i++) {
        (void)printf("           delay %d ms\n", (int)delays_ms[i]);
        delay_case(delays_ms[i], true, 210 + i);
        delay_case(delays_ms[i], false, 220 + i);
    }
}

static void
loss_of_a_third_loses_no_change_and_both_validators_agree(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(230));
    sim->loss_percent[0] = 30;
    sim->loss_percent[1] = 30;
    for (uint32_t i = 0; i < 40; i++) {
        struct tl_datum inbound = {.kind = TL_DATUM_INBOUND, .slot = 500 + i % 8, .known = true};
        uint64_t sequence = 0;
        inbound.as.inbound =
            (struct tl_inbound){.side = inbound.slot, .type = "plover", .weight_lb = 30000 + i};
        tl_err_ignore(sim_try(sim, "approach", inbound, &sequence), "may be unheard just now");
        sim_run(sim, 150);
    }
    sim->loss_percent[0] = 0;
    sim->loss_percent[1] = 0;
    sim_run(sim, 6000);
    timeline_converged(sim);
    timeline_shows(sim, TL_WORD_READY);
    sim_free(&sim);
}

static void
one_dead_bus_costs_no_resend_and_no_tick(void **state)
{
    (void)state;
    for (uint32_t bus = 0; bus < SIM_BUSES; bus++) {
        struct sim *sim = timeline_ready(2, timeline_seed(240 + bus));
        uint64_t before = sim->changes_sent;
        for (uint32_t i = 0; i < 20; i++) {
            struct tl_datum inbound = {.kind = TL_DATUM_INBOUND, .slot = 500, .known = true};
            inbound.as.inbound =
                (struct tl_inbound){.side = 500, .type = "plover", .weight_lb = 30000 + i};
            (void)sim_say(sim, "approach", inbound);
            sim->bus_up[bus] = sim->bus_up[bus] && i < 7;
            sim_run(sim, 100);
            timeline_shows(sim, TL_WORD_READY);
        }
        assert_int_equal(sim->changes_sent - before, 20);
        timeline_converged(sim);
        sim_free(&sim);
    }
}

/* A change of engine-1 as a stranger would make it; goes straight into both validators. */
static void
inject_echoing(struct sim *sim, uint64_t sequence, uint32_t weight_lb, uint64_t digest,
               uint64_t ticks_ago)
{
    static const char *const validators[] = {"validator-1", "validator-2"};
    struct tl_envelope *made = calloc(1, sizeof *made);
    assert_non_null(made);
    for (size_t i = 0; i < 2; i++) {
        struct sim_node *node = sim_node(sim, validators[i]);
        const struct tl_fold *fold = &node->judge->fold;
        memset(made, 0, sizeof *made);
        memcpy(made->node, "engine-1", sizeof "engine-1");
        made->incarnation = sim_node(sim, "engine-1")->incarnation;
        made->sequence = sequence;
        made->body = TL_BODY_CHANGE;
        made->echo_count = 1;
        memcpy(made->echo[0].validator, node->id, TL_ID_CAP);
        made->echo[0].incarnation = node->incarnation;
        made->echo[0].tick = fold->newest_tick - ticks_ago;
        made->as.change.datum = say_set(weight_lb, timeline_event(1));
        made->as.change.datum.sequence = sequence;
        tl_judge_message(node->judge, made, digest, sim_clock(sim, node));
    }
    free(made);
}

static void
inject(struct sim *sim, uint64_t sequence, uint32_t weight_lb, uint64_t digest)
{
    inject_echoing(sim, sequence, weight_lb, digest, 0);
}

/* The tick that is echoed was sent five ticks, 1.0 s, ago: the word may be as old. */
static void
change_toward_ready_with_a_stale_echo_is_neither_applied_nor_receipted(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(245));
    const struct tl_told *told = timeline_told(sim, "validator-1", "engine-1");
    uint64_t applied = told->applied;
    inject_echoing(sim, applied + 1, 44000, 1, 5);
    assert_int_equal(told->applied, applied);
    timeline_shows(sim, TL_WORD_READY);
    inject_echoing(sim, applied + 1, 44000, 1, 3);
    assert_int_equal(told->applied, applied + 1);
    sim_run(sim, 50);
    timeline_shows(sim, TL_WORD_NOT_READY);
    sim_free(&sim);
}

static void
same_sequence_with_another_body_is_refused_with_an_alarm(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(250));
    inject(sim, 1, 44000, 0xBADull); /* number 1 was the setting of 34,000 lb */
    sim_run(sim, 200);
    timeline_shows(sim, TL_WORD_READY);
    assert_int_equal(timeline_alerts(sim), 2); /* one in each validator */
    const struct tl_decision *decision = &timeline_judge(sim, "validator-1")->decision;
    assert_int_equal(decision->cause[0].rule, TL_RULE_OTHER_BODY);
    assert_string_equal(decision->cause[0].station, "engine-1");
    sim_free(&sim);
}

static void
jump_of_more_than_1024_is_refused_and_named(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(251));
    inject(sim, 5000, 44000, 1);
    sim_run(sim, 200);
    timeline_shows(sim, TL_WORD_READY);
    const struct tl_decision *decision = &timeline_judge(sim, "validator-2")->decision;
    assert_int_equal(decision->cause[0].rule, TL_RULE_REFUSED_PUBLISHER);
    assert_int_equal(decision->cause[0].reason, TL_REFUSAL_JUMP);
    sim_free(&sim);
}

/* A station of a newer schema: people read who, and both versions. */
static void
newer_schema_is_named_with_both_versions(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(252));
    struct tl_judge *judge = timeline_judge(sim, "validator-2");
    char text[TL_TEXT_CAP];
    tl_judge_newer(judge, "engine-4", 3, sim_clock(sim, sim_node(sim, "validator-2")));
    sim_run(sim, 200);
    const struct tl_cause *cause = &judge->decision.cause[0];
    assert_int_equal(cause->rule, TL_RULE_REFUSED_PUBLISHER);
    assert_string_equal(cause->station, "engine-4");
    assert_int_equal(cause->reason, TL_REFUSAL_NEWER_SCHEMA);
    assert_true(cause->reported.known && cause->reported.number == 3);
    assert_true(cause->needed.known && cause->needed.number == TL_SCHEMA_VERSION);
    (void)tl_cause_text(cause, (struct tl_event){0}, text, sizeof text);
    assert_non_null(strstr(text, "engine 4"));
    assert_non_null(strstr(text, "has fields or values of a newer schema: 3, known is 1"));
    /* A second one of the same node is the same notice. */
    tl_judge_newer(judge, "engine-4", 4, sim_clock(sim, sim_node(sim, "validator-2")));
    sim_run(sim, 200);
    assert_int_equal(judge->outside.notice_count, 1);
    assert_true(judge->decision.cause[0].reported.number == 4);
    sim_free(&sim);
}

static void
frozen_validator_shows_no_old_ready_when_it_goes_on(void **state)
{
    (void)state;
    static const uint64_t frozen_ms[] = {1500, 4000, 10000};
    for (size_t i = 0; i < sizeof frozen_ms / sizeof frozen_ms[0]; i++) {
        struct sim *sim = timeline_ready(2, timeline_seed(260 + i));
        sim_stop(sim, "validator-1", true);
        assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 1500) <= TL_NOT_READY_MS);
        (void)sim_say(sim, "deck", say_deck(TL_DECK_FOUL, TL_FOUL_WIRE, timeline_event(1)));
        sim_run(sim, frozen_ms[i]);
        sim_stop(sim, "validator-1", false);
        timeline_never_ready(sim, TL_HOLD_MS + 1500);
        timeline_all_causes(sim, "deck-foul:deck?");
        sim_free(&sim);
    }
}

/* Wherever in the second between two pictures it happens. */
static void
differing_validators_are_not_ready_within_a_second(void **state)
{
    (void)state;
    for (uint32_t at_ms = 0; at_ms < TL_PICTURE_MS; at_ms += 130) {
        struct sim *sim = timeline_ready(2, timeline_seed(270 + at_ms));
        sim_run(sim, at_ms);
        struct tl_told *told = timeline_told(sim, "validator-1", "engine-4");
        for (uint32_t i = 0; i < told->held_count; i++) {
            if (told->held[i].datum.kind == TL_DATUM_SET) {
                told->held[i].datum.as.set_lb += 500; /* a flipped bit in its memory */
            }
        }
        assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 1500) <= TL_NOT_READY_MS);
        sim_run(sim, 2ull * TL_DIFFER_MS); /* the other finds it too */
        char text[512];
        assert_non_null(strstr(sim_causes(sim, "validator-2", text, sizeof text),
                               "validators-differ:validator-1"));
        sim_free(&sim);
    }
}

static void
older_time_of_a_caller_ends_no_hold_and_withdraws_nothing(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(280));
    struct sim_node *deck = sim_node(sim, "deck");
    (void)sim_say(sim, "deck", say_deck(TL_DECK_CLEAR, TL_FOUL_UNKNOWN, timeline_event(1)));
    tl_member_tend(deck->member, sim_clock(sim, deck) - 1);
    struct tl_said_outcome outcome = {0};
    while (tl_outbox_outcome(&deck->member->outbox, &outcome)) {
        assert_int_not_equal(outcome.kind, TL_SAID_WITHDRAWN);
    }
    sim_kill(sim, "validator-1");
    assert_true(timeline_comes_to(sim, TL_WORD_NOT_READY, 1500) <= TL_NOT_READY_MS);
    sim_free(&sim);
}

/*
 * Two faults at once: a station dies, and what the validators say of it does not reach one screen.
 * The ages of both would add there; the receipt tells how old the oldest beat is.
 */
static void
loss_of_a_station_and_of_the_word_of_it_keeps_the_deadline(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(230));
    uint64_t died_ms = sim->now_ms;
    sim_kill(sim, "engine-2");
    sim_run(sim, TL_LOST_MS - 100);
    struct sim_node *viewer = sim_node(sim, "viewer");
    for (uint32_t bus = 0; bus < SIM_BUSES; bus++) {
        viewer->in_cut[bus] = true;
    }
    assert_int_equal(sim_word(sim, "viewer"), TL_WORD_READY);
    sim_run(sim, TL_NOT_READY_MS - (sim->now_ms - died_ms));
    assert_int_equal(sim_word(sim, "deck"), TL_WORD_NOT_READY);
    assert_int_equal(sim_word(sim, "primary"), TL_WORD_NOT_READY);
    assert_int_equal(sim_word(sim, "viewer"), TL_WORD_NOT_READY);
    timeline_screen_cause(sim, "viewer", TL_RULE_SCREEN_NO_VALIDATOR, "validator-1");
    sim_free(&sim);
}

static void
silence(struct sim *sim, const char *id, bool on)
{
    for (uint32_t bus = 0; bus < SIM_BUSES; bus++) {
        sim_node(sim, id)->out_cut[bus] = on;
    }
}

/*
 * A setting is turned and turned back while nothing gets out; a beat is then the first to be heard.
 * The repeater was read before that, so it must be read again.
 */
static void
setting_turned_there_and_back_in_silence_voids_its_repeater(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(231));
    struct tl_datum back = say_set(TIMELINE_WEIGHT_LB, timeline_event(1));
    silence(sim, "engine-2", true);
    (void)sim_say(sim, "engine-2", say_set(44000, timeline_event(1)));
    (void)sim_say(sim, "engine-2", back);
    sim_run(sim, 50);
    silence(sim, "engine-2", false);
    (void)timeline_comes_to(sim, TL_WORD_NOT_READY, 300);
    sim_run(sim, 1000);
    timeline_all_causes(sim, "repeater-differs:engine-2?");
    (void)sim_say(sim, "primary", say_repeater(2, TIMELINE_WEIGHT_LB, timeline_event(1)));
    (void)timeline_comes_to(sim, TL_WORD_READY, 500);
    sim_free(&sim);
}

/* The same when the station itself has taken the setting back, because nobody receipted it. */
static void
setting_withdrawn_and_said_again_voids_its_repeater(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(232));
    struct tl_datum back = say_set(TIMELINE_WEIGHT_LB, timeline_event(1));
    silence(sim, "engine-2", true);
    (void)sim_say(sim, "engine-2", say_set(44000, timeline_event(1)));
    sim_run(sim, TL_SAID_MAX_MS + 300); /* a beat is heard before the changes come again */
    silence(sim, "engine-2", false);
    sim_run(sim, 1000);
    (void)sim_say(sim, "engine-2", back);
    sim_run(sim, TL_HOLD_MS);
    timeline_all_causes(sim, "repeater-differs:engine-2?");
    (void)sim_say(sim, "primary", say_repeater(2, TIMELINE_WEIGHT_LB, timeline_event(1)));
    (void)timeline_comes_to(sim, TL_WORD_READY, 500);
    sim_free(&sim);
}

/* What a station's next beat tells that validator of its sets. */
static uint64_t
told_shown(struct sim *sim, const char *validator, const char *station)
{
    const struct tl_fold *fold = &sim_node(sim, validator)->judge->fold;
    int place = tl_config_place(&sim->config, station);
    assert_true(place >= 0);
    return fold->told[place].alerts_shown;
}

static void
a_set_of_a_validator_that_is_not_heard_is_not_told_as_shown(void **state)
{
    (void)state;
    struct sim *sim = timeline_ready(2, timeline_seed(260));
    struct sim_node *deck = sim_node(sim, "deck");
    struct sim_node *gone = sim_node(sim, "validator-2");
    struct tl_alert listed[TL_ALERTS_MAX];
    /* Its verdicts are late for the deck, its sets come. */
    for (uint32_t bus = 0; bus < SIM_BUSES; bus++) {
        gone->out_delay_ms[bus] = 1000;
    }
    sim_run(sim, 1500);
    timeline_shows(sim, TL_WORD_NOT_READY);
    (void)sim_say(sim, "deck", say_deck(TL_DECK_FOUL, TL_FOUL_PERSON, timeline_event(1)));
    sim_run(sim, 2500);
    uint64_t now_ms = sim_clock(sim, deck);
    assert_int_not_equal(deck->member->seen[0].alerts_sequence, 0);
    assert_int_not_equal(deck->member->seen[1].alerts_sequence, 0);
    assert_int_not_equal(tl_member_alerts(deck->member, now_ms, listed, TL_ALERTS_MAX), 0);
    tl_member_alerts_shown(deck->member, now_ms);
    assert_int_equal(deck->member->seen[0].alerts_shown, deck->member->seen[0].alerts_sequence);
    assert_int_equal(deck->member->seen[1].alerts_shown, 0);
    sim_run(sim, 1500);
    assert_int_not_equal(told_shown(sim, "validator-1", "deck"), 0);
    assert_int_equal(told_shown(sim, "validator-2", "deck"), 0);
    for (uint32_t bus = 0; bus < SIM_BUSES; bus++) {
        gone->out_delay_ms[bus] = 0;
    }
    sim_run(sim, 2000);
    tl_member_alerts_shown(deck->member, sim_clock(sim, deck));
    sim_run(sim, 500);
    assert_int_not_equal(told_shown(sim, "validator-2", "deck"), 0);
    (void)sim_say(sim, "deck", say_deck(TL_DECK_CLEAR, TL_FOUL_UNKNOWN, timeline_event(1)));
    (void)timeline_comes_to(sim, TL_WORD_READY, TL_HOLD_MS + 2000);
    sim_free(&sim);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(foul_against_an_ended_event_acts),
        cmocka_unit_test(order_for_the_next_while_one_is_on_final_changes_nothing_for_it),
        cmocka_unit_test(delay_in_order_without_gaps_is_never_fresh_in_either_direction),
        cmocka_unit_test(loss_of_a_third_loses_no_change_and_both_validators_agree),
        cmocka_unit_test(one_dead_bus_costs_no_resend_and_no_tick),
        cmocka_unit_test(change_toward_ready_with_a_stale_echo_is_neither_applied_nor_receipted),
        cmocka_unit_test(same_sequence_with_another_body_is_refused_with_an_alarm),
        cmocka_unit_test(newer_schema_is_named_with_both_versions),
        cmocka_unit_test(jump_of_more_than_1024_is_refused_and_named),
        cmocka_unit_test(frozen_validator_shows_no_old_ready_when_it_goes_on),
        cmocka_unit_test(differing_validators_are_not_ready_within_a_second),
        cmocka_unit_test(older_time_of_a_caller_ends_no_hold_and_withdraws_nothing),
        cmocka_unit_test(loss_of_a_station_and_of_the_word_of_it_keeps_the_deadline),
        cmocka_unit_test(setting_turned_there_and_back_in_silence_voids_its_repeater),
        cmocka_unit_test(setting_withdrawn_and_said_again_voids_its_repeater),
        cmocka_unit_test(a_set_of_a_validator_that_is_not_heard_is_not_told_as_shown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
