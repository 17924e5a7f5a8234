/* SPDX-License-Identifier: Apache-2.0 */
/* barricade.c - the barricade crew: how it stands, and whether its stanchions will rise. */
#include <string.h>

#include "clients/station/command.h"

static void
verb_barricade(struct tl_asking *asking)
{
    static const struct tl_choice states[] = {{"secure", TL_BARRICADE_SECURE},
                                              {"ready", TL_BARRICADE_READY},
                                              {"partial", TL_BARRICADE_PARTIAL},
                                              {"rigged", TL_BARRICADE_RIGGED},
                                              {NULL, 0}};
    int state = 0;
    bool used = asking->argc == 2 && strcmp(asking->argv[1], "used") == 0;
    if (asking->argc < 1 || asking->argc > 2 || (asking->argc == 2 && !used)) {
        tl_command_syntax(asking, "barricade");
    } else if (tl_ask_choice(asking, asking->argv[0], states, &state)) {
        tl_command_add(asking, TL_DATUM_BARRICADE, 0)->as.barricade =
            (struct tl_barricade){(enum tl_barricade_state)state, used};
        tl_command_finish(asking);
    }
}

static void
verb_power(struct tl_asking *asking)
{
    struct tl_barricade_power power = {0};
    if (asking->argc != 2) {
        tl_command_syntax(asking, "power");
        return;
    }
    if (tl_ask_number(asking, asking->argv[0], "pressure, psi,", 0, 20000, &power.pressure_psi) &&
        tl_ask_number(asking, asking->argv[1], "cycles", 0, 1000, &power.cycles)) {
        tl_command_add(asking, TL_DATUM_BARRICADE_POWER, 0)->as.barricade_power = power;
        tl_command_finish(asking);
    }
}

static const struct tl_verb verbs[] = {
    {"barricade", "barricade secure|ready|partial|rigged [used]",
     "stowed, to be raised at once, half rigged, rigged; its webbing has held an aircraft before",
     verb_barricade},
    {"power", "power PSI CYCLES", "stanchion accumulator, and cycles since the pump ran",
     verb_power},
    {"withdraw", "withdraw barricade|power", "makes that word unknown", tl_verb_withdraw},
};

const struct tl_room tl_room_barricade = {TL_STATION_BARRICADE, verbs,
                                          sizeof verbs / sizeof verbs[0]};
