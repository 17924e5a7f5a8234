/* SPDX-License-Identifier: Apache-2.0 */
/* simbus.c - see simbus.h; simsay.c says and looks. */
#include "tests/support/simbus.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "proto/base/require.h"
#include "tests/support/ship.h"
#include "tests/support/splitmix.h"

uint64_t
sim_draw(struct sim *sim)
{
    return splitmix(&sim->random);
}

uint64_t
sim_clock(const struct sim *sim, const struct sim_node *node)
{
    int64_t gained_ms = (int64_t)sim->now_ms * node->clock_ppm / 1000000;
    return sim->now_ms + node->clock_offset_ms + (uint64_t)gained_ms;
}

static bool
before(const struct sim_message *a, const struct sim_message *b)
{
    return a->due_ms < b->due_ms || (a->due_ms == b->due_ms && a->order < b->order);
}

static void
push(struct sim *sim, const struct sim_message *message)
{
    TL_REQUIRE(sim->queue_count < SIM_QUEUE);
    uint32_t at = sim->queue_count++;
    while (at > 0 && before(message, &sim->queue[(at - 1) / 2])) {
        sim->queue[at] = sim->queue[(at - 1) / 2];
        at = (at - 1) / 2;
    }
    sim->queue[at] = *message;
}

static struct sim_message
pop(struct sim *sim)
{
    struct sim_message top = sim->queue[0];
    struct sim_message last = sim->queue[--sim->queue_count];
    uint32_t at = 0;
    for (;;) {
        uint32_t child = 2 * at + 1;
        if (child >= sim->queue_count) {
            break;
        }
        if (child + 1 < sim->queue_count && before(&sim->queue[child + 1], &sim->queue[child])) {
            child++;
        }
        if (!before(&sim->queue[child], &last)) {
            break;
        }
        sim->queue[at] = sim->queue[child];
        at = child;
    }
    if (sim->queue_count > 0) {
        sim->queue[at] = last;
    }
    return top;
}

static void
drop_use(struct sim *sim, struct sim_frame *frame)
{
    if (--frame->uses == 0) {
        frame->next = sim->spare;
        sim->spare = frame;
    }
}

/* A whole envelope is allocated, so that no reader runs past the end; only a part is copied. */
static struct sim_frame *
take_frame(struct sim *sim)
{
    struct sim_frame *frame = sim->spare;
    if (frame != NULL) {
        sim->spare = frame->next;
        memset(frame->given, 0, sizeof frame->given);
        return frame;
    }
    frame = calloc(1, sizeof *frame);
    TL_REQUIRE(frame != NULL);
    frame->envelope = calloc(1, sizeof *frame->envelope);
    TL_REQUIRE(frame->envelope != NULL);
    return frame;
}

static bool
wants(const struct sim_node *to, const struct sim_node *from, const struct tl_topic *topic)
{
    if (to == from || !to->running) {
        return false;
    }
    switch (topic->kind) {
    case TL_TOPIC_BEAT:
    case TL_TOPIC_CHANGE:
        return to->judge != NULL;
    case TL_TOPIC_VERDICT:
        return true;
    case TL_TOPIC_PICTURE:
        return to->judge != NULL || !to->sim->no_pictures;
    case TL_TOPIC_ALERT:
        return to->member != NULL;
    case TL_TOPIC_RECEIPT:
        return to->member != NULL && strcmp(to->id, topic->addressee) == 0;
    case TL_TOPIC_JUDGED:
    case TL_TOPIC_RECORDED:
    case TL_TOPIC_BUS:
    case TL_TOPIC_UNKNOWN:
    case TL_TOPIC_KINDS:
        break;
    }
    return false;
}

static void
push_again(struct sim *sim, struct sim_message message)
{
    message.again = true;
    message.order = ++sim->next_order;
    message.due_ms += sim_draw(sim) % SIM_AGAIN_MS;
    message.frame->uses++;
    push(sim, &message);
}

