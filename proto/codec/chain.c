/* SPDX-License-Identifier: Apache-2.0 */
/* chain.c - see chain.h. */
#include "proto/codec/chain.h"

#include <assert.h>
#include <sodium.h>
#include <string.h>

#include "proto/base/require.h"

static_assert(sizeof(crypto_generichash_state) == TL_CHAIN_STATE, "state of the library");
static_assert(_Alignof(crypto_generichash_state) <= 64, "state of the library");

static const char purpose[] = "trapline.row.v1"; /* its NUL is hashed too */

static crypto_generichash_state *
state_of(struct tl_chain *chain)
{
    return (crypto_generichash_state *)(void *)chain->state;
}

static void
add(struct tl_chain *chain, const void *bytes, size_t len)
{
    int failed = crypto_generichash_update(state_of(chain), bytes, len);
    TL_REQUIRE(failed == 0); /* the library has no other result */
}

static void
add_number(struct tl_chain *chain, uint64_t number)
{
    uint8_t bytes[sizeof number];
    for (size_t i = 0; i < sizeof bytes; i++) {
        bytes[i] = (uint8_t)(number >> (8 * i));
    }
    add(chain, bytes, sizeof bytes);
}

static void
add_length(struct tl_chain *chain, uint32_t len)
{
    uint8_t bytes[sizeof len];
    for (size_t i = 0; i < sizeof bytes; i++) {
        bytes[i] = (uint8_t)(len >> (8 * i));
    }
    add(chain, bytes, sizeof bytes);
}

/* The tag of a value, and of every NULL before it. */
static void
add_tag(struct tl_chain *chain, char tag)
{
    for (; chain->nulls > 0; chain->nulls--) {
        add(chain, "n", 1);
    }
    add(chain, &tag, 1);
}

void
tl_chain_begin(struct tl_chain *chain, const char *table, const uint8_t before[TL_CHAIN_LEN],
               uint64_t id)
{
    int failed = crypto_generichash_init(state_of(chain), NULL, 0, TL_CHAIN_LEN);
    TL_REQUIRE(failed == 0); /* the library has no other result */
    chain->nulls = 0;
    add(chain, purpose, sizeof purpose);
    add(chain, table, strlen(table) + 1);
    add(chain, before, TL_CHAIN_LEN);
    add_number(chain, id);
}

void
tl_chain_null(struct tl_chain *chain)
{
    chain->nulls++;
}

void
tl_chain_integer(struct tl_chain *chain, int64_t number)
{
    add_tag(chain, 'i');
    add_number(chain, (uint64_t)number);
}

static void
add_bytes(struct tl_chain *chain, char tag, const void *bytes, size_t len)
{
    TL_REQUIRE(len <= UINT32_MAX);
    add_tag(chain, tag);
    add_length(chain, (uint32_t)len);
    add(chain, bytes, len);
}

void
tl_chain_text(struct tl_chain *chain, const char *text, size_t len)
{
    add_bytes(chain, 't', text, len);
}

void
tl_chain_blob(struct tl_chain *chain, const void *bytes, size_t len)
{
    add_bytes(chain, 'b', bytes, len);
}

void
tl_chain_end(struct tl_chain *chain, uint8_t hash[TL_CHAIN_LEN])
{
    int failed = crypto_generichash_final(state_of(chain), hash, TL_CHAIN_LEN);
    TL_REQUIRE(failed == 0); /* the library has no other result */
}
