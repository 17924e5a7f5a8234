/* SPDX-License-Identifier: Apache-2.0 */
/* spoil.h - what may go wrong in a scene, one thing at a time, and exactly what must be said. */
#ifndef TESTS_RULES_SPOIL_H
#define TESTS_RULES_SPOIL_H

#include "tests/rules/scene.h"

typedef void spoil_fn(struct scene *scene);

struct spoil_row {
    const char *name;
    spoil_fn *spoil;
    const char *causes; /* "" = still READY */
};

/* The ship in memory: plover 34,000 lb, +- 1,000 for the type, +- 500 to the order. */
const struct spoil_row *spoil_rows(size_t *count);

struct tl_datum *spoil_datum(struct scene *scene, const char *station, enum tl_datum_kind kind,
                             uint32_t slot);

spoil_fn spoil_battery_unknown, spoil_battery_out, spoil_foul_routine, spoil_hook_unknown,
    spoil_wind_unknown, spoil_repeater_unread, spoil_call_unknown, spoil_set_unknown,
    spoil_other_aircraft;

#endif
