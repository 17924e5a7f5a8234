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
uint64_t tl_mix(uint64_t state, uint64_t word);

/* The same with each byte of a text of at most cap bytes, and its end. */
uint64_t tl_mix_text(uint64_t state, const char *text, size_t cap);

#endif
