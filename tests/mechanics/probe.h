/* SPDX-License-Identifier: Apache-2.0 */
/* probe.h - what the tests of the mechanics share: near figures, bounds tried, drawn inputs. */
#ifndef TESTS_MECHANICS_PROBE_H
#define TESTS_MECHANICS_PROBE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "proto/base/err.h"

/* Fails with the name of the row. */
void near(const char *row, double got, double wanted, double tolerance);

/* One member of an input, and its documented range. */
struct edge {
    const char *name;
    size_t at; /* offset of the member, a double */
    double least;
    double most;
    bool above; /* least itself is out */
};
struct probe {
    enum tl_err (*call)(const void *in, void *out);
    const void *sound; /* an input that is taken with each member at either end of its range */
    size_t in_size;
    size_t out_size;
};
enum {
    PROBE_BYTES_MAX = 256 /* of an input, and of an output */
};

/*
 * Each member by itself: taken at both ends (TL_OK, or TL_REFUSED where there is no answer); one step
 * past them, not a number or infinite, it is TL_BADARG. No byte of the output is touched but on TL_OK.
 */
void takes_its_ranges_only(const struct probe *probe, const struct edge *edges, size_t count);

/* Seed of a random test, printed; TL_TEST_SEED in the environment goes before. */
uint64_t first_seed(uint64_t seed);

struct span {
    double from;
    double to;
};
double draw(uint64_t *seed, struct span span);

#endif
