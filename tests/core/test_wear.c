/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_wear - what a validator makes of the counts: adds what a word does not have, and refuses fewer
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "broker/core/picture/wear.h"
#include "tests/core/frames.h"

enum {
    R = 5000, /* the recovery that is open */
    WIRE = 2
};

/* The gear officer's next change: its count of that pendant, up to that pass. */
struct said {
    uint32_t traps;
    const char *serial;
    uint32_t last; /* pass of R, 0 = none */
    bool moved;
};

static struct frames *
start(void)
{
    struct frames *f = frames_new();
    (void)frames_based(f, "gear-officer");
    return f;
}

static void
fill(struct tl_datum *datum, const struct said *said)
{
    datum->slot = WIRE;
    datum->stated_for_count = 0;
    struct tl_wear *wear = tl_datum_wear_of(datum);
    wear->traps = said->traps;
    memcpy(wear->serial, said->serial, strlen(said->serial));
    wear->counted.last = (struct tl_event){said->last != 0 ? R : 0, said->last};
    wear->moved = said->moved;
}

static struct tl_folded
say_as(struct frames *f, enum tl_datum_kind kind, struct said said)
{
    (void)frames_of(f, "gear-officer");
    uint64_t next = tl_fold_told(&f->fold, "gear-officer")->applied + 1;
    fill(frames_change(f, next, kind), &said);
    struct tl_folded folded = frames_fold(f);
    tl_wear_update(&f->fold);
    return folded;
}

static struct tl_folded
say(struct frames *f, struct said said)
{
    return say_as(f, TL_DATUM_PENDANT_LIFE, said);
}

static void
accepted(struct frames *f, struct said said)
{
    struct tl_folded folded = say(f, said);
    assert_int_equal(folded.kind, TL_FOLD_APPLIED);
    assert_int_equal(folded.reason, TL_REFUSAL_UNKNOWN);
}

static void
refused(struct frames *f, struct said said)
{
    struct tl_folded folded = say(f, said);
    assert_int_equal(folded.kind, TL_FOLD_REFUSED);
    assert_int_equal(folded.reason, TL_REFUSAL_LOWER_COUNT);
}

/* How a pass of R ended, as the list has it. */
static void
ends(struct frames *f, uint32_t pass, enum tl_outcome outcome, uint32_t wire)
{
    struct tl_listed_event listed = {.event = {R, pass}, .result = {outcome, wire}};
    tl_wear_ended(&f->config.gear, &f->fold.list, &listed);
}

static void
trap(struct frames *f, uint32_t pass, uint32_t wire)
{
    ends(f, pass, TL_OUTCOME_TRAP, wire);
}

static const struct tl_held *
held_of(const struct frames *f, enum tl_datum_kind kind)
{
    const struct tl_told *officer = tl_fold_told_const(&f->fold, "gear-officer");
    const struct tl_held *held = tl_told_held(officer, kind, WIRE);
    assert_non_null(held);
    return held;
}

static uint32_t
traps(const struct frames *f)
{
    return tl_wear_traps(&f->fold, &held_of(f, TL_DATUM_PENDANT_LIFE)->datum);
}

static void
what_a_word_does_not_have_is_added(void **state)
{
    (void)state;
    struct frames *f = start();
    trap(f, 1, WIRE);
    accepted(f, (struct said){87, "P-0412", 1, false});
    assert_int_equal(traps(f), 87);
    trap(f, 2, WIRE);
    assert_int_equal(traps(f), 88);
    trap(f, 2, WIRE); /* said again */
    assert_int_equal(traps(f), 88);
    trap(f, 3, 3);
    ends(f, 4, TL_OUTCOME_BOLTER, 0);
    ends(f, 5, TL_OUTCOME_WAVE_OFF, 0);
    assert_int_equal(traps(f), 88);
    trap(f, 6, WIRE);
    assert_int_equal(traps(f), 89);
    /* the station has counted up to 3 by now: nothing twice */
    accepted(f, (struct said){88, "P-0412", 3, true});
    assert_int_equal(traps(f), 89);
    accepted(f, (struct said){89, "P-0412", 6, true});
    assert_int_equal(traps(f), 89);
    free(f);
}

/* It may hear of the count before it hears of the trap. */
static void
the_station_may_be_ahead(void **state)
{
    (void)state;
    struct frames *f = start();
    accepted(f, (struct said){87, "P-0412", 1, false});
    accepted(f, (struct said){88, "P-0412", 2, true});
    assert_int_equal(traps(f), 88);
    trap(f, 2, WIRE);
    assert_int_equal(traps(f), 88);
    free(f);
}

