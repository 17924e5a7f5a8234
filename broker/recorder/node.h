/* SPDX-License-Identifier: Apache-2.0 */
/*
 * node.h - the shell of a recorder: sockets, clock and signals around the file
 *
 * One loop, one thread. A turn takes at most 256 frames, puts their rows into one transaction and
 * commits it; only then are watermarks published, and beats only while the last commit worked.
 *
 *     writing --step or commit failed--> not writing: listens, says nothing, tries once a second
 *     not writing --opened and read-----> writing, with the marks that the file holds
 */
#ifndef TL_RECORDER_NODE_H
#define TL_RECORDER_NODE_H

#include "broker/recorder/beats.h"
#include "broker/recorder/ledger_file.h"
#include "proto/link/join.h"
#include "proto/link/newer.h"
#include "proto/metrics/writer.h"

/* What a station was last told. */
struct tl_told_mark {
    uint64_t incarnation, through;
    uint64_t sequence; /* of our messages to it */
    uint64_t told_ms;
};

/* The newest change of a station that was heard of, by itself or in a beat. */
struct tl_known_change {
    uint64_t incarnation, sequence;
};

struct tl_recorder {
    struct tl_join join;
    struct tl_newer newer;
    int signals;
    char path[TL_PATH_CAP];
    struct tl_store *store; /* NULL while it cannot be written */
    struct tl_beats *beats;
    uint64_t retry_ms;
    uint64_t sealed_ms; /* when the last seal was put */
    uint64_t beat_ms, beat_sequence;
    struct tl_watermarks marks; /* as if the open transaction were committed */
    struct tl_told_mark told[TL_STATIONS_MAX];
    struct tl_ledger ledger; /* as the marks, once the file is counted */
    struct tl_ledger_reader reader;
    bool counted; /* the whole file is in the ledger; from then on each row as it is written */
    struct tl_trace trace;
    struct tl_alert_step steps[TL_ALERT_STEPS_MAX];
    struct tl_envelope envelope, outgoing;
    /* for the monitoring alone */
    struct tl_metrics *metrics; /* NULL = no page is wanted */
    uint64_t start_ms;
    uint64_t commits, failures, gaps;
    uint64_t rows;                                 /* of all tables at the last commit */
    struct tl_known_change known[TL_STATIONS_MAX]; /* by place */
};

/* Run until a signal asks to end. Returns an exit code. */
int tl_recorder_run(struct tl_recorder *recorder);

#endif
