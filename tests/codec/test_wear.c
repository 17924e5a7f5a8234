/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_wear - counts of pendants and cables on the wire: each field at its end and one past it, what
 * does not go together, and that the largest fit
 *
 * The ends are those of proto/codec/check.h and proto/vocab/limits.h, said here a second time.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "proto/vocab/wear.h"
#include "tests/codec/rows.h"

#define ID_23              "abcdefghijklmnopqrstu-9"
#define SERIAL_15          "P-0123456789ABC"
#define RECOVERY           1764050400000
#define LAST(n)            "{1:1764050400000 2:" n "}"
#define CABLE(cable)       SLOTTED("3", "37:{" cable "}")
#define LIFE(life)         SLOTTED("3", "51:{" life "}")
#define RECORDED(recorded) HEAD "24:{1:5 " recorded "}"
#define WORN(worn)         RECORDED("3:{" worn "}")
#define ENDED(ended)       PICTURE("16:{" ended "}")
#define BITS_32            "4294967295"

static void
wear_of_a_cable(void **state)
{
    static const struct row rows[] = {
        {"nothing", TL_BODY_CHANGE, CABLE(""), OK},
        {"everything highest", TL_BODY_CHANGE,
         CABLE("1:1000000 2:1000000 3:'" SERIAL_15 "' 4:" LAST("4294967295") " 5:" BITS_32 " 6:1"),
         OK},
        {"1000001 traps", TL_BODY_CHANGE, CABLE("1:1000001"), TL_REFUSAL_RANGE},
        {"detorqued after now", TL_BODY_CHANGE, CABLE("1:50 2:51"), TL_REFUSAL_RANGE},
        {"serial of 16 bytes", TL_BODY_CHANGE, CABLE("1:5 3:'" SERIAL_15 "D'"), TL_REFUSAL_RANGE},
        {"serial in small letters", TL_BODY_CHANGE, CABLE("1:5 3:'p-1'"), TL_REFUSAL_RANGE},
        {"serial from a digit on", TL_BODY_CHANGE, CABLE("1:5 3:'1-P'"), TL_REFUSAL_RANGE},
        {"serial with a blank", TL_BODY_CHANGE, CABLE("1:5 3:'P 1'"), TL_REFUSAL_RANGE},
        {"without a pass, and no last one", TL_BODY_CHANGE, CABLE("1:5 5:1"), TL_REFUSAL_MISSING},
        {"a last pass of 0", TL_BODY_CHANGE, CABLE("1:5 4:{1:1764050400000}"), TL_REFUSAL_MISSING},
        {"without 1 and 2 of 2", TL_BODY_CHANGE, CABLE("1:5 4:" LAST("2") " 5:3"), OK},
        {"without 0 of 2", TL_BODY_CHANGE, CABLE("1:5 4:" LAST("2") " 5:4"), TL_REFUSAL_RANGE},
        {"without 1 to 32 of 32", TL_BODY_CHANGE, CABLE("1:5 4:" LAST("32") " 5:" BITS_32), OK},
        {"without 0 of 31", TL_BODY_CHANGE, CABLE("1:5 4:" LAST("31") " 5:" BITS_32),
         TL_REFUSAL_RANGE},
        {"moved twice", TL_BODY_CHANGE, CABLE("1:5 6:2"), TL_REFUSAL_NOT_CANONICAL},
        {"a field that is not there", TL_BODY_CHANGE, CABLE("1:5 7:1"), TL_REFUSAL_NEWER_SCHEMA},
    };
    ROWS_CHECK(*state, rows);
}

static void
wear_of_a_pendant(void **state)
{
    static const struct row rows[] = {
        {"nothing", TL_BODY_CHANGE, LIFE(""), OK},
        {"everything highest", TL_BODY_CHANGE,
         LIFE("1:1000000 2:'" SERIAL_15 "' 3:" LAST("4294967295") " 4:" BITS_32 " 5:1"), OK},
        {"1000001 traps", TL_BODY_CHANGE, LIFE("1:1000001"), TL_REFUSAL_RANGE},
        {"serial of 16 bytes", TL_BODY_CHANGE, LIFE("1:5 2:'" SERIAL_15 "D'"), TL_REFUSAL_RANGE},
        {"serial with a control byte", TL_BODY_CHANGE, LIFE("1:5 2:'P\n'"),
         TL_REFUSAL_CONTROL_BYTES},
        {"without a pass, and no last one", TL_BODY_CHANGE, LIFE("1:5 4:1"), TL_REFUSAL_MISSING},
        {"without 0 of 1", TL_BODY_CHANGE, LIFE("1:5 3:" LAST("1") " 4:2"), TL_REFUSAL_RANGE},
        {"a field that is not there", TL_BODY_CHANGE, LIFE("1:5 6:1"), TL_REFUSAL_NEWER_SCHEMA},
    };
    ROWS_CHECK(*state, rows);
}

