/* SPDX-License-Identifier: Apache-2.0 */
/* rules_why_engine.c - why the rules about engines, their arrests and the barricade pass matter. */
#include "proto/vocab/rules_why_rows.h"

static const struct tl_rule_why ROWS[] = {
    {.rule = TL_RULE_FLUID_LEVEL,
     .bad_when = "The fluid of an engine that takes part is low or high, not at its battery level.",
     .why = "With too little the ram bottoms; with too much, or with air in it, the ram does not "
            "come back to battery.",
     .needs = "The fluid level, from each engine in service, at battery.",
     .waits = "a fluid level not reported",
     .act = "Fill or drain it, look for the leak; say the level anew."},
    {.rule = TL_RULE_ENGINE_FAULT,
     .bad_when = "An engine in service has a fault code that is active.",
     .why =
         "What the engine will do with the next aircraft is not known. A fault that was put away "
         "with a step left out has let a pendant part.",
     .needs = "No active fault code, from each engine in service.",
     .waits = "fault codes not read",
     .act =
         "Find the fault; do not just clear the code. Take the engine out of service meanwhile."},
    {.rule = TL_RULE_SERVICE_UNKNOWN,
     .bad_when = "An engine has not said whether it is in service.",
     .why = "An engine of which nobody speaks may have people at work in it.",
     .needs = "'in service' or out of it, from each engine.",
     .waits = "an engine that has not said whether it is in service",
     .act = "Engine room: look, then say it."},
    {.rule = TL_RULE_NOT_SIGNED_OFF,
     .bad_when = "An engine is back from maintenance without a full-travel test and the sign-off "
                 "of a second person.",
     .why = "A valve that was put back wrongly looks right and does not slow the aircraft: it is "
            "found by the test, or by the next trap.",
     .needs =
         "'signed ENGINE JOB NAME' from the gear officer, for the very job that the room gives.",
     .act = "Run it over its full travel, let a second person look and sign; or keep it out of "
            "service, and its wire stripped."},
    {.rule = TL_RULE_INSPECTION_OVERDUE,
     .bad_when =
         "At the inspection of an engine something was found; or none is said within its time.",
     .why = "Damage of the last traps is found by looking, or by the next aircraft.",
     .needs = "Each inspection within its time, as configured.",
     .waits = "an inspection not reported",
     .act = "Do the inspection and say it."},
    {.rule = TL_RULE_PENDANT_LIFE,
     .bad_when = "A rigged pendant has as many traps as its configured life, or more; those known "
                 "since the count are added.",
     .why = "A pendant past its life parts under load and whips across the deck.",
     .needs = "The count of traps of each rigged pendant, below its life.",
     .waits = "a count of a pendant not reported",
     .act = "Change that pendant and say 'pendant-new', or strip that wire."},
    {.rule = TL_RULE_PENDANT_LIFE_NEAR,
     .bad_when = "A rigged pendant is within few traps of its configured life, or has fewer left "
                 "than passes on the list that may still end on a wire.",
     .why = "It will run out, maybe in the middle of this recovery.",
     .needs = "Nothing: a note.",
     .act = "Have the next pendant ready; change it before the recovery if the traps do not last."},
    {.rule = TL_RULE_ARREST_UNREAD,
     .bad_when = "The last trap on the wire of an engine has not been read by its room, or another "
                 "pass was.",
     .why = "The travel is the only sign that the engine stopped the aircraft as it should: the "
            "next one goes into the same wire unseen.",
     .needs = "The ram travel of each trap, from the engine of that wire.",
     .waits = "the ram travel of the last trap not read",
     .act = "Engine room: read it and say it."},
    {.rule = TL_RULE_RAM_TRAVEL,
     .bad_when = "The ram travel of the last arrest was over its limit. It stands until the gear "
                 "officer frees the engine by name.",
     .why = "Little of the stroke was left: a heavier or faster aircraft drives the ram into its "
            "stop.",
     .needs =
         "'freed ENGINE NAME' from the gear officer for that pass, or the engine out of service.",
     .act = "Take the engine out of use; look at setting, valve, fluid and cable; then the gear "
            "officer frees it."},
    {.rule = TL_RULE_OFF_CENTRE,
     .bad_when = "The last engagement was further off the centre line than its limit. It stands "
                 "until the gear officer frees the engine by name.",
     .why = "One side took more load than the other: a damper, a sheave or a cable may be damaged.",
     .needs =
         "'freed ENGINE NAME' from the gear officer for that pass, or the engine out of service.",
     .act = "Look at pendant, sheaves, dampers and both purchase cables; then the gear officer "
            "frees it."},
    {.rule = TL_RULE_SIDES_UNEQUAL,
     .bad_when = "Left and right of the last arrest differ by more than the limit. It stands until "
                 "the gear officer frees the engine by name.",
     .why = "Something on one side gives way or sticks; pulled askew, the aircraft leaves the "
            "landing area.",
     .needs =
         "'freed ENGINE NAME' from the gear officer for that pass, or the engine out of service.",
     .act = "Look at both sides below deck; then the gear officer frees it."},
    {.rule = TL_RULE_WALK_BACK,
     .bad_when = "After the last stop the aircraft was pulled back further than the limit.",
     .why = "Air in the cylinder, or a valve that does not seat; people behind the aircraft do not "
            "expect it.",
     .needs = "Nothing: a note.",
     .act = "Engine room: look for air and at the valve. Deck: keep clear behind the aircraft."},
    {.rule = TL_RULE_TRAVEL_DISAGREES,
     .bad_when = "The ram travel that was read differs from the computed one by more than the "
                 "configured percent.",
     .why = "The engine does not do what its setting says: a valve out of its index stops the next "
            "aircraft too late or too hard.",
     .needs = "A ram travel, from the engine, as computed for that aircraft.",
     .waits = "a travel not computed",
     .act =
         "Take the engine out of use; compare dial and valve; full-travel test before it is used."},
    {.rule = TL_RULE_TOO_FEW_WIRES,
     .bad_when = "Fewer wires are usable than the ship's minimum.",
     .why = "Most aircraft miss: bolters cost fuel, and the last ones have none left.",
     .needs = "As many usable wires as the minimum: rigged, good, free, with an engine in service.",
     .act = "Rig a wire, or bring an engine back. Or two sign an override for the last aircraft."},
    {.rule = TL_RULE_BARRICADE_NOT_RIGGED,
     .bad_when = "A pass into the barricade is ordered, and past its due the barricade is not "
                 "rigged or its "
                 "stanchions are not raised.",
     .why = "An aircraft that cannot use the wires has nothing else to stop it.",
     .needs = "The barricade rigged, from barricade; the stanchions raised, from wires.",
     .waits = "the barricade or the stanchions not reported",
     .act = "Rig it, raise the stanchions, say both. Hold the aircraft off until then."},
    {.rule = TL_RULE_BARRICADE_WIRES,
     .bad_when =
         "A pass into the barricade is ordered, and past its due a pendant in its way is rigged.",
     .why = "The aircraft trips over the wire, or is held by it short of the webbing.",
     .needs = "'strip' of each wire of the barricade list, from wires.",
     .waits = "a wire of the barricade list not said stripped",
     .act = "Strip those wires and say so."},
    {.rule = TL_RULE_WEBBING_USED,
     .bad_when = "The webbing of the barricade has been used before.",
     .why =
         "Webbing that has stopped an aircraft once tears at the second; it is never used again.",
     .needs = "New webbing, from barricade.",
     .act = "Change the webbing and say so."},
};

const struct tl_rule_why *
tl_rule_why_engine(size_t *count)
{
    *count = sizeof ROWS / sizeof ROWS[0];
    return ROWS;
}
