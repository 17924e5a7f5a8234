/* SPDX-License-Identifier: Apache-2.0 */
/* link.c - see link.h; bus.c holds the sockets, dup.c the copies, supervise.c the judgement. */
#include "proto/link/link.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "proto/base/clock.h"
#include "proto/link/bus.h"
#include "proto/link/carried.h"
#include "proto/link/dup.h"

enum {
    CLOSE_LINGER_MS = 200,
    CLOSE_LIMIT_S = 1,
    LAG_WINDOW_MS = 2000,
    FRAME_CAP = TL_FRAME_MAX + 128
};

struct joined {
    const struct tl_bus *bus;
    struct tl_bus_sockets sockets;
    struct tl_supervise supervise;
    struct tl_bus_health health;
    uint64_t lag_worst_ms; /* in the window that runs now */
    uint64_t lag_since_ms;
};

struct tl_link {
    struct tl_link_options options;
    void *context;
    uint32_t count;
    struct joined joined[TL_BUSES_MAX];
    struct tl_codec codec;
    struct tl_dup dup;
    struct tl_carried carried;
    char own_topic[TL_TOPIC_CAP]; /* of own changes; "" = this node says none */
    size_t own_topic_len;
    struct tl_counts counts;
    struct tl_stages *stages; /* NULL = not measured */
    struct tl_envelope outgoing;
    uint8_t frame[FRAME_CAP];
    zmq_msg_t last; /* the message handed out last, empty when there is none */
    uint32_t next;  /* bus that is read first, so that none starves */
};

static enum tl_err
say_why(char *why, size_t cap, enum tl_err err, const char *text)
{
    (void)snprintf(why, cap, "%s", text);
    return err;
}

enum tl_err
tl_link_open(const struct tl_link_options *options, struct tl_link **out, char *why, size_t why_cap)
{
    if (options->config->bus_count == 0) {
        return say_why(why, why_cap, TL_CONFIG, "bus.yaml names no bus");
    }
    struct tl_link *link = calloc(1, sizeof *link);
    uint32_t usable = 0;
    if (link == NULL) {
        return say_why(why, why_cap, TL_NOMEM, "out of memory");
    }
    link->options = *options;
    tl_dup_init(&link->dup);
    (void)zmq_msg_init(&link->last);
    link->own_topic_len = tl_bus_own_topic(options, link->own_topic);
    link->context = zmq_ctx_new();
    if (link->context == NULL) {
        free(link);
        return say_why(why, why_cap, TL_IO, "no ZeroMQ context; too many open files?");
    }
    for (uint32_t i = 0; i < options->config->bus_count; i++) {
        struct joined *joined = &link->joined[link->count++];
        joined->bus = &options->config->bus[i];
        memcpy(joined->health.id, joined->bus->id, TL_ID_CAP);
        tl_supervise_init(&joined->supervise, tl_clock_boot_ms());
        enum tl_err err = tl_bus_build(link->context, options, joined->bus, &joined->sockets);
        if (err == TL_CONFIG) {
            tl_supervise_event(&joined->supervise, TL_SUPERVISE_NO_KEY, tl_clock_boot_ms());
            joined->health.state = TL_BUS_NO_KEY;
        } else if (err != TL_OK) {
            (void)snprintf(why, why_cap, "cannot open sockets for %s: %s", joined->bus->id,
                           tl_err_text(err));
            tl_link_close(&link);
            return err;
        } else {
            usable++;
        }
    }
    if (usable == 0) {
        tl_link_close(&link);
        return say_why(
            why, why_cap, TL_CONFIG,
            "keys.yaml has no broker's key that is not revoked; where keys are made run: "
            "trapline keys rotate -C DIR BUS, then bring keys.yaml here");
    }
    *out = link;
    return TL_OK;
}

static void *
terminate(void *context)
{
    while (zmq_ctx_term(context) != 0 && zmq_errno() == EINTR) {
    }
    return NULL;
}

/*
 * Ending a context waits for every socket to be reaped, and after a refused handshake libzmq 4.3.4
 * has been seen to wait for ever. A station that is told to stop must stop: it is given a second.
 */
