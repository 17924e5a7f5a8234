/* SPDX-License-Identifier: Apache-2.0 */
/* need.h - what a benchmark cannot go on without: else it ends with one line and 1. */
#ifndef TESTS_BENCH_NEED_H
#define TESTS_BENCH_NEED_H

#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>

static inline void
need(bool holds, const char *what)
{
    if (!holds) {
        (void)fprintf(stderr, "%s: %s\n", program_invocation_short_name, what);
        exit(1); // NOLINT(concurrency-mt-unsafe): nothing is shared that exit touches
    }
}

#endif
