/* SPDX-License-Identifier: Apache-2.0 */
/*
 * unpack.h - bytes to generated struct, or the reason why not
 *
 * What must hold of the encoding whatever the fields mean. The meaning is judged in check.h.
 */
#ifndef TL_CODEC_UNPACK_H
#define TL_CODEC_UNPACK_H

#include "proto/codec/arena.h"
#include "proto/codec/wire.h"

/* Where a function returns a fault, this is "none found"; no check gives it as a reason. */
#define TL_FAULT_NONE TL_REFUSAL_UNKNOWN

/*
 * Unpack an envelope into the arena; *out is set only without a fault. The first of these holds:
 *   TOO_MANY      the arena is full: more parts than any message within the limits has
 *   TRUNCATED     does not unpack: cut short, a wrong wire type, a varint without end
 *   at the first unknown field, outer ones first:
 *     TRUNCATED     its number is 0, which no schema can have
 *     NEWER_SCHEMA  any other
 *   NEWER_SCHEMA  the schema number is above ours
 *   NOT_CANONICAL packs to other bytes: a field given twice or out of order, a default spelled
 *                 out, an overlong or too wide varint, a NUL inside a text
 */
enum tl_refusal tl_unpack(struct tl_arena *arena, const uint8_t *bytes, size_t len,
                          wire_envelope **out);

#endif
