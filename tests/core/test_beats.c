/* SPDX-License-Identifier: Apache-2.0 */
/* test_beats - folding a beat: the whole state of a station, each rule of beats.c by itself. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "tests/core/frames.h"

/* Fold the beat that is prepared; it is applied, and changes what is held or does not. */
static void
fold(struct frames *f, bool changed)
{
    uint64_t before = f->fold.changes;
    struct tl_folded folded = frames_fold(f);
    assert_int_equal(folded.kind, TL_FOLD_APPLIED);
    assert_int_equal(folded.changed, changed);
    assert_int_equal(f->fold.changes, before + (changed ? 1 : 0));
}

static struct tl_held *
held(struct tl_told *told, enum tl_datum_kind kind)
{
    for (uint32_t i = 0; i < told->held_count; i++) {
        if (told->held[i].datum.kind == kind) {
            return &told->held[i];
        }
    }
    fail_msg("kind %d is not held", (int)kind);
    return NULL;
}

static void
a_settled_word_of_a_fresh_beat_is_taken(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    f->envelope.settled = 4;
    frames_beat(f, 2)->last_change = 4;
    frames_add(f, TL_DATUM_SET, 4)->said_age_ms = 300;
    told->settled = 9;
    fold(f, true);
    assert_int_equal(told->applied, 4);
    assert_int_equal(told->settled, 4);
    assert_int_equal(told->last_change, 4);
    assert_int_equal(told->beat_sequence, 2);
    const struct tl_held *set = held(told, TL_DATUM_SET);
    assert_true(set->datum.known && set->stood_known);
    assert_false(set->by_change);
    assert_int_equal(set->datum.said_age_ms, 0);
    assert_int_equal(set->said_ms, FRAMES_NOW_MS - 300);
    assert_int_equal(set->heard_ms, FRAMES_NOW_MS);
    assert_int_equal(frames_fold(f).kind, TL_FOLD_IGNORED); /* the same beat again */
    f->envelope.sequence = 1;
    assert_int_equal(frames_fold(f).kind, TL_FOLD_IGNORED);
    told->applied = 9;
    held(told, TL_DATUM_SET)->heard_ms = 0;
    f->envelope.sequence = 3;
    fold(f, false);
    assert_int_equal(told->applied, 9);
    assert_int_equal(held(told, TL_DATUM_SET)->heard_ms, FRAMES_NOW_MS);
    free(f);
}

/* Fold it as a beat that is not the newest; whether two programs are seen. */
static bool
seen_twice(struct frames *f, struct tl_told *told, uint64_t sequence, uint64_t tick,
           uint64_t wall_ms)
{
    uint64_t changes = f->fold.changes;
    told->twin = false;
    told->twin_ms = 0;
    f->envelope.sequence = sequence;
    f->envelope.wall_ms = wall_ms;
    f->envelope.echo[0].tick = tick;
    struct tl_folded folded = frames_fold(f);
    assert_int_equal(folded.kind, TL_FOLD_IGNORED);
    assert_int_equal(folded.reason, told->twin ? TL_REFUSAL_TWIN : TL_REFUSAL_UNKNOWN);
    assert_int_equal(told->twin_ms, told->twin ? FRAMES_NOW_MS : 0);
    assert_int_equal(f->fold.changes, changes + (told->twin ? 1 : 0));
    return told->twin;
}

/*
 * Two programs with one key and one incarnation. A late copy of one program's beat echoes what was
 * sent before its newer one came; the same beat again says the same of itself.
 */
static void
two_programs_of_one_life_are_seen(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    frames_beat(f, 5)->last_change = 0;
    f->envelope.wall_ms = 7000;
    assert_int_equal(frames_fold(f).kind, TL_FOLD_APPLIED);
    assert_int_equal(told->beat_ms, FRAMES_NOW_MS);
    told->beat_ms = FRAMES_NOW_MS - 100; /* as the newest tick left */
    assert_false(seen_twice(f, told, 4, FRAMES_TICK, 6900));
    assert_false(seen_twice(f, told, 5, FRAMES_TICK, 7000));
    assert_true(seen_twice(f, told, 5, FRAMES_TICK, 7001));
    assert_false(seen_twice(f, told, 4, FRAMES_TICK, 7001));
    told->beat_ms--;
    assert_true(seen_twice(f, told, 4, FRAMES_TICK, 6900));
    assert_true(seen_twice(f, told, 5, FRAMES_TICK, 7000));
    assert_false(seen_twice(f, told, 4, FRAMES_TICK - 1, 6900));
    assert_false(seen_twice(f, told, 4, 0, 6900)); /* echoes nothing */
    told->beat_ms = 0;                             /* nothing came in this life yet */
    assert_false(seen_twice(f, told, 4, FRAMES_TICK, 6900));
    free(f);
}

