/* SPDX-License-Identifier: Apache-2.0 */
/* Which causes are told and in which order, also when there are more than can be. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "broker/core/rules/listing.h"
#include "tests/rules/scene.h"

struct bench {
    struct tl_found found;
    struct tl_decision out;
};

static struct bench *
empty(void)
{
    struct bench *bench = calloc(1, sizeof *bench);
    assert_non_null(bench);
    return bench;
}

static void
add(struct bench *bench, enum tl_rule rule, enum tl_cause_state state, uint32_t times)
{
    for (uint32_t i = 0; i < times; i++) {
        struct tl_cause *cause = &bench->found.cause[bench->found.count++];
        cause->rule = (uint32_t)rule;
        cause->state = state;
        cause->subject.sequence = bench->found.count; /* which one it is: 1.. */
        bench->found.forcing += state != TL_CAUSE_NOTE ? 1 : 0;
    }
}

static bool
is_listed(const struct bench *bench, uint64_t sequence)
{
    for (uint32_t i = 0; i < bench->out.cause_count; i++) {
        if (bench->out.cause[i].subject.sequence == sequence) {
            return true;
        }
    }
    return false;
}

static void
urgency_and_then_the_table_is_the_order(void **state)
{
    (void)state;
    static const uint64_t expected[] = {9, 1, 3, 7, 4, 5, 8, 6, 2};
    struct bench *bench = empty();
    add(bench, TL_RULE_STATION_LOST, TL_CAUSE_WRONG, 1);
    add(bench, TL_RULE_BUS_DEGRADED, TL_CAUSE_NOTE, 1);
    add(bench, TL_RULE_NOT_IN_BATTERY, TL_CAUSE_OVERDUE, 1);
    add(bench, TL_RULE_STATION_LOST, TL_CAUSE_HOLDING, 1);
    add(bench, TL_RULE_SHEAVE_DOWN, TL_CAUSE_PENDING, 1);
    add(bench, TL_RULE_PENDANT_WORN, TL_CAUSE_OVERRIDDEN, 1);
    add(bench, TL_RULE_STOP, TL_CAUSE_WRONG, 1);
    add(bench, TL_RULE_AID_FAULT, TL_CAUSE_PENDING, 1);
    add(bench, TL_RULE_WAVE_OFF_ADVISED, TL_CAUSE_WRONG, 1);
    tl_causes_list(&bench->found, &bench->out);
    assert_int_equal(bench->out.cause_count, 9);
    assert_int_equal(bench->out.forcing, 8);
    for (size_t i = 0; i < 9; i++) {
        assert_int_equal(bench->out.cause[i].subject.sequence, expected[i]);
    }
    free(bench);
}

static void
as_many_as_fit_are_all_told(void **state)
{
    (void)state;
    struct bench *bench = empty();
    add(bench, TL_RULE_BY_VOICE, TL_CAUSE_NOTE, TL_CAUSES_MAX - 1);
    add(bench, TL_RULE_STOP, TL_CAUSE_WRONG, 1);
    tl_causes_list(&bench->found, &bench->out);
    assert_int_equal(bench->out.cause_count, TL_CAUSES_MAX);
    assert_int_equal(bench->out.forcing, 1);
    assert_int_equal(bench->out.cause[0].rule, TL_RULE_STOP);
    for (uint32_t i = 1; i < TL_CAUSES_MAX; i++) {
        assert_int_equal(bench->out.cause[i].subject.sequence, i);
    }
    free(bench);
}

enum {
    KINDS = 7,
    OF_EACH = 10
};

