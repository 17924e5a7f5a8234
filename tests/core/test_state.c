/* SPDX-License-Identifier: Apache-2.0 */
/* test_state - what a judgement stands on, written, read and digested. TL_SEED as in timeline.h. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "broker/core/judge/state.h"
#include "broker/core/judge/state_io.h"
#include "proto/vocab/mix.h"
#include "proto/vocab/wear.h"
#include "tests/core/timeline.h"

enum {
    SEED = 78,
    FUZZED = 4000,
    ROOM = TL_BASE_PARTS_MAX * TL_BASE_PART_LEN
};

struct desk {
    struct sim *sim;
    struct tl_judge *from; /* has judged a pass that is READY */
    struct tl_judge *into;
    uint8_t good[ROOM];
    uint8_t other[ROOM];
    size_t len; /* of what `from` holds, in good */
};

/* A pass that ended and was corrected, and a serial that is no longer there. */
static void
note_wear(struct tl_fold *fold)
{
    fold->list.ends.count = 1;
    fold->list.ends.end[0] = (struct tl_end){{{5000, 1}, {TL_OUTCOME_TRAP, 3}, false}, 1u << 2};
    fold->book_count = 1;
    fold->book[0] = (struct tl_booked){
        .datum = {.kind = TL_DATUM_PENDANT_LIFE,
                  .slot = 3,
                  .known = true,
                  .as.pendant_life = {.traps = 40, .serial = "P-0412", .counted = {{5000, 1}, 1}}},
        .corrected = 1};
}

static int
set_up(void **state)
{
    struct desk *desk = calloc(1, sizeof *desk);
    assert_non_null(desk);
    desk->sim = timeline_ready(2, timeline_seed(SEED));
    desk->from = timeline_judge(desk->sim, "validator-1");
    desk->into = calloc(1, sizeof *desk->into);
    assert_non_null(desk->into);
    tl_judge_dropped(desk->from, "deck", TL_REFUSAL_SIGNATURE,
                     sim_clock(desk->sim, sim_node(desk->sim, "validator-1")));
    note_wear(&desk->from->fold);
    desk->len = tl_state_write(desk->from, 0, desk->good, sizeof desk->good);
    *state = desk;
    return 0;
}

static int
tear_down(void **state)
{
    struct desk *desk = *state;
    sim_free(&desk->sim);
    free(desk->into);
    free(desk);
    return 0;
}

static void
begin(struct desk *desk)
{
    tl_judge_init(desk->into, &desk->sim->config, "validator-1", 9, 1);
}

static void
what_is_written_is_read_and_written_the_same(void **state)
{
    struct desk *desk = *state;
    uint8_t held[2][TL_DATA_DIGEST_LEN];
    assert_true(desk->len > 500 && desk->len < ROOM);
    begin(desk);
    assert_int_equal(tl_state_read(desk->into, desk->good, desk->len), TL_OK);
    assert_int_equal(tl_state_write(desk->into, 0, desk->other, ROOM), desk->len);
    assert_memory_equal(desk->good, desk->other, desk->len);
    tl_state_digest(desk->from, held[0]);
    tl_state_digest(desk->into, held[1]);
    assert_memory_equal(held[0], held[1], sizeof held[0]);
    tl_state_inputs(desk->from, held[0]);
    tl_state_inputs(desk->into, held[1]);
    assert_memory_equal(held[0], held[1], sizeof held[0]);
    print_message("%zu bytes\n", desk->len);
}

static void
it_can_be_written_in_pieces(void **state)
{
    struct desk *desk = *state;
    memset(desk->other, 0xEE, sizeof desk->other);
    for (size_t at = 0; at < desk->len; at += 100) {
        assert_int_equal(tl_state_write(desk->from, at, desk->other + at, 100), desk->len);
    }
    assert_memory_equal(desk->good, desk->other, desk->len);
    assert_int_equal(desk->other[desk->len], 0xEE);
    assert_int_equal(tl_state_write(desk->from, 0, NULL, 0), desk->len);
}

