/* SPDX-License-Identifier: Apache-2.0 */
/* test_why - every rule has its reasons, no other has, and what waits is what the checks let wait. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "proto/vocab/rules_why.h"
#include "tests/rules/scene.h"

enum {
    FIELD_MAX = 480,
    WORD_MAX = 40
};

static void
expect_plain(const char *rule, const char *field, const char *text)
{
    if (text == NULL || text[0] == '\0') {
        fail_msg("%s has no %s", rule, field);
        return;
    }
    size_t length = strlen(text);
    bool end = strcmp(field, "waits") == 0 || text[length - 1] == '.';
    bool plain = length <= FIELD_MAX && text[0] != ' ' && end;
    for (size_t i = 0; i < length; i++) {
        plain = plain && text[i] >= 0x20 && text[i] < 0x7f;
        plain = plain && strcspn(text + i, " ") <= WORD_MAX;
        plain = plain && !(text[i] == ' ' && text[i + 1] == ' ');
    }
    /* never a promise */
    plain = plain && strstr(text, " safe") == NULL && strstr(text, "cleared") == NULL;
    if (!plain) {
        fail_msg("%s: %s is not plain, or too long: %s", rule, field, text);
    }
}

static void
every_rule_of_the_table_has_its_reasons(void **state)
{
    (void)state;
    size_t count = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);
    assert_true(count > 0);
    for (size_t i = 0; i < count; i++) {
        const struct tl_rule_why *why = tl_rule_why((uint32_t)rows[i].rule);
        if (why == NULL) {
            fail_msg("rule %s has no row in rules_why_*.c", rows[i].name);
            return;
        }
        expect_plain(rows[i].name, "bad_when", why->bad_when);
        expect_plain(rows[i].name, "why", why->why);
        expect_plain(rows[i].name, "needs", why->needs);
        expect_plain(rows[i].name, "act", why->act);
        if (why->waits != NULL) {
            expect_plain(rows[i].name, "waits", why->waits);
            assert_int_equal(rows[i].kind, TL_CAUSE_SHIP);
        }
    }
}

static void
no_other_rule_has_and_none_has_two(void **state)
{
    (void)state;
    size_t count = 0;
    size_t listed = 0;
    size_t rules = 0;
    const struct tl_rule_why *rows = NULL;
    (void)tl_rule_rows(&rules);
    for (size_t part = 0; (rows = tl_rule_why_part(part, &count)) != NULL; part++) {
        for (size_t i = 0; i < count; i++) {
            assert_non_null(tl_rule_row((uint32_t)rows[i].rule));
            assert_ptr_equal(tl_rule_why((uint32_t)rows[i].rule), &rows[i]);
            listed++;
        }
    }
    assert_int_equal(listed, rules);
    assert_null(tl_rule_why(TL_RULE_NONE));
    assert_null(tl_rule_why(TL_RULES_MAX));
}

/* Decide; what is pending must be told as waiting, and is noted as seen. */
static void
expect_waiting(struct scene *scene, bool *seen)
{
    tl_decide(&scene->fold, &scene->outside, SCENE_NOW_MS, &scene->decision);
    for (uint32_t i = 0; i < scene->decision.cause_count; i++) {
        const struct tl_cause *cause = &scene->decision.cause[i];
        const struct tl_rule_row *row = tl_rule_row(cause->rule);
        const struct tl_rule_why *why = tl_rule_why(cause->rule);
        assert_non_null(row);
        assert_non_null(why);
        if (cause->state != TL_CAUSE_PENDING || row->kind != TL_CAUSE_SHIP) {
            continue;
        }
        if (why->waits == NULL) {
            fail_msg("%s is pending until its due, and its row says that nothing waits", row->name);
        }
        seen[cause->rule] = true;
    }
    free(scene);
}

/* Take away each word of a READY ship, one at a time. */
static void
drop_each_word(bool *seen)
{
    struct scene *whole = scene_ready_full();
    for (uint32_t i = 0; i < whole->fold.told_count; i++) {
        const struct tl_told *told = &whole->fold.told[i];
        for (uint32_t k = 0; k < told->held_count; k++) {
            struct scene *scene = scene_ready_full();
            scene_drop(scene, told->node->id, told->held[k].datum.kind, told->held[k].datum.slot);
            expect_waiting(scene, seen);
        }
    }
    free(whole);
}

/* What no missing word brings about. */
static void
spoil_otherwise(bool *seen)
{
    struct scene *scene = scene_ready_full();
    scene->fold.list.event[0].order_known = false;
    expect_waiting(scene, seen);

    scene = scene_ready_full();
    scene_told(scene, "bridge")->sample_count = 0;
    expect_waiting(scene, seen);

    scene = scene_ready_full();
    scene_held(scene, "aid", TL_DATUM_AID, 0)->datum.as.aid.target_wire = 0;
    scene_held(scene, "aid", TL_DATUM_AID, 0)->datum.as.aid.angle_deg_x100 = 0;
    scene->fold.list.trap[1] = (struct tl_event){4000, 3};
    expect_waiting(scene, seen);

    scene = scene_ready_full();
    scene->fold.list.event[0].order.barricade = true;
    scene_drop(scene, "barricade", TL_DATUM_BARRICADE, 0);
    expect_waiting(scene, seen);

    scene = scene_ready_full();
    scene_held(scene, "deck", TL_DATUM_DECK, 0)->datum.as.deck =
        (struct tl_deck){TL_DECK_FOUL, TL_FOUL_AIRCRAFT, 0, false};
    expect_waiting(scene, seen);
}

/* Nothing is computed: each rule on such a figure by itself, as they tell of it once together. */
static void
spoil_what_is_computed(bool *seen)
{
    size_t count = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);
    for (size_t i = 0; i < count; i++) {
        struct scene *scene = scene_ready_full();
        struct tl_held *arrest = scene_held(scene, "engine-1", TL_DATUM_ARREST, 0);
        arrest->datum.known = true;
        arrest->datum.as.arrest.event = scene_event();
        scene->config.ship.rule_off[rows[i].rule] = false;
        expect_waiting(scene, seen);
    }
}

static void
what_waits_is_what_the_checks_let_wait(void **state)
{
    (void)state;
    bool seen[TL_RULES_MAX] = {false};
    size_t count = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);
    struct scene *scene = scene_ready_full();
    scene_expect(scene, "nothing changed", "");
    free(scene);
    drop_each_word(seen);
    spoil_otherwise(seen);
    spoil_what_is_computed(seen);
    for (size_t i = 0; i < count; i++) {
        const struct tl_rule_why *why = tl_rule_why((uint32_t)rows[i].rule);
        if (why != NULL && why->waits != NULL && !seen[rows[i].rule]) {
            fail_msg("%s is told to wait, and nothing here makes it wait", rows[i].name);
        }
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_rule_of_the_table_has_its_reasons),
        cmocka_unit_test(no_other_rule_has_and_none_has_two),
        cmocka_unit_test(what_waits_is_what_the_checks_let_wait),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
