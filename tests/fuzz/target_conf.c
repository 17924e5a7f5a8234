/* SPDX-License-Identifier: Apache-2.0 */
/*
 * target_conf - the configuration folder, one of its six files anybody's
 *
 * The first byte of an input says which file the rest is, and from 128 on that the folder is read
 * twice; the others are those of configs/demo, with keys made for it. Accepted: every promise of
 * tests/conf/sound.h holds, a second reading gives the same, a relay makes its table of it, and a
 * validator runs on it: NOT READY. Refused: with a file, a line that is there, and a sentence, and
 * nothing is written.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sodium.h>

#include "broker/access/access.h"
#include "broker/core/judge/judge.h"
#include "proto/base/conf.h"
#include "tests/conf/sound.h"
#include "tests/fuzz/fuzz.h"
#include "tests/fuzz/pack.h"

enum {
    FILES = 6,
    KEYS = 5,
    TWICE = 128,
    HEX_CAP = 65,
    FILL = 0xa5,
    START_MS = 100000
};

static const char *const names[FILES] = {"ship.yaml",     "gear.yaml", "aircraft.yaml",
                                         "stations.yaml", "bus.yaml",  "keys.yaml"};
struct world {
    struct {
        uint8_t bytes[TL_CONF_FILE_MAX];
        size_t len;
    } good[FILES];
    int spoilt; /* the file that is not the good one now */
    struct tl_config config, untouched;
    struct tl_judge judge;
};

const char *const fuzz_name = "conf";

static void
make_keys(struct world *w)
{
    char path[FUZZ_PATH_CAP];
    char text[TL_CONF_FILE_MAX] = "keys:\n";
    size_t len = strlen(text);
    struct tl_conf_fault fault;

    TL_REQUIRE(tl_conf_load_unkeyed(fuzz_folder(), &w->config, &fault) == TL_OK);
    for (uint32_t i = 0; i < w->config.node_count; i++) {
        uint8_t seed[crypto_sign_SEEDBYTES] = {(uint8_t)(i + 1)};
        uint8_t secret[crypto_sign_SECRETKEYBYTES], identity[crypto_sign_PUBLICKEYBYTES];
        char hex[HEX_CAP];
        (void)crypto_sign_seed_keypair(identity, secret, seed);
        (void)sodium_bin2hex(hex, sizeof hex, identity, sizeof identity);
        len += (size_t)snprintf(text + len, sizeof text - len,
                                "  - {node: %s, epoch: 1, identity: %s, revoked: false}\n",
                                w->config.node[i].id, hex);
    }
    memcpy(w->good[KEYS].bytes, text, len);
    w->good[KEYS].len = len;
    fuzz_put(names[KEYS], text, len, path);
}

void *
fuzz_open(void)
{
    struct world *w = calloc(1, sizeof *w);
    TL_REQUIRE(w != NULL);
    char path[FUZZ_PATH_CAP];
    struct tl_conf_fault fault;

    TL_REQUIRE(sodium_init() >= 0);
    for (size_t i = 0; i < KEYS; i++) {
        char name[FUZZ_PATH_CAP];
        (void)snprintf(name, sizeof name, "configs/demo/%s", names[i]);
        w->good[i].len = fuzz_source(name, w->good[i].bytes, sizeof w->good[i].bytes);
        fuzz_put(names[i], w->good[i].bytes, w->good[i].len, path);
    }
    make_keys(w);
    TL_REQUIRE(tl_conf_load(fuzz_folder(), &w->config, &fault) == TL_OK);
    memset(&w->untouched, FILL, sizeof w->untouched);
    return w;
}

static void
publish(void *ctx, const struct tl_topic *topic, const struct tl_envelope *envelope)
{
    (void)ctx;
    fuzz_pack(topic, envelope);
}

/* Nothing has been heard: whatever a ship's figures are, that is not READY, and can be said. */
static void
must_be_judged(struct world *w, const struct tl_config *c)
{
    const struct tl_node *validator = NULL;
    for (uint32_t i = 0; i < c->node_count && validator == NULL; i++) {
        validator = c->node[i].kind == TL_NODE_VALIDATOR ? &c->node[i] : NULL;
    }
    if (validator != NULL) {
        tl_judge_init(&w->judge, c, validator->id, 1, START_MS);
        w->judge.port.send = publish;
        tl_judge_tend(&w->judge, START_MS + 1);
        TL_REQUIRE(w->judge.decision.word != TL_WORD_READY && w->judge.decision.cause_count > 0);
    }
}

static uint32_t
lines_of(const struct fuzz_input *file)
{
    uint32_t lines = 1;
    for (size_t i = 0; i < file->len; i++) {
        lines += file->bytes[i] == '\n' || file->bytes[i] == '\r' ? 1U : 0U;
    }
    return lines;
}

static void
must_say_what(struct world *w, const struct tl_conf_fault *fault, int form,
              const struct fuzz_input *file)
{
    int blamed = 0;
    while (blamed < FILES && strcmp(names[blamed], fault->file) != 0) {
        blamed++;
    }
    TL_REQUIRE(blamed < FILES && fuzz_is_sentence(fault->text));
    const struct fuzz_input its = {w->good[blamed].bytes, w->good[blamed].len};
    TL_REQUIRE(fault->line <= lines_of(blamed == form ? file : &its));
}

static void
must_read_the_same(struct world *w)
{
    static struct tl_config again;
    struct tl_conf_fault fault;

    TL_REQUIRE(tl_conf_load(fuzz_folder(), &again, &fault) == TL_OK);
    TL_REQUIRE(memcmp(w->config.judgement_digest, again.judgement_digest, TL_DIGEST_LEN) == 0 &&
               memcmp(w->config.key_digest, again.key_digest, TL_DIGEST_LEN) == 0 &&
               fuzz_same(&w->config.gear, &again.gear, sizeof again.gear));
}

void
fuzz_take(void *world, const uint8_t *bytes, size_t len)
{
    struct world *w = world;
    struct fuzz_input file = {bytes, len};
    struct tl_conf_fault fault = {.line = UINT32_MAX};
    uint8_t first = fuzz_byte(&file);
    int form = first % FILES;
    char path[FUZZ_PATH_CAP];
    static struct tl_access table;
    char why[TL_TEXT_CAP];

    if (w->spoilt >= 0 && w->spoilt != form) {
        fuzz_put(names[w->spoilt], w->good[w->spoilt].bytes, w->good[w->spoilt].len, path);
    }
    w->spoilt = form;
    fuzz_put(names[form], file.bytes, file.len, path);
    w->config = w->untouched;
    enum tl_err err = tl_conf_load(fuzz_folder(), &w->config, &fault);
    if (err != TL_OK) {
        TL_REQUIRE(err == TL_CONFIG && fuzz_same(&w->config, &w->untouched, sizeof w->config));
        must_say_what(w, &fault, form, &file);
        return;
    }
    TL_REQUIRE(fault.line == UINT32_MAX);
    if (first >= TWICE) {
        must_read_the_same(w);
    }
    TL_REQUIRE(sound_fault(&w->config) == NULL);
    TL_REQUIRE(tl_access_build(&w->config, &table, why, sizeof why) == TL_OK ||
               fuzz_is_sentence(why));
    must_be_judged(w, &w->config);
}
