/* SPDX-License-Identifier: Apache-2.0 */
/* state_io.c - see state_io.h. */
#include "broker/core/judge/state_io.h"

#include <string.h>

#include "proto/vocab/mix.h"
#include "proto/vocab/rules.h"

enum {
    VARINT_MAX = 10,
    /* Enums that can lead toward READY have distant values, all of them below this. */
    DISTANT_MAX = 127
};

static void
put_byte(struct tl_state_io *io, uint8_t byte)
{
    size_t at = io->at++;
    if (at >= io->as.out.from && at - io->as.out.from < io->as.out.cap) {
        io->as.out.bytes[at - io->as.out.from] = byte;
    }
}

/* 0 at the end of what is read, and from then on. */
static uint8_t
get_byte(struct tl_state_io *io)
{
    if (io->bad || io->at >= io->as.in.len) {
        io->bad = true;
        return 0;
    }
    return io->as.in.bytes[io->at++];
}

static void
write_number(struct tl_state_io *io, uint64_t value)
{
    while (value > 0x7F) {
        put_byte(io, (uint8_t)(value | 0x80));
        value >>= 7;
    }
    put_byte(io, (uint8_t)value);
}

static uint64_t
read_number(struct tl_state_io *io)
{
    uint64_t value = 0;
    for (unsigned i = 0; i < VARINT_MAX; i++) {
        uint8_t byte = get_byte(io);
        value |= (uint64_t)(byte & 0x7F) << (7 * i);
        if ((byte & 0x80) == 0) {
            return value;
        }
    }
    io->bad = true;
    return 0;
}

void
tl_io_u64(struct tl_state_io *io, uint64_t *value)
{
    switch (io->mode) {
    case TL_STATE_DIGEST:
        io->digest = tl_mix(io->digest, *value);
        break;
    case TL_STATE_WRITE:
        write_number(io, *value);
        break;
    case TL_STATE_READ:
        *value = read_number(io);
        break;
    }
}

void
tl_io_max(struct tl_state_io *io, uint32_t *value, uint32_t max)
{
    uint64_t wide = *value;
    tl_io_u64(io, &wide);
    if (wide > max) {
        io->bad = true;
        wide = 0;
    }
    *value = (uint32_t)wide;
}

void
tl_io_u32(struct tl_state_io *io, uint32_t *value)
{
    tl_io_max(io, value, UINT32_MAX);
}

/* Small numbers of either sign stay small. */
void
tl_io_i64(struct tl_state_io *io, int64_t *value)
{
    uint64_t folded = (uint64_t)*value << 1;
    folded = *value < 0 ? ~folded : folded;
    tl_io_u64(io, &folded);
    uint64_t half = folded >> 1;
    *value = (folded & 1) != 0 ? -(int64_t)half - 1 : (int64_t)half;
}

void
tl_io_i32(struct tl_state_io *io, int32_t *value)
{
    int64_t wide = *value;
    tl_io_i64(io, &wide);
    if (wide < INT32_MIN || wide > INT32_MAX) {
        io->bad = true;
        wide = 0;
    }
    *value = (int32_t)wide;
}

void
tl_io_flag(struct tl_state_io *io, bool *value)
{
    uint32_t number = *value ? 1 : 0;
    tl_io_max(io, &number, 1);
    *value = number != 0;
}

void
tl_io_enum(struct tl_state_io *io, void *value, uint32_t max)
{
    uint32_t number = 0;
    memcpy(&number, value, sizeof number);
    tl_io_max(io, &number, max);
    memcpy(value, &number, sizeof number);
}

static void
read_text(struct tl_state_io *io, char *text, size_t cap)
{
    uint64_t len = read_number(io);
    if (len >= cap) {
        io->bad = true;
        len = 0;
    }
    memset(text, 0, cap);
    for (size_t i = 0; i < len; i++) {
        uint8_t byte = get_byte(io);
        io->bad = io->bad || byte < 0x20 || byte == 0x7F;
        memcpy(&text[i], &byte, 1);
    }
}

void
tl_io_text(struct tl_state_io *io, char *text, size_t cap)
{
    if (io->mode == TL_STATE_DIGEST) {
        io->digest = tl_mix_words(io->digest, text, cap);
        return;
    }
    if (io->mode == TL_STATE_READ) {
        read_text(io, text, cap);
        return;
    }
    size_t len = strnlen(text, cap - 1);
    write_number(io, len);
    for (size_t i = 0; i < len; i++) {
        put_byte(io, (uint8_t)text[i]);
    }
}

/* ---- words of the vocabulary ---- */

void
tl_io_event(struct tl_state_io *io, struct tl_event *event)
{
    tl_io_u64(io, &event->recovery_ms);
    tl_io_u32(io, &event->pass);
}

