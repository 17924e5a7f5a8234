/* SPDX-License-Identifier: Apache-2.0 */
/*
 * lamp_say - a lamp's source that shows what it is told, for test_lamp_line.py
 *
 *   lamp_say LINE     each byte of standard input: r READY, n NOT-READY, d a drill's READY, a an alert
 *
 * Ends with its input.
 */
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "clients/hook/lamp.h"
#include "proto/base/clock.h"

enum {
    TURN_MS = 50
};

static void
say(void *ctx, const char *line)
{
    (void)fprintf(ctx, "%s\n", line);
}

/* False at the end of input. */
static bool
take(struct tl_lamp *lamp, struct tl_lamp_state *state)
{
    static const struct tl_hook_alert alert = {
        .severity = "alarm", .rule = "deck-foul", .station = "deck", .text = "deck: foul"};
    struct pollfd input = {.fd = STDIN_FILENO, .events = POLLIN};
    char byte = '\0';
    if (poll(&input, 1, TURN_MS) <= 0) {
        return true;
    }
    if (read(STDIN_FILENO, &byte, 1) != 1) {
        return false;
    }
    if (byte == 'a') {
        tl_lamp_edge(lamp, TL_HOOK_EDGE_RAISED, &alert);
    } else {
        state->ready = byte == 'r' || byte == 'd';
        state->drill = byte == 'd';
        state->rule = state->ready ? "" : "deck-foul";
        state->station = state->ready ? "" : "deck";
    }
    return true;
}

int
main(int argc, char **argv)
{
    struct tl_lamp lamp;
    struct tl_lamp_state state = {.rule = "deck-foul", .station = "deck"};
    char why[TL_LAMP_WHY_CAP];
    (void)signal(SIGPIPE, SIG_IGN);
    if (argc != 2 || tl_lamp_init(&lamp, argv[1], why) != TL_OK) {
        return EXIT_FAILURE;
    }
    lamp.say = say;
    lamp.ctx = stderr;
    while (take(&lamp, &state)) {
        tl_lamp_tend(&lamp, &state, tl_clock_boot_ms());
    }
    tl_lamp_close(&lamp, tl_clock_boot_ms());
    return EXIT_SUCCESS;
}
