/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_tally - the gear officer's counts: moved on by each trap, corrected, lost when passes may have
 * ended unseen, offered by the record
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/station/desk.h"

#define PENDANT TL_DATUM_PENDANT_LIFE
#define CABLE   TL_DATUM_CABLE

enum {
    WIRE = 3
};

static const struct tl_result bolter = {TL_OUTCOME_BOLTER, 0};
static const struct tl_result trap_3 = {TL_OUTCOME_TRAP, WIRE};

static void
expect(const struct desk *d, enum tl_datum_kind kind, uint32_t slot, uint32_t traps)
{
    const struct tl_wear *wear = desk_says(d, kind, slot);
    assert_non_null(wear);
    assert_int_equal(wear->traps, traps);
}

static struct desk *
start(void)
{
    struct desk *d = desk_new();
    desk_key(d, "pendant-life 3 40 P-0412");
    desk_key(d, "pendant-life 2 7 P-0409");
    desk_key(d, "cable 3 212 50 C-0077");
    expect(d, PENDANT, WIRE, 40);
    return d;
}

static void
a_trap_is_restated_once(void **state)
{
    (void)state;
    struct desk *d = start();
    uint64_t said = d->said;
    desk_trap(d, 1, WIRE);
    desk_turn(d);
    expect(d, PENDANT, WIRE, 41);
    expect(d, CABLE, WIRE, 213);
    expect(d, PENDANT, 2, 7);
    assert_int_equal(d->said, said + 2);
    const struct tl_wear *wear = desk_says(d, PENDANT, WIRE);
    assert_true(wear->moved);
    assert_string_equal(wear->serial, "P-0412");
    assert_int_equal(wear->counted.last.pass, 1);
    assert_int_equal(wear->counted.without, 0);
    const struct tl_own *own = tl_outbox_own(&d->member.outbox, CABLE, WIRE);
    assert_int_equal(own->datum.as.cable.detorqued_at, 50);
    assert_true(desk_told(d, "counted: "));
    desk_turn(d);
    desk_ends_at(d, 0, 2, bolter);
    desk_ends_at(d, 1, 2, bolter);
    desk_turn(d);
    assert_int_equal(d->said, said + 2);
    free(d);
}

static void
a_corrected_result_moves_both_counts(void **state)
{
    (void)state;
    struct desk *d = start();
    desk_trap(d, 1, WIRE);
    desk_turn(d);
    desk_trap(d, 1, 2);
    desk_turn(d);
    expect(d, PENDANT, WIRE, 40);
    expect(d, PENDANT, 2, 8);
    desk_ends_at(d, 0, 1, bolter);
    desk_ends_at(d, 1, 1, bolter);
    desk_turn(d);
    expect(d, PENDANT, WIRE, 40);
    expect(d, PENDANT, 2, 7);
    free(d);
}

/* Another trap on the same wire instead: the number is the same, what it has in it is not. */
static void
a_count_says_which_traps_it_has(void **state)
{
    (void)state;
    struct desk *d = start();
    desk_trap(d, 1, WIRE);
    desk_trap(d, 2, 2);
    desk_turn(d);
    assert_int_equal(desk_says(d, PENDANT, WIRE)->counted.without, 1); /* 1 and not 2 */
    desk_trap(d, 1, 2);
    desk_trap(d, 2, WIRE);
    desk_turn(d);
    expect(d, PENDANT, WIRE, 41);
    assert_int_equal(desk_says(d, PENDANT, WIRE)->counted.last.pass, 2);
    assert_int_equal(desk_says(d, PENDANT, WIRE)->counted.without, 2);
    free(d);
}

/* It never says fewer than its operator confirmed, whatever pictures say of passes before that. */
static void
what_was_confirmed_is_not_taken_away(void **state)
{
    (void)state;
    struct desk *d = desk_new();
    desk_trap(d, 1, WIRE);
    desk_turn(d);
    desk_key(d, "pendant-life 3 40 P-0412"); /* has the trap of pass 1 in it */
    assert_int_equal(desk_says(d, PENDANT, WIRE)->counted.last.pass, 1);
    desk_key(d, "pendant-life 2 7 P-0409");
    desk_trap(d, 1, 2);
    desk_turn(d);
    expect(d, PENDANT, WIRE, 40);
    expect(d, PENDANT, 2, 8);
    free(d);
}

