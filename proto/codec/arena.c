/* SPDX-License-Identifier: Apache-2.0 */
/* arena.c - see arena.h. */
#include "proto/codec/arena.h"

enum {
    ALIGNMENT = 16
};

static_assert(TL_CODEC_ARENA % ALIGNMENT == 0, "the last piece may end where the arena ends");

static void *
take_for_protobuf(void *allocator_data, size_t size)
{
    return tl_arena_take(allocator_data, size);
}

static void
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): the parameters are the library's */
keep_for_protobuf(void *allocator_data, void *pointer)
{
    (void)allocator_data;
    (void)pointer;
}

void
tl_arena_init(struct tl_arena *arena, struct tl_codec *codec)
{
    codec->used = 0;
    arena->codec = codec;
    arena->full = false;
    arena->allocator.alloc = take_for_protobuf;
    arena->allocator.free = keep_for_protobuf;
    arena->allocator.allocator_data = arena;
}

void *
tl_arena_take(struct tl_arena *arena, size_t size)
{
    struct tl_codec *codec = arena->codec;

    if (arena->full || size > TL_CODEC_ARENA - codec->used) {
        arena->full = true;
        return NULL;
    }
    void *piece = codec->arena + codec->used;
    codec->used += (size + ALIGNMENT - 1) / ALIGNMENT * ALIGNMENT;
    return piece;
}
