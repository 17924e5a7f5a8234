/* SPDX-License-Identifier: Apache-2.0 */
/* names.c - see names.h. */
#include "proto/metrics/names.h"

#include <stddef.h>

#define GAUGE(name_, unit_, label_, help_)                                                         \
    {                                                                                              \
        .name = "trapline_" name_, .type = TL_METRIC_GAUGE, .unit = (unit_), .label = {label_},    \
        .help = (help_)                                                                            \
    }
#define COUNTER(name_, unit_, label_, help_)                                                       \
    {                                                                                              \
        .name = "trapline_" name_, .type = TL_METRIC_COUNTER, .unit = (unit_), .label = {label_},  \
        .help = (help_)                                                                            \
    }
#define INFO(name_, help_, ...)                                                                    \
    {                                                                                              \
        .name = "trapline_" name_, .type = TL_METRIC_INFO, .unit = "", .label = {__VA_ARGS__},     \
        .help = (help_)                                                                            \
    }
#define STATES(name_, help_, ...)                                                                  \
    {                                                                                              \
        .name = "trapline_" name_, .type = TL_METRIC_STATES, .unit = "", .label = {__VA_ARGS__},   \
        .help = (help_)                                                                            \
    }

static const struct tl_metric_row rows[TL_METRICS] = {
    [TL_METRIC_BUILD] = INFO("build", "Which program this is.", "program", "version", "schema"),
    [TL_METRIC_NODE] = INFO("node", "Which node of the configuration it is.", "node", "kind"),
    [TL_METRIC_INCARNATION] = GAUGE("incarnation", "", NULL, "Number of this life of the node."),
    [TL_METRIC_UPTIME] = GAUGE("uptime_seconds", "seconds", NULL, "Since it was ready."),
    [TL_METRIC_WRITTEN] =
        GAUGE("page_timestamp_seconds", "seconds", NULL, "Wall clock when the page was filled."),

    [TL_METRIC_RECEIVED] =
        COUNTER("messages_received", "", "topic", "Messages taken, each once for all buses."),
    [TL_METRIC_RECEIVED_BYTES] =
        COUNTER("received_bytes", "bytes", NULL, "Frames read, also copies and refused ones."),
    [TL_METRIC_SENT] = COUNTER("messages_sent", "", "topic", "Own messages that a bus could take."),
    [TL_METRIC_SENT_BYTES] = COUNTER("sent_bytes", "bytes", NULL, "Of these, once for all buses."),
    [TL_METRIC_UNSENT] = COUNTER("messages_unsent", "", NULL, "Own messages that no bus took."),
    [TL_METRIC_REFUSED] = COUNTER("frames_refused", "", "reason", "Frames not taken, by reason."),
    [TL_METRIC_VERIFIED] =
        COUNTER("signatures_verified", "", NULL, "Frames whose signature was checked and good."),
    [TL_METRIC_BUS] = STATES("bus", "State of each bus as seen from here.", "bus", "trapline_bus"),
    [TL_METRIC_BUS_RECEIVED] = COUNTER("bus_frames", "", "bus", "Frames that the bus brought."),
    [TL_METRIC_BUS_DUPLICATES] =
        COUNTER("bus_copies", "", "bus", "Of these, what had come before by any bus."),
    [TL_METRIC_BUS_REBUILT] = COUNTER("bus_rebuilds", "", "bus", "Times its sockets were rebuilt."),
    [TL_METRIC_BUS_LAG] =
        GAUGE("bus_lag_seconds", "seconds", "bus", "How far it is behind the quickest bus."),
    [TL_METRIC_BEATS_MISSED] =
        COUNTER("beats_missed", "", "node", "Beats of that node that did not come in their turn."),
    [TL_METRIC_BEATS_LATE] =
        COUNTER("beats_late", "", "node", "Beats more than two intervals after the one before."),

    [TL_METRIC_FORWARDED] = COUNTER("messages_forwarded", "", "topic", "Frames passed on."),
    [TL_METRIC_FORWARDED_BYTES] = COUNTER("forwarded_bytes", "bytes", NULL, "Of these."),
    [TL_METRIC_CONNECTIONS] = GAUGE("connections", "", NULL, "TCP connections that stand."),
    [TL_METRIC_SUBSCRIPTIONS] = GAUGE("subscriptions", "", NULL, "Subscriptions held."),
    [TL_METRIC_HANDSHAKES] =
        COUNTER("handshakes", "", "answer", "Keys asked about, by what was answered."),
    [TL_METRIC_HANDSHAKES_FAILED] =
        COUNTER("handshakes_failed", "", NULL, "Handshakes that ended without a session."),

    [TL_METRIC_VERDICT] =
        STATES("verdict", "What is judged or shown here; advisory.", "trapline_verdict"),
    [TL_METRIC_CAUSES] = GAUGE("causes", "", NULL, "Causes listed with the verdict, notes too."),
    [TL_METRIC_ALERTS] = GAUGE("alerts", "", "state", "Alerts listed, by state."),
    [TL_METRIC_ALERTS_RAISED] = COUNTER("alerts_raised", "", NULL, "Alerts raised here."),
    [TL_METRIC_STATION_LIVE] = GAUGE("station_live", "", "node", "1 while its beats count."),
    [TL_METRIC_VALIDATOR_FRESH] =
        GAUGE("validator_fresh", "", "node", "1 while its verdict is fresh here."),

    [TL_METRIC_OUTBOX] = GAUGE("outbox_changes", "", NULL, "Own changes held, of at most 128."),
    [TL_METRIC_UNSETTLED] =
        GAUGE("outbox_unsettled", "", NULL, "Of these, without a receipt of every validator."),
    [TL_METRIC_UNRECORDED] = GAUGE("outbox_unrecorded", "", NULL, "Of these, not yet on a disk."),
    [TL_METRIC_OUTBOX_DROPPED] =
        COUNTER("outbox_dropped", "", NULL, "Changes let go before they were on a disk."),
    [TL_METRIC_COMMANDS_DROPPED] =
        COUNTER("alert_commands_dropped", "", NULL, "Edges left out because the command was slow."),

    [TL_METRIC_RECORDING] = GAUGE("recording", "", NULL, "1 while the record can be written."),
    [TL_METRIC_WATERMARK] =
        GAUGE("record_watermark", "", "node", "Change of that station up to which all is on disk."),
    [TL_METRIC_RECORD_LAG] =
        GAUGE("record_lag", "", "node", "Its changes known of and not yet under the watermark."),
    [TL_METRIC_ROWS] = GAUGE("record_rows", "", "table", "Rows of that table of the record."),
    [TL_METRIC_COMMITS] = COUNTER("record_commits", "", NULL, "Turns whose rows are durable."),
    [TL_METRIC_RECORD_LOST] =
        COUNTER("record_failures", "", NULL, "Times that the record could not be written."),
    [TL_METRIC_RECORD_GAPS] =
        COUNTER("record_gaps", "", NULL, "Gaps named in the record since the start."),

    [TL_METRIC_RESIDENT] =
        GAUGE("resident_memory_bytes", "bytes", NULL, "Memory of the process that is resident."),
    [TL_METRIC_DESCRIPTORS] = GAUGE("open_descriptors", "", NULL, "Descriptors of the process."),
    [TL_METRIC_PAGES_SKIPPED] =
        COUNTER("pages_skipped", "", NULL, "Pages left out: the one before was still on its way."),
    [TL_METRIC_PAGES_FAILED] = COUNTER("pages_failed", "", NULL, "Pages that were not written."),
};

const struct tl_metric_row *
tl_metric_row(enum tl_metric metric)
{
    return metric > TL_METRIC_NONE && metric < TL_METRICS ? &rows[metric] : NULL;
}