static void
wear_as_a_recorder_counts_it(void **state)
{
    static const struct row rows[] = {
        {"none", TL_BODY_RECORDED, RECORDED(""), OK},
        {"pendant, everything highest", TL_BODY_RECORDED,
         WORN("1:8 3:'" SERIAL_15 "' 4:1000000 5:" LAST(
             "4294967295") " 6:" BITS_32 " 8:4294967295 9:1000000 10:1 11:1"),
         OK},
        {"cable, everything highest", TL_BODY_RECORDED, WORN("2:8 4:1000000 7:1000000"), OK},
        {"wire 9", TL_BODY_RECORDED, WORN("1:9 4:5"), TL_REFUSAL_RANGE},
        {"engine 9", TL_BODY_RECORDED, WORN("2:9 4:5"), TL_REFUSAL_RANGE},
        {"neither", TL_BODY_RECORDED, WORN("4:5"), TL_REFUSAL_MISSING},
        {"both", TL_BODY_RECORDED, WORN("1:3 2:3 4:5"), TL_REFUSAL_RANGE},
        {"1000001 traps", TL_BODY_RECORDED, WORN("1:3 4:1000001"), TL_REFUSAL_RANGE},
        {"a pendant detorqued", TL_BODY_RECORDED, WORN("1:3 4:50 7:50"), TL_REFUSAL_RANGE},
        {"detorqued after now", TL_BODY_RECORDED, WORN("2:3 4:50 7:51"), TL_REFUSAL_RANGE},
        {"more not weighed than counted", TL_BODY_RECORDED, WORN("1:3 4:50 9:51"),
         TL_REFUSAL_RANGE},
        {"serial in small letters", TL_BODY_RECORDED, WORN("1:3 3:'p-1' 4:5"), TL_REFUSAL_RANGE},
        {"without a pass, and no last one", TL_BODY_RECORDED, WORN("1:3 4:5 6:1"),
         TL_REFUSAL_MISSING},
        {"two that are there", TL_BODY_RECORDED, RECORDED("3:{1:3 4:5} 3:{1:3 4:6}"),
         TL_REFUSAL_TOO_MANY},
        {"one there and two removed", TL_BODY_RECORDED,
         RECORDED("3:{1:3 4:5} 3:{1:3 4:6 11:1} 3:{1:3 4:7 11:1}"), OK},
        {"a pendant and a cable of one number", TL_BODY_RECORDED,
         RECORDED("3:{1:3 4:5} 3:{2:3 4:6}"), OK},
        {"a field that is not there", TL_BODY_RECORDED, WORN("1:3 4:5 12:1"),
         TL_REFUSAL_NEWER_SCHEMA},
    };
    ROWS_CHECK(*state, rows);
}

static void
wear_how_passes_ended(void **state)
{
    static const struct row rows[] = {
        {"one", TL_BODY_PICTURE, ENDED("1:" LAST("7") " 2:{1:53 2:3} 3:1"), OK},
        {"no pass", TL_BODY_PICTURE, ENDED("2:{1:53 2:3}"), TL_REFUSAL_MISSING},
        {"no end", TL_BODY_PICTURE, ENDED("1:" LAST("7")), TL_REFUSAL_MISSING},
        {"rising", TL_BODY_PICTURE,
         PICTURE("16:{1:{1:9 2:7} 2:{1:53 2:3}} 16:{1:{1:10 2:1} 2:{1:53 2:3}}"), OK},
        {"one twice", TL_BODY_PICTURE,
         PICTURE("16:{1:{1:9 2:7} 2:{1:53 2:3}} 16:{1:{1:9 2:7} 2:{1:53 2:2}}"), TL_REFUSAL_RANGE},
        {"falling", TL_BODY_PICTURE,
         PICTURE("16:{1:{1:10 2:1} 2:{1:53 2:3}} 16:{1:{1:9 2:7} 2:{1:53 2:3}}"), TL_REFUSAL_RANGE},
    };
    ROWS_CHECK(*state, rows);
}

/* ---- the largest ---- */

static void
fill_head(struct tl_envelope *envelope, enum tl_body_kind body)
{
    memset(envelope, 0, sizeof *envelope);
    envelope->schema = TL_SCHEMA_VERSION;
    (void)snprintf(envelope->node, sizeof envelope->node, ID_23);
    envelope->key_epoch = UINT32_MAX;
    envelope->incarnation = RECOVERY;
    envelope->sequence = UINT32_MAX;
    envelope->event = (struct tl_event){RECOVERY, 16383};
    envelope->wall_ms = RECOVERY;
    envelope->body = body;
}