static void
post(struct sim *sim, const struct sim_node *from, uint32_t to, uint32_t bus,
     struct sim_frame *frame)
{
    const struct sim_node *target = &sim->node[to];
    bool lost = sim_draw(sim) % 100 < sim->loss_percent[bus];
    if (!sim->bus_up[bus] || from->out_cut[bus] || target->in_cut[bus] || lost) {
        return;
    }
    struct sim_message message = {.to = to,
                                  .bus = bus,
                                  .bus_life = sim->bus_life[bus],
                                  .frame = frame,
                                  .order = ++sim->next_order};
    uint64_t takes_ms = sim->bus_delay_ms[bus] + from->out_delay_ms[bus] + target->in_delay_ms[bus];
    takes_ms += sim->jitter_ms[bus] != 0 ? sim_draw(sim) % sim->jitter_ms[bus] : 0;
    message.due_ms = sim->now_ms + takes_ms;
    frame->uses++;
    push(sim, &message);
    if (sim->again_percent[bus] != 0 && sim_draw(sim) % 100 < sim->again_percent[bus]) {
        push_again(sim, message);
    }
}

static void
post_on_all(struct sim *sim, const struct sim_node *from, uint32_t to, struct sim_frame *frame)
{
    for (uint32_t bus = 0; bus < SIM_BUSES; bus++) {
        post(sim, from, to, bus, frame);
    }
}

/* What a validator takes from another's picture ends with the stations. */
static size_t
picture_size(const struct sim *sim, const struct tl_picture *picture)
{
    size_t stations = picture->station_count * sizeof picture->station[0];
    return sim->no_pictures ? offsetof(struct tl_picture, station) + stations : sizeof *picture;
}

static size_t
envelope_size(const struct sim *sim, const struct tl_envelope *envelope)
{
    /* A picture is large; the rest need not pay for it. */
    size_t head = offsetof(struct tl_envelope, as);
    switch (envelope->body) {
    case TL_BODY_PICTURE:
        return head + picture_size(sim, &envelope->as.picture);
    case TL_BODY_ALERTS:
        return head + sizeof envelope->as.alerts;
    case TL_BODY_BEAT:
        return head + sizeof envelope->as.beat;
    case TL_BODY_JUDGED:
        return head + sizeof envelope->as.judged;
    case TL_BODY_CHANGE:
    case TL_BODY_RECEIPT:
    case TL_BODY_VERDICT:
    case TL_BODY_REFUSALS:
    case TL_BODY_RECORDED:
    case TL_BODY_COUNTERS:
    case TL_BODY_UNKNOWN:
    case TL_BODY_KINDS:
        break;
    }
    return head + sizeof(struct tl_receipt) + sizeof(struct tl_verdict);
}

static void
send(void *ctx, const struct tl_topic *topic, const struct tl_envelope *envelope)
{
    struct sim_node *from = ctx;
    struct sim *sim = from->sim;
    struct sim_frame *frame = take_frame(sim);
    memcpy(frame->envelope, envelope, envelope_size(sim, envelope));
    memcpy(frame->envelope->node, from->id, TL_ID_CAP);
    frame->envelope->incarnation = from->incarnation;
    frame->uses = 1;
    sim->changes_sent += topic->kind == TL_TOPIC_CHANGE ? 1 : 0;
    if (sim->tap != NULL) {
        sim->tap(sim, from, topic, frame->envelope);
    }
    for (uint32_t to = 0; to < sim->count; to++) {
        if (wants(&sim->node[to], from, topic)) {
            post_on_all(sim, from, to, frame);
        }
    }
    drop_use(sim, frame);
}

static void
drop_backlog(struct sim_node *node)
{
    for (uint32_t i = 0; i < node->backlog_count; i++) {
        drop_use(node->sim, node->backlog[i].frame);
    }
    node->backlog_count = 0;
}

static void
begin_life(struct sim *sim, struct sim_node *node)
{
    uint64_t now = sim_clock(sim, node);
    if (node->judge != NULL) {
        tl_judge_init(node->judge, &sim->config, node->id, node->incarnation, now);
        node->judge->port = (struct tl_port){.ctx = node, .send = send};
    } else {
        tl_member_init(node->member, &sim->config, tl_config_node(&sim->config, node->id),
                       node->incarnation, now);
        node->member->port = (struct tl_port){.ctx = node, .send = send};
    }
    drop_backlog(node);
    node->life++;
    node->running = true;
    node->stopped = false;
}

