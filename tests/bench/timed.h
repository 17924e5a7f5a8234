/* SPDX-License-Identifier: Apache-2.0 */
/* timed.h - microseconds of many runs, and how they are spread */
#ifndef TESTS_BENCH_TIMED_H
#define TESTS_BENCH_TIMED_H

#include <stddef.h>
#include <stdint.h>

struct timed_spread {
    double best_us, median_us, p99_us;
};

/* By a clock that only goes on. */
uint64_t timed_now_ns(void);
double timed_now_us(void);
/* Of `count` runs, at least one; they are sorted. */
struct timed_spread timed_spread_of(double *us, size_t count);

#endif
