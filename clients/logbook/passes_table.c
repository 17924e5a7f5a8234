/* SPDX-License-Identifier: Apache-2.0 */
/* passes_table.c - all columns of the passes, and the history of their results. See print.h. */
#include <inttypes.h>
#include <string.h>

#include "clients/logbook/print.h"
#include "clients/logbook/words.h"
#include "clients/ui/why.h"

enum column {
    TIME = 0,
    RECOVERY,
    PASS,
    SIDE,
    TYPE,
    WEIGHT,
    ORDERED,
    RESULT,
    WIRE,
    ENGINE,
    RAM,
    OFF_CENTRE,
    APART,
    BACK,
    P_ENGAGING,
    P_HEADWIND,
    ALONG,
    ACROSS,
    P_SET,
    P_RAM,
    P_RUNOUT,
    BEFORE,
    AFTER,
    INTERVAL,
    CORRECTED,
    CANCELLED,
    BARRICADE,
    VOICED,
    OVERRIDES,
    DRILL,
    WAVE_OFF,
    CAUSE_RULE,
    CAUSE_STATION,
    CAUSE_ACTS,
    CAUSE_TEXT,
    ORDERED_AT,
    CALLED_AT,
    COLUMNS
};

static const struct tl_field_column columns[COLUMNS] = {
    [TIME] = {"time", "TIME UTC", TL_FIELD_TIME, 0, 0},
    [RECOVERY] = {"recovery", "RECOVERY", TL_FIELD_NUMBER, 0, 0},
    [PASS] = {"pass", "PASS", TL_FIELD_NUMBER, 0, 0},
    [SIDE] = {"side", "SIDE", TL_FIELD_NUMBER, 0, 0},
    [TYPE] = {"type", "TYPE", TL_FIELD_TEXT, 0, 0},
    [WEIGHT] = {"weight_lb", "GROSS lb", TL_FIELD_NUMBER, 0, 0},
    [ORDERED] = {"ordered_lb", "ORDERED lb", TL_FIELD_NUMBER, 0, 0},
    [RESULT] = {"result", "RESULT", TL_FIELD_TEXT, 0, 0},
    [WIRE] = {"wire", "WIRE", TL_FIELD_NUMBER, 0, 0},
    [ENGINE] = {"engine", "ENGINE", TL_FIELD_TEXT, 0, 0},
    [RAM] = {"ram_in", "RAM in", TL_FIELD_NUMBER, 1, 0},
    [OFF_CENTRE] = {"off_centre_ft", "OFF CENTRE ft", TL_FIELD_NUMBER, 1, 0},
    [APART] = {"sides_apart_in", "APART in", TL_FIELD_NUMBER, 1, 0},
    [BACK] = {"walk_back_ft", "RAN BACK ft", TL_FIELD_NUMBER, 1, 0},
    [P_ENGAGING] = {"predicted_engaging_kt", "PREDICTED ENGAGING kn", TL_FIELD_NUMBER, 1, 0},
    [P_HEADWIND] = {"predicted_headwind_kt", "COUNTED ON HEADWIND kn", TL_FIELD_NUMBER, 1, 0},
    [ALONG] = {"wind_along_kt", "WIND ALONG kn", TL_FIELD_NUMBER, 1, 0},
    [ACROSS] = {"wind_across_kt", "ACROSS kn", TL_FIELD_NUMBER, 1, 0},
    [P_SET] = {"predicted_set_lb", "PREDICTED AT lb", TL_FIELD_NUMBER, 0, 0},
    [P_RAM] = {"predicted_ram_in", "PREDICTED RAM in", TL_FIELD_NUMBER, 1, 0},
    [P_RUNOUT] = {"predicted_runout_ft", "PREDICTED RUN-OUT ft", TL_FIELD_NUMBER, 1, 0},
    [BEFORE] = {"accumulator_before_psi", "BEFORE psi", TL_FIELD_NUMBER, 0, 0},
    [AFTER] = {"accumulator_after_psi", "AFTER psi", TL_FIELD_NUMBER, 0, 0},
    [INTERVAL] = {"interval_s", "INTERVAL s", TL_FIELD_NUMBER, 3, 0},
    [CORRECTED] = {"corrected", "CORRECTED", TL_FIELD_FLAG, 0, 0},
    [CANCELLED] = {"cancelled", "CANCELLED", TL_FIELD_FLAG, 0, 0},
    [BARRICADE] = {"barricade", "BARRICADE", TL_FIELD_FLAG, 0, 0},
    [VOICED] = {"by_voice", "BY VOICE", TL_FIELD_TEXT, 0, 0},
    [OVERRIDES] = {"overrides", "OVERRIDES", TL_FIELD_NUMBER, 0, 0},
    [DRILL] = {"drill", "DRILL", TL_FIELD_FLAG, 0, 0},
    [WAVE_OFF] = {"wave_off_while", "WAVED OFF WHILE", TL_FIELD_TEXT, 0, 0},
    [CAUSE_RULE] = {"cause_rule", "CAUSE", TL_FIELD_TEXT, 0, 0},
    [CAUSE_STATION] = {"cause_station", "CAUSE AT", TL_FIELD_TEXT, 0, 0},
    [CAUSE_ACTS] = {"cause_acts", "WHO ACTS", TL_FIELD_TEXT, 0, 0},
    [CAUSE_TEXT] = {"cause_text", "CAUSE IN WORDS", TL_FIELD_TEXT, 0, 0},
    [ORDERED_AT] = {"ordered_at", "ORDERED AT", TL_FIELD_TIME, 0, 0},
    [CALLED_AT] = {"called_at", "CALLED AT", TL_FIELD_TIME, 0, 0},
};

