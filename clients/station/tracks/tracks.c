/* SPDX-License-Identifier: Apache-2.0 */
/* tracks.c - the catapult tracks in the landing area: slots, deflectors, shuttles, crews. */
#include <stdio.h>
#include <string.h>

#include "clients/station/command.h"

static void
add_track(struct tl_asking *asking, uint32_t track, enum tl_track_state state)
{
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_TRACK, track);
    datum->as.track = state;
    if (asking->view->event_known && tl_event_is(asking->view->event)) {
        datum->stated_for[datum->stated_for_count++] = asking->view->event;
    }
}

static void
add_every_track(struct tl_asking *asking, enum tl_track_state state)
{
    for (uint32_t n = 1; n <= asking->config->ship.track_count; n++) {
        add_track(asking, n, state);
    }
    tl_command_finish(asking);
}

/* False, and the error said, where there are none. */
static bool
has_tracks(struct tl_asking *asking)
{
    if (asking->config->ship.track_count == 0) {
        tl_command_fail(asking, "ship.yaml names no tracks in the landing area");
        return false;
    }
    return true;
}

static void
verb_secured(struct tl_asking *asking)
{
    struct tl_event event = {0};
    if (!tl_ask_event(asking, &event)) {
        return;
    }
    if (asking->argc != 0) {
        tl_command_syntax(asking, "secured");
        return;
    }
    add_every_track(asking, TL_TRACK_SECURED);
    (void)snprintf(asking->out->text, sizeof asking->out->text,
                   "%s: all %u tracks secured for event %u", asking->as->id,
                   asking->config->ship.track_count, event.pass);
}

static void
verb_track(struct tl_asking *asking)
{
    static const struct tl_choice states[] = {
        {"secured", TL_TRACK_SECURED}, {"open", TL_TRACK_OPEN}, {"deflector", TL_TRACK_DEFLECTOR},
        {"shuttle", TL_TRACK_SHUTTLE}, {"crew", TL_TRACK_CREW}, {NULL, 0}};
    uint32_t track = 0;
    int state = 0;
    if (asking->argc != 2) {
        tl_command_syntax(asking, "track");
        return;
    }
    if (!has_tracks(asking) ||
        !tl_ask_number(asking, asking->argv[0], "track", 1, asking->config->ship.track_count,
                       &track) ||
        !tl_ask_choice(asking, asking->argv[1], states, &state)) {
        return;
    }
    struct tl_event event = {0};
    asking->argc = 0;
    if (state == TL_TRACK_SECURED && !tl_ask_event(asking, &event)) {
        return;
    }
    add_track(asking, track, (enum tl_track_state)state);
    tl_command_finish(asking);
}

/* For who has no time to say which. */
static void
verb_open(struct tl_asking *asking)
{
    if (asking->argc != 0) {
        tl_command_syntax(asking, "open");
        return;
    }
    if (has_tracks(asking)) {
        add_every_track(asking, TL_TRACK_OPEN);
    }
}

static const struct tl_verb verbs[] = {
    {"secured", "secured", "every track: slot covered, deflector down, shuttle away, crew clear",
     verb_secured},
    {"track", "track N secured|open|deflector|shuttle|crew",
     "one track, or what is not right there", verb_track},
    {"open", "open", "every track is open, now", verb_open},
    {"withdraw", "withdraw track N", "makes that word unknown", tl_verb_withdraw},
};

const struct tl_room tl_room_tracks = {TL_STATION_TRACKS, verbs, sizeof verbs / sizeof verbs[0]};
