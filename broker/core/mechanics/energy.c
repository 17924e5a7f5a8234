/* SPDX-License-Identifier: Apache-2.0 */
/*
 * energy - kinetic energy and work of the thrust, and the two questions asked backwards
 *
 * Backwards there is no search: what the margin leaves is a speed, and with a speed that goes with
 * the root of the weight the heaviest weight is the root of a square equation. Own derivation.
 */
#include "broker/core/mechanics/energy.h"

#include <math.h>

#include "broker/core/mechanics/bounds.h"
#include "broker/core/mechanics/units.h"

static const struct tl_bounds engaging_kt = {0.0, 300.0};
static const struct tl_bounds thrust_lbf = {0.0, 100000.0};
static const struct tl_bounds capacity_ftlb = {1.0, 1e9};
static const struct tl_bounds margin_least = {0.0, 0.95};

/* J per (m/s)^2 */
static double
halve_mass(double weight_lb)
{
    return 0.5 * weight_lb * TL_KG_PER_LB;
}

struct push {
    double thrust_lbf;
    double runout_ft;
};

static double
do_work_j(struct push push)
{
    return push.thrust_lbf * TL_N_PER_LBF * push.runout_ft * TL_M_PER_FT;
}

enum tl_err
tl_energy(const struct tl_energy_in *in, struct tl_energy_out *out)
{
    if (!tl_is_in(in->weight_lb, tl_bounds_weight_lb) ||
        !tl_is_above_in(in->engaging_kt, engaging_kt) || !tl_is_in(in->thrust_lbf, thrust_lbf) ||
        !tl_is_in(in->runout_ft, tl_bounds_deck_ft) ||
        !tl_is_in(in->capacity_ftlb, capacity_ftlb)) {
        return TL_BADARG;
    }
    double speed_ms = in->engaging_kt * TL_MS_PER_KT;
    double work_j = do_work_j((struct push){in->thrust_lbf, in->runout_ft});
    double energy_j = halve_mass(in->weight_lb) * speed_ms * speed_ms + work_j;
    double capacity_j = in->capacity_ftlb * TL_J_PER_FTLBF;
    double left_j = fmax(capacity_j - work_j, 0.0);

    out->energy_ftlb = energy_j / TL_J_PER_FTLBF;
    out->margin = 1.0 - energy_j / capacity_j;
    out->capacity_kt = sqrt(left_j / halve_mass(in->weight_lb)) / TL_MS_PER_KT;
    return TL_OK;
}

/* What the margin and the thrust leave for kinetic energy, J; may be negative. */
static enum tl_err
leave_j(const struct tl_energy_need_in *need, double *left_j)
{
    if (!tl_is_in(need->thrust_lbf, thrust_lbf) || !tl_is_in(need->runout_ft, tl_bounds_deck_ft) ||
        !tl_is_in(need->capacity_ftlb, capacity_ftlb) ||
        !tl_is_in(need->margin_least, margin_least)) {
        return TL_BADARG;
    }
    *left_j = need->capacity_ftlb * TL_J_PER_FTLBF * (1.0 - need->margin_least) -
              do_work_j((struct push){need->thrust_lbf, need->runout_ft});
    return TL_OK;
}

/* Engaging speed without any wind. */
static enum tl_err
go_forward_kt(const struct tl_energy_need_in *need, double *forward_kt)
{
    const struct tl_engaging_in in = {.approach_kt = need->approach_kt,
                                      .air = need->air,
                                      .headwind_kt = 0.0,
                                      .glide_deg = need->glide_deg};
    struct tl_engaging_out out;
    enum tl_err err = tl_engaging(&in, &out);

    if (err == TL_OK) {
        *forward_kt = out.engaging_kt;
    }
    return err;
}

enum tl_err
tl_energy_wind_needed(const struct tl_energy_need_in *in, double *headwind_kt)
{
    double left_j;
    double forward_kt;

    if (!tl_is_in(in->weight_lb, tl_bounds_weight_lb) || leave_j(in, &left_j) != TL_OK ||
        go_forward_kt(in, &forward_kt) != TL_OK) {
        return TL_BADARG;
    }
    if (left_j <= 0.0) {
        return TL_REFUSED;
    }
    double allowed_kt = sqrt(left_j / halve_mass(in->weight_lb)) / TL_MS_PER_KT;
    double needed_kt = fmax(forward_kt - allowed_kt, 0.0);

    if (!tl_is_in(needed_kt, tl_bounds_headwind_kt)) {
        return TL_REFUSED;
    }
    *headwind_kt = needed_kt;
    return TL_OK;
}

/*
 * With x the root of the weight, the speed is k x - U and the energy goes with (x (k x - U))^2: what
 * is left sets x (k x - U) = c, and the root that is not negative is taken.
 */
enum tl_err
tl_energy_heaviest(const struct tl_energy_heaviest_in *in, double *weight_lb)
{
    double left_j;
    double forward_kt;

    if (!tl_is_in(in->at_lb, tl_bounds_weight_lb) || !tl_is_in(in->most_lb, tl_bounds_weight_lb) ||
        !tl_is_in(in->headwind_kt, tl_bounds_headwind_kt) || leave_j(&in->need, &left_j) != TL_OK ||
        go_forward_kt(&in->need, &forward_kt) != TL_OK) {
        return TL_BADARG;
    }
    double k = forward_kt / sqrt(in->at_lb);
    double c = sqrt(fmax(left_j, 0.0) / halve_mass(1.0)) / TL_MS_PER_KT;
    double root = sqrt(in->headwind_kt * in->headwind_kt + 4.0 * k * c);
    /* with a wind from behind, a difference of near numbers is turned into a sum */
    double x = in->headwind_kt >= 0.0 ? (in->headwind_kt + root) / (2.0 * k)
                                      : 2.0 * c / (root - in->headwind_kt);
    double heaviest_lb = fmin(x * x, in->most_lb);

    if (left_j <= 0.0 || heaviest_lb < tl_bounds_weight_lb.least) {
        *weight_lb = 0.0;
        return TL_OK;
    }
    if (!(k * sqrt(heaviest_lb) > in->headwind_kt)) {
        return TL_BADARG;
    }
    *weight_lb = heaviest_lb;
    return TL_OK;
}
