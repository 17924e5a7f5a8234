/* SPDX-License-Identifier: Apache-2.0 */
/*
 * What real senders do, through the reader and the fold: IEC 61162-1 (NMEA 0183) sentences. The
 * forms are those of the standard as commonly restated (from memory, no page).
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <stdio.h>
#include <string.h>

#include "clients/station/bridge/nmea.h"
#include "clients/station/bridge/sensors.h"

enum {
    NOW_MS = 100000,
    LINE_CAP = 256
};

struct bridge {
    struct tl_nmea_reader reader;
    struct tl_sensors sensors;
    uint64_t now_ms;
};

static void
bridge_init(struct bridge *bridge)
{
    struct tl_sensors_config config;
    tl_sensors_defaults(&config);
    config.axis_port_deg = 9.0;
    assert_int_equal(tl_sensors_init(&bridge->sensors, &config), TL_OK);
    tl_nmea_init(&bridge->reader, "");
    bridge->now_ms = NOW_MS;
}

static void
feed(struct bridge *bridge, const char *bytes, size_t len)
{
    size_t used = 0;
    while (used < len) {
        struct tl_nmea_event event;
        used += tl_nmea_feed(&bridge->reader, (const uint8_t *)bytes + used, len - used, &event);
        tl_sensors_take(&bridge->sensors, &event, bridge->now_ms);
    }
}

static void
end_unit(struct bridge *bridge)
{
    struct tl_nmea_event event;
    tl_nmea_end_unit(&bridge->reader, &event);
    tl_sensors_take(&bridge->sensors, &event, bridge->now_ms);
}

/* "$" body "*" checksum CR LF. */
static size_t
sentence(const char *body, char *dst)
{
    int n = snprintf(dst, LINE_CAP, "$%s*%02X\r\n", body, tl_nmea_checksum(body, strlen(body)));
    return (size_t)n;
}

static void
say(struct bridge *bridge, const char *body)
{
    char line[LINE_CAP];
    feed(bridge, line, sentence(body, line));
}

static struct tl_sensors_wind
wind_of(struct bridge *bridge)
{
    struct tl_sensors_wind wind;
    tl_sensors_wind(&bridge->sensors, bridge->now_ms, &wind);
    return wind;
}

static uint64_t
refused(const struct bridge *bridge)
{
    uint64_t sum = 0;
    for (size_t i = 0; i < TL_NMEA_REASONS; i++) {
        sum += bridge->reader.refused[i];
    }
    return sum;
}

/*
 * By hand: "A,B" is 0x41 ^ 0x2C ^ 0x42 = 0x2F. And a sentence that is printed everywhere with its
 * checksum: $GPGGA,123519,...,,*47 (commonly printed example, no one source).
 */
static void
checksum_is_the_exclusive_or_of_what_stands_between(void **state)
{
    (void)state;
    static const char printed[] = "GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,";
    assert_int_equal(tl_nmea_checksum("A,B", 3), 0x2F);
    assert_int_equal(tl_nmea_checksum(printed, sizeof printed - 1), 0x47);
}

static void
relative_wind_gives_head_and_cross_on_the_angled_deck(void **state)
{
    (void)state;
    struct bridge bridge;
    bridge_init(&bridge);
    assert_int_equal(wind_of(&bridge).wind.state, TL_WIND_UNKNOWN);
    say(&bridge, "WIMWV,0.0,R,25.0,N,A");
    struct tl_sensors_wind wind = wind_of(&bridge);
    assert_int_equal(wind.wind.state, TL_WIND_KNOWN);
    assert_int_equal(wind.wind.headwind_kt_x10, 246); /* 24.692, down */
    assert_int_equal(wind.wind.crosswind_kt_x10, 40); /* 3.911, away from zero */
    assert_false(wind.wind.true_known);
}

static void
unit_letters_are_honoured(void **state)
{
    (void)state;
    static const char *const bodies[] = {"WIMWV,0.0,R,25.0,N,A", "WIMWV,0.0,R,46.3,K,A",
                                         "WIMWV,0.0,R,12.861,M,A"};
    for (size_t i = 0; i < sizeof bodies / sizeof bodies[0]; i++) {
        struct bridge bridge;
        bridge_init(&bridge);
        say(&bridge, bodies[i]);
        struct tl_sensors_wind wind = wind_of(&bridge);
        assert_int_equal(wind.wind.state, TL_WIND_KNOWN);
        assert_in_range(wind.wind.deck_speed_kt_x10, 249, 251);
    }
}

