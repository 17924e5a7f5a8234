/* SPDX-License-Identifier: Apache-2.0 */
/*
 * datum_words.c - what a datum is called when a person reads it. See rules.h.
 *
 * Values as the trade says them, with the unit; words.c has those of causes.
 */
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "proto/vocab/rules.h"

enum {
    POUNDS_CAP = 32,
    TENTHS = 10,
    HUNDREDTHS = 100
};

const char *
tl_foul_reason_text(enum tl_foul_reason reason)
{
    switch (reason) {
    case TL_FOUL_PERSON:
        return "person over the line";
    case TL_FOUL_AIRCRAFT:
        return "aircraft over the line";
    case TL_FOUL_EQUIPMENT:
        return "equipment in the landing area";
    case TL_FOUL_WIRE:
        return "wire";
    case TL_FOUL_OTHER:
        return "other";
    case TL_FOUL_UNKNOWN:
        break;
    }
    return "no reason given";
}

static const char *
deck_text(const struct tl_deck *deck, char *dst, size_t cap)
{
    switch (deck->state) {
    case TL_DECK_CLEAR:
        (void)snprintf(dst, cap, "deck clear");
        break;
    case TL_DECK_NO_FOUL:
        (void)snprintf(dst, cap, "no foul from here");
        break;
    case TL_DECK_FOUL:
        if (deck->expect_s > 0) {
            (void)snprintf(dst, cap, "foul: %s, about %" PRIu32 " s",
                           tl_foul_reason_text(deck->reason), deck->expect_s);
        } else {
            (void)snprintf(dst, cap, "foul: %s", tl_foul_reason_text(deck->reason));
        }
        break;
    case TL_DECK_STOP:
        (void)snprintf(dst, cap, "STOP");
        break;
    case TL_DECK_UNKNOWN:
        (void)snprintf(dst, cap, "deck unknown");
        break;
    }
    return dst;
}

static const char *
result_text(const struct tl_result *result, char *dst, size_t cap)
{
    switch (result->outcome) {
    case TL_OUTCOME_TRAP:
        (void)snprintf(dst, cap, "trap on wire %" PRIu32, result->wire);
        break;
    case TL_OUTCOME_BOLTER:
        (void)snprintf(dst, cap, "bolter");
        break;
    case TL_OUTCOME_WAVE_OFF:
        (void)snprintf(dst, cap, "wave-off");
        break;
    case TL_OUTCOME_UNKNOWN:
        (void)snprintf(dst, cap, "no result");
        break;
    }
    return dst;
}

const char *
tl_pendant_word(enum tl_pendant_state state)
{
    switch (state) {
    case TL_PENDANT_GOOD:
        return "good";
    case TL_PENDANT_WORN:
        return "worn or damaged";
    case TL_PENDANT_SUPPORT:
        return "support down";
    case TL_PENDANT_OFF_CENTRE:
        return "off centre";
    case TL_PENDANT_UNKNOWN:
        break;
    }
    return "unknown";
}

static const char *
stanchion_word(enum tl_stanchion_state state)
{
    switch (state) {
    case TL_STANCHION_LOWERED:
        return "lowered";
    case TL_STANCHION_RAISED:
        return "raised";
    case TL_STANCHION_MOVING:
        return "moving";
    case TL_STANCHION_UNKNOWN:
        break;
    }
    return "unknown";
}

const char *
tl_track_word(enum tl_track_state state)
{
    switch (state) {
    case TL_TRACK_SECURED:
        return "secured";
    case TL_TRACK_OPEN:
        return "slot open";
    case TL_TRACK_DEFLECTOR:
        return "deflector up";
    case TL_TRACK_SHUTTLE:
        return "shuttle in area";
    case TL_TRACK_CREW:
        return "crew not clear";
    case TL_TRACK_UNKNOWN:
        break;
    }
    return "unknown";
}

