/* SPDX-License-Identifier: Apache-2.0 */
/* seal.c - see seal.h. */
#include "proto/codec/seal.h"

#include <assert.h>
#include <string.h>

#include "proto/base/require.h"
#include "proto/codec/sign.h"

static const char purpose[] = "trapline.seal.v1"; /* its NUL is signed too */

enum {
    NUMBERS = 4,
    SIGNED_CAP =
        (int)sizeof purpose + TL_SIGNATURE_LEN + TL_ID_CAP + 8 * NUMBERS + TL_SEAL_HEADS_MAX
};

static_assert((int)TL_TABLES <= (int)TL_SEAL_TABLES_MAX, "room for each table");

const char *
tl_record_table_name(enum tl_record_table table)
{
    static const char *const names[TL_TABLES] = {[TL_TABLE_CHANGE] = "change",
                                                 [TL_TABLE_JUDGED] = "judged",
                                                 [TL_TABLE_VERDICT] = "verdict",
                                                 [TL_TABLE_ALERT] = "alert",
                                                 [TL_TABLE_GAP] = "gap",
                                                 [TL_TABLE_PREDICTED] = "predicted",
                                                 [TL_TABLE_SETTING] = "predicted_setting",
                                                 [TL_TABLE_EXPECTED] = "expected",
                                                 [TL_TABLE_BEAT] = "beat"};
    TL_REQUIRE(table < TL_TABLES);
    return names[table];
}

static size_t
put_number(uint8_t *dst, uint64_t number)
{
    for (size_t i = 0; i < sizeof number; i++) {
        dst[i] = (uint8_t)(number >> (8 * i));
    }
    return sizeof number;
}

static uint64_t
get_number(const uint8_t *src)
{
    uint64_t number = 0;
    for (size_t i = 0; i < sizeof number; i++) {
        number |= (uint64_t)src[i] << (8 * i);
    }
    return number;
}

size_t
tl_seal_write_heads(const struct tl_seal *seal, uint8_t heads[TL_SEAL_HEADS_MAX])
{
    size_t used = 0;
    TL_REQUIRE(seal->head_count <= TL_SEAL_TABLES_MAX);
    for (uint32_t i = 0; i < seal->head_count; i++) {
        used += put_number(heads + used, seal->head[i].id);
        memcpy(heads + used, seal->head[i].hash, TL_CHAIN_LEN);
        used += TL_CHAIN_LEN;
    }
    return used;
}

enum tl_err
tl_seal_read_heads(const uint8_t *heads, size_t len, struct tl_seal *seal)
{
    if (len % TL_SEAL_HEAD_LEN != 0 || len > TL_SEAL_HEADS_MAX) {
        return TL_MALFORMED;
    }
    seal->head_count = (uint32_t)(len / TL_SEAL_HEAD_LEN);
    for (uint32_t i = 0; i < seal->head_count; i++, heads += TL_SEAL_HEAD_LEN) {
        seal->head[i].id = get_number(heads);
        memcpy(seal->head[i].hash, heads + sizeof(uint64_t), TL_CHAIN_LEN);
    }
    return TL_OK;
}

static size_t
write_signed(const struct tl_seal *seal, uint8_t bytes[SIGNED_CAP])
{
    size_t node_len = strnlen(seal->node, TL_ID_CAP - 1);
    size_t used = sizeof purpose;
    memcpy(bytes, purpose, sizeof purpose);
    memcpy(bytes + used, seal->before, TL_SIGNATURE_LEN);
    used += TL_SIGNATURE_LEN;
    memcpy(bytes + used, seal->node, node_len);
    bytes[used + node_len] = 0;
    used += node_len + 1;
    used += put_number(bytes + used, seal->key_epoch);
    used += put_number(bytes + used, seal->incarnation);
    used += put_number(bytes + used, seal->id);
    used += put_number(bytes + used, seal->wall_ms);
    return used + tl_seal_write_heads(seal, bytes + used);
}

void
tl_seal_sign(const struct tl_signer *signer, struct tl_seal *seal)
{
    uint8_t bytes[SIGNED_CAP];
    size_t len = write_signed(seal, bytes);
    tl_sign_bytes(signer, (struct tl_signed){bytes, len}, seal->signature);
}

bool
tl_seal_verify(const uint8_t identity[32], const struct tl_seal *seal)
{
    uint8_t bytes[SIGNED_CAP];
    size_t len = write_signed(seal, bytes);
    return tl_verify_bytes(identity, (struct tl_signed){bytes, len}, seal->signature);
}
