/* SPDX-License-Identifier: Apache-2.0 */
/*
 * rules.c - the table of rules. See rules.h; words.c says the rest.
 *
 * Within one urgency (wrong or overdue, held, not yet said) the order of the rows is the order of
 * causes on every screen: advice to wave off, the tool's own blindness, the aircraft, the gear, the
 * deck.
 */
#include "proto/vocab/rules.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "proto/vocab/mix.h"

#define ROW(id, n, sev, eff, knd, act, ow, frm, subj, clr, ovr, tra, txt, bas)                     \
    {                                                                                              \
        .rule = (id), .name = (n), .severity = TL_SEVERITY_##sev, .effect = TL_EFFECT_##eff,       \
        .kind = TL_CAUSE_##knd, .acts = (act), .owes = (ow), .from = TL_STATION_##frm,             \
        .subject = TL_DATUM_##subj, .refuses_clear = (clr), .overridable = (ovr),                  \
        .transport = (tra), .short_text = (txt), .basis = (bas)                                    \
    }
#define COMPUTED(id, n, sev, eff, knd, act, ow, frm, subj, clr, ovr, tra, txt, bas)                \
    {                                                                                              \
        .rule = (id), .name = (n), .severity = TL_SEVERITY_##sev, .effect = TL_EFFECT_##eff,       \
        .kind = TL_CAUSE_##knd, .acts = (act), .owes = (ow), .from = TL_STATION_##frm,             \
        .subject = TL_DATUM_##subj, .refuses_clear = (clr), .overridable = (ovr),                  \
        .transport = (tra), .computed = true, .short_text = (txt), .basis = (bas)                  \
    }
#define PRI   TL_ACTS_PRIMARY
#define NAMED TL_ACTS_NAMED

