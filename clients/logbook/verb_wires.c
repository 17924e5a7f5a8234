/* SPDX-License-Identifier: Apache-2.0 */
/* verb_wires.c - trapline log wires: what each pendant and purchase cable has taken. */
#include <assert.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "clients/logbook/filter.h"
#include "clients/logbook/verbs.h"
#include "clients/logbook/wires.h"
#include "clients/logbook/words.h"

enum own_option {
    OPTION_CSV = TL_LOG_OWN,
    OPTION_WIDE
};

static_assert((int)OPTION_CSV == (int)TL_LOG_CSV, "tl_log_print asks for it by that place");

enum {
    RECORDS_MAX = TL_RECORDERS_MAX,
    NOTE_CAP = 512
};

enum column {
    WHAT = 0,
    NUMBER,
    SERIAL,
    TRAPS,
    LEFT,
    LIFE,
    BY_LOAD,
    LIFE_BY_LOAD,
    NOT_WEIGHED,
    SINCE,
    DUE,
    OVERDUE,
    INSPECT,
    FITTED,
    REMOVED,
    STATED,
    COLUMNS
};

static const struct tl_field_column columns[COLUMNS] = {
    [WHAT] = {"what", "WHAT", TL_FIELD_TEXT, 0, 7},
    [NUMBER] = {"number", "NO", TL_FIELD_NUMBER, 0, 2},
    [SERIAL] = {"serial", "SERIAL", TL_FIELD_TEXT, 0, 15},
    [TRAPS] = {"traps", "TRAPS", TL_FIELD_NUMBER, 0, 6},
    [LEFT] = {"left", "LEFT", TL_FIELD_NUMBER, 0, 4},
    [LIFE] = {"life", "LIFE", TL_FIELD_NUMBER, 3, 5},
    [BY_LOAD] = {"by_load_traps", "BY LOAD", TL_FIELD_NUMBER, 3, 8},
    [LIFE_BY_LOAD] = {"life_by_load", "LIFE BY LOAD", TL_FIELD_NUMBER, 3, 0},
    [NOT_WEIGHED] = {"not_weighed", "NOT WEIGHED", TL_FIELD_NUMBER, 0, 0},
    [SINCE] = {"since_detorque", "SINCE", TL_FIELD_NUMBER, 0, 5},
    [DUE] = {"detorque_due_at", "DETORQUE", TL_FIELD_NUMBER, 0, 8},
    [OVERDUE] = {"detorque_overdue", "OVERDUE", TL_FIELD_FLAG, 0, 0},
    [INSPECT] = {"inspection_due", "INSPECT", TL_FIELD_FLAG, 0, 7},
    [FITTED] = {"fitted", "FITTED", TL_FIELD_TIME, 0, 0},
    [REMOVED] = {"removed", "REMOVED", TL_FIELD_TIME, 0, 0},
    [STATED] = {"stated_traps", "STATED", TL_FIELD_NUMBER, 0, 0},
};

/* One record of the same ship; the first is the one that is printed. */
struct other {
    char name[TL_ID_CAP]; /* of its recorder */
    char key[TL_ID_CAP + 8];
    struct tl_wires wires;
};

struct asked {
    struct tl_log *log;
    uint32_t count;
    struct other record[RECORDS_MAX];
};

/* Thousandths, rounded up: a life that is not over yet must not be shown shorter than it is. */
static int64_t
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): a part of a whole */
fraction_up(uint64_t part, uint64_t whole)
{
    return whole == 0 ? 0 : (int64_t)((part * 1000 + whole - 1) / whole);
}

static void
put_life(struct tl_table *table, const struct tl_config *config, const struct tl_ledger *ledger,
         const struct tl_fit *fit)
{
    uint32_t life = config->gear.limits.pendant_life;
    uint32_t traps = tl_fit_traps(ledger, fit);
    uint64_t ppm = tl_fit_weighted_ppm(ledger, fit);
    bool pendant = fit->kind == TL_DATUM_PENDANT_LIFE && life != 0;
    if (pendant) {
        tl_table_number(table, LEFT, life > traps ? life - traps : 0);
        tl_table_number(table, LIFE, fraction_up(traps, life));
    }
    if (ppm != 0 || (traps == 0 && config->wear.exponent != 0)) {
        tl_table_number(table, BY_LOAD, (int64_t)((ppm + 999) / 1000));
        tl_table_number(table, NOT_WEIGHED, tl_fit_unweighed(ledger, fit));
        if (pendant) {
            tl_table_number(table, LIFE_BY_LOAD, fraction_up(ppm, 1000000ull * life));
        }
    }
}

