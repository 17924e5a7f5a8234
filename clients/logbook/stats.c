/* SPDX-License-Identifier: Apache-2.0 */
/* stats.c - see stats.h. */
#include "clients/logbook/stats.h"

#include <stdlib.h>
#include <string.h>

enum {
    FIRST_CAP = 64,
    QUARTERS = 4,
    PERMILLE = 1000
};

enum tl_err
tl_values_add(struct tl_values *values, uint64_t value)
{
    if (values->count == values->cap) {
        size_t cap = values->cap == 0 ? FIRST_CAP : 2 * values->cap;
        uint64_t *moved = realloc(values->value, cap * sizeof *moved);
        if (moved == NULL) {
            return TL_NOMEM;
        }
        values->value = moved;
        values->cap = cap;
    }
    values->value[values->count++] = value;
    return TL_OK;
}

static int
compare(const void *a, const void *b)
{
    uint64_t left = *(const uint64_t *)a;
    uint64_t right = *(const uint64_t *)b;
    return left < right ? -1 : (left > right ? 1 : 0);
}

void
tl_values_sort(struct tl_values *values)
{
    if (values->count > 0) {
        qsort(values->value, values->count, sizeof values->value[0], compare);
    }
}

void
tl_values_free(struct tl_values *values)
{
    free(values->value);
    *values = (struct tl_values){0};
}

uint64_t
tl_quartile(const struct tl_values *values, unsigned k)
{
    size_t at = (values->count - 1) * k;
    size_t low = at / QUARTERS;
    uint64_t quarters = at % QUARTERS;
    uint64_t value = values->value[low];
    if (quarters > 0) {
        uint64_t step = values->value[low + 1] - value;
        value += (step * quarters + QUARTERS / 2) / QUARTERS;
    }
    return value;
}

uint64_t
tl_permille(struct tl_share share)
{
    return (share.part * PERMILLE + share.whole / 2) / share.whole;
}

void
tl_bins_fill(const struct tl_values *values, const uint64_t *units, size_t unit_count,
             struct tl_bins *bins)
{
    uint64_t least = values->value[0];
    uint64_t most = values->value[values->count - 1];
    memset(bins, 0, sizeof *bins);
    for (size_t i = 0; i < unit_count; i++) {
        bins->width = units[i];
        bins->first = least - least % units[i];
        bins->count = (size_t)((most - bins->first) / units[i]) + 1;
        if (bins->count <= TL_BINS_MAX) {
            break;
        }
    }
    bins->count = bins->count > TL_BINS_MAX ? TL_BINS_MAX : bins->count;
    for (size_t i = 0; i < values->count; i++) {
        size_t at = (size_t)((values->value[i] - bins->first) / bins->width);
        bins->in[at < bins->count ? at : bins->count - 1]++;
    }
}

size_t
tl_most_within(const struct tl_values *values, uint64_t window)
{
    size_t most = 0;
    size_t first = 0;
    for (size_t i = 0; i < values->count; i++) {
        while (values->value[i] - values->value[first] > window) {
            first++;
        }
        most = i - first + 1 > most ? i - first + 1 : most;
    }
    return most;
}
