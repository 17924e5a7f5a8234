/* SPDX-License-Identifier: Apache-2.0 */
/*
 * reference.h - the arrestment a second time: from docs/mechanics.md, integrated by GSL.
 *
 * Written from the equations of the document, with another method (an explicit Runge-Kutta pair of
 * order 8), another starting point and nothing of the room under test but the struct of the gear.
 */
#ifndef TESTS_ARREST_REFERENCE_H
#define TESTS_ARREST_REFERENCE_H

#include <stdbool.h>

#include "broker/core/mechanics/arrest.h"

struct reference_exact {
    double tolerance; /* of one step, relative */
    double step_s;    /* no step is longer */
};
struct reference_out {
    bool bottomed;
    double runout_ft, time_s, stroke_in, off_centre_ft, end_kt;
    double peak_hook_lbf, peak_at_ft, peak_tension_lbf;
    long steps;
};
/* False: the solver gave up, or 200 s were not enough. */
bool reference_run(const struct tl_arrest_gear *gear, const struct tl_arrest_in *in,
                   struct reference_exact exact, struct reference_out *out);

/*
 * Again and again with half the tolerance and half the step, until neither run-out nor time nor peak
 * moves by more than `still` of itself. False: it never settled.
 */
bool reference_settle(const struct tl_arrest_gear *gear, const struct tl_arrest_in *in,
                      double still, struct reference_out *out);

#endif
