/* SPDX-License-Identifier: Apache-2.0 */
/* test_changes - folding a change: the order of the questions, each answer one at a time. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "tests/core/frames.h"

static void
expect(struct frames *f, enum tl_fold_kind kind, enum tl_refusal reason)
{
    struct tl_folded folded = frames_fold(f);
    if (folded.kind != kind || folded.reason != reason) {
        fail_msg("wanted kind %d reason %d, got %d %d", (int)kind, (int)reason, (int)folded.kind,
                 (int)folded.reason);
    }
}

static const struct tl_held *
held(const struct tl_told *told, enum tl_datum_kind kind)
{
    const struct tl_held *found = tl_told_held(told, kind, 0);
    assert_non_null(found);
    return found;
}

static void
a_change_in_its_turn_is_applied_once(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    frames_change(f, 1, TL_DATUM_SET)->said_age_ms = 9;
    f->envelope.said_age_ms = 250;
    uint64_t changes = f->fold.changes;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    const struct tl_held *set = held(told, TL_DATUM_SET);
    assert_int_equal(told->applied, 1);
    assert_int_equal(f->fold.changes, changes + 1);
    assert_int_equal(set->said_ms, FRAMES_NOW_MS - 250);
    assert_int_equal(set->heard_ms, FRAMES_NOW_MS);
    assert_int_equal(set->datum.said_age_ms, 0);
    assert_true(set->by_change && set->stood_known);
    assert_int_equal(set->stood_lb, 34000);
    expect(f, TL_FOLD_AGAIN, TL_REFUSAL_UNKNOWN);
    assert_int_equal(f->fold.changes, changes + 1);
    (void)frames_change(f, 3, TL_DATUM_BATTERY); /* 2 is missing */
    expect(f, TL_FOLD_IGNORED, TL_REFUSAL_UNKNOWN);
    assert_int_equal(told->applied, 1);
    assert_null(tl_told_held(told, TL_DATUM_BATTERY, 0));
    free(f);
}

static void
one_number_with_two_bodies_is_told(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    (void)frames_change(f, 1, TL_DATUM_SET);
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    struct tl_folded folded = tl_fold_change(&f->fold, told, &f->envelope, 999, FRAMES_NOW_MS);
    assert_int_equal(folded.kind, TL_FOLD_IGNORED);
    assert_int_equal(folded.reason, TL_REFUSAL_OTHER_BODY);
    expect(f, TL_FOLD_AGAIN, TL_REFUSAL_UNKNOWN);
    (void)frames_change(f, 1 + TL_DIGESTS_KEPT, TL_DATUM_SET); /* the same place, another number */
    told->applied = TL_DIGESTS_KEPT;
    told->held[0].datum.sequence = 1;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    f->envelope.sequence = 1;
    folded = tl_fold_change(&f->fold, told, &f->envelope, 999, FRAMES_NOW_MS);
    assert_int_equal(folded.kind, TL_FOLD_AGAIN); /* its digest is not kept any more */
    free(f);
}

/* The digest is found under its number also where the window has gone round. */
static void
a_second_body_is_told_after_the_window_has_gone_round(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    told->applied = told->last_change = 299;
    (void)frames_change(f, 300, TL_DATUM_SET);
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    expect(f, TL_FOLD_AGAIN, TL_REFUSAL_UNKNOWN);
    struct tl_folded folded = tl_fold_change(&f->fold, told, &f->envelope, 999, FRAMES_NOW_MS);
    assert_int_equal(folded.reason, TL_REFUSAL_OTHER_BODY);
    free(f);
}

