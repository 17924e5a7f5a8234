/* SPDX-License-Identifier: Apache-2.0 */
/* test_fold - stations, ticks, freshness, lives and refusals of the fold, one at a time. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/core/frames.h"

static void
a_picture_starts_with_every_station_away(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    tl_fold_init(&f->fold, &f->config, "a-name-of-more-than-three-and-twenty", 70, 4321);
    assert_int_equal(strlen(f->fold.me), TL_ID_CAP - 1);
    assert_int_equal(f->fold.incarnation, 70);
    assert_int_equal(f->fold.told_count, 15);
    for (uint32_t i = 0; i < f->fold.told_count; i++) {
        assert_non_null(f->fold.told[i].node);
        assert_int_equal(f->fold.told[i].away_ms, 4321);
        assert_int_equal(f->fold.told[i].back_ms, 4321);
        assert_false(f->fold.told[i].live);
    }
    for (f->config.node_count = 0; f->config.node_count < TL_NODES_MAX; f->config.node_count++) {
        f->config.node[f->config.node_count].kind = TL_NODE_STATION;
    }
    tl_fold_init(&f->fold, &f->config, "v", 70, 1);
    assert_int_equal(f->fold.told_count, TL_STATIONS_MAX);
    free(f);
}

static void
an_echo_is_of_this_validator_this_life_and_a_tick_it_remembers(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    (void)frames_of(f, "deck");
    struct tl_echo *echo = &f->envelope.echo[0];
    struct tl_envelope *e = &f->envelope;
    assert_int_equal(f->fold.newest_tick, FRAMES_TICK);
    assert_int_equal(tl_fold_echo_age_ms(&f->fold, e, FRAMES_NOW_MS), 100);
    echo->tick = 6;
    assert_int_equal(tl_fold_echo_age_ms(&f->fold, e, FRAMES_NOW_MS), 900);
    echo->tick = 0;
    f->fold.tick[0] = (struct tl_tick_sent){0, FRAMES_NOW_MS};
    assert_true(tl_fold_echo_age_ms(&f->fold, e, FRAMES_NOW_MS) == UINT64_MAX);
    echo->tick = FRAMES_TICK + TL_TICKS_KEPT;
    assert_true(tl_fold_echo_age_ms(&f->fold, e, FRAMES_NOW_MS) == UINT64_MAX);
    echo->tick = FRAMES_TICK;
    echo->incarnation = 69;
    assert_true(tl_fold_echo_age_ms(&f->fold, e, FRAMES_NOW_MS) == UINT64_MAX);
    echo->incarnation = 70;
    memcpy(echo->validator, "validator-2", sizeof "validator-2");
    assert_true(tl_fold_echo_age_ms(&f->fold, e, FRAMES_NOW_MS) == UINT64_MAX);
    e->echo_count = 2;
    e->echo[1] = (struct tl_echo){.validator = "validator-1", .incarnation = 70, .tick = 9};
    assert_int_equal(tl_fold_echo_age_ms(&f->fold, e, FRAMES_NOW_MS), 300);
    free(f);
}

/* Of those that count as live; one that is lost has no say, and an age past the limit is told. */
static void
the_oldest_beat_is_that_of_the_quietest_live_station(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    for (uint32_t i = 0; i < f->fold.told_count; i++) {
        f->fold.told[i].live = false;
        f->fold.told[i].echo_sent_ms = FRAMES_NOW_MS - 5000;
    }
    assert_int_equal(tl_fold_oldest_ms(&f->fold, FRAMES_NOW_MS), 0);
    const uint64_t age_ms[] = {40, 310, 120};
    for (uint32_t i = 0; i < 3; i++) {
        f->fold.told[i].live = true;
        f->fold.told[i].echo_sent_ms = FRAMES_NOW_MS - age_ms[i];
    }
    assert_int_equal(tl_fold_oldest_ms(&f->fold, FRAMES_NOW_MS), 310);
    assert_int_equal(tl_fold_oldest_ms(&f->fold, FRAMES_NOW_MS + 700), 1010);
    f->fold.told[1].live = false;
    assert_int_equal(tl_fold_oldest_ms(&f->fold, FRAMES_NOW_MS), 120);
    free(f);
}