static void
what_is_cut_or_longer_is_not_read(void **state)
{
    struct desk *desk = *state;
    for (size_t len = 0; len <= desk->len + 1; len += len + 7 < desk->len ? 7 : 1) {
        begin(desk);
        enum tl_err wanted = len == desk->len ? TL_OK : TL_REFUSED;
        assert_int_equal(tl_state_read(desk->into, desk->good, len), wanted);
    }
}

static void
what_another_version_wrote_is_not_read(void **state)
{
    struct desk *desk = *state;
    memcpy(desk->other, desk->good, desk->len);
    assert_int_equal(desk->other[0], TL_STATE_VERSION);
    desk->other[0]++;
    begin(desk);
    assert_int_equal(tl_state_read(desk->into, desk->other, desk->len), TL_REFUSED);
}

/* Texts come from a file, and may be shown. */
static void
a_text_that_a_terminal_obeys_is_not_read(void **state)
{
    struct desk *desk = *state;
    static const char name[] = "validator-2";
    memcpy(desk->other, desk->good, desk->len);
    size_t at = 0;
    while (at + sizeof name < desk->len && memcmp(desk->other + at, name, sizeof name - 1) != 0) {
        at++;
    }
    assert_true(at + sizeof name < desk->len);
    for (unsigned byte = 0x1B; byte <= 0x7F; byte += 0x64) {
        desk->other[at] = (uint8_t)byte;
        begin(desk);
        assert_int_equal(tl_state_read(desk->into, desk->other, desk->len), TL_REFUSED);
    }
    desk->other[at] = 'w';
    begin(desk);
    assert_int_equal(tl_state_read(desk->into, desk->other, desk->len), TL_OK);
}

static void
keep_nothing(void *ctx, const struct tl_topic *topic, const struct tl_envelope *envelope)
{
    (void)ctx;
    (void)topic;
    (void)envelope;
}

/* Whatever is read, judging by it ends, and stays within its arrays (the sanitizers look). */
static void
no_bytes_trip_the_reader(void **state)
{
    struct desk *desk = *state;
    uint64_t random = 1;
    uint32_t taken = 0;
    for (uint32_t i = 0; i < FUZZED; i++) {
        memcpy(desk->other, desk->good, desk->len);
        random = tl_mix(random, i);
        for (uint64_t n = 1 + random % 3; n > 0; n--) {
            random = tl_mix(random, n);
            desk->other[random % desk->len] = (uint8_t)(random >> 40);
        }
        size_t len = (random >> 20) % 8 == 0 ? (random >> 32) % desk->len : desk->len;
        begin(desk);
        desk->into->port = (struct tl_port){.send = keep_nothing};
        if (tl_state_read(desk->into, desk->other, len) == TL_OK) {
            taken++;
            tl_judge_tend(desk->into, 1000000000);
        }
    }
    print_message("%u of %d altered ones could be read\n", taken, FUZZED);
    assert_true(taken > 0 && taken < FUZZED);
}

/* ---- what the digest covers ---- */

struct touch {
    const char *what;
    void (*touch)(struct tl_judge *judge);
};

static struct tl_told *
some(struct tl_judge *judge)
{
    return tl_fold_told(&judge->fold, "engine-2");
}

#define TOUCH(name, statement)                                                                     \
    static void touch_##name(struct tl_judge *j)                                                   \
    {                                                                                              \
        statement;                                                                                 \
    }
