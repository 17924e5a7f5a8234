/* SPDX-License-Identifier: Apache-2.0 */
/* rules_why_sea.c - why the rules about weight, wind, the aid's aim and the last seconds matter. */
#include "proto/vocab/rules_why_rows.h"

static const struct tl_rule_why ROWS[] = {
    {.rule = TL_RULE_SETTING_LIGHT,
     .bad_when =
         "An engine in service is set, for this event, below the actual inbound weight less "
         "the tolerance.",
     .why = "Set too light, the brake is weak at first and the load rises late and without bound: "
            "the ram bottoms and the cable may part.",
     .needs = "The actual weight, from approach, not above what each engine in service is set to.",
     .act = "Compare the weight with the pilot by voice. Raise the order and every setting, or let "
            "the aircraft dump fuel; wave-off until it fits."},
    {.rule = TL_RULE_OVER_TRAP_WEIGHT,
     .bad_when = "The actual inbound weight is above the greatest trap weight of the ordered type.",
     .why = "The aircraft's own structure and its hook are loaded beyond what they are made for, "
            "whatever the engines are set to.",
     .needs = "The actual weight, from approach, within the type's greatest trap weight.",
     .waits = "a weight not said by approach",
     .act = "The aircraft dumps or burns fuel, or diverts. Approach says the new weight."},
    {.rule = TL_RULE_HOOK_LOAD,
     .bad_when = "The hook load computed from weight, speed and setting is above its limit.",
     .why = "Set too heavy, the engine pulls with the load of a heavier aircraft from the first "
            "moment: hook, airframe or pendant may fail.",
     .needs = "A setting, weight and wind of which the computed load is within the limit.",
     .waits = "a load not computed for this event and setting",
     .act = "Compare order, weight and setting; lower the setting when it is of another aircraft."},
    {.rule = TL_RULE_ENERGY_OVER,
     .bad_when = "The computed energy of the aircraft into the wire is above the capacity of an "
                 "engine.",
     .why = "The engine takes up less than the aircraft brings: the ram meets its stop and the "
            "cable parts.",
     .needs = "A weight and a speed into the wire within the capacity: more wind or less weight.",
     .waits = "an energy not computed for this event and setting",
     .act = "More wind down the deck, less weight, or no pass on the wires."},
    {.rule = TL_RULE_ENERGY_THIN,
     .bad_when =
         "The energy into the wire is within the capacity of an engine, but by less than the "
         "configured part of it.",
     .why = "A lull in the wind or a fast approach uses up what is left.",
     .needs = "A margin not under the configured percent.",
     .waits = "a margin not computed for this event and setting",
     .act = "Ask the bridge for wind or the aircraft for less weight; platform watches the speed."},
    {.rule = TL_RULE_STROKE_PREDICTED,
     .bad_when = "The ram stroke computed for this aircraft is above its limit.",
     .why = "The moving block meets its stop before the aircraft stands, and the cable parts.",
     .needs = "Setting, weight and wind of which the computed stroke is within the limit.",
     .waits = "a travel not computed for this event and setting",
     .act = "Correct the setting first; then more wind or less weight."},
    {.rule = TL_RULE_WIND_LOW,
     .bad_when = "The headwind down the angle is below the least that the ordered type needs.",
     .why =
         "What the wind does not take, the wire must: the aircraft comes in faster over the deck "
         "and brings more energy.",
     .needs = "A headwind, from bridge, not under the type's minimum.",
     .act = "Bridge: speed or course for more wind. No pass before."},
    {.rule = TL_RULE_CROSSWIND_OVER,
     .bad_when = "The wind across the angle is above its limit.",
     .why = "The aircraft drifts off the centre line, catches the wire off centre and leaves "
            "toward parked aircraft.",
     .needs = "A crosswind, from bridge, within its limit.",
     .act = "Bridge: change the course toward the wind down the angle."},
    {.rule = TL_RULE_SHIP_NOT_STEADY,
     .bad_when = "The ship turns, changes her speed or heels more than her limits for a recovery.",
     .why = "The wind that was reported is no longer that of the pass, and the deck moves away "
            "under the aircraft.",
     .needs = "Course, speed and heel, from bridge, steady within their limits.",
     .waits = "roll or rate of turn not known",
     .act = "Bridge: steady the ship, and say when. Platform: wave-off if it is late."},
    {.rule = TL_RULE_DECK_MOTION,
     .bad_when = "Pitch or heave of the deck is beyond its limits.",
     .why = "The aid cannot follow it: the slope that is shown leads into the ramp or past the "
            "wires.",
     .needs = "Pitch and heave, from bridge, within their limits.",
     .waits = "pitch or heave not known",
     .act = "Another course or speed; platform talks down or waves off by its own rules."},
    {.rule = TL_RULE_AID_NOT_ON_TARGET,
     .bad_when = "The aid is aimed at another wire than the target of the wires that are usable: "
                 "the third of four, the second of three.",
     .why = "The aircraft touches down before or past the wires that are there: a low ramp, or a "
            "bolter.",
     .needs = "The wire that the aid is aimed at, from aid, and which wires are usable.",
     .waits = "a target wire not said",
     .act = "Aid: aim at the target wire and say so. Platform knows which wire is the target."},
    {.rule = TL_RULE_AID_ANGLE,
     .bad_when = "The basic angle of the aid is not the one of the band for the wind as it is.",
     .why = "Too flat for the wind, the hook passes low over the ramp; too steep, the aircraft "
            "comes down hard.",
     .needs = "The angle of the aid, from aid, that of the band for the wind from bridge.",
     .waits = "a basic angle not said",
     .act = "Aid: set the angle of the band and say it. Platform tells the pilots."},
    {.rule = TL_RULE_RAMP_CLEARANCE,
     .bad_when = "The computed clearance of the hook over the ramp is below its minimum.",
     .why = "The hook, or the aircraft, strikes the ramp.",
     .needs =
         "Aid, angle and deck motion of which the computed clearance is not under the minimum.",
     .waits = "a clearance not computed for this event",
     .act = "Steeper angle, the aid for the ordered type, or less motion. No pass before."},
    {.rule = TL_RULE_TOUCHDOWN_OFF,
     .bad_when = "The computed touchdown point is outside the band around the target wire.",
     .why = "A bolter, or the first wire close to the ramp, is likely.",
     .needs = "Nothing: a note.",
     .act = "Platform: know it. Aid: look at type, angle and target wire."},
    {.rule = TL_RULE_INTERVAL_SHORT,
     .bad_when = "The next aircraft arrives before the gear can be reset, by the configured reset "
                 "time.",
     .why = "The deck is most likely foul when it calls: a wave-off for fuel that it may need.",
     .needs = "Nothing: a note.",
     .act = "Approach: open the interval. Primary: expect a foul wave-off."},
    {.rule = TL_RULE_NOT_MANNED,
     .bad_when = "A station has not named who has the watch.",
     .why = "A terminal that answers is not a person who looks; a recovery starts with every "
            "station manned and ready.",
     .needs = "'watch NAME', from each station.",
     .waits = "no name of who has the watch",
     .act = "The station: 'watch NAME'. Primary: ask by voice who is there."},
    {.rule = TL_RULE_WAVE_OFF_ADVISED,
     .bad_when = "After the pilot's call, and inside the wave-off point, a fact that was good was "
                 "reported bad.",
     .why = "There is no time left to put it right before the aircraft is over the ramp.",
     .needs = "Nothing can make it good for this pass; it ends with the pass.",
     .act = "Platform decides, and at once: this is an advice to wave off, never an order. All "
            "others: off the circuit unless they say FOUL or STOP."},
    {.rule = TL_RULE_PICTURE_LOST,
     .bad_when = "After the pilot's call, and inside the wave-off point, a station, a bus or a "
                 "validator was lost.",
     .why = "The screens cannot tell any more whether the deck is as it was; nothing bad is "
            "reported either.",
     .needs = "Nothing can make it good for this pass; it ends with the pass.",
     .act = "Go by voice and by eye. It says nothing about the deck and is no advice to wave off; "
            "platform decides."},
    {.rule = TL_RULE_ALARM_FLOOD,
     .bad_when = "More than ten alerts came to one station within ten minutes.",
     .why = "People stop to read them, and the one that matters goes by.",
     .needs = "Nothing: a note.",
     .act = "Slow the recovery down; deal with the gravest first; look why they come."},
};

const struct tl_rule_why *
tl_rule_why_sea(size_t *count)
{
    *count = sizeof ROWS / sizeof ROWS[0];
    return ROWS;
}
