/* SPDX-License-Identifier: Apache-2.0 */
/* map_wear.c - what pendants and cables have taken, and how passes ended. See map.h. */
#include <string.h>

#include "proto/codec/map.h"
#include "proto/codec/map_gear.h"

/* Each of three messages has the parts of struct tl_wear under the same names. */
#define WRITE_WEAR(writer, from, wire)                                                             \
    do {                                                                                           \
        (wire)->traps = (from)->traps;                                                             \
        (wire)->serial = tl_writer_text(writer, (from)->serial, sizeof(from)->serial);             \
        (wire)->last = tl_event_is((from)->counted.last)                                           \
                           ? tl_map_event_out(writer, (from)->counted.last)                        \
                           : NULL;                                                                 \
        (wire)->without = (from)->counted.without;                                                 \
    } while (0)
#define READ_WEAR(wire, to)                                                                        \
    do {                                                                                           \
        (to)->traps = (wire)->traps;                                                               \
        tl_map_text_in((to)->serial, sizeof(to)->serial, (wire)->serial);                          \
        (to)->counted.last = tl_map_event_in((wire)->last);                                        \
        (to)->counted.without = (wire)->without;                                                   \
    } while (0)

static wire_cable *
write_cable(struct tl_writer *writer, const struct tl_cable *cable)
{
    wire_cable *wire = tl_writer_message(writer, &trapline__v1__cable__descriptor);
    WRITE_WEAR(writer, &cable->wear, wire);
    wire->moved = cable->wear.moved;
    wire->detorqued_at = cable->detorqued_at;
    return wire;
}

static wire_pendant_life *
write_pendant_life(struct tl_writer *writer, const struct tl_wear *wear)
{
    wire_pendant_life *wire = tl_writer_message(writer, &trapline__v1__pendant_life__descriptor);
    WRITE_WEAR(writer, wear, wire);
    wire->moved = wear->moved;
    return wire;
}

/* A kind that is none of these leaves the value absent, which the check refuses. */
void
tl_map_wear_out(struct tl_writer *writer, const struct tl_datum *datum, wire_datum *wire)
{
    if (datum->kind == TL_DATUM_CABLE) {
        wire->value_case = TRAPLINE__V1__DATUM__VALUE_CABLE;
        wire->cable = write_cable(writer, &datum->as.cable);
    } else if (datum->kind == TL_DATUM_PENDANT_LIFE) {
        wire->value_case = TRAPLINE__V1__DATUM__VALUE_PENDANT_LIFE;
        wire->pendant_life = write_pendant_life(writer, &datum->as.pendant_life);
    }
}

enum tl_datum_kind
tl_map_wear_in(const wire_datum *wire, struct tl_datum *datum)
{
    if (wire->value_case == TRAPLINE__V1__DATUM__VALUE_CABLE) {
        READ_WEAR(wire->cable, &datum->as.cable.wear);
        datum->as.cable.wear.moved = wire->cable->moved != 0;
        datum->as.cable.detorqued_at = wire->cable->detorqued_at;
        return TL_DATUM_CABLE;
    }
    if (wire->value_case == TRAPLINE__V1__DATUM__VALUE_PENDANT_LIFE) {
        READ_WEAR(wire->pendant_life, &datum->as.pendant_life);
        datum->as.pendant_life.moved = wire->pendant_life->moved != 0;
        return TL_DATUM_PENDANT_LIFE;
    }
    return TL_DATUM_UNKNOWN;
}

wire_ended *
tl_map_ended_out(struct tl_writer *writer, const struct tl_ended *ended)
{
    wire_ended *wire = tl_writer_message(writer, &trapline__v1__ended__descriptor);
    wire->event = tl_map_event_out(writer, ended->event);
    wire->result = tl_map_result_out(writer, &ended->result);
    wire->barricade = ended->barricade;
    return wire;
}

void
tl_map_ended_in(const wire_ended *wire, struct tl_ended *ended)
{
    memset(ended, 0, sizeof *ended);
    ended->event = tl_map_event_in(wire->event);
    tl_map_result_in(wire->result, &ended->result);
    ended->barricade = wire->barricade != 0;
}

wire_worn *
tl_map_worn_out(struct tl_writer *writer, const struct tl_worn *worn)
{
    wire_worn *wire = tl_writer_message(writer, &trapline__v1__worn__descriptor);
    wire->wire = worn->wire;
    wire->engine = worn->engine;
    WRITE_WEAR(writer, &worn->wear, wire);
    wire->detorqued_at = worn->detorqued_at;
    wire->weighted_x1000 = worn->weighted_x1000;
    wire->not_weighed = worn->not_weighed;
    wire->inspect = worn->inspect;
    wire->removed = worn->removed;
    return wire;
}

void
tl_map_worn_in(const wire_worn *wire, struct tl_worn *worn)
{
    memset(worn, 0, sizeof *worn);
    worn->wire = wire->wire;
    worn->engine = wire->engine;
    READ_WEAR(wire, &worn->wear);
    worn->detorqued_at = wire->detorqued_at;
    worn->weighted_x1000 = wire->weighted_x1000;
    worn->not_weighed = wire->not_weighed;
    worn->inspect = wire->inspect != 0;
    worn->removed = wire->removed != 0;
}
