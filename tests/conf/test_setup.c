/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_setup - each figure of the configuration comes to its place in the mechanics, in their unit
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "broker/core/mechanics/setup.h"
#include "tests/conf/measures.h"

static const enum tl_figure of_gear[] = {
    TL_FIGURE_HALF_SPAN_FT,
    TL_FIGURE_RUNOUT_FT,
    TL_FIGURE_DESIGN_KT,
    TL_FIGURE_REEVE_RATIO,
    TL_FIGURE_RAM_DIAMETER_IN,
    TL_FIGURE_STROKE_MAX_IN,
    TL_FIGURE_ACCUMULATOR_BATTERY_PSI,
    TL_FIGURE_ACCUMULATOR_FULL_PSI,
    TL_FIGURE_GAS_EXPONENT,
    TL_FIGURE_DISCHARGE_COEFFICIENT,
    TL_FIGURE_FLUID_DENSITY_KG_M3,
    TL_FIGURE_OPENING_LEAST_PERCENT,
    TL_FIGURE_CAPACITY_FTLB,
    TL_FIGURE_PENDANT_BREAK_LBF,
    TL_FIGURE_CABLE_BREAK_LBF,
};
static const enum tl_figure of_stretch[] = {TL_FIGURE_CABLE_LENGTH_FT,
                                            TL_FIGURE_CABLE_DAMPING_PERCENT, TL_FIGURE_RAM_MASS_LB};
static const enum tl_figure of_air[] = {TL_FIGURE_AIR_TEMPERATURE_C, TL_FIGURE_AIR_PRESSURE_HPA};
static const enum tl_figure of_reset[] = {TL_FIGURE_RESET_ARREST_S,  TL_FIGURE_RESET_HOOK_S,
                                          TL_FIGURE_RESET_RETRACT_S, TL_FIGURE_RESET_TAXI_S,
                                          TL_FIGURE_RESET_WEIGHT_S,  TL_FIGURE_RESET_CHECK_S};

static int
set_up(void **state)
{
    struct tl_config *config = calloc(1, sizeof *config);

    assert_non_null(config);
    for (int f = 1; f < TL_FIGURES; f++) {
        config->figures.given[f] = true;
        config->figures.value[f] = measures_value((enum tl_figure)f);
    }
    config->gear.limits.off_centre_max_ft_x10 = 205;
    *state = config;
    return 0;
}

static int
tear_down(void **state)
{
    free(*state);
    return 0;
}

/* Tenths and percents are divided; all else is the very number. */
static void
assert_near(double got, double want)
{
    double apart = got > want ? got - want : want - got;

    if (apart > 1e-9) {
        fail_msg("%.12g, want %.12g", got, want);
    }
}

static void
setup_gear_is_as_configured(void **state)
{
    struct tl_config *config = *state;
    struct tl_arrest_gear gear;
    const char *missing = NULL;

    assert_int_equal(tl_setup_gear(config, &gear, &missing), TL_OK);
    assert_null(missing);
    assert_near(gear.half_span_ft, 55.5);
    assert_near(gear.runout_ft, 340);
    assert_near(gear.design_kt, 130.25);
    assert_near(gear.reeve_ratio, 18);
    assert_near(gear.ram_diameter_in, 20.125);
    assert_near(gear.stroke_max_in, 195);
    assert_near(gear.accumulator_battery_psi, 400);
    assert_near(gear.accumulator_full_psi, 650);
    assert_near(gear.gas_exponent, 1.4);
    assert_near(gear.discharge_coefficient, 0.7);
    assert_near(gear.fluid_density_kg_m3, 1060);
    assert_near(gear.opening_least, 0.025);
    assert_near(gear.capacity_ftlb, 43500000);
    assert_near(gear.off_centre_max_ft, 20.5);
    assert_near(gear.cable_stiffness_lbf, 123456789.0625);
    assert_near(gear.cable_length_ft, 1100);
    assert_near(gear.cable_damping, 0.21);
    assert_near(gear.ram_mass_lb, 15000);
}

static void
setup_gear_breaks_at_the_weaker_of_pendant_and_cable(void **state)
{
    struct tl_config *config = *state;
    struct tl_arrest_gear gear;
    const char *missing = NULL;

    assert_int_equal(tl_setup_gear(config, &gear, &missing), TL_OK);
    assert_near(gear.break_lbf, 188000);
    config->figures.value[TL_FIGURE_CABLE_BREAK_LBF] = 187999;
    assert_int_equal(tl_setup_gear(config, &gear, &missing), TL_OK);
    assert_near(gear.break_lbf, 187999);
}

