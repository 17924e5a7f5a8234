/* SPDX-License-Identifier: Apache-2.0 */
/*
 * capture - standard error through a temporary file
 */
#include "tests/base/capture.h"

#include <stdio.h>
#include <sys/types.h>
#include <unistd.h>

#include "proto/base/require.h"

size_t
capture_stderr(void (*write_it)(void), char *text, size_t cap)
{
    FILE *file = tmpfile();
    TL_REQUIRE(file != NULL && cap > 0);
    int saved = dup(STDERR_FILENO);
    TL_REQUIRE(saved >= 0);

    TL_REQUIRE(dup2(fileno(file), STDERR_FILENO) >= 0);
    write_it();
    TL_REQUIRE(dup2(saved, STDERR_FILENO) >= 0);
    (void)close(saved);

    ssize_t len = pread(fileno(file), text, cap - 1, 0);
    TL_REQUIRE(len >= 0);
    text[len] = '\0';
    (void)fclose(file);
    return (size_t)len;
}
