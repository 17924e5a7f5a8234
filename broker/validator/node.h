/* SPDX-License-Identifier: Apache-2.0 */
/*
 * node.h - the shell of a validator: sockets, clock and signals around the pure judge.
 *
 * One loop: receive, decode, ask the judge, encode, send. No disk after start-up; the page of
 * metrics is written on a thread of its own. The mechanics are computed on another; their answers are
 * an input like any other.
 */
#ifndef TL_VALIDATOR_NODE_H
#define TL_VALIDATOR_NODE_H

#include "broker/core/judge/judge.h"
#include "broker/validator/worker.h"
#include "proto/link/join.h"
#include "proto/link/newer.h"
#include "proto/metrics/writer.h"

struct tl_validator {
    struct tl_join join;
    struct tl_judge judge;
    struct tl_codec codec; /* for digests of changes */
    struct tl_envelope envelope;
    struct tl_worker *worker;
    struct tl_newer newer;
    struct tl_metrics *metrics; /* NULL = no page is wanted */
    struct tl_stages *trace;    /* NULL = off, else the stages */
    struct tl_stages stages;
    uint64_t next_trace_ms;
    int signals;
    uint64_t start_ms;
    bool bus_was_up[TL_BUSES_MAX];
};

/* Run until a signal asks to end. Returns an exit code. */
int tl_validator_run(struct tl_validator *validator);

#endif
