/* SPDX-License-Identifier: Apache-2.0 */
/*
 * replay_glass.h - a replay on a whole terminal: the page of trapline board, of then and not of now
 *
 * Row 1 says REPLAY, which validator, and the time of the record; row 2 begins with "WAS", so that it
 * cannot be taken for a verdict; the live mark does not move. n is night or day, q goes to the end
 * at once.
 */
#ifndef CLIENTS_LOGBOOK_REPLAY_GLASS_H
#define CLIENTS_LOGBOOK_REPLAY_GLASS_H

#include "clients/ui/view.h"

struct tl_replay_glass;

/* Takes the terminal. NULL: there is none that a page can be shown on, or memory is out. */
struct tl_replay_glass *tl_replay_glass_open(void);
/* Gives it back. May be called on NULL. */
void tl_replay_glass_close(struct tl_replay_glass **glass);

struct tl_replay_moment {
    const char *validator;
    uint64_t wall_ms;
    bool what_if; /* judged by another configuration than it was */
};
void tl_replay_glass_paint(struct tl_replay_glass *glass, const struct tl_ui_state *state,
                           const struct tl_replay_moment *moment);

/* The record has no more: show the last moment until a key is pressed. */
void tl_replay_glass_end(struct tl_replay_glass *glass);

/* Wait so long, or until a key says to wait no more; false then. */
bool tl_replay_glass_wait(struct tl_replay_glass *glass, uint64_t wait_ms);

#endif
