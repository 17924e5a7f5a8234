/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_event_names - which events a change toward READY may name: the answers of tl_events_check
 *
 * The list of recovery 5000: 1 has a result, 2 is cancelled, 3 is current, 4 waits; 7 is the
 * highest pass that was given out.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "broker/core/events/events.h"

enum {
    NOW = 5000, /* the recovery */
    NO_WAIT = 0,
    WAIT = 1
};

static struct tl_fold *
fold_new(void)
{
    struct tl_fold *fold = calloc(1, sizeof *fold);
    assert_non_null(fold);
    struct tl_list *list = &fold->list;
    list->heard = list->results_heard = list->open = true;
    list->recovery_ms = list->highest_recovery_ms = NOW;
    list->highest_pass = 7;
    list->count = 4;
    for (uint32_t i = 0; i < 4; i++) {
        list->event[i].event = (struct tl_event){NOW, i + 1};
        list->event[i].order.state = TL_ORDER_ORDERED;
    }
    list->event[0].ended = true;
    list->event[1].order.state = TL_ORDER_CANCELLED;
    list->current = list->event[2].event;
    return fold;
}

static struct tl_datum
word(enum tl_datum_kind kind)
{
    struct tl_datum datum = {.kind = kind, .known = true};
    if (kind == TL_DATUM_BATTERY) {
        datum.as.battery = TL_BATTERY_IN;
    } else if (kind == TL_DATUM_SET) {
        datum.as.set_lb = 34000;
    } else if (kind == TL_DATUM_ORDER) {
        datum.as.order.state = TL_ORDER_ORDERED;
    }
    return datum;
}

static void
name(struct tl_datum *datum, uint64_t recovery_ms, uint32_t pass)
{
    datum->stated_for[datum->stated_for_count++] = (struct tl_event){recovery_ms, pass};
}

static void
expect(const struct tl_fold *fold, const struct tl_datum *datum, enum tl_refusal reason, bool waits)
{
    bool wait = true;
    enum tl_refusal got = tl_events_check(fold, datum, &wait);
    if (got != reason || wait != waits) {
        fail_msg("kind %d: wanted %d wait %d, got %d wait %d", (int)datum->kind, (int)reason, waits,
                 (int)got, wait);
    }
}

/* One event named by a word of the event, and by one that is carried. */
static void
one_event(void **state)
{
    static const struct {
        uint64_t recovery_ms;
        uint32_t pass;
        enum tl_refusal word, carried;
        bool wait;
    } rows[] = {
        {NOW, 1, TL_REFUSAL_LATE, TL_REFUSAL_LATE, NO_WAIT},
        {NOW, 2, TL_REFUSAL_LATE, TL_REFUSAL_LATE, NO_WAIT},
        {NOW, 3, TL_REFUSAL_UNKNOWN, TL_REFUSAL_UNKNOWN, NO_WAIT},
        {NOW, 4, TL_REFUSAL_NOT_CURRENT, TL_REFUSAL_UNKNOWN, NO_WAIT},
        {NOW, 7, TL_REFUSAL_NOT_LISTED, TL_REFUSAL_NOT_LISTED, NO_WAIT},
        {NOW, 8, TL_REFUSAL_UNKNOWN, TL_REFUSAL_UNKNOWN, WAIT},
        {NOW - 1, 3, TL_REFUSAL_NOT_LISTED, TL_REFUSAL_NOT_LISTED, NO_WAIT},
        {NOW - 1, 8, TL_REFUSAL_NOT_LISTED, TL_REFUSAL_NOT_LISTED, NO_WAIT},
        {NOW + 1, 1, TL_REFUSAL_UNKNOWN, TL_REFUSAL_UNKNOWN, WAIT},
    };

    (void)state;
    struct tl_fold *fold = fold_new();
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_datum battery = word(TL_DATUM_BATTERY);
        struct tl_datum set = word(TL_DATUM_SET);
        name(&battery, rows[i].recovery_ms, rows[i].pass);
        name(&set, rows[i].recovery_ms, rows[i].pass);
        expect(fold, &battery, rows[i].word, rows[i].wait);
        expect(fold, &set, rows[i].carried, rows[i].wait);
    }
    free(fold);
}

static void
a_closed_recovery_is_over(void **state)
{
    (void)state;
    struct tl_fold *fold = fold_new();
    struct tl_datum battery = word(TL_DATUM_BATTERY);
    name(&battery, NOW, 3);
    expect(fold, &battery, TL_REFUSAL_UNKNOWN, NO_WAIT);
    fold->list.open = false;
    expect(fold, &battery, TL_REFUSAL_LATE, NO_WAIT);
    free(fold);
}

