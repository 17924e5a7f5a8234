/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_wear - how passes ended, each once, and how many of them a count does not have in it yet
 *
 * Detorque of a purchase cable, first at 50 and not past 60 traps, then every 200: NAVEDTRA 14310
 * p. 117. The ship is invented: engine n has wire n; the barricade is on engine 4, wires 3 and 4 off.
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
#include "tests/support/ship.h"

enum {
    R = 5000 /* the recovery */
};
#define PENDANT TL_DATUM_PENDANT_LIFE
#define CABLE   TL_DATUM_CABLE

static struct tl_config config; /* NOLINT(cppcoreguidelines-avoid-non-const-global-variables) */

static int
set_up(void **state)
{
    (void)state;
    ship_config_full(&config, 1);
    return 0;
}

static struct tl_ended
ended(uint32_t pass, enum tl_outcome outcome, uint32_t wire)
{
    return (struct tl_ended){{R, pass}, {outcome, wire}, false};
}

static struct tl_ended
trap(uint32_t pass, uint32_t wire)
{
    return ended(pass, TL_OUTCOME_TRAP, wire);
}

/* Take it; what was let go for it is at *gone. */
static bool
take(struct tl_ends *ends, struct tl_ended end, struct tl_ended *gone)
{
    return tl_ends_take(ends, &config.gear, &end, gone);
}

static bool
news(struct tl_ends *ends, struct tl_ended end)
{
    struct tl_ended gone;
    bool taken = take(ends, end, &gone);
    assert_int_equal(gone.event.pass, 0);
    return taken;
}

static uint32_t
not_in(const struct tl_ends *ends, enum tl_datum_kind kind, uint32_t slot, uint32_t last,
       uint32_t open)
{
    struct tl_counted counted = {{last != 0 ? R : 0, last}, open};
    return tl_ends_not_in(ends, &config.gear, kind, slot, &counted);
}

static void
wear_events_are_by_recovery_then_by_pass(void **state)
{
    static const struct {
        struct tl_event a, b;
        bool after;
    } rows[] = {
        {{5, 1}, {5, 1}, false}, {{5, 2}, {5, 1}, true},  {{5, 1}, {5, 2}, false},
        {{6, 1}, {5, 9}, true},  {{5, 9}, {6, 1}, false}, {{5, 1}, {0, 0}, true},
        {{0, 0}, {0, 0}, false},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_int_equal(tl_event_after(rows[i].a, rows[i].b), rows[i].after);
    }
}

static void
wear_serials(void **state)
{
    static const char *const good[] = {"P", "P-0412", "C22", "ABCDEFGHIJKLMNO", "P--", "Z9"};
    static const char *const bad[] = {"",   "0412", "-P",  "p-0412",           "P 1", "P_1",
                                      "P.", "PÄ",   "P\n", "ABCDEFGHIJKLMNOP", "P/"};
    (void)state;
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        if (!tl_serial_is_wellformed(good[i])) {
            fail_msg("%s is not taken", good[i]);
        }
    }
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        if (tl_serial_is_wellformed(bad[i])) {
            fail_msg("%s is taken", bad[i]);
        }
    }
}

/* Of pass 40, the last, and 39, 37 and 9 there is no trap in it; 8 is further back than can be said. */
static void
wear_a_count_has_what_ended_up_to_its_last_pass(void **state)
{
    struct tl_counted counted = {{R, 40}, 1u | 2u | 8u | 1u << 31};
    static const struct {
        struct tl_event event;
        bool in;
    } rows[] = {
        {{R, 40}, false},    {{R, 41}, false}, {{R, 39}, false},    {{R, 38}, true},
        {{R, 37}, false},    {{R, 36}, true},  {{R, 9}, false},     {{R, 10}, true},
        {{R, 8}, true},      {{R, 1}, true},   {{R + 1, 1}, false}, {{R - 1, 99}, true},
        {{R - 1, 40}, true},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (tl_counted_has(&counted, rows[i].event) != rows[i].in) {
            fail_msg("row %zu", i);
        }
    }
    struct tl_counted none = {0};
    assert_false(tl_counted_has(&none, (struct tl_event){R, 1}));
}

