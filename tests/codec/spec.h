/* SPDX-License-Identifier: Apache-2.0 */
/*
 * spec.h - hand-made protobuf bytes from one line of text
 *
 * So that a test says field numbers and values and nothing of ours has a say in the bytes:
 *
 *     1:1 2:'engine-1' 4:z-5 17:{1:{21:{1:53}}} !8000
 *
 * N:123 varint; N:z-5 varint of the zigzag form (sint32, sint64); N:'text' with \xHH for any byte;
 * N:{...} message; !hex bytes as they are. Fields come in the order given, defaults are not left
 * out. Encoding: "Protocol Buffers Encoding", protobuf.dev/programming-guides/encoding.
 */
#ifndef TESTS_CODEC_SPEC_H
#define TESTS_CODEC_SPEC_H

#include <stddef.h>
#include <stdint.h>

/* Write the bytes of spec to dst; fails the test when spec is malformed or cap too small. */
size_t spec_write(const char *spec, uint8_t *dst, size_t cap);

#endif
