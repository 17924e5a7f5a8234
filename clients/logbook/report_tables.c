/* SPDX-License-Identifier: Apache-2.0 */
/* report_tables.c - see report_tables.h. */
#include "clients/logbook/report_tables.h"

#include <inttypes.h>
#include <string.h>

/* ---- passes ---- */

enum pass_column {
    TIME = 0,
    PASS,
    SIDE,
    TYPE,
    GROSS,
    ORDERED,
    RESULT,
    INTERVAL,
    RAM,
    MARKS,
    CAUSE,
    PASS_COLUMNS
};
static const struct tl_field_column pass_columns[PASS_COLUMNS] = {
    [TIME] = {"time", "UTC", TL_FIELD_TIME, 0, 1},
    [PASS] = {"pass", "Pass", TL_FIELD_NUMBER, 0, 1},
    [SIDE] = {"side", "Side", TL_FIELD_NUMBER, 0, 1},
    [TYPE] = {"type", "Type", TL_FIELD_TEXT, 0, 1},
    [GROSS] = {"gross", "Gross lb", TL_FIELD_NUMBER, 0, 1},
    [ORDERED] = {"ordered", "Ordered lb", TL_FIELD_NUMBER, 0, 1},
    [RESULT] = {"result", "Result", TL_FIELD_TEXT, 0, 1},
    [INTERVAL] = {"interval", "Interval s", TL_FIELD_NUMBER, 1, 1},
    [RAM] = {"ram", "Ram in", TL_FIELD_NUMBER, 1, 1},
    [MARKS] = {"marks", "Marks", TL_FIELD_TEXT, 0, 1},
    [CAUSE] = {"cause", "Not ready because", TL_FIELD_TEXT, 0, 1},
};

static void
write_result(const struct tl_pass *pass, char *text, size_t cap)
{
    const char *name = tl_pass_result_name(pass);
    if (name == NULL) {
        (void)snprintf(text, cap, "%s", tl_pass_cancelled(pass) ? "cancelled" : "no result");
    } else if (tl_pass_trapped(pass) && pass->result.wire > 0) {
        (void)snprintf(text, cap, "%s wire %" PRIu32, name, pass->result.wire);
    } else {
        (void)snprintf(text, cap, "%s", name);
    }
}

/* One more of a list. */
static void
append(char *text, size_t cap, const char *more)
{
    size_t used = strlen(text);
    if (more[0] != '\0' && used < cap) {
        (void)snprintf(text + used, cap - used, "%s%s", used > 0 ? ", " : "", more);
    }
}

static void
write_marks(const struct tl_pass *pass, char *text, size_t cap)
{
    char more[TL_TABLE_TEXT_CAP] = "";
    text[0] = '\0';
    append(text, cap, pass->drill ? "DRILL" : "");
    append(text, cap, pass->order.barricade ? "barricade" : "");
    append(text, cap, pass->corrected ? "corrected" : "");
    if (pass->overrides > 0) {
        (void)snprintf(more, sizeof more, "%" PRIu32 " overridden", pass->overrides);
        append(text, cap, more);
    }
    for (uint32_t i = 0; i < pass->voiced_count; i++) {
        (void)snprintf(more, sizeof more, "by voice %s", pass->voiced[i]);
        append(text, cap, more);
    }
}

void
tl_report_passes(const struct tl_passes *passes, struct tl_table *table)
{
    tl_table_init(table, "passes", pass_columns, PASS_COLUMNS);
    for (size_t i = 0; i < passes->count; i++) {
        const struct tl_pass *pass = &passes->pass[i];
        const struct tl_verdict_row *cause = tl_pass_cause(pass);
        char text[TL_TABLE_TEXT_CAP];
        tl_table_row(table);
        tl_table_time(table, TIME, tl_pass_wall_ms(pass));
        tl_table_number(table, PASS, pass->event.pass);
        if (pass->order_stated.sequence != 0) {
            tl_table_number(table, SIDE, pass->order.side);
            tl_table_text(table, TYPE, pass->order.type);
            tl_table_number(table, ORDERED, pass->order.weight_lb);
        }
        if (pass->inbound.weight_lb > 0) {
            tl_table_number(table, GROSS, pass->inbound.weight_lb);
        }
        write_result(pass, text, sizeof text);
        tl_table_text(table, RESULT, text);
        if (pass->has_interval) {
            tl_table_number(table, INTERVAL, (int64_t)((pass->interval_ms + 50) / 100));
        }
        if (pass->arrest_known) {
            tl_table_number(table, RAM, pass->arrest.ram_in_x10);
        }
        write_marks(pass, text, sizeof text);
        tl_table_text(table, MARKS, text);
        tl_table_text(table, CAUSE, cause != NULL ? cause->text : NULL);
    }
}

