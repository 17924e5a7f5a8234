/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_replay_differs - what replay says of a record that was altered, has holes, or was judged by
 * another configuration
 *
 * One run on the simulated bus, its rows altered in every way and at every place.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/core/timeline.h"
#include "tests/support/replayer.h"

enum {
    SEED = 77,
    PASSES = 4
};

/* A pass on final with a foul, a lost station and a restarted one, then the next aircraft. */
struct paper {
    struct sim *sim;
    struct replayer *replayer;
    struct replayer_life life; /* of validator-1; its rows may be altered, see `altered` */
    struct replayer_row *altered;
};

static void
run(struct paper *paper, uint64_t ms)
{
    for (uint64_t t = 0; t < ms; t += 50) {
        replayer_beat(paper->replayer);
        sim_run(paper->sim, 50);
    }
}

/* Words of a pass that is over are refused; a bus that loses frames lets beats bring what was said. */
static void
fly_on(struct paper *paper, uint32_t pass)
{
    struct sim *sim = paper->sim;
    timeline_result(sim, pass, pass % 2 == 0 ? TL_OUTCOME_TRAP : TL_OUTCOME_BOLTER);
    timeline_order(sim, pass + 1, (int32_t)pass + 1);
    run(paper, 500);
    sim->loss_percent[0] = sim->loss_percent[1] = 60;
    timeline_say_all(sim, pass + 1);
    (void)sim_say(sim, "platform", say_call(TIMELINE_SIDE, "plover", timeline_event(pass)));
    run(paper, 700);
    sim->loss_percent[0] = sim->loss_percent[1] = 0;
    run(paper, 4000);
    timeline_say_all(sim, pass + 1);
    run(paper, 1000);
}

static void
fly(struct paper *paper)
{
    struct sim *sim = paper->sim;
    run(paper, TL_HOLD_MS + 500);
    sim_open(sim, TIMELINE_RECOVERY_MS);
    timeline_order(sim, 1, 1);
    timeline_say_all(sim, 1);
    run(paper, 500);
    timeline_shows(sim, TL_WORD_READY);
    (void)sim_say(sim, "platform", say_deck(TL_DECK_FOUL, TL_FOUL_PERSON, timeline_event(1)));
    run(paper, 700);
    (void)sim_say(sim, "platform", say_deck(TL_DECK_NO_FOUL, TL_FOUL_UNKNOWN, timeline_event(1)));
    run(paper, 700);
    sim_kill(sim, "engine-3");
    run(paper, 1200);
    sim_start(sim, "engine-3");
    run(paper, 1000);
    tl_judge_dropped(timeline_judge(sim, "validator-1"), "deck", TL_REFUSAL_SIGNATURE,
                     sim_clock(sim, sim_node(sim, "validator-1")));
    (void)sim_say(sim, "engine-3", say_set(TIMELINE_WEIGHT_LB, timeline_event(1)));
    (void)sim_say(sim, "engine-3", say_set(44000, timeline_event(1)));
    run(paper, 4000);
    for (uint32_t pass = 1; pass <= PASSES; pass++) {
        fly_on(paper, pass);
    }
}

static int
set_up(void **state)
{
    struct paper *paper = calloc(1, sizeof *paper);
    assert_non_null(paper);
    paper->sim = sim_new(2, SEED);
    paper->replayer = replayer_open(paper->sim);
    fly(paper);
    for (uint32_t i = 0; i < paper->replayer->life_count; i++) {
        if (strcmp(paper->replayer->life[i].validator, "validator-1") == 0) {
            paper->life = paper->replayer->life[i];
        }
    }
    paper->altered = calloc(paper->life.count, sizeof *paper->altered);
    assert_non_null(paper->altered);
    *state = paper;
    return 0;
}

static int
tear_down(void **state)
{
    struct paper *paper = *state;
    free(paper->altered);
    replayer_close(&paper->replayer);
    sim_free(&paper->sim);
    free(paper);
    return 0;
}

/* The life with rows of its own to alter; frames are shared with the original. */
static struct replayer_life
copy_life(struct paper *paper)
{
    struct replayer_life copy = paper->life;
    memcpy(paper->altered, paper->life.row, paper->life.count * sizeof *paper->altered);
    copy.row = paper->altered;
    return copy;
}

