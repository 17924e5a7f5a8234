/* SPDX-License-Identifier: Apache-2.0 */
/* map_datum.c - events, values and data. See map.h. */
#include <string.h>

#include "proto/codec/map.h"
#include "proto/codec/map_gear.h"

wire_event *
tl_map_event_out(struct tl_writer *writer, struct tl_event event)
{
    wire_event *wire = tl_writer_message(writer, &trapline__v1__event__descriptor);
    wire->recovery_ms = event.recovery_ms;
    wire->pass = event.pass;
    return wire;
}

struct tl_event
tl_map_event_in(const wire_event *wire)
{
    struct tl_event event = {0};

    if (wire != NULL) {
        event.recovery_ms = wire->recovery_ms;
        event.pass = wire->pass;
    }
    return event;
}

static wire_recovery *
write_recovery(struct tl_writer *writer, const struct tl_recovery *recovery)
{
    wire_recovery *wire = tl_writer_message(writer, &trapline__v1__recovery__descriptor);
    wire->recovery_ms = recovery->recovery_ms;
    wire->state = tl_writer_enum(writer, TL_ENUM_RECOVERY_STATE, recovery->state);
    wire->drill = recovery->drill;
    return wire;
}

wire_order *
tl_map_order_out(struct tl_writer *writer, const struct tl_order *order)
{
    wire_order *wire = tl_writer_message(writer, &trapline__v1__order__descriptor);
    wire->side = order->side;
    wire->type = tl_writer_text(writer, order->type, sizeof order->type);
    wire->weight_lb = order->weight_lb;
    wire->place = order->place;
    wire->state = tl_writer_enum(writer, TL_ENUM_ORDER_STATE, order->state);
    wire->barricade = order->barricade;
    return wire;
}

void
tl_map_order_in(const wire_order *wire, struct tl_order *order)
{
    memset(order, 0, sizeof *order);
    order->side = wire->side;
    tl_map_text_in(order->type, sizeof order->type, wire->type);
    order->weight_lb = wire->weight_lb;
    order->place = wire->place;
    order->state = tl_enum_from_wire(TL_ENUM_ORDER_STATE, wire->state);
    order->barricade = wire->barricade != 0;
}

static wire_weight_set *
write_set(struct tl_writer *writer, uint32_t weight_lb)
{
    wire_weight_set *wire = tl_writer_message(writer, &trapline__v1__weight_set__descriptor);
    wire->weight_lb = weight_lb;
    return wire;
}

static wire_repeater *
write_repeater(struct tl_writer *writer, uint32_t weight_lb)
{
    wire_repeater *wire = tl_writer_message(writer, &trapline__v1__repeater__descriptor);
    wire->weight_lb = weight_lb;
    return wire;
}

static wire_battery *
write_battery(struct tl_writer *writer, enum tl_battery_state state)
{
    wire_battery *wire = tl_writer_message(writer, &trapline__v1__battery__descriptor);
    wire->state = tl_writer_enum(writer, TL_ENUM_BATTERY_STATE, state);
    return wire;
}

static wire_deck *
write_deck(struct tl_writer *writer, const struct tl_deck *deck)
{
    wire_deck *wire = tl_writer_message(writer, &trapline__v1__deck__descriptor);
    wire->state = tl_writer_enum(writer, TL_ENUM_DECK_STATE, deck->state);
    wire->reason = tl_writer_enum(writer, TL_ENUM_FOUL_REASON, deck->reason);
    wire->expect_s = deck->expect_s;
    wire->was_clear = deck->was_clear;
    return wire;
}

static wire_call *
write_call(struct tl_writer *writer, const struct tl_call *call)
{
    wire_call *wire = tl_writer_message(writer, &trapline__v1__call__descriptor);
    wire->side = call->side;
    wire->type = tl_writer_text(writer, call->type, sizeof call->type);
    wire->fuel_lb = call->fuel_lb;
    return wire;
}

static wire_hook *
write_hook(struct tl_writer *writer, enum tl_hook_state state)
{
    wire_hook *wire = tl_writer_message(writer, &trapline__v1__hook__descriptor);
    wire->state = tl_writer_enum(writer, TL_ENUM_HOOK_STATE, state);
    return wire;
}

wire_result *
tl_map_result_out(struct tl_writer *writer, const struct tl_result *result)
{
    wire_result *wire = tl_writer_message(writer, &trapline__v1__pass_result__descriptor);
    wire->outcome = tl_writer_enum(writer, TL_ENUM_PASS_OUTCOME, result->outcome);
    wire->wire = result->wire;
    return wire;
}

void
tl_map_result_in(const wire_result *wire, struct tl_result *result)
{
    memset(result, 0, sizeof *result);
    result->outcome = tl_enum_from_wire(TL_ENUM_PASS_OUTCOME, wire->outcome);
    result->wire = wire->wire;
}