/* T is an angle from the bow as if the ship stood still: not a bearing from north. */
static void
theoretical_wind_counts_from_the_bow(void **state)
{
    (void)state;
    struct bridge bridge;
    bridge_init(&bridge);
    say(&bridge, "HEHDT,090.0,T");
    say(&bridge, "GPVTG,090.0,T,,M,0.0,N,0.0,K,A");
    say(&bridge, "WIMWV,010.0,T,20.0,N,A");
    struct tl_sensors_wind wind = wind_of(&bridge);
    assert_int_equal(wind.wind.state, TL_WIND_KNOWN);
    assert_true(wind.wind.true_known);
    assert_int_equal(wind.wind.true_from_deg_x10, 1000);
    assert_int_equal(wind.wind.deck_from_deg_x10, 100);
}

static void
what_is_not_data_is_not_wind(void **state)
{
    (void)state;
    static const char *const bodies[] = {
        "WIMWV,0.0,R,25.0,N,V", /* the sensor says that it is not valid */
        "WIMWV,,R,25.0,N,A",    /* empty is absent, not zero */
        "WIMWV,0.0,R,,N,A",       "WIMWV,0.0,R,25.0,,A",    "WIMWV,0.0,R,25.0,S,A",
        "WIMWV,361.0,R,25.0,N,A", "WIMWV,0.0,R,-1.0,N,A",   "WIMWV,0.0,R,nan,N,A",
        "WIMWV,0.0,R,1e2,N,A",    "WIMWV,0.0,R,12.3.4,N,A", "WIMWV,0.0,X,25.0,N,A",
        "WIMWV,0.0,R,25.0,N",     "WIMWV,0.0,R,25.0,N,A,B", "QQMWV,0.0,R,25.0,N,A",
        "PXYZMWV,0.0,R,25.0,N,A", "WIXXX,0.0,R,25.0,N,A",
    };
    for (size_t i = 0; i < sizeof bodies / sizeof bodies[0]; i++) {
        struct bridge bridge;
        bridge_init(&bridge);
        say(&bridge, bodies[i]);
        if (wind_of(&bridge).wind.state != TL_WIND_UNKNOWN) {
            fail_msg("taken: %s", bodies[i]);
        }
        assert_int_equal(bridge.reader.taken, 0);
        say(&bridge, "WIMWV,0.0,R,25.0,N,A"); /* and the next one is taken */
        assert_int_equal(wind_of(&bridge).wind.state, TL_WIND_KNOWN);
    }
}

static void
a_missing_or_bad_checksum_is_counted_and_never_used(void **state)
{
    (void)state;
    struct bridge bridge;
    bridge_init(&bridge);
    static const char missing[] = "$WIMWV,0.0,R,25.0,N,A\r\n";
    static const char bad[] = "$WIMWV,0.0,R,25.0,N,A*00\r\n";
    feed(&bridge, missing, sizeof missing - 1);
    feed(&bridge, bad, sizeof bad - 1);
    assert_int_equal(bridge.reader.refused[TL_NMEA_CHECKSUM_MISSING], 1);
    assert_int_equal(bridge.reader.refused[TL_NMEA_CHECKSUM_BAD], 1);
    assert_int_equal(wind_of(&bridge).wind.state, TL_WIND_UNKNOWN);
}

/* Every single-byte change of a good line: never a wind with another value. */
static void
no_corrupted_byte_changes_a_value(void **state)
{
    (void)state;
    char good[LINE_CAP];
    size_t len = sentence("WIMWV,352.0,R,27.0,N,A", good);
    for (size_t at = 0; at < len - 2; at++) {
        for (int byte = 0; byte < 256; byte++) {
            struct bridge bridge;
            char line[LINE_CAP];
            memcpy(line, good, len);
            line[at] = (char)byte;
            bridge_init(&bridge);
            feed(&bridge, line, len);
            struct tl_sensors_wind wind = wind_of(&bridge);
            bool same = wind.wind.deck_speed_kt_x10 == 270 && wind.wind.deck_from_deg_x10 == 3520;
            if (wind.wind.state == TL_WIND_KNOWN && !same) {
                fail_msg("byte %zu as %d gave %u from %u", at, byte, wind.wind.deck_speed_kt_x10,
                         wind.wind.deck_from_deg_x10);
            }
        }
    }
}

