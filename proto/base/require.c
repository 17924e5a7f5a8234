/* SPDX-License-Identifier: Apache-2.0 */
/*
 * require - the end of a program that found a bug in itself
 */
#include "proto/base/require.h"

#include <stdio.h>
#include <stdlib.h>

_Noreturn void
tl_require_failed(const char *file, int line, const char *text)
{
    (void)fprintf(stderr, "%s:%d: requirement failed: %s\n", file, line, text);
    abort();
}
