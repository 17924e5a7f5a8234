/* SPDX-License-Identifier: Apache-2.0 */
/* support.c - see support.h. */
#include "tests/codec/support.h"

#include <ctype.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <sodium.h>

#include <cmocka.h>

#include "proto/codec/sign.h"

int
world_open(void **state)
{
    uint8_t seed[crypto_sign_SEEDBYTES];
    struct world *world = aligned_alloc(_Alignof(struct world), sizeof *world);

    if (world == NULL || sodium_init() < 0) {
        free(world);
        return -1;
    }
    memset(world, 0, sizeof *world);
    for (size_t i = 0; i < sizeof seed; i++) {
        seed[i] = (uint8_t)i;
    }
    *state = world;
    return crypto_sign_seed_keypair(world->identity, world->signer.secret, seed);
}

int
world_close(void **state)
{
    free(*state);
    return 0;
}

/* By hand and not with frame.c, so that the layout is said twice. */
void
world_frame(struct world *world, const struct tl_topic *topic, const uint8_t *envelope, size_t len)
{
    static const char domain[] = "trapline.v1";
    struct made_frame *frame = &world->frame;
    uint8_t *message = malloc(sizeof domain + TL_TOPIC_CAP + len);
    size_t topic_len = 0;

    assert_non_null(message);
    assert_int_equal(tl_topic_write(topic, (char *)frame->bytes, TL_TOPIC_CAP, &topic_len), TL_OK);
    assert_true(topic_len + 1 + TL_SIGNATURE_LEN + len <= sizeof frame->bytes);
    memcpy(message, domain, sizeof domain);
    memcpy(message + sizeof domain, frame->bytes, topic_len + 1);
    memcpy(message + sizeof domain + topic_len + 1, envelope, len);
    crypto_sign_detached(frame->bytes + topic_len + 1, NULL, message,
                         sizeof domain + topic_len + 1 + len, world->signer.secret);
    frame->envelope_at = topic_len + 1 + TL_SIGNATURE_LEN;
    memmove(frame->bytes + frame->envelope_at, envelope, len);
    frame->len = frame->envelope_at + len;
    free(message);
}

enum tl_refusal
world_receive(struct world *world)
{
    struct tl_frame frame;
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    enum tl_err err = tl_frame_split(world->frame.bytes, world->frame.len, &frame, &reason);

    if (err == TL_OK && !tl_frame_verify(&frame, world->identity)) {
        return TL_REFUSAL_SIGNATURE;
    }
    if (err == TL_OK) {
        err = tl_frame_decode(&world->codec, &frame, &world->envelope, &reason);
    }
    if (err == TL_OK) {
        assert_int_equal(reason, TL_REFUSAL_UNKNOWN);
        return reason;
    }
    assert_int_equal(err, TL_REFUSED);
    assert_int_not_equal(reason, TL_REFUSAL_UNKNOWN);
    return reason;
}

enum tl_refusal
world_receive_watched(struct world *world)
{
    memset(&world->envelope, 0xA5, sizeof world->envelope);
    memset(&world->other, 0xA5, sizeof world->other);
    enum tl_refusal reason = world_receive(world);
    if (reason != TL_REFUSAL_UNKNOWN) {
        assert_memory_equal(&world->envelope, &world->other, sizeof world->other);
    }
    return reason;
}

void
world_build(struct world *world, const struct tl_topic *topic)
{
    struct made_frame *frame = &world->frame;
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    size_t cap = TL_FRAME_MAX + 128;
    enum tl_err err = tl_frame_build(&world->codec, &world->signer, topic, &world->envelope,
                                     frame->bytes, cap, &frame->len, &reason);

    if (err != TL_OK) {
        fail_msg("%s from %s is not built: %s, %s", tl_err_text(err), topic->publisher,
                 tl_refusal_name(reason), tl_refusal_text(reason));
    }
    frame->envelope_at = strlen((const char *)frame->bytes) + 1 + TL_SIGNATURE_LEN;
}

struct tl_topic
topic_for(enum tl_body_kind body, const char *node)
{
    static const enum tl_topic_kind kinds[TL_BODY_KINDS] = {
        [TL_BODY_BEAT] = TL_TOPIC_BEAT,         [TL_BODY_CHANGE] = TL_TOPIC_CHANGE,
        [TL_BODY_RECEIPT] = TL_TOPIC_RECEIPT,   [TL_BODY_VERDICT] = TL_TOPIC_VERDICT,
        [TL_BODY_PICTURE] = TL_TOPIC_PICTURE,   [TL_BODY_ALERTS] = TL_TOPIC_ALERT,
        [TL_BODY_REFUSALS] = TL_TOPIC_BUS,      [TL_BODY_JUDGED] = TL_TOPIC_JUDGED,
        [TL_BODY_RECORDED] = TL_TOPIC_RECORDED, [TL_BODY_COUNTERS] = TL_TOPIC_BUS,
    };
    struct tl_topic topic = {.kind = kinds[body]};

    (void)snprintf(topic.publisher, sizeof topic.publisher, "%s", node);
    if (body == TL_BODY_RECEIPT || body == TL_BODY_RECORDED) {
        (void)snprintf(topic.addressee, sizeof topic.addressee, "engine-1");
    }
    return topic;
}

size_t
golden_read(const char *name, uint8_t *dst, size_t cap)
{
    return golden_read_of(TL_SCHEMA_VERSION, name, dst, cap);
}

size_t
golden_read_of(unsigned version, const char *name, uint8_t *dst, size_t cap)
{
    char path[4096];
    unsigned byte;
    size_t len = 0;
    const char *root = getenv("TL_SOURCE_DIR");

    assert_non_null(root); /* set by ctest */
    (void)snprintf(path, sizeof path, "%s/tests/codec/golden/v%u/%s.hex", root, version, name);
    FILE *file = fopen(path, "r");
    if (file == NULL) {
        fail_msg("cannot read %s", path);
    }
    while (fscanf(file, "%2x", &byte) == 1) { /* NOLINT(cert-err34-c): two digits fit */
        assert_true(len < cap);
        dst[len++] = (uint8_t)byte;
    }
    assert_true(feof(file));
    (void)fclose(file);
    return len;
}