static struct sim_node *
add_node(struct sim *sim, const char *id, bool judge)
{
    TL_REQUIRE(sim->count < SIM_NODES);
    struct sim_node *node = &sim->node[sim->count++];
    memset(node, 0, sizeof *node);
    node->sim = sim;
    (void)snprintf(node->id, sizeof node->id, "%s", id);
    node->clock_offset_ms = sim_draw(sim) % 100000000ull;
    node->incarnation = 1000 + sim_draw(sim) % 1000;
    if (judge) {
        node->judge = calloc(1, sizeof *node->judge);
    } else {
        node->member = calloc(1, sizeof *node->member);
    }
    TL_REQUIRE(node->judge != NULL || node->member != NULL);
    return node;
}

struct sim *
sim_new_of(const struct tl_config *config, uint64_t seed)
{
    struct sim *sim = calloc(1, sizeof *sim);
    TL_REQUIRE(sim != NULL);
    sim->queue = calloc(SIM_QUEUE, sizeof *sim->queue);
    TL_REQUIRE(sim->queue != NULL);
    sim->seed = seed;
    sim->random = seed;
    sim->now_ms = 1000000;
    sim->step_ms = SIM_STEP_MS;
    sim->config = *config;
    for (uint32_t bus = 0; bus < SIM_BUSES; bus++) {
        sim->bus_up[bus] = true;
        sim->bus_delay_ms[bus] = 1 + bus;
    }
    for (uint32_t i = 0; i < sim->config.node_count; i++) {
        const struct tl_node *node = &sim->config.node[i];
        if (node->kind == TL_NODE_STATION || node->kind == TL_NODE_VALIDATOR ||
            node->kind == TL_NODE_VIEWER) {
            begin_life(sim, add_node(sim, node->id, node->kind == TL_NODE_VALIDATOR));
        }
    }
    return sim;
}

struct sim *
sim_new(uint32_t validators, uint64_t seed)
{
    struct tl_config *config = calloc(1, sizeof *config);
    TL_REQUIRE(config != NULL);
    ship_config(config, validators);
    struct sim *sim = sim_new_of(config, seed);
    free(config);
    return sim;
}

void
sim_free(struct sim **sim)
{
    while ((*sim)->queue_count > 0) {
        drop_use(*sim, pop(*sim).frame);
    }
    for (uint32_t i = 0; i < (*sim)->count; i++) {
        drop_backlog(&(*sim)->node[i]);
        free((*sim)->node[i].backlog);
        free((*sim)->node[i].judge);
        free((*sim)->node[i].member);
    }
    while ((*sim)->spare != NULL) {
        struct sim_frame *frame = (*sim)->spare;
        (*sim)->spare = frame->next;
        free(frame->envelope);
        free(frame);
    }
    free((*sim)->queue);
    free(*sim);
    *sim = NULL;
}

struct sim_node *
sim_node(struct sim *sim, const char *id)
{
    for (uint32_t i = 0; i < sim->count; i++) {
        if (strcmp(sim->node[i].id, id) == 0) {
            return &sim->node[i];
        }
    }
    TL_REQUIRE(!"no such node");
    return NULL;
}

uint64_t
sim_change_digest(const struct tl_change *change)
{
    struct tl_told told = {.held_count = 1};
    uint8_t bytes[TL_DATA_DIGEST_LEN];
    uint64_t digest = 0;
    told.held[0].datum = change->datum;
    tl_told_digest(&told, bytes);
    memcpy(&digest, bytes, sizeof digest);
    return digest;
}

