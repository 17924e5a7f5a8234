/* SPDX-License-Identifier: Apache-2.0 */
/*
 * Seconds: worked rows and what must hold for all. The rows are our own derivation; published is the
 * groove of 15 to 18 s, and a sink of some 650 ft/min (public manuals, as quoted).
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>

#include "broker/core/mechanics/timing.h"
#include "broker/core/mechanics/units.h"
#include "tests/mechanics/probe.h"

static const double mile_three_quarters_ft = 0.75 * TL_M_PER_NMI / TL_M_PER_FT;

static void
time_to_the_ramp_worked_rows(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double range_ft, closure_kt, seconds, tolerance;
    } rows[] = {
        {"3/4 mile at 105", mile_three_quarters_ft, 105, 25.71, 0.005},
        {"3/4 mile at 100", mile_three_quarters_ft, 100, 27.00, 1e-9},
        {"15 s of groove", 2658, 105, 15, 0.003},
        {"18 s of groove", 3190, 105, 18, 0.003},
        {"at the ramp", 0, 105, 0, 0.0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double seconds = -1.0;

        assert_int_equal(tl_timing_to_ramp(rows[i].range_ft, rows[i].closure_kt, &seconds), TL_OK);
        near(rows[i].name, seconds, rows[i].seconds, rows[i].tolerance);
    }
}

static struct tl_wave_off_out
wave_off_of(struct tl_wave_off_in in)
{
    struct tl_wave_off_out out;

    assert_int_equal(tl_wave_off(&in, &out), TL_OK);
    return out;
}

/* A window of 10 ft and of 100 ft are from memory; reaction and climb are the defaults, invented. */
static void
wave_off_worked_rows(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double reaction_s, height_ft, before_s;
    } rows[] = {
        {"10 ft", 1.4, 10, 3.68},
        {"100 ft", 1.4, 100, 11.98},
        {"10 ft, slower", 2.0, 10, 4.28},
        {"100 ft, slower", 2.0, 100, 12.58},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_wave_off_out out = wave_off_of(
            (struct tl_wave_off_in){105, 3.5, rows[i].reaction_s, 4, rows[i].height_ft});

        near(rows[i].name, out.before_s, rows[i].before_s, 0.005);
    }
    struct tl_wave_off_out low = wave_off_of((struct tl_wave_off_in){105, 3.5, 1.4, 4, 10});
    struct tl_wave_off_out high = wave_off_of((struct tl_wave_off_in){105, 3.5, 1.4, 4, 100});

    near("loss", low.loss_ft, 29.86, 0.005);
    near("range, 10 ft", low.range_ft, 651.7, 0.1);
    near("range, 100 ft", high.range_ft, 2123, 1.0);
    near("sink", low.sink_ft_s, 10.839, 6e-4);
    near("sink a minute", low.sink_ft_s * 60.0, 650.35, 0.01);
    near("sink a minute at 100",
         wave_off_of((struct tl_wave_off_in){100, 3.5, 1.4, 4, 10}).sink_ft_s * 60.0, 619.4, 0.05);
}

/* Flown step by step: down the slope, then the climb begins; the lowest point is at the height. */
static void
wave_off_word_at_its_range_leaves_the_height(void **state)
{
    uint64_t seed = first_seed(20260707);

    (void)state;
    for (int run = 0; run < 5000; run++) {
        const struct tl_wave_off_in in = {.closure_kt = draw(&seed, (struct span){60, 150}),
                                          .angle_deg = draw(&seed, (struct span){3, 4.5}),
                                          .reaction_s = draw(&seed, (struct span){0, 3}),
                                          .climb_ft_s2 = draw(&seed, (struct span){2, 10}),
                                          .height_ft = draw(&seed, (struct span){0, 150})};
        struct tl_wave_off_out out = wave_off_of(in);
        double hook_ft = out.range_ft * tan(in.angle_deg * TL_RAD_PER_DEG);
        double to_turn_s = out.sink_ft_s / in.climb_ft_s2;
        double to_ramp_s = -1.0;

        hook_ft -= out.sink_ft_s * in.reaction_s;
        hook_ft += -out.sink_ft_s * to_turn_s + 0.5 * in.climb_ft_s2 * to_turn_s * to_turn_s;
        near("lowest", hook_ft, in.height_ft, 1e-9);
        assert_int_equal(tl_timing_to_ramp(out.range_ft, in.closure_kt, &to_ramp_s), TL_OK);
        near("before", out.before_s, to_ramp_s, 1e-9);
    }
}

static void
wave_off_without_end_is_refused(void **state)
{
    (void)state;
    const struct tl_wave_off_in in = {105, 3.5, 1.4, 1e-320, 10};
    struct tl_wave_off_out out = {-1, -1, -1, -1};
    double seconds = -1.0;

    assert_int_equal(tl_wave_off(&in, &out), TL_BADARG);
    near("untouched", out.before_s, -1.0, 0.0);
    assert_int_equal(tl_timing_to_ramp(1000, 1e-320, &seconds), TL_BADARG);
    near("untouched", seconds, -1.0, 0.0);
}

