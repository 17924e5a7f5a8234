/* SPDX-License-Identifier: Apache-2.0 */
/* record.c - see record.h. */
#include "clients/logbook/record.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "proto/base/text.h"

enum {
    SCHEMA_FIRST = 1, /* the tables read here are in every one of these */
    SCHEMA_LAST = 3,
    BUSY_MS = 2000
};

static const char words_sql[] =
    "SELECT CASE voice_for WHEN '' THEN node ELSE voice_for END, incarnation, sequence, wall_ms,"
    " kind, slot, stated_for, number, side, type,"
    " weight_lb, state, outcome, wire FROM change AS c"
    " WHERE known = 1 AND kind IN ('order', 'set', 'repeater', 'result') AND NOT EXISTS"
    " (SELECT 1 FROM judged AS j WHERE j.node = c.node AND j.incarnation = c.incarnation"
    " AND j.change_sequence = c.sequence AND j.kind = 'refused') ORDER BY id";
enum word_column {
    WORD_NODE = 0,
    WORD_INCARNATION,
    WORD_SEQUENCE,
    WORD_WALL_MS,
    WORD_KIND,
    WORD_SLOT,
    WORD_STATED_FOR,
    WORD_NUMBER,
    WORD_SIDE,
    WORD_TYPE,
    WORD_WEIGHT_LB,
    WORD_STATE,
    WORD_OUTCOME,
    WORD_WIRE
};

static const char verdicts_sql[] =
    "SELECT event_recovery_ms, event_pass, word, rule, station, text FROM verdict"
    " WHERE event_pass > 0 ORDER BY id";

/* A file may come from anywhere: what is read from it is made fit for a terminal. */
static void
read_text(sqlite3_stmt *row, int column, char *dst, size_t cap)
{
    const unsigned char *text = sqlite3_column_text(row, column);
    const char *plain = text != NULL ? (const char *)text : "";
    (void)tl_text_plain(dst, cap, plain, strlen(plain));
}

static uint64_t
read_number(sqlite3_stmt *row, int column)
{
    sqlite3_int64 value = sqlite3_column_int64(row, column);
    return value > 0 ? (uint64_t)value : 0;
}

static uint32_t
read_small(sqlite3_stmt *row, int column)
{
    uint64_t value = read_number(row, column);
    return value > UINT32_MAX ? UINT32_MAX : (uint32_t)value;
}

/* "recovery:pass,recovery:pass" */
static void
read_events(const char *text, struct tl_datum *datum)
{
    while (*text != '\0' && datum->stated_for_count < TL_STATED_FOR_MAX) {
        char *end = NULL;
        struct tl_event event = {.recovery_ms = strtoull(text, &end, 10)};
        if (end == text || *end != ':') {
            return;
        }
        text = end + 1;
        event.pass = (uint32_t)strtoul(text, &end, 10);
        if (end == text || !tl_event_is(event)) {
            return;
        }
        datum->stated_for[datum->stated_for_count++] = event;
        text = end + (*end == ',' ? 1 : 0);
    }
}

static enum tl_datum_kind
kind_of(const char *name)
{
    static const enum tl_datum_kind kinds[] = {TL_DATUM_ORDER, TL_DATUM_SET, TL_DATUM_REPEATER,
                                               TL_DATUM_RESULT};
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        if (strcmp(name, tl_datum_kind_name(kinds[i])) == 0) {
            return kinds[i];
        }
    }
    return TL_DATUM_UNKNOWN;
}

static enum tl_order_state
order_state_of(uint32_t number)
{
    return number == TL_ORDER_ORDERED     ? TL_ORDER_ORDERED
           : number == TL_ORDER_CANCELLED ? TL_ORDER_CANCELLED
                                          : TL_ORDER_UNKNOWN;
}

static enum tl_outcome
outcome_of(uint32_t number)
{
    return number == TL_OUTCOME_TRAP       ? TL_OUTCOME_TRAP
           : number == TL_OUTCOME_BOLTER   ? TL_OUTCOME_BOLTER
           : number == TL_OUTCOME_WAVE_OFF ? TL_OUTCOME_WAVE_OFF
                                           : TL_OUTCOME_UNKNOWN;
}

static void
read_value(sqlite3_stmt *row, struct tl_datum *datum)
{
    if (datum->kind == TL_DATUM_ORDER) {
        struct tl_order *order = &datum->as.order;
        order->side = read_small(row, WORD_SIDE);
        read_text(row, WORD_TYPE, order->type, sizeof order->type);
        order->weight_lb = read_small(row, WORD_WEIGHT_LB);
        order->state = order_state_of(read_small(row, WORD_STATE));
    } else if (datum->kind == TL_DATUM_SET) {
        datum->as.set_lb = read_small(row, WORD_NUMBER);
    } else if (datum->kind == TL_DATUM_REPEATER) {
        datum->as.repeater_lb = read_small(row, WORD_NUMBER);
    } else if (datum->kind == TL_DATUM_RESULT) {
        datum->as.result.outcome = outcome_of(read_small(row, WORD_OUTCOME));
        datum->as.result.wire = read_small(row, WORD_WIRE);
    }
}