static void
a_corrected_result_moves_the_count(void **state)
{
    (void)state;
    struct frames *f = start();
    accepted(f, (struct said){87, "P-0412", 1, false});
    trap(f, 2, WIRE);
    assert_int_equal(traps(f), 88);
    trap(f, 2, 3);
    assert_int_equal(traps(f), 87);
    trap(f, 2, WIRE);
    ends(f, 2, TL_OUTCOME_BOLTER, 0);
    assert_int_equal(traps(f), 87);
    /* one that the station has counted: its word stands until it is said anew, and that may fall */
    trap(f, 3, WIRE);
    accepted(f, (struct said){88, "P-0412", 3, true});
    trap(f, 3, 3);
    assert_int_equal(traps(f), 88);
    accepted(f, (struct said){87, "P-0412", 3, true});
    assert_int_equal(traps(f), 87);
    free(f);
}

static void
a_drill_counts_nothing(void **state)
{
    (void)state;
    struct frames *f = start();
    accepted(f, (struct said){87, "P-0412", 1, false});
    f->fold.list.drill = true;
    trap(f, 2, WIRE);
    assert_int_equal(traps(f), 87);
    assert_int_equal(f->fold.list.ends.count, 0);
    f->fold.list.drill = false;
    trap(f, 3, WIRE);
    assert_int_equal(traps(f), 88);
    free(f);
}

static void
fewer_traps_of_one_serial_are_refused(void **state)
{
    (void)state;
    struct frames *f = start();
    accepted(f, (struct said){87, "P-0412", 1, false});
    accepted(f, (struct said){87, "P-0412", 1, false}); /* as many */
    refused(f, (struct said){86, "P-0412", 1, false});
    assert_false(held_of(f, TL_DATUM_PENDANT_LIFE)->datum.known);
    refused(f, (struct said){86, "P-0412", 1, false}); /* also when it is not known any more */
    refused(f, (struct said){86, "", 1, false});       /* nor without a name */
    accepted(f, (struct said){87, "P-0412", 1, false});
    trap(f, 2, WIRE);
    refused(f, (struct said){87, "P-0412", 2, false}); /* it says that the trap is in it */
    accepted(f, (struct said){87, "P-0412", 1, false});
    assert_int_equal(traps(f), 88);
    accepted(f, (struct said){90, "P-0412", 2, false}); /* the book may have more */
    refused(f, (struct said){89, "P-0412", 2, false});
    free(f);
}

static void
a_correction_that_it_knows_of_lowers_what_is_refused(void **state)
{
    (void)state;
    struct frames *f = start();
    trap(f, 1, WIRE);
    trap(f, 2, WIRE);
    accepted(f, (struct said){88, "P-0412", 2, false});
    trap(f, 2, 3);
    refused(f, (struct said){86, "P-0412", 2, false});
    accepted(f, (struct said){87, "P-0412", 2, false});
    assert_int_equal(traps(f), 87);
    refused(f, (struct said){86, "P-0412", 2, false}); /* not a second time */
    free(f);
}

static void
another_serial_begins_anew_and_the_old_one_is_remembered(void **state)
{
    (void)state;
    struct frames *f = start();
    accepted(f, (struct said){87, "P-0412", 1, false});
    trap(f, 2, WIRE);
    accepted(f, (struct said){0, "P-0977", 2, false});
    assert_int_equal(traps(f), 0);
    trap(f, 3, WIRE);
    assert_int_equal(traps(f), 1);
    refused(f, (struct said){87, "P-0412", 3, false}); /* it had 88 when it was taken off */
    accepted(f, (struct said){88, "P-0412", 3, false});
    refused(f, (struct said){0, "P-0977", 3, false});
    accepted(f, (struct said){1, "P-0977", 3, false});
    free(f);
}

static void
a_first_name_is_no_other_pendant(void **state)
{
    (void)state;
    struct frames *f = start();
    accepted(f, (struct said){87, "", 1, false});
    refused(f, (struct said){86, "", 1, false});
    accepted(f, (struct said){87, "P-0412", 1, false});
    refused(f, (struct said){86, "P-0412", 1, false});
    accepted(f, (struct said){90, "", 1, false});
    refused(f, (struct said){89, "P-0412", 1, false}); /* the name has stayed */
    free(f);
}

