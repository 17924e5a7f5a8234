/* SPDX-License-Identifier: Apache-2.0 */
/*
 * fuzz.h - one border of the programs: bytes that anybody may send, and what must hold of them
 *
 * A target_NAME.c has the two functions below; what must hold is a TL_REQUIRE, which aborts, as one
 * of the program's own would. Two mains call it: libfuzzer.c, where coverage leads (clang), and
 * plain.c, where the same seed gives the same inputs with any compiler.
 *
 * A target keeps nothing from one input for the next, so that an input alone is a finding.
 */
#ifndef TESTS_FUZZ_FUZZ_H
#define TESTS_FUZZ_FUZZ_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "proto/base/require.h"
#include "proto/vocab/config.h"

enum {
    FUZZ_INPUT_MAX = 80 * 1024, /* above the largest frame and the largest file */
    FUZZ_PATH_CAP = 256
};

extern const char *const fuzz_name;
/* Once, before the first input: what every input is tried on, of the target's own type. */
void *fuzz_open(void);
/* One input. world: of fuzz_open. bytes: exactly len of them. */
void fuzz_take(void *world, const uint8_t *bytes, size_t len);

/* ---- what targets share: support.c ---- */

/* What is left of an input. Each reading takes bytes off its front; none left gives 0 and "". */
struct fuzz_input {
    const uint8_t *bytes;
    size_t len;
};
uint8_t fuzz_byte(struct fuzz_input *input);
uint64_t fuzz_number(struct fuzz_input *input, size_t bytes);
/* At most `most` bytes, as many as the first one says. */
struct fuzz_input fuzz_piece(struct fuzz_input *input, size_t most);
/* Up to the next newline, which is taken too, as a text of at most cap - 1 bytes without a NUL. */
size_t fuzz_line(struct fuzz_input *input, char *dst, size_t cap);

/* Nothing in it moves a cursor, and it is whole UTF-8. */
bool fuzz_is_plain(const char *text);
/* Equal to the last byte, those between members too: of what was copied or cleared whole. */
bool fuzz_same(const void *a, const void *b, size_t len);
/* Plain, and it says something. */
bool fuzz_is_sentence(const char *text);

/* A folder of this process, in memory where the machine has such; removed when it ends. */
const char *fuzz_folder(void);
/* Write a file in it; path: FUZZ_PATH_CAP. */
void fuzz_put(const char *name, const void *bytes, size_t len, char *path);
/* A file of the source tree, at most cap bytes. */
size_t fuzz_source(const char *name, uint8_t *dst, size_t cap);

#endif