/* The window of ticks goes round: the newest is found, the one in its place before is not. */
static void
a_tick_is_found_after_the_window_has_gone_round(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    (void)frames_of(f, "deck");
    struct tl_echo *echo = &f->envelope.echo[0];
    for (uint64_t tick = 190; tick <= 200; tick++) {
        tl_fold_ticked(&f->fold, tick, FRAMES_NOW_MS - (200 - tick));
    }
    echo->tick = 200;
    assert_int_equal(tl_fold_echo_age_ms(&f->fold, &f->envelope, FRAMES_NOW_MS), 0);
    echo->tick = 190;
    assert_int_equal(tl_fold_echo_age_ms(&f->fold, &f->envelope, FRAMES_NOW_MS), 10);
    echo->tick = 200 - 3 * TL_TICKS_KEPT;
    assert_true(tl_fold_echo_age_ms(&f->fold, &f->envelope, FRAMES_NOW_MS) == UINT64_MAX);
    free(f);
}

static void
a_station_comes_with_a_fresh_echo_and_goes_after_800_ms(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_of(f, "deck");
    (void)frames_beat(f, 1);
    f->envelope.echo[0].tick = 6;
    assert_false(frames_fold(f).came_back);
    assert_true(told->echoed);
    assert_false(told->live || told->ever_live || told->based);
    assert_int_equal(told->echo_sent_ms, FRAMES_NOW_MS - 900);
    uint64_t changes = f->fold.changes;
    f->envelope.sequence = 2;
    f->envelope.echo[0].tick = 7;
    assert_true(frames_fold(f).came_back);
    assert_true(told->live && told->ever_live && told->based);
    assert_int_equal(told->back_ms, FRAMES_NOW_MS);
    assert_int_equal(f->fold.changes, changes + 1);
    f->envelope.sequence = 3;
    f->envelope.echo[0].tick = 6; /* an older echo makes nothing older */
    assert_false(frames_fold(f).came_back);
    assert_int_equal(told->echo_sent_ms, FRAMES_NOW_MS - 700);
    changes = f->fold.changes;
    assert_false(tl_fold_age(&f->fold, FRAMES_NOW_MS + 100));
    assert_true(told->live);
    assert_int_equal(f->fold.changes, changes);
    assert_true(tl_fold_age(&f->fold, FRAMES_NOW_MS + 101));
    assert_false(told->live);
    assert_true(told->loss_untold && told->ever_live);
    assert_int_equal(told->away_ms, FRAMES_NOW_MS + 101);
    assert_int_equal(f->fold.changes, changes + 1);
    assert_false(tl_fold_age(&f->fold, FRAMES_NOW_MS + 102));
    free(f);
}

/* An echo that is 800 ms old is fresh, one of 801 ms is not. */
static void
an_echo_is_fresh_for_800_ms(void **state)
{
    (void)state;
    for (uint64_t older = 0; older <= 1; older++) {
        struct frames *f = frames_new();
        struct tl_told *told = frames_of(f, "deck");
        tl_fold_ticked(&f->fold, 20, FRAMES_NOW_MS - TL_LOST_MS - older);
        (void)frames_beat(f, 1);
        f->envelope.echo[0].tick = 20;
        assert_int_equal(frames_fold(f).came_back, older == 0);
        assert_int_equal(told->live, older == 0);
        free(f);
    }
}

/* Nobody looked for a while: a frame after the silence is a loss and a return. */
static void
a_frame_after_a_silence_is_a_return(void **state)
{
    (void)state;
    for (uint64_t older = 0; older <= 1; older++) {
        struct frames *f = frames_new();
        struct tl_told *told = frames_based(f, "deck");
        told->back_ms = told->away_ms = 5;
        told->echo_sent_ms = FRAMES_NOW_MS - TL_LOST_MS - older;
        (void)frames_beat(f, 2);
        assert_int_equal(frames_fold(f).came_back, older != 0);
        assert_int_equal(told->back_ms, older != 0 ? FRAMES_NOW_MS : 5);
        assert_int_equal(told->away_ms, older != 0 ? FRAMES_NOW_MS : 5);
        assert_int_equal(told->loss_untold, older != 0);
        assert_true(told->live);
        free(f);
    }
}

