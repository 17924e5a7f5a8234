/* SPDX-License-Identifier: Apache-2.0 */
/*
 * seal.h - a recorder's signature under the state of its tables: who holds the file without the
 * key cannot write the chain anew
 *
 * Ed25519, as in frame.c, over: "trapline.seal.v1" NUL, the signature of the seal before (64 bytes,
 * zeros for the first), the recorder's id NUL, then key epoch, incarnation, the seal's own number
 * and the wall clock (8 bytes each, little-endian), then the heads. A head is a table's last row:
 * its id (8 bytes, little-endian) and its hash (32 bytes); the tables are in a fixed order, and a
 * later schema adds at the end.
 */
#ifndef TL_CODEC_SEAL_H
#define TL_CODEC_SEAL_H

#include "proto/codec/chain.h"
#include "proto/codec/codec.h"

/* The tables of a record whose rows are chained, in the order of the heads. */
enum tl_record_table {
    TL_TABLE_CHANGE = 0,
    TL_TABLE_JUDGED,
    TL_TABLE_VERDICT,
    TL_TABLE_ALERT,
    TL_TABLE_GAP,
    TL_TABLE_PREDICTED,
    TL_TABLE_SETTING,
    TL_TABLE_EXPECTED,
    TL_TABLE_BEAT,
    TL_TABLES
};
/* Its name in the file. */
const char *tl_record_table_name(enum tl_record_table table);

enum {
    TL_SEAL_TABLES_MAX = 16,
    TL_SEAL_HEAD_LEN = 8 + TL_CHAIN_LEN,
    TL_SEAL_HEADS_MAX = TL_SEAL_TABLES_MAX * TL_SEAL_HEAD_LEN
};

struct tl_seal {
    uint64_t id; /* from 1 */
    char node[TL_ID_CAP];
    uint32_t key_epoch;
    uint64_t incarnation, wall_ms;
    uint32_t head_count;
    struct tl_chain_head head[TL_SEAL_TABLES_MAX];
    uint8_t before[TL_SIGNATURE_LEN]; /* signature of the seal before; zeros for the first */
    uint8_t signature[TL_SIGNATURE_LEN];
};

/* The heads as they stand in the file; returns their length. */
size_t tl_seal_write_heads(const struct tl_seal *seal, uint8_t heads[TL_SEAL_HEADS_MAX]);
/* TL_MALFORMED: no whole number of heads, or too many; *seal is untouched. */
TL_MUST_USE enum tl_err tl_seal_read_heads(const uint8_t *heads, size_t len, struct tl_seal *seal);

/* Fills seal->signature over all the rest. */
void tl_seal_sign(const struct tl_signer *signer, struct tl_seal *seal);
bool tl_seal_verify(const uint8_t identity[32], const struct tl_seal *seal);

#endif
