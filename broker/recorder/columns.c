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

void
tl_columns_fill(const struct tl_datum *datum, struct tl_columns *columns)
{
    *columns = (struct tl_columns){-1, -1, -1, -1, -1, -1, -1, NULL};
    if (!datum->known) {
        return;
    }
    switch (datum->kind) {
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
    case TL_DATUM_UNKNOWN:
    case TL_DATUM_KINDS:
        break;
    }
}