static void
the_newest_alert_set_shown_never_goes_back(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "deck");
    f->envelope.echo_count = 2;
    f->envelope.echo[0].alerts = 5;
    f->envelope.echo[1] = (struct tl_echo){
        .validator = "validator-2", .incarnation = 70, .tick = FRAMES_TICK, .alerts = 9};
    (void)frames_beat(f, 2);
    (void)frames_fold(f);
    assert_int_equal(told->alerts_shown, 5);
    f->envelope.echo[0].alerts = 4;
    (void)frames_fold(f);
    assert_int_equal(told->alerts_shown, 5);
    memcpy(f->envelope.echo[1].validator, "validator-1", sizeof "validator-1");
    f->envelope.echo[1].incarnation = 71;
    (void)frames_fold(f);
    assert_int_equal(told->alerts_shown, 5);
    f->envelope.echo[1].incarnation = 70;
    (void)frames_fold(f);
    assert_int_equal(told->alerts_shown, 9);
    free(f);
}

/* A new life starts from nothing but the FOUL or STOP of the one before. */
static void
a_new_life_keeps_a_foul_and_nothing_else(void **state)
{
    static const struct {
        enum tl_deck_state state;
        bool known, kept;
    } table[] = {{TL_DECK_FOUL, true, true},
                 {TL_DECK_STOP, true, true},
                 {TL_DECK_NO_FOUL, true, false},
                 {TL_DECK_CLEAR, true, false},
                 {TL_DECK_FOUL, false, false}};

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct frames *f = frames_new();
        struct tl_told *told = frames_based(f, "safety");
        told->receipt_sequence = 44;
        told->applied = 3;
        told->held_count = 1;
        told->held[0].datum =
            (struct tl_datum){.kind = TL_DATUM_DECK, .known = table[i].known, .sequence = 3};
        told->held[0].datum.as.deck.state = table[i].state;
        uint64_t changes = f->fold.changes;
        f->envelope.incarnation = FRAMES_LIFE + 1;
        (void)frames_beat(f, 1);
        struct tl_folded folded = frames_fold(f);
        assert_true(folded.new_incarnation && folded.came_back);
        assert_int_equal(f->fold.changes, changes + 2);
        assert_int_equal(told->incarnation, FRAMES_LIFE + 1);
        assert_int_equal(told->newer_heard_ms, FRAMES_NOW_MS);
        assert_int_equal(told->away_ms, FRAMES_NOW_MS);
        assert_int_equal(told->receipt_sequence, 44);
        assert_true(told->ever_live);
        assert_int_equal(told->held_count, 0);
        assert_int_equal(told->applied, 0);
        assert_int_equal(told->old_foul, table[i].kept);
        f->envelope.incarnation = FRAMES_LIFE + 2; /* and once more, without having spoken */
        assert_true(frames_fold(f).new_incarnation);
        assert_int_equal(told->old_foul, table[i].kept);
        assert_int_equal(told->old_foul_incarnation, table[i].kept ? FRAMES_LIFE : 0);
        assert_int_equal(told->old_foul_datum.sequence, table[i].kept ? 3 : 0);
        free(f);
    }
}

/* A life that echoes nothing fresh has not been there, however often it starts. */
static void
a_life_that_was_never_there_is_not_ever_live(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_of(f, "deck");
    (void)frames_beat(f, 1);
    f->envelope.echo_count = 0;
    assert_true(frames_fold(f).new_incarnation);
    assert_int_equal(told->away_ms, FRAMES_NOW_MS);
    assert_int_equal(told->back_ms, FRAMES_NOW_MS);
    assert_false(told->ever_live || told->live || told->echoed || told->based);
    free(f);
}

