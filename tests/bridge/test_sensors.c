/* SPDX-License-Identifier: Apache-2.0 */
/*
 * The fold: which wind is published, when it is unknown, when sensors disagree. Sentences go in as
 * a sender sends them, so that the reader is part of what is tested. Limits used are the defaults.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/bridge/say.h"

#define SAY_MAX 6

/* What is said, and the reason that must come of it. */
struct row {
    const char *name;
    const char *say[SAY_MAX];
    enum tl_sensors_reason reason;
};

static void
check_rows(const struct row *rows, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct bridge b;

        begin(&b);
        for (size_t s = 0; s < SAY_MAX && rows[i].say[s] != NULL; s++) {
            say(&b, rows[i].say[s]);
        }
        struct tl_sensors_wind wind = wind_at(&b, 0);
        bool known = wind.wind.state == TL_WIND_KNOWN;

        if (wind.reason != rows[i].reason || known != (rows[i].reason == TL_SENSORS_FINE)) {
            fail_msg("%s: got '%s', wanted '%s'", rows[i].name, tl_sensors_reason_text(wind.reason),
                     tl_sensors_reason_text(rows[i].reason));
        }
    }
}
#define CHECK(rows) check_rows(rows, sizeof(rows) / sizeof((rows)[0]))

/* ---- figures ---- */

/* Worked from the triangle, computed, no outside source: deck 9 degrees to port. (a) ship 000/25,
 * calm: 24.692, +3.911. (b) 000/20, wind 000/10: 29.631, +4.693. (c) 000/20, wind 340/10: 29.570,
 * +1.221. Here as T, which is from the bow. */
static void
sensors_theoretical_wind_over_the_moving_deck(void **state)
{
    static const struct {
        const char *track;
        const char *wind;
        int32_t headwind_kt_x10;
        int32_t crosswind_kt_x10;
    } rows[] = {
        {"GPVTG,000.0,T,,M,25.0,N,46.3,K,A", "WIMWV,0.0,T,0.0,N,A", 246, 40},
        {"GPVTG,000.0,T,,M,20.0,N,37.0,K,A", "WIMWV,0.0,T,10.0,N,A", 296, 47},
        {"GPVTG,000.0,T,,M,20.0,N,37.0,K,A", "WIMWV,340.0,T,10.0,N,A", 295, 13},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct bridge b;

        begin(&b);
        say(&b, "HEHDT,000.0,T");
        say(&b, rows[i].track);
        say(&b, rows[i].wind);
        struct tl_sensors_wind wind = wind_at(&b, 0);
        assert_int_equal(wind.wind.state, TL_WIND_KNOWN);
        assert_true(wind.sensor[0].theoretical);
        assert_int_equal(wind.wind.headwind_kt_x10, rows[i].headwind_kt_x10);
        assert_int_equal(wind.wind.crosswind_kt_x10, rows[i].crosswind_kt_x10);
    }
}

/* Radar Navigation and Maneuvering Board Manual, Pub. 1310: ship 240 at 18 kn, relative wind 040
 * at 30 kn; true wind from 315, 20 kn (315.516 and 19.917 computed). */
static void
sensors_true_wind_from_relative(void **state)
{
    struct bridge b;

    (void)state;
    begin(&b);
    say(&b, "HEHDT,240.0,T");
    say(&b, "GPVTG,240.0,T,,M,18.0,N,33.3,K,A");
    say(&b, "WIMWV,040.0,R,30.0,N,A");
    struct tl_sensors_wind wind = wind_at(&b, 0);
    assert_true(wind.wind.true_known);
    assert_int_equal(wind.wind.true_from_deg_x10, 3155);
    assert_int_equal(wind.wind.true_speed_kt_x10, 199);
    assert_int_equal(wind.wind.deck_from_deg_x10, 400);
    assert_int_equal(wind.wind.deck_speed_kt_x10, 300);
}