static void
end_context(void *context)
{
    pthread_t thread;
    struct timespec until;
    if (pthread_create(&thread, NULL, terminate, context) != 0) {
        return;
    }
    (void)clock_gettime(CLOCK_REALTIME, &until);
    until.tv_sec += CLOSE_LIMIT_S;
    if (pthread_timedjoin_np(thread, NULL, &until) != 0) {
        (void)pthread_detach(thread);
    }
}

void
tl_link_close(struct tl_link **link)
{
    if (link == NULL || *link == NULL) {
        return;
    }
    (void)zmq_msg_close(&(*link)->last);
    for (uint32_t i = 0; i < (*link)->count; i++) {
        tl_bus_drop(&(*link)->joined[i].sockets, CLOSE_LINGER_MS);
    }
    end_context((*link)->context);
    free(*link);
    *link = NULL;
}

size_t
tl_link_poll_items(const struct tl_link *link, zmq_pollitem_t *items, size_t cap)
{
    size_t used = 0;
    for (uint32_t i = 0; i < link->count; i++) {
        const struct tl_bus_sockets *sockets = &link->joined[i].sockets;
        void *const all[] = {sockets->publish, sockets->subscribe, sockets->monitor[0],
                             sockets->monitor[1]};
        for (size_t k = 0; k < sizeof all / sizeof all[0] && used < cap; k++) {
            if (all[k] != NULL) {
                items[used++] = (zmq_pollitem_t){.socket = all[k], .events = ZMQ_POLLIN};
            }
        }
    }
    return used;
}

/* A whole envelope is large; only the part of its body is copied. */
static size_t
size_of_body(enum tl_body_kind body)
{
    switch (body) {
    case TL_BODY_BEAT:
        return sizeof(struct tl_beat);
    case TL_BODY_CHANGE:
        return sizeof(struct tl_change);
    case TL_BODY_RECEIPT:
        return sizeof(struct tl_receipt);
    case TL_BODY_VERDICT:
        return sizeof(struct tl_verdict);
    case TL_BODY_PICTURE:
        return sizeof(struct tl_picture);
    case TL_BODY_ALERTS:
        return sizeof(struct tl_alert_set);
    case TL_BODY_REFUSALS:
        return sizeof(struct tl_refusals);
    case TL_BODY_JUDGED:
        return sizeof(struct tl_judged);
    case TL_BODY_RECORDED:
        return sizeof(struct tl_recorded);
    case TL_BODY_COUNTERS:
        return sizeof(struct tl_counters);
    case TL_BODY_UNKNOWN:
    case TL_BODY_KINDS:
        break;
    }
    return 0;
}

/* Remember an own change before it leaves. */
static void
note_own(struct tl_link *link, const struct tl_envelope *envelope, size_t len)
{
    uint8_t hash[TL_DUP_HASH_LEN];
    if (link->own_topic_len > 0 && envelope->body == TL_BODY_CHANGE) {
        tl_dup_hash(&link->dup, link->frame, len, hash);
        tl_carried_sent(&link->carried, envelope->sequence, hash);
    }
}

enum tl_err
tl_link_send(struct tl_link *link, const struct tl_topic *topic, const struct tl_envelope *envelope,
             enum tl_refusal *reason)
{
    struct tl_envelope *out = &link->outgoing;
    size_t len = 0;
    bool taken = false;
    memcpy(out, envelope, offsetof(struct tl_envelope, as) + size_of_body(envelope->body));
    out->schema = TL_SCHEMA_VERSION;
    memcpy(out->node, link->options.identity->node, TL_ID_CAP);
    out->key_epoch = link->options.identity->epoch;
    out->incarnation = link->options.incarnation;
    out->wall_ms = tl_clock_wall_ms();
    struct tl_stage_begun begun = tl_stage_begin(link->stages);
    enum tl_err err = tl_frame_build(&link->codec, &link->options.identity->signer, topic, out,
                                     link->frame, sizeof link->frame, &len, reason);
    tl_stage_end(link->stages, TL_STAGE_WRITE, begun);
    if (err != TL_OK) {
        return err;
    }
    note_own(link, out, len);
    begun = tl_stage_begin(link->stages);
    for (uint32_t i = 0; i < link->count; i++) {
        const struct joined *joined = &link->joined[i];
        if (joined->sockets.publish != NULL &&
            zmq_send(joined->sockets.publish, link->frame, len, ZMQ_DONTWAIT) >= 0) {
            taken = taken || joined->supervise.untaken_ms == 0;
        }
    }
    tl_stage_end(link->stages, TL_STAGE_PASS, begun);
    if (!taken) {
        link->counts.unsent++;
        return TL_AGAIN;
    }
    link->counts.sent[topic->kind]++;
    link->counts.sent_bytes += len;
    return TL_OK;
}

