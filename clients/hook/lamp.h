/* SPDX-License-Identifier: Apache-2.0 */
/*
 * lamp.h - the verdict and the edges of alerts as lines of text, to a serial line or a FIFO
 *
 * For a lamp, a sounder or a panel that is no computer of ours. docs/lamp.md is the contract with the far
 * end: one line each, with a checksum, and READY said anew each 250 ms, so that the far end can
 * drop it after 1 s without. A lamp must not stay green because its source has died.
 *
 *   closed --opened--> open --a write fails, its reader has gone--> closed, said; tried each second
 *
 * Invariants:
 *  1. Nothing here waits: the line is not blocking, and what it does not take is left out.
 *  2. No line is begun while more waits in the line than is sent in 200 ms, so that READY is not
 *     put behind what nobody reads. What a far end must do where that cannot be known: docs/lamp.md.
 *  3. A state is said before any edge. Of edges 16 wait; of more the oldest is left out and counted,
 *     and every line carries the count.
 *  4. A failure is said once, until a line has been taken again.
 */
#ifndef TL_HOOK_LAMP_H
#define TL_HOOK_LAMP_H

#include "clients/hook/hook.h"

enum {
    TL_LAMP_SAY_MS = 250,
    TL_LAMP_DROP_MS = 1000, /* the far end's */
    TL_LAMP_AHEAD_MS = 200,
    TL_LAMP_RETRY_MS = 1000,
    TL_LAMP_LINE_CAP = 200, /* with the line feed */
    TL_LAMP_WHY_CAP = TL_PATH_CAP + 96
};
static_assert(3 * TL_LAMP_SAY_MS + TL_LAMP_AHEAD_MS < TL_LAMP_DROP_MS,
              "two lines may be lost before a lamp goes out");

/* What is shown now. */
struct tl_lamp_state {
    bool ready;
    bool drill;          /* READY is then said in a word of its own */
    const char *rule;    /* of the first cause; "" = none */
    const char *station; /* that it concerns; "" = none */
};

struct tl_lamp {
    char path[TL_PATH_CAP]; /* "" = no lamp: every call does nothing */
    uint32_t baud;
    /* One line for a person: what of the line went wrong. NULL = nobody is told. */
    void (*say)(void *ctx, const char *line);
    void *ctx;
    int fd;            /* -1 = closed */
    uint64_t retry_ms; /* when it may be opened again */
    bool failed_said;
    uint64_t sequence;
    uint64_t lost;
    /* the state last said */
    bool said_ready, said_drill;
    uint64_t said_ms;
    uint64_t full_since_ms; /* no line could be begun since then; 0 = it can */
    uint32_t first;         /* oldest edge of the queue */
    uint32_t count;
    struct tl_hook_call queue[TL_HOOK_QUEUE];
    /* the line that is on its way */
    char line[TL_LAMP_LINE_CAP];
    size_t line_len, line_at;
};

/*
 * Set up with PATH or PATH@BAUD (9600, which is the default, 19200, 38400, 57600 or 115200), NULL
 * for no lamp; nothing is opened yet. `say` and `ctx` may be set afterwards.
 *
 * why: out on error, one sentence. TL_BADARG: the path is empty or too long, the speed is none of
 * these, or what is there is neither a terminal line nor a FIFO.
 */
TL_MUST_USE enum tl_err tl_lamp_init(struct tl_lamp *lamp, const char *spec,
                                     char why[TL_LAMP_WHY_CAP]);

/* An alert has changed: queue the edge. */
void tl_lamp_edge(struct tl_lamp *lamp, enum tl_hook_edge edge, const struct tl_hook_alert *alert);

/*
 * Open what is closed, say the state when it has changed or it is time, else the next edge. Call at
 * every turn of the loop, at least each 100 ms, with what is shown in this turn.
 */
void tl_lamp_tend(struct tl_lamp *lamp, const struct tl_lamp_state *state, uint64_t now_ms);

/* Say that nothing more comes, as far as the line takes it, and close. */
void tl_lamp_close(struct tl_lamp *lamp, uint64_t now_ms);

#endif
