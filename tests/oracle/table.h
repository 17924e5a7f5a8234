/* SPDX-License-Identifier: Apache-2.0 */
/* table.h - the table of fields, and the functions that set what is not a word. */
#ifndef TESTS_ORACLE_TABLE_H
#define TESTS_ORACLE_TABLE_H

#include "tests/oracle/fields.h"

extern const struct field fields[];
extern const size_t fields_number;
/* Of what is computed, and of rules that are off; they come after the others. */
extern const struct field computed_fields[];
extern const size_t computed_fields_number;

/* Each takes a field's value; the scene is good but for that field and others set before. */
field_set_fn set_trap, set_order, set_recovery, set_age, set_wind, set_motion, set_peer, set_bus,
    set_recorder, set_flood, set_override, set_live;
field_set_fn set_for_pass, set_for_type, set_for_barricade, set_for_weight, set_arrest_known,
    set_counted_wind, set_energy, set_margin, set_outcome, set_ramp_known, set_ramp_type,
    set_ramp_angle, set_ramp_wire, set_ramp_pitch, set_clearance, set_touchdown, set_times_known,
    set_ramp_s, set_reset, set_wave_off, set_sea_late, set_expected, set_last, set_computed_off,
    set_others_off;

#endif
