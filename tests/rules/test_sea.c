/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_sea - the aid's target and angle, the wind and the ship's motion, people, the last seconds
 *
 * Published: basic angle 3.5 deg, 3.75 from 32 kn and 4.0 from 38 kn of wind over deck, NAVAIR
 * 00-80T-104 4.2.7, as quoted; target the 3rd of 4 wires and the 2nd of 3, common practice, as
 * quoted. Crosswind of 7 kn: from memory. Alerts at one station, 10 in 10 minutes: EEMUA 191.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdlib.h>
#include <string.h>

#include "broker/core/alerts/alerts.h"
#include "tests/rules/words.h"

/* clang-format off */
static const struct word_row rows[] = {
    {"aimed at wire 2", "aid", TL_DATUM_AID, 0, {.as.aid = {TL_AID_WORKING, "plover", 350, 2}}, 0, 0, "aid-not-on-target:aid"},
    {"target not said", "aid", TL_DATUM_AID, 0, {.as.aid = {TL_AID_WORKING, "plover", 350, 0}}, 0, 0, "aid-not-on-target:aid?"},
    {"angle 3.75 in 26.5 kn", "aid", TL_DATUM_AID, 0, {.as.aid = {TL_AID_WORKING, "plover", 375, 3}}, 0, 0, "aid-angle:aid"},
    {"angle not said", "aid", TL_DATUM_AID, 0, {.as.aid = {TL_AID_WORKING, "plover", 0, 3}}, 0, 0, "aid-angle:aid?"},
    {"nobody at the aid", UNSAID("aid", WATCH, 0), "not-manned:aid?"},
};
/* clang-format on */

static void
each_word_is_asked_for(void **state)
{
    (void)state;
    words_each(rows, sizeof rows / sizeof rows[0]);
}

static struct tl_wind *
wind_of(struct scene *scene)
{
    return &scene_told(scene, "bridge")->samples[0].as.wind;
}

static struct tl_motion *
motion_of(struct scene *scene)
{
    return &scene_told(scene, "bridge")->samples[1].as.motion;
}

/* One knot either side of 32 and 38 kn both angles are right. */
static void
the_basic_angle_follows_the_published_bands(void **state)
{
    static const struct {
        uint32_t kt_x10;
        bool good_350, good_375, good_400;
    } table[] = {
        {0, true, false, false},   {309, true, false, false}, {310, true, true, false},
        {320, true, true, false},  {329, true, true, false},  {330, false, true, false},
        {369, false, true, false}, {370, false, true, true},  {380, false, true, true},
        {389, false, true, true},  {390, false, false, true}, {600, false, false, true},
    };

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        const bool good[] = {table[i].good_350, table[i].good_375, table[i].good_400};
        for (uint32_t k = 0; k < 3; k++) {
            struct scene *scene = scene_ready_full();
            wind_of(scene)->deck_speed_kt_x10 = table[i].kt_x10;
            scene_held(scene, "aid", TL_DATUM_AID, 0)->datum.as.aid.angle_deg_x100 = 350 + 25 * k;
            scene_expect(scene, "angle", good[k] ? "" : "aid-angle:aid");
            free(scene);
        }
    }
}

static void
too_little_or_too_much_wind_is_told(void **state)
{
    static const struct {
        int32_t down, across;
        const char *causes;
    } table[] = {
        {200, 0, ""},
        {199, 0, "wind-low:bridge"},
        {260, 70, ""},
        {260, -70, ""},
        {260, 71, "crosswind-over:bridge"},
        {260, -71, "crosswind-over:bridge"},
        {-10, 0, "wind-low:bridge"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct scene *scene = scene_ready_full();
        scene_expect(scene, "before", "");
        wind_of(scene)->headwind_kt_x10 = table[i].down;
        wind_of(scene)->crosswind_kt_x10 = table[i].across;
        scene_expect(scene, "wind", table[i].causes);
        assert_int_equal(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS),
                         table[i].causes[0] == '\0');
        wind_of(scene)->headwind_kt_x10 = 260;
        wind_of(scene)->crosswind_kt_x10 = 0;
        scene_expect(scene, "after", "");
        free(scene);
    }
}

