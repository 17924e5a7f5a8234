/* SPDX-License-Identifier: Apache-2.0 */
/* cadence.c - how often a word is said, and which way it points. See datum.h. */
#include "proto/vocab/datum.h"

enum tl_cadence
tl_datum_cadence(enum tl_datum_kind kind)
{
    switch (kind) {
    case TL_DATUM_BATTERY:
    case TL_DATUM_CALL:
    case TL_DATUM_HOOK:
    case TL_DATUM_FREE:
    case TL_DATUM_RETRACT:
    case TL_DATUM_TRACK:
        return TL_CADENCE_EVENT;
    case TL_DATUM_SET:
    case TL_DATUM_REPEATER:
    case TL_DATUM_AID:
        return TL_CADENCE_EVENT_CARRIED;
    case TL_DATUM_DECK: /* CLEAR only, see tl_datum_is_event_word */
        return TL_CADENCE_EVENT;
    case TL_DATUM_RECOVERY:
    case TL_DATUM_ORDER:
    case TL_DATUM_RESULT:
    case TL_DATUM_INBOUND:
    case TL_DATUM_RIG:
    case TL_DATUM_SHEAVE:
    case TL_DATUM_PENDANT:
    case TL_DATUM_STANCHIONS:
    case TL_DATUM_ACCUMULATOR:
    case TL_DATUM_CROSSHEAD:
    case TL_DATUM_CABLE:
    case TL_DATUM_BARRICADE:
    case TL_DATUM_BARRICADE_POWER:
    case TL_DATUM_WATCH:
    case TL_DATUM_ACKNOWLEDGED:
    case TL_DATUM_OVERRIDE:
    case TL_DATUM_OUT_OF_SERVICE:
    case TL_DATUM_SERVICE:
    case TL_DATUM_FLUID:
    case TL_DATUM_FAULT:
    case TL_DATUM_ARREST:
    case TL_DATUM_FREED:
    case TL_DATUM_SIGNED_OFF:
    case TL_DATUM_INSPECTED:
    case TL_DATUM_PENDANT_LIFE:
        return TL_CADENCE_UNTIL_CHANGED;
    case TL_DATUM_UNKNOWN:
    case TL_DATUM_KINDS:
        break;
    }
    return TL_CADENCE_UNKNOWN;
}

/* Of the gear and the aid, for the kinds that have a way toward safe. */
static bool
is_gear_safeward(const struct tl_datum *datum)
{
    switch ((int)datum->kind) {
    case TL_DATUM_SHEAVE:
        return datum->as.sheave.state != TL_SHEAVE_UP && !datum->as.sheave.bypassed;
    case TL_DATUM_PENDANT:
        return datum->as.pendant.state != TL_PENDANT_GOOD;
    case TL_DATUM_FREE:
        return datum->as.free.state != TL_FREE_FREE;
    case TL_DATUM_RETRACT:
        return datum->as.retract.state != TL_RETRACT_RETRACTED;
    case TL_DATUM_STANCHIONS:
        return datum->as.stanchions != TL_STANCHION_LOWERED &&
               datum->as.stanchions != TL_STANCHION_RAISED; /* which a barricade pass needs */
    case TL_DATUM_TRACK:
        return datum->as.track != TL_TRACK_SECURED;
    case TL_DATUM_AID:
        return datum->as.aid.state != TL_AID_WORKING;
    case TL_DATUM_BARRICADE:
        return datum->as.barricade.state == TL_BARRICADE_PARTIAL ||
               datum->as.barricade.state == TL_BARRICADE_UNKNOWN;
    case TL_DATUM_FLUID:
        return datum->as.fluid != TL_FLUID_BATTERY;
    case TL_DATUM_FAULT:
        return datum->as.fault.state != TL_FAULT_STATE_NONE;
    case TL_DATUM_INSPECTED:
        return datum->as.inspected.state != TL_INSPECTION_GOOD;
    default:
        return true;
    }
}

bool
tl_datum_is_safeward(const struct tl_datum *datum)
{
    if (!datum->known) {
        return true;
    }
    switch (datum->kind) {
    case TL_DATUM_RECOVERY:
        return datum->as.recovery.state != TL_RECOVERY_OPEN;
    case TL_DATUM_ORDER:
        return datum->as.order.state != TL_ORDER_ORDERED;
    case TL_DATUM_BATTERY:
        return datum->as.battery != TL_BATTERY_IN;
    case TL_DATUM_DECK:
        return datum->as.deck.state != TL_DECK_CLEAR && datum->as.deck.state != TL_DECK_NO_FOUL;
    case TL_DATUM_HOOK:
        return datum->as.hook != TL_HOOK_DOWN;
    case TL_DATUM_INBOUND:
        return datum->as.inbound.diverted;
    case TL_DATUM_SHEAVE:
    case TL_DATUM_PENDANT:
    case TL_DATUM_FREE:
    case TL_DATUM_RETRACT:
    case TL_DATUM_STANCHIONS:
    case TL_DATUM_TRACK:
    case TL_DATUM_AID:
    case TL_DATUM_BARRICADE:
    case TL_DATUM_FLUID:
    case TL_DATUM_FAULT:
    case TL_DATUM_INSPECTED:
        return is_gear_safeward(datum);
    case TL_DATUM_RESULT:
    case TL_DATUM_WATCH:
    case TL_DATUM_ACKNOWLEDGED:
        return true;
    case TL_DATUM_SET:
    case TL_DATUM_REPEATER:
    case TL_DATUM_CALL:
    case TL_DATUM_RIG: /* both ways: a stripped wire is what a bypass needs */
    case TL_DATUM_ACCUMULATOR:
    case TL_DATUM_CROSSHEAD:
    case TL_DATUM_CABLE:
    case TL_DATUM_BARRICADE_POWER:
    case TL_DATUM_OVERRIDE:
    case TL_DATUM_OUT_OF_SERVICE:
    case TL_DATUM_SERVICE: /* both ways: out of service takes its demands away */
    case TL_DATUM_ARREST:
    case TL_DATUM_FREED:
    case TL_DATUM_SIGNED_OFF:
    case TL_DATUM_PENDANT_LIFE:
        return false;
    case TL_DATUM_UNKNOWN:
    case TL_DATUM_KINDS:
        break;
    }
    return true;
}

bool
tl_datum_is_event_word(const struct tl_datum *datum)
{
    return datum->known && tl_datum_cadence(datum->kind) == TL_CADENCE_EVENT &&
           !tl_datum_is_safeward(datum) &&
           !(datum->kind == TL_DATUM_DECK && datum->as.deck.state == TL_DECK_NO_FOUL);
}

bool
tl_datum_needs_confirm(const struct tl_datum *datum)
{
    return !tl_datum_is_safeward(datum);
}
