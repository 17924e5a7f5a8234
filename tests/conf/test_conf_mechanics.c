/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_conf_mechanics - the measures that the mechanics compute with: read, and refused
 *
 * The lists of `figures` are written by each test behind the good texts; see measures.h.
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
#include "proto/base/file.h"
#include "tests/conf/folder.h"
#include "tests/conf/measures.h"

#define SHIP "ship.yaml"
#define GEAR "gear.yaml"

static const enum tl_figure STRETCH[] = {TL_FIGURE_CABLE_STIFFNESS_LBF, TL_FIGURE_CABLE_LENGTH_FT,
                                         TL_FIGURE_CABLE_DAMPING_PERCENT, TL_FIGURE_RAM_MASS_LB};

static bool
is_stretch(enum tl_figure figure)
{
    return figure >= TL_FIGURE_CABLE_STIFFNESS_LBF && figure <= TL_FIGURE_RAM_MASS_LB;
}

/* Neither is there without the other. */
static bool
are_a_pair(enum tl_figure a, enum tl_figure b)
{
    return (a == TL_FIGURE_LIFE_EXPONENT && b == TL_FIGURE_LIFE_REFERENCE_PERCENT) ||
           (a == TL_FIGURE_LIFE_REFERENCE_PERCENT && b == TL_FIGURE_LIFE_EXPONENT);
}

static void
assert_loads(const struct measures_room *room, const char *name)
{
    struct tl_conf_fault fault = {.line = 0};
    enum tl_err err = tl_conf_load(room->folder.dir, room->config, &fault);

    if (err != TL_OK) {
        fail_msg("%s: %s:%u: %s", name, fault.file, fault.line, fault.text);
    }
}

static void
assert_refused(const struct measures_room *room, const char *name, const struct tl_conf_fault *want)
{
    struct tl_conf_fault fault = {.line = UINT32_MAX};
    enum tl_err err = tl_conf_load(room->folder.dir, room->config, &fault);

    if (err != TL_CONFIG || strcmp(fault.file, want->file) != 0 || fault.line != want->line ||
        strcmp(fault.text, want->text) != 0) {
        fail_msg("%s: want %s:%u: %s\n    got %s, %s:%u: %s", name, want->file, want->line,
                 want->text, tl_err_text(err), err == TL_OK ? "" : fault.file,
                 err == TL_OK ? 0 : fault.line, err == TL_OK ? "" : fault.text);
    }
}