static bool
verify(struct tl_link *link, const struct tl_frame *frame, const struct tl_key *key)
{
    struct tl_stage_begun begun = tl_stage_begin(link->stages);
    bool good = tl_frame_verify(frame, key->identity);
    tl_stage_end(link->stages, TL_STAGE_VERIFY, begun);
    return good;
}

static enum tl_err
decode(struct tl_link *link, const struct tl_frame *frame, struct tl_envelope *envelope,
       struct tl_drop *drop)
{
    struct tl_stage_begun begun = tl_stage_begin(link->stages);
    enum tl_err err = tl_frame_decode(&link->codec, frame, envelope, &drop->reason);
    tl_stage_end(link->stages, TL_STAGE_DECODE, begun);
    return err;
}

/* Key, signature and authority of one frame, from end to end. */
static enum tl_err
check_origin(struct tl_link *link, const struct tl_frame *frame, struct tl_drop *drop)
{
    const struct tl_config *config = link->options.config;
    struct tl_claim claim;
    enum tl_err err = tl_frame_claim(&link->codec, frame, &claim, &drop->reason);
    if (err != TL_OK) {
        return err;
    }
    const struct tl_node *node = tl_config_node(config, frame->topic.publisher);
    const struct tl_key *key = tl_config_key(config, claim.node, claim.key_epoch);
    drop->reason = TL_REFUSAL_UNKNOWN;
    drop->schema = claim.schema;
    if (node == NULL || key == NULL) {
        drop->reason = TL_REFUSAL_UNKNOWN_USER;
    } else if (strncmp(claim.node, frame->topic.publisher, TL_ID_CAP) != 0) {
        drop->reason = TL_REFUSAL_NOT_YOUR_TOPIC;
    } else if (!verify(link, frame, key)) {
        drop->reason = TL_REFUSAL_SIGNATURE;
    } else {
        drop->signed_by_publisher = true;
        link->counts.verified++;
        if (key->revoked) {
            drop->reason = TL_REFUSAL_REVOKED;
        } else if (!tl_config_may_publish(node, &frame->topic)) {
            drop->reason = TL_REFUSAL_NOT_YOUR_TOPIC;
        }
    }
    return drop->reason == TL_REFUSAL_UNKNOWN ? TL_OK : TL_REFUSED;
}

/* How far this bus is behind the one that brought the frame first. */
static void
note_lag(struct joined *joined, uint64_t lag_ms, uint64_t now_ms)
{
    if (now_ms - joined->lag_since_ms > LAG_WINDOW_MS) {
        joined->health.lag_ms = joined->lag_worst_ms;
        joined->lag_worst_ms = 0;
        joined->lag_since_ms = now_ms;
    }
    joined->lag_worst_ms = lag_ms > joined->lag_worst_ms ? lag_ms : joined->lag_worst_ms;
}

static void
hear_bus(struct joined *joined, uint64_t now_ms)
{
    joined->health.last_heard_ms = now_ms;
    tl_supervise_event(&joined->supervise, TL_SUPERVISE_FRAME, now_ms);
    joined->health.state = joined->supervise.state;
}

/* With the NUL that ends a topic in a frame. */
static bool
is_own_topic(const struct tl_link *link, const uint8_t *bytes, size_t len)
{
    return link->own_topic_len > 0 && len > link->own_topic_len &&
           memcmp(bytes, link->own_topic, link->own_topic_len + 1) == 0;
}

