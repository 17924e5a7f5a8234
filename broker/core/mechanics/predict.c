/* SPDX-License-Identifier: Apache-2.0 */
/* predict - see predict.h. */
#include "broker/core/mechanics/predict.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "broker/core/mechanics/energy.h"
#include "broker/core/mechanics/setup.h"
#include "broker/core/mechanics/units.h"

enum {
    KEPT = 64 /* arrestments remembered, the oldest goes first */
};

/* A figure within a billionth of an integer is that integer: noise does not cost one. */
static const double noise = 1e-9;

struct arrest_key {
    uint32_t weight_lb, set_lb, engaging_kt_x10, thrust_lbf;
};
struct kept {
    struct arrest_key key; /* weight 0 = empty */
    bool solved;
    struct tl_would would;
};
struct tl_predictor {
    const struct tl_config *config;
    struct tl_arrest_machine *machine; /* NULL: the gear has no figures */
    double capacity_ftlb, runout_ft;
    uint32_t next;
    struct kept kept[KEPT];
};

/* NaN and what does not fit become the most: never a small number. */
static uint32_t
up(double value)
{
    double whole = ceil(value - noise * fabs(value));
    return whole >= 0.0 && whole < 4e9 ? (uint32_t)whole : (whole < 0.0 ? 0 : UINT32_MAX);
}

/* NaN and what does not fit become the least. */
static int32_t
down(double value)
{
    double whole = floor(value + noise * fabs(value));
    return whole > -2e9 && whole < 2e9 ? (int32_t)whole : INT32_MIN;
}

static int32_t
away(double value)
{
    double whole = ceil(fabs(value) * (1.0 - noise));
    int32_t size = whole < 2e9 ? (int32_t)whole : INT32_MAX;
    return value < 0.0 ? -size : size;
}

enum tl_err
tl_predictor_open(const struct tl_config *config, struct tl_predictor **out, const char **why)
{
    struct tl_arrest_gear gear;
    struct tl_predictor *predictor = calloc(1, sizeof *predictor);

    *why = "out of memory";
    if (predictor == NULL) {
        return TL_NOMEM;
    }
    predictor->config = config;
    const char *missing = NULL;
    if (tl_setup_gear(config, &gear, &missing) == TL_OK) {
        enum tl_err err = tl_arrest_open(&gear, &predictor->machine, why);
        if (err != TL_OK) {
            tl_predictor_close(&predictor);
            return err == TL_BADARG ? TL_CONFIG : err;
        }
        predictor->capacity_ftlb = gear.capacity_ftlb;
        predictor->runout_ft = gear.runout_ft;
    }
    *out = predictor;
    return TL_OK;
}

void
tl_predictor_close(struct tl_predictor **predictor)
{
    if (*predictor != NULL) {
        tl_arrest_close(&(*predictor)->machine);
        free(*predictor);
        *predictor = NULL;
    }
}

/* ---- one arrestment ---- */

/* From 1: a figure of 0 is one that is not there. */
static bool
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): what is, then the most that it may be */
is_believed(uint32_t figure, uint32_t most)
{
    return figure > 0 && figure <= most;
}

static bool
is_would_believed(const struct tl_would *would)
{
    return is_believed(would->hook_lbf, TL_COMPUTED_LOAD_LBF_MAX) &&
           is_believed(would->tension_percent, TL_COMPUTED_TENSION_PERCENT_MAX) &&
           is_believed(would->stroke_in_x10, TL_COMPUTED_TRAVEL_X10_MAX) &&
           is_believed(would->expect_in_x10, TL_COMPUTED_TRAVEL_X10_MAX) &&
           is_believed(would->runout_ft_x10, TL_COMPUTED_TRAVEL_X10_MAX) &&
           would->end_kt_x10 <= TL_COMPUTED_SPEED_KT_X10_MAX;
}

static bool
solve(struct tl_predictor *predictor, const struct arrest_key *key, struct tl_would *would)
{
    const struct tl_arrest_in in = {.weight_lb = key->weight_lb,
                                    .set_lb = key->set_lb,
                                    .engaging_kt = key->engaging_kt_x10 / 10.0,
                                    .thrust_lbf = key->thrust_lbf};
    struct tl_arrest_out out;
    const char *why = NULL;

    if (tl_arrest_run(predictor->machine, &in, NULL, &out, &why) != TL_OK) {
        return false;
    }
    bool fails = out.parts || out.end == TL_ARREST_BOTTOMED;
    double left_kt = out.parts ? out.parts_kt : out.end_speed_kt;
    uint32_t left_kt_x10 = up(left_kt * 10.0);
    *would = (struct tl_would){
        .set_lb = key->set_lb,
        .bottoms = out.end == TL_ARREST_BOTTOMED,
        .parts = out.parts,
        .end_kt_x10 = fails && left_kt_x10 == 0 ? 1 : left_kt_x10,
        .hook_lbf = up(out.peak_hook_lbf),
        .tension_percent = up(out.tension_fraction * 100.0),
        .stroke_in_x10 = up(out.stroke_in * 10.0),
        .expect_in_x10 = (uint32_t)lround(out.stroke_in * 10.0),
        .runout_ft_x10 = up(out.runout_ft * 10.0),
    };
    return is_would_believed(would);
}

