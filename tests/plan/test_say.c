/* SPDX-License-Identifier: Apache-2.0 */
/* test_say - text and JSON carry the same figures, and neither says 0 for what is not known. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <jansson.h>

#include "clients/plan/say.h"

static const struct tl_say_item load = {"load_lbf", "hook load", "lbf", 0};
static const struct tl_say_item angle = {"angle_deg", "angle", "deg", 2};
static const struct tl_say_item wind = {"wind_kt", "wind", "kn", 1};
static const struct tl_say_item stop = {"stop", "stop met", "", 0};
static const struct tl_say_column columns[] = {
    {"type", "type", "", 0, 8}, {"speed_kt", "speed", "kn", 1, 8}, {"hidden", "", "", 0, 0}};
static const struct tl_say_table table = {"rows", columns, 3};

static char *
print(struct tl_say *say, bool json)
{
    char *text = NULL;
    size_t length = 0;
    FILE *out = open_memstream(&text, &length);
    assert_non_null(out);
    assert_int_equal(tl_say_print(say, json, out), TL_OK);
    assert_int_equal(fclose(out), 0);
    return text;
}

static struct tl_say *
fill(void)
{
    struct tl_say *say = tl_say_open();
    assert_non_null(say);
    const struct tl_cell first[] = {tl_cell_word("plover"), tl_cell_number(12.25),
                                    tl_cell_flag(true)};
    const struct tl_cell second[] = {
        tl_cell_word("knot"), {.kind = TL_CELL_UNKNOWN}, tl_cell_flag(false)};
    tl_say_heading(say, "Head %d", 1);
    tl_say_number(say, &load, 1234567.8);
    tl_say_number(say, &angle, -0.001);
    tl_say_unknown(say, &wind);
    tl_say_flag(say, &stop, true);
    tl_say_table(say, &table);
    tl_say_row(say, &table, first);
    tl_say_heading(say, "Head %d", 2);
    tl_say_table(say, &table);
    tl_say_row(say, &table, second);
    tl_say_note(say, "A sentence.");
    tl_say_caution(say, "be careful.");
    return say;
}

static void
text_has_each_figure_with_its_unit(void **state)
{
    (void)state;
    struct tl_say *say = fill();
    char *text = print(say, false);
    assert_string_equal(text, "Head 1\n"
                              "  hook load ................................      1,234,568 lbf\n"
                              "  angle ....................................           0.00 deg\n"
                              "  wind .....................................      not given\n"
                              "  stop met .................................            YES\n"
                              "      type    speed\n"
                              "                 kn\n"
                              "    plover     12.2\n"
                              "\nHead 2\n"
                              "      type    speed\n"
                              "                 kn\n"
                              "      knot        -\n"
                              "A sentence.\n"
                              "\nCaution: be careful.\n");
    free(text);
    tl_say_close(&say);
    assert_null(say);
}

static void
json_has_the_same_figures_under_their_keys(void **state)
{
    (void)state;
    struct tl_say *say = fill();
    char *text = print(say, true);
    assert_string_equal(text,
                        "{\"load_lbf\":1234567.8,\"angle_deg\":-0.001,\"wind_kt\":null,"
                        "\"stop\":true,\"rows\":[{\"type\":\"plover\",\"speed_kt\":12.25,"
                        "\"hidden\":true},{\"type\":\"knot\",\"speed_kt\":null,\"hidden\":false}],"
                        "\"notes\":[\"A sentence.\"],\"caution\":\"be careful.\"}\n");
    free(text);
    tl_say_close(&say);
}

static void
long_sentences_are_broken_within_the_width(void **state)
{
    (void)state;
    struct tl_say *say = tl_say_open();
    assert_non_null(say);
    tl_say_note(say, "%s",
                "one two three four five six seven eight nine ten eleven twelve thirteen "
                "fourteen fifteen sixteen seventeen eighteen nineteen twenty");
    char *text = print(say, false);
    size_t lines = 0;
    for (char *line = text; *line != '\0'; line += strcspn(line, "\n") + 1) {
        assert_true(strcspn(line, "\n") <= TL_SAY_WIDTH);
        lines++;
    }
    assert_int_equal(lines, 2);
    free(text);
    tl_say_close(&say);
}

static void
what_is_not_finite_is_null(void **state)
{
    (void)state;
    struct tl_say *say = tl_say_open();
    assert_non_null(say);
    tl_say_number(say, &wind, strtod("nan", NULL));
    char *text = print(say, true);
    assert_string_equal(text, "{\"wind_kt\":null}\n");
    free(text);
    tl_say_close(&say);
}

static void
an_output_that_takes_nothing_is_an_error(void **state)
{
    (void)state;
    struct tl_say *say = fill();
    FILE *full = fopen("/dev/full", "w");
    assert_non_null(full);
    assert_int_equal(tl_say_print(say, false, full), TL_IO);
    assert_int_equal(tl_say_print(say, true, full), TL_IO);
    (void)fclose(full);
    tl_say_close(&say);
}

static void
digits_are_grouped_by_thousands(void **state)
{
    (void)state;
    static const struct {
        double value;
        int digits;
        const char *text;
    } cases[] = {{0, 0, "0"},
                 {999, 0, "999"},
                 {1000, 0, "1,000"},
                 {-1000, 0, "-1,000"},
                 {1234567.891, 2, "1,234,567.89"},
                 {-0.04, 1, "0.0"},
                 {-0.06, 1, "-0.1"},
                 {0.04006, 5, "0.04006"}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char text[32];
        assert_string_equal(tl_say_digits(cases[i].value, cases[i].digits, text, sizeof text),
                            cases[i].text);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(text_has_each_figure_with_its_unit),
        cmocka_unit_test(json_has_the_same_figures_under_their_keys),
        cmocka_unit_test(long_sentences_are_broken_within_the_width),
        cmocka_unit_test(what_is_not_finite_is_null),
        cmocka_unit_test(an_output_that_takes_nothing_is_an_error),
        cmocka_unit_test(digits_are_grouped_by_thousands),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
