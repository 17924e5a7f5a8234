/* SPDX-License-Identifier: Apache-2.0 */
/* verb_seconds.c - trapline log seconds: where the seconds go between two passes. */
#include <string.h>

#include "clients/logbook/filter.h"
#include "clients/logbook/resets.h"
#include "clients/logbook/verbs.h"
#include "clients/logbook/words.h"

enum own_option {
    OPTION_TRAPS = TL_LOG_ASK_OWN,
    OPTION_WIDE
};

/* ---- each reset ---- */

enum column {
    TIME = 0,
    PASS,
    AFTER,
    READY,
    STATION,
    AT,
    MARGIN,
    WORD,
    RECOVERY,
    NEXT,
    RANK,
    COLUMNS
};
static const struct tl_field_column columns[COLUMNS] = {
    [TIME] = {"time", "TIME UTC", TL_FIELD_TIME, 0, 8},
    [PASS] = {"pass", "PASS", TL_FIELD_NUMBER, 0, 4},
    [AFTER] = {"after", "AFTER", TL_FIELD_TEXT, 0, 8},
    [READY] = {"ready_s", "READY s", TL_FIELD_NUMBER, 3, 8},
    [STATION] = {"station", "LAST", TL_FIELD_TEXT, 0, 12},
    [AT] = {"word_s", "AT s", TL_FIELD_NUMBER, 3, 8},
    [MARGIN] = {"margin_s", "BY s", TL_FIELD_NUMBER, 3, 7},
    [WORD] = {"word", "WORD", TL_FIELD_TEXT, 0, 18},
    [RECOVERY] = {"recovery", "RECOVERY", TL_FIELD_NUMBER, 0, 0},
    [NEXT] = {"next_pass", "NEXT", TL_FIELD_NUMBER, 0, 0},
    [RANK] = {"rank", "RANK", TL_FIELD_NUMBER, 0, 0},
};

static void
add_reset(struct tl_table *table, const struct tl_reset *reset)
{
    tl_table_row(table);
    tl_table_time(table, TIME, reset->from_ms);
    tl_table_number(table, RECOVERY, (int64_t)(reset->ended.recovery_ms & INT64_MAX));
    tl_table_number(table, PASS, reset->ended.pass);
    tl_table_text(table, AFTER, tl_outcome_name(reset->outcome));
    if (reset->was_ready) {
        tl_table_number(table, READY, (int64_t)reset->ready_ms);
        tl_table_number(table, NEXT, reset->next.pass);
    }
}

static void
add_word(struct tl_table *table, const struct tl_reset *reset, uint32_t rank)
{
    const struct tl_reset_word *word = &reset->word[rank];
    tl_table_text(table, STATION, word->station);
    tl_table_number(table, AT, (int64_t)word->after_ms);
    tl_table_text(table, WORD, word->word->text);
    tl_table_number(table, RANK, rank + 1);
    if (rank == 0) {
        tl_table_number(table, MARGIN, (int64_t)reset->margin_ms);
    }
}

/* In text the station that was last; in CSV and JSON a row for each. */
static void
add_rows(struct tl_table *table, const struct tl_reset *reset, bool all,
         const struct tl_filter *filter)
{
    bool some = false;
    for (uint32_t i = 0; i < reset->count && (all || i == 0); i++) {
        if (tl_filter_station(filter, reset->word[i].station)) {
            add_reset(table, reset);
            add_word(table, reset, i);
            some = true;
        }
    }
    if (!some && filter->station == NULL) {
        add_reset(table, reset);
    }
}

/* ---- each station ---- */

enum part_column {
    P_STATION = 0,
    P_RESETS,
    P_LAST,
    P_MARGIN,
    P_LEAST,
    P_QUARTILE_1,
    P_MEDIAN,
    P_QUARTILE_3,
    P_MOST,
    P_COLUMNS
};
static const struct tl_field_column part_columns[P_COLUMNS] = {
    [P_STATION] = {"station", "STATION", TL_FIELD_TEXT, 0, 14},
    [P_RESETS] = {"resets", "TIMES", TL_FIELD_NUMBER, 0, 5},
    [P_LAST] = {"last", "LAST", TL_FIELD_NUMBER, 0, 4},
    [P_MARGIN] = {"margin_s", "WAITED s", TL_FIELD_NUMBER, 3, 9},
    [P_LEAST] = {"least_s", "LEAST s", TL_FIELD_NUMBER, 3, 8},
    [P_QUARTILE_1] = {"quartile_1_s", "1/4 s", TL_FIELD_NUMBER, 3, 8},
    [P_MEDIAN] = {"median_s", "MEDIAN s", TL_FIELD_NUMBER, 3, 8},
    [P_QUARTILE_3] = {"quartile_3_s", "3/4 s", TL_FIELD_NUMBER, 3, 8},
    [P_MOST] = {"most_s", "MOST s", TL_FIELD_NUMBER, 3, 8},
};

static void
add_quartiles(struct tl_table *table, const struct tl_values *values)
{
    for (unsigned k = 0; k <= 4 && values->count > 0; k++) {
        tl_table_number(table, P_LEAST + (int)k, (int64_t)tl_quartile(values, k));
    }
}

