/* SPDX-License-Identifier: Apache-2.0 */
/*
 * test_parts - cable, accumulator, schedule and impact by themselves
 *
 * Figures without another source are worked from the formulas of docs/mechanics.md, by hand.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "tests/arrest/rig.h"

static void
geometry_gives_payout_stroke_and_pull_of_the_worked_table(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        struct tl_arrest_hook hook;
        double payout_ft, stroke_in, pull, side;
    } rows[] = {
        {"x 0", {0.0, 0.0}, 0.0, 0.0, 0.0, 0.0},
        {"x 10", {10.0, 0.0}, 0.9017, 0.6011, 0.35777, 0.0},
        {"x 50", {50.0, 0.0}, 19.3303, 12.8869, 1.34535, 0.0},
        {"x 100", {100.0, 0.0}, 59.1271, 39.4181, 1.75243, 0.0},
        {"x 200", {200.0, 0.0}, 152.4247, 101.6165, 1.92841, 0.0},
        {"x 340", {340.0, 0.0}, 289.4198, 192.9465, 1.97433, 0.0},
        {"x 340, 20 off", {340.0, 20.0}, 289.985, 193.3233, 1.97127, 0.11301},
        {"x 50, 20 off", {50.0, 20.0}, 20.5858, 13.7239, 1.37393, 0.25859},
        {"x 50, 20 off to the other side", {50.0, -20.0}, 20.5858, 13.7239, 1.37393, -0.25859},
    };
    struct tl_arrest_gear gear = rig_gear();

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_arrest_geometry at;
        tl_arrest_geometry(&gear, rows[i].hook, &at);
        rig_is_near(rows[i].name, (struct rig_near){at.payout_ft, rows[i].payout_ft, 6e-4});
        rig_is_near(rows[i].name, (struct rig_near){at.stroke_in, rows[i].stroke_in, 4e-4});
        rig_is_near(rows[i].name, (struct rig_near){at.force_per_tension, rows[i].pull, 6e-6});
        rig_is_near(rows[i].name, (struct rig_near){at.side_per_tension, rows[i].side, 6e-6});
    }
}

static void
accumulator_holds_its_two_pressures_at_battery_and_at_full_stroke(void **state)
{
    (void)state;
    struct tl_arrest_gear gear = rig_gear();
    struct tl_arrest_geometry full;

    tl_arrest_geometry(&gear, (struct tl_arrest_hook){340.0, 0.0}, &full);
    rig_is_near("full stroke", (struct rig_near){full.stroke_in, 192.9465, 1e-4});
    static const double exponents[] = {1.0, 1.3, 1.4};
    for (size_t i = 0; i < sizeof exponents / sizeof exponents[0]; i++) {
        gear.gas_exponent = exponents[i];
        rig_is_near("battery",
                    (struct rig_near){tl_arrest_accumulator_psi(&gear, 0.0), 400.0, 1e-9});
        rig_is_near("full", (struct rig_near){tl_arrest_accumulator_psi(&gear, full.stroke_in),
                                              650.0, 1e-9});
    }
}

/* Gas of 122.62 ft3 (exponent 1.4), 115.26 (1.3), 93.27 (1.0) for 35.08 ft3 swept. */
static void
accumulator_follows_its_gas_between(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double exponent, gas_ft3;
    } rows[] = {{"exponent 1.4", 1.4, 122.62}, {"1.3", 1.3, 115.26}, {"1.0", 1.0, 93.27}};
    const double atmosphere_psi = 101325.0 / RIG_PSI;
    const double area_ft2 = 314.159265 / 144.0;
    struct tl_arrest_gear gear = rig_gear();

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        double swept_ft3 = area_ft2 * 100.0 / 12.0;
        double wanted = (400.0 + atmosphere_psi) *
                            pow(rows[i].gas_ft3 / (rows[i].gas_ft3 - swept_ft3), rows[i].exponent) -
                        atmosphere_psi;
        gear.gas_exponent = rows[i].exponent;
        /* the volumes are rounded to a hundredth */
        rig_is_near(rows[i].name,
                    (struct rig_near){tl_arrest_accumulator_psi(&gear, 100.0), wanted, 0.02});
    }
    gear = rig_ideal();
    assert_true(tl_arrest_accumulator_psi(&gear, 100.0) == 0.0);
}

