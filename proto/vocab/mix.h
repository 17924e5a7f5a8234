/* SPDX-License-Identifier: Apache-2.0 */
/*
 * mix.h - fold words into one 64-bit number that is the same in every program.
 *
 * Not a secret and not a checksum: two parties only compare what they both made. Pure.
 */
#ifndef TL_VOCAB_MIX_H
#define TL_VOCAB_MIX_H

#include <stddef.h>
#include <stdint.h>

/* The state with one more word folded in. */
static inline uint64_t
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): state first, as in every fold */
tl_mix(uint64_t state, uint64_t word)
{
    state ^= word;
    state *= 0x9E3779B97F4A7C15ull;
    state ^= state >> 29;
    state *= 0xBF58476D1CE4E5B9ull;
    return state ^ (state >> 32);
}

/* The same with each byte of a text of at most cap bytes, and its end. */
uint64_t tl_mix_text(uint64_t state, const char *text, size_t cap);
/*
 * The same, but eight bytes at a time, the first lowest, and at last their number: another number,
 * sooner made.
 */
uint64_t tl_mix_words(uint64_t state, const char *text, size_t cap);

#endif
