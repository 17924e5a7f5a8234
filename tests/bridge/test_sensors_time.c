/* SPDX-License-Identifier: Apache-2.0 */
/*
 * The fold over time: how long a word counts, what a sensor that stops does, the list of sensors,
 * and motion. Validity times are the defaults: 3 s for wind, heading, motion, 5 s for speed.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "tests/bridge/say.h"

#define HDT "HEHDT,090.0,T"
#define VTG "GPVTG,090.0,T,,M,20.0,N,37.0,K,A"
#define REL "WIMWV,000.0,R,30.0,N,A"
#define THE "WIMWV,000.0,T,10.0,N,A"

enum {
    WIND_MS = 3000,
    SPEED_MS = 5000
};

/* ---- validity ---- */

static void
sensors_word_counts_to_the_last_millisecond_and_no_longer(void **state)
{
    struct bridge b;

    (void)state;
    begin(&b);
    say(&b, REL);
    assert_int_equal(wind_at(&b, WIND_MS).wind.state, TL_WIND_KNOWN);
    assert_int_equal(wind_at(&b, WIND_MS).sensor[0].age_ms, WIND_MS);
    assert_int_equal(wind_at(&b, WIND_MS + 1).wind.state, TL_WIND_UNKNOWN);
    assert_int_equal(wind_at(&b, WIND_MS + 1).reason, TL_SENSORS_SILENT);
    assert_int_equal(wind_at(&b, WIND_MS + 1).wind.headwind_kt_x10, 0);
}

static void
sensors_each_part_of_a_derived_wind_has_its_own_time(void **state)
{
    static const struct {
        const char *name;
        const char *again[2];
        uint64_t good_ms;
        enum tl_sensors_reason then;
    } rows[] = {
        {"wind stops", {HDT, VTG}, WIND_MS, TL_SENSORS_SILENT},
        {"heading stops", {THE, VTG}, WIND_MS, TL_SENSORS_NO_HEADING},
        {"speed stops", {THE, HDT}, SPEED_MS, TL_SENSORS_NO_SPEED},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct bridge b;

        begin(&b);
        say(&b, HDT);
        say(&b, VTG);
        say(&b, THE);
        b.now_ms += rows[i].good_ms;
        say(&b, rows[i].again[0]);
        say(&b, rows[i].again[1]);
        if (wind_at(&b, 0).reason != TL_SENSORS_FINE || wind_at(&b, 1).reason != rows[i].then) {
            fail_msg("%s: '%s', then '%s'", rows[i].name,
                     tl_sensors_reason_text(wind_at(&b, 0).reason),
                     tl_sensors_reason_text(wind_at(&b, 1).reason));
        }
    }
}

static void
sensors_not_valid_counts_at_once_and_silence_is_told_apart(void **state)
{
    struct bridge b;

    (void)state;
    begin(&b);
    say(&b, REL);
    b.now_ms += 1;
    say(&b, "WIMWV,000.0,R,30.0,N,V");
    assert_int_equal(wind_at(&b, 0).reason, TL_SENSORS_NO_DATA);
    assert_int_equal(wind_at(&b, 0).wind.reading_count, 0);
    assert_int_equal(wind_at(&b, WIND_MS).reason, TL_SENSORS_NO_DATA);
    assert_int_equal(wind_at(&b, WIND_MS + 1).reason, TL_SENSORS_SILENT);
    say(&b, REL);
    assert_int_equal(wind_at(&b, 0).wind.state, TL_WIND_KNOWN);
}

static void
sensors_clock_that_goes_back_makes_the_wind_unknown(void **state)
{
    struct bridge b;

    (void)state;
    begin(&b);
    say(&b, HDT);
    say(&b, REL);
    b.now_ms -= 1;
    assert_int_equal(wind_at(&b, 0).wind.state, TL_WIND_UNKNOWN);
    assert_false(motion_at(&b, 0).motion.heading_deg_x10.known);
    say(&b, REL);
    assert_int_equal(wind_at(&b, 0).wind.state, TL_WIND_KNOWN);
}

/* ---- a sensor that stops ---- */

