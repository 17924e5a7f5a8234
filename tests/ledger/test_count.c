/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_count - what the changes of a record come to: each trap once, on what was there at the time
 *
 * The ship and the figures are invented.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/ledger/pages.h"

#define R       ((uint64_t)PAGES_R)
#define PENDANT TL_DATUM_PENDANT_LIFE
#define CABLE   TL_DATUM_CABLE

enum {
    WIRE = 3
};

static struct pages *
start(void)
{
    struct pages *p = pages_new();
    pages_recovery(p, R, false, TL_RECOVERY_OPEN);
    return p;
}

/* The book of wire 3 before pass 1. */
static void
book(struct pages *p, uint32_t traps, const char *serial)
{
    pages_word(p, (struct pages_word){PENDANT, WIRE, traps, serial, {{R - 1, 1}, 0}, 0, false});
}

/* The book of wire 3 that has all up to that pass. */
static void
book_to(struct pages *p, uint32_t traps, const char *serial, uint32_t pass)
{
    pages_word(p, (struct pages_word){PENDANT, WIRE, traps, serial, {{R, pass}, 0}, 0, false});
}

static void
expect(const struct pages *p, uint32_t traps, const char *serial)
{
    assert_int_equal(pages_traps(p, PENDANT, WIRE), traps);
    assert_string_equal(pages_fit(p, PENDANT, WIRE)->tally.base.serial, serial);
}

static void
each_trap_counts_once_on_its_pendant_and_its_cable(void **state)
{
    (void)state;
    struct pages *p = start();
    pages_trap(p, 1, WIRE); /* before any book: not on what is keyed later, which has it */
    pages_word(p, (struct pages_word){PENDANT, WIRE, 40, "P-0412", {{R, 1}, 0}, 0, false});
    pages_word(p, (struct pages_word){CABLE, WIRE, 212, "C-0077", {{R, 1}, 0}, 50, false});
    pages_word(p, (struct pages_word){PENDANT, 2, 7, "P-0409", {{R, 1}, 0}, 0, false});
    pages_trap(p, 2, WIRE);
    pages_trap(p, 2, WIRE);
    pages_trap(p, 3, 2);
    pages_result(p, (struct tl_event){R, 4}, TL_OUTCOME_BOLTER, 0);
    pages_result(p, (struct tl_event){R, 5}, TL_OUTCOME_WAVE_OFF, 0);
    pages_trap(p, 2, WIRE); /* late, of an event that is long past */
    expect(p, 41, "P-0412");
    assert_int_equal(pages_traps(p, CABLE, WIRE), 213);
    assert_int_equal(pages_fit(p, CABLE, WIRE)->detorqued_at, 50);
    assert_int_equal(pages_traps(p, PENDANT, 2), 8);
    assert_false(tl_fit_is_known(pages_fit(p, PENDANT, 1)));
    free(p);
}

static void
a_corrected_result_moves_the_count(void **state)
{
    static const struct {
        enum tl_outcome outcome;
        uint32_t wire;
        uint32_t third, second;
    } table[] = {
        {TL_OUTCOME_TRAP, WIRE, 41, 7}, {TL_OUTCOME_TRAP, 2, 40, 8},
        {TL_OUTCOME_BOLTER, 0, 40, 7},  {TL_OUTCOME_WAVE_OFF, 0, 40, 7},
        {TL_OUTCOME_TRAP, WIRE, 41, 7}, {TL_OUTCOME_TRAP, 0, 41, 8}, /* on which is not known */
        {TL_OUTCOME_BOLTER, 0, 40, 7},
    };
    (void)state;
    struct pages *p = start();
    book(p, 40, "P-0412");
    pages_word(p, (struct pages_word){PENDANT, 2, 7, "P-0409", {{R - 1, 1}, 0}, 0, false});
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        pages_result(p, (struct tl_event){R, 1}, table[i].outcome, table[i].wire);
        expect(p, table[i].third, "P-0412");
        assert_int_equal(pages_traps(p, PENDANT, 2), table[i].second);
    }
    free(p);
}

