/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_conf_needs - a rule on a computed figure is on only with all that it is computed from
 *
 * What each of the eight needs is written out here a second time, from docs/rules.md.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "proto/base/conf.h"
#include "tests/conf/folder.h"
#include "tests/conf/measures.h"

#define ARREST_GEAR                                                                                \
    "half_span_ft runout_ft design_kt reeve_ratio ram_diameter_in stroke_max_in "                  \
    "accumulator_battery_psi accumulator_full_psi gas_exponent discharge_coefficient "             \
    "fluid_density_kg_m3 opening_least_percent capacity_ftlb pendant_break_lbf cable_break_lbf "
#define AIR    "air_temperature_c air_pressure_hpa wind_lull_kt "
#define ARREST ARREST_GEAR AIR
#define WIRES  "first_wire_ft wire_spacing_ft "
#define RESETS                                                                                     \
    "reset_arrest_s reset_hook_s reset_retract_s reset_taxi_s reset_weight_s reset_check_s "

static const struct row {
    const char *rule;
    const char *figures;
    const char *keys; /* of every type */
    bool ram_travel;  /* limits.ram_travel_max_in */
} rows[] = {
    {"hook-load", ARREST, "approach_kt hook_load_max_lbf ", false},
    {"energy-over", ARREST, "approach_kt ", false},
    {"energy-thin", ARREST "energy_margin_least_percent ", "approach_kt ", false},
    {"stroke-predicted", ARREST, "approach_kt ", true},
    {"travel-disagrees", ARREST "travel_apart_percent ", "approach_kt ", false},
    {"ramp-clearance", WIRES "ramp_clearance_least_ft pitch_arm_ft ", "hook_to_eye_ft ", false},
    {"touchdown-off", WIRES "touchdown_band_ft ", "hook_to_eye_ft ", false},
    {"interval-short",
     RESETS AIR "call_range_nmi reaction_s climb_ft_s2 gear_window_ft people_window_ft ",
     "approach_kt ", false},
};

enum {
    ROW_COUNT = sizeof rows / sizeof rows[0],
    KEYS_CAP = 128
};

static const char *const all_keys[] = {"approach_kt", "hook_load_max_lbf", "hook_to_eye_ft"};
static const char *const all_values[] = {"118.5", "58000", "14.2"};

static bool
lists(const char *words, const char *word)
{
    char spaced[64];

    (void)snprintf(spaced, sizeof spaced, "%s ", word);
    const char *at = strstr(words, spaced);
    return at != NULL && (at == words || at[-1] == ' ');
}

/* The file of that folder again, with the first `find` replaced. */
static void
edit(struct measures_room *room, const char *name, const char *find, const char *put)
{
    char path[FOLDER_PATH_CAP];

    (void)snprintf(path, sizeof path, "%s/%s", room->folder.dir, name);
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    size_t len = fread(room->text, 1, (size_t)FOLDER_FILE_CAP - 1, file);
    (void)fclose(file);
    room->text[len] = '\0';
    char *at = strstr(room->text, find);
    assert_non_null(at);
    int out = snprintf(room->made, FOLDER_FILE_CAP, "%.*s%s%s", (int)(at - room->text), room->text,
                       put, at + strlen(find));
    folder_put(&room->folder, name, room->made, (size_t)out);
}

/* Every computed rule off but this one; no rule: all are on. */
static void
put_rules_off(struct measures_room *room, const char *on)
{
    char off[ROW_COUNT * 64] = "";
    size_t len = 0;

    for (size_t i = 0; i < ROW_COUNT && on != NULL; i++) {
        if (strcmp(rows[i].rule, on) != 0) {
            len += (size_t)snprintf(off + len, sizeof off - len,
                                    "  - {rule: %s, reason: not fitted}\n", rows[i].rule);
        }
    }
    edit(room, "ship.yaml", "  - {rule: all-of-mechanics, reason: not fitted}\n", off);
}

/* aircraft.yaml with these keys in both types; `but` is left out of the second, dunlin. */
static void
put_types(struct measures_room *room, const char *keys, const char *but)
{
    char first[KEYS_CAP] = "    setting_lb: 34000\n";
    char second[KEYS_CAP] = "dunlin";
    size_t a = strlen(first);
    size_t b = strlen(second);

    (void)folder_good_text("aircraft.yaml", room->text);
    folder_put(&room->folder, "aircraft.yaml", room->text, strlen(room->text));
    for (size_t i = 0; i < sizeof all_keys / sizeof all_keys[0]; i++) {
        if (lists(keys, all_keys[i])) {
            a += (size_t)snprintf(first + a, sizeof first - a, "    %s: %s\n", all_keys[i],
                                  all_values[i]);
            bool left_out = but != NULL && strcmp(but, all_keys[i]) == 0;
            b += left_out ? 0
                          : (size_t)snprintf(second + b, sizeof second - b, ", %s: %s", all_keys[i],
                                             all_values[i]);
        }
    }
    edit(room, "aircraft.yaml", "    setting_lb: 34000\n", first);
    edit(room, "aircraft.yaml", "dunlin", second);
}