static void
fill_parts(struct tl_table *table, const struct tl_reset_parts *parts,
           const struct tl_filter *filter)
{
    for (uint32_t i = 0; i < parts->count; i++) {
        const struct tl_reset_part *part = &parts->part[i];
        if (!tl_filter_station(filter, part->station)) {
            continue;
        }
        tl_table_row(table);
        tl_table_text(table, P_STATION, part->station);
        tl_table_number(table, P_RESETS, (int64_t)part->after_ms.count);
        tl_table_number(table, P_LAST, part->last);
        tl_table_number(table, P_MARGIN, (int64_t)part->margin_ms);
        add_quartiles(table, &part->after_ms);
    }
    if (parts->ready_ms.count > 0 && filter->station == NULL) {
        tl_table_row(table);
        tl_table_text(table, P_STATION, "READY");
        tl_table_number(table, P_RESETS, (int64_t)parts->ready_ms.count);
        add_quartiles(table, &parts->ready_ms);
    }
}

/* ---- printing ---- */

struct answers {
    struct tl_table resets, stations;
    uint32_t never; /* without READY before the next end */
};

static enum tl_exit
print_json(struct tl_log *log, const struct answers *answers)
{
    json_t *rows = tl_table_json(&answers->resets);
    json_t *stations = tl_table_json(&answers->stations);
    json_t *whole = rows != NULL && stations != NULL
                        ? json_pack("{s:O,s:O,s:i}", "resets", rows, "stations", stations,
                                    "without_ready", (int)answers->never)
                        : NULL;
    json_decref(rows);
    json_decref(stations);
    return tl_log_json_print(whole, stdout)
               ? TL_EXIT_OK
               : tl_log_refuse(log, TL_EXIT_FAILED, "the resets could not be written");
}

static enum tl_exit
print_text(struct tl_log *log, const struct answers *answers)
{
    bool wide = tl_log_given(log, OPTION_WIDE);
    bool good = tl_table_print(&answers->resets, wide, stdout);
    if (answers->stations.rows > 0 || answers->never > 0) {
        (void)printf("\nSeconds from the end of a pass to a station's last word, and to READY; "
                     "without\nREADY before the next pass ended: %u\n",
                     (unsigned)answers->never);
        good = good && tl_table_print(&answers->stations, wide, stdout);
    }
    return good ? TL_EXIT_OK
                : tl_log_refuse(log, TL_EXIT_FAILED, "the resets could not be written");
}

static bool
is_asked(const struct tl_log *log, const struct tl_answer *answer, const struct tl_reset *reset)
{
    return (!tl_log_given(log, OPTION_TRAPS) || reset->outcome == TL_OUTCOME_TRAP) &&
           tl_filter_time(&answer->filter, reset->from_ms) &&
           tl_filter_event(&answer->filter, &answer->passes, reset->ended);
}

/* The resets that are asked for, into both tables. */
static enum tl_err
fill(const struct tl_log *log, const struct tl_answer *answer, struct tl_reset_parts *parts,
     struct tl_table *table)
{
    struct tl_resets resets = {0};
    bool all = tl_log_given(log, TL_LOG_JSON) || tl_log_given(log, TL_LOG_CSV);
    enum tl_err err = tl_resets_fold(&answer->book, &answer->passes, &resets);
    for (size_t i = 0; i < resets.count && err == TL_OK; i++) {
        if (is_asked(log, answer, &resets.reset[i])) {
            add_rows(table, &resets.reset[i], all, &answer->filter);
            err = tl_reset_parts_add(parts, &resets.reset[i]);
        }
    }
    tl_reset_parts_close(parts);
    tl_resets_free(&resets);
    return err;
}

static enum tl_exit
print(struct tl_log *log, struct tl_answer *answer)
{
    struct tl_reset_parts parts = {0};
    struct answers answers;
    tl_table_init(&answers.resets, "resets", columns, COLUMNS);
    tl_table_init(&answers.stations, "stations", part_columns, P_COLUMNS);
    enum tl_exit code =
        tl_log_folded(log, "the resets", fill(log, answer, &parts, &answers.resets));
    if (code == TL_EXIT_OK) {
        fill_parts(&answers.stations, &parts, &answer->filter);
        answers.never = parts.never;
        if (tl_log_given(log, TL_LOG_JSON)) {
            code = print_json(log, &answers);
        } else if (tl_log_given(log, TL_LOG_CSV)) {
            code = tl_log_print(log, &answers.resets, true);
        } else {
            code = print_text(log, &answers);
        }
    }
    if (code == TL_EXIT_OK && answers.resets.rows == 0) {
        tl_filter_say_empty(log, "pass that ended", &answer->book);
    }
    tl_table_free(&answers.resets);
    tl_table_free(&answers.stations);
    tl_reset_parts_free(&parts);
    return code;
}

static enum tl_exit
run(struct tl_log *log)
{
    return tl_log_answer(log, print);
}

static const struct tl_option_row rows[] = {
    TL_LOG_ASK,
    [OPTION_TRAPS] = {"--traps", TL_OPTION_FLAG, 0, 0, false, "", "after a trap only"},
    [OPTION_WIDE] = {"--wide", TL_OPTION_FLAG, 0, 0, false, "", "all columns as text"},
};

const struct tl_log_command tl_log_seconds = {
    .name = "seconds",
    .what = "where the seconds go: from the end of a pass to the next READY",
    .text =
        "From each end of a pass to the first READY of the next one: how long, and which "
        "station's word came last, at what second and by how much after the one before it. "
        "Below, each station over all of them: how often it spoke, how often it was waited for "
        "and for how long in all, and when its last word came. The end is the platform's clock, "
        "READY the validators', each word its station's: hosts must agree on the time. A "
        "station that had said all before the end is not in it.",
    .table = {rows, sizeof rows / sizeof rows[0]},
    .run = run,
};
