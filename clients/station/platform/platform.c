/* SPDX-License-Identifier: Apache-2.0 */
/* platform.c - the landing signal platform: the pilot's call, the hook, and how the pass ended. */
#include <inttypes.h>
#include <string.h>

#include "clients/station/command.h"

/* How that pass ended: the word of this station, else what the picture shows; NULL = it has not. */
static const struct tl_result *
ended_as(const struct tl_asking *asking, struct tl_event event)
{
    const struct tl_own *own = tl_outbox_own(&asking->member->outbox, TL_DATUM_RESULT, event.pass);
    if (own != NULL && own->datum.known && !own->refused && tl_datum_is_for(&own->datum, event)) {
        return &own->datum.as.result;
    }
    const struct tl_ended *ended =
        asking->picture != NULL ? tl_picture_ended(asking->picture, event) : NULL;
    return ended != NULL ? &ended->result : NULL;
}

/*
 * As tl_ask_event; but a pass that has ended stays current until the next verdict, and a word that
 * names no event is then for the next aircraft: it must not alter how the last pass ended.
 */
static bool
ask_event_on_final(struct tl_asking *asking, struct tl_event *event)
{
    bool named = tl_ask_names_event(asking);
    struct tl_datum ended = {.kind = TL_DATUM_RESULT, .known = true};
    char text[TL_TEXT_CAP];
    if (!tl_ask_event(asking, event)) {
        return false;
    }
    const struct tl_result *result = named ? NULL : ended_as(asking, *event);
    if (result == NULL) {
        return true;
    }
    ended.as.result = *result;
    tl_command_fail_now(asking,
                        "event %" PRIu32 " has ended (%.100s), and no other is current yet; "
                        "'for %" PRIu32 "' after the word corrects that pass",
                        event->pass, tl_datum_text(&ended, text, sizeof text), event->pass);
    return false;
}

static void
verb_call(struct tl_asking *asking)
{
    struct tl_event event = {0};
    struct tl_call call = {0};
    if (!ask_event_on_final(asking, &event)) {
        return;
    }
    if (asking->argc < 2 || asking->argc > 3) {
        tl_command_syntax(asking, "call");
        return;
    }
    if (!tl_ask_side(asking, asking->argv[0], &call.side) ||
        !tl_ask_type(asking, asking->argv[1], call.type) ||
        (asking->argc == 3 &&
         !tl_ask_number(asking, asking->argv[2], "fuel, lb,", 1, 100000, &call.fuel_lb))) {
        return;
    }
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_CALL, 0);
    datum->as.call = call;
    datum->stated_for[datum->stated_for_count++] = event;
    tl_command_finish(asking);
}

static void
verb_hook(struct tl_asking *asking)
{
    struct tl_event event = {0};
    if (!ask_event_on_final(asking, &event)) {
        return;
    }
    bool down = asking->argc == 1 && strcmp(asking->argv[0], "down") == 0;
    bool not_down = asking->argc == 2 && strcmp(asking->argv[0], "not") == 0 &&
                    strcmp(asking->argv[1], "down") == 0;
    if (!down && !not_down) {
        tl_command_syntax(asking, "hook");
        return;
    }
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_HOOK, 0);
    datum->as.hook = down ? TL_HOOK_DOWN : TL_HOOK_NOT_DOWN;
    datum->stated_for[datum->stated_for_count++] = event;
    tl_command_finish(asking);
}

/*
 * The event that a result is for: as ask_event_on_final, and "for N" may also name a pass that has left
 * primary's list, while the picture shows how it ended. Pass numbers are used again in another
 * recovery: the newest of that number is meant.
 */
static bool
ask_result_event(struct tl_asking *asking, struct tl_event *event)
{
    bool named = tl_ask_names_event(asking);
    uint32_t count = asking->picture != NULL ? asking->picture->ended_count : 0;
    uint32_t pass = 0;
    if (!named ||
        !tl_ask_number(asking, asking->argv[asking->argc - 1], "event", 1, UINT32_MAX, &pass)) {
        return !named && ask_event_on_final(asking, event);
    }
    for (uint32_t i = count; tl_listed_pass(asking, pass) == NULL && i > 0; i--) {
        const struct tl_ended *ended = &asking->picture->ended[i - 1];
        if (ended->event.pass == pass) {
            *event = ended->event;
            asking->argc -= 2;
            return true;
        }
    }
    return tl_ask_event(asking, event);
}

static void
say_result(struct tl_asking *asking, struct tl_event event, enum tl_outcome outcome, uint32_t wire)
{
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_RESULT, event.pass);
    datum->as.result = (struct tl_result){.outcome = outcome, .wire = wire};
    datum->stated_for[datum->stated_for_count++] = event;
    tl_command_finish(asking);
}

static void
verb_trap(struct tl_asking *asking)
{
    struct tl_event event = {0};
    uint32_t wire = 0;
    if (!ask_result_event(asking, &event)) {
        return;
    }
    if (asking->argc != 1) {
        tl_command_syntax(asking, "trap");
        return;
    }
    if (tl_ask_wire(asking, asking->argv[0], &wire)) {
        say_result(asking, event, TL_OUTCOME_TRAP, wire);
    }
}

static void
plain_result(struct tl_asking *asking, enum tl_outcome outcome, const char *verb)
{
    struct tl_event event = {0};
    if (!ask_result_event(asking, &event)) {
        return;
    }
    if (asking->argc != 0) {
        tl_command_syntax(asking, verb);
        return;
    }
    say_result(asking, event, outcome, 0);
}

static void
verb_bolter(struct tl_asking *asking)
{
    plain_result(asking, TL_OUTCOME_BOLTER, "bolter");
}

/* A wave-off goes out on what was last known, when nothing fresh says which event is current. */
static void
verb_wave_off(struct tl_asking *asking)
{
    const struct tl_hear *hear = &asking->member->hear;
    for (uint32_t i = 0; i < hear->count && asking->argc == 0; i++) {
        const struct tl_heard *heard = &hear->validator[i];
        if (!asking->view->event_known && heard->has_verdict && tl_event_is(heard->event)) {
            say_result(asking, heard->event, TL_OUTCOME_WAVE_OFF, 0);
            return;
        }
    }
    bool named = tl_ask_names_event(asking);
    plain_result(asking, TL_OUTCOME_WAVE_OFF, "wave-off");
    /* Pressed twice it must not wait for the next aircraft, and wave that one off. */
    asking->out->may_pass = asking->out->may_pass && named;
}

static const struct tl_verb verbs[] = {
    {"call", "call SIDE TYPE [FUEL] [for EVENT]", "what the pilot calls on final", verb_call},
    {"hook", "hook down|not down [for EVENT]", "what the hook spotter reports", verb_hook},
    {"wave-off", "wave-off [for EVENT]", "the pass is waved off, now", verb_wave_off},
    {"trap", "trap WIRE [for EVENT]", "the pass ended on that wire", verb_trap},
    {"bolter", "bolter [for EVENT]", "the hook missed all wires", verb_bolter},
    {"foul", "foul [person|aircraft|equipment|wire|other] [SECONDS]",
     "the deck is foul as seen from here, now", tl_verb_foul},
    {"no-foul", "no foul", "nothing is foul as seen from here", tl_verb_no_foul},
    {"withdraw", "withdraw call|hook|deck", "makes that word unknown", tl_verb_withdraw},
};

const struct tl_room tl_room_platform = {TL_STATION_PLATFORM, verbs,
                                         sizeof verbs / sizeof verbs[0]};