/* One is behind, or has heard another result: until they agree nothing is counted. */
static void
only_what_the_pictures_agree_on_is_counted(void **state)
{
    (void)state;
    struct desk *d = start();
    desk_ends_at(d, 0, 1, trap_3);
    desk_ends_at(d, 1, 1, bolter);
    desk_turn(d);
    expect(d, PENDANT, WIRE, 40);
    desk_ends_at(d, 1, 1, trap_3);
    desk_turn(d);
    expect(d, PENDANT, WIRE, 41);
    desk_ends_at(d, 0, 2, trap_3); /* the other does not know of it yet */
    desk_turn(d);
    expect(d, PENDANT, WIRE, 42);
    free(d);
}

static void
a_new_one_has_nothing_of_what_was_before(void **state)
{
    (void)state;
    struct desk *d = start();
    desk_trap(d, 1, WIRE);
    desk_trap(d, 2, 2);
    desk_turn(d);
    desk_key(d, "pendant-new 3 P-0413");
    expect(d, PENDANT, WIRE, 0);
    assert_string_equal(desk_says(d, PENDANT, WIRE)->serial, "P-0413");
    desk_trap(d, 2, WIRE); /* of the pass before it was fitted */
    desk_turn(d);
    expect(d, PENDANT, WIRE, 0);
    expect(d, PENDANT, 2, 7);
    desk_trap(d, 3, WIRE);
    desk_turn(d);
    expect(d, PENDANT, WIRE, 1);
    expect(d, CABLE, WIRE, 215);
    free(d);
}

static void
a_refused_word_leaves_the_count_unknown(void **state)
{
    (void)state;
    struct desk *d = start();
    d->refuse = TL_REFUSAL_LOWER_COUNT;
    desk_key(d, "pendant-life 3 60 P-0412");
    assert_null(desk_says(d, PENDANT, WIRE));
    d->refuse = TL_REFUSAL_UNKNOWN;
    desk_trap(d, 1, WIRE);
    desk_turn(d);
    assert_null(desk_says(d, PENDANT, WIRE)); /* from nothing nothing is counted */
    expect(d, CABLE, WIRE, 213);
    free(d);
}

/* No answer in time to what it moved on by itself: it is said again. */
static void
what_nobody_answered_is_said_again(void **state)
{
    (void)state;
    struct desk *d = start();
    desk_trap(d, 1, WIRE);
    d->picture[1] = d->picture[0];
    desk_turn(d);
    expect(d, PENDANT, WIRE, 41);
    desk_alone(d, 5000);
    desk_trap(d, 2, WIRE);
    desk_turn(d);
    desk_turn(d);
    expect(d, PENDANT, WIRE, 42);
    expect(d, CABLE, WIRE, 214);
    free(d);
}

static void
passes_of_while_it_was_alone_are_counted_when_the_picture_reaches_back(void **state)
{
    (void)state;
    struct desk *d = start();
    desk_trap(d, 1, WIRE);
    desk_turn(d);
    desk_alone(d, 60000);
    for (uint32_t pass = 2; pass <= TL_ENDED_SHOWN; pass++) {
        desk_trap(d, pass, WIRE);
    }
    desk_turn(d);
    expect(d, PENDANT, WIRE, 40 + TL_ENDED_SHOWN);
    assert_false(desk_told(d, "are not known"));
    free(d);
}

static void
counts_are_lost_when_passes_may_have_ended_unseen(void **state)
{
    (void)state;
    struct desk *d = start();
    desk_trap(d, 1, WIRE);
    desk_turn(d);
    desk_alone(d, 60000);
    for (uint32_t pass = 2; pass <= TL_ENDED_SHOWN + 2; pass++) {
        desk_trap(d, pass, WIRE);
    }
    desk_turn(d);
    assert_null(desk_says(d, PENDANT, WIRE));
    assert_null(desk_says(d, CABLE, WIRE));
    assert_true(desk_told(d, "passes may have ended unseen"));
    free(d);
}

/* Both validators are new and remember nothing: what ended while nobody was heard is not there. */
static void
counts_are_lost_when_the_validators_are_new_after_a_silence(void **state)
{
    (void)state;
    struct desk *d = start();
    desk_trap(d, 1, WIRE);
    desk_turn(d);
    desk_alone(d, 60000);
    for (uint32_t v = 0; v < 2; v++) {
        d->incarnation[v]++;
        d->picture[v].ended_count = 0;
        d->picture[v].number = 1;
    }
    desk_turn(d);
    assert_null(desk_says(d, PENDANT, WIRE));
    free(d);
}

