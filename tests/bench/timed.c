/* SPDX-License-Identifier: Apache-2.0 */
/* timed.c - see timed.h. */
#include "tests/bench/timed.h"

#include <stdlib.h>
#include <time.h>

uint64_t
timed_now_ns(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (uint64_t)now.tv_sec * 1000000000ull + (uint64_t)now.tv_nsec;
}

double
timed_now_us(void)
{
    return (double)timed_now_ns() * 1e-3;
}

static int
compare(const void *a, const void *b)
{
    const double *x = a;
    const double *y = b;
    return (*x > *y) - (*x < *y);
}

struct timed_spread
timed_spread_of(double *us, size_t count)
{
    qsort(us, count, sizeof *us, compare);
    return (struct timed_spread){us[0], us[count / 2], us[count * 99 / 100]};
}