static void
a_cable_and_a_pendant_do_not_mix(void **state)
{
    (void)state;
    struct frames *f = start();
    accepted(f, (struct said){87, "X-1", 1, false});
    assert_int_equal(say_as(f, TL_DATUM_CABLE, (struct said){20, "X-1", 1, false}).kind,
                     TL_FOLD_APPLIED);
    assert_int_equal(say_as(f, TL_DATUM_CABLE, (struct said){19, "X-1", 1, false}).reason,
                     TL_REFUSAL_LOWER_COUNT);
    trap(f, 2, WIRE);
    accepted(f, (struct said){88, "X-1", 2, true});
    free(f);
}

/* A beat has no receipt of its own for what it holds: the word is made void, and its station told. */
static void
fewer_traps_by_a_beat_are_void(void **state)
{
    (void)state;
    struct frames *f = start();
    accepted(f, (struct said){87, "P-0412", 1, false});
    struct tl_told *officer = frames_of(f, "gear-officer");
    struct tl_beat *beat = frames_beat(f, 2);
    beat->last_change = 9;
    f->envelope.settled = 9;
    fill(frames_add(f, TL_DATUM_PENDANT_LIFE, 9), &(struct said){60, "P-0412", 1, false});
    (void)frames_fold(f);
    uint64_t changes = f->fold.changes;
    tl_wear_update(&f->fold);
    assert_true(f->fold.changes > changes);
    assert_false(held_of(f, TL_DATUM_PENDANT_LIFE)->datum.known);
    assert_int_equal(officer->refused_count, 1);
    assert_int_equal(officer->refused[0].refused.sequence, 9);
    assert_int_equal(officer->refused[0].refused.reason, TL_REFUSAL_LOWER_COUNT);
    tl_wear_update(&f->fold);
    assert_int_equal(officer->refused_count, 1);
    free(f);
}

/* A new life of the station, and of the validator. */
static void
what_was_known_outlives_the_station_and_not_the_validator(void **state)
{
    (void)state;
    struct frames *f = start();
    accepted(f, (struct said){87, "P-0412", 1, false});
    trap(f, 2, WIRE);
    (void)frames_of(f, "gear-officer");
    f->envelope.incarnation = FRAMES_LIFE + 1;
    (void)frames_beat(f, 1);
    assert_true(frames_fold(f).new_incarnation);
    assert_null(
        tl_told_held(tl_fold_told_const(&f->fold, "gear-officer"), TL_DATUM_PENDANT_LIFE, WIRE));
    (void)frames_of(f, "gear-officer");
    f->envelope.incarnation = FRAMES_LIFE + 1;
    fill(frames_change(f, 1, TL_DATUM_PENDANT_LIFE), &(struct said){87, "P-0412", 2, false});
    assert_int_equal(frames_fold(f).reason, TL_REFUSAL_LOWER_COUNT);
    free(f);
    f = start(); /* this one has just started */
    accepted(f, (struct said){3, "P-0412", 2, false});
    free(f);
}

/* Passes after the word that are let go here may have been its traps. */
static void
a_word_that_is_too_old_for_what_is_remembered_is_void(void **state)
{
    (void)state;
    struct frames *f = start();
    accepted(f, (struct said){10, "P-0412", 1, false});
    for (uint32_t pass = 2; pass < 2 + TL_ENDED_MAX; pass++) {
        trap(f, pass, WIRE);
    }
    tl_wear_update(&f->fold);
    assert_int_equal(traps(f), 10 + TL_ENDED_MAX);
    trap(f, 2 + TL_ENDED_MAX, 1);
    tl_wear_update(&f->fold);
    assert_false(held_of(f, TL_DATUM_PENDANT_LIFE)->datum.known);
    accepted(f, (struct said){80, "P-0412", 2 + TL_ENDED_MAX, false});
    assert_int_equal(traps(f), 80);
    free(f);
}

/* The same by voice: without the traps that were let go its count would fall. */
static void
a_word_by_voice_that_is_too_old_is_void(void **state)
{
    (void)state;
    struct frames *f = start();
    struct tl_told *deck = frames_based(f, "deck");
    struct tl_datum *datum = frames_change(f, 1, TL_DATUM_PENDANT_LIFE);
    tl_fold_told(&f->fold, "gear-officer")->live = false;
    fill(datum, &(struct said){10, "P-0412", 1, false});
    memcpy(datum->voice_for, "gear-officer", sizeof "gear-officer");
    assert_int_equal(frames_fold(f).kind, TL_FOLD_APPLIED);
    assert_int_equal(deck->held_count, 1);
    for (uint32_t pass = 2; pass < 2 + TL_ENDED_MAX; pass++) {
        trap(f, pass, WIRE);
    }
    tl_wear_update(&f->fold);
    assert_true(deck->held[0].datum.known);
    assert_int_equal(tl_wear_traps(&f->fold, &deck->held[0].datum), 10 + TL_ENDED_MAX);
    trap(f, 2 + TL_ENDED_MAX, 1);
    tl_wear_update(&f->fold);
    assert_false(deck->held[0].datum.known);
    assert_int_equal(deck->refused[deck->refused_count - 1].refused.reason, TL_REFUSAL_TOO_OLD);
    free(f);
}