static void
a_drill_counts_nothing(void **state)
{
    (void)state;
    struct pages *p = start();
    book(p, 40, "P-0412");
    pages_recovery(p, R + 1, true, TL_RECOVERY_OPEN);
    pages_result(p, (struct tl_event){R + 1, 1}, TL_OUTCOME_TRAP, WIRE);
    expect(p, 40, "P-0412");
    /* What it was is said after the first result: as two buses may bring it. */
    pages_result(p, (struct tl_event){R + 2, 1}, TL_OUTCOME_TRAP, WIRE);
    pages_recovery(p, R + 2, true, TL_RECOVERY_OPEN);
    pages_result(p, (struct tl_event){R + 2, 2}, TL_OUTCOME_TRAP, WIRE);
    expect(p, 40, "P-0412");
    pages_recovery(p, R + 3, false, TL_RECOVERY_OPEN);
    pages_result(p, (struct tl_event){R + 3, 1}, TL_OUTCOME_TRAP, WIRE);
    expect(p, 41, "P-0412");
    free(p);
}

/* In a pass into the barricade the pendants 3 and 4 are off; the cable is pulled all the same. */
static void
a_pass_into_the_barricade_loads_no_pendant_that_is_off(void **state)
{
    (void)state;
    struct pages *p = start();
    book(p, 40, "P-0412");
    pages_word(p, (struct pages_word){CABLE, WIRE, 100, "C-0077", {{R - 1, 1}, 0}, 50, false});
    pages_order(p, (struct tl_event){R, 1}, true);
    pages_trap(p, 1, WIRE);
    expect(p, 40, "P-0412");
    assert_int_equal(pages_traps(p, CABLE, WIRE), 101);
    pages_order(p, (struct tl_event){R, 1}, false); /* it was not, after all */
    expect(p, 41, "P-0412");
    pages_order(p, (struct tl_event){R, 2}, false);
    pages_trap(p, 2, WIRE);
    expect(p, 42, "P-0412");
    free(p);
}

/* Another serial is another pendant; the one before keeps what it had. */
static void
only_another_serial_begins_anew(void **state)
{
    (void)state;
    struct pages *p = start();
    book(p, 40, "P-0412");
    pages_trap(p, 1, WIRE);
    book_to(p, 12, "P-0412", 1); /* a lower figure of the same one */
    expect(p, 41, "P-0412");
    uint32_t stated = 0;
    assert_true(tl_fit_stated_traps(&p->ledger, pages_fit(p, PENDANT, WIRE), &stated));
    assert_int_equal(stated, 12);
    book_to(p, 12, "", 1); /* of what is there */
    expect(p, 41, "P-0412");
    pages_trap(p, 2, WIRE);
    book_to(p, 0, "P-0413", 2);
    expect(p, 0, "P-0413");
    assert_int_equal(pages_fit(p, PENDANT, WIRE)->fitted_ms, p->wall_ms);
    assert_int_equal(p->removed_count, 1);
    assert_string_equal(p->removed[0].tally.base.serial, "P-0412");
    assert_int_equal(tl_fit_traps(&p->ledger, &p->removed[0]), 42);
    assert_int_equal(p->removed[0].removed_ms, p->wall_ms);
    pages_trap(p, 3, WIRE);
    expect(p, 1, "P-0413");
    /* Back on the wire: it has what it had, whatever is typed. */
    book_to(p, 0, "P-0412", 3);
    expect(p, 42, "P-0412");
    pages_trap(p, 4, WIRE);
    expect(p, 43, "P-0412");
    free(p);
}

static void
a_first_name_is_no_other_pendant(void **state)
{
    (void)state;
    struct pages *p = start();
    book(p, 40, "");
    pages_trap(p, 1, WIRE);
    book_to(p, 41, "P-0412", 1);
    expect(p, 41, "P-0412");
    assert_int_equal(p->removed_count, 0);
    free(p);

    p = start(); /* but fewer traps are */
    book(p, 40, "");
    book_to(p, 0, "P-0412", 1);
    expect(p, 0, "P-0412");
    assert_int_equal(p->removed_count, 1);
    free(p);
}

