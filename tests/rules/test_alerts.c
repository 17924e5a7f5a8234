/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_alerts - the book of alerts by itself: who owes, who has acknowledged, what is the same
 *
 * A decision is put together by hand, so that each condition of the book is seen alone. States and
 * words as in test_people.c.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "broker/core/alerts/alerts.h"
#include "tests/rules/tell.h"

struct bench {
    struct scene *scene;
    struct tl_alert_book book;
    struct tl_decision decision;
    struct tl_alert_set set;
};

static struct bench *
bench_new(void)
{
    struct bench *bench = calloc(1, sizeof *bench);
    assert_non_null(bench);
    bench->scene = scene_ready_full();
    memset(&bench->book, 0xA5, sizeof bench->book);
    tl_alert_book_init(&bench->book);
    assert_int_equal(bench->book.count, 0);
    assert_int_equal(bench->book.raised, 0);
    return bench;
}

static void
bench_free(struct bench *bench)
{
    free(bench->scene);
    free(bench);
}

static struct tl_cause *
add(struct bench *bench, enum tl_rule rule, const char *station, enum tl_cause_state state)
{
    struct tl_cause *cause = &bench->decision.cause[bench->decision.cause_count++];
    memset(cause, 0, sizeof *cause);
    cause->rule = (uint32_t)rule;
    cause->state = state;
    memcpy(cause->station, station, strlen(station) + 1);
    return cause;
}

static bool
update(struct bench *bench, uint64_t now_ms)
{
    return tl_alert_book_update(&bench->book, &bench->decision, &bench->scene->fold, now_ms);
}

static uint32_t
bit(const struct bench *bench, const char *station)
{
    return 1u << tl_config_place(&bench->scene->config, station);
}

static void
acknowledge(struct bench *bench, const char *station, const struct tl_alert *alert)
{
    uint64_t instance = tl_alert_instance(alert);
    scene_held(bench->scene, station, TL_DATUM_ACKNOWLEDGED, tl_acknowledged_slot(instance))
        ->datum.as.instance = instance;
}

/* What is wrong, overdue, a note or overridden is told; what is pending or held is not. */
static void
people_are_told_of_what_is_wrong_overdue_noted_or_overridden(void **state)
{
    static const struct {
        enum tl_cause_state state;
        bool told;
    } table[] = {
        {TL_CAUSE_WRONG, true},      {TL_CAUSE_OVERDUE, true},  {TL_CAUSE_NOTE, true},
        {TL_CAUSE_OVERRIDDEN, true}, {TL_CAUSE_PENDING, false}, {TL_CAUSE_HOLDING, false},
        {TL_CAUSE_UNKNOWN, false},
    };

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct bench *bench = bench_new();
        add(bench, TL_RULE_SHEAVE_DOWN, "wires", table[i].state);
        assert_int_equal(update(bench, SCENE_NOW_MS), table[i].told);
        assert_int_equal(bench->book.count, table[i].told ? 1 : 0);
        assert_int_equal(bench->book.raised, table[i].told ? 1 : 0);
        bench_free(bench);
    }
}

static void
a_rule_that_is_not_in_the_table_is_not_told_and_hides_no_other(void **state)
{
    (void)state;
    struct bench *bench = bench_new();
    add(bench, TL_RULES_MAX, "wires", TL_CAUSE_WRONG);
    add(bench, TL_RULE_SHEAVE_DOWN, "wires", TL_CAUSE_PENDING);
    add(bench, TL_RULE_SHEAVE_DOWN, "wires", TL_CAUSE_WRONG);
    assert_true(update(bench, SCENE_NOW_MS));
    assert_int_equal(bench->book.count, 1);
    assert_int_equal(bench->book.active[0].alert.cause.rule, TL_RULE_SHEAVE_DOWN);
    assert_int_equal(bench->book.active[0].alert.severity, TL_SEVERITY_ALARM);
    bench_free(bench);
}

static void
one_situation_is_one_alert(void **state)
{
    (void)state;
    struct bench *bench = bench_new();
    add(bench, TL_RULE_SHEAVE_DOWN, "wires", TL_CAUSE_WRONG);
    add(bench, TL_RULE_SHEAVE_DOWN, "wires", TL_CAUSE_WRONG);
    add(bench, TL_RULE_PENDANT_WORN, "wires", TL_CAUSE_WRONG);
    assert_true(update(bench, SCENE_NOW_MS));
    assert_int_equal(bench->book.count, 2);
    assert_int_equal(bench->book.raised, 2);
    assert_false(update(bench, SCENE_NOW_MS + 1));
    assert_int_equal(bench->book.raised, 2);
    bench_free(bench);
}

