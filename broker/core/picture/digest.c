/* SPDX-License-Identifier: Apache-2.0 */
/* digest.c - one number over what a station has reported, the same in every validator. */
#include "broker/core/picture/fold.h"
#include "proto/vocab/mix.h"

/* Every text of a datum ends within its array. */
static uint64_t
mix_text(uint64_t state, const char *text)
{
    return tl_mix_text(state, text, TL_REASON_CAP);
}

static uint64_t
mix_words(uint64_t s, const struct tl_datum *d)
{
    switch ((int)d->kind) {
    case TL_DATUM_RECOVERY:
        s = tl_mix(s, d->as.recovery.recovery_ms);
        return tl_mix(s, (uint64_t)d->as.recovery.state * 2 + (d->as.recovery.drill ? 1 : 0));
    case TL_DATUM_ORDER:
        s = mix_text(tl_mix(s, d->as.order.side), d->as.order.type);
        s = tl_mix(tl_mix(s, d->as.order.weight_lb), (uint64_t)(int64_t)d->as.order.place);
        return tl_mix(s, (uint64_t)d->as.order.state * 2 + (d->as.order.barricade ? 1 : 0));
    case TL_DATUM_DECK:
        s = tl_mix(tl_mix(s, (uint64_t)d->as.deck.state), (uint64_t)d->as.deck.reason);
        return tl_mix(s, (uint64_t)d->as.deck.expect_s * 2 + (d->as.deck.was_clear ? 1 : 0));
    case TL_DATUM_CALL:
        return tl_mix(mix_text(tl_mix(s, d->as.call.side), d->as.call.type), d->as.call.fuel_lb);
    case TL_DATUM_RESULT:
        return tl_mix(tl_mix(s, (uint64_t)d->as.result.outcome), d->as.result.wire);
    case TL_DATUM_INBOUND:
        s = mix_text(tl_mix(s, d->as.inbound.side), d->as.inbound.type);
        s = tl_mix(tl_mix(s, d->as.inbound.weight_lb), d->as.inbound.fuel_lb);
        return tl_mix(tl_mix(s, (uint64_t)d->as.inbound.trouble),
                      (d->as.inbound.fuel_low ? 2u : 0u) + (d->as.inbound.diverted ? 1u : 0u));
    case TL_DATUM_AID:
        s = tl_mix(tl_mix(s, (uint64_t)d->as.aid.state), d->as.aid.angle_deg_x100);
        return mix_text(tl_mix(s, d->as.aid.target_wire), d->as.aid.type);
    case TL_DATUM_WATCH:
        return mix_text(s, d->as.watch);
    case TL_DATUM_OUT_OF_SERVICE:
        return mix_text(s, d->as.out_of_service);
    case TL_DATUM_OVERRIDE:
        s = tl_mix(tl_mix(s, d->as.override.rule), d->as.override.valid_s);
        return mix_text(mix_text(s, d->as.override.station), d->as.override.reason);
    default:
        return s;
    }
}

static uint64_t
mix_wear(uint64_t s, const struct tl_wear *wear)
{
    s = mix_text(tl_mix(s, wear->traps), wear->serial);
    s = tl_mix(tl_mix(s, wear->counted.last.recovery_ms), wear->counted.last.pass);
    return tl_mix(tl_mix(s, wear->counted.without), wear->moved ? 1 : 0);
}

/* What an engine room and the gear officer say of an engine. */
static uint64_t
mix_engine(uint64_t s, const struct tl_datum *d)
{
    switch ((int)d->kind) {
    case TL_DATUM_SERVICE:
        return tl_mix(tl_mix(s, (uint64_t)d->as.service.state), d->as.service.job);
    case TL_DATUM_FLUID:
        return tl_mix(s, (uint64_t)d->as.fluid);
    case TL_DATUM_FAULT:
        return tl_mix(tl_mix(s, (uint64_t)d->as.fault.state), d->as.fault.code);
    case TL_DATUM_ARREST:
        s = tl_mix(tl_mix(s, d->as.arrest.event.recovery_ms), d->as.arrest.event.pass);
        s = tl_mix(tl_mix(s, d->as.arrest.ram_in_x10), d->as.arrest.off_centre_ft_x10);
        return tl_mix(tl_mix(s, d->as.arrest.apart_in_x10), d->as.arrest.walk_back_ft_x10);
    case TL_DATUM_FREED:
        s = tl_mix(tl_mix(s, d->as.freed.event.recovery_ms), d->as.freed.event.pass);
        return mix_text(s, d->as.freed.name);
    case TL_DATUM_SIGNED_OFF:
        return mix_text(tl_mix(s, d->as.signed_off.job), d->as.signed_off.name);
    case TL_DATUM_INSPECTED:
        return mix_text(tl_mix(s, (uint64_t)d->as.inspected.state), d->as.inspected.name);
    case TL_DATUM_PENDANT_LIFE:
        return mix_wear(s, &d->as.pendant_life);
    default:
        return s;
    }
}