static void
sensors_true_wind_from_north_is_360_and_calm_is_0(void **state)
{
    struct bridge b;

    (void)state;
    begin(&b);
    say(&b, "HEHDT,180.0,T");
    say(&b, "GPVTG,180.0,T,,M,5.0,N,9.3,K,A");
    say(&b, "WIMWV,180.0,R,5.0,N,A"); /* row 5 of the published true winds: 360 at 10 */
    assert_int_equal(wind_at(&b, 0).wind.true_from_deg_x10, 3600);
    assert_int_equal(wind_at(&b, 0).wind.true_speed_kt_x10, 100);
    say(&b, "WIMWV,0.0,R,5.0,N,A"); /* row 3, turned round: calm */
    assert_true(wind_at(&b, 0).wind.true_known);
    assert_int_equal(wind_at(&b, 0).wind.true_from_deg_x10, 0);
    assert_int_equal(wind_at(&b, 0).wind.true_speed_kt_x10, 0);
}

static uint64_t
draw(uint64_t *seed)
{
    *seed = *seed * 6364136223846793005U + 1442695040888963407U;
    return *seed >> 33;
}

/* Against plain components along the landing axis, without the triangle of the product. */
static void
sensors_headwind_is_never_above_and_crosswind_never_below_the_exact(void **state)
{
    uint64_t seed = 20260612;
    const char *given = getenv("TL_TEST_SEED");
    const double rad = 3.14159265358979323846 / 180.0;

    (void)state;
    seed = given != NULL ? strtoull(given, NULL, 0) : seed;
    (void)printf("           seed %llu\n", (unsigned long long)seed);
    for (int run = 0; run < 5000; run++) {
        struct bridge b;
        char text[SAY_CAP];
        double heading = (double)(draw(&seed) % 3600) / 10.0;
        double course = (double)(draw(&seed) % 3600) / 10.0;
        double ship_kt = (double)(draw(&seed) % 300) / 10.0;
        double angle = (double)(draw(&seed) % 3600) / 10.0;
        double wind_kt = (double)(draw(&seed) % 500) / 10.0;
        double axis = (heading - 9.0) * rad;
        double from = (heading + angle) * rad;
        /* air over the moving deck, east and north, pointing where it goes */
        double east = -wind_kt * sin(from) - ship_kt * sin(course * rad);
        double north = -wind_kt * cos(from) - ship_kt * cos(course * rad);
        double head_x10 = -10.0 * (east * sin(axis) + north * cos(axis));
        double cross_x10 = -10.0 * (east * cos(axis) - north * sin(axis));

        begin(&b);
        (void)snprintf(text, sizeof text, "HEHDT,%.1f,T", heading);
        say(&b, text);
        (void)snprintf(text, sizeof text, "GPVTG,%.1f,T,,M,%.1f,N,,K,A", course, ship_kt);
        say(&b, text);
        (void)snprintf(text, sizeof text, "WIMWV,%.1f,T,%.1f,N,A", angle, wind_kt);
        say(&b, text);
        const struct tl_wind wind = wind_at(&b, 0).wind;
        double head_off = head_x10 - wind.headwind_kt_x10;
        double cross_off = abs(wind.crosswind_kt_x10) - fabs(cross_x10);
        assert_int_equal(wind.state, TL_WIND_KNOWN);
        if (head_off < -1e-5 || head_off >= 1.0 || cross_off < -1e-5 || cross_off >= 1.0 ||
            wind.crosswind_kt_x10 * cross_x10 < -1e-3) {
            fail_msg("heading %.1f course %.1f/%.1f T %.1f/%.1f: %.3f %.3f, got %d %d", heading,
                     course, ship_kt, angle, wind_kt, head_x10, cross_x10, wind.headwind_kt_x10,
                     wind.crosswind_kt_x10);
        }
    }
}

/* ---- what a wind needs ---- */

#define HDT "HEHDT,090.0,T"
#define VTG "GPVTG,090.0,T,,M,20.0,N,37.0,K,A"
#define REL "WIMWV,000.0,R,30.0,N,A"
#define THE "WIMWV,000.0,T,10.0,N,A" /* with HDT and VTG it is REL */

