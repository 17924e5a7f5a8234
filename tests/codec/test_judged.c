/* SPDX-License-Identifier: Apache-2.0 */
/* test_judged - what a validator tells of its inputs: each part with its kind, and its ends */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/codec/rows.h"
#include "tests/codec/samples.h"

#define ID_23      "abcdefghijklmnopqrstuvw"
#define SUMS       "5:'01234567' 6:'01234567' 7:'01234567'"
#define BAD        "1:42300 2:1 3:20 "
#define OUTCOME(o) JUDGED("2:'deck' 5:1 13:{" o "}")
#define SEEN(s)    JUDGED("2:'engine-1' 5:10 11:{" s "}")
#define BASE(b)    JUDGED("2:'engine-1' 5:12 12:{" b "}")
#define DIGEST     "3:'0123456789abcdef'"

static void
judged_has_the_part_of_its_kind_and_no_other(void **state)
{
    static const struct row rows[] = {
        {"seen", TL_BODY_JUDGED, SEEN("1:28 2:'bus-a'"), OK},
        {"seen without", TL_BODY_JUDGED, JUDGED("2:'engine-1' 5:10"), TL_REFUSAL_MISSING},
        {"applied with a sight", TL_BODY_JUDGED, JUDGED("2:'deck' 5:1 11:{1:28 2:'bus-a'}"),
         TL_REFUSAL_RANGE},
        {"base", TL_BODY_JUDGED, BASE("1:1 2:1 " DIGEST " 4:'x'"), OK},
        {"base without", TL_BODY_JUDGED, JUDGED("2:'engine-1' 5:12"), TL_REFUSAL_MISSING},
        {"lost with a base", TL_BODY_JUDGED, JUDGED("2:'deck' 5:3 12:{1:1 2:1 " DIGEST " 4:'x'}"),
         TL_REFUSAL_RANGE},
        {"time with its outcome", TL_BODY_JUDGED, JUDGED("2:'engine-1' 5:11 13:{" BAD SUMS "}"),
         OK},
        {"time without", TL_BODY_JUDGED, JUDGED("2:'engine-1' 5:11"), TL_REFUSAL_MISSING},
        {"a stale beat", TL_BODY_JUDGED, JUDGED("2:'deck' 3:5 4:9 5:8"), OK},
        {"a new life", TL_BODY_JUDGED, JUDGED("2:'deck' 3:5 5:9"), OK},
        {"applied, how old", TL_BODY_JUDGED, JUDGED("2:'deck' 5:1 9:4294967295"), OK},
        {"refused, how old", TL_BODY_JUDGED, JUDGED("2:'deck' 5:2 6:33 9:1"), OK},
        {"lost, how old", TL_BODY_JUDGED, JUDGED("2:'deck' 5:3 9:1"), TL_REFUSAL_RANGE},
        {"a beat, how old", TL_BODY_JUDGED, JUDGED("2:'deck' 5:5 9:1"), TL_REFUSAL_RANGE},
        {"predicted, since when", TL_BODY_JUDGED,
         JUDGED("2:'deck' 5:6 7:{1:{" EVENT "}} 10:18446744073709551615"), OK},
        {"applied, since when", TL_BODY_JUDGED, JUDGED("2:'deck' 5:1 10:1"), TL_REFUSAL_RANGE},
    };
    ROWS_CHECK(*state, rows);
}

static void
judged_a_sight_is_about_somebody(void **state)
{
    static const struct row rows[] = {
        {"all of it", TL_BODY_JUDGED, SEEN("1:26 2:'deck' 3:18446744073709551615 4:7 5:1"), OK},
        {"refused without a name", TL_BODY_JUDGED, SEEN("1:26 4:5"), OK},
        {"refused without a reason", TL_BODY_JUDGED, SEEN("1:26 2:'deck'"), TL_REFUSAL_MISSING},
        {"another body", TL_BODY_JUDGED, SEEN("1:27 2:'deck' 4:36"), OK},
        {"another body, no reason", TL_BODY_JUDGED, SEEN("1:27 2:'deck'"), TL_REFUSAL_MISSING},
        {"a bus without a name", TL_BODY_JUDGED, SEEN("1:28"), TL_REFUSAL_MISSING},
        {"a bus with a reason", TL_BODY_JUDGED, SEEN("1:28 2:'bus-a' 4:7"), TL_REFUSAL_RANGE},
        {"no rule", TL_BODY_JUDGED, SEEN("2:'deck'"), TL_REFUSAL_MISSING},
        {"rule 95", TL_BODY_JUDGED, SEEN("1:95 2:'deck'"), OK},
        {"rule 96", TL_BODY_JUDGED, SEEN("1:96 2:'deck'"), TL_REFUSAL_RANGE},
        {"a name of 24", TL_BODY_JUDGED, SEEN("1:28 2:'" ID_23 "x'"), TL_REFUSAL_RANGE},
        {"a reason that is none", TL_BODY_JUDGED, SEEN("1:26 2:'deck' 4:77"), TL_REFUSAL_ENUM},
        {"gone 2", TL_BODY_JUDGED, SEEN("1:28 2:'bus-a' 5:2"), TL_REFUSAL_NOT_CANONICAL},
        {"nothing", TL_BODY_JUDGED, SEEN(""), TL_REFUSAL_EMPTY},
        {"a field that is not there", TL_BODY_JUDGED, SEEN("1:28 2:'bus-a' 6:1"),
         TL_REFUSAL_NEWER_SCHEMA},
    };
    ROWS_CHECK(*state, rows);
}