static enum tl_err
take_frame(struct tl_link *link, uint32_t bus, zmq_msg_t *message, struct tl_topic *topic,
           struct tl_envelope *envelope, struct tl_drop *drop)
{
    struct joined *joined = &link->joined[bus];
    const uint8_t *bytes = zmq_msg_data(message);
    size_t len = zmq_msg_size(message);
    uint64_t now_ms = tl_clock_boot_ms();
    uint8_t hash[TL_DUP_HASH_LEN];
    struct tl_frame frame;
    joined->health.received++;
    link->counts.received_bytes += len;
    tl_dup_hash(&link->dup, bytes, len, hash);
    if (is_own_topic(link, bytes, len)) {
        drop->reason = TL_REFUSAL_TWIN; /* when it is not ours: of another program, or too old */
        return tl_carried_heard(&link->carried, bus, hash) ? TL_AGAIN : TL_REFUSED;
    }
    const struct tl_dup_entry *first = tl_dup_find(&link->dup, hash);
    if (first != NULL) {
        joined->health.duplicates++;
        if (first->bus != bus) {
            note_lag(joined, now_ms - first->when_ms, now_ms);
            hear_bus(joined, now_ms);
        }
        return TL_AGAIN;
    }
    enum tl_err err = tl_frame_split(bytes, len, &frame, &drop->reason);
    if (err != TL_OK) {
        return TL_REFUSED;
    }
    memcpy(drop->publisher, frame.topic.publisher, TL_ID_CAP);
    if (check_origin(link, &frame, drop) != TL_OK) {
        return TL_REFUSED;
    }
    tl_dup_add(&link->dup, hash, bus, now_ms);
    note_lag(joined, 0, now_ms);
    hear_bus(joined, now_ms);
    if (decode(link, &frame, envelope, drop) != TL_OK) {
        return TL_REFUSED;
    }
    *topic = frame.topic;
    return TL_OK;
}

/* One message of one bus. TL_EMPTY: none; TL_AGAIN: a copy, look on. */
static enum tl_err
read_bus(struct tl_link *link, uint32_t bus, struct tl_topic *topic, struct tl_envelope *envelope,
         struct tl_drop *drop)
{
    void *socket = link->joined[bus].sockets.subscribe;
    struct tl_stage_begun begun = tl_stage_begin(link->stages);
    zmq_msg_t message;
    enum tl_err err = TL_EMPTY;
    (void)zmq_msg_init(&message);
    if (socket != NULL && zmq_msg_recv(&message, socket, ZMQ_DONTWAIT) >= 0) {
        *drop = (struct tl_drop){.bus = bus};
        if (zmq_msg_more(&message)) {
            drop->reason = TL_REFUSAL_FRAMES;
            err = TL_REFUSED;
            while (zmq_msg_more(&message) && zmq_msg_recv(&message, socket, ZMQ_DONTWAIT) >= 0) {
            }
        } else {
            err = take_frame(link, bus, &message, topic, envelope, drop);
        }
    }
    if (err == TL_OK) {
        (void)zmq_msg_move(&link->last, &message);
    }
    (void)zmq_msg_close(&message);
    if (err != TL_EMPTY) {
        tl_stage_end(link->stages, TL_STAGE_TAKE, begun);
    }
    return err;
}

static void
count(struct tl_link *link, enum tl_err err, const struct tl_topic *topic,
      const struct tl_envelope *envelope, const struct tl_drop *drop)
{
    if (err == TL_OK) {
        tl_counts_took(&link->counts, link->options.config, envelope, topic->kind,
                       tl_clock_boot_ms());
    } else {
        tl_counts_refused(&link->counts, drop->reason);
    }
}

enum tl_err
tl_link_receive(struct tl_link *link, struct tl_topic *topic, struct tl_envelope *envelope,
                uint32_t *bus, struct tl_drop *drop)
{
    uint32_t silent = 0;
    (void)zmq_msg_close(&link->last);
    (void)zmq_msg_init(&link->last);
    while (silent < link->count) {
        uint32_t at = link->next++ % link->count;
        enum tl_err err = read_bus(link, at, topic, envelope, drop);
        if (err == TL_EMPTY) {
            silent++;
        } else if (err == TL_AGAIN) {
            silent = 0;
        } else {
            *bus = at;
            count(link, err, topic, envelope, drop);
            return err;
        }
    }
    return TL_EMPTY;
}

