/* SPDX-License-Identifier: Apache-2.0 */
/* counts.c - see counts.h. */
#include "proto/link/counts.h"

#include "proto/codec/codec.h"

/* A new life begins anew; an older one is not looked at. */
static void
take_beat(struct tl_counted_beats *beats, const struct tl_envelope *envelope, uint64_t now_ms)
{
    if (envelope->incarnation > beats->incarnation) {
        beats->incarnation = envelope->incarnation;
    } else if (envelope->incarnation < beats->incarnation ||
               envelope->sequence <= beats->sequence) {
        return;
    } else {
        uint64_t missed = envelope->sequence - beats->sequence - 1;
        beats->missed += missed < TL_JUMP_MAX ? missed : TL_JUMP_MAX;
        beats->late += now_ms - beats->heard_ms > TL_COUNTS_LATE_MS ? 1U : 0U;
    }
    beats->sequence = envelope->sequence;
    beats->heard_ms = now_ms;
}

void
tl_counts_took(struct tl_counts *counts, const struct tl_config *config,
               const struct tl_envelope *envelope, enum tl_topic_kind kind, uint64_t now_ms)
{
    counts->received[kind]++;
    if (envelope->body != TL_BODY_BEAT) {
        return;
    }
    const struct tl_node *node = tl_config_node(config, envelope->node);
    if (node != NULL) {
        take_beat(&counts->beats[node - config->node], envelope, now_ms);
    }
}

void
tl_counts_refused(struct tl_counts *counts, enum tl_refusal reason)
{
    counts->refused[(unsigned)reason < TL_COUNTS_REASONS ? reason : TL_REFUSAL_UNKNOWN]++;
}

void
tl_counts_put_topics(struct tl_metrics_page *page, enum tl_metric metric,
                     const uint64_t count[TL_TOPIC_KINDS])
{
    for (size_t i = TL_TOPIC_UNKNOWN + 1; i < TL_TOPIC_KINDS; i++) {
        tl_metrics_put(page, metric, tl_topic_word((enum tl_topic_kind)i), count[i]);
    }
}

/* Numbers between two groups of reasons belong to none. */
void
tl_counts_put_reasons(struct tl_metrics_page *page, const uint64_t *count, size_t reasons)
{
    const char *unknown = tl_refusal_name(TL_REFUSAL_UNKNOWN);
    for (size_t i = 0; i < reasons; i++) {
        const char *name = tl_refusal_name((enum tl_refusal)i);
        if (i == TL_REFUSAL_UNKNOWN || name != unknown) {
            tl_metrics_put(page, TL_METRIC_REFUSED, name, count[i]);
        }
    }
}

/* Of the nodes that have been heard. */
void
tl_counts_put_beats(struct tl_metrics_page *page, enum tl_metric metric,
                    const struct tl_counts *counts, const struct tl_config *config)
{
    for (uint32_t i = 0; i < config->node_count; i++) {
        const struct tl_counted_beats *beats = &counts->beats[i];
        if (beats->incarnation != 0) {
            tl_metrics_put(page, metric, config->node[i].id,
                           metric == TL_METRIC_BEATS_LATE ? beats->late : beats->missed);
        }
    }
}