const char *
tl_acts_text(uint32_t rule, const char *station, char *dst, size_t cap)
{
    const struct tl_rule_row *row = tl_rule_row(rule);
    size_t used = 0;
    dst[0] = '\0';
    for (unsigned bit = 0; row != NULL && tl_ui_act_name(bit) != NULL && used < cap; bit++) {
        bool named = (1u << bit) == TL_ACTS_NAMED;
        const char *name = named ? station : tl_ui_act_name(bit);
        if ((row->acts >> bit & 1u) != 0 && name[0] != '\0' &&
            !(!named && strcmp(name, station) == 0 && used > 0)) {
            int len = snprintf(dst + used, cap - used, "%s%s", used > 0 ? ", " : "", name);
            used += len > 0 ? (size_t)len : 0;
        }
    }
    return dst;
}

/* ---- the columns of the engines ---- */

static bool
has_key(const struct tl_weight_names *names, const char *key)
{
    for (uint32_t i = 0; i < names->count; i++) {
        if (strcmp(names->key[i], key) == 0) {
            return true;
        }
    }
    return false;
}

static void
write_key(const struct tl_weight *weight, char key[TL_WEIGHT_NAME_CAP])
{
    if (weight->unit > 0) {
        (void)snprintf(key, TL_WEIGHT_NAME_CAP, "repeater_%" PRIu32 "_lb", weight->unit);
    } else {
        (void)snprintf(key, TL_WEIGHT_NAME_CAP, "set_%s_lb", weight->station);
    }
}

static void
add_names(struct tl_weight_names *names, const struct tl_weight *weights, uint32_t count)
{
    for (uint32_t i = 0; i < count && names->count < TL_WEIGHT_COLUMNS_MAX; i++) {
        char key[TL_WEIGHT_NAME_CAP];
        write_key(&weights[i], key);
        if (has_key(names, key)) {
            continue;
        }
        memcpy(names->key[names->count], key, sizeof key);
        if (weights[i].unit > 0) {
            (void)snprintf(names->head[names->count], TL_WEIGHT_NAME_CAP, "REPEATER %" PRIu32,
                           weights[i].unit);
        } else {
            (void)snprintf(names->head[names->count], TL_WEIGHT_NAME_CAP, "SET %s",
                           weights[i].station);
        }
        names->count++;
    }
}

/* By name, settings after repeaters; each pass has its own in order, so insertion is short. */
static void
sort_names(struct tl_weight_names *names)
{
    for (uint32_t i = 1; i < names->count; i++) {
        for (uint32_t k = i; k > 0 && strcmp(names->key[k - 1], names->key[k]) > 0; k--) {
            char text[TL_WEIGHT_NAME_CAP];
            memcpy(text, names->key[k], sizeof text);
            memcpy(names->key[k], names->key[k - 1], sizeof text);
            memcpy(names->key[k - 1], text, sizeof text);
            memcpy(text, names->head[k], sizeof text);
            memcpy(names->head[k], names->head[k - 1], sizeof text);
            memcpy(names->head[k - 1], text, sizeof text);
        }
    }
}

static void
add_weights(struct tl_table *table, const struct tl_weight_names *names,
            const struct tl_weight *weights, uint32_t count)
{
    for (uint32_t i = 0; i < count; i++) {
        char key[TL_WEIGHT_NAME_CAP];
        write_key(&weights[i], key);
        for (uint32_t k = 0; k < names->count; k++) {
            if (strcmp(names->key[k], key) == 0) {
                tl_table_number(table, COLUMNS + (int)k, weights[i].lb);
            }
        }
    }
}

