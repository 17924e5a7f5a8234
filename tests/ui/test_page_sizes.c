/* SPDX-License-Identifier: Apache-2.0 */
/* test_page_sizes - a page on screens of any size: what must be there, what must not be cut */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/ui/drawn.h"

static void
every_size_has_the_verdict_and_none_writes_outside(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    struct drawn *drawn = drawn_new(shown);
    shown->view.word = TL_WORD_READY;
    for (uint32_t rows = 0; rows <= TL_SHEET_ROWS_MAX; rows++) {
        for (uint32_t cols = 0; cols <= TL_SHEET_COLS_MAX; cols += cols < 130 ? 1 : 40) {
            draw(drawn, rows, cols);
            if (rows > 0 && cols >= 6) {
                assert_true(stands(drawn, "READY") || cols < 6);
            }
            for (uint32_t r = 0; r < rows; r++) {
                for (uint32_t c = 0; c < cols; c++) {
                    char byte = drawn->sheet.cell[r][c].byte;
                    assert_true(byte >= ' ' && byte <= '~');
                }
            }
        }
    }
    free(drawn);
    free(shown);
}

/* However small: what is not ready never begins a row with the word READY. */
static void
no_size_folds_not_ready_into_ready(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    struct drawn *drawn = drawn_new(shown);
    shown->view.word = TL_WORD_NOT_READY;
    shown->view.first =
        (struct tl_cause){.rule = TL_RULE_SHEAVE_DOWN, .state = TL_CAUSE_WRONG, .station = "wires"};
    for (uint32_t rows = 1; rows <= 30; rows++) {
        for (uint32_t cols = 3; cols <= 130; cols++) {
            draw(drawn, rows, cols);
            bool said = false;
            for (uint32_t i = 0; i < rows; i++) {
                assert_true(strncmp(row(drawn, i), "READY", 5) != 0);
                said = said || strncmp(row(drawn, i), "NOT", 3) == 0;
            }
            assert_true(said);
        }
    }
    free(drawn);
    free(shown);
}

/* What stands beside the page leaves the verdict its row, and the rows from the links on. */
static void
the_verdict_has_its_whole_row_on_a_wide_screen(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    struct drawn *drawn = drawn_new(shown);
    char verdict[TL_TEXT_CAP + 32];
    shown->view.first = (struct tl_cause){.rule = TL_RULE_SETTING_OTHER_AIRCRAFT,
                                          .state = TL_CAUSE_WRONG,
                                          .station = "engine-3",
                                          .reported = {.known = true, .number = 40000},
                                          .needed = {.known = true, .number = 34000}};
    (void)tl_ui_verdict(&shown->view, verdict, sizeof verdict);
    shown->picture.list_count = TL_LIST_MAX < 30 ? TL_LIST_MAX : 30;
    for (uint32_t rows = 24; rows <= 40; rows += 8) {
        draw(drawn, rows, 200);
        assert_string_equal(row(drawn, 1), verdict);
        assert_string_equal(row(drawn, rows - 4), "bus-a up");
        assert_string_equal(row(drawn, rows - 1), "TAB FOUL");
    }
    free(drawn);
    free(shown);
}

/* The key acknowledges an alert that has a row, and no other. */
static void
an_alert_without_a_row_is_not_offered(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    struct drawn *drawn = drawn_new(shown);
    struct tl_alert alerts[20];
    for (uint32_t i = 0; i < 20; i++) { /* place 0 owes the last one alone */
        alerts[i] = alert_of(TL_RULE_SHEAVE_DOWN, TL_SEVERITY_ALARM, i < 19 ? 2 : 1, 0);
        alerts[i].cause.subject.sequence = 100 + i;
    }
    tl_bell_take(&drawn->bell, alerts, 20, 1000);
    assert_non_null(tl_page_first_owed(&drawn->bell));
    draw(drawn, 24, 80);
    assert_true(drawn->drawn.alerts);
    assert_false(drawn->drawn.all_owed);
    assert_int_equal(drawn->drawn.first_owed, 0);
    draw(drawn, 60, 80);
    assert_true(drawn->drawn.all_owed);
    assert_int_equal(drawn->drawn.first_owed, tl_page_first_owed(&drawn->bell)->number);
    draw(drawn, 23, 80);
    assert_false(drawn->drawn.alerts);
    assert_false(drawn->drawn.all_owed);
    assert_int_equal(drawn->drawn.first_owed, 0);
    free(drawn);
    free(shown);
}

