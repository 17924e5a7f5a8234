/* SPDX-License-Identifier: Apache-2.0 */
/* The factors against those that are published; each source beside its check. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "broker/core/mechanics/units.h"
#include "broker/core/mechanics/wind.h"
#include "tests/mechanics/probe.h"

struct factor {
    const char *name;
    double got, wanted, tolerance;
};

static void
check(const struct factor *rows, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        near(rows[i].name, rows[i].got, rows[i].wanted, rows[i].tolerance);
    }
}

/* NIST SP 811, App. B; foot, pound-force and foot-pound read in public tables that give its values,
 * the rest from memory. */
static void
exact_factors_are_the_published_ones(void **state)
{
    (void)state;
    const struct factor rows[] = {
        {"foot, m", TL_M_PER_FT, 0.3048, 0.0},
        {"inch, mm", TL_M_PER_IN * 1000.0, 25.4, 1e-14},
        {"pound, kg", TL_KG_PER_LB, 0.45359237, 0.0},
        {"standard gravity, m/s2", TL_MS2_PER_G, 9.80665, 0.0},
        {"knot, m/s", TL_MS_PER_KT, 0.514444444444444, 1e-15},
        {"nautical mile, m", TL_M_PER_NMI, 1852.0, 0.0},
        {"pound-force, N", TL_N_PER_LBF, 4.4482216152605, 1e-14},
        {"foot-pound, J", TL_J_PER_FTLBF, 1.3558179483314004, 1e-15},
        {"psi, Pa", TL_PA_PER_PSI, 6894.757293168, 1e-9},
        {"slug, kg", TL_N_PER_LBF / TL_M_PER_FT, 14.59390, 5e-6},
    };

    check(rows, sizeof rows / sizeof rows[0]);
}

/* NAVFAC design manual, appendix B: 1 kip = 4.44822 kN. */
static void
kip_is_the_published_one(void **state)
{
    (void)state;
    near("kip, kN", 1000.0 * TL_N_PER_LBF / 1000.0, 4.44822, 5e-6);
}

/* Own derivation from the exact ones. */
static void
factors_that_follow_are_right(void **state)
{
    (void)state;
    const struct factor rows[] = {
        {"knot, ft/s", TL_FTS_PER_KT, 1.6878098571, 5e-11},
        {"standard gravity, ft/s2", TL_MS2_PER_G / TL_M_PER_FT, 32.17404856, 5e-9},
        {"hectopascal, Pa", TL_PA_PER_HPA, 100.0, 0.0},
        {"0 degrees Celsius, K", TL_K_AT_0_C, 273.15, 0.0},
        {"half a turn, rad", 180.0 * TL_RAD_PER_DEG, 3.141592653589793, 1e-15},
    };

    check(rows, sizeof rows / sizeof rows[0]);
}

static void
wind_counts_with_the_same_knot(void **state)
{
    (void)state;
    near("knot, m/s", TL_WIND_MS_PER_KT, TL_MS_PER_KT, 0.0);
    near("knot, km/h", TL_WIND_KMH_PER_KT, TL_M_PER_NMI / 1000.0, 0.0);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(exact_factors_are_the_published_ones),
        cmocka_unit_test(kip_is_the_published_one),
        cmocka_unit_test(factors_that_follow_are_right),
        cmocka_unit_test(wind_counts_with_the_same_knot),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
