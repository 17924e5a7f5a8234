/* SPDX-License-Identifier: Apache-2.0 */
/*
 * arena.h - scratch memory handed out from front to back and given back all at once
 *
 * It lies in a tl_codec, so that what a sender can make us hold is bounded before we listen. The
 * bound is not a formality: an empty sub-message takes 2 bytes of a frame and up to 120 here.
 *
 * 1. Every piece is aligned to 16 bytes. 2. Once a piece did not fit, `full` stays set.
 */
#ifndef TL_CODEC_ARENA_H
#define TL_CODEC_ARENA_H

#include <stdbool.h>
#include <stddef.h>

#include <protobuf-c/protobuf-c.h>

#include "proto/codec/codec.h"

struct tl_arena {
    struct tl_codec *codec;
    bool full;
    ProtobufCAllocator allocator; /* for protobuf-c; giving back does nothing */
};

/* Empty the memory of codec (borrowed as long as the arena is used) and hand out from its start. */
void tl_arena_init(struct tl_arena *arena, struct tl_codec *codec);

/* Hand out size bytes, not cleared; NULL when they do not fit. size may be 0. */
void *tl_arena_take(struct tl_arena *arena, size_t size);

#endif