/* Ten of each state, `more` of another rule, and STOP: too many. */
static struct bench *
overfull(uint32_t more)
{
    static const enum tl_cause_state states[KINDS] = {
        TL_CAUSE_NOTE,    TL_CAUSE_OVERRIDDEN, TL_CAUSE_PENDING, TL_CAUSE_HOLDING,
        TL_CAUSE_UNKNOWN, TL_CAUSE_OVERDUE,    TL_CAUSE_WRONG};
    struct bench *bench = empty();
    for (size_t k = 0; k < KINDS; k++) {
        add(bench, k == 0 ? TL_RULE_STOP : TL_RULE_BY_VOICE, states[k], OF_EACH);
    }
    add(bench, TL_RULE_SHEAVE_DOWN, TL_CAUSE_WRONG, more);
    add(bench, TL_RULE_STOP, TL_CAUSE_WRONG, 1);
    tl_causes_list(&bench->found, &bench->out);
    return bench;
}

/* State by state, of each the last first and what its rule says first at the end. */
static void
what_matters_least_falls_off_first(void **state)
{
    (void)state;
    for (uint32_t more = 0; more <= (KINDS - 1) * OF_EACH; more++) {
        struct bench *bench = overfull(more);
        assert_int_equal(bench->out.cause_count, TL_CAUSES_MAX);
        assert_int_equal(bench->out.forcing, (KINDS - 1) * OF_EACH + 1 + more + 1);
        uint32_t fallen = KINDS * OF_EACH + 1 + more - (TL_CAUSES_MAX - 1);
        for (uint32_t at = 0; at < (KINDS - 1) * OF_EACH; at++) {
            uint32_t turn = at / OF_EACH * OF_EACH + (OF_EACH - 1 - at % OF_EACH);
            assert_int_equal(is_listed(bench, at + 1), turn >= fallen);
        }
        assert_true(is_listed(bench, (KINDS - 1) * OF_EACH + 1));
        assert_true(is_listed(bench, KINDS * OF_EACH + 1));
        assert_true(is_listed(bench, KINDS * OF_EACH + more + 1)); /* STOP */
        free(bench);
    }
}

/* Of the same state the first of each rule stays, wherever the others stand. */
static void
who_repeats_a_rule_falls_off_before_who_does_not(void **state)
{
    (void)state;
    struct bench *bench = empty();
    add(bench, TL_RULE_BY_VOICE, TL_CAUSE_NOTE, 2);
    add(bench, TL_RULE_BUS_DEGRADED, TL_CAUSE_NOTE, 1);
    add(bench, TL_RULE_BY_VOICE, TL_CAUSE_NOTE, 1);
    add(bench, TL_RULE_WALK_BACK, TL_CAUSE_NOTE, 1);
    add(bench, TL_RULE_SHEAVE_DOWN, TL_CAUSE_WRONG, TL_CAUSES_MAX + 1 - 5);
    tl_causes_list(&bench->found, &bench->out);
    assert_int_equal(bench->out.cause_count, TL_CAUSES_MAX);
    assert_true(is_listed(bench, 1));
    assert_false(is_listed(bench, 2));
    assert_true(is_listed(bench, 3));
    assert_false(is_listed(bench, 4));
    assert_true(is_listed(bench, 5));
    free(bench);
}

/* The last place of those that are wrong says that there were more, names nobody, and forces. */
static void
that_there_are_more_is_told_after_what_is_wrong(void **state)
{
    (void)state;
    struct bench *bench = empty();
    add(bench, TL_RULE_BY_VOICE, TL_CAUSE_NOTE, TL_CAUSES_MAX);
    add(bench, TL_RULE_STOP, TL_CAUSE_WRONG, 1);
    add(bench, TL_RULE_STATION_LOST, TL_CAUSE_HOLDING, 1);
    tl_causes_list(&bench->found, &bench->out);
    assert_int_equal(bench->out.cause_count, TL_CAUSES_MAX);
    assert_int_equal(bench->out.forcing, 3);
    assert_int_equal(bench->out.cause[0].rule, TL_RULE_STOP);
    assert_int_equal(bench->out.cause[1].rule, TL_RULE_LIMIT_REACHED);
    assert_int_equal(bench->out.cause[1].state, TL_CAUSE_WRONG);
    assert_int_equal(bench->out.cause[1].station[0], '\0');
    assert_int_equal(bench->out.cause[1].subject.sequence, 0);
    assert_int_equal(bench->out.cause[2].rule, TL_RULE_STATION_LOST);
    for (uint32_t i = 3; i < TL_CAUSES_MAX; i++) {
        assert_int_equal(bench->out.cause[i].subject.sequence, i - 2);
    }
    free(bench);
}

