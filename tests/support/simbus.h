/* SPDX-License-Identifier: Apache-2.0 */
/*
 * simbus.h - stations, validators and two buses in one process, on one simulated clock.
 *
 * Deterministic: one seed gives one run. Each node has its own boot clock (another offset), so
 * that nothing works by comparing clocks of two hosts. Messages are copied through both buses with
 * delays; receivers drop the second copy, as the link does. A stopped node keeps its backlog and
 * gets it in order when it goes on, as a frozen process does.
 *
 * For long random runs: a longer step, random delay (frames overtake each other), copies that the
 * link fails to discard, clocks that run fast or slow, a broker that dies with what it holds.
 */
#ifndef TESTS_SUPPORT_SIMBUS_H
#define TESTS_SUPPORT_SIMBUS_H

#include "broker/core/judge/judge.h"
#include "proto/link/member.h"

enum {
    SIM_STEP_MS = 5,
    SIM_NODES = 24,
    SIM_BUSES = 2,
    SIM_QUEUE = 65536,
    SIM_AGAIN_MS = 4000
};

/* One frame as it was sent; all its copies on both buses share it. */
struct sim_frame {
    struct tl_envelope *envelope;
    uint32_t uses;
    uint32_t given[SIM_NODES]; /* life of the node that has it already; 0 = none */
    struct sim_frame *next;    /* among those that are not in use */
};
struct sim_message {
    uint64_t due_ms;
    uint64_t order;
    uint32_t to;
    uint32_t bus;
    uint32_t bus_life;
    bool again; /* delivered although it was given already */
    struct sim_frame *frame;
};

struct sim;

struct sim_node {
    char id[TL_ID_CAP];
    struct sim *sim;
    uint32_t life;          /* rises with each start */
    struct tl_judge *judge; /* one of the two */
    struct tl_member *member;
    bool running;
    bool stopped; /* frozen: neither reads nor tends */
    uint64_t clock_offset_ms;
    int64_t clock_ppm; /* its clock gains so much */
    uint64_t incarnation;
    bool out_cut[SIM_BUSES]; /* what it sends does not get out */
    bool in_cut[SIM_BUSES];  /* what is sent to it does not get in */
    uint64_t out_delay_ms[SIM_BUSES];
    uint64_t in_delay_ms[SIM_BUSES];
    /* what came while it was stopped, in order */
    uint32_t backlog_count, backlog_cap;
    struct sim_message *backlog;
};

struct sim {
    struct tl_config config;
    uint64_t now_ms;
    uint64_t step_ms; /* SIM_STEP_MS unless set */
    uint64_t seed;
    uint64_t random;
    uint32_t count;
    struct sim_node node[SIM_NODES];
    bool bus_up[SIM_BUSES];
    uint32_t bus_life[SIM_BUSES];
    uint64_t bus_delay_ms[SIM_BUSES];
    uint64_t jitter_ms[SIM_BUSES]; /* at most so much more, drawn for each copy */
    uint32_t loss_percent[SIM_BUSES];
    uint32_t again_percent[SIM_BUSES]; /* copies that come once more, up to SIM_AGAIN_MS later */
    bool no_pictures; /* members get none: they are large, and no verdict needs one */
    uint64_t next_order;
    uint32_t queue_count;
    struct sim_message *queue; /* heap by (due, order) */
    struct sim_frame *spare;   /* frames to use again */
    uint64_t changes_sent;     /* change frames that left a station, resends too */
    /* called after each step; may be NULL */
    void (*watch)(struct sim *sim, void *ctx);
    void *watch_ctx;
    /* called with each frame that a node sends; may be NULL */
    void (*tap)(struct sim *sim, const struct sim_node *from, const struct tl_topic *topic,
                const struct tl_envelope *envelope);
    void *tap_ctx;
};

/* All stations and validators of the configuration and one viewer, running. Free with sim_free. */
struct sim *sim_new(uint32_t validators, uint64_t seed);
/* The same of another ship. */
struct sim *sim_new_of(const struct tl_config *config, uint64_t seed);
void sim_free(struct sim **sim);

void sim_run(struct sim *sim, uint64_t ms);
/* Run until the condition holds, at most `limit_ms`; returns the time it took, or UINT64_MAX. */
typedef bool sim_condition(struct sim *sim, void *ctx);
uint64_t sim_until(struct sim *sim, uint64_t limit_ms, sim_condition *condition, void *ctx);

struct sim_node *sim_node(struct sim *sim, const char *id);
uint64_t sim_clock(const struct sim *sim, const struct sim_node *node);

/* A broker dies with all that it has not passed on yet, or is there again. */
void sim_bus(struct sim *sim, uint32_t bus, bool up);
/* Some bus carries what that node sends, and some bus what is sent to it. */
bool sim_is_reachable(const struct sim *sim, const struct sim_node *node);

void sim_kill(struct sim *sim, const char *id);
/* A new life: everything forgotten, a higher incarnation. */
void sim_start(struct sim *sim, const char *id);
/* Freeze it, or let it go on with what has come in the meantime. */
void sim_stop(struct sim *sim, const char *id, bool stopped);
/* One more process of that node with the next higher incarnation; returns its place. */
struct sim_node *sim_twin(struct sim *sim, const char *id);

/* What stands for the digest of a change's bytes. */
uint64_t sim_change_digest(const struct tl_change *change);

/* 64 random bits of this run. */
uint64_t sim_draw(struct sim *sim);

/* ---- what people say ---- */
/* Say it now; fails the test when the station refuses to. Returns the sequence. */
uint64_t sim_say(struct sim *sim, const char *id, struct tl_datum datum);
enum tl_err sim_try(struct sim *sim, const char *id, struct tl_datum datum, uint64_t *sequence);

struct tl_datum say_recovery(uint64_t recovery_ms, bool open);
struct tl_datum say_order(struct tl_event event, uint32_t side, const char *type,
                          uint32_t weight_lb, int32_t place);
struct tl_datum say_set(uint32_t weight_lb, struct tl_event event);
struct tl_datum say_repeater(uint32_t unit, uint32_t weight_lb, struct tl_event event);
struct tl_datum say_battery(bool in, struct tl_event event);
struct tl_datum say_deck(enum tl_deck_state state, enum tl_foul_reason reason,
                         struct tl_event event);
struct tl_datum say_call(uint32_t side, const char *type, struct tl_event event);
struct tl_datum say_hook(bool down, struct tl_event event);
struct tl_datum say_result(struct tl_event event, enum tl_outcome outcome, uint32_t wire);
struct tl_datum say_unknown(enum tl_datum_kind kind, uint32_t slot);

/* Wind known from now on, at the bridge's beats. */
void sim_wind(struct sim *sim, enum tl_wind_state state);

/* Recovery `recovery` open, no foul from platform and primary, wind known. */
void sim_open(struct sim *sim, uint64_t recovery_ms);
/* Everything that one event needs, for a plover 204 at 34,000 lb; ends READY after the hold. */
void sim_words_for(struct sim *sim, struct tl_event event, uint32_t side, const char *type,
                   uint32_t weight_lb);

/* ---- what they see ---- */
enum tl_word sim_word(struct sim *sim, const char *id);
void sim_view(struct sim *sim, const char *id, struct tl_view *view);
/* True when every running, not stopped member shows that word. */
bool sim_all_show(struct sim *sim, enum tl_word word);
/* "rule:station rule:station ..." of what that validator holds against READY. */
const char *sim_causes(struct sim *sim, const char *validator, char *dst, size_t cap);

#endif