static void
wear_what_loads_what(void **state)
{
    static const struct {
        const char *name;
        struct tl_ended end;
        enum tl_datum_kind kind;
        uint32_t slot;
        bool loads;
    } rows[] = {
        {"its pendant", {{R, 1}, {TL_OUTCOME_TRAP, 2}, false}, PENDANT, 2, true},
        {"its cable", {{R, 1}, {TL_OUTCOME_TRAP, 2}, false}, CABLE, 2, true},
        {"another pendant", {{R, 1}, {TL_OUTCOME_TRAP, 2}, false}, PENDANT, 3, false},
        {"another cable", {{R, 1}, {TL_OUTCOME_TRAP, 2}, false}, CABLE, 3, false},
        {"bolter", {{R, 1}, {TL_OUTCOME_BOLTER, 0}, false}, PENDANT, 2, false},
        {"wave-off", {{R, 1}, {TL_OUTCOME_WAVE_OFF, 0}, false}, CABLE, 2, false},
        {"no outcome", {{R, 1}, {TL_OUTCOME_UNKNOWN, 0}, false}, CABLE, 2, false},
        {"a wire that is not there", {{R, 1}, {TL_OUTCOME_TRAP, 7}, false}, PENDANT, 1, true},
        {"a wire that is not there", {{R, 1}, {TL_OUTCOME_TRAP, 7}, false}, CABLE, 4, true},
        {"no such wire", {{R, 1}, {TL_OUTCOME_TRAP, 7}, false}, PENDANT, 7, false},
        {"barricade, cable", {{R, 1}, {TL_OUTCOME_TRAP, 4}, true}, CABLE, 4, true},
        {"barricade, its pendant is off", {{R, 1}, {TL_OUTCOME_TRAP, 4}, true}, PENDANT, 4, false},
        {"on a wire before it", {{R, 1}, {TL_OUTCOME_TRAP, 2}, true}, PENDANT, 2, true},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (tl_ended_loads(&config.gear, &rows[i].end, rows[i].kind, rows[i].slot) !=
            rows[i].loads) {
            fail_msg("%s", rows[i].name);
        }
    }
    config.gear.barricade.unit = 0;
    assert_true(tl_ended_loads(&config.gear, &rows[11].end, PENDANT, 4));
}

static void
wear_a_trap_is_there_once_however_often_it_is_said(void **state)
{
    struct tl_ends ends = {0};
    (void)state;
    assert_true(news(&ends, trap(1, 2)));
    assert_false(news(&ends, trap(1, 2)));
    assert_true(news(&ends, ended(2, TL_OUTCOME_BOLTER, 0)));
    assert_true(news(&ends, trap(4, 2)));
    assert_true(news(&ends, trap(3, 3))); /* the fourth was taken to the front */
    assert_int_equal(ends.count, 4);
    assert_int_equal(not_in(&ends, PENDANT, 2, 0, 0), 2);
    assert_int_equal(not_in(&ends, CABLE, 2, 1, 0), 1);
    assert_int_equal(not_in(&ends, PENDANT, 2, 4, 0), 0);
    assert_int_equal(not_in(&ends, PENDANT, 3, 4, 0), 0);
    assert_int_equal(not_in(&ends, PENDANT, 3, 4, 2), 1); /* said before the third had ended */
    assert_int_equal(not_in(&ends, PENDANT, 1, 0, 0), 0);
}

static void
wear_a_corrected_result_moves(void **state)
{
    struct tl_ends ends = {0};
    const struct tl_counted to_1 = {{R, 1}, 0};
    const struct tl_counted none = {0};
    (void)state;
    assert_true(news(&ends, trap(1, 3)));
    assert_int_equal(tl_ends_corrected(&ends, &config.gear, PENDANT, 3, &to_1), 0);
    assert_true(news(&ends, trap(1, 2)));
    assert_int_equal(ends.count, 1);
    assert_int_equal(not_in(&ends, PENDANT, 3, 0, 0), 0);
    assert_int_equal(not_in(&ends, PENDANT, 2, 0, 0), 1);
    assert_int_equal(tl_ends_corrected(&ends, &config.gear, PENDANT, 3, &to_1), 1);
    assert_int_equal(tl_ends_corrected(&ends, &config.gear, CABLE, 3, &to_1), 1);
    assert_int_equal(tl_ends_corrected(&ends, &config.gear, PENDANT, 2, &to_1), 0);
    assert_int_equal(tl_ends_corrected(&ends, &config.gear, PENDANT, 3, &none), 0);
    assert_true(news(&ends, ended(1, TL_OUTCOME_BOLTER, 0)));
    assert_int_equal(not_in(&ends, PENDANT, 2, 0, 0), 0);
    assert_int_equal(tl_ends_corrected(&ends, &config.gear, PENDANT, 2, &to_1), 1);
    assert_true(news(&ends, trap(1, 3))); /* and back */
    assert_int_equal(tl_ends_corrected(&ends, &config.gear, PENDANT, 3, &to_1), 0);
    struct tl_ended into = trap(1, 3);
    into.barricade = true;
    assert_true(news(&ends, into));
    assert_int_equal(not_in(&ends, PENDANT, 3, 0, 0), 0);
    assert_int_equal(not_in(&ends, CABLE, 3, 0, 0), 1);
}

