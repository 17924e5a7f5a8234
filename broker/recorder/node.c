/* SPDX-License-Identifier: Apache-2.0 */
/* node.c - see node.h. */
#include "broker/recorder/node.h"

#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/signalfd.h>
#include <unistd.h>

#include "broker/recorder/metrics.h"
#include "proto/base/clock.h"
#include "proto/base/log.h"

enum {
    FRAMES_A_TURN = 256,
    TURN_MS = 50,
    RETRY_MS = 1000,
    TELL_AGAIN_MS = 1000,
    SEAL_MS = 5000,
    WHY_CAP = TL_PATH_CAP + 256,
    COUNTED_A_TURN = 200 /* changes of the file, some 20 ms */
};

/* ---- the file ---- */

static void
close_store(struct tl_recorder *recorder)
{
    tl_ledger_reader_close(&recorder->reader);
    tl_store_close(&recorder->store);
}

static uint64_t
count_rows(const struct tl_store *store)
{
    uint64_t rows = 0;
    for (int i = 0; i < TL_TABLES; i++) {
        rows += tl_store_rows(store, (enum tl_record_table)i);
    }
    return rows;
}

/* The marks and what was traced ran ahead of a file that may not have it: ask the file. */
static enum tl_err
open_store(struct tl_recorder *recorder, char *why, size_t why_cap)
{
    enum tl_err err = tl_store_open(recorder->path, &recorder->store, why, why_cap);
    if (err != TL_OK) {
        return err;
    }
    tl_watermarks_init(&recorder->marks, &recorder->join.config);
    tl_trace_init(&recorder->trace);
    tl_ledger_init(&recorder->ledger, &recorder->join.config);
    err = tl_store_load(recorder->store, &recorder->marks);
    recorder->counted = false;
    if (err == TL_OK) {
        err = tl_store_open_ledger(recorder->store, &recorder->ledger, &recorder->reader);
    }
    if (err != TL_OK) {
        (void)snprintf(why, why_cap, "%s", tl_store_why(recorder->store));
        close_store(recorder);
    } else {
        recorder->rows = count_rows(recorder->store);
    }
    return err;
}

static void
lose_store(struct tl_recorder *recorder)
{
    tl_log(TL_LOG_ERROR, "REC-001", "%s; not recording, tried again every second",
           tl_store_why(recorder->store));
    close_store(recorder);
    recorder->failures++;
    recorder->retry_ms = tl_clock_boot_ms() + RETRY_MS;
}

static void
retry_store(struct tl_recorder *recorder, uint64_t now_ms)
{
    char why[WHY_CAP];
    if (recorder->store != NULL || now_ms < recorder->retry_ms) {
        return;
    }
    recorder->retry_ms = now_ms + RETRY_MS;
    if (open_store(recorder, why, sizeof why) == TL_OK) {
        tl_log(TL_LOG_NOTICE, "REC-002", "record %s: recording again", recorder->path);
    }
}

/* ---- rows ---- */

static struct tl_verbatim
frame_of(struct tl_recorder *recorder)
{
    struct tl_verbatim frame;
    frame.bytes = tl_link_frame(recorder->join.link, &frame.len);
    return frame;
}

static bool
reads_file(const struct tl_recorder *recorder)
{
    return recorder->store != NULL && !recorder->counted;
}

/* A piece of the file: it may be years long, and what is on the air now waits for none of it. */
static void
count_file(struct tl_recorder *recorder)
{
    if (!reads_file(recorder)) {
        return;
    }
    enum tl_err err = tl_store_read_ledger(recorder->store, &recorder->reader, COUNTED_A_TURN);
    recorder->counted = err == TL_EMPTY;
    if (err == TL_IO) {
        lose_store(recorder);
    }
}

/*
 * Once a row, so that what is counted here is what the file gives when it is read again. Until the
 * file is counted a new row is only one more of it.
 */
static void
count_change(struct tl_recorder *recorder, const struct tl_envelope *envelope)
{
    struct tl_entry entry = {.incarnation = envelope->incarnation,
                             .sequence = envelope->sequence,
                             .wall_ms = envelope->wall_ms,
                             .datum = &envelope->as.change.datum};
    memcpy(entry.node, envelope->node, TL_ID_CAP);
    tl_ledger_change(&recorder->ledger, &entry);
}

