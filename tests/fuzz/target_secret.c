/* SPDX-License-Identifier: Apache-2.0 */
/*
 * target_secret - what a node keeps on its own host: its secret key, and its last incarnation
 *
 * The first byte of an input says which of the two files the rest is. One content alone is a secret
 * key of its owner, digits a-f in either case: it opens, and is what keys.yaml has. Any other is refused with
 * a sentence that has nothing of the file in it. A saved number is taken only from what we would write
 * for it, is then exceeded, and a file that is not taken stays as it is.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include <sodium.h>

#include "proto/base/file.h"
#include "proto/link/identity.h"
#include "proto/link/incarnation.h"
#include "tests/fuzz/fuzz.h"

#define NODE "engine-3"

enum {
    EPOCH = 2,
    WHY_CAP = 1024,
    FILE_CAP = 256
};

struct world {
    struct tl_config config;
    char right[FILE_CAP];
};

const char *const fuzz_name = "secret";

void *
fuzz_open(void)
{
    struct world *w = calloc(1, sizeof *w);
    TL_REQUIRE(w != NULL);
    uint8_t seed[crypto_sign_SEEDBYTES];
    uint8_t secret[crypto_sign_SECRETKEYBYTES];
    char hex[2 * sizeof seed + 1];
    struct tl_key *key = &w->config.key[0];

    TL_REQUIRE(sodium_init() >= 0);
    memset(seed, 0xab, sizeof seed); /* as tests/fuzz/seeds.py has it */
    (void)snprintf(key->node, sizeof key->node, NODE);
    key->epoch = EPOCH;
    TL_REQUIRE(crypto_sign_seed_keypair(key->identity, secret, seed) == 0);
    w->config.key_count = 1;
    (void)snprintf(w->config.identity_dir, sizeof w->config.identity_dir, "%s", fuzz_folder());
    (void)sodium_bin2hex(hex, sizeof hex, seed, sizeof seed);
    (void)snprintf(w->right, sizeof w->right, "trapline-secret-key 1 " NODE " %d\n%s\n", EPOCH,
                   hex);
    return w;
}

/* No digits of a key in it, not even of a wrong one. */
static bool
gives_nothing_away(const char *why)
{
    size_t run = 0;
    for (; *why != '\0'; why++) {
        run = strchr("0123456789abcdefABCDEF", *why) != NULL ? run + 1 : 0;
        if (run > 10) {
            return false;
        }
    }
    return true;
}

static void
take_secret(struct world *w, const struct fuzz_input *file)
{
    char path[FUZZ_PATH_CAP];
    char name[FUZZ_PATH_CAP];
    char why[WHY_CAP] = "";
    struct tl_identity identity;
    bool is_right = file->len == strlen(w->right) && memchr(file->bytes, 0, file->len) == NULL &&
                    memcmp(file->bytes, w->right, strlen(w->right) - 65) == 0 &&
                    strncasecmp((const char *)file->bytes, w->right, file->len) == 0;

    (void)snprintf(name, sizeof name, NODE ".%d.key", EPOCH);
    fuzz_put(name, file->bytes, file->len, path);
    enum tl_err err = tl_identity_open(&w->config, NODE, EPOCH, &identity, why, sizeof why);
    TL_REQUIRE((err == TL_OK) == is_right);
    if (err == TL_OK) {
        TL_REQUIRE(memcmp(identity.identity, w->config.key[0].identity, 32) == 0);
        TL_REQUIRE(strcmp(identity.node, NODE) == 0 && identity.epoch == EPOCH);
        tl_identity_close(&identity);
        return;
    }
    TL_REQUIRE(err == TL_MALFORMED || err == TL_REFUSED);
    TL_REQUIRE(fuzz_is_sentence(why) && gives_nothing_away(why));
}

static void
take_number(const struct fuzz_input *file)
{
    char path[FUZZ_PATH_CAP];
    char why[WHY_CAP] = "";
    uint8_t now[FUZZ_INPUT_MAX];
    size_t len = 0;
    uint64_t first = 0;
    uint64_t second = 0;

    fuzz_put(NODE ".incarnation", file->bytes, file->len, path);
    enum tl_err err = tl_incarnation_take(fuzz_folder(), NODE, 0, 1, &first, why, sizeof why);
    TL_REQUIRE(tl_file_read(path, sizeof now, now, &len) == TL_OK);
    if (err != TL_OK) {
        TL_REQUIRE(err == TL_MALFORMED || err == TL_BADARG);
        TL_REQUIRE(fuzz_is_sentence(why) && first == 0);
        TL_REQUIRE(len == file->len && memcmp(now, file->bytes, len) == 0);
        return;
    }
    /* The number that was saved is the one before: with it the file was what we write. */
    static const char head[] = "trapline-incarnation 1 " NODE " ";
    TL_REQUIRE(file->len > sizeof head && memcmp(file->bytes, head, sizeof head - 1) == 0);
    uint64_t saved = strtoull((const char *)file->bytes + sizeof head - 1, NULL, 10);
    TL_REQUIRE(first == saved + 1);
    err = tl_incarnation_take(fuzz_folder(), NODE, 0, 1, &second, why, sizeof why);
    TL_REQUIRE(err == (first == INT64_MAX ? TL_BADARG : TL_OK));
    TL_REQUIRE(err != TL_OK || second == first + 1);
}

void
fuzz_take(void *world, const uint8_t *bytes, size_t len)
{
    struct world *w = world;
    struct fuzz_input file = {bytes, len};
    if (fuzz_byte(&file) % 2 == 0) {
        take_secret(w, &file);
    } else {
        take_number(&file);
    }
}
