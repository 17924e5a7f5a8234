/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_events - the list of events by itself: what is read, what is current, what may be named
 *
 * One picture put together by hand; each condition of events.h is seen alone.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "broker/core/events/events.h"
#include "tests/rules/scene.h"

enum {
    RECOVERY_MS = 5000
};

static struct tl_event
event_of(uint32_t pass)
{
    return (struct tl_event){RECOVERY_MS, pass};
}

/* The scene with nothing of events but an open recovery, read once. */
static struct scene *
list_new(void)
{
    struct scene *s = scene_ready_full();
    scene_drop(s, "primary", TL_DATUM_ORDER, 1);
    memset(&s->fold.list, 0, sizeof s->fold.list);
    assert_true(tl_events_update(&s->fold, 1000));
    assert_int_equal(s->fold.list.count, 0);
    assert_true(s->fold.list.heard && s->fold.list.open && s->fold.list.results_heard);
    assert_false(s->fold.list.restarted);
    return s;
}

static struct tl_datum *
order(struct scene *s, uint32_t pass, int32_t place)
{
    struct tl_held *held = scene_held(s, "primary", TL_DATUM_ORDER, pass);
    held->datum.sequence = 200 + pass;
    held->datum.stated_for[0] = event_of(pass);
    held->datum.as.order = (struct tl_order){.side = 300 + pass,
                                             .type = "plover",
                                             .weight_lb = SCENE_LB,
                                             .place = place,
                                             .state = TL_ORDER_ORDERED};
    return &held->datum;
}

static struct tl_datum *
result(struct scene *s, uint32_t pass, enum tl_outcome outcome, uint32_t wire)
{
    struct tl_held *held = scene_held(s, "platform", TL_DATUM_RESULT, pass);
    held->datum.stated_for[0] = event_of(pass);
    held->datum.as.result = (struct tl_result){outcome, wire};
    return &held->datum;
}

static struct tl_recovery *
recovery(struct scene *s)
{
    return &scene_held(s, "primary", TL_DATUM_RECOVERY, 0)->datum.as.recovery;
}

/* It changes, counts as one change of the picture, and is the same when asked again. */
static void
changes(struct scene *s)
{
    uint64_t before = s->fold.changes;
    assert_true(tl_events_update(&s->fold, 2000));
    assert_int_equal(s->fold.changes, before + 1);
    assert_false(tl_events_update(&s->fold, 3000));
    assert_int_equal(s->fold.changes, before + 1);
}

static void
stays(struct scene *s)
{
    uint64_t before = s->fold.changes;
    assert_false(tl_events_update(&s->fold, 2000));
    assert_int_equal(s->fold.changes, before);
}

static void
an_order_is_listed_when_it_is_known_and_of_its_event(void **state)
{
    (void)state;
    struct scene *s = list_new();
    struct tl_datum *first = order(s, 1, 1);
    first->known = false;
    stays(s);
    assert_int_equal(s->fold.list.highest_pass, 0);
    first->known = true;
    first->stated_for[0].pass = 2;
    stays(s);
    assert_int_equal(s->fold.list.highest_pass, 0);
    first->stated_for[0].pass = 1;
    changes(s);
    const struct tl_listed_event *listed = tl_events_current(&s->fold.list);
    assert_non_null(listed);
    assert_int_equal(s->fold.list.count, 1);
    assert_int_equal(s->fold.list.highest_pass, 1);
    assert_int_equal(s->fold.list.current_since_ms, 2000);
    assert_true(listed->order_known);
    assert_int_equal(listed->order.side, 301);
    assert_int_equal(listed->order_sequence, 201);
    first->known = false;
    first->sequence = 250;
    changes(s);
    assert_ptr_equal(tl_events_current(&s->fold.list), listed);
    assert_false(listed->order_known);
    assert_int_equal(listed->order.side, 301); /* its last words, and its place */
    assert_int_equal(listed->order_sequence, 250);
    assert_int_equal(s->fold.list.current_since_ms, 2000);
    free(s);
}

