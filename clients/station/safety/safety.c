/* SPDX-License-Identifier: Apache-2.0 */
/* safety.c - the safety officer: stops anything. */
#include "clients/station/command.h"

static const struct tl_verb verbs[] = {
    {"stop", "stop", "STOP, now, whatever the deck is", tl_verb_stop},
    {"foul", "foul [person|aircraft|equipment|wire|other] [SECONDS]",
     "the deck is foul as seen from here, now", tl_verb_foul},
    {"no-foul", "no foul", "no stop and no foul from here", tl_verb_no_foul},
    {"withdraw", "withdraw deck", "makes that word unknown", tl_verb_withdraw},
};

const struct tl_room tl_room_safety = {TL_STATION_SAFETY, verbs, sizeof verbs / sizeof verbs[0]};
