/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_plans - a question about a time or a pass finds its rows by an index, whatever the record
 * has grown to
 *
 * What SQLite answers to EXPLAIN QUERY PLAN (https://www.sqlite.org/eqp.html): a line that begins
 * with SCAN names a table that is read whole. Subqueries may be scanned, they hold what was found.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>
#include <sqlite3.h>

#include "clients/logbook/rows.h"
#include "tests/recorder/paper.h"

static const char *const tables[] = {
    "change",    "judged",   "verdict", "alert", "gap",
    "predicted", "expected", "beat",    "seal",  "predicted_setting",
    "c",         "j",        "a",       "s",     "p"};

/* Whether a line of a plan reads a whole table: by its name or the letter that a query has for it. */
static bool
reads_whole(const char *detail)
{
    if (strncmp(detail, "SCAN ", 5) != 0) {
        return false;
    }
    size_t len = strcspn(detail + 5, " ");
    for (size_t i = 0; i < sizeof tables / sizeof tables[0]; i++) {
        if (strlen(tables[i]) == len && strncmp(detail + 5, tables[i], len) == 0) {
            return true;
        }
    }
    return false;
}

/* How many lines of the plan read a whole table; the first is printed. */
static int
count_whole(sqlite3 *db, const char *sql)
{
    char explain[2048];
    sqlite3_stmt *row = NULL;
    int count = 0;
    int lines = 0;
    assert_true(snprintf(explain, sizeof explain, "EXPLAIN QUERY PLAN %s", sql) <
                (int)sizeof explain);
    if (sqlite3_prepare_v2(db, explain, -1, &row, NULL) != SQLITE_OK) {
        fail_msg("%s: %s", sqlite3_errmsg(db), sql);
    }
    while (sqlite3_step(row) == SQLITE_ROW) {
        const char *detail = (const char *)sqlite3_column_text(row, 3);
        lines++;
        if (reads_whole(detail)) {
            print_message("%s: %s\n", detail, sql);
            count++;
        }
    }
    assert_int_equal(sqlite3_finalize(row), SQLITE_OK);
    assert_true(lines > 0);
    return count;
}

static sqlite3 *
open_file(const struct paper *paper)
{
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(paper->path, &db), SQLITE_OK);
    return db;
}

static void
plans_of_every_question_search(void **state)
{
    sqlite3 *db = open_file(*state);
    size_t count = 0;
    const struct tl_rows *rows = tl_rows_all(&count);
    int asked = 0;
    for (size_t i = 0; i < count; i++) {
        if (rows[i].schema_last >= TL_STORE_SCHEMA) {
            assert_int_equal(count_whole(db, rows[i].sql), 0);
            asked++;
        }
    }
    assert_true(asked >= 8);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

/* As docs/record.md says that readers of their own may ask. */
static void
plans_of_the_views_search(void **state)
{
    static const char *const views[] = {"accepted", "pass_result", "verdict_edge", "alert_edge"};
    static const char *const bounds[] = {"event_recovery_ms = ?1",
                                         "event_recovery_ms = ?1 AND event_pass = ?2",
                                         "wall_ms BETWEEN ?1 AND ?2"};
    sqlite3 *db = open_file(*state);
    for (size_t i = 0; i < sizeof views / sizeof views[0]; i++) {
        for (size_t k = 0; k < sizeof bounds / sizeof bounds[0]; k++) {
            char sql[128];
            (void)snprintf(sql, sizeof sql, "SELECT * FROM %s WHERE %s", views[i], bounds[k]);
            assert_int_equal(count_whole(db, sql), 0);
        }
    }
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

/* The test of the test: what has no index is seen to be read whole. */
static void
plans_that_scan_are_seen(void **state)
{
    static const char *const drops[] = {"change_time",     "judged_loss", "verdict_time",
                                        "alert_time",      "gap_time",    "beat_time",
                                        "predicted_arrest"};
    sqlite3 *db = open_file(*state);
    for (size_t i = 0; i < sizeof drops / sizeof drops[0]; i++) {
        char sql[64];
        size_t count = 0;
        int whole = 0;
        (void)snprintf(sql, sizeof sql, "BEGIN; DROP INDEX %s", drops[i]);
        assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
        const struct tl_rows *rows = tl_rows_all(&count);
        for (size_t k = 0; k < count; k++) {
            whole += rows[k].schema_last >= TL_STORE_SCHEMA ? count_whole(db, rows[k].sql) : 0;
        }
        if (whole == 0) {
            fail_msg("nothing needs %s", drops[i]);
        }
        assert_int_equal(sqlite3_exec(db, "ROLLBACK", NULL, NULL, NULL), SQLITE_OK);
    }
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

#define ON_PAPER(test) cmocka_unit_test_setup_teardown(test, paper_setup, paper_teardown)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        ON_PAPER(plans_of_every_question_search),
        ON_PAPER(plans_of_the_views_search),
        ON_PAPER(plans_that_scan_are_seen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