/* The book is right when it has more: traps that no record saw. */
static void
a_higher_figure_is_taken(void **state)
{
    (void)state;
    struct pages *p = start();
    book(p, 40, "P-0412");
    pages_trap(p, 1, WIRE);
    book_to(p, 44, "P-0412", 1);
    expect(p, 44, "P-0412");
    pages_trap(p, 1, 2); /* the trap that the word has is corrected: the book said so and stands */
    expect(p, 44, "P-0412");
    pages_trap(p, 2, WIRE);
    expect(p, 45, "P-0412");
    free(p);
}

/* A word that goes up to an earlier pass leaves the later ones to be counted: never twice. */
static void
a_word_that_came_late_has_less_in_it(void **state)
{
    (void)state;
    struct pages *p = start();
    pages_trap(p, 1, WIRE);
    pages_trap(p, 2, WIRE);
    book_to(p, 41, "P-0412", 1);
    expect(p, 42, "P-0412");
    struct tl_counted open = {{R, 4}, 1u << 1}; /* up to 4, but 3 had not ended */
    pages_word(p, (struct pages_word){PENDANT, WIRE, 42, "P-0412", open, 0, false});
    expect(p, 42, "P-0412");
    pages_trap(p, 4, WIRE); /* is in it */
    expect(p, 42, "P-0412");
    pages_trap(p, 3, WIRE);
    expect(p, 43, "P-0412");
    free(p);
}

/* The station moves its word on by itself: it is not the book. */
static void
a_moved_word_is_no_base(void **state)
{
    (void)state;
    struct pages *p = start();
    book(p, 40, "P-0412");
    pages_trap(p, 1, WIRE);
    struct pages_word moved = {PENDANT, WIRE, 99, "P-0412", {{R, 1}, 0}, 0, true};
    pages_word(p, moved);
    expect(p, 41, "P-0412");
    uint32_t stated = 0;
    assert_true(tl_fit_stated_traps(&p->ledger, pages_fit(p, PENDANT, WIRE), &stated));
    assert_int_equal(stated, 99);
    free(p);

    p = start(); /* the only thing that is known */
    pages_word(p, moved);
    expect(p, 99, "P-0412");
    free(p);
}

static void
what_was_refused_was_not_said(void **state)
{
    (void)state;
    struct pages *p = start();
    book(p, 40, "P-0412");
    book(p, 70, "P-0412");
    pages_judged(p, "platform", TL_JUDGED_REFUSED); /* of another */
    expect(p, 70, "P-0412");
    pages_judged(p, "gear-officer", TL_JUDGED_REFUSED);
    expect(p, 40, "P-0412");
    book_to(p, 0, "P-0413", 0);
    pages_judged(p, "gear-officer", TL_JUDGED_REFUSED);
    expect(p, 40, "P-0412");
    uint32_t stated = 0;
    book(p, 12, "P-0412"); /* lower: it did nothing */
    assert_true(tl_fit_stated_traps(&p->ledger, pages_fit(p, PENDANT, WIRE), &stated));
    pages_judged(p, "gear-officer", TL_JUDGED_REFUSED);
    assert_false(tl_fit_stated_traps(&p->ledger, pages_fit(p, PENDANT, WIRE), &stated));
    expect(p, 40, "P-0412");
    assert_int_equal(p->ledger.removed_count, 0);
    assert_int_equal(p->back_count, p->removed_count); /* P-0412 is not over */
    book(p, 50, "P-0412");
    pages_judged(p, "gear-officer", TL_JUDGED_APPLIED);
    expect(p, 50, "P-0412");
    pages_trap(p, 1, WIRE);
    expect(p, 51, "P-0412");
    free(p);
}

