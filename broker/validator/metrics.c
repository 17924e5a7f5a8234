/* SPDX-License-Identifier: Apache-2.0 */
/* metrics.c - see metrics.h. */
#include "broker/validator/metrics.h"

#include "proto/link/metrics.h"

static void
put_judgement(const struct tl_judge *judge, struct tl_metrics_page *page)
{
    struct tl_alert_counts alerts = {0};
    for (uint32_t i = 0; i < judge->alerts.count; i++) {
        tl_count_alert(&alerts, judge->alerts.active[i].alert.state);
    }
    tl_put_verdict(page, judge->decision.word, judge->decision.cause_count);
    tl_put_alerts(page, &alerts);
    tl_metrics_put(page, TL_METRIC_ALERTS_RAISED, NULL, judge->alerts.raised);
    for (uint32_t i = 0; i < judge->fold.told_count; i++) {
        const struct tl_told *told = &judge->fold.told[i];
        if (told->node != NULL) {
            tl_metrics_put(page, TL_METRIC_STATION_LIVE, told->node->id, told->live ? 1U : 0U);
        }
    }
}

void
tl_validator_tell_metrics(struct tl_validator *validator, uint64_t now_ms)
{
    struct tl_metrics_page *page = tl_metrics_due(validator->metrics, now_ms);
    if (page == NULL) {
        return;
    }
    tl_join_put_metrics(&validator->join, "trapline-validator", validator->start_ms, now_ms, page);
    put_judgement(&validator->judge, page);
    tl_metrics_hand(validator->metrics);
}
