/* SPDX-License-Identifier: Apache-2.0 */
/* reference - the arrestment a second time, by GSL */
#include "tests/arrest/reference.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_odeiv2.h>
#include <math.h>
#include <string.h>

#include "tests/arrest/rig.h"

enum {
    ALONG,
    SPEED,
    ACROSS,
    DRIFT,
    RAM,
    RAM_SPEED,
    STATES_MAX,
    PLACES = 200,
    HALVINGS_MAX = 24
};
static const double time_max_s = 200.0;
static const double atmosphere_pa = 101325.0;

struct model {
    const struct tl_arrest_gear *gear;
    bool stretch;
    double half_span, payout_most, speed, reeve, area, density, discharge;
    double mass, thrust;
    double pressure_set; /* of the setting */
    double gas_pa, gas_m3, gas_exponent;
    double least_m2;
    double stiffness, damping, ram_kg;
};

static double
gas_at(const struct model *model, double ram)
{
    if (model->gas_pa <= 0.0) {
        return 0.0;
    }
    double left = model->gas_m3 - model->area * fmax(ram, 0.0);

    return model->gas_pa * pow(model->gas_m3 / left, model->gas_exponent) - atmosphere_pa;
}

static double
scheduled_m2(const struct model *model, double ram)
{
    double payout = model->reeve * ram;
    double share = payout / model->payout_most;

    if (payout <= 0.0 || share >= 1.0) {
        return 0.0;
    }
    double hypotenuse = model->half_span + payout;
    double sine = model->half_span / hypotenuse;
    double cosine = sqrt(payout / hypotenuse * (1.0 + sine)); /* root of 1 - sine^2, near 0 too */
    double ram_speed = model->speed * sqrt(1.0 - share) * cosine / model->reeve;
    double drop = model->pressure_set - gas_at(model, ram);

    return model->area * ram_speed / (model->discharge * sqrt(2.0 * drop / model->density));
}

struct ram {
    double at, speed;
};

static double
pressure_at(const struct model *model, struct ram ram)
{
    double gas = gas_at(model, ram.at);

    if (ram.speed <= 0.0) {
        return gas;
    }
    double opening = fmax(scheduled_m2(model, ram.at), model->least_m2);
    double flow = model->area * ram.speed / (model->discharge * opening);

    return gas + 0.5 * model->density * flow * flow;
}

struct pull {
    double tension, along, across, ram_at;
    double ram_push; /* on the ram, when it is a mass by itself */
};

static struct pull
pull_at(const struct model *model, const double *y)
{
    double near_side = model->half_span - y[ACROSS];
    double far_side = model->half_span + y[ACROSS];
    double near_rope = hypot(near_side, y[ALONG]);
    double far_rope = hypot(far_side, y[ALONG]);
    double squared = y[ALONG] * y[ALONG];
    double payout = 0.5 * (squared / (near_rope + near_side) + squared / (far_rope + far_side));
    struct pull pull = {.along = y[ALONG] / near_rope + y[ALONG] / far_rope,
                        .across = far_side / far_rope - near_side / near_rope};
    double payout_speed = 0.5 * (pull.along * y[SPEED] + pull.across * y[DRIFT]);
    double per_pressure = model->area / (2.0 * model->reeve);

    if (!model->stretch) {
        struct ram ram = {payout / model->reeve, payout_speed / model->reeve};
        pull.ram_at = ram.at;
        pull.tension = pressure_at(model, ram) * per_pressure;
        return pull;
    }
    double pressure = pressure_at(model, (struct ram){y[RAM], y[RAM_SPEED]});

    pull.ram_at = y[RAM];
    pull.tension = gas_at(model, 0.0) * per_pressure +
                   model->stiffness * (payout - model->reeve * y[RAM]) +
                   model->damping * (payout_speed - model->reeve * y[RAM_SPEED]);
    pull.tension = fmax(pull.tension, 0.0);
    pull.ram_push = 2.0 * model->reeve * pull.tension - pressure * model->area;
    return pull;
}