static void
reset_takes_the_longest_of_what_goes_side_by_side(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        struct tl_reset_in in; /* arrest, hook, retract, taxi, weight, check */
        double seconds;
    } rows[] = {
        {"taxi is the longest", {3, 6, 8, 15, 10, 3}, 27},
        {"retract is the longest", {3, 6, 16, 15, 10, 3}, 28},
        {"weight is the longest", {3, 6, 8, 15, 20, 3}, 32},
        {"nothing to do", {0, 0, 0, 0, 0, 0}, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double seconds = -1.0;

        assert_int_equal(tl_reset_mean(&rows[i].in, &seconds), TL_OK);
        near(rows[i].name, seconds, rows[i].seconds, 0.0);
    }
}

static struct tl_interval_out
interval_of(struct tl_interval_in in)
{
    struct tl_interval_out out;

    assert_int_equal(tl_interval(&in, &out), TL_OK);
    return out;
}

static void
foul_chance_worked_rows(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        struct tl_interval_in in; /* reset, spread, wave-off, interval */
        double chance, tolerance;
    } rows[] = {
        {"45 s, 10 ft window", {32, 4, 6, 45}, 0.04006, 5e-6},
        {"45 s, 100 ft window", {32, 4, 12, 45}, 0.40129, 5e-6},
        {"60 s, 100 ft window", {32, 4, 12, 60}, 3.167e-5, 5e-9},
        {"just in the mean", {32, 4, 6, 38}, 0.5, 1e-15},
        /* normal distribution, textbook: one spread to either side */
        {"a spread more", {32, 4, 6, 42}, 0.158655, 5e-7},
        {"a spread less", {32, 4, 6, 34}, 0.841345, 5e-7},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        near(rows[i].name, interval_of(rows[i].in).foul_chance, rows[i].chance, rows[i].tolerance);
    }
    near("suggested", interval_of(rows[0].in).suggested_s, 46.0, 1e-12);
}

static void
trap_on_each_nth_pass_worked_rows(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        struct tl_interval_in in;
        uint32_t every;
    } rows[] = {
        {"45 s", {32, 4, 6, 45}, 1},          {"30 s", {32, 4, 6, 30}, 2},
        {"just", {32, 4, 6, 38}, 1},          {"a second short", {32, 4, 6, 37}, 2},
        {"just the half", {32, 4, 6, 19}, 2}, {"under the half", {32, 4, 6, 18.9}, 3},
        {"no reset", {0, 4, 0, 30}, 1},       {"0.1 + 0.2 is 0.3", {1.1, 4, 2.2, 3.3}, 1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (interval_of(rows[i].in).trap_every != rows[i].every) {
            fail_msg("%s: every %u", rows[i].name, interval_of(rows[i].in).trap_every);
        }
    }
}

static void
longer_interval_is_never_more_often_foul(void **state)
{
    uint64_t seed = first_seed(20260708);

    (void)state;
    for (int run = 0; run < 5000; run++) {
        struct tl_interval_in in = {.reset_s = draw(&seed, (struct span){10, 60}),
                                    .spread_s = draw(&seed, (struct span){0.5, 10}),
                                    .wave_off_s = draw(&seed, (struct span){0, 20}),
                                    .interval_s = draw(&seed, (struct span){20, 100})};
        struct tl_interval_out out = interval_of(in);

        assert_true(out.foul_chance >= 0.0 && out.foul_chance <= 1.0);
        in.interval_s += 1.0;
        assert_true(interval_of(in).foul_chance <= out.foul_chance);
        assert_true(interval_of(in).trap_every <= out.trap_every);
        in.interval_s = out.suggested_s; /* two spreads: 1 - Phi(2), textbook */
        near("suggested", interval_of(in).foul_chance, 0.02275, 5e-6);
        assert_int_equal(interval_of(in).trap_every, 1);
    }
}

static void
passes_worked_rows(void **state)
{
    (void)state;
    struct tl_passes_out out = {-1, -1};

    assert_int_equal(tl_passes(12, 0.9, 45, &out), TL_OK);
    near("passes", out.passes, 13.33, 0.005);
    near("time", out.time_s, 600, 1e-9);
    assert_int_equal(tl_passes(12, 1.0, 45, &out), TL_OK);
    near("all trap", out.passes, 12, 0.0);
    assert_int_equal(tl_passes(0, 0.9, 45, &out), TL_OK);
    near("none", out.time_s, 0, 0.0);
    assert_int_equal(tl_passes(UINT32_MAX, 1e-320, 45, &out), TL_BADARG);
    near("untouched", out.time_s, 0, 0.0);
}

struct pair {
    double a;
    double b;
};

