/* SPDX-License-Identifier: Apache-2.0 */
/*
 * rekey.h - what a keys.yaml that was read again has changed, in one line for a person
 *
 * Pure. Who reads the line must be able to see that the list on this host is the one that was
 * carried there: which keys are new, revoked, gone or other ones, and what that means for the
 * program that reads it.
 */
#ifndef TL_LINK_REKEY_H
#define TL_LINK_REKEY_H

#include "proto/link/identity.h"
#include "proto/vocab/config.h"

enum {
    TL_REKEY_CAP = 640,
    TL_REKEY_NAMED_MAX = 8 /* keys that are named; of more the number is said */
};

/* The keys of a configuration as they were. */
struct tl_rekey {
    uint32_t count;
    struct tl_key key[TL_KEYS_MAX];
};

/* Remember the keys of config. */
void tl_rekey_keep(struct tl_rekey *before, const struct tl_config *config);

/* Put them back; the digest of the keys is not touched. */
void tl_rekey_put_back(const struct tl_rekey *before, struct tl_config *config);

/*
 * Say how the keys of config differ from those of before; own: of the program that says it, with
 * the epoch that it runs with. dst: TL_REKEY_CAP bytes. Returns dst.
 */
const char *tl_rekey_text(const struct tl_rekey *before, const struct tl_config *config,
                          const struct tl_identity *own, char dst[TL_REKEY_CAP]);

/* Whether the key that own runs with is in config and not revoked. */
bool tl_rekey_believed(const struct tl_config *config, const struct tl_identity *own);

#endif
