/* SPDX-License-Identifier: Apache-2.0 */
/*
 * replay_print.h - a replay as lines, as JSON, or as the picture again and again, in its own time.
 */
#ifndef CLIENTS_LOGBOOK_REPLAY_PRINT_H
#define CLIENTS_LOGBOOK_REPLAY_PRINT_H

#include <jansson.h>

#include "clients/logbook/replay_glass.h"
#include "clients/logbook/replay_show.h"
#include "clients/logbook/replaying.h"

/* What was printed last, so that only a change is. */
struct tl_replay_said {
    bool any, checked;
    struct tl_event event;
    enum tl_word word;
    uint32_t rule;
    char station[TL_ID_CAP];
    bool differs;
};

struct tl_replay_print {
    struct tl_replay_show *show;
    bool json, board, what_if;
    bool on_glass;                 /* the board on a terminal, where there is one */
    struct tl_replay_glass *glass; /* while a life is shown there */
    double speed;                  /* so many times as fast as it was; 0 = at once */
    struct tl_replay_said said;
    uint64_t began_ms; /* own clock, at the first row that was waited for; 0 = none yet */
    uint64_t began_wall_ms;
    json_t *lives, *steps, *stands;
    bool failed; /* memory is out: JSON only */
};

void tl_replay_print_close(struct tl_replay_print *print);

/* A life begins; each row of it (tl_replaying.step); what came of it. */
void tl_replay_print_life(struct tl_replay_print *print, const struct tl_judged_life *life);
void tl_replay_print_step(void *ctx, struct tl_replay *replay, const struct tl_replay_row *row,
                          const struct tl_replay_step *step, uint64_t wall_ms);
void tl_replay_print_end(struct tl_replay_print *print, const struct tl_replayed *out);

/* The picture as it stands, as trapline show prints it. */
void tl_replay_print_picture(struct tl_replay_print *print, struct tl_replay *replay);

/* The last line, or the whole object. False when it could not be written. */
bool tl_replay_print_all(struct tl_replay_print *print, bool differs, bool checked);

#endif