static void
motion_beyond_its_limits_or_not_known_is_told(void **state)
{
    static const struct {
        struct tl_motion motion;
        const char *causes;
    } table[] = {
        {{{true, 15}, {true, 50}, {true, 150}, {true, 100}, {0}, {0}, {0}}, ""},
        {{{true, -15}, {true, -50}, {true, -150}, {true, -100}, {0}, {0}, {0}}, ""},
        {{{true, 16}, {true, 0}, {true, 0}, {true, 0}, {0}, {0}, {0}}, "deck-motion:bridge"},
        {{{true, 0}, {true, -51}, {true, 0}, {true, 0}, {0}, {0}, {0}}, "ship-not-steady:bridge"},
        {{{true, 0}, {true, 0}, {true, -151}, {true, 0}, {0}, {0}, {0}}, "deck-motion:bridge"},
        {{{true, 0}, {true, 0}, {true, 0}, {true, 101}, {0}, {0}, {0}}, "ship-not-steady:bridge"},
        {{{false, 0}, {true, 0}, {true, 0}, {true, 0}, {0}, {0}, {0}}, "deck-motion:bridge?"},
        {{{true, 0}, {true, 0}, {true, 0}, {false, 0}, {0}, {0}, {0}}, "ship-not-steady:bridge?"},
        {{{true, 16}, {true, 0}, {false, 0}, {true, 0}, {0}, {0}, {0}},
         "deck-motion:bridge deck-motion:bridge?"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        struct scene *scene = scene_ready_full();
        *motion_of(scene) = table[i].motion;
        scene_expect(scene, table[i].causes, table[i].causes);
        free(scene);
    }
    struct scene *scene = scene_ready_full();
    scene_told(scene, "bridge")->samples[1].age_ms = 3000;
    scene_expect(scene, "3.0 s old", "");
    scene_told(scene, "bridge")->samples[1].age_ms = 3001;
    scene_expect(scene, "older", "deck-motion:bridge? ship-not-steady:bridge?");
    assert_false(tl_is_proven(&scene->fold, &scene->outside, SCENE_NOW_MS));
    free(scene);
}

/* ---- the last seconds; the scene's pilot called 5 s ago, 25 s and a margin before the ramp ---- */

static void
a_fact_that_turns_bad_after_the_call_advises_a_wave_off(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene->config.ship.ramp_margin_s = 5;
    scene_expect(scene, "before", "");
    struct tl_held *fault = scene_held(scene, "engine-2", TL_DATUM_FAULT, 0);
    fault->datum.as.fault = (struct tl_engine_fault){TL_FAULT_STATE_ACTIVE, 31};
    scene_expect(scene, "said with the call", "engine-fault:engine-2");
    fault->said_ms += 1;
    scene_expect(scene, "said after it", "wave-off-advised:engine-2 engine-fault:engine-2");
    assert_int_equal(scene->decision.cause[0].reported.number, TL_RULE_ENGINE_FAULT);
    struct tl_held *call = scene_held(scene, "platform", TL_DATUM_CALL, 0);
    call->said_ms = SCENE_NOW_MS - 30000;
    scene_expect(scene, "at the ramp and its margin",
                 "wave-off-advised:engine-2 engine-fault:engine-2");
    call->said_ms -= 1;
    scene_expect(scene, "past it", "engine-fault:engine-2");
    fault->datum.as.fault = (struct tl_engine_fault){TL_FAULT_STATE_NONE, 0};
    scene_expect(scene, "after", "");
    free(scene);
}

/* Without a call there is no prediction; what is only not yet said is no advice either. */
static void
no_call_or_a_word_not_yet_said_is_no_advice(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_drop(scene, "engine-2", TL_DATUM_FLUID, 0);
    scene_expect(scene, "not said", "fluid-level:engine-2?");
    scene_drop(scene, "platform", TL_DATUM_CALL, 0);
    struct tl_held *fluid = scene_held(scene, "engine-2", TL_DATUM_FLUID, 0);
    fluid->datum.as.fluid = TL_FLUID_LOW;
    fluid->said_ms = SCENE_NOW_MS;
    scene_expect(scene, "no call", "fluid-level:engine-2 type-called-differs:platform?");
    free(scene);
}

static void
a_station_lost_on_final_is_an_alarm_and_no_advice(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    scene_expect(scene, "before", "");
    assert_null(words_cause(scene, TL_RULE_PICTURE_LOST));
    scene_told(scene, "tracks")->live = false;
    scene_expect(scene, "lost", "station-lost:tracks");
    const struct tl_cause *cause = words_cause(scene, TL_RULE_PICTURE_LOST);
    assert_non_null(cause);
    assert_string_equal(cause->station, "tracks");
    assert_int_equal(cause->state, TL_CAUSE_NOTE);
    scene_held(scene, "platform", TL_DATUM_CALL, 0)->said_ms = SCENE_NOW_MS - 60000;
    scene_expect(scene, "no longer on final", "station-lost:tracks");
    assert_null(words_cause(scene, TL_RULE_PICTURE_LOST));
    free(scene);
}

/* ---- alerts ---- */

static void
update(struct scene *scene, struct tl_alert_book *book, uint64_t now_ms)
{
    char causes[512];
    (void)scene_causes(scene, causes, sizeof causes);
    (void)tl_alert_book_update(book, &scene->decision, &scene->fold, now_ms);
}

/* A wind about its limit is one alert, not one for each gust. */
static void
a_wind_about_its_limit_raises_one_alert(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_alert_book book;
    tl_alert_book_init(&book);
    for (uint32_t s = 0; s < 600; s++) {
        wind_of(scene)->headwind_kt_x10 = s % 4 < 2 ? 199 : 201;
        update(scene, &book, SCENE_NOW_MS + 1000ull * s);
    }
    assert_int_equal(book.raised, 1);
    wind_of(scene)->headwind_kt_x10 = 260;
    update(scene, &book, SCENE_NOW_MS + 600000);
    uint64_t gone_ms = SCENE_NOW_MS + 598000; /* its last good gust began then */
    for (uint32_t i = 0; i < scene->fold.told_count; i++) {
        scene->fold.told[i].live = false; /* nobody who could acknowledge is waited for */
    }
    for (uint32_t i = 0; i < book.count; i++) {
        assert_int_equal(book.active[i].alert.state, TL_ALERT_RETURNED);
    }
    struct tl_decision none = {.word = TL_WORD_READY};
    (void)tl_alert_book_update(&book, &none, &scene->fold, gone_ms + TL_SETTLE_MS - 1);
    assert_true(book.count > 0);
    (void)tl_alert_book_update(&book, &none, &scene->fold, gone_ms + TL_SETTLE_MS);
    assert_int_equal(book.count, 0);
    free(scene);
}

/* EEMUA 191: more than 10 alarms in 10 minutes after an upset are more than can be read. */
static void
more_than_ten_alerts_in_ten_minutes_are_a_flood(void **state)
{
    (void)state;
    struct scene *scene = scene_ready_full();
    struct tl_alert_book book;
    uint32_t place = 1u << tl_config_place(&scene->config, "wires");
    struct tl_held *worn = scene_held(scene, "wires", TL_DATUM_PENDANT, 1);
    tl_alert_book_init(&book);
    for (uint32_t i = 1; i <= 11; i++) {
        worn->datum.as.pendant.state = TL_PENDANT_WORN;
        worn->datum.sequence = 1000 + i; /* each is a new one */
        update(scene, &book, SCENE_NOW_MS + 1000ull * i);
        assert_int_equal(tl_alert_book_flood(&book, SCENE_NOW_MS + 1000ull * i) & place,
                         i > 10 ? place : 0);
    }
    uint64_t first_ms = SCENE_NOW_MS + 1000;
    assert_int_equal(tl_alert_book_flood(&book, first_ms + 599999) & place, place);
    assert_int_equal(tl_alert_book_flood(&book, first_ms + 600000) & place, 0);
    scene->outside.flood_places = place;
    worn->datum.as.pendant.state = TL_PENDANT_GOOD;
    scene_expect(scene, "a note", "");
    const struct tl_cause *cause = words_cause(scene, TL_RULE_ALARM_FLOOD);
    assert_non_null(cause);
    assert_string_equal(cause->station, "wires");
    free(scene);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_word_is_asked_for),
        cmocka_unit_test(the_basic_angle_follows_the_published_bands),
        cmocka_unit_test(too_little_or_too_much_wind_is_told),
        cmocka_unit_test(motion_beyond_its_limits_or_not_known_is_told),
        cmocka_unit_test(a_fact_that_turns_bad_after_the_call_advises_a_wave_off),
        cmocka_unit_test(no_call_or_a_word_not_yet_said_is_no_advice),
        cmocka_unit_test(a_station_lost_on_final_is_an_alarm_and_no_advice),
        cmocka_unit_test(a_wind_about_its_limit_raises_one_alert),
        cmocka_unit_test(more_than_ten_alerts_in_ten_minutes_are_a_flood),
    };
    return cmocka_run_group_tests_name("rules_sea", tests, NULL, NULL);
}
