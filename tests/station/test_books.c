/* SPDX-License-Identifier: Apache-2.0 */
/* test_books - what the gear officer may key of pendants and cables, and what is told why it is not */
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

static void
refused(struct desk *d, const char *line, const char *why)
{
    const struct tl_command *command = desk_ask(d, line);
    if (command->kind != TL_COMMAND_ERROR || strstr(command->text, why) == NULL) {
        fail_msg("%s: \"%s\", not \"%s\"", line, command->text, why);
    }
}

static void
a_word_is_read_and_read_back(void **state)
{
    static const struct {
        const char *line;
        enum tl_datum_kind kind;
        uint32_t slot, traps;
        const char *serial;
        uint32_t detorqued_at;
        const char *text; /* in the read-back */
    } rows[] = {
        {"pendant-life 3 40", PENDANT, 3, 40, "", 0, "pendant 3"},
        {"pendant-life 3 40 p-0412", PENDANT, 3, 40, "P-0412", 0, "P-0412"},
        {"pendant-new 3 P-0413", PENDANT, 3, 0, "P-0413", 0, "ANOTHER PENDANT THAN BEFORE"},
        {"pendant-new 3 P-0413 12", PENDANT, 3, 12, "P-0413", 0, "ANOTHER PENDANT THAN BEFORE"},
        {"cable 2 212", CABLE, 2, 212, "", 0, "cable 2"},
        {"cable 2 212 50", CABLE, 2, 212, "", 50, "50"},
        {"cable 2 212 C-0077", CABLE, 2, 212, "C-0077", 0, "C-0077"},
        {"cable 2 212 50 C-0077", CABLE, 2, 212, "C-0077", 50, "C-0077"},
        {"cable-new 2 C-0078", CABLE, 2, 0, "C-0078", 0, "ANOTHER CABLE THAN BEFORE"},
        {"cable-new 2 C-0078 60 50", CABLE, 2, 60, "C-0078", 50, "ANOTHER CABLE THAN BEFORE"},
    };
    (void)state;
    struct desk *d = desk_new();
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct tl_command *command = desk_ask(d, rows[i].line);
        if (command->kind != TL_COMMAND_SAY || command->count != 1 || !command->needs_confirm ||
            strstr(command->text, rows[i].text) == NULL) {
            fail_msg("%s: %s", rows[i].line, command->text);
        }
        const struct tl_datum *datum = &command->datum[0];
        const struct tl_wear *wear = tl_datum_wear(datum);
        assert_non_null(wear);
        assert_int_equal(datum->kind, rows[i].kind);
        assert_int_equal(datum->slot, rows[i].slot);
        assert_int_equal(wear->traps, rows[i].traps);
        assert_string_equal(wear->serial, rows[i].serial);
        assert_false(wear->moved);
        if (datum->kind == CABLE) {
            assert_int_equal(datum->as.cable.detorqued_at, rows[i].detorqued_at);
        }
    }
    free(d);
}

static void
a_word_that_cannot_be_is_refused(void **state)
{
    static const char *const rows[][2] = {
        {"pendant-life", "pendant-life WIRE"},
        {"pendant-life 3", "pendant-life WIRE"},
        {"pendant-life 3 40 P-1 5", "pendant-life WIRE"},
        {"pendant-life 7 40", "wire"},
        {"pendant-life 3 -1", "traps"},
        {"pendant-life 3 100001", "traps"},
        {"pendant-life 3 40 0412", "'0412' cannot be a serial"},
        {"pendant-life 3 40 P-0412-TOO-LONG-NOW", "cannot be a serial"},
        {"pendant-life 3 40 P/1", "cannot be a serial"},
        {"pendant-new 3", "pendant-new WIRE"},
        {"cable 7 10", "engine"},
        {"cable 2 212 213", "after now"},
        {"cable 2 212 0", "last detorque"},
        {"cable 2 212 50 C-1 more", "cable ENGINE"},
        {"cable-new 2", "cable-new ENGINE"},
        {"cable-new 2 C-0078 60 61", "after now"},
        {"detorqued", "detorqued ENGINE"},
        {"detorqued 2", "not known"},
        {"from-record", "no record offers"},
        {"from-record now", "from-record"},
        {"wear now", "wear"},
    };
    (void)state;
    struct desk *d = desk_new();
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        refused(d, rows[i][0], rows[i][1]);
    }
    free(d);
}

