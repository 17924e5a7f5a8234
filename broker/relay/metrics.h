/* SPDX-License-Identifier: Apache-2.0 */
/*
 * metrics - what a broker tells the ship's monitoring
 *
 * Reads only. What it says of itself on bus/<bus>/ is for the nodes, and less.
 */
#ifndef BROKER_RELAY_METRICS_H
#define BROKER_RELAY_METRICS_H

#include "broker/relay/state.h"

/* Fill and hand over a page when one is due. */
void tl_relay_tell_metrics(struct tl_relay *relay, uint64_t now_ms);

#endif
