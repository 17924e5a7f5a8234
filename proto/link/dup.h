/* SPDX-License-Identifier: Apache-2.0 */
/*
 * dup.h - frames already taken: a copy that is equal byte for byte is dropped unread.
 *
 * Every frame comes once from each bus. The second copy is found by a keyed hash before the
 * signature is looked at. Only frames whose signature was good are remembered, so that nobody can
 * fill the memory with frames of his own making; the key is random, so that nobody can make two
 * frames collide.
 */
#ifndef TL_LINK_DUP_H
#define TL_LINK_DUP_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
    TL_DUP_KEPT = 1024,
    TL_DUP_BUCKETS = 2048,
    TL_DUP_HASH_LEN = 16,
    TL_DUP_KEY_LEN = 32
};

struct tl_dup_entry {
    uint8_t hash[TL_DUP_HASH_LEN];
    uint64_t when_ms;
    uint32_t bus;
    uint16_t next; /* in its bucket, index + 1; 0 = end */
    uint16_t bucket;
    bool used;
};

struct tl_dup {
    uint8_t key[TL_DUP_KEY_LEN];
    struct tl_dup_entry entry[TL_DUP_KEPT];
    uint16_t bucket[TL_DUP_BUCKETS]; /* index + 1 */
    uint32_t next;
};

/* Forget everything; a new random key. */
void tl_dup_init(struct tl_dup *dup);

void tl_dup_hash(const struct tl_dup *dup, const uint8_t *bytes, size_t len,
                 uint8_t hash[TL_DUP_HASH_LEN]);

/*
 * The first copy of that frame, or NULL. The caller may note that another bus brought it too.
 * Valid until the next tl_dup_add.
 */
struct tl_dup_entry *tl_dup_find(struct tl_dup *dup, const uint8_t hash[TL_DUP_HASH_LEN]);

/* Remember a verified frame that came from that bus; the oldest makes room. */
void tl_dup_add(struct tl_dup *dup, const uint8_t hash[TL_DUP_HASH_LEN], uint32_t bus,
                uint64_t now_ms);

#endif
