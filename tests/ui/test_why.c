/* SPDX-License-Identifier: Apache-2.0 */
/* test_why - where a cause comes from: own word, sensor, voice, nothing said, the tool itself. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "clients/ui/why.h"
#include "tests/support/ship.h"

static const struct tl_event event = {5000, 1};

struct shown {
    struct tl_config config;
    struct tl_view view;
    struct tl_picture picture;
    struct tl_ui_state state;
    struct tl_why why;
};

static struct tl_station_state *
station(struct shown *shown, const char *id)
{
    for (uint32_t i = 0; i < shown->picture.station_count; i++) {
        if (strcmp(shown->picture.station[i].node, id) == 0) {
            return &shown->picture.station[i];
        }
    }
    fail_msg("no station %s", id);
    abort();
}

static int
set_up(void **state)
{
    struct shown *shown = calloc(1, sizeof *shown);
    assert_non_null(shown);
    ship_config_full(&shown->config, 2);
    for (uint32_t i = 0; i < shown->config.node_count; i++) {
        if (shown->config.node[i].kind == TL_NODE_STATION) {
            struct tl_station_state *at = &shown->picture.station[shown->picture.station_count++];
            memcpy(at->node, shown->config.node[i].id, TL_ID_CAP);
            at->live = TL_LIVE_LIVE;
            at->incarnation = 7;
            at->age_ms = 150;
        }
    }
    shown->view = (struct tl_view){.any_verdict = true,
                                   .from_known = true,
                                   .event_known = true,
                                   .event = event,
                                   .word = TL_WORD_NOT_READY};
    shown->state = (struct tl_ui_state){.config = &shown->config,
                                        .view = &shown->view,
                                        .picture = &shown->picture,
                                        .picture_age_ms = 300};
    *state = shown;
    return 0;
}

static int
tear_down(void **state)
{
    free(*state);
    return 0;
}

static struct tl_datum *
add_word(struct shown *shown, const char *id, enum tl_datum_kind kind, uint32_t slot)
{
    struct tl_station_state *at = station(shown, id);
    struct tl_datum *datum = &at->data[at->datum_count++];
    *datum = (struct tl_datum){.kind = kind,
                               .slot = slot,
                               .known = true,
                               .sequence = at->datum_count,
                               .said_age_ms = 12000,
                               .stated_for_count = 1,
                               .stated_for = {event}};
    return datum;
}

/* The cause of that rule at that station, hanging on its word of that sequence. */
static struct tl_cause *
add_cause(struct shown *shown, enum tl_rule rule, const char *id, uint64_t sequence)
{
    struct tl_cause *cause = &shown->picture.cause[shown->picture.cause_count++];
    *cause = (struct tl_cause){.rule = (uint32_t)rule, .state = TL_CAUSE_WRONG};
    (void)snprintf(cause->station, sizeof cause->station, "%s", id);
    memcpy(cause->subject.node, cause->station, TL_ID_CAP);
    cause->subject.incarnation = 7;
    cause->subject.sequence = sequence;
    cause->reported.known = true;
    return cause;
}

static void
find(struct shown *shown, const struct tl_cause *cause, const char *reported, const char *said_by)
{
    tl_ui_why(&shown->state, cause, &shown->why);
    assert_string_equal(shown->why.reported, reported);
    assert_string_equal(shown->why.said_by, said_by);
}

static void
expect_acts(struct shown *shown, const char *text)
{
    char acts[TL_TEXT_CAP];
    assert_string_equal(tl_places_text(&shown->config, shown->why.acts, acts, sizeof acts), text);
}

