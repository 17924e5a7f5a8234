/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_golden - our bytes are those of another protobuf, both ways
 *
 * golden/vN/NAME.hex is what protoc makes of NAME.txtpb there (checked by golden.sh), N the version
 * of the schema. Building is compared byte for byte, so a field mapped to a wrong one shows; reading
 * is compared by building again, so a field that is not read shows. What a program of an older
 * version sends is read for ever.
 */
#include <dirent.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/codec/samples.h"
#include "tests/codec/support.h"

static void
print_bytes(const char *name, const uint8_t *bytes, size_t len)
{
    print_error("%s:", name);
    for (size_t i = 0; i < len; i++) {
        print_error(" %02x", bytes[i]);
    }
    print_error("\n");
}

static void
assert_envelope(const struct world *world, const uint8_t *want, size_t want_len, const char *name)
{
    const uint8_t *got = world->frame.bytes + world->frame.envelope_at;
    size_t got_len = world->frame.len - world->frame.envelope_at;

    if (got_len != want_len || memcmp(got, want, want_len) != 0) {
        print_bytes("want", want, want_len);
        print_bytes("got ", got, got_len);
        fail_msg("%s: other bytes", name);
    }
}

static void
golden_samples_build_to_the_bytes_of_protoc(void **state)
{
    struct world *world = *state;
    uint8_t want[TL_FRAME_MAX];
    size_t count;
    const struct sample *samples = samples_all(&count);

    for (size_t i = 0; i < count; i++) {
        struct tl_topic topic = topic_for(samples[i].body, samples[i].node);
        size_t want_len = golden_read(samples[i].name, want, sizeof want);
        sample_fill(&samples[i], &world->envelope);
        world_build(world, &topic);
        assert_envelope(world, want, want_len, samples[i].name);
    }
}

static void
golden_bytes_of_protoc_are_read_whole(void **state)
{
    struct world *world = *state;
    uint8_t bytes[TL_FRAME_MAX];
    size_t count;
    const struct sample *samples = samples_all(&count);

    for (size_t i = 0; i < count; i++) {
        struct tl_topic topic = topic_for(samples[i].body, samples[i].node);
        size_t len = golden_read(samples[i].name, bytes, sizeof bytes);
        world_frame(world, &topic, bytes, len);
        assert_int_equal(world_receive_watched(world), TL_REFUSAL_UNKNOWN);
        assert_int_equal(world->envelope.body, samples[i].body);
        world_build(world, &topic);
        assert_envelope(world, bytes, len, samples[i].name);
    }
}

/* On the topic of its body, whichever that is. */
static enum tl_refusal
receive_somewhere(struct world *world, const uint8_t *bytes, size_t len, struct tl_topic *topic)
{
    struct tl_frame frame;
    struct tl_claim claim;
    enum tl_refusal reason = TL_REFUSAL_UNKNOWN;
    *topic = topic_for(TL_BODY_PICTURE, "nobody"); /* the largest */

    world_frame(world, topic, bytes, len);
    assert_int_equal(tl_frame_split(world->frame.bytes, world->frame.len, &frame, &reason), TL_OK);
    assert_int_equal(tl_frame_claim(&world->codec, &frame, &claim, &reason), TL_OK);
    for (int body = 1; body < TL_BODY_KINDS; body++) {
        *topic = topic_for((enum tl_body_kind)body, claim.node);
        world_frame(world, topic, bytes, len);
        reason = world_receive_watched(world);
        if (reason != TL_REFUSAL_NOT_YOUR_TOPIC && reason != TL_REFUSAL_OVERSIZE) {
            return reason;
        }
    }
    return reason;
}

static size_t
check_version(struct world *world, unsigned version)
{
    char path[4096];
    uint8_t bytes[TL_FRAME_MAX];
    size_t read = 0;
    (void)snprintf(path, sizeof path, "%s/tests/codec/golden/v%u", getenv("TL_SOURCE_DIR"),
                   version);
    DIR *folder = opendir(path);

    assert_non_null(folder);
    for (struct dirent *entry = readdir(folder); entry != NULL; entry = readdir(folder)) {
        char name[256];
        struct tl_topic topic;
        (void)snprintf(name, sizeof name, "%s", entry->d_name);
        char *dot = strchr(name, '.');
        if (dot == NULL || strcmp(dot, ".hex") != 0) {
            continue;
        }
        *dot = '\0';
        size_t len = golden_read_of(version, name, bytes, sizeof bytes);
        enum tl_refusal reason = receive_somewhere(world, bytes, len, &topic);
        if (reason != TL_REFUSAL_UNKNOWN) {
            fail_msg("version %u, %s: %s", version, name, tl_refusal_name(reason));
        }
        assert_true(world->envelope.schema <= version);
        world_build(world, &topic);
        assert_envelope(world, bytes, len, name);
        read++;
    }
    (void)closedir(folder);
    return read;
}

