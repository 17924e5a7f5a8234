/* SPDX-License-Identifier: Apache-2.0 */
/* need.c - see need.h. */
#include "broker/core/mechanics/need.h"

#include <math.h>
#include <stddef.h>

/* Greatest headwind that tl_engaging takes. */
static const double headwind_most_kt = 100.0;

/* Whether the limit is kept in that headwind. */
static enum tl_err
is_kept(struct tl_arrest_machine *machine, const struct tl_need_in *in, double headwind_kt,
        bool *kept, const char **why)
{
    const struct tl_engaging_in engaging_in = {.approach_kt = in->approach_kt,
                                               .air = in->air,
                                               .headwind_kt = headwind_kt,
                                               .glide_deg = in->glide_deg};
    struct tl_engaging_out engaging;
    struct tl_arrest_out out;
    *why = "the approach speed or the air is out of range";
    if (tl_engaging(&engaging_in, &engaging) != TL_OK) {
        return TL_BADARG;
    }
    const struct tl_arrest_in arrest = {.weight_lb = in->weight_lb,
                                        .set_lb = in->set_lb,
                                        .engaging_kt = engaging.engaging_kt,
                                        .thrust_lbf = in->thrust_lbf};
    if (tl_arrest_run(machine, &arrest, NULL, &out, why) != TL_OK) {
        return TL_BADARG;
    }
    *kept = in->limit == TL_NEED_HOOK_LOAD
                ? out.peak_hook_lbf <= in->most
                : out.end == TL_ARREST_STOPPED && out.stroke_in <= in->most;
    return TL_OK;
}

/* The wind that leaves the least engaging speed. */
static enum tl_err
find_most(const struct tl_need_in *in, double *headwind_kt)
{
    const struct tl_engaging_in still = {
        .approach_kt = in->approach_kt, .air = in->air, .glide_deg = in->glide_deg};
    struct tl_engaging_out out;
    enum tl_err err = tl_engaging(&still, &out);
    if (err == TL_OK) {
        *headwind_kt =
            fmin(fmax(out.engaging_kt - TL_NEED_ENGAGING_LEAST_KT, 0.0), headwind_most_kt);
    }
    return err;
}

enum tl_err
tl_need_headwind(struct tl_arrest_machine *machine, const struct tl_need_in *in,
                 double *headwind_kt, const char **why)
{
    double low = 0.0;
    double high = 0.0;
    bool kept = false;
    *why = "the limit, the approach speed or the air is out of range";
    if (in->limit == TL_NEED_UNKNOWN || !(in->most > 0.0) || find_most(in, &high) != TL_OK) {
        return TL_BADARG;
    }
    enum tl_err err = is_kept(machine, in, low, &kept, why);
    if (err != TL_OK || kept) {
        *headwind_kt = err == TL_OK ? low : *headwind_kt;
        return err;
    }
    err = is_kept(machine, in, high, &kept, why);
    if (err != TL_OK || !kept) {
        return err != TL_OK ? err : TL_REFUSED;
    }
    while (high - low > TL_NEED_WITHIN_KT) {
        double middle = 0.5 * (low + high);
        err = is_kept(machine, in, middle, &kept, why);
        if (err != TL_OK) {
            return err;
        }
        low = kept ? low : middle;
        high = kept ? middle : high;
    }
    *headwind_kt = high;
    return TL_OK;
}