static void
a_sentence_split_anywhere_is_the_same_sentence(void **state)
{
    (void)state;
    char line[LINE_CAP];
    size_t len = sentence("WIMWV,352.0,R,27.0,N,A", line);
    for (size_t cut = 1; cut < len; cut++) {
        struct bridge bridge;
        bridge_init(&bridge);
        feed(&bridge, line, cut);
        feed(&bridge, line + cut, len - cut);
        assert_int_equal(wind_of(&bridge).wind.deck_speed_kt_x10, 270);
        assert_int_equal(refused(&bridge), 0);
    }
}

static void
datagrams_hold_several_sentences_and_do_not_join(void **state)
{
    (void)state;
    struct bridge bridge;
    char line[3 * LINE_CAP];
    bridge_init(&bridge);
    size_t len = sentence("HEHDT,090.0,T", line);
    len += sentence("WIMWV,352.0,R,27.0,N,A", line + len);
    feed(&bridge, line, len);
    end_unit(&bridge);
    assert_int_equal(bridge.reader.taken, 2);
    /* Half a sentence at the end of a datagram is gone; the rest in the next one is not it. */
    len = sentence("WIMWV,010.0,R,40.0,N,A", line);
    feed(&bridge, line, len / 2);
    end_unit(&bridge);
    feed(&bridge, line + len / 2, len - len / 2);
    end_unit(&bridge);
    assert_int_equal(bridge.reader.taken, 2);
    assert_int_equal(wind_of(&bridge).wind.deck_speed_kt_x10, 270);
}

static void
a_tag_block_names_the_source_and_a_damaged_one_spoils_its_sentence(void **state)
{
    (void)state;
    struct bridge bridge;
    char line[LINE_CAP];
    static const char tag[] = "s:mast1";
    bridge_init(&bridge);
    int n = snprintf(line, sizeof line, "\\%s*%02X\\", tag, tl_nmea_checksum(tag, sizeof tag - 1));
    size_t len = (size_t)n + sentence("WIMWV,352.0,R,27.0,N,A", line + n);
    feed(&bridge, line, len);
    assert_int_equal(bridge.reader.taken, 1);
    assert_string_equal(wind_of(&bridge).sensor[0].label, "WI/mast1");
    line[3] = 'X';
    feed(&bridge, line, len);
    assert_int_equal(bridge.reader.taken, 1);
    assert_int_equal(bridge.reader.refused[TL_NMEA_TAG_BAD], 1);
}

static void
sensors_that_disagree_are_both_shown_and_not_averaged(void **state)
{
    (void)state;
    struct bridge bridge;
    bridge_init(&bridge);
    say(&bridge, "WIMWV,352.0,R,27.0,N,A");
    say(&bridge, "IIMWV,355.0,R,28.0,N,A");
    assert_int_equal(wind_of(&bridge).wind.state, TL_WIND_KNOWN);
    say(&bridge, "IIMWV,312.0,R,12.0,N,A");
    struct tl_sensors_wind wind = wind_of(&bridge);
    assert_int_equal(wind.wind.state, TL_WIND_DISAGREE);
    assert_int_equal(wind.reason, TL_SENSORS_WINDS_DISAGREE);
    assert_int_equal(wind.wind.reading_count, 2);
    assert_int_equal(wind.wind.headwind_kt_x10, 0);
    say(&bridge, "IIMWV,353.0,R,27.0,N,A");
    assert_int_equal(wind_of(&bridge).wind.state, TL_WIND_KNOWN);
}