/* ---- how they ended ---- */

enum boarding_column {
    B_GROUP = 0,
    B_ENDED,
    B_TRAPS,
    B_BOLTERS,
    B_READY,
    B_FOUL,
    B_UNKNOWN,
    B_RATE,
    B_HOOK,
    B_DECK,
    B_COLUMNS
};
static const struct tl_field_column boarding_columns[B_COLUMNS] = {
    [B_GROUP] = {"group", "Passes of", TL_FIELD_TEXT, 0, 1},
    [B_ENDED] = {"ended", "Ended", TL_FIELD_NUMBER, 0, 1},
    [B_TRAPS] = {"traps", "Traps", TL_FIELD_NUMBER, 0, 1},
    [B_BOLTERS] = {"bolters", "Bolters", TL_FIELD_NUMBER, 0, 1},
    [B_READY] = {"ready", "Waved off, READY", TL_FIELD_NUMBER, 0, 1},
    [B_FOUL] = {"foul", "Foul deck", TL_FIELD_NUMBER, 0, 1},
    [B_UNKNOWN] = {"unknown", "Not judged", TL_FIELD_NUMBER, 0, 1},
    [B_RATE] = {"rate", "Boarding rate %", TL_FIELD_NUMBER, 1, 1},
    [B_HOOK] = {"hook", "Traps of touchdowns %", TL_FIELD_NUMBER, 1, 1},
    [B_DECK] = {"deck", "Traps of all %", TL_FIELD_NUMBER, 1, 1},
};

void
tl_report_boarding(const struct tl_figures_told *figures, struct tl_table *table)
{
    tl_table_init(table, "boarding", boarding_columns, B_COLUMNS);
    for (uint32_t i = 0; i < figures->group_count; i++) {
        const struct tl_group *group = &figures->group[i];
        const struct tl_boarding *boarding = &group->boarding;
        uint64_t permille = 0;
        tl_table_row(table);
        tl_table_text(table, B_GROUP, group->name);
        tl_table_number(table, B_ENDED, (int64_t)boarding->ended);
        tl_table_number(table, B_TRAPS, (int64_t)boarding->traps);
        tl_table_number(table, B_BOLTERS, (int64_t)boarding->bolters);
        tl_table_number(table, B_READY, (int64_t)boarding->waved_ready);
        tl_table_number(table, B_FOUL, (int64_t)boarding->waved_not_ready);
        tl_table_number(table, B_UNKNOWN, (int64_t)boarding->waved_unknown);
        if (tl_boarding_boarding(boarding, &permille)) {
            tl_table_number(table, B_RATE, (int64_t)permille);
        }
        if (tl_boarding_hook(boarding, &permille)) {
            tl_table_number(table, B_HOOK, (int64_t)permille);
        }
        if (tl_boarding_deck(boarding, &permille)) {
            tl_table_number(table, B_DECK, (int64_t)permille);
        }
    }
}

enum foul_column {
    F_RULE = 0,
    F_STATION,
    F_COUNT,
    F_COLUMNS
};
static const struct tl_field_column foul_columns[F_COLUMNS] = {
    [F_RULE] = {"rule", "First cause", TL_FIELD_TEXT, 0, 1},
    [F_STATION] = {"station", "At", TL_FIELD_TEXT, 0, 1},
    [F_COUNT] = {"count", "Wave-offs", TL_FIELD_NUMBER, 0, 1},
};

void
tl_report_fouls(const struct tl_figures_told *figures, struct tl_table *table)
{
    tl_table_init(table, "fouls", foul_columns, F_COLUMNS);
    for (uint32_t i = 0; i < figures->fouls.count; i++) {
        const struct tl_foul *foul = &figures->fouls.foul[i];
        tl_table_row(table);
        tl_table_text(table, F_RULE, foul->rule);
        tl_table_text(table, F_STATION, foul->station);
        tl_table_number(table, F_COUNT, (int64_t)foul->count);
    }
    if (figures->fouls.others > 0) {
        tl_table_row(table);
        tl_table_text(table, F_RULE, "other, or no cause recorded");
        tl_table_number(table, F_COUNT, (int64_t)figures->fouls.others);
    }
}

