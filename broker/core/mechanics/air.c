/* SPDX-License-Identifier: Apache-2.0 */
/*
 * air - the perfect gas, the standard atmosphere, and what they make of an airspeed
 *
 * Constants of ISO 2533 (the same as those of the US standard atmosphere of 1976), from memory; the
 * tables that the tests cite agree with them.
 */
#include "broker/core/mechanics/air.h"

#include <math.h>

#include "broker/core/mechanics/bounds.h"
#include "broker/core/mechanics/units.h"

static const double sea_level_k = 288.15;
static const double sea_level_pa = 101325.0;
static const double lapse_k_per_m = 0.0065; /* cooling with height, below 11 km */
static const double gas_j_per_kg_k = 287.05287;

static const struct tl_bounds temperature_c = {-60.0, 60.0};
static const struct tl_bounds pressure_hpa = {500.0, 1100.0};
static const struct tl_bounds standard_ft = {-1000.0, 36000.0}; /* the lapse ends at 11 km */
static const struct tl_bounds glide_deg = {0.0, 10.0};

enum tl_err
tl_air_density_ratio(const struct tl_air *air, double *sigma)
{
    if (!tl_is_in(air->temperature_c, temperature_c) ||
        !tl_is_in(air->pressure_hpa, pressure_hpa)) {
        return TL_BADARG;
    }
    double pressure_pa = air->pressure_hpa * TL_PA_PER_HPA;
    double temperature_k = air->temperature_c + TL_K_AT_0_C;

    *sigma = (pressure_pa / sea_level_pa) * (sea_level_k / temperature_k);
    return TL_OK;
}

enum tl_err
tl_air_standard(double height_ft, struct tl_air *air)
{
    if (!tl_is_in(height_ft, standard_ft)) {
        return TL_BADARG;
    }
    double temperature_k = sea_level_k - lapse_k_per_m * height_ft * TL_M_PER_FT;
    double exponent = TL_MS2_PER_G / (gas_j_per_kg_k * lapse_k_per_m);
    double pressure_pa = sea_level_pa * pow(temperature_k / sea_level_k, exponent);

    air->temperature_c = temperature_k - TL_K_AT_0_C;
    air->pressure_hpa = pressure_pa / TL_PA_PER_HPA;
    return TL_OK;
}

enum tl_err
tl_engaging(const struct tl_engaging_in *in, struct tl_engaging_out *out)
{
    double sigma;
    enum tl_err err = tl_air_density_ratio(&in->air, &sigma);

    if (err != TL_OK) {
        return err;
    }
    if (!tl_is_in(in->approach_kt, tl_bounds_airspeed_kt) ||
        !tl_is_in(in->headwind_kt, tl_bounds_headwind_kt) || !tl_is_in(in->glide_deg, glide_deg)) {
        return TL_BADARG;
    }
    double true_kt = in->approach_kt / sqrt(sigma);
    double engaging_kt = true_kt * cos(in->glide_deg * TL_RAD_PER_DEG) - in->headwind_kt;

    if (!(engaging_kt > 0.0)) {
        return TL_BADARG;
    }
    *out = (struct tl_engaging_out){.true_airspeed_kt = true_kt,
                                    .closure_kt = true_kt - in->headwind_kt,
                                    .engaging_kt = engaging_kt,
                                    .sigma = sigma};
    return TL_OK;
}

enum tl_err
tl_approach_at(const struct tl_approach_in *in, double *approach_kt)
{
    if (!tl_is_in(in->approach_kt, tl_bounds_airspeed_kt) ||
        !tl_is_in(in->at_lb, tl_bounds_weight_lb) ||
        !tl_is_in(in->weight_lb, tl_bounds_weight_lb)) {
        return TL_BADARG;
    }
    *approach_kt = in->approach_kt * sqrt(in->weight_lb / in->at_lb);
    return TL_OK;
}
