/* SPDX-License-Identifier: Apache-2.0 */
/* test_watermark - what may be called recorded, and what nobody can give any more */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "broker/recorder/watermark.h"

static void
take_run(struct tl_watermark *mark, uint64_t incarnation, uint64_t first, uint64_t last)
{
    for (uint64_t sequence = first; sequence <= last; sequence++) {
        (void)tl_watermark_take(mark, incarnation, sequence);
    }
}

static void
expect_gap(struct tl_watermark *mark, struct tl_held_range held, uint64_t first, uint64_t last)
{
    struct tl_gap gap = {0};
    assert_true(tl_watermark_gap(mark, &held, &gap));
    assert_int_equal(gap.first, first);
    assert_int_equal(gap.last, last);
}

static void
expect_no_gap(struct tl_watermark *mark, struct tl_held_range held)
{
    struct tl_gap gap = {0};
    assert_false(tl_watermark_gap(mark, &held, &gap));
}

static void
watermark_follows_changes_in_order(void **state)
{
    struct tl_watermark mark = {0};
    (void)state;
    assert_true(tl_watermark_take(&mark, 5, 1));
    assert_true(tl_watermark_take(&mark, 5, 2));
    assert_false(tl_watermark_take(&mark, 5, 2)); /* a resend */
    assert_int_equal(mark.through, 2);
}

static void
watermark_waits_for_what_is_missing(void **state)
{
    struct tl_watermark mark = {0};
    (void)state;
    assert_true(tl_watermark_take(&mark, 5, 1));
    assert_false(tl_watermark_take(&mark, 5, 3));
    assert_false(tl_watermark_take(&mark, 5, 4));
    assert_int_equal(mark.through, 1);
    assert_true(tl_watermark_take(&mark, 5, 2));
    assert_int_equal(mark.through, 4);
}

static void
watermark_remembers_up_to_the_window_and_not_beyond(void **state)
{
    struct tl_watermark mark = {0};
    (void)state;
    assert_true(tl_watermark_take(&mark, 5, 1));
    assert_false(tl_watermark_take(&mark, 5, 1 + TL_WINDOW));
    assert_false(tl_watermark_take(&mark, 5, 2 + TL_WINDOW)); /* would alias 2 */
    assert_int_equal(mark.through, 1);
    take_run(&mark, 5, 2, TL_WINDOW);
    assert_int_equal(mark.through, 1 + TL_WINDOW);
    assert_true(tl_watermark_take(&mark, 5, 2 + TL_WINDOW));
}

static void
watermark_window_can_wrap_many_times(void **state)
{
    struct tl_watermark mark = {0};
    (void)state;
    for (uint64_t sequence = 1; sequence < (uint64_t)5 * TL_WINDOW;
         sequence += 2) { /* pairs swapped */
        assert_int_equal(tl_watermark_take(&mark, 5, sequence + 1), sequence == 1);
        assert_int_equal(mark.through, sequence - 1);
        assert_true(tl_watermark_take(&mark, 5, sequence));
        assert_int_equal(mark.through, sequence + 1);
    }
}

static void
watermark_of_a_new_incarnation_begins_at_nothing(void **state)
{
    struct tl_watermark mark = {0};
    (void)state;
    take_run(&mark, 5, 1, 9);
    (void)tl_watermark_take(&mark, 5, 12);
    assert_true(tl_watermark_take(&mark, 6, 2));
    assert_int_equal(mark.incarnation, 6);
    assert_int_equal(mark.through, 0);
    assert_true(tl_watermark_take(&mark, 6, 1));
    assert_int_equal(mark.through, 2);
    take_run(&mark, 6, 3, 11);
    assert_int_equal(mark.through, 11); /* 12 was of the other life */
}

static void
watermark_is_not_moved_by_an_old_incarnation(void **state)
{
    struct tl_watermark mark = {0};
    (void)state;
    take_run(&mark, 6, 1, 2);
    assert_false(tl_watermark_take(&mark, 5, 3));
    expect_no_gap(&mark, (struct tl_held_range){5, 40, 30});
    assert_int_equal(mark.incarnation, 6);
    assert_int_equal(mark.through, 2);
}

static void
watermark_passes_over_what_its_station_dropped(void **state)
{
    struct tl_watermark mark = {0};
    (void)state;
    take_run(&mark, 5, 1, 4);
    expect_no_gap(&mark, (struct tl_held_range){5, 9, 5}); /* still held: it will come */
    assert_int_equal(mark.through, 4);
    expect_gap(&mark, (struct tl_held_range){5, 12, 8}, 5, 7);
    assert_int_equal(mark.through, 7);
    expect_no_gap(&mark, (struct tl_held_range){5, 12, 8});
}

