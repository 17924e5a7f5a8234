/* SPDX-License-Identifier: Apache-2.0 */
/*
 * people - an invented ship's nodes and their keys, the same in every run
 *
 * Keys come from fixed seeds, so a test can have the secret half of any of them.
 */
#ifndef TESTS_ACCESS_PEOPLE_H
#define TESTS_ACCESS_PEOPLE_H

#include "broker/access/access.h"

/* A node's secrets of one epoch. */
struct people_key {
    uint8_t identity[32];
    uint8_t curve_public[TL_CURVE_KEY_LEN];
    char public_z85[41];
    char secret_z85[41];
    uint8_t signing[64]; /* the secret half of identity */
};

/* What PEOPLE_NODES holds, one key of epoch 1 each. Freed with free(). */
struct tl_config *people_config(void);

extern const struct tl_node PEOPLE_NODES[];
extern const size_t PEOPLE_COUNT;

void people_key(const char *node, uint32_t epoch, struct people_key *out);

/* List one more key. */
void people_add_key(struct tl_config *config, const char *node, uint32_t epoch, bool revoked);

#endif
