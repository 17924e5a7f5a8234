/* SPDX-License-Identifier: Apache-2.0 */
/* test_predicted - the lines of what the mechanics say, units and all */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "clients/ui/why.h"
#include "tests/support/ship.h"

static const struct tl_event event = {5000, 7};

struct shown {
    struct tl_config config;
    struct tl_view view;
    struct tl_picture picture;
    struct tl_ui_state state;
    char *text;
};

/* The invented figures of docs/json.md; every part known, the aircraft stops. */
static int
set_up(void **state)
{
    struct shown *shown = calloc(1, sizeof *shown);
    assert_non_null(shown);
    ship_config_full(&shown->config, 2);
    shown->config.computed.capacity_kftlb = 43500;
    shown->view = (struct tl_view){
        .any_verdict = true, .event_known = true, .event = event, .word = TL_WORD_NOT_READY};
    shown->picture.predicted = (struct tl_predicted){
        .event = event,
        .type = "plover",
        .weight_lb = 33400,
        .arrest = {.known = true,
                   .headwind_kt_x10 = 251,
                   .engaging_kt_x10 = 1040,
                   .energy_kftlb = 17000,
                   .margin_percent = 60,
                   .would_count = 1,
                   .would = {{34000, false, false, 0, 92000, 31, 1740, 1739, 3100}}},
        .ramp = {true, "plover", 350, 3, 8, 140, 0},
        .time = {true, 181, 37, 120, 425}};
    shown->state = (struct tl_ui_state){
        .config = &shown->config, .view = &shown->view, .picture = &shown->picture};
    *state = shown;
    return 0;
}

static int
tear_down(void **state)
{
    struct shown *shown = *state;
    free(shown->text);
    free(shown);
    return 0;
}

static const char *
print(struct shown *shown)
{
    size_t size = 0;
    free(shown->text);
    shown->text = NULL;
    FILE *out = open_memstream(&shown->text, &size);
    assert_non_null(out);
    tl_ui_print_predicted(&shown->state, out);
    assert_int_equal(fclose(out), 0);
    return shown->text;
}

/* Printed again; where lines were folded does not count. */
static void
expect_says(struct shown *shown, const char *part)
{
    char *text = strdup(print(shown));
    size_t n = 0;
    assert_non_null(text);
    for (const char *at = shown->text; *at != '\0'; at++) {
        if (strncmp(at, "\n ", 2) == 0) {
            at += strspn(at, "\n ") - 1;
            text[n++] = ' ';
        } else {
            text[n++] = *at;
        }
    }
    text[n] = '\0';
    if (strstr(text, part) == NULL) {
        fail_msg("no \"%s\" in\n%s", part, text);
    }
    free(text);
}

static void
a_prediction_is_two_paragraphs_with_units(void **state)
{
    assert_string_equal(
        print(*state),
        "predicted engaging 104 kn, energy 17.0 of 43.5 million ft-lbf, at 34,000 lb:\n"
        "          stops in 310 ft, ram 174.0 in, hook load to 92,000 lbf\n"
        "predicted ramp clearance 14.0 ft, touchdown on the aim; last wave-off 12.0 s\n"
        "          (people) or 3.7 s (gear) before touchdown\n");
}

static void
the_ramp_is_counted_down_from_the_call(void **state)
{
    struct shown *shown = *state;
    int64_t seconds_x10 = 0;
    struct tl_station_state *platform = &shown->picture.station[shown->picture.station_count++];
    memcpy(platform->node, "platform", sizeof "platform");
    platform->live = TL_LIVE_LIVE;
    platform->datum_count = 1;
    platform->data[0] = (struct tl_datum){.kind = TL_DATUM_CALL,
                                          .sequence = 9,
                                          .said_age_ms = 4050,
                                          .known = true,
                                          .stated_for_count = 1,
                                          .stated_for = {event},
                                          .as.call = {.side = 204, .type = "plover"}};
    assert_true(tl_ui_ramp_in(&shown->state, &seconds_x10));
    assert_int_equal(seconds_x10, 141);
    expect_says(shown, "predicted ramp in 14 s; ramp clearance 14.0 ft");
    platform->data[0].said_age_ms = 18200;
    assert_true(tl_ui_ramp_in(&shown->state, &seconds_x10));
    assert_int_equal(seconds_x10, -1);
    expect_says(shown, "predicted ramp clearance 14.0 ft");
    platform->data[0].stated_for[0].pass++;
    assert_false(tl_ui_ramp_in(&shown->state, &seconds_x10));
    platform->data[0].stated_for[0].pass--;
    shown->picture.predicted.time.known = false;
    assert_false(tl_ui_ramp_in(&shown->state, &seconds_x10));
    shown->picture.predicted.time.known = true;
    shown->picture.predicted.event.pass++;
    assert_false(tl_ui_ramp_in(&shown->state, &seconds_x10));
    shown->picture.predicted.event.pass--;
    platform->datum_count = 0;
    assert_false(tl_ui_ramp_in(&shown->state, &seconds_x10));
}