/* One that was started again while the other was there has lost nothing that matters. */
static void
one_new_validator_takes_nothing_away(void **state)
{
    (void)state;
    struct desk *d = start();
    desk_trap(d, 1, WIRE);
    desk_turn(d);
    d->incarnation[1]++;
    d->picture[1].ended_count = 0;
    d->picture[1].number = 1;
    desk_turn(d);
    desk_ends_at(d, 0, 2, trap_3);
    desk_ends_at(d, 1, 2, trap_3);
    desk_turn(d);
    expect(d, PENDANT, WIRE, 42);
    free(d);
}

/* ---- the record ---- */

static struct tl_worn
worn(uint32_t wire, uint32_t traps, const char *serial)
{
    struct tl_worn w = {.wire = wire, .wear = {.traps = traps, .counted = {{DESK_R, 1}, 0}}};
    memcpy(w.wear.serial, serial, strlen(serial));
    return w;
}

static void
the_record_is_offered_and_taken_with_one_word(void **state)
{
    (void)state;
    struct desk *d = desk_new();
    struct tl_worn has[3] = {worn(WIRE, 91, "P-0412"), worn(2, 8, "P-0409"),
                             worn(0, 213, "C-0077")};
    has[2].engine = WIRE;
    has[2].detorqued_at = 50;
    desk_trap(d, 1, WIRE); /* is in those figures */
    desk_recorder(d, 1, has, 3);
    desk_turn(d);
    assert_true(desk_told(d, "the record of recorder-1 has "));
    assert_true(desk_told(d, "P-0412"));
    assert_true(desk_told(d, "'from-record' takes"));
    assert_null(desk_says(d, PENDANT, WIRE)); /* nobody has confirmed it */
    uint32_t lines = d->line_count;
    desk_turn(d);
    assert_int_equal(d->line_count, lines); /* offered once */
    desk_key(d, "from-record");
    expect(d, PENDANT, WIRE, 91);
    expect(d, PENDANT, 2, 8);
    expect(d, CABLE, WIRE, 213);
    assert_int_equal(tl_outbox_own(&d->member.outbox, CABLE, WIRE)->datum.as.cable.detorqued_at,
                     50);
    desk_trap(d, 2, WIRE);
    desk_turn(d);
    expect(d, PENDANT, WIRE, 92);
    assert_int_equal(desk_ask(d, "from-record")->kind, TL_COMMAND_ERROR);
    free(d);
}

/* A trap that the recorder had not counted when it told its figure is added. */
static void
what_the_record_does_not_have_yet_is_added(void **state)
{
    (void)state;
    struct desk *d = desk_new();
    struct tl_worn has = worn(WIRE, 91, "P-0412");
    desk_trap(d, 1, WIRE);
    desk_trap(d, 2, WIRE);
    desk_recorder(d, 1, &has, 1);
    desk_turn(d);
    desk_key(d, "from-record");
    expect(d, PENDANT, WIRE, 92);
    free(d);
}

static void
of_two_records_the_higher_is_offered(void **state)
{
    (void)state;
    struct desk *d = desk_new();
    struct tl_worn one = worn(WIRE, 90, "P-0412");
    struct tl_worn two = worn(WIRE, 91, "P-0412");
    desk_recorder(d, 1, &one, 1);
    desk_recorder(d, 2, &two, 1);
    desk_turn(d);
    desk_key(d, "from-record");
    expect(d, PENDANT, WIRE, 91);
    free(d);
}

/* It cannot know what ended since it was last heard. */
static void
a_record_that_is_silent_offers_nothing(void **state)
{
    (void)state;
    struct desk *d = desk_new();
    struct tl_worn one = worn(WIRE, 95, "P-0413");
    struct tl_worn two = worn(WIRE, 91, "P-0412");
    desk_recorder(d, 1, &one, 1);
    for (uint32_t i = 0; i < TL_ALONE_MS / 1000; i++) {
        desk_turn(d);
    }
    assert_int_equal(desk_ask(d, "from-record")->kind, TL_COMMAND_ERROR);
    desk_recorder(d, 2, &two, 1); /* and does not dispute what another has */
    desk_turn(d);
    desk_key(d, "from-record");
    expect(d, PENDANT, WIRE, 91);
    for (uint32_t i = 0; i < 6; i++) {
        desk_turn(d);
    }
    assert_false(desk_told(d, "DIFFERS"));
    free(d);
}

