/* SPDX-License-Identifier: Apache-2.0 */
/* table.h - the table of fields, and the functions that set what is not a word. */
#ifndef TESTS_ORACLE_TABLE_H
#define TESTS_ORACLE_TABLE_H

#include "tests/oracle/fields.h"

extern const struct field fields[];
extern const size_t fields_number;

/* Each takes a field's value; the scene is good but for that field and others set before. */
void set_trap(struct scene *scene, uint32_t value);
field_set_fn set_order, set_recovery, set_age, set_wind, set_motion, set_peer, set_bus,
    set_recorder, set_flood, set_override, set_live;

/* The station and the slot of the field that is being set: what set_live and set_trap are about. */
struct field_target {
    const char *station;
    uint32_t slot;
};
extern struct field_target field_target;

#endif