static void
sensors_wind_is_known_by_what_it_needs(void **state)
{
    static const struct row rows[] = {
        {"nothing", {NULL}, TL_SENSORS_NEVER_HEARD},
        {"ship only", {HDT, VTG}, TL_SENSORS_NEVER_HEARD},
        {"R alone", {REL}, TL_SENSORS_FINE},
        {"R not valid", {"WIMWV,0.0,R,30.0,N,V"}, TL_SENSORS_NO_DATA},
        {"R becomes not valid", {REL, "WIMWV,0.0,R,30.0,N,V"}, TL_SENSORS_NO_DATA},
        {"R becomes empty", {REL, "WIMWV,,R,,N,A"}, TL_SENSORS_NO_DATA},
        {"not valid, of neither", {REL, THE, "WIMWV,,,,,V"}, TL_SENSORS_NO_DATA},
        {"T not valid leaves R", {REL, "WIMWV,0.0,T,,N,V"}, TL_SENSORS_FINE},
        {"R not valid leaves T", {HDT, VTG, THE, "WIMWV,0.0,R,,N,V"}, TL_SENSORS_FINE},
        {"T alone", {THE}, TL_SENSORS_NO_HEADING},
        {"T and heading", {HDT, THE}, TL_SENSORS_NO_SPEED},
        {"T and track", {VTG, THE}, TL_SENSORS_NO_HEADING},
        {"T, heading, track", {HDT, VTG, THE}, TL_SENSORS_FINE},
        {"T, heading not valid", {HDT, VTG, THE, "HEHDT,,T"}, TL_SENSORS_NO_HEADING},
        {"T, track not valid", {HDT, VTG, THE, "GPVTG,,,,,,,,,N"}, TL_SENSORS_NO_SPEED},
        {"T, moving, no course", {HDT, "GPVTG,,T,,M,0.1,N,0.2,K,A", THE}, TL_SENSORS_NO_COURSE},
        {"T, stopped, no course", {HDT, "GPVTG,,T,,M,0.0,N,0.0,K,A", THE}, TL_SENSORS_FINE},
        {"T, speed through water", {HDT, "VWVHW,,T,,M,20.0,N,,K", THE}, TL_SENSORS_FINE},
        {"T, log and its compass", {"VWVHW,90.0,T,,M,20.0,N,,K", THE}, TL_SENSORS_FINE},
        {"R and T agree", {HDT, VTG, THE, REL}, TL_SENSORS_FINE},
        {"R and T contradict",
         {HDT, VTG, THE, "WIMWV,0.0,R,10.0,N,A"},
         TL_SENSORS_WIND_CONTRADICTS},
        {"R and T cannot be compared", {THE, "WIMWV,0.0,R,10.0,N,A"}, TL_SENSORS_FINE},
    };

    (void)state;
    CHECK(rows);
}

static void
sensors_true_wind_says_what_it_lacks(void **state)
{
    static const struct row rows[] = {
        {"R alone", {REL}, TL_SENSORS_NO_HEADING},
        {"R and heading", {REL, HDT}, TL_SENSORS_NO_SPEED},
        {"R and track", {REL, VTG}, TL_SENSORS_NO_HEADING},
        {"R, moving, no course", {REL, HDT, "GPVTG,,T,,M,9.0,N,,K,A"}, TL_SENSORS_NO_COURSE},
        {"R, heading, track", {REL, HDT, VTG}, TL_SENSORS_FINE},
        {"R and T, heading", {REL, THE, HDT}, TL_SENSORS_FINE},
        {"R and T, no heading", {REL, THE, VTG}, TL_SENSORS_NO_HEADING},
        {"headings disagree", {REL, VTG, HDT, "HNHDT,100.0,T"}, TL_SENSORS_HEADINGS_DISAGREE},
        {"tracks disagree",
         {REL, HDT, VTG, "GNVTG,090.0,T,,M,25.0,N,46.3,K,A"},
         TL_SENSORS_SPEEDS_DISAGREE},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct bridge b;

        begin(&b);
        for (size_t s = 0; s < SAY_MAX && rows[i].say[s] != NULL; s++) {
            say(&b, rows[i].say[s]);
        }
        struct tl_sensors_wind wind = wind_at(&b, 0);
        assert_int_equal(wind.wind.state, TL_WIND_KNOWN);
        if (wind.true_reason != rows[i].reason ||
            wind.wind.true_known != (rows[i].reason == TL_SENSORS_FINE)) {
            fail_msg("%s: got '%s'", rows[i].name, tl_sensors_reason_text(wind.true_reason));
        }
    }
}

