/* SPDX-License-Identifier: Apache-2.0 */
/* sql.c - see sql.h. */
#include "broker/recorder/sql.h"

#include <stdint.h>
#include <stdio.h>

#include "proto/base/require.h"

const char tl_sql_schema[] =
    "BEGIN IMMEDIATE;"
    "CREATE TABLE change (id INTEGER PRIMARY KEY, node TEXT NOT NULL, incarnation INTEGER NOT NULL,"
    " sequence INTEGER NOT NULL, wall_ms INTEGER NOT NULL, event_recovery_ms INTEGER NOT NULL,"
    " event_pass INTEGER NOT NULL, kind TEXT NOT NULL, slot INTEGER NOT NULL,"
    " voice_for TEXT NOT NULL, known INTEGER NOT NULL, stated_for TEXT NOT NULL,"
    " word TEXT NOT NULL, number INTEGER, side INTEGER, type TEXT, weight_lb INTEGER,"
    " fuel_lb INTEGER, state INTEGER, outcome INTEGER, wire INTEGER,"
    " UNIQUE (node, incarnation, sequence));"
    "CREATE TABLE judged (id INTEGER PRIMARY KEY, validator TEXT NOT NULL,"
    " validator_incarnation INTEGER NOT NULL, sequence INTEGER NOT NULL, now_ms INTEGER NOT NULL,"
    " node TEXT NOT NULL, incarnation INTEGER NOT NULL, change_sequence INTEGER NOT NULL,"
    " kind TEXT NOT NULL, reason TEXT NOT NULL,"
    " UNIQUE (validator, validator_incarnation, sequence));"
    "CREATE INDEX judged_change ON judged (node, incarnation, change_sequence);"
    "CREATE TABLE verdict (id INTEGER PRIMARY KEY, validator TEXT NOT NULL,"
    " validator_incarnation INTEGER NOT NULL, sequence INTEGER NOT NULL, wall_ms INTEGER NOT NULL,"
    " event_recovery_ms INTEGER NOT NULL, event_pass INTEGER NOT NULL, tick INTEGER NOT NULL,"
    " word TEXT NOT NULL, rule TEXT NOT NULL, station TEXT NOT NULL, state TEXT NOT NULL,"
    " text TEXT NOT NULL, drill INTEGER NOT NULL,"
    " UNIQUE (validator, validator_incarnation, sequence));"
    "CREATE TABLE alert (id INTEGER PRIMARY KEY, validator TEXT NOT NULL,"
    " validator_incarnation INTEGER NOT NULL, sequence INTEGER NOT NULL, wall_ms INTEGER NOT NULL,"
    " step TEXT NOT NULL, rule TEXT NOT NULL, station TEXT NOT NULL, severity TEXT NOT NULL,"
    " event_recovery_ms INTEGER NOT NULL, event_pass INTEGER NOT NULL, subject_node TEXT NOT NULL,"
    " subject_incarnation INTEGER NOT NULL, subject_sequence INTEGER NOT NULL);"
    "CREATE TABLE gap (id INTEGER PRIMARY KEY, node TEXT NOT NULL, incarnation INTEGER NOT NULL,"
    " first INTEGER NOT NULL, last INTEGER NOT NULL, wall_ms INTEGER NOT NULL,"
    " UNIQUE (node, incarnation, first));"
    "PRAGMA user_version = 1;"
    "COMMIT;";

const char tl_sql_to_schema_2[] =
    "BEGIN IMMEDIATE;"
    "CREATE TABLE predicted (id INTEGER PRIMARY KEY, validator TEXT NOT NULL,"
    " validator_incarnation INTEGER NOT NULL, sequence INTEGER NOT NULL,"
    " event_recovery_ms INTEGER NOT NULL, event_pass INTEGER NOT NULL, type TEXT NOT NULL,"
    " weight_lb INTEGER, barricade INTEGER NOT NULL, headwind_kt_x10 INTEGER,"
    " engaging_kt_x10 INTEGER, energy_kftlb INTEGER, margin_percent INTEGER, aid_type TEXT,"
    " angle_deg_x100 INTEGER, target_wire INTEGER, pitch_deg_x10 INTEGER,"
    " clearance_ft_x10 INTEGER, touchdown_ft_x10 INTEGER, ramp_s_x10 INTEGER,"
    " wave_off_gear_s_x10 INTEGER, wave_off_people_s_x10 INTEGER, reset_s_x10 INTEGER,"
    " UNIQUE (validator, validator_incarnation, sequence));"
    "CREATE TABLE predicted_setting (id INTEGER PRIMARY KEY, validator TEXT NOT NULL,"
    " validator_incarnation INTEGER NOT NULL, sequence INTEGER NOT NULL, set_lb INTEGER NOT NULL,"
    " bottoms INTEGER NOT NULL, parts INTEGER NOT NULL, end_kt_x10 INTEGER NOT NULL,"
    " hook_lbf INTEGER NOT NULL, tension_percent INTEGER NOT NULL, stroke_in_x10 INTEGER NOT NULL,"
    " expect_in_x10 INTEGER NOT NULL, runout_ft_x10 INTEGER NOT NULL,"
    " UNIQUE (validator, validator_incarnation, sequence, set_lb));"
    "CREATE TABLE expected (id INTEGER PRIMARY KEY, validator TEXT NOT NULL,"
    " validator_incarnation INTEGER NOT NULL, sequence INTEGER NOT NULL, unit INTEGER NOT NULL,"
    " event_recovery_ms INTEGER NOT NULL, event_pass INTEGER NOT NULL, ram_in_x10 INTEGER NOT NULL,"
    " UNIQUE (validator, validator_incarnation, sequence));"
    "PRAGMA user_version = 2;"
    "COMMIT;";

