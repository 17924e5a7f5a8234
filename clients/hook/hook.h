/* SPDX-License-Identifier: Apache-2.0 */
/*
 * hook.h - run a command of the ship's own when an alert begins or ends: a sounder, a lamp
 *
 * The command is a path, run without a shell, with the arguments EDGE SEVERITY RULE STATION TEXT.
 * It starts with /dev/null as standard input and output, our standard error, no other descriptor,
 * no signal blocked, and a process group of its own.
 *
 *   edge -> QUEUED --its turn--> RUNNING --exit 0--> done
 *               |                   |--other exit, a signal--> FAILED, said
 *               |                   +--10 s--> its group is killed, said
 *               +--16 newer ones--> dropped and counted, said
 *
 * Invariants:
 *  1. One command at a time, in the order of the edges.
 *  2. Nothing here waits for a command. A start takes as long as the system needs to load it.
 *  3. Only processes that this module started are waited for or killed.
 *  4. A failure is said once, until a run has been good again; drops once, until none waits.
 *
 * What a command leaves in the background when it exits is its own affair. Nothing here concerns the
 * hook of an aircraft (TL_DATUM_HOOK).
 */
#ifndef TL_HOOK_HOOK_H
#define TL_HOOK_HOOK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <sys/types.h>

#include "proto/base/err.h"
#include "proto/vocab/limits.h"

enum {
    TL_HOOK_QUEUE = 16,
    TL_HOOK_LIMIT_MS = 10000,
    TL_HOOK_RULE_CAP = 48
};

enum tl_hook_edge {
    TL_HOOK_EDGE_UNKNOWN = 0,
    TL_HOOK_EDGE_RAISED,
    TL_HOOK_EDGE_AGAIN, /* sounded again: not acknowledged in time */
    TL_HOOK_EDGE_ACKNOWLEDGED,
    TL_HOOK_EDGE_GONE
};

/* What of an alert is handed on; each is copied, cut to its place and made plain. */
struct tl_hook_alert {
    const char *severity;
    const char *rule;
    const char *station; /* "" = none */
    const char *text;
};

struct tl_hook_call {
    enum tl_hook_edge edge;
    char severity[TL_ID_CAP];
    char rule[TL_HOOK_RULE_CAP];
    char station[TL_ID_CAP];
    char text[TL_TEXT_CAP];
};

struct tl_hook {
    const char *command; /* borrowed; NULL = none */
    /* One line for a person: what of the command went wrong. NULL = nobody is told. */
    void (*say)(void *ctx, const char *line);
    void *ctx;
    pid_t pid; /* of the running command and of its group; 0 = none */
    uint64_t started_ms;
    bool killed;
    uint32_t first; /* oldest of the queue */
    uint32_t count;
    struct tl_hook_call queue[TL_HOOK_QUEUE];
    uint64_t dropped;
    bool dropped_said;
    bool failed_said;
};

/*
 * Set up with a program's path, NULL for none; all else of *hook becomes zero. `say` and `ctx` may
 * be set afterwards. The path is borrowed.
 */
void tl_hook_init(struct tl_hook *hook, const char *command);

/* Can that file be run by us, now? TL_NOTFOUND, TL_PERM, TL_IO; TL_BADARG: not a file. */
TL_MUST_USE enum tl_err tl_hook_check(const char *command);

/* An alert has changed: queue the call, start it if none runs. Does nothing without a command. */
void tl_hook_edge(struct tl_hook *hook, enum tl_hook_edge edge, const struct tl_hook_alert *alert,
                  uint64_t now_ms);

/* What of an alert is handed on, copied into a call. */
void tl_hook_fill(struct tl_hook_call *call, enum tl_hook_edge edge,
                  const struct tl_hook_alert *alert);

/* Reap, kill what is over time, start the next. Call at every turn of the loop. */
void tl_hook_tend(struct tl_hook *hook, uint64_t now_ms);

/* Kill the running command and forget the waiting ones; nothing starts afterwards. */
void tl_hook_close(struct tl_hook *hook);

/* "raised", "again", "acknowledged", "gone". */
const char *tl_hook_edge_name(enum tl_hook_edge edge);

#endif