const uint8_t *
tl_link_frame(struct tl_link *link, size_t *len)
{
    *len = zmq_msg_size(&link->last);
    return zmq_msg_data(&link->last);
}

static void
tend_bus(struct tl_link *link, struct joined *joined, uint64_t now_ms)
{
    tl_bus_listen(&joined->sockets, &joined->supervise, now_ms);
    if (tl_supervise_tend(&joined->supervise, now_ms)) {
        tl_bus_drop(&joined->sockets, 0);
        /* When it cannot be built now (descriptors), the next turn of the back-off tries again. */
        enum tl_err err =
            tl_bus_build(link->context, &link->options, joined->bus, &joined->sockets);
        tl_supervise_event(&joined->supervise, TL_SUPERVISE_REBUILT, now_ms);
        if (err == TL_CONFIG) {
            tl_supervise_event(&joined->supervise, TL_SUPERVISE_NO_KEY, now_ms);
        }
        joined->health.rebuilt++;
    }
    if (now_ms - joined->lag_since_ms > LAG_WINDOW_MS) {
        note_lag(joined, 0, now_ms);
    }
    joined->health.can_send = joined->supervise.untaken_ms == 0;
    joined->health.state = joined->supervise.state;
}

void
tl_link_tend(struct tl_link *link, uint64_t now_ms)
{
    for (uint32_t i = 0; i < link->count; i++) {
        tend_bus(link, &link->joined[i], now_ms);
    }
}

uint32_t
tl_link_bus_count(const struct tl_link *link)
{
    return link->count;
}

const struct tl_bus_health *
tl_link_bus(const struct tl_link *link, uint32_t bus)
{
    return &link->joined[bus].health;
}

const char *
tl_bus_state_text(enum tl_bus_state state)
{
    switch (state) {
    case TL_BUS_UP:
        return "up";
    case TL_BUS_CONNECTING:
        return "connecting";
    case TL_BUS_DOWN:
        return "nothing heard from its broker";
    case TL_BUS_KEY_REFUSED:
        return "key refused by its broker: revoked there";
    case TL_BUS_KEY_UNKNOWN:
        return "our key is not known there: bring keys.yaml there, SIGHUP";
    case TL_BUS_WRONG_KEY:
        return "handshake failed: its broker has another key than keys.yaml";
    case TL_BUS_MUTE:
        return "heard, but its broker takes nothing from here: see its ingress";
    case TL_BUS_NO_KEY:
        return "keys.yaml has no key of its broker that is in use";
    case TL_BUS_UNKNOWN:
        break;
    }
    return "unknown";
}

uint64_t
tl_link_own_heard(const struct tl_link *link, uint32_t bus)
{
    return bus < link->count ? link->carried.highest[bus] : 0;
}

uint32_t
tl_link_own_carried(const struct tl_link *link, uint64_t sequence, bool *kept)
{
    return tl_carried_buses(&link->carried, sequence, kept);
}

void
tl_link_keys_changed(struct tl_link *link)
{
    /* What was verified with an old key must not stand in for a check with the new list. */
    uint64_t now_ms = tl_clock_boot_ms();
    tl_dup_init(&link->dup);
    for (uint32_t i = 0; i < link->count; i++) {
        struct joined *joined = &link->joined[i];
        bool believed =
            tl_bus_server_believed(&joined->sockets, link->options.config, joined->bus->id);
        tl_supervise_event(&joined->supervise,
                           believed ? TL_SUPERVISE_KEYS_CHANGED : TL_SUPERVISE_KEY_GONE, now_ms);
        tend_bus(link, joined, now_ms); /* now: a frame of the old sockets would call it up again */
    }
}

void
tl_link_measure(struct tl_link *link, struct tl_stages *stages)
{
    link->stages = stages;
}

const struct tl_counts *
tl_link_counts(const struct tl_link *link)
{
    return &link->counts;
}
