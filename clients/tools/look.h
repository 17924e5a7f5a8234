/* SPDX-License-Identifier: Apache-2.0 */
/* look.h - what show and watch share: arguments, the viewer's seat, the state to print. */
#ifndef TL_TOOLS_LOOK_H
#define TL_TOOLS_LOOK_H

#include "clients/ui/aged.h"
#include "proto/link/seat.h"

struct tl_look {
    const char *command; /* "show", "watch" */
    const char *dir;
    const char *as; /* NULL = the first viewer whose secret is here */
    bool json;
    bool why;             /* each cause in full */
    uint64_t limit_ms;    /* watch: stop after; 0 = never */
    const char *on_alert; /* watch: path of a command, NULL = none */
    const char *lamp;     /* watch: a serial line or a FIFO, NULL = none */
    struct tl_seat *seat;
    struct tl_ui_aged aged;
};

/* Read the arguments. -1 = go on, else an exit code. */
int tl_look_arguments(struct tl_look *look, int argc, char **argv, const char *usage);
/* Allocate and open the seat; an exit code. tl_look_close also after a failure. */
int tl_look_open(struct tl_look *look);
void tl_look_close(struct tl_look *look);

/* Fill what the printers need; `alerts` takes TL_ALERTS_MAX. */
void tl_look_state(struct tl_look *look, uint64_t now_ms, struct tl_view *view,
                   struct tl_alert *alerts, struct tl_ui_state *state);

#endif
