/* SPDX-License-Identifier: Apache-2.0 */
/* test_options - a command line is taken strictly, and what is refused is named. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "clients/plan/options.h"

enum {
    SPEED,
    SIGNED,
    COUNT,
    NAME,
    FLAG,
    SPAN,
    DIR,
    OPTIONS,
    WORDS_MAX = 8,
    WIDTH = 80
};

static const struct tl_option_row rows[OPTIONS] = {
    [SPEED] = {"--speed-kt", TL_OPTION_NUMBER, 0, 300, true, "kn", "how fast"},
    [SIGNED] = {"--pitch-deg", TL_OPTION_NUMBER, -10, 10, false, "deg", "which way"},
    [COUNT] = {"--aircraft", TL_OPTION_WHOLE, 1, 1000, false, "", "how many"},
    [NAME] = {"--type", TL_OPTION_WORD, 0, 0, false, "TYPE", "which"},
    [FLAG] = {"--json", TL_OPTION_FLAG, 0, 0, false, "", "how"},
    [SPAN] = {"--table", TL_OPTION_SPAN, 0, 100, false, "kn", "from where to where"},
    [DIR] = {"-C", TL_OPTION_WORD, 0, 0, false, "DIR", "where"},
};
static const struct tl_option_table table = {rows, OPTIONS};

/* Read the words of a line; a word of one underscore is an empty one. */
static enum tl_err
read(const char *line, struct tl_option *value, char why[TL_OPTIONS_WHY_CAP])
{
    char text[256];
    char empty[] = "";
    char *argv[WORDS_MAX + 1] = {empty};
    int argc = 1;
    (void)snprintf(text, sizeof text, "%s", line);
    char *save = NULL;
    for (char *word = strtok_r(text, " ", &save); word != NULL && argc < WORDS_MAX;
         word = strtok_r(NULL, " ", &save)) {
        argv[argc++] = strcmp(word, "_") == 0 ? empty : word;
    }
    const struct tl_option_words words = {argc, argv};
    return tl_options_read(&table, &words, value, why);
}

static void
options_are_read_in_both_forms(void **state)
{
    (void)state;
    struct tl_option value[OPTIONS];
    char why[TL_OPTIONS_WHY_CAP] = "";
    assert_int_equal(
        read("--speed-kt 105.5 --pitch-deg=-1.25 --aircraft 12 --json --type=plover", value, why),
        TL_OK);
    assert_true(value[SPEED].given && value[SIGNED].given && value[COUNT].given);
    assert_true(value[FLAG].given && value[NAME].given && !value[SPAN].given && !value[DIR].given);
    assert_float_equal(value[SPEED].number, 105.5, 0.0);
    assert_float_equal(value[SIGNED].number, -1.25, 0.0);
    assert_float_equal(value[COUNT].number, 12.0, 0.0);
    assert_int_equal(read("-C somewhere --pitch-deg -3", value, why), TL_OK);
    assert_float_equal(value[SIGNED].number, -3.0, 0.0);
    assert_true(value[DIR].given && !value[SPEED].given);
}

static void
a_range_is_taken_to_its_bounds_and_not_past(void **state)
{
    (void)state;
    static const struct {
        const char *line;
        enum tl_err err;
    } cases[] = {
        {"--speed-kt 300", TL_OK},         {"--speed-kt 300.001", TL_MALFORMED},
        {"--speed-kt 0.001", TL_OK},       {"--speed-kt 0", TL_MALFORMED},
        {"--pitch-deg -10", TL_OK},        {"--pitch-deg -10.1", TL_MALFORMED},
        {"--pitch-deg 10", TL_OK},         {"--pitch-deg 10.1", TL_MALFORMED},
        {"--aircraft 1", TL_OK},           {"--aircraft 0", TL_MALFORMED},
        {"--aircraft 1000", TL_OK},        {"--aircraft 1001", TL_MALFORMED},
        {"--table 0:100:10", TL_OK},       {"--table 0:100.5:10", TL_MALFORMED},
        {"--table 0:99:1", TL_OK},         {"--table 0:100:1", TL_MALFORMED},
        {"--table 5:5:1", TL_OK},          {"--table 5:4:1", TL_MALFORMED},
        {"--table 0:100:0", TL_MALFORMED},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct tl_option value[OPTIONS];
        char why[TL_OPTIONS_WHY_CAP] = "";
        if (read(cases[i].line, value, why) != cases[i].err) {
            fail_msg("%s: not %d; %s", cases[i].line, cases[i].err, why);
        }
    }
}

