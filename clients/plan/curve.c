/* SPDX-License-Identifier: Apache-2.0 */
/* curve.c - see curve.h. */
#include "clients/plan/curve.h"

#include <stdlib.h>

enum {
    FIRST_CAP = 1024
};

/* Both arrays or neither grow: cap is what both have. */
static bool
grow(struct tl_curves *curves)
{
    size_t cap = curves->cap > 0 ? 2 * curves->cap : FIRST_CAP;
    struct tl_plot_point *decel = realloc(curves->decel, cap * sizeof *decel);
    if (decel == NULL) {
        return false;
    }
    curves->decel = decel;
    struct tl_plot_point *tension = realloc(curves->tension, cap * sizeof *tension);
    if (tension == NULL) {
        return false;
    }
    curves->tension = tension;
    curves->cap = cap;
    return true;
}

static void
keep(void *ctx, const struct tl_arrest_moment *moment)
{
    struct tl_curves *curves = ctx;
    if (curves->failed || (curves->count == curves->cap && !grow(curves))) {
        curves->failed = true;
        return;
    }
    curves->decel[curves->count] = (struct tl_plot_point){moment->runout_ft, moment->decel_g};
    curves->tension[curves->count] = (struct tl_plot_point){moment->runout_ft, moment->tension_lbf};
    curves->count++;
}

struct tl_arrest_watch
tl_curves_watch(struct tl_curves *curves)
{
    return (struct tl_arrest_watch){.ctx = curves, .moment = keep};
}

void
tl_curves_close(struct tl_curves *curves)
{
    free(curves->decel);
    free(curves->tension);
    *curves = (struct tl_curves){0};
}
