/* SPDX-License-Identifier: Apache-2.0 */
/*
 * wire_load - traffic through one bus, or through the plainest forwarder that libzmq makes
 *
 *   wire_load forward -C DIR --bus ID                  zmq_proxy() between that bus's endpoints
 *   wire_load rate  -C DIR --bus ID FRAMES SUBSCRIBERS MESSAGES
 *   wire_load delay -C DIR --bus ID FRAMES SUBSCRIBERS MESSAGES EACH_US
 *
 * The forwarder has the broker's key, buffers and water marks, and no other of its options: it asks
 * nobody who may connect and looks at no frame. `rate` sends as fast as the bus takes messages,
 * `delay` one each EACH_US microseconds; each is a verdict of validator-1 of 160 bytes behind its
 * topic, as one frame (1) or as topic and body (2). At most ON_THE_WAY messages have not come to every
 * subscriber, so that nobody drops any. Prints JSON: what was delivered to all subscribers
 * together, in how many seconds, and for `delay` the delays in microseconds: of each copy, and of the
 * last one of each message.
 */
#include <inttypes.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <zmq.h>

#include "proto/base/conf.h"
#include "proto/link/identity.h"
#include "tests/bench/timed.h"

enum {
    SUBSCRIBERS_MAX = 256,
    BODY = 160, /* signature and a small envelope */
    AT_A_TIME = 64,
    ON_THE_WAY = 128,
    STUCK_MS = 1000,
    WARM_MS = 10,
    LIMIT_MS = 20000,
    INGRESS_RCVHWM = 1000, /* as broker/access/server.c has them */
    EGRESS_SNDHWM = 200
};
static const char topic[] = "verdict/validator-1/";

struct stamp {
    uint64_t number; /* 0 = warming up, UINT64_MAX = the end */
    uint64_t sent_ns;
};

struct load {
    struct tl_config config;
    struct tl_identity identity;
    const struct tl_bus *bus;
    char server_public[TL_CURVE_CAP];
    void *context;
    void *publisher;
    uint32_t frames, subscribers, messages, each_us;
    /* of the thread that receives */
    void *subscriber[SUBSCRIBERS_MAX];
    bool warm[SUBSCRIBERS_MAX], over[SUBSCRIBERS_MAX];
    _Atomic uint64_t delivered;
    uint64_t first_ns, last_ns;
    double *delay_us;
    size_t delays;
    double *last_delay_us; /* by message */
    _Atomic uint32_t warm_count, over_count;
};

static void
need(bool holds, const char *what)
{
    if (!holds) {
        (void)fprintf(stderr, "wire_load: %s: %s\n", what, zmq_strerror(zmq_errno()));
        exit(1); // NOLINT(concurrency-mt-unsafe): nothing is shared that exit touches
    }
}

static void
set_number(void *socket, int name, int value)
{
    need(zmq_setsockopt(socket, name, &value, sizeof value) == 0, "cannot set an option");
}

static void
set_text(void *socket, int name, const char *value)
{
    need(zmq_setsockopt(socket, name, value, strlen(value) + 1) == 0, "cannot set a key");
}

/* ---- the forwarder ---- */

static void *
serve(const struct load *load, int type, const char *endpoint)
{
    void *socket = zmq_socket(load->context, type);
    need(socket != NULL, "cannot make a socket");
    set_number(socket, ZMQ_CURVE_SERVER, 1);
    set_text(socket, ZMQ_CURVE_SECRETKEY, load->identity.curve_secret);
    set_number(socket, ZMQ_LINGER, 0);
    if (type == ZMQ_XSUB) {
        set_number(socket, ZMQ_RCVHWM, INGRESS_RCVHWM);
    } else {
        set_number(socket, ZMQ_SNDHWM, EGRESS_SNDHWM);
        set_number(socket, ZMQ_SNDBUF, 2 * TL_FRAME_MAX);
    }
    need(zmq_bind(socket, endpoint) == 0, endpoint);
    return socket;
}

static int
forward(const struct load *load)
{
    void *ingress = serve(load, ZMQ_XSUB, load->bus->ingress);
    void *egress = serve(load, ZMQ_XPUB, load->bus->egress);
    (void)printf("ready\n");
    (void)fflush(stdout);
    (void)zmq_proxy(ingress, egress, NULL); /* until it is killed */
    return 1;
}

/* ---- the load ---- */

