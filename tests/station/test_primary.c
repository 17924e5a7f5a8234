/* SPDX-License-Identifier: Apache-2.0 */
/* test_primary - no order is reckoned from a picture that is behind what primary itself has said */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/station/desk.h"

static const char NO_RECOVERY[] = "do not show the recovery";
static const char NO_ORDER[] = "do not show yet what was ordered here";
/* What primary says of the list. */
static const char *const words[] = {"order 202 sanderling 40000", "take 201", "cancel 201"};
enum {
    WORDS = sizeof words / sizeof words[0]
};

static struct tl_datum
say(struct desk *d, const char *line)
{
    uint64_t sequence = 0;
    const struct tl_command *command = desk_ask(d, line);
    if (command->kind != TL_COMMAND_SAY || command->count != 1) {
        fail_msg("%s: %s", line, command->text);
    }
    struct tl_datum said = command->datum[0];
    assert_int_equal(tl_member_say(&d->member, &said, d->now_ms, &sequence), TL_OK);
    return said;
}

static void
answers(struct desk *d, const char *line, const char *why, bool waits)
{
    const struct tl_command *command = desk_ask(d, line);
    if (command->kind != TL_COMMAND_ERROR || command->may_pass != waits ||
        strstr(command->text, why) == NULL) {
        fail_msg("%s: %s", line, command->text);
    }
}

static void
all_wait(struct desk *d, const char *why)
{
    for (size_t i = 0; i < WORDS; i++) {
        answers(d, words[i], why, true);
    }
}

/* Both validators have heard it. */
static void
show(struct desk *d, const struct tl_datum *said)
{
    for (uint32_t v = 0; v < 2; v++) {
        struct tl_picture *picture = &d->picture[v];
        picture->number++;
        if (said->kind == TL_DATUM_RECOVERY) {
            picture->recovery_ms = picture->highest_recovery_ms = said->as.recovery.recovery_ms;
            picture->open = said->as.recovery.state == TL_RECOVERY_OPEN;
            picture->list_count = picture->highest_pass = 0;
            continue;
        }
        uint32_t at = said->slot - 1;
        picture->list[at] = (struct tl_listed){.event = said->stated_for[0], .order_known = true};
        picture->list[at].order = said->as.order;
        picture->list_count = at < picture->list_count ? picture->list_count : at + 1;
        picture->highest_pass = picture->list_count;
    }
    desk_turn(d);
}

static struct desk *
open_here(void)
{
    struct desk *d = desk_new_of("primary");
    answers(d, words[0], "no recovery is open here", true);
    struct tl_datum said = say(d, "open");
    show(d, &said);
    return d;
}

/* The picture still has the recovery before, with its passes, when the first order is typed. */
static void
of_the_recovery_that_was_just_opened(void **state)
{
    (void)state;
    struct desk *d = open_here();
    struct tl_datum first = say(d, "order 201 plover 34000");
    show(d, &first);
    struct tl_datum closed = say(d, "close");
    answers(d, words[0], "the recovery is closed", false);
    struct tl_datum opened = say(d, "open");
    assert_true(opened.as.recovery.recovery_ms > closed.as.recovery.recovery_ms);
    all_wait(d, NO_RECOVERY);
    show(d, &opened);
    struct tl_datum said = say(d, words[0]);
    assert_int_equal(said.stated_for[0].recovery_ms, opened.as.recovery.recovery_ms);
    assert_int_equal(said.stated_for[0].pass, 1);
    free(d);
}

/* Two recoveries are not one, though no picture has shown the first of them yet. */
static void
two_opened_in_one_moment(void **state)
{
    (void)state;
    struct desk *d = open_here();
    struct tl_datum first = say(d, "open");
    struct tl_datum second = say(d, "open");
    assert_true(second.as.recovery.recovery_ms > first.as.recovery.recovery_ms);
    free(d);
}

/* Else one aircraft stands on the list twice, or two of them at one place. */
static void
after_what_was_just_ordered(void **state)
{
    (void)state;
    struct desk *d = open_here();
    struct tl_datum first = say(d, "order 201 plover 34000");
    all_wait(d, NO_ORDER);
    show(d, &first);
    struct tl_datum corrected = say(d, "order 201 plover 33000");
    assert_int_equal(corrected.slot, 1);
    all_wait(d, NO_ORDER);
    show(d, &corrected);
    struct tl_datum second = say(d, words[0]);
    assert_int_equal(second.slot, 2);
    all_wait(d, NO_ORDER);
    show(d, &second);
    struct tl_datum taken = say(d, "take 202");
    assert_true(taken.as.order.place < corrected.as.order.place);
    all_wait(d, NO_ORDER);
    show(d, &taken);
    struct tl_datum cancelled = say(d, "cancel 202");
    all_wait(d, NO_ORDER);
    show(d, &cancelled);
    (void)say(d, "take 201");
    free(d);
}

/* A word that the validators refused, or have let pass unshown, holds nobody up. */
static void
but_not_for_ever(void **state)
{
    (void)state;
    struct desk *d = open_here();
    struct tl_datum first = say(d, "order 201 plover 34000");
    show(d, &first);
    (void)say(d, "order 201 plover 33000");
    all_wait(d, NO_ORDER);
    d->refuse = TL_REFUSAL_RANGE;
    desk_turn(d);
    d->refuse = TL_REFUSAL_UNKNOWN;
    (void)say(d, words[0]);
    all_wait(d, NO_ORDER);
    desk_turn(d);
    desk_turn(d);
    desk_turn(d);
    (void)say(d, words[1]);
    free(d);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(of_the_recovery_that_was_just_opened),
        cmocka_unit_test(two_opened_in_one_moment),
        cmocka_unit_test(after_what_was_just_ordered),
        cmocka_unit_test(but_not_for_ever),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
