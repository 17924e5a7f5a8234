/* SPDX-License-Identifier: Apache-2.0 */
/*
 * need.h - the least headwind in which an arrestment keeps within a limit.
 *
 * Found by halving: more headwind is less engaging speed, and with it less hook load and less ram
 * travel. Energy has a closed form of its own, energy.h.
 */
#ifndef BROKER_CORE_MECHANICS_NEED_H
#define BROKER_CORE_MECHANICS_NEED_H

#include "broker/core/mechanics/air.h"
#include "broker/core/mechanics/arrest.h"

/* The answer is no further above the true one than this, kn, and never below it. */
#define TL_NEED_WITHIN_KT 0.01
/* Slower than this no aircraft is looked at, kn: a wind that needs it is not one. */
#define TL_NEED_ENGAGING_LEAST_KT 20.0

enum tl_need_limit {
    TL_NEED_UNKNOWN = 0,
    TL_NEED_HOOK_LOAD, /* peak of it, lbf */
    TL_NEED_STROKE     /* ram travel, in; a ram that met its stop is past every limit */
};

struct tl_need_in {
    double approach_kt; /* calibrated, at this weight */
    struct tl_air air;
    double glide_deg;
    double weight_lb, set_lb, thrust_lbf; /* as in struct tl_arrest_in; hook in the middle */
    enum tl_need_limit limit;
    double most; /* of what the limit is about, above 0 */
};

/*
 * Find the least headwind, kn, at which the limit is kept; 0 = none is needed.
 *
 * machine: borrowed, and run. headwind_kt: written on TL_OK only.
 * TL_REFUSED: no wind is enough. TL_BADARG: a value out of range, or an arrestment that has no
 * solution; *why is then a sentence, static.
 */
TL_MUST_USE enum tl_err tl_need_headwind(struct tl_arrest_machine *machine,
                                         const struct tl_need_in *in, double *headwind_kt,
                                         const char **why);

#endif
