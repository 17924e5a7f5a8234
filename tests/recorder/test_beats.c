/* SPDX-License-Identifier: Apache-2.0 */
/* test_beats - a beat that a validator names is found, whichever of the two comes first */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "broker/recorder/beats.h"

struct room {
    struct tl_config config;
    struct tl_beats *beats;
    struct tl_envelope envelope;
};

static int
setup(void **state)
{
    struct room *room = calloc(1, sizeof *room);
    assert_non_null(room);
    (void)snprintf(room->config.node[0].id, TL_ID_CAP, "deck");
    (void)snprintf(room->config.node[1].id, TL_ID_CAP, "viewer");
    (void)snprintf(room->config.node[2].id, TL_ID_CAP, "engine-1");
    room->config.node[0].kind = TL_NODE_STATION;
    room->config.node[1].kind = TL_NODE_VIEWER;
    room->config.node[2].kind = TL_NODE_STATION;
    room->config.node_count = 3;
    assert_int_equal(tl_beats_open(&room->config, &room->beats), TL_OK);
    *state = room;
    return 0;
}

static int
teardown(void **state)
{
    struct room *room = *state;
    tl_beats_close(&room->beats);
    assert_null(room->beats);
    free(room);
    return 0;
}

/* Its bytes are its sequence. */
static bool
keep(struct room *room, const char *node, uint64_t sequence)
{
    char bytes[32];
    int len = snprintf(bytes, sizeof bytes, "%llu", (unsigned long long)sequence);
    (void)snprintf(room->envelope.node, TL_ID_CAP, "%s", node);
    room->envelope.incarnation = 7;
    room->envelope.sequence = sequence;
    room->envelope.wall_ms = 1000 + sequence;
    return tl_beats_keep(room->beats, &room->envelope,
                         &(struct tl_verbatim){(const uint8_t *)bytes, (size_t)len});
}

static bool
name(struct room *room, const char *node, uint64_t incarnation, uint64_t sequence)
{
    struct tl_claim claim = {.incarnation = incarnation, .sequence = sequence};
    struct tl_verbatim frame = {NULL, 0};
    uint64_t wall_ms = 0;
    char bytes[32];
    (void)snprintf(claim.node, sizeof claim.node, "%s", node);
    bool found = tl_beats_name(room->beats, &claim, &frame, &wall_ms);
    if (found) {
        int len = snprintf(bytes, sizeof bytes, "%llu", (unsigned long long)sequence);
        assert_int_equal(frame.len, len);
        assert_memory_equal(frame.bytes, bytes, frame.len);
        assert_int_equal(wall_ms, 1000 + sequence);
    }
    return found;
}

static void
beat_that_is_named_after_it_came_is_at_hand_for_both_validators(void **state)
{
    struct room *room = *state;
    assert_false(keep(room, "deck", 5));
    assert_true(name(room, "deck", 7, 5));
    assert_true(name(room, "deck", 7, 5));
}

static void
beat_that_is_named_before_it_comes_is_told_once(void **state)
{
    struct room *room = *state;
    assert_false(name(room, "deck", 7, 5));
    assert_false(name(room, "deck", 7, 5));
    assert_false(keep(room, "engine-1", 5));
    assert_false(keep(room, "deck", 4));
    assert_true(keep(room, "deck", 5));
    assert_false(keep(room, "deck", 5));
}

static void
beat_of_another_life_station_or_number_is_another(void **state)
{
    struct room *room = *state;
    assert_false(keep(room, "deck", 5));
    assert_false(name(room, "deck", 8, 5));
    assert_false(name(room, "deck", 7, 6));
    assert_false(name(room, "engine-1", 7, 5));
    assert_true(name(room, "deck", 7, 5));
}

static void
beats_are_kept_for_as_long_as_is_said(void **state)
{
    struct room *room = *state;
    for (uint64_t sequence = 1; sequence <= TL_BEATS_KEPT + 1; sequence++) {
        assert_false(keep(room, "deck", sequence));
    }
    assert_false(name(room, "deck", 7, 1));
    assert_true(name(room, "deck", 7, 2));
    assert_true(name(room, "deck", 7, TL_BEATS_KEPT + 1));
}

static void
beat_of_no_station_or_of_no_size_is_left_out(void **state)
{
    struct room *room = *state;
    static const uint8_t bytes[TL_FRAME_MAX + 128];
    assert_false(keep(room, "viewer", 5));
    assert_false(name(room, "viewer", 7, 5));
    (void)snprintf(room->envelope.node, TL_ID_CAP, "deck");
    room->envelope.sequence = 9;
    assert_false(name(room, "deck", 7, 9));
    assert_false(
        tl_beats_keep(room->beats, &room->envelope, &(struct tl_verbatim){bytes, sizeof bytes}));
    assert_false(name(room, "deck", 7, 9));
}

int
main(void)
{
#define IN_ROOM(test) cmocka_unit_test_setup_teardown(test, setup, teardown)
    const struct CMUnitTest tests[] = {
        IN_ROOM(beat_that_is_named_after_it_came_is_at_hand_for_both_validators),
        IN_ROOM(beat_that_is_named_before_it_comes_is_told_once),
        IN_ROOM(beat_of_another_life_station_or_number_is_another),
        IN_ROOM(beats_are_kept_for_as_long_as_is_said),
        IN_ROOM(beat_of_no_station_or_of_no_size_is_left_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
