/* SPDX-License-Identifier: Apache-2.0 */
/*
 * loop.c - the relay at work: one poll, then a bounded share for each source. See relay.h.
 *
 * The shares keep the timers running under any load; what is left over is found by the next poll,
 * which then does not wait.
 */
#include <errno.h>
#include <inttypes.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <sys/signalfd.h>
#include <unistd.h>

#include "broker/relay/check.h"
#include "broker/relay/metrics.h"
#include "broker/relay/state.h"
#include "proto/base/clock.h"
#include "proto/base/conf.h"
#include "proto/base/log.h"
#include "proto/link/rekey.h"

enum {
    BEAT_MS = 1000,
    MESSAGES_A_TURN = 256,
    SUBSCRIPTIONS_A_TURN = 256,
    EVENTS_A_TURN = 1024,
    /* A node holds under twenty; so many mean a fault or an attack on memory. */
    SUBSCRIPTIONS_MANY = 32 * TL_NODES_MAX
};

enum item {
    ITEM_SIGNALS,
    ITEM_INGRESS,
    ITEM_EGRESS,
    ITEM_INGRESS_EVENTS,
    ITEM_EGRESS_EVENTS,
    ITEMS
};

/*
 * Whether a line can be written without waiting for whoever reads standard error: a log that
 * nobody reads must not stop the bus. What cannot be said is counted on bus/<bus>/ all the same.
 */
static bool
can_say(void)
{
    struct pollfd item = {.fd = STDERR_FILENO, .events = POLLOUT};

    return poll(&item, 1, 0) == 1 && (item.revents & POLLOUT) != 0;
}

#define SAY(...) (can_say() ? tl_log(__VA_ARGS__) : (void)0)

/* ---- messages ---- */

static void
refuse(struct tl_relay *relay, const struct tl_relay_frame *frame, enum tl_refusal reason)
{
    const struct tl_access_row *row = tl_access_by_user(&relay->access, frame->user_id);
    char topic[TL_TOPIC_CAP];

    relay->counters.refused++;
    relay->passed.refused[reason]++;
    tl_relay_topic_text(frame, topic);
    tl_refusals_note(&relay->refusals, row != NULL ? row->node.id : "", reason, topic);
}

static void
rule_on_message(struct tl_relay *relay)
{
    zmq_msg_t *msg = &relay->msg;
    const struct tl_relay_frame frame = {
        .bytes = zmq_msg_data(msg),
        .len = zmq_msg_size(msg),
        .alone = zmq_msg_more(msg) == 0,
        .user_id = zmq_msg_gets(msg, "User-Id"),
    };
    const size_t len = frame.len;
    enum tl_topic_kind kind = TL_TOPIC_UNKNOWN;
    enum tl_refusal reason = tl_relay_check(&relay->access, &frame, &kind);

    if (reason != TL_REFUSAL_UNKNOWN) {
        refuse(relay, &frame, reason);
    } else if (zmq_msg_send(msg, relay->egress, ZMQ_DONTWAIT) >= 0) {
        relay->counters.forwarded++; /* the message is the library's now, `frame` is void */
        relay->passed.forwarded[kind]++;
        relay->passed.forwarded_bytes += len;
    }
}

static void
take_messages(struct tl_relay *relay)
{
    for (int i = 0; i < MESSAGES_A_TURN; i++) {
        if (zmq_msg_recv(&relay->msg, relay->ingress, ZMQ_DONTWAIT) < 0) {
            return;
        }
        bool more = zmq_msg_more(&relay->msg) != 0;
        if (!relay->in_rest) {
            rule_on_message(relay);
        }
        relay->in_rest = more;
    }
}

/* ---- subscriptions ---- */

static void
count_subscription(struct tl_relay *relay)
{
    zmq_msg_t *msg = &relay->msg;
    const struct tl_relay_frame frame = {
        .bytes = zmq_msg_data(msg),
        .len = zmq_msg_size(msg),
        .user_id = zmq_msg_gets(msg, "User-Id"),
    };

    if (!tl_relay_subscribes(&frame, &relay->counters.subscriptions)) {
        refuse(relay, &frame, TL_REFUSAL_NOT_YOUR_TOPIC);
    }
}

static void
take_subscriptions(struct tl_relay *relay)
{
    for (int i = 0; i < SUBSCRIPTIONS_A_TURN; i++) {
        if (zmq_msg_recv(&relay->msg, relay->egress, ZMQ_DONTWAIT) < 0) {
            return;
        }
        count_subscription(relay);
    }
}

/* ---- own messages ---- */