static struct replayer_difference
judge(struct paper *paper, const struct replayer_life *life, struct replayer_counts *counts)
{
    *counts = (struct replayer_counts){0};
    return replayer_life(life, &paper->sim->config, false, counts);
}

static bool
is_told(const struct replayer_row *row)
{
    return row->judged.outcome.word != TL_WORD_UNKNOWN;
}

/*
 * After the first base, an input with an outcome that is another than that of the row before it. A
 * beat of the bridge, or a change that came a second time, may stand for a moment at which it was
 * only time: a new change always makes what was said another.
 */
static bool
has_effect(const struct replayer_life *life, uint32_t at)
{
    const struct tl_judgement *before = NULL;
    bool based = false;
    for (uint32_t i = 0; i < at; i++) {
        based = based || (life->row[i].judged.kind == TL_JUDGED_BASE && is_told(&life->row[i]));
        before = is_told(&life->row[i]) ? &life->row[i].judged.outcome : before;
    }
    const struct replayer_row *row = &life->row[at];
    if (before == NULL ||
        (row->judged.kind == TL_JUDGED_APPLIED &&
         memcmp(row->judged.outcome.inputs, before->inputs, sizeof before->inputs) == 0)) {
        return false;
    }
    return based && is_told(row) && row->judged.kind != TL_JUDGED_TIME &&
           strcmp(row->judged.node, "bridge") != 0 &&
           memcmp(&row->judged.outcome, before, sizeof *before) != 0;
}

static uint32_t
next_told(const struct replayer_life *life, uint32_t at)
{
    while (at < life->count && !is_told(&life->row[at])) {
        at++;
    }
    return at;
}

static void
the_run_itself_is_equal_at_every_judgement(void **state)
{
    struct paper *paper = *state;
    struct replayer_counts counts;
    struct replayer_difference found = judge(paper, &paper->life, &counts);
    assert_false(found.found);
    assert_true(counts.checked > 100);
    assert_int_equal(counts.equal, counts.checked);
    assert_true(counts.ready > 0);
    print_message("%llu rows, %llu judgements compared\n", (unsigned long long)counts.rows,
                  (unsigned long long)counts.checked);
}

/* A beat that brings what the next word of that station brings too. */
static bool
is_made_up_for(const struct replayer_life *life, uint32_t at)
{
    uint32_t next = next_told(life, at + 1);
    return life->row[at].judged.kind == TL_JUDGED_BEAT && next < life->count &&
           strcmp(life->row[at].judged.node, life->row[next].judged.node) == 0;
}

static void
an_input_that_is_missing_differs_at_the_next_judgement(void **state)
{
    struct paper *paper = *state;
    struct replayer_counts counts;
    uint32_t tried = 0;
    for (uint32_t i = 0; i + 1 < paper->life.count; i++) {
        if (!has_effect(&paper->life, i) || is_made_up_for(&paper->life, i)) {
            continue;
        }
        struct replayer_life life = copy_life(paper);
        memmove(&life.row[i], &life.row[i + 1], (life.count - i - 1) * sizeof *life.row);
        life.count--;
        for (uint32_t k = i; k < life.count; k++) {
            life.row[k].sequence--;
        }
        struct replayer_difference found = judge(paper, &life, &counts);
        uint32_t at = next_told(&life, i);
        if (!found.found || found.sequence != life.row[at].sequence) {
            fail_msg("row %llu of kind %d left out: found %d at %llu",
                     (unsigned long long)paper->life.row[i].sequence,
                     (int)paper->life.row[i].judged.kind, found.found,
                     (unsigned long long)found.sequence);
        }
        tried++;
    }
    print_message("%u inputs left out, each found\n", tried);
    assert_true(tried > 50);
}

