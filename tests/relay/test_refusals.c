/* SPDX-License-Identifier: Apache-2.0 */
/* test_refusals - what is said of refusals, how often, and that nothing is lost in between. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "broker/relay/refusals.h"

static int
set_up(void **state)
{
    *state = calloc(1, sizeof(struct tl_refusal_book));
    assert_non_null(*state);
    return 0;
}

static int
tear_down(void **state)
{
    free(*state);
    return 0;
}

static void
note(struct tl_refusal_book *book, const char *publisher, unsigned count)
{
    for (unsigned i = 0; i < count; i++) {
        tl_refusals_note(book, publisher, TL_REFUSAL_NOT_YOUR_TOPIC, "change/deck/");
    }
}

static void
an_empty_book_has_nothing_to_say(void **state)
{
    struct tl_refusal_book *book = *state;
    struct tl_refusals lines = {.count = 7};

    assert_int_equal(tl_refusals_take(book, 0, &lines), 0);
    assert_int_equal(lines.count, 0);
    assert_true(tl_refusals_due_ms(book, 5000) == UINT64_MAX);
}

static void
the_first_refusal_is_said_at_once_with_all_its_parts(void **state)
{
    struct tl_refusal_book *book = *state;
    struct tl_refusals lines;

    tl_refusals_note(book, "engine-1", TL_REFUSAL_OVERSIZE, "beat/engine-1/");
    assert_int_equal(tl_refusals_due_ms(book, 5000), 5000);
    assert_int_equal(tl_refusals_take(book, 5000, &lines), 1);
    assert_string_equal(lines.refusal[0].publisher, "engine-1");
    assert_int_equal(lines.refusal[0].reason, TL_REFUSAL_OVERSIZE);
    assert_int_equal(lines.refusal[0].count, 1);
    assert_string_equal(lines.refusal[0].topic, "beat/engine-1/");
    assert_true(tl_refusals_due_ms(book, 5000) == UINT64_MAX);
}

static void
equal_refusals_become_one_line_with_their_count_and_newest_topic(void **state)
{
    struct tl_refusal_book *book = *state;
    struct tl_refusals lines;

    note(book, "engine-1", 1000);
    tl_refusals_note(book, "engine-1", TL_REFUSAL_NOT_YOUR_TOPIC, "change/bridge/");
    assert_int_equal(tl_refusals_take(book, 0, &lines), 1);
    assert_int_equal(lines.refusal[0].count, 1001);
    assert_string_equal(lines.refusal[0].topic, "change/bridge/");
}

static void
a_publisher_has_two_lines_in_any_second_and_the_third_when_it_is_over(void **state)
{
    struct tl_refusal_book *book = *state;
    struct tl_refusals lines;

    note(book, "deck", 1);
    assert_int_equal(tl_refusals_take(book, 10000, &lines), 1);
    note(book, "deck", 1);
    assert_int_equal(tl_refusals_take(book, 10400, &lines), 1);
    note(book, "deck", 5);
    assert_int_equal(tl_refusals_due_ms(book, 10400), 11000);
    assert_int_equal(tl_refusals_take(book, 10999, &lines), 0);
    assert_int_equal(tl_refusals_take(book, 11000, &lines), 1);
    assert_int_equal(lines.refusal[0].count, 5);
    note(book, "deck", 1);
    assert_int_equal(tl_refusals_due_ms(book, 11000), 11400);
    assert_int_equal(tl_refusals_take(book, 11399, &lines), 0);
    assert_int_equal(tl_refusals_take(book, 11400, &lines), 1);
}

static void
two_reasons_of_one_publisher_are_two_lines(void **state)
{
    struct tl_refusal_book *book = *state;
    struct tl_refusals lines;

    tl_refusals_note(book, "deck", TL_REFUSAL_FRAMES, "a");
    tl_refusals_note(book, "deck", TL_REFUSAL_EMPTY, "b");
    tl_refusals_note(book, "deck", TL_REFUSAL_REVOKED, "c");
    assert_int_equal(tl_refusals_take(book, 0, &lines), 2);
    assert_int_not_equal(lines.refusal[0].reason, lines.refusal[1].reason);
    assert_int_equal(tl_refusals_take(book, 1000, &lines), 1); /* the third had to wait */
}

static void
a_bus_has_ten_lines_in_any_second(void **state)
{
    struct tl_refusal_book *book = *state;
    struct tl_refusals lines;
    uint32_t said = 0;

    for (int i = 0; i < 20; i++) {
        char name[TL_ID_CAP];
        (void)snprintf(name, sizeof name, "node-%d", i);
        note(book, name, 1);
    }
    assert_int_equal(tl_refusals_take(book, 500, &lines), TL_REFUSALS_MAX);
    assert_int_equal(tl_refusals_take(book, 500, &lines), 2);
    assert_int_equal(tl_refusals_take(book, 1499, &lines), 0);
    assert_int_equal(tl_refusals_due_ms(book, 500), 1500);
    for (uint64_t now_ms = 1500; now_ms < 2500; now_ms++) {
        said += tl_refusals_take(book, now_ms, &lines);
    }
    assert_int_equal(said, 10);
    assert_true(tl_refusals_due_ms(book, 2500) == UINT64_MAX);
}

