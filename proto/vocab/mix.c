/* SPDX-License-Identifier: Apache-2.0 */
/* mix.c - see mix.h. */
#include "proto/vocab/mix.h"

enum {
    TEXT_END = 0x100 /* no byte has this value */
};

uint64_t
tl_mix_text(uint64_t state, const char *text, size_t cap)
{
    for (size_t i = 0; i < cap && text[i] != '\0'; i++) {
        state = tl_mix(state, (uint64_t)(unsigned char)text[i]);
    }
    return tl_mix(state, TEXT_END);
}