/* Of a word toward safe, and of one that was refused, the body is remembered too. */
static void
a_second_body_of_any_change_is_told(void **state)
{
    (void)state;
    for (uint32_t i = 0; i < 2; i++) {
        struct frames *f = frames_new();
        struct tl_told *told = frames_based(f, "deck");
        struct tl_datum *deck = frames_change(f, 1, TL_DATUM_DECK);
        deck->as.deck.state = i == 0 ? TL_DECK_FOUL : TL_DECK_CLEAR;
        f->fold.clear_refused = true;
        expect(f, i == 0 ? TL_FOLD_APPLIED : TL_FOLD_REFUSED,
               i == 0 ? TL_REFUSAL_UNKNOWN : TL_REFUSAL_RULE_FORCES_FOUL);
        struct tl_folded folded = tl_fold_change(&f->fold, told, &f->envelope, 999, FRAMES_NOW_MS);
        assert_int_equal(folded.reason, TL_REFUSAL_OTHER_BODY);
        free(f);
    }
}

static void
a_jump_is_from_the_highest_number_known(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    told->applied = 10;
    told->last_change = 20;
    (void)frames_change(f, 20 + TL_JUMP_MAX, TL_DATUM_SET);
    expect(f, TL_FOLD_IGNORED, TL_REFUSAL_UNKNOWN);
    (void)frames_change(f, 21 + TL_JUMP_MAX, TL_DATUM_SET);
    expect(f, TL_FOLD_IGNORED, TL_REFUSAL_JUMP);
    told->applied = 30;
    expect(f, TL_FOLD_IGNORED, TL_REFUSAL_UNKNOWN);
    (void)frames_change(f, 31 + TL_JUMP_MAX, TL_DATUM_SET);
    expect(f, TL_FOLD_IGNORED, TL_REFUSAL_JUMP);
    told->based = false; /* nothing known: no jump can be told */
    expect(f, TL_FOLD_IGNORED, TL_REFUSAL_UNKNOWN);
    free(f);
}

static void
what_a_station_may_not_state_is_refused_in_its_turn(void **state)
{
    static const struct {
        const char *station;
        enum tl_datum_kind kind;
        enum tl_refusal reason;
    } table[] = {
        {"platform", TL_DATUM_DECK, TL_REFUSAL_NOT_OWNER},
        {"platform", TL_DATUM_SET, TL_REFUSAL_NOT_YOUR_KIND},
        {"engine-1", TL_DATUM_DECK, TL_REFUSAL_NOT_YOUR_KIND},
    };

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct frames *f = frames_new();
        struct tl_told *told = frames_based(f, table[i].station);
        frames_change(f, 2, table[i].kind)->as.deck.state = TL_DECK_CLEAR;
        expect(f, TL_FOLD_IGNORED, table[i].reason);
        assert_int_equal(told->applied, 0);
        assert_int_equal(told->refused_count, 0);
        frames_change(f, 1, table[i].kind)->as.deck.state = TL_DECK_CLEAR;
        uint64_t changes = f->fold.changes;
        expect(f, TL_FOLD_REFUSED, table[i].reason);
        assert_int_equal(f->fold.changes, changes + 1);
        assert_int_equal(told->applied, 1);
        assert_int_equal(told->refused_count, 1);
        assert_int_equal(told->refused[0].refused.reason, table[i].reason);
        assert_int_equal(told->held_count, 0); /* what it may not state has no place */
        expect(f, TL_FOLD_AGAIN, TL_REFUSAL_UNKNOWN);
        free(f);
    }
}

/* Toward safe: at once, out of turn, with a stale echo, however old. */
static void
a_word_toward_safe_acts_whatever_its_frame(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "deck");
    frames_change(f, 5, TL_DATUM_DECK)->as.deck.state = TL_DECK_FOUL;
    f->envelope.echo_count = 0;
    f->envelope.said_age_ms = 60000;
    told->old_foul = true;
    uint64_t changes = f->fold.changes;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_int_equal(f->fold.changes, changes + 1);
    assert_int_equal(told->applied, 0); /* not its turn */
    assert_true(held(told, TL_DATUM_DECK)->datum.known);
    assert_int_equal(held(told, TL_DATUM_DECK)->said_ms, FRAMES_NOW_MS - 60000);
    assert_false(told->old_foul);
    expect(f, TL_FOLD_AGAIN, TL_REFUSAL_UNKNOWN);
    assert_int_equal(f->fold.changes, changes + 1);
    told->applied = 4;
    expect(f, TL_FOLD_AGAIN, TL_REFUSAL_UNKNOWN); /* it acted before its turn: now it counts */
    assert_int_equal(told->applied, 5);
    told->applied = 3;
    frames_change(f, 4, TL_DATUM_DECK)->as.deck.state = TL_DECK_FOUL;
    expect(f, TL_FOLD_AGAIN, TL_REFUSAL_UNKNOWN); /* superseded */
    assert_int_equal(held(told, TL_DATUM_DECK)->datum.sequence, 5);
    assert_int_equal(told->applied, 4);
    free(f);
}

