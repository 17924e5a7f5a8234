/* SPDX-License-Identifier: Apache-2.0 */
/* trace.c - see trace.h. */
#include "broker/recorder/trace.h"

#include <string.h>

void
tl_trace_init(struct tl_trace *trace)
{
    memset(trace, 0, sizeof *trace);
}

static struct tl_traced *
traced_of(struct tl_trace *trace, const char *validator)
{
    for (uint32_t i = 0; i < trace->count; i++) {
        if (strncmp(trace->traced[i].validator, validator, TL_ID_CAP) == 0) {
            return &trace->traced[i];
        }
    }
    if (trace->count == TL_VALIDATORS_MAX) {
        return NULL;
    }
    struct tl_traced *traced = &trace->traced[trace->count++];
    memset(traced, 0, sizeof *traced);
    memcpy(traced->validator, validator, TL_ID_CAP);
    return traced;
}

/* The slower bus may bring what the quicker one lost, after something newer. */
static bool
is_newer(struct tl_seen *seen, const struct tl_envelope *envelope)
{
    bool newer =
        envelope->incarnation > seen->incarnation ||
        (envelope->incarnation == seen->incarnation && envelope->sequence > seen->sequence);
    if (newer) {
        *seen = (struct tl_seen){envelope->incarnation, envelope->sequence};
    }
    return newer;
}

static bool
same_cause(const struct tl_cause *a, const struct tl_cause *b)
{
    return a->rule == b->rule && a->state == b->state &&
           strncmp(a->station, b->station, TL_ID_CAP) == 0;
}

bool
tl_trace_verdict(struct tl_trace *trace, const struct tl_envelope *envelope)
{
    const struct tl_verdict *verdict = &envelope->as.verdict;
    struct tl_traced *traced = traced_of(trace, envelope->node);
    if (traced == NULL) {
        return false;
    }
    bool other_life = envelope->incarnation != traced->verdict_seen.incarnation;
    if (!is_newer(&traced->verdict_seen, envelope)) {
        return false;
    }
    bool changed = other_life || verdict->word != traced->word ||
                   !same_cause(&verdict->first, &traced->first) ||
                   !tl_event_equal(envelope->event, traced->event);
    traced->word = verdict->word;
    traced->first = verdict->first;
    traced->event = envelope->event;
    return changed;
}

uint32_t
tl_trace_alerts(struct tl_trace *trace, const struct tl_envelope *envelope,
                struct tl_alert_step steps[TL_ALERT_STEPS_MAX])
{
    const struct tl_alert_set *set = &envelope->as.alerts;
    struct tl_traced *traced = traced_of(trace, envelope->node);
    uint32_t count = 0;
    if (traced == NULL || !is_newer(&traced->alerts_seen, envelope)) {
        return 0;
    }
    for (uint32_t i = 0; i < traced->alert_count; i++) {
        if (!tl_alert_is_listed(set->alert, set->alert_count, &traced->alert[i])) {
            steps[count++] = (struct tl_alert_step){false, traced->alert[i]};
        }
    }
    for (uint32_t i = 0; i < set->alert_count; i++) {
        if (!tl_alert_is_listed(traced->alert, traced->alert_count, &set->alert[i])) {
            steps[count++] = (struct tl_alert_step){true, set->alert[i]};
        }
    }
    memcpy(traced->alert, set->alert, set->alert_count * sizeof set->alert[0]);
    traced->alert_count = set->alert_count;
    return count;
}