TOUCH(incarnation, some(j)->incarnation++)
TOUCH(based, some(j)->based = !some(j)->based)
TOUCH(applied, some(j)->applied++)
TOUCH(said, some(j)->held[0].said_ms++)
TOUCH(by_change, some(j)->held[0].by_change = !some(j)->held[0].by_change)
TOUCH(barred, some(j)->held[0].barred++)
TOUCH(stood, some(j)->held[0].stood_lb++)
TOUCH(live, some(j)->live = !some(j)->live)
TOUCH(away, some(j)->away_ms++)
TOUCH(back, some(j)->back_ms++)
TOUCH(ever, some(j)->ever_live = !some(j)->ever_live)
TOUCH(twin, some(j)->twin = !some(j)->twin)
TOUCH(old_foul, some(j)->old_foul = true)
TOUCH(differed, some(j)->voice_differed = true)
TOUCH(differs, some(j)->voice_differs_ms++)
TOUCH(heard, j->fold.list.heard = !j->fold.list.heard)
TOUCH(results, j->fold.list.results_heard = !j->fold.list.results_heard)
TOUCH(open, j->fold.list.open = !j->fold.list.open)
TOUCH(drill, j->fold.list.drill = !j->fold.list.drill)
TOUCH(restarted, j->fold.list.restarted = !j->fold.list.restarted)
TOUCH(recovery, j->fold.list.recovery_ms++)
TOUCH(highest, j->fold.list.highest_recovery_ms++)
TOUCH(pass, j->fold.list.highest_pass++)
TOUCH(order, j->fold.list.event[0].order.weight_lb++)
TOUCH(ordered, j->fold.list.event[0].order_sequence++)
TOUCH(ended, j->fold.list.event[0].ended = !j->fold.list.event[0].ended)
TOUCH(result, j->fold.list.event[0].result.wire++)
TOUCH(last, j->fold.list.last_ms++)
TOUCH(trap, j->fold.list.trap[1].pass++)
TOUCH(end, j->fold.list.ends.end[0].ended.event.pass++)
TOUCH(end_wire, j->fold.list.ends.end[0].ended.result.wire++)
TOUCH(end_barricade, j->fold.list.ends.end[0].ended.barricade ^= true)
TOUCH(end_before, j->fold.list.ends.end[0].wires_before++)
TOUCH(below, j->fold.list.ends.below.pass++)
TOUCH(gone_pendant, j->fold.list.ends.gone_pendant[3].pass++)
TOUCH(gone_cable, j->fold.list.ends.gone_cable[3].pass++)
TOUCH(booked, tl_datum_wear_of(&j->fold.book[0].datum)->traps++)
TOUCH(booked_fitted, j->fold.book[0].fitted ^= true)
TOUCH(booked_corrected, j->fold.book[0].corrected++)
TOUCH(current, j->fold.list.current.pass++)
TOUCH(since, j->fold.list.current_since_ms++)
TOUCH(clear, j->fold.clear_refused = !j->fold.clear_refused)
TOUCH(recorder, j->outside.recorder_lost = !j->outside.recorder_lost)
TOUCH(peer, j->outside.peer[0].incarnation++)
TOUCH(lost, j->outside.peer[0].lost = !j->outside.peer[0].lost)
TOUCH(differ, j->outside.peer[0].differ = !j->outside.peer[0].differ)
TOUCH(differ_back, j->outside.peer[0].differ_back_ms++)
TOUCH(keys, j->outside.peer[0].keys_differ = !j->outside.peer[0].keys_differ)
TOUCH(bus, j->outside.bus[1].degraded = !j->outside.bus[1].degraded)
TOUCH(notice, j->outside.notice[0].reason = TL_REFUSAL_RANGE)
TOUCH(flood, j->outside.flood_places++)
TOUCH(predicted, j->outside.predicted.ramp.pitch_deg_x10++)
TOUCH(late, j->outside.sea_late_ms++)
TOUCH(expected, j->outside.expected_count++)
TOUCH(alert, j->alerts.active[0].raised_ms++)
TOUCH(returned, j->alerts.active[0].returned_ms++)
TOUCH(severity, j->alerts.active[0].alert.severity = TL_SEVERITY_EMERGENCY)
TOUCH(acknowledged, j->alerts.active[0].alert.acknowledged ^= 1)
TOUCH(owed, j->alerts.owed_count[2]++)