static void
publish(struct tl_relay *relay, enum tl_err err, const struct tl_voice_frame *frame)
{
    if (err != TL_OK) {
        SAY(TL_LOG_ERROR, "BRK-009", "%s: its own message could not be made: %s", relay->bus->id,
            tl_err_text(err));
        return;
    }
    /* An XPUB never waits and never fails for a reader's sake. */
    (void)zmq_send(relay->egress, frame->bytes, frame->len, ZMQ_DONTWAIT);
}

static void
say_refusals(const struct tl_relay *relay, const struct tl_refusals *lines)
{
    for (uint32_t i = 0; i < lines->count; i++) {
        const struct tl_refused_publisher *line = &lines->refusal[i];
        SAY(TL_LOG_WARNING, "BRK-006", "%s: %s: %" PRIu32 " refused on '%s': %s", relay->bus->id,
            line->publisher[0] != '\0' ? line->publisher : "no listed key", line->count,
            line->topic, tl_refusal_text(line->reason));
    }
}

static void
publish_refusals(struct tl_relay *relay, uint64_t now_ms)
{
    struct tl_refusals lines;
    struct tl_voice_frame frame = {.len = 0};
    enum tl_err err;

    if (tl_refusals_take(&relay->refusals, now_ms, &lines) == 0) {
        return;
    }
    err = tl_voice_refusals(relay->voice, tl_clock_wall_ms(), &lines, &frame);
    publish(relay, err, &frame);
    say_refusals(relay, &lines);
}

static void
say_joins(struct tl_relay *relay)
{
    struct tl_zap_counters now;
    uint64_t unaccepted =
        relay->ingress_monitor.counts.unaccepted + relay->egress_monitor.counts.unaccepted;

    tl_zap_counters(relay->zap, &now);
    if (now.unknown != relay->answered.unknown) {
        SAY(TL_LOG_WARNING, "BRK-005",
            "%s: %" PRIu64 " joins refused, key not in keys.yaml; last from %s", relay->bus->id,
            now.unknown - relay->answered.unknown, now.last_refused_address);
    }
    if (now.revoked != relay->answered.revoked) {
        SAY(TL_LOG_WARNING, "BRK-005", "%s: %" PRIu64 " joins refused, key revoked; last %s",
            relay->bus->id, now.revoked - relay->answered.revoked, now.last_revoked_user);
    }
    if (unaccepted != relay->unaccepted) {
        SAY(TL_LOG_ERROR, "BRK-007",
            "%s: no room for more connections: raise the limit on open "
            "files, or find who opens them",
            relay->bus->id);
    }
    relay->answered = now;
    relay->unaccepted = unaccepted;
}

static void
say_subscriptions(struct tl_relay *relay)
{
    bool many = relay->counters.subscriptions > SUBSCRIPTIONS_MANY;

    if (many && !relay->told_of_subscriptions) {
        SAY(TL_LOG_WARNING, "BRK-008", "%s: %" PRIu64 " subscriptions, more than all nodes need",
            relay->bus->id, relay->counters.subscriptions);
    }
    relay->told_of_subscriptions = many;
}

static void
tell_manager(struct tl_relay *relay)
{
    char status[TL_NOTIFY_STATUS_CAP];

    (void)snprintf(status, sizeof status, "%s serves, %" PRIu64 " connections", relay->bus->id,
                   relay->counters.connections);
    tl_notify_status(relay->notify, status);
}

static void
beat(struct tl_relay *relay, uint64_t now_ms)
{
    const struct tl_monitor *in = &relay->ingress_monitor;
    const struct tl_monitor *out = &relay->egress_monitor;
    struct tl_voice_frame frame = {.len = 0};
    enum tl_err err;

    relay->counters.handshakes_refused = in->counts.failed + out->counts.failed;
    relay->counters.connections = tl_monitor_connections(in) + tl_monitor_connections(out);
    relay->counters.uptime_ms = now_ms - relay->started_ms;
    err = tl_voice_counters(relay->voice, tl_clock_wall_ms(), &relay->counters, &frame);
    publish(relay, err, &frame);
    say_joins(relay);
    say_subscriptions(relay);
    tell_manager(relay);
}

/* ---- signals ---- */

static void
say_keys(struct tl_relay *relay, const struct tl_rekey *before, uint32_t reused)
{
    char text[TL_REKEY_CAP];

    SAY(TL_LOG_NOTICE, "BRK-001", "%s: %s", relay->bus->id,
        tl_rekey_text(before, relay->config, relay->identity, text));
    if (reused > 0) {
        SAY(TL_LOG_ERROR, "BRK-004",
            "%s: %" PRIu32 " epochs now have another key and are refused: give it a new epoch",
            relay->bus->id, reused);
    }
    if (!tl_rekey_believed(relay->config, relay->identity)) {
        SAY(TL_LOG_ERROR, "BRK-003",
            "%s: its own key is revoked: nodes do not believe it; make a new one and start again",
            relay->bus->id);
    }
}

