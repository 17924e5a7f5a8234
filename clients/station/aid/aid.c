/* SPDX-License-Identifier: Apache-2.0 */
/* aid.c - the optical landing aid: for which type it is set, its basic angle, its faults. */
#include <string.h>

#include "clients/station/command.h"

static void
say_aid(struct tl_asking *asking, const struct tl_aid *aid, struct tl_event event)
{
    struct tl_datum *datum = tl_command_add(asking, TL_DATUM_AID, 0);
    datum->as.aid = *aid;
    tl_state_for(asking, datum, event);
    tl_command_finish(asking);
}

static void
verb_aid(struct tl_asking *asking)
{
    struct tl_event event = {0};
    struct tl_aid aid = {.state = TL_AID_WORKING};
    if (!tl_ask_event(asking, &event)) {
        return;
    }
    if (asking->argc < 1 || asking->argc > 3) {
        tl_command_syntax(asking, "aid");
        return;
    }
    if (!tl_ask_type(asking, asking->argv[0], aid.type) ||
        (asking->argc >= 2 && !tl_ask_hundredths(asking, asking->argv[1], "basic angle, deg,", 900,
                                                 &aid.angle_deg_x100)) ||
        (asking->argc == 3 && !tl_ask_wire(asking, asking->argv[2], &aid.target_wire))) {
        return;
    }
    say_aid(asking, &aid, event);
}

/* One word instead of the type, when it is set already for the one ordered. */
static void
verb_same(struct tl_asking *asking)
{
    struct tl_event event = {0};
    struct tl_datum name = {.kind = TL_DATUM_AID};
    const struct tl_own *own = tl_outbox_named(&asking->member->outbox, &name);
    if (!tl_ask_event(asking, &event)) {
        return;
    }
    const struct tl_listed *listed = tl_listed_pass(asking, event.pass);
    if (asking->argc != 0) {
        tl_command_syntax(asking, "same");
    } else if (asking->as != asking->node || own == NULL || !own->datum.known ||
               own->datum.as.aid.state != TL_AID_WORKING || listed == NULL ||
               !listed->order_known) {
        tl_command_fail_now(asking, "nothing to repeat: key it with 'aid TYPE'");
    } else {
        const struct tl_aircraft_type *set = tl_config_type(asking->config, own->datum.as.aid.type);
        const struct tl_aircraft_type *ordered = tl_config_type(asking->config, listed->order.type);
        if (set == NULL || ordered == NULL ||
            set->hook_to_eye_ft_x100 != ordered->hook_to_eye_ft_x100) {
            tl_command_fail(asking, "ordered %s, set for %s: change the aid and key 'aid %s'",
                            listed->order.type, own->datum.as.aid.type, listed->order.type);
            return;
        }
        say_aid(asking, &own->datum.as.aid, event);
    }
}

/* Aimed at another wire, all else as it is. */
static void
verb_target(struct tl_asking *asking)
{
    struct tl_event event = {0};
    struct tl_datum name = {.kind = TL_DATUM_AID};
    const struct tl_own *own = tl_outbox_named(&asking->member->outbox, &name);
    if (!tl_ask_event(asking, &event)) {
        return;
    }
    if (asking->argc != 1) {
        tl_command_syntax(asking, "target");
        return;
    }
    if (asking->as != asking->node || own == NULL || !own->datum.known ||
        own->datum.as.aid.state != TL_AID_WORKING) {
        tl_command_fail_now(asking, "the aid is not said to be set: key 'aid TYPE ANGLE WIRE'");
        return;
    }
    struct tl_aid aid = own->datum.as.aid;
    if (tl_ask_wire(asking, asking->argv[0], &aid.target_wire)) {
        say_aid(asking, &aid, event);
    }
}

static void
verb_fault(struct tl_asking *asking)
{
    tl_command_add(asking, TL_DATUM_AID, 0)->as.aid.state = TL_AID_FAULT;
    tl_command_finish(asking);
}

static const struct tl_verb verbs[] = {
    {"aid", "aid TYPE [ANGLE [WIRE]] [for EVENT]",
     "set for that type's hook-to-eye; basic angle, degrees; target wire", verb_aid},
    {"target", "target WIRE [for EVENT]", "aimed at that wire, all else as it is", verb_target},
    {"same", "same [for EVENT]", "it stays as it is and is right for the one ordered", verb_same},
    {"fault", "fault", "lamp, stabilisation or mode at fault, now", verb_fault},
    {"withdraw", "withdraw aid", "makes that word unknown", tl_verb_withdraw},
};

const struct tl_room tl_room_aid = {TL_STATION_AID, verbs, sizeof verbs / sizeof verbs[0]};