static void *
join(const struct load *load, int type, const char *endpoint)
{
    void *socket = zmq_socket(load->context, type);
    need(socket != NULL, "cannot make a socket");
    set_text(socket, ZMQ_CURVE_SERVERKEY, load->server_public);
    set_text(socket, ZMQ_CURVE_PUBLICKEY, load->identity.curve_public);
    set_text(socket, ZMQ_CURVE_SECRETKEY, load->identity.curve_secret);
    set_number(socket, ZMQ_LINGER, 0);
    if (type == ZMQ_SUB) {
        set_number(socket, ZMQ_RCVHWM, 0);
        need(zmq_setsockopt(socket, ZMQ_SUBSCRIBE, topic, strlen(topic)) == 0, "cannot subscribe");
    } else {
        set_number(socket, ZMQ_XPUB_NODROP, 1); /* it waits for the bus */
    }
    need(zmq_connect(socket, endpoint) == 0, endpoint);
    return socket;
}

static void
send_one(const struct load *load, uint64_t number)
{
    uint8_t bytes[sizeof topic + BODY] = {0};
    struct stamp stamp = {.number = number, .sent_ns = timed_now_ns()};
    memcpy(bytes, topic, sizeof topic);
    memcpy(bytes + sizeof bytes - sizeof stamp, &stamp, sizeof stamp);
    if (load->frames == 2) {
        need(zmq_send(load->publisher, bytes, sizeof topic, ZMQ_SNDMORE) >= 0 &&
                 zmq_send(load->publisher, bytes + sizeof topic, BODY, 0) >= 0,
             "cannot send");
    } else {
        need(zmq_send(load->publisher, bytes, sizeof bytes, 0) >= 0, "cannot send");
    }
}

static void
take(struct load *load, uint32_t at, const struct stamp *stamp)
{
    if (stamp->number == 0 || stamp->number == UINT64_MAX) {
        bool *seen = stamp->number == 0 ? &load->warm[at] : &load->over[at];
        if (!*seen && stamp->number == 0) {
            load->warm_count++;
        } else if (!*seen) {
            load->over_count++;
        }
        *seen = true;
        return;
    }
    load->last_ns = timed_now_ns();
    load->first_ns = load->delivered == 0 ? load->last_ns : load->first_ns;
    load->delivered++;
    if (load->delay_us != NULL && load->delays < (size_t)load->messages * load->subscribers) {
        double delay_us = (double)(load->last_ns - stamp->sent_ns) / 1e3;
        load->delay_us[load->delays++] = delay_us;
        load->last_delay_us[stamp->number - 1] = delay_us;
    }
}

/* False when there is nothing more for now. */
static bool
receive(struct load *load, uint32_t at)
{
    uint8_t bytes[sizeof topic + BODY];
    struct stamp stamp;
    int length = zmq_recv(load->subscriber[at], bytes, sizeof bytes, ZMQ_DONTWAIT);
    if (length >= 0 && load->frames == 2) {
        length = zmq_recv(load->subscriber[at], bytes, sizeof bytes, 0);
    }
    if (length < (int)sizeof stamp) {
        return false;
    }
    memcpy(&stamp, bytes + length - sizeof stamp, sizeof stamp);
    take(load, at, &stamp);
    return true;
}

static void *
receive_all(void *ctx)
{
    struct load *load = ctx;
    zmq_pollitem_t items[SUBSCRIBERS_MAX];
    for (uint32_t i = 0; i < load->subscribers; i++) {
        load->subscriber[i] = join(load, ZMQ_SUB, load->bus->egress);
        items[i] = (zmq_pollitem_t){load->subscriber[i], 0, ZMQ_POLLIN, 0};
    }
    uint64_t until_ns = timed_now_ns() + LIMIT_MS * 1000000ull;
    while (load->over_count < load->subscribers && timed_now_ns() < until_ns) {
        (void)zmq_poll(items, (int)load->subscribers, 100);
        for (uint32_t i = 0; i < load->subscribers; i++) {
            for (uint32_t k = 0; k < AT_A_TIME && receive(load, i); k++) {
                until_ns = load->last_ns > 0 ? load->last_ns + LIMIT_MS * 1000000ull : until_ns;
            }
        }
    }
    for (uint32_t i = 0; i < load->subscribers; i++) {
        (void)zmq_close(load->subscriber[i]);
    }
    return NULL;
}

/* Until that many subscribers have had that mark. */
static void
send_until(const struct load *load, uint64_t number, const _Atomic uint32_t *count)
{
    const struct timespec gap = {.tv_nsec = WARM_MS * 1000000L};
    for (uint32_t ms = 0; *count < load->subscribers; ms += WARM_MS) {
        need(ms < LIMIT_MS,
             number == 0 ? "nothing comes through" : "the end does not come through");
        send_one(load, number);
        (void)nanosleep(&gap, NULL);
    }
}

/* What is lost all the same does not come: then it goes on after STUCK_MS. */
static void
wait_for_room(const struct load *load, uint64_t sent)
{
    const struct timespec gap = {.tv_nsec = 20000};
    uint64_t until_ns = 0;
    while (sent - load->delivered / load->subscribers > ON_THE_WAY) {
        uint64_t at_ns = timed_now_ns();
        until_ns = until_ns == 0 ? at_ns + STUCK_MS * 1000000ull : until_ns;
        if (at_ns > until_ns) {
            return;
        }
        (void)nanosleep(&gap, NULL);
    }
}

