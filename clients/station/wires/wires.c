/* SPDX-License-Identifier: Apache-2.0 */
/* wires.c - the deck edge: wires, sheaves, pendants, retract, barricade stanchions. */
#include <stdio.h>
#include <string.h>

#include "clients/station/command.h"

/* "all", or the number of a wire of gear.yaml: 0 = all. */
static bool
ask_wire(struct tl_asking *asking, const char *word, uint32_t *wire)
{
    *wire = 0;
    if (strcmp(word, "all") == 0) {
        return true;
    }
    return tl_ask_wire(asking, word, wire);
}

/* One datum for that wire, or for each when it is 0, all with the value of `like`. */
static void
say_of_wires(struct tl_asking *asking, uint32_t wire, const struct tl_datum *like)
{
    for (uint32_t i = 0; i < asking->config->gear.engine_count; i++) {
        uint32_t one = asking->config->gear.engine[i].wire;
        if (wire == 0 || wire == one) {
            struct tl_datum *datum = tl_command_add(asking, like->kind, one);
            datum->as = like->as;
        }
    }
    tl_command_finish(asking);
    if (wire == 0) {
        size_t used = strlen(asking->out->text);
        (void)snprintf(asking->out->text + used, sizeof asking->out->text - used,
                       " - AND SO ALL WIRES");
    }
}

static void
say_rig(struct tl_asking *asking, enum tl_rig_state state, const char *verb)
{
    struct tl_datum like = {.kind = TL_DATUM_RIG, .as.rig = state};
    uint32_t wire = 0;
    if (asking->argc != 1) {
        tl_command_syntax(asking, verb);
    } else if (ask_wire(asking, asking->argv[0], &wire)) {
        say_of_wires(asking, wire, &like);
    }
}

static void
verb_rig(struct tl_asking *asking)
{
    say_rig(asking, TL_RIG_RIGGED, "rig");
}

static void
verb_strip(struct tl_asking *asking)
{
    say_rig(asking, TL_RIG_STRIPPED, "strip");
}

/* What this station last said of that sheave: a bypass stays as it is when only the sheave moves. */
static struct tl_sheave
last_sheave(const struct tl_asking *asking, uint32_t wire)
{
    struct tl_datum name = {.kind = TL_DATUM_SHEAVE, .slot = wire};
    if (asking->as != asking->node) {
        memcpy(name.voice_for, asking->as->id, TL_ID_CAP);
    }
    const struct tl_own *own = tl_outbox_named(&asking->member->outbox, &name);
    struct tl_sheave none = {0};
    return own != NULL && own->datum.known ? own->datum.as.sheave : none;
}

static void
verb_sheave(struct tl_asking *asking)
{
    static const struct tl_choice states[] = {
        {"up", TL_SHEAVE_UP}, {"down", TL_SHEAVE_DOWN}, {NULL, 0}};
    uint32_t wire = 0;
    int state = 0;
    if (asking->argc != 2) {
        tl_command_syntax(asking, "sheave");
        return;
    }
    if (!ask_wire(asking, asking->argv[0], &wire) ||
        !tl_ask_choice(asking, asking->argv[1], states, &state)) {
        return;
    }
    struct tl_datum like = {.kind = TL_DATUM_SHEAVE};
    like.as.sheave.state = (enum tl_sheave_state)state;
    like.as.sheave.bypassed = wire != 0 && last_sheave(asking, wire).bypassed;
    say_of_wires(asking, wire, &like);
}

static void
verb_bypass(struct tl_asking *asking)
{
    static const struct tl_choice states[] = {{"on", 1}, {"off", 0}, {NULL, 0}};
    uint32_t wire = 0;
    int on = 0;
    if (asking->argc != 2) {
        tl_command_syntax(asking, "bypass");
        return;
    }
    if (!ask_wire(asking, asking->argv[0], &wire) ||
        !tl_ask_choice(asking, asking->argv[1], states, &on)) {
        return;
    }
    struct tl_sheave last = last_sheave(asking, wire);
    if (wire == 0 || last.state == TL_SHEAVE_UNKNOWN) {
        tl_command_fail(asking, "say first whether that sheave is up or down: sheave WIRE up|down");
        return;
    }
    struct tl_datum like = {.kind = TL_DATUM_SHEAVE};
    like.as.sheave = (struct tl_sheave){.state = last.state, .bypassed = on == 1};
    say_of_wires(asking, wire, &like);
}

static void
verb_pendant(struct tl_asking *asking)
{
    static const struct tl_choice states[] = {{"good", TL_PENDANT_GOOD},
                                              {"worn", TL_PENDANT_WORN},
                                              {"support", TL_PENDANT_SUPPORT},
                                              {"off-centre", TL_PENDANT_OFF_CENTRE},
                                              {NULL, 0}};
    uint32_t wire = 0;
    int state = 0;
    struct tl_datum like = {.kind = TL_DATUM_PENDANT};
    bool heights = asking->argc == 4;
    if (asking->argc != 2 && !heights) {
        tl_command_syntax(asking, "pendant");
        return;
    }
    if (!ask_wire(asking, asking->argv[0], &wire) ||
        !tl_ask_choice(asking, asking->argv[1], states, &state) ||
        (heights && (!tl_ask_hundredths(asking, asking->argv[2], "lowest, in,", 10000,
                                        &like.as.pendant.low_in_x100) ||
                     !tl_ask_hundredths(asking, asking->argv[3], "highest, in,", 10000,
                                        &like.as.pendant.high_in_x100)))) {
        return;
    }
    like.as.pendant.state = (enum tl_pendant_state)state;
    if (state == TL_PENDANT_GOOD && !heights) {
        tl_command_fail(asking,
                        "a good pendant is said with both heights: pendant %s good LOW HIGH",
                        asking->argv[0]);
        return;
    }
    if (heights && like.as.pendant.low_in_x100 > like.as.pendant.high_in_x100) {
        tl_command_fail(asking, "the lowest point is above the highest; nothing was said");
        return;
    }
    say_of_wires(asking, wire, &like);
}