/* A word of the event makes an alert of the event; what stands, and the tool, does not. */
static void
an_alert_of_the_ship_is_of_the_current_event(void **state)
{
    (void)state;
    struct bench *bench = bench_new();
    add(bench, TL_RULE_NOT_IN_BATTERY, "engine-2", TL_CAUSE_WRONG);
    add(bench, TL_RULE_SHEAVE_DOWN, "wires", TL_CAUSE_WRONG);
    add(bench, TL_RULE_STATION_LOST, "wires", TL_CAUSE_WRONG);
    assert_true(update(bench, SCENE_NOW_MS));
    assert_true(tl_event_equal(bench->book.active[0].alert.event, scene_event()));
    assert_false(tl_event_is(bench->book.active[1].alert.event));
    assert_false(tl_event_is(bench->book.active[2].alert.event));
    bench_free(bench);
}

static void
what_is_of_the_event_is_said_of_each_kind_of_rule(void **state)
{
    static const struct {
        enum tl_rule rule;
        bool of_event;
    } table[] = {
        {TL_RULE_ORDER_UNKNOWN, true},          /* of the order */
        {TL_RULE_OVER_TRAP_WEIGHT, true},       /* of who comes in */
        {TL_RULE_SETTING_OTHER_AIRCRAFT, true}, /* said for each event */
        {TL_RULE_NOT_IN_BATTERY, true},         /* said for an event and the next */
        {TL_RULE_NO_ENGINE, true},              /* of several words */
        {TL_RULE_WIND_LOW, false},              /* of the wind */
        {TL_RULE_PENDANT_WORN, false},          /* stands until changed */
        {TL_RULE_VALIDATORS_DIFFER, false},     /* of the tool */
    };

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        const struct tl_rule_row *row = tl_rule_row((uint32_t)table[i].rule);
        assert_int_equal(tl_rule_is_of_event(row), table[i].of_event);
    }
}

/* What an instrument or the network says may go to and fro; what people say may not. */
static void
what_is_measured_settles_and_nothing_else(void **state)
{
    static const enum tl_rule measured[] = {
        TL_RULE_WIND_UNKNOWN,    TL_RULE_WIND_LOW,     TL_RULE_CROSSWIND_OVER,
        TL_RULE_SHIP_NOT_STEADY, TL_RULE_DECK_MOTION,  TL_RULE_ACCUMULATOR,
        TL_RULE_AID_ANGLE,       TL_RULE_BUS_DEGRADED, TL_RULE_WAVE_OFF_ADVISED,
    };
    size_t count = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);

    (void)state;
    for (size_t i = 0; i < count; i++) {
        bool is = false;
        for (size_t k = 0; k < sizeof measured / sizeof measured[0]; k++) {
            is = is || rows[i].rule == measured[k];
        }
        if (tl_rule_is_measured(&rows[i]) != is) {
            fail_msg("%s", rows[i].name);
        }
    }
}

/* By kind of station: each that acts owes, the one that is named, and no other. */
static void
who_owes_is_who_acts_and_who_is_named(void **state)
{
    static const struct {
        enum tl_rule rule;
        const char *station;
        const char *owes[6];
    } table[] = {
        {TL_RULE_ENGINES_DISAGREE, "", {"engine-1", "engine-2", "engine-3", "engine-4", "primary"}},
        {TL_RULE_ORDERED_DIVERTED, "approach", {"approach", "primary"}},
        {TL_RULE_AID_FAULT, "aid", {"aid", "platform", "primary"}},
        {TL_RULE_WIND_UNKNOWN, "bridge", {"bridge", "primary"}},
        {TL_RULE_INACTIVE_RIGGED, "wires", {"wires", "gear-officer", "primary"}},
        {TL_RULE_TRACK_OPEN, "tracks", {"tracks", "primary"}},
        {TL_RULE_STATION_LOST, "deck", {"primary"}},
        {TL_RULE_BY_VOICE, "deck", {NULL}},
    };

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct bench *bench = bench_new();
        uint32_t wanted = 0;
        for (size_t k = 0; table[i].owes[k] != NULL; k++) {
            wanted |= bit(bench, table[i].owes[k]);
        }
        add(bench, table[i].rule, table[i].station, TL_CAUSE_WRONG);
        assert_true(update(bench, SCENE_NOW_MS));
        assert_int_equal(bench->book.active[0].alert.owed, wanted);
        assert_int_equal(bench->book.active[0].alert.state,
                         wanted == 0 ? TL_ALERT_ACKNOWLEDGED : TL_ALERT_UNACKNOWLEDGED);
        bench_free(bench);
    }
}