/* A beat brought it first: the change then only says that it was one. */
static void
a_word_that_a_beat_brought_first_is_applied_without_change(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "deck");
    (void)frames_beat(f, 2);
    frames_add(f, TL_DATUM_DECK, 1)->as.deck.state = TL_DECK_FOUL;
    (void)frames_fold(f);
    assert_false(held(told, TL_DATUM_DECK)->by_change);
    frames_change(f, 1, TL_DATUM_DECK)->as.deck.state = TL_DECK_FOUL;
    uint64_t changes = f->fold.changes;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_true(held(told, TL_DATUM_DECK)->by_change);
    assert_int_equal(told->applied, 1);
    assert_int_equal(f->fold.changes, changes);
    free(f);
}

/* An old FOUL ends by a known word of its own on the deck, and by nothing else. */
static void
an_old_foul_ends_by_its_own_known_word(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "deck");
    told->old_foul = true;
    frames_change(f, 1, TL_DATUM_DECK)->known = false;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_true(told->old_foul);
    struct tl_datum *voice = frames_change(f, 2, TL_DATUM_DECK);
    voice->as.deck.state = TL_DECK_FOUL;
    memcpy(voice->voice_for, "safety", sizeof "safety");
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_true(told->old_foul);
    told = frames_based(f, "platform");
    told->old_foul = true;
    frames_change(f, 1, TL_DATUM_HOOK)->as.hook = TL_HOOK_NOT_DOWN;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_true(told->old_foul);
    frames_change(f, 2, TL_DATUM_DECK)->as.deck.state = TL_DECK_NO_FOUL;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_false(told->old_foul);
    free(f);
}

static void
without_a_place_it_is_refused_in_its_turn(void **state)
{
    (void)state;
    for (uint32_t safeward = 0; safeward <= 1; safeward++) {
        struct frames *f = frames_new();
        struct tl_told *told = frames_based(f, "engine-1");
        told->held_count = TL_DATA_MAX;
        frames_change(f, 2, TL_DATUM_BATTERY)->known = safeward == 0;
        expect(f, TL_FOLD_IGNORED, TL_REFUSAL_UNKNOWN);
        frames_change(f, 1, TL_DATUM_BATTERY)->known = safeward == 0;
        expect(f, TL_FOLD_REFUSED, TL_REFUSAL_FULL);
        assert_int_equal(told->applied, 1);
        assert_int_equal(told->refused_count, 1);
        free(f);
    }
}

static void
a_word_toward_ready_must_be_young_fresh_and_based(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    (void)frames_change(f, 1, TL_DATUM_BATTERY);
    f->envelope.echo[0].tick = 6;
    expect(f, TL_FOLD_IGNORED, TL_REFUSAL_UNKNOWN); /* stale */
    f->envelope.echo[0].tick = FRAMES_TICK;
    told->based = false;
    expect(f, TL_FOLD_IGNORED, TL_REFUSAL_UNKNOWN);
    told->based = true;
    f->envelope.said_age_ms = TL_SAID_MAX_MS + 1;
    f->envelope.sequence = f->envelope.as.change.datum.sequence = 2;
    expect(f, TL_FOLD_IGNORED, TL_REFUSAL_UNKNOWN); /* old, and not its turn */
    f->envelope.sequence = f->envelope.as.change.datum.sequence = 1;
    f->envelope.settled = 1; /* settled elsewhere: its age does not matter */
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    (void)frames_change(f, 2, TL_DATUM_BATTERY);
    f->envelope.said_age_ms = TL_SAID_MAX_MS;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    (void)frames_change(f, 3, TL_DATUM_BATTERY);
    f->envelope.said_age_ms = TL_SAID_MAX_MS + 1;
    expect(f, TL_FOLD_REFUSED, TL_REFUSAL_TOO_OLD);
    const struct tl_held *battery = held(told, TL_DATUM_BATTERY);
    assert_false(battery->datum.known || battery->by_change);
    assert_int_equal(battery->datum.sequence, 3);
    assert_int_equal(battery->barred, 3);
    free(f);
}

