/* SPDX-License-Identifier: Apache-2.0 */
/*
 * predict.h - one question of the judge, answered in integers rounded to the unfavourable side.
 *
 * An answer names the inputs that it was computed for. What cannot be computed (a figure not
 * configured, weight or wind not known, no solution) is left out of it: it is then not known, and
 * nothing takes its place. The same question has the same answer on every host of one build.
 */
#ifndef BROKER_CORE_MECHANICS_PREDICT_H
#define BROKER_CORE_MECHANICS_PREDICT_H

#include "broker/core/rules/ask.h"
#include "proto/base/err.h"
#include "proto/vocab/config.h"

struct tl_predictor;

/*
 * Make a solver for that configuration, borrowed for as long. Where a figure is not given, what
 * needs it is not computed.
 *
 * TL_CONFIG: a figure of the gear is absurd; *why is then a sentence. TL_NOMEM.
 */
TL_MUST_USE enum tl_err tl_predictor_open(const struct tl_config *config,
                                          struct tl_predictor **predictor, const char **why);
/* Accepts NULL; nulls the caller's pointer. */
void tl_predictor_close(struct tl_predictor **predictor);

/* Answer one question; up to TL_WOULDS_MAX arrestments, kept by their inputs. Total. */
void tl_predictor_run(struct tl_predictor *predictor, const struct tl_ask *ask,
                      struct tl_predicted *out);

#endif
