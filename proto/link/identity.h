/* SPDX-License-Identifier: Apache-2.0 */
/*
 * identity - who a node is: its secret file, the signing key, and the CURVE key derived from it
 *
 * A node has one Ed25519 pair for each key epoch. The public half stands in keys.yaml on every
 * host; the secret half only in IDENTITY_DIR/NODE.EPOCH.key on the node's own host:
 *
 *     trapline-secret-key 1 engine-3 2
 *     <64 hexadecimal digits: the seed>
 *
 * A service manager may hand the same file over as the credential identity_NODE.EPOCH.key
 * (proto/base/credential.h): where it does, that one is taken.
 *
 * 1. A secret file that others may read, or that is not ours, is not used at all.
 * 2. An open identity matches keys.yaml: same node, same epoch, same public half, not revoked.
 * 3. Secrets are wiped from every buffer that held them.
 */
#ifndef PROTO_LINK_IDENTITY_H
#define PROTO_LINK_IDENTITY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "proto/base/err.h"
#include "proto/codec/codec.h"
#include "proto/vocab/config.h"

enum {
    TL_CURVE_CAP = 41, /* Z85 of 32 bytes, with NUL */
    TL_FINGERPRINT_LEN = 16
};

struct tl_identity {
    char node[TL_ID_CAP];
    uint32_t epoch;
    uint8_t identity[32]; /* public half, as in keys.yaml */
    struct tl_signer signer;
    char curve_public[TL_CURVE_CAP];
    char curve_secret[TL_CURVE_CAP];
};

/*
 * Open the identity of one of this configuration's nodes from its secret file. Blocks on the disk.
 *
 * epoch: that one; 0 for the highest that is not revoked and whose secret file is on this host.
 * out: untouched on error. why: out on error, one sentence of at most cap - 1 bytes: what, where,
 * what to do; untouched on TL_OK.
 * Errors: TL_NOTFOUND no such key in keys.yaml, or no such secret file; TL_REFUSED revoked, or the
 * public half differs from keys.yaml; TL_PERM the file is not private to us or not readable;
 * TL_MALFORMED it is not a secret file of that node and epoch; TL_IO anything else.
 */
TL_MUST_USE enum tl_err tl_identity_open(const struct tl_config *config, const char *node,
                                         uint32_t epoch, struct tl_identity *out, char *why,
                                         size_t cap);

/*
 * Whether the secret of that key of keys.yaml, revoked or not, is on this host and could be used.
 * Blocks on the disk.
 *
 * why: as for tl_identity_open. Errors: as those of tl_identity_open that are about the file.
 */
TL_MUST_USE enum tl_err tl_identity_try(const struct tl_config *config, const struct tl_key *key,
                                        char *why, size_t cap);

/*
 * What two people read to each other to know that they have the same key for the same node and
 * epoch: BLAKE2b (RFC 7693) with 16 bytes of output over "NODE EPOCH IDENTITY", the identity as in
 * keys.yaml.
 */
void tl_identity_fingerprint(const struct tl_key *key, uint8_t fingerprint[TL_FINGERPRINT_LEN]);

/* Wipe it. May be called on one that never opened, and twice; NULL is allowed. */
void tl_identity_close(struct tl_identity *identity);

/*
 * Derive the CURVE public key of a node from its public half, for relays, and for the server keys
 * of buses. identity: 32 bytes. z85: out, untouched on error.
 * Errors: TL_MALFORMED the bytes are no Ed25519 public key; TL_IO the library failed.
 */
TL_MUST_USE enum tl_err tl_identity_curve_public(const uint8_t identity[32],
                                                 char z85[TL_CURVE_CAP]);

/* Whether that secret file is here for this program. Not yet whether it is good. */
bool tl_identity_is_here(const struct tl_config *config, const char *node, uint32_t epoch);

/*
 * Write the path of a secret file in the identity folder, whether or not it exists. dst: cap bytes,
 * TL_PATH_CAP is enough.
 * Errors: TL_FULL it does not fit.
 */
TL_MUST_USE enum tl_err tl_identity_path(const struct tl_config *config, const char *node,
                                         uint32_t epoch, char *dst, size_t cap);

/*
 * Make a new secret and its file, 0600, durable before it returns; makes the identity folder, 0700,
 * if it is missing. Blocks on the disk.
 *
 * node, epoch: not checked against keys.yaml. identity: out, the public half; undefined on error.
 * why: as for tl_identity_open.
 * Errors: TL_EXISTS the file exists, and stays as it is; TL_PERM; TL_NOTFOUND the folder's own
 * folder is missing; TL_FULL; TL_IO. On error no file is left behind.
 */
TL_MUST_USE enum tl_err tl_identity_make(const struct tl_config *config, const char *node,
                                         uint32_t epoch, uint8_t identity[32], char *why,
                                         size_t cap);

#endif