static void
put_detorque(struct tl_table *table, const struct tl_config *config, const struct tl_ledger *ledger,
             const struct tl_fit *fit)
{
    uint32_t due = 0;
    uint32_t last = 0;
    uint32_t traps = tl_fit_traps(ledger, fit);
    if (fit->kind != TL_DATUM_CABLE) {
        return;
    }
    tl_table_number(table, SINCE, traps > fit->detorqued_at ? traps - fit->detorqued_at : 0);
    if (config->gear.limits.given && fit->removed_ms == 0) {
        tl_detorque_bounds(&config->gear.limits, fit->detorqued_at, &due, &last);
        tl_table_number(table, DUE, due);
        tl_table_flag(table, OVERDUE, traps > last);
    }
}

/* "; recorder-2 has 90" */
static void
add_note(char note[NOTE_CAP], const char *who, uint32_t traps, const char *serial)
{
    size_t used = strlen(note);
    (void)snprintf(note + used, NOTE_CAP - used, "%s%s has %" PRIu32 " traps%s%s",
                   used > 0 ? "; " : "", who, traps, serial[0] != '\0' ? " on " : "", serial);
}

/* What the station says, and what another record has, when it is not the same. */
static void
put_others(const struct asked *asked, struct tl_table *table, const struct tl_fit *fit)
{
    const struct tl_ledger *ledger = asked->record[0].wires.ledger;
    char note[NOTE_CAP] = "";
    uint32_t traps = tl_fit_traps(ledger, fit);
    uint32_t says = 0;
    if (fit->removed_ms != 0) {
        return;
    }
    bool stated = tl_fit_stated_traps(ledger, fit, &says);
    bool other_serial =
        fit->said.serial[0] != '\0' && !tl_wear_same_serial(&fit->said, &fit->tally.base);
    if (stated && (says != traps || other_serial)) {
        tl_table_number(table, STATED, says);
        add_note(note, "the station", says, fit->said.serial);
    }
    for (uint32_t i = 1; i < asked->count; i++) {
        const struct tl_wires *wires = &asked->record[i].wires;
        const struct tl_fit *there = tl_wires_fitted(wires, fit->kind, fit->slot);
        if (there == NULL) {
            continue;
        }
        uint32_t has = tl_fit_traps(wires->ledger, there);
        tl_table_number(table, COLUMNS + (int)i - 1, has);
        if (has != traps || !tl_wear_same_serial(&there->tally.base, &fit->tally.base)) {
            add_note(note, asked->record[i].name, has, there->tally.base.serial);
        }
    }
    tl_table_note(table, note);
}

static void
put_fit(const struct asked *asked, struct tl_table *table, const struct tl_fit *fit)
{
    const struct tl_config *config = asked->log->config;
    const struct tl_ledger *ledger = asked->record[0].wires.ledger;
    bool over = fit->removed_ms != 0;
    tl_table_row(table);
    tl_table_text(table, WHAT, fit->kind == TL_DATUM_CABLE ? "cable" : "pendant");
    tl_table_number(table, NUMBER, fit->slot);
    tl_table_text(table, SERIAL, fit->tally.base.serial);
    tl_table_number(table, TRAPS, tl_fit_traps(ledger, fit));
    put_life(table, config, ledger, fit);
    put_detorque(table, config, ledger, fit);
    bool inspect = tl_fit_needs_inspection(ledger, fit);
    if (!over && (inspect || fit->inspected_once)) { /* else the record cannot tell */
        tl_table_flag(table, INSPECT, inspect);
    }
    tl_table_time(table, FITTED, fit->fitted_ms);
    tl_table_time(table, REMOVED, fit->removed_ms);
    put_others(asked, table, fit);
}

/* What is there in the order of gear.yaml, each followed by what was there before it. */
static void
fill(const struct asked *asked, struct tl_table *table)
{
    const struct tl_wires *wires = &asked->record[0].wires;
    const struct tl_ledger *ledger = wires->ledger;
    for (uint32_t i = 0; ledger != NULL && i < ledger->fit_count; i++) {
        const struct tl_fit *fit = &ledger->fit[i];
        if (tl_fit_is_known(fit)) {
            put_fit(asked, table, fit);
        }
        for (size_t k = wires->over_count; k > 0; k--) {
            const struct tl_fit *over = &wires->over[k - 1];
            if (over->kind == fit->kind && over->slot == fit->slot) {
                put_fit(asked, table, over);
            }
        }
    }
}