/* clang-format off */
static const struct tl_rule_row ROWS[] = {
    ROW(TL_RULE_WAVE_OFF_ADVISED, "wave-off-advised", EMERGENCY, FORCE, SHIP, TL_ACTS_PLATFORM, TL_ACTS_PLATFORM, UNKNOWN, UNKNOWN,
        false, false, false, "WAVE-OFF ADVISED", "project"),
    ROW(TL_RULE_TWO_WRITERS, "two-writers", ALARM, FORCE, PICTURE, PRI | NAMED, PRI | NAMED, UNKNOWN, UNKNOWN,
        false, false, true, "two programs claim one station", "project"),
    ROW(TL_RULE_STATION_LOST, "station-lost", ALARM, FORCE, PICTURE, PRI | NAMED, PRI, UNKNOWN, UNKNOWN,
        false, false, true, "station lost or stale", "project"),
    ROW(TL_RULE_VALIDATORS_DIFFER, "validators-differ", ALARM, FORCE, PICTURE, PRI, PRI, UNKNOWN, UNKNOWN,
        false, false, true, "validators differ", "project"),
    ROW(TL_RULE_LIST_NOT_HEARD, "list-not-heard", ALARM, FORCE, PICTURE, PRI, PRI, UNKNOWN, UNKNOWN,
        false, false, false, "primary's list not heard yet", "project"),
    ROW(TL_RULE_PRIMARY_RESTARTED, "primary-restarted", ALARM, FORCE, PICTURE, PRI, PRI, UNKNOWN, UNKNOWN,
        false, false, false, "primary restarted: resume or open", "project"),
    ROW(TL_RULE_LIMIT_REACHED, "limit-reached", ALARM, FORCE, PICTURE, PRI, PRI, UNKNOWN, UNKNOWN,
        false, false, false, "more causes than can be listed", "project"),
    ROW(TL_RULE_UNPROVEN, "unproven", ALARM, FORCE, PICTURE, PRI, PRI, UNKNOWN, UNKNOWN,
        false, false, false, "not every fact is there", "project"),
    ROW(TL_RULE_NO_EVENT, "no-event", CAUTION, FORCE, SHIP, PRI, 0, PRIMARY, RECOVERY,
        false, false, false, "no aircraft ordered", "common practice, no source"),
    ROW(TL_RULE_ORDER_UNKNOWN, "order-unknown", WARNING, FORCE, SHIP, PRI, PRI, PRIMARY, ORDER,
        false, false, false, "order not complete", "NAVEDTRA 14001 p. 3-9"),
    ROW(TL_RULE_ORDERED_DIVERTED, "ordered-diverted", WARNING, FORCE, SHIP, PRI | TL_ACTS_APPROACH, PRI | TL_ACTS_APPROACH, APPROACH, INBOUND,
        false, false, false, "the aircraft ordered is diverted", "project"),
    ROW(TL_RULE_TYPE_UNKNOWN, "type-unknown", ALARM, FORCE, SHIP, PRI, PRI, UNKNOWN, ORDER,
        false, false, false, "type not in the table", "project"),
    ROW(TL_RULE_TYPE_CALLED_DIFFERS, "type-called-differs", ALARM, FORCE, SHIP,
        PRI | TL_ACTS_PLATFORM, PRI | TL_ACTS_PLATFORM, PLATFORM, CALL,
        false, false, false, "type called is not the type ordered",
        "pilot's call restates the type: NAVAIR 00-80T-104 6.6.3, as quoted"),
    ROW(TL_RULE_OVER_TRAP_WEIGHT, "over-trap-weight", ALARM, FORCE, SHIP, PRI | TL_ACTS_APPROACH, PRI | TL_ACTS_APPROACH, APPROACH, INBOUND,
        false, false, false, "aircraft over its trap weight", "common practice, no source"),
    ROW(TL_RULE_SETTING_OTHER_AIRCRAFT, "setting-other-aircraft", ALARM, FORCE, SHIP,
        NAMED | PRI, NAMED | PRI, UNKNOWN, SET,
        false, false, false, "weight set for another aircraft", "NAVEDTRA 14001 p. 3-9"),
    ROW(TL_RULE_SETTING_NOT_ORDERED, "setting-not-ordered", ALARM, FORCE, SHIP, NAMED | PRI,
        NAMED | PRI, ENGINE, SET,
        false, false, false, "weight set is not the one ordered", "NAVEDTRA 14001 p. 3-9"),
    ROW(TL_RULE_SETTING_LIGHT, "setting-light", ALARM, FORCE, SHIP, NAMED | PRI, NAMED | PRI, APPROACH, SET,
        false, false, false, "weight set below the actual one", "late load spike: constant run-out equations"),
    ROW(TL_RULE_ENGINES_DISAGREE, "engines-disagree", ALARM, FORCE, SHIP, PRI | TL_ACTS_ENGINES,
        PRI | TL_ACTS_ENGINES, UNKNOWN, ORDER,
        false, false, false, "engines are not set alike", "common practice, no source"),
    ROW(TL_RULE_REPEATER_DIFFERS, "repeater-differs", ALARM, FORCE, SHIP, NAMED | PRI,
        NAMED | PRI, UNKNOWN, SET,
        false, false, false, "repeater differs from the setting", "NAVEDTRA 14001 p. 3-9"),
    ROW(TL_RULE_NOT_IN_BATTERY, "not-in-battery", ALARM, FORCE, SHIP, NAMED, NAMED | PRI, ENGINE, BATTERY,
        true, false, false, "engine not in battery",
        "battery light: NAVEDTRA 14310 p. 97"),
    ROW(TL_RULE_SERVICE_UNKNOWN, "service-unknown", WARNING, FORCE, SHIP, NAMED, NAMED | PRI, ENGINE, SERVICE,
        false, false, false, "engine neither in nor out of use", "common practice, no source"),
    ROW(TL_RULE_ENGINE_FAULT, "engine-fault", ALARM, FORCE, SHIP, NAMED | TL_ACTS_GEAR_OFFICER, NAMED | TL_ACTS_GEAR_OFFICER | PRI, ENGINE, FAULT,
        false, false, false, "engine has a fault code", "common practice, no source"),
    ROW(TL_RULE_FLUID_LEVEL, "fluid-level", ALARM, FORCE, SHIP, NAMED, NAMED | PRI, ENGINE, FLUID,
        false, false, false, "fluid level not at battery", "level states: course notes on NAVEDTRA 14310, from memory"),
    ROW(TL_RULE_NOT_SIGNED_OFF, "not-signed-off", ALARM, FORCE, SHIP, TL_ACTS_GEAR_OFFICER, TL_ACTS_GEAR_OFFICER | PRI, GEAR_OFFICER, SERVICE,
        false, false, false, "engine not signed off after work", "project, after a published mishap report"),
    ROW(TL_RULE_INSPECTION_OVERDUE, "inspection-overdue", WARNING, HOLD, SHIP, TL_ACTS_GEAR_OFFICER, TL_ACTS_GEAR_OFFICER | PRI, GEAR_OFFICER, INSPECTED,
        false, false, false, "inspection due or not good", "NAVEDTRA 14310 p. 131"),
    ROW(TL_RULE_ARREST_UNREAD, "arrest-unread", WARNING, FORCE, SHIP, NAMED, NAMED | PRI, ENGINE, ARREST,
        false, false, false, "last arrest not read", "project"),
    ROW(TL_RULE_RAM_TRAVEL, "ram-travel", ALARM, FORCE, SHIP, NAMED | TL_ACTS_GEAR_OFFICER, NAMED | TL_ACTS_GEAR_OFFICER | PRI, GEAR_OFFICER, ARREST,
        false, false, false, "ram travelled too far", "crosshead to stop: NAVEDTRA 14310 p. 117"),
    ROW(TL_RULE_OFF_CENTRE, "off-centre", WARNING, HOLD, SHIP, NAMED | TL_ACTS_GEAR_OFFICER, NAMED | TL_ACTS_GEAR_OFFICER | PRI, GEAR_OFFICER, ARREST,
        false, false, false, "last engagement off centre", "NAVEDTRA 14001 p. 93"),
    ROW(TL_RULE_SIDES_UNEQUAL, "sides-unequal", WARNING, HOLD, SHIP, NAMED | TL_ACTS_GEAR_OFFICER, NAMED | TL_ACTS_GEAR_OFFICER | PRI, GEAR_OFFICER, ARREST,
        false, false, false, "left and right travel differ", "common practice, no source"),
    ROW(TL_RULE_NO_ENGINE, "no-engine", ALARM, FORCE, SHIP, PRI, PRI, UNKNOWN, UNKNOWN,
        false, false, false, "no engine in service", "project"),
    COMPUTED(TL_RULE_ENERGY_OVER, "energy-over", ALARM, FORCE, SHIP, PRI, PRI, UNKNOWN, ORDER,
        false, false, false, "energy over the engine's capacity", "kinetic energy; capacity of gear.yaml"),
    COMPUTED(TL_RULE_STROKE_PREDICTED, "stroke-predicted", ALARM, FORCE, SHIP, NAMED | PRI, NAMED | PRI, UNKNOWN, ORDER,
        false, false, false, "ram would travel too far", "arrestment equations"),
    COMPUTED(TL_RULE_TRAVEL_DISAGREES, "travel-disagrees", ALARM, FORCE, SHIP, NAMED | TL_ACTS_GEAR_OFFICER, NAMED | TL_ACTS_GEAR_OFFICER | PRI, UNKNOWN, ARREST,
        false, false, false, "ram travel is not as computed", "arrestment equations"),
    COMPUTED(TL_RULE_HOOK_LOAD, "hook-load", WARNING, HOLD, SHIP, NAMED | PRI, NAMED | PRI, UNKNOWN, ORDER,
        false, false, false, "hook load over its limit", "arrestment equations"),
    COMPUTED(TL_RULE_ENERGY_THIN, "energy-thin", WARNING, HOLD, SHIP, PRI, PRI, UNKNOWN, ORDER,
        false, false, false, "energy margin thin", "project"),
    ROW(TL_RULE_RIG_UNKNOWN, "rig-unknown", WARNING, FORCE, SHIP, NAMED, NAMED | PRI, WIRES, RIG,
        false, false, false, "wire neither rigged nor stripped", "common practice, no source"),
    ROW(TL_RULE_SHEAVE_DOWN, "sheave-down", ALARM, FORCE, SHIP, NAMED, NAMED | PRI, WIRES, SHEAVE,
        true, false, false, "sheave not up, not bypassed", "NAVEDTRA 14001 p. 100"),
    ROW(TL_RULE_BYPASS_WITH_PENDANT, "bypass-with-pendant", ALARM, FORCE, SHIP, NAMED | TL_ACTS_GEAR_OFFICER, NAMED | TL_ACTS_GEAR_OFFICER | PRI, WIRES, SHEAVE,
        true, false, false, "bypassed with its pendant rigged", "NAVEDTRA 14001 p. 100"),
    ROW(TL_RULE_PENDANT_HEIGHT, "pendant-height", ALARM, FORCE, SHIP, NAMED, NAMED | PRI, WIRES, PENDANT,
        true, false, false, "pendant height out of bounds", "NAVEDTRA 14001 p. 104, fig. 3-30"),
    ROW(TL_RULE_PENDANT_WORN, "pendant-worn", ALARM, FORCE, SHIP, NAMED, NAMED | PRI, WIRES, PENDANT,
        true, false, false, "pendant or support not good", "NAVEDTRA 14001 p. 103-104"),
    ROW(TL_RULE_PENDANT_LIFE, "pendant-life", ALARM, FORCE, SHIP, TL_ACTS_GEAR_OFFICER, TL_ACTS_GEAR_OFFICER | PRI, GEAR_OFFICER, PENDANT_LIFE,
        false, false, false, "pendant at the end of its life", "press articles, as quoted; a figure of gear.yaml"),
    ROW(TL_RULE_INACTIVE_RIGGED, "inactive-rigged", ALARM, FORCE, SHIP, NAMED | TL_ACTS_GEAR_OFFICER, NAMED | TL_ACTS_GEAR_OFFICER | PRI, WIRES, RIG,
        true, false, false, "pendant of an engine out of use", "NAVEDTRA 14310 p. 133, 14001 p. 137"),
    ROW(TL_RULE_TOO_FEW_WIRES, "too-few-wires", WARNING, HOLD, SHIP, PRI | TL_ACTS_GEAR_OFFICER, PRI | TL_ACTS_GEAR_OFFICER, WIRES, RIG,
        false, true, false, "too few wires", "common practice, no source"),
    ROW(TL_RULE_WIRE_NOT_FREE, "wire-not-free", ALARM, FORCE, SHIP, NAMED, NAMED | PRI, WIRES, FREE,
        true, false, false, "wire not free", "NAVEDTRA 14014 p. 248"),
    ROW(TL_RULE_RETRACT_RUNNING, "retract-running", ALARM, FORCE, SHIP, NAMED, NAMED | PRI, WIRES, RETRACT,
        true, false, false, "retract running", "NAVEDTRA 14310 p. 131"),
    ROW(TL_RULE_ACCUMULATOR, "accumulator-pressure", ALARM, FORCE, SHIP, NAMED | PRI, NAMED | PRI, ENGINE, ACCUMULATOR,
        false, false, false, "accumulator pressure out of bounds", "common practice, from memory"),
    ROW(TL_RULE_CROSSHEAD_GAP, "crosshead-gap", ALARM, FORCE, SHIP, NAMED | PRI, NAMED | PRI, ENGINE, CROSSHEAD,
        false, false, false, "crosshead too near to its stop", "NAVEDTRA 14310 p. 117"),
    ROW(TL_RULE_DETORQUE_OVERDUE, "detorque-overdue", WARNING, HOLD, SHIP, NAMED, NAMED | PRI, GEAR_OFFICER, CABLE,
        false, true, false, "purchase cable past its detorque", "NAVEDTRA 14310 p. 117"),
    ROW(TL_RULE_STOP, "stop", ALARM, FORCE, SHIP, NAMED | PRI, NAMED | PRI, UNKNOWN, DECK,
        true, false, false, "STOP", "common practice, no source"),
    ROW(TL_RULE_LINE_CROSSED, "line-crossed", ALARM, FORCE, SHIP, NAMED, NAMED | PRI, UNKNOWN, DECK,
        false, false, false, "person or aircraft over the line", "foul line: NAVEDTRA 14014 p. 248"),
    ROW(TL_RULE_DECK_FOUL, "deck-foul", ALARM, FORCE, SHIP, NAMED, NAMED | PRI, UNKNOWN, DECK,
        false, false, false, "deck foul", "common practice, no source"),
    ROW(TL_RULE_TRACK_OPEN, "track-open", ALARM, FORCE, SHIP, NAMED, NAMED | PRI, TRACKS, TRACK,
        true, false, false, "track not secured", "common practice, no source"),
    ROW(TL_RULE_BARRICADE_NOT_STOWED, "barricade-not-stowed", ALARM, FORCE, SHIP, NAMED | TL_ACTS_GEAR_OFFICER, NAMED | TL_ACTS_GEAR_OFFICER | PRI, BARRICADE, BARRICADE,
        true, false, false, "barricade not stowed", "common practice, no source"),
    ROW(TL_RULE_BARRICADE_POWER, "barricade-power", WARNING, HOLD, SHIP, NAMED, NAMED | PRI, BARRICADE, BARRICADE_POWER,
        false, true, false, "barricade will not rise", "NAVEDTRA 14001 p. 116"),
    ROW(TL_RULE_BARRICADE_NOT_RIGGED, "barricade-not-rigged", ALARM, FORCE, SHIP, TL_ACTS_BARRICADE | TL_ACTS_WIRES, TL_ACTS_BARRICADE | TL_ACTS_WIRES | PRI, BARRICADE, BARRICADE,
        false, false, false, "barricade not rigged", "NAVEDTRA 14310 p. 133"),
    ROW(TL_RULE_BARRICADE_WIRES, "barricade-wires", ALARM, FORCE, SHIP, TL_ACTS_WIRES | TL_ACTS_GEAR_OFFICER, TL_ACTS_WIRES | TL_ACTS_GEAR_OFFICER | PRI, BARRICADE, RIG,
        false, false, false, "pendant in the barricade's way", "NAVEDTRA 14310 p. 133"),
    ROW(TL_RULE_WEBBING_USED, "webbing-used", ALARM, FORCE, SHIP, TL_ACTS_BARRICADE | TL_ACTS_GEAR_OFFICER, TL_ACTS_BARRICADE | TL_ACTS_GEAR_OFFICER | PRI, BARRICADE, BARRICADE,
        false, false, false, "barricade webbing used before", "NAVEDTRA 14310 p. 133"),
    ROW(TL_RULE_FOUL_WORD_MISSING, "foul-word-missing", WARNING, FORCE, SHIP, NAMED, NAMED | PRI, UNKNOWN, DECK,
        false, false, false, "has not said foul or no foul", "project"),
    ROW(TL_RULE_AID_FAULT, "aid-fault", ALARM, FORCE, SHIP, NAMED | TL_ACTS_PLATFORM, NAMED | TL_ACTS_PLATFORM | PRI, AID, AID,
        false, false, false, "landing aid at fault", "NAVAIR 00-80T-104, limits as quoted"),
    ROW(TL_RULE_AID_NOT_FOR_TYPE, "aid-not-for-type", ALARM, FORCE, SHIP, NAMED | TL_ACTS_PLATFORM, NAMED | TL_ACTS_PLATFORM | PRI, AID, AID,
        false, false, false, "aid set for another type", "hook-to-eye: NAVAIR 00-80T-104, as quoted"),
    ROW(TL_RULE_AID_NOT_ON_TARGET, "aid-not-on-target", WARNING, HOLD, SHIP, TL_ACTS_AID | TL_ACTS_PLATFORM, TL_ACTS_AID | TL_ACTS_PLATFORM | PRI, AID, AID,
        false, false, false, "aid not on the target wire", "3rd of 4, 2nd of 3: common practice, as quoted"),
    ROW(TL_RULE_AID_ANGLE, "aid-angle", WARNING, HOLD, SHIP, TL_ACTS_AID | TL_ACTS_PLATFORM, TL_ACTS_AID | TL_ACTS_PLATFORM | PRI, AID, AID,
        false, false, false, "basic angle not for this wind", "NAVAIR 00-80T-104 4.2.7, as quoted"),
    COMPUTED(TL_RULE_RAMP_CLEARANCE, "ramp-clearance", ALARM, FORCE, SHIP, TL_ACTS_PLATFORM, TL_ACTS_PLATFORM | PRI, UNKNOWN, ORDER,
        false, false, false, "hook too low over the ramp", "NAVAIR 00-80T-104, as quoted"),
    ROW(TL_RULE_HOOK_NOT_DOWN, "hook-not-down", ALARM, FORCE, SHIP, TL_ACTS_PLATFORM,
        TL_ACTS_PLATFORM | PRI, PLATFORM, HOOK,
        false, false, false, "hook not reported down", "common practice, from memory"),
    ROW(TL_RULE_WIND_UNKNOWN, "wind-unknown", WARNING, FORCE, SHIP, TL_ACTS_BRIDGE,
        TL_ACTS_BRIDGE | PRI, BRIDGE, UNKNOWN,
        false, false, false, "wind not known", "common practice, no source"),
    ROW(TL_RULE_WIND_LOW, "wind-low", ALARM, FORCE, SHIP, TL_ACTS_BRIDGE, TL_ACTS_BRIDGE | PRI, BRIDGE, UNKNOWN,
        false, false, false, "too little wind down the deck", "common practice, no source"),
    ROW(TL_RULE_DECK_MOTION, "deck-motion", ALARM, FORCE, SHIP, TL_ACTS_BRIDGE | TL_ACTS_PLATFORM, TL_ACTS_BRIDGE | TL_ACTS_PLATFORM | PRI, BRIDGE, UNKNOWN,
        false, false, false, "deck moves too much", "NAVAIR 00-80T-104, limits as quoted"),
    ROW(TL_RULE_CROSSWIND_OVER, "crosswind-over", WARNING, HOLD, SHIP, TL_ACTS_BRIDGE, TL_ACTS_BRIDGE | PRI, BRIDGE, UNKNOWN,
        false, false, false, "too much crosswind", "7 kn: from memory"),
    ROW(TL_RULE_SHIP_NOT_STEADY, "ship-not-steady", WARNING, HOLD, SHIP, TL_ACTS_BRIDGE, TL_ACTS_BRIDGE | PRI, BRIDGE, UNKNOWN,
        false, false, false, "ship not steady", "project"),
    ROW(TL_RULE_NOT_MANNED, "not-manned", WARNING, HOLD, SHIP, NAMED, NAMED | PRI, UNKNOWN, WATCH,
        false, false, false, "nobody has the watch here", "manned and ready: CV practice, as quoted"),
    ROW(TL_RULE_REFUSED_PUBLISHER, "refused-publisher", ALARM, NOTE, PICTURE, PRI, PRI, UNKNOWN, UNKNOWN,
        false, false, false, "publisher refused", "EN 50159, masquerade"),
    ROW(TL_RULE_OTHER_BODY, "other-body", ALARM, NOTE, PICTURE, PRI | NAMED, PRI, UNKNOWN, UNKNOWN,
        false, false, false, "one number, two messages", "EN 50159, corruption"),
    ROW(TL_RULE_VALIDATOR_LOST, "validator-lost", ALARM, NOTE, PICTURE, PRI, PRI, UNKNOWN, UNKNOWN,
        false, false, false, "validator lost", "project"),
    ROW(TL_RULE_PICTURE_LOST, "picture-lost", ALARM, NOTE, PICTURE, TL_ACTS_PLATFORM | PRI, TL_ACTS_PLATFORM | PRI, UNKNOWN, UNKNOWN,
        false, false, false, "picture lost: go by voice", "project"),
    ROW(TL_RULE_BUS_DEGRADED, "bus-degraded", CAUTION, NOTE, PICTURE, PRI, 0, UNKNOWN, UNKNOWN,
        false, false, false, "bus down or behind", "IEC 62439-3, life check"),
    ROW(TL_RULE_KEYS_DIFFER, "keys-differ", CAUTION, NOTE, PICTURE, PRI, 0, UNKNOWN, UNKNOWN,
        false, false, false, "validators hold other key files", "project"),
    ROW(TL_RULE_INBOUND_TROUBLE, "inbound-trouble", WARNING, NOTE, SHIP, PRI | TL_ACTS_PLATFORM, PRI | TL_ACTS_PLATFORM, APPROACH, INBOUND,
        false, false, false, "aircraft with trouble", "common practice, no source"),
    ROW(TL_RULE_WALK_BACK, "walk-back", WARNING, NOTE, SHIP, NAMED | TL_ACTS_GEAR_OFFICER, NAMED | TL_ACTS_GEAR_OFFICER, GEAR_OFFICER, ARREST,
        false, false, false, "ran back after the stop", "NAVEDTRA 14001 p. 135"),
    ROW(TL_RULE_PENDANT_LIFE_NEAR, "pendant-life-near", CAUTION, NOTE, SHIP, TL_ACTS_GEAR_OFFICER, 0, GEAR_OFFICER, PENDANT_LIFE,
        false, false, false, "pendant near the end of its life", "project"),
    COMPUTED(TL_RULE_TOUCHDOWN_OFF, "touchdown-off", WARNING, NOTE, SHIP, TL_ACTS_PLATFORM, TL_ACTS_PLATFORM, UNKNOWN, ORDER,
        false, false, false, "touchdown off the target", "project"),
    COMPUTED(TL_RULE_INTERVAL_SHORT, "interval-short", CAUTION, NOTE, SHIP, TL_ACTS_APPROACH, 0, UNKNOWN, ORDER,
        false, false, false, "next aircraft too soon", "project"),
    ROW(TL_RULE_DETORQUE_DUE, "detorque-due", CAUTION, NOTE, SHIP, NAMED, 0, GEAR_OFFICER, CABLE,
        false, false, false, "purchase cable due for detorque", "NAVEDTRA 14310 p. 117"),
    ROW(TL_RULE_VOICE_DIFFERS, "voice-differs", ALARM, NOTE, PICTURE, NAMED | PRI, NAMED | PRI, UNKNOWN, UNKNOWN,
        false, false, false, "said otherwise than by voice", "project"),
    ROW(TL_RULE_BY_VOICE, "by-voice", CAUTION, NOTE, PICTURE, PRI, 0, UNKNOWN, UNKNOWN,
        false, false, false, "known BY VOICE", "project"),
    ROW(TL_RULE_OVERRIDE_LIVE, "override-live", CAUTION, NOTE, PICTURE, PRI, 0, UNKNOWN, UNKNOWN,
        false, false, false, "OVERRIDE", "bypass is shown: NAVEDTRA 14001 p. 100"),
    ROW(TL_RULE_ONE_VALIDATOR, "one-validator", CAUTION, NOTE, PICTURE, PRI, 0, UNKNOWN, UNKNOWN,
        false, false, false, "ONE VALIDATOR: out of service", "project"),
    ROW(TL_RULE_RECORDER_LOST, "recorder-lost", WARNING, NOTE, PICTURE, PRI, PRI, UNKNOWN, UNKNOWN,
        false, false, false, "recorder lost: not recorded", "project"),
    ROW(TL_RULE_ALARM_FLOOD, "alarm-flood", CAUTION, NOTE, PICTURE, TL_ACTS_SAFETY, 0, UNKNOWN, UNKNOWN,
        false, false, false, "more alerts than can be read", "EEMUA 191: 10 in 10 minutes"),
    ROW(TL_RULE_SCREEN_NO_VALIDATOR, "no-validator", ALARM, FORCE, PICTURE, PRI | NAMED, 0, UNKNOWN, UNKNOWN,
        false, false, true, "validator not heard here", "project"),
    ROW(TL_RULE_SCREEN_HOLDING, "holding", ALARM, FORCE, PICTURE, PRI, 0, UNKNOWN, UNKNOWN,
        false, false, false, "verdict back, held 3 s", "project"),
    ROW(TL_RULE_SCREEN_OTHER_CONFIGURATION, "other-configuration", ALARM, FORCE, PICTURE, PRI, 0, UNKNOWN, UNKNOWN,
        false, false, false, "this screen has other configuration", "project"),
    ROW(TL_RULE_SCREEN_VALIDATORS_DIFFER, "verdicts-differ", ALARM, FORCE, PICTURE, PRI, 0, UNKNOWN, UNKNOWN,
        false, false, false, "validators speak of other events", "project"),
};
/* clang-format on */