static void
setup_gear_does_without_stretch_and_without_a_limit_off_centre(void **state)
{
    struct tl_config *config = *state;
    struct tl_arrest_gear gear;
    const char *missing = NULL;

    config->gear.limits.off_centre_max_ft_x10 = 0;
    config->figures.given[TL_FIGURE_CABLE_STIFFNESS_LBF] = false;
    assert_int_equal(tl_setup_gear(config, &gear, &missing), TL_OK);
    assert_near(gear.off_centre_max_ft, 0);
    assert_near(gear.cable_stiffness_lbf, 0);
    assert_near(gear.cable_length_ft, 0);
    assert_near(gear.cable_damping, 0);
    assert_near(gear.ram_mass_lb, 0);
}

static void
setup_air_and_reset_are_as_configured(void **state)
{
    struct tl_config *config = *state;
    struct tl_air air;
    struct tl_reset_in reset;
    const char *missing = NULL;

    assert_int_equal(tl_setup_air(config, &air, &missing), TL_OK);
    assert_near(air.temperature_c, -30.5);
    assert_near(air.pressure_hpa, 1005);
    assert_int_equal(tl_setup_reset(config, &reset, &missing), TL_OK);
    assert_near(reset.arrest_s, 3);
    assert_near(reset.hook_s, 5.25);
    assert_near(reset.retract_s, 7);
    assert_near(reset.taxi_s, 12);
    assert_near(reset.weight_s, 8);
    assert_near(reset.check_s, 3.5);
}

static enum tl_err
set_gear(const struct tl_config *config, void *out, const char **missing)
{
    return tl_setup_gear(config, out, missing);
}

static enum tl_err
set_air(const struct tl_config *config, void *out, const char **missing)
{
    return tl_setup_air(config, out, missing);
}

static enum tl_err
set_reset(const struct tl_config *config, void *out, const char **missing)
{
    return tl_setup_reset(config, out, missing);
}

/* And what no function asks for makes no difference to it. */
static void
setup_names_the_figure_that_is_missing(void **state)
{
    struct tl_config *config = *state;
    const struct {
        enum tl_err (*set)(const struct tl_config *, void *, const char **);
        const enum tl_figure *needs[2];
        size_t counts[2];
    } rows[] = {
        {set_gear, {of_gear, of_stretch}, {sizeof of_gear / sizeof of_gear[0], 3}},
        {set_air, {of_air, NULL}, {2, 0}},
        {set_reset, {of_reset, NULL}, {6, 0}},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (int f = 1; f < TL_FIGURES; f++) {
            char out[sizeof(struct tl_arrest_gear)];
            char untouched[sizeof out];
            const char *missing = NULL;
            bool is_needed = false;
            memset(out, 0x5a, sizeof out);
            memset(untouched, 0x5a, sizeof untouched);
            for (size_t k = 0; k < rows[i].counts[0] + rows[i].counts[1]; k++) {
                size_t first = rows[i].counts[0];
                int need = (int)(k < first ? rows[i].needs[0][k] : rows[i].needs[1][k - first]);
                is_needed = is_needed || need == f;
            }
            config->figures.given[f] = false;
            assert_int_equal(rows[i].set(config, out, &missing), is_needed ? TL_NOTFOUND : TL_OK);
            if (is_needed) {
                assert_string_equal(missing, measures_row((enum tl_figure)f)->name);
                assert_memory_equal(out, untouched, sizeof out);
            }
            config->figures.given[f] = true;
        }
    }
}

static void
setup_figure_is_any_one(void **state)
{
    struct tl_config *config = *state;

    for (int f = 1; f < TL_FIGURES; f++) {
        enum tl_figure figure = (enum tl_figure)f;
        const char *missing = NULL;
        double out = -1.0;
        assert_int_equal(tl_setup_figure(config, figure, &out, &missing), TL_OK);
        assert_near(out, measures_value(figure));
        assert_null(missing);
        config->figures.given[f] = false;
        out = -1.0;
        assert_int_equal(tl_setup_figure(config, figure, &out, &missing), TL_NOTFOUND);
        assert_string_equal(missing, measures_row(figure)->name);
        assert_near(out, -1.0);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(setup_gear_is_as_configured, set_up, tear_down),
        cmocka_unit_test_setup_teardown(setup_gear_breaks_at_the_weaker_of_pendant_and_cable,
                                        set_up, tear_down),
        cmocka_unit_test_setup_teardown(
            setup_gear_does_without_stretch_and_without_a_limit_off_centre, set_up, tear_down),
        cmocka_unit_test_setup_teardown(setup_air_and_reset_are_as_configured, set_up, tear_down),
        cmocka_unit_test_setup_teardown(setup_names_the_figure_that_is_missing, set_up, tear_down),
        cmocka_unit_test_setup_teardown(setup_figure_is_any_one, set_up, tear_down),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
