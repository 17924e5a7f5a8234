/* SPDX-License-Identifier: Apache-2.0 */
/*
 * bench_arrest - how long an arrestment takes to compute
 *
 *   bench_arrest [runs]       default 500
 *
 * Microseconds of one run on a machine that is open: best, median and the 99th of a hundred. Beside it,
 * in the same process, the best of the second integration of the tests (GSL, an explicit Runge-Kutta
 * pair of order 8) with the loosest tolerance, in powers of ten, at which its run-out and time are as
 * near the settled ones as ours, or nearer than a thousand-millionth. It looks for the peak at the ends
 * of its steps only, we at four places in each.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "tests/arrest/reference.h"
#include "tests/arrest/rig.h"
#include "tests/bench/timed.h"

enum {
    RUNS = 500,
    RUNS_MAX = 100000,
    SET = 12
};

struct bench {
    struct tl_arrest_gear gear;
    struct tl_arrest_machine *machine;
    double *us; /* of each run */
    size_t runs;
};
/* What is timed. False: it failed. */
struct work {
    bool (*run)(const struct bench *bench, const struct work *work);
    const struct tl_arrest_in *in;
    size_t count;
    double tolerance; /* of the second integration */
};

static bool
run_ours(const struct bench *bench, const struct work *work)
{
    for (size_t i = 0; i < work->count; i++) {
        struct tl_arrest_out out;
        const char *why = NULL;
        if (tl_arrest_run(bench->machine, &work->in[i], NULL, &out, &why) != TL_OK) {
            (void)fprintf(stderr, "bench_arrest: %s\n", why);
            return false;
        }
    }
    return true;
}

static bool
run_other(const struct bench *bench, const struct work *work)
{
    const struct reference_exact exact = {work->tolerance, INFINITY};
    struct reference_out out;

    for (size_t i = 0; i < work->count; i++) {
        if (!reference_run(&bench->gear, &work->in[i], exact, &out)) {
            return false;
        }
    }
    return true;
}

static bool
measure(const struct bench *bench, const struct work *work, struct timed_spread *spread)
{
    for (size_t i = 0; i < bench->runs; i++) {
        double begin_us = timed_now_us();
        if (!work->run(bench, work)) {
            return false;
        }
        bench->us[i] = timed_now_us() - begin_us;
    }
    *spread = timed_spread_of(bench->us, bench->runs);
    return true;
}

struct stop {
    double runout_ft, time_s;
};

static double
error_of(struct stop stop, const struct reference_out *settled)
{
    return fmax(fabs(stop.runout_ft / settled->runout_ft - 1.0),
                fabs(stop.time_s / settled->time_s - 1.0));
}

/* The loosest power of ten with which GSL comes as near as we do; 0 = none. */
static double
equal_tolerance(const struct bench *bench, const struct tl_arrest_in *in, double *our_error)
{
    struct reference_out settled;
    struct reference_out other;
    struct tl_arrest_out ours;
    const char *why = NULL;

    if (!reference_settle(&bench->gear, in, 1e-5, &settled) ||
        !reference_run(&bench->gear, in, (struct reference_exact){1e-13, 1e-3}, &settled) ||
        tl_arrest_run(bench->machine, in, NULL, &ours, &why) != TL_OK) {
        return 0.0;
    }
    *our_error = error_of((struct stop){ours.runout_ft, ours.time_s}, &settled);
    for (int power = 4; power <= 13; power++) {
        struct reference_exact exact = {pow(10.0, -power), INFINITY};
        if (reference_run(&bench->gear, in, exact, &other) &&
            error_of((struct stop){other.runout_ft, other.time_s}, &settled) <=
                fmax(*our_error, 1e-9)) {
            return exact.tolerance;
        }
    }
    return 0.0;
}

static const struct {
    const char *name;
    struct tl_arrest_in in;
} CASES[] = {
    {"right", {50000.0, 50000.0, 130.0, 0.0, 0.0, 0.0, false}},
    {"light", {50000.0, 40000.0, 130.0, 0.0, 0.0, 0.0, false}},
    {"heavy", {30000.0, 50000.0, 130.0, 0.0, 0.0, 0.0, false}},
    {"off-centre", {50000.0, 50000.0, 130.0, 15.0, 3.0, 0.0, false}},
    {"stretch", {50000.0, 50000.0, 130.0, 0.0, 0.0, 0.0, true}},
};

static bool
bench_cases(const struct bench *bench)
{
    (void)printf("%-12s %8s %8s %8s   %8s  %6s  %s\n", "us a run", "best", "median", "p99", "gsl",
                 "ratio", "error of run-out and time; tolerance of gsl");
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        struct timed_spread ours;
        struct timed_spread other;
        double error = 0.0;
        double tolerance = equal_tolerance(bench, &CASES[i].in, &error);
        struct work work = {run_ours, &CASES[i].in, 1, 0.0};
        struct work baseline = {run_other, &CASES[i].in, 1, tolerance};
        if (tolerance <= 0.0 || !measure(bench, &work, &ours) ||
            !measure(bench, &baseline, &other)) {
            return false;
        }
        (void)printf("%-12s %8.0f %8.0f %8.0f   %8.0f  %6.2f  %.0e %.0e\n", CASES[i].name,
                     ours.best_us, ours.median_us, ours.p99_us, other.best_us,
                     ours.best_us / other.best_us, error, tolerance);
    }
    return true;
}

/* Six weights, each on its own setting and one that is 5,000 lb too heavy: a table for people. */
static bool
bench_set(const struct bench *bench)
{
    struct tl_arrest_in in[SET];
    struct timed_spread ours;

    for (int i = 0; i < SET; i++) {
        int step = i / 2;
        double weight_lb = 20000.0 + 6000.0 * step;
        in[i] = (struct tl_arrest_in){.weight_lb = weight_lb,
                                      .set_lb = weight_lb + (i % 2 == 0 ? 0.0 : 5000.0),
                                      .engaging_kt = 105.0 + 2.0 * i};
    }
    struct work work = {run_ours, in, SET, 0.0};
    if (!measure(bench, &work, &ours)) {
        return false;
    }
    (void)printf("%-12s %8.0f %8.0f %8.0f\n", "set of 12", ours.best_us, ours.median_us,
                 ours.p99_us);
    return true;
}

int
main(int argc, char **argv)
{
    long told = argc > 1 ? strtol(argv[1], NULL, 10) : RUNS;
    struct bench bench = {.gear = rig_gear(), .runs = RUNS};
    const char *why = NULL;

    if (told > 0 && told <= RUNS_MAX) {
        bench.runs = (size_t)told;
    }
    bench.us = calloc(bench.runs, sizeof *bench.us);
    if (bench.us == NULL || tl_arrest_open(&bench.gear, &bench.machine, &why) != TL_OK) {
        free(bench.us);
        return 1;
    }
#ifndef __OPTIMIZE__
    (void)printf("built without optimisation: the figures mean little\n");
#endif
    (void)printf("%zu runs each\n", bench.runs);
    bool done = bench_cases(&bench) && bench_set(&bench);
    tl_arrest_close(&bench.machine);
    free(bench.us);
    return done ? 0 : 1;
}
