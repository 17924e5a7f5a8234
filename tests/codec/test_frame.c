/* SPDX-License-Identifier: Apache-2.0 */
/* test_frame - splitting, claims, signatures over the whole frame, and what cannot be built */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <sodium.h>

#include <cmocka.h>

#include "tests/codec/rows.h"
#include "tests/codec/samples.h"
#include "tests/codec/spec.h"

#define SIG_64 "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef"
#define ID_23  "abcdefghijklmnopqrstu-9"

struct split_row {
    const char *name;
    const char *bytes;
    size_t len;
    enum tl_refusal want;
};
#define BYTES(text) text, sizeof(text) - 1

static void
frame_split_names_the_first_fault(void **state)
{
    static const struct split_row rows[] = {
        {"nothing", BYTES(""), TL_REFUSAL_NO_TOPIC},
        {"a NUL", BYTES("\0"), TL_REFUSAL_NO_TOPIC},
        {"an empty topic", BYTES("\0" SIG_64 "x"), TL_REFUSAL_NO_TOPIC},
        {"no NUL", BYTES("beat/deck/"), TL_REFUSAL_NO_TOPIC},
        {"a NUL after 64 bytes", BYTES(SIG_64 "\0" SIG_64 "x"), TL_REFUSAL_NO_TOPIC},
        {"a topic that is none", BYTES("beat/deck\0" SIG_64 "x"), TL_REFUSAL_NOT_YOUR_TOPIC},
        {"a topic of 63 bytes that is none", BYTES("recorded/" ID_23 "/" ID_23 "-xxxxxx\0"),
         TL_REFUSAL_NOT_YOUR_TOPIC},
        {"no signature", BYTES("beat/deck/\0"), TL_REFUSAL_TRUNCATED},
        {"a signature of 63 bytes",
         BYTES("beat/deck/\0"
               "123456789abcdef0123456789abcdef0123456789abcdef0123456789"
               "abcdef"),
         TL_REFUSAL_TRUNCATED},
        {"no envelope", BYTES("beat/deck/\0" SIG_64), TL_REFUSAL_EMPTY},
        {"an envelope of 1 byte", BYTES("beat/deck/\0" SIG_64 "x"), OK},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_frame frame = {.envelope_len = 999};
        enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
        enum tl_err err =
            tl_frame_split((const uint8_t *)rows[i].bytes, rows[i].len, &frame, &reason);
        if (reason != rows[i].want || err != (rows[i].want == OK ? TL_OK : TL_REFUSED)) {
            fail_msg("%s: %s, %s", rows[i].name, tl_err_text(err), tl_refusal_name(reason));
        }
        assert_int_equal(frame.envelope_len, rows[i].want == OK ? 1 : 999);
    }
    struct tl_frame frame;
    enum tl_refusal reason;
    assert_int_equal(tl_frame_split(NULL, 0, &frame, &reason), TL_REFUSED);
}

static void
frame_split_says_where_what_is(void **state)
{
    static const char bytes[] = "receipt/validator-1/deck/\0" SIG_64 "envelope";
    struct tl_frame frame;
    enum tl_refusal reason;

    (void)state;
    assert_int_equal(tl_frame_split((const uint8_t *)bytes, sizeof bytes - 1, &frame, &reason),
                     TL_OK);
    assert_int_equal(frame.topic.kind, TL_TOPIC_RECEIPT);
    assert_string_equal(frame.topic.publisher, "validator-1");
    assert_string_equal(frame.topic.addressee, "deck");
    assert_int_equal(frame.topic_len, strlen(bytes));
    assert_memory_equal(frame.signed_topic, bytes, frame.topic_len);
    assert_memory_equal(frame.signature, SIG_64, TL_SIGNATURE_LEN);
    assert_int_equal(frame.envelope_len, strlen("envelope"));
    assert_memory_equal(frame.envelope, "envelope", frame.envelope_len);
}