void
tl_io_order(struct tl_state_io *io, struct tl_order *order)
{
    tl_io_u32(io, &order->side);
    tl_io_text(io, order->type, sizeof order->type);
    tl_io_u32(io, &order->weight_lb);
    tl_io_i32(io, &order->place);
    TL_IO_ENUM(io, order->state, DISTANT_MAX);
    tl_io_flag(io, &order->barricade);
}

void
tl_io_result(struct tl_state_io *io, struct tl_result *result)
{
    TL_IO_ENUM(io, result->outcome, DISTANT_MAX);
    tl_io_u32(io, &result->wire);
}

/* One part of the value of a datum of that kind. */
enum part {
    PART_U32,
    PART_U64,
    PART_I32,
    PART_FLAG,
    PART_ENUM,
    PART_EVENT,
    PART_TYPE,
    PART_SERIAL,
    PART_ID,
    PART_NAME,
    PART_REASON
};
struct field {
    enum tl_datum_kind kind;
    enum part part;
    size_t at;
};
#define FIELD(kind, part, member)                                                                  \
    {                                                                                              \
        TL_DATUM_##kind, PART_##part, offsetof(struct tl_datum, as.member)                         \
    }

static const struct field fields[] = {
    FIELD(RECOVERY, U64, recovery.recovery_ms),
    FIELD(RECOVERY, ENUM, recovery.state),
    FIELD(RECOVERY, FLAG, recovery.drill),
    FIELD(ORDER, U32, order.side),
    FIELD(ORDER, TYPE, order.type),
    FIELD(ORDER, U32, order.weight_lb),
    FIELD(ORDER, I32, order.place),
    FIELD(ORDER, ENUM, order.state),
    FIELD(ORDER, FLAG, order.barricade),
    FIELD(SET, U32, set_lb),
    FIELD(REPEATER, U32, repeater_lb),
    FIELD(BATTERY, ENUM, battery),
    FIELD(DECK, ENUM, deck.state),
    FIELD(DECK, ENUM, deck.reason),
    FIELD(DECK, U32, deck.expect_s),
    FIELD(DECK, FLAG, deck.was_clear),
    FIELD(CALL, U32, call.side),
    FIELD(CALL, TYPE, call.type),
    FIELD(CALL, U32, call.fuel_lb),
    FIELD(HOOK, ENUM, hook),
    FIELD(RESULT, ENUM, result.outcome),
    FIELD(RESULT, U32, result.wire),
    FIELD(INBOUND, U32, inbound.side),
    FIELD(INBOUND, TYPE, inbound.type),
    FIELD(INBOUND, U32, inbound.weight_lb),
    FIELD(INBOUND, U32, inbound.fuel_lb),
    FIELD(INBOUND, FLAG, inbound.fuel_low),
    FIELD(INBOUND, ENUM, inbound.trouble),
    FIELD(INBOUND, FLAG, inbound.diverted),
    FIELD(RIG, ENUM, rig),
    FIELD(SHEAVE, ENUM, sheave.state),
    FIELD(SHEAVE, FLAG, sheave.bypassed),
    FIELD(PENDANT, ENUM, pendant.state),
    FIELD(PENDANT, U32, pendant.low_in_x100),
    FIELD(PENDANT, U32, pendant.high_in_x100),
    FIELD(FREE, ENUM, free.state),
    FIELD(FREE, U32, free.wire),
    FIELD(RETRACT, ENUM, retract.state),
    FIELD(RETRACT, U32, retract.wire),
    FIELD(STANCHIONS, ENUM, stanchions),
    FIELD(TRACK, ENUM, track),
    FIELD(AID, ENUM, aid.state),
    FIELD(AID, TYPE, aid.type),
    FIELD(AID, U32, aid.angle_deg_x100),
    FIELD(AID, U32, aid.target_wire),
    FIELD(ACCUMULATOR, U32, accumulator_psi),
    FIELD(CROSSHEAD, U32, crosshead_in_x100),
    FIELD(CABLE, U32, cable.wear.traps),
    FIELD(CABLE, SERIAL, cable.wear.serial),
    FIELD(CABLE, EVENT, cable.wear.counted.last),
    FIELD(CABLE, U32, cable.wear.counted.without),
    FIELD(CABLE, FLAG, cable.wear.moved),
    FIELD(CABLE, U32, cable.detorqued_at),
    FIELD(BARRICADE, ENUM, barricade.state),
    FIELD(BARRICADE, FLAG, barricade.webbing_used),
    FIELD(BARRICADE_POWER, U32, barricade_power.pressure_psi),
    FIELD(BARRICADE_POWER, U32, barricade_power.cycles),
    FIELD(WATCH, NAME, watch),
    FIELD(ACKNOWLEDGED, U64, instance),
    FIELD(OVERRIDE, U32, override.rule),
    FIELD(OVERRIDE, ID, override.station),
    FIELD(OVERRIDE, REASON, override.reason),
    FIELD(OVERRIDE, U32, override.valid_s),
    FIELD(OUT_OF_SERVICE, ID, out_of_service),
    FIELD(SERVICE, ENUM, service.state),
    FIELD(SERVICE, U32, service.job),
    FIELD(FLUID, ENUM, fluid),
    FIELD(FAULT, ENUM, fault.state),
    FIELD(FAULT, U32, fault.code),
    FIELD(ARREST, EVENT, arrest.event),
    FIELD(ARREST, U32, arrest.ram_in_x10),
    FIELD(ARREST, U32, arrest.off_centre_ft_x10),
    FIELD(ARREST, U32, arrest.apart_in_x10),
    FIELD(ARREST, U32, arrest.walk_back_ft_x10),
    FIELD(FREED, EVENT, freed.event),
    FIELD(FREED, NAME, freed.name),
    FIELD(SIGNED_OFF, U32, signed_off.job),
    FIELD(SIGNED_OFF, NAME, signed_off.name),
    FIELD(INSPECTED, ENUM, inspected.state),
    FIELD(INSPECTED, NAME, inspected.name),
    FIELD(PENDANT_LIFE, U32, pendant_life.traps),
    FIELD(PENDANT_LIFE, SERIAL, pendant_life.serial),
    FIELD(PENDANT_LIFE, EVENT, pendant_life.counted.last),
    FIELD(PENDANT_LIFE, U32, pendant_life.counted.without),
    FIELD(PENDANT_LIFE, FLAG, pendant_life.moved),
};