enum {
    ROW_COUNT = sizeof ROWS / sizeof ROWS[0]
};

const struct tl_rule_row *
tl_rule_rows(size_t *count)
{
    *count = ROW_COUNT;
    return ROWS;
}

const struct tl_rule_row *
tl_rule_row(uint32_t rule)
{
    for (size_t i = 0; i < ROW_COUNT; i++) {
        if ((uint32_t)ROWS[i].rule == rule) {
            return &ROWS[i];
        }
    }
    return NULL;
}

void
tl_rule_index_fill(struct tl_rule_index *index)
{
    memset(index, 0, sizeof *index);
    for (size_t i = 0; i < ROW_COUNT; i++) {
        index->row[ROWS[i].rule] = &ROWS[i];
    }
}

const struct tl_rule_row *
tl_rule_row_in(const struct tl_rule_index *index, uint32_t rule)
{
    return rule < TL_RULES_MAX ? index->row[rule] : NULL;
}

enum tl_rule
tl_rule_by_name(const char *name)
{
    for (size_t i = 0; i < ROW_COUNT; i++) {
        if (strcmp(ROWS[i].name, name) == 0) {
            return ROWS[i].rule;
        }
    }
    return TL_RULE_NONE;
}

bool
tl_rule_is_of_event(const struct tl_rule_row *row)
{
    switch ((int)row->subject) {
    case TL_DATUM_UNKNOWN:
        return row->kind == TL_CAUSE_SHIP && row->from != TL_STATION_BRIDGE;
    case TL_DATUM_ORDER:
    case TL_DATUM_INBOUND:
        return true;
    default:
        return tl_datum_cadence(row->subject) == TL_CADENCE_EVENT ||
               tl_datum_cadence(row->subject) == TL_CADENCE_EVENT_CARRIED;
    }
}