#define ROW(name)                                                                                  \
    {                                                                                              \
#name, touch_##name                                                                        \
    }

static const struct touch touches[] = {
    ROW(incarnation),
    ROW(based),
    ROW(applied),
    ROW(said),
    ROW(by_change),
    ROW(barred),
    ROW(stood),
    ROW(live),
    ROW(away),
    ROW(back),
    ROW(ever),
    ROW(twin),
    ROW(old_foul),
    ROW(differed),
    ROW(differs),
    ROW(heard),
    ROW(results),
    ROW(open),
    ROW(drill),
    ROW(restarted),
    ROW(recovery),
    ROW(highest),
    ROW(pass),
    ROW(order),
    ROW(ordered),
    ROW(ended),
    ROW(result),
    ROW(last),
    ROW(trap),
    ROW(current),
    ROW(since),
    ROW(clear),
    ROW(recorder),
    ROW(peer),
    ROW(lost),
    ROW(differ),
    ROW(differ_back),
    ROW(keys),
    ROW(bus),
    ROW(notice),
    ROW(flood),
    ROW(predicted),
    ROW(late),
    ROW(expected),
    ROW(alert),
    ROW(returned),
    ROW(severity),
    ROW(acknowledged),
    ROW(owed),
    ROW(end),
    ROW(end_wire),
    ROW(end_barricade),
    ROW(end_before),
    ROW(below),
    ROW(gone_pendant),
    ROW(gone_cable),
    ROW(booked),
    ROW(booked_fitted),
    ROW(booked_corrected),
};

static void
the_digest_covers_all_that_a_judgement_stands_on(void **state)
{
    struct desk *desk = *state;
    uint8_t before[TL_DATA_DIGEST_LEN];
    uint8_t after[TL_DATA_DIGEST_LEN];
    assert_true(desk->from->alerts.count > 0 && desk->from->outside.notice_count > 0);
    assert_true(desk->from->fold.list.ends.count > 0 && desk->from->fold.book_count > 0);
    for (size_t i = 0; i < sizeof touches / sizeof touches[0]; i++) {
        begin(desk);
        assert_int_equal(tl_state_read(desk->into, desk->good, desk->len), TL_OK);
        tl_state_digest(desk->into, before);
        touches[i].touch(desk->into);
        tl_state_digest(desk->into, after);
        if (memcmp(before, after, sizeof before) == 0) {
            fail_msg("%s: not in the digest", touches[i].what);
        }
    }
}

/* What comes and goes with each beat must not make a row of each beat. */
static void
the_digest_leaves_out_what_each_beat_moves(void **state)
{
    struct desk *desk = *state;
    uint8_t before[TL_DATA_DIGEST_LEN];
    uint8_t after[TL_DATA_DIGEST_LEN];
    begin(desk);
    assert_int_equal(tl_state_read(desk->into, desk->good, desk->len), TL_OK);
    tl_state_digest(desk->into, before);
    struct tl_told *told = some(desk->into);
    told->beat_sequence++;
    told->beat_ms++;
    told->echo_sent_ms++;
    told->settled++;
    told->last_change++;
    told->held[0].heard_ms++;
    told->receipt_sequence++;
    told->alerts_shown++;
    struct tl_told *bridge = tl_fold_told(&desk->into->fold, "bridge");
    bridge->samples_ms++;
    bridge->samples[0].as.wind.headwind_kt_x10++;
    desk->into->alerts.active[0].alert.delivered ^= 1;
    desk->into->alerts.active[0].alert.cause.reported.number++;
    tl_state_digest(desk->into, after);
    assert_memory_equal(before, after, sizeof before);
}

static uint64_t
digest_of(struct tl_datum *datum)
{
    struct tl_state_io io = {.mode = TL_STATE_DIGEST, .digest = 1};
    tl_io_datum(&io, datum);
    return io.digest;
}