static void
wear_the_lowest_goes_when_there_is_no_room(void **state)
{
    struct tl_ends ends = {0};
    struct tl_ended gone;
    const struct tl_counted to_3 = {{R, 3}, 0};
    const struct tl_counted to_2 = {{R, 2}, 0};
    (void)state;
    for (uint32_t pass = 2; pass < 2 + TL_ENDED_MAX; pass++) {
        assert_true(news(&ends, trap(pass, pass % 2 == 0 ? 1 : 2)));
    }
    assert_true(tl_ends_suffice(&ends, &config.gear, PENDANT, 1, &to_2));
    assert_true(take(&ends, trap(100, 1), &gone));
    assert_int_equal(gone.event.pass, 2);
    assert_int_equal(gone.result.wire, 1);
    assert_int_equal(ends.count, TL_ENDED_MAX);
    assert_int_equal(ends.end[0].ended.event.pass, 3);
    assert_int_equal(ends.end[TL_ENDED_MAX - 1].ended.event.pass, 100);
    /* what is at or below it is not taken again */
    assert_false(news(&ends, trap(2, 1)));
    assert_false(news(&ends, trap(1, 1)));
    assert_true(tl_ends_suffice(&ends, &config.gear, PENDANT, 1, &to_2));
    assert_true(take(&ends, trap(101, 1), &gone));
    assert_true(take(&ends, trap(102, 1), &gone));
    assert_int_equal(gone.event.pass, 4);
    /* a trap on wire 1 that the count does not have is gone; one on wire 2 it has */
    assert_false(tl_ends_suffice(&ends, &config.gear, PENDANT, 1, &to_3));
    assert_false(tl_ends_suffice(&ends, &config.gear, CABLE, 1, &to_3));
    assert_true(tl_ends_suffice(&ends, &config.gear, PENDANT, 2, &to_3));
    assert_true(tl_ends_suffice(&ends, &config.gear, PENDANT, 3, &(struct tl_counted){0}));
    assert_true(tl_ends_suffice(&ends, &config.gear, PENDANT, 9, &to_3));
    /* one that would be the lowest goes at once */
    struct tl_ended late = trap(1, 3);
    late.event.recovery_ms = R + 1;
    assert_true(take(&ends, late, &gone));
    assert_int_equal(gone.event.pass, 5);
    memset(&ends, 0, sizeof ends);
    for (uint32_t pass = 10; pass < 10 + TL_ENDED_MAX; pass++) {
        assert_true(news(&ends, trap(pass, 1)));
    }
    assert_true(take(&ends, trap(9, 3), &gone));
    assert_int_equal(gone.event.pass, 9);
    assert_int_equal(ends.count, TL_ENDED_MAX);
    assert_int_equal(ends.end[0].ended.event.pass, 10);
    assert_false(tl_ends_suffice(&ends, &config.gear, PENDANT, 3, &(struct tl_counted){{R, 8}, 0}));
    assert_false(news(&ends, trap(9, 3)));
}

static struct tl_counted
counted_of(const struct tl_ends *ends, uint32_t wire, struct tl_counted base)
{
    return tl_ends_counted(ends, &config.gear, PENDANT, wire, &base);
}

