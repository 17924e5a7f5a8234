/* SPDX-License-Identifier: Apache-2.0 */
/* rules_why_pass.c - why the rules about the aircraft, its weight and the deck matter. */
#include "proto/vocab/rules_why_rows.h"

static const struct tl_rule_why ROWS[] = {
    {.rule = TL_RULE_NO_EVENT,
     .bad_when = "No recovery is open, or no aircraft on the list waits. It is only not yet there, "
                 "and never an alert.",
     .why = "Words are said for one aircraft; without one there is nothing to be ready for.",
     .needs = "An open recovery and an order, from primary.",
     .act = "At primary: 'open', then 'order SIDE TYPE WEIGHT'."},
    {.rule = TL_RULE_ORDER_UNKNOWN,
     .bad_when = "The order of the current event is being changed, or was refused.",
     .why = "Engines and aid may be set for what was ordered before.",
     .needs = "A complete order for the current event, from primary.",
     .waits = "no order of the current event that counts",
     .act = "At primary: give the order again and confirm it."},
    {.rule = TL_RULE_ORDERED_DIVERTED,
     .bad_when = "Approach has said that the aircraft ordered next is diverted.",
     .why = "Everything is set for an aircraft that does not come; the next one in the groove is "
            "another, of another weight.",
     .needs = "An ordered aircraft that approach has not diverted.",
     .act = "Primary takes it off the list ('cancel') or approach corrects its word."},
    {.rule = TL_RULE_TYPE_UNKNOWN,
     .bad_when = "The ordered type is not in aircraft.yaml.",
     .why = "Neither weight nor aid can be checked against it.",
     .needs = "An order of a type of aircraft.yaml, from primary.",
     .act = "Correct the type of the order. A type that is missing is added to aircraft.yaml "
            "before the recovery, on every host."},
    {.rule = TL_RULE_TYPE_CALLED_DIFFERS,
     .bad_when = "The pilot's call has another side number or type than the order, or approach's "
                 "inbound list has another type for that side number.",
     .why = "The aircraft in the groove is not the one for which engines and aid are set: after a "
            "re-order the classic slip.",
     .needs = "The pilot's call, from platform, equal to the order; approach's word only where it "
              "has one for that side number.",
     .waits = "no call heard for this event",
     .act = "Find out by voice which aircraft it is. Wave-off if it is not settled in time. "
            "Correct the order or the call."},
    {.rule = TL_RULE_SETTING_OTHER_AIRCRAFT,
     .bad_when = "An engine in service is set, for this event, further from the setting of the "
                 "ordered type than that type's tolerance. One cause an engine; its consequences "
                 "are not listed besides.",
     .why = "Set too light, the load rises late, the ram bottoms and the cable may part; set too "
            "heavy, the aircraft is stopped with the load of a heavier one.",
     .needs = "The weight set, from each engine in service, that of the ordered type.",
     .act = "Engine room: set it, look at the dial, say 'set WEIGHT'. Primary: repeat the order. "
            "Nobody says ready meanwhile."},
    {.rule = TL_RULE_SETTING_NOT_ORDERED,
     .bad_when = "A setting fits the type, but is off the ordered weight by more than "
                 "agree_tolerance_lb.",
     .why = "Somebody heard or keyed another number than primary ordered; which one is right is "
            "not known.",
     .needs = "The weight set for this event, from each engine in service, equal to the order.",
     .waits = "no weight set for this event",
     .act = "Primary and engine compare the number by voice; then 'set' at the engine or a new "
            "order."},
    {.rule = TL_RULE_ENGINES_DISAGREE,
     .bad_when = "Each engine in service is right by itself, but they are not all set alike.",
     .why = "How the aircraft is stopped would depend on which wire it catches.",
     .needs = "One weight at all engines in service.",
     .act = "Primary orders one weight; the engine that differs sets it."},
    {.rule = TL_RULE_REPEATER_DIFFERS,
     .bad_when = "The repeater, as read for this event, is not what that engine is set to. It is "
                 "asked only when the setting itself is right.",
     .why = "The dial and the engine tell two weights: one of them is wrong, and it may be the "
            "engine.",
     .needs = "A reading of each engine's repeater, from the station that reads them, for this "
              "event and after the setting changed.",
     .waits = "the repeater not read for this event, or read before the setting changed",
     .act = "Look at the engine itself; zero the repeater or correct the setting."},
    {.rule = TL_RULE_STOP,
     .bad_when = "A station that may stop says STOP, or one voice says it for a station. It stands "
                 "through that station's restart.",
     .why = "Somebody has seen what no rule here knows.",
     .needs = "'no foul' (the owner of the deck: 'clear') from the station that said STOP; for a "
              "lost one, by voice from two.",
     .act = "Stop first, talk afterwards. Who said it takes it back."},
    {.rule = TL_RULE_LINE_CROSSED,
     .bad_when = "A station that may foul says FOUL for a person or an aircraft over the line, or "
                 "one voice says it for a station. After a pass the owner's FOUL is only not yet "
                 "clear until it is due.",
     .why = "A wing, a wheel or a whipping cable strikes who or what stands there.",
     .needs = "'no foul' (the owner: 'clear') from the station that said FOUL; for a lost one, by "
              "voice from two.",
     .waits = "the owner's FOUL after a pass, before CLEAR was said for this event",
     .act = "Get them behind the line. Wave-off if it is late. Who said FOUL takes it back."},
    {.rule = TL_RULE_DECK_FOUL,
     .bad_when = "A station that may foul says FOUL for another reason than the line, or one voice "
                 "says it for a station; or the owner has not said CLEAR for this event.",
     .why = "Something in the landing area strikes the aircraft or is struck by it.",
     .needs = "CLEAR for this event from its owner, and no FOUL that stands at another station.",
     .waits = "no CLEAR for this event, or the owner's FOUL after a pass",
     .act = "Remove what fouls, look again, say 'clear' (others: 'no foul')."},
    {.rule = TL_RULE_FOUL_WORD_MISSING,
     .bad_when = "A station that may foul or stop has, since it started, said neither FOUL nor no "
                 "foul. The owner of CLEAR is asked by deck-foul instead.",
     .why = "Its silence would be read as 'nothing foul from here'.",
     .needs = "One word on the deck from each station that may foul or stop.",
     .waits = "no word on the deck since that station started",
     .act = "Look, then say 'no foul' or 'foul REASON'."},
    {.rule = TL_RULE_AID_FAULT,
     .bad_when = "The landing aid is said to be at fault.",
     .why = "The pilot would follow a slope that is not there: into the ramp, or past the wires.",
     .needs = "The aid working, from aid.",
     .act = "Platform talks the aircraft down or waves it off by its own rules. Mend the aid, then "
            "'aid TYPE'."},
    {.rule = TL_RULE_AID_NOT_FOR_TYPE,
     .bad_when = "The aid is set, for this event, for a type of another hook-to-eye distance than "
                 "the ordered one's, or of none that is given. The distance decides, not the name.",
     .why = "The hook passes lower or higher than the eye is shown: each foot of it moves the "
            "touchdown point by several feet, up to a ramp strike.",
     .needs = "The type that the aid is set for, from aid, for this event.",
     .waits = "the aid not said to be set for this event",
     .act = "Aid: set it for the ordered type, say 'aid TYPE'. Platform: no pass before that."},
    {.rule = TL_RULE_HOOK_NOT_DOWN,
     .bad_when = "Platform reports for this event that the hook is not down.",
     .why = "Without the hook nothing stops the aircraft.",
     .needs = "'hook down', from platform, for this event.",
     .waits = "the hook not reported for this event",
     .act = "Tell the pilot. Wave-off until the hook is seen down."},
    {.rule = TL_RULE_WIND_UNKNOWN,
     .bad_when = "The bridge has no wind within its time of validity, or its sensors disagree: "
                 "that is wrong at once.",
     .why = "Without it the speed into the wire and the drift across the deck are not known.",
     .needs = "A wind, from bridge: by sensors that agree, or keyed.",
     .waits = "no wind within its time of validity",
     .act = "Bridge: look at the sensors; key the wind meanwhile ('wind DOWN ACROSS')."},
    {.rule = TL_RULE_INBOUND_TROUBLE,
     .bad_when =
         "Approach has said that the aircraft ordered next has hook, gear or other trouble.",
     .why = "It may need the barricade, another order or another deck; who hears it in the groove "
            "hears it too late.",
     .needs = "Nothing: a note while approach says so.",
     .act = "Primary and platform decide on the order and the kind of pass."},
};

const struct tl_rule_why *
tl_rule_why_pass(size_t *count)
{
    *count = sizeof ROWS / sizeof ROWS[0];
    return ROWS;
}
