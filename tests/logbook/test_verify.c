/* SPDX-License-Identifier: Apache-2.0 */
/* test_verify - a record with a row in every table: whole, and each table's altered row is named */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>
#include <sodium.h>
#include <sqlite3.h>

#include "clients/logbook/verify.h"
#include "tests/recorder/paper.h"

enum {
    ROWS = 3, /* of each table */
    SQL_CAP = 256
};

static const struct tl_would would = {34000, false, false, 0, 92000, 31, 1741, 1740, 3095};

static void
write_one_of_each(struct paper *paper, uint64_t at)
{
    struct tl_datum set = paper_datum(TL_DATUM_SET, 0, 1);
    struct tl_watermark mark = {.node = "engine-2", .incarnation = PAPER_LIFE};
    struct tl_gap gap = {2 * at, 2 * at};
    struct tl_judged predicted = {.kind = TL_JUDGED_PREDICTED, .node = "validator-1"};
    struct tl_judged expected = {.kind = TL_JUDGED_EXPECTED, .node = "validator-2"};
    struct tl_claim claim = {.node = "deck", .incarnation = PAPER_LIFE, .sequence = at};
    struct tl_envelope sender = {.node = "validator-1", .incarnation = 1, .sequence = at};
    struct tl_alert_step step = {.raised = true, .alert = {.cause = {.rule = TL_RULE_DECK_FOUL}}};
    const struct tl_verbatim frame = {(const uint8_t *)"not looked at here", 18};
    predicted.predicted.event = paper_event(1);
    predicted.predicted.arrest.known = true;
    predicted.predicted.arrest.would_count = 1;
    predicted.predicted.arrest.would[0] = would;
    expected.expected = (struct tl_expected){3, paper_event(1), 1660};
    set.as.set_lb = 34000;
    paper_change(paper, "engine-1", at, set);
    paper_judged(paper, "engine-1", at, false);
    paper_computed(paper, &predicted);
    paper_computed(paper, &expected);
    paper_verdict(paper, 1, TL_RULE_DECK_FOUL, "deck");
    assert_int_equal(tl_store_alert(paper->store, &sender, &step), TL_OK);
    assert_int_equal(tl_store_gap(paper->store, &mark, &gap, 5), TL_OK);
    assert_int_equal(tl_store_beat(paper->store, &claim, 5, &frame), TL_OK);
}

static struct tl_verified
verify(const struct paper *paper)
{
    struct tl_verified verified;
    char why[2 * TL_PATH_CAP];
    if (tl_verify(paper->path, NULL, &verified, why, sizeof why) != TL_OK) {
        fail_msg("%s", why);
    }
    return verified;
}

static void
change_file(const struct paper *paper, const char *form, const char *table)
{
    sqlite3 *db = NULL;
    char sql[SQL_CAP];
    char *text = sqlite3_mprintf(form, table);
    assert_non_null(text);
    (void)snprintf(sql, sizeof sql, "%s", text);
    sqlite3_free(text);
    assert_int_equal(sqlite3_open(paper->path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
}

static int
setup(void **state)
{
    if (sodium_init() < 0 || paper_setup(state) != 0) {
        return -1;
    }
    for (uint64_t at = 1; at <= ROWS; at++) {
        write_one_of_each(*state, at);
    }
    paper_commit(*state);
    return 0;
}

static void
every_table_is_chained_and_every_row_counted(void **state)
{
    struct tl_verified verified = verify(*state);
    for (int i = 0; i < TL_TABLES; i++) {
        const struct tl_verified_table *table = &verified.table[i];
        uint64_t judged = i == TL_TABLE_JUDGED ? ROWS * 3 : ROWS;
        assert_int_equal(table->rows, judged);
        assert_int_equal(table->newer, judged); /* nobody has sealed it */
        assert_int_equal(table->unchained + table->bad_id, 0);
    }
    assert_int_equal(verified.frames_absent, ROWS * 4); /* changes and judged, on paper */
    assert_int_equal(verified.frames_bad, ROWS);        /* beats that are none */
    assert_false(tl_verified_whole(&verified));
}

/* The sequence stands in every table, or the last of a gap. */
static void
the_altered_row_of_each_table_is_named(void **state)
{
    const struct paper *paper = *state;
    for (int i = 0; i < TL_TABLES; i++) {
        const char *name = tl_record_table_name((enum tl_record_table)i);
        bool gap = i == TL_TABLE_GAP;
        change_file(paper,
                    gap ? "UPDATE %s SET last = last + 70 WHERE id = 2"
                        : "UPDATE %s SET sequence = sequence + 70 WHERE id = 2",
                    name);
        struct tl_verified verified = verify(paper);
        for (int k = 0; k < TL_TABLES; k++) {
            assert_int_equal(verified.table[k].bad_id, k == i ? 2 : 0);
        }
        change_file(paper,
                    gap ? "UPDATE %s SET last = last - 70 WHERE id = 2"
                        : "UPDATE %s SET sequence = sequence - 70 WHERE id = 2",
                    name);
        verified = verify(paper);
        assert_int_equal(verified.table[i].bad_id, 0);
    }
}

static void
a_row_is_known_by_its_place_its_type_and_the_one_before_it(void **state)
{
    const struct paper *paper = *state;
    static const struct {
        const char *change, *back;
        uint64_t bad_id;
    } rows[] = {
        {"UPDATE %s SET id = 4 WHERE id = 3", "UPDATE %s SET id = 3 WHERE id = 4", 3},
        {"UPDATE %s SET sequence = CAST(sequence AS TEXT) || 'x' WHERE id = 2",
         "UPDATE %s SET sequence = 2 WHERE id = 2", 2},
        {"UPDATE %s SET hash = NULL WHERE id = 3", "SELECT '%q'", 3},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        change_file(paper, rows[i].change, "change");
        assert_int_equal(verify(paper).table[TL_TABLE_CHANGE].bad_id, rows[i].bad_id);
        change_file(paper, rows[i].back, "change");
    }
}

/* The whole chain of the first row, made by Python's hashlib.blake2b from what chain.h says. */
static void
the_hash_is_the_one_that_another_library_makes(void **state)
{
    (void)state;
    static const uint8_t before[TL_CHAIN_LEN];
    uint8_t hash[TL_CHAIN_LEN];
    char hex[2 * TL_CHAIN_LEN + 1];
    struct tl_chain chain;
    tl_chain_begin(&chain, "change", before, 1);
    tl_chain_text(&chain, "deck", 4);
    tl_chain_integer(&chain, -7);
    tl_chain_null(&chain);
    tl_chain_blob(&chain, "\x01\x02", 2);
    tl_chain_null(&chain);
    tl_chain_end(&chain, hash);
    assert_string_equal(sodium_bin2hex(hex, sizeof hex, hash, sizeof hash),
                        "a8451be89c8e846a5abcb9bd8fa1a5370fb373acbca0414a87bcddc626d2d6c2");
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(every_table_is_chained_and_every_row_counted, setup,
                                        paper_teardown),
        cmocka_unit_test_setup_teardown(the_altered_row_of_each_table_is_named, setup,
                                        paper_teardown),
        cmocka_unit_test_setup_teardown(a_row_is_known_by_its_place_its_type_and_the_one_before_it,
                                        setup, paper_teardown),
        cmocka_unit_test_setup_teardown(the_hash_is_the_one_that_another_library_makes, setup,
                                        paper_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
