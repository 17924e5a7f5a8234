/* SPDX-License-Identifier: Apache-2.0 */
/* near.h - how far a mistyped word is from a known one. */
#ifndef TL_TOOLS_NEAR_H
#define TL_TOOLS_NEAR_H

/* Edits between two words, letters swapped counting as two; only their first 32 bytes count. */
unsigned tl_edits_between(const char *a, const char *b);

#endif