/* Serials without end: what is there now is never forgotten for them. */
static void
what_is_there_is_never_forgotten(void **state)
{
    (void)state;
    struct frames *f = start();
    assert_int_equal(say_as(f, TL_DATUM_CABLE, (struct said){50, "C-1", 1, false}).kind,
                     TL_FOLD_APPLIED);
    for (int i = 0; i < 3 * TL_BOOKED_MAX; i++) {
        char serial[TL_SERIAL_CAP];
        (void)snprintf(serial, sizeof serial, "P-%d", i);
        accepted(f, (struct said){5, serial, 1, false});
        refused(f, (struct said){4, serial, 1, false});
        accepted(f, (struct said){5, serial, 1, false});
    }
    assert_int_equal(say_as(f, TL_DATUM_CABLE, (struct said){49, "C-1", 1, false}).reason,
                     TL_REFUSAL_LOWER_COUNT);
    refused(f, (struct said){4, "P-94", 1, false}); /* of the last ones that were taken off */
    accepted(f, (struct said){4, "P-3", 1, false});
    free(f);
}

/* Keyed by another for a lost station, it is keyed: what was moved on before does not excuse it. */
static void
by_voice_fewer_are_refused_too(void **state)
{
    (void)state;
    struct frames *f = start();
    accepted(f, (struct said){87, "P-0412", 1, false});
    struct tl_told *officer = tl_fold_told(&f->fold, "gear-officer");
    officer->live = false;
    (void)frames_based(f, "deck");
    struct tl_datum *datum = frames_change(f, 1, TL_DATUM_PENDANT_LIFE);
    fill(datum, &(struct said){86, "P-0412", 1, true});
    memcpy(datum->voice_for, "gear-officer", sizeof "gear-officer");
    assert_int_equal(frames_fold(f).reason, TL_REFUSAL_LOWER_COUNT);
    datum = frames_change(f, 2, TL_DATUM_PENDANT_LIFE);
    fill(datum, &(struct said){91, "P-0412", 1, false});
    memcpy(datum->voice_for, "gear-officer", sizeof "gear-officer");
    assert_int_equal(frames_fold(f).kind, TL_FOLD_APPLIED);
    free(f);
}

static void
passes_that_may_still_end_on_a_wire(void **state)
{
    (void)state;
    struct frames *f = frames_new();
    struct tl_list *list = &f->fold.list;
    list->count = 5;
    for (uint32_t i = 0; i < 5; i++) {
        list->event[i] = (struct tl_listed_event){.event = {R, i + 1}, .order_known = true};
    }
    assert_int_equal(tl_wear_awaited(list), 5);
    list->event[0].ended = true;
    assert_int_equal(tl_wear_awaited(list), 4);
    list->event[1].order.state = TL_ORDER_CANCELLED;
    assert_int_equal(tl_wear_awaited(list), 3);
    list->event[2].order.barricade = true;
    assert_int_equal(tl_wear_awaited(list), 2);
    list->event[2].order_known = false; /* then it may be on a wire after all */
    assert_int_equal(tl_wear_awaited(list), 3);
    free(f);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_a_word_does_not_have_is_added),
        cmocka_unit_test(the_station_may_be_ahead),
        cmocka_unit_test(a_corrected_result_moves_the_count),
        cmocka_unit_test(a_drill_counts_nothing),
        cmocka_unit_test(fewer_traps_of_one_serial_are_refused),
        cmocka_unit_test(a_correction_that_it_knows_of_lowers_what_is_refused),
        cmocka_unit_test(another_serial_begins_anew_and_the_old_one_is_remembered),
        cmocka_unit_test(a_first_name_is_no_other_pendant),
        cmocka_unit_test(a_cable_and_a_pendant_do_not_mix),
        cmocka_unit_test(fewer_traps_by_a_beat_are_void),
        cmocka_unit_test(what_was_known_outlives_the_station_and_not_the_validator),
        cmocka_unit_test(a_word_that_is_too_old_for_what_is_remembered_is_void),
        cmocka_unit_test(a_word_by_voice_that_is_too_old_is_void),
        cmocka_unit_test(what_is_there_is_never_forgotten),
        cmocka_unit_test(by_voice_fewer_are_refused_too),
        cmocka_unit_test(passes_that_may_still_end_on_a_wire),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