static void
walk_part(struct tl_state_io *io, enum part part, void *at)
{
    switch (part) {
    case PART_U32:
        tl_io_u32(io, at);
        break;
    case PART_U64:
        tl_io_u64(io, at);
        break;
    case PART_I32:
        tl_io_i32(io, at);
        break;
    case PART_FLAG:
        tl_io_flag(io, at);
        break;
    case PART_ENUM:
        tl_io_enum(io, at, DISTANT_MAX);
        break;
    case PART_EVENT:
        tl_io_event(io, at);
        break;
    case PART_TYPE:
        tl_io_text(io, at, TL_TYPE_CAP);
        break;
    case PART_SERIAL:
        tl_io_text(io, at, TL_SERIAL_CAP);
        break;
    case PART_ID:
        tl_io_text(io, at, TL_ID_CAP);
        break;
    case PART_NAME:
        tl_io_text(io, at, TL_NAME_CAP);
        break;
    case PART_REASON:
        tl_io_text(io, at, TL_REASON_CAP);
        break;
    }
}

void
tl_io_datum(struct tl_state_io *io, struct tl_datum *datum)
{
    if (io->mode == TL_STATE_READ) {
        memset(datum, 0, sizeof *datum);
    }
    TL_IO_ENUM(io, datum->kind, TL_DATUM_KINDS - 1);
    tl_io_u32(io, &datum->slot);
    tl_io_text(io, datum->voice_for, sizeof datum->voice_for);
    tl_io_flag(io, &datum->sensor);
    tl_io_u64(io, &datum->sequence);
    tl_io_max(io, &datum->stated_for_count, TL_STATED_FOR_MAX);
    for (uint32_t i = 0; i < datum->stated_for_count; i++) {
        tl_io_event(io, &datum->stated_for[i]);
    }
    tl_io_flag(io, &datum->known);
    for (size_t i = 0; datum->known && i < sizeof fields / sizeof fields[0]; i++) {
        if (fields[i].kind == datum->kind) {
            walk_part(io, fields[i].part, (char *)datum + fields[i].at);
        }
    }
}

static void
walk_value(struct tl_state_io *io, struct tl_cause_value *value)
{
    tl_io_flag(io, &value->known);
    tl_io_i64(io, &value->number);
    tl_io_text(io, value->word, sizeof value->word);
}

static void
walk_would(struct tl_state_io *io, struct tl_would *would)
{
    tl_io_u32(io, &would->set_lb);
    tl_io_flag(io, &would->bottoms);
    tl_io_flag(io, &would->parts);
    tl_io_u32(io, &would->end_kt_x10);
    tl_io_u32(io, &would->hook_lbf);
    tl_io_u32(io, &would->tension_percent);
    tl_io_u32(io, &would->stroke_in_x10);
    tl_io_u32(io, &would->expect_in_x10);
    tl_io_u32(io, &would->runout_ft_x10);
}