const char *
tl_barricade_word(enum tl_barricade_state state)
{
    switch (state) {
    case TL_BARRICADE_SECURE:
        return "stowed, secure";
    case TL_BARRICADE_READY:
        return "stowed, ready";
    case TL_BARRICADE_PARTIAL:
        return "half rigged";
    case TL_BARRICADE_RIGGED:
        return "rigged";
    case TL_BARRICADE_UNKNOWN:
        break;
    }
    return "unknown";
}

const char *
tl_trouble_word(enum tl_trouble state)
{
    switch (state) {
    case TL_TROUBLE_HOOK:
        return "hook trouble";
    case TL_TROUBLE_GEAR:
        return "gear trouble";
    case TL_TROUBLE_OTHER:
        return "trouble";
    case TL_TROUBLE_NONE:
        break;
    }
    return "no trouble";
}

/* 275 -> "2.75". Returns dst. */
static const char *
hundredths(uint32_t x100, char *dst, size_t cap)
{
    (void)snprintf(dst, cap, "%" PRIu32 ".%02" PRIu32, x100 / HUNDREDTHS, x100 % HUNDREDTHS);
    return dst;
}

static void
pendant_text(const struct tl_datum *d, char *dst, size_t cap)
{
    char low[16];
    char high[16];
    const struct tl_pendant *pendant = &d->as.pendant;
    int n = snprintf(dst, cap, "pendant %" PRIu32 " %s", d->slot, tl_pendant_word(pendant->state));
    if (pendant->low_in_x100 != 0 && pendant->high_in_x100 != 0 && n > 0 && (size_t)n < cap) {
        (void)snprintf(dst + n, cap - (size_t)n, ", %s to %s in",
                       hundredths(pendant->low_in_x100, low, sizeof low),
                       hundredths(pendant->high_in_x100, high, sizeof high));
    }
}

static void
sheave_text(const struct tl_datum *d, char *dst, size_t cap)
{
    (void)snprintf(dst, cap, "sheave %" PRIu32 " %s%s", d->slot,
                   d->as.sheave.state == TL_SHEAVE_UP ? "up" : "NOT up",
                   d->as.sheave.bypassed ? ", BYPASSED" : "");
}

static void
wire_word(const char *word, uint32_t wire, char *dst, size_t cap)
{
    if (wire != 0) {
        (void)snprintf(dst, cap, "%s: wire %" PRIu32, word, wire);
    } else {
        (void)snprintf(dst, cap, "%s", word);
    }
}

static void
aid_text(const struct tl_aid *aid, char *dst, size_t cap)
{
    char number[16];
    char angle[48] = "";
    char target[32] = "";
    if (aid->state != TL_AID_WORKING) {
        (void)snprintf(dst, cap, "aid FAULT");
        return;
    }
    if (aid->angle_deg_x100 != 0) {
        (void)snprintf(angle, sizeof angle, ", basic angle %s deg",
                       hundredths(aid->angle_deg_x100, number, sizeof number));
    }
    if (aid->target_wire != 0) {
        (void)snprintf(target, sizeof target, ", target wire %" PRIu32, aid->target_wire);
    }
    (void)snprintf(dst, cap, "aid set for %s%s%s", aid->type, angle, target);
}

static void
inbound_text(const struct tl_inbound *inbound, char *dst, size_t cap)
{
    char pounds[POUNDS_CAP];
    char fuel[POUNDS_CAP + 8] = "";
    if (inbound->fuel_lb != 0) {
        char text[POUNDS_CAP];
        (void)snprintf(fuel, sizeof fuel, ", fuel %s",
                       tl_pounds_text(inbound->fuel_lb, text, sizeof text));
    }
    (void)snprintf(dst, cap, "inbound %" PRIu32 " %s %s%s%s%s%s%s", inbound->side, inbound->type,
                   tl_pounds_text(inbound->weight_lb, pounds, sizeof pounds), fuel,
                   inbound->fuel_low ? ", LOW FUEL" : "",
                   inbound->trouble != TL_TROUBLE_NONE ? ", " : "",
                   inbound->trouble != TL_TROUBLE_NONE ? tl_trouble_word(inbound->trouble) : "",
                   inbound->diverted ? ", DIVERTED" : "");
}

