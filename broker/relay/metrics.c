/* SPDX-License-Identifier: Apache-2.0 */
/* metrics.c - see metrics.h. */
#include "broker/relay/metrics.h"

#include "proto/base/clock.h"

static void
put_handshakes(const struct tl_relay *relay, struct tl_metrics_page *page)
{
    struct tl_zap_counters answered;

    tl_zap_counters(relay->zap, &answered);
    tl_metrics_put(page, TL_METRIC_HANDSHAKES, "accepted", answered.accepted);
    tl_metrics_put(page, TL_METRIC_HANDSHAKES, "unknown-key", answered.unknown);
    tl_metrics_put(page, TL_METRIC_HANDSHAKES, "revoked-key", answered.revoked);
    tl_metrics_put(page, TL_METRIC_HANDSHAKES, "malformed", answered.malformed);
    tl_metrics_put(page, TL_METRIC_HANDSHAKES_FAILED, NULL, relay->counters.handshakes_refused);
}

static void
put_program(const struct tl_relay *relay, uint64_t now_ms, struct tl_metrics_page *page)
{
    const struct tl_metrics_program begin = {
        .program = "trapline-broker",
        .node = relay->bus->id,
        .kind = "bus",
        .schema = TL_SCHEMA_VERSION,
        .incarnation = relay->incarnation,
        .uptime_ms = now_ms - relay->started_ms,
        .wall_ms = tl_clock_wall_ms(),
    };

    tl_metrics_begin(page, &begin);
}

void
tl_relay_tell_metrics(struct tl_relay *relay, uint64_t now_ms)
{
    struct tl_metrics_page *page = tl_metrics_due(relay->metrics, now_ms);

    if (page == NULL) {
        return;
    }
    put_program(relay, now_ms, page);
    tl_counts_put_reasons(page, relay->passed.refused, TL_REFUSAL_REASONS);
    tl_counts_put_topics(page, TL_METRIC_FORWARDED, relay->passed.forwarded);
    tl_metrics_put(page, TL_METRIC_FORWARDED_BYTES, NULL, relay->passed.forwarded_bytes);
    tl_metrics_put(page, TL_METRIC_CONNECTIONS, NULL, relay->counters.connections);
    tl_metrics_put(page, TL_METRIC_SUBSCRIPTIONS, NULL, relay->counters.subscriptions);
    put_handshakes(relay, page);
    tl_metrics_hand(relay->metrics);
}