static void
an_own_word_is_told_with_its_ages(void **state)
{
    struct shown *shown = *state;
    add_word(shown, "engine-3", TL_DATUM_BATTERY, 0)->as.battery = TL_BATTERY_IN;
    add_word(shown, "engine-3", TL_DATUM_SET, 0)->as.set_lb = 40000;
    struct tl_cause *cause = add_cause(shown, TL_RULE_SETTING_OTHER_AIRCRAFT, "engine-3", 2);
    cause->reported.number = 40000;
    cause->needed = (struct tl_cause_value){true, 34000, "plover"};
    find(shown, cause, "set 40,000 lb", "engine-3");
    assert_string_equal(shown->why.needed, "34,000 lb for plover");
    assert_int_equal(shown->why.how, TL_WHY_KEYED);
    assert_true(shown->why.said_known && shown->why.heard_known);
    assert_int_equal(shown->why.said_age_ms, 12300);
    assert_int_equal(shown->why.heard_age_ms, 450);
    expect_acts(shown, "engine 3, primary");
    /* the same sequence of an earlier life is another statement */
    cause->subject.incarnation = 6;
    find(shown, cause, "", "");
    assert_false(shown->why.said_known || shown->why.heard_known);
    assert_int_equal(shown->why.how, TL_WHY_NOT_TOLD);
}

static void
a_sensor_is_named_as_one(void **state)
{
    struct shown *shown = *state;
    struct tl_datum *datum = add_word(shown, "engine-2", TL_DATUM_ACCUMULATOR, 0);
    datum->as.accumulator_psi = 379;
    datum->sensor = true;
    struct tl_cause *cause = add_cause(shown, TL_RULE_ACCUMULATOR, "engine-2", 1);
    cause->reported.number = 379;
    cause->needed = (struct tl_cause_value){true, 380, ""};
    find(shown, cause, "accumulator 379 psi", "engine-2");
    assert_string_equal(shown->why.needed, "380 psi");
    assert_int_equal(shown->why.how, TL_WHY_SENSOR);
}

/* What was said for a lost station has the number of the signer's change. */
static void
what_is_by_voice_names_both(void **state)
{
    struct shown *shown = *state;
    add_word(shown, "engine-2", TL_DATUM_SET, 0)->as.set_lb = 34000;
    station(shown, "engine-2")->live = TL_LIVE_LOST;
    struct tl_voiced *voiced = &shown->picture.voiced[shown->picture.voiced_count++];
    memcpy(voiced->station, "engine-2", 9);
    memcpy(voiced->said_by, "deck", 5);
    memcpy(voiced->confirmed_by, "primary", 8);
    voiced->datum =
        (struct tl_datum){.kind = TL_DATUM_SET, .known = true, .sequence = 1, .said_age_ms = 2000};
    voiced->datum.as.set_lb = 44000;
    struct tl_cause *cause = add_cause(shown, TL_RULE_SETTING_OTHER_AIRCRAFT, "engine-2", 1);
    cause->needed = (struct tl_cause_value){true, 34000, "plover"};
    find(shown, cause, "set 44,000 lb", "deck");
    assert_string_equal(shown->why.confirmed_by, "primary");
    assert_int_equal(shown->why.how, TL_WHY_BY_VOICE);
    assert_int_equal(shown->why.said_age_ms, 2300);
    assert_int_equal(shown->why.live, TL_LIVE_LIVE);
    /* while it speaks for itself its own word counts */
    station(shown, "engine-2")->live = TL_LIVE_LIVE;
    find(shown, cause, "set 34,000 lb", "engine-2");
    assert_int_equal(shown->why.how, TL_WHY_KEYED);
    assert_string_equal(shown->why.confirmed_by, "");
}

static void
of_a_repeater_the_reader_is_named(void **state)
{
    struct shown *shown = *state;
    add_word(shown, "engine-3", TL_DATUM_SET, 0)->as.set_lb = 34000;
    add_word(shown, shown->config.repeater_reader, TL_DATUM_REPEATER, 2)->as.repeater_lb = 34000;
    add_word(shown, shown->config.repeater_reader, TL_DATUM_REPEATER, 3)->as.repeater_lb = 33000;
    struct tl_cause *cause = add_cause(shown, TL_RULE_REPEATER_DIFFERS, "engine-3", 1);
    cause->reported.number = 33000;
    cause->needed = (struct tl_cause_value){true, 34000, ""};
    tl_ui_why(&shown->state, cause, &shown->why);
    assert_non_null(strstr(shown->why.reported, "33,000 lb"));
    assert_string_equal(shown->why.said_by, shown->config.repeater_reader);
    assert_string_equal(shown->why.needed, "34,000 lb");
    expect_acts(shown, "engine 3, primary");
}