/* An old life that echoes what was sent after the new one was heard runs beside it. */
static void
two_lives_at_a_time_are_two_writers(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "deck");
    told->newer_heard_ms = FRAMES_NOW_MS - 100;
    f->envelope.incarnation = FRAMES_LIFE - 1;
    struct tl_folded folded = frames_fold(f);
    assert_int_equal(folded.kind, TL_FOLD_OLD);
    assert_int_equal(folded.reason, TL_REFUSAL_OLD_INCARNATION);
    assert_false(told->twin);
    told->newer_heard_ms--;
    f->envelope.echo_count = 0;
    assert_int_equal(frames_fold(f).reason, TL_REFUSAL_OLD_INCARNATION);
    f->envelope.echo_count = 1;
    assert_int_equal(frames_fold(f).reason, TL_REFUSAL_TWIN);
    assert_true(told->twin);
    assert_int_equal(told->twin_ms, FRAMES_NOW_MS);
    assert_int_equal(told->incarnation, FRAMES_LIFE);
    (void)frames_change(f, 1, TL_DATUM_DECK);
    assert_int_equal(frames_fold(f).kind, TL_FOLD_OLD);
    told->live = false;
    assert_false(tl_fold_age(&f->fold, FRAMES_NOW_MS + TL_LOST_MS));
    assert_true(told->twin);
    uint64_t changes = f->fold.changes;
    assert_true(tl_fold_age(&f->fold, FRAMES_NOW_MS + TL_LOST_MS + 1));
    assert_false(told->twin);
    assert_int_equal(told->back_ms, FRAMES_NOW_MS + TL_LOST_MS + 1);
    assert_int_equal(told->away_ms, FRAMES_NOW_MS + TL_LOST_MS + 1);
    assert_int_equal(f->fold.changes, changes + 1);
    free(f);
}

static void
a_place_is_found_or_made_clean_until_there_is_none(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = tl_fold_told(&f->fold, "deck");
    struct tl_datum name = {.kind = TL_DATUM_SET, .slot = 1, .known = true, .sequence = 9};
    memset(told->held, 0xA5, sizeof told->held);
    struct tl_held *held = tl_told_place(told, &name);
    assert_int_equal(told->held_count, 1);
    assert_int_equal(held->barred, 0);
    assert_int_equal(held->said_ms, 0);
    assert_int_equal(held->datum.sequence, 0);
    assert_false(held->datum.known || held->by_change || held->stood_known);
    assert_ptr_equal(tl_told_place(told, &name), held);
    assert_ptr_equal(tl_told_held(told, TL_DATUM_SET, 1), held);
    assert_null(tl_told_held(told, TL_DATUM_SET, 2));
    assert_null(tl_told_held(told, TL_DATUM_BATTERY, 1));
    memcpy(name.voice_for, "aid", sizeof "aid");
    struct tl_held *voice = tl_told_place(told, &name);
    assert_ptr_not_equal(voice, held);
    told->held[0] = *voice;
    told->held_count = 1;
    assert_null(tl_told_held(told, TL_DATUM_SET, 1)); /* by voice is not its own */
    assert_ptr_equal(tl_told_place(told, &name), &told->held[0]);
    name.slot = 9;
    told->held[1].datum = name; /* of before: it is not held any more */
    assert_ptr_equal(tl_told_place(told, &name), &told->held[1]);
    assert_int_equal(told->held_count, 2);
    assert_false(told->held[1].datum.known);
    for (name.slot = 10; told->held_count < TL_DATA_MAX; name.slot++) {
        assert_non_null(tl_told_place(told, &name));
    }
    assert_null(tl_told_place(told, &name));
    free(f);
}

static void
what_stands_of_a_setting_is_its_own_last_known_value(void **state)
{
    (void)state;
    struct tl_held held = {.datum = {.kind = TL_DATUM_SET, .known = true}};
    held.datum.as.set_lb = 100;
    tl_held_stands(&held);
    assert_true(held.stood_known);
    assert_int_equal(held.stood_lb, 100);
    held.datum.as.set_lb = 200;
    held.datum.known = false;
    tl_held_stands(&held);
    assert_int_equal(held.stood_lb, 100);
    held.datum.known = true;
    held.datum.voice_for[0] = 'x';
    tl_held_stands(&held);
    assert_int_equal(held.stood_lb, 100);
    held.datum.voice_for[0] = '\0';
    held.datum.kind = TL_DATUM_REPEATER;
    tl_held_stands(&held);
    assert_int_equal(held.stood_lb, 100);
}

