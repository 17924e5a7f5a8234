/* SPDX-License-Identifier: Apache-2.0 */
/* metrics.h - what a recorder tells the ship's monitoring. Reads only. */
#ifndef TL_RECORDER_METRICS_H
#define TL_RECORDER_METRICS_H

#include "broker/recorder/node.h"

/* A change of that station is known of: what a watermark is behind. */
void tl_recorder_note_known(struct tl_recorder *recorder, const struct tl_envelope *envelope);

/* Fill and hand over a page when one is due. */
void tl_recorder_tell_metrics(struct tl_recorder *recorder, uint64_t now_ms);

#endif
