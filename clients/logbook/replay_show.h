/* SPDX-License-Identifier: Apache-2.0 */
/*
 * replay_show.h - the picture of a replay as a screen would have shown it, by the same view.
 *
 * What a screen adds of its own (other validators, its own losses) is not there: it is the view of
 * the one validator whose rows are judged again.
 */
#ifndef CLIENTS_LOGBOOK_REPLAY_SHOW_H
#define CLIENTS_LOGBOOK_REPLAY_SHOW_H

#include <jansson.h>
#include <stdio.h>

#include "broker/core/judge/replay.h"
#include "clients/ui/view.h"

struct tl_replay_show;

/* config: borrowed. NULL: memory is out. */
struct tl_replay_show *tl_replay_show_open(const struct tl_config *config);
void tl_replay_show_close(struct tl_replay_show **show);

/* The port that the judge of the replay must have. */
struct tl_port tl_replay_show_port(struct tl_replay_show *show);

/* Take the picture as it stands now: borrowed until the next call. */
const struct tl_ui_state *tl_replay_show_take(struct tl_replay_show *show,
                                              struct tl_replay *replay);

#endif
