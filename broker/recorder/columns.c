/* SPDX-License-Identifier: Apache-2.0 */
/* columns.c - see columns.h. */
#include "broker/recorder/columns.h"

#include <inttypes.h>
#include <stdio.h>

void
tl_columns_events(const struct tl_datum *datum, char text[TL_EVENTS_CAP])
{
    size_t used = 0;
    text[0] = '\0';
    for (uint32_t i = 0; i < datum->stated_for_count && i < TL_STATED_FOR_MAX; i++) {
        int len =
            snprintf(text + used, TL_EVENTS_CAP - used, "%s%" PRIu64 ":%" PRIu32, i > 0 ? "," : "",
                     datum->stated_for[i].recovery_ms, datum->stated_for[i].pass);
        used += len > 0 ? (size_t)len : 0;
    }
}

/* Of each word of the gear one number or one state; the whole word is in the text. */
static void
fill_wires(const struct tl_datum *datum, struct tl_columns *columns)
{
    switch ((int)datum->kind) {
    case TL_DATUM_RIG:
        columns->state = datum->as.rig;
        break;
    case TL_DATUM_SHEAVE:
        columns->state = datum->as.sheave.state;
        columns->number = datum->as.sheave.bypassed ? 1 : 0;
        break;
    case TL_DATUM_PENDANT:
        columns->state = datum->as.pendant.state;
        columns->number = datum->as.pendant.low_in_x100;
        break;
    case TL_DATUM_FREE:
        columns->state = datum->as.free.state;
        columns->wire = datum->as.free.wire;
        break;
    case TL_DATUM_RETRACT:
        columns->state = datum->as.retract.state;
        columns->wire = datum->as.retract.wire;
        break;
    case TL_DATUM_STANCHIONS:
        columns->state = datum->as.stanchions;
        break;
    case TL_DATUM_TRACK:
        columns->state = datum->as.track;
        break;
    case TL_DATUM_AID:
        columns->state = datum->as.aid.state;
        columns->type = datum->as.aid.type;
        break;
    default:
        break;
    }
}

static void
fill_gear(const struct tl_datum *datum, struct tl_columns *columns)
{
    switch ((int)datum->kind) {
    case TL_DATUM_ACCUMULATOR:
        columns->number = datum->as.accumulator_psi;
        break;
    case TL_DATUM_CROSSHEAD:
        columns->number = datum->as.crosshead_in_x100;
        break;
    case TL_DATUM_CABLE:
        columns->number = datum->as.cable.wear.traps;
        break;
    case TL_DATUM_BARRICADE:
        columns->state = datum->as.barricade.state;
        columns->number = datum->as.barricade.webbing_used ? 1 : 0;
        break;
    case TL_DATUM_BARRICADE_POWER:
        columns->number = datum->as.barricade_power.pressure_psi;
        break;
    case TL_DATUM_ACKNOWLEDGED:
        columns->number = (int64_t)(datum->as.instance & INT64_MAX);
        break;
    case TL_DATUM_OVERRIDE:
        columns->number = datum->as.override.rule;
        break;
    case TL_DATUM_SERVICE:
        columns->state = datum->as.service.state;
        columns->number = datum->as.service.job;
        break;
    case TL_DATUM_FLUID:
        columns->state = datum->as.fluid;
        break;
    case TL_DATUM_FAULT:
        columns->state = datum->as.fault.state;
        columns->number = datum->as.fault.code;
        break;
    case TL_DATUM_ARREST:
        columns->number = datum->as.arrest.ram_in_x10;
        break;
    case TL_DATUM_FREED:
        columns->number = datum->as.freed.event.pass;
        break;
    case TL_DATUM_SIGNED_OFF:
        columns->number = datum->as.signed_off.job;
        break;
    case TL_DATUM_INSPECTED:
        columns->state = datum->as.inspected.state;
        break;
    case TL_DATUM_PENDANT_LIFE:
        columns->number = datum->as.pendant_life.traps;
        break;
    default: /* the watch and a validator out of service are in the text */
        break;
    }
}

void
tl_columns_fill(const struct tl_datum *datum, struct tl_columns *columns)
{
    *columns = (struct tl_columns){-1, -1, -1, -1, -1, -1, -1, NULL};
    if (!datum->known) {
        return;
    }
    switch ((int)datum->kind) {
    case TL_DATUM_RECOVERY:
        columns->number = (int64_t)(datum->as.recovery.recovery_ms & INT64_MAX);
        columns->state = datum->as.recovery.state;
        break;
    case TL_DATUM_ORDER:
        columns->side = datum->as.order.side;
        columns->type = datum->as.order.type;
        columns->weight_lb = datum->as.order.weight_lb;
        columns->state = datum->as.order.state;
        break;
    case TL_DATUM_SET:
        columns->number = datum->as.set_lb;
        break;
    case TL_DATUM_REPEATER:
        columns->number = datum->as.repeater_lb;
        break;
    case TL_DATUM_BATTERY:
        columns->state = datum->as.battery;
        break;
    case TL_DATUM_DECK:
        columns->number = datum->as.deck.reason;
        columns->state = datum->as.deck.state;
        break;
    case TL_DATUM_CALL:
        columns->side = datum->as.call.side;
        columns->type = datum->as.call.type;
        columns->fuel_lb = datum->as.call.fuel_lb;
        break;
    case TL_DATUM_HOOK:
        columns->state = datum->as.hook;
        break;
    case TL_DATUM_RESULT:
        columns->outcome = datum->as.result.outcome;
        columns->wire = datum->as.result.wire;
        break;
    case TL_DATUM_INBOUND:
        columns->side = datum->as.inbound.side;
        columns->type = datum->as.inbound.type;
        columns->weight_lb = datum->as.inbound.weight_lb;
        columns->fuel_lb = datum->as.inbound.fuel_lb;
        break;
    default:
        fill_wires(datum, columns);
        fill_gear(datum, columns);
        break;
    }
}