static enum tl_err
record_change(struct tl_recorder *recorder, const struct tl_envelope *envelope)
{
    struct tl_verbatim frame = frame_of(recorder);
    struct tl_watermark *mark = tl_watermark_of(&recorder->marks, envelope->node);
    if (mark == NULL) {
        return TL_OK; /* only stations state changes */
    }
    bool behind = envelope->incarnation == mark->incarnation && envelope->sequence <= mark->through;
    uint64_t rows = tl_store_change_rows(recorder->store);
    enum tl_err err = tl_store_change(recorder->store, envelope, &frame);
    if (err == TL_OK && recorder->counted && tl_store_change_rows(recorder->store) != rows) {
        count_change(recorder, envelope);
    }
    if (err == TL_OK && !behind) {
        (void)tl_watermark_take(mark, envelope->incarnation, envelope->sequence);
    }
    return err;
}

static enum tl_err
record_gaps(struct tl_recorder *recorder, const struct tl_envelope *envelope)
{
    const struct tl_beat *beat = &envelope->as.beat;
    struct tl_watermark *mark = tl_watermark_of(&recorder->marks, envelope->node);
    struct tl_held_range held = {envelope->incarnation, beat->last_change, beat->oldest_held};
    struct tl_gap gap;
    enum tl_err err = TL_OK;
    while (mark != NULL && err == TL_OK && tl_watermark_gap(mark, &held, &gap)) {
        err = tl_store_gap(recorder->store, mark, &gap, tl_clock_wall_ms());
        recorder->gaps++;
        tl_log(TL_LOG_WARNING, "REC-003", "%s: changes %llu to %llu are not recorded", mark->node,
               (unsigned long long)gap.first, (unsigned long long)gap.last);
    }
    return err;
}

static enum tl_err
record_beat(struct tl_recorder *recorder, const struct tl_envelope *envelope)
{
    struct tl_verbatim frame = frame_of(recorder);
    struct tl_claim claim = {.incarnation = envelope->incarnation, .sequence = envelope->sequence};
    memcpy(claim.node, envelope->node, TL_ID_CAP);
    enum tl_err err = record_gaps(recorder, envelope);
    bool named = tl_beats_keep(recorder->beats, envelope, &frame);
    if (err == TL_OK && named) {
        err = tl_store_beat(recorder->store, &claim, envelope->wall_ms, &frame);
    }
    return err;
}

/* The beat that a validator took goes into the record with what it tells of it. */
static enum tl_err
record_judged(struct tl_recorder *recorder, const struct tl_envelope *envelope)
{
    const struct tl_judged *judged = &envelope->as.judged;
    struct tl_claim claim = {.incarnation = judged->incarnation, .sequence = judged->sequence};
    struct tl_verbatim frame = frame_of(recorder);
    bool beat = judged->kind == TL_JUDGED_BEAT || judged->kind == TL_JUDGED_STALE_BEAT;
    uint64_t wall_ms = 0;
    memcpy(claim.node, judged->node, TL_ID_CAP);
    enum tl_err err = tl_store_judged(recorder->store, envelope, &frame);
    if (judged->kind == TL_JUDGED_PREDICTED) {
        tl_ledger_predicted(&recorder->ledger, &judged->predicted);
    } else {
        tl_ledger_judged(&recorder->ledger, judged);
    }
    if (err == TL_OK && beat && tl_beats_name(recorder->beats, &claim, &frame, &wall_ms)) {
        err = tl_store_beat(recorder->store, &claim, wall_ms, &frame);
    }
    return err;
}

static enum tl_err
record_alerts(struct tl_recorder *recorder, const struct tl_envelope *envelope)
{
    uint32_t count = tl_trace_alerts(&recorder->trace, envelope, recorder->steps);
    enum tl_err err = TL_OK;
    for (uint32_t i = 0; i < count && err == TL_OK; i++) {
        err = tl_store_alert(recorder->store, envelope, &recorder->steps[i]);
    }
    return err;
}

