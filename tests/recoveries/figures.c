/* SPDX-License-Identifier: Apache-2.0 */
/* figures.c - see figures.h. All constants are invented. */
#include "tests/recoveries/figures.h"

enum {
    APPROACH_KT = 130
};

struct figures
figures_compute(const struct figures_of *of)
{
    uint32_t engaging_kt = (uint32_t)(APPROACH_KT - of->headwind_kt);
    bool light = of->set_lb < of->weight_lb;
    uint32_t off_lb = light ? of->weight_lb - of->set_lb : of->set_lb - of->weight_lb;
    return (struct figures){.energy_kftlb = of->weight_lb * engaging_kt / 220 * engaging_kt / 100,
                            .hook_lbf = 2 * of->weight_lb + 4 * off_lb + 300 * engaging_kt,
                            .stroke_in_x10 = 1500 + engaging_kt + (light ? off_lb / 2 : 0)};
}

uint32_t
figures_hook_max_lbf(uint32_t type_setting_lb)
{
    return 2 * type_setting_lb + 35400;
}
