/* SPDX-License-Identifier: Apache-2.0 */
/*
 * require - stop on a bug of our own
 *
 * TL_REQUIRE states what our own code guarantees. It stays in release builds: a node that is wrong
 * about itself must fall silent, and silence is seen by every other node as not ready.
 *
 * 1. Nothing from the wire, a file, a key or the environment may trip it.
 * 2. The condition has no side effects.
 */
#ifndef PROTO_BASE_REQUIRE_H
#define PROTO_BASE_REQUIRE_H

#define TL_REQUIRE(cond) ((cond) ? (void)0 : tl_require_failed(__FILE__, __LINE__, #cond))

/*
 * Print one line with file, line and text to standard error and abort. Call it through TL_REQUIRE.
 *
 * file: path from the root of the source tree. line: from 1. text: the condition as written.
 */
_Noreturn void tl_require_failed(const char *file, int line, const char *text);

#endif