static void
wear_what_a_count_has_in_it(void **state)
{
    struct tl_ends ends = {0};
    const struct tl_counted none = {0};
    const struct tl_counted to_3_but_2 = {{R, 3}, 2};
    (void)state;
    struct tl_counted counted = counted_of(&ends, 1, none);
    assert_int_equal(counted.last.pass, 0);
    assert_int_equal(counted.without, 0);
    (void)news(&ends, trap(5, 1));
    (void)news(&ends, trap(7, 1));
    (void)news(&ends, ended(6, TL_OUTCOME_BOLTER, 0));
    counted = counted_of(&ends, 1, none); /* of 1 to 4 nothing is known */
    assert_int_equal(counted.last.pass, 7);
    assert_int_equal(counted.without, 0x7Au);
    counted = counted_of(&ends, 2, none); /* nothing at all on wire 2 */
    assert_int_equal(counted.last.pass, 7);
    assert_int_equal(counted.without, 0x7Fu);
    counted = counted_of(&ends, 1, to_3_but_2); /* 1 and 3 are in it, 2, 4 and 6 are not */
    assert_int_equal(counted.last.pass, 7);
    assert_int_equal(counted.without, 2u | 8u | 32u);
    (void)news(&ends, trap(2, 1));
    counted = counted_of(&ends, 1, to_3_but_2);
    assert_int_equal(counted.without, 2u | 8u);
    counted = counted_of(&ends, 2, to_3_but_2);
    assert_int_equal(counted.without, 1u | 2u | 4u | 8u | 32u);
    const struct tl_counted later = {{R + 1, 2}, 0};
    counted = counted_of(&ends, 1, later);
    assert_int_equal(counted.last.recovery_ms, R + 1);
    assert_int_equal(counted.last.pass, 2);
    assert_int_equal(counted.without, 0);
    (void)news(&ends, trap(50, 1));
    counted = counted_of(&ends, 1, none);
    assert_int_equal(counted.without, UINT32_MAX - 1); /* 19 to 49 */
}

/*
 * The word has the trap of pass 1 in it, on wire 3; then it turns out to have been wire 2. What a word
 * of wire 2 does not have is added; what one of wire 3 has is its station's to take away.
 */
static void
wear_a_trap_that_is_corrected_after_the_word_is_in_neither_less(void **state)
{
    struct tl_ends ends = {0};
    const struct tl_counted none = {0};
    (void)state;
    (void)news(&ends, trap(1, 3));
    struct tl_counted third = counted_of(&ends, 3, none);
    struct tl_counted second = counted_of(&ends, 2, none);
    (void)news(&ends, trap(1, 2));
    assert_int_equal(tl_ends_not_in(&ends, &config.gear, PENDANT, 3, &third), 0);
    assert_int_equal(tl_ends_corrected(&ends, &config.gear, PENDANT, 3, &third), 1);
    assert_int_equal(tl_ends_not_in(&ends, &config.gear, PENDANT, 2, &second), 1);
    assert_int_equal(tl_ends_corrected(&ends, &config.gear, PENDANT, 2, &second), 0);
    third = counted_of(&ends, 3, none); /* restated, one lower */
    assert_int_equal(tl_ends_corrected(&ends, &config.gear, PENDANT, 3, &third), 0);
    (void)news(&ends, trap(1, 3)); /* and back again */
    assert_int_equal(tl_ends_not_in(&ends, &config.gear, PENDANT, 3, &third), 1);
}

static void
wear_the_ends_of_a_drill_are_dropped(void **state)
{
    struct tl_ends ends = {0};
    struct tl_ended before = trap(9, 2);
    (void)state;
    before.event.recovery_ms = R - 1;
    (void)news(&ends, before);
    (void)news(&ends, trap(1, 2));
    (void)news(&ends, trap(2, 2));
    tl_ends_drop_recovery(&ends, R);
    assert_int_equal(ends.count, 1);
    assert_non_null(tl_ends_find(&ends, before.event));
    assert_null(tl_ends_find(&ends, (struct tl_event){R, 1}));
}

static void
wear_a_tally_keeps_what_is_let_go(void **state)
{
    struct tl_ends ends = {0};
    struct tl_tally tally = {.known = true, .base = {.traps = 80, .counted = {{R, 3}, 4}}};
    struct tl_tally unknown = {0};
    (void)state;
    assert_int_equal(tl_tally_traps(&unknown, &ends, &config.gear, PENDANT, 1), 0);
    /* pass 1 was open when it was said, 2 and 3 are in it */
    for (uint32_t pass = 1; pass <= 3 * TL_ENDED_MAX; pass++) {
        struct tl_ended gone;
        assert_true(take(&ends, trap(pass, 1), &gone));
        tl_tally_let_go(&tally, &config.gear, PENDANT, 1, &gone);
        tl_tally_let_go(&unknown, &config.gear, PENDANT, 1, &gone);
        uint32_t wanted = 80 + pass - (pass < 2 ? 0 : pass == 2 ? 1 : 2);
        assert_int_equal(tl_tally_traps(&tally, &ends, &config.gear, PENDANT, 1), wanted);
        assert_int_equal(tl_tally_traps(&tally, &ends, &config.gear, PENDANT, 2), tally.base.traps);
    }
    assert_int_equal(unknown.base.traps, 0);
}