static void
report_delays(double *delay_us, size_t count, const char *name)
{
    struct timed_spread spread = timed_spread_of(delay_us, count);
    (void)printf(",\"%sp50_us\":%.1f,\"%sp99_us\":%.1f", name, spread.median_us, name,
                 spread.p99_us);
}

static void
report(struct load *load)
{
    uint64_t wanted = (uint64_t)load->messages * load->subscribers;
    (void)printf("{\"wanted\":%" PRIu64 ",\"delivered\":%" PRIu64 ",\"seconds\":%.6f", wanted,
                 load->delivered, (double)(load->last_ns - load->first_ns) / 1e9);
    if (load->delay_us != NULL && load->delays > 0) {
        report_delays(load->delay_us, load->delays, "");
        report_delays(load->last_delay_us, load->messages, "last_");
    }
    (void)printf("}\n");
}

static int
run(struct load *load)
{
    pthread_t receiver;
    load->publisher = join(load, ZMQ_XPUB, load->bus->ingress);
    if (load->each_us > 0) {
        load->delay_us = calloc((size_t)load->messages * load->subscribers, sizeof(double));
        load->last_delay_us = calloc(load->messages, sizeof(double));
        need(load->delay_us != NULL && load->last_delay_us != NULL, "out of memory");
    }
    need(pthread_create(&receiver, NULL, receive_all, load) == 0, "cannot start a thread");
    send_until(load, 0, &load->warm_count);
    uint64_t due_ns = timed_now_ns();
    for (uint32_t i = 1; i <= load->messages; i++) {
        if (load->each_us > 0) {
            due_ns += load->each_us * 1000ull;
            struct timespec due = {(time_t)(due_ns / 1000000000ull),
                                   (long)(due_ns % 1000000000ull)};
            (void)clock_nanosleep(CLOCK_MONOTONIC, TIMER_ABSTIME, &due, NULL);
        }
        wait_for_room(load, i);
        send_one(load, i);
    }
    send_until(load, UINT64_MAX, &load->over_count);
    (void)pthread_join(receiver, NULL);
    report(load);
    (void)zmq_close(load->publisher);
    free(load->delay_us);
    free(load->last_delay_us);
    return load->delivered > 0 ? 0 : 1;
}

static uint32_t
number_of(int argc, char **argv, int at, uint32_t most)
{
    unsigned long value = at < argc ? strtoul(argv[at], NULL, 10) : 0;
    need(value >= 1 && value <= most, "a number is missing or out of range");
    return (uint32_t)value;
}

static void
open_load(struct load *load, const char *dir, const char *bus, const char *node)
{
    struct tl_conf_fault fault;
    char why[TL_TEXT_CAP];
    need(tl_conf_load(dir, &load->config, &fault) == TL_OK, "the folder cannot be used");
    for (uint32_t i = 0; i < load->config.bus_count; i++) {
        if (strcmp(load->config.bus[i].id, bus) == 0) {
            load->bus = &load->config.bus[i];
        }
    }
    need(load->bus != NULL, "no such bus");
    const struct tl_key *key = tl_config_key(&load->config, bus, 1);
    need(key != NULL && tl_identity_curve_public(key->identity, load->server_public) == TL_OK,
         "the bus has no key");
    need(tl_identity_open(&load->config, node, 1, &load->identity, why, sizeof why) == TL_OK, why);
    load->context = zmq_ctx_new();
}

int
main(int argc, char **argv)
{
    static struct load load;
    bool forwards = argc == 6 && strcmp(argv[1], "forward") == 0;
    bool delays = argc == 10 && strcmp(argv[1], "delay") == 0;
    if ((!forwards && !delays && !(argc == 9 && strcmp(argv[1], "rate") == 0)) ||
        strcmp(argv[2], "-C") != 0 || strcmp(argv[4], "--bus") != 0) {
        (void)fprintf(stderr, "usage: wire_load forward|rate|delay -C DIR --bus ID ...\n");
        return 64;
    }
    open_load(&load, argv[3], argv[5], forwards ? argv[5] : "validator-1");
    if (forwards) {
        return forward(&load);
    }
    load.frames = number_of(argc, argv, 6, 2);
    load.subscribers = number_of(argc, argv, 7, SUBSCRIBERS_MAX);
    load.messages = number_of(argc, argv, 8, 100000000);
    load.each_us = delays ? number_of(argc, argv, 9, 1000000) : 0;
    int code = run(&load);
    (void)zmq_ctx_term(load.context);
    tl_identity_close(&load.identity);
    return code;
}