/* A word taken back, or one that names another instance in the same slot, acknowledges nothing. */
static void
an_acknowledgement_names_its_instance_and_is_known(void **state)
{
    (void)state;
    struct bench *bench = bench_new();
    add(bench, TL_RULE_STATION_LOST, "deck", TL_CAUSE_WRONG);
    assert_true(update(bench, SCENE_NOW_MS));
    const struct tl_alert *alert = &bench->book.active[0].alert;
    uint32_t slot = tl_acknowledged_slot(tl_alert_instance(alert));
    acknowledge(bench, "primary", alert);
    struct tl_held *held = scene_held(bench->scene, "primary", TL_DATUM_ACKNOWLEDGED, slot);
    held->datum.known = false;
    assert_false(update(bench, SCENE_NOW_MS));
    assert_int_equal(alert->acknowledged, 0);
    held->datum.known = true;
    held->datum.as.instance ^= 1ull << 40;
    assert_false(update(bench, SCENE_NOW_MS));
    assert_int_equal(alert->acknowledged, 0);
    held->datum.as.instance ^= 1ull << 40;
    assert_true(update(bench, SCENE_NOW_MS));
    assert_int_equal(alert->acknowledged, bit(bench, "primary"));
    assert_int_equal(alert->state, TL_ALERT_ACKNOWLEDGED);
    bench_free(bench);
}

/* A change of any one thing that people see is a change; the same again is none. */
static void
each_thing_that_people_see_is_a_change(void **state)
{
    (void)state;
    struct bench *bench = bench_new();
    assert_false(update(bench, SCENE_NOW_MS));
    add(bench, TL_RULE_DETORQUE_OVERDUE, "gear-officer", TL_CAUSE_WRONG);
    assert_true(update(bench, SCENE_NOW_MS));
    assert_false(update(bench, SCENE_NOW_MS));
    assert_true(update(bench, SCENE_NOW_MS + TL_ESCALATE_MS)); /* severity */
    assert_false(update(bench, SCENE_NOW_MS + TL_ESCALATE_MS));
    acknowledge(bench, "deck",
                &bench->book.active[0].alert); /* acknowledged, by one who owes not */
    assert_true(update(bench, SCENE_NOW_MS + TL_ESCALATE_MS));
    assert_false(update(bench, SCENE_NOW_MS + TL_ESCALATE_MS));
    tl_alert_book_fill(&bench->book, 5, SCENE_NOW_MS, &bench->set);
    scene_told(bench->scene, "tracks")->alerts_shown = 5; /* delivered */
    assert_true(update(bench, SCENE_NOW_MS + TL_ESCALATE_MS));
    assert_int_equal(bench->book.active[0].alert.delivered, bit(bench, "tracks"));
    scene_told(bench->scene, "tracks")->live = false;
    assert_true(update(bench, SCENE_NOW_MS + TL_ESCALATE_MS));
    assert_int_equal(bench->book.active[0].alert.delivered, 0);
    uint32_t place = (uint32_t)tl_config_place(&bench->scene->config, "aid");
    for (uint32_t i = 0; i < bench->scene->config.node_count; i++) {
        struct tl_node *node = &bench->scene->config.node[i];
        node->station = strcmp(node->id, "aid") == 0 ? TL_STATION_PRIMARY : node->station;
    }
    assert_true(update(bench, SCENE_NOW_MS + TL_ESCALATE_MS)); /* owed */
    assert_true((bench->book.active[0].alert.owed & (1u << place)) != 0);
    bench->decision.cause[0].subject.sequence = 9; /* another instance */
    assert_true(update(bench, SCENE_NOW_MS + TL_ESCALATE_MS));
    assert_int_equal(bench->book.count, 2);
    bench_free(bench);
}

