/* SPDX-License-Identifier: Apache-2.0 */
/* setup.h - the figures of the configuration as the mechanics take them. */
#ifndef BROKER_CORE_MECHANICS_SETUP_H
#define BROKER_CORE_MECHANICS_SETUP_H

#include "broker/core/mechanics/aid.h"
#include "broker/core/mechanics/air.h"
#include "broker/core/mechanics/arrest.h"
#include "broker/core/mechanics/timing.h"
#include "proto/vocab/config.h"

/*
 * Each: TL_OK, or TL_NOTFOUND when the configuration does not give a figure that it needs;
 * *missing is then its name (static). out is written on TL_OK only.
 */
TL_MUST_USE enum tl_err tl_setup_gear(const struct tl_config *config, struct tl_arrest_gear *out,
                                      const char **missing);
TL_MUST_USE enum tl_err tl_setup_air(const struct tl_config *config, struct tl_air *out,
                                     const char **missing);
TL_MUST_USE enum tl_err tl_setup_reset(const struct tl_config *config, struct tl_reset_in *out,
                                       const char **missing);
/*
 * Calibrated approach speed of that type at a weight, kn. TL_NOTFOUND: the type gives no approach_kt;
 * TL_BADARG: not a weight that it flies at (tl_approach_at).
 */
TL_MUST_USE enum tl_err tl_setup_approach(const struct tl_aircraft_type *type, double weight_lb,
                                          double *approach_kt);
/* Any one figure. */
TL_MUST_USE enum tl_err tl_setup_figure(const struct tl_config *config, enum tl_figure figure,
                                        double *out, const char **missing);

#endif
