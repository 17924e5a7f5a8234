/* SPDX-License-Identifier: Apache-2.0 */
/*
 * worker.h - the thread on which the mechanics are computed, so that no verdict waits for them.
 *
 * One question at a time: a newer one replaces one that has not been begun. A worker that hangs or
 * is not there answers nothing, and what it should have computed stays unknown.
 *
 * The descriptor is readable while an answer waits. All calls are the owner's thread.
 */
#ifndef TL_VALIDATOR_WORKER_H
#define TL_VALIDATOR_WORKER_H

#include "broker/core/rules/ask.h"
#include "proto/base/err.h"
#include "proto/vocab/config.h"

struct tl_worker;

/* TL_CONFIG: the gear's figures are absurd (*why a sentence); TL_NOMEM, TL_IO. */
TL_MUST_USE enum tl_err tl_worker_open(const struct tl_config *config, struct tl_worker **worker,
                                       const char **why);
/* Waits for the question that is being computed; accepts NULL, nulls the caller's pointer. */
void tl_worker_close(struct tl_worker **closing);

int tl_worker_fd(const struct tl_worker *worker);
/* Never blocks longer than it takes to copy. */
void tl_worker_ask(struct tl_worker *worker, const struct tl_ask *ask);
/* The newest answer, once. TL_EMPTY when there is none. */
TL_MUST_USE enum tl_err tl_worker_take(struct tl_worker *worker, struct tl_predicted *predicted);

#endif