/* On any fault the keys of before stay in force. */
static void
reload_keys(struct tl_relay *relay)
{
    struct tl_conf_fault fault;
    struct tl_access next;
    struct tl_rekey before;
    char why[TL_TEXT_CAP];

    tl_rekey_keep(&before, relay->config);
    if (tl_conf_reload_keys(relay->config->dir, relay->config, &fault) != TL_OK) {
        SAY(TL_LOG_ERROR, "BRK-002", "%s: keys stay as they were: %s:%" PRIu32 ": %s",
            relay->bus->id, fault.file, fault.line, fault.text);
        return;
    }
    if (tl_access_build(relay->config, &next, why, sizeof why) != TL_OK) {
        SAY(TL_LOG_ERROR, "BRK-002", "%s: keys stay as they were: keys.yaml: %s", relay->bus->id,
            why);
        tl_rekey_put_back(&before, relay->config);
        return;
    }
    (void)tl_zap_update(relay->zap, &next); /* revokes the same ones as the next line */
    say_keys(relay, &before, tl_access_update(&relay->access, &next));
}

static void
take_signals(struct tl_relay *relay)
{
    struct signalfd_siginfo info;

    if (read(relay->signal_fd, &info, sizeof info) != (ssize_t)sizeof info) {
        return;
    }
    if (info.ssi_signo == SIGHUP) {
        reload_keys(relay);
    } else {
        relay->stop = true;
    }
}

/* ---- the loop ---- */

static void
do_what_is_due(struct tl_relay *relay)
{
    uint64_t now_ms = tl_clock_boot_ms();

    tl_notify_turn(relay->notify, now_ms);
    publish_refusals(relay, now_ms);
    if (now_ms >= relay->next_beat_ms) {
        beat(relay, now_ms);
        relay->next_beat_ms += BEAT_MS;
        if (relay->next_beat_ms <= now_ms) {
            relay->next_beat_ms = now_ms + BEAT_MS; /* after a suspend, not one for each missed */
        }
    }
    tl_relay_tell_metrics(relay, now_ms);
}

static long
wait_ms(const struct tl_relay *relay)
{
    uint64_t now_ms = tl_clock_boot_ms();
    uint64_t due_ms = tl_refusals_due_ms(&relay->refusals, now_ms);

    due_ms = due_ms < relay->next_beat_ms ? due_ms : relay->next_beat_ms;
    return due_ms > now_ms ? (long)(due_ms - now_ms) : 0;
}

static void
serve(struct tl_relay *relay, const zmq_pollitem_t items[ITEMS])
{
    if (items[ITEM_SIGNALS].revents != 0) {
        take_signals(relay);
    }
    if (items[ITEM_INGRESS_EVENTS].revents != 0) {
        (void)tl_monitor_drain(&relay->ingress_monitor, EVENTS_A_TURN);
    }
    if (items[ITEM_EGRESS_EVENTS].revents != 0) {
        (void)tl_monitor_drain(&relay->egress_monitor, EVENTS_A_TURN);
    }
    if (items[ITEM_EGRESS].revents != 0) {
        take_subscriptions(relay);
    }
    if (items[ITEM_INGRESS].revents != 0) {
        take_messages(relay);
    }
}

enum tl_err
tl_relay_run(struct tl_relay *relay)
{
    zmq_pollitem_t items[ITEMS] = {
        [ITEM_SIGNALS] = {NULL, relay->signal_fd, ZMQ_POLLIN, 0},
        [ITEM_INGRESS] = {relay->ingress, 0, ZMQ_POLLIN, 0},
        [ITEM_EGRESS] = {relay->egress, 0, ZMQ_POLLIN, 0},
        [ITEM_INGRESS_EVENTS] = {relay->ingress_monitor.pair, 0, ZMQ_POLLIN, 0},
        [ITEM_EGRESS_EVENTS] = {relay->egress_monitor.pair, 0, ZMQ_POLLIN, 0},
    };

    relay->started_ms = tl_clock_boot_ms();
    relay->next_beat_ms = relay->started_ms;
    while (!relay->stop) {
        int ready = zmq_poll(items, ITEMS, wait_ms(relay));
        if (ready < 0 && zmq_errno() != EINTR) {
            return TL_IO;
        }
        if (ready > 0) {
            serve(relay, items);
        }
        do_what_is_due(relay);
    }
    return TL_OK;
}