static const struct kept *
find_or_solve(struct tl_predictor *predictor, const struct arrest_key *key)
{
    for (uint32_t i = 0; i < KEPT; i++) {
        if (memcmp(&predictor->kept[i].key, key, sizeof *key) == 0) {
            return &predictor->kept[i];
        }
    }
    struct kept *kept = &predictor->kept[predictor->next];
    predictor->next = (predictor->next + 1) % KEPT;
    *kept = (struct kept){.key = *key};
    kept->solved = solve(predictor, key, &kept->would);
    return kept;
}

/* ---- speed, energy, every setting ---- */

/* Approach speed, air, wind: false when one of them is not known or not possible. */
static bool
engage(const struct tl_config *config, const struct tl_ask *ask, struct tl_engaging_out *out)
{
    const struct tl_aircraft_type *type = tl_config_type(config, ask->type);
    struct tl_engaging_in in = {.glide_deg = 0.0};
    const char *missing = NULL;
    double lull_kt = 0.0;

    if (type == NULL || ask->weight_lb == 0 || ask->less_headwind_kt == TL_SEA_UNKNOWN ||
        tl_setup_air(config, &in.air, &missing) != TL_OK ||
        tl_setup_figure(config, TL_FIGURE_WIND_LULL_KT, &lull_kt, &missing) != TL_OK) {
        return false;
    }
    in.headwind_kt = -(double)ask->less_headwind_kt - lull_kt;
    return tl_setup_approach(type, ask->weight_lb, &in.approach_kt) == TL_OK &&
           tl_engaging(&in, out) == TL_OK;
}

static void
predict_arrest(struct tl_predictor *predictor, const struct tl_ask *ask, double engaging_kt,
               struct tl_predicted_arrest *out)
{
    const struct tl_aircraft_type *type = tl_config_type(predictor->config, ask->type);
    struct tl_energy_out energy;

    if (predictor->machine == NULL || type == NULL) {
        return;
    }
    uint32_t engaging_kt_x10 = up(engaging_kt * 10.0);
    const struct tl_energy_in in = {.weight_lb = ask->weight_lb,
                                    .engaging_kt = engaging_kt_x10 / 10.0,
                                    .thrust_lbf = type->thrust_lbf,
                                    .runout_ft = predictor->runout_ft,
                                    .capacity_ftlb = predictor->capacity_ftlb};
    if (tl_energy(&in, &energy) != TL_OK) {
        return;
    }
    out->headwind_kt_x10 = -10 * ask->less_headwind_kt;
    out->engaging_kt_x10 = engaging_kt_x10;
    out->energy_kftlb = up(energy.energy_ftlb / 1000.0);
    out->margin_percent = down(energy.margin * 100.0);
    out->known = is_believed(engaging_kt_x10, TL_COMPUTED_SPEED_KT_X10_MAX) &&
                 is_believed(out->energy_kftlb, TL_COMPUTED_ENERGY_KFTLB_MAX) &&
                 out->margin_percent >= -TL_COMPUTED_MARGIN_PERCENT_MAX;
    if (!out->known) {
        *out = (struct tl_predicted_arrest){0};
        return;
    }
    for (uint32_t i = 0; i < ask->setting_count; i++) {
        const struct arrest_key key = {.weight_lb = ask->weight_lb,
                                       .set_lb = ask->setting_lb[i],
                                       .engaging_kt_x10 = engaging_kt_x10,
                                       .thrust_lbf = type->thrust_lbf};
        const struct kept *kept = find_or_solve(predictor, &key);
        if (kept->solved) {
            out->would[out->would_count++] = kept->would;
        }
    }
}

/* ---- over the ramp ---- */

static void
predict_ramp(const struct tl_config *config, const struct tl_ask *ask,
             struct tl_predicted_ramp *out)
{
    const struct tl_aircraft_type *type = tl_config_type(config, ask->type);
    const struct tl_aircraft_type *set_for = tl_config_type(config, ask->aid_type);
    const char *missing = NULL;
    struct tl_aid_wires wires;
    double arm_ft = 0.0;
    struct tl_aid_hook_out hook;