static void
the_list_is_by_place_and_then_by_pass(void **state)
{
    static const struct {
        uint32_t pass;
        int32_t place;
    } orders[] = {{4, 7}, {2, 9}, {9, -3}, {5, 7}, {1, 7}, {3, 0}};
    static const uint32_t wanted[] = {9, 3, 1, 4, 5, 2};

    (void)state;
    struct scene *s = list_new();
    for (size_t i = 0; i < 6; i++) {
        (void)order(s, orders[i].pass, orders[i].place);
    }
    changes(s);
    assert_int_equal(s->fold.list.count, 6);
    assert_int_equal(s->fold.list.highest_pass, 9);
    for (size_t i = 0; i < 6; i++) {
        assert_int_equal(s->fold.list.event[i].event.pass, wanted[i]);
        assert_int_equal(s->fold.list.event[i].event.recovery_ms, RECOVERY_MS);
    }
    assert_int_equal(s->fold.list.current.pass, 9);
    free(s);
}

static void
a_full_list_takes_no_more_and_knows_the_number(void **state)
{
    (void)state;
    struct scene *s = list_new();
    scene_told(s, "primary")->held_count = 1; /* the recovery alone */
    scene_told(s, "primary")->held[0] = *scene_held(s, "primary", TL_DATUM_RECOVERY, 0);
    recovery(s)->recovery_ms = RECOVERY_MS;
    recovery(s)->state = TL_RECOVERY_OPEN;
    for (uint32_t pass = 1; pass <= TL_LIST_MAX; pass++) {
        (void)order(s, pass, (int32_t)pass);
    }
    changes(s);
    assert_int_equal(s->fold.list.count, TL_LIST_MAX);
    (void)order(s, TL_LIST_MAX + 1, 0);
    changes(s); /* its highest pass */
    assert_int_equal(s->fold.list.count, TL_LIST_MAX);
    assert_int_equal(s->fold.list.highest_pass, TL_LIST_MAX + 1);
    assert_null(tl_events_find(&s->fold.list, event_of(TL_LIST_MAX + 1)));
    assert_non_null(tl_events_find(&s->fold.list, event_of(TL_LIST_MAX)));
    free(s);
}

static void
a_new_recovery_starts_from_nothing(void **state)
{
    (void)state;
    struct scene *s = list_new();
    (void)order(s, 3, 1);
    (void)result(s, 3, TL_OUTCOME_TRAP, 2);
    changes(s);
    assert_true(s->fold.list.last_known);
    assert_int_equal(s->fold.list.highest_pass, 3);
    recovery(s)->recovery_ms = 6000;
    changes(s);
    assert_int_equal(s->fold.list.recovery_ms, 6000);
    assert_int_equal(s->fold.list.highest_recovery_ms, 6000);
    assert_int_equal(s->fold.list.count, 0); /* the order was of the one before */
    assert_int_equal(s->fold.list.highest_pass, 0);
    assert_false(s->fold.list.last_known);
    recovery(s)->recovery_ms = RECOVERY_MS;
    changes(s);
    assert_int_equal(s->fold.list.highest_recovery_ms, 6000);
    free(s);
}

static void
a_word_taken_back_keeps_the_list_and_says_so(void **state)
{
    (void)state;
    struct scene *s = list_new();
    (void)order(s, 1, 1);
    changes(s);
    struct tl_held *held = scene_held(s, "primary", TL_DATUM_RECOVERY, 0);
    held->datum.known = false;
    changes(s);
    assert_true(s->fold.list.restarted);
    assert_int_equal(s->fold.list.count, 1);
    held->datum.known = true;
    changes(s);
    assert_false(s->fold.list.restarted);
    scene_drop(s, "primary", TL_DATUM_RECOVERY, 0);
    changes(s);
    assert_true(s->fold.list.restarted);
    free(s);
}

static void
a_list_never_heard_is_not_one_that_restarted(void **state)
{
    (void)state;
    struct scene *s = list_new();
    memset(&s->fold.list, 0, sizeof s->fold.list);
    scene_drop(s, "primary", TL_DATUM_RECOVERY, 0);
    s->fold.list.results_heard = true;
    stays(s);
    assert_false(s->fold.list.heard);
    assert_false(s->fold.list.restarted);
    for (uint32_t i = 0; i < s->config.node_count; i++) {
        bool primary = s->config.node[i].station == TL_STATION_PRIMARY;
        s->config.node[i].station = primary ? TL_STATION_UNKNOWN : s->config.node[i].station;
    }
    stays(s);
    free(s);
}