static enum tl_err
take_word(sqlite3_stmt *row, struct tl_passes *passes)
{
    struct tl_recorded_word word = {.datum = {.known = true}};
    char text[TL_TEXT_CAP];
    read_text(row, WORD_NODE, word.stated.node, sizeof word.stated.node);
    word.stated.incarnation = read_number(row, WORD_INCARNATION);
    word.stated.sequence = read_number(row, WORD_SEQUENCE);
    word.stated.wall_ms = read_number(row, WORD_WALL_MS);
    read_text(row, WORD_KIND, text, sizeof text);
    word.datum.kind = kind_of(text);
    word.datum.slot = read_small(row, WORD_SLOT);
    read_text(row, WORD_STATED_FOR, text, sizeof text);
    read_events(text, &word.datum);
    read_value(row, &word.datum);
    return tl_passes_word(passes, &word);
}

static enum tl_err
take_verdict(sqlite3_stmt *row, struct tl_passes *passes)
{
    struct tl_recorded_verdict verdict = {
        .event = {.recovery_ms = read_number(row, 0), .pass = read_small(row, 1)}};
    char word[TL_TYPE_CAP];
    read_text(row, 2, word, sizeof word);
    verdict.ready = strcmp(word, "READY") == 0;
    read_text(row, 3, verdict.rule, sizeof verdict.rule);
    read_text(row, 4, verdict.station, sizeof verdict.station);
    read_text(row, 5, verdict.text, sizeof verdict.text);
    tl_passes_verdict(passes, &verdict);
    return TL_OK;
}

typedef enum tl_err take_fn(sqlite3_stmt *row, struct tl_passes *passes);

/* TL_IO: SQLite says why. */
static enum tl_err
each(sqlite3 *db, const char *sql, take_fn *take, struct tl_passes *passes)
{
    sqlite3_stmt *row = NULL;
    enum tl_err err = TL_OK;
    int code = SQLITE_ROW;
    if (sqlite3_prepare_v2(db, sql, -1, &row, NULL) != SQLITE_OK) {
        return TL_IO;
    }
    while (err == TL_OK && (code = sqlite3_step(row)) == SQLITE_ROW) {
        err = take(row, passes);
    }
    if (err == TL_OK && code != SQLITE_DONE) {
        err = TL_IO;
    }
    (void)sqlite3_finalize(row);
    return err;
}

static enum tl_err
check_schema(sqlite3 *db, int *version)
{
    sqlite3_stmt *row = NULL;
    enum tl_err err = TL_IO;
    if (sqlite3_prepare_v2(db, "PRAGMA user_version", -1, &row, NULL) == SQLITE_OK &&
        sqlite3_step(row) == SQLITE_ROW) {
        *version = sqlite3_column_int(row, 0);
        err = *version >= SCHEMA_FIRST && *version <= SCHEMA_LAST ? TL_OK : TL_REFUSED;
    }
    (void)sqlite3_finalize(row);
    return err;
}

static enum tl_err
read_all(sqlite3 *db, struct tl_passes *passes, int *version)
{
    (void)sqlite3_busy_timeout(db, BUSY_MS);
    if (sqlite3_exec(db, "BEGIN", NULL, NULL, NULL) != SQLITE_OK) { /* one state for all reads */
        return TL_IO;
    }
    enum tl_err err = check_schema(db, version);
    if (err == TL_OK) {
        err = each(db, words_sql, take_word, passes);
    }
    if (err == TL_OK) {
        err = each(db, verdicts_sql, take_verdict, passes);
    }
    tl_passes_sort(passes);
    return err;
}

enum tl_err
tl_record_passes(const char *path, struct tl_passes *passes, char *why, size_t why_cap)
{
    sqlite3 *db = NULL;
    int version = 0;
    if (access(path, F_OK) != 0) {
        (void)snprintf(why, why_cap, "no record at %s", path);
        return TL_NOTFOUND;
    }
    enum tl_err err = TL_IO;
    if (sqlite3_open_v2(path, &db, SQLITE_OPEN_READONLY | SQLITE_OPEN_NOMUTEX, NULL) == SQLITE_OK) {
        err = read_all(db, passes, &version);
    }
    if (err == TL_REFUSED) {
        (void)snprintf(why, why_cap, "record %s has schema %d, this program knows %d", path,
                       version, SCHEMA_LAST);
    } else if (err != TL_OK) {
        (void)snprintf(why, why_cap, "record %s cannot be read: %.120s", path,
                       err == TL_IO && db != NULL ? sqlite3_errmsg(db) : tl_err_text(err));
    }
    (void)sqlite3_close(db);
    return err;
}

enum tl_err
tl_record_find(const struct tl_config *config, char path[TL_PATH_CAP])
{
    for (uint32_t i = 0; i < config->node_count; i++) {
        const struct tl_node *node = &config->node[i];
        if (node->kind != TL_NODE_RECORDER) {
            continue;
        }
        int len = snprintf(path, TL_PATH_CAP, "%s/%s.db", config->record_dir, node->id);
        if (len > 0 && len < TL_PATH_CAP && access(path, F_OK) == 0) {
            return TL_OK;
        }
    }
    return TL_NOTFOUND;
}
