/* SPDX-License-Identifier: Apache-2.0 */
/* metrics.c - see metrics.h. */
#include "broker/recorder/metrics.h"

#include "proto/link/metrics.h"

void
tl_recorder_note_known(struct tl_recorder *recorder, const struct tl_envelope *envelope)
{
    int place = tl_config_place(&recorder->join.config, envelope->node);
    uint64_t sequence = 0;
    if (envelope->body == TL_BODY_CHANGE) {
        sequence = envelope->sequence;
    } else if (envelope->body == TL_BODY_BEAT) {
        sequence = envelope->as.beat.last_change;
    }
    if (place < 0 || sequence == 0) {
        return;
    }
    struct tl_known_change *known = &recorder->known[place];
    if (envelope->incarnation > known->incarnation) {
        *known = (struct tl_known_change){.incarnation = envelope->incarnation};
    }
    if (envelope->incarnation == known->incarnation && sequence > known->sequence) {
        known->sequence = sequence;
    }
}

/*
 * Changes of the newest life that is known of; all of them when the mark is of an older one. What
 * the station was told is on disk; the marks run ahead of a commit that may fail.
 */
static uint64_t
lag_of(const struct tl_recorder *recorder, uint32_t i)
{
    const struct tl_told_mark *told = &recorder->told[i];
    int place = tl_config_place(&recorder->join.config, recorder->marks.mark[i].node);
    const struct tl_known_change *known = place >= 0 ? &recorder->known[place] : NULL;
    if (known == NULL || known->incarnation < told->incarnation) {
        return 0;
    }
    uint64_t through = known->incarnation == told->incarnation ? told->through : 0;
    return known->sequence > through ? known->sequence - through : 0;
}

static void
put_record(const struct tl_recorder *recorder, struct tl_metrics_page *page)
{
    const struct tl_watermarks *marks = &recorder->marks;
    tl_metrics_put(page, TL_METRIC_RECORDING, NULL, recorder->store != NULL ? 1U : 0U);
    for (uint32_t i = 0; i < marks->count; i++) {
        tl_metrics_put(page, TL_METRIC_WATERMARK, marks->mark[i].node, recorder->told[i].through);
    }
    for (uint32_t i = 0; i < marks->count; i++) {
        tl_metrics_put(page, TL_METRIC_RECORD_LAG, marks->mark[i].node, lag_of(recorder, i));
    }
    for (int i = 0; i < TL_TABLES && recorder->store != NULL; i++) {
        enum tl_record_table table = (enum tl_record_table)i;
        tl_metrics_put(page, TL_METRIC_ROWS, tl_record_table_name(table),
                       tl_store_rows(recorder->store, table));
    }
    tl_metrics_put(page, TL_METRIC_COMMITS, NULL, recorder->commits);
    tl_metrics_put(page, TL_METRIC_RECORD_LOST, NULL, recorder->failures);
    tl_metrics_put(page, TL_METRIC_RECORD_GAPS, NULL, recorder->gaps);
}

void
tl_recorder_tell_metrics(struct tl_recorder *recorder, uint64_t now_ms)
{
    struct tl_metrics_page *page = tl_metrics_due(recorder->metrics, now_ms);
    if (page == NULL) {
        return;
    }
    tl_join_put_metrics(&recorder->join, "trapline-recorder", recorder->start_ms, now_ms, page);
    put_record(recorder, page);
    tl_metrics_hand(recorder->metrics);
}
