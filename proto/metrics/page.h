/* SPDX-License-Identifier: Apache-2.0 */
/*
 * page.h - the figures of a program as text: OpenMetrics 1.0 ("OpenMetrics, a cloud-native, highly
 * scalable metrics protocol", text format, November 2020)
 *
 * Pure: values in, text out, in memory of the caller. The page begins a family with its first
 * sample, so samples come in the order of enum tl_metric, all of one family together.
 *
 * Invariants:
 *  1. A page that is too long, or whose samples came in another order, is bad and nothing of it is
 *     to be written: a page lies to nobody by what it leaves out.
 *  2. Label values are escaped as the format wants and made plain (proto/base/text.h). They come
 *     from the configuration and from tables of ours alone; never from a frame.
 */
#ifndef TL_METRICS_PAGE_H
#define TL_METRICS_PAGE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "proto/metrics/names.h"

enum {
    TL_METRICS_PAGE_MAX = 196608,
    TL_METRICS_LABEL_CAP = 64 /* of a value; what is longer is cut */
};

struct tl_metrics_page {
    size_t used;
    enum tl_metric last; /* the family that is open */
    bool bad;
    char text[TL_METRICS_PAGE_MAX];
};

/* Empty it. */
void tl_metrics_clear(struct tl_metrics_page *page);

/* One sample of a gauge or a counter. label: the value of its one label, NULL where it has none. */
void tl_metrics_put(struct tl_metrics_page *page, enum tl_metric metric, const char *label,
                    uint64_t value);
/* The same in seconds, of milliseconds. */
void tl_metrics_put_ms(struct tl_metrics_page *page, enum tl_metric metric, const char *label,
                       uint64_t ms);

/* An info: a value for each label of its row. */
void tl_metrics_put_info(struct tl_metrics_page *page, enum tl_metric metric,
                         const char *const value[TL_METRIC_LABELS_MAX]);

/* A set of states, of which one holds: that of index `on`, or none when it is not below `count`. */
struct tl_metrics_states {
    const char *label; /* value of the label before; NULL where there is none */
    const char *const *state;
    size_t count;
    size_t on;
};
void tl_metrics_put_states(struct tl_metrics_page *page, enum tl_metric metric,
                           const struct tl_metrics_states *states);

/* The last line. False when the page is bad. */
bool tl_metrics_end(struct tl_metrics_page *page);

#endif