const char tl_sql_to_schema_3[] =
    "BEGIN IMMEDIATE;"
    "ALTER TABLE change ADD COLUMN frame BLOB;"
    "ALTER TABLE change ADD COLUMN hash BLOB;"
    "ALTER TABLE judged ADD COLUMN wall_ms INTEGER;"
    "ALTER TABLE judged ADD COLUMN event_recovery_ms INTEGER;"
    "ALTER TABLE judged ADD COLUMN event_pass INTEGER;"
    "ALTER TABLE judged ADD COLUMN word TEXT;"
    "ALTER TABLE judged ADD COLUMN causes INTEGER;"
    "ALTER TABLE judged ADD COLUMN rule TEXT;"
    "ALTER TABLE judged ADD COLUMN station TEXT;"
    "ALTER TABLE judged ADD COLUMN frame BLOB;"
    "ALTER TABLE judged ADD COLUMN hash BLOB;"
    "ALTER TABLE verdict ADD COLUMN hash BLOB;"
    "ALTER TABLE alert ADD COLUMN hash BLOB;"
    "ALTER TABLE gap ADD COLUMN hash BLOB;"
    "ALTER TABLE predicted ADD COLUMN hash BLOB;"
    "ALTER TABLE predicted_setting ADD COLUMN hash BLOB;"
    "ALTER TABLE expected ADD COLUMN hash BLOB;"
    "CREATE TABLE beat (id INTEGER PRIMARY KEY, node TEXT NOT NULL, incarnation INTEGER NOT NULL,"
    " sequence INTEGER NOT NULL, wall_ms INTEGER NOT NULL, frame BLOB NOT NULL, hash BLOB NOT NULL,"
    " UNIQUE (node, incarnation, sequence));"
    "CREATE TABLE seal (id INTEGER PRIMARY KEY, node TEXT NOT NULL, key_epoch INTEGER NOT NULL,"
    " incarnation INTEGER NOT NULL, wall_ms INTEGER NOT NULL, heads BLOB NOT NULL,"
    " signature BLOB NOT NULL);"
    "CREATE INDEX change_time ON change (wall_ms);"
    "CREATE INDEX change_event ON change (event_recovery_ms, event_pass);"
    "CREATE INDEX verdict_event ON verdict (event_recovery_ms, event_pass);"
    /* What clients/logbook/rows.c bounds by time; tests/logbook/test_plans.c holds them to it. */
    "CREATE INDEX judged_loss ON judged (wall_ms) WHERE kind IN ('lost', 'heard');"
    "CREATE INDEX verdict_time ON verdict (wall_ms);"
    "CREATE INDEX alert_time ON alert (wall_ms);"
    "CREATE INDEX alert_event ON alert (event_recovery_ms, event_pass);"
    "CREATE INDEX gap_time ON gap (wall_ms);"
    "CREATE INDEX beat_time ON beat (wall_ms);"
    "CREATE INDEX predicted_arrest ON predicted (event_recovery_ms, event_pass)"
    " WHERE engaging_kt_x10 IS NOT NULL;"
    "CREATE VIEW accepted AS SELECT * FROM change AS c WHERE NOT EXISTS (SELECT 1 FROM judged AS j"
    " WHERE j.node = c.node AND j.incarnation = c.incarnation AND j.change_sequence = c.sequence"
    " AND j.kind = 'refused');"
    "CREATE VIEW pass_result AS SELECT event_recovery_ms, event_pass, wall_ms,"
    " strftime('%Y-%m-%dT%H:%M:%SZ', wall_ms / 1000, 'unixepoch') AS utc, node AS said_by,"
    " CASE outcome WHEN 53 THEN 'trap' WHEN 74 THEN 'bolter' WHEN 108 THEN 'wave-off' END AS "
    "result,"
    " wire, id AS change_id FROM accepted WHERE kind = 'result' AND known = 1;"
    "CREATE VIEW verdict_edge AS SELECT validator, wall_ms,"
    " strftime('%Y-%m-%dT%H:%M:%SZ', wall_ms / 1000, 'unixepoch') AS utc, event_recovery_ms,"
    " event_pass, word, rule, station, state, text, drill FROM verdict;"
    "CREATE VIEW alert_edge AS SELECT validator, wall_ms,"
    " strftime('%Y-%m-%dT%H:%M:%SZ', wall_ms / 1000, 'unixepoch') AS utc, step, severity, rule,"
    " station, event_recovery_ms, event_pass FROM alert;"
    "PRAGMA user_version = 3;"
    "COMMIT;";