static void
frame_of_its_largest_size_is_split_and_one_byte_more_is_oversize(void **state)
{
    uint8_t *bytes = calloc(1, TL_FRAME_MAX + 1);

    (void)state;
    assert_non_null(bytes);
    for (int kind = 1; kind < TL_TOPIC_KINDS; kind++) {
        bool addressed = kind == TL_TOPIC_RECEIPT || kind == TL_TOPIC_RECORDED;
        struct tl_topic topic = {.kind = (enum tl_topic_kind)kind, .publisher = "deck"};
        struct tl_frame frame;
        enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
        size_t len;
        memcpy(topic.addressee, "aid", addressed ? sizeof "aid" : 0);
        memset(bytes, 0, TL_FRAME_MAX + 1);
        assert_int_equal(tl_topic_write(&topic, (char *)bytes, TL_TOPIC_CAP, &len), TL_OK);
        size_t max = tl_frame_max(topic.kind);
        assert_int_equal(tl_frame_split(bytes, max, &frame, &reason), TL_OK);
        assert_int_equal(tl_frame_split(bytes, max + 1, &frame, &reason), TL_REFUSED);
        assert_int_equal(reason, TL_REFUSAL_OVERSIZE);
    }
    free(bytes);
}

struct claim_row {
    const char *name;
    const char *spec;
    enum tl_refusal want;
};

static void
frame_claim_is_read_or_refused_by_name(void **state)
{
    static const struct claim_row rows[] = {
        {"whole", HEAD "16:{}", OK},
        {"the five fields alone", "2:'engine-1' 3:1 4:5 5:7", OK},
        {"anything behind them", HEAD "!9806ff", OK},
        {"half a tag behind them", HEAD "!80", TL_REFUSAL_TRUNCATED},
        {"no node", "1:1 3:1 4:5 5:7 16:{}", TL_REFUSAL_MISSING},
        {"an empty node", "1:1 2:'' 3:1 4:5 5:7 16:{}", TL_REFUSAL_RANGE},
        {"no epoch", "1:1 2:'engine-1' 4:5 5:7 16:{}", TL_REFUSAL_MISSING},
        {"no incarnation", "1:1 2:'engine-1' 3:1 5:7 16:{}", TL_REFUSAL_MISSING},
        {"no sequence", "1:1 2:'engine-1' 3:1 4:5 16:{}", TL_REFUSAL_MISSING},
        {"nothing of it", "16:{}", TL_REFUSAL_MISSING},
        {"epoch of 33 bits", "1:1 2:'engine-1' 3:4294967296 4:5 5:7", TL_REFUSAL_RANGE},
        {"node of 23 bytes", "1:1 2:'" ID_23 "' 3:1 4:5 5:7", OK},
        {"node of 24 bytes", "1:1 2:'" ID_23 "x' 3:1 4:5 5:7", TL_REFUSAL_RANGE},
        {"node in capitals", "1:1 2:'ENGINE' 3:1 4:5 5:7", TL_REFUSAL_RANGE},
        {"node with a NUL", "1:1 2:'engine-1\\x00' 3:1 4:5 5:7", TL_REFUSAL_RANGE},
        {"node longer than the rest", "1:1 !1209656e67696e652d31", TL_REFUSAL_TRUNCATED},
        {"node of 2^64 - 1 bytes", "1:1 !12ffffffffffffffffff01", TL_REFUSAL_TRUNCATED},
        {"node as a number", "1:1 2:5 3:1 4:5 5:7", TL_REFUSAL_TRUNCATED},
        {"epoch as a text", "1:1 2:'engine-1' 3:'x' 4:5 5:7", TL_REFUSAL_TRUNCATED},
        {"sequence twice", "1:1 2:'engine-1' 3:1 4:5 5:7 5:8", TL_REFUSAL_TRUNCATED},
        {"out of order", "2:'engine-1' 1:1 3:1 4:5 5:7", TL_REFUSAL_TRUNCATED},
        {"field 0", "!0001", TL_REFUSAL_TRUNCATED},
        {"a value without end", "1:1 2:'engine-1' 3:1 !20ff", TL_REFUSAL_TRUNCATED},
        {"a value of 65 bits", "1:1 2:'engine-1' 3:1 !20ffffffffffffffffff02",
         TL_REFUSAL_TRUNCATED},
        {"a value of 64 bits", "1:1 2:'engine-1' 3:1 4:18446744073709551615 5:7", OK},
    };
    struct world *world = *state;
    uint8_t bytes[256];

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_frame frame = {.envelope = bytes};
        struct tl_claim claim = {.key_epoch = 999};
        enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
        frame.envelope_len = spec_write(rows[i].spec, bytes, sizeof bytes);
        enum tl_err err = tl_frame_claim(&world->codec, &frame, &claim, &reason);
        if (reason != rows[i].want || err != (rows[i].want == OK ? TL_OK : TL_REFUSED)) {
            fail_msg("%s: %s, %s", rows[i].name, tl_err_text(err), tl_refusal_name(reason));
        }
        assert_int_equal(claim.key_epoch, rows[i].want == OK ? 1 : 999);
    }
}

