/* SPDX-License-Identifier: Apache-2.0 */
/* chance.h - all that is random in a run, from one seed: xorshift64*, the same on every host */
#ifndef TESTS_RECORDER_CHANCE_H
#define TESTS_RECORDER_CHANCE_H

#include <stdbool.h>
#include <stdint.h>

struct chance {
    uint64_t state;
};

/* Also for seeds that are small and near each other. */
static inline struct chance
chance_of(uint64_t seed)
{
    return (struct chance){(seed + 1) * UINT64_C(0x9E3779B97F4A7C15) ^
                           UINT64_C(0xD1B54A32D192ED03)};
}

/* 0 .. below - 1; 0 of 0 */
static inline uint32_t
draw(struct chance *chance, uint32_t below)
{
    chance->state ^= chance->state >> 12;
    chance->state ^= chance->state << 25;
    chance->state ^= chance->state >> 27;
    uint32_t drawn = (uint32_t)((chance->state * UINT64_C(2685821657736338717)) >> 32);
    return below > 0 ? drawn % below : 0;
}

static inline bool
one_in(struct chance *chance, uint32_t of)
{
    return draw(chance, of) == 0;
}

#endif
