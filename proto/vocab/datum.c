/* SPDX-License-Identifier: Apache-2.0 */
/* datum.c - see datum.h. */
#include "proto/vocab/datum.h"

#include <string.h>

bool
tl_event_equal(struct tl_event a, struct tl_event b)
{
    return a.recovery_ms == b.recovery_ms && a.pass == b.pass;
}

bool
tl_event_is(struct tl_event event)
{
    return event.pass != 0;
}

const char *
tl_datum_kind_name(enum tl_datum_kind kind)
{
    static const char *const NAMES[TL_DATUM_KINDS] = {
        [TL_DATUM_UNKNOWN] = "nothing",
        [TL_DATUM_RECOVERY] = "recovery",
        [TL_DATUM_ORDER] = "order",
        [TL_DATUM_SET] = "set",
        [TL_DATUM_REPEATER] = "repeater",
        [TL_DATUM_BATTERY] = "battery",
        [TL_DATUM_DECK] = "deck",
        [TL_DATUM_CALL] = "call",
        [TL_DATUM_HOOK] = "hook",
        [TL_DATUM_RESULT] = "result",
        [TL_DATUM_INBOUND] = "inbound",
        [TL_DATUM_RIG] = "rig",
        [TL_DATUM_SHEAVE] = "sheave",
        [TL_DATUM_PENDANT] = "pendant",
        [TL_DATUM_FREE] = "free",
        [TL_DATUM_RETRACT] = "retract",
        [TL_DATUM_STANCHIONS] = "stanchions",
        [TL_DATUM_TRACK] = "track",
        [TL_DATUM_AID] = "aid",
        [TL_DATUM_ACCUMULATOR] = "accumulator",
        [TL_DATUM_CROSSHEAD] = "crosshead",
        [TL_DATUM_CABLE] = "cable",
        [TL_DATUM_BARRICADE] = "barricade",
        [TL_DATUM_BARRICADE_POWER] = "power",
        [TL_DATUM_WATCH] = "watch",
        [TL_DATUM_ACKNOWLEDGED] = "acknowledged",
        [TL_DATUM_OVERRIDE] = "override",
        [TL_DATUM_OUT_OF_SERVICE] = "out-of-service",
        [TL_DATUM_SERVICE] = "service",
        [TL_DATUM_FLUID] = "fluid",
        [TL_DATUM_FAULT] = "fault",
        [TL_DATUM_ARREST] = "arrest",
        [TL_DATUM_FREED] = "freed",
        [TL_DATUM_SIGNED_OFF] = "signed-off",
        [TL_DATUM_INSPECTED] = "inspected",
        [TL_DATUM_PENDANT_LIFE] = "pendant-life",
    };
    return (unsigned)kind < TL_DATUM_KINDS ? NAMES[kind] : NAMES[TL_DATUM_UNKNOWN];
}

enum tl_datum_kind
tl_datum_kind_by_name(const char *name)
{
    for (int kind = TL_DATUM_RECOVERY; kind < TL_DATUM_KINDS; kind++) {
        if (strcmp(tl_datum_kind_name((enum tl_datum_kind)kind), name) == 0) {
            return (enum tl_datum_kind)kind;
        }
    }
    return TL_DATUM_UNKNOWN;
}

bool
tl_datum_is_of_gear(enum tl_datum_kind kind)
{
    return (kind >= TL_DATUM_RIG && kind <= TL_DATUM_BARRICADE_POWER) ||
           (kind >= TL_DATUM_SERVICE && kind <= TL_DATUM_PENDANT_LIFE);
}

bool
tl_datum_same_name(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->kind == b->kind && a->slot == b->slot &&
           strncmp(a->voice_for, b->voice_for, TL_ID_CAP) == 0;
}

static bool
same_type(const char *a, const char *b)
{
    return strncmp(a, b, TL_TYPE_CAP) == 0;
}

static bool
same_recovery(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.recovery.recovery_ms == b->as.recovery.recovery_ms &&
           a->as.recovery.state == b->as.recovery.state &&
           a->as.recovery.drill == b->as.recovery.drill;
}

static bool
same_order(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.order.side == b->as.order.side && same_type(a->as.order.type, b->as.order.type) &&
           a->as.order.weight_lb == b->as.order.weight_lb &&
           a->as.order.place == b->as.order.place && a->as.order.state == b->as.order.state &&
           a->as.order.barricade == b->as.order.barricade;
}

static bool
same_set(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.set_lb == b->as.set_lb;
}

static bool
same_repeater(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.repeater_lb == b->as.repeater_lb;
}

static bool
same_battery(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.battery == b->as.battery;
}

static bool
same_deck(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.deck.state == b->as.deck.state && a->as.deck.reason == b->as.deck.reason &&
           a->as.deck.expect_s == b->as.deck.expect_s &&
           a->as.deck.was_clear == b->as.deck.was_clear;
}

static bool
same_call(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.call.side == b->as.call.side && same_type(a->as.call.type, b->as.call.type) &&
           a->as.call.fuel_lb == b->as.call.fuel_lb;
}

static bool
same_hook(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.hook == b->as.hook;
}