static void
wear_of_a_datum(void **state)
{
    struct tl_datum pendant = {.kind = TL_DATUM_PENDANT_LIFE, .known = true};
    struct tl_datum cable = {.kind = TL_DATUM_CABLE, .known = true};
    struct tl_datum rig = {.kind = TL_DATUM_RIG, .known = true};
    (void)state;
    assert_ptr_equal(tl_datum_wear(&pendant), &pendant.as.pendant_life);
    assert_ptr_equal(tl_datum_wear(&cable), &cable.as.cable.wear);
    assert_ptr_equal(tl_datum_wear_of(&pendant), &pendant.as.pendant_life);
    assert_ptr_equal(tl_datum_wear_of(&cable), &cable.as.cable.wear);
    assert_null(tl_datum_wear(&rig));
    assert_null(tl_datum_wear_of(&rig));
    pendant.known = false;
    assert_null(tl_datum_wear(&pendant));
    assert_non_null(tl_datum_wear_of(&pendant));
}

/* NAVEDTRA 14310 p. 117: after the first 50, not more than 60; then every 200. */
static void
wear_detorque_is_due_at_50_not_past_60_then_every_200(void **state)
{
    static const struct {
        uint32_t at, due, last;
    } rows[] = {{0, 50, 60}, {50, 250, 250}, {250, 450, 450}, {57, 257, 257}};
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        uint32_t due = 0;
        uint32_t last = 0;
        tl_detorque_bounds(&config.gear.limits, rows[i].at, &due, &last);
        assert_int_equal(due, rows[i].due);
        assert_int_equal(last, rows[i].last);
    }
}

/* A word as people read it. */
static void
wear_in_words(void **state)
{
    static const struct {
        struct tl_datum datum;
        const char *text;
    } rows[] = {
        {{.kind = PENDANT, .slot = 2, .known = true, .as.pendant_life = {.traps = 20}},
         "pendant 2: 20 traps"},
        {{.kind = PENDANT,
          .slot = 2,
          .known = true,
          .as.pendant_life = {.traps = 91, .serial = "P-0412", .counted = {{R, 7}, 0}}},
         "pendant 2 (P-0412): 91 traps to pass 7"},
        {{.kind = CABLE, .slot = 3, .known = true, .as.cable = {.wear = {.traps = 31}}},
         "cable 3: 31 traps, never detorqued"},
        {{.kind = CABLE,
          .slot = 3,
          .known = true,
          .as.cable = {.wear = {.traps = 251, .serial = "C-22", .counted = {{R, 7}, 0}},
                       .detorqued_at = 51}},
         "cable 3 (C-22): 251 traps to pass 7, detorqued at 51"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[TL_TEXT_CAP];
        assert_string_equal(tl_datum_text(&rows[i].datum, text, sizeof text), rows[i].text);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(wear_events_are_by_recovery_then_by_pass, set_up),
        cmocka_unit_test_setup(wear_serials, set_up),
        cmocka_unit_test_setup(wear_a_count_has_what_ended_up_to_its_last_pass, set_up),
        cmocka_unit_test_setup(wear_what_loads_what, set_up),
        cmocka_unit_test_setup(wear_a_trap_is_there_once_however_often_it_is_said, set_up),
        cmocka_unit_test_setup(wear_a_corrected_result_moves, set_up),
        cmocka_unit_test_setup(wear_the_lowest_goes_when_there_is_no_room, set_up),
        cmocka_unit_test_setup(wear_what_a_count_has_in_it, set_up),
        cmocka_unit_test_setup(wear_a_trap_that_is_corrected_after_the_word_is_in_neither_less,
                               set_up),
        cmocka_unit_test_setup(wear_the_ends_of_a_drill_are_dropped, set_up),
        cmocka_unit_test_setup(wear_a_tally_keeps_what_is_let_go, set_up),
        cmocka_unit_test_setup(wear_of_a_datum, set_up),
        cmocka_unit_test_setup(wear_detorque_is_due_at_50_not_past_60_then_every_200, set_up),
        cmocka_unit_test_setup(wear_in_words, set_up),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