/* A refused word does not touch a newer one that is held. */
static void
a_refusal_leaves_a_newer_word_alone(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    (void)frames_change(f, 1, TL_DATUM_BATTERY);
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    told->held[0].datum.sequence = 2;
    frames_change(f, 2, TL_DATUM_BATTERY)->stated_for[0].pass = 9;
    f->fold.list.highest_pass = 9;
    expect(f, TL_FOLD_REFUSED, TL_REFUSAL_NOT_LISTED);
    assert_true(told->held[0].datum.known && told->held[0].by_change);
    assert_int_equal(told->held[0].barred, 0);
    free(f);
}

static void
a_word_for_an_order_on_its_way_waits(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    frames_change(f, 1, TL_DATUM_BATTERY)->stated_for[0].pass = 2;
    expect(f, TL_FOLD_IGNORED, TL_REFUSAL_UNKNOWN);
    assert_int_equal(told->applied, 0);
    f->envelope.as.change.datum.stated_for[0].pass = 1;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    free(f);
}

static void
clear_is_refused_while_a_rule_refuses_it(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "deck");
    f->fold.clear_refused = true;
    f->fold.clear_refused_rule = 17;
    frames_change(f, 1, TL_DATUM_DECK)->as.deck.state = TL_DECK_CLEAR;
    struct tl_folded folded = frames_fold(f);
    assert_int_equal(folded.kind, TL_FOLD_REFUSED);
    assert_int_equal(folded.reason, TL_REFUSAL_RULE_FORCES_FOUL);
    assert_int_equal(folded.rule, 17);
    assert_int_equal(told->refused[0].refused.rule, 17);
    f->fold.clear_refused = false;
    frames_change(f, 2, TL_DATUM_DECK)->as.deck.state = TL_DECK_CLEAR;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    f->fold.clear_refused = true;
    (void)frames_based(f, "platform"); /* no foul is not CLEAR, nor is a hook */
    frames_change(f, 1, TL_DATUM_DECK)->as.deck.state = TL_DECK_NO_FOUL;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    frames_change(f, 2, TL_DATUM_HOOK)->as.hook = TL_HOOK_DOWN;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    frames_change(f, 3, TL_DATUM_HOOK)->stated_for[0].pass = 0;
    f->envelope.as.change.datum.as.hook = TL_HOOK_DOWN;
    assert_int_equal(frames_fold(f).rule, 0); /* another reason names no rule */
    free(f);
}

static void
only_a_lost_station_is_spoken_for(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *aid = frames_based(f, "aid");
    (void)frames_based(f, "deck");
    struct tl_datum *word = frames_change(f, 1, TL_DATUM_AID);
    word->as.aid = (struct tl_aid){TL_AID_WORKING, "plover", 350, 3};
    memcpy(word->voice_for, "aid", sizeof "aid");
    expect(f, TL_FOLD_REFUSED, TL_REFUSAL_NOT_LOST);
    aid->live = false;
    f->envelope.sequence = word->sequence = 2;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    free(f);
}