static void
golden_bytes_of_every_version_are_accepted(void **state)
{
    struct world *world = *state;

    for (unsigned version = 1; version <= TL_SCHEMA_VERSION; version++) {
        assert_true(check_version(world, version) >= TL_BODY_KINDS - 1);
    }
}

static void
golden_every_body_kind_has_a_sample(void **state)
{
    size_t count;
    const struct sample *samples = samples_all(&count);

    (void)state;
    for (int body = 1; body < TL_BODY_KINDS; body++) {
        size_t found = 0;
        for (size_t i = 0; i < count; i++) {
            found += samples[i].body == (enum tl_body_kind)body;
        }
        if (found == 0) {
            fail_msg("body kind %d has no sample", body);
        }
    }
}

/* A few figures said here a second time: the file beat-bridge.txtpb. */
static void
golden_wind_of_the_bridge_has_its_figures(void **state)
{
    struct world *world = *state;
    uint8_t bytes[TL_FRAME_MAX];
    struct tl_topic topic = topic_for(TL_BODY_BEAT, "bridge");

    world_frame(world, &topic, bytes, golden_read("beat-bridge", bytes, sizeof bytes));
    assert_int_equal(world_receive(world), TL_REFUSAL_UNKNOWN);
    const struct tl_beat *beat = &world->envelope.as.beat;
    assert_int_equal(beat->datum_count, 0);
    assert_int_equal(beat->sample_count, 2);
    assert_int_equal(beat->samples[0].kind, TL_SAMPLE_WIND);
    const struct tl_wind *wind = &beat->samples[0].as.wind;
    assert_int_equal(wind->state, TL_WIND_DISAGREE);
    assert_int_equal(wind->headwind_kt_x10, 278);
    assert_int_equal(wind->crosswind_kt_x10, -15);
    assert_true(wind->true_known);
    assert_int_equal(wind->reading_count, 2);
    assert_string_equal(wind->reading[0].source, "port mast");
    assert_int_equal(wind->reading[1].from_deg_x10, 30);
    const struct tl_motion *motion = &beat->samples[1].as.motion;
    assert_true(motion->heave_m_x100.known);
    assert_int_equal(motion->heave_m_x100.value, 0);
    assert_int_equal(motion->turn_deg_min_x10.value, -5);
}

/* What a smaller body left in the union must not show through in a larger one. */
static void
golden_reading_clears_what_was_read_before(void **state)
{
    struct world *world = *state;
    uint8_t bytes[TL_FRAME_MAX];
    struct tl_topic topic = topic_for(TL_BODY_BEAT, "board-1");
    struct tl_beat empty;

    memset(&empty, 0, sizeof empty);
    world_frame(world, &topic, bytes, golden_read("beat-viewer", bytes, sizeof bytes));
    assert_int_equal(world_receive_watched(world), TL_REFUSAL_UNKNOWN);
    assert_memory_equal(&world->envelope.as.beat, &empty, sizeof empty);
    assert_false(tl_event_is(world->envelope.event));
    assert_int_equal(world->envelope.echo_count, 0);
}

/*
 * A whole frame, for whoever writes a second implementation: key of the seed 00 01 .. 1f. The
 * signature was checked with PyNaCl by signature.py.
 */
static void
golden_whole_frame_is_as_committed(void **state)
{
    struct world *world = *state;
    uint8_t want[TL_FRAME_MAX];
    size_t count;
    const struct sample *samples = samples_all(&count);
    size_t want_len = golden_read("change.frame", want, sizeof want);

    for (size_t i = 0; i < count; i++) {
        if (strcmp(samples[i].name, "change") == 0) {
            struct tl_topic topic = topic_for(samples[i].body, samples[i].node);
            sample_fill(&samples[i], &world->envelope);
            world_build(world, &topic);
        }
    }
    if (world->frame.len != want_len || memcmp(world->frame.bytes, want, want_len) != 0) {
        print_bytes("want", want, want_len);
        print_bytes("got ", world->frame.bytes, world->frame.len);
        fail_msg("another frame");
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(golden_samples_build_to_the_bytes_of_protoc),
        cmocka_unit_test(golden_bytes_of_protoc_are_read_whole),
        cmocka_unit_test(golden_bytes_of_every_version_are_accepted),
        cmocka_unit_test(golden_every_body_kind_has_a_sample),
        cmocka_unit_test(golden_wind_of_the_bridge_has_its_figures),
        cmocka_unit_test(golden_reading_clears_what_was_read_before),
        cmocka_unit_test(golden_whole_frame_is_as_committed),
    };
    return cmocka_run_group_tests_name("golden", tests, world_open, world_close);
}
