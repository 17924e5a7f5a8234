/* SPDX-License-Identifier: Apache-2.0 */
/*
 * conf_keys - keys.yaml: the public half of every node's identity, and which are revoked
 *
 * Bounds: a node has at most two keys that are not revoked, the old one and the new one while it
 * changes over. A revoked key stays listed, so that its number is never used again.
 */
#include "proto/base/conf_take.h"

#include <string.h>

#include <sodium.h>

enum {
    EPOCH_MAX = 999999
};

static enum tl_err
take_identity(struct tl_conf_field field, uint8_t identity[32])
{
    uint8_t curve[crypto_scalarmult_curve25519_BYTES];
    const char *end = NULL;
    size_t len = 0;

    if (strlen(field.text) != 64 ||
        sodium_hex2bin(identity, 32, field.text, 64, NULL, &len, &end) != 0 || len != 32 ||
        *end != '\0') {
        return tl_conf_say(field.item, field.key,
                           "identity \"%.40s\" is not 64 hexadecimal digits; copy the row again "
                           "from the host that made the key",
                           field.text);
    }
    /* Its transport key is derived from it; one that has none would be found out only at sea. */
    if (crypto_sign_ed25519_pk_to_curve25519(curve, identity) != 0) {
        return tl_conf_say(field.item, field.key,
                           "identity is not an Ed25519 public key; copy the row again from the "
                           "host that made the key");
    }
    return TL_OK;
}

/* Against the keys before it. */
static enum tl_err
check_key(const struct tl_conf_item *item, const struct tl_key *key, const struct tl_config *config)
{
    unsigned live = key->revoked ? 0 : 1;

    for (uint32_t i = 0; i < config->key_count; i++) {
        const struct tl_key *other = &config->key[i];
        bool is_same_node = strcmp(other->node, key->node) == 0;
        if (memcmp(other->identity, key->identity, sizeof key->identity) == 0) {
            return tl_conf_say(item, "identity",
                               "identity is that of %s, epoch %u, too; make a new key for one",
                               other->node, other->epoch);
        }
        if (is_same_node && other->epoch == key->epoch) {
            return tl_conf_say(item, "epoch", "%s has epoch %u twice; remove one", key->node,
                               key->epoch);
        }
        live += is_same_node && !other->revoked ? 1 : 0;
    }
    if (live > TL_KEYS_PER_NODE_MAX) {
        return tl_conf_say(item, "", "%s has more than %d keys that are not revoked; revoke one",
                           key->node, TL_KEYS_PER_NODE_MAX);
    }
    return TL_OK;
}

static enum tl_err
take_key(const struct tl_conf_item *item, const struct tl_conf_raw_key *raw,
         struct tl_config *config)
{
    static const struct tl_conf_range epochs = {1, EPOCH_MAX, ""};
    struct tl_key *key = &config->key[config->key_count];
    enum tl_err err =
        tl_conf_id((struct tl_conf_field){item, "node", raw->node}, key->node, sizeof key->node);

    if (err == TL_OK && tl_config_node(config, key->node) == NULL) {
        err = tl_conf_say(item, "node",
                          "node %s is not in stations.yaml; add it there or remove this key",
                          key->node);
    }
    if (err == TL_OK) {
        err =
            tl_conf_number((struct tl_conf_field){item, "epoch", raw->epoch}, &epochs, &key->epoch);
    }
    if (err == TL_OK) {
        err = take_identity((struct tl_conf_field){item, "identity", raw->identity}, key->identity);
    }
    if (err == TL_OK) {
        err = tl_conf_bool((struct tl_conf_field){item, "revoked", raw->revoked}, &key->revoked);
    }
    if (err == TL_OK) {
        err = check_key(item, key, config);
    }
    config->key_count += err == TL_OK ? 1 : 0;
    return err;
}

enum tl_err
tl_conf_take_keys(const struct tl_conf_file *file, struct tl_config *config,
                  struct tl_conf_fault *fault)
{
    void *read = NULL;
    enum tl_err err = tl_conf_schema_read(file, TL_CONF_KEYS, &read, fault);

    if (err != TL_OK) {
        return err;
    }
    const struct tl_conf_raw_keys *raw = read;
    config->key_count = 0;
    for (uint32_t i = 0; i < raw->keys_count && err == TL_OK; i++) {
        struct tl_conf_item item = tl_conf_item_of(file, fault, "keys", i);
        err = take_key(&item, &raw->keys[i], config);
    }
    tl_conf_schema_free(TL_CONF_KEYS, read);
    return err;
}

static bool
has_key(const struct tl_config *config, const char *node)
{
    for (uint32_t i = 0; i < config->key_count; i++) {
        if (strcmp(config->key[i].node, node) == 0) {
            return true;
        }
    }
    return false;
}

enum tl_err
tl_conf_check_keyed(const struct tl_conf_file *file, const struct tl_config *config,
                    struct tl_conf_fault *fault)
{
    struct tl_conf_item top = tl_conf_item_of(file, fault, NULL, 0);

    for (uint32_t i = 0; i < config->node_count; i++) {
        if (!has_key(config, config->node[i].id)) {
            return tl_conf_say(
                &top, "keys",
                "node %s of stations.yaml has no key; run: trapline keys new -C DIR %s",
                config->node[i].id, config->node[i].id);
        }
    }
    return TL_OK;
}