/* The newest 32 refusals are kept, in their order, and told in every receipt. */
static void
refusals_are_kept_newest_last(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    struct tl_receipt receipt;
    told->applied = 77;
    for (uint32_t i = 0; i < TL_DIGESTS_KEPT; i++) {
        told->digest_sequence[i] = 500 + i;
    }
    for (uint32_t i = 1; i <= TL_REFUSED_KEPT + 2; i++) {
        struct tl_datum datum = {.kind = TL_DATUM_SET, .slot = i, .sequence = 1000 + i};
        tl_told_refused(told, &datum, TL_REFUSAL_LATE, i);
    }
    for (uint32_t i = 0; i < TL_DIGESTS_KEPT; i++) {
        assert_int_equal(told->digest_sequence[i], 500 + i);
    }
    memset(&receipt, 0xA5, sizeof receipt);
    tl_fold_receipt(told, &receipt);
    assert_int_equal(receipt.for_incarnation, FRAMES_LIFE);
    assert_int_equal(receipt.through, 77);
    assert_int_equal(receipt.refused_count, TL_REFUSED_KEPT);
    assert_int_equal(receipt.nonce, 0);
    for (uint32_t i = 0; i < TL_REFUSED_KEPT; i++) {
        assert_int_equal(receipt.refused[i].sequence, 1003 + i);
        assert_int_equal(receipt.refused[i].reason, TL_REFUSAL_LATE);
        assert_int_equal(receipt.refused[i].rule, 3 + i);
        assert_int_equal(told->refused[i].name.slot, 3 + i);
    }
    free(f);
}

static void
a_void_word_is_unknown_barred_and_told(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    struct tl_held held = {.datum = {.kind = TL_DATUM_BATTERY, .known = true, .sequence = 5},
                           .by_change = true};
    tl_told_void(told, &held, TL_REFUSAL_EVENT_LEFT);
    assert_false(held.datum.known || held.by_change);
    assert_int_equal(held.datum.sequence, 5);
    assert_int_equal(held.barred, 5);
    assert_int_equal(told->refused_count, 1);
    assert_int_equal(told->refused[0].refused.sequence, 5);
    assert_int_equal(told->refused[0].refused.rule, 0);
    assert_int_equal(told->refused[0].name.kind, TL_DATUM_BATTERY);
    free(f);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_picture_starts_with_every_station_away),
        cmocka_unit_test(an_echo_is_of_this_validator_this_life_and_a_tick_it_remembers),
        cmocka_unit_test(the_oldest_beat_is_that_of_the_quietest_live_station),
        cmocka_unit_test(a_tick_is_found_after_the_window_has_gone_round),
        cmocka_unit_test(a_station_comes_with_a_fresh_echo_and_goes_after_800_ms),
        cmocka_unit_test(an_echo_is_fresh_for_800_ms),
        cmocka_unit_test(a_frame_after_a_silence_is_a_return),
        cmocka_unit_test(the_newest_alert_set_shown_never_goes_back),
        cmocka_unit_test(a_new_life_keeps_a_foul_and_nothing_else),
        cmocka_unit_test(a_life_that_was_never_there_is_not_ever_live),
        cmocka_unit_test(two_lives_at_a_time_are_two_writers),
        cmocka_unit_test(a_place_is_found_or_made_clean_until_there_is_none),
        cmocka_unit_test(what_stands_of_a_setting_is_its_own_last_known_value),
        cmocka_unit_test(refusals_are_kept_newest_last),
        cmocka_unit_test(a_void_word_is_unknown_barred_and_told),
    };
    return cmocka_run_group_tests_name("core_fold", tests, NULL, NULL);
}
