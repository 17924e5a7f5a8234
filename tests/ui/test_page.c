/* SPDX-License-Identifier: Apache-2.0 */
/* test_page - cells of a page: places, hostile text, and that no two states look alike. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/ui/drawn.h"

enum {
    APART = 3,
    PAGES_MAX = 160
};

static void
the_verdict_and_its_rows_have_their_places(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    struct drawn *drawn = drawn_new(shown);
    shown->view.word = TL_WORD_READY;
    draw(drawn, 24, 80);
    assert_string_equal(row(drawn, 1), "READY (advisory) event 1");
    assert_true(strstr(row(drawn, 0), " DECK") == row(drawn, 0));
    assert_non_null(strstr(row(drawn, 0), "14:03:22"));
    for (uint32_t i = 0; i < TL_FACT_ROWS; i++) {
        assert_true(strncmp(row(drawn, 2 + i) + 1, tl_fact_name((enum tl_fact_row)i),
                            strlen(tl_fact_name((enum tl_fact_row)i))) == 0);
    }
    assert_string_equal(row(drawn, 20), "bus-a up");
    assert_string_equal(row(drawn, 23), "TAB FOUL");
    shown->view.word = TL_WORD_NOT_READY;
    shown->view.first = (struct tl_cause){.rule = TL_RULE_STOP, .state = TL_CAUSE_WRONG};
    draw(drawn, 24, 80);
    assert_true(strncmp(row(drawn, 1), "NOT READY: ", 11) == 0);
    free(drawn);
    free(shown);
}

static void
what_waits_stands_before_what_does_not(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    struct drawn *drawn = drawn_new(shown);
    const struct tl_belled *order[TL_ALERTS_MAX];
    const struct tl_alert alerts[] = {
        alert_of(TL_RULE_BUS_DEGRADED, TL_SEVERITY_CAUTION, 0, 0),
        alert_of(TL_RULE_DECK_FOUL, TL_SEVERITY_ALARM, 3, 3),
        alert_of(TL_RULE_WIND_UNKNOWN, TL_SEVERITY_WARNING, 3, 1),
        alert_of(TL_RULE_SHEAVE_DOWN, TL_SEVERITY_ALARM, 3, 2),
        alert_of(TL_RULE_WAVE_OFF_ADVISED, TL_SEVERITY_EMERGENCY, 2, 0),
    };
    static const enum tl_rule want[] = {TL_RULE_WAVE_OFF_ADVISED, TL_RULE_SHEAVE_DOWN,
                                        TL_RULE_WIND_UNKNOWN, TL_RULE_DECK_FOUL,
                                        TL_RULE_BUS_DEGRADED};
    tl_bell_take(&drawn->bell, alerts, sizeof alerts / sizeof alerts[0], 1000);
    assert_int_equal(tl_page_alert_order(&drawn->bell, order), 5);
    for (size_t i = 0; i < 5; i++) {
        assert_int_equal(order[i]->alert.cause.rule, want[i]);
    }
    /* place 0 owes the sheave and has given the wind: what it may acknowledge is the sheave */
    assert_int_equal(tl_page_first_owed(&drawn->bell)->alert.cause.rule, TL_RULE_SHEAVE_DOWN);
    draw(drawn, 24, 80);
    assert_true(stands(drawn, " 5 alerts, 3 not acknowledged "));
    assert_true(row(drawn, 13)[0] == '*');
    assert_non_null(strstr(row(drawn, 13), "EMERGENCY"));
    drawn->page.mark_on = false;
    draw(drawn, 24, 80);
    assert_true(row(drawn, 13)[0] == ' ');
    free(drawn);
    free(shown);
}

