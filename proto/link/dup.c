/* SPDX-License-Identifier: Apache-2.0 */
/* dup.c - see dup.h. */
#include "proto/link/dup.h"

#include <sodium.h>
#include <string.h>

_Static_assert(TL_DUP_KEPT < UINT16_MAX, "indices are 16 bits");

void
tl_dup_init(struct tl_dup *dup)
{
    memset(dup, 0, sizeof *dup);
    randombytes_buf(dup->key, sizeof dup->key);
}

void
tl_dup_hash(const struct tl_dup *dup, const uint8_t *bytes, size_t len,
            uint8_t hash[TL_DUP_HASH_LEN])
{
    (void)crypto_generichash(hash, TL_DUP_HASH_LEN, bytes, len, dup->key, sizeof dup->key);
}

static uint16_t
bucket_of(const uint8_t hash[TL_DUP_HASH_LEN])
{
    return (uint16_t)((hash[0] | (unsigned)hash[1] << 8) % TL_DUP_BUCKETS);
}

struct tl_dup_entry *
tl_dup_find(struct tl_dup *dup, const uint8_t hash[TL_DUP_HASH_LEN])
{
    for (uint16_t at = dup->bucket[bucket_of(hash)]; at != 0; at = dup->entry[at - 1].next) {
        if (memcmp(dup->entry[at - 1].hash, hash, TL_DUP_HASH_LEN) == 0) {
            return &dup->entry[at - 1];
        }
    }
    return NULL;
}

static void
unlink_entry(struct tl_dup *dup, uint16_t index)
{
    uint16_t *link = &dup->bucket[dup->entry[index].bucket];
    while (*link != 0 && *link != index + 1) {
        link = &dup->entry[*link - 1].next;
    }
    *link = dup->entry[index].next;
}

void
tl_dup_add(struct tl_dup *dup, const uint8_t hash[TL_DUP_HASH_LEN], uint32_t bus, uint64_t now_ms)
{
    uint16_t index = (uint16_t)(dup->next++ % TL_DUP_KEPT);
    struct tl_dup_entry *entry = &dup->entry[index];
    if (entry->used) {
        unlink_entry(dup, index);
    }
    memset(entry, 0, sizeof *entry);
    memcpy(entry->hash, hash, TL_DUP_HASH_LEN);
    entry->used = true;
    entry->when_ms = now_ms;
    entry->bus = bus;
    entry->bucket = bucket_of(hash);
    entry->next = dup->bucket[entry->bucket];
    dup->bucket[entry->bucket] = (uint16_t)(index + 1);
}
