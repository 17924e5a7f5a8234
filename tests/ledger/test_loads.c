/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_loads - what traps weigh, and when an inspection is due
 *
 * D = sum (F_i / F_ref)^k / N is linear damage (Palmgren 1924, Miner 1945) with a life that goes by a
 * power of the load, as ISO 281 has it for bearings; that a pendant wears so is the project's. The
 * powers are checked against pow() of the C library. After each group of landings, and after an excess
 * load: NAVEDTRA 14001 p. 103. The ship, its loads and what is an excess are invented.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <math.h>

#include "tests/ledger/pages.h"

#define R       ((uint64_t)PAGES_R)
#define PENDANT TL_DATUM_PENDANT_LIFE
#define CABLE   TL_DATUM_CABLE

enum {
    WIRE = 3,
    LIGHT_LB = 30000,
    HEAVY_LB = 40000,
    LIFE = 125
};

static struct pages *
start(uint32_t exponent)
{
    struct pages *p = pages_new();
    p->config.wear = (struct tl_wear_figures){exponent, exponent != 0 ? 100 : 0, 0};
    pages_recovery(p, R, false, TL_RECOVERY_OPEN);
    pages_set(p, WIRE, LIGHT_LB);
    pages_word(p, (struct pages_word){PENDANT, WIRE, 0, "P-0412", {{R - 1, 1}, 0}, 0, false});
    return p;
}

/* What the mechanics gave for both settings, and then the trap. */
static void
trap_at(struct pages *p, uint32_t pass, uint32_t light, uint32_t heavy)
{
    struct tl_predicted predicted = {
        .event = {R, pass},
        .arrest = {.known = true,
                   .would_count = 2,
                   .would = {{.set_lb = LIGHT_LB, .tension_percent = light},
                             {.set_lb = HEAVY_LB, .tension_percent = heavy}}}};
    tl_ledger_predicted(&p->ledger, &predicted);
    pages_trap(p, pass, WIRE);
}

static uint64_t
weighted(const struct pages *p)
{
    return tl_fit_weighted_ppm(&p->ledger, pages_fit(p, PENDANT, WIRE));
}

static uint32_t
unweighed(const struct pages *p)
{
    return tl_fit_unweighed(&p->ledger, pages_fit(p, PENDANT, WIRE));
}

/* 100 traps at the reference and 10 a fifth above it, k = 5: 0.99907 of a life of 125, by hand. */
static void
the_worked_figure(void **state)
{
    (void)state;
    struct pages *p = start(5);
    for (uint32_t pass = 1; pass <= 110; pass++) {
        trap_at(p, pass, pass % 11 == 0 ? 120 : 100, 0);
    }
    assert_int_equal(pages_traps(p, PENDANT, WIRE), 110);
    assert_int_equal(unweighed(p), 0);
    assert_int_equal(weighted(p), 124883200);
    double life = (double)weighted(p) / 1e6 / LIFE;
    char text[16];
    (void)snprintf(text, sizeof text, "%.5f", life);
    assert_string_equal(text, "0.99907");
    struct tl_worn worn[TL_WORN_MAX];
    assert_int_equal(tl_ledger_worn(&p->ledger, worn), 1);
    assert_int_equal(worn[0].weighted_x1000, 124884); /* up, never down */
    free(p);
}

/* Up by less than one at each of its k steps. */
static void
expect_power(uint32_t percent, const struct tl_wear_figures *figures)
{
    const uint32_t k = figures->exponent;
    const double share = (double)percent / figures->reference_percent;
    const double exact = 1e6 * pow(share, k);
    const double ppm = (double)tl_load_ppm(percent, figures);
    if (exact > 9e11) {
        return; /* held, see below */
    }
    if (ppm < exact * (1 - 1e-12) || ppm > exact * (1 + 1e-12) + k * pow(fmax(1.0, share), k)) {
        fail_msg("%u of %u, k %u: %f for %f", percent, figures->reference_percent, k, ppm, exact);
    }
}

static void
a_power_is_that_of_the_c_library_rounded_up(void **state)
{
    (void)state;
    for (uint32_t k = 1; k <= 10; k++) {
        for (uint32_t reference = 40; reference <= 160; reference += 7) {
            const struct tl_wear_figures figures = {k, reference, 0};
            for (uint32_t percent = 1; percent <= 250; percent++) {
                expect_power(percent, &figures);
            }
        }
    }
}

