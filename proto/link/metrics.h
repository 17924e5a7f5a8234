/* SPDX-License-Identifier: Apache-2.0 */
/*
 * metrics.h - what every node that joins the bus tells on its page, and what a verdict is there
 *
 * Reads only; names and order are those of proto/metrics/names.h.
 */
#ifndef TL_LINK_METRICS_H
#define TL_LINK_METRICS_H

#include "proto/link/join.h"
#include "proto/metrics/writer.h"

/* The program, then what has passed through its sockets. started_ms: when it was ready. */
void tl_join_put_metrics(const struct tl_join *join, const char *program, uint64_t started_ms,
                         uint64_t now_ms, struct tl_metrics_page *page);

/*
 * Start the writer of the page that the command line names; NULL = none, and *out stays NULL.
 * Returns an exit code; on another than TL_EXIT_OK one line has been printed.
 */
enum tl_exit tl_open_metrics(const char *path, struct tl_metrics **out, const char *program);

/* The verdict and how many causes are listed with it. What is not READY is not ready. */
void tl_put_verdict(struct tl_metrics_page *page, enum tl_word word, uint32_t causes);

/* How many alerts are listed in each state. */
struct tl_alert_counts {
    uint32_t unacknowledged, acknowledged, returned;
};
void tl_count_alert(struct tl_alert_counts *counts, enum tl_alert_state state);
void tl_put_alerts(struct tl_metrics_page *page, const struct tl_alert_counts *counts);

#endif