static void
an_age_beyond_the_clock_is_its_beginning(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    (void)frames_beat(f, 2);
    struct tl_datum *datum = frames_add(f, TL_DATUM_BATTERY, 1);
    datum->as.battery = TL_BATTERY_OUT;
    datum->said_age_ms = FRAMES_NOW_MS + 7;
    fold(f, true);
    assert_int_equal(held(told, TL_DATUM_BATTERY)->said_ms, 0);
    free(f);
}

/* Toward READY it needs a fresh echo, its receipt, and that this validator did not refuse it. */
static void
a_word_toward_ready_that_may_not_be_taken_leaves_nothing_known(void **state)
{
    static const struct {
        uint64_t settled, barred;
        uint32_t tick;
        bool taken;
    } table[] = {
        {5, 0, FRAMES_TICK, true}, {5, 4, FRAMES_TICK, true},  {4, 0, FRAMES_TICK, false},
        {5, 0, 6, false},          {5, 5, FRAMES_TICK, false},
    };

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct frames *f = frames_new();
        struct tl_told *told = frames_based(f, "engine-1");
        (void)frames_change(f, 1, TL_DATUM_SET);
        assert_int_equal(frames_fold(f).kind, TL_FOLD_APPLIED);
        held(told, TL_DATUM_SET)->barred = table[i].barred;
        held(told, TL_DATUM_SET)->heard_ms = 0;
        f->envelope.settled = table[i].settled;
        f->envelope.echo[0].tick = table[i].tick;
        (void)frames_beat(f, 2);
        frames_add(f, TL_DATUM_SET, 5)->as.set_lb = 36000;
        uint64_t changes = f->fold.changes;
        assert_true(frames_fold(f).changed);
        assert_true(f->fold.changes > changes);
        const struct tl_held *set = held(told, TL_DATUM_SET);
        assert_int_equal(set->datum.known, table[i].taken);
        assert_int_equal(set->datum.sequence, 5);
        assert_int_equal(set->heard_ms, FRAMES_NOW_MS);
        assert_false(set->by_change);
        assert_int_equal(set->stood_lb, table[i].taken ? 36000 : 34000);
        free(f);
    }
}

/* Toward safe it is taken whatever the echo; an older number never is. */
static void
a_word_toward_safe_is_taken_and_an_older_one_is_not(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    f->envelope.echo_count = 0;
    (void)frames_beat(f, 2);
    frames_add(f, TL_DATUM_BATTERY, 5)->as.battery = TL_BATTERY_OUT;
    fold(f, true);
    assert_int_equal(held(told, TL_DATUM_BATTERY)->datum.as.battery, TL_BATTERY_OUT);
    (void)frames_beat(f, 3);
    frames_add(f, TL_DATUM_BATTERY, 4)->known = false;
    fold(f, false);
    assert_true(held(told, TL_DATUM_BATTERY)->datum.known);
    told->held_count = TL_DATA_MAX;
    told->held[0].datum.kind = TL_DATUM_WATCH;
    (void)frames_beat(f, 4);
    frames_add(f, TL_DATUM_BATTERY, 6)->known = false; /* no place: nothing to take away */
    fold(f, false);
    free(f);
}

/* Both under one number: what each side says, and what then stands. */
static void
equal_numbers_are_settled_toward_safe(void **state)
{
    static const struct {
        bool held_known, by_change, held_in;
        bool said_known, said_in;
        bool fresh;
        bool changed, known, in; /* what then stands */
    } table[] = {
        /* the same: only heard */
        {true, false, true, true, true, true, false, true, true},
        {false, false, false, false, false, true, false, false, false},
        {true, true, true, true, true, true, false, true, true},
        /* an UNKNOWN in a beat does not outrank a change that was accepted here */
        {true, true, true, false, false, true, false, true, true},
        {true, false, true, false, false, true, true, false, false},
        /* a value for what is unknown: by the rules of READY */
        {false, false, false, true, true, true, true, true, true},
        {false, false, false, true, true, false, false, false, false},
        {false, false, false, true, false, false, true, true, false},
        /* two values: the one toward safe */
        {true, false, true, true, false, true, true, true, false},
        {true, false, false, true, true, true, false, true, false},
    };

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct frames *f = frames_new();
        struct tl_told *told = frames_based(f, "engine-1");
        struct tl_datum name = {.kind = TL_DATUM_BATTERY};
        struct tl_held *battery = tl_told_place(told, &name);
        battery->datum.sequence = 3;
        battery->datum.known = table[i].held_known;
        battery->datum.as.battery = table[i].held_in ? TL_BATTERY_IN : TL_BATTERY_OUT;
        battery->by_change = table[i].by_change;
        f->envelope.settled = told->applied = 3;
        f->envelope.echo[0].tick = table[i].fresh ? FRAMES_TICK : 6;
        (void)frames_beat(f, 2);
        struct tl_datum *said = frames_add(f, TL_DATUM_BATTERY, 3);
        said->known = table[i].said_known;
        said->as.battery = table[i].said_in ? TL_BATTERY_IN : TL_BATTERY_OUT;
        struct tl_folded folded = frames_fold(f);
        bool in = battery->datum.known && battery->datum.as.battery == TL_BATTERY_IN;
        if (folded.changed != table[i].changed || battery->datum.known != table[i].known ||
            in != table[i].in) {
            fail_msg("row %d: changed %d known %d in %d", (int)i, folded.changed,
                     battery->datum.known, in);
        }
        assert_int_equal(battery->heard_ms, FRAMES_NOW_MS);
        assert_int_equal(battery->by_change, table[i].by_change);
        free(f);
    }
}

