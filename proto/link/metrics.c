/* SPDX-License-Identifier: Apache-2.0 */
/* metrics.c - see metrics.h. */
#include "proto/link/metrics.h"

#include "proto/base/clock.h"
#include "proto/base/log.h"

static void
put_bus_states(const struct tl_link *link, struct tl_metrics_page *page)
{
    static const char *const words[] = {[TL_BUS_UNKNOWN] = "unknown",
                                        [TL_BUS_CONNECTING] = "connecting",
                                        [TL_BUS_UP] = "up",
                                        [TL_BUS_DOWN] = "down",
                                        [TL_BUS_KEY_REFUSED] = "key-refused",
                                        [TL_BUS_KEY_UNKNOWN] = "key-unknown",
                                        [TL_BUS_WRONG_KEY] = "wrong-key",
                                        [TL_BUS_NO_KEY] = "no-key",
                                        [TL_BUS_MUTE] = "mute"};
    for (uint32_t i = 0; i < tl_link_bus_count(link); i++) {
        const struct tl_bus_health *bus = tl_link_bus(link, i);
        struct tl_metrics_states states = {.label = bus->id,
                                           .state = words,
                                           .count = sizeof words / sizeof words[0],
                                           .on = (size_t)bus->state};
        tl_metrics_put_states(page, TL_METRIC_BUS, &states);
    }
}

static uint64_t
received_of(const struct tl_bus_health *bus)
{
    return bus->received;
}

static uint64_t
duplicates_of(const struct tl_bus_health *bus)
{
    return bus->duplicates;
}

static uint64_t
rebuilt_of(const struct tl_bus_health *bus)
{
    return bus->rebuilt;
}

static void
put_buses(const struct tl_link *link, struct tl_metrics_page *page)
{
    static const struct {
        enum tl_metric metric;
        uint64_t (*of)(const struct tl_bus_health *bus);
    } rows[] = {{TL_METRIC_BUS_RECEIVED, received_of},
                {TL_METRIC_BUS_DUPLICATES, duplicates_of},
                {TL_METRIC_BUS_REBUILT, rebuilt_of}};
    put_bus_states(link, page);
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        for (uint32_t i = 0; i < tl_link_bus_count(link); i++) {
            const struct tl_bus_health *bus = tl_link_bus(link, i);
            tl_metrics_put(page, rows[k].metric, bus->id, rows[k].of(bus));
        }
    }
    for (uint32_t i = 0; i < tl_link_bus_count(link); i++) {
        tl_metrics_put_ms(page, TL_METRIC_BUS_LAG, tl_link_bus(link, i)->id,
                          tl_link_bus(link, i)->lag_ms);
    }
}

void
tl_join_put_metrics(const struct tl_join *join, const char *program, uint64_t started_ms,
                    uint64_t now_ms, struct tl_metrics_page *page)
{
    const struct tl_counts *counts = tl_link_counts(join->link);
    struct tl_metrics_program begin = {.program = program,
                                       .node = join->node->id,
                                       .kind = tl_node_kind_name(join->node->kind),
                                       .schema = TL_SCHEMA_VERSION,
                                       .incarnation = join->incarnation,
                                       .uptime_ms = now_ms - started_ms,
                                       .wall_ms = tl_clock_wall_ms()};
    tl_metrics_begin(page, &begin);
    tl_counts_put_topics(page, TL_METRIC_RECEIVED, counts->received);
    tl_metrics_put(page, TL_METRIC_RECEIVED_BYTES, NULL, counts->received_bytes);
    tl_counts_put_topics(page, TL_METRIC_SENT, counts->sent);
    tl_metrics_put(page, TL_METRIC_SENT_BYTES, NULL, counts->sent_bytes);
    tl_metrics_put(page, TL_METRIC_UNSENT, NULL, counts->unsent);
    tl_counts_put_reasons(page, counts->refused, TL_COUNTS_REASONS);
    tl_metrics_put(page, TL_METRIC_VERIFIED, NULL, counts->verified);
    put_buses(join->link, page);
    tl_counts_put_beats(page, TL_METRIC_BEATS_MISSED, counts, &join->config);
    tl_counts_put_beats(page, TL_METRIC_BEATS_LATE, counts, &join->config);
}

enum tl_exit
tl_open_metrics(const char *path, struct tl_metrics **out, const char *program)
{
    char why[TL_PATH_CAP];
    enum tl_err err = tl_metrics_open(path, out, why, sizeof why);
    if (err == TL_OK) {
        return TL_EXIT_OK;
    }
    tl_log_fault("%s: %s", program, why);
    return err == TL_BADARG ? TL_EXIT_USAGE : TL_EXIT_FAILED;
}

void
tl_put_verdict(struct tl_metrics_page *page, enum tl_word word, uint32_t causes)
{
    static const char *const words[] = {"not-ready", "ready"};
    struct tl_metrics_states states = {
        .state = words, .count = 2, .on = word == TL_WORD_READY ? 1U : 0U};
    tl_metrics_put_states(page, TL_METRIC_VERDICT, &states);
    tl_metrics_put(page, TL_METRIC_CAUSES, NULL, causes);
}

void
tl_count_alert(struct tl_alert_counts *counts, enum tl_alert_state state)
{
    switch (state) {
    case TL_ALERT_ACKNOWLEDGED:
        counts->acknowledged++;
        break;
    case TL_ALERT_RETURNED:
        counts->returned++;
        break;
    case TL_ALERT_UNACKNOWLEDGED:
    case TL_ALERT_UNKNOWN:
        counts->unacknowledged++;
        break;
    }
}

void
tl_put_alerts(struct tl_metrics_page *page, const struct tl_alert_counts *counts)
{
    tl_metrics_put(page, TL_METRIC_ALERTS, "unacknowledged", counts->unacknowledged);
    tl_metrics_put(page, TL_METRIC_ALERTS, "acknowledged", counts->acknowledged);
    tl_metrics_put(page, TL_METRIC_ALERTS, "returned", counts->returned);
}
