/* SPDX-License-Identifier: Apache-2.0 */
/* deck.c - the deck status station: owner of CLEAR. */
#include "clients/station/command.h"

static void
verb_clear(struct tl_asking *asking)
{
    struct tl_event event = {0};
    if (!tl_ask_event(asking, &event)) {
        return;
    }
    if (asking->argc != 0) {
        tl_command_syntax(asking, "clear");
        return;
    }
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_DECK, 0);
    datum->as.deck.state = TL_DECK_CLEAR;
    datum->stated_for[datum->stated_for_count++] = event;
    tl_command_finish(asking);
}

static const struct tl_verb verbs[] = {
    {"foul", "foul [person|aircraft|equipment|wire|other] [SECONDS]",
     "the deck is foul, now; about SECONDS to clear", tl_verb_foul},
    {"clear", "clear", "the landing area is clear for the current event", verb_clear},
    {"withdraw", "withdraw deck", "makes the deck unknown", tl_verb_withdraw},
};

const struct tl_room tl_room_deck = {TL_STATION_DECK, verbs, sizeof verbs / sizeof verbs[0]};