/* What a fresh beat leaves out was taken back, unless it is newer than the beat. */
static void
what_a_beat_leaves_out_is_gone(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    f->envelope.settled = 3;
    (void)frames_beat(f, 2);
    (void)frames_add(f, TL_DATUM_SET, 1);
    (void)frames_add(f, TL_DATUM_BATTERY, 2);
    frames_add(f, TL_DATUM_ACCUMULATOR, 3)->as.accumulator_psi = 400;
    fold(f, true);
    assert_int_equal(told->held_count, 3);
    frames_beat(f, 3)->last_change = 2;
    (void)frames_add(f, TL_DATUM_BATTERY, 2);
    f->envelope.echo[0].tick = 6;
    fold(f, false); /* stale: it takes nothing away */
    assert_int_equal(told->held_count, 3);
    f->envelope.echo[0].tick = FRAMES_TICK;
    f->envelope.sequence = 4;
    fold(f, true);
    assert_int_equal(told->held_count, 2);
    assert_null(tl_told_held(told, TL_DATUM_SET, 0));
    assert_non_null(tl_told_held(told, TL_DATUM_BATTERY, 0));
    assert_non_null(tl_told_held(told, TL_DATUM_ACCUMULATOR, 0)); /* newer than the beat */
    frames_beat(f, 5)->last_change = 3;
    fold(f, true);
    assert_int_equal(told->held_count, 0);
    free(f);
}

/* The first stays, the second goes; and what was settled unseen is a change by itself. */
static void
what_stays_does_not_hide_what_goes(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    f->envelope.settled = 2;
    (void)frames_beat(f, 2);
    (void)frames_add(f, TL_DATUM_SET, 1);
    (void)frames_add(f, TL_DATUM_BATTERY, 2);
    fold(f, true);
    frames_beat(f, 3)->last_change = 2;
    (void)frames_add(f, TL_DATUM_SET, 1);
    fold(f, true);
    assert_int_equal(told->held_count, 1);
    assert_int_equal(told->held[0].datum.kind, TL_DATUM_SET);
    f->envelope.settled = 3;
    f->envelope.sequence = 4;
    fold(f, true);
    assert_int_equal(told->applied, 3);
    free(f);
}

/* A refusal is told until it is settled and the beat no longer carries the datum so. */
static void
a_refusal_is_told_until_the_station_must_have_read_it(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    const struct tl_datum names[] = {{.kind = TL_DATUM_SET, .sequence = 2},
                                     {.kind = TL_DATUM_BATTERY, .sequence = 3},
                                     {.kind = TL_DATUM_CROSSHEAD, .sequence = 4}};
    for (size_t i = 0; i < 3; i++) {
        tl_told_refused(told, &names[i], TL_REFUSAL_LATE, 0);
    }
    (void)frames_beat(f, 2);
    f->envelope.settled = 1;
    f->envelope.echo[0].tick = 6;
    (void)frames_fold(f);
    assert_int_equal(told->refused_count, 3);
    f->envelope.echo[0].tick = FRAMES_TICK;
    f->envelope.settled = 3; /* it carries the battery still so, and has not settled 4 */
    (void)frames_beat(f, 3);
    frames_add(f, TL_DATUM_BATTERY, 3)->known = false;
    frames_add(f, TL_DATUM_SET, 5)->known = false;
    (void)frames_fold(f);
    assert_int_equal(told->refused_count, 2);
    assert_int_equal(told->refused[0].refused.sequence, 3);
    assert_int_equal(told->refused[1].refused.sequence, 4);
    (void)frames_beat(f, 4);
    (void)frames_fold(f);
    assert_int_equal(told->refused_count, 1);
    assert_int_equal(told->refused[0].refused.sequence, 4);
    f->envelope.settled = 4;
    f->envelope.sequence = 5;
    (void)frames_fold(f);
    assert_int_equal(told->refused_count, 0);
    free(f);
}

