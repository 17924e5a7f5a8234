/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_same - the same input gives the same output, bit by bit, whatever ran before on the machine
 *
 * Two validators must publish the same figures.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/arrest/rig.h"

enum {
    GEARS = 12,
    INPUTS = 6
};

/* From zeroes: a refused run leaves them. */
static enum tl_err
run(struct tl_arrest_machine *machine, const struct tl_arrest_in *in, struct tl_arrest_out *out)
{
    const char *why = NULL;

    memset(out, 0, sizeof *out);
    return tl_arrest_run(machine, in, NULL, out, &why);
}

static struct tl_arrest_machine *
fresh(const struct tl_arrest_gear *gear)
{
    struct tl_arrest_machine *machine = NULL;
    const char *why = NULL;

    assert_int_equal(tl_arrest_open(gear, &machine, &why), TL_OK);
    return machine;
}

/* Bit by bit; padding is left out. */
static bool
is_same(const struct tl_arrest_out *a, const struct tl_arrest_out *b)
{
    const double of_a[] = {
        a->runout_ft,        a->stroke_in,        a->stroke_margin_in, a->end_speed_kt,
        a->peak_hook_lbf,    a->peak_hook_at_ft,  a->mean_hook_lbf,    a->peak_g,
        a->peak_tension_lbf, a->tension_fraction, a->parts_kt,         a->off_centre_end_ft,
        a->time_s,           a->energy_ftlbf,     a->energy_margin,    a->balance_error};
    const double of_b[] = {
        b->runout_ft,        b->stroke_in,        b->stroke_margin_in, b->end_speed_kt,
        b->peak_hook_lbf,    b->peak_hook_at_ft,  b->mean_hook_lbf,    b->peak_g,
        b->peak_tension_lbf, b->tension_fraction, b->parts_kt,         b->off_centre_end_ft,
        b->time_s,           b->energy_ftlbf,     b->energy_margin,    b->balance_error};
    const void *bits_a = of_a;
    const void *bits_b = of_b;

    return memcmp(bits_a, bits_b, sizeof of_a) == 0 && a->end == b->end && a->parts == b->parts &&
           a->off_centre_over == b->off_centre_over;
}

/* A fresh machine for each input; then all on one, forward and backward, with refused runs between. */
static void
same_input_gives_the_same_bits_after_any_other_run(void **state)
{
    (void)state;
    uint64_t seed = rig_seed(3);

    for (int g = 0; g < GEARS; g++) {
        struct tl_arrest_gear gear = rig_draw_gear(&seed);
        struct tl_arrest_in in[INPUTS];
        struct tl_arrest_out first[INPUTS];
        enum tl_err err[INPUTS];
        for (int i = 0; i < INPUTS; i++) {
            struct tl_arrest_machine *alone = fresh(&gear);
            in[i] = rig_draw_in(&seed, &gear);
            in[i].stretch = i % 2 == 1;
            err[i] = run(alone, &in[i], &first[i]);
            tl_arrest_close(&alone);
        }
        struct tl_arrest_machine *machine = fresh(&gear);
        for (int i = 0; i < 2 * INPUTS; i++) {
            int which = i < INPUTS ? i : 2 * INPUTS - 1 - i;
            struct tl_arrest_in absurd = in[which];
            struct tl_arrest_out out;
            absurd.weight_lb = NAN;
            assert_int_equal(run(machine, &absurd, &out), TL_BADARG);
            assert_int_equal(run(machine, &in[which], &out), err[which]);
            assert_true(is_same(&out, &first[which]));
        }
        tl_arrest_close(&machine);
    }
}

/* Runs that the solver gives up leave nothing behind: swinging about a valve that is shut altogether. */
static void
run_after_one_that_was_given_up_gives_the_same_bits(void **state)
{
    (void)state;
    struct tl_arrest_gear gear = rig_ideal();
    struct tl_arrest_machine *machine = fresh(&gear);
    struct tl_arrest_in swinging = rig_in();
    struct tl_arrest_in in = rig_in();
    struct tl_arrest_out first;
    struct tl_arrest_out out;
    const char *why = NULL;

    assert_int_equal(run(machine, &in, &first), TL_OK);
    swinging.off_centre_ft = 20.0;
    swinging.drift_kt = 8.0;
    swinging.set_lb = 40000.0;
    assert_int_equal(tl_arrest_run(machine, &swinging, NULL, &out, &why), TL_REFUSED);
    assert_string_equal(why, "the solver gave up on these figures");
    assert_int_equal(run(machine, &in, &out), TL_OK);
    assert_true(is_same(&out, &first));
    tl_arrest_close(&machine);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(same_input_gives_the_same_bits_after_any_other_run),
        cmocka_unit_test(run_after_one_that_was_given_up_gives_the_same_bits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
