/* SPDX-License-Identifier: Apache-2.0 */
/* timed.c - see timed.h. */
#include "tests/bench/timed.h"

#include <stdlib.h>
#include <time.h>

double
timed_now_us(void)
{
    struct timespec now;
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec * 1e6 + (double)now.tv_nsec * 1e-3;
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
