/* SPDX-License-Identifier: Apache-2.0 */
/* test_passes - the passes that trapline log prints from a file that the recorder wrote */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>
#include <jansson.h>
#include <sqlite3.h>

#include "clients/logbook/log.h"
#include "tests/identity/tool.h"
#include "tests/recorder/paper.h"

enum {
    COLUMNS = 80
};

static void
order(struct paper *paper, uint64_t sequence, uint32_t pass, enum tl_order_state state)
{
    struct tl_datum datum = paper_datum(TL_DATUM_ORDER, pass, pass);
    datum.as.order = (struct tl_order){204, "plover", 34000, 0, state, false};
    paper_change(paper, "primary", sequence, datum);
}

static void
set(struct paper *paper, const char *engine, uint64_t sequence, uint32_t lb)
{
    struct tl_datum datum = paper_datum(TL_DATUM_SET, 0, 1);
    datum.as.set_lb = lb;
    paper_change(paper, engine, sequence, datum);
}

static void
repeater(struct paper *paper, uint64_t sequence, uint32_t unit, uint32_t lb)
{
    struct tl_datum datum = paper_datum(TL_DATUM_REPEATER, unit, 1);
    datum.as.repeater_lb = lb;
    paper_change(paper, "primary", sequence, datum);
}

static void
result(struct paper *paper, uint64_t sequence, enum tl_outcome outcome, uint32_t wire)
{
    struct tl_datum datum = paper_datum(TL_DATUM_RESULT, 1, 1);
    datum.as.result = (struct tl_result){outcome, wire};
    paper_change(paper, "platform", sequence, datum);
}

/* What the log prints for the record as it is now; it has exit 0 and fits the screen. */
static void
expect_printed(struct paper *paper, const char *part)
{
    struct tool tool;
    const char *const words[] = {"log", "passes", "--record", paper->path, NULL};
    paper_commit(paper);
    tool_run(&tool, tl_log_main, words);
    if (tool.code != 0) {
        fail_msg("exit %d: %s", tool.code, tool.err);
    }
    for (const char *line = tool.out; *line != '\0';) {
        size_t len = strcspn(line, "\n");
        assert_true(len <= COLUMNS);
        line += len + (line[len] == '\n' ? 1 : 0);
    }
    if (strstr(tool.out, part) == NULL) {
        fail_msg("no \"%s\" in\n%s", part, tool.out);
    }
}

/* The only pass as JSON; the caller frees the whole. */
static json_t *
pass_of(struct paper *paper, json_t **whole)
{
    struct tool tool;
    const char *const words[] = {"log", "passes", "--json", "--record", paper->path, NULL};
    paper_commit(paper);
    tool_run(&tool, tl_log_main, words);
    assert_int_equal(tool.code, 0);
    *whole = json_loads(tool.out, 0, NULL);
    json_t *list = json_object_get(*whole, "passes");
    assert_int_equal(json_array_size(list), 1);
    return json_array_get(list, 0);
}

static void
ready_pass(struct paper *paper)
{
    order(paper, 1, 1, TL_ORDER_ORDERED);
    set(paper, "engine-1", 1, 34000);
    set(paper, "engine-2", 1, 34000);
    repeater(paper, 2, 1, 34000);
    repeater(paper, 3, 2, 34000);
}

static void
passes_print_a_trap_with_its_wire(void **state)
{
    struct paper *paper = *state;
    ready_pass(paper);
    result(paper, 9, TL_OUTCOME_TRAP, 3);
    expect_printed(paper, "22:13:29    1  204 plover           34,000 set 34,000 all trap wire 3");
    expect_printed(paper, "recovery 2023-11-14 22:13:20 UTC");
}

static void
passes_print_each_engine_when_they_differ(void **state)
{
    struct paper *paper = *state;
    ready_pass(paper);
    set(paper, "engine-2", 2, 40000);
    expect_printed(paper, "set engine-1 34,000, engine-2 40,000");
    expect_printed(paper, "repeater 1 34,000, 2 34,000");
    expect_printed(paper, "no result");
}