static void
add_event_word(struct tl_asking *asking, enum tl_datum_kind kind, int state, uint32_t wire)
{
    struct tl_datum *datum = tl_command_add(asking, kind, 0);
    if (kind == TL_DATUM_FREE) {
        datum->as.free = (struct tl_free){(enum tl_free_state)state, wire};
    } else {
        datum->as.retract = (struct tl_retract){(enum tl_retract_state)state, wire};
    }
    if (asking->view->event_known && tl_event_is(asking->view->event)) {
        datum->stated_for[datum->stated_for_count++] = asking->view->event;
    }
}

/* What is not in order goes out whatever follows it: a wire that is not understood is left out. */
static void
say_bad(struct tl_asking *asking, enum tl_datum_kind kind, int state)
{
    uint32_t wire = 0;
    for (uint32_t i = 0; asking->argc > 0 && i < asking->config->gear.engine_count; i++) {
        char number[12];
        (void)snprintf(number, sizeof number, "%u", asking->config->gear.engine[i].wire);
        wire = strcmp(number, asking->argv[0]) == 0 ? asking->config->gear.engine[i].wire : wire;
    }
    add_event_word(asking, kind, state, wire);
    tl_command_finish(asking);
    if (asking->argc > 0 && wire == 0) {
        size_t used = strlen(asking->out->text);
        (void)snprintf(asking->out->text + used, sizeof asking->out->text - used,
                       " [said without a wire: there is no wire %.12s]", asking->argv[0]);
    }
}

static void
verb_held(struct tl_asking *asking)
{
    say_bad(asking, TL_DATUM_FREE, TL_FREE_HELD);
}

static void
verb_retracting(struct tl_asking *asking)
{
    say_bad(asking, TL_DATUM_RETRACT, TL_RETRACT_RUNNING);
}

static void
say_good(struct tl_asking *asking, const char *verb, bool free, bool retracted)
{
    struct tl_event event = {0};
    if (!tl_ask_event(asking, &event)) {
        return;
    }
    if (asking->argc != 0) {
        tl_command_syntax(asking, verb);
        return;
    }
    if (free) {
        add_event_word(asking, TL_DATUM_FREE, TL_FREE_FREE, 0);
    }
    if (retracted) {
        add_event_word(asking, TL_DATUM_RETRACT, TL_RETRACT_RETRACTED, 0);
    }
    tl_command_finish(asking);
    if (free && retracted) {
        (void)snprintf(asking->out->text, sizeof asking->out->text,
                       "%s: wires free and retracted for event %u", asking->as->id, event.pass);
    }
}

static void
verb_free(struct tl_asking *asking)
{
    say_good(asking, "free", true, false);
}

static void
verb_retracted(struct tl_asking *asking)
{
    say_good(asking, "retracted", false, true);
}

static void
verb_reset(struct tl_asking *asking)
{
    say_good(asking, "reset", true, true);
}

static void
verb_stanchions(struct tl_asking *asking)
{
    static const struct tl_choice states[] = {{"lowered", TL_STANCHION_LOWERED},
                                              {"raised", TL_STANCHION_RAISED},
                                              {"moving", TL_STANCHION_MOVING},
                                              {NULL, 0}};
    int state = 0;
    if (asking->argc != 1) {
        tl_command_syntax(asking, "stanchions");
    } else if (tl_ask_choice(asking, asking->argv[0], states, &state)) {
        tl_command_add(asking, TL_DATUM_STANCHIONS, 0)->as.stanchions =
            (enum tl_stanchion_state)state;
        tl_command_finish(asking);
    }
}

static const struct tl_verb verbs[] = {
    {"reset", "reset", "wires free and retracted, for the current event", verb_reset},
    {"free", "free", "no hook in a wire, nobody in the bight", verb_free},
    {"held", "held [WIRE]", "a wire is not free, now", verb_held},
    {"retracted", "retracted", "the wires are retracted", verb_retracted},
    {"retracting", "retracting [WIRE]", "a retract is running, now", verb_retracting},
    {"rig", "rig WIRE|all", "that wire is rigged", verb_rig},
    {"strip", "strip WIRE|all", "the pendant of that wire is removed", verb_strip},
    {"sheave", "sheave WIRE|all up|down", "that deck sheave is fully up, or is not", verb_sheave},
    {"bypass", "bypass WIRE on|off", "its sheave interlock is bypassed, or is not", verb_bypass},
    {"pendant", "pendant WIRE|all good LOW HIGH | pendant WIRE worn|support|off-centre",
     "its condition; lowest and highest point above the deck, in", verb_pendant},
    {"stanchions", "stanchions lowered|raised|moving", "of the barricade", verb_stanchions},
    {"withdraw", "withdraw KIND [WIRE]", "makes that word unknown: rig sheave pendant free ...",
     tl_verb_withdraw},
};

const struct tl_room tl_room_wires = {TL_STATION_WIRES, verbs, sizeof verbs / sizeof verbs[0]};
