/* SPDX-License-Identifier: Apache-2.0 */
/*
 * table_computed.c - the fields of what is computed for a pass. See fields.h, and computed.c.
 *
 * A text begins with its number where it has one; computed.c reads it, and so does whoever judges
 * the pictures from the outside. Each figure has a value at its bound and one past it; each input,
 * that of the good picture and others that the picture can have.
 */
#include "tests/oracle/table.h"

/* A value that is set by the field's own function, from its text. */
#define HAND(words)                                                                                \
    {                                                                                              \
        FIELD_BY_HAND, {.sequence = 0}, 0, words                                                   \
    }

/* clang-format off */
const struct field computed_fields[] = {
    {"computed for the pass", NULL, TL_DATUM_UNKNOWN, 0, 0, 4, {HAND("the current one"), HAND("none: nothing is computed"), HAND("pass 2 of its recovery"), HAND("pass 1 of another recovery")}, set_for_pass},
    {"computed for the type", NULL, TL_DATUM_UNKNOWN, 0, 0, 3, {HAND("plover"), HAND("dunlin"), HAND("curlew")}, set_for_type},
    {"computed for a recovery", NULL, TL_DATUM_UNKNOWN, 0, 0, 2, {HAND("on the wires"), HAND("into the barricade")}, set_for_barricade},
    {"computed for the weight, lb", NULL, TL_DATUM_UNKNOWN, 0, 0, 7, {HAND("33500"), HAND("33501"), HAND("34000"), HAND("32501"), HAND("32500"), HAND("31000"), HAND("0: not known")}, set_for_weight},
    {"arrest", NULL, TL_DATUM_UNKNOWN, 0, 0, 2, {HAND("computed"), HAND("not computed")}, set_arrest_known},
    {"headwind counted on, kn", NULL, TL_DATUM_UNKNOWN, 0, 0, 8, {HAND("26.0"), HAND("27.0"), HAND("25.0"), HAND("20.0"), HAND("21.0"), HAND("19.0"), HAND("-1.0"), HAND("0.0")}, set_counted_wind},
    {"energy computed, thousand ft-lbf", NULL, TL_DATUM_UNKNOWN, 0, 0, 2, {HAND("43500"), HAND("43501")}, set_energy},
    {"energy margin computed, percent", NULL, TL_DATUM_UNKNOWN, 0, 0, 3, {HAND("10"), HAND("9"), HAND("-1")}, set_margin},
    {"outcome computed for a setting, lb", NULL, TL_DATUM_UNKNOWN, 34000, 0, 8, {HAND("stops"), HAND("bottoms"), HAND("parts"), HAND("ram 190.1 in"), HAND("hook 90001 lbf"), HAND("ram 190.1 in, hook 90001 lbf"), HAND("bottoms, hook 90001 lbf"), HAND("not computed")}, set_outcome},
    {"outcome computed for a setting, lb", NULL, TL_DATUM_UNKNOWN, 33500, 0, 5, {HAND("stops"), HAND("bottoms"), HAND("hook 90001 lbf"), HAND("ram 190.1 in, hook 90001 lbf"), HAND("not computed")}, set_outcome},
    {"outcome computed for a setting, lb", NULL, TL_DATUM_UNKNOWN, 32000, 0, 5, {HAND("stops"), HAND("bottoms"), HAND("hook 90001 lbf"), HAND("ram 190.1 in, hook 90001 lbf"), HAND("not computed")}, set_outcome},
    {"outcome computed for every other setting", NULL, TL_DATUM_UNKNOWN, 0, 0, 3, {HAND("stops"), HAND("ram 190.1 in, hook 90001 lbf"), HAND("not computed")}, set_outcome},
    {"ramp", NULL, TL_DATUM_UNKNOWN, 0, 0, 2, {HAND("computed"), HAND("not computed")}, set_ramp_known},
    {"ramp: aid set for", NULL, TL_DATUM_UNKNOWN, 0, 0, 4, {HAND("plover"), HAND("curlew"), HAND("dunlin"), HAND("stint")}, set_ramp_type},
    {"ramp: angle, deg", NULL, TL_DATUM_UNKNOWN, 0, 0, 3, {HAND("3.50"), HAND("3.75"), HAND("4.00")}, set_ramp_angle},
    {"ramp: target wire", NULL, TL_DATUM_UNKNOWN, 0, 0, 4, {HAND("3"), HAND("2"), HAND("4"), HAND("1")}, set_ramp_wire},
    {"ramp: pitch counted on, deg", NULL, TL_DATUM_UNKNOWN, 0, 0, 5, {HAND("0.5"), HAND("0.4"), HAND("1.4"), HAND("1.5"), HAND("1.6")}, set_ramp_pitch},
    {"ramp clearance computed, ft", NULL, TL_DATUM_UNKNOWN, 0, 0, 3, {HAND("10.0"), HAND("9.9"), HAND("-1.0")}, set_clearance},
    {"touchdown computed off the aim, ft", NULL, TL_DATUM_UNKNOWN, 0, 0, 4, {HAND("-20.0"), HAND("-20.1"), HAND("20.0"), HAND("20.1")}, set_touchdown},
    {"times", NULL, TL_DATUM_UNKNOWN, 0, 0, 2, {HAND("computed"), HAND("not computed")}, set_times_known},
    {"time computed from the call to the ramp, s", NULL, TL_DATUM_UNKNOWN, 0, 0, 5, {HAND("25.0"), HAND("24.9"), HAND("25.1"), HAND("40.0"), HAND("10.0")}, set_ramp_s},
    {"reset computed, s", NULL, TL_DATUM_UNKNOWN, 0, 0, 2, {HAND("32.0"), HAND("32.1")}, set_reset},
    {"wave-off with people computed, s", NULL, TL_DATUM_UNKNOWN, 0, 0, 3, {HAND("12.0"), HAND("11.9"), HAND("12.5")}, set_wave_off},
    {"since when wind or motion is worse than counted on", NULL, TL_DATUM_UNKNOWN, 0, 0, 5, {HAND("no time kept"), HAND("0 ms"), HAND("500 ms"), HAND("501 ms"), HAND("60000 ms")}, set_sea_late},
    {"ram travel computed for the last trap, in", "engine-1", TL_DATUM_UNKNOWN, 1, 0, 8, {HAND("none"), HAND("pass 3 of recovery 5000, 200.0"), HAND("pass 3 of recovery 5000, 200.1"), HAND("pass 3 of recovery 5000, 180.0"), HAND("pass 3 of recovery 5000, 179.9"), HAND("pass 3 of recovery 5000, 185.0"), HAND("pass 2 of recovery 5000, 185.0"), HAND("pass 3 of recovery 4000, 180.0")}, set_expected},
    {"ram travel computed for the last trap, in", "engine-2", TL_DATUM_UNKNOWN, 2, 0, 8, {HAND("none"), HAND("pass 3 of recovery 5000, 200.0"), HAND("pass 3 of recovery 5000, 200.1"), HAND("pass 3 of recovery 5000, 180.0"), HAND("pass 3 of recovery 5000, 179.9"), HAND("pass 3 of recovery 5000, 185.0"), HAND("pass 2 of recovery 5000, 185.0"), HAND("pass 3 of recovery 4000, 180.0")}, set_expected},
    {"ram travel computed for the last trap, in", "engine-3", TL_DATUM_UNKNOWN, 3, 0, 8, {HAND("none"), HAND("pass 3 of recovery 5000, 200.0"), HAND("pass 3 of recovery 5000, 200.1"), HAND("pass 3 of recovery 5000, 180.0"), HAND("pass 3 of recovery 5000, 179.9"), HAND("pass 3 of recovery 5000, 185.0"), HAND("pass 2 of recovery 5000, 185.0"), HAND("pass 3 of recovery 4000, 180.0")}, set_expected},
    {"ram travel computed for the last trap, in", "engine-4", TL_DATUM_UNKNOWN, 4, 0, 8, {HAND("none"), HAND("pass 3 of recovery 5000, 200.0"), HAND("pass 3 of recovery 5000, 200.1"), HAND("pass 3 of recovery 5000, 180.0"), HAND("pass 3 of recovery 5000, 179.9"), HAND("pass 3 of recovery 5000, 185.0"), HAND("pass 2 of recovery 5000, 185.0"), HAND("pass 3 of recovery 4000, 180.0")}, set_expected},
    {"the pass that ended last", NULL, TL_DATUM_UNKNOWN, 0, 0, 8, {HAND("none in this recovery"), HAND("trap 24000 ms ago"), HAND("trap 23999 ms ago"), HAND("trap 25000 ms ago"), HAND("trap 24999 ms ago"), HAND("trap 1000 ms ago"), HAND("bolter 1000 ms ago"), HAND("wave-off 1000 ms ago")}, set_last},
    {"rules on computed figures switched off", NULL, TL_DATUM_UNKNOWN, 0, 0, 12, {HAND("none"), HAND("85 86 87 88 89 90 91 92"), HAND("85"), HAND("86"), HAND("87"), HAND("88"), HAND("89"), HAND("90"), HAND("91"), HAND("92"), HAND("86 88"), HAND("85 86 88")}, set_computed_off},
    {"other rules switched off", NULL, TL_DATUM_UNKNOWN, 0, 0, 10, {HAND("none"), HAND("58"), HAND("11"), HAND("14"), HAND("73"), HAND("77"), HAND("57"), HAND("82"), HAND("3"), HAND("2")}, set_others_off},
};
/* clang-format on */
const size_t computed_fields_number = sizeof computed_fields / sizeof computed_fields[0];