/* Everybody is lost twice and spoken for, or differs, or owes too much; deck and primary are well. */
static void
crowd(struct scene *scene)
{
    struct tl_fold *fold = &scene->fold;
    struct tl_outside *outside = &scene->outside;
    for (uint32_t i = fold->told_count; i < TL_STATIONS_MAX; i++) {
        fold->told[i] = *scene_told(scene, "approach");
    }
    fold->told_count = TL_STATIONS_MAX;
    for (uint32_t i = 0; i < TL_STATIONS_MAX; i++) {
        struct tl_told *told = &fold->told[i];
        bool well = told == scene_told(scene, "deck") || told == scene_told(scene, "primary") ||
                    told == scene_told(scene, "platform");
        told->live = well;
        told->twin = !well;
        told->voice_differed = true;
        told->voice_differs_ms = SCENE_NOW_MS;
        outside->flood_places |= 1u << i;
        fold->voice[i].told = told;
        fold->voice[i].confirmed_by = &fold->told[0];
    }
    fold->voice_count = TL_STATIONS_MAX;
    for (uint32_t i = 0; i < TL_NOTICES_MAX; i++) {
        outside->notice[i].rule = TL_RULE_REFUSED_PUBLISHER;
    }
    outside->notice_count = TL_NOTICES_MAX;
}

static bool
is_told_of(const struct scene *scene, enum tl_rule rule)
{
    for (uint32_t i = 0; i < scene->decision.cause_count; i++) {
        if (scene->decision.cause[i].rule == (uint32_t)rule) {
            return true;
        }
    }
    return false;
}

/* More than the rules have places for while they look: the foul and its advice are told. */
static void
a_foul_is_told_among_more_than_can_be_counted(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_expect(scene, "before", "");
    struct scene *calm = malloc(sizeof *calm);
    assert_non_null(calm);
    *calm = *scene; /* to go back to; nothing in it points into itself but what is reset below */
    struct tl_held *deck = scene_held(scene, "deck", TL_DATUM_DECK, 0);
    deck->datum.as.deck.state = TL_DECK_FOUL;
    deck->datum.as.deck.reason = TL_FOUL_EQUIPMENT;
    deck->datum.as.deck.was_clear = true;
    deck->datum.sequence = 555; /* what the advice is keyed by */
    scene_held(scene, "platform", TL_DATUM_CALL, 0)->said_ms = SCENE_NOW_MS - 2;
    deck->said_ms = SCENE_NOW_MS - 1;
    crowd(scene);
    tl_decide(&scene->fold, &scene->outside, SCENE_NOW_MS, &scene->decision);
    assert_int_equal(scene->decision.word, TL_WORD_NOT_READY);
    assert_int_equal(scene->decision.cause_count, TL_CAUSES_MAX);
    assert_int_equal(scene->decision.cause[0].rule, TL_RULE_WAVE_OFF_ADVISED);
    assert_true(is_told_of(scene, TL_RULE_DECK_FOUL));
    assert_true(is_told_of(scene, TL_RULE_LIMIT_REACHED));
    *scene = *calm;
    scene_expect(scene, "after", "");
    free(calm);
    free(scene);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(urgency_and_then_the_table_is_the_order),
        cmocka_unit_test(as_many_as_fit_are_all_told),
        cmocka_unit_test(what_matters_least_falls_off_first),
        cmocka_unit_test(who_repeats_a_rule_falls_off_before_who_does_not),
        cmocka_unit_test(that_there_are_more_is_told_after_what_is_wrong),
        cmocka_unit_test(a_foul_is_told_among_more_than_can_be_counted),
    };
    return cmocka_run_group_tests_name("rules_listing", tests, NULL, NULL);
}
