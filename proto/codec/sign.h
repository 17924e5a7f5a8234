/* SPDX-License-Identifier: Apache-2.0 */
/*
 * sign.h - Ed25519 over plain bytes (RFC 8032 section 5.1), as libsodium does it
 *
 * The only two calls into the signature library; what the bytes are made of is decided in frame.c.
 * The program calls sodium_init once before.
 */
#ifndef TL_CODEC_SIGN_H
#define TL_CODEC_SIGN_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "proto/codec/codec.h"

struct tl_signed {
    const uint8_t *bytes; /* may be NULL if len is 0 */
    size_t len;
};

/* Sign these bytes. Cannot fail. */
void tl_sign_bytes(const struct tl_signer *signer, struct tl_signed message,
                   uint8_t signature[TL_SIGNATURE_LEN]);

/* True when that identity signed exactly these bytes. */
bool tl_verify_bytes(const uint8_t identity[32], struct tl_signed message,
                     const uint8_t signature[TL_SIGNATURE_LEN]);

#endif
