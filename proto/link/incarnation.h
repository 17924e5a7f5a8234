/* SPDX-License-Identifier: Apache-2.0 */
/*
 * incarnation - the number of this life of a node, higher than that of any life before
 *
 * Receivers refuse a message of an older incarnation, so a number must never come twice or go back,
 * whatever the wall clock does and whenever the power goes. The last one taken is kept in
 * STATE_DIR/NODE.incarnation:
 *
 *     trapline-incarnation 1 engine-3 1785000000123 <16 hexadecimal digits: check>
 *
 * 1. A number is durable on the disk before the caller has it.
 * 2. Two programs that start at once on this host get two numbers.
 * 3. A file that cannot be trusted is said, not set to zero.
 */
#ifndef PROTO_LINK_INCARNATION_H
#define PROTO_LINK_INCARNATION_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "proto/base/err.h"

/*
 * Take max(last taken + 1, wall_ms, above + 1) and remember it. Blocks on the disk, and up to 2 s
 * on another program that is taking one for the same node.
 *
 * state_dir: borrowed; made with mode 0700 if it is missing. node: borrowed, a well-formed id.
 * above: a number that this life must exceed (--incarnation-above), 0 for none. With above > 0 a
 * file that cannot be trusted is replaced: who gives the number takes the responsibility.
 * wall_ms: milliseconds since 1970, 0 if not known. out: at least 1; untouched on error.
 * why: out on error, one sentence of at most cap - 1 bytes; untouched on TL_OK.
 * Errors: TL_MALFORMED the file is damaged or another node's; TL_BADARG there is no higher number;
 * TL_PERM not allowed; TL_AGAIN another program holds the file; TL_NOTFOUND the folder of the state
 * folder is missing; TL_FULL the disk; TL_IO anything else.
 */
TL_MUST_USE enum tl_err tl_incarnation_take(const char *state_dir, const char *node, uint64_t above,
                                            uint64_t wall_ms, uint64_t *out, char *why, size_t cap);

/* That this program alone is that station on this host; held until released or the program ends. */
struct tl_incarnation_lock {
    bool is_held; /* false in one that is all zero, so that unlocking it closes nothing */
    int fd;       /* -1 when not held */
};

/*
 * Hold STATE_DIR/NODE.lock for the life of a station. Viewers do not take it. Does not wait.
 *
 * state_dir, node, why: as above. lock: out; not held on error.
 * Errors: TL_EXISTS that station runs here already; TL_PERM; TL_NOTFOUND; TL_FULL; TL_IO.
 */
TL_MUST_USE enum tl_err tl_incarnation_lock(const char *state_dir, const char *node,
                                            struct tl_incarnation_lock *lock, char *why,
                                            size_t cap);

/* Release it. Allowed twice, on NULL, and on one that is all zero. The file stays; an empty one means nothing. */
void tl_incarnation_unlock(struct tl_incarnation_lock *lock);

#endif
