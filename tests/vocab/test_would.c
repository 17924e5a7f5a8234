/* SPDX-License-Identifier: Apache-2.0 */
/* test_would - what a setting would do, in words, and alone in the sentence of a cause */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "proto/vocab/rules.h"

#define ID_23 "abcdefghijklmnopqrstu-9"

enum {
    ROOM = 1024 /* more than any text needs */
};

static const struct tl_would bottoms = {
    .set_lb = 40000, .bottoms = true, .end_kt_x10 = 121, .hook_lbf = 212000, .runout_ft_x10 = 3300};
static const struct tl_would stops = {.set_lb = 40000, .hook_lbf = 98000, .runout_ft_x10 = 3120};
static const struct tl_would parts = {
    .set_lb = 40000, .parts = true, .end_kt_x10 = 210, .hook_lbf = 260000, .runout_ft_x10 = 3300};

static void
a_setting_says_how_it_ends(void **state)
{
    static const struct {
        const char *name;
        struct tl_would would;
        const char *text, *end;
    } rows[] = {
        {"bottoms",
         {.bottoms = true, .end_kt_x10 = 120, .hook_lbf = 212000},
         "ram bottoms with 12 kn left, hook load to 212,000 lbf",
         "ram bottoms with 12 kn left"},
        {"a tenth over is the next knot",
         {.bottoms = true, .end_kt_x10 = 121, .hook_lbf = 999},
         "ram bottoms with 13 kn left, hook load to 999 lbf",
         "ram bottoms with 13 kn left"},
        {"hardly moving",
         {.bottoms = true, .end_kt_x10 = 1, .hook_lbf = 1000},
         "ram bottoms with 1 kn left, hook load to 1,000 lbf",
         "ram bottoms with 1 kn left"},
        {"stops",
         {.hook_lbf = 98001, .runout_ft_x10 = 3120},
         "stops in 312 ft, hook load to 98,001 lbf",
         "stops in 312 ft"},
        {"a tenth over is the next foot",
         {.hook_lbf = 1000000, .runout_ft_x10 = 3111},
         "stops in 312 ft, hook load to 1,000,000 lbf",
         "stops in 312 ft"},
        {"parts",
         {.parts = true, .end_kt_x10 = 205, .hook_lbf = 260000},
         "cable past its strength with 21 kn left",
         "cable past its strength with 21 kn left"},
        {"parts, then bottoms",
         {.bottoms = true, .parts = true, .end_kt_x10 = 210},
         "cable past its strength with 21 kn left",
         "cable past its strength with 21 kn left"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[TL_TEXT_CAP];
        print_message("%s\n", rows[i].name);
        assert_string_equal(tl_would_text(&rows[i].would, text, sizeof text), rows[i].text);
        assert_string_equal(tl_would_end_text(&rows[i].would, text, sizeof text), rows[i].end);
    }
}

static void
a_number_is_told_in_groups_of_three(void **state)
{
    static const struct {
        uint32_t number;
        const char *text;
    } rows[] = {{0, "0 ft"},
                {999, "999 ft"},
                {1000, "1,000 ft"},
                {98007, "98,007 ft"},
                {999999, "999,999 ft"},
                {1000000, "1,000,000 ft"},
                {999999999, "999,999,999 ft"}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[TL_TEXT_CAP];
        assert_string_equal(tl_grouped_text(rows[i].number, "ft", text, sizeof text), rows[i].text);
    }
}

static struct tl_cause
cause_of(enum tl_rule rule, enum tl_cause_state state, const struct tl_would *would)
{
    return (struct tl_cause){.rule = rule,
                             .station = "engine-3",
                             .state = state,
                             .reported = {true, 40000, ""},
                             .needed = {true, 50000, "curlew"},
                             .would = *would};
}

static void
expect(const struct tl_cause *cause, const char *want)
{
    char text[TL_TEXT_CAP];
    assert_string_equal(tl_cause_text(cause, (struct tl_event){5000, 7}, text, sizeof text), want);
}

static void
a_wrong_setting_says_the_weights_and_what_would_come_of_it(void **state)
{
    static const struct {
        enum tl_rule rule;
        const char *words;
    } rows[] = {{TL_RULE_SETTING_OTHER_AIRCRAFT, "set for another aircraft"},
                {TL_RULE_SETTING_NOT_ORDERED, "set not as ordered"},
                {TL_RULE_SETTING_LIGHT, "set too light"}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char want[TL_TEXT_CAP];
        struct tl_cause cause = cause_of(rows[i].rule, TL_CAUSE_WRONG, &bottoms);
        (void)snprintf(want, sizeof want,
                       "engine 3 %s: 40,000 lb for 50,000 lb: ram bottoms with 13 kn left, hook "
                       "load to 212,000 lbf (event 7)",
                       rows[i].words);
        expect(&cause, want);
        cause.would = stops;
        cause.state = TL_CAUSE_HOLDING;
        (void)snprintf(want, sizeof want,
                       "engine 3 %s: 40,000 lb for 50,000 lb: stops in 312 ft, hook load to "
                       "98,000 lbf, back: held 3 s (event 7)",
                       rows[i].words);
        expect(&cause, want);
        cause.would = parts;
        cause.state = TL_CAUSE_OVERRIDDEN;
        (void)snprintf(want, sizeof want,
                       "engine 3 %s: 40,000 lb for 50,000 lb: cable past its strength with 21 kn "
                       "left, OVERRIDDEN (event 7)",
                       rows[i].words);
        expect(&cause, want);
    }
    struct tl_cause dial = cause_of(TL_RULE_REPEATER_DIFFERS, TL_CAUSE_WRONG, &stops);
    expect(&dial, "engine 3 repeater 40,000 lb, set 50,000 lb: stops in 312 ft, hook load to "
                  "98,000 lbf (event 7)");
}

/* A comparison that has not been made must not read as one that has. */
static void
a_setting_not_stated_says_what_the_old_one_would_do(void **state)
{
    (void)state;
    struct tl_cause cause = cause_of(TL_RULE_SETTING_NOT_ORDERED, TL_CAUSE_PENDING, &bottoms);
    expect(&cause, "engine 3: weight not yet set for this event; at 40,000 lb: ram bottoms with 13 "
                   "kn left, hook load to 212,000 lbf (event 7)");
    cause.reported.known = false;
    cause.needed.known = false;
    cause.state = TL_CAUSE_OVERDUE;
    expect(&cause, "engine 3: weight not yet set for this event; at 40,000 lb: ram bottoms with 13 "
                   "kn left, hook load to 212,000 lbf, OVERDUE (event 7)");
}

/* The consequence is of one weight: it is not told of another, or of none. */
static void
a_consequence_of_another_weight_names_it(void **state)
{
    (void)state;
    struct tl_cause cause = cause_of(TL_RULE_REPEATER_DIFFERS, TL_CAUSE_WRONG, &bottoms);
    cause.reported.number = 41000;
    expect(&cause, "engine 3: repeater differs from the setting; at 40,000 lb: ram bottoms with 13 "
                   "kn left (event 7)");
    cause.reported.number = 40000;
    cause.needed.known = false;
    expect(&cause, "engine 3: repeater differs from the setting; at 40,000 lb: ram bottoms with 13 "
                   "kn left (event 7)");
    cause.needed.known = true;
    cause.reported.known = false;
    expect(&cause, "engine 3: repeater differs from the setting; at 40,000 lb: ram bottoms with 13 "
                   "kn left (event 7)");
}

static void
a_computed_rule_says_its_figures_and_how_it_ends(void **state)
{
    (void)state;
    struct tl_cause load = cause_of(TL_RULE_HOOK_LOAD, TL_CAUSE_WRONG, &stops);
    load.reported.number = 98000;
    load.needed = (struct tl_cause_value){true, 90000, ""};
    expect(&load, "engine 3: hook load over its limit: 98000 lbf, needed 90000 lbf; stops in 312 "
                  "ft (event 7)");
    struct tl_cause stroke = cause_of(TL_RULE_STROKE_PREDICTED, TL_CAUSE_WRONG, &bottoms);
    stroke.reported.number = 1830;
    stroke.needed = (struct tl_cause_value){true, 1800, ""};
    expect(&stroke, "engine 3: ram would travel too far: 183.0 in, needed 180.0 in; ram bottoms "
                    "with 13 kn left (event 7)");
}

static void
without_a_consequence_nothing_is_added(void **state)
{
    (void)state;
    const struct tl_would none = {0};
    struct tl_cause cause = cause_of(TL_RULE_SETTING_OTHER_AIRCRAFT, TL_CAUSE_WRONG, &none);
    expect(&cause, "engine 3: weight set for another aircraft: 40,000 lb, needed 50,000 lb for "
                   "curlew (event 7)");
    cause.would = stops;
    cause.station[0] = '\0';
    expect(&cause, "set for another aircraft: 40,000 lb for 50,000 lb: stops in 312 ft, hook load "
                   "to 98,000 lbf (event "
                   "7)");
}

/* The longest of every part that the codec lets pass: cut, a figure would be another figure. */
static void
every_consequence_fits_one_line(void **state)
{
    static const struct {
        enum tl_rule rule;
        int64_t figure;
    } rows[] = {{TL_RULE_SETTING_OTHER_AIRCRAFT, 200000},
                {TL_RULE_SETTING_NOT_ORDERED, 200000},
                {TL_RULE_SETTING_LIGHT, 200000},
                {TL_RULE_REPEATER_DIFFERS, 200000},
                {TL_RULE_HOOK_LOAD, 9999999},
                {TL_RULE_STROKE_PREDICTED, 20000}};
    static const struct tl_would longest[] = {
        {200000, true, false, 2000, 9999999, 99999, 20000, 20000, 20000},
        {200000, false, true, 2000, 9999999, 99999, 20000, 20000, 20000},
        {200000, false, false, 0, 9999999, 99999, 20000, 20000, 20000}};
    size_t most = 0;

    (void)state;
    for (unsigned i = 0; i < sizeof rows / sizeof rows[0] * 3 * 7 * 2; i++) {
        char whole[ROOM];
        char text[TL_TEXT_CAP];
        struct tl_cause cause = {.rule = rows[i / 42].rule,
                                 .station = ID_23,
                                 .state = (enum tl_cause_state)(i / 6 % 7),
                                 .reported = {true, rows[i / 42].figure, ""},
                                 .needed = {true, rows[i / 42].figure, "abcdefghijklmno"},
                                 .would = longest[i / 2 % 3]};
        cause.would.set_lb -= i % 2; /* as reported, and another */
        if (cause.rule == TL_RULE_HOOK_LOAD || cause.rule == TL_RULE_STROKE_PREDICTED) {
            cause.needed.word[0] = '\0';
        }
        const struct tl_event event = {UINT64_MAX, UINT32_MAX};
        (void)tl_cause_text(&cause, event, whole, sizeof whole);
        (void)tl_cause_text(&cause, event, text, sizeof text);
        assert_string_equal(text, whole);
        most = strlen(whole) > most ? strlen(whole) : most;
    }
    print_message("longest: %zu of %d\n", most, TL_TEXT_CAP - 1);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_setting_says_how_it_ends),
        cmocka_unit_test(a_number_is_told_in_groups_of_three),
        cmocka_unit_test(a_wrong_setting_says_the_weights_and_what_would_come_of_it),
        cmocka_unit_test(a_setting_not_stated_says_what_the_old_one_would_do),
        cmocka_unit_test(a_consequence_of_another_weight_names_it),
        cmocka_unit_test(a_computed_rule_says_its_figures_and_how_it_ends),
        cmocka_unit_test(without_a_consequence_nothing_is_added),
        cmocka_unit_test(every_consequence_fits_one_line),
    };
    return cmocka_run_group_tests_name("vocab_would", tests, NULL, NULL);
}
