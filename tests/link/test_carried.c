/* SPDX-License-Identifier: Apache-2.0 */
/* Which bus has brought own changes back: the memory alone; with sockets, see tests/relay. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <string.h>

#include "proto/link/carried.h"

enum {
    BUS_A = 0,
    BUS_B = 1,
    ON_A = 1,
    ON_B = 2
};

/* A frame of that sequence; `copy` makes a resend another frame. */
static void
hash_of(uint64_t sequence, uint8_t copy, uint8_t hash[TL_DUP_HASH_LEN])
{
    memset(hash, copy, TL_DUP_HASH_LEN);
    memcpy(hash, &sequence, sizeof sequence);
}

static void
send_copy(struct tl_carried *carried, uint64_t sequence, uint8_t copy)
{
    uint8_t hash[TL_DUP_HASH_LEN];

    hash_of(sequence, copy, hash);
    tl_carried_sent(carried, sequence, hash);
}

static bool
hear_copy(struct tl_carried *carried, uint32_t bus, uint64_t sequence, uint8_t copy)
{
    uint8_t hash[TL_DUP_HASH_LEN];

    hash_of(sequence, copy, hash);
    return tl_carried_heard(carried, bus, hash);
}

static void
expect(const struct tl_carried *carried, uint64_t sequence, uint32_t buses)
{
    bool kept = false;

    assert_int_equal(tl_carried_buses(carried, sequence, &kept), buses);
    assert_true(kept);
}

static void
a_change_counts_on_the_bus_that_brought_it(void **state)
{
    struct tl_carried carried = {0};

    (void)state;
    send_copy(&carried, 1, 0);
    expect(&carried, 1, 0);
    assert_int_equal(carried.highest[BUS_A], 0);
    assert_true(hear_copy(&carried, BUS_A, 1, 0));
    expect(&carried, 1, ON_A);
    assert_int_equal(carried.highest[BUS_A], 1);
    assert_int_equal(carried.highest[BUS_B], 0);
    assert_true(hear_copy(&carried, BUS_B, 1, 0));
    expect(&carried, 1, ON_A | ON_B);
    assert_true(hear_copy(&carried, BUS_B, 1, 0)); /* again is nothing new */
    expect(&carried, 1, ON_A | ON_B);
}

static void
a_later_change_says_nothing_of_an_earlier_one(void **state)
{
    struct tl_carried carried = {0};

    (void)state;
    send_copy(&carried, 1, 0);
    send_copy(&carried, 2, 0);
    assert_true(hear_copy(&carried, BUS_A, 1, 0));
    assert_true(hear_copy(&carried, BUS_A, 2, 0));
    assert_true(hear_copy(&carried, BUS_B, 2, 0));
    expect(&carried, 1, ON_A);
    expect(&carried, 2, ON_A | ON_B);
    assert_int_equal(carried.highest[BUS_B], 2);
    send_copy(&carried, 1, 1); /* sent again, it comes through, and the highest stays */
    assert_true(hear_copy(&carried, BUS_B, 1, 1));
    expect(&carried, 1, ON_A | ON_B);
    assert_int_equal(carried.highest[BUS_B], 2);
}

static void
a_frame_that_was_not_sent_counts_nowhere(void **state)
{
    struct tl_carried carried = {0};
    uint8_t zero[TL_DUP_HASH_LEN] = {0};
    bool kept = true;

    (void)state;
    assert_int_equal(tl_carried_buses(&carried, 0, &kept), 0);
    assert_false(kept);
    assert_false(tl_carried_heard(&carried, BUS_A, zero)); /* what an unused place holds */
    send_copy(&carried, 1, 0);
    assert_false(hear_copy(&carried, BUS_A, 1, 1));
    assert_false(hear_copy(&carried, BUS_A, 2, 0));
    assert_int_equal(carried.highest[BUS_A], 0);
    expect(&carried, 1, 0);
}

static void
what_is_older_than_the_window_is_no_longer_known(void **state)
{
    struct tl_carried carried = {0};
    bool kept = true;

    (void)state;
    for (uint64_t sequence = 1; sequence <= TL_WINDOW; sequence++) {
        send_copy(&carried, sequence, 0);
        assert_true(hear_copy(&carried, BUS_B, sequence, 0));
    }
    expect(&carried, 1, ON_B);
    send_copy(&carried, TL_WINDOW + 1, 0);
    expect(&carried, TL_WINDOW + 1, 0);
    assert_int_equal(tl_carried_buses(&carried, 1, &kept), 0);
    assert_false(kept);
    assert_false(hear_copy(&carried, BUS_A, 1, 0)); /* its frame has made room */
    assert_true(hear_copy(&carried, BUS_A, 2, 0));
    send_copy(&carried, 1, 1); /* an old one sent again does not take the place of the newer */
    assert_true(hear_copy(&carried, BUS_A, 1, 1));
    expect(&carried, TL_WINDOW + 1, 0);
    assert_int_equal(tl_carried_buses(&carried, 0, &kept), 0);
    assert_false(kept);
    assert_int_equal(tl_carried_buses(&carried, 2 * TL_WINDOW + 1, &kept), 0);
    assert_false(kept);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_change_counts_on_the_bus_that_brought_it),
        cmocka_unit_test(a_later_change_says_nothing_of_an_earlier_one),
        cmocka_unit_test(a_frame_that_was_not_sent_counts_nowhere),
        cmocka_unit_test(what_is_older_than_the_window_is_no_longer_known),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
