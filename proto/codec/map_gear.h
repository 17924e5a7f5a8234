/* SPDX-License-Identifier: Apache-2.0 */
/* map_gear.h - the values of map_gear.c, for map_datum.c and map_picture.c alone. */
#ifndef TL_CODEC_MAP_GEAR_H
#define TL_CODEC_MAP_GEAR_H

#include "proto/codec/map.h"

/* Write the value of a kind that map_datum.c does not know; nothing for any other kind. */
void tl_map_gear_out(struct tl_writer *writer, const struct tl_datum *datum, wire_datum *wire);
/* Read such a value; UNKNOWN, and nothing written, for any other. */
enum tl_datum_kind tl_map_gear_in(const wire_datum *wire, struct tl_datum *datum);

/* The same for what is said of an engine by its room and by the gear officer. */
void tl_map_engine_out(struct tl_writer *writer, const struct tl_datum *datum, wire_datum *wire);
enum tl_datum_kind tl_map_engine_in(const wire_datum *wire, struct tl_datum *datum);

/* The same for the wear of a cable or a pendant. */
void tl_map_wear_out(struct tl_writer *writer, const struct tl_datum *datum, wire_datum *wire);
enum tl_datum_kind tl_map_wear_in(const wire_datum *wire, struct tl_datum *datum);

wire_override *tl_map_override_out(struct tl_writer *writer, const struct tl_override *override);
void tl_map_override_in(const wire_override *wire, struct tl_override *override);

#endif