static void
judged_an_outcome_is_whole(void **state)
{
    static const struct row rows[] = {
        {"not ready", TL_BODY_JUDGED, OUTCOME(BAD "4:'deck' " SUMS), OK},
        {"not ready, without station", TL_BODY_JUDGED, OUTCOME(BAD SUMS), OK},
        {"not ready without a cause", TL_BODY_JUDGED, OUTCOME("1:42300 " SUMS), TL_REFUSAL_MISSING},
        {"ready", TL_BODY_JUDGED, OUTCOME("1:23235 " SUMS), OK},
        {"ready with a note", TL_BODY_JUDGED, OUTCOME("1:23235 2:1 3:52 4:'recorder' " SUMS), OK},
        {"ready of a station", TL_BODY_JUDGED, OUTCOME("1:23235 4:'deck' " SUMS), TL_REFUSAL_RANGE},
        {"ready with a rule", TL_BODY_JUDGED, OUTCOME("1:23235 3:52 " SUMS), TL_REFUSAL_RANGE},
        {"a cause without rule", TL_BODY_JUDGED, OUTCOME("1:42300 2:1 " SUMS), TL_REFUSAL_MISSING},
        {"no word", TL_BODY_JUDGED, OUTCOME("2:1 3:20 " SUMS), TL_REFUSAL_MISSING},
        {"another word", TL_BODY_JUDGED, OUTCOME("1:1 2:1 3:20 " SUMS), TL_REFUSAL_ENUM},
        {"64 causes", TL_BODY_JUDGED, OUTCOME("1:42300 2:64 3:20 " SUMS), OK},
        {"65 causes", TL_BODY_JUDGED, OUTCOME("1:42300 2:65 3:20 " SUMS), TL_REFUSAL_RANGE},
        {"rule 95", TL_BODY_JUDGED, OUTCOME("1:42300 2:1 3:95 " SUMS), OK},
        {"rule 96", TL_BODY_JUDGED, OUTCOME("1:42300 2:1 3:96 " SUMS), TL_REFUSAL_RANGE},
        {"a station of 24", TL_BODY_JUDGED, OUTCOME(BAD "4:'" ID_23 "x' " SUMS), TL_REFUSAL_RANGE},
        {"causes of 7", TL_BODY_JUDGED, OUTCOME(BAD "5:'0123456' 6:'01234567' 7:'01234567'"),
         TL_REFUSAL_RANGE},
        {"inputs of 9", TL_BODY_JUDGED, OUTCOME(BAD "5:'01234567' 6:'012345678' 7:'01234567'"),
         TL_REFUSAL_RANGE},
        {"held is missing", TL_BODY_JUDGED, OUTCOME(BAD "5:'01234567' 6:'01234567'"),
         TL_REFUSAL_MISSING},
        {"nothing", TL_BODY_JUDGED, OUTCOME(""), TL_REFUSAL_EMPTY},
    };
    ROWS_CHECK(*state, rows);
}