static void
a_row_that_is_not_there_leaves_all_unchecked_until_the_next_base(void **state)
{
    struct paper *paper = *state;
    struct replayer_counts whole;
    struct replayer_counts counts;
    (void)judge(paper, &paper->life, &whole);
    uint32_t tried = 0;
    for (uint32_t i = 0; i + 1 < paper->life.count; i += 7) {
        if (!has_effect(&paper->life, i)) {
            continue;
        }
        struct replayer_life life = copy_life(paper);
        memmove(&life.row[i], &life.row[i + 1], (life.count - i - 1) * sizeof *life.row);
        life.count--;
        struct replayer_difference found = judge(paper, &life, &counts);
        assert_false(found.found);
        assert_true(counts.checked < whole.checked);
        assert_int_equal(counts.checked, counts.equal);
        assert_true(counts.checked + counts.unchecked <= whole.checked + whole.unchecked);
        tried++;
    }
    assert_true(tried > 5);
}

static void
what_is_missing_is_named(void **state)
{
    struct paper *paper = *state;
    struct replayer_life life = copy_life(paper);
    struct tl_replay *replay = calloc(1, sizeof *replay);
    struct tl_envelope *room = calloc(1, sizeof *room);
    assert_true(replay != NULL && room != NULL);
    tl_replay_init(replay, &paper->sim->config, "validator-1", life.incarnation);
    assert_int_equal(replay->lacking.what, TL_LACK_BASE);
    uint32_t at = 0;
    for (; replay->bases == 0; at++) {
        (void)replayer_take(replay, &life.row[at], room);
    }
    assert_int_equal(replay->lacking.what, TL_LACK_NOTHING);
    for (; life.row[at].judged.kind != TL_JUDGED_APPLIED; at++) {
        (void)replayer_take(replay, &life.row[at], room);
    }
    struct replayer_row without = life.row[at];
    without.frame = NULL;
    struct tl_replay_step step = replayer_take(replay, &without, room);
    assert_true(step.judged && !step.checked && step.differs == 0);
    assert_int_equal(replay->lacking.what, TL_LACK_CHANGE);
    assert_string_equal(replay->lacking.node, without.judged.node);
    assert_int_equal(replay->lacking.from, without.judged.sequence);
    free(room);
    free(replay);
}

static void
rows_that_are_missing_are_named(void **state)
{
    struct paper *paper = *state;
    struct tl_replay *replay = calloc(1, sizeof *replay);
    struct tl_envelope *room = calloc(1, sizeof *room);
    assert_true(replay != NULL && room != NULL);
    tl_replay_init(replay, &paper->sim->config, "validator-1", paper->life.incarnation);
    uint32_t at = 0;
    for (; replay->bases == 0; at++) {
        (void)replayer_take(replay, &paper->life.row[at], room);
    }
    at += 3;
    (void)replayer_take(replay, &paper->life.row[at], room);
    assert_int_equal(replay->lacking.what, TL_LACK_ROWS);
    assert_int_equal(replay->lacking.from, paper->life.row[at - 3].sequence);
    assert_int_equal(replay->lacking.to, paper->life.row[at - 1].sequence);
    free(room);
    free(replay);
}

static void
two_that_have_changed_places_differ(void **state)
{
    struct paper *paper = *state;
    struct replayer_counts counts;
    uint32_t tried = 0;
    for (uint32_t i = 0; i + 1 < paper->life.count; i++) {
        bool later = paper->life.row[i + 1].judged.now_ms > paper->life.row[i].judged.now_ms;
        if (!has_effect(&paper->life, i) || !has_effect(&paper->life, i + 1) || !later) {
            continue;
        }
        struct replayer_life life = copy_life(paper);
        struct replayer_row first = life.row[i];
        life.row[i] = life.row[i + 1];
        life.row[i + 1] = first;
        life.row[i + 1].sequence = life.row[i].sequence;
        life.row[i].sequence = first.sequence;
        struct replayer_difference found = judge(paper, &life, &counts);
        assert_true(found.found);
        assert_in_range(found.sequence, life.row[i].sequence, life.row[i + 1].sequence);
        tried++;
    }
    print_message("%u pairs changed places, each found\n", tried);
    assert_true(tried > 20);
}