static wire_inbound *
write_inbound(struct tl_writer *writer, const struct tl_inbound *inbound)
{
    wire_inbound *wire = tl_writer_message(writer, &trapline__v1__inbound__descriptor);
    wire->side = inbound->side;
    wire->type = tl_writer_text(writer, inbound->type, sizeof inbound->type);
    wire->weight_lb = inbound->weight_lb;
    wire->fuel_lb = inbound->fuel_lb;
    wire->fuel_low = inbound->fuel_low;
    wire->trouble = tl_writer_enum(writer, TL_ENUM_INBOUND_TROUBLE, inbound->trouble);
    wire->diverted = inbound->diverted;
    return wire;
}

static void
write_unknown(struct tl_writer *writer, enum tl_datum_kind kind, wire_datum *wire)
{
    wire->value_case = TRAPLINE__V1__DATUM__VALUE_UNKNOWN;
    wire->unknown = tl_writer_message(writer, &trapline__v1__unknown__descriptor);
    wire->unknown->kind = tl_writer_enum(writer, TL_ENUM_DATUM_KIND, kind);
}

/* A kind that is none leaves the value absent, which the check refuses. */
static void
write_value(struct tl_writer *writer, const struct tl_datum *datum, wire_datum *wire)
{
    switch ((int)datum->kind) {
    case TL_DATUM_RECOVERY:
        wire->value_case = TRAPLINE__V1__DATUM__VALUE_RECOVERY;
        wire->recovery = write_recovery(writer, &datum->as.recovery);
        break;
    case TL_DATUM_ORDER:
        wire->value_case = TRAPLINE__V1__DATUM__VALUE_ORDER;
        wire->order = tl_map_order_out(writer, &datum->as.order);
        break;
    case TL_DATUM_SET:
        wire->value_case = TRAPLINE__V1__DATUM__VALUE_SET;
        wire->set = write_set(writer, datum->as.set_lb);
        break;
    case TL_DATUM_REPEATER:
        wire->value_case = TRAPLINE__V1__DATUM__VALUE_REPEATER;
        wire->repeater = write_repeater(writer, datum->as.repeater_lb);
        break;
    case TL_DATUM_BATTERY:
        wire->value_case = TRAPLINE__V1__DATUM__VALUE_BATTERY;
        wire->battery = write_battery(writer, datum->as.battery);
        break;
    case TL_DATUM_DECK:
        wire->value_case = TRAPLINE__V1__DATUM__VALUE_DECK;
        wire->deck = write_deck(writer, &datum->as.deck);
        break;
    case TL_DATUM_CALL:
        wire->value_case = TRAPLINE__V1__DATUM__VALUE_CALL;
        wire->call = write_call(writer, &datum->as.call);
        break;
    case TL_DATUM_HOOK:
        wire->value_case = TRAPLINE__V1__DATUM__VALUE_HOOK;
        wire->hook = write_hook(writer, datum->as.hook);
        break;
    case TL_DATUM_RESULT:
        wire->value_case = TRAPLINE__V1__DATUM__VALUE_RESULT;
        wire->result = tl_map_result_out(writer, &datum->as.result);
        break;
    case TL_DATUM_INBOUND:
        wire->value_case = TRAPLINE__V1__DATUM__VALUE_INBOUND;
        wire->inbound = write_inbound(writer, &datum->as.inbound);
        break;
    default:
        tl_map_gear_out(writer, datum, wire);
        break;
    }
}

wire_datum *
tl_map_datum_out(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_datum *wire = tl_writer_message(writer, &trapline__v1__datum__descriptor);

    wire->sequence = datum->sequence;
    wire->slot = datum->slot;
    wire->said_age_ms = datum->said_age_ms;
    wire->voice_for = tl_writer_text(writer, datum->voice_for, sizeof datum->voice_for);
    wire->sensor = datum->sensor;
    wire->stated_for =
        tl_writer_list(writer, datum->stated_for_count, &wire->n_stated_for, TL_STATED_FOR_MAX);
    for (size_t i = 0; i < wire->n_stated_for; i++) {
        wire->stated_for[i] = tl_map_event_out(writer, datum->stated_for[i]);
    }
    if (datum->known) {
        write_value(writer, datum, wire);
    } else {
        write_unknown(writer, datum->kind, wire);
    }
    return wire;
}

wire_datum **
tl_map_data_out(struct tl_writer *writer, const struct tl_datum *data, uint32_t count, size_t *n)
{
    wire_datum **wire = tl_writer_list(writer, count, n, TL_DATA_MAX);

    for (size_t i = 0; i < *n; i++) {
        wire[i] = tl_map_datum_out(writer, &data[i]);
    }
    return wire;
}

static void
read_deck(const wire_deck *wire, struct tl_deck *deck)
{
    deck->state = tl_enum_from_wire(TL_ENUM_DECK_STATE, wire->state);
    deck->reason = tl_enum_from_wire(TL_ENUM_FOUL_REASON, wire->reason);
    deck->expect_s = wire->expect_s;
    deck->was_clear = wire->was_clear != 0;
}

