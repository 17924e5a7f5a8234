/* SPDX-License-Identifier: Apache-2.0 */
/* Density, the standard atmosphere and the engaging speed; each source beside its check. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <math.h>

#include "broker/core/mechanics/air.h"
#include "broker/core/mechanics/units.h"
#include "tests/mechanics/probe.h"

static const double sea_level_kg_m3 = 1.225; /* ISO 2533, from memory */
static const struct tl_air standard = {15.0, 1013.25};

static double
ratio_of(struct tl_air air)
{
    double sigma = -1.0;

    assert_int_equal(tl_air_density_ratio(&air, &sigma), TL_OK);
    return sigma;
}

static struct tl_air
standard_at(double height_ft)
{
    struct tl_air air;

    assert_int_equal(tl_air_standard(height_ft, &air), TL_OK);
    return air;
}

/* Documentation of a public library of the standard atmosphere, its example for 100 m. */
static void
standard_air_at_100_m_is_the_published_one(void **state)
{
    (void)state;
    struct tl_air air = standard_at(100.0 / TL_M_PER_FT);

    near("Celsius", air.temperature_c, 14.35, 0.005);
    near("hPa", air.pressure_hpa, 1001.29, 0.005);
    near("kg/m3", sea_level_kg_m3 * ratio_of(air), 1.21328, 5e-6);
}

/* A public table of the US standard atmosphere of 1976, which is up to 0.0025 psi, and 0.065 F, off
 * the formula printed beside it. Own derivation beside it: 1,000 m is
 * 898.746 hPa (a package that prints 899.36 is wrong). */
static void
standard_air_is_that_of_the_published_table(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double height_ft, fahrenheit, psi;
    } rows[] = {
        {"1,000 ft", 1000, 55.4, 14.175},
        {"5,000 ft", 5000, 41.2, 12.230},
        {"10,000 ft", 10000, 23.4, 10.108},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_air air = standard_at(rows[i].height_ft);
        double fahrenheit = air.temperature_c * 1.8 + 32.0;

        near(rows[i].name, fahrenheit, rows[i].fahrenheit, 0.065);
        near(rows[i].name, air.pressure_hpa * TL_PA_PER_HPA / TL_PA_PER_PSI, rows[i].psi, 0.0025);
    }
    near("1,000 m", standard_at(1000.0 / TL_M_PER_FT).pressure_hpa, 898.746, 0.0005);
}

/* The same page prints p = 14.696 (1 - 6.8754e-6 Z)^5.2559, Z in ft. */
static void
standard_pressure_is_that_of_the_published_formula(void **state)
{
    (void)state;
    for (int step = 0; step <= 72; step++) {
        double z = 500.0 * step;
        double printed_psi = 14.696 * pow(1.0 - 6.8754e-6 * z, 5.2559);

        near("psi", standard_at(z).pressure_hpa * TL_PA_PER_HPA / TL_PA_PER_PSI, printed_psi, 2e-4);
    }
}

/* Own derivation from the constants of the standard. */
static void
density_ratio_worked_rows(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double height_ft, sigma;
    } rows[] = {{"0 ft", 0, 1.00000},
                {"1,000 ft", 1000, 0.97106},
                {"2,000 ft", 2000, 0.94277},
                {"5,000 ft", 5000, 0.86167},
                {"10,000 ft", 10000, 0.73848}};
    static const struct {
        const char *name;
        double temperature_c, sigma;
    } at_sea[] = {{"-10 C", -10, 1.09500}, {"0 C", 0, 1.05491},   {"15 C", 15, 1.00000},
                  {"30 C", 30, 0.95052},   {"38 C", 38, 0.92608}, {"40 C", 40, 0.92017}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        near(rows[i].name, ratio_of(standard_at(rows[i].height_ft)), rows[i].sigma, 6e-6);
    }
    for (size_t i = 0; i < sizeof at_sea / sizeof at_sea[0]; i++) {
        near(at_sea[i].name, ratio_of((struct tl_air){at_sea[i].temperature_c, 1013.25}),
             at_sea[i].sigma, 6e-6);
    }
}

/* A public table at 14,000 m (216.65 K): 0.2268 kg/m3, 0.2167 ten degrees above standard. The height
 * is out of our range, the step of the temperature is not. */
static void
ten_degrees_above_standard_thin_the_air_as_published(void **state)
{
    (void)state;
    double cold = ratio_of((struct tl_air){216.65 - TL_K_AT_0_C, 600});
    double warm = ratio_of((struct tl_air){226.65 - TL_K_AT_0_C, 600});

    near("kg/m3", 0.2268 * warm / cold, 0.2167, 1e-4);
}

/* Own derivation: 125 kn at 38 C with 27 kn down the axis. */
static void
engaging_speed_worked_example(void **state)
{
    (void)state;
    const struct tl_engaging_in hot = {125, {38, 1013.25}, 27, 0};
    const struct tl_engaging_in mild = {125, standard, 27, 0};
    struct tl_engaging_out out;

    assert_int_equal(tl_engaging(&hot, &out), TL_OK);
    near("true airspeed", out.true_airspeed_kt, 129.893, 5e-4);
    near("closure", out.closure_kt, 102.893, 5e-4);
    near("engaging", out.engaging_kt, 102.893, 5e-4);
    near("sigma", out.sigma, 0.92608, 6e-6);
    assert_int_equal(tl_engaging(&mild, &out), TL_OK);
    near("engaging, standard", out.engaging_kt, 98.0, 1e-9);
}

