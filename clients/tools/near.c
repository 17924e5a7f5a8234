/* SPDX-License-Identifier: Apache-2.0 */
/* near.c - see near.h. */
#include "clients/tools/near.h"

#include <stddef.h>
#include <string.h>

enum {
    WORD_MAX = 32
};

static unsigned
least(unsigned a, unsigned b, unsigned c)
{
    unsigned ab = a < b ? a : b;
    return ab < c ? ab : c;
}

unsigned
tl_edits_between(const char *a, const char *b)
{
    unsigned row[WORD_MAX + 1];
    size_t length_a = strnlen(a, WORD_MAX);
    size_t length_b = strnlen(b, WORD_MAX);
    for (size_t j = 0; j <= length_b; j++) {
        row[j] = (unsigned)j;
    }
    for (size_t i = 1; i <= length_a; i++) {
        unsigned diagonal = row[0];
        row[0] = (unsigned)i;
        for (size_t j = 1; j <= length_b; j++) {
            unsigned above = row[j];
            row[j] = least(above + 1, row[j - 1] + 1, diagonal + (a[i - 1] == b[j - 1] ? 0 : 1));
            diagonal = above;
        }
    }
    return row[length_b];
}
