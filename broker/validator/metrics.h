/* SPDX-License-Identifier: Apache-2.0 */
/* metrics.h - what a validator tells the ship's monitoring. Reads only. */
#ifndef TL_VALIDATOR_METRICS_H
#define TL_VALIDATOR_METRICS_H

#include "broker/validator/node.h"

/* Fill and hand over a page when one is due. */
void tl_validator_tell_metrics(struct tl_validator *validator, uint64_t now_ms);

#endif