/* One or two numbers and no text. */
static uint64_t
mix_numbers(uint64_t s, const struct tl_datum *d)
{
    switch ((int)d->kind) {
    case TL_DATUM_SET:
        return tl_mix(s, d->as.set_lb);
    case TL_DATUM_REPEATER:
        return tl_mix(s, d->as.repeater_lb);
    case TL_DATUM_BATTERY:
        return tl_mix(s, (uint64_t)d->as.battery);
    case TL_DATUM_HOOK:
        return tl_mix(s, (uint64_t)d->as.hook);
    case TL_DATUM_RIG:
        return tl_mix(s, (uint64_t)d->as.rig);
    case TL_DATUM_SHEAVE:
        return tl_mix(tl_mix(s, (uint64_t)d->as.sheave.state), d->as.sheave.bypassed ? 1 : 0);
    case TL_DATUM_PENDANT:
        s = tl_mix(s, (uint64_t)d->as.pendant.state);
        return tl_mix(tl_mix(s, d->as.pendant.low_in_x100), d->as.pendant.high_in_x100);
    case TL_DATUM_FREE:
        return tl_mix(tl_mix(s, (uint64_t)d->as.free.state), d->as.free.wire);
    case TL_DATUM_RETRACT:
        return tl_mix(tl_mix(s, (uint64_t)d->as.retract.state), d->as.retract.wire);
    case TL_DATUM_STANCHIONS:
        return tl_mix(s, (uint64_t)d->as.stanchions);
    case TL_DATUM_TRACK:
        return tl_mix(s, (uint64_t)d->as.track);
    case TL_DATUM_ACCUMULATOR:
        return tl_mix(s, d->as.accumulator_psi);
    case TL_DATUM_CROSSHEAD:
        return tl_mix(s, d->as.crosshead_in_x100);
    case TL_DATUM_CABLE:
        return tl_mix(mix_wear(s, &d->as.cable.wear), d->as.cable.detorqued_at);
    case TL_DATUM_BARRICADE:
        return tl_mix(s,
                      (uint64_t)d->as.barricade.state * 2 + (d->as.barricade.webbing_used ? 1 : 0));
    case TL_DATUM_BARRICADE_POWER:
        return tl_mix(tl_mix(s, d->as.barricade_power.pressure_psi), d->as.barricade_power.cycles);
    case TL_DATUM_ACKNOWLEDGED:
        return tl_mix(s, d->as.instance);
    default:
        return mix_engine(s, d);
    }
}

static uint64_t
mix_datum(const struct tl_datum *datum)
{
    uint64_t s = tl_mix(tl_mix(tl_mix(1, (uint64_t)datum->kind), datum->slot), datum->sequence);
    s = tl_mix(s, (datum->known ? 1u : 2u) + (datum->sensor ? 4u : 0u));
    s = tl_datum_is_voice(datum) ? mix_text(s, datum->voice_for) : s;
    if (datum->known) {
        s = mix_numbers(mix_words(s, datum), datum);
        for (uint32_t i = 0; i < datum->stated_for_count; i++) {
            s = tl_mix(tl_mix(s, datum->stated_for[i].recovery_ms), datum->stated_for[i].pass);
        }
    }
    return s;
}

void
tl_told_digest(const struct tl_told *told, uint8_t digest[TL_DATA_DIGEST_LEN])
{
    /* A sum, so that the order in which data first came does not matter. */
    uint64_t sum = 0;
    for (uint32_t i = 0; i < told->held_count; i++) {
        sum += mix_datum(&told->held[i].datum);
    }
    sum = tl_mix(sum, told->incarnation);
    for (size_t i = 0; i < TL_DATA_DIGEST_LEN; i++) {
        digest[i] = (uint8_t)(sum >> (8 * i));
    }
}
