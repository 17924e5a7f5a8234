/* SPDX-License-Identifier: Apache-2.0 */
/* map_engine.c - what an engine room and the gear officer say of an engine. See map.h. */
#include "proto/codec/map.h"
#include "proto/codec/map_gear.h"

static wire_service *
write_service(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_service *wire = tl_writer_message(writer, &trapline__v1__service__descriptor);
    wire->state = tl_writer_enum(writer, TL_ENUM_SERVICE_STATE, datum->as.service.state);
    wire->job = datum->as.service.job;
    return wire;
}

static wire_fluid *
write_fluid(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_fluid *wire = tl_writer_message(writer, &trapline__v1__fluid__descriptor);
    wire->state = tl_writer_enum(writer, TL_ENUM_FLUID_STATE, datum->as.fluid);
    return wire;
}

static wire_fault *
write_fault(struct tl_writer *writer, const struct tl_datum *datum)
{
    wire_fault *wire = tl_writer_message(writer, &trapline__v1__fault__descriptor);
    wire->state = tl_writer_enum(writer, TL_ENUM_FAULT_STATE, datum->as.fault.state);
    wire->code = datum->as.fault.code;
    return wire;
}

static wire_arrest *
write_arrest(struct tl_writer *writer, const struct tl_datum *datum)
{
    const struct tl_arrest *arrest = &datum->as.arrest;
    wire_arrest *wire = tl_writer_message(writer, &trapline__v1__arrest__descriptor);
    wire->event = tl_map_event_out(writer, arrest->event);
    wire->ram_in_x10 = arrest->ram_in_x10;
    wire->off_centre_ft_x10 = arrest->off_centre_ft_x10;
    wire->apart_in_x10 = arrest->apart_in_x10;
    wire->walk_back_ft_x10 = arrest->walk_back_ft_x10;
    return wire;
}

static wire_freed *
write_freed(struct tl_writer *writer, const struct tl_datum *datum)
{
    const struct tl_freed *freed = &datum->as.freed;
    wire_freed *wire = tl_writer_message(writer, &trapline__v1__freed__descriptor);
    wire->event = tl_map_event_out(writer, freed->event);
    wire->name = tl_writer_text(writer, freed->name, sizeof freed->name);
    return wire;
}

static wire_signed_off *
write_signed_off(struct tl_writer *writer, const struct tl_datum *datum)
{
    const struct tl_signed_off *off = &datum->as.signed_off;
    wire_signed_off *wire = tl_writer_message(writer, &trapline__v1__signed_off__descriptor);
    wire->job = off->job;
    wire->name = tl_writer_text(writer, off->name, sizeof off->name);
    return wire;
}

static wire_inspected *
write_inspected(struct tl_writer *writer, const struct tl_datum *datum)
{
    const struct tl_inspected *inspected = &datum->as.inspected;
    wire_inspected *wire = tl_writer_message(writer, &trapline__v1__inspected__descriptor);
    wire->state = tl_writer_enum(writer, TL_ENUM_INSPECTION_STATE, inspected->state);
    wire->name = tl_writer_text(writer, inspected->name, sizeof inspected->name);
    return wire;
}

#define OUT(kind, member)                                                                          \
    case TL_DATUM_##kind:                                                                          \
        wire->value_case = TRAPLINE__V1__DATUM__VALUE_##kind;                                      \
        wire->member = write_##member(writer, datum);                                              \
        break;

/* A kind that is none of these leaves the value absent, which the check refuses. */
void
tl_map_engine_out(struct tl_writer *writer, const struct tl_datum *datum, wire_datum *wire)
{
    switch ((int)datum->kind) {
        OUT(SERVICE, service)
        OUT(FLUID, fluid)
        OUT(FAULT, fault)
        OUT(ARREST, arrest)
        OUT(FREED, freed)
        OUT(SIGNED_OFF, signed_off)
        OUT(INSPECTED, inspected)
    default:
        tl_map_wear_out(writer, datum, wire);
        break;
    }
}

static void
read_service(const wire_service *wire, struct tl_datum *datum)
{
    datum->as.service.state = tl_enum_from_wire(TL_ENUM_SERVICE_STATE, wire->state);
    datum->as.service.job = wire->job;
}

static void
read_fluid(const wire_fluid *wire, struct tl_datum *datum)
{
    datum->as.fluid = tl_enum_from_wire(TL_ENUM_FLUID_STATE, wire->state);
}

static void
read_fault(const wire_fault *wire, struct tl_datum *datum)
{
    datum->as.fault.state = tl_enum_from_wire(TL_ENUM_FAULT_STATE, wire->state);
    datum->as.fault.code = wire->code;
}

static void
read_arrest(const wire_arrest *wire, struct tl_datum *datum)
{
    struct tl_arrest *arrest = &datum->as.arrest;
    arrest->event = tl_map_event_in(wire->event);
    arrest->ram_in_x10 = wire->ram_in_x10;
    arrest->off_centre_ft_x10 = wire->off_centre_ft_x10;
    arrest->apart_in_x10 = wire->apart_in_x10;
    arrest->walk_back_ft_x10 = wire->walk_back_ft_x10;
}

static void
read_freed(const wire_freed *wire, struct tl_datum *datum)
{
    datum->as.freed.event = tl_map_event_in(wire->event);
    tl_map_text_in(datum->as.freed.name, sizeof datum->as.freed.name, wire->name);
}

static void
read_signed_off(const wire_signed_off *wire, struct tl_datum *datum)
{
    datum->as.signed_off.job = wire->job;
    tl_map_text_in(datum->as.signed_off.name, sizeof datum->as.signed_off.name, wire->name);
}

static void
read_inspected(const wire_inspected *wire, struct tl_datum *datum)
{
    datum->as.inspected.state = tl_enum_from_wire(TL_ENUM_INSPECTION_STATE, wire->state);
    tl_map_text_in(datum->as.inspected.name, sizeof datum->as.inspected.name, wire->name);
}

#define IN(kind, member)                                                                           \
    case TRAPLINE__V1__DATUM__VALUE_##kind:                                                        \
        read_##member(wire->member, datum);                                                        \
        return TL_DATUM_##kind;

enum tl_datum_kind
tl_map_engine_in(const wire_datum *wire, struct tl_datum *datum)
{
    switch ((int)wire->value_case) {
        IN(SERVICE, service)
        IN(FLUID, fluid)
        IN(FAULT, fault)
        IN(ARREST, arrest)
        IN(FREED, freed)
        IN(SIGNED_OFF, signed_off)
        IN(INSPECTED, inspected)
    default:
        return tl_map_wear_in(wire, datum);
    }
}
