/* SPDX-License-Identifier: Apache-2.0 */
/*
 * names.h - every figure that a program tells the ship's monitoring, in the order of the page
 *
 * The one place for names, types and labels. docs/monitoring.md has the same table with what each
 * means; a test compares the two. A name that has been given is never used for something else.
 */
#ifndef TL_METRICS_NAMES_H
#define TL_METRICS_NAMES_H

enum tl_metric_type {
    TL_METRIC_TYPE_UNKNOWN = 0,
    TL_METRIC_GAUGE,
    TL_METRIC_COUNTER, /* since the start; never falls */
    TL_METRIC_INFO,    /* words about this program */
    TL_METRIC_STATES   /* one of several states; the last label is the name of the family */
};

enum {
    TL_METRIC_LABELS_MAX = 3
};

enum tl_metric {
    TL_METRIC_NONE = 0,
    /* of each program */
    TL_METRIC_BUILD,
    TL_METRIC_NODE,
    TL_METRIC_INCARNATION,
    TL_METRIC_UPTIME,
    TL_METRIC_WRITTEN,
    /* of what passes through its sockets; a broker has refusals alone of these */
    TL_METRIC_RECEIVED,
    TL_METRIC_RECEIVED_BYTES,
    TL_METRIC_SENT,
    TL_METRIC_SENT_BYTES,
    TL_METRIC_UNSENT,
    TL_METRIC_REFUSED,
    TL_METRIC_VERIFIED,
    TL_METRIC_BUS,
    TL_METRIC_BUS_RECEIVED,
    TL_METRIC_BUS_DUPLICATES,
    TL_METRIC_BUS_REBUILT,
    TL_METRIC_BUS_LAG,
    TL_METRIC_BEATS_MISSED,
    TL_METRIC_BEATS_LATE,
    /* of a broker */
    TL_METRIC_FORWARDED,
    TL_METRIC_FORWARDED_BYTES,
    TL_METRIC_CONNECTIONS,
    TL_METRIC_SUBSCRIPTIONS,
    TL_METRIC_HANDSHAKES,
    TL_METRIC_HANDSHAKES_FAILED,
    /* of the judgement: a validator's own, or as a station shows it */
    TL_METRIC_VERDICT,
    TL_METRIC_CAUSES,
    TL_METRIC_ALERTS,
    TL_METRIC_ALERTS_RAISED,
    TL_METRIC_STATION_LIVE,
    TL_METRIC_VALIDATOR_FRESH,
    /* of what a station has said */
    TL_METRIC_OUTBOX,
    TL_METRIC_UNSETTLED,
    TL_METRIC_UNRECORDED,
    TL_METRIC_OUTBOX_DROPPED,
    TL_METRIC_COMMANDS_DROPPED,
    /* of a recorder */
    TL_METRIC_RECORDING,
    TL_METRIC_WATERMARK,
    TL_METRIC_RECORD_LAG,
    TL_METRIC_ROWS,
    TL_METRIC_COMMITS,
    TL_METRIC_RECORD_LOST,
    TL_METRIC_RECORD_GAPS,
    /* of the process */
    TL_METRIC_RESIDENT,
    TL_METRIC_DESCRIPTORS,
    TL_METRIC_PAGES_SKIPPED,
    TL_METRIC_PAGES_FAILED,
    TL_METRICS
};

struct tl_metric_row {
    const char *name; /* of the family, with its unit and without _total or _info */
    enum tl_metric_type type;
    const char *unit; /* "" = none */
    const char *label[TL_METRIC_LABELS_MAX];
    const char *help;
};

/* The row of a metric; NULL for NONE and for a number that is none. */
const struct tl_metric_row *tl_metric_row(enum tl_metric metric);

#endif
