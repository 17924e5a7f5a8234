/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_mutation - a spoiled frame is refused, or is one that we could have sent ourselves
 *
 * First every single bit of every sample: without the key it never passes; with a new signature
 * over the spoiled bytes it is refused by name or read and built again byte for byte. Then two bits
 * at once: of the smallest frame every two that are signed, of each frame as many as TL_PAIRS=n says
 * (500), chosen by chance. Then 50,000 random spoilings. The seed is printed; TL_SEED=n repeats a
 * run, TL_ROUNDS=n changes its length.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

#include "tests/codec/samples.h"
#include "tests/codec/support.h"
#include "tests/support/splitmix.h"

enum {
    ROUNDS = 50000,
#ifdef __SANITIZE_ADDRESS__
    PAIRS = 50, /* there it is the code that is looked at, six times as slowly */
    PAIR_STEP = 16,
#else
    PAIRS = 500,
    PAIR_STEP = 1,
#endif
    SPOILINGS_MAX = 3,
    PIECE_MAX = 24
};

struct tally {
    size_t accepted;
    size_t refused[64];
};

/* Receive world->frame; if it passes, it must build to the same bytes and claim what it holds. */
static void
judge_frame(struct world *world, const struct tl_topic *topic, struct tally *tally)
{
    static struct made_frame before;
    struct tl_frame frame;
    struct tl_claim claim;
    enum tl_refusal reason = world_receive(world);

    if (reason != TL_REFUSAL_UNKNOWN) {
        assert_true((unsigned)reason < 64);
        tally->refused[reason]++;
        return;
    }
    tally->accepted++;
    before = world->frame;
    assert_int_equal(tl_frame_split(before.bytes, before.len, &frame, &reason), TL_OK);
    assert_int_equal(tl_frame_claim(&world->codec, &frame, &claim, &reason), TL_OK);
    assert_string_equal(claim.node, world->envelope.node);
    assert_int_equal(claim.key_epoch, world->envelope.key_epoch);
    assert_true(claim.incarnation == world->envelope.incarnation);
    assert_true(claim.sequence == world->envelope.sequence);
    world_build(world, topic);
    assert_int_equal(world->frame.len, before.len);
    assert_memory_equal(world->frame.bytes, before.bytes, before.len);
}

static void
print_tally(const char *name, const struct tally *tally)
{
    print_message("%s: %zu accepted", name, tally->accepted);
    for (unsigned i = 0; i < 64; i++) {
        if (tally->refused[i] > 0) {
            print_message(", %zu %s", tally->refused[i], tl_refusal_name((enum tl_refusal)i));
        }
    }
    print_message("\n");
}

static void
flip(struct world *world, size_t bit)
{
    world->frame.bytes[bit / 8] ^= (uint8_t)(1U << bit % 8);
}

static void
mutation_no_flipped_bit_passes_without_the_key(void **state)
{
    struct world *world = *state;
    struct tally tally = {0};
    size_t count;
    const struct sample *samples = samples_all(&count);

    for (size_t i = 0; i < count; i++) {
        struct tl_topic topic = topic_for(samples[i].body, samples[i].node);
        sample_fill(&samples[i], &world->envelope);
        world_build(world, &topic);
        for (size_t bit = 0; bit < world->frame.len * 8; bit++) {
            flip(world, bit);
            enum tl_refusal reason = world_receive(world);
            if (reason == TL_REFUSAL_UNKNOWN) {
                fail_msg("%s: bit %zu", samples[i].name, bit);
            }
            tally.refused[reason]++;
            flip(world, bit);
        }
        assert_int_equal(world_receive(world), TL_REFUSAL_UNKNOWN);
    }
    print_tally("bits, old signature", &tally);
}

static size_t
below(uint64_t *seed, size_t limit)
{
    return limit == 0 ? 0 : (size_t)(splitmix(seed) % limit);
}

static uint64_t
read_number(const char *name, uint64_t otherwise)
{
    const char *text = getenv(name);
    return text != NULL ? strtoull(text, NULL, 0) : otherwise;
}

static void
refuse_pair(struct world *world, size_t first, size_t second, struct tally *tally)
{
    flip(world, first);
    flip(world, second);
    enum tl_refusal reason = world_receive(world);
    if (reason == TL_REFUSAL_UNKNOWN) {
        fail_msg("bits %zu and %zu of %s", first, second, (const char *)world->frame.bytes);
    }
    tally->refused[reason]++;
    flip(world, first);
    flip(world, second);
}