/* A validator's answer may be in the record after other words: it is of that pendant, and no other. */
static void
only_what_was_refused_is_put_back(void **state)
{
    (void)state;
    struct pages *p = start();
    book(p, 40, "P-0412");
    pages_word(p, (struct pages_word){PENDANT, 2, 70, "P-0409", {{R - 1, 1}, 0}, 0, false});
    book(p, 0, "P-0413");
    uint64_t of_refused = p->sequence;
    pages_word(p, (struct pages_word){PENDANT, 2, 0, "P-0410", {{R - 1, 1}, 0}, 0, false});
    p->sequence = of_refused;
    pages_judged(p, "gear-officer", TL_JUDGED_REFUSED);
    expect(p, 40, "P-0412");
    assert_int_equal(p->ledger.removed_count, 1);
    assert_string_equal(p->ledger.removed[0].tally.base.serial, "P-0409");
    assert_int_equal(tl_fit_traps(&p->ledger, &p->ledger.removed[0]), 70);
    free(p);
}

/* So long after it that ends have been let go: they were traps of what is there again. */
static void
what_is_put_back_has_the_traps_since(void **state)
{
    (void)state;
    struct pages *p = start();
    book(p, 40, "P-0412");
    book(p, 0, "P-0413");
    uint64_t refused = p->sequence;
    for (uint32_t pass = 1; pass <= 2 * TL_ENDED_MAX; pass++) {
        pages_trap(p, pass, WIRE);
    }
    p->sequence = refused;
    pages_judged(p, "gear-officer", TL_JUDGED_REFUSED);
    expect(p, 40 + 2 * TL_ENDED_MAX, "P-0412");
    free(p);
}

/* Nobody answered in time, and the station took it back: not when one is known to have applied it. */
static void
what_was_taken_back_unanswered_was_not_said(void **state)
{
    static const struct {
        uint64_t after_ms;
        bool applied;
        uint32_t traps;
    } table[] = {
        {1000, false, 40},
        {TL_LEDGER_WITHDRAWN_MS, false, 40},
        {TL_LEDGER_WITHDRAWN_MS + 1, false, 70},
        {1000, true, 70},
    };
    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct pages *p = start();
        book(p, 40, "P-0412");
        book(p, 70, "P-0412");
        if (table[i].applied) {
            pages_judged(p, "gear-officer", TL_JUDGED_APPLIED);
        }
        p->wall_ms += table[i].after_ms;
        p->wall_ms -= PAGES_STEP_MS;
        pages_unknown(p, PENDANT, WIRE);
        expect(p, table[i].traps, "P-0412");
        uint32_t stated = 0;
        assert_false(tl_fit_stated_traps(&p->ledger, pages_fit(p, PENDANT, WIRE), &stated));
        free(p);
    }
}

/* From another record, or by the slower bus: the newest word of the station stays. */
static void
an_older_word_changes_nothing(void **state)
{
    (void)state;
    struct pages *p = start();
    p->incarnation = 2;
    p->sequence = 100;
    book(p, 40, "P-0412");
    pages_trap(p, 1, WIRE);
    p->incarnation = 1;
    p->sequence = 500; /* of the life before */
    book(p, 90, "P-0412");
    expect(p, 41, "P-0412");
    pages_result(p, (struct tl_event){R, 1}, TL_OUTCOME_BOLTER, 0);
    expect(p, 41, "P-0412");
    p->incarnation = 2;
    p->sequence = 100;
    book(p, 90, "P-0412"); /* with a number that has been said */
    expect(p, 41, "P-0412");
    book(p, 90, "P-0412");
    expect(p, 91, "P-0412");
    free(p);
}

static void
speak(struct pages *p, const char *node, uint32_t traps)
{
    struct tl_datum datum = {
        .kind = PENDANT, .slot = WIRE, .voice_for = "gear-officer", .known = true};
    datum.as.pendant_life = (struct tl_wear){.traps = traps, .counted = {{R, 1}, 0}};
    pages_change(p, node, &datum);
}