static void
only_what_has_an_override_is_overridden(void **state)
{
    static const struct {
        uint32_t rule;
        bool may;
    } table[] = {{TL_RULE_DETORQUE_OVERDUE, true}, {TL_RULE_DECK_FOUL, false}, {9999, false}};

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct frames *f = frames_new();
        (void)frames_based(f, "primary");
        struct tl_datum *word = frames_change(f, 1, TL_DATUM_OVERRIDE);
        word->slot = 1;
        word->as.override = (struct tl_override){.rule = table[i].rule, .valid_s = 60};
        expect(f, table[i].may ? TL_FOLD_APPLIED : TL_FOLD_REFUSED,
               table[i].may ? TL_REFUSAL_UNKNOWN : TL_REFUSAL_NOT_OVERRIDABLE);
        free(f);
    }
}

static void
only_a_lost_validator_is_put_out_of_service(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    (void)frames_based(f, "primary");
    struct tl_datum *word = frames_change(f, 1, TL_DATUM_OUT_OF_SERVICE);
    word->slot = 1;
    memcpy(word->as.out_of_service, "validator-2", sizeof "validator-2");
    expect(f, TL_FOLD_REFUSED, TL_REFUSAL_NOT_LOST);
    f->fold.lost_count = 1;
    memcpy(f->fold.lost_validator[0], "validator-1", sizeof "validator-1");
    f->envelope.sequence = word->sequence = 2;
    expect(f, TL_FOLD_REFUSED, TL_REFUSAL_NOT_LOST);
    f->fold.lost_count = 2;
    memcpy(f->fold.lost_validator[1], "validator-2", sizeof "validator-2");
    f->envelope.sequence = word->sequence = 3;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    memcpy(word->as.out_of_service, "validator-1", sizeof "validator-1");
    f->envelope.sequence = word->sequence = 4;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    free(f);
}

/* Repeaters of engines 1 and 2, read. */
static struct tl_told *
read_repeaters(struct frames *f)
{
    struct tl_told *reader = tl_fold_told(&f->fold, "primary");
    reader->held_count = 3;
    for (uint32_t i = 0; i < 3; i++) {
        reader->held[i] =
            (struct tl_held){.datum = {.kind = i < 2 ? TL_DATUM_REPEATER : TL_DATUM_ACKNOWLEDGED,
                                       .slot = i < 2 ? i + 1 : 1,
                                       .known = true,
                                       .sequence = i + 1}};
    }
    return reader;
}

/* A repeater is compared only with a setting that stood when it was read. */
static void
a_setting_that_moves_voids_its_repeater(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    struct tl_told *reader = read_repeaters(f);
    (void)frames_change(f, 1, TL_DATUM_SET);
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_false(reader->held[0].datum.known); /* it was not known before */
    assert_true(reader->held[1].datum.known && reader->held[2].datum.known);
    assert_int_equal(reader->refused_count, 1);
    assert_int_equal(reader->refused[0].refused.reason, TL_REFUSAL_EVENT_LEFT);
    (void)read_repeaters(f);
    (void)frames_change(f, 2, TL_DATUM_SET);
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_true(reader->held[0].datum.known); /* said again */
    frames_change(f, 3, TL_DATUM_SET)->as.set_lb = 34500;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_false(reader->held[0].datum.known);
    assert_int_equal(reader->refused_count, 2);
    frames_change(f, 4, TL_DATUM_SET)->as.set_lb = 34000;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_int_equal(reader->refused_count, 2); /* it is unknown already */
    (void)read_repeaters(f);
    (void)frames_change(f, 5, TL_DATUM_BATTERY);
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_true(reader->held[0].datum.known);
    frames_change(f, 6, TL_DATUM_SET)->known = false;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_false(held(told, TL_DATUM_SET)->stood_known);
    (void)frames_change(f, 7, TL_DATUM_SET);
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_false(reader->held[0].datum.known); /* taken back, then the same: it may have moved */
    free(f);
}

