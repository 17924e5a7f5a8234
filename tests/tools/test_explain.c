/* SPDX-License-Identifier: Apache-2.0 */
/* test_explain - what `trapline explain` prints, with and without a configuration. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <jansson.h>

#include "clients/tools/explain.h"
#include "proto/vocab/rules_why.h"
#include "tests/conf/folder.h"
#include "tests/identity/tool.h"

enum {
    LINE_MAX_BYTES = 100
};

struct room {
    struct folder folder; /* good, without keys: explain joins nothing */
    struct tool tool;
};

static int
set_up(void **state)
{
    struct room *room = calloc(1, sizeof *room);
    assert_non_null(room);
    assert_int_equal(unsetenv("TRAPLINE_CONFIG"), 0);
    folder_make(&room->folder);
    folder_put(&room->folder, "keys.yaml", NULL, 0);
    *state = room;
    return 0;
}

static int
tear_down(void **state)
{
    struct room *room = *state;
    folder_remove(&room->folder);
    free(room);
    return 0;
}

/* Run with up to four words. */
static const char *
run(struct room *room, int code, const char *const *words)
{
    const char *all[6] = {"explain"};
    for (size_t i = 0; i < 4 && words[i] != NULL; i++) {
        all[i + 1] = words[i];
    }
    tool_run(&room->tool, tl_explain_main, all);
    if (room->tool.code != code) {
        fail_msg("%s: exit %d, %s%s", words[0] != NULL ? words[0] : "", room->tool.code,
                 room->tool.out, room->tool.err);
    }
    return code == 0 ? room->tool.out : room->tool.err;
}
#define RUN(room, code, ...) run(room, code, (const char *const[]){__VA_ARGS__, NULL})

/* The words of a text with every run of blanks as one: where lines were broken does not count. */
static void
expect_says(const char *text, const char *part)
{
    char *flat = calloc(1, strlen(text) + 1);
    size_t n = 0;
    assert_non_null(flat);
    for (size_t i = 0; text[i] != '\0'; i++) {
        flat[n] = text[i];
        if (text[i] == '\n') {
            flat[n] = ' ';
        }
        n += flat[n] != ' ' || n == 0 || flat[n - 1] != ' ' ? 1 : 0;
    }
    flat[n] = '\0';
    bool says = strstr(flat, part) != NULL;
    free(flat);
    if (!says) {
        fail_msg("not said: %s\nin: %s", part, text);
    }
}

static void
a_rule_is_told_from_its_two_rows(void **state)
{
    const char *out = RUN(*state, 0, "setting-other-aircraft");
    const struct tl_rule_why *why = tl_rule_why(TL_RULE_SETTING_OTHER_AIRCRAFT);
    expect_says(out, "setting-other-aircraft: weight set for another aircraft ");
    expect_says(out, " severity alarm effect forces NOT READY bad when An engine in service is");
    expect_says(out, why->bad_when);
    expect_says(out, why->why);
    expect_says(out, why->needs);
    expect_says(out, why->act);
    expect_says(out, " acts the station that it names, primary do ");
    expect_says(out, " owes ack the station that it names, primary override never ");
    expect_says(out, " CLEAR not refused basis NAVEDTRA 14001 p. 3-9");
    assert_null(strstr(out, "this ship"));
    out = RUN(*state, 0, "barricade-power");
    expect_says(out, " severity warning effect holds NOT READY until it is settled ");
    expect_says(out, " from barricade; a ship without it lists all-of-barricade in rules_off ");
    expect_says(out, " override may be overridden, by two ");
    out = RUN(*state, 0, "detorque-due");
    expect_says(out, " severity caution effect is shown and alerted only (note) ");
    expect_says(out, " owes ack nobody ");
    out = RUN(*state, 0, "sheave-down");
    expect_says(out, " CLEAR refused while it is bad ");
    out = RUN(*state, 0, "two-writers");
    expect_says(out, " return NOT READY until it has been away for 3.0 s ");
}

static void
all_prints_every_rule_in_the_order_of_the_table(void **state)
{
    size_t count = 0;
    size_t column = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);
    const char *out = RUN(*state, 0, "all");
    const char *at = out;
    for (size_t i = 0; i < count; i++) {
        char head[128];
        (void)snprintf(head, sizeof head, "%s%s: %s\n", i > 0 ? "\n\n" : "", rows[i].name,
                       rows[i].short_text);
        const char *next = strstr(at, head);
        if (next == NULL || (i == 0 && next != out)) {
            fail_msg("%s is not there, or not in its place", rows[i].name);
            return;
        }
        at = next + 1;
    }
    for (; *out != '\0'; out++) {
        column = *out == '\n' ? 0 : column + 1;
        assert_true(column <= LINE_MAX_BYTES);
        assert_true(*out == '\n' || (*out >= 0x20 && *out < 0x7f));
    }
}