bool
tl_rule_is_measured(const struct tl_rule_row *row)
{
    return row->from == TL_STATION_BRIDGE || row->rule == TL_RULE_ACCUMULATOR ||
           row->rule == TL_RULE_AID_ANGLE || row->rule == TL_RULE_BUS_DEGRADED ||
           row->rule == TL_RULE_WAVE_OFF_ADVISED;
}

const char *
tl_severity_name(enum tl_severity severity)
{
    switch (severity) {
    case TL_SEVERITY_EMERGENCY:
        return "emergency alarm";
    case TL_SEVERITY_ALARM:
        return "alarm";
    case TL_SEVERITY_WARNING:
        return "warning";
    case TL_SEVERITY_CAUTION:
        return "caution";
    case TL_SEVERITY_UNKNOWN:
        break;
    }
    return "unknown";
}

bool
tl_alert_same_instance(const struct tl_alert *a, const struct tl_alert *b)
{
    const struct tl_cause *x = &a->cause;
    const struct tl_cause *y = &b->cause;
    return x->rule == y->rule && x->subject.sequence == y->subject.sequence &&
           x->subject.incarnation == y->subject.incarnation && tl_event_equal(a->event, b->event) &&
           strncmp(x->station, y->station, TL_ID_CAP) == 0 &&
           strncmp(x->subject.node, y->subject.node, TL_ID_CAP) == 0;
}

uint64_t
tl_alert_instance(const struct tl_alert *alert)
{
    const struct tl_cause *cause = &alert->cause;
    uint64_t s = tl_mix_text(tl_mix(1, cause->rule), cause->station, TL_ID_CAP);
    s = tl_mix(tl_mix(s, alert->event.recovery_ms), alert->event.pass);
    s = tl_mix_text(s, cause->subject.node, TL_ID_CAP);
    s = tl_mix(tl_mix(s, cause->subject.incarnation), cause->subject.sequence);
    return s != 0 ? s : 1;
}

uint32_t
tl_acknowledged_slot(uint64_t instance)
{
    uint32_t slot = (uint32_t)(instance & 0x7FFFFFFFu);
    return slot != 0 ? slot : 1;
}

bool
tl_alert_is_listed(const struct tl_alert *set, uint32_t count, const struct tl_alert *alert)
{
    for (uint32_t i = 0; i < count; i++) {
        if (tl_alert_same_instance(&set[i], alert)) {
            return true;
        }
    }
    return false;
}