/* Whoever speaks another schema is named with it, whatever else the frame holds. */
static void
frame_claim_says_the_schema(void **state)
{
    static const struct {
        const char *spec;
        uint32_t want;
    } rows[] = {
        {HEAD "16:{}", 1},
        {"1:2 2:'engine-1' 3:1 4:5 5:7 99:1", 2},
        {"1:4294967296 2:'engine-1' 3:1 4:5 5:7", UINT32_MAX},
        {"2:'engine-1' 3:1 4:5 5:7", 0},
    };
    struct world *world = *state;
    uint8_t bytes[256];

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_frame frame = {.envelope = bytes};
        struct tl_claim claim;
        enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
        frame.envelope_len = spec_write(rows[i].spec, bytes, sizeof bytes);
        assert_int_equal(tl_frame_claim(&world->codec, &frame, &claim, &reason), TL_OK);
        assert_int_equal(claim.schema, rows[i].want);
    }
}

/* The samples and their topics, for the tests below. */
static const struct sample *
find_sample(const char *name)
{
    size_t count;
    const struct sample *samples = samples_all(&count);

    for (size_t i = 0; i < count; i++) {
        if (strcmp(samples[i].name, name) == 0) {
            return &samples[i];
        }
    }
    fail_msg("no sample %s", name);
    return NULL;
}

static void
frame_built_claims_what_it_decodes_to(void **state)
{
    struct world *world = *state;
    size_t count;
    const struct sample *samples = samples_all(&count);

    for (size_t i = 0; i < count; i++) {
        struct tl_topic topic = topic_for(samples[i].body, samples[i].node);
        struct tl_frame frame;
        struct tl_claim claim;
        enum tl_refusal reason;
        sample_fill(&samples[i], &world->envelope);
        world_build(world, &topic);
        assert_int_equal(world_receive(world), OK);
        assert_int_equal(tl_frame_split(world->frame.bytes, world->frame.len, &frame, &reason),
                         TL_OK);
        assert_int_equal(tl_frame_claim(&world->codec, &frame, &claim, &reason), TL_OK);
        assert_string_equal(claim.node, world->envelope.node);
        assert_int_equal(claim.key_epoch, world->envelope.key_epoch);
        assert_true(claim.incarnation == world->envelope.incarnation);
        assert_true(claim.sequence == world->envelope.sequence);
        assert_int_equal(claim.schema, world->envelope.schema);
    }
}