static void
a_small_screen_shows_the_first_cause_in_full(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    struct drawn *drawn = drawn_new(shown);
    shown->view.first =
        (struct tl_cause){.rule = TL_RULE_SHEAVE_DOWN, .state = TL_CAUSE_WRONG, .station = "wires"};
    draw(drawn, 6, 30);
    assert_true(stands(drawn, "NOT READY: wires: sheave not"));
    draw(drawn, 23, 80);
    assert_true(stands(drawn, "NOT READY: wires: sheave not up"));
    free(drawn);
    free(shown);
}

/* All of the sheet, with one blank where a row ends or several stand. */
static void
run_together(const struct drawn *drawn, char *dst, size_t cap)
{
    size_t used = 0;
    for (uint32_t i = 0; i < drawn->sheet.rows; i++) {
        const char *text = row(drawn, i);
        for (; *text != '\0' && used + 2 < cap; text++) {
            dst[used++] = *text;
        }
        if (used + 1 < cap) {
            dst[used++] = ' ';
        }
    }
    dst[used] = '\0';
}

enum {
    FIRST_WORD = 100
};

/* "w100 w101 ...", so many. */
static void
write_question(uint32_t words, char *dst, size_t cap)
{
    size_t used = 0;
    for (uint32_t i = 0; i < words; i++) {
        used += (size_t)snprintf(dst + used, cap - used, "%sw%u", i > 0 ? " " : "", FIRST_WORD + i);
    }
}

static bool
has_words(const char *text, uint32_t words)
{
    bool there = true;
    for (uint32_t i = 0; i < words; i++) {
        char word[8];
        (void)snprintf(word, sizeof word, "w%u", FIRST_WORD + i);
        there = there && strstr(text, word) != NULL;
    }
    return there;
}

/* Draws it on that size; true when the page says that it has room. */
static bool
is_shown_whole(struct drawn *drawn, struct tl_sheet_size size, uint32_t words)
{
    static char text[TL_SHEET_ROWS_MAX * (TL_SHEET_COLS_MAX + 1)];
    bool room = tl_page_has_room(size, drawn->page.below);
    draw(drawn, size.rows, size.cols);
    run_together(drawn, text, sizeof text);
    if (room && (!has_words(text, words) || strstr(text, "READY") == NULL)) {
        fail_msg("%u words on %ux%u: %s", words, size.rows, size.cols, text);
    }
    return room;
}

/* What is asked stands there to its last word, or the page says that it has no room for it. */
static void
what_is_read_back_is_never_cut(void **state)
{
    static char question[512];
    (void)state;
    struct shown *shown = shown_new();
    struct drawn *drawn = drawn_new(shown);
    uint32_t whole = 0;
    shown->view.word = TL_WORD_READY;
    drawn->page.below = question;
    drawn->page.asks = true;
    for (uint32_t words = 1; words <= 60; words += 7) {
        write_question(words, question, sizeof question);
        for (uint32_t rows = 1; rows <= 40; rows++) {
            for (uint32_t cols = 20; cols <= 130; cols += 10) {
                struct tl_sheet_size size = {rows, cols};
                whole += is_shown_whole(drawn, size, words) ? 1 : 0;
            }
        }
        assert_true(tl_page_has_room((struct tl_sheet_size){24, 80}, question));
    }
    assert_true(whole > 1000);
    assert_false(tl_page_has_room((struct tl_sheet_size){3, 80}, "any"));
    assert_false(tl_page_has_room((struct tl_sheet_size){8, 30}, question));
    free(drawn);
    free(shown);
}

/* ... and it takes nothing away but alerts: facts, links and the last word stay. */
static void
a_long_question_takes_the_room_of_alerts(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    struct drawn *drawn = drawn_new(shown);
    drawn->page.below = "READ BACK a word of this length and another one, a third one after it, "
                        "and what makes it longer than a row? 5 s";
    drawn->page.asks = true;
    drawn->page.last = "last said";
    draw(drawn, 24, 80);
    assert_string_equal(row(drawn, 19), "bus-a up");
    assert_string_equal(row(drawn, 20), "last said");
    assert_true(strncmp(row(drawn, 21), "READ BACK ", 10) == 0);
    assert_non_null(strstr(row(drawn, 22), "longer than a row? 5 s"));
    assert_string_equal(row(drawn, 23), "TAB FOUL");
    assert_true(strncmp(row(drawn, 11) + 1, "stations", 8) == 0);
    free(drawn);
    free(shown);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_size_has_the_verdict_and_none_writes_outside),
        cmocka_unit_test(no_size_folds_not_ready_into_ready),
        cmocka_unit_test(the_verdict_has_its_whole_row_on_a_wide_screen),
        cmocka_unit_test(an_alert_without_a_row_is_not_offered),
        cmocka_unit_test(a_small_screen_shows_the_first_cause_in_full),
        cmocka_unit_test(what_is_read_back_is_never_cut),
        cmocka_unit_test(a_long_question_takes_the_room_of_alerts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
