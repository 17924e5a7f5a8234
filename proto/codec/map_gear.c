/* SPDX-License-Identifier: Apache-2.0 */
/* map_gear.c - values of the gear, the deck edge, the aid and of people's own acts. See map.h. */
#include <string.h>

#include "proto/codec/map.h"
#include "proto/codec/map_gear.h"

static wire_rig *
write_rig(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_rig *wire = tl_writer_message(writer, &trapline__v1__rig__descriptor);
    wire->state = tl_writer_enum(writer, TL_ENUM_RIG_STATE, datum->as.rig);
    return wire;
}

static wire_sheave *
write_sheave(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_sheave *wire = tl_writer_message(writer, &trapline__v1__sheave__descriptor);
    wire->state = tl_writer_enum(writer, TL_ENUM_SHEAVE_STATE, datum->as.sheave.state);
    wire->bypassed = datum->as.sheave.bypassed;
    return wire;
}

static wire_pendant *
write_pendant(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_pendant *wire = tl_writer_message(writer, &trapline__v1__pendant__descriptor);
    wire->state = tl_writer_enum(writer, TL_ENUM_PENDANT_STATE, datum->as.pendant.state);
    wire->low_in_x100 = datum->as.pendant.low_in_x100;
    wire->high_in_x100 = datum->as.pendant.high_in_x100;
    return wire;
}

static wire_free *
write_free(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_free *wire = tl_writer_message(writer, &trapline__v1__free__descriptor);
    wire->state = tl_writer_enum(writer, TL_ENUM_FREE_STATE, datum->as.free.state);
    wire->wire = datum->as.free.wire;
    return wire;
}

static wire_retract *
write_retract(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_retract *wire = tl_writer_message(writer, &trapline__v1__retract__descriptor);
    wire->state = tl_writer_enum(writer, TL_ENUM_RETRACT_STATE, datum->as.retract.state);
    wire->wire = datum->as.retract.wire;
    return wire;
}

static wire_stanchions *
write_stanchions(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_stanchions *wire = tl_writer_message(writer, &trapline__v1__stanchions__descriptor);
    wire->state = tl_writer_enum(writer, TL_ENUM_STANCHION_STATE, datum->as.stanchions);
    return wire;
}

static wire_track *
write_track(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_track *wire = tl_writer_message(writer, &trapline__v1__track__descriptor);
    wire->state = tl_writer_enum(writer, TL_ENUM_TRACK_STATE, datum->as.track);
    return wire;
}

static wire_aid *
write_aid(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_aid *wire = tl_writer_message(writer, &trapline__v1__aid__descriptor);
    wire->state = tl_writer_enum(writer, TL_ENUM_AID_STATE, datum->as.aid.state);
    wire->type = tl_writer_text(writer, datum->as.aid.type, sizeof datum->as.aid.type);
    wire->angle_deg_x100 = datum->as.aid.angle_deg_x100;
    wire->target_wire = datum->as.aid.target_wire;
    return wire;
}

static wire_accumulator *
write_accumulator(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_accumulator *wire = tl_writer_message(writer, &trapline__v1__accumulator__descriptor);
    wire->pressure_psi = datum->as.accumulator_psi;
    return wire;
}

static wire_crosshead *
write_crosshead(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_crosshead *wire = tl_writer_message(writer, &trapline__v1__crosshead__descriptor);
    wire->gap_in_x100 = datum->as.crosshead_in_x100;
    return wire;
}

static wire_barricade *
write_barricade(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_barricade *wire = tl_writer_message(writer, &trapline__v1__barricade__descriptor);
    wire->state = tl_writer_enum(writer, TL_ENUM_BARRICADE_STATE, datum->as.barricade.state);
    wire->webbing_used = datum->as.barricade.webbing_used;
    return wire;
}