static void
passes_print_each_engine_when_a_repeater_differs(void **state)
{
    struct paper *paper = *state;
    ready_pass(paper);
    repeater(paper, 4, 2, 36000);
    expect_printed(paper, "repeater 1 34,000, 2 36,000");
}

static void
passes_print_each_engine_when_all_repeaters_read_another_weight(void **state)
{
    struct paper *paper = *state;
    ready_pass(paper);
    repeater(paper, 4, 1, 36000);
    repeater(paper, 5, 2, 36000);
    expect_printed(paper, "set engine-1 34,000, engine-2 34,000");
    expect_printed(paper, "repeater 1 36,000, 2 36,000");
}

static void
passes_leave_out_what_was_refused(void **state)
{
    struct paper *paper = *state;
    ready_pass(paper);
    set(paper, "engine-2", 2, 40000);
    paper_judged(paper, "engine-2", 1, false);
    paper_judged(paper, "engine-2", 2, false);
    paper_judged(paper, "engine-2", 2, true); /* one validator is enough */
    expect_printed(paper, "set 34,000 all");
}

static void
set_schema(const struct paper *paper, const char *sql)
{
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(paper->path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

/* Schema 1 has no predictions; the passes are where they were. */
static void
passes_are_read_from_every_schema_that_holds_them(void **state)
{
    struct paper *paper = *state;
    struct tool tool;
    const char *const words[] = {"log", "passes", "--record", paper->path, NULL};
    ready_pass(paper);
    expect_printed(paper, "set 34,000 all");
    set_schema(paper, "DROP TABLE predicted; DROP TABLE predicted_setting; DROP TABLE expected;"
                      " PRAGMA user_version = 1");
    expect_printed(paper, "set 34,000 all");
    static const char *const others[] = {"PRAGMA user_version = 0", "PRAGMA user_version = 4"};
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        set_schema(paper, others[i]);
        tool_run(&tool, tl_log_main, words);
        assert_int_not_equal(tool.code, 0);
        assert_non_null(strstr(tool.err, "this program knows 3"));
    }
}

static void
passes_take_the_later_result_and_mark_it(void **state)
{
    struct paper *paper = *state;
    ready_pass(paper);
    result(paper, 9, TL_OUTCOME_TRAP, 2);
    result(paper, 8, TL_OUTCOME_BOLTER, 0); /* said before, arrived after */
    expect_printed(paper, "trap wire 2 corrected");
    result(paper, 10, TL_OUTCOME_TRAP, 3);
    expect_printed(paper, "trap wire 3 corrected");
}

static void
passes_said_twice_are_not_corrected(void **state)
{
    struct paper *paper = *state;
    json_t *whole = NULL;
    ready_pass(paper);
    result(paper, 8, TL_OUTCOME_TRAP, 2);
    result(paper, 9, TL_OUTCOME_TRAP, 2);
    json_t *pass = pass_of(paper, &whole);
    assert_true(json_is_false(json_object_get(pass, "corrected")));
    assert_int_equal(json_integer_value(json_object_get(pass, "wire")), 2);
    json_decref(whole);
}

static void
passes_give_the_cause_of_a_wave_off(void **state)
{
    struct paper *paper = *state;
    json_t *whole = NULL;
    ready_pass(paper);
    paper_verdict(paper, 1, TL_RULE_HOOK_NOT_DOWN, "platform");
    paper_verdict(paper, 1, TL_RULE_NONE, "");
    paper_verdict(paper, 1, TL_RULE_DECK_FOUL, "deck");
    paper_verdict(paper, 2, TL_RULE_NO_EVENT, "");
    result(paper, 9, TL_OUTCOME_WAVE_OFF, 0);
    json_t *pass = pass_of(paper, &whole);
    json_t *cause = json_object_get(pass, "cause");
    assert_string_equal(json_string_value(json_object_get(cause, "rule")), "deck-foul");
    assert_string_equal(json_string_value(json_object_get(cause, "station")), "deck");
    json_decref(whole);
    expect_printed(paper, "not ready: deck: deck foul");
}

static void
passes_blame_no_old_cause_for_a_wave_off_while_ready(void **state)
{
    struct paper *paper = *state;
    json_t *whole = NULL;
    ready_pass(paper);
    paper_verdict(paper, 1, TL_RULE_HOOK_NOT_DOWN, "platform");
    paper_verdict(paper, 1, TL_RULE_NONE, "");
    result(paper, 9, TL_OUTCOME_WAVE_OFF, 0);
    json_t *pass = pass_of(paper, &whole);
    assert_true(json_is_null(json_object_get(pass, "cause")));
    json_decref(whole);
    expect_printed(paper, "READY until then");
}

static void
passes_cancelled_have_no_result(void **state)
{
    struct paper *paper = *state;
    json_t *whole = NULL;
    order(paper, 1, 1, TL_ORDER_ORDERED);
    order(paper, 2, 1, TL_ORDER_CANCELLED);
    json_t *pass = pass_of(paper, &whole);
    assert_true(json_is_null(json_object_get(pass, "result")));
    assert_true(json_is_true(json_object_get(pass, "cancelled")));
    json_decref(whole);
    expect_printed(paper, "cancelled");
}

static void
passes_without_a_record_exit_3(void **state)
{
    struct tool tool;
    const char *const words[] = {"log", "passes", "--record", "/tmp/trapline-no.db", NULL};
    (void)state;
    tool_run(&tool, tl_log_main, words);
    assert_int_equal(tool.code, 3);
    assert_non_null(strstr(tool.err, "no record at /tmp/trapline-no.db"));
}

static void
log_refuses_other_words_in_one_line(void **state)
{
    struct tool tool;
    const char *const words[] = {"log", "zigzag", NULL};
    (void)state;
    tool_run(&tool, tl_log_main, words);
    assert_int_equal(tool.code, 64);
    assert_ptr_equal(strstr(tool.err, "trapline log: unknown 'zigzag'; there is: passes "),
                     tool.err);
    assert_ptr_equal(strchr(tool.err, '\n'), tool.err + strlen(tool.err) - 1);
}

static void
log_without_a_configuration_exits_78(void **state)
{
    struct tool tool;
    const char *const words[] = {"log", "passes", "-C", "/tmp/trapline-no-such-folder", NULL};
    (void)state;
    tool_run(&tool, tl_log_main, words);
    assert_int_equal(tool.code, 78);
}

#define ON_PAPER(test) cmocka_unit_test_setup_teardown(test, paper_setup, paper_teardown)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        ON_PAPER(passes_print_a_trap_with_its_wire),
        ON_PAPER(passes_print_each_engine_when_they_differ),
        ON_PAPER(passes_print_each_engine_when_a_repeater_differs),
        ON_PAPER(passes_print_each_engine_when_all_repeaters_read_another_weight),
        ON_PAPER(passes_leave_out_what_was_refused),
        ON_PAPER(passes_are_read_from_every_schema_that_holds_them),
        ON_PAPER(passes_take_the_later_result_and_mark_it),
        ON_PAPER(passes_said_twice_are_not_corrected),
        ON_PAPER(passes_give_the_cause_of_a_wave_off),
        ON_PAPER(passes_blame_no_old_cause_for_a_wave_off_while_ready),
        ON_PAPER(passes_cancelled_have_no_result),
        cmocka_unit_test(passes_without_a_record_exit_3),
        cmocka_unit_test(log_refuses_other_words_in_one_line),
        cmocka_unit_test(log_without_a_configuration_exits_78),
    };
    return cmocka_run_group_tests_name("passes", tests, NULL, NULL);
}