static void
a_sensor_that_stops_makes_the_wind_unknown(void **state)
{
    (void)state;
    struct bridge bridge;
    bridge_init(&bridge);
    say(&bridge, "WIMWV,352.0,R,27.0,N,A");
    bridge.now_ms = NOW_MS + 3000;
    assert_int_equal(wind_of(&bridge).wind.state, TL_WIND_KNOWN);
    bridge.now_ms = NOW_MS + 3001;
    struct tl_sensors_wind wind = wind_of(&bridge);
    assert_int_equal(wind.wind.state, TL_WIND_UNKNOWN);
    assert_int_equal(wind.reason, TL_SENSORS_SILENT);
    say(&bridge, "WIMWV,352.0,R,27.0,N,A");
    assert_int_equal(wind_of(&bridge).wind.state, TL_WIND_KNOWN);
}

static void
motion_is_read_from_its_sentences(void **state)
{
    (void)state;
    struct bridge bridge;
    struct tl_sensors_motion motion;
    bridge_init(&bridge);
    say(&bridge, "HETHS,123.4,A");
    say(&bridge, "TIROT,-12.5,A");
    say(&bridge, "IIXDR,A,0.4,D,PTCH,A,-1.1,D,ROLL,D,0.25,M,HEAVE");
    say(&bridge, "GPVTG,120.0,T,,M,12.0,N,22.2,K,A");
    tl_sensors_motion(&bridge.sensors, bridge.now_ms, &motion);
    assert_true(motion.motion.heading_deg_x10.known);
    assert_int_equal(motion.motion.heading_deg_x10.value, 1234);
    assert_true(motion.motion.speed_kt_x10.known);
    assert_int_equal(motion.motion.speed_kt_x10.value, 120);
    assert_int_equal(motion.motion.course_deg_x10.value, 1200);
    assert_int_equal(motion.motion.pitch_deg_x10.value, 4);
    assert_int_equal(motion.motion.roll_deg_x10.value, -11);
    assert_int_equal(motion.motion.turn_deg_min_x10.value, -125);
    say(&bridge, "HETHS,200.0,S"); /* simulated: not data */
    tl_sensors_motion(&bridge.sensors, bridge.now_ms, &motion);
    assert_false(motion.motion.heading_deg_x10.known);
}

/* Bounded noise: nothing hangs, nothing is taken that was not said. */
static void
noise_is_never_wind(void **state)
{
    (void)state;
    uint64_t random = 20261125;
    struct bridge bridge;
    (void)printf("           seed %llu\n", (unsigned long long)random);
    bridge_init(&bridge);
    for (int i = 0; i < 200000; i++) {
        random = random * 6364136223846793005ull + 1442695040888963407ull;
        char byte = (char)(random >> 56);
        feed(&bridge, &byte, 1);
    }
    assert_int_equal(bridge.reader.taken, 0);
    assert_int_equal(wind_of(&bridge).wind.state, TL_WIND_UNKNOWN);
    feed(&bridge, "\r\n", 2);
    say(&bridge, "WIMWV,0.0,R,25.0,N,A");
    assert_int_equal(wind_of(&bridge).wind.state, TL_WIND_KNOWN);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(checksum_is_the_exclusive_or_of_what_stands_between),
        cmocka_unit_test(relative_wind_gives_head_and_cross_on_the_angled_deck),
        cmocka_unit_test(unit_letters_are_honoured),
        cmocka_unit_test(theoretical_wind_counts_from_the_bow),
        cmocka_unit_test(what_is_not_data_is_not_wind),
        cmocka_unit_test(a_missing_or_bad_checksum_is_counted_and_never_used),
        cmocka_unit_test(no_corrupted_byte_changes_a_value),
        cmocka_unit_test(a_sentence_split_anywhere_is_the_same_sentence),
        cmocka_unit_test(datagrams_hold_several_sentences_and_do_not_join),
        cmocka_unit_test(a_tag_block_names_the_source_and_a_damaged_one_spoils_its_sentence),
        cmocka_unit_test(sensors_that_disagree_are_both_shown_and_not_averaged),
        cmocka_unit_test(a_sensor_that_stops_makes_the_wind_unknown),
        cmocka_unit_test(motion_is_read_from_its_sentences),
        cmocka_unit_test(noise_is_never_wind),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
