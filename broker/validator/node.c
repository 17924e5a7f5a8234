/* SPDX-License-Identifier: Apache-2.0 */
/* node.c - see node.h. */
#include "broker/validator/node.h"

#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/signalfd.h>
#include <unistd.h>

#include "broker/validator/metrics.h"
#include "proto/base/clock.h"
#include "proto/base/log.h"

enum {
    FRAMES_A_TURN = 256,
    TRACE_MS = 10000
};

static void
send_message(void *ctx, const struct tl_topic *topic, const struct tl_envelope *envelope)
{
    struct tl_validator *validator = ctx;
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    enum tl_err err = tl_link_send(validator->join.link, topic, envelope, &reason);
    if (err != TL_OK && err != TL_AGAIN) { /* no bus can take it: the next one says it again */
        tl_log(TL_LOG_ERROR, "VAL-001", "own message refused: %s, %s", tl_err_text(err),
               tl_refusal_name(reason));
    }
}

static void
take_drop(struct tl_validator *validator, const struct tl_drop *drop, uint64_t now_ms)
{
    char text[TL_TEXT_CAP];
    if (drop->reason != TL_REFUSAL_NEWER_SCHEMA || !drop->signed_by_publisher) {
        tl_judge_dropped(&validator->judge, drop->publisher, drop->reason, now_ms);
        return;
    }
    tl_judge_newer(&validator->judge, drop->publisher, drop->schema, now_ms);
    if (tl_newer_heard(&validator->newer, drop, now_ms)) {
        tl_log(TL_LOG_ERROR, "VAL-003", "newer-schema: %s: nothing that needs it is judged",
               tl_newer_text(drop->publisher, drop->schema, text, sizeof text));
    }
}

static void
take_message(struct tl_validator *validator, uint64_t now_ms)
{
    struct tl_envelope *envelope = &validator->envelope;
    struct tl_stage_begun begun = tl_stage_begin(validator->trace);
    uint64_t digest = envelope->body == TL_BODY_CHANGE
                          ? tl_change_digest(&validator->codec, &envelope->as.change)
                          : 0;
    tl_judge_message(&validator->judge, envelope, digest, now_ms);
    tl_stage_end(validator->trace, TL_STAGE_JUDGE, begun);
}

static void
tend(struct tl_validator *validator, uint64_t now_ms)
{
    struct tl_stage_begun begun = tl_stage_begin(validator->trace);
    tl_judge_tend(&validator->judge, now_ms);
    tl_stage_end(validator->trace, TL_STAGE_TEND, begun);
}

/* Of the time since the lines before. */
static void
tell_stages(struct tl_validator *validator, uint64_t now_ms)
{
    char line[TL_STAGE_LINE_CAP];
    if (validator->trace == NULL || now_ms < validator->next_trace_ms) {
        return;
    }
    validator->next_trace_ms = now_ms + TRACE_MS;
    for (int stage = 0; stage < TL_STAGES; stage++) {
        if (tl_stage_text(validator->trace, (enum tl_stage)stage, line)[0] != '\0') {
            tl_log(TL_LOG_NOTICE, "VAL-004", "trace: %s", line);
        }
    }
    memset(validator->trace, 0, sizeof *validator->trace);
}

static void
take_frames(struct tl_validator *validator)
{
    struct tl_envelope *envelope = &validator->envelope;
    for (int i = 0; i < FRAMES_A_TURN; i++) {
        struct tl_topic topic;
        struct tl_drop drop;
        uint32_t bus = 0;
        enum tl_err err = tl_link_receive(validator->join.link, &topic, envelope, &bus, &drop);
        uint64_t now_ms = tl_clock_boot_ms();
        if (err == TL_OK) {
            take_message(validator, now_ms);
        } else if (err == TL_REFUSED) {
            take_drop(validator, &drop, now_ms);
        } else {
            return;
        }
    }
}

/* A bus that has not been up yet is given time to come up before people are told. */
static void
watch_buses(struct tl_validator *validator, uint64_t now_ms)
{
    bool started = now_ms - validator->start_ms >= TL_BUS_LAG_FOR_MS;
    char status[TL_NOTIFY_STATUS_CAP];
    uint32_t ups = 0;
    for (uint32_t i = 0; i < tl_link_bus_count(validator->join.link); i++) {
        const struct tl_bus_health *bus = tl_link_bus(validator->join.link, i);
        bool up = bus->state == TL_BUS_UP;
        ups += up ? 1U : 0U;
        validator->bus_was_up[i] = validator->bus_was_up[i] || up;
        bool down = !up && (started || validator->bus_was_up[i]);
        bool degraded = down || bus->lag_ms >= TL_BUS_LAG_MS;
        tl_judge_bus(&validator->judge, bus->id, degraded);
    }
    (void)snprintf(status, sizeof status, "judges, %u of %u buses up", ups,
                   tl_link_bus_count(validator->join.link));
    tl_notify_status(&validator->join.notify, status);
}

/* False when asked to end. */
static bool
take_signals(struct tl_validator *validator)
{
    struct signalfd_siginfo info;
    while (read(validator->signals, &info, sizeof info) == (ssize_t)sizeof info) {
        if (info.ssi_signo != SIGHUP) {
            return false;
        }
        tl_join_reload_and_log(&validator->join, "VAL-002");
    }
    return true;
}

static void
ask_worker(void *ctx, const struct tl_ask *ask)
{
    tl_worker_ask(ctx, ask);
}

static void
take_prediction(struct tl_validator *validator)
{
    struct tl_predicted predicted;
    if (tl_worker_take(validator->worker, &predicted) == TL_OK) {
        tl_judge_predicted(&validator->judge, &predicted, tl_clock_boot_ms());
    }
}

int
tl_validator_run(struct tl_validator *validator)
{
    struct tl_join *join = &validator->join;
    zmq_pollitem_t items[TL_LINK_POLL_MAX + 2];
    tl_judge_init(&validator->judge, &join->config, join->node->id, join->incarnation,
                  tl_clock_boot_ms());
    validator->start_ms = tl_clock_boot_ms();
    validator->next_trace_ms = validator->start_ms + TRACE_MS;
    tl_link_measure(join->link, validator->trace);
    validator->judge.port = (struct tl_port){.ctx = validator, .send = send_message};
    validator->judge.predict = ask_worker;
    validator->judge.predict_ctx = validator->worker;
    (void)printf("trapline-validator: %s ready, incarnation %llu\n", join->node->id,
                 (unsigned long long)join->incarnation);
    (void)fflush(stdout);
    tl_notify_ready(&join->notify, "judges");
    while (take_signals(validator)) {
        uint64_t now_ms = tl_clock_boot_ms();
        tl_notify_turn(&join->notify, now_ms);
        tl_link_tend(join->link, now_ms);
        watch_buses(validator, now_ms);
        tend(validator, now_ms);
        tell_stages(validator, now_ms);
        tl_validator_tell_metrics(validator, now_ms);
        size_t count = tl_link_poll_items(join->link, items, TL_LINK_POLL_MAX);
        items[count++] = (zmq_pollitem_t){.fd = validator->signals, .events = ZMQ_POLLIN};
        items[count++] =
            (zmq_pollitem_t){.fd = tl_worker_fd(validator->worker), .events = ZMQ_POLLIN};
        /* EINTR and errors alike: the loop looks at everything again. */
        (void)zmq_poll(items, (int)count, tl_judge_wait_ms(&validator->judge, now_ms));
        take_prediction(validator);
        take_frames(validator);
    }
    validator->next_trace_ms = 0;
    tell_stages(validator, tl_clock_boot_ms());
    return TL_EXIT_OK;
}
