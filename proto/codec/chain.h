/* SPDX-License-Identifier: Apache-2.0 */
/*
 * chain.h - the hash of a row of a record, which hangs on the row before it in the same table
 *
 * BLAKE2b-256 (RFC 7693, by libsodium, without a key) over, in this order:
 *
 *   "trapline.row.v1" NUL, the table's name NUL, the hash of the row before (32 bytes, zeros for
 *   the first), the row's id (8 bytes), and of each column in the order of the table, but its id
 *   and its hash:
 *     'n'                        NULL
 *     'i' 8 bytes                integer, two's complement
 *     't' 4 bytes, the bytes     text
 *     'b' 4 bytes, the bytes     blob
 *
 * Numbers and lengths are little-endian. NULLs after the last other value are left out, so that a
 * later schema may add columns to rows that have none.
 */
#ifndef TL_CODEC_CHAIN_H
#define TL_CODEC_CHAIN_H

#include <stddef.h>
#include <stdint.h>

enum {
    TL_CHAIN_LEN = 32,
    TL_CHAIN_STATE = 384 /* of the library */
};

/* Where a table stands: its last row. Zeros = no row yet. */
struct tl_chain_head {
    uint64_t id;
    uint8_t hash[TL_CHAIN_LEN];
};

struct tl_chain {
    _Alignas(64) uint8_t state[TL_CHAIN_STATE];
    uint32_t nulls; /* not yet known to be followed by a value */
};

/* Begin the row `id` of that table, behind the row with that hash. sodium_init has been called. */
void tl_chain_begin(struct tl_chain *chain, const char *table, const uint8_t before[TL_CHAIN_LEN],
                    uint64_t id);
void tl_chain_null(struct tl_chain *chain);
void tl_chain_integer(struct tl_chain *chain, int64_t number);
/* At most 2^32 - 1 bytes, which no column of ours has. */
void tl_chain_text(struct tl_chain *chain, const char *text, size_t len);
void tl_chain_blob(struct tl_chain *chain, const void *bytes, size_t len);
/* The row's hash. The chain must be begun anew afterwards. */
void tl_chain_end(struct tl_chain *chain, uint8_t hash[TL_CHAIN_LEN]);

#endif