static bool
is_signed(const struct world *world, size_t bit)
{
    size_t at = bit / 8;
    return at >= world->frame.envelope_at || at + TL_SIGNATURE_LEN < world->frame.envelope_at;
}

/* All of the frame that world->frame holds. */
static void
refuse_every_signed_pair(struct world *world, struct tally *tally)
{
    size_t bits = world->frame.len * 8;
    for (size_t first = 0; first < bits; first += PAIR_STEP) {
        for (size_t second = first + 1; second < bits && is_signed(world, first); second++) {
            if (is_signed(world, second)) {
                refuse_pair(world, first, second, tally);
            }
        }
    }
}

static void
mutation_no_two_flipped_bits_pass_without_the_key(void **state)
{
    struct world *world = *state;
    struct tally tally = {0};
    size_t smallest = 0;
    size_t smallest_len = SIZE_MAX;
    size_t count;
    const struct sample *samples = samples_all(&count);
    uint64_t seed = read_number("TL_SEED", (uint64_t)time(NULL));
    uint64_t pairs = read_number("TL_PAIRS", PAIRS);

    print_message("TL_SEED=%llu, %llu pairs a frame\n", (unsigned long long)seed,
                  (unsigned long long)pairs);
    for (size_t i = 0; i < count; i++) {
        struct tl_topic topic = topic_for(samples[i].body, samples[i].node);
        sample_fill(&samples[i], &world->envelope);
        world_build(world, &topic);
        smallest = world->frame.len < smallest_len ? i : smallest;
        smallest_len = world->frame.len < smallest_len ? world->frame.len : smallest_len;
        size_t bits = world->frame.len * 8;
        for (uint64_t pair = 0; pair < pairs; pair++) {
            size_t first = below(&seed, bits);
            refuse_pair(world, first, (first + 1 + below(&seed, bits - 1)) % bits, &tally);
        }
    }
    struct tl_topic topic = topic_for(samples[smallest].body, samples[smallest].node);
    sample_fill(&samples[smallest], &world->envelope);
    world_build(world, &topic);
    refuse_every_signed_pair(world, &tally);
    assert_int_equal(world_receive(world), TL_REFUSAL_UNKNOWN);
    print_tally("two bits, old signature", &tally);
}

static void
mutation_a_flipped_bit_under_the_key_is_refused_or_canonical(void **state)
{
    struct world *world = *state;
    struct tally tally = {0};
    uint8_t bytes[TL_FRAME_MAX];
    size_t count;
    const struct sample *samples = samples_all(&count);

    for (size_t i = 0; i < count; i++) {
        struct tl_topic topic = topic_for(samples[i].body, samples[i].node);
        size_t len = golden_read(samples[i].name, bytes, sizeof bytes);
        for (size_t bit = 0; bit < len * 8; bit++) {
            bytes[bit / 8] ^= (uint8_t)(1U << bit % 8);
            world_frame(world, &topic, bytes, len);
            judge_frame(world, &topic, &tally);
            bytes[bit / 8] ^= (uint8_t)(1U << bit % 8);
        }
    }
    print_tally("bits, new signature", &tally);
    assert_true(tally.accepted > 0);
    assert_int_equal(tally.refused[TL_REFUSAL_SIGNATURE], 0);
}

/* Every prefix of every sample, signed: cut short is never a message of its own kind. */
static void
mutation_a_cut_message_under_the_key_is_refused(void **state)
{
    struct world *world = *state;
    uint8_t bytes[TL_FRAME_MAX];
    size_t count;
    const struct sample *samples = samples_all(&count);

    for (size_t i = 0; i < count; i++) {
        struct tl_topic topic = topic_for(samples[i].body, samples[i].node);
        size_t len = golden_read(samples[i].name, bytes, sizeof bytes);
        for (size_t cut = 0; cut < len; cut++) {
            world_frame(world, &topic, bytes, cut);
            if (world_receive(world) == TL_REFUSAL_UNKNOWN) {
                fail_msg("%s: %zu of %zu bytes", samples[i].name, cut, len);
            }
        }
    }
}