#define LIMITS                                                                                     \
    "limits: {pendant_low_in: 2, pendant_high_in: 5, accumulator_min_psi: 380, "                   \
    "accumulator_max_psi: 430, crosshead_min_in: 1, detorque_first: 50, "                          \
    "detorque_first_limit: 60, detorque_every: 200, barricade_psi: 1500, "                         \
    "barricade_cycles_max: 3%s}\n"

/* The folder of one rule with what it needs, without the figure `but`; NONE: with all. */
static void
put_row(struct measures_room *room, const struct row *row, enum tl_figure but)
{
    bool given[TL_FIGURES] = {false};
    char limits[512] = "";

    for (int f = 1; f < TL_FIGURES; f++) {
        const char *name = measures_row((enum tl_figure)f)->name;
        given[f] = f != (int)but && lists(row->figures, name);
    }
    if (row->ram_travel) {
        (void)snprintf(limits, sizeof limits, LIMITS, ", ram_travel_max_in: 187.5");
    }
    measures_put(&room->folder, given, limits);
    put_rules_off(room, row->rule);
}

static void
assert_refused(const struct measures_room *room, const struct tl_conf_fault *want)
{
    struct tl_conf_fault fault = {.line = UINT32_MAX};
    enum tl_err err = tl_conf_load(room->folder.dir, room->config, &fault);

    if (err != TL_CONFIG || strcmp(fault.file, want->file) != 0 || fault.line != want->line ||
        strcmp(fault.text, want->text) != 0) {
        fail_msg("want %s:%u: %s\n    got %s, %s:%u: %s", want->file, want->line, want->text,
                 tl_err_text(err), err == TL_OK ? "" : fault.file, err == TL_OK ? 0 : fault.line,
                 err == TL_OK ? "" : fault.text);
    }
}

static void
conf_computed_rule_is_on_with_what_it_needs_and_no_more(void **state)
{
    struct measures_room *room = *state;

    for (size_t i = 0; i < ROW_COUNT; i++) {
        struct tl_conf_fault fault = {.line = 0};
        put_types(room, rows[i].keys, NULL);
        put_row(room, &rows[i], TL_FIGURE_NONE);
        if (tl_conf_load(room->folder.dir, room->config, &fault) != TL_OK) {
            fail_msg("%s: %s:%u: %s", rows[i].rule, fault.file, fault.line, fault.text);
        }
        assert_false(room->config->ship.rule_off[tl_rule_by_name(rows[i].rule)]);
    }
}

/* Of the key `figures`; of the file where the missing one would be the only item of its list. */
static uint32_t
line_of_list(const struct row *row, const struct tl_figure_row *missing)
{
    for (int f = 1; f < TL_FIGURES; f++) {
        const struct tl_figure_row *other = measures_row((enum tl_figure)f);
        if (other != missing && other->file == missing->file && lists(row->figures, other->name)) {
            /* In ship.yaml the line of all-of-mechanics has become one for each other rule. */
            return missing->file == TL_FIGURE_OF_GEAR ? MEASURES_GEAR_LINE - 1
                                                      : MEASURES_SHIP_LINE - 1 + ROW_COUNT - 2;
        }
    }
    return 1;
}

static void
conf_computed_rule_without_a_figure_is_refused(void **state)
{
    struct measures_room *room = *state;

    for (size_t i = 0; i < ROW_COUNT; i++) {
        put_types(room, rows[i].keys, NULL);
        for (int f = 1; f < TL_FIGURES; f++) {
            const struct tl_figure_row *missing = measures_row((enum tl_figure)f);
            struct tl_conf_fault want = {.line = line_of_list(&rows[i], missing)};
            const char *file = missing->file == TL_FIGURE_OF_GEAR ? "gear.yaml" : "ship.yaml";
            if (!lists(rows[i].figures, missing->name)) {
                continue;
            }
            (void)snprintf(want.file, sizeof want.file, "%s", file);
            (void)snprintf(want.text, sizeof want.text,
                           "rule %s needs %s (%s): add it to figures of %s, or list the rule in "
                           "rules_off of ship.yaml with a reason",
                           rows[i].rule, missing->name, missing->what, file);
            put_row(room, &rows[i], missing->figure);
            assert_refused(room, &want);
        }
    }
}

