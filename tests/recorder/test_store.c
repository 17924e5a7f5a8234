/* SPDX-License-Identifier: Apache-2.0 */
/* test_store - what was committed is in the file, and what cannot be written is said */
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>
#include <sqlite3.h>

#include "broker/recorder/sql.h"
#include "tests/recorder/paper.h"

enum {
    OTHER_USER = 65534,
    LINE_CAP = 512
};

/* The first row of a query as "a|b|c", NULL as "-". */
static void
expect_row(const struct paper *paper, const char *sql, const char *want)
{
    sqlite3 *db = NULL;
    sqlite3_stmt *row = NULL;
    char got[LINE_CAP] = "";
    size_t used = 0;
    assert_int_equal(sqlite3_open_v2(paper->path, &db, SQLITE_OPEN_READONLY, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_prepare_v2(db, sql, -1, &row, NULL), SQLITE_OK);
    if (sqlite3_step(row) == SQLITE_ROW) {
        for (int i = 0; i < sqlite3_column_count(row); i++) {
            const unsigned char *text = sqlite3_column_text(row, i);
            used += (size_t)snprintf(got + used, sizeof got - used, "%s%s", i > 0 ? "|" : "",
                                     text != NULL ? (const char *)text : "-");
        }
    }
    (void)sqlite3_finalize(row);
    (void)sqlite3_close(db);
    assert_string_equal(got, want);
}

static void
run_sql(const char *path, const char *sql)
{
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static struct tl_datum
setting(uint32_t lb)
{
    struct tl_datum datum = paper_datum(TL_DATUM_SET, 0, 1);
    datum.as.set_lb = lb;
    return datum;
}

static void
store_keeps_a_change_as_it_was_said(void **state)
{
    struct paper *paper = *state;
    struct tl_datum order = paper_datum(TL_DATUM_ORDER, 3, 3);
    order.as.order = (struct tl_order){204, "plover", 34000, 0, TL_ORDER_ORDERED, false};
    struct tl_datum carried = setting(34000);
    carried.stated_for_count = 2;
    carried.stated_for[1] = paper_event(2);
    paper_change(paper, "primary", 1, order);
    paper_change(paper, "engine-1", 1, carried);
    paper_commit(paper);
    expect_row(paper,
               "SELECT incarnation, sequence, wall_ms, event_recovery_ms, event_pass, kind, slot,"
               " voice_for, known, stated_for, word, number, side, type, weight_lb, fuel_lb, state,"
               " outcome, wire FROM change WHERE node = 'primary'",
               "7|1|1700000001000|1700000000000|3|order|3||1|1700000000000:3|"
               "order 204 plover 34,000 lb|-|204|plover|34000|-|53|-|-");
    expect_row(paper, "SELECT stated_for, number, side FROM change WHERE node = 'engine-1'",
               "1700000000000:1,1700000000000:2|34000|-");
}

static void
store_keeps_a_result_and_a_word_taken_back(void **state)
{
    struct paper *paper = *state;
    struct tl_datum result = paper_datum(TL_DATUM_RESULT, 1, 1);
    struct tl_datum gone = setting(34000);
    result.as.result = (struct tl_result){TL_OUTCOME_TRAP, 3};
    tl_datum_make_unknown(&gone, 1);
    paper_change(paper, "platform", 1, result);
    paper_change(paper, "engine-1", 1, gone);
    paper_commit(paper);
    expect_row(paper, "SELECT outcome, wire, number FROM change WHERE kind = 'result'", "53|3|-");
    expect_row(paper, "SELECT known, stated_for, word, number FROM change WHERE kind = 'set'",
               "0||set unknown|-");
}

static void
store_keeps_what_was_judged_and_the_verdict(void **state)
{
    struct paper *paper = *state;
    paper_judged(paper, "engine-1", 4, true);
    paper_verdict(paper, 1, TL_RULE_DECK_FOUL, "deck");
    paper_commit(paper);
    expect_row(paper,
               "SELECT validator, node, incarnation, change_sequence, kind, reason"
               " FROM judged",
               "validator-1|engine-1|7|4|refused|late");
    expect_row(paper, "SELECT event_pass, word, rule, station, state FROM verdict",
               "1|NOT READY|deck-foul|deck|wrong");
}

static void
store_keeps_the_outcome_of_a_judgement(void **state)
{
    struct paper *paper = *state;
    static const char columns[] =
        "SELECT kind, word, causes, rule, station FROM judged ORDER BY id DESC";
    struct tl_judged judged = {.kind = TL_JUDGED_TIME, .node = "validator-1"};
    judged.outcome = (struct tl_judgement){.word = TL_WORD_NOT_READY,
                                           .cause_count = 3,
                                           .rule = TL_RULE_STATION_LOST,
                                           .station = "engine-2"};
    paper_computed(paper, &judged);
    paper_commit(paper);
    expect_row(paper, columns, "time|NOT READY|3|station-lost|engine-2");
    judged.outcome = (struct tl_judgement){.word = TL_WORD_READY};
    paper_computed(paper, &judged);
    paper_commit(paper);
    expect_row(paper, columns, "time|READY|0|-|-");
    judged.kind = TL_JUDGED_LOST; /* judged together with the next */
    judged.outcome = (struct tl_judgement){0};
    paper_computed(paper, &judged);
    paper_commit(paper);
    expect_row(paper, columns, "lost|-|-|-|-");
    expect_row(paper, "SELECT count(*) FROM judged WHERE frame IS NULL", "3");
}

static struct tl_judged
prediction(void)
{
    return (struct tl_judged){
        .now_ms = 500,
        .node = "validator-1",
        .incarnation = PAPER_LIFE,
        .kind = TL_JUDGED_PREDICTED,
        .predicted = {.event = paper_event(7),
                      .type = "plover",
                      .weight_lb = 33400,
                      .barricade = true,
                      .arrest = {.known = true,
                                 .headwind_kt_x10 = -15,
                                 .engaging_kt_x10 = 1040,
                                 .energy_kftlb = 17001,
                                 .margin_percent = -2,
                                 .would_count = 2,
                                 .would = {{34000, false, false, 0, 92000, 31, 1741, 1740, 3095},
                                           {36000, true, true, 121, 212000, 58, 1830, 1829, 3300}}},
                      .ramp = {true, "dunlin", 350, 3, 8, -4, -35},
                      .time = {true, 181, 37, 120, 425}}};
}

static void
store_keeps_a_prediction_whole(void **state)
{
    struct paper *paper = *state;
    struct tl_judged judged = prediction();
    paper_computed(paper, &judged);
    paper_commit(paper);
    expect_row(paper,
               "SELECT validator, validator_incarnation, sequence, now_ms, node, incarnation,"
               " change_sequence, kind, reason FROM judged",
               "validator-1|7|1|500|validator-1|7|0|predicted|");
    expect_row(paper,
               "SELECT validator, validator_incarnation, sequence, event_recovery_ms, event_pass,"
               " type, weight_lb, barricade, headwind_kt_x10, engaging_kt_x10, energy_kftlb,"
               " margin_percent, aid_type, angle_deg_x100, target_wire, pitch_deg_x10,"
               " clearance_ft_x10, touchdown_ft_x10, ramp_s_x10, wave_off_gear_s_x10,"
               " wave_off_people_s_x10, reset_s_x10 FROM predicted",
               "validator-1|7|1|1700000000000|7|plover|33400|1|-15|1040|17001|-2|dunlin|350|3|8|-4|"
               "-35|181|37|120|425");
    static const char settings[] =
        "SELECT validator, validator_incarnation, sequence, set_lb, bottoms, parts, end_kt_x10,"
        " hook_lbf, tension_percent, stroke_in_x10, expect_in_x10, runout_ft_x10"
        " FROM predicted_setting ORDER BY set_lb";
    char second[LINE_CAP];
    expect_row(paper, settings, "validator-1|7|1|34000|0|0|0|92000|31|1741|1740|3095");
    (void)snprintf(second, sizeof second, "%s LIMIT 1 OFFSET 1", settings);
    expect_row(paper, second, "validator-1|7|1|36000|1|1|121|212000|58|1830|1829|3300");
    expect_row(paper, "SELECT count(*) FROM predicted_setting", "2");
}

/* A measure of 0 is one; a part that is not known is none. */
static void
store_tells_a_part_that_is_not_known_from_zero(void **state)
{
    struct paper *paper = *state;
    struct tl_judged judged = prediction();
    static const char parts[] =
        "SELECT weight_lb, barricade, headwind_kt_x10, engaging_kt_x10, energy_kftlb,"
        " margin_percent, aid_type, angle_deg_x100, target_wire, pitch_deg_x10, clearance_ft_x10,"
        " touchdown_ft_x10, ramp_s_x10, wave_off_gear_s_x10, wave_off_people_s_x10, reset_s_x10,"
        " type FROM predicted ORDER BY id DESC";
    judged.predicted.arrest.known = false;
    judged.predicted.ramp.known = false;
    judged.predicted.time.known = false;
    judged.predicted.weight_lb = 0;
    judged.predicted.barricade = false;
    judged.predicted.type[0] = '\0';
    paper_computed(paper, &judged);
    paper_commit(paper);
    expect_row(paper, parts, "-|0|-|-|-|-|-|-|-|-|-|-|-|-|-|-|");
    expect_row(paper, "SELECT count(*) FROM predicted_setting", "0");
    judged = prediction();
    judged.predicted.arrest.headwind_kt_x10 = 0;
    judged.predicted.arrest.margin_percent = 0;
    judged.predicted.ramp = (struct tl_predicted_ramp){.known = true, .aid_type = "dunlin"};
    judged.predicted.time = (struct tl_predicted_time){.known = true, .reset_s_x10 = 425};
    paper_computed(paper, &judged);
    paper_commit(paper);
    expect_row(paper, parts, "33400|1|0|1040|17001|0|dunlin|0|-|0|0|0|-|-|-|425|plover");
}

static void
store_keeps_an_expected_travel(void **state)
{
    struct paper *paper = *state;
    const struct tl_judged judged = {.now_ms = 501,
                                     .node = "validator-2",
                                     .kind = TL_JUDGED_EXPECTED,
                                     .expected = {3, paper_event(6), 1744}};
    paper_computed(paper, &judged);
    paper_commit(paper);
    expect_row(paper, "SELECT now_ms, node, incarnation, kind, reason FROM judged",
               "501|validator-2|0|expected|");
    expect_row(paper,
               "SELECT validator, validator_incarnation, sequence, unit, event_recovery_ms,"
               " event_pass, ram_in_x10 FROM expected",
               "validator-1|7|1|3|1700000000000|6|1744");
    expect_row(paper, "SELECT (SELECT count(*) FROM expected), count(*) FROM predicted", "1|0");
}

/* The other bus brings the same frame. */
static void
store_keeps_a_prediction_once(void **state)
{
    struct paper *paper = *state;
    struct tl_judged judged = prediction();
    paper_computed(paper, &judged);
    paper->validator_sequence--;
    judged.predicted.weight_lb = 1;
    judged.predicted.arrest.would[0].hook_lbf = 1;
    paper_computed(paper, &judged);
    paper_commit(paper);
    expect_row(paper, "SELECT count(*), max(weight_lb) FROM predicted", "1|33400");
    expect_row(paper, "SELECT count(*), min(hook_lbf) FROM predicted_setting", "2|92000");
    expect_row(paper, "SELECT count(*) FROM judged", "1");
}

static void
store_gives_an_older_file_the_tables_that_it_lacks(void **state)
{
    struct paper *paper = *state;
    struct tl_judged judged = prediction();
    for (int schema = 1; schema <= 2; schema++) {
        tl_store_close(&paper->store);
        (void)unlink(paper->path);
        run_sql(paper->path, tl_sql_schema);
        if (schema == 2) {
            run_sql(paper->path, tl_sql_to_schema_2);
        }
        run_sql(paper->path,
                "INSERT INTO change (node, incarnation, sequence, wall_ms, event_recovery_ms,"
                " event_pass, kind, slot, voice_for, known, stated_for, word)"
                " VALUES ('engine-1', 7, 1, 0, 0, 0, 'set', 0, '', 1, '', 'set 34,000 lb')");
        paper_reopen(paper);
        expect_row(paper, "PRAGMA user_version", "3");
        assert_int_equal(paper_through(paper, "engine-1"), 1);
        paper_change(paper, "engine-1", 2, setting(34000));
        paper_computed(paper, &judged);
        paper_commit(paper);
        expect_row(paper, "SELECT count(*) FROM predicted_setting", "2");
        expect_row(
            paper,
            "SELECT count(*), count(hash), min(hash IS NULL AND id = 1), max(id) FROM change",
            "2|1|0|2");
        expect_row(paper, "SELECT hash FROM change WHERE id = 1", "-");
    }
}

static void
store_leaves_the_first_of_two_changes_with_one_number(void **state)
{
    struct paper *paper = *state;
    paper_change(paper, "engine-1", 1, setting(34000));
    paper_commit(paper);
    paper_change(paper, "engine-1", 1, setting(40000));
    paper_commit(paper);
    expect_row(paper, "SELECT count(*), max(number) FROM change", "1|34000");
}

/* What goes into a file that nobody will find is not told as recorded; a new one is begun. */
static void
store_whose_file_is_gone_is_an_error_at_its_commit(void **state)
{
    struct paper *paper = *state;
    paper_change(paper, "engine-1", 1, setting(34000));
    paper_commit(paper);
    assert_int_equal(unlink(paper->path), 0);
    paper_change(paper, "engine-1", 2, setting(34000));
    assert_int_equal(tl_store_commit(paper->store), TL_IO);
    assert_non_null(strstr(tl_store_why(paper->store), "removed or renamed"));
    paper_reopen(paper);
    assert_int_equal(paper_through(paper, "engine-1"), 0);
    paper_change(paper, "engine-1", 1, setting(34000));
    paper_commit(paper);
    assert_int_equal(paper_through(paper, "engine-1"), 1);
}

static void
store_without_rows_commits_at_once(void **state)
{
    struct paper *paper = *state;
    paper_commit(paper);
    assert_int_equal(paper_through(paper, "engine-1"), 0);
}

static void
store_gives_the_marks_back_after_a_restart(void **state)
{
    struct paper *paper = *state;
    struct tl_watermark mark = {.node = "engine-1", .incarnation = PAPER_LIFE};
    paper_change(paper, "engine-1", 1, setting(34000));
    paper_change(paper, "engine-1", 2, setting(34000));
    paper_change(paper, "engine-1", 5, setting(34000));
    paper_change(paper, "engine-1", 7, setting(34000));
    paper_change(paper, "engine-2", 2, setting(34000));
    assert_int_equal(tl_store_gap(paper->store, &mark, &(struct tl_gap){3, 4}, 1), TL_OK);
    paper_commit(paper);
    paper_reopen(paper);
    assert_int_equal(paper_through(paper, "engine-1"), 5);
    assert_int_equal(paper_through(paper, "engine-2"), 0);
}

static void
store_gives_up_what_was_not_committed(void **state)
{
    struct paper *paper = *state;
    paper_change(paper, "engine-1", 1, setting(34000));
    paper_commit(paper);
    paper_change(paper, "engine-1", 2, setting(34000));
    paper_reopen(paper);
    assert_int_equal(paper_through(paper, "engine-1"), 1);
}

static void
store_of_a_newer_schema_is_refused_in_words(void **state)
{
    struct paper *paper = *state;
    tl_store_close(&paper->store);
    run_sql(paper->path, "PRAGMA user_version = 4");
    assert_int_equal(tl_store_open(paper->path, &paper->store, paper->why, sizeof paper->why),
                     TL_REFUSED);
    assert_null(paper->store);
    assert_non_null(strstr(paper->why, "schema 4"));
    assert_non_null(strstr(paper->why, "newer trapline-recorder"));
}

static void
store_of_other_tables_is_refused(void **state)
{
    struct paper *paper = *state;
    char path[2 * TL_PATH_CAP];
    (void)snprintf(path, sizeof path, "%s/other.db", paper->config.record_dir);
    run_sql(path, "CREATE TABLE change (x)");
    tl_store_close(&paper->store);
    assert_int_equal(tl_store_open(path, &paper->store, paper->why, sizeof paper->why), TL_IO);
    assert_non_null(strstr(paper->why, "tables"));
}

static void
store_without_a_folder_is_an_error(void **state)
{
    struct paper *paper = *state;
    tl_store_close(&paper->store);
    assert_int_equal(
        tl_store_open("/tmp/trapline-no/such/x.db", &paper->store, paper->why, sizeof paper->why),
        TL_IO);
    assert_non_null(strstr(paper->why, "cannot be made"));
}

static void
store_folder_is_private(void **state)
{
    struct paper *paper = *state;
    struct stat st;
    assert_int_equal(stat(paper->config.record_dir, &st), 0);
    assert_int_equal(st.st_mode & 0777, 0700);
}

/* The file itself may be readable: a record that cannot be written is no record. */
static void
store_that_can_only_be_read_is_an_error(void **state)
{
    struct paper *paper = *state;
    tl_store_close(&paper->store);
    assert_int_equal(chmod(paper->dir, 0755), 0);
    assert_int_equal(chmod(paper->config.record_dir, 0555), 0);
    assert_int_equal(chmod(paper->path, 0444), 0);
    assert_true(geteuid() != 0 || seteuid(OTHER_USER) == 0);
    enum tl_err err = tl_store_open(paper->path, &paper->store, paper->why, sizeof paper->why);
    assert_int_equal(seteuid(getuid()), 0);
    assert_int_equal(chmod(paper->config.record_dir, 0700), 0);
    assert_int_equal(err, TL_IO);
    assert_null(paper->store);
    assert_non_null(strstr(paper->why, paper->path));
}

/* A disk that is full, as a limit on the size of files of this process. */
static void
store_on_a_full_disk_is_an_error_and_then_has_what_was_committed(void **state)
{
    struct paper *paper = *state;
    struct rlimit before;
    paper_change(paper, "engine-1", 1, setting(34000));
    paper_commit(paper);
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    assert_ptr_not_equal(signal(SIGXFSZ, SIG_IGN), SIG_ERR);
    struct rlimit small = {.rlim_cur = 8192, .rlim_max = before.rlim_max};
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    paper_change(paper, "engine-1", 2, setting(34000));
    enum tl_err err = tl_store_commit(paper->store);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    assert_int_equal(err, TL_IO);
    assert_non_null(strstr(tl_store_why(paper->store), "not known"));
    paper_reopen(paper);
    assert_int_equal(paper_through(paper, "engine-1"), 1);
    paper_change(paper, "engine-1", 2, setting(34000));
    paper_commit(paper);
    assert_int_equal(paper_through(paper, "engine-1"), 2);
}

static void
store_cannot_hold_numbers_above_its_own(void **state)
{
    static struct tl_envelope envelope;
    (void)state;
    envelope.body = TL_BODY_CHANGE;
    envelope.sequence = INT64_MAX;
    assert_true(tl_store_can_hold(&envelope));
    envelope.sequence = (uint64_t)INT64_MAX + 1;
    assert_false(tl_store_can_hold(&envelope));
    envelope.sequence = 1;
    envelope.incarnation = UINT64_MAX;
    assert_false(tl_store_can_hold(&envelope));
    envelope.incarnation = 1;
    envelope.body = TL_BODY_BEAT;
    envelope.as.beat.last_change = UINT64_MAX;
    assert_false(tl_store_can_hold(&envelope));
}

#define ON_PAPER(test) cmocka_unit_test_setup_teardown(test, paper_setup, paper_teardown)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        ON_PAPER(store_keeps_a_change_as_it_was_said),
        ON_PAPER(store_keeps_a_result_and_a_word_taken_back),
        ON_PAPER(store_keeps_what_was_judged_and_the_verdict),
        ON_PAPER(store_keeps_the_outcome_of_a_judgement),
        ON_PAPER(store_keeps_a_prediction_whole),
        ON_PAPER(store_tells_a_part_that_is_not_known_from_zero),
        ON_PAPER(store_keeps_an_expected_travel),
        ON_PAPER(store_keeps_a_prediction_once),
        ON_PAPER(store_gives_an_older_file_the_tables_that_it_lacks),
        ON_PAPER(store_leaves_the_first_of_two_changes_with_one_number),
        ON_PAPER(store_whose_file_is_gone_is_an_error_at_its_commit),
        ON_PAPER(store_without_rows_commits_at_once),
        ON_PAPER(store_gives_the_marks_back_after_a_restart),
        ON_PAPER(store_gives_up_what_was_not_committed),
        ON_PAPER(store_of_a_newer_schema_is_refused_in_words),
        ON_PAPER(store_of_other_tables_is_refused),
        ON_PAPER(store_without_a_folder_is_an_error),
        ON_PAPER(store_folder_is_private),
        ON_PAPER(store_that_can_only_be_read_is_an_error),
        ON_PAPER(store_on_a_full_disk_is_an_error_and_then_has_what_was_committed),
        cmocka_unit_test(store_cannot_hold_numbers_above_its_own),
    };
    return cmocka_run_group_tests_name("store", tests, NULL, NULL);
}
