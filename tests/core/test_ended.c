/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_ended - how passes ended is kept when primary has let them go, and may still be corrected
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "broker/core/events/events.h"
#include "tests/rules/scene.h"

enum {
    R = 5000
};

/* Recovery R open, its first pass ordered; nothing ended. */
static struct scene *
start(void)
{
    struct scene *s = scene_ready_full();
    (void)tl_events_update(&s->fold, 1000);
    assert_int_equal(s->fold.list.count, 1);
    assert_int_equal(s->fold.list.ends.count, 0);
    return s;
}

static struct tl_datum *
result(struct scene *s, const char *station, enum tl_outcome outcome, uint32_t wire)
{
    struct tl_datum *datum = &scene_held(s, station, TL_DATUM_RESULT, 1)->datum;
    datum->stated_for[0] = (struct tl_event){R, 1};
    datum->stated_for_count = 1;
    datum->as.result = (struct tl_result){outcome, wire};
    return datum;
}

/* The pass ended so, and primary and platform have let it go. */
static void
end_and_let_go(struct scene *s, enum tl_outcome outcome, uint32_t wire)
{
    (void)result(s, "platform", outcome, wire);
    assert_true(tl_events_update(&s->fold, 2000));
    scene_drop(s, "primary", TL_DATUM_ORDER, 1);
    scene_drop(s, "platform", TL_DATUM_RESULT, 1);
    assert_true(tl_events_update(&s->fold, 3000));
    assert_int_equal(s->fold.list.count, 0);
    assert_int_equal(s->fold.list.ends.count, 1);
}

static const struct tl_result *
kept(const struct scene *s)
{
    return &s->fold.list.ends.end[0].ended.result;
}

static void
a_pass_that_has_left_the_list_may_be_corrected(void **state)
{
    (void)state;
    struct scene *s = start();
    end_and_let_go(s, TL_OUTCOME_TRAP, 3);
    assert_false(tl_events_update(&s->fold, 4000)); /* nothing is said of it: it stays */
    assert_int_equal(kept(s)->wire, 3);
    (void)result(s, "platform", TL_OUTCOME_TRAP, 3);
    assert_false(tl_events_update(&s->fold, 4000)); /* the same again is no news */
    uint64_t changes = s->fold.changes;
    (void)result(s, "platform", TL_OUTCOME_TRAP, 2);
    assert_true(tl_events_update(&s->fold, 5000));
    assert_int_equal(s->fold.changes, changes + 1);
    assert_int_equal(kept(s)->wire, 2);
    assert_int_equal(s->fold.list.last.result.wire, 2);
    assert_true(tl_event_equal(s->fold.list.trap[1], (struct tl_event){R, 1}));
    assert_false(tl_event_is(s->fold.list.trap[2]));
    (void)result(s, "platform", TL_OUTCOME_BOLTER, 0);
    assert_true(tl_events_update(&s->fold, 6000));
    assert_int_equal(kept(s)->outcome, TL_OUTCOME_BOLTER);
    assert_int_equal(s->fold.list.last.result.outcome, TL_OUTCOME_BOLTER);
    assert_false(tl_event_is(s->fold.list.trap[1]));
    assert_int_equal(s->fold.list.ends.count, 1);
    free(s);
}

static void
another_pass_is_the_last_one_still(void **state)
{
    (void)state;
    struct scene *s = start();
    end_and_let_go(s, TL_OUTCOME_TRAP, 3);
    s->fold.list.last.event = (struct tl_event){R, 2};
    s->fold.list.last.result.wire = 4;
    (void)result(s, "platform", TL_OUTCOME_TRAP, 2);
    assert_true(tl_events_update(&s->fold, 5000));
    assert_int_equal(kept(s)->wire, 2);
    assert_int_equal(s->fold.list.last.result.wire, 4);
    free(s);
}

static void
a_word_for_another_event_corrects_nothing(void **state)
{
    (void)state;
    struct scene *s = start();
    end_and_let_go(s, TL_OUTCOME_TRAP, 3);
    result(s, "platform", TL_OUTCOME_TRAP, 2)->stated_for[0].recovery_ms = R + 1;
    assert_false(tl_events_update(&s->fold, 5000));
    assert_int_equal(kept(s)->wire, 3);
    result(s, "platform", TL_OUTCOME_TRAP, 2)->known = false;
    assert_false(tl_events_update(&s->fold, 5000));
    assert_int_equal(kept(s)->wire, 3);
    free(s);
}

static void
it_may_be_corrected_by_voice(void **state)
{
    (void)state;
    struct scene *s = start();
    end_and_let_go(s, TL_OUTCOME_TRAP, 3);
    memcpy(result(s, "deck", TL_OUTCOME_TRAP, 1)->voice_for, "platform", sizeof "platform");
    assert_true(tl_events_update(&s->fold, 5000));
    assert_int_equal(kept(s)->wire, 1);
    free(s);
}

static void
in_a_drill_nothing_is_kept(void **state)
{
    (void)state;
    struct scene *s = start();
    scene_held(s, "primary", TL_DATUM_RECOVERY, 0)->datum.as.recovery.drill = true;
    (void)result(s, "platform", TL_OUTCOME_TRAP, 3);
    assert_true(tl_events_update(&s->fold, 2000));
    assert_true(s->fold.list.last_known);
    assert_int_equal(s->fold.list.ends.count, 0);
    free(s);
}

/* What was ordered when it ended: the pendants that were off for the barricade took no load. */
static void
a_pass_into_the_barricade_is_kept_as_one(void **state)
{
    (void)state;
    struct scene *s = start();
    scene_held(s, "primary", TL_DATUM_ORDER, 1)->datum.as.order.barricade = true;
    (void)result(s, "platform", TL_OUTCOME_TRAP, 4);
    assert_true(tl_events_update(&s->fold, 2000));
    assert_true(s->fold.list.ends.end[0].ended.barricade);
    free(s);
}

/* Nobody can correct it, and nothing is asked of it. */
static void
a_ship_without_a_platform_keeps_none(void **state)
{
    (void)state;
    struct scene *s = start();
    end_and_let_go(s, TL_OUTCOME_TRAP, 3);
    for (uint32_t i = 0; i < s->fold.told_count; i++) {
        if (s->fold.told[i].node->station == TL_STATION_PLATFORM) {
            s->fold.told[i] = s->fold.told[--s->fold.told_count];
        }
    }
    assert_false(tl_events_update(&s->fold, 5000));
    assert_int_equal(kept(s)->wire, 3);
    free(s);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_pass_that_has_left_the_list_may_be_corrected),
        cmocka_unit_test(another_pass_is_the_last_one_still),
        cmocka_unit_test(a_word_for_another_event_corrects_nothing),
        cmocka_unit_test(it_may_be_corrected_by_voice),
        cmocka_unit_test(in_a_drill_nothing_is_kept),
        cmocka_unit_test(a_pass_into_the_barricade_is_kept_as_one),
        cmocka_unit_test(a_ship_without_a_platform_keeps_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
