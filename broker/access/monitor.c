/* SPDX-License-Identifier: Apache-2.0 */
/* monitor.c - see monitor.h. */
#include "broker/access/monitor.h"

#include <stdbool.h>
#include <string.h>

#include <zmq.h>

#define EVENTS                                                                                     \
    (ZMQ_EVENT_ACCEPTED | ZMQ_EVENT_ACCEPT_FAILED | ZMQ_EVENT_DISCONNECTED |                       \
     ZMQ_EVENT_HANDSHAKE_SUCCEEDED | ZMQ_EVENT_HANDSHAKE_FAILED_NO_DETAIL |                        \
     ZMQ_EVENT_HANDSHAKE_FAILED_PROTOCOL | ZMQ_EVENT_HANDSHAKE_FAILED_AUTH)

/* zmq_socket_monitor(3): first frame, 16 bits of event, 32 bits of value, in host order. */
enum {
    EVENT_LEN = 6,
    ZAP_TRY_AGAIN = 300
};

enum tl_err
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): context before socket, as in libzmq */
tl_monitor_open(void *zmq_ctx, void *socket, const char *name, struct tl_monitor *out)
{
    const int zero = 0;
    void *pair;

    if (zmq_socket_monitor(socket, name, EVENTS) != 0) {
        return TL_IO;
    }
    pair = zmq_socket(zmq_ctx, ZMQ_PAIR);
    if (pair == NULL || zmq_setsockopt(pair, ZMQ_RCVHWM, &zero, sizeof zero) != 0 ||
        zmq_setsockopt(pair, ZMQ_LINGER, &zero, sizeof zero) != 0 || zmq_connect(pair, name) != 0) {
        (void)zmq_socket_monitor(socket, NULL, 0);
        if (pair != NULL) {
            (void)zmq_close(pair);
        }
        return TL_IO;
    }
    *out = (struct tl_monitor){.socket = socket, .pair = pair};
    return TL_OK;
}

static void
count_failed_auth(struct tl_monitor *monitor, uint32_t code)
{
    monitor->counts.failed++;
    monitor->counts.auth_failed++;
    if (code == ZAP_TRY_AGAIN) {
        monitor->held++;
    }
}

static void
count_failed(struct tl_monitor *monitor)
{
    if (monitor->held > 0) {
        monitor->held--; /* counted when it was refused */
    } else {
        monitor->counts.failed++;
    }
}

static void
count_event(struct tl_monitor *monitor, uint16_t event, uint32_t value)
{
    switch (event) {
    case ZMQ_EVENT_ACCEPTED:
        monitor->counts.accepted++;
        break;
    case ZMQ_EVENT_ACCEPT_FAILED:
        monitor->counts.unaccepted++;
        break;
    case ZMQ_EVENT_DISCONNECTED:
        monitor->counts.ended++;
        break;
    case ZMQ_EVENT_HANDSHAKE_SUCCEEDED:
        monitor->counts.joined++;
        break;
    case ZMQ_EVENT_HANDSHAKE_FAILED_AUTH:
        count_failed_auth(monitor, value);
        break;
    case ZMQ_EVENT_HANDSHAKE_FAILED_PROTOCOL:
        monitor->counts.failed++;
        break;
    case ZMQ_EVENT_HANDSHAKE_FAILED_NO_DETAIL:
        count_failed(monitor);
        break;
    default: /* not asked for */
        break;
    }
}

static bool
drain_one(struct tl_monitor *monitor)
{
    uint8_t bytes[EVENT_LEN];
    uint16_t event;
    uint32_t value;
    int more = 1;
    size_t more_len = sizeof more;
    int len = zmq_recv(monitor->pair, bytes, sizeof bytes, ZMQ_DONTWAIT);

    if (len < 0) {
        return false;
    }
    while (zmq_getsockopt(monitor->pair, ZMQ_RCVMORE, &more, &more_len) == 0 && more) {
        char address[1]; /* cut on purpose: not used */
        (void)zmq_recv(monitor->pair, address, sizeof address, 0);
    }
    if (len == EVENT_LEN) {
        memcpy(&event, bytes, sizeof event);
        memcpy(&value, bytes + sizeof event, sizeof value);
        count_event(monitor, event, value);
    }
    return true;
}

size_t
tl_monitor_drain(struct tl_monitor *monitor, size_t max)
{
    size_t count = 0;

    while (count < max && drain_one(monitor)) {
        count++;
    }
    return count;
}

uint64_t
tl_monitor_connections(const struct tl_monitor *monitor)
{
    const struct tl_monitor_counts *counts = &monitor->counts;

    return counts->accepted > counts->ended ? counts->accepted - counts->ended : 0;
}

void
tl_monitor_close(struct tl_monitor *monitor)
{
    if (monitor->pair == NULL) {
        return;
    }
    (void)zmq_socket_monitor(monitor->socket, NULL, 0);
    (void)zmq_close(monitor->pair);
    monitor->pair = NULL;
}
