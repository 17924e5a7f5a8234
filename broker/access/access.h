/* SPDX-License-Identifier: Apache-2.0 */
/*
 * access - who may speak on a bus: key -> user id -> node -> topics
 *
 * The authority table is made from the configuration and holds one row for each key that is
 * listed, revoked ones too. The handshake asks it by key (broker/access/zap.h) and gets a user id,
 * "node/epoch"; the relay asks it again by user id for every single message, so that a revocation
 * acts on sessions that already stand.
 *
 * 1. Only exact ids of the table are accepted; nothing is read out of the text of an id.
 * 2. Two rows never share a user id or a CURVE key.
 * 3. A table is a plain value: copy it, send it, replace it. No heap, no lock, no clock.
 */
#ifndef BROKER_ACCESS_ACCESS_H
#define BROKER_ACCESS_ACCESS_H

#include "proto/base/err.h"
#include "proto/vocab/config.h"

enum {
    TL_USER_ID_CAP = TL_ID_CAP + 11, /* "/", ten digits */
    TL_CURVE_KEY_LEN = 32
};

struct tl_access_row {
    char user_id[TL_USER_ID_CAP];
    uint8_t curve_public[TL_CURVE_KEY_LEN];
    bool revoked;
    bool reused; /* its user id stood for another key before; then it stays revoked */
    struct tl_node node;
};

struct tl_access {
    uint32_t count;
    struct tl_access_row row[TL_KEYS_MAX]; /* ascending by user id */
};

/*
 * Make the table from a loaded configuration.
 *
 * config: borrowed. out: written on TL_OK only. why: out on error, one line with its NUL, cut to
 * why_cap bytes.
 * Errors: TL_CONFIG, when a key names no node, gives no CURVE key, or gives one that another row
 * has (an Ed25519 key and its negative share theirs).
 */
TL_MUST_USE enum tl_err tl_access_build(const struct tl_config *config, struct tl_access *out,
                                        char *why, size_t why_cap);

/*
 * Replace a table in use by the next one. A user id that stood for one key and now stands for
 * another becomes revoked and stays so in all later updates: sessions made with the old key carry
 * the same id and cannot be told from new ones. An epoch is used for one key only, ever.
 *
 * table: in and out. next: borrowed.
 * Returns how many user ids are revoked for that reason.
 */
uint32_t tl_access_update(struct tl_access *table, const struct tl_access *next);

/*
 * The row of that user id, or NULL. user_id: borrowed, ended by NUL; may be NULL. It may come from
 * the wire.
 */
const struct tl_access_row *tl_access_by_user(const struct tl_access *table, const char *user_id);

/* The row of that CURVE public key, or NULL. */
const struct tl_access_row *tl_access_by_key(const struct tl_access *table,
                                             const uint8_t curve_public[TL_CURVE_KEY_LEN]);

/*
 * Decide whether that user may publish on that topic now. Pure.
 *
 * user_id: what the handshake stated for the session, NULL or empty when it stated nothing.
 * Returns TL_REFUSAL_UNKNOWN, which is 0, when allowed; else UNKNOWN_USER, REVOKED or
 * NOT_YOUR_TOPIC.
 */
enum tl_refusal tl_access_check(const struct tl_access *table, const char *user_id,
                                const struct tl_topic *topic);

#endif