/* The setting of a change is another by 500 lb, or it was said a moment earlier. */
static void
a_change_that_was_altered_differs_at_its_judgement(void **state)
{
    struct paper *paper = *state;
    struct replayer_counts counts;
    uint32_t tried = 0;
    for (uint32_t i = 0; i < paper->life.count; i++) {
        const struct replayer_row *row = &paper->life.row[i];
        if (!has_effect(&paper->life, i) || row->judged.kind != TL_JUDGED_APPLIED ||
            row->frame->as.change.datum.kind != TL_DATUM_SET) {
            continue;
        }
        struct replayer_life life = copy_life(paper);
        uint32_t *set_lb = &row->frame->as.change.datum.as.set_lb;
        *set_lb += 500;
        struct replayer_difference found = judge(paper, &life, &counts);
        *set_lb -= 500;
        assert_true(found.found && (found.differs & TL_DIFFERS_INPUTS) != 0);
        assert_int_equal(found.sequence, row->sequence);
        life.row[i].judged.said_age_ms++;
        found = judge(paper, &life, &counts);
        assert_true(found.found && found.differs == TL_DIFFERS_HELD);
        assert_int_equal(found.sequence, row->sequence);
        tried++;
    }
    assert_true(tried >= 4);
}

static void
a_beat_that_was_altered_differs_at_its_judgement(void **state)
{
    struct paper *paper = *state;
    struct replayer_counts counts;
    uint32_t tried = 0;
    for (uint32_t i = 0; i < paper->life.count; i++) {
        const struct replayer_row *row = &paper->life.row[i];
        if (!has_effect(&paper->life, i) || row->judged.kind != TL_JUDGED_BEAT ||
            row->frame->as.beat.datum_count == 0) {
            continue;
        }
        uint64_t *sequence = &row->frame->as.beat.data[0].sequence;
        *sequence += 1;
        struct replayer_difference found = judge(paper, &paper->life, &counts);
        *sequence -= 1;
        assert_true(found.found);
        assert_int_equal(found.sequence, row->sequence);
        tried++;
    }
    assert_true(tried >= 3);
}

static void
another_fate_differs(void **state)
{
    struct paper *paper = *state;
    struct replayer_counts counts;
    uint32_t tried = 0;
    for (uint32_t i = 0; i < paper->life.count; i++) {
        if (!has_effect(&paper->life, i) || paper->life.row[i].judged.kind != TL_JUDGED_REFUSED) {
            continue;
        }
        struct replayer_life life = copy_life(paper);
        life.row[i].judged.reason = TL_REFUSAL_FULL;
        struct replayer_difference found = judge(paper, &life, &counts);
        assert_true(found.found && (found.differs & TL_DIFFERS_FATE) != 0);
        assert_int_equal(found.sequence, life.row[i].sequence);
        tried++;
    }
    assert_true(tried >= 1);
}

/* Each word of the outcome is compared by itself. */
static void
each_part_of_an_outcome_is_compared(void **state)
{
    struct paper *paper = *state;
    struct replayer_counts counts;
    uint32_t at = paper->life.count - 1;
    while (!has_effect(&paper->life, at)) {
        at--;
    }
    for (unsigned part = TL_DIFFERS_EVENT; part <= TL_DIFFERS_HELD; part <<= 1) {
        struct replayer_life life = copy_life(paper);
        struct tl_judgement *outcome = &life.row[at].judged.outcome;
        life.row[at].event.pass += part == TL_DIFFERS_EVENT ? 1 : 0;
        outcome->word = part != TL_DIFFERS_WORD          ? outcome->word
                        : outcome->word == TL_WORD_READY ? TL_WORD_NOT_READY
                                                         : TL_WORD_READY;
        outcome->rule += part == TL_DIFFERS_FIRST ? 1 : 0;
        outcome->causes[7] ^= part == TL_DIFFERS_CAUSES ? 1 : 0;
        outcome->inputs[7] ^= part == TL_DIFFERS_INPUTS ? 1 : 0;
        outcome->held[7] ^= part == TL_DIFFERS_HELD ? 1 : 0;
        struct replayer_difference found = judge(paper, &life, &counts);
        assert_true(found.found);
        assert_int_equal(found.sequence, life.row[at].sequence);
        assert_int_equal(found.differs, part);
    }
}