static int
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): the solver's own signature */
move(double t, const double y[], double dy[], void *user)
{
    const struct model *model = user;
    struct pull pull = pull_at(model, y);

    (void)t;
    dy[ALONG] = y[SPEED];
    dy[SPEED] = (model->thrust - pull.tension * pull.along) / model->mass;
    dy[ACROSS] = y[DRIFT];
    dy[DRIFT] = -pull.tension * pull.across / model->mass;
    if (model->stretch) {
        dy[RAM] = y[RAM_SPEED];
        dy[RAM_SPEED] = pull.ram_push / model->ram_kg;
    }
    return GSL_SUCCESS;
}

static struct model
model_of(const struct tl_arrest_gear *gear, const struct tl_arrest_in *in)
{
    double runout = gear->runout_ft * RIG_FT;
    double radius = 0.5 * gear->ram_diameter_in * RIG_IN;
    struct model model = {
        .gear = gear,
        .stretch = in->stretch,
        .half_span = gear->half_span_ft * RIG_FT,
        .speed = gear->design_kt * RIG_KT,
        .reeve = gear->reeve_ratio,
        .area = acos(-1.0) * radius * radius,
        .density = gear->fluid_density_kg_m3,
        .discharge = gear->discharge_coefficient,
        .mass = in->weight_lb * RIG_LB,
        .thrust = in->thrust_lbf * RIG_LBF,
        .gas_exponent = gear->gas_exponent,
        .ram_kg = gear->ram_mass_lb * RIG_LB,
    };

    model.payout_most = sqrt(model.half_span * model.half_span + runout * runout) - model.half_span;
    double set_kg = in->set_lb * RIG_LB;
    double tension = set_kg * model.speed * model.speed / (4.0 * model.payout_most);
    double stroke = model.payout_most / model.reeve;

    model.pressure_set = 2.0 * model.reeve * tension / model.area;
    if (gear->accumulator_full_psi > 0.0) {
        double full_pa = gear->accumulator_full_psi * RIG_PSI + atmosphere_pa;
        model.gas_pa = gear->accumulator_battery_psi * RIG_PSI + atmosphere_pa;
        double left = pow(model.gas_pa / full_pa, 1.0 / gear->gas_exponent);
        model.gas_m3 = model.area * stroke / (1.0 - left);
    }
    for (int i = 1; i < PLACES; i++) {
        model.least_m2 = fmax(model.least_m2, scheduled_m2(&model, stroke * i / PLACES));
    }
    model.least_m2 *= gear->opening_least;
    if (in->stretch) {
        model.stiffness = gear->cable_stiffness_lbf * RIG_LBF / (gear->cable_length_ft * RIG_FT);
        double critical =
            2.0 * sqrt(2.0 * model.reeve * model.reeve * model.stiffness * model.ram_kg);
        model.damping = gear->cable_damping * critical / (2.0 * model.reeve * model.reeve);
    }
    return model;
}

static double
over_the_end(const struct model *model, const double *y)
{
    double slow = y[SPEED] - 0.1 * RIG_KT;
    double left = model->gear->stroke_max_in * RIG_IN - pull_at(model, y).ram_at;

    return fmin(slow, left);
}

static void
look(const struct model *model, const double *y, struct reference_out *out)
{
    struct pull pull = pull_at(model, y);
    double hook_lbf = pull.tension * pull.along / RIG_LBF;

    if (hook_lbf > out->peak_hook_lbf) {
        out->peak_hook_lbf = hook_lbf;
        out->peak_at_ft = y[ALONG] / RIG_FT;
    }
    out->peak_tension_lbf = fmax(out->peak_tension_lbf, pull.tension / RIG_LBF);
}

