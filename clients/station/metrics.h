/* SPDX-License-Identifier: Apache-2.0 */
/* metrics.h - what a station tells the ship's monitoring. Reads only. */
#ifndef TL_STATION_METRICS_H
#define TL_STATION_METRICS_H

#include "clients/station/session.h"

/* Fill and hand over a page when one is due. */
void tl_session_tell_metrics(struct tl_session *session, uint64_t now_ms);

#endif