static void
watermark_names_only_what_is_missing_as_a_gap(void **state)
{
    struct tl_watermark mark = {0};
    struct tl_held_range held = {5, 20, 12};
    (void)state;
    take_run(&mark, 5, 1, 2);
    take_run(&mark, 5, 5, 6);
    (void)tl_watermark_take(&mark, 5, 9);
    (void)tl_watermark_take(&mark, 5, 12);
    expect_gap(&mark, held, 3, 4);
    expect_gap(&mark, held, 7, 8);
    expect_gap(&mark, held, 10, 11);
    expect_no_gap(&mark, held);
    assert_int_equal(mark.through, 12);
}

static void
watermark_of_a_station_that_holds_nothing_is_its_last_change(void **state)
{
    struct tl_watermark mark = {0};
    (void)state;
    expect_gap(&mark, (struct tl_held_range){5, 3, 0}, 1, 3);
    assert_int_equal(mark.through, 3);
    expect_no_gap(&mark, (struct tl_held_range){5, 3, 0});
    expect_no_gap(&mark, (struct tl_held_range){6, 0, 0}); /* a fresh station has said nothing */
    assert_int_equal(mark.incarnation, 6);
}

static void
watermark_gap_wider_than_the_window_is_one_gap(void **state)
{
    struct tl_watermark mark = {0};
    (void)state;
    (void)tl_watermark_take(&mark, 5, 1);
    expect_gap(&mark, (struct tl_held_range){5, 5000, 4000}, 2, 3999);
    assert_int_equal(mark.through, 3999);
    assert_true(tl_watermark_take(&mark, 5, 4000));
}

static void
watermark_gap_ends_exactly_at_the_window(void **state)
{
    struct tl_watermark mark = {0};
    (void)state;
    (void)tl_watermark_take(&mark, 5, 1);
    (void)tl_watermark_take(&mark, 5, 1 + TL_WINDOW);
    expect_gap(&mark, (struct tl_held_range){5, 400, 300}, 2, TL_WINDOW);
    assert_int_equal(mark.through, 1 + TL_WINDOW);
    expect_gap(&mark, (struct tl_held_range){5, 400, 300}, 2 + TL_WINDOW, 299);
}

static void
watermark_read_again_goes_over_named_gaps(void **state)
{
    struct tl_watermark mark = {0};
    (void)state;
    take_run(&mark, 5, 1, 2);
    tl_watermark_take_gap(&mark, 5, &(struct tl_gap){3, 6});
    (void)tl_watermark_take(&mark, 5, 7);
    assert_int_equal(mark.through, 7);
    tl_watermark_take_gap(&mark, 5, &(struct tl_gap){9, 10}); /* 8 is not accounted for */
    assert_int_equal(mark.through, 7);
}

static void
watermarks_are_kept_for_stations_only(void **state)
{
    static struct tl_config config;
    struct tl_watermarks marks;
    (void)state;
    config.node_count = 2;
    config.node[0] = (struct tl_node){.id = "deck", .kind = TL_NODE_STATION};
    config.node[1] = (struct tl_node){.id = "viewer", .kind = TL_NODE_VIEWER};
    tl_watermarks_init(&marks, &config);
    assert_non_null(tl_watermark_of(&marks, "deck"));
    assert_null(tl_watermark_of(&marks, "viewer"));
    assert_null(tl_watermark_of(&marks, "nobody"));
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(watermark_follows_changes_in_order),
        cmocka_unit_test(watermark_waits_for_what_is_missing),
        cmocka_unit_test(watermark_remembers_up_to_the_window_and_not_beyond),
        cmocka_unit_test(watermark_window_can_wrap_many_times),
        cmocka_unit_test(watermark_of_a_new_incarnation_begins_at_nothing),
        cmocka_unit_test(watermark_is_not_moved_by_an_old_incarnation),
        cmocka_unit_test(watermark_passes_over_what_its_station_dropped),
        cmocka_unit_test(watermark_names_only_what_is_missing_as_a_gap),
        cmocka_unit_test(watermark_of_a_station_that_holds_nothing_is_its_last_change),
        cmocka_unit_test(watermark_gap_wider_than_the_window_is_one_gap),
        cmocka_unit_test(watermark_gap_ends_exactly_at_the_window),
        cmocka_unit_test(watermark_read_again_goes_over_named_gaps),
        cmocka_unit_test(watermarks_are_kept_for_stations_only),
    };
    return cmocka_run_group_tests_name("watermark", tests, NULL, NULL);
}