void
tl_io_cause(struct tl_state_io *io, struct tl_cause *cause)
{
    tl_io_max(io, &cause->rule, TL_RULES_MAX - 1);
    tl_io_text(io, cause->station, sizeof cause->station);
    TL_IO_ENUM(io, cause->state, TL_CAUSE_OVERRIDDEN);
    tl_io_text(io, cause->subject.node, sizeof cause->subject.node);
    tl_io_u64(io, &cause->subject.incarnation);
    tl_io_u64(io, &cause->subject.sequence);
    if (io->mode != TL_STATE_DIGEST) {
        walk_value(io, &cause->reported);
        walk_value(io, &cause->needed);
        TL_IO_ENUM(io, cause->reason, TL_REFUSAL_LOWER_COUNT);
        walk_would(io, &cause->would);
    }
}

static void
walk_ramp(struct tl_state_io *io, struct tl_predicted_ramp *ramp)
{
    tl_io_flag(io, &ramp->known);
    tl_io_text(io, ramp->aid_type, sizeof ramp->aid_type);
    tl_io_u32(io, &ramp->angle_deg_x100);
    tl_io_u32(io, &ramp->target_wire);
    tl_io_u32(io, &ramp->pitch_deg_x10);
    tl_io_i32(io, &ramp->clearance_ft_x10);
    tl_io_i32(io, &ramp->touchdown_ft_x10);
}

void
tl_io_predicted(struct tl_state_io *io, struct tl_predicted *predicted)
{
    struct tl_predicted_arrest *arrest = &predicted->arrest;
    struct tl_predicted_time *time = &predicted->time;
    tl_io_event(io, &predicted->event);
    tl_io_text(io, predicted->type, sizeof predicted->type);
    tl_io_u32(io, &predicted->weight_lb);
    tl_io_flag(io, &predicted->barricade);
    tl_io_flag(io, &arrest->known);
    tl_io_i32(io, &arrest->headwind_kt_x10);
    tl_io_u32(io, &arrest->engaging_kt_x10);
    tl_io_u32(io, &arrest->energy_kftlb);
    tl_io_i32(io, &arrest->margin_percent);
    tl_io_max(io, &arrest->would_count, TL_WOULDS_MAX);
    for (uint32_t i = 0; i < arrest->would_count; i++) {
        walk_would(io, &arrest->would[i]);
    }
    walk_ramp(io, &predicted->ramp);
    tl_io_flag(io, &time->known);
    tl_io_u32(io, &time->ramp_s_x10);
    tl_io_u32(io, &time->wave_off_gear_s_x10);
    tl_io_u32(io, &time->wave_off_people_s_x10);
    tl_io_u32(io, &time->reset_s_x10);
}

static void
walk_maybe(struct tl_state_io *io, struct tl_maybe *maybe)
{
    tl_io_flag(io, &maybe->known);
    tl_io_i32(io, &maybe->value);
}

static void
walk_wind(struct tl_state_io *io, struct tl_wind *wind)
{
    TL_IO_ENUM(io, wind->state, DISTANT_MAX);
    tl_io_i32(io, &wind->headwind_kt_x10);
    tl_io_i32(io, &wind->crosswind_kt_x10);
    tl_io_u32(io, &wind->deck_speed_kt_x10);
    tl_io_u32(io, &wind->deck_from_deg_x10);
    tl_io_flag(io, &wind->true_known);
    tl_io_u32(io, &wind->true_speed_kt_x10);
    tl_io_u32(io, &wind->true_from_deg_x10);
    tl_io_max(io, &wind->reading_count, TL_READINGS_MAX);
    for (uint32_t i = 0; i < wind->reading_count; i++) {
        struct tl_wind_reading *reading = &wind->reading[i];
        tl_io_text(io, reading->source, sizeof reading->source);
        tl_io_u32(io, &reading->age_ms);
        tl_io_u32(io, &reading->speed_kt_x10);
        tl_io_u32(io, &reading->from_deg_x10);
    }
    tl_io_flag(io, &wind->keyed);
}

void
tl_io_sample(struct tl_state_io *io, struct tl_sample *sample)
{
    if (io->mode == TL_STATE_READ) {
        memset(sample, 0, sizeof *sample);
    }
    TL_IO_ENUM(io, sample->kind, TL_SAMPLE_MOTION);
    tl_io_u32(io, &sample->age_ms);
    if (sample->kind == TL_SAMPLE_WIND) {
        walk_wind(io, &sample->as.wind);
    } else if (sample->kind == TL_SAMPLE_MOTION) {
        struct tl_motion *motion = &sample->as.motion;
        struct tl_maybe *const values[] = {&motion->pitch_deg_x10,   &motion->roll_deg_x10,
                                           &motion->heave_m_x100,    &motion->turn_deg_min_x10,
                                           &motion->heading_deg_x10, &motion->course_deg_x10,
                                           &motion->speed_kt_x10};
        for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
            walk_maybe(io, values[i]);
        }
    }
}
