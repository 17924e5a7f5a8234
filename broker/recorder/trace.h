/* SPDX-License-Identifier: Apache-2.0 */
/*
 * trace.h - what changed in the verdicts and alerts of each validator: only that is recorded
 *
 * Verdicts come five times a second and alerts as whole sets. Pure: no file, clock or heap.
 */
#ifndef TL_RECORDER_TRACE_H
#define TL_RECORDER_TRACE_H

#include "proto/vocab/config.h"

enum {
    TL_ALERT_STEPS_MAX = 2 * TL_ALERTS_MAX
};

struct tl_alert_step {
    bool raised; /* else gone */
    struct tl_alert alert;
};

/* Newest frame of one kind that was looked at. */
struct tl_seen {
    uint64_t incarnation, sequence;
};

struct tl_traced {
    char validator[TL_ID_CAP];
    struct tl_seen verdict_seen, alerts_seen;
    enum tl_word word;
    struct tl_cause first;
    struct tl_event event;
    uint32_t alert_count;
    struct tl_alert alert[TL_ALERTS_MAX];
};

struct tl_trace {
    uint32_t count;
    struct tl_traced traced[TL_VALIDATORS_MAX];
};

/* Nothing seen: the next verdict and every active alert count as changed. */
void tl_trace_init(struct tl_trace *trace);

/*
 * True when the word, the first cause (rule, station, state), the event or the incarnation is
 * another than in the last verdict of that validator. An older frame is no change.
 */
bool tl_trace_verdict(struct tl_trace *trace, const struct tl_envelope *envelope);

/* Alerts raised and gone since the last set of that validator; returns how many steps. */
uint32_t tl_trace_alerts(struct tl_trace *trace, const struct tl_envelope *envelope,
                         struct tl_alert_step steps[TL_ALERT_STEPS_MAX]);

#endif
