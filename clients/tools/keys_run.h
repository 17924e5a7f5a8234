/* SPDX-License-Identifier: Apache-2.0 */
/* keys_run.h - what the verbs of `trapline keys` share: the words of the line, the folder loaded. */
#ifndef CLIENTS_TOOLS_KEYS_RUN_H
#define CLIENTS_TOOLS_KEYS_RUN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "proto/link/identity.h"
#include "proto/vocab/config.h"

enum {
    TL_KEYS_NOT_DONE = 1, /* exit: not done, or something is wrong */
    TL_KEYS_GROUPS_CAP = TL_FINGERPRINT_LEN * 5 / 2 + 1
};

/* What the command line says. */
struct tl_keys_request {
    const char *dir;
    bool wants_help;
    bool is_all;
    bool json;
    const char *against; /* another keys.yaml */
    uint32_t epoch;      /* 0: not given */
    const char *word[TL_NODES_MAX];
    size_t word_count;
};

/* One run with the folder locked and loaded. */
struct tl_keys_run {
    const struct tl_keys_request *request;
    struct tl_config *config;
    uint32_t old_count; /* keys before this run */
};

/* How many keys of that node are not revoked. */
unsigned tl_keys_in_use(const struct tl_config *config, const char *node);

/* 16 bytes as hexadecimal digits in groups of four. Returns dst. */
const char *tl_keys_groups(const uint8_t bytes[TL_FINGERPRINT_LEN], char dst[TL_KEYS_GROUPS_CAP]);

/* The verbs `show` and `check`: an exit code. They change nothing. */
int tl_keys_show(struct tl_keys_run *run);
int tl_keys_check(struct tl_keys_run *run);

#endif
