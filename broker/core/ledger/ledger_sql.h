/* SPDX-License-Identifier: Apache-2.0 */
/*
 * ledger_sql.h - which rows of a record a ledger is folded from: the same for the recorder and for
 * trapline log. docs/record.md has the tables.
 *
 * Rows of before schema 3 have no frame, and no serial: left out.
 */
#ifndef TL_CORE_LEDGER_LEDGER_SQL_H
#define TL_CORE_LEDGER_LEDGER_SQL_H

#define TL_LEDGER_SCHEMA_FIRST 3

/* node, incarnation, sequence, wall_ms, frame, then 1 or 0: a validator applied it; one refused it */
#define TL_LEDGER_CHANGES_SQL                                                                      \
    "SELECT c.node, c.incarnation, c.sequence, c.wall_ms, c.frame, EXISTS (SELECT 1 FROM judged"   \
    " AS j WHERE j.node = c.node AND j.incarnation = c.incarnation"                                \
    " AND j.change_sequence = c.sequence AND j.kind = 'applied'), EXISTS (SELECT 1 FROM judged"    \
    " AS j WHERE j.node = c.node AND j.incarnation = c.incarnation"                                \
    " AND j.change_sequence = c.sequence AND j.kind = 'refused') FROM change AS c"                 \
    " WHERE c.kind IN ('recovery', 'order', 'set', 'result', 'inspected', 'cable',"                \
    " 'pendant-life') AND c.frame IS NOT NULL ORDER BY c.id"

/* event_recovery_ms, event_pass, set_lb, tension_percent: rising by event */
#define TL_LEDGER_LOADS_SQL                                                                        \
    "SELECT p.event_recovery_ms, p.event_pass, s.set_lb, max(s.tension_percent)"                   \
    " FROM predicted AS p JOIN predicted_setting AS s ON s.validator = p.validator"                \
    " AND s.validator_incarnation = p.validator_incarnation AND s.sequence = p.sequence"           \
    " GROUP BY p.event_recovery_ms, p.event_pass, s.set_lb"                                        \
    " ORDER BY p.event_recovery_ms, p.event_pass"

#endif