static bool
same_result(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.result.outcome == b->as.result.outcome && a->as.result.wire == b->as.result.wire;
}

static bool
same_inbound(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.inbound.side == b->as.inbound.side &&
           same_type(a->as.inbound.type, b->as.inbound.type) &&
           a->as.inbound.weight_lb == b->as.inbound.weight_lb &&
           a->as.inbound.fuel_lb == b->as.inbound.fuel_lb &&
           a->as.inbound.fuel_low == b->as.inbound.fuel_low &&
           a->as.inbound.trouble == b->as.inbound.trouble &&
           a->as.inbound.diverted == b->as.inbound.diverted;
}

static bool
same_rig(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.rig == b->as.rig;
}

static bool
same_sheave(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.sheave.state == b->as.sheave.state &&
           a->as.sheave.bypassed == b->as.sheave.bypassed;
}

static bool
same_pendant(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.pendant.state == b->as.pendant.state &&
           a->as.pendant.low_in_x100 == b->as.pendant.low_in_x100 &&
           a->as.pendant.high_in_x100 == b->as.pendant.high_in_x100;
}

static bool
same_free(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.free.state == b->as.free.state && a->as.free.wire == b->as.free.wire;
}

static bool
same_retract(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.retract.state == b->as.retract.state && a->as.retract.wire == b->as.retract.wire;
}

static bool
same_stanchions(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.stanchions == b->as.stanchions;
}

static bool
same_track(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.track == b->as.track;
}

static bool
same_aid(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.aid.state == b->as.aid.state && same_type(a->as.aid.type, b->as.aid.type) &&
           a->as.aid.angle_deg_x100 == b->as.aid.angle_deg_x100 &&
           a->as.aid.target_wire == b->as.aid.target_wire;
}

static bool
same_accumulator(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.accumulator_psi == b->as.accumulator_psi;
}

static bool
same_crosshead(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.crosshead_in_x100 == b->as.crosshead_in_x100;
}

static bool
same_wear(const struct tl_wear *a, const struct tl_wear *b)
{
    return a->traps == b->traps && strncmp(a->serial, b->serial, TL_SERIAL_CAP) == 0 &&
           tl_event_equal(a->counted.last, b->counted.last) &&
           a->counted.without == b->counted.without && a->moved == b->moved;
}

static bool
same_cable(const struct tl_datum *a, const struct tl_datum *b)
{
    return same_wear(&a->as.cable.wear, &b->as.cable.wear) &&
           a->as.cable.detorqued_at == b->as.cable.detorqued_at;
}

static bool
same_barricade(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.barricade.state == b->as.barricade.state &&
           a->as.barricade.webbing_used == b->as.barricade.webbing_used;
}

static bool
same_barricade_power(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.barricade_power.pressure_psi == b->as.barricade_power.pressure_psi &&
           a->as.barricade_power.cycles == b->as.barricade_power.cycles;
}

static bool
same_watch(const struct tl_datum *a, const struct tl_datum *b)
{
    return strncmp(a->as.watch, b->as.watch, TL_NAME_CAP) == 0;
}

static bool
same_acknowledged(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.instance == b->as.instance;
}

static bool
same_override(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.override.rule == b->as.override.rule &&
           strncmp(a->as.override.station, b->as.override.station, TL_ID_CAP) == 0 &&
           strncmp(a->as.override.reason, b->as.override.reason, TL_REASON_CAP) == 0 &&
           a->as.override.valid_s == b->as.override.valid_s;
}

static bool
same_out_of_service(const struct tl_datum *a, const struct tl_datum *b)
{
    return strncmp(a->as.out_of_service, b->as.out_of_service, TL_ID_CAP) == 0;
}

static bool
same_service(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.service.state == b->as.service.state && a->as.service.job == b->as.service.job;
}

static bool
same_fluid(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.fluid == b->as.fluid;
}

static bool
same_fault(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.fault.state == b->as.fault.state && a->as.fault.code == b->as.fault.code;
}

static bool
same_arrest(const struct tl_datum *a, const struct tl_datum *b)
{
    const struct tl_arrest *x = &a->as.arrest;
    const struct tl_arrest *y = &b->as.arrest;
    return tl_event_equal(x->event, y->event) && x->ram_in_x10 == y->ram_in_x10 &&
           x->off_centre_ft_x10 == y->off_centre_ft_x10 && x->apart_in_x10 == y->apart_in_x10 &&
           x->walk_back_ft_x10 == y->walk_back_ft_x10;
}

static bool
same_freed(const struct tl_datum *a, const struct tl_datum *b)
{
    return tl_event_equal(a->as.freed.event, b->as.freed.event) &&
           strncmp(a->as.freed.name, b->as.freed.name, TL_NAME_CAP) == 0;
}

static bool
same_signed_off(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.signed_off.job == b->as.signed_off.job &&
           strncmp(a->as.signed_off.name, b->as.signed_off.name, TL_NAME_CAP) == 0;
}

static bool
same_inspected(const struct tl_datum *a, const struct tl_datum *b)
{
    return a->as.inspected.state == b->as.inspected.state &&
           strncmp(a->as.inspected.name, b->as.inspected.name, TL_NAME_CAP) == 0;
}

