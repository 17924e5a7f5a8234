/* SPDX-License-Identifier: Apache-2.0 */
/*
 * text - make text of others safe to show
 *
 * Words that came over the bus, from a file or from keys can carry terminal commands or broken
 * UTF-8. They pass through here before a terminal or a log sees them. Pure; no heap, no locale.
 */
#ifndef PROTO_BASE_TEXT_H
#define PROTO_BASE_TEXT_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/*
 * Copy text, with '?' in place of all that must not reach a terminal.
 *
 * Replaced, each by one '?': a byte below 0x20 (newline and tab too) or 0x7f; a C1 control
 * (U+0080..U+009F); a line or paragraph separator or a character that reorders others
 * (U+2028..U+202E, U+2066..U+2069); each byte that is not part of valid UTF-8 as RFC 3629 section 3
 * defines it (overlong forms, surrogates and values above U+10FFFF are invalid).
 *
 * dst: taken, cap bytes, always ended by NUL when cap > 0; a character that does not fit whole ends
 *      the copy. May be NULL only if cap is 0.
 * src: borrowed, len bytes, need not end with NUL; must not overlap dst. May be NULL only if len
 *      is 0.
 * Returns the bytes written without the NUL.
 */
size_t tl_text_plain(char *dst, size_t cap, const char *src, size_t len);

/*
 * Read a whole decimal number, as the option of a program.
 *
 * text: digits only: no sign, no blank, nothing after them. out: untouched when false.
 * Returns false for anything else, and for a number above UINT64_MAX.
 */
bool tl_text_number(const char *text, uint64_t *out);

#endif
