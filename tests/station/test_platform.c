/* SPDX-License-Identifier: Apache-2.0 */
/* test_platform - a word of the platform that names no pass is not taken for one that has ended */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/station/desk.h"

/* What platform says of the pass that is current, each without a name. */
static const char *const words[] = {"bolter", "wave-off",  "trap 2",
                                    "trap 3", "hook down", "call 202 plover"};
enum {
    WORDS = sizeof words / sizeof words[0]
};

static void
taken_for(struct desk *d, const char *line, uint32_t pass)
{
    const struct tl_command *command = desk_ask(d, line);
    if (command->kind != TL_COMMAND_SAY || command->count != 1 ||
        command->datum[0].stated_for_count != 1 || command->datum[0].stated_for[0].pass != pass) {
        fail_msg("%s: %s", line, command->text);
    }
}

static void
none_taken(struct desk *d, const char *why)
{
    for (size_t i = 0; i < WORDS; i++) {
        const struct tl_command *command = desk_ask(d, words[i]);
        bool waits = strcmp(words[i], "wave-off") != 0; /* it would wave the next aircraft off */
        if (command->kind != TL_COMMAND_ERROR || command->may_pass != waits ||
            strstr(command->text, why) == NULL) {
            fail_msg("%s: %s", words[i], command->text);
        }
    }
}

static void
say(struct desk *d, const char *line)
{
    uint64_t sequence = 0;
    const struct tl_command *command = desk_ask(d, line);
    assert_int_equal(command->kind, TL_COMMAND_SAY);
    assert_int_equal(tl_member_say(&d->member, &command->datum[0], d->now_ms, &sequence), TL_OK);
}

/* The validators go on showing it as the current one until they have heard: it is typed before. */
static void
not_for_the_pass_that_this_station_ended(void **state)
{
    (void)state;
    struct desk *d = desk_new_of("platform");
    for (size_t i = 0; i < WORDS; i++) {
        taken_for(d, words[i], 1);
    }
    say(d, "trap 3");
    none_taken(d, "event 1 has ended (trap on wire 3)");
    desk_turn(d);
    none_taken(d, "'for 1' after the word corrects that pass");
    free(d);
}

/* A word that the validators refused has ended nothing. */
static void
but_for_one_whose_end_was_refused(void **state)
{
    (void)state;
    struct desk *d = desk_new_of("platform");
    say(d, "trap 3");
    d->refuse = TL_REFUSAL_RANGE;
    desk_turn(d);
    taken_for(d, "trap 2", 1);
    free(d);
}

/* Another life of this station ended it: the picture tells. */
static void
not_for_the_pass_that_is_shown_as_ended(void **state)
{
    (void)state;
    struct desk *d = desk_new_of("platform");
    desk_trap(d, 1, 4);
    desk_turn(d);
    none_taken(d, "event 1 has ended (trap on wire 4)");
    taken_for(d, "bolter for 1", 1);
    free(d);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(not_for_the_pass_that_this_station_ended),
        cmocka_unit_test(but_for_one_whose_end_was_refused),
        cmocka_unit_test(not_for_the_pass_that_is_shown_as_ended),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