/* A validator that has heard no list waits for one. */
static void
a_list_not_heard_is_waited_for(void **state)
{
    (void)state;
    struct tl_fold *fold = fold_new();
    struct tl_datum battery = word(TL_DATUM_BATTERY);
    name(&battery, NOW, 6);
    expect(fold, &battery, TL_REFUSAL_NOT_LISTED, NO_WAIT);
    fold->list.heard = false;
    expect(fold, &battery, TL_REFUSAL_UNKNOWN, WAIT);
    free(fold);
}

static void
no_event_named(void **state)
{
    (void)state;
    struct tl_fold *fold = fold_new();
    struct tl_datum battery = word(TL_DATUM_BATTERY);
    struct tl_datum set = word(TL_DATUM_SET);
    expect(fold, &battery, TL_REFUSAL_NOT_CURRENT, NO_WAIT);
    expect(fold, &set, TL_REFUSAL_UNKNOWN, NO_WAIT);
    free(fold);
}

/* Up to three; a carried word counts when one of its events is open, whatever the others. */
static void
several_events(void **state)
{
    static const struct {
        uint32_t passes[3];
        enum tl_refusal word, carried;
        bool word_waits, carried_waits;
    } rows[] = {
        {{3, 4, 0}, TL_REFUSAL_NOT_CURRENT, TL_REFUSAL_UNKNOWN, NO_WAIT, NO_WAIT},
        {{1, 3, 0}, TL_REFUSAL_LATE, TL_REFUSAL_UNKNOWN, NO_WAIT, NO_WAIT},
        {{3, 1, 0}, TL_REFUSAL_LATE, TL_REFUSAL_UNKNOWN, NO_WAIT, NO_WAIT},
        {{3, 8, 0}, TL_REFUSAL_UNKNOWN, TL_REFUSAL_UNKNOWN, WAIT, NO_WAIT},
        {{8, 3, 0}, TL_REFUSAL_UNKNOWN, TL_REFUSAL_UNKNOWN, WAIT, NO_WAIT},
        {{8, 9, 0}, TL_REFUSAL_UNKNOWN, TL_REFUSAL_UNKNOWN, WAIT, WAIT},
        {{1, 8, 0}, TL_REFUSAL_LATE, TL_REFUSAL_LATE, NO_WAIT, NO_WAIT},
        {{8, 1, 0}, TL_REFUSAL_LATE, TL_REFUSAL_LATE, NO_WAIT, NO_WAIT},
        {{1, 6, 0}, TL_REFUSAL_NOT_LISTED, TL_REFUSAL_NOT_LISTED, NO_WAIT, NO_WAIT},
        {{1, 8, 4}, TL_REFUSAL_NOT_CURRENT, TL_REFUSAL_UNKNOWN, NO_WAIT, NO_WAIT},
        {{4, 8, 9}, TL_REFUSAL_NOT_CURRENT, TL_REFUSAL_UNKNOWN, NO_WAIT, NO_WAIT},
    };

    (void)state;
    struct tl_fold *fold = fold_new();
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_datum battery = word(TL_DATUM_BATTERY);
        struct tl_datum set = word(TL_DATUM_SET);
        for (size_t k = 0; k < 3 && rows[i].passes[k] != 0; k++) {
            name(&battery, NOW, rows[i].passes[k]);
            name(&set, NOW, rows[i].passes[k]);
        }
        expect(fold, &battery, rows[i].word, rows[i].word_waits);
        expect(fold, &set, rows[i].carried, rows[i].carried_waits);
    }
    free(fold);
}

/* No foul is of no event; CLEAR is of one; what stands until it is changed names none. */
static void
what_is_of_no_event_is_not_asked(void **state)
{
    (void)state;
    struct tl_fold *fold = fold_new();
    struct tl_datum deck = word(TL_DATUM_DECK);
    struct tl_datum psi = word(TL_DATUM_ACCUMULATOR);
    deck.as.deck.state = TL_DECK_NO_FOUL;
    name(&deck, NOW, 1);
    name(&psi, NOW, 1);
    expect(fold, &deck, TL_REFUSAL_UNKNOWN, NO_WAIT);
    expect(fold, &psi, TL_REFUSAL_UNKNOWN, NO_WAIT);
    deck.as.deck.state = TL_DECK_CLEAR;
    expect(fold, &deck, TL_REFUSAL_LATE, NO_WAIT);
    deck.stated_for[0].pass = 3;
    expect(fold, &deck, TL_REFUSAL_UNKNOWN, NO_WAIT);
    free(fold);
}

static struct tl_datum
order(uint64_t recovery_ms, uint32_t pass)
{
    struct tl_datum datum = word(TL_DATUM_ORDER);
    datum.slot = pass;
    name(&datum, recovery_ms, pass);
    return datum;
}