static void
of_engines_that_differ_the_odd_one_is_named(void **state)
{
    struct shown *shown = *state;
    for (uint32_t n = 1; n <= 4; n++) {
        char id[TL_ID_CAP];
        (void)snprintf(id, sizeof id, "engine-%u", n);
        add_word(shown, id, TL_DATUM_SET, 0)->as.set_lb = n == 3 ? 34500 : 34000;
    }
    struct tl_cause *cause = add_cause(shown, TL_RULE_ENGINES_DISAGREE, "", 0);
    cause->reported.number = 34500;
    cause->needed = (struct tl_cause_value){true, 34000, ""};
    find(shown, cause, "set 34,500 lb", "engine-3");
    assert_string_equal(shown->why.needed, "34,000 lb");
    expect_acts(shown, "engine 1, engine 2, engine 3, engine 4, primary");
}

static void
what_is_not_said_has_a_last_word_or_none(void **state)
{
    struct shown *shown = *state;
    struct tl_cause *cause = add_cause(shown, TL_RULE_SHEAVE_DOWN, "wires", 0);
    cause->state = TL_CAUSE_PENDING;
    cause->reported.known = false;
    cause->needed = (struct tl_cause_value){true, 2, ""};
    find(shown, cause, "", "");
    assert_true(shown->why.last_word);
    assert_non_null(shown->why.rule_needs);
    assert_string_equal(shown->why.needed, "");
    add_word(shown, "wires", TL_DATUM_SHEAVE, 1)->as.sheave.state = TL_SHEAVE_DOWN;
    add_word(shown, "wires", TL_DATUM_SHEAVE, 2)->as.sheave.state = TL_SHEAVE_UP;
    find(shown, cause, "sheave 2 up", "wires");
    assert_true(shown->why.last_word);
}

static void
a_wind_is_told_from_the_readings(void **state)
{
    struct shown *shown = *state;
    struct tl_cause *cause = add_cause(shown, TL_RULE_WIND_UNKNOWN, "bridge", 0);
    cause->reported.known = false;
    find(shown, cause, "", "");
    assert_true(shown->why.last_word);
    struct tl_station_state *bridge = station(shown, "bridge");
    bridge->sample_count = 1;
    bridge->samples[0] = (struct tl_sample){.kind = TL_SAMPLE_WIND, .age_ms = 200};
    bridge->samples[0].as.wind =
        (struct tl_wind){.state = TL_WIND_DISAGREE,
                         .reading_count = 2,
                         .reading = {{"port", 100, 270, 3520}, {"starboard", 100, 150, 3200}}};
    find(shown, cause, "sensors disagree: port 27.0 kn from 352; starboard 15.0 kn from 320;",
         "bridge");
    assert_int_equal(shown->why.how, TL_WHY_SENSOR);
    assert_int_equal(shown->why.said_age_ms, 500);
    assert_false(shown->why.last_word);
}

static void
what_the_tool_sees_nobody_has_said(void **state)
{
    struct shown *shown = *state;
    struct tl_cause *cause = add_cause(shown, TL_RULE_STATION_LOST, "wires", 0);
    cause->reported.known = false;
    station(shown, "wires")->live = TL_LIVE_LOST;
    station(shown, "wires")->age_ms = 4000;
    find(shown, cause, "no fresh answer", "");
    assert_false(shown->why.said_known);
    assert_int_equal(shown->why.heard_age_ms, 4300);
    expect_acts(shown, "primary, wires");
    station(shown, "wires")->live = TL_LIVE_NEVER;
    find(shown, cause, "never heard", "");
    assert_false(shown->why.heard_known);
    /* a rule of a later version */
    cause->rule = TL_RULES_MAX;
    find(shown, cause, "", "");
    assert_string_equal(shown->why.rule, "unknown");
    assert_null(shown->why.rule_needs);
}

