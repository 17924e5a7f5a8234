/* SPDX-License-Identifier: Apache-2.0 */
/* test_newer - who speaks a newer schema is known by name and version, and said once a minute. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "proto/link/newer.h"

static struct tl_drop
drop_of(const char *publisher, uint32_t schema)
{
    struct tl_drop drop = {
        .reason = TL_REFUSAL_NEWER_SCHEMA, .signed_by_publisher = true, .schema = schema};
    (void)snprintf(drop.publisher, sizeof drop.publisher, "%s", publisher);
    return drop;
}

static int
open_newer(void **state)
{
    *state = calloc(1, sizeof(struct tl_newer));
    return *state == NULL ? -1 : 0;
}

static int
close_newer(void **state)
{
    free(*state);
    return 0;
}

static void
newer_is_told_at_first_and_each_minute(void **state)
{
    struct tl_newer *newer = *state;
    struct tl_drop drop = drop_of("engine-4", 2);
    assert_true(tl_newer_heard(newer, &drop, 5000));
    for (uint64_t ms = 5200; ms < 65000; ms += 200) {
        assert_false(tl_newer_heard(newer, &drop, ms));
    }
    assert_true(tl_newer_heard(newer, &drop, 65000));
    assert_false(tl_newer_heard(newer, &drop, 65200));
    struct tl_drop other = drop_of("deck", 3);
    assert_true(tl_newer_heard(newer, &other, 65400));
}

static void
newer_number_that_changes_is_told_once_a_second(void **state)
{
    struct tl_newer *newer = *state;
    struct tl_drop drop = drop_of("engine-4", 2);
    assert_true(tl_newer_heard(newer, &drop, 5000));
    for (uint64_t ms = 5200; ms < 6000; ms += 200) {
        drop.schema++;
        assert_false(tl_newer_heard(newer, &drop, ms));
        assert_int_equal(tl_newer_schema(newer, "engine-4", ms), drop.schema);
    }
    assert_true(tl_newer_heard(newer, &drop, 6000));
}

static void
newer_counts_only_when_signed_and_of_that_reason(void **state)
{
    struct tl_newer *newer = *state;
    struct tl_drop forged = drop_of("engine-4", 2);
    struct tl_drop garbled = drop_of("engine-4", 2);
    forged.signed_by_publisher = false;
    garbled.reason = TL_REFUSAL_ENUM;
    assert_false(tl_newer_heard(newer, &forged, 5000));
    assert_false(tl_newer_heard(newer, &garbled, 5000));
    assert_int_equal(tl_newer_schema(newer, "engine-4", 5000), 0);
}

static void
newer_lasts_two_seconds_after_it_was_heard(void **state)
{
    struct tl_newer *newer = *state;
    struct tl_drop drop = drop_of("validator-1", 7);
    (void)tl_newer_heard(newer, &drop, 5000);
    assert_int_equal(tl_newer_schema(newer, "validator-1", 7000), 7);
    assert_int_equal(tl_newer_schema(newer, "validator-1", 7001), 0);
    assert_int_equal(tl_newer_schema(newer, "validator-2", 5000), 0);
}

static void
newer_table_that_is_full_takes_nobody_more(void **state)
{
    struct tl_newer *newer = *state;
    for (int i = 0; i < TL_NODES_MAX; i++) {
        char id[TL_ID_CAP];
        (void)snprintf(id, sizeof id, "node-%d", i);
        struct tl_drop drop = drop_of(id, 2);
        assert_true(tl_newer_heard(newer, &drop, 5000));
    }
    struct tl_drop drop = drop_of("one-more", 2);
    assert_false(tl_newer_heard(newer, &drop, 5000));
    drop = drop_of("node-0", 2);
    assert_true(tl_newer_heard(newer, &drop, 65000));
}

static void
newer_text_names_the_node_and_both_versions(void **state)
{
    char text[TL_TEXT_CAP];
    (void)state;
    assert_string_equal(tl_newer_text("engine-4", 2, text, sizeof text),
                        "engine-4 speaks schema 2, known here is 1");
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(newer_is_told_at_first_and_each_minute, open_newer,
                                        close_newer),
        cmocka_unit_test_setup_teardown(newer_number_that_changes_is_told_once_a_second, open_newer,
                                        close_newer),
        cmocka_unit_test_setup_teardown(newer_counts_only_when_signed_and_of_that_reason,
                                        open_newer, close_newer),
        cmocka_unit_test_setup_teardown(newer_lasts_two_seconds_after_it_was_heard, open_newer,
                                        close_newer),
        cmocka_unit_test_setup_teardown(newer_table_that_is_full_takes_nobody_more, open_newer,
                                        close_newer),
        cmocka_unit_test(newer_text_names_the_node_and_both_versions),
    };
    return cmocka_run_group_tests_name("newer", tests, NULL, NULL);
}
