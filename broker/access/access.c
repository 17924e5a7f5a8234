/* SPDX-License-Identifier: Apache-2.0 */
/* access.c - the authority table. See access.h. */
#include "broker/access/access.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <zmq.h>

#include "proto/base/require.h"
#include "proto/link/identity.h"

enum {
    Z85_CAP = 41
};

static int
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): the shape that qsort asks for */
compare_rows(const void *left, const void *right)
{
    const struct tl_access_row *a = left;
    const struct tl_access_row *b = right;

    return strcmp(a->user_id, b->user_id);
}

static bool
derive_curve_key(const uint8_t identity[32], uint8_t curve_public[TL_CURVE_KEY_LEN])
{
    char z85[Z85_CAP];

    return tl_identity_curve_public(identity, z85) == TL_OK &&
           zmq_z85_decode(curve_public, z85) != NULL;
}

static enum tl_err
build_row(const struct tl_config *config, const struct tl_key *key, struct tl_access *table,
          char *why, size_t why_cap)
{
    struct tl_access_row *row = &table->row[table->count];
    const struct tl_node *node = tl_config_node(config, key->node);
    const struct tl_access_row *same;

    if (node == NULL) {
        (void)snprintf(why, why_cap, "key %s, epoch %u: no node has that name", key->node,
                       (unsigned)key->epoch);
        return TL_CONFIG;
    }
    *row = (struct tl_access_row){.revoked = key->revoked, .node = *node};
    (void)snprintf(row->user_id, sizeof row->user_id, "%s/%u", key->node, (unsigned)key->epoch);
    if (!derive_curve_key(key->identity, row->curve_public)) {
        (void)snprintf(why, why_cap, "key %s: its identity is not a usable public key",
                       row->user_id);
        return TL_CONFIG;
    }
    same = tl_access_by_key(table, row->curve_public);
    if (same != NULL) {
        (void)snprintf(why, why_cap, "key %s: the same CURVE key as %s", row->user_id,
                       same->user_id);
        return TL_CONFIG;
    }
    table->count++;
    return TL_OK;
}

static enum tl_err
refuse_double_ids(const struct tl_access *table, char *why, size_t why_cap)
{
    for (uint32_t i = 1; i < table->count; i++) {
        if (strcmp(table->row[i - 1].user_id, table->row[i].user_id) == 0) {
            (void)snprintf(why, why_cap, "key %s: listed twice", table->row[i].user_id);
            return TL_CONFIG;
        }
    }
    return TL_OK;
}

enum tl_err
tl_access_build(const struct tl_config *config, struct tl_access *out, char *why, size_t why_cap)
{
    struct tl_access table = {.count = 0};
    enum tl_err err;

    TL_REQUIRE(config->key_count <= TL_KEYS_MAX);
    for (uint32_t i = 0; i < config->key_count; i++) {
        err = build_row(config, &config->key[i], &table, why, why_cap);
        if (err != TL_OK) {
            return err;
        }
    }
    qsort(table.row, table.count, sizeof table.row[0], compare_rows);
    err = refuse_double_ids(&table, why, why_cap);
    if (err == TL_OK) {
        *out = table;
    }
    return err;
}

uint32_t
tl_access_update(struct tl_access *table, const struct tl_access *next)
{
    struct tl_access merged = *next;
    uint32_t reused = 0;

    for (uint32_t i = 0; i < merged.count; i++) {
        struct tl_access_row *row = &merged.row[i];
        const struct tl_access_row *old = tl_access_by_user(table, row->user_id);
        if (old != NULL &&
            (old->reused || memcmp(old->curve_public, row->curve_public, TL_CURVE_KEY_LEN) != 0)) {
            row->revoked = true;
            row->reused = true;
            reused++;
        }
    }
    *table = merged;
    return reused;
}

const struct tl_access_row *
tl_access_by_user(const struct tl_access *table, const char *user_id)
{
    uint32_t low = 0;
    uint32_t high = table->count;

    while (user_id != NULL && low < high) {
        uint32_t middle = low + (high - low) / 2;
        int order = strcmp(user_id, table->row[middle].user_id);
        if (order == 0) {
            return &table->row[middle];
        }
        if (order < 0) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    return NULL;
}

const struct tl_access_row *
tl_access_by_key(const struct tl_access *table, const uint8_t curve_public[TL_CURVE_KEY_LEN])
{
    for (uint32_t i = 0; i < table->count; i++) {
        if (memcmp(table->row[i].curve_public, curve_public, TL_CURVE_KEY_LEN) == 0) {
            return &table->row[i];
        }
    }
    return NULL;
}

enum tl_refusal
tl_access_check(const struct tl_access *table, const char *user_id, const struct tl_topic *topic)
{
    const struct tl_access_row *row = tl_access_by_user(table, user_id);

    if (row == NULL) {
        return TL_REFUSAL_UNKNOWN_USER;
    }
    if (row->revoked) {
        return TL_REFUSAL_REVOKED;
    }
    return tl_config_may_publish(&row->node, topic) ? TL_REFUSAL_UNKNOWN
                                                    : TL_REFUSAL_NOT_YOUR_TOPIC;
}
