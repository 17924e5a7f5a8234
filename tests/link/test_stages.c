/* SPDX-License-Identifier: Apache-2.0 */
/* test_stages - the time of a message, stage by stage: each has its own, and the sum is the whole */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include "proto/link/stages.h"

/* As tl_stage_begin, with the time given. */
static struct tl_stage_begun
begin_at(const struct tl_stages *stages, uint64_t at_ns)
{
    return (struct tl_stage_begun){.at_ns = at_ns, .inner_ns = stages->inner_ns};
}

static void
what_runs_within_is_taken_off(void **state)
{
    (void)state;
    struct tl_stages stages = {0};
    struct tl_stage_begun judge = begin_at(&stages, 1000);
    struct tl_stage_begun write = begin_at(&stages, 1100);
    tl_stage_add(&stages, TL_STAGE_WRITE, write, 1400);
    struct tl_stage_begun pass = begin_at(&stages, 1500);
    tl_stage_add(&stages, TL_STAGE_PASS, pass, 1700);
    tl_stage_add(&stages, TL_STAGE_JUDGE, judge, 2000);
    assert_int_equal(stages.stage[TL_STAGE_WRITE].total_ns, 300);
    assert_int_equal(stages.stage[TL_STAGE_PASS].total_ns, 200);
    assert_int_equal(stages.stage[TL_STAGE_JUDGE].total_ns, 500);
    /* and the next one begins anew */
    struct tl_stage_begun take = begin_at(&stages, 3000);
    tl_stage_add(&stages, TL_STAGE_TAKE, take, 3400);
    assert_int_equal(stages.stage[TL_STAGE_TAKE].total_ns, 400);
}

/* Three deep: the middle one is taken off the outer one whole, once. */
static void
also_three_deep(void **state)
{
    (void)state;
    struct tl_stages stages = {0};
    struct tl_stage_begun outer = begin_at(&stages, 0);
    struct tl_stage_begun middle = begin_at(&stages, 100);
    struct tl_stage_begun inner = begin_at(&stages, 200);
    tl_stage_add(&stages, TL_STAGE_PASS, inner, 300);
    tl_stage_add(&stages, TL_STAGE_WRITE, middle, 500);
    tl_stage_add(&stages, TL_STAGE_TEND, outer, 1000);
    assert_int_equal(stages.stage[TL_STAGE_PASS].total_ns, 100);
    assert_int_equal(stages.stage[TL_STAGE_WRITE].total_ns, 300);
    assert_int_equal(stages.stage[TL_STAGE_TEND].total_ns, 600);
}

static void
the_line_says_how_many_and_how_long(void **state)
{
    (void)state;
    char line[TL_STAGE_LINE_CAP];
    struct tl_stages stages = {0};
    assert_string_equal(tl_stage_text(&stages, TL_STAGE_VERIFY, line), "");
    for (uint64_t i = 0; i < 98; i++) {
        tl_stage_add(&stages, TL_STAGE_VERIFY, begin_at(&stages, 0), 60000);
    }
    tl_stage_add(&stages, TL_STAGE_VERIFY, begin_at(&stages, 0), 70000);
    tl_stage_add(&stages, TL_STAGE_VERIFY, begin_at(&stages, 0), 500000);
    /* 60,000 ns lie below 2^16 = 65,536, 70,000 below 2^17 = 131,072 */
    assert_string_equal(tl_stage_text(&stages, TL_STAGE_VERIFY, line),
                        "verify: 100 calls, 64.5 us on average, half in 65.5, 99 of 100 in 131.1, "
                        "worst 500.0 us");
}

/* A span of 0, one at each end of a step, and one beyond all steps. */
static void
every_span_has_its_step(void **state)
{
    (void)state;
    static const struct {
        uint64_t span_ns;
        uint32_t step;
    } rows[] = {{0, 0}, {1, 0},    {2, 1},     {3, 1},
                {4, 2}, {1023, 9}, {1024, 10}, {UINT64_MAX, TL_STAGE_STEPS - 1}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_stages stages = {0};
        tl_stage_add(&stages, TL_STAGE_TAKE, begin_at(&stages, 0), rows[i].span_ns);
        assert_int_equal(stages.stage[TL_STAGE_TAKE].within[rows[i].step], 1);
    }
}

/* Off: no place is needed, and none is written. */
static void
off_is_nothing(void **state)
{
    (void)state;
    struct tl_stage_begun begun = tl_stage_begin(NULL);
    assert_int_equal(begun.at_ns, 0);
    tl_stage_end(NULL, TL_STAGE_TAKE, begun);
    struct tl_stages stages = {0};
    begun = tl_stage_begin(&stages);
    assert_true(begun.at_ns > 0);
    tl_stage_end(&stages, TL_STAGE_TAKE, begun);
    assert_int_equal(stages.stage[TL_STAGE_TAKE].count, 1);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_runs_within_is_taken_off),
        cmocka_unit_test(also_three_deep),
        cmocka_unit_test(the_line_says_how_many_and_how_long),
        cmocka_unit_test(every_span_has_its_step),
        cmocka_unit_test(off_is_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