static bool
same_pendant_life(const struct tl_datum *a, const struct tl_datum *b)
{
    return same_wear(&a->as.pendant_life, &b->as.pendant_life);
}

typedef bool same_fn(const struct tl_datum *a, const struct tl_datum *b);

static bool
same_value(const struct tl_datum *a, const struct tl_datum *b)
{
    static same_fn *const SAME[TL_DATUM_KINDS] = {
        [TL_DATUM_RECOVERY] = same_recovery,
        [TL_DATUM_ORDER] = same_order,
        [TL_DATUM_SET] = same_set,
        [TL_DATUM_REPEATER] = same_repeater,
        [TL_DATUM_BATTERY] = same_battery,
        [TL_DATUM_DECK] = same_deck,
        [TL_DATUM_CALL] = same_call,
        [TL_DATUM_HOOK] = same_hook,
        [TL_DATUM_RESULT] = same_result,
        [TL_DATUM_INBOUND] = same_inbound,
        [TL_DATUM_RIG] = same_rig,
        [TL_DATUM_SHEAVE] = same_sheave,
        [TL_DATUM_PENDANT] = same_pendant,
        [TL_DATUM_FREE] = same_free,
        [TL_DATUM_RETRACT] = same_retract,
        [TL_DATUM_STANCHIONS] = same_stanchions,
        [TL_DATUM_TRACK] = same_track,
        [TL_DATUM_AID] = same_aid,
        [TL_DATUM_ACCUMULATOR] = same_accumulator,
        [TL_DATUM_CROSSHEAD] = same_crosshead,
        [TL_DATUM_CABLE] = same_cable,
        [TL_DATUM_BARRICADE] = same_barricade,
        [TL_DATUM_BARRICADE_POWER] = same_barricade_power,
        [TL_DATUM_WATCH] = same_watch,
        [TL_DATUM_ACKNOWLEDGED] = same_acknowledged,
        [TL_DATUM_OVERRIDE] = same_override,
        [TL_DATUM_OUT_OF_SERVICE] = same_out_of_service,
        [TL_DATUM_SERVICE] = same_service,
        [TL_DATUM_FLUID] = same_fluid,
        [TL_DATUM_FAULT] = same_fault,
        [TL_DATUM_ARREST] = same_arrest,
        [TL_DATUM_FREED] = same_freed,
        [TL_DATUM_SIGNED_OFF] = same_signed_off,
        [TL_DATUM_INSPECTED] = same_inspected,
        [TL_DATUM_PENDANT_LIFE] = same_pendant_life,
    };
    same_fn *same = (unsigned)a->kind < TL_DATUM_KINDS ? SAME[a->kind] : NULL;
    return same != NULL && same(a, b);
}

bool
tl_datum_equal(const struct tl_datum *a, const struct tl_datum *b)
{
    if (!tl_datum_same_name(a, b) || a->known != b->known ||
        a->stated_for_count != b->stated_for_count) {
        return false;
    }
    for (uint32_t i = 0; i < a->stated_for_count; i++) {
        if (!tl_event_equal(a->stated_for[i], b->stated_for[i])) {
            return false;
        }
    }
    return !a->known || same_value(a, b);
}

bool
tl_datum_same_value(const struct tl_datum *a, const struct tl_datum *b)
{
    return tl_datum_same_name(a, b) && a->known && b->known && same_value(a, b);
}

bool
tl_datum_is_for(const struct tl_datum *datum, struct tl_event event)
{
    for (uint32_t i = 0; i < datum->stated_for_count; i++) {
        if (tl_event_equal(datum->stated_for[i], event)) {
            return true;
        }
    }
    return false;
}

void
tl_datum_make_unknown(struct tl_datum *datum, uint64_t sequence)
{
    struct tl_datum unknown = {.kind = datum->kind, .slot = datum->slot, .sequence = sequence};
    memcpy(unknown.voice_for, datum->voice_for, TL_ID_CAP);
    *datum = unknown;
}

bool
tl_datum_is_voice(const struct tl_datum *datum)
{
    return datum->voice_for[0] != '\0';
}

const struct tl_datum *
tl_data_same_name(const struct tl_datum *data, size_t count, const struct tl_datum *name)
{
    for (size_t i = 0; i < count; i++) {
        if (tl_datum_same_name(&data[i], name)) {
            return &data[i];
        }
    }
    return NULL;
}

const struct tl_datum *
tl_data_find_const(const struct tl_datum *data, size_t count, enum tl_datum_kind kind,
                   uint32_t slot)
{
    for (size_t i = 0; i < count; i++) {
        if (data[i].kind == kind && data[i].slot == slot && !tl_datum_is_voice(&data[i])) {
            return &data[i];
        }
    }
    return NULL;
}

struct tl_datum *
tl_data_find(struct tl_datum *data, size_t count, enum tl_datum_kind kind, uint32_t slot)
{
    for (size_t i = 0; i < count; i++) {
        if (data[i].kind == kind && data[i].slot == slot && !tl_datum_is_voice(&data[i])) {
            return &data[i];
        }
    }
    return NULL;
}
