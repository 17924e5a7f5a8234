/* SPDX-License-Identifier: Apache-2.0 */
/*
 * splitmix.h - numbers by chance from a seed, the same on every host
 *
 * splitmix64 by Sebastiano Vigna (2015), public domain. Every seed is as good as any other.
 */
#ifndef TESTS_SUPPORT_SPLITMIX_H
#define TESTS_SUPPORT_SPLITMIX_H

#include <stdint.h>

static inline uint64_t
splitmix(uint64_t *seed)
{
    uint64_t z = (*seed += UINT64_C(0x9E3779B97F4A7C15));
    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return z ^ (z >> 31);
}

#endif
