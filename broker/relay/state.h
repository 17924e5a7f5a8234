/* SPDX-License-Identifier: Apache-2.0 */
/*
 * state - what a running relay holds; seen by relay.c (open, close) and loop.c (run) only
 */
#ifndef BROKER_RELAY_STATE_H
#define BROKER_RELAY_STATE_H

#include <zmq.h>

#include "broker/access/monitor.h"
#include "broker/access/zap.h"
#include "broker/relay/refusals.h"
#include "broker/relay/relay.h"
#include "broker/relay/voice.h"
#include "proto/link/counts.h"
#include "proto/metrics/writer.h"

/* Counted for the ship's monitoring alone. */
struct tl_relay_counts {
    uint64_t forwarded[TL_TOPIC_KINDS];
    uint64_t forwarded_bytes;
    uint64_t refused[TL_REFUSAL_REASONS];
};

struct tl_relay {
    /* borrowed */
    struct tl_config *config;
    const struct tl_bus *bus;
    const struct tl_identity *identity;
    struct tl_notify *notify;
    int signal_fd;
    struct tl_metrics *metrics; /* NULL = no page is wanted */

    /* own */
    void *zmq_ctx;
    struct tl_zap *zap;
    void *ingress;
    void *egress;
    struct tl_monitor ingress_monitor;
    struct tl_monitor egress_monitor;
    struct tl_voice *voice;
    zmq_msg_t msg; /* the one in hand; always initialised */

    struct tl_access access; /* the loop's copy; the handler's thread has another */
    struct tl_refusal_book refusals;
    struct tl_counters counters;
    struct tl_relay_counts passed;
    uint64_t incarnation;
    bool in_rest; /* the frames that come are the rest of a refused message */
    bool stop;

    uint64_t started_ms;
    uint64_t next_beat_ms;
    struct tl_zap_counters answered; /* as of the last beat */
    uint64_t unaccepted;             /* as of the last beat */
    bool told_of_subscriptions;
};

#endif
