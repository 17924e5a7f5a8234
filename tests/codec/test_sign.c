/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_sign - our signature layer is Ed25519 as published
 *
 * Vectors: S. Josefsson, I. Liusvaara, "Edwards-Curve Digital Signature Algorithm (EdDSA)",
 * RFC 8032, January 2017, section 7.1, TEST 1 to TEST 3 (pages 24 and 25). signature.py computes
 * the same with PyNaCl.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#include <sodium.h>

#include <cmocka.h>

#include "proto/codec/sign.h"

struct vector {
    const char *name;
    const char *seed;
    const char *identity;
    const char *message;
    const char *signature;
};

static const struct vector vectors[] = {
    {"TEST 1", "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
     "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "",
     "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b"
     "46bd25bf5f0595bbe24655141438e7a100b"},
    {"TEST 2", "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
     "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "72",
     "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11"
     "d8c387b2eaeb4302aeeb00d291612bb0c00"},
    {"TEST 3", "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
     "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025", "af82",
     "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc"
     "6594a7c15e9716ed28dc027beceea1ec40a"},
};
enum {
    VECTORS = sizeof vectors / sizeof vectors[0],
    MESSAGE_CAP = 16
};

struct case_bytes {
    struct tl_signer signer;
    uint8_t derived[32];
    uint8_t identity[32];
    uint8_t message[MESSAGE_CAP];
    struct tl_signed signed_bytes;
    uint8_t signature[TL_SIGNATURE_LEN];
};

static size_t
read_hex(const char *hex, uint8_t *dst, size_t cap)
{
    size_t len = 0;
    assert_int_equal(sodium_hex2bin(dst, cap, hex, strlen(hex), NULL, &len, NULL), 0);
    return len;
}

static void
read_vector(const struct vector *vector, struct case_bytes *out)
{
    uint8_t seed[crypto_sign_SEEDBYTES];

    assert_int_equal(read_hex(vector->seed, seed, sizeof seed), sizeof seed);
    assert_int_equal(crypto_sign_seed_keypair(out->derived, out->signer.secret, seed), 0);
    assert_int_equal(read_hex(vector->identity, out->identity, 32), 32);
    out->signed_bytes.len = read_hex(vector->message, out->message, sizeof out->message);
    out->signed_bytes.bytes = out->message;
    assert_int_equal(read_hex(vector->signature, out->signature, TL_SIGNATURE_LEN),
                     TL_SIGNATURE_LEN);
}

static void
sign_gives_the_signatures_of_rfc_8032(void **state)
{
    (void)state;
    for (size_t i = 0; i < VECTORS; i++) {
        struct case_bytes bytes;
        uint8_t signature[TL_SIGNATURE_LEN];
        read_vector(&vectors[i], &bytes);
        assert_memory_equal(bytes.derived, bytes.identity, 32);
        tl_sign_bytes(&bytes.signer, bytes.signed_bytes, signature);
        assert_memory_equal(signature, bytes.signature, sizeof signature);
        assert_true(tl_verify_bytes(bytes.identity, bytes.signed_bytes, bytes.signature));
    }
}

static void
sign_any_flipped_bit_does_not_verify(void **state)
{
    (void)state;
    for (size_t i = 0; i < VECTORS; i++) {
        struct case_bytes bytes;
        read_vector(&vectors[i], &bytes);
        for (size_t bit = 0; bit < sizeof bytes.signature * 8; bit++) {
            bytes.signature[bit / 8] ^= (uint8_t)(1U << bit % 8);
            assert_false(tl_verify_bytes(bytes.identity, bytes.signed_bytes, bytes.signature));
            bytes.signature[bit / 8] ^= (uint8_t)(1U << bit % 8);
        }
        for (size_t bit = 0; bit < bytes.signed_bytes.len * 8U; bit++) {
            bytes.message[bit / 8] ^= (uint8_t)(1U << bit % 8);
            assert_false(tl_verify_bytes(bytes.identity, bytes.signed_bytes, bytes.signature));
            bytes.message[bit / 8] ^= (uint8_t)(1U << bit % 8);
        }
    }
}

static void
sign_another_identity_does_not_verify(void **state)
{
    struct case_bytes bytes;
    struct case_bytes other;

    (void)state;
    read_vector(&vectors[0], &bytes);
    read_vector(&vectors[1], &other);
    assert_false(tl_verify_bytes(other.identity, bytes.signed_bytes, bytes.signature));
    /* The neutral element as a key verifies a forged signature with a library that lets it pass. */
    uint8_t neutral[32] = {1};
    uint8_t forged[TL_SIGNATURE_LEN] = {1};
    assert_false(tl_verify_bytes(neutral, bytes.signed_bytes, forged));
}

static int
open_library(void **state)
{
    (void)state;
    return sodium_init() < 0 ? -1 : 0;
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sign_gives_the_signatures_of_rfc_8032),
        cmocka_unit_test(sign_any_flipped_bit_does_not_verify),
        cmocka_unit_test(sign_another_identity_does_not_verify),
    };
    return cmocka_run_group_tests_name("sign", tests, open_library, NULL);
}
