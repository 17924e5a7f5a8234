/* SPDX-License-Identifier: Apache-2.0 */
/* sql.c - see sql.h. */
#include "broker/recorder/sql.h"

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

const char *const tl_sql_statements[TL_SQL_STATEMENTS] = {
    [TL_SQL_PUT_CHANGE] =
        "INSERT INTO change (node, incarnation, sequence, wall_ms, event_recovery_ms, event_pass,"
        " kind, slot, voice_for, known, stated_for, word, number, side, type, weight_lb, fuel_lb,"
        " state, outcome, wire) VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)"
        " ON CONFLICT DO NOTHING",
    [TL_SQL_PUT_JUDGED] =
        "INSERT INTO judged (validator, validator_incarnation, sequence, now_ms, node,"
        " incarnation, change_sequence, kind, reason) VALUES (?,?,?,?,?,?,?,?,?)"
        " ON CONFLICT DO NOTHING",
    [TL_SQL_PUT_VERDICT] =
        "INSERT INTO verdict (validator, validator_incarnation, sequence, wall_ms,"
        " event_recovery_ms, event_pass, tick, word, rule, station, state, text, drill)"
        " VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?) ON CONFLICT DO NOTHING",
    [TL_SQL_PUT_ALERT] =
        "INSERT INTO alert (validator, validator_incarnation, sequence, wall_ms, step,"
        " rule, station, severity, event_recovery_ms, event_pass, subject_node,"
        " subject_incarnation, subject_sequence) VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?)",
    [TL_SQL_PUT_GAP] =
        "INSERT INTO gap (node, incarnation, first, last, wall_ms) VALUES (?,?,?,?,?)"
        " ON CONFLICT DO NOTHING",
    [TL_SQL_PUT_PREDICTED] =
        "INSERT INTO predicted (validator, validator_incarnation, sequence, event_recovery_ms,"
        " event_pass, type, weight_lb, barricade, headwind_kt_x10, engaging_kt_x10, energy_kftlb,"
        " margin_percent, aid_type, angle_deg_x100, target_wire, pitch_deg_x10, clearance_ft_x10,"
        " touchdown_ft_x10, ramp_s_x10, wave_off_gear_s_x10, wave_off_people_s_x10, reset_s_x10)"
        " VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?) ON CONFLICT DO NOTHING",
    [TL_SQL_PUT_SETTING] =
        "INSERT INTO predicted_setting (validator, validator_incarnation, sequence, set_lb,"
        " bottoms, parts, end_kt_x10, hook_lbf, tension_percent, stroke_in_x10, expect_in_x10,"
        " runout_ft_x10) VALUES (?,?,?,?,?,?,?,?,?,?,?,?) ON CONFLICT DO NOTHING",
    [TL_SQL_PUT_EXPECTED] =
        "INSERT INTO expected (validator, validator_incarnation, sequence, unit,"
        " event_recovery_ms, event_pass, ram_in_x10) VALUES (?,?,?,?,?,?,?)"
        " ON CONFLICT DO NOTHING",
};

const char tl_sql_load[] =
    "WITH row AS (SELECT node, incarnation, sequence AS first, sequence AS last, 0 AS is_gap"
    " FROM change UNION ALL SELECT node, incarnation, first, last, 1 FROM gap),"
    " newest AS (SELECT node, max(incarnation) AS incarnation FROM row GROUP BY node)"
    " SELECT row.node, row.incarnation, first, last, is_gap FROM row JOIN newest"
    " ON row.node = newest.node AND row.incarnation = newest.incarnation ORDER BY 1, 3";