/* A tenth over is the next one where more is worse, and the one below for what may be taken. */
static void
what_is_rounded_goes_to_the_unfavourable_side(void **state)
{
    struct shown *shown = *state;
    struct tl_predicted_arrest *arrest = &shown->picture.predicted.arrest;
    arrest->engaging_kt_x10 = 1041;
    arrest->energy_kftlb = 17001;
    shown->config.computed.capacity_kftlb = 43499;
    arrest->would[0].runout_ft_x10 = 3101;
    expect_says(shown, "engaging 105 kn, energy 17.1 of 43.4 million ft-lbf");
    expect_says(shown, "stops in 311 ft");
    shown->config.computed.capacity_kftlb = 0;
    expect_says(shown, "energy 17.1 million ft-lbf");
}

static void
each_setting_says_its_own_end(void **state)
{
    struct shown *shown = *state;
    struct tl_predicted_arrest *arrest = &shown->picture.predicted.arrest;
    arrest->would_count = 3;
    arrest->would[1] = (struct tl_would){36000, true, false, 121, 212000, 58, 1830, 1829, 3300};
    arrest->would[2] = (struct tl_would){42000, false, true, 210, 260000, 104, 1702, 1701, 3011};
    assert_string_equal(
        print(shown),
        "predicted engaging 104 kn, energy 17.0 of 43.5 million ft-lbf, at 34,000 lb:\n"
        "          stops in 310 ft, ram 174.0 in, hook load to 92,000 lbf; at 36,000 lb:\n"
        "          ram bottoms with 13 kn left, hook load to 212,000 lbf; at 42,000 lb:\n"
        "          cable past its strength with 21 kn left\n"
        "predicted ramp clearance 14.0 ft, touchdown on the aim; last wave-off 12.0 s\n"
        "          (people) or 3.7 s (gear) before touchdown\n");
}

static void
the_ramp_says_which_side(void **state)
{
    struct shown *shown = *state;
    struct tl_predicted_ramp *ramp = &shown->picture.predicted.ramp;
    ramp->clearance_ft_x10 = -4;
    ramp->touchdown_ft_x10 = -35;
    expect_says(shown, "hook 0.4 ft BELOW THE RAMP, touchdown 3.5 ft short of");
    ramp->clearance_ft_x10 = 0;
    ramp->touchdown_ft_x10 = 8;
    expect_says(shown, "ramp clearance 0.0 ft, touchdown 0.8 ft past the aim");
}

static void
a_part_that_is_not_known_says_so(void **state)
{
    struct shown *shown = *state;
    struct tl_predicted *predicted = &shown->picture.predicted;
    predicted->time.wave_off_people_s_x10 = 0;
    expect_says(shown, "last wave-off 3.7 s (gear)");
    predicted->time.wave_off_people_s_x10 = 120;
    predicted->time.wave_off_gear_s_x10 = 0;
    expect_says(shown, "last wave-off 12.0 s (people) before touchdown");
    predicted->time.wave_off_people_s_x10 = 0;
    expect_says(shown, "; last wave-off not known");
    predicted->time = (struct tl_predicted_time){.wave_off_gear_s_x10 = 9};
    predicted->arrest.known = false;
    predicted->ramp.known = false;
    assert_string_equal(print(shown),
                        "predicted arrest not known\n"
                        "predicted ramp clearance not known; last wave-off not known\n");
}

/* Of another event it would be read as of this one. */
static void
what_is_not_of_the_current_event_is_not_shown(void **state)
{
    struct shown *shown = *state;
    size_t count = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);
    shown->picture.predicted.event.pass = 6;
    for (size_t i = 0; i < count; i++) {
        shown->config.ship.rule_off[rows[i].rule] = rows[i].computed;
    }
    assert_string_equal(print(shown), "");
    shown->config.ship.rule_off[TL_RULE_HOOK_LOAD] = false;
    assert_string_equal(print(shown), "predicted not computed yet\n");
    shown->picture.predicted.event = (struct tl_event){0};
    assert_string_equal(print(shown), "predicted not computed yet\n");
    shown->view.event = (struct tl_event){0};
    assert_string_equal(print(shown), "");
    shown->view.event = event;
    shown->state.picture = NULL;
    assert_string_equal(print(shown), "");
}

