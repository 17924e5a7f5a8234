/* SPDX-License-Identifier: Apache-2.0 */
/* people.c - see people.h. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <sodium.h>
#include <zmq.h>

#include "tests/access/people.h"

const struct tl_node PEOPLE_NODES[] = {
    {.id = "engine-1", .kind = TL_NODE_STATION, .station = TL_STATION_ENGINE, .unit = 1},
    {.id = "engine-2", .kind = TL_NODE_STATION, .station = TL_STATION_ENGINE, .unit = 2},
    {.id = "deck", .kind = TL_NODE_STATION, .station = TL_STATION_DECK},
    {.id = "approach", .kind = TL_NODE_STATION, .station = TL_STATION_APPROACH},
    {.id = "platform", .kind = TL_NODE_STATION, .station = TL_STATION_PLATFORM, .may_foul = true},
    {.id = "primary", .kind = TL_NODE_STATION, .station = TL_STATION_PRIMARY},
    {.id = "bridge", .kind = TL_NODE_STATION, .station = TL_STATION_BRIDGE},
    {.id = "validator-1", .kind = TL_NODE_VALIDATOR},
    {.id = "validator-2", .kind = TL_NODE_VALIDATOR},
    {.id = "recorder", .kind = TL_NODE_RECORDER},
    {.id = "bus-a", .kind = TL_NODE_RELAY},
    {.id = "bus-b", .kind = TL_NODE_RELAY},
    {.id = "viewer", .kind = TL_NODE_VIEWER},
};
const size_t PEOPLE_COUNT = sizeof PEOPLE_NODES / sizeof PEOPLE_NODES[0];

void
people_key(const char *node, uint32_t epoch, struct people_key *out)
{
    uint8_t seed[crypto_sign_SEEDBYTES];
    uint8_t secret[crypto_sign_SECRETKEYBYTES];
    uint8_t curve_secret[crypto_box_SECRETKEYBYTES];
    char name[TL_USER_ID_CAP];

    (void)snprintf(name, sizeof name, "%s/%u", node, (unsigned)epoch);
    assert_int_equal(
        crypto_generichash(seed, sizeof seed, (const uint8_t *)name, strlen(name), NULL, 0), 0);
    assert_int_equal(crypto_sign_seed_keypair(out->identity, secret, seed), 0);
    assert_int_equal(crypto_sign_ed25519_pk_to_curve25519(out->curve_public, out->identity), 0);
    assert_int_equal(crypto_sign_ed25519_sk_to_curve25519(curve_secret, secret), 0);
    assert_non_null(zmq_z85_encode(out->public_z85, out->curve_public, sizeof out->curve_public));
    assert_non_null(zmq_z85_encode(out->secret_z85, curve_secret, sizeof curve_secret));
    memcpy(out->signing, secret, sizeof out->signing);
}

void
people_add_key(struct tl_config *config, const char *node, uint32_t epoch, bool revoked)
{
    struct tl_key *key = &config->key[config->key_count];
    struct people_key secrets;

    assert_in_range(config->key_count, 0, TL_KEYS_MAX - 1);
    people_key(node, epoch, &secrets);
    *key = (struct tl_key){.epoch = epoch, .revoked = revoked};
    (void)snprintf(key->node, sizeof key->node, "%s", node);
    memcpy(key->identity, secrets.identity, sizeof key->identity);
    config->key_count++;
}

struct tl_config *
people_config(void)
{
    struct tl_config *config = calloc(1, sizeof *config);

    assert_non_null(config);
    for (size_t i = 0; i < PEOPLE_COUNT; i++) {
        config->node[config->node_count++] = PEOPLE_NODES[i];
        people_add_key(config, PEOPLE_NODES[i].id, 1, false);
    }
    return config;
}