static void
override_text(const struct tl_override *override, char *dst, size_t cap)
{
    const struct tl_rule_row *row = tl_rule_row(override->rule);
    (void)snprintf(dst, cap, "override %s%s%s for %" PRIu32 " min: %s",
                   row != NULL ? row->name : "?", override->station[0] != '\0' ? " at " : "",
                   override->station, (override->valid_s + 59) / 60, override->reason);
}

/* "pendant 2 (P-0412): 91 traps to pass 7" */
static void
wear_text(const char *what, uint32_t slot, const struct tl_wear *wear, char *dst, size_t cap)
{
    char serial[TL_SERIAL_CAP + 4] = "";
    char last[32] = "";
    if (wear->serial[0] != '\0') {
        (void)snprintf(serial, sizeof serial, " (%.15s)", wear->serial);
    }
    if (tl_event_is(wear->counted.last)) {
        (void)snprintf(last, sizeof last, " to pass %" PRIu32, wear->counted.last.pass);
    }
    (void)snprintf(dst, cap, "%s %" PRIu32 "%s: %" PRIu32 " traps%s", what, slot, serial,
                   wear->traps, last);
}

static void
cable_text(const struct tl_datum *d, char *dst, size_t cap)
{
    char wear[TL_TEXT_CAP];
    uint32_t at = d->as.cable.detorqued_at;
    wear_text("cable", d->slot, &d->as.cable.wear, wear, sizeof wear);
    if (at == 0) {
        (void)snprintf(dst, cap, "%.120s, never detorqued", wear);
    } else {
        (void)snprintf(dst, cap, "%.120s, detorqued at %" PRIu32, wear, at);
    }
}

static const char *
fluid_word(enum tl_fluid_state state)
{
    switch (state) {
    case TL_FLUID_BATTERY:
        return "at battery";
    case TL_FLUID_LOW:
        return "LOW";
    case TL_FLUID_HIGH:
        return "HIGH";
    case TL_FLUID_UNKNOWN:
        break;
    }
    return "unknown";
}

static void
service_text(const struct tl_service *service, char *dst, size_t cap)
{
    const char *word = service->state == TL_SERVICE_IN ? "in service" : "OUT OF SERVICE";
    if (service->job != 0) {
        (void)snprintf(dst, cap, "%s, job %" PRIu32, word, service->job);
    } else {
        (void)snprintf(dst, cap, "%s", word);
    }
}

static void
arrest_text(const struct tl_arrest *arrest, char *dst, size_t cap)
{
    (void)snprintf(dst, cap,
                   "pass %" PRIu32 ": ram %" PRIu32 ".%" PRIu32 " in, off centre %" PRIu32
                   ".%" PRIu32 " ft, sides apart %" PRIu32 ".%" PRIu32 " in, ran back %" PRIu32
                   ".%" PRIu32 " ft",
                   arrest->event.pass, arrest->ram_in_x10 / TENTHS, arrest->ram_in_x10 % TENTHS,
                   arrest->off_centre_ft_x10 / TENTHS, arrest->off_centre_ft_x10 % TENTHS,
                   arrest->apart_in_x10 / TENTHS, arrest->apart_in_x10 % TENTHS,
                   arrest->walk_back_ft_x10 / TENTHS, arrest->walk_back_ft_x10 % TENTHS);
}