static void
by_voice_it_takes_two(void **state)
{
    (void)state;
    struct pages *p = start();
    speak(p, "primary", 40);
    speak(p, "primary", 40);
    assert_false(tl_fit_is_known(pages_fit(p, PENDANT, WIRE)));
    speak(p, "deck", 41); /* hears another number */
    assert_false(tl_fit_is_known(pages_fit(p, PENDANT, WIRE)));
    speak(p, "primary", 41);
    expect(p, 41, "");
    speak(p, "platform", 90); /* may not speak for others */
    speak(p, "primary", 90);
    expect(p, 41, "");
    free(p);
}

/* Two names of words are alike when their stations are: another's number is another word. */
static void
what_was_refused_by_voice_was_not_said(void **state)
{
    (void)state;
    struct pages *p = start();
    book(p, 40, "P-0412");
    speak(p, "primary", 90);
    pages_judged(p, "primary", TL_JUDGED_REFUSED);
    speak(p, "deck", 90); /* is the first that stands */
    expect(p, 40, "P-0412");
    pages_judged(p, "deck", TL_JUDGED_REFUSED);
    speak(p, "primary", 90);
    speak(p, "deck", 90);
    expect(p, 90, "P-0412");
    pages_judged(p, "gear-officer", TL_JUDGED_REFUSED);
    expect(p, 90, "P-0412");
    pages_judged(p, "deck", TL_JUDGED_REFUSED);
    expect(p, 40, "P-0412");
    free(p);
}

/* A result by voice stands until the platform says something. */
static void
the_platforms_own_word_goes_before_one_by_voice(void **state)
{
    struct tl_datum voice = {.kind = TL_DATUM_RESULT,
                             .slot = 1,
                             .voice_for = "platform",
                             .stated_for_count = 1,
                             .stated_for = {{R, 1}},
                             .known = true,
                             .as.result = {TL_OUTCOME_TRAP, WIRE}};
    (void)state;
    struct pages *p = start();
    book(p, 40, "P-0412");
    pages_change(p, "primary", &voice);
    expect(p, 41, "P-0412");
    pages_result(p, (struct tl_event){R, 1}, TL_OUTCOME_BOLTER, 0);
    expect(p, 40, "P-0412");
    pages_change(p, "primary", &voice);
    expect(p, 40, "P-0412");
    free(p);
}

/* More passes than ends are kept: what is let go stays counted, and is not counted again. */
static void
no_trap_is_lost_over_many_passes(void **state)
{
    (void)state;
    struct pages *p = start();
    book(p, 0, "P-0412");
    for (uint32_t pass = 1; pass <= 3 * TL_ENDED_MAX; pass++) {
        pages_trap(p, pass, pass % 2 == 0 ? WIRE : 2);
    }
    expect(p, 3 * TL_ENDED_MAX / 2, "P-0412");
    pages_trap(p, 2, WIRE);
    expect(p, 3 * TL_ENDED_MAX / 2, "P-0412");
    free(p);
}

static void
what_is_told_of_it(void **state)
{
    (void)state;
    struct pages *p = start();
    struct tl_worn worn[TL_WORN_MAX];
    assert_int_equal(tl_ledger_worn(&p->ledger, worn), 0);
    book(p, 40, "P-0412");
    pages_word(p, (struct pages_word){CABLE, 1, 212, "C-0077", {{R - 1, 1}, 0}, 50, false});
    pages_trap(p, 1, WIRE);
    pages_trap(p, 3, 1);
    pages_word(p, (struct pages_word){PENDANT, WIRE, 0, "P-0413", {{R, 3}, 1u << 1}, 0, false});
    pages_trap(p, 4, WIRE);
    assert_int_equal(tl_ledger_worn(&p->ledger, worn), 3);
    assert_int_equal(worn[0].wire, WIRE);
    assert_int_equal(worn[0].engine, 0);
    assert_int_equal(worn[0].wear.traps, 1);
    assert_string_equal(worn[0].wear.serial, "P-0413");
    assert_int_equal(worn[0].wear.counted.last.pass, 4);
    assert_int_equal(worn[0].wear.counted.without, 1u << 2); /* pass 2 has not ended */
    assert_false(worn[0].removed);
    assert_int_equal(worn[1].engine, 1);
    assert_int_equal(worn[1].wire, 0);
    assert_int_equal(worn[1].wear.traps, 213);
    assert_int_equal(worn[1].detorqued_at, 50);
    assert_true(worn[2].removed);
    assert_string_equal(worn[2].wear.serial, "P-0412");
    assert_int_equal(worn[2].wear.traps, 41);
    free(p);
}