/* ---- seconds ---- */

enum second_column {
    S_OF = 0,
    S_COUNT,
    S_LEAST,
    S_QUARTILE_1,
    S_MEDIAN,
    S_QUARTILE_3,
    S_MOST,
    S_LAST,
    S_WAITED,
    S_COLUMNS
};
static const struct tl_field_column second_columns[S_COLUMNS] = {
    [S_OF] = {"of", "Seconds", TL_FIELD_TEXT, 0, 1},
    [S_COUNT] = {"count", "Times", TL_FIELD_NUMBER, 0, 1},
    [S_LEAST] = {"least", "Least", TL_FIELD_NUMBER, 3, 1},
    [S_QUARTILE_1] = {"quartile_1", "1/4", TL_FIELD_NUMBER, 3, 1},
    [S_MEDIAN] = {"median", "Median", TL_FIELD_NUMBER, 3, 1},
    [S_QUARTILE_3] = {"quartile_3", "3/4", TL_FIELD_NUMBER, 3, 1},
    [S_MOST] = {"most", "Most", TL_FIELD_NUMBER, 3, 1},
    [S_LAST] = {"last", "Was last", TL_FIELD_NUMBER, 0, 1},
    [S_WAITED] = {"waited", "Waited for", TL_FIELD_NUMBER, 3, 1},
};

static void
add_seconds(struct tl_table *table, const char *name, const struct tl_values *values)
{
    tl_table_row(table);
    tl_table_text(table, S_OF, name);
    tl_table_number(table, S_COUNT, (int64_t)values->count);
    for (unsigned k = 0; k <= 4 && values->count > 0; k++) {
        tl_table_number(table, S_LEAST + (int)k, (int64_t)tl_quartile(values, k));
    }
}

void
tl_report_seconds(const struct tl_figures_told *figures, struct tl_table *table)
{
    const struct tl_reset_parts *parts = &figures->parts;
    char name[TL_ID_CAP + 32];
    tl_table_init(table, "seconds", second_columns, S_COLUMNS);
    add_seconds(table, "between ends of passes", &figures->interval_ms);
    add_seconds(table, "from a trap to READY", &parts->ready_ms);
    for (uint32_t i = 0; i < parts->count; i++) {
        (void)snprintf(name, sizeof name, "to the last word of %s", parts->part[i].station);
        add_seconds(table, name, &parts->part[i].after_ms);
        tl_table_number(table, S_LAST, parts->part[i].last);
        tl_table_number(table, S_WAITED, (int64_t)parts->part[i].margin_ms);
    }
}

/* ---- alerts ---- */

enum rate_column {
    R_WHO = 0,
    R_COUNT,
    R_AVERAGE,
    R_MOST,
    R_FLOODED,
    R_COLUMNS
};
static const struct tl_field_column rate_columns[R_COLUMNS] = {
    [R_WHO] = {"who", "Owed by", TL_FIELD_TEXT, 0, 1},
    [R_COUNT] = {"count", "Alerts", TL_FIELD_NUMBER, 0, 1},
    [R_AVERAGE] = {"average", "On average in 10 min", TL_FIELD_NUMBER, 3, 1},
    [R_MOST] = {"most", "Most in any 10 min", TL_FIELD_NUMBER, 0, 1},
    [R_FLOODED] = {"flooded", "10 min with more than 10, %", TL_FIELD_NUMBER, 1, 1},
};

void
tl_report_rates(const struct tl_figures_told *figures, struct tl_table *table)
{
    const struct tl_rates *rates = &figures->rates;
    tl_table_init(table, "rates", rate_columns, R_COLUMNS);
    for (uint32_t i = 0; i < rates->count; i++) {
        const struct tl_rate *rate = &rates->rate[i];
        tl_table_row(table);
        tl_table_text(table, R_WHO, i == 0 ? "all, whoever owes them" : rate->operator);
        tl_table_number(table, R_COUNT, (int64_t)rate->raised_ms.count);
        tl_table_number(table, R_MOST, (int64_t)rate->most);
        if (rates->open_ms >= TL_RATE_WINDOW_MS) { /* of less it would be a guess */
            tl_table_number(table, R_AVERAGE, (int64_t)rate->per_10_min_x1000);
        }
        if (rate->windows > 0) {
            tl_table_number(table, R_FLOODED,
                            (int64_t)tl_permille((struct tl_share){rate->flooded, rate->windows}));
        }
    }
}