static wire_barricade_power *
write_barricade_power(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_barricade_power *wire =
        tl_writer_message(writer, &trapline__v1__barricade_power__descriptor);
    wire->pressure_psi = datum->as.barricade_power.pressure_psi;
    wire->cycles = datum->as.barricade_power.cycles;
    return wire;
}

static wire_watch *
write_watch(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_watch *wire = tl_writer_message(writer, &trapline__v1__watch__descriptor);
    wire->name = tl_writer_text(writer, datum->as.watch, sizeof datum->as.watch);
    return wire;
}

static wire_acknowledged *
write_acknowledged(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_acknowledged *wire = tl_writer_message(writer, &trapline__v1__acknowledged__descriptor);
    wire->instance = datum->as.instance;
    return wire;
}

static wire_out_of_service *
write_out_of_service(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_out_of_service *wire =
        tl_writer_message(writer, &trapline__v1__out_of_service__descriptor);
    wire->validator =
        tl_writer_text(writer, datum->as.out_of_service, sizeof datum->as.out_of_service);
    return wire;
}

wire_override *
tl_map_override_out(struct tl_writer *writer, const struct tl_override *override)
{
    wire_override *wire = tl_writer_message(writer, &trapline__v1__override__descriptor);
    wire->rule = override->rule;
    wire->station = tl_writer_text(writer, override->station, sizeof override->station);
    wire->reason = tl_writer_text(writer, override->reason, sizeof override->reason);
    wire->valid_s = override->valid_s;
    return wire;
}

void
tl_map_override_in(const wire_override *wire, struct tl_override *override)
{
    memset(override, 0, sizeof *override);
    override->rule = wire->rule;
    tl_map_text_in(override->station, sizeof override->station, wire->station);
    tl_map_text_in(override->reason, sizeof override->reason, wire->reason);
    override->valid_s = wire->valid_s;
}

#define OUT(kind, member)                                                                          \
    case TL_DATUM_##kind:                                                                          \
        wire->value_case = TRAPLINE__V1__DATUM__VALUE_##kind;                                      \
        wire->member = write_##member(writer, datum);                                              \
        break;

void
tl_map_gear_out(struct tl_writer *writer, const struct tl_datum *datum, wire_datum *wire)
{
    switch ((int)datum->kind) {
        OUT(RIG, rig)
        OUT(SHEAVE, sheave)
        OUT(PENDANT, pendant)
        OUT(FREE, free)
        OUT(RETRACT, retract)
        OUT(STANCHIONS, stanchions)
        OUT(TRACK, track)
        OUT(AID, aid)
        OUT(ACCUMULATOR, accumulator)
        OUT(CROSSHEAD, crosshead)
        OUT(BARRICADE, barricade)
        OUT(BARRICADE_POWER, barricade_power)
        OUT(WATCH, watch)
        OUT(ACKNOWLEDGED, acknowledged)
        OUT(OUT_OF_SERVICE, out_of_service)
    case TL_DATUM_OVERRIDE:
        wire->value_case = TRAPLINE__V1__DATUM__VALUE_OVERRIDE;
        wire->override = tl_map_override_out(writer, &datum->as.override);
        break;
    default:
        tl_map_engine_out(writer, datum, wire);
        break;
    }
}

static void
read_rig(const wire_rig *wire, struct tl_datum *datum)
{
    datum->as.rig = tl_enum_from_wire(TL_ENUM_RIG_STATE, wire->state);
}

static void
read_sheave(const wire_sheave *wire, struct tl_datum *datum)
{
    datum->as.sheave.state = tl_enum_from_wire(TL_ENUM_SHEAVE_STATE, wire->state);
    datum->as.sheave.bypassed = wire->bypassed != 0;
}

static void
read_pendant(const wire_pendant *wire, struct tl_datum *datum)
{
    datum->as.pendant.state = tl_enum_from_wire(TL_ENUM_PENDANT_STATE, wire->state);
    datum->as.pendant.low_in_x100 = wire->low_in_x100;
    datum->as.pendant.high_in_x100 = wire->high_in_x100;
}