/* A signature holds for one topic, one envelope and one key. */
static void
frame_signature_covers_topic_and_envelope(void **state)
{
    struct world *world = *state;
    const struct sample *sample = find_sample("beat-viewer");
    struct tl_topic topic = topic_for(sample->body, sample->node);
    struct tl_frame frame;
    enum tl_refusal reason;
    uint8_t other[32];
    uint8_t secret[crypto_sign_SECRETKEYBYTES];

    sample_fill(sample, &world->envelope);
    world_build(world, &topic);
    assert_int_equal(world_receive(world), OK);
    memcpy(world->frame.bytes + strlen("beat/"), "board-2", strlen("board-2"));
    assert_int_equal(world_receive(world), TL_REFUSAL_SIGNATURE);
    world_build(world, &topic);
    assert_int_equal(tl_frame_split(world->frame.bytes, world->frame.len, &frame, &reason), TL_OK);
    assert_true(tl_frame_verify(&frame, world->identity));
    frame.envelope_len--;
    assert_false(tl_frame_verify(&frame, world->identity));
    frame.envelope_len++;
    assert_int_equal(crypto_sign_keypair(other, secret), 0);
    assert_false(tl_frame_verify(&frame, other));
}

/* The same bytes without the domain, signed by the right key, are no frame. */
static void
frame_signature_without_the_domain_is_none(void **state)
{
    struct world *world = *state;
    const struct sample *sample = find_sample("beat-viewer");
    struct tl_topic topic = topic_for(sample->body, sample->node);
    uint8_t message[512];

    sample_fill(sample, &world->envelope);
    world_build(world, &topic);
    size_t topic_len = strlen((const char *)world->frame.bytes) + 1;
    size_t len = world->frame.len - world->frame.envelope_at;
    memcpy(message, world->frame.bytes, topic_len);
    memcpy(message + topic_len, world->frame.bytes + world->frame.envelope_at, len);
    crypto_sign_detached(world->frame.bytes + topic_len, NULL, message, topic_len + len,
                         world->signer.secret);
    assert_int_equal(world_receive(world), TL_REFUSAL_SIGNATURE);
}

struct build_row {
    const char *name;
    const char *sample;
    void (*spoil)(struct tl_envelope *envelope, struct tl_topic *topic);
    enum tl_err err;
    enum tl_refusal want;
};

static void
spoil_schema(struct tl_envelope *envelope, struct tl_topic *topic)
{
    (void)topic;
    envelope->schema = 2;
}
static void
spoil_sequence(struct tl_envelope *envelope, struct tl_topic *topic)
{
    (void)topic;
    envelope->sequence = 0;
}
static void
spoil_node(struct tl_envelope *envelope, struct tl_topic *topic)
{
    (void)envelope;
    memcpy(topic->publisher, "engine-2", sizeof "engine-2");
}
static void
spoil_topic(struct tl_envelope *envelope, struct tl_topic *topic)
{
    (void)envelope;
    topic->kind = TL_TOPIC_BEAT;
}
static void
spoil_topic_text(struct tl_envelope *envelope, struct tl_topic *topic)
{
    (void)envelope;
    topic->publisher[0] = 'E';
}
static void
spoil_body(struct tl_envelope *envelope, struct tl_topic *topic)
{
    (void)topic;
    envelope->body = TL_BODY_UNKNOWN;
}
static void
spoil_kind(struct tl_envelope *envelope, struct tl_topic *topic)
{
    (void)topic;
    envelope->as.change.datum.kind = TL_DATUM_UNKNOWN;
}
static void
spoil_unknown(struct tl_envelope *envelope, struct tl_topic *topic)
{
    (void)topic;
    envelope->as.change.datum.known = false;
    envelope->as.change.datum.kind = TL_DATUM_UNKNOWN;
}
static void
spoil_weight(struct tl_envelope *envelope, struct tl_topic *topic)
{
    (void)topic;
    envelope->as.change.datum.as.set_lb = 200001;
}
static void
spoil_count(struct tl_envelope *envelope, struct tl_topic *topic)
{
    (void)topic;
    envelope->as.change.datum.stated_for_count = TL_STATED_FOR_MAX + 1;
}
static void
spoil_count_high(struct tl_envelope *envelope, struct tl_topic *topic)
{
    (void)topic;
    envelope->echo_count = UINT32_MAX;
}
static void
spoil_enum(struct tl_envelope *envelope, struct tl_topic *topic)
{
    (void)topic;
    envelope->as.change.datum.as.deck.state = (enum tl_deck_state)77;
}
static void
spoil_node_end(struct tl_envelope *envelope, struct tl_topic *topic)
{
    (void)topic;
    memset(envelope->node, 'a', sizeof envelope->node);
}
static void
spoil_source(struct tl_envelope *envelope, struct tl_topic *topic)
{
    (void)topic;
    memcpy(envelope->as.beat.samples[0].as.wind.reading[0].source, "\x1B[2J", 5);
}
static void
spoil_sample(struct tl_envelope *envelope, struct tl_topic *topic)
{
    (void)topic;
    envelope->as.beat.samples[0].kind = TL_SAMPLE_UNKNOWN;
    envelope->as.beat.samples[0].age_ms = 1;
}