static struct tl_wear
largest(void)
{
    return (struct tl_wear){.traps = 1000000,
                            .serial = SERIAL_15,
                            .counted = {{RECOVERY, 16383}, UINT32_MAX},
                            .moved = true};
}

/* All that the gear officer may say at once, of as many engines as there can be. */
static void
wear_the_largest_beat_of_the_gear_officer_fits(void **state)
{
    static const enum tl_datum_kind kinds[] = {TL_DATUM_CABLE, TL_DATUM_PENDANT_LIFE,
                                               TL_DATUM_INSPECTED, TL_DATUM_FREED,
                                               TL_DATUM_SIGNED_OFF};
    struct world *world = *state;
    struct tl_topic topic = topic_for(TL_BODY_BEAT, ID_23);
    struct tl_beat *beat = &world->envelope.as.beat;

    fill_head(&world->envelope, TL_BODY_BEAT);
    world->envelope.settled = 1000000;
    world->envelope.echo_count = TL_VALIDATORS_MAX;
    for (uint32_t i = 0; i < TL_VALIDATORS_MAX; i++) {
        struct tl_echo *echo = &world->envelope.echo[i];
        (void)snprintf(echo->validator, sizeof echo->validator, "abcdefghijklmnopqrst-%u", i);
        echo->incarnation = RECOVERY;
        echo->tick = UINT32_MAX;
    }
    beat->last_change = beat->oldest_held = 1000000;
    for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++) {
        for (uint32_t unit = 1; unit <= TL_ENGINES_MAX; unit++) {
            struct tl_datum *datum = &beat->data[beat->datum_count++];
            *datum = (struct tl_datum){.kind = kinds[k],
                                       .slot = unit,
                                       .sequence = 1000000,
                                       .said_age_ms = UINT32_MAX,
                                       .known = true};
            struct tl_wear *wear = tl_datum_wear_of(datum);
            if (wear != NULL) {
                *wear = largest();
            } else if (kinds[k] == TL_DATUM_INSPECTED) {
                datum->as.inspected =
                    (struct tl_inspected){TL_INSPECTION_FOUND, "abcdefghijklmnopqrstuvw"};
            } else if (kinds[k] == TL_DATUM_FREED) {
                datum->as.freed = (struct tl_freed){{RECOVERY, 16383}, "abcdefghijklmnopqrstuvw"};
            } else {
                datum->as.signed_off = (struct tl_signed_off){999999, "abcdefghijklmnopqrstuvw"};
            }
            if (kinds[k] == TL_DATUM_CABLE) {
                datum->as.cable.detorqued_at = 1000000;
            }
        }
    }
    world_build(world, &topic);
    print_message("largest beat of the gear officer: %zu of %d bytes\n", world->frame.len,
                  TL_FRAME_BEAT_MAX);
    assert_true(world->frame.len <= TL_FRAME_BEAT_MAX);
    assert_int_equal(world_receive(world), OK);
}

static void
wear_the_most_that_a_recorder_tells_fits(void **state)
{
    struct world *world = *state;
    struct tl_topic topic = topic_for(TL_BODY_RECORDED, ID_23);
    struct tl_recorded *recorded = &world->envelope.as.recorded;

    fill_head(&world->envelope, TL_BODY_RECORDED);
    recorded->for_incarnation = recorded->through = UINT64_MAX;
    recorded->worn_count = TL_WORN_MAX;
    for (uint32_t i = 0; i < TL_WORN_MAX; i++) {
        bool cable = i % 2 == 0;
        recorded->worn[i] = (struct tl_worn){.wire = cable ? 0 : i / 4 + 1,
                                             .engine = cable ? i / 4 + 1 : 0,
                                             .wear = largest(),
                                             .detorqued_at = cable ? 1000000 : 0,
                                             .weighted_x1000 = UINT32_MAX,
                                             .not_weighed = 1000000,
                                             .inspect = true,
                                             .removed = i % 4 >= 2};
        recorded->worn[i].wear.moved = false;
    }
    world_build(world, &topic);
    print_message("most that a recorder tells: %zu of %d bytes\n", world->frame.len,
                  TL_FRAME_LARGE_MAX);
    assert_true(world->frame.len <= TL_FRAME_LARGE_MAX);
    assert_int_equal(world_receive(world), OK);
    assert_int_equal(world->envelope.as.recorded.worn_count, TL_WORN_MAX);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(wear_of_a_cable),
        cmocka_unit_test(wear_of_a_pendant),
        cmocka_unit_test(wear_as_a_recorder_counts_it),
        cmocka_unit_test(wear_how_passes_ended),
        cmocka_unit_test(wear_the_largest_beat_of_the_gear_officer_fits),
        cmocka_unit_test(wear_the_most_that_a_recorder_tells_fits),
    };
    return cmocka_run_group_tests_name("wear", tests, world_open, world_close);
}
