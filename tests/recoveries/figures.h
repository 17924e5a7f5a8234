/* SPDX-License-Identifier: Apache-2.0 */
/*
 * figures.h - made-up mechanics: whole numbers that grow as an arrestment's would.
 *
 * Invented. More weight and less headwind are worse, a setting away from the weight loads the hook,
 * and one that is lighter lets the ram run out. The bounds let pass what the crew says when nobody
 * slips, and little more. The played mechanics and the oracle share this and nothing else; it
 * includes no file of the product.
 */
#ifndef TESTS_RECOVERIES_FIGURES_H
#define TESTS_RECOVERIES_FIGURES_H

#include <stdbool.h>
#include <stdint.h>

enum {
    FIGURES_CAPACITY_KFTLB = 23600, /* a curlew by the book, down to 22 kn of headwind */
    FIGURES_TRAVEL_MAX_IN_X10 = 1900,
    FIGURES_WIND_LEAST_KT = 24 /* on a day without trouble */
};

struct figures_of {
    uint32_t weight_lb; /* actual */
    uint32_t set_lb;
    int32_t headwind_kt;
};
struct figures {
    uint32_t energy_kftlb;
    uint32_t hook_lbf;
    uint32_t stroke_in_x10;
};

/* Weight and setting at most 60,000 lb, headwind 0 to 100 kn. */
struct figures figures_compute(const struct figures_of *of);

/* Of the type with that setting by the book. */
uint32_t figures_hook_max_lbf(uint32_t type_setting_lb);

#endif