static void
frame_that_a_receiver_would_refuse_is_not_built(void **state)
{
    static const struct build_row rows[] = {
        {"newer schema", "change", spoil_schema, TL_BADARG, TL_REFUSAL_NEWER_SCHEMA},
        {"no sequence", "change", spoil_sequence, TL_BADARG, TL_REFUSAL_MISSING},
        {"another node", "change", spoil_node, TL_BADARG, TL_REFUSAL_NOT_YOUR_TOPIC},
        {"another topic", "change", spoil_topic, TL_BADARG, TL_REFUSAL_NOT_YOUR_TOPIC},
        {"a topic that is none", "change", spoil_topic_text, TL_BADARG, TL_REFUSAL_NOT_YOUR_TOPIC},
        {"no body", "change", spoil_body, TL_BADARG, TL_REFUSAL_MISSING},
        {"a value of no kind", "change", spoil_kind, TL_BADARG, TL_REFUSAL_MISSING},
        {"unknown of no kind", "change", spoil_unknown, TL_BADARG, TL_REFUSAL_EMPTY},
        {"200001 lb", "change", spoil_weight, TL_BADARG, TL_REFUSAL_RANGE},
        {"too many events", "change", spoil_count, TL_BADARG, TL_REFUSAL_TOO_MANY},
        {"far too many echoes", "change", spoil_count_high, TL_BADARG, TL_REFUSAL_TOO_MANY},
        {"no such deck state", "change-foul", spoil_enum, TL_BADARG, TL_REFUSAL_ENUM},
        {"a node without end", "change", spoil_node_end, TL_BADARG, TL_REFUSAL_RANGE},
        {"a source with ESC", "beat-bridge", spoil_source, TL_BADARG, TL_REFUSAL_CONTROL_BYTES},
        {"a sample of no kind", "beat-bridge", spoil_sample, TL_BADARG, TL_REFUSAL_MISSING},
    };
    struct world *world = *state;

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct sample *sample = find_sample(rows[i].sample);
        struct tl_topic topic = topic_for(sample->body, sample->node);
        enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
        size_t len = 999;
        sample_fill(sample, &world->envelope);
        rows[i].spoil(&world->envelope, &topic);
        memset(world->frame.bytes, 0xA5, 64);
        enum tl_err err = tl_frame_build(&world->codec, &world->signer, &topic, &world->envelope,
                                         world->frame.bytes, TL_FRAME_MAX + 128, &len, &reason);
        if (err != rows[i].err || reason != rows[i].want || len != 999) {
            fail_msg("%s: %s, %s", rows[i].name, tl_err_text(err), tl_refusal_name(reason));
        }
        for (size_t j = 0; j < 64; j++) {
            assert_int_equal(world->frame.bytes[j], 0xA5);
        }
    }
}