/* Who has overridden what, and how long it still runs. */
static void
an_override_says_how_long_it_runs(void **state)
{
    struct shown *shown = *state;
    struct tl_override_live *live = &shown->picture.override[shown->picture.override_count++];
    *live = (struct tl_override_live){.override = {.rule = TL_RULE_PENDANT_WORN,
                                                   .station = "wires",
                                                   .valid_s = 600,
                                                   .reason = "one strand"},
                                      .said_by = "primary",
                                      .confirmed_by = "gear-officer",
                                      .left_s = 421};
    struct tl_cause *cause = add_cause(shown, TL_RULE_OVERRIDE_LIVE, "primary", 0);
    cause->reported.number = TL_RULE_PENDANT_WORN;
    tl_ui_why(&shown->state, cause, &shown->why);
    const char *text = shown->why.reported;
    if (strstr(text, "pendant-worn") == NULL || strstr(text, "; 420 s left") == NULL) {
        fail_msg("says: %s", text);
    }
    assert_string_equal(shown->why.confirmed_by, "gear-officer");
}

/* When the screen itself is the cause there is one, whatever an old picture lists. */
static void
the_causes_are_those_that_explain_the_view(void **state)
{
    struct shown *shown = *state;
    (void)add_cause(shown, TL_RULE_STOP, "safety", 1);
    assert_ptr_equal(tl_ui_cause_at(&shown->state, 0), &shown->picture.cause[0]);
    assert_null(tl_ui_cause_at(&shown->state, 1));
    shown->view.from_known = false;
    shown->view.first.rule = TL_RULE_SCREEN_NO_VALIDATOR;
    assert_ptr_equal(tl_ui_cause_at(&shown->state, 0), &shown->view.first);
    assert_null(tl_ui_cause_at(&shown->state, 1));
    shown->view.word = TL_WORD_READY;
    assert_null(tl_ui_cause_at(&shown->state, 0));
}

static char *
printed(struct shown *shown)
{
    char *text = NULL;
    size_t length = 0;
    FILE *out = open_memstream(&text, &length);
    assert_non_null(out);
    tl_ui_print_why(&shown->state, out);
    assert_int_equal(fclose(out), 0);
    return text;
}

static void
lines_say_what_is_told_and_what_is_not(void **state)
{
    struct shown *shown = *state;
    add_word(shown, "engine-3", TL_DATUM_BATTERY, 0)->as.battery = TL_BATTERY_OUT;
    (void)add_cause(shown, TL_RULE_NOT_IN_BATTERY, "engine-3", 1);
    struct tl_cause *lost = add_cause(shown, TL_RULE_STATION_LOST, "wires", 0);
    lost->reported.known = false;
    station(shown, "wires")->live = TL_LIVE_LOST;
    station(shown, "wires")->age_ms = 4000;
    shown->view.first = shown->picture.cause[0];
    char *text = printed(shown);
    static const char *const lines[] = {
        "NOT READY: engine 3: engine not in battery",
        "\n 1 WRONG engine 3: engine not in battery",
        "\n  said by     engine 3, keyed\n"
        "  said        12.3 s ago\n"
        "  heard       its station 0.4 s ago; this word for the first time: not told\n"
        "  acts        engine 3\n",
        "\n 2 WRONG wires: station lost or stale\n"
        "  reported    no fresh answer\n"
        "  needed      no figure told; the rule asks for: ",
        "\n  said by     nobody: seen by the tool itself\n"
        "  said        not told\n"
        "  heard       its station 4.3 s ago, LOST\n"
        "  acts        primary, wires\n",
    };
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        if (strstr(text, lines[i]) == NULL) {
            fail_msg("not said: %s\nin: %s", lines[i], text);
        }
    }
    free(text);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(an_own_word_is_told_with_its_ages),
        TEST(a_sensor_is_named_as_one),
        TEST(what_is_by_voice_names_both),
        TEST(of_a_repeater_the_reader_is_named),
        TEST(of_engines_that_differ_the_odd_one_is_named),
        TEST(what_is_not_said_has_a_last_word_or_none),
        TEST(a_wind_is_told_from_the_readings),
        TEST(what_the_tool_sees_nobody_has_said),
        TEST(lines_say_what_is_told_and_what_is_not),
        TEST(an_override_says_how_long_it_runs),
        TEST(the_causes_are_those_that_explain_the_view),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