/* ---- agreement ---- */

static void
sensors_agree_at_the_limit_and_disagree_past_it(void **state)
{
    static const struct row rows[] = {
        {"speed at the limit", {"WIMWV,0.0,R,30.0,N,A", "IIMWV,0.0,R,25.0,N,A"}, TL_SENSORS_FINE},
        {"speed past it",
         {"WIMWV,0.0,R,30.0,N,A", "IIMWV,0.0,R,24.999,N,A"},
         TL_SENSORS_WINDS_DISAGREE},
        {"tenths at the limit", {"WIMWV,0.0,R,12.3,N,A", "IIMWV,0.0,R,7.3,N,A"}, TL_SENSORS_FINE},
        {"direction at the limit",
         {"WIMWV,0.0,R,30.0,N,A", "IIMWV,15.0,R,30.0,N,A"},
         TL_SENSORS_FINE},
        {"direction past it",
         {"WIMWV,0.0,R,30.0,N,A", "IIMWV,15.001,R,30.0,N,A"},
         TL_SENSORS_WINDS_DISAGREE},
        {"across the bow", {"WIMWV,353.0,R,30.0,N,A", "IIMWV,8.0,R,30.0,N,A"}, TL_SENSORS_FINE},
        {"across the bow, past it",
         {"WIMWV,353.0,R,30.0,N,A", "IIMWV,8.1,R,30.0,N,A"},
         TL_SENSORS_WINDS_DISAGREE},
        {"light airs from anywhere",
         {"WIMWV,0.0,R,2.5,N,A", "IIMWV,180.0,R,2.5,N,A"},
         TL_SENSORS_FINE},
        {"not so light",
         {"WIMWV,0.0,R,2.6,N,A", "IIMWV,180.0,R,2.6,N,A"},
         TL_SENSORS_WINDS_DISAGREE},
        {"one talker, two masts",
         {"fore:WIMWV,0.0,R,30.0,N,A", "aft:WIMWV,0.0,R,20.0,N,A"},
         TL_SENSORS_WINDS_DISAGREE},
        {"third against two",
         {"WIMWV,0.0,R,30.0,N,A", "IIMWV,0.0,R,30.0,N,A", "WDMWV,90.0,R,30.0,N,A"},
         TL_SENSORS_WINDS_DISAGREE},
        {"R of one, T of the other, the same wind",
         {HDT, VTG, "WIMWV,0.0,R,30.0,N,A", "IIMWV,0.0,T,10.0,N,A"},
         TL_SENSORS_FINE},
        {"T read as R would agree",
         {HDT, VTG, "WIMWV,0.0,R,10.0,N,A", "IIMWV,0.0,T,10.0,N,A"},
         TL_SENSORS_WINDS_DISAGREE},
        {"one of them not valid",
         {"WIMWV,0.0,R,30.0,N,A", "IIMWV,90.0,R,30.0,N,A", "IIMWV,90.0,R,30.0,N,V"},
         TL_SENSORS_FINE},
        {"headings at the limit", {THE, VTG, "HEHDT,359.0,T", "HNHDT,002.0,T"}, TL_SENSORS_FINE},
        {"headings past it",
         {THE, VTG, "HEHDT,359.0,T", "HNHDT,002.1,T"},
         TL_SENSORS_HEADINGS_DISAGREE},
        {"ship's speeds at the limit",
         {THE, HDT, VTG, "GNVTG,90.0,T,,M,22.0,N,,K,A"},
         TL_SENSORS_FINE},
        {"ship's speeds past it",
         {THE, HDT, VTG, "GNVTG,90.0,T,,M,22.1,N,,K,A"},
         TL_SENSORS_SPEEDS_DISAGREE},
        {"courses past it",
         {THE, HDT, VTG, "GNVTG,100.1,T,,M,20.0,N,,K,A"},
         TL_SENSORS_SPEEDS_DISAGREE},
        {"second track without course",
         {THE, HDT, "GNVTG,,T,,M,20.0,N,,K,A", VTG},
         TL_SENSORS_FINE},
    };

    (void)state;
    CHECK(rows);
}