static void
fewer_traps_are_not_taken(void **state)
{
    (void)state;
    struct desk *d = desk_new();
    desk_key(d, "pendant-life 3 40 P-0412");
    desk_key(d, "cable 3 212 50 C-0077");
    desk_trap(d, 1, 3);
    desk_turn(d);
    refused(d, "pendant-life 3 40", "has 41 traps (here): fewer are not taken");
    refused(d, "pendant-life 3 0 P-0412", "fewer are not taken");
    refused(d, "pendant-life 3 0 P-0413", "if it was changed: pendant-new 3 P-0413");
    refused(d, "cable 3 212 50", "has 213 traps (here): fewer are not taken");
    refused(d, "cable 3 300 C-0099", "if it was changed: cable-new 3 C-0099");
    assert_int_equal(desk_ask(d, "pendant-life 3 41")->kind, TL_COMMAND_SAY);
    assert_string_equal(d->command.datum[0].as.pendant_life.serial, "P-0412");
    assert_int_equal(desk_ask(d, "pendant-life 3 44 P-0412")->kind, TL_COMMAND_SAY);
    free(d);
}

/* A station that has just started knows nothing: the record does. */
static void
fewer_than_the_record_has_are_not_taken(void **state)
{
    (void)state;
    struct desk *d = desk_new();
    struct tl_worn has[2] = {
        {.wire = 3, .wear = {.traps = 91, .serial = "P-0412"}},
        {.wire = 3, .wear = {.traps = 124, .serial = "P-0400"}, .removed = true},
    };
    desk_recorder(d, 1, has, 2);
    desk_turn(d);
    refused(d, "pendant-life 3 12", "has 91 traps (in the record of recorder-1): fewer");
    refused(d, "pendant-life 3 12 P-0413", "pendant-new 3 P-0413");
    refused(d, "pendant-new 3 P-0400 3", "P-0400 had 124 traps when it was taken off");
    refused(d, "pendant-new 3 P-0400", "fewer are not taken");
    assert_int_equal(desk_ask(d, "pendant-new 3 P-0400 124")->kind, TL_COMMAND_SAY);
    assert_int_equal(desk_ask(d, "pendant-life 3 91")->kind, TL_COMMAND_SAY);
    free(d);
}

static void
a_serial_is_in_one_place_only(void **state)
{
    (void)state;
    struct desk *d = desk_new();
    desk_key(d, "pendant-life 3 40 P-0412");
    refused(d, "pendant-new 2 P-0412", "pendant 3 is P-0412 already");
    refused(d, "pendant-new 3 P-0412", "pendant 3 is P-0412 already");
    assert_int_equal(desk_ask(d, "cable-new 2 P-0412")->kind, TL_COMMAND_SAY); /* no pendant */
    free(d);
}

static void
a_detorque_is_noted_at_what_is_counted(void **state)
{
    (void)state;
    struct desk *d = desk_new();
    desk_key(d, "cable 3 57 C-0077");
    desk_trap(d, 1, 3);
    desk_turn(d);
    desk_key(d, "detorqued 3");
    const struct tl_own *own = tl_outbox_own(&d->member.outbox, CABLE, 3);
    assert_int_equal(own->datum.as.cable.wear.traps, 58);
    assert_int_equal(own->datum.as.cable.detorqued_at, 58);
    assert_string_equal(own->datum.as.cable.wear.serial, "C-0077");
    desk_trap(d, 2, 3);
    desk_turn(d);
    own = tl_outbox_own(&d->member.outbox, CABLE, 3);
    assert_int_equal(own->datum.as.cable.wear.traps, 59);
    assert_int_equal(own->datum.as.cable.detorqued_at, 58);
    free(d);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_word_is_read_and_read_back),
        cmocka_unit_test(a_word_that_cannot_be_is_refused),
        cmocka_unit_test(fewer_traps_are_not_taken),
        cmocka_unit_test(fewer_than_the_record_has_are_not_taken),
        cmocka_unit_test(a_serial_is_in_one_place_only),
        cmocka_unit_test(a_detorque_is_noted_at_what_is_counted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