/* By voice the setting is compared with the engine's own. */
static void
a_setting_by_voice_moves_when_it_is_not_the_engines_own(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *engine = frames_based(f, "engine-2");
    (void)frames_change(f, 1, TL_DATUM_SET);
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    struct tl_told *reader = read_repeaters(f);
    engine->live = false;
    (void)frames_based(f, "deck");
    struct tl_datum *word = frames_change(f, 1, TL_DATUM_SET);
    memcpy(word->voice_for, "engine-2", sizeof "engine-2");
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_true(reader->held[0].datum.known && reader->held[1].datum.known);
    word->as.set_lb = 35000;
    f->envelope.sequence = word->sequence = 2;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_true(reader->held[0].datum.known);
    assert_false(reader->held[1].datum.known);
    (void)read_repeaters(f);
    engine->held_count = 0; /* its own is not known: then it has moved */
    f->envelope.sequence = word->sequence = 3;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_false(reader->held[1].datum.known);
    free(f);
}

/* A change whose datum a beat has brought in a newer form counts and stores nothing. */
static void
a_change_behind_what_is_held_only_counts(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    (void)frames_change(f, 1, TL_DATUM_SET);
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    told->held[0].datum.sequence = 3;
    frames_change(f, 2, TL_DATUM_SET)->as.set_lb = 40000;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_int_equal(told->applied, 2);
    assert_int_equal(held(told, TL_DATUM_SET)->datum.as.set_lb, 34000);
    frames_change(f, 3, TL_DATUM_SET)->as.set_lb = 41000;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_int_equal(held(told, TL_DATUM_SET)->datum.as.set_lb, 41000);
    free(f);
}

/* A new life and a return are told with a change too. */
static void
a_change_tells_a_new_life_and_a_return(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    (void)frames_of(f, "deck");
    frames_change(f, 1, TL_DATUM_DECK)->as.deck.state = TL_DECK_FOUL;
    struct tl_folded folded = frames_fold(f);
    assert_true(folded.new_incarnation && folded.came_back);
    folded = frames_fold(f);
    assert_false(folded.new_incarnation || folded.came_back);
    free(f);
}

/* A key pressed before this clock began is as old as can be told. */
static void
an_age_beyond_the_clock_is_its_beginning(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "deck");
    frames_change(f, 1, TL_DATUM_DECK)->as.deck.state = TL_DECK_FOUL;
    f->envelope.said_age_ms = FRAMES_NOW_MS + 5;
    expect(f, TL_FOLD_APPLIED, TL_REFUSAL_UNKNOWN);
    assert_int_equal(held(told, TL_DATUM_DECK)->said_ms, 0);
    free(f);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_change_in_its_turn_is_applied_once),
        cmocka_unit_test(one_number_with_two_bodies_is_told),
        cmocka_unit_test(a_second_body_is_told_after_the_window_has_gone_round),
        cmocka_unit_test(a_second_body_of_any_change_is_told),
        cmocka_unit_test(a_jump_is_from_the_highest_number_known),
        cmocka_unit_test(what_a_station_may_not_state_is_refused_in_its_turn),
        cmocka_unit_test(a_word_toward_safe_acts_whatever_its_frame),
        cmocka_unit_test(a_word_that_a_beat_brought_first_is_applied_without_change),
        cmocka_unit_test(an_old_foul_ends_by_its_own_known_word),
        cmocka_unit_test(without_a_place_it_is_refused_in_its_turn),
        cmocka_unit_test(a_word_toward_ready_must_be_young_fresh_and_based),
        cmocka_unit_test(a_refusal_leaves_a_newer_word_alone),
        cmocka_unit_test(a_word_for_an_order_on_its_way_waits),
        cmocka_unit_test(clear_is_refused_while_a_rule_refuses_it),
        cmocka_unit_test(only_a_lost_station_is_spoken_for),
        cmocka_unit_test(only_what_has_an_override_is_overridden),
        cmocka_unit_test(only_a_lost_validator_is_put_out_of_service),
        cmocka_unit_test(a_setting_that_moves_voids_its_repeater),
        cmocka_unit_test(a_setting_by_voice_moves_when_it_is_not_the_engines_own),
        cmocka_unit_test(a_change_behind_what_is_held_only_counts),
        cmocka_unit_test(a_change_tells_a_new_life_and_a_return),
        cmocka_unit_test(an_age_beyond_the_clock_is_its_beginning),
    };
    return cmocka_run_group_tests_name("core_changes", tests, NULL, NULL);
}