static void
more_alerts_than_rows_are_said(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    struct drawn *drawn = drawn_new(shown);
    struct tl_alert alerts[20];
    for (uint32_t i = 0; i < 20; i++) {
        alerts[i] = alert_of(TL_RULE_SHEAVE_DOWN, TL_SEVERITY_ALARM, 1, 0);
        alerts[i].cause.subject.sequence = 100 + i;
    }
    tl_bell_take(&drawn->bell, alerts, 20, 1000);
    draw(drawn, 24, 80);
    uint32_t shown_rows = 0;
    for (uint32_t i = 13; i < 20; i++) {
        shown_rows += row(drawn, i)[0] == '*' ? 1 : 0;
    }
    char text[64];
    (void)snprintf(text, sizeof text, "and %u more", 20 - shown_rows);
    assert_true(stands(drawn, text));
    drawn->bell.place = 0;
    draw(drawn, 24, 80);
    assert_false(drawn->drawn.all_owed); /* one that is owed here has no row: it is not shown */
    assert_int_not_equal(drawn->drawn.first_owed,
                         0); /* the first can be acknowledged all the same */
    drawn->bell.place = 1;
    draw(drawn, 24, 80);
    assert_true(drawn->drawn.all_owed);
    drawn->bell.place = 0;
    for (uint32_t i = 1; i < 20; i++) {
        alerts[i].state = TL_ALERT_RETURNED;
    }
    tl_bell_take(&drawn->bell, alerts, 20, 2000);
    draw(drawn, 24, 80);
    assert_true(drawn->drawn.all_owed); /* the others have gone */
    draw(drawn, 60, 80);
    assert_true(drawn->drawn.all_owed);
    assert_false(stands(drawn, " more: "));
    free(drawn);
    free(shown);
}

static void
who_was_not_shown_it_is_named(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    struct drawn *drawn = drawn_new(shown);
    struct tl_alert alert = alert_of(TL_RULE_DECK_FOUL, TL_SEVERITY_ALARM, 3, 0);
    alert.delivered = 1;
    tl_bell_take(&drawn->bell, &alert, 1, 1000);
    draw(drawn, 24, 80);
    assert_true(stands(drawn, "NOT SHOWN "));
    alert.delivered = 3;
    tl_bell_take(&drawn->bell, &alert, 1, 2000);
    draw(drawn, 24, 80);
    assert_true(stands(drawn, "waits "));
    assert_false(stands(drawn, "NOT SHOWN "));
    free(drawn);
    free(shown);
}

/* What another station typed, and what a bad file holds, is text in a cell and nothing else. */
static void
hostile_text_stands_as_question_marks(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    struct drawn *drawn = drawn_new(shown);
    drawn->page.below = "\x1b]0;x\a\x1b[2J\r\n\x80\xff";
    drawn->page.title = "\x1b[31mDECK";
    drawn->page.links = "\b\b\b\t";
    drawn->page.entry = "\x1b[A";
    draw(drawn, 24, 80);
    for (uint32_t r = 0; r < 24; r++) {
        for (uint32_t c = 0; c < 80; c++) {
            char byte = drawn->sheet.cell[r][c].byte;
            assert_true(byte >= ' ' && byte <= '~');
        }
    }
    assert_string_equal(row(drawn, 22), "?]0;x??[2J????");
    free(drawn);
    free(shown);
}

struct kept {
    char name[TL_ID_CAP + 16];
    struct tl_sheet sheet;
};

static uint32_t
cells_apart(const struct tl_sheet *a, const struct tl_sheet *b)
{
    uint32_t apart = 0;
    for (uint32_t r = 0; r < a->rows; r++) {
        for (uint32_t c = 0; c < a->cols; c++) {
            apart += a->cell[r][c].byte != b->cell[r][c].byte ? 1 : 0;
        }
    }
    return apart;
}

static void
keep(struct kept *kept, uint32_t *count, struct drawn *drawn, const char *name)
{
    assert_true(*count < PAGES_MAX);
    draw(drawn, 24, 80);
    kept[*count].sheet = drawn->sheet;
    (void)snprintf(kept[*count].name, sizeof kept[*count].name, "%s", name);
    (*count)++;
}

/* READY, and NOT READY by each rule alone, wrong and not yet: each against every other. */
static void
no_two_states_look_alike(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    struct drawn *drawn = drawn_new(shown);
    struct kept *kept = calloc(PAGES_MAX, sizeof *kept);
    uint32_t count = 0;
    size_t rules = 0;
    uint32_t nearest = UINT32_MAX;
    const struct tl_rule_row *rows = tl_rule_rows(&rules);
    assert_non_null(kept);
    shown->view.word = TL_WORD_READY;
    keep(kept, &count, drawn, "ready");
    shown->view.word = TL_WORD_NOT_READY;
    shown->picture.cause_count = 1;
    for (size_t i = 0; i < rules; i++) {
        const struct tl_cause cause = {.rule = rows[i].rule, .state = TL_CAUSE_WRONG};
        shown->view.first = cause;
        shown->picture.cause[0] = cause;
        keep(kept, &count, drawn, rows[i].name);
    }
    for (uint32_t a = 0; a < count; a++) {
        for (uint32_t b = 0; b < a; b++) {
            uint32_t apart = cells_apart(&kept[a].sheet, &kept[b].sheet);
            nearest = apart < nearest ? apart : nearest;
            if (apart < APART) {
                fail_msg("%s and %s differ in %u cells", kept[a].name, kept[b].name, apart);
            }
        }
    }
    print_message("%u pages, the nearest two differ in %u cells\n", count, nearest);
    free(kept);
    free(drawn);
    free(shown);
}