static void
sensors_one_of_two_that_stops_is_named_and_shown_with_its_age(void **state)
{
    struct bridge b;

    (void)state;
    begin(&b);
    say(&b, "fore:" REL);
    say(&b, "aft:" REL);
    assert_false(wind_at(&b, 0).sensor_lost);
    b.now_ms += WIND_MS + 1;
    say(&b, "aft:" REL);
    struct tl_sensors_wind wind = wind_at(&b, 0);
    assert_int_equal(wind.wind.state, TL_WIND_KNOWN);
    assert_true(wind.sensor_lost);
    assert_int_equal(wind.sensor[0].reason, TL_SENSORS_SILENT);
    assert_int_equal(wind.sensor[0].age_ms, WIND_MS + 1);
    assert_int_equal(wind.sensor[1].reason, TL_SENSORS_FINE);
    assert_int_equal(wind.wind.reading_count, 2);
    assert_int_equal(wind.wind.reading[0].age_ms, WIND_MS + 1);
    assert_int_equal(wind.wind.reading[1].age_ms, 0);
}

/* What a silent sensor last said must not count, for or against. */
static void
sensors_silent_one_neither_disagrees_nor_is_published(void **state)
{
    struct bridge b;

    (void)state;
    begin(&b);
    say(&b, "fore:WIMWV,90.0,R,5.0,N,A");
    b.now_ms += WIND_MS + 1;
    say(&b, "aft:" REL);
    struct tl_sensors_wind wind = wind_at(&b, 0);
    assert_int_equal(wind.wind.state, TL_WIND_KNOWN);
    assert_int_equal(wind.wind.headwind_kt_x10, 296);
    assert_int_equal(wind.wind.crosswind_kt_x10, 47);
}

static void
sensors_fewer_than_required_is_unknown(void **state)
{
    struct tl_sensors_config config = angled();
    struct bridge b;

    (void)state;
    config.wind_required = 2;
    begin_with(&b, &config);
    say(&b, "fore:" REL);
    assert_int_equal(wind_at(&b, 0).wind.state, TL_WIND_UNKNOWN);
    assert_int_equal(wind_at(&b, 0).reason, TL_SENSORS_TOO_FEW);
    say(&b, "aft:" REL);
    assert_int_equal(wind_at(&b, 0).wind.state, TL_WIND_KNOWN);
    b.now_ms += WIND_MS + 1;
    say(&b, "aft:" REL);
    assert_int_equal(wind_at(&b, 0).reason, TL_SENSORS_TOO_FEW);
}

/* ---- the list ---- */

static void
sensors_listed_one_that_was_never_heard_is_lost(void **state)
{
    struct tl_sensors_config config = angled();
    struct bridge b;

    (void)state;
    config.wind_count = 2;
    (void)snprintf(config.wind_label[0], sizeof config.wind_label[0], "WI/fore");
    (void)snprintf(config.wind_label[1], sizeof config.wind_label[1], "WI/aft");
    begin_with(&b, &config);
    assert_int_equal(wind_at(&b, 0).sensor_count, 2);
    assert_int_equal(wind_at(&b, 0).reason, TL_SENSORS_NEVER_HEARD);
    say(&b, "aft:" REL);
    say(&b, "II:" REL); /* not in the list */
    say(&b, REL);       /* nor is this: no source */
    struct tl_sensors_wind wind = wind_at(&b, 0);
    assert_int_equal(wind.wind.state, TL_WIND_KNOWN);
    assert_true(wind.sensor_lost);
    assert_int_equal(wind.sensor_count, 2);
    assert_int_equal(wind.sensor[0].reason, TL_SENSORS_NEVER_HEARD);
    assert_int_equal(wind.sensor[1].reason, TL_SENSORS_FINE);
    assert_int_equal(b.sensors.unlisted, 2);
    assert_int_equal(tl_sensors_forget(&b.sensors, "WI/fore"), TL_REFUSED);
}

static void
sensors_fifth_wind_sensor_is_said_to_be_beyond(void **state)
{
    struct bridge b;

    (void)state;
    begin(&b);
    say(&b, "a:" REL);
    say(&b, "b:" REL);
    say(&b, "c:" REL);
    say(&b, "d:" REL);
    assert_false(wind_at(&b, 0).sensor_beyond);
    say(&b, "e:WIMWV,90.0,R,5.0,N,A");
    assert_true(wind_at(&b, 0).sensor_beyond);
    assert_int_equal(wind_at(&b, 0).sensor_count, 4);
    assert_int_equal(b.sensors.overflow, 1);
    assert_int_equal(tl_sensors_forget(&b.sensors, "WI/a"), TL_OK);
    assert_int_equal(tl_sensors_forget(&b.sensors, "WI/a"), TL_NOTFOUND);
    assert_false(wind_at(&b, 0).sensor_beyond);
    assert_string_equal(wind_at(&b, 0).sensor[0].label, "WI/b");
    assert_string_equal(wind_at(&b, 0).sensor[2].label, "WI/d");
    say(&b, "e:WIMWV,90.0,R,5.0,N,A");
    assert_int_equal(wind_at(&b, 0).reason, TL_SENSORS_WINDS_DISAGREE);
}