/* As wide as one can be: folded, and nothing of it cut. */
static void
the_widest_prediction_fits_eighty_columns_and_is_whole(void **state)
{
    struct shown *shown = *state;
    struct tl_predicted *predicted = &shown->picture.predicted;
    predicted->arrest = (struct tl_predicted_arrest){true,    -2000,  2000,
                                                     9999999, -99999, .would_count = TL_WOULDS_MAX};
    for (uint32_t i = 0; i < TL_WOULDS_MAX; i++) {
        predicted->arrest.would[i] =
            (struct tl_would){199984 + i, false, false, 0, 9999999, 99999, 20000, 20000, 20000};
    }
    predicted->ramp.clearance_ft_x10 = -20000;
    predicted->ramp.touchdown_ft_x10 = -100000;
    predicted->time = (struct tl_predicted_time){true, 36000, 36000, 36000, 36000};
    expect_says(shown, "200,000 lb: stops in 2,000 ft");
    expect_says(shown, "before touchdown\n");
    char *rest = NULL;
    for (char *line = strtok_r(shown->text, "\n", &rest); line != NULL;
         line = strtok_r(NULL, "\n", &rest)) {
        if (strlen(line) > 80) {
            fail_msg("%zu columns: %s", strlen(line), line);
        }
    }
}

static void
a_prediction_is_another_when_it_ends_otherwise(void **state)
{
    struct shown *shown = *state;
    const struct tl_predicted *was = &shown->picture.predicted;
    struct tl_predicted is = *was;
    is.arrest.engaging_kt_x10++;
    is.arrest.would[0].hook_lbf++;
    is.ramp.clearance_ft_x10 = 0;
    assert_true(tl_ui_predicts_the_same(was, &is));
    is.ramp.clearance_ft_x10 = -1;
    assert_false(tl_ui_predicts_the_same(was, &is));
    for (int i = 0; i < 9; i++) {
        is = *was;
        is.event.pass += i == 0 ? 1 : 0;
        is.arrest.known = i != 1;
        is.ramp.known = i != 2;
        is.time.known = i != 3;
        is.arrest.would_count += i == 4 ? 1 : 0;
        is.arrest.would[0].set_lb += i == 5 ? 1 : 0;
        is.arrest.would[0].parts = i == 6;
        is.arrest.would[0].bottoms = i == 7;
        assert_int_equal(tl_ui_predicts_the_same(was, &is), i == 8);
    }
}

static void
the_whole_picture_has_the_prediction(void **state)
{
    struct shown *shown = *state;
    size_t size = 0;
    FILE *out = open_memstream(&shown->text, &size);
    assert_non_null(out);
    tl_ui_print(&shown->state, out);
    assert_int_equal(fclose(out), 0);
    assert_non_null(strstr(shown->text, "\npredicted engaging 104 kn, energy"));
}

/* The figure that is needed is read off the words of the cause, which a consequence shortens. */
static void
a_cause_in_full_has_its_figure_and_its_consequence(void **state)
{
    struct shown *shown = *state;
    struct tl_why why;
    size_t size = 0;
    struct tl_cause *cause = &shown->picture.cause[0];
    shown->picture.cause_count = 1;
    shown->view.from_known = true;
    *cause = (struct tl_cause){.rule = TL_RULE_SETTING_NOT_ORDERED,
                               .station = "engine-3",
                               .state = TL_CAUSE_WRONG,
                               .reported = {true, 36000, ""},
                               .needed = {true, 34000, ""},
                               .would = {36000, true, false, 121, 212000, 58, 1830, 1829, 3300}};
    tl_ui_why(&shown->state, cause, &why);
    assert_string_equal(why.needed, "34,000 lb");
    FILE *out = open_memstream(&shown->text, &size);
    assert_non_null(out);
    tl_ui_print_why(&shown->state, out);
    assert_int_equal(fclose(out), 0);
    assert_non_null(strstr(shown->text, "  would       at 36,000 lb: ram bottoms with 13 kn left, "
                                        "hook load to 212,000\n              lbf\n"));
    assert_int_equal(cause->would.set_lb, 36000);
}

#define SHOWN(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)

int
main(void)
{
    const struct CMUnitTest tests[] = {
        SHOWN(a_prediction_is_two_paragraphs_with_units),
        SHOWN(the_ramp_is_counted_down_from_the_call),
        SHOWN(what_is_rounded_goes_to_the_unfavourable_side),
        SHOWN(each_setting_says_its_own_end),
        SHOWN(the_ramp_says_which_side),
        SHOWN(a_part_that_is_not_known_says_so),
        SHOWN(what_is_not_of_the_current_event_is_not_shown),
        SHOWN(the_widest_prediction_fits_eighty_columns_and_is_whole),
        SHOWN(a_prediction_is_another_when_it_ends_otherwise),
        SHOWN(the_whole_picture_has_the_prediction),
        SHOWN(a_cause_in_full_has_its_figure_and_its_consequence),
    };
    return cmocka_run_group_tests_name("ui_predicted", tests, NULL, NULL);
}
