/* SPDX-License-Identifier: Apache-2.0 */
/* gear_officer.c - the arresting gear officer: foul from topside, and the books of the cables. */
#include "clients/station/command.h"

static void
verb_cable(struct tl_asking *asking)
{
    uint32_t unit = 0;
    struct tl_cable cable = {0};
    if (asking->argc < 2 || asking->argc > 3) {
        tl_command_syntax(asking, "cable");
        return;
    }
    if (!tl_ask_number(asking, asking->argv[0], "engine", 1, TL_ENGINES_MAX, &unit) ||
        !tl_ask_number(asking, asking->argv[1], "traps", 0, 100000, &cable.traps) ||
        (asking->argc == 3 && !tl_ask_number(asking, asking->argv[2], "count at the last detorque",
                                             1, 100000, &cable.detorqued_at))) {
        return;
    }
    if (tl_config_engine(asking->config, unit) == NULL) {
        tl_command_fail(asking, "there is no engine %u", unit);
    } else if (cable.detorqued_at > cable.traps) {
        tl_command_fail(asking, "detorqued at %u, which is after now (%u traps); nothing was said",
                        cable.detorqued_at, cable.traps);
    } else {
        tl_command_add(asking, TL_DATUM_CABLE, unit)->as.cable = cable;
        tl_command_finish(asking);
    }
}

static const struct tl_verb verbs[] = {
    {"foul", "foul [person|aircraft|equipment|wire|other] [SECONDS]",
     "the deck is foul as seen from here, now", tl_verb_foul},
    {"no-foul", "no foul", "nothing is foul as seen from here", tl_verb_no_foul},
    {"cable", "cable ENGINE TRAPS [DETORQUED_AT]",
     "purchase cable: traps since new, and the count at its last detorque", verb_cable},
    {"withdraw", "withdraw deck | withdraw cable ENGINE", "makes that word unknown",
     tl_verb_withdraw},
};

const struct tl_room tl_room_gear_officer = {TL_STATION_GEAR_OFFICER, verbs,
                                             sizeof verbs / sizeof verbs[0]};