static void
frame_fits_its_room_exactly_or_is_full(void **state)
{
    struct world *world = *state;
    const struct sample *sample = find_sample("change");
    struct tl_topic topic = topic_for(sample->body, sample->node);
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    size_t len;

    sample_fill(sample, &world->envelope);
    world_build(world, &topic);
    size_t whole = world->frame.len;
    uint8_t *exact = malloc(whole); /* the sanitizer sees one byte more */
    assert_non_null(exact);
    for (size_t cap = 0; cap < whole; cap++) {
        assert_int_equal(tl_frame_build(&world->codec, &world->signer, &topic, &world->envelope,
                                        exact, cap, &len, &reason),
                         TL_FULL);
    }
    assert_int_equal(tl_frame_build(&world->codec, &world->signer, &topic, &world->envelope, exact,
                                    whole, &len, &reason),
                     TL_OK);
    assert_int_equal(len, whole);
    assert_memory_equal(exact, world->frame.bytes, whole);
    assert_int_equal(reason, TL_REFUSAL_UNKNOWN);
    free(exact);
}

/* Above 2 KiB although each part is within its limit. */
static void
frame_larger_than_its_kind_is_full(void **state)
{
    struct world *world = *state;
    const struct sample *sample = find_sample("beat-viewer");
    struct tl_topic topic = topic_for(sample->body, sample->node);
    struct tl_beat *beat = &world->envelope.as.beat;
    enum tl_refusal reason;
    size_t len;

    sample_fill(sample, &world->envelope);
    beat->last_change = UINT64_MAX;
    beat->datum_count = TL_DATA_MAX;
    for (uint32_t i = 0; i < TL_DATA_MAX; i++) {
        beat->data[i] = (struct tl_datum){.kind = TL_DATUM_ORDER,
                                          .slot = i + 1,
                                          .sequence = UINT64_MAX,
                                          .said_age_ms = UINT32_MAX,
                                          .stated_for_count = 3,
                                          .stated_for = {{UINT64_MAX, UINT32_MAX},
                                                         {UINT64_MAX, UINT32_MAX},
                                                         {UINT64_MAX, UINT32_MAX}}};
    }
    assert_int_equal(tl_frame_build(&world->codec, &world->signer, &topic, &world->envelope,
                                    world->frame.bytes, TL_FRAME_MAX + 128, &len, &reason),
                     TL_FULL);
}

static void
frame_digest_of_a_change_follows_its_statement(void **state)
{
    struct world *world = *state;
    const struct sample *sample = find_sample("change");
    struct tl_change *change = &world->envelope.as.change;

    /* First 8 of the 16 bytes of hashlib.blake2b(body, digest_size=16); body = field 17. */
    sample_fill(sample, &world->envelope);
    uint64_t first = tl_change_digest(&world->codec, change);
    assert_true(first == 0xede7360da9c0ddbbU);
    assert_true(tl_change_digest(&world->codec, change) == first);
    change->datum.as.set_lb++;
    assert_true(tl_change_digest(&world->codec, change) != first);
    change->datum.as.set_lb--;
    change->datum.stated_for_count--;
    assert_true(tl_change_digest(&world->codec, change) != first);
    change->datum.stated_for_count++;
    change->datum.known = false;
    assert_true(tl_change_digest(&world->codec, change) != first);
    change->datum.known = true;
    assert_true(tl_change_digest(&world->codec, change) == first);
    change->datum.stated_for_count = TL_STATED_FOR_MAX + 1;
    assert_true(tl_change_digest(&world->codec, change) == 0);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(frame_split_names_the_first_fault),
        cmocka_unit_test(frame_split_says_where_what_is),
        cmocka_unit_test(frame_of_its_largest_size_is_split_and_one_byte_more_is_oversize),
        cmocka_unit_test(frame_claim_is_read_or_refused_by_name),
        cmocka_unit_test(frame_claim_says_the_schema),
        cmocka_unit_test(frame_built_claims_what_it_decodes_to),
        cmocka_unit_test(frame_signature_covers_topic_and_envelope),
        cmocka_unit_test(frame_signature_without_the_domain_is_none),
        cmocka_unit_test(frame_that_a_receiver_would_refuse_is_not_built),
        cmocka_unit_test(frame_fits_its_room_exactly_or_is_full),
        cmocka_unit_test(frame_larger_than_its_kind_is_full),
        cmocka_unit_test(frame_digest_of_a_change_follows_its_statement),
    };
    return cmocka_run_group_tests_name("frame", tests, world_open, world_close);
}