/* ---- one row ---- */

static void
add_figure(struct tl_table *table, int column, struct tl_figure_read figure)
{
    if (figure.known) {
        tl_table_number(table, column, figure.value);
    }
}

static void
add_positive(struct tl_table *table, int column, uint32_t value)
{
    add_figure(table, column, (struct tl_figure_read){value > 0, value});
}

static void
add_order(struct tl_table *table, const struct tl_pass *pass)
{
    tl_table_time(table, TIME, tl_pass_wall_ms(pass));
    tl_table_number(table, RECOVERY, (int64_t)(pass->event.recovery_ms & INT64_MAX));
    tl_table_number(table, PASS, pass->event.pass);
    add_positive(table, WEIGHT, pass->inbound.weight_lb);
    tl_table_time(table, CALLED_AT, pass->call_stated.wall_ms);
    tl_table_time(table, ORDERED_AT, pass->order_stated.wall_ms);
    if (pass->order_stated.sequence != 0) {
        tl_table_number(table, SIDE, pass->order.side);
        tl_table_text(table, TYPE, pass->order.type);
        tl_table_number(table, ORDERED, pass->order.weight_lb);
        tl_table_flag(table, BARRICADE, pass->order.barricade);
    }
}

static void
add_arrest(struct tl_table *table, const struct tl_pass *pass)
{
    tl_table_text(table, ENGINE, pass->engine);
    if (pass->arrest_known) {
        tl_table_number(table, RAM, pass->arrest.ram_in_x10);
        tl_table_number(table, OFF_CENTRE, pass->arrest.off_centre_ft_x10);
        tl_table_number(table, APART, pass->arrest.apart_in_x10);
        tl_table_number(table, BACK, pass->arrest.walk_back_ft_x10);
    }
    add_figure(table, BEFORE, pass->before_psi);
    add_figure(table, AFTER, pass->after_psi);
    if (pass->wind != NULL) {
        tl_table_number(table, ALONG, pass->wind->headwind_kt_x10);
        tl_table_number(table, ACROSS, pass->wind->crosswind_kt_x10);
    }
    if (pass->predicted != NULL) {
        add_figure(table, P_ENGAGING, pass->predicted->engaging_kt_x10);
        add_figure(table, P_HEADWIND, pass->predicted->headwind_kt_x10);
    }
    if (pass->predicted_set != NULL) {
        tl_table_number(table, P_SET, pass->predicted_set->set_lb);
        add_figure(table, P_RAM, pass->predicted_set->expect_in_x10);
        add_figure(table, P_RUNOUT, pass->predicted_set->runout_ft_x10);
    }
}

static void
add_result(struct tl_table *table, const struct tl_pass *pass)
{
    tl_table_text(table, RESULT, tl_pass_result_name(pass));
    if (tl_pass_trapped(pass)) {
        add_positive(table, WIRE, pass->result.wire);
    }
    if (pass->has_interval) {
        tl_table_number(table, INTERVAL, (int64_t)pass->interval_ms);
    }
    tl_table_flag(table, CORRECTED, pass->corrected);
    tl_table_flag(table, CANCELLED, tl_pass_cancelled(pass));
    if (tl_pass_ended(pass)) {
        tl_table_number(table, OVERRIDES, pass->overrides);
    }
    tl_table_flag(table, DRILL, pass->drill);
}

static void
add_cause(struct tl_table *table, const struct tl_pass *pass)
{
    char text[TL_TEXT_CAP];
    const struct tl_verdict_row *cause = tl_pass_cause(pass);
    enum tl_wave_off wave_off = tl_pass_wave_off(pass);
    if (wave_off == TL_WAVE_OFF_READY || wave_off == TL_WAVE_OFF_NOT_READY) {
        tl_table_text(table, WAVE_OFF, wave_off == TL_WAVE_OFF_READY ? "READY" : "NOT READY");
    }
    if (cause != NULL) {
        tl_table_text(table, CAUSE_RULE, cause->name);
        tl_table_text(table, CAUSE_STATION, cause->station);
        tl_table_text(table, CAUSE_TEXT, cause->text);
        tl_table_text(table, CAUSE_ACTS,
                      tl_acts_text(cause->rule, cause->station, text, sizeof text));
    }
}