/* What an engine room and the gear officer say of an engine. */
static void
engine_text(const struct tl_datum *d, char *dst, size_t cap)
{
    switch ((int)d->kind) {
    case TL_DATUM_SERVICE:
        service_text(&d->as.service, dst, cap);
        break;
    case TL_DATUM_FLUID:
        (void)snprintf(dst, cap, "fluid %s", fluid_word(d->as.fluid));
        break;
    case TL_DATUM_FAULT:
        if (d->as.fault.state == TL_FAULT_STATE_NONE) {
            (void)snprintf(dst, cap, "no fault code");
        } else {
            (void)snprintf(dst, cap, "FAULT code %" PRIu32, d->as.fault.code);
        }
        break;
    case TL_DATUM_ARREST:
        arrest_text(&d->as.arrest, dst, cap);
        break;
    case TL_DATUM_FREED:
        (void)snprintf(dst, cap, "engine %" PRIu32 " freed after pass %" PRIu32 " by %s", d->slot,
                       d->as.freed.event.pass, d->as.freed.name);
        break;
    case TL_DATUM_SIGNED_OFF:
        (void)snprintf(dst, cap, "engine %" PRIu32 " job %" PRIu32 " signed off by %s", d->slot,
                       d->as.signed_off.job, d->as.signed_off.name);
        break;
    case TL_DATUM_INSPECTED:
        (void)snprintf(dst, cap, "engine %" PRIu32 " inspected by %s: %s", d->slot,
                       d->as.inspected.name,
                       d->as.inspected.state == TL_INSPECTION_GOOD ? "good" : "SOMETHING FOUND");
        break;
    case TL_DATUM_PENDANT_LIFE:
        wear_text("pendant", d->slot, &d->as.pendant_life, dst, cap);
        break;
    default:
        break;
    }
}

/* Readings, counts, and what people do. */
static void
figures_text(const struct tl_datum *d, char *dst, size_t cap)
{
    char number[16];
    switch ((int)d->kind) {
    case TL_DATUM_ACCUMULATOR:
        (void)snprintf(dst, cap, "accumulator %" PRIu32 " psi", d->as.accumulator_psi);
        break;
    case TL_DATUM_CROSSHEAD:
        (void)snprintf(dst, cap, "crosshead gap %s in",
                       hundredths(d->as.crosshead_in_x100, number, sizeof number));
        break;
    case TL_DATUM_CABLE:
        cable_text(d, dst, cap);
        break;
    case TL_DATUM_BARRICADE:
        (void)snprintf(dst, cap, "barricade %s%s", tl_barricade_word(d->as.barricade.state),
                       d->as.barricade.webbing_used ? ", webbing USED BEFORE" : "");
        break;
    case TL_DATUM_BARRICADE_POWER:
        (void)snprintf(dst, cap,
                       "stanchion pressure %" PRIu32 " psi, %" PRIu32 " cycles since the pump ran",
                       d->as.barricade_power.pressure_psi, d->as.barricade_power.cycles);
        break;
    case TL_DATUM_WATCH:
        (void)snprintf(dst, cap, "watch: %s", d->as.watch);
        break;
    case TL_DATUM_ACKNOWLEDGED:
        (void)snprintf(dst, cap, "acknowledged");
        break;
    case TL_DATUM_OVERRIDE:
        override_text(&d->as.override, dst, cap);
        break;
    case TL_DATUM_OUT_OF_SERVICE:
        (void)snprintf(dst, cap, "%s out of service", d->as.out_of_service);
        break;
    default:
        engine_text(d, dst, cap);
        break;
    }
}

static void
gear_text(const struct tl_datum *d, char *dst, size_t cap)
{
    switch ((int)d->kind) {
    case TL_DATUM_RIG:
        (void)snprintf(dst, cap, "wire %" PRIu32 " %s", d->slot,
                       d->as.rig == TL_RIG_RIGGED ? "rigged" : "STRIPPED");
        break;
    case TL_DATUM_SHEAVE:
        sheave_text(d, dst, cap);
        break;
    case TL_DATUM_PENDANT:
        pendant_text(d, dst, cap);
        break;
    case TL_DATUM_FREE:
        wire_word(d->as.free.state == TL_FREE_FREE ? "wires free" : "wire NOT free",
                  d->as.free.wire, dst, cap);
        break;
    case TL_DATUM_RETRACT:
        wire_word(d->as.retract.state == TL_RETRACT_RETRACTED ? "retracted" : "retract RUNNING",
                  d->as.retract.wire, dst, cap);
        break;
    case TL_DATUM_STANCHIONS:
        (void)snprintf(dst, cap, "stanchions %s", stanchion_word(d->as.stanchions));
        break;
    case TL_DATUM_TRACK:
        (void)snprintf(dst, cap, "track %" PRIu32 " %s", d->slot, tl_track_word(d->as.track));
        break;
    case TL_DATUM_AID:
        aid_text(&d->as.aid, dst, cap);
        break;
    default:
        figures_text(d, dst, cap);
        break;
    }
}