static bool
comes_back(struct tl_datum *datum)
{
    uint8_t bytes[sizeof *datum + 64];
    struct tl_datum back;
    struct tl_state_io out = {.mode = TL_STATE_WRITE};
    out.as.out.bytes = bytes;
    out.as.out.cap = sizeof bytes;
    tl_io_datum(&out, datum);
    struct tl_state_io in = {.mode = TL_STATE_READ};
    in.as.in.bytes = bytes;
    in.as.in.len = out.at;
    tl_io_datum(&in, &back);
    return !in.bad && tl_datum_same_value(datum, &back);
}

/* Whatever makes two words different is written and digested: asked byte by byte of each kind. */
static void
every_part_of_every_word_is_covered(void **state)
{
    (void)state;
    uint32_t parts = 0;
    for (int kind = TL_DATUM_RECOVERY; kind < TL_DATUM_KINDS; kind++) {
        struct tl_datum plain = {.kind = (enum tl_datum_kind)kind, .known = true};
        uint32_t found = 0;
        for (size_t at = 0; at < sizeof plain.as; at++) {
            struct tl_datum other = plain;
            unsigned char one = kind == TL_DATUM_WATCH ? 'a' : 1;
            memcpy((char *)&other.as + at, &one, 1);
            if (tl_datum_same_value(&plain, &other)) {
                continue; /* behind its last part, or in a gap */
            }
            found++;
            if (digest_of(&plain) == digest_of(&other)) {
                fail_msg("%s: byte %zu is not digested", tl_datum_kind_name(plain.kind), at);
            }
        }
        assert_true(found > 0);
        assert_true(comes_back(&plain));
        parts += found;
    }
    print_message("%u bytes of words\n", parts);
}

static void
causes_are_told_apart_by_rule_station_state_and_subject(void **state)
{
    (void)state;
    const struct tl_cause cause = {.rule = TL_RULE_STATION_LOST,
                                   .station = "deck",
                                   .state = TL_CAUSE_WRONG,
                                   .subject = {"deck", 7, 8},
                                   .reported = {.known = true, .number = 5}};
    struct tl_decision *a = calloc(1, sizeof *a);
    struct tl_decision *b = calloc(1, sizeof *b);
    uint8_t one[TL_DATA_DIGEST_LEN];
    uint8_t other[TL_DATA_DIGEST_LEN];
    assert_non_null(a);
    assert_non_null(b);
    a->cause_count = 1;
    a->cause[0] = cause;
    tl_state_causes(a, one);
    for (int part = 0; part <= 7; part++) {
        *b = *a;
        struct tl_cause *c = &b->cause[0];
        c->rule += part == 1 ? 1 : 0;
        memcpy(c->station, part == 2 ? "feck" : "deck", sizeof "deck");
        c->state = part == 3 ? TL_CAUSE_HOLDING : c->state;
        memcpy(c->subject.node, part == 4 ? "feck" : "deck", sizeof "deck");
        c->subject.incarnation += part == 5 ? 1 : 0;
        c->subject.sequence += part == 6 ? 1 : 0;
        b->cause_count += part == 7 ? 1 : 0;
        c->reported.number++; /* a figure swings */
        tl_state_causes(b, other);
        assert_int_equal(memcmp(one, other, sizeof one) == 0, part == 0);
    }
    free(a);
    free(b);
}

#define CASE(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        CASE(what_is_written_is_read_and_written_the_same),
        CASE(it_can_be_written_in_pieces),
        CASE(what_is_cut_or_longer_is_not_read),
        CASE(what_another_version_wrote_is_not_read),
        CASE(a_text_that_a_terminal_obeys_is_not_read),
        CASE(no_bytes_trip_the_reader),
        CASE(the_digest_covers_all_that_a_judgement_stands_on),
        CASE(the_digest_leaves_out_what_each_beat_moves),
        cmocka_unit_test(every_part_of_every_word_is_covered),
        cmocka_unit_test(causes_are_told_apart_by_rule_station_state_and_subject),
    };
    return cmocka_run_group_tests_name("state", tests, NULL, NULL);
}
