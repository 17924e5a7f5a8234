/* SPDX-License-Identifier: Apache-2.0 */
/*
 * stats.h - quartiles, shares and bins of whole numbers. Pure but for the heap.
 *
 * A quartile lies between the two nearest values of the sorted ones, at k (n - 1) / 4 counted from
 * 0 (type 7 of Hyndman and Fan, "Sample Quantiles in Statistical Packages", The American
 * Statistician 50, 1996; what Python's statistics.quantiles calls inclusive), rounded to the
 * nearest.
 */
#ifndef CLIENTS_LOGBOOK_STATS_H
#define CLIENTS_LOGBOOK_STATS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "proto/base/err.h"

struct tl_values {
    size_t count, cap;
    uint64_t *value;
};

/* values: zeroed before the first. TL_NOMEM. */
TL_MUST_USE enum tl_err tl_values_add(struct tl_values *values, uint64_t value);
void tl_values_sort(struct tl_values *values);
void tl_values_free(struct tl_values *values);

/* Of sorted values, at least one: k 0 is the least, 2 the median, 4 the most. */
uint64_t tl_quartile(const struct tl_values *values, unsigned k);

struct tl_share {
    uint64_t part, whole;
};
/* In permille (1000 = all), rounded to the nearest; whole above 0. */
uint64_t tl_permille(struct tl_share share);

enum {
    TL_BINS_MAX = 24
};
/* Bin i holds [i * width, (i + 1) * width) from `first` on; the last what is above, too. */
struct tl_bins {
    uint64_t first, width;
    size_t count;
    size_t in[TL_BINS_MAX];
};
/*
 * Bins over sorted values, at least one. units: widths to choose from, rising, of which the first
 * that needs no more than TL_BINS_MAX bins is taken, else the last.
 */
void tl_bins_fill(const struct tl_values *values, const uint64_t *units, size_t unit_count,
                  struct tl_bins *bins);

/* Most values that lie within `window` of each other, both ends in; sorted. */
size_t tl_most_within(const struct tl_values *values, uint64_t window);

#endif