static void
sensors_forgotten_one_comes_back_when_it_speaks(void **state)
{
    struct bridge b;

    (void)state;
    begin(&b);
    say(&b, REL);
    b.now_ms += WIND_MS + 1;
    assert_true(wind_at(&b, 0).sensor_lost);
    assert_int_equal(tl_sensors_forget(&b.sensors, "WI"), TL_OK);
    assert_false(wind_at(&b, 0).sensor_lost);
    assert_int_equal(wind_at(&b, 0).reason, TL_SENSORS_NEVER_HEARD);
    say(&b, REL);
    assert_int_equal(wind_at(&b, 0).wind.state, TL_WIND_KNOWN);
}

/* 15 bytes go on the bus: the talker and the end of the source, where masts differ. */
static void
sensors_long_label_keeps_talker_and_end(void **state)
{
    struct bridge b;

    (void)state;
    begin(&b);
    say(&b, "abcdefghijklmn1:" REL);
    say(&b, "abcdefghijklmn2:" REL);
    struct tl_sensors_wind wind = wind_at(&b, 0);
    assert_string_equal(wind.sensor[0].label, "WI/abcdefghijklmn1");
    assert_string_equal(wind.wind.reading[0].source, "WI/defghijklmn1");
    assert_string_equal(wind.wind.reading[1].source, "WI/defghijklmn2");
}

static void
sensors_silent_source_of_heading_gives_way_to_a_new_one(void **state)
{
    static const char *const first[] = {"HEHDT,90.0,T", "HNHDT,90.0,T", "GPHDT,90.0,T",
                                        "HCHDT,90.0,T"};
    struct bridge b;

    (void)state;
    begin(&b);
    for (size_t i = 0; i < 4; i++) {
        say(&b, first[i]);
    }
    say(&b, "IIHDT,200.0,T"); /* no place: counted */
    assert_int_equal(b.sensors.overflow, 1);
    assert_int_equal(motion_at(&b, 0).motion.heading_deg_x10.value, 900);
    b.now_ms += WIND_MS + 1;
    say(&b, "IIHDT,200.0,T");
    assert_int_equal(b.sensors.overflow, 1);
    assert_int_equal(motion_at(&b, 0).motion.heading_deg_x10.value, 2000);
}

/* ---- motion ---- */

static void
sensors_motion_is_rounded_away_from_zero(void **state)
{
    struct bridge b;

    (void)state;
    begin(&b);
    say(&b, "IIXDR,A,0.41,D,PTCH,A,-1.11,D,ROLL,D,-0.251,M,HEAVE");
    say(&b, "TIROT,-12.51,A");
    struct tl_motion m = motion_at(&b, 0).motion;
    assert_int_equal(m.pitch_deg_x10.value, 5);
    assert_int_equal(m.roll_deg_x10.value, -12);
    assert_int_equal(m.heave_m_x100.value, -26);
    assert_int_equal(m.turn_deg_min_x10.value, -126);
    say(&b, "IIXDR,A,0.4,D,PTCH,A,0.0,D,ROLL,D,0.0,M,HEAVE");
    m = motion_at(&b, 0).motion;
    assert_int_equal(m.pitch_deg_x10.value, 4);
    assert_true(m.roll_deg_x10.known);
    assert_int_equal(m.roll_deg_x10.value, 0);
}

static void
sensors_greatest_motion_of_several_sources_is_published(void **state)
{
    struct bridge b;

    (void)state;
    begin(&b);
    say(&b, "fore:IIXDR,A,1.0,D,PTCH");
    say(&b, "aft:IIXDR,A,-2.0,D,PTCH");
    assert_int_equal(motion_at(&b, 0).motion.pitch_deg_x10.value, -20);
    say(&b, "fore:IIXDR,A,3.0,D,PTCH");
    assert_int_equal(motion_at(&b, 0).motion.pitch_deg_x10.value, 30);
}

