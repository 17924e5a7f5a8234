/* SPDX-License-Identifier: Apache-2.0 */
/* support.h - what the tests of the codec share: one key, one codec, whole frames in one call. */
#ifndef TESTS_CODEC_SUPPORT_H
#define TESTS_CODEC_SUPPORT_H

#include <stddef.h>
#include <stdint.h>

#include "proto/codec/codec.h"

/* A frame with room around it: its bytes, and where its envelope lies. */
struct made_frame {
    uint8_t bytes[TL_FRAME_MAX + 4096];
    size_t len;
    size_t envelope_at;
};

struct world {
    struct tl_codec codec;
    struct tl_signer signer;
    uint8_t identity[32];
    struct made_frame frame;
    struct tl_envelope envelope;
    struct tl_envelope other;
};

/* cmocka group fixtures: *state is a struct world with the key of the seed 00 01 .. 1f. */
int world_open(void **state);
int world_close(void **state);

/* Sign bytes that may be anything and put them into world->frame. */
void world_frame(struct world *world, const struct tl_topic *topic, const uint8_t *envelope,
                 size_t len);

/*
 * Split, verify and decode world->frame into world->envelope, as a receiver does. Returns UNKNOWN
 * when all of it succeeds, else the reason; SIGNATURE when only that is wrong. Fails the test when
 * an error code does not fit its reason.
 */
enum tl_refusal world_receive(struct world *world);

/* The same; also fails the test when a refused frame has changed world->envelope. Slower. */
enum tl_refusal world_receive_watched(struct world *world);

/* Build world->envelope into world->frame; fails the test, with the reason, if that fails. */
void world_build(struct world *world, const struct tl_topic *topic);

/* The topic on which an envelope of that body and node may go; the addressee is "engine-1". */
struct tl_topic topic_for(enum tl_body_kind body, const char *node);

/*
 * Read a file of hexadecimal bytes of the present version of the schema, or of a given one, under
 * tests/codec/golden; blanks and line ends are skipped.
 */
size_t golden_read(const char *name, uint8_t *dst, size_t cap);
size_t golden_read_of(unsigned version, const char *name, uint8_t *dst, size_t cap);

#endif
