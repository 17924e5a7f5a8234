/* SPDX-License-Identifier: Apache-2.0 */
/* gear_officer.c - the arresting gear officer: foul from topside, the books, and who looked. */
#include "clients/station/gear-officer/books.h"

/* Frees an engine after the arrest that its room has read, by the name of who looked at it. */
static void
verb_freed(struct tl_asking *asking)
{
    uint32_t unit = 0;
    struct tl_freed freed = {0};
    if (asking->argc < 2) {
        tl_command_syntax(asking, "freed");
        return;
    }
    if (!tl_ask_engine(asking, asking->argv[0], &unit) || !tl_ask_name(asking, 1, freed.name)) {
        return;
    }
    const struct tl_node *room = tl_config_station(asking->config, TL_STATION_ENGINE, unit);
    const struct tl_datum *arrest =
        room != NULL ? tl_pictured(asking, room->id, TL_DATUM_ARREST, 0) : NULL;
    if (arrest == NULL) {
        tl_command_fail_now(asking, "engine %u has no arrest read: nothing to free it from", unit);
        return;
    }
    freed.event = arrest->as.arrest.event;
    tl_command_add(asking, TL_DATUM_FREED, unit)->as.freed = freed;
    tl_command_finish(asking);
}

/* After maintenance: full travel tested, by a second person. */
static void
verb_signed(struct tl_asking *asking)
{
    uint32_t unit = 0;
    struct tl_signed_off off = {0};
    if (asking->argc < 3) {
        tl_command_syntax(asking, "signed");
    } else if (tl_ask_engine(asking, asking->argv[0], &unit) &&
               tl_ask_number(asking, asking->argv[1], "job", 1, 999999, &off.job) &&
               tl_ask_name(asking, 2, off.name)) {
        tl_command_add(asking, TL_DATUM_SIGNED_OFF, unit)->as.signed_off = off;
        tl_command_finish(asking);
    }
}

static void
verb_inspected(struct tl_asking *asking)
{
    static const struct tl_choice states[] = {
        {"good", TL_INSPECTION_GOOD}, {"found", TL_INSPECTION_FOUND}, {NULL, 0}};
    uint32_t unit = 0;
    int state = 0;
    struct tl_inspected inspected = {0};
    if (asking->argc < 3) {
        tl_command_syntax(asking, "inspected");
    } else if (tl_ask_engine(asking, asking->argv[0], &unit) &&
               tl_ask_choice(asking, asking->argv[1], states, &state) &&
               tl_ask_name(asking, 2, inspected.name)) {
        inspected.state = (enum tl_inspection_state)state;
        tl_command_add(asking, TL_DATUM_INSPECTED, unit)->as.inspected = inspected;
        tl_command_finish(asking);
    }
}

static const struct tl_verb verbs[] = {
    {"foul", "foul [person|aircraft|equipment|wire|other] [SECONDS]",
     "the deck is foul as seen from here, now", tl_verb_foul},
    {"no-foul", "no foul", "nothing is foul as seen from here", tl_verb_no_foul},
    {"cable", "cable ENGINE TRAPS [DETORQUED_AT] [SERIAL]",
     "purchase cable: traps since new, and the count at its last detorque", tl_verb_cable},
    {"cable-new", "cable-new ENGINE SERIAL [TRAPS [DETORQUED_AT]]",
     "another purchase cable is there now", tl_verb_cable_new},
    {"detorqued", "detorqued ENGINE", "its purchase cable has been detorqued, at its present count",
     tl_verb_detorqued},
    {"pendant-life", "pendant-life WIRE TRAPS [SERIAL]", "traps on that pendant since it was new",
     tl_verb_pendant_life},
    {"pendant-new", "pendant-new WIRE SERIAL [TRAPS]", "another pendant is there now",
     tl_verb_pendant_new},
    {"from-record", "from-record",
     "counts of pendants and cables that are not known here, as the record has them",
     tl_verb_from_record},
    {"wear", "wear", "pendants and cables: counted here, and by the record", tl_verb_wear},
    {"inspected", "inspected ENGINE good|found NAME", "inspection of an engine, and who looked",
     verb_inspected},
    {"signed", "signed ENGINE JOB NAME",
     "full travel tested after that maintenance job, and by whom", verb_signed},
    {"freed", "freed ENGINE NAME",
     "looked at after its last arrest, by whom, and free to be used again", verb_freed},
    {"withdraw", "withdraw deck | withdraw cable|inspected|signed-off|freed|pendant-life NUMBER",
     "makes that word unknown", tl_verb_withdraw},
};

const struct tl_room tl_room_gear_officer = {TL_STATION_GEAR_OFFICER, verbs,
                                             sizeof verbs / sizeof verbs[0]};