static void
sensors_that_disagree_are_shown_each_and_give_no_figure(void **state)
{
    static const struct tl_wind zero;
    struct bridge b;

    (void)state;
    begin(&b);
    say(&b, "fore:WIMWV,0.0,R,30.0,N,A");
    say(&b, "aft:WIMWV,90.0,R,20.0,N,A");
    struct tl_sensors_wind wind = wind_at(&b, 0);
    assert_int_equal(wind.wind.state, TL_WIND_DISAGREE);
    assert_int_equal(wind.wind.headwind_kt_x10, zero.headwind_kt_x10);
    assert_int_equal(wind.wind.crosswind_kt_x10, zero.crosswind_kt_x10);
    assert_int_equal(wind.wind.deck_speed_kt_x10, zero.deck_speed_kt_x10);
    assert_false(wind.wind.true_known);
    assert_int_equal(wind.wind.reading_count, 2);
    assert_string_equal(wind.wind.reading[0].source, "WI/fore");
    assert_int_equal(wind.wind.reading[0].speed_kt_x10, 300);
    assert_string_equal(wind.wind.reading[1].source, "WI/aft");
    assert_int_equal(wind.wind.reading[1].speed_kt_x10, 200);
    assert_int_equal(wind.wind.reading[1].from_deg_x10, 900);
    assert_int_equal(wind.sensor[0].headwind_kt_x10, 296); /* 29.631 down */
    assert_int_equal(wind.sensor[1].headwind_kt_x10, -32); /* -3.129 down */
}

/* Headwind of 28 kn from 350 is 27.996, of 30 from 003 is 29.344: the first is published, with the
 * crosswind of the second, 6.237. */
static void
sensors_that_agree_publish_the_lowest_headwind_and_strongest_crosswind(void **state)
{
    static const char *const orders[2][2] = {{"WIMWV,350.0,R,28.0,N,A", "IIMWV,3.0,R,30.0,N,A"},
                                             {"IIMWV,3.0,R,30.0,N,A", "WIMWV,350.0,R,28.0,N,A"}};

    (void)state;
    for (size_t i = 0; i < 2; i++) {
        struct bridge b;

        begin(&b);
        say(&b, orders[i][0]);
        say(&b, orders[i][1]);
        struct tl_sensors_wind wind = wind_at(&b, 0);
        assert_int_equal(wind.wind.state, TL_WIND_KNOWN);
        assert_int_equal(wind.wind.headwind_kt_x10, 279);
        assert_int_equal(wind.wind.crosswind_kt_x10, 63);
        assert_int_equal(wind.wind.deck_speed_kt_x10, 280);
        assert_int_equal(wind.wind.deck_from_deg_x10, 3500);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sensors_theoretical_wind_over_the_moving_deck),
        cmocka_unit_test(sensors_true_wind_from_relative),
        cmocka_unit_test(sensors_true_wind_from_north_is_360_and_calm_is_0),
        cmocka_unit_test(sensors_headwind_is_never_above_and_crosswind_never_below_the_exact),
        cmocka_unit_test(sensors_wind_is_known_by_what_it_needs),
        cmocka_unit_test(sensors_true_wind_says_what_it_lacks),
        cmocka_unit_test(sensors_agree_at_the_limit_and_disagree_past_it),
        cmocka_unit_test(sensors_that_disagree_are_shown_each_and_give_no_figure),
        cmocka_unit_test(sensors_that_agree_publish_the_lowest_headwind_and_strongest_crosswind),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
