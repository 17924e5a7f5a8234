/* SPDX-License-Identifier: Apache-2.0 */
/* table.h - the table of fields, and the functions that set what is not a word. */
#ifndef TESTS_ORACLE_TABLE_H
#define TESTS_ORACLE_TABLE_H

#include "tests/oracle/fields.h"

extern const struct field fields[];
extern const size_t fields_number;

/* Each takes a field's value; the scene is good but for that field and others set before. */
field_set_fn set_trap, set_order, set_recovery, set_age, set_wind, set_motion, set_peer, set_bus,
    set_recorder, set_flood, set_override, set_live;

#endif