static void
a_ship_says_when_it_is_due_and_what_is_off(void **state)
{
    struct room *room = *state;
    const char *dir = room->folder.dir;
    expect_says(RUN(room, 0, "-C", dir, "not-in-battery"),
                "this ship Grey Heron: on; due 60 s after the order; once the pilot has called, "
                "20 s before the predicted ramp crossing");
    expect_says(RUN(room, 0, "-C", dir, "hook-not-down"),
                "this ship Grey Heron: on; due 90 s after the order ");
    expect_says(RUN(room, 0, "-C", dir, "deck-foul"),
                "this ship Grey Heron: on; due at once after the order ");
    expect_says(RUN(room, 0, "-C", dir, "stop"), "this ship Grey Heron: on ");
    expect_says(RUN(room, 0, "-C", dir, "wind-unknown"),
                "this ship Grey Heron: OFF, not judged: no wind sensor fitted ");
    expect_says(RUN(room, 0, "sheave-down", "-C", dir), "OFF, not judged: not fitted ");
    assert_int_equal(setenv("TRAPLINE_CONFIG", dir, 1), 0);
    expect_says(RUN(room, 0, "stop"), "this ship Grey Heron: on ");
    folder_put(&room->folder, "ship.yaml", "name: [\n", 8);
    expect_says(RUN(room, 78, "stop"), "ship.yaml:");
    assert_string_equal(room->tool.out, "");
}

static json_t *
one_rule(struct room *room, const char *out)
{
    json_t *root = json_loads(out, 0, NULL);
    json_t *rules = json_object_get(root, "rules");
    assert_int_equal(json_array_size(rules), 1);
    json_t *rule = json_incref(json_array_get(rules, 0));
    json_decref(root);
    (void)room;
    return rule;
}

static void
json_says_the_same(void **state)
{
    struct room *room = *state;
    json_t *rule = one_rule(room, RUN(room, 0, "--json", "not-in-battery"));
    const struct tl_rule_why *why = tl_rule_why(TL_RULE_NOT_IN_BATTERY);
    assert_int_equal(json_integer_value(json_object_get(rule, "id")), 8);
    assert_string_equal(json_string_value(json_object_get(rule, "rule")), "not-in-battery");
    assert_string_equal(json_string_value(json_object_get(rule, "effect")), "force");
    assert_string_equal(json_string_value(json_object_get(rule, "danger")), why->why);
    assert_string_equal(json_string_value(json_object_get(rule, "waits")), why->waits);
    json_t *owes = json_object_get(rule, "owes");
    assert_int_equal(json_array_size(owes), 2);
    assert_string_equal(json_string_value(json_array_get(owes, 0)), "named");
    assert_string_equal(json_string_value(json_array_get(owes, 1)), "primary");
    assert_true(json_is_true(json_object_get(rule, "refuses_clear")));
    assert_true(json_is_false(json_object_get(rule, "overridable")));
    assert_true(json_is_null(json_object_get(rule, "ship")));
    json_decref(rule);

    rule = one_rule(room, RUN(room, 0, "--json", "-C", room->folder.dir, "not-in-battery"));
    json_t *ship = json_object_get(rule, "ship");
    assert_true(json_is_false(json_object_get(ship, "off")));
    assert_true(json_is_null(json_object_get(ship, "off_reason")));
    assert_int_equal(json_integer_value(json_object_get(ship, "due_after_order_s")), 60);
    assert_int_equal(json_integer_value(json_object_get(ship, "due_before_ramp_s")), 20);
    json_decref(rule);

    size_t count = 0;
    (void)tl_rule_rows(&count);
    json_t *all = json_loads(RUN(room, 0, "all", "--json"), 0, NULL);
    assert_int_equal(json_array_size(json_object_get(all, "rules")), count);
    json_decref(all);
}

static void
an_unknown_rule_names_those_near_it(void **state)
{
    struct room *room = *state;
    expect_says(RUN(room, 64, "bateri"), "unknown rule 'bateri'; did you mean not-in-battery?");
    expect_says(RUN(room, 64, "sheave-dwon"), "did you mean sheave-down?");
    const char *err = RUN(room, 64, "weight");
    expect_says(err, "setting-other-aircraft, setting-not-ordered");
    assert_string_equal(room->tool.out, "");
    expect_says(RUN(room, 64, "zzz"), "unknown rule 'zzz'; trapline explain all prints");
    expect_says(RUN(room, 64, "stop", "deck-foul"), "which rule?");
    expect_says(RUN(room, 64, "--json"), "which rule?");
    expect_says(RUN(room, 64, "--wrong", "stop"), "see trapline explain --help");
    expect_says(RUN(room, 0, "--help"), "usage: trapline explain [-C DIR] [--json] RULE|all");
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_rule_is_told_from_its_two_rows),
        TEST(all_prints_every_rule_in_the_order_of_the_table),
        TEST(a_ship_says_when_it_is_due_and_what_is_off),
        TEST(json_says_the_same),
        TEST(an_unknown_rule_names_those_near_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