static void
ink_only_repeats_what_words_say(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    struct drawn *drawn = drawn_new(shown);
    draw(drawn, 24, 80);
    for (uint32_t r = 2; r < 12; r++) {
        const struct tl_cell *cell = &drawn->sheet.cell[r][55];
        bool good = strncmp(row(drawn, r) + 55, "ok", 2) == 0;
        bool plain = cell->ink == TL_INK_PLAIN || cell->ink == TL_INK_FAINT;
        assert_true(good == plain);
    }
    free(drawn);
    free(shown);
}

static void
rows_of_the_verdict_before_are_named_so(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    struct drawn *drawn = drawn_new(shown);
    draw(drawn, 24, 80);
    assert_false(stands(drawn, "rows older"));
    shown->state.picture_old = true;
    draw(drawn, 24, 80);
    assert_true(stands(drawn, "rows older"));
    shown->state.picture_old_ms = 300;
    draw(drawn, 24, 80);
    assert_false(stands(drawn, "rows older"));
    for (uint32_t r = 2; r < 12; r++) {
        assert_true(strncmp(row(drawn, r) + 55, "OLD", 3) == 0);
    }
    free(drawn);
    free(shown);
}

static void
text_that_does_not_fit_says_so(void **state)
{
    (void)state;
    static struct tl_sheet sheet;
    char text[TL_SHEET_COLS_MAX + 1];
    tl_sheet_clear(&sheet, (struct tl_sheet_size){4, 10});
    assert_int_equal(tl_sheet_put(&sheet, 0, 2, 20, TL_INK_PLAIN, "abcdefgh"), 10);
    assert_string_equal(tl_sheet_text(&sheet, 0, text, sizeof text), "  abcdefgh");
    assert_int_equal(tl_sheet_put(&sheet, 1, 2, 20, TL_INK_PLAIN, "abcdefghi"), 10);
    assert_string_equal(tl_sheet_text(&sheet, 1, text, sizeof text), "  abcdefg>");
    assert_int_equal(tl_sheet_put(&sheet, 2, 0, 3, TL_INK_PLAIN, "abcd"), 3);
    assert_string_equal(tl_sheet_text(&sheet, 2, text, sizeof text), "ab>");
    assert_int_equal(tl_sheet_put(&sheet, 9, 0, 3, TL_INK_PLAIN, "abcd"), 0);
    assert_int_equal(tl_sheet_put(&sheet, 0, 10, 3, TL_INK_PLAIN, "abcd"), 10);
    tl_sheet_clear(&sheet, (struct tl_sheet_size){4, 10});
    assert_int_equal(
        tl_sheet_fold(&sheet, (struct tl_area){0, 0, 10, 4}, TL_INK_PLAIN, "one two three four"),
        2);
    assert_string_equal(tl_sheet_text(&sheet, 0, text, sizeof text), "one two");
    assert_string_equal(tl_sheet_text(&sheet, 1, text, sizeof text), "three four");
    assert_int_equal(tl_sheet_fold(&sheet, (struct tl_area){2, 0, 6, 1}, TL_INK_PLAIN, "abc defg"),
                     1);
    assert_string_equal(tl_sheet_text(&sheet, 2, text, sizeof text), "abc d>");
    assert_int_equal(tl_sheet_fold(&sheet, (struct tl_area){3, 0, 4, 2}, TL_INK_PLAIN, "abcdefgh"),
                     1);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_verdict_and_its_rows_have_their_places),
        cmocka_unit_test(what_waits_stands_before_what_does_not),
        cmocka_unit_test(more_alerts_than_rows_are_said),
        cmocka_unit_test(who_was_not_shown_it_is_named),
        cmocka_unit_test(hostile_text_stands_as_question_marks),
        cmocka_unit_test(no_two_states_look_alike),
        cmocka_unit_test(ink_only_repeats_what_words_say),
        cmocka_unit_test(rows_of_the_verdict_before_are_named_so),
        cmocka_unit_test(text_that_does_not_fit_says_so),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
