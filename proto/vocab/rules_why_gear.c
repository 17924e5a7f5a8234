/* SPDX-License-Identifier: Apache-2.0 */
/* rules_why_gear.c - why the rules about engines, wires, tracks and barricade matter. */
#include "proto/vocab/rules_why_rows.h"

static const struct tl_rule_why ROWS[] = {
    {.rule = TL_RULE_NOT_IN_BATTERY,
     .bad_when = "An engine in service says that it is out of battery, past its due; before that "
                 "it is only not yet back.",
     .why = "The ram has only part of its stroke left and meets its stop before the aircraft does.",
     .needs = "'battery in', from each engine in service, for this event.",
     .waits = "battery not said for this event, or out as after a trap",
     .act = "Engine room: look at the ram; retract it fully, then 'battery in'."},
    {.rule = TL_RULE_NO_ENGINE,
     .bad_when = "No engine of gear.yaml is in service.",
     .why = "There is no wire with a brake behind it.",
     .needs = "One engine in service in gear.yaml at least.",
     .act = "No recovery on the wires. A change of gear.yaml goes to every host."},
    {.rule = TL_RULE_RIG_UNKNOWN,
     .bad_when = "A wire of gear.yaml has been said neither rigged nor stripped.",
     .why = "A wire that nobody speaks of is a wire that nobody looked at.",
     .needs = "'rig' or 'strip' of each wire, from wires.",
     .waits = "a wire said neither rigged nor stripped",
     .act = "Look at the deck, then 'rig WIRE' or 'strip WIRE'."},
    {.rule = TL_RULE_SHEAVE_DOWN,
     .bad_when = "A retractable sheave is not fully up and its interlock is not bypassed.",
     .why = "The wire lies flat or runs off its sheave: the hook skips it, or the cable is cut.",
     .needs = "The sheave of each wire up, from wires.",
     .waits = "a sheave not reported",
     .act = "Raise it. If it will not rise: strip that wire, then bypass it."},
    {.rule = TL_RULE_BYPASS_WITH_PENDANT,
     .bad_when = "A sheave interlock is bypassed, and its wire is not said to be stripped.",
     .why = "The bypass defeats the interlock of a wire that an aircraft can still catch.",
     .needs = "'strip' of each wire that is bypassed, from wires.",
     .act = "Remove that pendant, or end the bypass and raise the sheave."},
    {.rule = TL_RULE_PENDANT_HEIGHT,
     .bad_when = "A pendant that is not stripped lies lower than pendant_low_in or higher than "
                 "pendant_high_in.",
     .why = "Too low, the hook skips it; too high, a hook point or a wheel strikes it.",
     .needs = "The lowest and the highest point of each pendant that is not stripped, from wires.",
     .waits = "a pendant not reported",
     .act = "Put the supports right and measure again, or strip that wire."},
    {.rule = TL_RULE_PENDANT_WORN,
     .bad_when = "A pendant that is not stripped is said to be worn or off centre, or one of its "
                 "supports to be down.",
     .why = "A worn pendant parts under load and whips across the deck; one off centre stretches "
            "one purchase cable more than the other.",
     .needs = "'pendant WIRE good' of each wire that is not stripped, from wires.",
     .act = "Change or centre it, or strip that wire."},
    {.rule = TL_RULE_INACTIVE_RIGGED,
     .bad_when = "The pendant of an engine that is not in service is said to be rigged.",
     .why = "An aircraft that catches it has no brake behind the wire.",
     .needs = "'strip' of the wire of each engine out of service, from wires.",
     .act = "Remove that pendant."},
    {.rule = TL_RULE_WIRE_NOT_FREE,
     .bad_when = "The deck edge says that a wire is held, past its due; before that it is only not "
                 "yet free.",
     .why = "The hook of the last aircraft, or what holds the wire, is dragged when it retracts.",
     .needs = "'free' (or 'reset'), from wires, for this event.",
     .waits = "not said free for this event, or held as after a trap",
     .act = "Raise the hook or free the wire; nobody in the bight. Then 'free'."},
    {.rule = TL_RULE_RETRACT_RUNNING,
     .bad_when = "The deck edge says that a retract runs, past its due; before that it is only not "
                 "yet done.",
     .why = "A moving wire strikes people and is no wire to catch.",
     .needs = "'retracted' (or 'reset'), from wires, for this event.",
     .waits = "not said retracted for this event, or running as after a trap",
     .act = "Finish the retract; after a break look again that nobody can be struck."},
    {.rule = TL_RULE_ACCUMULATOR,
     .bad_when = "An engine in service reports less than accumulator_min_psi or more than "
                 "accumulator_max_psi.",
     .why = "Too low, the engine retracts weakly and does not hold battery; too high, it resists "
            "more than it was set for.",
     .needs = "The accumulator pressure, from each engine in service, within its bounds.",
     .waits = "a pressure not reported",
     .act = "Charge or bleed it, look for a leak; take the engine out of use if it does not hold."},
    {.rule = TL_RULE_CROSSHEAD_GAP,
     .bad_when = "The crosshead of an engine in service is nearer to its stop than "
                 "crosshead_min_in.",
     .why = "The purchase cable has stretched: little is left before the moving block meets its "
            "stop.",
     .needs = "The gap, from each engine in service, not under the minimum.",
     .waits = "a gap not reported",
     .act = "Take up the cable, or take the engine out of use."},
    {.rule = TL_RULE_DETORQUE_OVERDUE,
     .bad_when = "More traps on the purchase cable of an engine in service than "
                 "detorque_first_limit with no detorque, or than the last detorque and "
                 "detorque_every; those known since the count are added.",
     .why = "A twisted cable opens its strands like a cage and loses its strength.",
     .needs = "The count of traps and of the last detorque of each cable, from gear-officer.",
     .waits = "a count not reported",
     .act = "Detorque it and say 'detorqued', or take the engine out of use."},
    {.rule = TL_RULE_DETORQUE_DUE,
     .bad_when = "The count of traps has reached detorque_first, or the last detorque and "
                 "detorque_every, and is not past the limit.",
     .why = "It will be overdue within few traps, maybe in the middle of a recovery.",
     .needs = "Nothing: a note.",
     .act = "Plan the detorque for the next break."},
    {.rule = TL_RULE_TRACK_OPEN,
     .bad_when = "A catapult track in the landing area has an open slot, a raised deflector, a "
                 "shuttle or a crew in it.",
     .why = "A hook or a wheel goes into the slot or strikes what stands there.",
     .needs = "'secured', from tracks, for this event.",
     .waits = "a track not said secured for this event",
     .act = "Cover the slot, lower, clear the crew; then 'secured'."},
    {.rule = TL_RULE_BARRICADE_NOT_STOWED,
     .bad_when =
         "For a pass on the wires, the barricade is half or fully rigged, or its stanchions "
         "are not lowered.",
     .why = "A hook or a wing strikes it.",
     .needs = "The barricade stowed, from barricade; the stanchions lowered, from wires.",
     .waits = "the barricade or the stanchions not reported",
     .act = "Stow it and lower the stanchions."},
    {.rule = TL_RULE_BARRICADE_POWER,
     .bad_when = "While the barricade is to be ready: less pressure than barricade_psi, or more "
                 "cycles since the pump ran than barricade_cycles_max.",
     .why = "When it is needed it will not rise.",
     .needs = "Pressure and cycles, from barricade, while it is said to be ready.",
     .waits = "pressure not reported while it is to be ready",
     .act = "Run the pump; say 'power PSI CYCLES'."},
};

const struct tl_rule_why *
tl_rule_why_gear(size_t *count)
{
    *count = sizeof ROWS / sizeof ROWS[0];
    return ROWS;
}