static enum tl_err
call_to_ramp(const void *in, void *out)
{
    const struct pair *pair = in;

    return tl_timing_to_ramp(pair->a, pair->b, out);
}

static enum tl_err
call_passes(const void *in, void *out)
{
    const struct pair *pair = in;

    return tl_passes(12, pair->a, pair->b, out);
}

static enum tl_err
call_wave_off(const void *in, void *out)
{
    return tl_wave_off(in, out);
}

static enum tl_err
call_reset(const void *in, void *out)
{
    return tl_reset_mean(in, out);
}

static enum tl_err
call_interval(const void *in, void *out)
{
    return tl_interval(in, out);
}

static void
range_and_passes_out_of_range_are_refused(void **state)
{
    (void)state;
    static const struct edge to_ramp[] = {
        {"range", offsetof(struct pair, a), 0, 1e6, false},
        {"closure", offsetof(struct pair, b), 0, 600, true},
    };
    static const struct edge passes[] = {
        {"rate", offsetof(struct pair, a), 0, 1, true},
        {"interval", offsetof(struct pair, b), 1, 3600, false},
    };
    const struct pair sound_to_ramp = {4000, 105};
    const struct pair sound_passes = {0.9, 45};

    takes_its_ranges_only(
        &(struct probe){call_to_ramp, &sound_to_ramp, sizeof sound_to_ramp, sizeof(double)},
        to_ramp, 2);
    takes_its_ranges_only(&(struct probe){call_passes, &sound_passes, sizeof sound_passes,
                                          sizeof(struct tl_passes_out)},
                          passes, 2);
}

static void
wave_off_input_out_of_range_is_refused(void **state)
{
    (void)state;
    static const struct edge edges[] = {
        {"closure", offsetof(struct tl_wave_off_in, closure_kt), 20, 300, false},
        {"angle", offsetof(struct tl_wave_off_in, angle_deg), 1, 8, false},
        {"reaction", offsetof(struct tl_wave_off_in, reaction_s), 0, 10, false},
        {"climb", offsetof(struct tl_wave_off_in, climb_ft_s2), 0, 32, true},
        {"height", offsetof(struct tl_wave_off_in, height_ft), 0, 500, false},
    };
    const struct tl_wave_off_in sound = {105, 3.5, 1.4, 4, 10};

    takes_its_ranges_only(
        &(struct probe){call_wave_off, &sound, sizeof sound, sizeof(struct tl_wave_off_out)}, edges,
        sizeof edges / sizeof edges[0]);
}

static void
reset_and_interval_out_of_range_are_refused(void **state)
{
    (void)state;
    static const struct edge reset[] = {
        {"arrest", offsetof(struct tl_reset_in, arrest_s), 0, 600, false},
        {"hook", offsetof(struct tl_reset_in, hook_s), 0, 600, false},
        {"retract", offsetof(struct tl_reset_in, retract_s), 0, 600, false},
        {"taxi", offsetof(struct tl_reset_in, taxi_s), 0, 600, false},
        {"weight", offsetof(struct tl_reset_in, weight_s), 0, 600, false},
        {"check", offsetof(struct tl_reset_in, check_s), 0, 600, false},
    };
    static const struct edge interval[] = {
        {"reset", offsetof(struct tl_interval_in, reset_s), 0, 3600, false},
        {"spread", offsetof(struct tl_interval_in, spread_s), 0, 600, true},
        {"wave-off", offsetof(struct tl_interval_in, wave_off_s), 0, 600, false},
        {"interval", offsetof(struct tl_interval_in, interval_s), 1, 3600, false},
    };
    const struct tl_reset_in sound_reset = {3, 6, 8, 15, 10, 3};
    const struct tl_interval_in sound_interval = {32, 4, 6, 45};

    takes_its_ranges_only(
        &(struct probe){call_reset, &sound_reset, sizeof sound_reset, sizeof(double)}, reset,
        sizeof reset / sizeof reset[0]);
    takes_its_ranges_only(&(struct probe){call_interval, &sound_interval, sizeof sound_interval,
                                          sizeof(struct tl_interval_out)},
                          interval, sizeof interval / sizeof interval[0]);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(time_to_the_ramp_worked_rows),
        cmocka_unit_test(wave_off_worked_rows),
        cmocka_unit_test(wave_off_word_at_its_range_leaves_the_height),
        cmocka_unit_test(wave_off_without_end_is_refused),
        cmocka_unit_test(reset_takes_the_longest_of_what_goes_side_by_side),
        cmocka_unit_test(foul_chance_worked_rows),
        cmocka_unit_test(trap_on_each_nth_pass_worked_rows),
        cmocka_unit_test(longer_interval_is_never_more_often_foul),
        cmocka_unit_test(passes_worked_rows),
        cmocka_unit_test(range_and_passes_out_of_range_are_refused),
        cmocka_unit_test(wave_off_input_out_of_range_is_refused),
        cmocka_unit_test(reset_and_interval_out_of_range_are_refused),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