static void
deliver(struct sim *sim, const struct sim_message *message)
{
    struct sim_node *node = &sim->node[message->to];
    struct sim_frame *frame = message->frame;
    bool died = message->bus_life != sim->bus_life[message->bus];
    bool given = frame->given[message->to] == node->life;
    if (!node->running || died || (given && !message->again)) {
        return;
    }
    frame->given[message->to] = node->life;
    if (node->judge != NULL) {
        uint64_t digest = frame->envelope->body == TL_BODY_CHANGE
                              ? sim_change_digest(&frame->envelope->as.change)
                              : 0;
        tl_judge_message(node->judge, frame->envelope, digest, sim_clock(sim, node));
    } else {
        tl_member_message(node->member, frame->envelope, sim_clock(sim, node));
    }
}

/* A stopped process reads nothing: what comes waits in its buffers, in order. */
static void
keep_back(struct sim_node *node, const struct sim_message *message)
{
    if (node->backlog_count == node->backlog_cap) {
        node->backlog_cap = node->backlog_cap == 0 ? 256 : 2 * node->backlog_cap;
        node->backlog = realloc(node->backlog, node->backlog_cap * sizeof *node->backlog);
        TL_REQUIRE(node->backlog != NULL);
    }
    node->backlog[node->backlog_count++] = *message;
}

static void
deliver_due(struct sim *sim)
{
    while (sim->queue_count > 0 && sim->queue[0].due_ms <= sim->now_ms) {
        struct sim_message message = pop(sim);
        struct sim_node *node = &sim->node[message.to];
        if (node->running && node->stopped) {
            keep_back(node, &message);
            continue;
        }
        deliver(sim, &message);
        drop_use(sim, message.frame);
    }
}

static void
step(struct sim *sim)
{
    sim->now_ms += sim->step_ms;
    deliver_due(sim);
    for (uint32_t i = 0; i < sim->count; i++) {
        struct sim_node *node = &sim->node[i];
        if (!node->running || node->stopped) {
            continue;
        }
        if (node->judge != NULL) {
            tl_judge_tend(node->judge, sim_clock(sim, node));
        } else {
            tl_member_tend(node->member, sim_clock(sim, node));
        }
    }
    if (sim->watch != NULL) {
        sim->watch(sim, sim->watch_ctx);
    }
}

void
sim_run(struct sim *sim, uint64_t ms)
{
    uint64_t until = sim->now_ms + ms;
    while (sim->now_ms < until) {
        step(sim);
    }
}

uint64_t
sim_until(struct sim *sim, uint64_t limit_ms, sim_condition *condition, void *ctx)
{
    uint64_t start = sim->now_ms;
    while (!condition(sim, ctx)) {
        if (sim->now_ms - start >= limit_ms) {
            return UINT64_MAX;
        }
        step(sim);
    }
    return sim->now_ms - start;
}

void
sim_bus(struct sim *sim, uint32_t bus, bool up)
{
    sim->bus_life[bus] += sim->bus_up[bus] && !up ? 1 : 0;
    sim->bus_up[bus] = up;
}

bool
sim_is_reachable(const struct sim *sim, const struct sim_node *node)
{
    bool out = false;
    bool in = false;
    for (uint32_t bus = 0; bus < SIM_BUSES; bus++) {
        out = out || (sim->bus_up[bus] && !node->out_cut[bus]);
        in = in || (sim->bus_up[bus] && !node->in_cut[bus]);
    }
    return out && in;
}

void
sim_kill(struct sim *sim, const char *id)
{
    sim_node(sim, id)->running = false;
}

void
sim_start(struct sim *sim, const char *id)
{
    struct sim_node *node = sim_node(sim, id);
    node->incarnation++;
    begin_life(sim, node);
}

void
sim_stop(struct sim *sim, const char *id, bool stopped)
{
    struct sim_node *node = sim_node(sim, id);
    node->stopped = stopped;
    for (uint32_t i = 0; !stopped && i < node->backlog_count; i++) {
        push(sim, &node->backlog[i]);
    }
    node->backlog_count = stopped ? node->backlog_count : 0;
}

struct sim_node *
sim_twin(struct sim *sim, const char *id)
{
    uint64_t incarnation = sim_node(sim, id)->incarnation;
    struct sim_node *twin = add_node(sim, id, false);
    twin->incarnation = incarnation + 1;
    begin_life(sim, twin);
    return twin;
}