static void
sensors_motion_that_is_old_or_empty_is_not_known(void **state)
{
    struct bridge b;

    (void)state;
    begin(&b);
    assert_false(motion_at(&b, 0).motion.pitch_deg_x10.known);
    say(&b, "IIXDR,A,1.0,D,PTCH,A,2.0,D,ROLL");
    say(&b, "TIROT,5.0,A");
    say(&b, HDT);
    say(&b, VTG);
    assert_true(motion_at(&b, WIND_MS).motion.pitch_deg_x10.known);
    assert_false(motion_at(&b, WIND_MS + 1).motion.pitch_deg_x10.known);
    assert_false(motion_at(&b, WIND_MS + 1).motion.turn_deg_min_x10.known);
    assert_false(motion_at(&b, WIND_MS + 1).motion.heading_deg_x10.known);
    assert_true(motion_at(&b, SPEED_MS).motion.speed_kt_x10.known);
    assert_false(motion_at(&b, SPEED_MS + 1).motion.speed_kt_x10.known);
    say(&b, "IIXDR,A,,D,PTCH");
    say(&b, "TIROT,,V");
    assert_false(motion_at(&b, 0).motion.pitch_deg_x10.known);
    assert_true(motion_at(&b, 0).motion.roll_deg_x10.known); /* not spoken of */
    assert_false(motion_at(&b, 0).motion.turn_deg_min_x10.known);
}

static void
sensors_speed_through_water_says_so_and_has_no_course(void **state)
{
    struct bridge b;

    (void)state;
    begin(&b);
    say(&b, HDT);
    say(&b, "VWVHW,,T,,M,18.0,N,,K");
    struct tl_sensors_motion m = motion_at(&b, 0);
    assert_true(m.through_water);
    assert_int_equal(m.motion.speed_kt_x10.value, 180);
    assert_false(m.motion.course_deg_x10.known);
    assert_int_equal(m.course_reason, TL_SENSORS_NO_COURSE);
    say(&b, VTG);
    m = motion_at(&b, 0);
    assert_false(m.through_water);
    assert_int_equal(m.motion.speed_kt_x10.value, 200);
    assert_int_equal(m.motion.course_deg_x10.value, 900);
    assert_int_equal(m.motion.heading_deg_x10.value, 900);
}

/* ---- configuration and words ---- */

struct spoil {
    const char *name;
    void (*spoil)(struct tl_sensors_config *c);
};
#define SPOIL(name, what)                                                                          \
    static void spoil_##name(struct tl_sensors_config *c)                                          \
    {                                                                                              \
        what;                                                                                      \
    }
SPOIL(wind_ms, c->wind_valid_ms = 0)
SPOIL(heading_ms, c->heading_valid_ms = 0)
SPOIL(speed_ms, c->speed_valid_ms = 0)
SPOIL(motion_ms, c->motion_valid_ms = 0)
SPOIL(none_required, c->wind_required = 0)
SPOIL(five_required, c->wind_required = 5)
SPOIL(axis, c->axis_port_deg = 45.1)
SPOIL(axis_starboard, c->axis_port_deg = -0.1)
SPOIL(axis_nan, c->axis_port_deg = NAN)
SPOIL(wind_deg, c->wind_disagree_deg = 0.0)
SPOIL(wind_kt, c->wind_disagree_kt = -1.0)
SPOIL(heading_deg, c->heading_disagree_deg = NAN)
SPOIL(course_deg, c->course_disagree_deg = INFINITY)
SPOIL(speed_kt, c->speed_disagree_kt = 0.0)
SPOIL(five_listed, c->wind_count = 5)
SPOIL(empty_label, c->wind_count = 1)
SPOIL(endless_label, c->wind_count = 1; memset(c->wind_label[0], 'a', sizeof c->wind_label[0]))
SPOIL(listed_twice, c->wind_count = 2; memcpy(c->wind_label[0], "WI", 3);
      memcpy(c->wind_label[1], "WI", 3))
SPOIL(more_than_listed, c->wind_count = 1; memcpy(c->wind_label[0], "WI", 3); c->wind_required = 2)
SPOIL(nothing, (void)c)