const struct tl_sql_table tl_sql_tables[TL_TABLES] = {
    [TL_TABLE_CHANGE] =
        {"node, incarnation, sequence, wall_ms, event_recovery_ms, event_pass, kind,"
         " slot, voice_for, known, stated_for, word, number, side, type, weight_lb,"
         " fuel_lb, state, outcome, wire, frame",
         "node, incarnation, sequence"},
    [TL_TABLE_JUDGED] = {"validator, validator_incarnation, sequence, now_ms, node, incarnation,"
                         " change_sequence, kind, reason, wall_ms, event_recovery_ms, event_pass,"
                         " word, causes, rule, station, frame",
                         "validator, validator_incarnation, sequence"},
    [TL_TABLE_VERDICT] = {"validator, validator_incarnation, sequence, wall_ms, event_recovery_ms,"
                          " event_pass, tick, word, rule, station, state, text, drill",
                          "validator, validator_incarnation, sequence"},
    [TL_TABLE_ALERT] = {"validator, validator_incarnation, sequence, wall_ms, step, rule, station,"
                        " severity, event_recovery_ms, event_pass, subject_node,"
                        " subject_incarnation, subject_sequence",
                        NULL},
    [TL_TABLE_GAP] = {"node, incarnation, first, last, wall_ms", "node, incarnation, first"},
    [TL_TABLE_PREDICTED] = {"validator, validator_incarnation, sequence, event_recovery_ms,"
                            " event_pass, type, weight_lb, barricade, headwind_kt_x10,"
                            " engaging_kt_x10, energy_kftlb, margin_percent, aid_type,"
                            " angle_deg_x100, target_wire, pitch_deg_x10, clearance_ft_x10,"
                            " touchdown_ft_x10, ramp_s_x10, wave_off_gear_s_x10,"
                            " wave_off_people_s_x10, reset_s_x10",
                            "validator, validator_incarnation, sequence"},
    [TL_TABLE_SETTING] = {"validator, validator_incarnation, sequence, set_lb, bottoms, parts,"
                          " end_kt_x10, hook_lbf, tension_percent, stroke_in_x10, expect_in_x10,"
                          " runout_ft_x10",
                          "validator, validator_incarnation, sequence, set_lb"},
    [TL_TABLE_EXPECTED] = {"validator, validator_incarnation, sequence, unit, event_recovery_ms,"
                           " event_pass, ram_in_x10",
                           "validator, validator_incarnation, sequence"},
    [TL_TABLE_BEAT] = {"node, incarnation, sequence, wall_ms, frame",
                       "node, incarnation, sequence"},
};

static uint32_t
count_columns(const char *columns)
{
    uint32_t count = 1;
    for (; *columns != '\0'; columns++) {
        count += *columns == ',' ? 1 : 0;
    }
    return count;
}

void
tl_sql_insert(enum tl_record_table table, char sql[TL_SQL_CAP])
{
    const struct tl_sql_table *row = &tl_sql_tables[table];
    size_t used = (size_t)snprintf(sql, TL_SQL_CAP, "INSERT INTO %s (id, %s, hash) VALUES (?",
                                   tl_record_table_name(table), row->columns);
    for (uint32_t i = 0; i < count_columns(row->columns) + 1; i++) {
        used += (size_t)snprintf(sql + used, TL_SQL_CAP - used, ",?");
    }
    used += (size_t)snprintf(sql + used, TL_SQL_CAP - used, ")");
    if (row->unique != NULL) { /* of any other conflict the row would be lost in silence */
        used += (size_t)snprintf(sql + used, TL_SQL_CAP - used, " ON CONFLICT (%s) DO NOTHING",
                                 row->unique);
    }
    TL_REQUIRE(used < TL_SQL_CAP);
}

const char tl_sql_insert_seal[] = "INSERT INTO seal (id, node, key_epoch, incarnation, wall_ms,"
                                  " heads, signature) VALUES (?,?,?,?,?,?,?)";
const char tl_sql_last_seal[] = "SELECT id, heads, signature FROM seal ORDER BY id DESC LIMIT 1";

const char tl_sql_load[] = "WITH newest (life) AS (SELECT max("
                           " ifnull((SELECT max(incarnation) FROM change WHERE node = ?1), 0),"
                           " ifnull((SELECT max(incarnation) FROM gap WHERE node = ?1), 0)))"
                           " SELECT life, sequence AS first, sequence, 0 FROM change, newest"
                           " WHERE node = ?1 AND incarnation = life UNION ALL"
                           " SELECT life, first, last, 1 FROM gap, newest"
                           " WHERE node = ?1 AND incarnation = life ORDER BY first";