/* The next name of the enum in lower case, without its prefix; where the text goes on. */
static const char *
next_name(const char *text, char *name, size_t cap)
{
    static const char prefix[] = "    TL_FIGURE_";
    static const char upper[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ";
    static const char lower[] = "abcdefghijklmnopqrstuvwxyz";
    const char *at = text == NULL ? NULL : strstr(text, prefix);
    size_t len = 0;

    if (at == NULL) {
        fail_msg("the enum of figures.h ends too early");
        return NULL;
    }
    for (at += sizeof prefix - 1; *at != ',' && *at != '\0' && len + 1 < cap; at++) {
        const char *capital = strchr(upper, *at);
        name[len] = *at;
        if (capital != NULL) {
            name[len] = lower[capital - upper];
        }
        len++;
    }
    name[len] = '\0';
    return at;
}

/* The table names each figure as the enum does; the header is read, so that neither is believed. */
static void
conf_figures_are_named_as_the_enum_in_its_order(void **state)
{
    struct measures_room *room = *state;
    const char *source = getenv("TL_SOURCE_DIR");
    char path[TL_PATH_CAP];
    size_t len = 0;
    size_t count = 0;
    const struct tl_figure_row *rows = tl_figure_rows(&count);

    assert_non_null(source);
    (void)snprintf(path, sizeof path, "%s/proto/vocab/figures.h", source);
    assert_int_equal(tl_file_read(path, FOLDER_FILE_CAP - 1, room->text, &len), TL_OK);
    room->text[len] = '\0';
    const char *at = strstr(room->text, "TL_FIGURE_NONE");
    assert_int_equal(count, TL_FIGURES - 1);
    for (size_t i = 0; i < count; i++) {
        char name[64];
        at = next_name(at, name, sizeof name);
        assert_string_equal(rows[i].name, name);
        assert_int_equal(rows[i].figure, i + 1);
        assert_ptr_equal(tl_figure_by_name(name), &rows[i]);
        assert_true(rows[i].least < rows[i].most && rows[i].what[0] != '\0');
        assert_int_equal(rows[i].file, rows[i].figure < TL_FIGURE_AID_FROM_RAMP_FT
                                           ? TL_FIGURE_OF_GEAR
                                           : TL_FIGURE_OF_SHIP);
    }
    assert_null(tl_figure_by_name(""));
    assert_null(tl_figure_by_name("half_span"));
}

static void
conf_figures_are_as_written(void **state)
{
    struct measures_room *room = *state;
    bool given[TL_FIGURES] = {false};

    for (int f = 1; f < TL_FIGURES; f++) {
        given[f] = true;
    }
    measures_put(&room->folder, given, "");
    assert_loads(room, "all figures");
    for (int f = 1; f < TL_FIGURES; f++) {
        assert_true(room->config->figures.given[f]);
        double want = measures_value((enum tl_figure)f);
        /* Exact: each value is the nearest double of its digits. */
        assert_memory_equal(&room->config->figures.value[f], &want, sizeof want);
    }
    memset(given, 0, sizeof given);
    measures_put(&room->folder, given, "");
    assert_loads(room, "no figures");
    for (int f = 0; f < TL_FIGURES; f++) {
        assert_false(room->config->figures.given[f]);
    }
    measures_put_items(&room->folder, GEAR, "", "figures: []\n");
    assert_loads(room, "an empty list");
}

/* One figure by itself, with the rest of its group where it has one. */
static void
put_alone(struct measures_room *room, const struct tl_figure_row *row, double value)
{
    size_t len = measures_add(room->made, 0, row->figure, value);

    for (int f = 1; f < TL_FIGURES; f++) {
        enum tl_figure other = (enum tl_figure)f;
        bool with = is_stretch(row->figure) ? is_stretch(other) && other != row->figure
                                            : are_a_pair(row->figure, other);
        len = with ? measures_add(room->made, len, other, measures_value(other)) : len;
    }
    measures_put_items(&room->folder, row->file == TL_FIGURE_OF_GEAR ? GEAR : SHIP, room->made, "");
}

static void
conf_figure_is_taken_at_its_ends_and_refused_past_them(void **state)
{
    struct measures_room *room = *state;
    size_t count = 0;
    const struct tl_figure_row *rows = tl_figure_rows(&count);

    for (size_t i = 0; i < count; i++) {
        const struct tl_figure_row *row = &rows[i];
        bool is_gear = row->file == TL_FIGURE_OF_GEAR;
        const double past[] = {row->least - 0.0001, row->most + 0.0001};
        const double ends[] = {row->least, row->most};
        folder_mend(&room->folder);
        for (size_t k = 0; k < 2; k++) {
            struct tl_conf_fault want = {.line = is_gear ? MEASURES_GEAR_LINE : MEASURES_SHIP_LINE};
            (void)snprintf(want.file, sizeof want.file, "%s", is_gear ? GEAR : SHIP);
            (void)snprintf(want.text, sizeof want.text,
                           "%s \"%.4f\" is out of range; write %.10g to %.10g", row->name, past[k],
                           row->least, row->most);
            put_alone(room, row, ends[k]);
            assert_loads(room, row->name);
            put_alone(room, row, past[k]);
            assert_refused(room, row->name, &want);
        }
    }
}

#define NOT_A_NUMBER(text)                                                                         \
    "half_span_ft \"" text                                                                         \
    "\" is not a number; write 10 to 200 in digits, at most four after a point"
#define SPAN(value) "  - {figure: half_span_ft, value: " value ", source: invented}\n"
#define LONG_64     "0123456789012345678901234567890123456789012345678901234567890123"

/* clang-format off */
static const struct bad {
    const char *name;
    const char *items;
    struct tl_conf_fault want;
} bad_rows[] = {
    {"unknown", "  - {figure: half_spam_ft, value: 55, source: x}\n",
     {GEAR, 10, "figure \"half_spam_ft\" is not known; correct it or remove it"}},
    {"in capitals", "  - {figure: HALF_SPAN_FT, value: 55, source: x}\n",
     {GEAR, 10, "figure \"HALF_SPAN_FT\" is not known; correct it or remove it"}},
    {"of ship.yaml in gear.yaml", SPAN("55") "  - {figure: pitch_arm_ft, value: 500, source: x}\n",
     {GEAR, 11, "figure pitch_arm_ft is of ship.yaml; move it there"}},
    {"of gear.yaml in ship.yaml", "  - {figure: half_span_ft, value: 55, source: x}\n",
     {SHIP, 39, "figure half_span_ft is of gear.yaml; move it there"}},
    {"twice", SPAN("55") "  - {figure: reeve_ratio, value: 18, source: x}\n" SPAN("55"),
     {GEAR, 12, "figure half_span_ft is given twice (first on line 10); remove one"}},
    {"not a number at all", SPAN("wide"), {GEAR, 10, NOT_A_NUMBER("wide")}},
    {"NaN", SPAN("nan"), {GEAR, 10, NOT_A_NUMBER("nan")}},
    {"NaN of YAML", SPAN(".nan"), {GEAR, 10, NOT_A_NUMBER(".nan")}},
    {"infinite", SPAN("inf"), {GEAR, 10, NOT_A_NUMBER("inf")}},
    {"infinite below", SPAN("-inf"), {GEAR, 10, NOT_A_NUMBER("-inf")}},
    {"hexadecimal", SPAN("0x37"), {GEAR, 10, NOT_A_NUMBER("0x37")}},
    {"exponent", SPAN("5.5e1"), {GEAR, 10, NOT_A_NUMBER("5.5e1")}},
    {"plus", SPAN("+55"), {GEAR, 10, NOT_A_NUMBER("+55")}},
    {"two minus", SPAN("--55"), {GEAR, 10, NOT_A_NUMBER("--55")}},
    {"minus alone", SPAN("'-'"), {GEAR, 10, NOT_A_NUMBER("-")}},
    {"octal", SPAN("055"), {GEAR, 10, NOT_A_NUMBER("055")}},
    {"comma", SPAN("'55,5'"), {GEAR, 10, NOT_A_NUMBER("55,5")}},
    {"nothing after the point", SPAN("55."), {GEAR, 10, NOT_A_NUMBER("55.")}},
    {"nothing before the point", SPAN(".5"), {GEAR, 10, NOT_A_NUMBER(".5")}},
    {"two points", SPAN("55.5.5"), {GEAR, 10, NOT_A_NUMBER("55.5.5")}},
    {"five digits after the point", SPAN("55.00001"), {GEAR, 10, NOT_A_NUMBER("55.00001")}},
    {"ten digits", SPAN("1234567890"), {GEAR, 10, NOT_A_NUMBER("1234567890")}},
    {"unit", SPAN("55 ft"), {GEAR, 10, NOT_A_NUMBER("55 ft")}},
    {"negative", SPAN("-55"), {GEAR, 10, "half_span_ft \"-55\" is out of range; write 10 to 200"}},
    {"no value", SPAN("''"), {GEAR, 10, "figures[0].value has no value; write one"}},
    {"value missing", "  - {figure: half_span_ft, source: x}\n",
     {GEAR, 10, "key \"value\" is missing in figures[0]; add it"}},
    {"source missing", SPAN("55") "  - figure: reeve_ratio\n    value: 18\n",
     {GEAR, 11, "key \"source\" is missing in figures[1]; add it"}},
    {"source empty", "  - {figure: half_span_ft, value: 55, source: ''}\n",
     {GEAR, 10, "figures[0].source has no value; write one"}},
    {"source blank", "  - figure: half_span_ft\n    value: 55\n    source: ' '\n",
     {GEAR, 12, "source is blank; write it in words"}},
    {"source of 256 bytes",
     "  - {figure: half_span_ft, value: 55, source: '" LONG_64 LONG_64 LONG_64 LONG_64 "'}\n",
     {GEAR, 10, "figures[0].source is longer than 255 bytes; shorten it"}},
    {"key of its own", "  - {figure: half_span_ft, value: 55, source: x, unit: ft}\n",
     {GEAR, 10, "unknown key \"unit\"; correct or remove it"}},
    {"a word for an item", "  - half_span_ft\n",
     {GEAR, 10, "figures[0] must be settings of the form key: value"}},
};
/* clang-format on */

static void
conf_bad_figure_is_refused_by_file_line_and_sentence(void **state)
{
    struct measures_room *room = *state;

    for (size_t i = 0; i < sizeof bad_rows / sizeof bad_rows[0]; i++) {
        folder_mend(&room->folder);
        measures_put_items(&room->folder, bad_rows[i].want.file, bad_rows[i].items, "");
        assert_refused(room, bad_rows[i].name, &bad_rows[i].want);
    }
}

/* Any sentence of gear.yaml, by its list; NULL want: it loads. */
struct cross {
    const char *name;
    const char *items;
    uint32_t line;
    const char *want;
};

#define PSI(battery, full)                                                                         \
    "  - {figure: accumulator_battery_psi, value: " battery ", source: x}\n"                       \
    "  - {figure: accumulator_full_psi, value: " full ", source: x}\n"
#define THROW(runout, most)                                                                        \
    SPAN("55")                                                                                     \
    "  - {figure: runout_ft, value: " runout ", source: x}\n"                                      \
    "  - {figure: reeve_ratio, value: 18, source: x}\n"                                            \
    "  - {figure: stroke_max_in, value: " most ", source: x}\n"
#define MOST(most) "  - {figure: stroke_max_in, value: " most ", source: x}\n"
#define LIMITS                                                                                     \
    "limits: {pendant_low_in: 2, pendant_high_in: 5, accumulator_min_psi: 380, "                   \
    "accumulator_max_psi: 430, crosshead_min_in: 1, detorque_first: 50, "                          \
    "detorque_first_limit: 60, detorque_every: 200, barricade_psi: 1500, "                         \
    "barricade_cycles_max: 3, ram_travel_max_in: 187.5}\n"

/*
 * Ram travel of 192.94653 in for half span 55 ft, run-out 340 ft, reeve ratio 18: own derivation,
 * (sqrt(55^2 + 340^2) - 55) / 18 * 12.
 */
static void
conf_figures_of_the_gear_must_agree(void **state)
{
    struct measures_room *room = *state;
    static const struct cross rows[] = {
        {"full as battery", PSI("400", "400"), 11,
         "accumulator_full_psi 400 is not above accumulator_battery_psi 400; correct one"},
        {"full below battery", PSI("650", "400"), 11,
         "accumulator_full_psi 400 is not above accumulator_battery_psi 650; correct one"},
        {"full just above battery", PSI("400", "400.0001"), 0, NULL},
        {"stroke just short", THROW("340", "192.9465"), 13,
         "stroke_max_in 192.9465 is not above the 192.95 in of ram travel that half_span_ft, "
         "runout_ft and reeve_ratio make; correct one"},
        {"stroke just enough", THROW("340", "192.9466"), 0, NULL},
        {"stroke with no run-out to compare", SPAN("55") MOST("10"), 0, NULL},
    };
    static const struct cross limited[] = {
        {"limit past the stop", MOST("187.4999"), 10,
         "stroke_max_in 187.4999 is below ram_travel_max_in 187.5 of limits; correct one"},
        {"limit at the stop", MOST("187.5"), 0, NULL},
        {"limit and no stop", SPAN("55"), 0, NULL},
    };
    const struct {
        const struct cross *rows;
        size_t count;
        const char *after;
    } sets[] = {{rows, sizeof rows / sizeof rows[0], ""},
                {limited, sizeof limited / sizeof limited[0], LIMITS}};

    for (size_t s = 0; s < 2; s++) {
        for (size_t i = 0; i < sets[s].count; i++) {
            const struct cross *row = &sets[s].rows[i];
            measures_put_items(&room->folder, GEAR, row->items, sets[s].after);
            if (row->want == NULL) {
                assert_loads(room, row->name);
                continue;
            }
            struct tl_conf_fault want = {.file = GEAR, .line = row->line};
            (void)snprintf(want.text, sizeof want.text, "%s", row->want);
            assert_refused(room, row->name, &want);
        }
    }
}

static void
conf_stretch_of_the_cable_is_given_in_full_or_not_at_all(void **state)
{
    struct measures_room *room = *state;

    for (unsigned set = 0; set < 16; set++) {
        enum tl_figure there = TL_FIGURE_NONE;
        enum tl_figure missing = TL_FIGURE_NONE;
        bool given[TL_FIGURES] = {[TL_FIGURE_HALF_SPAN_FT] = true};
        struct tl_conf_fault want = {.file = GEAR, .line = MEASURES_GEAR_LINE + 1};
        for (int i = 3; i >= 0; i--) {
            given[STRETCH[i]] = (set >> i & 1u) != 0;
            there = given[STRETCH[i]] ? STRETCH[i] : there;
            missing = given[STRETCH[i]] ? missing : STRETCH[i];
        }
        measures_put(&room->folder, given, "");
        if (there == TL_FIGURE_NONE || missing == TL_FIGURE_NONE) {
            assert_loads(room, "all or none");
            continue;
        }
        (void)snprintf(want.text, sizeof want.text,
                       "a cable that stretches has %s and no %s; give all of cable_stiffness_lbf, "
                       "cable_length_ft, cable_damping_percent and ram_mass_lb, or none",
                       measures_row(there)->name, measures_row(missing)->name);
        assert_refused(room, measures_row(there)->name, &want);
    }
}

#define POWER(value)     "  - {figure: life_exponent, value: " value ", source: x}\n"
#define REFERENCE(value) "  - {figure: life_reference_percent, value: " value ", source: x}\n"
#define EXCESS(value)    "  - {figure: inspect_load_percent, value: " value ", source: x}\n"

static void
conf_traps_are_weighted_with_a_whole_power_and_a_reference(void **state)
{
    struct measures_room *room = *state;
    static const struct {
        const char *items;
        const char *want; /* NULL: it loads */
        struct tl_wear_figures figures;
    } rows[] = {
        {SPAN("55"), NULL, {0, 0, 0}},
        {POWER("5") REFERENCE("60"), NULL, {5, 60, 0}},
        {REFERENCE("60.9") POWER("1.0"),
         NULL,
         {1, 60, 0}}, /* the lower: what is above it wears more */
        {EXCESS("75.9"), NULL, {0, 0, 75}},
        {POWER("5"),
         "traps weighted by load have life_exponent and no life_reference_percent; give both, or "
         "none",
         {0}},
        {REFERENCE("60"),
         "traps weighted by load have life_reference_percent and no life_exponent; give both, or "
         "none",
         {0}},
        {POWER("5.5") REFERENCE("60"), "life_exponent 5.5 is not a whole number; correct it", {0}},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_conf_fault want = {.file = GEAR, .line = MEASURES_GEAR_LINE};
        measures_put_items(&room->folder, GEAR, rows[i].items, "");
        if (rows[i].want != NULL) {
            (void)snprintf(want.text, sizeof want.text, "%s", rows[i].want);
            assert_refused(room, rows[i].items, &want);
            continue;
        }
        assert_loads(room, rows[i].items);
        assert_int_equal(room->config->wear.exponent, rows[i].figures.exponent);
        assert_int_equal(room->config->wear.reference_percent, rows[i].figures.reference_percent);
        assert_int_equal(room->config->wear.inspect_percent, rows[i].figures.inspect_percent);
    }
}

/* The good aircraft.yaml with this at the end of dunlin's row, on line 8. */
static void
put_dunlin(struct measures_room *room, const char *keys)
{
    (void)folder_good_text("aircraft.yaml", room->text);
    char *end = strrchr(room->text, '}');

    assert_non_null(end);
    size_t len = (size_t)(end - room->text);
    len += (size_t)snprintf(end, FOLDER_FILE_CAP - len, "%s}\n", keys);
    folder_put(&room->folder, "aircraft.yaml", room->text, len);
}

static void
conf_type_measures_are_as_written_or_refused(void **state)
{
    struct measures_room *room = *state;
    /* clang-format off */
    static const struct {
        const char *keys;
        uint32_t approach_x10, load, thrust;
        const char *want; /* NULL: it loads */
    } rows[] = {
        {"", 0, 0, 0, NULL},
        {", approach_kt: 118.5, hook_load_max_lbf: 58000, thrust_lbf: 4000", 1185, 58000, 4000, NULL},
        {", approach_kt: 20, hook_load_max_lbf: 1000, thrust_lbf: 0", 200, 1000, 0, NULL},
        {", approach_kt: 300.0, hook_load_max_lbf: 2000000, thrust_lbf: 100000", 3000, 2000000, 100000, NULL},
        {", approach_kt: 19.9", 0, 0, 0, "approach_kt \"19.9\" is out of range; write 20.0 to 300.0 kt, such as 2.5"},
        {", approach_kt: 300.1", 0, 0, 0, "approach_kt \"300.1\" is out of range; write 20.0 to 300.0 kt, such as 2.5"},
        {", approach_kt: 118.55", 0, 0, 0, "approach_kt \"118.55\" is not a number; write 20.0 to 300.0 kt, such as 2.5"},
        {", approach_kt: nan", 0, 0, 0, "approach_kt \"nan\" is not a number; write 20.0 to 300.0 kt, such as 2.5"},
        {", hook_load_max_lbf: 999", 0, 0, 0, "hook_load_max_lbf 999 is out of range; write 1000 to 2000000 lbf"},
        {", hook_load_max_lbf: 2000001", 0, 0, 0, "hook_load_max_lbf 2000001 is out of range; write 1000 to 2000000 lbf"},
        {", thrust_lbf: 100001", 0, 0, 0, "thrust_lbf 100001 is out of range; write 0 to 100000 lbf"},
        {", thrust_lbf: -1", 0, 0, 0, "thrust_lbf \"-1\" is not a whole number; write 0 to 100000 lbf in digits only"},
    };
    /* clang-format on */

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_conf_fault want = {.file = "aircraft.yaml", .line = 8};
        put_dunlin(room, rows[i].keys);
        if (rows[i].want != NULL) {
            (void)snprintf(want.text, sizeof want.text, "%s", rows[i].want);
            assert_refused(room, rows[i].keys, &want);
            continue;
        }
        assert_loads(room, rows[i].keys);
        const struct tl_aircraft_type *type = tl_config_type(room->config, "dunlin");
        assert_non_null(type);
        assert_int_equal(type->approach_kt_x10, rows[i].approach_x10);
        assert_int_equal(type->hook_load_max_lbf, rows[i].load);
        assert_int_equal(type->thrust_lbf, rows[i].thrust);
    }
}