static void
conf_computed_rule_without_a_key_of_a_type_is_refused(void **state)
{
    struct measures_room *room = *state;

    for (size_t i = 0; i < ROW_COUNT; i++) {
        put_row(room, &rows[i], TL_FIGURE_NONE);
        for (size_t k = 0; k < sizeof all_keys / sizeof all_keys[0]; k++) {
            struct tl_conf_fault want = {"aircraft.yaml", 8, ""};
            if (!lists(rows[i].keys, all_keys[k])) {
                continue;
            }
            put_types(room, rows[i].keys, all_keys[k]);
            for (const char *at = rows[i].keys; *at != '\0'; at++) {
                want.line += *at == ' ' ? 1 : 0; /* plover, before it, has a line for each */
            }
            (void)snprintf(want.text, sizeof want.text,
                           "type dunlin has no %s, and rule %s needs it; add it, or list the rule "
                           "in rules_off of ship.yaml with a reason",
                           all_keys[k], rows[i].rule);
            assert_refused(room, &want);
        }
    }
}

static void
conf_predicted_stroke_needs_its_limit(void **state)
{
    struct measures_room *room = *state;
    struct row row = rows[3];
    bool given[TL_FIGURES] = {false};
    char limits[512];
    struct tl_conf_fault want = {"gear.yaml", 1,
                                 "rule stroke-predicted needs figures: add "
                                 "limits.ram_travel_max_in, or list the rule in rules_off of "
                                 "ship.yaml with a reason"};

    assert_string_equal(row.rule, "stroke-predicted");
    put_types(room, row.keys, NULL);
    row.ram_travel = false;
    put_row(room, &row, TL_FIGURE_NONE);
    assert_refused(room, &want);
    for (int f = 1; f < TL_FIGURES; f++) {
        given[f] = true;
    }
    (void)snprintf(limits, sizeof limits, LIMITS, ", walk_back_max_ft: 10");
    measures_put(&room->folder, given, limits);
    put_rules_off(room, row.rule);
    want.line = MEASURES_GEAR_LINE + TL_FIGURE_INSPECT_LOAD_PERCENT;
    assert_refused(room, &want);
}

static void
conf_all_computed_rules_are_on_with_all_figures(void **state)
{
    struct measures_room *room = *state;
    bool given[TL_FIGURES] = {false};
    char limits[512];
    struct tl_conf_fault fault;

    for (int f = 1; f < TL_FIGURES; f++) {
        given[f] = true;
    }
    (void)snprintf(limits, sizeof limits, LIMITS, ", ram_travel_max_in: 187.5");
    put_types(room, "approach_kt hook_load_max_lbf hook_to_eye_ft ", NULL);
    measures_put(&room->folder, given, limits);
    put_rules_off(room, NULL);
    assert_int_equal(tl_conf_load(room->folder.dir, room->config, &fault), TL_OK);
    for (size_t i = 0; i < ROW_COUNT; i++) {
        assert_false(room->config->ship.rule_off[tl_rule_by_name(rows[i].rule)]);
    }
}

/* No computed rule is left out of the table of needs: it would then be on with nothing behind it. */
static void
conf_every_computed_rule_has_needs(void **state)
{
    size_t count = 0;
    size_t computed = 0;
    const struct tl_rule_row *all = tl_rule_rows(&count);

    (void)state;
    for (size_t i = 0; i < count; i++) {
        bool found = false;
        for (size_t k = 0; k < ROW_COUNT; k++) {
            found = found || strcmp(all[i].name, rows[k].rule) == 0;
        }
        assert_int_equal(all[i].computed, found);
        computed += all[i].computed ? 1 : 0;
    }
    assert_int_equal(computed, ROW_COUNT);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(conf_computed_rule_is_on_with_what_it_needs_and_no_more,
                                        measures_room_open, measures_room_close),
        cmocka_unit_test_setup_teardown(conf_computed_rule_without_a_figure_is_refused,
                                        measures_room_open, measures_room_close),
        cmocka_unit_test_setup_teardown(conf_computed_rule_without_a_key_of_a_type_is_refused,
                                        measures_room_open, measures_room_close),
        cmocka_unit_test_setup_teardown(conf_predicted_stroke_needs_its_limit, measures_room_open,
                                        measures_room_close),
        cmocka_unit_test_setup_teardown(conf_all_computed_rules_are_on_with_all_figures,
                                        measures_room_open, measures_room_close),
        cmocka_unit_test(conf_every_computed_rule_has_needs),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