static void
sensors_configuration_out_of_range_is_refused(void **state)
{
    static const struct spoil rows[] = {
        {"wind 0 ms", spoil_wind_ms},
        {"heading 0 ms", spoil_heading_ms},
        {"speed 0 ms", spoil_speed_ms},
        {"motion 0 ms", spoil_motion_ms},
        {"0 required", spoil_none_required},
        {"5 required", spoil_five_required},
        {"axis 45.1", spoil_axis},
        {"axis to starboard", spoil_axis_starboard},
        {"axis NaN", spoil_axis_nan},
        {"wind 0 deg", spoil_wind_deg},
        {"wind -1 kn", spoil_wind_kt},
        {"heading NaN", spoil_heading_deg},
        {"course infinite", spoil_course_deg},
        {"speed 0 kn", spoil_speed_kt},
        {"5 listed", spoil_five_listed},
        {"empty label", spoil_empty_label},
        {"label without end", spoil_endless_label},
        {"label twice", spoil_listed_twice},
        {"more required than listed", spoil_more_than_listed},
        {NULL, spoil_nothing}, /* the last is accepted */
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_sensors_config config = angled();
        struct tl_sensors s;

        rows[i].spoil(&config);
        enum tl_err err = tl_sensors_init(&s, &config);
        if (err != (rows[i].name != NULL ? TL_BADARG : TL_OK)) {
            fail_msg("%s: %s", rows[i].name != NULL ? rows[i].name : "good", tl_err_text(err));
        }
    }
}

static void
sensors_refused_sentence_changes_nothing(void **state)
{
    static const enum tl_nmea_event_kind kinds[] = {TL_NMEA_NOTHING, TL_NMEA_REFUSED};
    struct tl_nmea_event event = {.sentence = {.form = TL_NMEA_MWV, .talker = "WI"}};
    struct bridge b;
    struct bridge before;

    (void)state;
    memset(&b, 0, sizeof b);
    begin(&b);
    before = b;
    for (size_t i = 0; i < 2; i++) {
        event.kind = kinds[i];
        tl_sensors_take(&b.sensors, &event, b.now_ms);
        assert_memory_equal(&b, &before, sizeof b);
    }
}

static void
sensors_reason_each_has_its_own_text(void **state)
{
    (void)state;
    for (int i = 0; i < TL_SENSORS_REASONS; i++) {
        assert_non_null(tl_sensors_reason_text((enum tl_sensors_reason)i));
        for (int j = 0; j < i; j++) {
            assert_string_not_equal(tl_sensors_reason_text((enum tl_sensors_reason)i),
                                    tl_sensors_reason_text((enum tl_sensors_reason)j));
        }
    }
    assert_string_equal(tl_sensors_reason_text(TL_SENSORS_REASONS), "unknown reason");
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sensors_word_counts_to_the_last_millisecond_and_no_longer),
        cmocka_unit_test(sensors_each_part_of_a_derived_wind_has_its_own_time),
        cmocka_unit_test(sensors_not_valid_counts_at_once_and_silence_is_told_apart),
        cmocka_unit_test(sensors_clock_that_goes_back_makes_the_wind_unknown),
        cmocka_unit_test(sensors_one_of_two_that_stops_is_named_and_shown_with_its_age),
        cmocka_unit_test(sensors_silent_one_neither_disagrees_nor_is_published),
        cmocka_unit_test(sensors_fewer_than_required_is_unknown),
        cmocka_unit_test(sensors_listed_one_that_was_never_heard_is_lost),
        cmocka_unit_test(sensors_fifth_wind_sensor_is_said_to_be_beyond),
        cmocka_unit_test(sensors_forgotten_one_comes_back_when_it_speaks),
        cmocka_unit_test(sensors_long_label_keeps_talker_and_end),
        cmocka_unit_test(sensors_silent_source_of_heading_gives_way_to_a_new_one),
        cmocka_unit_test(sensors_motion_is_rounded_away_from_zero),
        cmocka_unit_test(sensors_greatest_motion_of_several_sources_is_published),
        cmocka_unit_test(sensors_motion_that_is_old_or_empty_is_not_known),
        cmocka_unit_test(sensors_speed_through_water_says_so_and_has_no_course),
        cmocka_unit_test(sensors_configuration_out_of_range_is_refused),
        cmocka_unit_test(sensors_refused_sentence_changes_nothing),
        cmocka_unit_test(sensors_reason_each_has_its_own_text),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