static void
a_returned_alert_waits_ten_minutes_for_who_is_there(void **state)
{
    (void)state;
    struct bench *bench = bench_new();
    add(bench, TL_RULE_SHEAVE_DOWN, "wires", TL_CAUSE_WRONG);
    assert_true(update(bench, SCENE_NOW_MS));
    bench->decision.cause_count = 0;
    assert_true(update(bench, SCENE_NOW_MS + 1000));
    assert_int_equal(bench->book.count, 1);
    assert_int_equal(bench->book.active[0].alert.state, TL_ALERT_RETURNED);
    assert_false(update(bench, SCENE_NOW_MS + 1000 + TL_RETURNED_MS - 1));
    assert_int_equal(bench->book.count, 1);
    assert_true(update(bench, SCENE_NOW_MS + 1000 + TL_RETURNED_MS));
    assert_int_equal(bench->book.count, 0);
    bench_free(bench);
}

static void
a_returned_alert_does_not_wait_for_who_is_lost(void **state)
{
    (void)state;
    struct bench *bench = bench_new();
    add(bench, TL_RULE_SHEAVE_DOWN, "wires", TL_CAUSE_WRONG);
    assert_true(update(bench, SCENE_NOW_MS));
    acknowledge(bench, "primary", &bench->book.active[0].alert);
    bench->decision.cause_count = 0;
    assert_true(update(bench, SCENE_NOW_MS));
    assert_int_equal(bench->book.count, 1);
    scene_told(bench->scene, "wires")->live = false;
    assert_true(update(bench, SCENE_NOW_MS));
    assert_int_equal(bench->book.count, 0);
    bench_free(bench);
}

/* Back while it was returned: the same alert, with the time it was first raised. */
static void
an_alert_that_comes_again_is_the_same(void **state)
{
    (void)state;
    struct bench *bench = bench_new();
    add(bench, TL_RULE_SHEAVE_DOWN, "wires", TL_CAUSE_WRONG);
    assert_true(update(bench, SCENE_NOW_MS));
    tl_alert_book_fill(&bench->book, 7, SCENE_NOW_MS, &bench->set);
    bench->decision.cause_count = 0;
    assert_true(update(bench, SCENE_NOW_MS + 1000));
    bench->decision.cause_count = 1;
    assert_true(update(bench, SCENE_NOW_MS + 2000));
    assert_int_equal(bench->book.count, 1);
    assert_int_equal(bench->book.raised, 1);
    assert_int_equal(bench->book.active[0].raised_ms, SCENE_NOW_MS);
    assert_int_equal(bench->book.active[0].set, 7);
    bench->decision.cause_count = 0;
    assert_true(update(bench, SCENE_NOW_MS + 3000));
    assert_int_equal(bench->book.active[0].returned_ms, SCENE_NOW_MS + 3000);
    bench_free(bench);
}

/* Those that are active need every place: those that have returned give theirs up. */
static void
active_alerts_take_the_places_of_returned_ones(void **state)
{
    (void)state;
    struct bench *bench = bench_new();
    for (uint32_t i = 0; i < TL_ALERTS_MAX; i++) {
        add(bench, TL_RULE_SHEAVE_DOWN, "wires", TL_CAUSE_WRONG)->subject.sequence = i + 1;
    }
    assert_true(update(bench, SCENE_NOW_MS));
    assert_int_equal(bench->book.count, TL_ALERTS_MAX);
    for (uint32_t i = 0; i < TL_ALERTS_MAX; i++) {
        bench->decision.cause[i].subject.sequence = 1000 + i;
    }
    bench->decision.cause_count = TL_ALERTS_MAX - 1;
    assert_true(update(bench, SCENE_NOW_MS));
    assert_int_equal(bench->book.count, TL_ALERTS_MAX);
    assert_int_equal(bench->book.raised, 2 * TL_ALERTS_MAX - 1);
    assert_int_equal(bench->book.active[TL_ALERTS_MAX - 1].alert.state, TL_ALERT_RETURNED);
    assert_int_equal(bench->book.active[TL_ALERTS_MAX - 1].alert.cause.subject.sequence, 1);
    bench->decision.cause_count = TL_ALERTS_MAX;
    assert_true(update(bench, SCENE_NOW_MS));
    assert_int_equal(bench->book.count, TL_ALERTS_MAX);
    for (uint32_t i = 0; i < TL_ALERTS_MAX; i++) {
        assert_int_equal(bench->book.active[i].alert.state, TL_ALERT_UNACKNOWLEDGED);
    }
    bench_free(bench);
}