static enum tl_exit
print_wires(struct asked *asked)
{
    struct tl_log *log = asked->log;
    struct tl_table table;
    tl_table_init(&table, "wires", columns, COLUMNS);
    for (uint32_t i = 1; i < asked->count; i++) {
        struct other *other = &asked->record[i];
        char name[TL_ID_CAP];
        memcpy(name, other->name, sizeof name);
        (void)snprintf(other->key, sizeof other->key, "%s_traps", name);
        tl_table_column(&table,
                        &(struct tl_field_column){other->key, other->name, TL_FIELD_NUMBER, 0, 0});
    }
    fill(asked, &table);
    size_t count = table.rows;
    enum tl_exit code = tl_log_print(log, &table, tl_log_given(log, OPTION_WIDE));
    if (code == TL_EXIT_OK && count == 0) {
        (void)fprintf(stderr, "trapline log wires: the gear officer has stated no count yet\n");
    }
    tl_table_free(&table);
    return code;
}

static enum tl_exit
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): who, then where */
read_one(struct asked *asked, const char *name, const char *path)
{
    struct other *other = &asked->record[asked->count];
    struct tl_log *log = asked->log;
    asked->count++;
    (void)snprintf(other->name, sizeof other->name, "%s", name);
    enum tl_err err = tl_wires_read(path, log->config, &other->wires, log->why, sizeof log->why);
    if (err == TL_OK) {
        return TL_EXIT_OK;
    }
    return err == TL_NOTFOUND ? TL_EXIT_UNANSWERED : TL_EXIT_FAILED;
}

/* The record that is named, or that of every recorder of the configuration which has one here. */
static enum tl_exit
read_records(struct asked *asked)
{
    struct tl_log *log = asked->log;
    enum tl_exit code = tl_log_find(log);
    if (code != TL_EXIT_OK) {
        return code;
    }
    if (log->config == NULL) {
        return tl_log_refuse(log, TL_EXIT_USAGE,
                             "which engine has which wire, and what they last: name the "
                             "configuration folder with -C DIR too");
    }
    if (tl_log_given(log, TL_LOG_RECORD)) {
        return read_one(asked, "this record", log->path);
    }
    for (uint32_t i = 0; i < log->config->node_count && code == TL_EXIT_OK; i++) {
        const struct tl_node *node = &log->config->node[i];
        char path[TL_PATH_CAP];
        int len = snprintf(path, sizeof path, "%s/%s.db", log->config->record_dir, node->id);
        if (node->kind == TL_NODE_RECORDER && asked->count < RECORDS_MAX &&
            len < (int)sizeof path && access(path, F_OK) == 0) {
            code = read_one(asked, node->id, path);
        }
    }
    if (code == TL_EXIT_OK && asked->count == 0) {
        return tl_log_refuse(log, TL_EXIT_UNANSWERED, "no record is there any more");
    }
    return code;
}

static enum tl_exit
run(struct tl_log *log)
{
    struct asked asked = {.log = log};
    if (tl_log_given(log, TL_LOG_JSON) && tl_log_given(log, OPTION_CSV)) {
        return tl_log_refuse(log, TL_EXIT_USAGE, "--json or --csv, not both");
    }
    enum tl_exit code = read_records(&asked);
    if (code == TL_EXIT_OK) {
        code = print_wires(&asked);
    }
    for (uint32_t i = 0; i < asked.count; i++) {
        tl_wires_free(&asked.record[i].wires);
    }
    return code;
}

static const struct tl_option_row rows[] = {
    TL_LOG_COMMON,
    [OPTION_CSV] = {"--csv", TL_OPTION_FLAG, 0, 0, false, "", "all columns as RFC 4180 has it"},
    [OPTION_WIDE] = {"--wide", TL_OPTION_FLAG, 0, 0, false, "", "all columns as text"},
};

const struct tl_log_command tl_log_wires = {
    .name = "wires",
    .what = "pendants and cables by serial: traps, life, detorque",
    .text = "What each pendant and purchase cable has taken, by serial, those that were removed "
            "too: traps, left of its life, the same weighted by load, since the last detorque and "
            "when the next is due, whether an inspection is due. Counted from the record as its "
            "recorder counts: a trap once, a corrected result moved, no drill. Where the station "
            "or another recorder says otherwise, a line says so. Needs the configuration folder.",
    .table = {rows, sizeof rows / sizeof rows[0]},
    .run = run,
};