static enum tl_err
record(struct tl_recorder *recorder, const struct tl_envelope *envelope)
{
    if (!tl_store_can_hold(envelope)) {
        return TL_OK;
    }
    switch (envelope->body) {
    case TL_BODY_CHANGE:
        return record_change(recorder, envelope);
    case TL_BODY_BEAT:
        return record_beat(recorder, envelope);
    case TL_BODY_JUDGED:
        return record_judged(recorder, envelope);
    case TL_BODY_VERDICT:
        return tl_trace_verdict(&recorder->trace, envelope)
                   ? tl_store_verdict(recorder->store, envelope)
                   : TL_OK;
    case TL_BODY_ALERTS:
        return record_alerts(recorder, envelope);
    case TL_BODY_RECEIPT:
    case TL_BODY_PICTURE:
    case TL_BODY_REFUSALS:
    case TL_BODY_RECORDED:
    case TL_BODY_COUNTERS:
    case TL_BODY_UNKNOWN:
    case TL_BODY_KINDS:
        break;
    }
    return TL_OK;
}

/* A seal goes with other rows, or alone when what it covers has waited long enough. */
static enum tl_err
seal(struct tl_recorder *recorder, uint64_t now_ms, bool at_once)
{
    const struct tl_join *join = &recorder->join;
    struct tl_sealer sealer = {&join->identity, join->incarnation};
    if (!at_once && now_ms - recorder->sealed_ms < SEAL_MS) {
        return TL_OK;
    }
    recorder->sealed_ms = now_ms;
    return tl_store_seal(recorder->store, &sealer, tl_clock_wall_ms());
}

/* A turn counts when it has made rows durable. */
static void
count_commit(struct tl_recorder *recorder)
{
    uint64_t rows = count_rows(recorder->store);
    recorder->commits += rows > recorder->rows ? 1U : 0U;
    recorder->rows = rows;
}

static void
commit(struct tl_recorder *recorder, bool at_once)
{
    if (recorder->store == NULL) {
        return;
    }
    if (seal(recorder, tl_clock_boot_ms(), at_once) != TL_OK ||
        tl_store_commit(recorder->store) != TL_OK) {
        lose_store(recorder);
    } else {
        count_commit(recorder);
    }
}

static void
take_drop(struct tl_recorder *recorder, const struct tl_drop *drop)
{
    char text[TL_TEXT_CAP];
    if (tl_newer_heard(&recorder->newer, drop, tl_clock_boot_ms())) {
        tl_log(TL_LOG_ERROR, "REC-006", "newer-schema: %s: nothing that needs it is recorded",
               tl_newer_text(drop->publisher, drop->schema, text, sizeof text));
    }
}

/* Frames are taken off the sockets also while nothing can be written. */
static void
take_frames(struct tl_recorder *recorder)
{
    for (int i = 0; i < FRAMES_A_TURN; i++) {
        struct tl_topic topic;
        struct tl_drop drop;
        uint32_t bus = 0;
        enum tl_err err =
            tl_link_receive(recorder->join.link, &topic, &recorder->envelope, &bus, &drop);
        if (err == TL_EMPTY) {
            break;
        }
        if (err == TL_OK) {
            tl_recorder_note_known(recorder, &recorder->envelope);
        } else if (err == TL_REFUSED) {
            take_drop(recorder, &drop);
        }
        if (err == TL_OK && recorder->store != NULL &&
            record(recorder, &recorder->envelope) != TL_OK) {
            lose_store(recorder);
        }
    }
    commit(recorder, false);
}

/* ---- what it publishes ---- */

static void
send_to(struct tl_recorder *recorder, const struct tl_topic *topic)
{
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    enum tl_err err = tl_link_send(recorder->join.link, topic, &recorder->outgoing, &reason);
    if (err != TL_OK && err != TL_AGAIN) { /* no bus can take it: it is said again */
        tl_log(TL_LOG_ERROR, "REC-004", "own message refused: %s, %s", tl_err_text(err),
               tl_refusal_name(reason));
    }
}

static void
start_message(struct tl_recorder *recorder, enum tl_body_kind body, uint64_t sequence)
{
    memset(&recorder->outgoing, 0, sizeof recorder->outgoing);
    recorder->outgoing.body = body;
    recorder->outgoing.sequence = sequence;
}

/* The station that keeps the counts is told them too, also when it has said nothing yet. */
static bool
keeps_counts(const struct tl_recorder *recorder, const char *node)
{
    const struct tl_node *owner =
        tl_config_station(&recorder->join.config, TL_STATION_GEAR_OFFICER, 0);
    return owner != NULL && strncmp(owner->id, node, TL_ID_CAP) == 0;
}