static void
add_voiced(struct tl_table *table, const struct tl_pass *pass)
{
    char text[TL_VOICED_STATIONS_MAX * (TL_ID_CAP + 2)] = "";
    size_t used = 0;
    for (uint32_t i = 0; i < pass->voiced_count; i++) {
        used += (size_t)snprintf(text + used, sizeof text - used, "%s%s", i > 0 ? ", " : "",
                                 pass->voiced[i]);
    }
    tl_table_text(table, VOICED, text);
}

void
tl_passes_table(const struct tl_passes *passes, struct tl_weight_names *names,
                struct tl_table *table)
{
    names->count = 0;
    for (size_t i = 0; i < passes->count; i++) {
        add_names(names, passes->pass[i].set, passes->pass[i].set_count);
        add_names(names, passes->pass[i].repeater, passes->pass[i].repeater_count);
    }
    sort_names(names);
    tl_table_init(table, "passes", columns, COLUMNS);
    for (uint32_t i = 0; i < names->count; i++) {
        tl_table_column(
            table, &(struct tl_field_column){names->key[i], names->head[i], TL_FIELD_NUMBER, 0, 0});
    }
    for (size_t i = 0; i < passes->count; i++) {
        const struct tl_pass *pass = &passes->pass[i];
        tl_table_row(table);
        add_order(table, pass);
        add_weights(table, names, pass->set, pass->set_count);
        add_weights(table, names, pass->repeater, pass->repeater_count);
        add_arrest(table, pass);
        add_result(table, pass);
        add_cause(table, pass);
        add_voiced(table, pass);
    }
}

/* ---- history ---- */

enum history_column {
    H_TIME = 0,
    H_RECOVERY,
    H_PASS,
    H_RESULT,
    H_WIRE,
    H_SAID_BY,
    H_VOICE_FOR,
    H_STANDS,
    H_REFUSED,
    H_COLUMNS
};
static const struct tl_field_column history[H_COLUMNS] = {
    [H_TIME] = {"time", "TIME UTC", TL_FIELD_TIME, 0, 8},
    [H_RECOVERY] = {"recovery", "RECOVERY", TL_FIELD_NUMBER, 0, 0},
    [H_PASS] = {"pass", "PASS", TL_FIELD_NUMBER, 0, 5},
    [H_RESULT] = {"result", "RESULT", TL_FIELD_TEXT, 0, 10},
    [H_WIRE] = {"wire", "WIRE", TL_FIELD_NUMBER, 0, 4},
    [H_SAID_BY] = {"said_by", "SAID BY", TL_FIELD_TEXT, 0, 14},
    [H_VOICE_FOR] = {"voice_for", "FOR", TL_FIELD_TEXT, 0, 10},
    [H_STANDS] = {"stands", "STANDS", TL_FIELD_FLAG, 0, 6},
    [H_REFUSED] = {"refused", "REFUSED", TL_FIELD_TEXT, 0, 15},
};

static void
add_history(struct tl_table *table, const struct tl_pass *pass, const struct tl_word_row *word)
{
    const struct tl_result *result = &word->datum.as.result;
    bool same = strncmp(word->stated.node, pass->result_stated.node, TL_ID_CAP) == 0 &&
                word->stated.incarnation == pass->result_stated.incarnation &&
                word->stated.sequence == pass->result_stated.sequence;
    tl_table_row(table);
    tl_table_time(table, H_TIME, word->stated.wall_ms);
    tl_table_number(table, H_RECOVERY, (int64_t)(pass->event.recovery_ms & INT64_MAX));
    tl_table_number(table, H_PASS, pass->event.pass);
    tl_table_text(table, H_RESULT, tl_outcome_name(result->outcome));
    if (result->outcome == TL_OUTCOME_TRAP && result->wire > 0) {
        tl_table_number(table, H_WIRE, result->wire);
    }
    tl_table_text(table, H_SAID_BY, word->stated.node);
    tl_table_text(table, H_VOICE_FOR, word->datum.voice_for);
    tl_table_flag(table, H_STANDS, same && tl_word_counts(word));
    tl_table_text(table, H_REFUSED, word->refused);
}

void
tl_passes_history(const struct tl_passes *passes, const struct tl_book *book,
                  struct tl_table *table)
{
    tl_table_init(table, "results", history, H_COLUMNS);
    for (size_t i = 0; i < book->word_count; i++) {
        const struct tl_word_row *word = &book->word[i];
        for (uint32_t k = 0; word->datum.kind == TL_DATUM_RESULT && word->datum.known &&
                             k < word->datum.stated_for_count;
             k++) {
            const struct tl_pass *pass = tl_passes_find(passes, word->datum.stated_for[k]);
            if (pass != NULL) {
                add_history(table, pass, word);
            }
        }
    }
}