static void
schedule_holds_the_tension_of_the_worked_table(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double set_lb, tension_lbf, pressure_psi;
    } rows[] = {
        {"20,000", 20000.0, 25851.0, 2962.0}, {"30,000", 30000.0, 38776.0, 4443.0},
        {"40,000", 40000.0, 51701.0, 5925.0}, {"50,000", 50000.0, 64626.0, 7406.0},
        {"60,000", 60000.0, 77552.0, 8887.0},
    };
    struct tl_arrest_gear gear = rig_gear();

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct tl_arrest_schedule schedule;
        assert_int_equal(tl_arrest_schedule(&gear, rows[i].set_lb, &schedule), TL_OK);
        rig_is_near(rows[i].name,
                    (struct rig_near){schedule.tension_lbf, rows[i].tension_lbf, 0.6});
        rig_is_near(rows[i].name,
                    (struct rig_near){schedule.pressure_psi, rows[i].pressure_psi, 0.6});
        /* every weight ends at the same deceleration: 2.5519 g, 127,594 lbf for 50,000 lb */
        rig_is_near(rows[i].name,
                    (struct rig_near){schedule.end_hook_lbf / rows[i].set_lb, 2.5519, 5e-5});
    }
    struct tl_arrest_schedule rated;
    assert_int_equal(tl_arrest_schedule(&gear, 50000.0, &rated), TL_OK);
    rig_is_near("end hook force", (struct rig_near){rated.end_hook_lbf, 127594.0, 0.6});
}

static void
schedule_refuses_what_has_no_schedule(void **state)
{
    (void)state;
    struct tl_arrest_gear gear = rig_gear();
    struct tl_arrest_schedule schedule;
    double opening_in2 = -1.0;

    memset(&schedule, 0x5a, sizeof schedule);
    struct tl_arrest_schedule untouched = schedule;
    static const double absurd_lb[] = {499.0, 300001.0, -1.0, NAN, INFINITY};
    for (size_t i = 0; i < sizeof absurd_lb / sizeof absurd_lb[0]; i++) {
        struct tl_arrest_ram ram = {.set_lb = absurd_lb[i]};
        assert_int_equal(tl_arrest_schedule(&gear, absurd_lb[i], &schedule), TL_BADARG);
        assert_int_equal(tl_arrest_opening(&gear, ram, &opening_in2), TL_BADARG);
    }
    struct tl_arrest_ram nowhere = {.set_lb = 50000.0, .stroke_in = NAN};
    assert_int_equal(tl_arrest_opening(&gear, nowhere, &opening_in2), TL_BADARG);
    /* 4,000 lb asks for less pressure than the accumulator has at full stroke, 650 psi */
    struct tl_arrest_ram light = {.set_lb = 4000.0, .stroke_in = 10.0};
    assert_int_equal(tl_arrest_schedule(&gear, 4000.0, &schedule), TL_REFUSED);
    assert_int_equal(tl_arrest_opening(&gear, light, &opening_in2), TL_REFUSED);
    gear.reeve_ratio = 0.0;
    assert_int_equal(tl_arrest_schedule(&gear, 50000.0, &schedule), TL_BADARG);
    assert_true(tl_arrest_accumulator_psi(&gear, 0.0) == 0.0);
    assert_memory_equal(&schedule, &untouched, sizeof schedule);
    assert_true(opening_in2 == -1.0);
}

/*
 * Textbook, from memory: small strain (V / (sqrt(2) c))^(4/3); exactly
 * V = c sqrt(2 e sqrt(e (1 + e)) - e^2), solved here by halving.
 */
static void
impact_is_the_textbook_wave_and_near_the_exact_one(void **state)
{
    (void)state;
    struct tl_arrest_impact impact = {
        .engaging_kt = 130.0, .modulus_gpa = 110.0, .density_kg_m3 = 7850.0};
    double sound_ms = sqrt(110e9 / 7850.0);
    double low = 0.0;
    double high = 0.1;

    for (int i = 0; i < 100; i++) {
        double e = 0.5 * (low + high);
        double speed_ms = sound_ms * sqrt(2.0 * e * sqrt(e * (1.0 + e)) - e * e);
        if (speed_ms < 130.0 * RIG_KT) {
            low = e;
        } else {
            high = e;
        }
    }
    double exact_mpa = high * 110e3;
    rig_is_near("sound", (struct rig_near){sound_ms, 3743.4, 0.05});
    rig_is_near("exact", (struct rig_near){exact_mpa, 329.3, 0.05});
    rig_is_near("small strain", (struct rig_near){tl_arrest_impact_mpa(impact), 323.6, 0.05});
    rig_is_near_share("both", (struct rig_near){tl_arrest_impact_mpa(impact), exact_mpa, 0.02});
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(geometry_gives_payout_stroke_and_pull_of_the_worked_table),
        cmocka_unit_test(accumulator_holds_its_two_pressures_at_battery_and_at_full_stroke),
        cmocka_unit_test(accumulator_follows_its_gas_between),
        cmocka_unit_test(schedule_holds_the_tension_of_the_worked_table),
        cmocka_unit_test(schedule_refuses_what_has_no_schedule),
        cmocka_unit_test(impact_is_the_textbook_wave_and_near_the_exact_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
