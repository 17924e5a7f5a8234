/* SPDX-License-Identifier: Apache-2.0 */
/* verb_faults.c - trapline log faults: what was wrong with the tool, when and for how long. */
#include <string.h>

#include "clients/logbook/faults.h"
#include "clients/logbook/tables.h"
#include "clients/logbook/verbs.h"

enum own_option {
    OPTION_WIDE = TL_LOG_ASK_OWN
};

enum {
    TEXT_COLUMNS = 33 /* of text; what is longer is below too */
};

enum column {
    FROM = 0,
    SECONDS,
    KIND,
    STATION,
    TEXT,
    TO,
    RULE,
    COUNT,
    COLUMNS
};
static const struct tl_field_column columns[COLUMNS] = {
    [FROM] = {"from", "FROM", TL_FIELD_TIME, 0, 8},
    [SECONDS] = {"lasted_s", "LASTED s", TL_FIELD_NUMBER, 3, 9},
    [KIND] = {"kind", "KIND", TL_FIELD_TEXT, 0, 14},
    [STATION] = {"station", "STATION", TL_FIELD_TEXT, 0, 12},
    [TEXT] = {"text", "WHAT", TL_FIELD_TEXT, 0, TEXT_COLUMNS},
    [TO] = {"to", "TO", TL_FIELD_TIME, 0, 0},
    [RULE] = {"reason", "RULE OR REASON", TL_FIELD_TEXT, 0, 0},
    [COUNT] = {"count", "COUNT", TL_FIELD_NUMBER, 0, 0},
};

static void
add_fault(struct tl_table *table, const struct tl_fault *fault)
{
    tl_table_row(table);
    tl_table_time(table, FROM, fault->from_ms);
    tl_table_text(table, KIND, tl_fault_kind_text(fault->kind));
    tl_table_text(table, STATION, fault->station);
    tl_table_text(table, TEXT, fault->text);
    tl_table_text(table, RULE, fault->rule);
    if (strlen(fault->text) > TEXT_COLUMNS) {
        tl_table_note(table, fault->text);
    }
    tl_table_number(table, COUNT, (int64_t)(fault->count & INT64_MAX));
    if (fault->ended && fault->to_ms >= fault->from_ms) {
        tl_table_time(table, TO, fault->to_ms);
        tl_table_number(table, SECONDS, (int64_t)(fault->to_ms - fault->from_ms));
    }
}

enum tl_err
tl_faults_table(const struct tl_answer *answer, struct tl_table *table)
{
    struct tl_faults faults = {0};
    const struct tl_filter *filter = &answer->filter;
    enum tl_err err = tl_faults_fold(&answer->book, &faults);
    tl_table_init(table, "faults", columns, COLUMNS);
    for (size_t i = 0; i < faults.count && err == TL_OK; i++) {
        const struct tl_fault *fault = &faults.fault[i];
        if (tl_filter_time(filter, fault->from_ms) && tl_filter_station(filter, fault->station)) {
            add_fault(table, fault);
        }
    }
    tl_faults_free(&faults);
    return err;
}

static enum tl_exit
run(struct tl_log *log)
{
    return tl_log_table(log, &(struct tl_table_verb){tl_faults_table, "fault", OPTION_WIDE, true});
}

static const struct tl_option_row rows[] = {
    TL_LOG_ASK,
    [OPTION_WIDE] = {"--wide", TL_OPTION_FLAG, 0, 0, false, "", "all columns as text"},
};

const struct tl_log_command tl_log_faults = {
    .name = "faults",
    .what = "losses, refusals, twins, gaps; NOT READY because of the tool",
    .text =
        "What was wrong with the tool itself, by its beginning: stations, validators, buses and "
        "recorders that were lost, twins, refused frames and words, gaps of the record, and the "
        "times that the first cause against READY was of kind picture. '-': it had not ended, "
        "nobody told the end, or it has no length.",
    .table = {rows, sizeof rows / sizeof rows[0]},
    .run = run,
};
