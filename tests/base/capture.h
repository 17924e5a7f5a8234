/* SPDX-License-Identifier: Apache-2.0 */
/*
 * capture - what a function writes to standard error
 *
 * The writing goes to an unlinked temporary file, so nothing blocks however much is written.
 */
#ifndef TESTS_BASE_CAPTURE_H
#define TESTS_BASE_CAPTURE_H

#include <stddef.h>

/*
 * Call write_it with standard error sent to a file, then read that file.
 *
 * text: taken, cap bytes, ended by NUL. A failure of the system ends the test program.
 * Returns the bytes written, at most cap - 1.
 */
size_t capture_stderr(void (*write_it)(void), char *text, size_t cap);

#endif
