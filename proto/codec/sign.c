/* SPDX-License-Identifier: Apache-2.0 */
/* sign.c - see sign.h. */
#include "proto/codec/sign.h"

#include <sodium.h>

#include "proto/base/require.h"

static_assert(TL_SIGNATURE_LEN == crypto_sign_BYTES, "Ed25519 signature");
static_assert(sizeof(struct tl_signer) == crypto_sign_SECRETKEYBYTES, "Ed25519 secret key");

void
tl_sign_bytes(const struct tl_signer *signer, struct tl_signed message,
              uint8_t signature[TL_SIGNATURE_LEN])
{
    int failed = crypto_sign_detached(signature, NULL, message.bytes, message.len, signer->secret);
    TL_REQUIRE(failed == 0); /* the library has no other result */
}

bool
tl_verify_bytes(const uint8_t identity[32], struct tl_signed message,
                const uint8_t signature[TL_SIGNATURE_LEN])
{
    return crypto_sign_verify_detached(signature, message.bytes, message.len, identity) == 0;
}
