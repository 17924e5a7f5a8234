/* SPDX-License-Identifier: Apache-2.0 */
/* test_lines - the line for the groove, and what is said of an alert and of people. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "clients/ui/view.h"
#include "tests/support/ship.h"
#include "tests/ui/shown.h"

static void
expect_groove(struct shown *shown, const char *line)
{
    char text[TL_TEXT_CAP];
    char steady[TL_TEXT_CAP];
    assert_string_equal(tl_ui_groove(&shown->state, text, sizeof text, steady, sizeof steady),
                        line);
}

static void
the_groove_line_says_what_is_set_and_the_deck(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    expect_groove(shown, "groove: engines set 34,000 lb - aid plover - deck clear");
    struct tl_datum *foul = shown_word(shown, "platform", TL_DATUM_DECK, 0);
    foul->as.deck = (struct tl_deck){TL_DECK_FOUL, TL_FOUL_EQUIPMENT, 20, false};
    foul->said_age_ms = 8000;
    expect_groove(shown, "groove: engines set 34,000 lb - aid plover - deck foul, about 12 s");
    foul->said_age_ms = 20000;
    expect_groove(shown, "groove: engines set 34,000 lb - aid plover - deck foul");
    shown_word(shown, "safety", TL_DATUM_DECK, 0)->as.deck.state = TL_DECK_STOP;
    expect_groove(shown, "groove: engines set 34,000 lb - aid plover - STOP");
    free(shown);
}

static void
the_groove_line_never_says_set_for_what_is_not(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    struct tl_datum *set = shown_word(shown, "engine-3", TL_DATUM_SET, 0);
    set->as.set_lb = 40000;
    expect_groove(shown, "groove: engines NOT set (3) - aid plover - deck clear");
    set->as.set_lb = 34000;
    set->stated_for[0].pass = 2;
    expect_groove(shown, "groove: engines NOT set (3) - aid plover - deck clear");
    set->stated_for[0].pass = 1;
    struct tl_datum *aid = shown_word(shown, "aid", TL_DATUM_AID, 0);
    aid->stated_for[0].pass = 2;
    expect_groove(shown, "groove: engines set 34,000 lb - aid NOT set - deck clear");
    aid->as.aid.state = TL_AID_FAULT;
    expect_groove(shown, "groove: engines set 34,000 lb - aid FAULT - deck clear");
    shown_word(shown, "deck", TL_DATUM_DECK, 0)->stated_for[0].pass = 2;
    expect_groove(shown, "groove: engines set 34,000 lb - aid FAULT - deck foul");
    free(shown);
}

static void
the_groove_line_says_when_the_picture_is_lost(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    shown->state.picture_old = true;
    expect_groove(shown, "groove: the picture is lost - by voice");
    shown->state.picture_old = false;
    shown->view.event.pass = 0;
    expect_groove(shown, "groove: no aircraft ordered");
    shown->view.any_verdict = false;
    expect_groove(shown, "groove: the picture is lost - by voice");
    free(shown);
}

static void
a_lost_station_is_shown_by_what_two_have_said_for_it(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    shown_word(shown, "engine-2", TL_DATUM_SET, 0)->known = false;
    expect_groove(shown, "groove: engines NOT set (2) - aid plover - deck clear");
    struct tl_voiced *voiced = &shown->picture.voiced[shown->picture.voiced_count++];
    memcpy(voiced->station, "engine-2", 9);
    memcpy(voiced->said_by, "deck", 5);
    voiced->datum = (struct tl_datum){.kind = TL_DATUM_SET,
                                      .known = true,
                                      .stated_for_count = 1,
                                      .stated_for = {shown_event},
                                      .as.set_lb = 34000};
    expect_groove(shown, "groove: engines NOT set (2) - aid plover - deck clear");
    memcpy(voiced->confirmed_by, "primary", 8);
    expect_groove(shown, "groove: engines set 34,000 lb - aid plover - deck clear");
    free(shown);
}

static void
an_alert_offers_its_number_only_where_it_is_owed(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    int wires = tl_config_place(&shown->config, "wires");
    int primary = tl_config_place(&shown->config, "primary");
    int deck = tl_config_place(&shown->config, "deck");
    char line[TL_UI_LINE_CAP];
    struct tl_belled entry = {.number = 7};
    entry.alert.cause =
        (struct tl_cause){.rule = TL_RULE_SHEAVE_DOWN, .station = "wires", .state = TL_CAUSE_WRONG};
    entry.alert.severity = TL_SEVERITY_ALARM;
    entry.alert.state = TL_ALERT_UNACKNOWLEDGED;
    entry.alert.owed = 1u << wires | 1u << primary;
    assert_string_equal(
        tl_ui_edge(&shown->config, TL_BELL_RAISED, &entry, wires, line, sizeof line),
        "ALERT alarm: wires: sheave not up, not bypassed [ack 7]");
    assert_string_equal(tl_ui_edge(&shown->config, TL_BELL_RAISED, &entry, deck, line, sizeof line),
                        "ALERT alarm: wires: sheave not up, not bypassed");
    assert_string_equal(
        tl_ui_edge(&shown->config, TL_BELL_AGAIN, &entry, primary, line, sizeof line),
        "STILL ALERT alarm: wires: sheave not up, not bypassed - not acknowledged by primary, "
        "wires [ack 7]");
    entry.alert.acknowledged = 1u << primary;
    entry.alert.delivered = 1u << primary;
    assert_string_equal(tl_ui_acknowledged(&shown->config, &entry.alert, line, sizeof line),
                        "not acknowledged: wires; acknowledged: primary; not shown yet: wires");
    entry.alert.delivered |= 1u << wires;
    assert_string_equal(tl_ui_acknowledged(&shown->config, &entry.alert, line, sizeof line),
                        "not acknowledged: wires; acknowledged: primary");
    entry.alert.owed = 0;
    assert_string_equal(tl_ui_acknowledged(&shown->config, &entry.alert, line, sizeof line), "");
    free(shown);
}

static void
every_line_of_gear_and_people_fits_eighty_columns(void **state)
{
    (void)state;
    struct shown *shown = shown_new();
    for (uint32_t n = 1; n <= 4; n++) {
        shown_word(shown, "wires", TL_DATUM_RIG, n)->as.rig = TL_RIG_RIGGED;
        shown_word(shown, "wires", TL_DATUM_SHEAVE, n)->as.sheave.state = TL_SHEAVE_UP;
        shown_word(shown, "wires", TL_DATUM_PENDANT, n)->as.pendant =
            (struct tl_pendant){TL_PENDANT_GOOD, 275, 490};
        shown_word(shown, "gear-officer", TL_DATUM_CABLE, n)->as.cable =
            (struct tl_cable){.wear.traps = 250, .detorqued_at = 50};
    }
    shown_word(shown, "barricade", TL_DATUM_BARRICADE, 0)->as.barricade.state = TL_BARRICADE_READY;
    shown_word(shown, "barricade", TL_DATUM_BARRICADE_POWER, 0)->as.barricade_power =
        (struct tl_barricade_power){1500, 3};
    for (uint32_t i = 0; i < shown->picture.station_count; i++) {
        const char *id = shown->picture.station[i].node;
        memcpy(shown_word(shown, id, TL_DATUM_WATCH, 0)->as.watch, "a name of 23 characters", 24);
    }
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    tl_ui_print_gear(&shown->state, out);
    tl_ui_print_people(&shown->state, out);
    assert_int_equal(fclose(out), 0);
    size_t lines = 0;
    char *rest = NULL;
    for (char *line = strtok_r(text, "\n", &rest); line != NULL;
         line = strtok_r(NULL, "\n", &rest)) {
        if (strlen(line) > 80) {
            fail_msg("%zu columns: %s", strlen(line), line);
        }
        lines++;
    }
    assert_true(lines > 15);
    free(text);
    free(shown);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_groove_line_says_what_is_set_and_the_deck),
        cmocka_unit_test(the_groove_line_never_says_set_for_what_is_not),
        cmocka_unit_test(the_groove_line_says_when_the_picture_is_lost),
        cmocka_unit_test(a_lost_station_is_shown_by_what_two_have_said_for_it),
        cmocka_unit_test(an_alert_offers_its_number_only_where_it_is_owed),
        cmocka_unit_test(every_line_of_gear_and_people_fits_eighty_columns),
    };
    return cmocka_run_group_tests_name("ui_lines", tests, NULL, NULL);
}