static void
judged_a_base_comes_in_parts(void **state)
{
    static const struct row rows[] = {
        {"64 of 64", TL_BODY_JUDGED, BASE("1:64 2:64 " DIGEST " 4:'x'"), OK},
        {"65 of 65", TL_BODY_JUDGED, BASE("1:65 2:65 " DIGEST " 4:'x'"), TL_REFUSAL_RANGE},
        {"1 of 65", TL_BODY_JUDGED, BASE("1:1 2:65 " DIGEST " 4:'x'"), TL_REFUSAL_RANGE},
        {"3 of 2", TL_BODY_JUDGED, BASE("1:3 2:2 " DIGEST " 4:'x'"), TL_REFUSAL_RANGE},
        {"part 0", TL_BODY_JUDGED, BASE("2:2 " DIGEST " 4:'x'"), TL_REFUSAL_MISSING},
        {"no parts", TL_BODY_JUDGED, BASE("1:1 " DIGEST " 4:'x'"), TL_REFUSAL_MISSING},
        {"no digest", TL_BODY_JUDGED, BASE("1:1 2:1 4:'x'"), TL_REFUSAL_MISSING},
        {"a digest of 15", TL_BODY_JUDGED, BASE("1:1 2:1 3:'0123456789abcde' 4:'x'"),
         TL_REFUSAL_RANGE},
        {"no state", TL_BODY_JUDGED, BASE("1:1 2:1 " DIGEST), TL_REFUSAL_MISSING},
        {"any bytes", TL_BODY_JUDGED, BASE("1:1 2:1 " DIGEST " 4:'\\x00\\xFF\\x1B'"), OK},
    };
    ROWS_CHECK(*state, rows);
}

/* The one length that no text shows: one byte past the end of a part. */
static void
judged_a_part_of_a_base_has_its_end(void **state)
{
    struct world *world = *state;
    static const char head[] = HEAD "23:{2:'engine-1' 5:12 12:{1:1 2:1 " DIGEST " 4:'";
    for (size_t len = TL_BASE_PART_LEN; len <= TL_BASE_PART_LEN + 1; len++) {
        char spec[sizeof head + TL_BASE_PART_LEN + 8] = "";
        memcpy(spec, head, sizeof head - 1);
        memset(spec + sizeof head - 1, 'x', len);
        memcpy(spec + sizeof head - 1 + len, "'}}", 4);
        const struct row row = {len > TL_BASE_PART_LEN ? "one past" : "the end", TL_BODY_JUDGED,
                                spec, len > TL_BASE_PART_LEN ? TL_REFUSAL_RANGE : OK};
        rows_check(world, &row, 1);
    }
}

/* Every field at its highest. */
static void
judged_the_largest_part_of_a_base_fits(void **state)
{
    struct world *world = *state;
    struct tl_topic topic = {TL_TOPIC_JUDGED, ID_23, ""};
    struct tl_envelope *envelope = &world->envelope;
    struct tl_judged *judged = &envelope->as.judged;

    memset(envelope, 0, sizeof *envelope);
    envelope->schema = TL_SCHEMA_VERSION;
    envelope->key_epoch = UINT32_MAX;
    envelope->incarnation = envelope->sequence = envelope->wall_ms = UINT64_MAX;
    envelope->event = (struct tl_event){UINT64_MAX, UINT32_MAX};
    envelope->body = TL_BODY_JUDGED;
    memcpy(envelope->node, ID_23, sizeof ID_23);
    sample_fill_judged_base(judged);
    judged->now_ms = judged->incarnation = judged->sequence = UINT64_MAX;
    memcpy(judged->node, ID_23, sizeof ID_23);
    judged->base.part = judged->base.parts = TL_BASE_PARTS_MAX;
    judged->base.len = TL_BASE_PART_LEN;
    memset(judged->base.bytes, 0xA5, sizeof judged->base.bytes);
    sample_fill_outcome(&judged->outcome);
    memcpy(judged->outcome.station, ID_23, sizeof ID_23);
    world_build(world, &topic);
    print_message("largest part of a base: %zu of %d bytes\n", world->frame.len,
                  TL_FRAME_SMALL_MAX);
    assert_true(world->frame.len <= TL_FRAME_SMALL_MAX);
    judged->base.len = 0;
    assert_int_equal(world_receive(world), OK);
    assert_int_equal(judged->base.len, TL_BASE_PART_LEN);
    for (uint32_t i = 0; i < TL_BASE_PART_LEN; i++) {
        assert_int_equal(judged->base.bytes[i], 0xA5);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(judged_has_the_part_of_its_kind_and_no_other),
        cmocka_unit_test(judged_a_sight_is_about_somebody),
        cmocka_unit_test(judged_an_outcome_is_whole),
        cmocka_unit_test(judged_a_base_comes_in_parts),
        cmocka_unit_test(judged_a_part_of_a_base_has_its_end),
        cmocka_unit_test(judged_the_largest_part_of_a_base_fits),
    };
    return cmocka_run_group_tests_name("judged", tests, world_open, world_close);
}