static void
what_is_refused_is_named_and_nothing_is_written(void **state)
{
    (void)state;
    static const struct {
        const char *line, *why;
    } cases[] = {
        {"--speed-kt nan", "--speed-kt 'nan' is not a number; write above 0 to 300 kn in digits"},
        {"--speed-kt inf", "--speed-kt 'inf' is not a number"},
        {"--speed-kt -inf", "is not a number"},
        {"--speed-kt 0x1p3", "is not a number"},
        {"--speed-kt 0x10", "is not a number"},
        {"--speed-kt 1e2", "is not a number"},
        {"--speed-kt +5", "is not a number"},
        {"--speed-kt 5kn", "is not a number"},
        {"--speed-kt 5.", "is not a number"},
        {"--speed-kt .5", "is not a number"},
        {"--speed-kt 5.5.5", "is not a number"},
        {"--speed-kt 5,5", "is not a number"},
        {"--speed-kt -", "is not a number"},
        {"--speed-kt --5", "is not a number"},
        {"--speed-kt _", "--speed-kt '' is not a number"},
        {"--speed-kt=", "--speed-kt '' is not a number"},
        {"--speed-kt 1234567890123456789", "is not a number"},
        {"--speed-kt -5", "--speed-kt -5 is out of range; write above 0 to 300 kn"},
        {"--speed-kt", "--speed-kt has no value; write --speed-kt kn"},
        {"--speed-kt --json", "--speed-kt has no value"},
        {"--speed-kt 5 --speed-kt 6", "--speed-kt is given twice; give it once"},
        {"--aircraft 1.5", "--aircraft '1.5' is not a whole number; write 1 to 1,000 in digits"},
        {"--json=yes", "--json takes no value"},
        {"--type _", "--type is empty; write --type TYPE"},
        {"--type=", "--type is empty"},
        {"--tabel 1:2:1", "'--tabel' is not an option; did you mean --table?"},
        {"--speed 5", "'--speed' is not an option; did you mean --speed-kt?"},
        {"--wholly-other 5", "'--wholly-other' is not an option; --help lists them"},
        {"word", "'word' is not an option"},
        {"_", "'' is not an option"},
        {"--table 1:2", "--table '1:2' is not a span; write FROM:TO:STEP in digits"},
        {"--table 1:2:3:4", "is not a span"},
        {"--table 1:nan:1", "is not a span"},
        {"--table ::", "is not a span"},
        {"--table 0:99:0.0001", "has no rows or too many"},
        {"--type\x1b[2J x", "'--type?[2J' is not an option"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct tl_option value[OPTIONS];
        char why[TL_OPTIONS_WHY_CAP] = "";
        for (size_t k = 0; k < OPTIONS; k++) {
            value[k] = (struct tl_option){.number = 77.0};
        }
        if (read(cases[i].line, value, why) != TL_MALFORMED || strstr(why, cases[i].why) == NULL) {
            fail_msg("%s: %s", cases[i].line, why);
        }
        for (size_t k = 0; k < OPTIONS; k++) {
            if (value[k].given || value[k].number < 77.0) {
                fail_msg("%s: written", cases[i].line);
            }
        }
    }
}

static void
a_span_ends_with_its_end(void **state)
{
    (void)state;
    static const struct {
        struct tl_span span;
        uint32_t rows;
        double last_but_one;
    } cases[] = {
        {{0, 30, 5}, 7, 25.0},
        {{0, 32, 5}, 8, 30.0},
        {{0, 2.1, 0.3}, 8, 1.8}, /* in binary 2.1 is more than seven of 0.3 */
        {{7, 7, 5}, 1, 7.0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const struct tl_span *span = &cases[i].span;
        assert_int_equal(tl_span_rows(span), cases[i].rows);
        assert_float_equal(tl_span_at(span, cases[i].rows - 1), span->to, 0.0);
        if (cases[i].rows > 1) {
            assert_float_equal(tl_span_at(span, cases[i].rows - 2), cases[i].last_but_one, 1e-12);
        }
    }
}

static void
the_help_names_every_option_within_the_width(void **state)
{
    (void)state;
    char *text = NULL;
    size_t length = 0;
    FILE *out = open_memstream(&text, &length);
    assert_non_null(out);
    tl_options_print(&table, out);
    assert_int_equal(fclose(out), 0);
    for (size_t i = 0; i < OPTIONS; i++) {
        assert_non_null(strstr(text, rows[i].name));
    }
    assert_non_null(strstr(text, "how fast; above 0 to 300 kn"));
    for (char *line = text; *line != '\0'; line += strcspn(line, "\n") + 1) {
        assert_true(strcspn(line, "\n") <= WIDTH);
    }
    free(text);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(options_are_read_in_both_forms),
        cmocka_unit_test(a_range_is_taken_to_its_bounds_and_not_past),
        cmocka_unit_test(what_is_refused_is_named_and_nothing_is_written),
        cmocka_unit_test(a_span_ends_with_its_end),
        cmocka_unit_test(the_help_names_every_option_within_the_width),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