/* More than a message may say is told as the most it may: a recorder is heard whatever was keyed. */
static void
what_is_told_is_never_too_large(void **state)
{
    (void)state;
    struct pages *p = start();
    struct tl_worn worn[TL_WORN_MAX];
    book(p, TL_TRAPS_MAX - 1, "P-0412");
    pages_trap(p, 1, WIRE);
    assert_int_equal(tl_ledger_worn(&p->ledger, worn), 1);
    assert_int_equal(worn[0].wear.traps, TL_TRAPS_MAX);
    pages_trap(p, 2, WIRE);
    assert_int_equal(tl_ledger_worn(&p->ledger, worn), 1);
    assert_int_equal(worn[0].wear.traps, TL_TRAPS_MAX);
    assert_true(worn[0].not_weighed <= TL_TRAPS_MAX);
    free(p);
}

/* As many as there is room for: what is there goes first, of the removed the newest. */
static void
what_is_told_fits(void **state)
{
    (void)state;
    struct pages *p = start();
    char serial[TL_SERIAL_CAP];
    for (uint32_t i = 0; i < 2 * TL_LEDGER_REMOVED; i++) {
        (void)snprintf(serial, sizeof serial, "P-%u", 1000 + i);
        book(p, i, serial);
    }
    struct tl_worn worn[TL_WORN_MAX];
    assert_int_equal(tl_ledger_worn(&p->ledger, worn), 1 + TL_LEDGER_REMOVED);
    assert_string_equal(worn[0].wear.serial, serial);
    assert_true(worn[1].removed);
    assert_int_equal(worn[1].wear.traps, 2 * TL_LEDGER_REMOVED - 2);
    assert_int_equal(p->removed_count, 2 * TL_LEDGER_REMOVED - 1);
    free(p);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_trap_counts_once_on_its_pendant_and_its_cable),
        cmocka_unit_test(a_corrected_result_moves_the_count),
        cmocka_unit_test(a_drill_counts_nothing),
        cmocka_unit_test(a_pass_into_the_barricade_loads_no_pendant_that_is_off),
        cmocka_unit_test(only_another_serial_begins_anew),
        cmocka_unit_test(a_first_name_is_no_other_pendant),
        cmocka_unit_test(a_higher_figure_is_taken),
        cmocka_unit_test(a_word_that_came_late_has_less_in_it),
        cmocka_unit_test(a_moved_word_is_no_base),
        cmocka_unit_test(what_was_refused_was_not_said),
        cmocka_unit_test(only_what_was_refused_is_put_back),
        cmocka_unit_test(what_is_put_back_has_the_traps_since),
        cmocka_unit_test(what_was_taken_back_unanswered_was_not_said),
        cmocka_unit_test(an_older_word_changes_nothing),
        cmocka_unit_test(by_voice_it_takes_two),
        cmocka_unit_test(what_was_refused_by_voice_was_not_said),
        cmocka_unit_test(the_platforms_own_word_goes_before_one_by_voice),
        cmocka_unit_test(no_trap_is_lost_over_many_passes),
        cmocka_unit_test(what_is_told_of_it),
        cmocka_unit_test(what_is_told_is_never_too_large),
        cmocka_unit_test(what_is_told_fits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
