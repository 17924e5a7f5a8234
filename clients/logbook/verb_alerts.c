/* SPDX-License-Identifier: Apache-2.0 */
/* verb_alerts.c - trapline log alerts: each alert of a record once. */
#include "clients/logbook/alerts.h"
#include "clients/logbook/tables.h"
#include "clients/logbook/verbs.h"
#include "clients/logbook/words.h"

enum own_option {
    OPTION_WIDE = TL_LOG_ASK_OWN
};

enum {
    ACKS_CAP = TL_ALERT_ACKS_MAX * (TL_ID_CAP + TL_NAME_CAP + TL_NUMBER_CAP),
    TELLERS_CAP = TL_VALIDATORS_MAX * (TL_ID_CAP + 2)
};

enum column {
    RAISED = 0,
    GONE,
    SECONDS,
    SEVERITY,
    RULE,
    STATION,
    ACK_BY,
    ACK_SECONDS,
    RECOVERY,
    PASS,
    ACKS,
    TOLD_BY,
    COLUMNS
};
static const struct tl_field_column columns[COLUMNS] = {
    [RAISED] = {"raised", "RAISED", TL_FIELD_TIME, 0, 8},
    [GONE] = {"gone", "GONE", TL_FIELD_TIME, 0, 0},
    [SECONDS] = {"lasted_s", "LASTED s", TL_FIELD_NUMBER, 3, 8},
    [SEVERITY] = {"severity", "SEVERITY", TL_FIELD_TEXT, 0, 9},
    [RULE] = {"rule", "RULE", TL_FIELD_TEXT, 0, 22},
    [STATION] = {"station", "STATION", TL_FIELD_TEXT, 0, 12},
    [ACK_BY] = {"acknowledged_by", "ACK BY", TL_FIELD_TEXT, 0, 8},
    [ACK_SECONDS] = {"acknowledged_after_s", "AFTER s", TL_FIELD_NUMBER, 3, 7},
    [RECOVERY] = {"recovery", "RECOVERY", TL_FIELD_NUMBER, 0, 0},
    [PASS] = {"pass", "PASS", TL_FIELD_NUMBER, 0, 0},
    [ACKS] = {"acknowledgements", "ALL ACKNOWLEDGEMENTS", TL_FIELD_TEXT, 0, 0},
    [TOLD_BY] = {"told_by", "TOLD BY", TL_FIELD_TEXT, 0, 0},
};

static void
add_acks(struct tl_table *table, const struct tl_alert_told *alert)
{
    char text[ACKS_CAP] = "";
    char after[TL_NUMBER_CAP];
    size_t used = 0;
    uint64_t ms = 0;
    for (uint32_t i = 0; i < alert->ack_count; i++) {
        const struct tl_alert_ack *ack = &alert->ack[i];
        bool dated = ack->wall_ms >= alert->spell.from_ms;
        used += (size_t)snprintf(
            text + used, sizeof text - used, "%s%s%s%s%s%s%s", i > 0 ? "; " : "", ack->station,
            ack->name[0] != '\0' ? " (" : "", ack->name, ack->name[0] != '\0' ? ")" : "",
            dated ? " " : "",
            dated ? tl_scaled_text((int64_t)(ack->wall_ms - alert->spell.from_ms), 3, after) : "");
        used += dated ? (size_t)snprintf(text + used, sizeof text - used, " s") : 0;
    }
    tl_table_text(table, ACKS, text);
    tl_table_text(table, ACK_BY, alert->ack_count > 0 ? alert->ack[0].station : NULL);
    if (tl_alert_first_ack(alert, &ms)) {
        tl_table_number(table, ACK_SECONDS, (int64_t)ms);
    }
}

static void
add_alert(struct tl_table *table, const struct tl_alert_told *alert)
{
    const struct tl_spell *spell = &alert->spell;
    char tellers[TELLERS_CAP] = "";
    size_t used = 0;
    uint64_t ms = 0;
    tl_table_row(table);
    tl_table_time(table, RAISED, spell->from_ms);
    if (tl_spell_length(spell, &ms)) {
        tl_table_time(table, GONE, spell->to_ms);
        tl_table_number(table, SECONDS, (int64_t)ms);
    }
    tl_table_text(table, SEVERITY, spell->severity);
    tl_table_text(table, RULE, spell->key.name);
    tl_table_text(table, STATION, spell->key.station);
    if (tl_event_is(spell->key.event)) {
        tl_table_number(table, RECOVERY, (int64_t)(spell->key.event.recovery_ms & INT64_MAX));
        tl_table_number(table, PASS, spell->key.event.pass);
    }
    for (uint32_t i = 0; i < spell->teller_count; i++) {
        used += (size_t)snprintf(tellers + used, sizeof tellers - used, "%s%s", i > 0 ? ", " : "",
                                 spell->teller[i].id);
    }
    tl_table_text(table, TOLD_BY, tellers);
    add_acks(table, alert);
}

static bool
is_asked(const struct tl_filter *filter, const struct tl_passes *passes,
         const struct tl_alert_told *alert)
{
    const struct tl_spell *spell = &alert->spell;
    bool station = tl_filter_station(filter, spell->key.station);
    for (uint32_t i = 0; i < alert->ack_count && !station; i++) {
        station = tl_filter_station(filter, alert->ack[i].station);
    }
    return station && tl_filter_time(filter, spell->from_ms) &&
           tl_filter_event(filter, passes, spell->key.event);
}

enum tl_err
tl_alerts_table(const struct tl_answer *answer, struct tl_table *table)
{
    struct tl_alerts_told alerts = {0};
    enum tl_err err = tl_alerts_fold(&answer->book, &alerts);
    tl_table_init(table, "alerts", columns, COLUMNS);
    for (size_t i = 0; i < alerts.count && err == TL_OK; i++) {
        if (is_asked(&answer->filter, &answer->passes, &alerts.alert[i])) {
            add_alert(table, &alerts.alert[i]);
        }
    }
    tl_alerts_free(&alerts);
    return err;
}

static enum tl_exit
run(struct tl_log *log)
{
    return tl_log_table(log, &(struct tl_table_verb){tl_alerts_table, "alert", OPTION_WIDE, false});
}

static const struct tl_option_row rows[] = {
    TL_LOG_ASK,
    [OPTION_WIDE] = {"--wide", TL_OPTION_FLAG, 0, 0, false, "", "all columns as text"},
};

const struct tl_log_command tl_log_alerts = {
    .name = "alerts",
    .what = "each alert once: how long, acknowledged by whom and when",
    .text = "Each alert once over all validators, as it was raised: how long it lasted, how grave "
            "it was then, rule and station, who acknowledged it first and after how long. Gone is "
            "when it left the list of alerts, which one that nobody acknowledged does later than "
            "its cause. '-': it was still there, or nobody told the end. --station: what concerns "
            "that station, or what it acknowledged.",
    .table = {rows, sizeof rows / sizeof rows[0]},
    .run = run,
};