static void
read_free(const wire_free *wire, struct tl_datum *datum)
{
    datum->as.free.state = tl_enum_from_wire(TL_ENUM_FREE_STATE, wire->state);
    datum->as.free.wire = wire->wire;
}

static void
read_retract(const wire_retract *wire, struct tl_datum *datum)
{
    datum->as.retract.state = tl_enum_from_wire(TL_ENUM_RETRACT_STATE, wire->state);
    datum->as.retract.wire = wire->wire;
}

static void
read_stanchions(const wire_stanchions *wire, struct tl_datum *datum)
{
    datum->as.stanchions = tl_enum_from_wire(TL_ENUM_STANCHION_STATE, wire->state);
}

static void
read_track(const wire_track *wire, struct tl_datum *datum)
{
    datum->as.track = tl_enum_from_wire(TL_ENUM_TRACK_STATE, wire->state);
}

static void
read_aid(const wire_aid *wire, struct tl_datum *datum)
{
    datum->as.aid.state = tl_enum_from_wire(TL_ENUM_AID_STATE, wire->state);
    tl_map_text_in(datum->as.aid.type, sizeof datum->as.aid.type, wire->type);
    datum->as.aid.angle_deg_x100 = wire->angle_deg_x100;
    datum->as.aid.target_wire = wire->target_wire;
}

static void
read_accumulator(const wire_accumulator *wire, struct tl_datum *datum)
{
    datum->as.accumulator_psi = wire->pressure_psi;
}

static void
read_crosshead(const wire_crosshead *wire, struct tl_datum *datum)
{
    datum->as.crosshead_in_x100 = wire->gap_in_x100;
}

static void
read_barricade(const wire_barricade *wire, struct tl_datum *datum)
{
    datum->as.barricade.state = tl_enum_from_wire(TL_ENUM_BARRICADE_STATE, wire->state);
    datum->as.barricade.webbing_used = wire->webbing_used != 0;
}

static void
read_barricade_power(const wire_barricade_power *wire, struct tl_datum *datum)
{
    datum->as.barricade_power.pressure_psi = wire->pressure_psi;
    datum->as.barricade_power.cycles = wire->cycles;
}

static void
read_watch(const wire_watch *wire, struct tl_datum *datum)
{
    tl_map_text_in(datum->as.watch, sizeof datum->as.watch, wire->name);
}

static void
read_acknowledged(const wire_acknowledged *wire, struct tl_datum *datum)
{
    datum->as.instance = wire->instance;
}

static void
read_out_of_service(const wire_out_of_service *wire, struct tl_datum *datum)
{
    tl_map_text_in(datum->as.out_of_service, sizeof datum->as.out_of_service, wire->validator);
}

#define IN(kind, member)                                                                           \
    case TRAPLINE__V1__DATUM__VALUE_##kind:                                                        \
        read_##member(wire->member, datum);                                                        \
        return TL_DATUM_##kind;

enum tl_datum_kind
tl_map_gear_in(const wire_datum *wire, struct tl_datum *datum)
{
    switch ((int)wire->value_case) {
        IN(RIG, rig)
        IN(SHEAVE, sheave)
        IN(PENDANT, pendant)
        IN(FREE, free)
        IN(RETRACT, retract)
        IN(STANCHIONS, stanchions)
        IN(TRACK, track)
        IN(AID, aid)
        IN(ACCUMULATOR, accumulator)
        IN(CROSSHEAD, crosshead)
        IN(BARRICADE, barricade)
        IN(BARRICADE_POWER, barricade_power)
        IN(WATCH, watch)
        IN(ACKNOWLEDGED, acknowledged)
        IN(OUT_OF_SERVICE, out_of_service)
    case TRAPLINE__V1__DATUM__VALUE_OVERRIDE:
        tl_map_override_in(wire->override, &datum->as.override);
        return TL_DATUM_OVERRIDE;
    default:
        return tl_map_engine_in(wire, datum);
    }
}