struct buffer {
    uint8_t bytes[TL_FRAME_MAX];
    size_t len;
};

static void
insert_bytes(struct buffer *buffer, size_t at, const uint8_t *piece, size_t len)
{
    if (buffer->len + len > 2000) {
        return;
    }
    memmove(buffer->bytes + at + len, buffer->bytes + at, buffer->len - at);
    memcpy(buffer->bytes + at, piece, len);
    buffer->len += len;
}

static void
remove_bytes(struct buffer *buffer, size_t at, size_t len)
{
    len = len < buffer->len - at ? len : buffer->len - at;
    memmove(buffer->bytes + at, buffer->bytes + at + len, buffer->len - at - len);
    buffer->len -= len;
}

static void
spoil(struct buffer *buffer, const struct buffer *other, uint64_t *seed)
{
    static const uint8_t edges[] = {0x00, 0x01, 0x7F, 0x80, 0xFF, 0x08, 0x0A, 0x82, 0x8A, 0x35};
    size_t at = below(seed, buffer->len);
    size_t len = 1 + below(seed, PIECE_MAX);
    uint8_t piece[PIECE_MAX];
    size_t from;

    /* Most spoilings keep the length, or the outermost prefix would nearly always be wrong. */
    switch (below(seed, 10)) {
    case 0:
        remove_bytes(buffer, at, len);
        break;
    case 1: /* a piece of itself */
        from = below(seed, buffer->len);
        len = len < buffer->len - from ? len : buffer->len - from;
        memcpy(piece, buffer->bytes + from, len);
        insert_bytes(buffer, at, piece, len);
        break;
    case 2: /* a piece of another message */
        from = below(seed, other->len);
        len = len < other->len - from ? len : other->len - from;
        insert_bytes(buffer, at, other->bytes + from, len);
        break;
    case 3:
        buffer->bytes[at] = (uint8_t)splitmix(seed);
        break;
    case 4:
        buffer->bytes[at] = edges[below(seed, sizeof edges)];
        break;
    default:
        buffer->bytes[at] ^= (uint8_t)(1U << below(seed, 8));
        break;
    }
}

static void
mutation_random_spoilings_are_refused_or_canonical(void **state)
{
    struct world *world = *state;
    struct tally tally = {0};
    static struct buffer goldens[32];
    static struct buffer buffer;
    size_t count;
    const struct sample *samples = samples_all(&count);
    uint64_t seed = read_number("TL_SEED", (uint64_t)time(NULL));
    uint64_t rounds = read_number("TL_ROUNDS", ROUNDS);

    print_message("TL_SEED=%llu, %llu rounds\n", (unsigned long long)seed,
                  (unsigned long long)rounds);
    assert_true(count <= sizeof goldens / sizeof goldens[0]);
    for (size_t i = 0; i < count; i++) {
        goldens[i].len = golden_read(samples[i].name, goldens[i].bytes, TL_FRAME_MAX);
    }
    for (uint64_t round = 0; round < rounds; round++) {
        size_t from = below(&seed, count);
        struct tl_topic topic = topic_for(samples[from].body, samples[from].node);
        memcpy(buffer.bytes, goldens[from].bytes, goldens[from].len);
        buffer.len = goldens[from].len;
        for (size_t times = 1 + below(&seed, SPOILINGS_MAX); times > 0 && buffer.len > 0; times--) {
            spoil(&buffer, &goldens[below(&seed, count)], &seed);
        }
        world_frame(world, &topic, buffer.bytes, buffer.len);
        judge_frame(world, &topic, &tally);
    }
    print_tally("random, new signature", &tally);
    assert_true(tally.accepted > 0);
    assert_int_equal(tally.refused[TL_REFUSAL_SIGNATURE], 0);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(mutation_no_flipped_bit_passes_without_the_key),
        cmocka_unit_test(mutation_no_two_flipped_bits_pass_without_the_key),
        cmocka_unit_test(mutation_a_flipped_bit_under_the_key_is_refused_or_canonical),
        cmocka_unit_test(mutation_a_cut_message_under_the_key_is_refused),
        cmocka_unit_test(mutation_random_spoilings_are_refused_or_canonical),
    };
    return cmocka_run_group_tests_name("mutation", tests, world_open, world_close);
}