/* Halve the last step until its end is the end of the run; returns the time into the step. */
static double
find_end(gsl_odeiv2_step *step, const gsl_odeiv2_system *system, const double *from, double step_s,
         double *y)
{
    double low = 0.0;
    double high = step_s;
    double error[STATES_MAX];

    for (int i = 0; i < 60; i++) {
        double middle = 0.5 * (low + high);
        memcpy(y, from, system->dimension * sizeof *y);
        (void)gsl_odeiv2_step_reset(step);
        (void)gsl_odeiv2_step_apply(step, 0.0, middle, y, error, NULL, NULL, system);
        if (over_the_end(system->params, y) <= 0.0) {
            high = middle;
        } else {
            low = middle;
        }
    }
    return high;
}

struct walk {
    gsl_odeiv2_step *step;
    gsl_odeiv2_control *control;
    gsl_odeiv2_evolve *evolve;
    gsl_odeiv2_system system;
    double step_max_s;
};

static bool
go(struct walk *walk, double *y, struct reference_out *out)
{
    const struct model *model = walk->system.params;
    double t = 0.0;
    double step_s = fmin(1e-4, walk->step_max_s);

    while (t < time_max_s) {
        double before[STATES_MAX] = {0};
        double begin = t;

        memcpy(before, y, sizeof before);
        step_s = fmin(step_s, walk->step_max_s);
        if (gsl_odeiv2_evolve_apply(walk->evolve, walk->control, walk->step, &walk->system, &t,
                                    time_max_s, &step_s, y) != GSL_SUCCESS) {
            return false;
        }
        out->steps++;
        if (over_the_end(model, y) <= 0.0) {
            out->time_s = begin + find_end(walk->step, &walk->system, before, t - begin, y);
            look(model, y, out);
            return true;
        }
        look(model, y, out);
    }
    return false;
}

bool
reference_run(const struct tl_arrest_gear *gear, const struct tl_arrest_in *in,
              struct reference_exact exact, struct reference_out *out)
{
    struct model model = model_of(gear, in);
    size_t states = in->stretch ? STATES_MAX : RAM;
    double y[STATES_MAX] = {[ALONG] = 1e-6,
                            [SPEED] = in->engaging_kt * RIG_KT,
                            [ACROSS] = in->off_centre_ft * RIG_FT,
                            [DRIFT] = in->drift_kt * RIG_KT};
    struct walk walk = {
        .step = gsl_odeiv2_step_alloc(gsl_odeiv2_step_rk8pd, states),
        .control = gsl_odeiv2_control_y_new(1e-10, exact.tolerance),
        .evolve = gsl_odeiv2_evolve_alloc(states),
        .system = {move, NULL, states, &model},
        .step_max_s = exact.step_s,
    };

    memset(out, 0, sizeof *out);
    bool done =
        walk.step != NULL && walk.control != NULL && walk.evolve != NULL && go(&walk, y, out);
    out->bottomed = y[SPEED] > 0.11 * RIG_KT;
    out->runout_ft = y[ALONG] / RIG_FT;
    out->stroke_in = pull_at(&model, y).ram_at / RIG_IN;
    out->off_centre_ft = y[ACROSS] / RIG_FT;
    out->end_kt = y[SPEED] / RIG_KT;
    gsl_odeiv2_evolve_free(walk.evolve);
    gsl_odeiv2_control_free(walk.control);
    gsl_odeiv2_step_free(walk.step);
    return done;
}

static bool
is_still(struct rig_near near)
{
    return fabs(near.got - near.wanted) <= near.within * fabs(near.wanted);
}

bool
reference_settle(const struct tl_arrest_gear *gear, const struct tl_arrest_in *in, double still,
                 struct reference_out *out)
{
    struct reference_exact exact = {.tolerance = 1e-8, .step_s = 0.016};
    struct reference_out last = {0};

    for (int i = 0; i < HALVINGS_MAX; i++) {
        if (!reference_run(gear, in, exact, out)) {
            return false;
        }
        if (is_still((struct rig_near){last.runout_ft, out->runout_ft, still}) &&
            is_still((struct rig_near){last.time_s, out->time_s, still}) &&
            is_still((struct rig_near){last.peak_hook_lbf, out->peak_hook_lbf, still})) {
            return true;
        }
        last = *out;
        exact.tolerance *= 0.5;
        exact.step_s *= 0.5;
    }
    return false;
}