static void
read_recovery(const wire_recovery *wire, struct tl_recovery *recovery)
{
    recovery->recovery_ms = wire->recovery_ms;
    recovery->state = tl_enum_from_wire(TL_ENUM_RECOVERY_STATE, wire->state);
    recovery->drill = wire->drill != 0;
}

static void
read_call(const wire_call *wire, struct tl_call *call)
{
    call->side = wire->side;
    tl_map_text_in(call->type, sizeof call->type, wire->type);
    call->fuel_lb = wire->fuel_lb;
}

static void
read_inbound(const wire_inbound *wire, struct tl_inbound *inbound)
{
    inbound->side = wire->side;
    tl_map_text_in(inbound->type, sizeof inbound->type, wire->type);
    inbound->weight_lb = wire->weight_lb;
    inbound->fuel_lb = wire->fuel_lb;
    inbound->fuel_low = wire->fuel_low != 0;
    inbound->trouble = tl_enum_from_wire(TL_ENUM_INBOUND_TROUBLE, wire->trouble);
    inbound->diverted = wire->diverted != 0;
}

/* Returns the kind; the value is known unless the wire says UNKNOWN. */
static enum tl_datum_kind
read_value(const wire_datum *wire, struct tl_datum *datum)
{
    datum->known = true;
    switch ((int)wire->value_case) {
    case TRAPLINE__V1__DATUM__VALUE_RECOVERY:
        read_recovery(wire->recovery, &datum->as.recovery);
        return TL_DATUM_RECOVERY;
    case TRAPLINE__V1__DATUM__VALUE_ORDER:
        tl_map_order_in(wire->order, &datum->as.order);
        return TL_DATUM_ORDER;
    case TRAPLINE__V1__DATUM__VALUE_SET:
        datum->as.set_lb = wire->set->weight_lb;
        return TL_DATUM_SET;
    case TRAPLINE__V1__DATUM__VALUE_REPEATER:
        datum->as.repeater_lb = wire->repeater->weight_lb;
        return TL_DATUM_REPEATER;
    case TRAPLINE__V1__DATUM__VALUE_BATTERY:
        datum->as.battery = tl_enum_from_wire(TL_ENUM_BATTERY_STATE, wire->battery->state);
        return TL_DATUM_BATTERY;
    case TRAPLINE__V1__DATUM__VALUE_DECK:
        read_deck(wire->deck, &datum->as.deck);
        return TL_DATUM_DECK;
    case TRAPLINE__V1__DATUM__VALUE_CALL:
        read_call(wire->call, &datum->as.call);
        return TL_DATUM_CALL;
    case TRAPLINE__V1__DATUM__VALUE_HOOK:
        datum->as.hook = tl_enum_from_wire(TL_ENUM_HOOK_STATE, wire->hook->state);
        return TL_DATUM_HOOK;
    case TRAPLINE__V1__DATUM__VALUE_RESULT:
        tl_map_result_in(wire->result, &datum->as.result);
        return TL_DATUM_RESULT;
    case TRAPLINE__V1__DATUM__VALUE_INBOUND:
        read_inbound(wire->inbound, &datum->as.inbound);
        return TL_DATUM_INBOUND;
    case TRAPLINE__V1__DATUM__VALUE_UNKNOWN:
    case TRAPLINE__V1__DATUM__VALUE__NOT_SET:
        break;
    default:
        return tl_map_gear_in(wire, datum);
    }
    datum->known = false;
    return wire->value_case == TRAPLINE__V1__DATUM__VALUE_UNKNOWN
               ? tl_enum_from_wire(TL_ENUM_DATUM_KIND, wire->unknown->kind)
               : TL_DATUM_UNKNOWN;
}

void
tl_map_datum_in(const wire_datum *wire, struct tl_datum *datum)
{
    memset(datum, 0, sizeof *datum);
    datum->sequence = wire->sequence;
    datum->slot = wire->slot;
    datum->said_age_ms = wire->said_age_ms;
    tl_map_text_in(datum->voice_for, sizeof datum->voice_for, wire->voice_for);
    datum->sensor = wire->sensor != 0;
    datum->stated_for_count = tl_map_count_in(wire->n_stated_for, TL_STATED_FOR_MAX);
    for (uint32_t i = 0; i < datum->stated_for_count; i++) {
        datum->stated_for[i] = tl_map_event_in(wire->stated_for[i]);
    }
    datum->kind = read_value(wire, datum);
}

uint32_t
tl_map_data_in(wire_datum *const *wire, size_t n, struct tl_datum data[TL_DATA_MAX])
{
    uint32_t count = tl_map_count_in(n, TL_DATA_MAX);

    for (uint32_t i = 0; i < count; i++) {
        tl_map_datum_in(wire[i], &data[i]);
    }
    return count;
}