/* cos 3.5 = 0.9981: of the airspeed along the slope that much is along the deck. */
static void
engaging_speed_on_the_slope_is_less(void **state)
{
    (void)state;
    const struct tl_engaging_in in = {130, standard, 0, 3.5};
    struct tl_engaging_out out;

    assert_int_equal(tl_engaging(&in, &out), TL_OK);
    near("of the airspeed", out.engaging_kt / out.true_airspeed_kt, 0.9981, 5e-5);
    near("closure", out.closure_kt, 130.0, 1e-9);
}

static void
engaging_speed_must_be_left_by_the_wind(void **state)
{
    (void)state;
    const struct tl_engaging_in carried_off = {40, standard, 40, 0};
    const struct tl_engaging_in just_left = {40, standard, 39.9, 0};
    struct tl_engaging_out out = {-1, -1, -1, -1};

    assert_int_equal(tl_engaging(&carried_off, &out), TL_BADARG);
    near("untouched", out.sigma, -1.0, 0.0);
    assert_int_equal(tl_engaging(&just_left, &out), TL_OK);
    near("left", out.engaging_kt, 0.1, 1e-9);
}

/* Textbook lift equation. */
static void
approach_speed_goes_with_the_root_of_the_weight(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        struct tl_approach_in in;
        double wanted_kt;
    } rows[] = {
        {"same weight", {130, 40000, 40000}, 130},
        {"four times", {65, 10000, 40000}, 130},
        {"a quarter", {130, 40000, 10000}, 65},
        {"twice", {100, 20000, 40000}, 141.4213562},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double got = -1.0;

        assert_int_equal(tl_approach_at(&rows[i].in, &got), TL_OK);
        near(rows[i].name, got, rows[i].wanted_kt, 5e-8);
    }
}

static enum tl_err
call_ratio(const void *in, void *out)
{
    return tl_air_density_ratio(in, out);
}

static enum tl_err
call_standard(const void *in, void *out)
{
    const double *height_ft = in;

    return tl_air_standard(*height_ft, out);
}

static enum tl_err
call_engaging(const void *in, void *out)
{
    return tl_engaging(in, out);
}

static enum tl_err
call_approach(const void *in, void *out)
{
    return tl_approach_at(in, out);
}

static void
air_out_of_range_is_refused(void **state)
{
    (void)state;
    static const struct edge air[] = {
        {"temperature", offsetof(struct tl_air, temperature_c), -60, 60, false},
        {"pressure", offsetof(struct tl_air, pressure_hpa), 500, 1100, false},
    };
    static const struct edge height[] = {{"height", 0, -1000, 36000, false}};
    const double sound_ft = 0.0;

    takes_its_ranges_only(&(struct probe){call_ratio, &standard, sizeof standard, sizeof(double)},
                          air, 2);
    takes_its_ranges_only(
        &(struct probe){call_standard, &sound_ft, sizeof sound_ft, sizeof(struct tl_air)}, height,
        1);
}

static void
engaging_input_out_of_range_is_refused(void **state)
{
    (void)state;
    static const struct edge edges[] = {
        {"approach", offsetof(struct tl_engaging_in, approach_kt), 20, 300, false},
        {"temperature", offsetof(struct tl_engaging_in, air.temperature_c), -60, 60, false},
        {"pressure", offsetof(struct tl_engaging_in, air.pressure_hpa), 500, 1100, false},
        {"headwind", offsetof(struct tl_engaging_in, headwind_kt), -100, 100, false},
        {"glide", offsetof(struct tl_engaging_in, glide_deg), 0, 10, false},
    };
    const struct tl_engaging_in sound = {130, standard, 10, 3.5};

    takes_its_ranges_only(
        &(struct probe){call_engaging, &sound, sizeof sound, sizeof(struct tl_engaging_out)}, edges,
        sizeof edges / sizeof edges[0]);
}

static void
approach_input_out_of_range_is_refused(void **state)
{
    (void)state;
    static const struct edge edges[] = {
        {"approach", offsetof(struct tl_approach_in, approach_kt), 20, 300, false},
        {"at", offsetof(struct tl_approach_in, at_lb), 1000, 200000, false},
        {"weight", offsetof(struct tl_approach_in, weight_lb), 1000, 200000, false},
    };
    const struct tl_approach_in sound = {130, 40000, 42000};

    takes_its_ranges_only(&(struct probe){call_approach, &sound, sizeof sound, sizeof(double)},
                          edges, sizeof edges / sizeof edges[0]);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(standard_air_at_100_m_is_the_published_one),
        cmocka_unit_test(standard_air_is_that_of_the_published_table),
        cmocka_unit_test(standard_pressure_is_that_of_the_published_formula),
        cmocka_unit_test(density_ratio_worked_rows),
        cmocka_unit_test(ten_degrees_above_standard_thin_the_air_as_published),
        cmocka_unit_test(engaging_speed_worked_example),
        cmocka_unit_test(engaging_speed_on_the_slope_is_less),
        cmocka_unit_test(engaging_speed_must_be_left_by_the_wind),
        cmocka_unit_test(approach_speed_goes_with_the_root_of_the_weight),
        cmocka_unit_test(air_out_of_range_is_refused),
        cmocka_unit_test(engaging_input_out_of_range_is_refused),
        cmocka_unit_test(approach_input_out_of_range_is_refused),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