static void
tell_marks(struct tl_recorder *recorder, uint64_t now_ms)
{
    for (uint32_t i = 0; i < recorder->marks.count; i++) {
        const struct tl_watermark *mark = &recorder->marks.mark[i];
        struct tl_told_mark *told = &recorder->told[i];
        bool same = told->incarnation == mark->incarnation && told->through == mark->through;
        bool counts = mark->incarnation != 0 && keeps_counts(recorder, mark->node);
        if ((mark->through == 0 && !counts) || (same && now_ms - told->told_ms < TELL_AGAIN_MS)) {
            continue;
        }
        struct tl_topic topic = {.kind = TL_TOPIC_RECORDED};
        memcpy(topic.publisher, recorder->join.node->id, TL_ID_CAP);
        memcpy(topic.addressee, mark->node, TL_ID_CAP);
        told->incarnation = mark->incarnation;
        told->through = mark->through;
        told->told_ms = now_ms;
        start_message(recorder, TL_BODY_RECORDED, ++told->sequence);
        recorder->outgoing.as.recorded =
            (struct tl_recorded){.for_incarnation = mark->incarnation, .through = mark->through};
        if (counts && recorder->counted) {
            struct tl_recorded *recorded = &recorder->outgoing.as.recorded;
            recorded->worn_count = tl_ledger_worn(&recorder->ledger, recorded->worn);
        }
        send_to(recorder, &topic);
    }
}

static void
beat(struct tl_recorder *recorder, uint64_t now_ms)
{
    struct tl_topic topic = {.kind = TL_TOPIC_BEAT};
    if (now_ms - recorder->beat_ms < TL_BEAT_MS) {
        return;
    }
    recorder->beat_ms = now_ms;
    memcpy(topic.publisher, recorder->join.node->id, TL_ID_CAP);
    start_message(recorder, TL_BODY_BEAT, ++recorder->beat_sequence);
    send_to(recorder, &topic);
}

/* ---- the loop ---- */

/* False when asked to end. */
static bool
take_signals(struct tl_recorder *recorder)
{
    struct signalfd_siginfo info;
    while (read(recorder->signals, &info, sizeof info) == (ssize_t)sizeof info) {
        if (info.ssi_signo != SIGHUP) {
            return false;
        }
        tl_join_reload_and_log(&recorder->join, "REC-005");
    }
    return true;
}

int
tl_recorder_run(struct tl_recorder *recorder)
{
    struct tl_join *join = &recorder->join;
    zmq_pollitem_t items[TL_LINK_POLL_MAX + 1];
    char why[WHY_CAP];
    if (tl_beats_open(&join->config, &recorder->beats) != TL_OK) {
        tl_log_fault("trapline-recorder: out of memory");
        return TL_EXIT_FAILED;
    }
    if (open_store(recorder, why, sizeof why) != TL_OK) {
        tl_log_fault("trapline-recorder: %s", why);
        return TL_EXIT_FAILED;
    }
    (void)printf("trapline-recorder: %s ready, incarnation %llu, record %s\n", join->node->id,
                 (unsigned long long)join->incarnation, recorder->path);
    (void)fflush(stdout);
    recorder->start_ms = tl_clock_boot_ms();
    tl_notify_ready(&join->notify, "records");
    while (take_signals(recorder)) {
        uint64_t now_ms = tl_clock_boot_ms();
        tl_notify_turn(&join->notify, now_ms);
        tl_notify_status(&join->notify, recorder->store != NULL ? "records" : "cannot record");
        tl_link_tend(join->link, now_ms);
        retry_store(recorder, now_ms);
        size_t count = tl_link_poll_items(join->link, items, TL_LINK_POLL_MAX);
        items[count++] = (zmq_pollitem_t){.fd = recorder->signals, .events = ZMQ_POLLIN};
        /* EINTR and errors alike: the loop looks at everything again. */
        (void)zmq_poll(items, (int)count, reads_file(recorder) ? 0 : TURN_MS);
        take_frames(recorder);
        count_file(recorder);
        if (recorder->store != NULL) {
            now_ms = tl_clock_boot_ms();
            tell_marks(recorder, now_ms);
            beat(recorder, now_ms);
        }
        tl_recorder_tell_metrics(recorder, tl_clock_boot_ms());
    }
    commit(recorder, true);
    return TL_EXIT_OK;
}
