/* SPDX-License-Identifier: Apache-2.0 */
/* The wind triangle against published rows and worked examples; each source beside its check. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>

#include "broker/core/mechanics/wind.h"

static void
near(const char *row, double got, double wanted, double tolerance)
{
    if (!(fabs(got - wanted) <= tolerance)) {
        fail_msg("%s: got %.6f, wanted %.6f", row, got, wanted);
    }
}

/*
 * Smith & Bourassa test data as carried in an open-source test file of a public research-vessel
 * data system; method: "Establishing More Truth in True Winds", J. Atmos. Oceanic Technol. 16(7),
 * 1999, p. 939. Tolerance there 0.0001.
 */
static void
ten_published_true_winds(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        struct tl_wind_true_in in;
        struct tl_wind_true_out out;
    } rows[] = {
        {"1", {0, 0, 0, 90, 5}, {90, 5, 90}},
        {"2", {0, 0, 90, 90, 5}, {180, 5, 180}},
        {"3", {0, 5, 0, 0, 5}, {0, 0, 0}},
        {"4", {0, 5, 0, 0, 0}, {180, 5, 0}},
        {"5", {180, 5, 180, 180, 5}, {360, 10, 0}},
        {"6", {90, 5, 90, 90, 5}, {225, 7.0710678, 180}},
        {"7", {90, 5, 45, 135, 5}, {225, 7.0710678, 180}},
        {"8", {225, 5, 225, 270, 5}, {90, 7.0710678, 135}},
        {"9", {270, 3, 270, 90, 4}, {36.8698976, 5, 0}},
        {"10", {0, 0, 0, 0, 0}, {0, 0, 0}},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_wind_true_out out;
        assert_int_equal(tl_wind_true(&rows[i].in, &out), TL_OK);
        near(rows[i].name, out.true_deg, rows[i].out.true_deg, 0.0001);
        near(rows[i].name, out.true_kt, rows[i].out.true_kt, 0.0001);
        near(rows[i].name, out.apparent_deg, rows[i].out.apparent_deg, 0.0001);
    }
}

/* The same file's rows that must be refused; columns there: crs, spd, rel, hd, wspd. */
static void
seven_published_rows_are_refused(void **state)
{
    (void)state;
    static const double rows[][5] = {
        {2, -9999, 0, 0, 0}, {-1111, -9999, 1111, 5555, 9999},
        {-2, 8, 8, 8, 3},    {3, -6, 0, 8, 3},
        {0, 0, -9, 8, 3},    {0, 0, 7, 8, -4},
        {5, 1, 2, -13, 2},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct tl_wind_true_in in = {.course_deg = rows[i][0],
                                           .speed_kt = rows[i][1],
                                           .over_deck_deg = rows[i][2],
                                           .heading_deg = rows[i][3],
                                           .over_deck_kt = rows[i][4]};
        struct tl_wind_true_out out = {-1, -1, -1};
        assert_int_equal(tl_wind_true(&in, &out), TL_BADARG);
        assert_true(out.true_kt < 0.0); /* untouched */
    }
}

/* Radar Navigation and Maneuvering Board Manual, Pub. 1310: ship 240, relative wind 040 at 30 kn;
 * true wind from 315, 20 kn. The ship's speed of 18 kn is from memory; the figures force it. */
static void
manoeuvring_board_example(void **state)
{
    (void)state;
    const struct tl_wind_true_in in = {240, 18, 240, 40, 30};
    struct tl_wind_true_out out;
    assert_int_equal(tl_wind_true(&in, &out), TL_OK);
    near("from", out.true_deg, 315, 1.0);
    near("speed", out.true_kt, 20, 0.5);
}

/* A licence-exam question: course 180, 22 kn, apparent wind 70 off the port bow at 20 kn; of the
 * printed options the one computed is 51 at 24.0 kn. */
static void
licence_exam_question(void **state)
{
    (void)state;
    const struct tl_wind_true_in in = {180, 22, 180, 290, 20};
    struct tl_wind_true_out out;
    assert_int_equal(tl_wind_true(&in, &out), TL_OK);
    near("from", out.true_deg, 51.109, 0.01);
    near("speed", out.true_kt, 24.146, 0.01);
}

/* FAA knowledge-test supplement, figure 36 (wind components): runway 18, wind 220 at 30 kn gives
 * 23 kn along and 19 kn across; and three more read off the same chart. */
static void
runway_component_example(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double angle_deg, wind_kt, head_kt, cross_kt, tolerance;
    } rows[] = {
        {"220/30 on 18", 40, 30, 23, 19, 0.5},
        {"17 kn across at 55", 55, 20.75, 11.9, 17, 0.05},
        {"10 kn along at 60", 60, 20, 10, 17.32, 0.05},
        {"35 kn across at 60", 60, 40.4, 20.2, 35, 0.05},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct tl_wind_deck_in in = {rows[i].angle_deg, rows[i].wind_kt, 0};
        struct tl_wind_deck_out out;
        assert_int_equal(tl_wind_deck(&in, &out), TL_OK);
        near(rows[i].name, out.headwind_kt, rows[i].head_kt, rows[i].tolerance);
        near(rows[i].name, out.crosswind_kt, rows[i].cross_kt, rows[i].tolerance);
    }
}

/* Worked here from the triangle: angled deck 9 degrees to port. Computed, no outside source. */
static void
angled_deck_worked_rows(void **state)
{
    (void)state;
    static const struct {
        double rel_deg, wind_kt, head_kt, cross_kt;
    } rows[] = {{0, 25, 24.692, 3.911}, {0, 30, 29.631, 4.693}, {-6.636, 29.595, 29.570, 1.221}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct tl_wind_deck_in in = {rows[i].rel_deg, rows[i].wind_kt, 9};
        struct tl_wind_deck_out out;
        assert_int_equal(tl_wind_deck(&in, &out), TL_OK);
        near("along", out.headwind_kt, rows[i].head_kt, 0.001);
        near("across", out.crosswind_kt, rows[i].cross_kt, 0.001);
    }
}

/* NIST SP 811, appendix B: the knot is 1852 m an hour, exactly; km/h follow from it. */
static void
unit_factors_are_exact(void **state)
{
    (void)state;
    near("m/s", TL_WIND_MS_PER_KT, 0.514444444444, 1e-12);
    near("km/h", TL_WIND_KMH_PER_KT, 1.852, 0.0);
}

static void
figures_are_rounded_to_the_unfavourable_side(void **state)
{
    (void)state;
    assert_int_equal(tl_wind_x10_down(26.99), 269);
    assert_int_equal(tl_wind_x10_down(-0.01), -1);
    assert_int_equal(tl_wind_x10_away(6.91), 70);
    assert_int_equal(tl_wind_x10_away(-6.91), -70);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ten_published_true_winds),
        cmocka_unit_test(seven_published_rows_are_refused),
        cmocka_unit_test(manoeuvring_board_example),
        cmocka_unit_test(licence_exam_question),
        cmocka_unit_test(runway_component_example),
        cmocka_unit_test(angled_deck_worked_rows),
        cmocka_unit_test(unit_factors_are_exact),
        cmocka_unit_test(figures_are_rounded_to_the_unfavourable_side),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