static void
an_order_takes_a_pass_that_was_not_given_out(void **state)
{
    static const struct {
        uint64_t recovery_ms;
        uint32_t pass;
        enum tl_refusal wanted, restarted;
    } rows[] = {
        {NOW, 1, TL_REFUSAL_LATE, TL_REFUSAL_LATE},
        {NOW, 2, TL_REFUSAL_UNKNOWN, TL_REFUSAL_UNKNOWN},
        {NOW, 4, TL_REFUSAL_UNKNOWN, TL_REFUSAL_UNKNOWN},
        {NOW, 6, TL_REFUSAL_LATE, TL_REFUSAL_UNKNOWN},
        {NOW, 7, TL_REFUSAL_LATE, TL_REFUSAL_UNKNOWN},
        {NOW, 8, TL_REFUSAL_UNKNOWN, TL_REFUSAL_UNKNOWN},
        {NOW - 1, 8, TL_REFUSAL_LATE, TL_REFUSAL_LATE},
        {NOW + 1, 1, TL_REFUSAL_UNKNOWN, TL_REFUSAL_UNKNOWN},
    };

    (void)state;
    struct tl_fold *fold = fold_new();
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_datum datum = order(rows[i].recovery_ms, rows[i].pass);
        fold->list.restarted = false;
        expect(fold, &datum, rows[i].wanted, NO_WAIT);
        fold->list.restarted = true;
        expect(fold, &datum, rows[i].restarted, NO_WAIT);
    }
    free(fold);
}

static void
an_order_names_its_own_event_and_no_other(void **state)
{
    (void)state;
    struct tl_fold *fold = fold_new();
    struct tl_datum datum = order(NOW, 8);
    expect(fold, &datum, TL_REFUSAL_UNKNOWN, NO_WAIT);
    datum.slot = 9;
    expect(fold, &datum, TL_REFUSAL_NOT_LISTED, NO_WAIT);
    datum.slot = 8;
    name(&datum, NOW, 9);
    expect(fold, &datum, TL_REFUSAL_NOT_LISTED, NO_WAIT);
    datum.stated_for_count = 0;
    expect(fold, &datum, TL_REFUSAL_NOT_LISTED, NO_WAIT);
    free(fold);
}

static void
a_full_list_takes_an_order_only_of_what_is_on_it_or_after_a_restart(void **state)
{
    (void)state;
    struct tl_fold *fold = fold_new();
    struct tl_datum datum = order(NOW, 20);
    struct tl_datum listed = order(NOW, 4);
    fold->list.count = TL_LIST_MAX - 1;
    expect(fold, &datum, TL_REFUSAL_UNKNOWN, NO_WAIT);
    fold->list.count = TL_LIST_MAX;
    expect(fold, &datum, TL_REFUSAL_FULL, NO_WAIT);
    expect(fold, &listed, TL_REFUSAL_UNKNOWN, NO_WAIT);
    fold->list.restarted = true;
    expect(fold, &datum, TL_REFUSAL_UNKNOWN, NO_WAIT);
    free(fold);
}

/* A recovery is newer than all before, or the one that is on. */
static void
a_recovery_is_new_or_the_present_one(void **state)
{
    static const struct {
        uint64_t said, present, highest;
        enum tl_refusal wanted;
    } rows[] = {
        {5001, 5000, 5000, TL_REFUSAL_UNKNOWN},      {5000, 5000, 5000, TL_REFUSAL_UNKNOWN},
        {4999, 5000, 5000, TL_REFUSAL_RECOVERY_OLD}, {5000, 5000, 6000, TL_REFUSAL_RECOVERY_OLD},
        {6000, 5000, 6000, TL_REFUSAL_RECOVERY_OLD}, {6001, 5000, 6000, TL_REFUSAL_UNKNOWN},
    };

    (void)state;
    struct tl_fold *fold = fold_new();
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_datum datum = word(TL_DATUM_RECOVERY);
        datum.as.recovery.recovery_ms = rows[i].said;
        fold->list.recovery_ms = rows[i].present;
        fold->list.highest_recovery_ms = rows[i].highest;
        expect(fold, &datum, rows[i].wanted, NO_WAIT);
    }
    free(fold);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_event),
        cmocka_unit_test(a_closed_recovery_is_over),
        cmocka_unit_test(a_list_not_heard_is_waited_for),
        cmocka_unit_test(no_event_named),
        cmocka_unit_test(several_events),
        cmocka_unit_test(what_is_of_no_event_is_not_asked),
        cmocka_unit_test(an_order_takes_a_pass_that_was_not_given_out),
        cmocka_unit_test(an_order_names_its_own_event_and_no_other),
        cmocka_unit_test(a_full_list_takes_an_order_only_of_what_is_on_it_or_after_a_restart),
        cmocka_unit_test(a_recovery_is_new_or_the_present_one),
    };
    return cmocka_run_group_tests_name("core_event_names", tests, NULL, NULL);
}