/* It stands for more traps than any gear has. */
static void
a_slip_of_a_figure_is_held_and_not_run_over(void **state)
{
    (void)state;
    const struct tl_wear_figures slip = {20, 1, 0};
    assert_true(tl_load_ppm(1000, &slip) >= 1000000000000ull);
    assert_true(tl_load_ppm(18446745, &slip) >= 1000000000000ull); /* 2^64 millionths and a bit */
    assert_true(tl_load_ppm(UINT32_MAX, &slip) >= 1000000000000ull);
}

static void
without_a_power_nothing_is_weighed(void **state)
{
    (void)state;
    struct pages *p = start(0);
    trap_at(p, 1, 120, 0);
    assert_int_equal(weighted(p), 0);
    assert_int_equal(pages_traps(p, PENDANT, WIRE), 1);
    free(p);
}

/* A load that is not known counts as one trap, and is told of. */
static void
what_is_not_known_counts_one(void **state)
{
    (void)state;
    struct pages *p = start(5);
    trap_at(p, 1, 90, 0);
    pages_trap(p, 2, WIRE); /* nothing was computed */
    pages_set(p, WIRE, 0);  /* the setting is not known */
    trap_at(p, 3, 90, 0);
    pages_set(p, WIRE, HEAVY_LB);
    trap_at(p, 4, 90, 0);
    assert_int_equal(unweighed(p), 3);
    assert_int_equal(weighted(p), 590490 + 3000000); /* 0.9^5 */
    /* The book has seven more that were not seen here. */
    pages_word(p, (struct pages_word){PENDANT, WIRE, 11, "P-0412", {{R, 4}, 0}, 0, false});
    assert_int_equal(unweighed(p), 10);
    assert_int_equal(weighted(p), 590490 + 10000000);
    trap_at(p, 5, 0, 110);
    assert_int_equal(unweighed(p), 10);
    assert_int_equal(weighted(p), 590490 + 10000000 + 1610510); /* 1.1^5 */
    free(p);
}

/* The setting is that of the engine when the pass ended; a correction is of another engine. */
static void
a_load_is_that_of_its_engine_at_its_time(void **state)
{
    (void)state;
    struct pages *p = start(5);
    pages_word(p, (struct pages_word){PENDANT, 2, 0, "P-0409", {{R - 1, 1}, 0}, 0, false});
    pages_set(p, 2, HEAVY_LB);
    trap_at(p, 1, 100, 120);
    pages_set(p, WIRE, HEAVY_LB); /* for the next */
    pages_trap(p, 1, WIRE);
    assert_int_equal(weighted(p), 1000000);
    pages_trap(p, 1, 2);
    assert_int_equal(weighted(p), 0);
    assert_int_equal(tl_fit_weighted_ppm(&p->ledger, pages_fit(p, PENDANT, 2)), 2488320);
    free(p);
}

/* Two validators, or two answers of one: the higher. */
static void
of_several_answers_the_highest_counts(void **state)
{
    (void)state;
    struct pages *p = start(1);
    struct tl_event event = {R, 1};
    pages_foresee(p, event, LIGHT_LB, 80);
    pages_foresee(p, event, LIGHT_LB, 95);
    pages_foresee(p, event, LIGHT_LB, 90);
    pages_trap(p, 1, WIRE);
    assert_int_equal(weighted(p), 950000);
    pages_foresee(p, event, LIGHT_LB, 90);
    pages_foresee(p, event, HEAVY_LB, 99); /* was not set */
    assert_int_equal(weighted(p), 950000);
    pages_foresee(p, event, LIGHT_LB, 98); /* an answer that came late */
    assert_int_equal(weighted(p), 980000);
    free(p);
}

/* What is let go has its weight all the same. */
static void
no_weight_is_lost_over_many_passes(void **state)
{
    (void)state;
    struct pages *p = start(2);
    for (uint32_t pass = 1; pass <= 3 * TL_ENDED_MAX; pass++) {
        trap_at(p, pass, 50, 0);
    }
    assert_int_equal(weighted(p), 3 * TL_ENDED_MAX * 250000);
    assert_int_equal(unweighed(p), 0);
    pages_word(p, (struct pages_word){PENDANT, WIRE, 0, "P-0413", {{R, 999}, 0}, 0, false});
    assert_int_equal(weighted(p), 0);
    assert_int_equal(tl_fit_weighted_ppm(&p->ledger, &p->removed[0]), 3 * TL_ENDED_MAX * 250000);
    free(p);
}

/* ---- inspections ---- */

static bool
due(const struct pages *p, enum tl_datum_kind kind)
{
    return tl_fit_needs_inspection(&p->ledger, pages_fit(p, kind, WIRE));
}

