/* SPDX-License-Identifier: Apache-2.0 */
/*
 * units.h - the factors between trade units and SI, in one place.
 *
 * Exact by definition: foot, pound, international knot and standard gravity (NIST SP 811, App. B;
 * foot and pound-force read in public tables, knot, pound and gravity from memory). The others
 * follow from them.
 */
#ifndef BROKER_CORE_MECHANICS_UNITS_H
#define BROKER_CORE_MECHANICS_UNITS_H

#define TL_M_PER_FT    0.3048
#define TL_M_PER_IN    0.0254
#define TL_KG_PER_LB   0.45359237
#define TL_MS2_PER_G   9.80665
#define TL_MS_PER_KT   (1852.0 / 3600.0)
#define TL_M_PER_NMI   1852.0
#define TL_N_PER_LBF   (TL_KG_PER_LB * TL_MS2_PER_G)
#define TL_J_PER_FTLBF (TL_N_PER_LBF * TL_M_PER_FT)
#define TL_PA_PER_PSI  (TL_N_PER_LBF / (TL_M_PER_IN * TL_M_PER_IN))
#define TL_PA_PER_HPA  100.0
#define TL_K_AT_0_C    273.15
#define TL_RAD_PER_DEG (3.14159265358979323846 / 180.0)
#define TL_FTS_PER_KT  (TL_MS_PER_KT / TL_M_PER_FT)

#endif