static void
without_the_platform_results_are_not_known_and_nothing_is_current(void **state)
{
    (void)state;
    struct scene *s = list_new();
    scene_told(s, "platform")->based = false;
    s->fold.list.results_heard = false;
    (void)order(s, 1, 1);
    changes(s);
    assert_false(s->fold.list.results_heard);
    assert_null(tl_events_current(&s->fold.list));
    scene_told(s, "platform")->based = true;
    changes(s);
    assert_int_equal(s->fold.list.current.pass, 1);
    scene_told(s, "platform")->based = false; /* heard once is heard */
    stays(s);
    for (uint32_t i = 0; i < s->config.node_count; i++) {
        bool platform = s->config.node[i].station == TL_STATION_PLATFORM;
        s->config.node[i].station = platform ? TL_STATION_UNKNOWN : s->config.node[i].station;
    }
    stays(s);
    s->fold.list.results_heard = false;
    changes(s); /* a ship without a platform waits for none */
    assert_true(s->fold.list.results_heard);
    free(s);
}

static void
a_result_ends_its_event_for_good(void **state)
{
    (void)state;
    struct scene *s = list_new();
    (void)order(s, 1, 1);
    (void)order(s, 2, 2);
    changes(s);
    struct tl_datum *said = result(s, 1, TL_OUTCOME_TRAP, 3);
    said->known = false;
    stays(s);
    said->known = true;
    said->stated_for[0].pass = 2;
    stays(s);
    said->stated_for[0].pass = 1;
    changes(s);
    const struct tl_listed_event *listed = tl_events_find(&s->fold.list, event_of(1));
    assert_true(listed->ended && listed->result_known);
    assert_int_equal(listed->result.wire, 3);
    assert_int_equal(s->fold.list.current.pass, 2);
    assert_true(s->fold.list.last_known);
    assert_int_equal(s->fold.list.last.event.pass, 1);
    said->as.result.wire = 4;
    changes(s);
    assert_int_equal(s->fold.list.last.result.wire, 4);
    said->as.result = (struct tl_result){TL_OUTCOME_BOLTER, 4};
    changes(s);
    assert_int_equal(s->fold.list.last.result.outcome, TL_OUTCOME_BOLTER);
    said->known = false; /* a new life of the platform: it stays ended */
    stays(s);
    assert_true(tl_events_find(&s->fold.list, event_of(1))->ended);
    free(s);
}

/* The last pass is the one whose result was news, not each that is said again. */
static void
a_result_said_again_is_not_the_last_one(void **state)
{
    (void)state;
    struct scene *s = list_new();
    (void)order(s, 1, 1);
    (void)order(s, 2, 2);
    (void)result(s, 2, TL_OUTCOME_WAVE_OFF, 0);
    changes(s);
    assert_int_equal(s->fold.list.last.event.pass, 2);
    assert_int_equal(s->fold.list.current.pass, 1);
    (void)result(s, 1, TL_OUTCOME_TRAP, 1);
    changes(s);
    assert_int_equal(s->fold.list.last.event.pass, 1);
    stays(s);
    assert_int_equal(s->fold.list.last.event.pass, 1);
    free(s);
}

/* From then on the deck is made ready; a result that is put right later does not begin it anew. */
static void
a_pass_ends_when_its_first_result_is_heard(void **state)
{
    (void)state;
    struct scene *s = list_new();
    (void)order(s, 1, 1);
    (void)order(s, 2, 2);
    assert_true(tl_events_update(&s->fold, 2000));
    assert_int_equal(s->fold.list.last_ms, 0);
    struct tl_datum *first = result(s, 1, TL_OUTCOME_TRAP, 2);
    assert_true(tl_events_update(&s->fold, 5000));
    assert_int_equal(s->fold.list.last_ms, 5000);
    (void)tl_events_update(&s->fold, 6000);
    assert_int_equal(s->fold.list.last_ms, 5000);
    first->as.result.wire = 3;
    assert_true(tl_events_update(&s->fold, 7000));
    assert_int_equal(s->fold.list.last_ms, 5000);
    (void)result(s, 2, TL_OUTCOME_BOLTER, 0);
    assert_true(tl_events_update(&s->fold, 9000));
    assert_int_equal(s->fold.list.last_ms, 9000);
    first->as.result.wire = 4;
    assert_true(tl_events_update(&s->fold, 12000));
    assert_int_equal(s->fold.list.last_ms, 9000);
    free(s);
}