/* Heavier settings by the table of types: the first engine that is set is then wrong. */
static void
another_table_of_weights_differs_from_the_first_setting_on(void **state)
{
    struct paper *paper = *state;
    struct tl_config *other = calloc(1, sizeof *other);
    assert_non_null(other);
    *other = paper->sim->config;
    other->type[1].setting_lb = 37000;
    const struct replayer_row *first = paper->life.row;
    while (first->judged.kind != TL_JUDGED_APPLIED ||
           first->frame->as.change.datum.kind != TL_DATUM_SET) {
        first++;
    }
    for (int what_if = 0; what_if <= 1; what_if++) {
        struct replayer_counts counts = {0};
        struct replayer_difference found =
            replayer_life(&paper->life, other, what_if != 0, &counts);
        assert_true(found.found && (found.differs & TL_DIFFERS_CAUSES) != 0);
        assert_int_equal(found.sequence, first->sequence);
        assert_int_equal(counts.ready, 0);
    }
    struct replayer_counts counts = {0};
    assert_false(replayer_life(&paper->life, &paper->sim->config, true, &counts).found);
    assert_true(counts.ready > 0 && counts.checked > 100);
    free(other);
}

static void
a_record_that_begins_later_is_checked_from_its_first_base_on(void **state)
{
    struct paper *paper = *state;
    struct replayer_counts whole;
    struct replayer_counts counts;
    (void)judge(paper, &paper->life, &whole);
    for (uint32_t from = 0; from < paper->life.count; from += 11) {
        struct replayer_life life = paper->life;
        uint32_t bases = 0;
        life.row += from;
        life.count -= from;
        for (uint32_t i = 0; i < life.count; i++) {
            bases += life.row[i].judged.kind == TL_JUDGED_BASE && is_told(&life.row[i]) &&
                             life.row[i].judged.base.parts <= i + 1
                         ? 1
                         : 0;
        }
        struct replayer_difference found = judge(paper, &life, &counts);
        assert_false(found.found);
        assert_true(counts.checked == 0 || bases > 0);
        assert_int_equal(counts.checked, counts.equal);
        assert_true(counts.checked <= whole.checked);
    }
}

static void
a_damaged_base_is_not_taken(void **state)
{
    struct paper *paper = *state;
    struct replayer_life life = copy_life(paper);
    struct replayer_counts counts;
    for (uint32_t i = 0; i < life.count; i++) {
        if (life.row[i].judged.kind == TL_JUDGED_BASE && life.row[i].judged.base.part == 1) {
            life.row[i].judged.base.bytes[40] ^= 1;
        }
    }
    struct replayer_difference found = judge(paper, &life, &counts);
    assert_false(found.found);
    assert_int_equal(counts.checked, 0);
    assert_true(counts.unchecked > 100);
}

static void
a_base_of_another_ship_is_not_taken(void **state)
{
    struct paper *paper = *state;
    struct tl_config *other = calloc(1, sizeof *other);
    struct replayer_counts counts = {0};
    assert_non_null(other);
    *other = paper->sim->config;
    memcpy(other->node[1].id, "engine-9", sizeof "engine-9");
    assert_false(replayer_life(&paper->life, other, true, &counts).found);
    assert_int_equal(counts.checked, 0);
    free(other);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_run_itself_is_equal_at_every_judgement),
        cmocka_unit_test(an_input_that_is_missing_differs_at_the_next_judgement),
        cmocka_unit_test(a_row_that_is_not_there_leaves_all_unchecked_until_the_next_base),
        cmocka_unit_test(what_is_missing_is_named),
        cmocka_unit_test(rows_that_are_missing_are_named),
        cmocka_unit_test(two_that_have_changed_places_differ),
        cmocka_unit_test(a_change_that_was_altered_differs_at_its_judgement),
        cmocka_unit_test(a_beat_that_was_altered_differs_at_its_judgement),
        cmocka_unit_test(another_fate_differs),
        cmocka_unit_test(each_part_of_an_outcome_is_compared),
        cmocka_unit_test(another_table_of_weights_differs_from_the_first_setting_on),
        cmocka_unit_test(a_record_that_begins_later_is_checked_from_its_first_base_on),
        cmocka_unit_test(a_damaged_base_is_not_taken),
        cmocka_unit_test(a_base_of_another_ship_is_not_taken),
    };
    return cmocka_run_group_tests_name("replay_differs", tests, set_up, tear_down);
}