/* They name different pendants: which is there, people must say. */
static void
records_that_name_two_serials_offer_nothing(void **state)
{
    (void)state;
    struct desk *d = desk_new();
    struct tl_worn one = worn(WIRE, 90, "P-0412");
    struct tl_worn two = worn(WIRE, 3, "P-0413");
    desk_recorder(d, 1, &one, 1);
    desk_recorder(d, 2, &two, 1);
    desk_turn(d);
    assert_false(desk_told(d, "the record of"));
    assert_int_equal(desk_ask(d, "from-record")->kind, TL_COMMAND_ERROR);
    free(d);
}

/* By the slower bus, from the life before, or from somebody who is no recorder. */
static void
an_older_figure_and_one_of_no_recorder_are_ignored(void **state)
{
    static const struct {
        const char *node;
        uint64_t incarnation, sequence;
        uint32_t traps; /* that are known then */
    } rows[] = {
        {"recorder-1", 5, 10, 1}, {"recorder-1", 5, 9, 1},  {"recorder-1", 5, 10, 1},
        {"recorder-1", 4, 99, 1}, {"recorder-1", 5, 11, 5}, {"recorder-1", 6, 1, 6},
        {"platform", 9, 99, 6},   {"recorder-9", 9, 99, 6},
    };
    (void)state;
    struct desk *d = desk_new();
    struct tl_envelope *e = calloc(1, sizeof *e);
    assert_non_null(e);
    for (uint32_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        memset(e, 0, sizeof *e);
        e->body = TL_BODY_RECORDED;
        memcpy(e->node, rows[i].node, strlen(rows[i].node));
        e->incarnation = rows[i].incarnation;
        e->sequence = rows[i].sequence;
        e->as.recorded.worn_count = 1;
        e->as.recorded.worn[0] = worn(WIRE, i + 1, "P-0412");
        tl_member_message(&d->member, e, d->now_ms);
        const char *recorder = NULL;
        const struct tl_worn *has =
            tl_tallies_recorded(&d->tallies, &d->member, PENDANT, WIRE, &recorder);
        assert_non_null(has);
        if (has->wear.traps != rows[i].traps) {
            fail_msg("row %u: %u traps", i, has->wear.traps);
        }
    }
    assert_int_equal(d->member.worn_count, 1);
    free(e);
    free(d);
}

static void
a_record_that_counts_otherwise_is_told_of(void **state)
{
    (void)state;
    struct desk *d = start();
    desk_trap(d, 1, WIRE);
    desk_turn(d);
    struct tl_worn has = worn(WIRE, 41, "P-0412");
    desk_recorder(d, 1, &has, 1);
    for (uint32_t i = 0; i < 6; i++) {
        desk_turn(d);
    }
    assert_false(desk_told(d, "DIFFERS"));
    has = worn(WIRE, 39, "P-0412");
    desk_recorder(d, 1, &has, 1);
    desk_turn(d);
    assert_false(desk_told(d, "DIFFERS")); /* it may only be behind */
    for (uint32_t i = 0; i < 3; i++) {
        desk_turn(d);
    }
    assert_true(desk_told(d, "DIFFERS: recorder-1 has "));
    uint32_t lines = d->line_count;
    desk_turn(d);
    assert_int_equal(d->line_count, lines);
    free(d);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_trap_is_restated_once),
        cmocka_unit_test(a_corrected_result_moves_both_counts),
        cmocka_unit_test(a_count_says_which_traps_it_has),
        cmocka_unit_test(what_was_confirmed_is_not_taken_away),
        cmocka_unit_test(only_what_the_pictures_agree_on_is_counted),
        cmocka_unit_test(a_new_one_has_nothing_of_what_was_before),
        cmocka_unit_test(a_refused_word_leaves_the_count_unknown),
        cmocka_unit_test(what_nobody_answered_is_said_again),
        cmocka_unit_test(passes_of_while_it_was_alone_are_counted_when_the_picture_reaches_back),
        cmocka_unit_test(counts_are_lost_when_passes_may_have_ended_unseen),
        cmocka_unit_test(counts_are_lost_when_the_validators_are_new_after_a_silence),
        cmocka_unit_test(one_new_validator_takes_nothing_away),
        cmocka_unit_test(the_record_is_offered_and_taken_with_one_word),
        cmocka_unit_test(what_the_record_does_not_have_yet_is_added),
        cmocka_unit_test(of_two_records_the_higher_is_offered),
        cmocka_unit_test(a_record_that_is_silent_offers_nothing),
        cmocka_unit_test(records_that_name_two_serials_offer_nothing),
        cmocka_unit_test(an_older_figure_and_one_of_no_recorder_are_ignored),
        cmocka_unit_test(a_record_that_counts_otherwise_is_told_of),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