/* Three quarters of a nautical mile over a deck that moves away at 25 kn, as aircraft.yaml says. */
static void
conf_demo_gives_every_figure_and_speeds_that_make_its_times(void **state)
{
    struct measures_room *room = *state;
    const char *source = getenv("TL_SOURCE_DIR");
    struct tl_conf_fault fault = {.line = 0};
    char path[TL_PATH_CAP];

    assert_non_null(source);
    (void)snprintf(path, sizeof path, "%s/configs/demo", source);
    if (tl_conf_load_unkeyed(path, room->config, &fault) != TL_OK) {
        fail_msg("%s:%u: %s", fault.file, fault.line, fault.text);
    }
    for (int f = 1; f < TL_FIGURES; f++) {
        if (!room->config->figures.given[f]) {
            fail_msg("%s is not given", measures_row((enum tl_figure)f)->name);
        }
    }
    for (uint32_t i = 0; i < room->config->type_count; i++) {
        const struct tl_aircraft_type *type = &room->config->type[i];
        double seconds = 0.75 * 3600.0 / (type->approach_kt_x10 / 10.0 - 25.0);
        if (seconds < type->final_approach_s - 0.5 || seconds > type->final_approach_s + 0.5) {
            fail_msg("%s: %.2f s, said %u", type->id, seconds, type->final_approach_s);
        }
        assert_true(type->hook_load_max_lbf >= 3 * type->max_trap_lb);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(conf_figures_are_named_as_the_enum_in_its_order,
                                        measures_room_open, measures_room_close),
        cmocka_unit_test_setup_teardown(conf_figures_are_as_written, measures_room_open,
                                        measures_room_close),
        cmocka_unit_test_setup_teardown(conf_figure_is_taken_at_its_ends_and_refused_past_them,
                                        measures_room_open, measures_room_close),
        cmocka_unit_test_setup_teardown(conf_bad_figure_is_refused_by_file_line_and_sentence,
                                        measures_room_open, measures_room_close),
        cmocka_unit_test_setup_teardown(conf_figures_of_the_gear_must_agree, measures_room_open,
                                        measures_room_close),
        cmocka_unit_test_setup_teardown(conf_stretch_of_the_cable_is_given_in_full_or_not_at_all,
                                        measures_room_open, measures_room_close),
        cmocka_unit_test_setup_teardown(conf_traps_are_weighted_with_a_whole_power_and_a_reference,
                                        measures_room_open, measures_room_close),
        cmocka_unit_test_setup_teardown(conf_type_measures_are_as_written_or_refused,
                                        measures_room_open, measures_room_close),
        cmocka_unit_test_setup_teardown(conf_demo_gives_every_figure_and_speeds_that_make_its_times,
                                        measures_room_open, measures_room_close),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