static void
after_each_recovery_with_a_trap_an_inspection_is_due(void **state)
{
    (void)state;
    struct pages *p = start(0);
    pages_result(p, (struct tl_event){R, 1}, TL_OUTCOME_BOLTER, 0);
    pages_trap(p, 2, 2);
    pages_recovery(p, R, false, TL_RECOVERY_CLOSED);
    assert_false(due(p, PENDANT) || due(p, CABLE)); /* nothing of it was used */
    pages_recovery(p, R + 1, false, TL_RECOVERY_OPEN);
    pages_result(p, (struct tl_event){R + 1, 1}, TL_OUTCOME_TRAP, WIRE);
    assert_false(due(p, PENDANT) || due(p, CABLE)); /* it goes on */
    pages_recovery(p, R + 1, false, TL_RECOVERY_CLOSED);
    assert_true(due(p, PENDANT) && due(p, CABLE));
    pages_inspected(p, 2, TL_INSPECTION_GOOD); /* of another */
    pages_inspected(p, WIRE, TL_INSPECTION_FOUND);
    assert_true(due(p, PENDANT) && due(p, CABLE));
    pages_inspected(p, WIRE, TL_INSPECTION_GOOD);
    assert_false(due(p, PENDANT) || due(p, CABLE));
    pages_recovery(p, R + 2, false, TL_RECOVERY_OPEN);
    pages_result(p, (struct tl_event){R + 2, 1}, TL_OUTCOME_TRAP, WIRE);
    assert_false(due(p, PENDANT));
    pages_recovery(p, R + 3, false, TL_RECOVERY_OPEN); /* that it was closed was not heard */
    assert_true(due(p, PENDANT));
    free(p);
}

static void
after_an_excess_load_an_inspection_is_due_at_once(void **state)
{
    (void)state;
    struct pages *p = start(0);
    p->config.wear.inspect_percent = 80;
    trap_at(p, 1, 80, 0);
    assert_false(due(p, PENDANT) || due(p, CABLE));
    trap_at(p, 2, 81, 0);
    assert_true(due(p, PENDANT) && due(p, CABLE));
    pages_inspected(p, WIRE, TL_INSPECTION_GOOD);
    assert_false(due(p, PENDANT) || due(p, CABLE));
    free(p);
}

/* What was on the wire then was inspected, and not what came after it; but it took nothing yet. */
static void
another_pendant_is_not_the_inspected_one(void **state)
{
    (void)state;
    struct pages *p = start(0);
    assert_false(pages_fit(p, PENDANT, WIRE)->inspected_once);
    pages_inspected(p, WIRE, TL_INSPECTION_GOOD);
    assert_true(pages_fit(p, PENDANT, WIRE)->inspected_once);
    pages_word(p, (struct pages_word){PENDANT, WIRE, 30, "P-0413", {{R, 1}, 0}, 0, false});
    assert_false(pages_fit(p, PENDANT, WIRE)->inspected_once);
    assert_true(pages_fit(p, CABLE, WIRE)->inspected_once);
    pages_judged(p, "gear-officer", TL_JUDGED_REFUSED); /* it is there again */
    assert_true(pages_fit(p, PENDANT, WIRE)->inspected_once);
    free(p);
}

/* So many passes ago that the end is no longer kept. */
static void
an_inspection_stays_due(void **state)
{
    (void)state;
    struct pages *p = start(0);
    pages_trap(p, 1, WIRE);
    for (uint32_t pass = 2; pass <= 2 * TL_ENDED_MAX; pass++) {
        pages_trap(p, pass, 2);
    }
    assert_true(due(p, PENDANT));
    struct tl_worn worn[TL_WORN_MAX];
    assert_int_equal(tl_ledger_worn(&p->ledger, worn), 1);
    assert_true(worn[0].inspect);
    pages_inspected(p, WIRE, TL_INSPECTION_GOOD);
    assert_false(due(p, PENDANT));
    free(p);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_worked_figure),
        cmocka_unit_test(a_power_is_that_of_the_c_library_rounded_up),
        cmocka_unit_test(a_slip_of_a_figure_is_held_and_not_run_over),
        cmocka_unit_test(without_a_power_nothing_is_weighed),
        cmocka_unit_test(what_is_not_known_counts_one),
        cmocka_unit_test(a_load_is_that_of_its_engine_at_its_time),
        cmocka_unit_test(of_several_answers_the_highest_counts),
        cmocka_unit_test(no_weight_is_lost_over_many_passes),
        cmocka_unit_test(after_each_recovery_with_a_trap_an_inspection_is_due),
        cmocka_unit_test(after_an_excess_load_an_inspection_is_due_at_once),
        cmocka_unit_test(another_pendant_is_not_the_inspected_one),
        cmocka_unit_test(an_inspection_stays_due),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