static const char *
known_text(const struct tl_datum *d, char *dst, size_t cap)
{
    char pounds[POUNDS_CAP];
    switch ((int)d->kind) {
    case TL_DATUM_RECOVERY:
        (void)snprintf(dst, cap, "recovery %s%s",
                       d->as.recovery.state == TL_RECOVERY_OPEN ? "open" : "closed",
                       d->as.recovery.drill ? " (DRILL)" : "");
        break;
    case TL_DATUM_ORDER:
        (void)snprintf(dst, cap, "order %" PRIu32 " %s %s%s%s", d->as.order.side, d->as.order.type,
                       tl_pounds_text(d->as.order.weight_lb, pounds, sizeof pounds),
                       d->as.order.barricade ? " into the BARRICADE" : "",
                       d->as.order.state == TL_ORDER_CANCELLED ? " cancelled" : "");
        break;
    case TL_DATUM_SET:
        (void)snprintf(dst, cap, "set %s", tl_pounds_text(d->as.set_lb, pounds, sizeof pounds));
        break;
    case TL_DATUM_REPEATER:
        (void)snprintf(dst, cap, "repeater %" PRIu32 " reads %s", d->slot,
                       tl_pounds_text(d->as.repeater_lb, pounds, sizeof pounds));
        break;
    case TL_DATUM_BATTERY:
        (void)snprintf(dst, cap, "%s",
                       d->as.battery == TL_BATTERY_IN ? "in battery" : "not in battery");
        break;
    case TL_DATUM_DECK:
        (void)deck_text(&d->as.deck, dst, cap);
        break;
    case TL_DATUM_CALL:
        (void)snprintf(dst, cap, "pilot calls %" PRIu32 " %s", d->as.call.side, d->as.call.type);
        break;
    case TL_DATUM_HOOK:
        (void)snprintf(dst, cap, "%s", d->as.hook == TL_HOOK_DOWN ? "hook down" : "hook NOT down");
        break;
    case TL_DATUM_RESULT:
        (void)result_text(&d->as.result, dst, cap);
        break;
    case TL_DATUM_INBOUND:
        inbound_text(&d->as.inbound, dst, cap);
        break;
    case TL_DATUM_UNKNOWN:
        (void)snprintf(dst, cap, "unknown");
        break;
    default:
        gear_text(d, dst, cap);
        break;
    }
    return dst;
}

/* A word on one of several wires, tracks or engines, which is told by its number. */
static bool
names_its_slot(enum tl_datum_kind kind)
{
    return (kind >= TL_DATUM_RIG && kind <= TL_DATUM_CABLE) ||
           (kind >= TL_DATUM_FREED && kind <= TL_DATUM_PENDANT_LIFE);
}

static const char *
own_text(const struct tl_datum *datum, char *dst, size_t cap)
{
    if (!datum->known) {
        if (datum->slot != 0 && names_its_slot(datum->kind)) {
            (void)snprintf(dst, cap, "%s %" PRIu32 " unknown", tl_datum_kind_name(datum->kind),
                           datum->slot);
        } else {
            (void)snprintf(dst, cap, "%s unknown", tl_datum_kind_name(datum->kind));
        }
        return dst;
    }
    return known_text(datum, dst, cap);
}

const char *
tl_datum_text(const struct tl_datum *datum, char *dst, size_t cap)
{
    char spoken[TL_ID_CAP];
    if (!tl_datum_is_voice(datum)) {
        return own_text(datum, dst, cap);
    }
    int n = snprintf(dst, cap,
                     "BY VOICE for %s: ", tl_node_spoken(datum->voice_for, spoken, sizeof spoken));
    if (n > 0 && (size_t)n < cap) {
        (void)own_text(datum, dst + n, cap - (size_t)n);
    }
    return dst;
}