/* A datum that it may not state is told and left out; the others are taken. */
static void
a_beat_with_what_the_station_may_not_state_is_told(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *told = frames_based(f, "engine-1");
    assert_int_equal(frames_fold(f).reason, TL_REFUSAL_UNKNOWN);
    (void)frames_beat(f, 2);
    frames_add(f, TL_DATUM_DECK, 1)->as.deck.state = TL_DECK_FOUL;
    frames_add(f, TL_DATUM_BATTERY, 2)->as.battery = TL_BATTERY_OUT;
    struct tl_folded folded = frames_fold(f);
    assert_int_equal(folded.kind, TL_FOLD_APPLIED);
    assert_int_equal(folded.reason, TL_REFUSAL_NOT_YOUR_KIND);
    assert_true(folded.changed);
    assert_int_equal(told->held_count, 1);
    assert_int_equal(told->held[0].datum.kind, TL_DATUM_BATTERY);
    (void)frames_beat(f, 3);
    frames_add(f, TL_DATUM_BATTERY, 2)->as.battery = TL_BATTERY_OUT;
    assert_int_equal(frames_fold(f).reason, TL_REFUSAL_UNKNOWN);
    free(f);
}

static void
an_old_foul_ends_by_its_own_known_word_in_a_beat(void **state)
{
    static const struct {
        enum tl_datum_kind kind;
        bool known, voice, ends;
    } table[] = {{TL_DATUM_DECK, true, false, true},
                 {TL_DATUM_DECK, false, false, false},
                 {TL_DATUM_DECK, true, true, false},
                 {TL_DATUM_HOOK, true, false, false}};

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct frames *f = frames_new();
        struct tl_told *told =
            frames_based(f, table[i].kind == TL_DATUM_HOOK ? "platform" : "primary");
        told->old_foul = true;
        (void)frames_beat(f, 2);
        struct tl_datum *datum = frames_add(f, table[i].kind, 1);
        datum->known = table[i].known;
        if (table[i].kind == TL_DATUM_DECK) {
            datum->as.deck.state = TL_DECK_FOUL;
        } else {
            datum->as.hook = TL_HOOK_NOT_DOWN;
        }
        if (table[i].voice) {
            memcpy(datum->voice_for, "safety", sizeof "safety");
        }
        fold(f, true);
        assert_int_equal(told->old_foul, !table[i].ends);
        free(f);
    }
}

/* Samples are the bridge's alone, whole and with a fresh echo. */
static void
samples_are_taken_from_a_fresh_beat_of_the_bridge(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_told *bridge = frames_based(f, "bridge");
    assert_int_equal(bridge->sample_count, 0);
    bridge->samples_ms = 0;
    struct tl_beat *beat = frames_beat(f, 2);
    beat->sample_count = 2;
    beat->samples[1].age_ms = 77;
    f->envelope.echo[0].tick = 6;
    uint64_t changes = f->fold.changes;
    uint64_t readings = f->fold.readings;
    (void)frames_fold(f);
    assert_int_equal(bridge->sample_count, 0);
    assert_int_equal(f->fold.readings, readings);
    f->envelope.echo[0].tick = FRAMES_TICK;
    f->envelope.sequence = 3;
    assert_false(frames_fold(f).changed);
    assert_int_equal(bridge->sample_count, 2);
    assert_int_equal(bridge->samples[1].age_ms, 77);
    assert_int_equal(bridge->samples_ms, FRAMES_NOW_MS);
    assert_int_equal(f->fold.readings, readings + 1);
    assert_int_equal(f->fold.changes, changes);
    struct tl_told *deck = frames_based(f, "deck");
    frames_beat(f, 2)->sample_count = 2;
    (void)frames_fold(f);
    assert_int_equal(deck->sample_count, 0);
    assert_int_equal(f->fold.readings, readings + 1);
    free(f);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_settled_word_of_a_fresh_beat_is_taken),
        cmocka_unit_test(two_programs_of_one_life_are_seen),
        cmocka_unit_test(an_age_beyond_the_clock_is_its_beginning),
        cmocka_unit_test(a_word_toward_ready_that_may_not_be_taken_leaves_nothing_known),
        cmocka_unit_test(a_word_toward_safe_is_taken_and_an_older_one_is_not),
        cmocka_unit_test(equal_numbers_are_settled_toward_safe),
        cmocka_unit_test(what_a_beat_leaves_out_is_gone),
        cmocka_unit_test(what_stays_does_not_hide_what_goes),
        cmocka_unit_test(a_refusal_is_told_until_the_station_must_have_read_it),
        cmocka_unit_test(a_beat_with_what_the_station_may_not_state_is_told),
        cmocka_unit_test(an_old_foul_ends_by_its_own_known_word_in_a_beat),
        cmocka_unit_test(samples_are_taken_from_a_fresh_beat_of_the_bridge),
    };
    return cmocka_run_group_tests_name("core_beats", tests, NULL, NULL);
}