    if (type == NULL || set_for == NULL || ask->angle_deg_x100 == 0 || ask->target_wire == 0 ||
        type->hook_to_eye_ft_x100 == 0 || set_for->hook_to_eye_ft_x100 == 0 ||
        ask->pitch_deg_x10 == TL_SEA_UNKNOWN ||
        tl_setup_figure(config, TL_FIGURE_FIRST_WIRE_FT, &wires.first_ft, &missing) != TL_OK ||
        tl_setup_figure(config, TL_FIGURE_WIRE_SPACING_FT, &wires.spacing_ft, &missing) != TL_OK ||
        tl_setup_figure(config, TL_FIGURE_PITCH_ARM_FT, &arm_ft, &missing) != TL_OK) {
        return;
    }
    const struct tl_aid_hook_in in = {.touchdown_ft =
                                          tl_aid_touchdown_of_wire(&wires, ask->target_wire),
                                      .angle_deg = ask->angle_deg_x100 / 100.0,
                                      .set_hook_to_eye_ft = set_for->hook_to_eye_ft_x100 / 100.0,
                                      .hook_to_eye_ft = type->hook_to_eye_ft_x100 / 100.0,
                                      .pitch_deg = ask->pitch_deg_x10 / 10.0,
                                      .pitch_arm_ft = arm_ft};
    if (tl_aid_hook(&in, &hook) != TL_OK) {
        return;
    }
    out->known = true;
    memcpy(out->aid_type, ask->aid_type, TL_TYPE_CAP);
    out->angle_deg_x100 = ask->angle_deg_x100;
    out->target_wire = ask->target_wire;
    out->pitch_deg_x10 = (uint32_t)ask->pitch_deg_x10;
    out->clearance_ft_x10 = down(hook.ramp_clearance_ft * 10.0);
    out->touchdown_ft_x10 = away(hook.shift_ft * 10.0);
}

/* ---- time ---- */

/* Seconds before touchdown at which the word must come to keep that height; false: not known. */
static bool
wave_off_s(const struct tl_config *config, struct tl_wave_off_in in, enum tl_figure window,
           uint32_t *seconds_x10)
{
    const char *missing = NULL;
    struct tl_wave_off_out out;

    if (tl_setup_figure(config, window, &in.height_ft, &missing) != TL_OK ||
        tl_wave_off(&in, &out) != TL_OK) {
        return false;
    }
    *seconds_x10 = up(out.before_s * 10.0);
    return true;
}

static void
predict_time(const struct tl_config *config, const struct tl_ask *ask, double closure_kt,
             struct tl_predicted_time *out)
{
    struct tl_predicted_time time = {.known = true};
    struct tl_reset_in reset;
    struct tl_wave_off_in in = {.closure_kt = closure_kt, .angle_deg = ask->angle_deg_x100 / 100.0};
    const char *missing = NULL;
    double range_nmi = 0.0;
    double ramp_s = 0.0;
    double reset_s = 0.0;

    if (tl_setup_figure(config, TL_FIGURE_CALL_RANGE_NMI, &range_nmi, &missing) != TL_OK ||
        tl_setup_figure(config, TL_FIGURE_REACTION_S, &in.reaction_s, &missing) != TL_OK ||
        tl_setup_figure(config, TL_FIGURE_CLIMB_FT_S2, &in.climb_ft_s2, &missing) != TL_OK ||
        tl_setup_reset(config, &reset, &missing) != TL_OK ||
        tl_reset_mean(&reset, &reset_s) != TL_OK) {
        return;
    }
    if (tl_timing_to_ramp(range_nmi * TL_M_PER_NMI / TL_M_PER_FT, closure_kt, &ramp_s) != TL_OK ||
        !wave_off_s(config, in, TL_FIGURE_GEAR_WINDOW_FT, &time.wave_off_gear_s_x10) ||
        !wave_off_s(config, in, TL_FIGURE_PEOPLE_WINDOW_FT, &time.wave_off_people_s_x10)) {
        return;
    }
    int32_t ramp_s_x10 = down(ramp_s * 10.0);
    time.ramp_s_x10 = ramp_s_x10 > 0 ? (uint32_t)ramp_s_x10 : 0;
    time.reset_s_x10 = up(reset_s * 10.0);
    if (is_believed(time.ramp_s_x10, TL_COMPUTED_TIME_S_X10_MAX) &&
        is_believed(time.reset_s_x10, TL_COMPUTED_TIME_S_X10_MAX) &&
        is_believed(time.wave_off_gear_s_x10, TL_COMPUTED_TIME_S_X10_MAX) &&
        is_believed(time.wave_off_people_s_x10, TL_COMPUTED_TIME_S_X10_MAX)) {
        *out = time;
    }
}

void
tl_predictor_run(struct tl_predictor *predictor, const struct tl_ask *ask, struct tl_predicted *out)
{
    struct tl_engaging_out speed;

    memset(out, 0, sizeof *out);
    out->event = ask->event;
    memcpy(out->type, ask->type, TL_TYPE_CAP);
    out->weight_lb = ask->weight_lb;
    out->barricade = ask->barricade;
    predict_ramp(predictor->config, ask, &out->ramp);
    if (engage(predictor->config, ask, &speed)) {
        predict_arrest(predictor, ask, speed.engaging_kt, &out->arrest);
        predict_time(predictor->config, ask, speed.closure_kt, &out->time);
    }
}
