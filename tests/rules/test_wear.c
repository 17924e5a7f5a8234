/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_wear - the rules on the life of a pendant and the detorque of a cable, by what is known to have
 * been trapped since the gear officer's word
 *
 * Detorque after the first 50 traps, not past 60, then every 200: NAVEDTRA 14310 p. 117. Life of a
 * pendant, 125 traps: press articles, as quoted. "Near" is invented, 15 left; that it may run out
 * with the aircraft which wait is the project's.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "broker/core/picture/wear.h"
#include "broker/core/rules/decide.h"
#include "tests/rules/words.h"

enum {
    R = 4000, /* a recovery before the one that is open */
    UNIT = 3  /* of wire 3 */
};

struct row {
    const char *name;
    enum tl_datum_kind kind;
    uint32_t traps, detorqued_at; /* of the word, which has nothing of R in it */
    uint32_t trapped;             /* since */
    const char *causes;
    enum tl_rule note; /* that is told besides; 0 = none of these four rules is */
};

static struct scene *
scene_of(const struct row *row)
{
    struct scene *scene = scene_ready_full();
    struct tl_datum *datum = &scene_held(scene, "gear-officer", row->kind, UNIT)->datum;
    tl_datum_wear_of(datum)->traps = row->traps;
    if (row->kind == TL_DATUM_CABLE) {
        datum->as.cable.detorqued_at = row->detorqued_at;
    }
    for (uint32_t i = 1; i <= row->trapped; i++) {
        struct tl_ended gone;
        struct tl_ended ended = {{R, i}, {TL_OUTCOME_TRAP, UNIT}, false};
        assert_true(tl_ends_take(&scene->fold.list.ends, &scene->config.gear, &ended, &gone));
    }
    return scene;
}

/* clang-format off */
static const struct row rows[] = {
    {"125 said", TL_DATUM_PENDANT_LIFE, 125, 0, 0, "pendant-life:gear-officer", 0},
    {"124 said, one since", TL_DATUM_PENDANT_LIFE, 124, 0, 1, "pendant-life:gear-officer", 0},
    {"123 said, one since", TL_DATUM_PENDANT_LIFE, 123, 0, 1, "", TL_RULE_PENDANT_LIFE_NEAR},
    {"109 said, one since", TL_DATUM_PENDANT_LIFE, 109, 0, 1, "", TL_RULE_PENDANT_LIFE_NEAR},
    {"108 said, one since", TL_DATUM_PENDANT_LIFE, 108, 0, 1, "", 0},
    {"100 said, 25 since", TL_DATUM_PENDANT_LIFE, 100, 0, 25, "pendant-life:gear-officer", 0},
    {"49 on the cable", TL_DATUM_CABLE, 49, 0, 0, "", 0},
    {"49, one since", TL_DATUM_CABLE, 49, 0, 1, "", TL_RULE_DETORQUE_DUE},
    {"59, one since", TL_DATUM_CABLE, 59, 0, 1, "", TL_RULE_DETORQUE_DUE},
    {"60, one since", TL_DATUM_CABLE, 60, 0, 1, "detorque-overdue:gear-officer", 0},
    {"248, detorqued at 50, one since", TL_DATUM_CABLE, 248, 50, 1, "", 0},
    {"249, detorqued at 50, one since", TL_DATUM_CABLE, 249, 50, 1, "", TL_RULE_DETORQUE_DUE},
    {"250, detorqued at 50, one since", TL_DATUM_CABLE, 250, 50, 1, "detorque-overdue:gear-officer", 0},
};
/* clang-format on */

static void
traps_since_the_word_count(void **state)
{
    static const enum tl_rule notes[] = {TL_RULE_PENDANT_LIFE_NEAR, TL_RULE_DETORQUE_DUE};
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct scene *scene = scene_of(&rows[i]);
        scene_expect(scene, rows[i].name, rows[i].causes);
        for (size_t k = 0; k < sizeof notes / sizeof notes[0]; k++) {
            if ((words_cause(scene, notes[k]) != NULL) != (rows[i].note == notes[k])) {
                fail_msg("%s: %s", rows[i].name, tl_rule_row(notes[k])->name);
            }
        }
        free(scene);
    }
}

/* What is told is what is judged. */
static void
the_figure_has_the_traps_since(void **state)
{
    (void)state;
    struct scene *scene = scene_of(&rows[5]);
    scene_expect(scene, rows[5].name, rows[5].causes);
    const struct tl_cause *cause = words_cause(scene, TL_RULE_PENDANT_LIFE);
    assert_non_null(cause);
    assert_int_equal(cause->reported.number, UNIT);
    assert_int_equal(cause->needed.number, 125);
    assert_false(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
    free(scene);
}

/* More aircraft wait than traps are left. */
static void
a_pendant_that_may_run_out_with_who_waits_is_told(void **state)
{
    static const struct {
        uint32_t traps, near, waiting;
        bool told;
    } table[] = {
        {120, 2, 5, false}, /* 5 left, 5 wait: the last one still has a wire */
        {120, 2, 6, true},  {121, 2, 5, true},    {119, 2, 6, false}, {123, 2, 1, true},
        {122, 2, 3, false}, {122, 2, 4, true},    {125, 2, 6, false}, /* that is the alarm */
        {110, 15, 1, true}, {109, 15, 16, false}, {110, 0, 16, true},
    };
    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct scene *scene = scene_ready_full();
        char causes[256];
        scene->config.gear.limits.pendant_life_near = table[i].near;
        scene_held(scene, "gear-officer", TL_DATUM_PENDANT_LIFE, UNIT)
            ->datum.as.pendant_life.traps = table[i].traps;
        struct tl_list *list = &scene->fold.list;
        while (list->count < table[i].waiting) {
            list->event[list->count] = list->event[0];
            list->event[list->count].event.pass = 100 + list->count;
            list->count++;
        }
        (void)scene_causes(scene, causes, sizeof causes);
        if ((words_cause(scene, TL_RULE_PENDANT_LIFE_NEAR) != NULL) != table[i].told) {
            fail_msg("row %zu", i);
        }
        free(scene);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(traps_since_the_word_count),
        cmocka_unit_test(the_figure_has_the_traps_since),
        cmocka_unit_test(a_pendant_that_may_run_out_with_who_waits_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
