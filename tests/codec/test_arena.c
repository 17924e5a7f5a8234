/* SPDX-License-Identifier: Apache-2.0 */
/* test_arena - the scratch memory is handed out aligned, whole, and never past its end */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "proto/codec/arena.h"
#include "tests/codec/support.h"

static size_t
offset_of(const struct world *world, const void *piece)
{
    return (size_t)((const uint8_t *)piece - world->codec.arena);
}

static void
arena_pieces_are_aligned_and_do_not_overlap(void **state)
{
    static const size_t sizes[] = {1, 15, 16, 17, 0, 100, 4096};
    struct world *world = *state;
    struct tl_arena arena;
    size_t end = 0;

    tl_arena_init(&arena, &world->codec);
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
        void *piece = tl_arena_take(&arena, sizes[i]);
        assert_non_null(piece);
        assert_int_equal((uintptr_t)piece % 16, 0);
        assert_true(offset_of(world, piece) >= end);
        end = offset_of(world, piece) + sizes[i];
    }
    assert_false(arena.full);
}

static void
arena_is_handed_out_to_its_last_byte_and_no_further(void **state)
{
    static const size_t rests[] = {0, 1, 15, 16, 17};
    struct world *world = *state;

    for (size_t i = 0; i < sizeof rests / sizeof rests[0]; i++) {
        struct tl_arena arena;
        size_t rest = (rests[i] + 15) / 16 * 16;
        tl_arena_init(&arena, &world->codec);
        assert_non_null(tl_arena_take(&arena, TL_CODEC_ARENA - rest));
        uint8_t *last = tl_arena_take(&arena, rests[i]);
        assert_non_null(last);
        assert_true(offset_of(world, last) + rests[i] <= TL_CODEC_ARENA);
        assert_null(tl_arena_take(&arena, 1));
        assert_true(arena.full);
        assert_null(tl_arena_take(&arena, 0)); /* and it stays so */
        assert_true(world->codec.used <= TL_CODEC_ARENA);
    }
}

static void
arena_refuses_sizes_that_would_wrap(void **state)
{
    static const size_t sizes[] = {TL_CODEC_ARENA + 1, SIZE_MAX, SIZE_MAX - 15, SIZE_MAX / 2 + 1};
    struct world *world = *state;

    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
        struct tl_arena arena;
        tl_arena_init(&arena, &world->codec);
        assert_null(tl_arena_take(&arena, sizes[i]));
        assert_int_equal(world->codec.used, 0);
    }
}

static void
arena_begins_anew(void **state)
{
    struct world *world = *state;
    struct tl_arena arena;

    tl_arena_init(&arena, &world->codec);
    assert_null(tl_arena_take(&arena, SIZE_MAX));
    tl_arena_init(&arena, &world->codec);
    assert_non_null(arena.allocator.alloc(arena.allocator.allocator_data, TL_CODEC_ARENA));
    arena.allocator.free(arena.allocator.allocator_data, world->codec.arena);
    assert_null(arena.allocator.alloc(arena.allocator.allocator_data, 1));
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(arena_pieces_are_aligned_and_do_not_overlap),
        cmocka_unit_test(arena_is_handed_out_to_its_last_byte_and_no_further),
        cmocka_unit_test(arena_refuses_sizes_that_would_wrap),
        cmocka_unit_test(arena_begins_anew),
    };
    return cmocka_run_group_tests_name("arena", tests, world_open, world_close);
}