/* What is off the list has no result here. */
static void
a_result_of_an_event_off_the_list_is_not_the_last_one(void **state)
{
    (void)state;
    struct scene *s = list_new();
    (void)order(s, 1, 1);
    (void)order(s, 2, 2);
    changes(s);
    scene_drop(s, "primary", TL_DATUM_ORDER, 2);
    changes(s);
    (void)result(s, 2, TL_OUTCOME_TRAP, 1);
    stays(s);
    assert_false(s->fold.list.last_known);
    free(s);
}

static struct tl_held *
result_for(struct scene *s, const char *station, const char *signer)
{
    struct tl_held *held = scene_held(s, signer, TL_DATUM_RESULT, 1);
    held->datum.stated_for[0] = event_of(1);
    held->datum.as.result = (struct tl_result){TL_OUTCOME_TRAP, 2};
    memcpy(held->datum.voice_for, station, strlen(station) + 1);
    return held;
}

/* By one voice for the platform: each part of that is needed. */
static void
a_result_by_voice_acts_at_once(void **state)
{
    (void)state;
    struct scene *s = list_new();
    (void)order(s, 1, 1);
    changes(s);
    struct tl_held *held = result_for(s, "platform", "safety");
    held->datum.known = false;
    stays(s);
    held->datum.known = true;
    held->datum.slot = 2;
    stays(s);
    held->datum.slot = 1;
    held->datum.voice_for[0] = '\0';
    stays(s);
    memcpy(held->datum.voice_for, "deck", sizeof "deck");
    stays(s);
    memcpy(held->datum.voice_for, "platform", sizeof "platform");
    held->datum.kind = TL_DATUM_REPEATER;
    stays(s);
    held->datum.kind = TL_DATUM_RESULT;
    held->datum.stated_for[0].pass = 2;
    stays(s);
    held->datum.stated_for[0].pass = 1;
    struct tl_datum *own = result(s, 1, TL_OUTCOME_BOLTER, 0);
    own->stated_for[0].pass = 2; /* the platform's own word counts before a voice */
    stays(s);
    own->known = false;
    changes(s);
    assert_int_equal(tl_events_find(&s->fold.list, event_of(1))->result.outcome, TL_OUTCOME_TRAP);
    scene_drop(s, "platform", TL_DATUM_RESULT, 1);
    stays(s);
    free(s);
}

static void
the_current_event_is_the_first_that_is_open(void **state)
{
    (void)state;
    struct scene *s = list_new();
    struct tl_datum *first = order(s, 1, 1);
    (void)order(s, 2, 2);
    changes(s);
    assert_int_equal(s->fold.list.current.pass, 1);
    first->as.order.state = TL_ORDER_CANCELLED;
    changes(s);
    assert_int_equal(s->fold.list.current.pass, 2);
    first->as.order.state = TL_ORDER_ORDERED;
    changes(s);
    assert_int_equal(s->fold.list.current.pass, 1);
    recovery(s)->state = TL_RECOVERY_CLOSED;
    changes(s);
    assert_false(tl_event_is(s->fold.list.current));
    assert_null(tl_events_current(&s->fold.list));
    assert_int_equal(s->fold.list.count, 2);
    free(s);
}

