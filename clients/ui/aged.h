/* SPDX-License-Identifier: Apache-2.0 */
/*
 * aged.h - the picture that a screen shows now, and how long it has been here.
 *
 * The ages in a picture are those at its sending. It is sent anew every second, and under the same
 * number when nothing changed, so its place in the validator's messages tells it from the last one.
 */
#ifndef TL_UI_AGED_H
#define TL_UI_AGED_H

#include "clients/ui/view.h"

/* Of one screen, from turn to turn. Zeroed = none was shown yet. */
struct tl_ui_aged {
    uint32_t from; /* whose picture is in hand, which, and since when */
    uint64_t sequence, since_ms;
    uint64_t old_since_ms; /* 0 = it is not old */
};

/* Fill `view`, and all of `state` but the alerts. */
void tl_ui_take(struct tl_ui_aged *aged, struct tl_member *member, uint64_t now_ms,
                struct tl_view *view, struct tl_ui_state *state);

#endif