static void
a_set_lists_all_with_their_ages_and_keeps_its_first_number(void **state)
{
    (void)state;
    struct bench *bench = bench_new();
    add(bench, TL_RULE_SHEAVE_DOWN, "wires", TL_CAUSE_WRONG);
    assert_true(update(bench, SCENE_NOW_MS));
    add(bench, TL_RULE_PENDANT_WORN, "wires", TL_CAUSE_WRONG);
    tl_alert_book_fill(&bench->book, 3, SCENE_NOW_MS + 10, &bench->set);
    assert_int_equal(bench->set.alert_count, 1);
    assert_true(update(bench, SCENE_NOW_MS + 20));
    tl_alert_book_fill(&bench->book, 4, SCENE_NOW_MS + 25, &bench->set);
    assert_int_equal(bench->set.alert_count, 2);
    assert_int_equal(bench->book.active[0].set, 3);
    assert_int_equal(bench->book.active[1].set, 4);
    assert_int_equal(bench->set.alert[0].cause.rule, TL_RULE_SHEAVE_DOWN);
    assert_int_equal(bench->set.alert[0].raised_age_ms, 25);
    assert_int_equal(bench->set.alert[1].raised_age_ms, 5);
    tl_alert_book_fill(&bench->book, 5, SCENE_NOW_MS + (uint64_t)UINT32_MAX, &bench->set);
    assert_int_equal(bench->set.alert[0].raised_age_ms, UINT32_MAX);
    tl_alert_book_fill(&bench->book, 6, SCENE_NOW_MS + 1 + (uint64_t)UINT32_MAX, &bench->set);
    assert_int_equal(bench->set.alert[0].raised_age_ms, UINT32_MAX);
    bench_free(bench);
}

/* Delivered to who has shown that set or a later one, and to nobody before it has a number. */
static void
an_alert_without_a_set_is_delivered_to_nobody(void **state)
{
    (void)state;
    struct bench *bench = bench_new();
    scene_told(bench->scene, "deck")->alerts_shown = 8;
    add(bench, TL_RULE_SHEAVE_DOWN, "wires", TL_CAUSE_WRONG);
    assert_true(update(bench, SCENE_NOW_MS));
    assert_int_equal(bench->book.active[0].alert.delivered, 0);
    tl_alert_book_fill(&bench->book, 8, SCENE_NOW_MS, &bench->set);
    assert_true(update(bench, SCENE_NOW_MS));
    assert_int_equal(bench->book.active[0].alert.delivered, bit(bench, "deck"));
    bench_free(bench);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(people_are_told_of_what_is_wrong_overdue_noted_or_overridden),
        cmocka_unit_test(a_rule_that_is_not_in_the_table_is_not_told_and_hides_no_other),
        cmocka_unit_test(one_situation_is_one_alert),
        cmocka_unit_test(an_alert_of_the_ship_is_of_the_current_event),
        cmocka_unit_test(what_is_of_the_event_is_said_of_each_kind_of_rule),
        cmocka_unit_test(what_is_measured_settles_and_nothing_else),
        cmocka_unit_test(who_owes_is_who_acts_and_who_is_named),
        cmocka_unit_test(an_acknowledgement_names_its_instance_and_is_known),
        cmocka_unit_test(each_thing_that_people_see_is_a_change),
        cmocka_unit_test(a_returned_alert_waits_ten_minutes_for_who_is_there),
        cmocka_unit_test(a_returned_alert_does_not_wait_for_who_is_lost),
        cmocka_unit_test(an_alert_that_comes_again_is_the_same),
        cmocka_unit_test(active_alerts_take_the_places_of_returned_ones),
        cmocka_unit_test(a_set_lists_all_with_their_ages_and_keeps_its_first_number),
        cmocka_unit_test(an_alert_without_a_set_is_delivered_to_nobody),
    };
    return cmocka_run_group_tests_name("rules_alerts", tests, NULL, NULL);
}
