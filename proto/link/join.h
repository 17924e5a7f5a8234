/* SPDX-License-Identifier: Apache-2.0 */
/*
 * join.h - the start of every program that is a node: configuration, identity, life, sockets.
 *
 * One place for the start-up order, so that every program refuses the same things in the same
 * words: configuration (exit 78), identity (78), the lock of a station on this host (1), a new
 * incarnation saved before the first message (1), the sockets (1). Each failure is one line on
 * standard error: what, where, what to do.
 */
#ifndef TL_LINK_JOIN_H
#define TL_LINK_JOIN_H

#include "proto/base/notify.h"
#include "proto/link/identity.h"
#include "proto/link/incarnation.h"
#include "proto/link/link.h"
#include "proto/link/rekey.h"

enum tl_exit {
    TL_EXIT_OK = 0,
    TL_EXIT_FAILED = 1,     /* the world: port, permission, disk */
    TL_EXIT_REFUSED = 2,    /* a command was refused */
    TL_EXIT_UNANSWERED = 3, /* not confirmed in time, nobody heard */
    TL_EXIT_USAGE = 64,
    TL_EXIT_CONFIG = 78
};

struct tl_join_options {
    const char *program; /* for messages: "trapline-validator" */
    const char *dir;     /* configuration folder */
    const char *node;    /* id; NULL = the first node of `kind` whose secret is on this host */
    enum tl_node_kind kind;
    uint64_t incarnation_above; /* 0 = none */
    bool alone;                 /* hold the lock: one program of that node on this host */
    bool off_the_bus;           /* open no sockets: join->link stays NULL */
    const enum tl_topic_kind *listen;
    size_t listen_count;
};

struct tl_join {
    struct tl_config config;
    const struct tl_node *node;
    struct tl_identity identity;
    uint64_t incarnation;
    struct tl_incarnation_lock lock;
    struct tl_link *link;
    struct tl_notify notify; /* the service manager; the program says itself when it is ready */
    char dir[TL_PATH_CAP];
};

/*
 * Load the configuration into join->config only: the part that `-n` stops after.
 * Returns an exit code; on another than TL_EXIT_OK one line has been printed.
 */
enum tl_exit tl_join_configure(const struct tl_join_options *options, struct tl_join *join);

/* The rest of the start. join->config must have been loaded by tl_join_configure. */
enum tl_exit tl_join_open(const struct tl_join_options *options, struct tl_join *join);

/* Close what was opened, in reverse. Allowed at any stage. */
void tl_join_close(struct tl_join *join);

/*
 * Read keys.yaml again: what it says counts from the next frame on. said: out, one line on what has
 * changed, or why nothing has.
 * Errors: as tl_conf_reload_keys; then the keys in use stay.
 */
TL_MUST_USE enum tl_err tl_join_reload_keys(struct tl_join *join, char said[TL_REKEY_CAP]);

/* The same for a program that has a log: the line goes there, under that id. */
void tl_join_reload_and_log(struct tl_join *join, const char *id);

#endif