static void
publishers_take_turns(void **state)
{
    struct tl_refusal_book *book = *state;
    struct tl_refusals lines;
    unsigned of_quiet = 0;
    uint64_t said_ms = 0;

    /* Six noisy ones could use up all ten lines of every second. */
    for (uint64_t now_ms = 0; now_ms < 5000; now_ms += 10) {
        note(book, "loud-1", 3);
        note(book, "loud-2", 3);
        note(book, "loud-3", 3);
        note(book, "loud-4", 3);
        note(book, "loud-5", 3);
        note(book, "loud-6", 3);
        if (now_ms == 1000) {
            note(book, "quiet", 1);
        }
        (void)tl_refusals_take(book, now_ms, &lines);
        for (uint32_t i = 0; i < lines.count; i++) {
            if (strcmp(lines.refusal[i].publisher, "quiet") == 0) {
                of_quiet++;
                said_ms = now_ms;
            }
        }
    }
    assert_int_equal(of_quiet, 1);
    assert_in_range(said_ms, 1000, 2000);
}

static void
under_any_load_the_rates_hold_and_every_refusal_is_counted_once(void **state)
{
    static const char *const NAMES[] = {"", "deck", "engine-1", "engine-2", "bridge", "primary"};
    static const enum tl_refusal REASONS[] = {TL_REFUSAL_FRAMES, TL_REFUSAL_OVERSIZE,
                                              TL_REFUSAL_REVOKED, TL_REFUSAL_EMPTY};
    struct tl_refusal_book *book = *state;
    struct tl_refusals lines;
    uint64_t at_ms[4000];
    size_t which[4000];
    size_t said = 0;
    uint64_t noted = 0;
    uint64_t counted = 0;
    uint64_t now_ms = 1;
    const unsigned seed = 20260117;
    unsigned random = seed;

    for (int step = 0; step < 20000; step++) {
        random = random * 1103515245U + 12345U;
        now_ms += (random >> 16) % 7;
        if (step < 19000) {
            tl_refusals_note(book, NAMES[(random >> 8) % 6], REASONS[(random >> 20) % 4], "x/");
            noted++;
        }
        (void)tl_refusals_take(book, step < 19000 ? now_ms : (now_ms += 500), &lines);
        for (uint32_t i = 0; i < lines.count && said < 4000; i++) {
            counted += lines.refusal[i].count;
            at_ms[said] = now_ms;
            for (which[said] = 0; strcmp(NAMES[which[said]], lines.refusal[i].publisher) != 0;) {
                which[said]++;
            }
            said++;
        }
    }
    assert_int_equal(counted, noted);
    for (size_t i = 0; i < said; i++) {
        unsigned all = 0;
        unsigned same = 0;
        for (size_t j = i; j < said && at_ms[j] < at_ms[i] + 1000; j++) {
            all++;
            same += which[j] == which[i] ? 1U : 0U;
        }
        if (all > TL_REFUSALS_PER_BUS_HZ || same > TL_REFUSALS_PER_PUBLISHER_HZ) {
            fail_msg("seed %u: %u lines, %u of '%s', in the second from %lu", seed, all, same,
                     NAMES[which[i]], (unsigned long)at_ms[i]);
        }
    }
}

static void
a_count_stops_at_its_maximum(void **state)
{
    struct tl_refusal_book *book = *state;
    struct tl_refusals lines;

    note(book, "deck", 1);
    book->page[0].by_reason[TL_REFUSAL_NOT_YOUR_TOPIC].count = UINT32_MAX;
    note(book, "deck", 1);
    assert_int_equal(tl_refusals_take(book, 0, &lines), 1);
    assert_int_equal(lines.refusal[0].count, UINT32_MAX);
}

static void
all_nodes_and_the_nameless_have_a_page(void **state)
{
    struct tl_refusal_book *book = *state;
    char name[TL_ID_CAP];

    note(book, "", 1);
    for (int i = 0; i < TL_NODES_MAX; i++) {
        (void)snprintf(name, sizeof name, "node-%d", i);
        note(book, name, 1);
    }
    assert_int_equal(book->page_count, TL_REFUSAL_PUBLISHERS);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(an_empty_book_has_nothing_to_say, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_first_refusal_is_said_at_once_with_all_its_parts,
                                        set_up, tear_down),
        cmocka_unit_test_setup_teardown(
            equal_refusals_become_one_line_with_their_count_and_newest_topic, set_up, tear_down),
        cmocka_unit_test_setup_teardown(
            a_publisher_has_two_lines_in_any_second_and_the_third_when_it_is_over, set_up,
            tear_down),
        cmocka_unit_test_setup_teardown(two_reasons_of_one_publisher_are_two_lines, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(a_bus_has_ten_lines_in_any_second, set_up, tear_down),
        cmocka_unit_test_setup_teardown(publishers_take_turns, set_up, tear_down),
        cmocka_unit_test_setup_teardown(
            under_any_load_the_rates_hold_and_every_refusal_is_counted_once, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_count_stops_at_its_maximum, set_up, tear_down),
        cmocka_unit_test_setup_teardown(all_nodes_and_the_nameless_have_a_page, set_up, tear_down),
    };

    return cmocka_run_group_tests_name("refusals", tests, NULL, NULL);
}