/* READY-ward words for the event that is left are void; others stay. */
static void
words_for_the_event_left_are_void(void **state)
{
    (void)state;
    struct scene *s = list_new();
    struct tl_datum *first = order(s, 1, 1);
    (void)order(s, 2, 2);
    changes(s);
    struct tl_held *battery = scene_held(s, "engine-1", TL_DATUM_BATTERY, 0);
    struct tl_held *other = scene_held(s, "engine-2", TL_DATUM_BATTERY, 0);
    struct tl_held *set = scene_held(s, "engine-1", TL_DATUM_SET, 0);
    struct tl_held *deck = scene_held(s, "deck", TL_DATUM_DECK, 0);
    struct tl_held *none = scene_held(s, "platform", TL_DATUM_DECK, 0);
    battery->datum.stated_for[0] = set->datum.stated_for[0] = event_of(1);
    other->datum.stated_for[0] = event_of(2);
    uint64_t sequence = battery->datum.sequence;
    first->as.order.state = TL_ORDER_CANCELLED;
    changes(s);
    assert_false(battery->datum.known);
    assert_int_equal(battery->datum.sequence, sequence);
    assert_int_equal(battery->barred, sequence);
    assert_false(battery->by_change);
    assert_false(deck->datum.known);
    assert_true(other->datum.known); /* said for the next */
    assert_true(set->datum.known);   /* one physical state */
    assert_true(none->datum.known);  /* no foul is of no event */
    const struct tl_told *engine = scene_told(s, "engine-1");
    assert_int_equal(engine->refused_count, 1);
    assert_int_equal(engine->refused[0].refused.sequence, sequence);
    assert_int_equal(engine->refused[0].refused.reason, TL_REFUSAL_EVENT_LEFT);
    free(s);
}

/* Each thing that validators compare or screens show is a change by itself. */
static void
each_part_of_the_list_is_a_change(void **state)
{
    (void)state;
    struct scene *s = list_new();
    struct tl_datum *first = order(s, 1, 1);
    struct tl_datum *second = order(s, 2, 2);
    first->as.order.state = second->as.order.state = TL_ORDER_CANCELLED;
    first->sequence = second->sequence = 9;
    changes(s);
    recovery(s)->drill = true;
    changes(s);
    assert_true(s->fold.list.drill);
    first->as.order.place = 3; /* the events alone change places */
    changes(s);
    first->sequence = 10;
    changes(s);
    struct tl_datum *said = result(s, 1, TL_OUTCOME_TRAP, 1);
    changes(s);
    said->as.result.wire = 2;
    changes(s);
    said->as.result.outcome = TL_OUTCOME_BOLTER;
    changes(s);
    first->known = false;
    changes(s);
    recovery(s)->state = TL_RECOVERY_CLOSED;
    changes(s);
    scene_drop(s, "primary", TL_DATUM_ORDER, 2);
    changes(s);
    s->fold.list.highest_recovery_ms = 1;
    changes(s);
    s->fold.list.highest_pass = 0;
    stays(s); /* an unknown order is not a number that was given out */
    first->known = true;
    changes(s);
    s->fold.list.highest_pass = 0;
    changes(s);
    s->fold.list.event[0].ended = false;
    changes(s);
    s->fold.list.event[0].result_known = false;
    changes(s);
    free(s);
}

/* With nothing on it, another recovery is a change too. */
static void
another_recovery_is_a_change(void **state)
{
    (void)state;
    struct scene *s = list_new();
    recovery(s)->recovery_ms = 4000;
    changes(s);
    assert_int_equal(s->fold.list.recovery_ms, 4000);
    assert_int_equal(s->fold.list.highest_recovery_ms, RECOVERY_MS);
    free(s);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_order_is_listed_when_it_is_known_and_of_its_event),
        cmocka_unit_test(the_list_is_by_place_and_then_by_pass),
        cmocka_unit_test(a_full_list_takes_no_more_and_knows_the_number),
        cmocka_unit_test(a_new_recovery_starts_from_nothing),
        cmocka_unit_test(a_word_taken_back_keeps_the_list_and_says_so),
        cmocka_unit_test(a_list_never_heard_is_not_one_that_restarted),
        cmocka_unit_test(without_the_platform_results_are_not_known_and_nothing_is_current),
        cmocka_unit_test(a_result_ends_its_event_for_good),
        cmocka_unit_test(a_result_said_again_is_not_the_last_one),
        cmocka_unit_test(a_pass_ends_when_its_first_result_is_heard),
        cmocka_unit_test(a_result_of_an_event_off_the_list_is_not_the_last_one),
        cmocka_unit_test(a_result_by_voice_acts_at_once),
        cmocka_unit_test(the_current_event_is_the_first_that_is_open),
        cmocka_unit_test(words_for_the_event_left_are_void),
        cmocka_unit_test(each_part_of_the_list_is_a_change),
        cmocka_unit_test(another_recovery_is_a_change),
    };
    return cmocka_run_group_tests_name("core_events", tests, NULL, NULL);
}
