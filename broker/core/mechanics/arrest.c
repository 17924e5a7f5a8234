/* SPDX-License-Identifier: Apache-2.0 */
/*
 * arrest - the equations of motion, and the solver around them
 *
 * Hook at x along the run-out and z off the middle, cable tension T the same on both sides (the
 * hook is taken as frictionless):
 *   m x'' = thrust - T along(x, z)      m z'' = -T side(x, z)
 * with a cable that does not stretch  T = p A / (2 N)  and the ram tied to the hook;
 * with one that does                  T = T0 + k (q - N y) + c (q' - N y'),  M y'' = 2 N T - p A.
 * The work of the cable is a state too, so that the energy can be balanced at the end.
 * No tyre holds the aircraft sideways: the side motion is the largest that the wire allows.
 *
 * Adams with fixed-point iteration where nothing is stiff, BDF with Newton where the cable rings.
 */
#include "broker/core/mechanics/arrest.h"

#include <cvode/cvode.h>
#include <math.h>
#include <nvector/nvector_serial.h>
#include <stdlib.h>
#include <string.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>
#include <sunnonlinsol/sunnonlinsol_fixedpoint.h>

#include "broker/core/mechanics/arrest_gear.h"
#include "broker/core/mechanics/bounds.h"
#include "broker/core/mechanics/units.h"

enum state {
    RUNOUT_M,
    SPEED_MS,
    OFF_M,
    DRIFT_MS,
    WORK_J,
    RIGID_STATES,
    STROKE_M = RIGID_STATES, /* the ram by itself, when the cable stretches */
    RAM_MS,
    STATES
};
enum root {
    ROOT_STOP,
    ROOT_BOTTOM,
    ROOTS
};
enum {
    STEPS_MAX = 200000,
    LOOKS = 4 /* at each step */
};

/* So that energy and closed forms are kept to a millionth. */
static const double relative_tolerance = 2e-9;
static const double absolute_tolerance = 1e-8;
/* As good as stopped, m/s: 0.1 kn. */
static const double creep_ms = 0.1 * TL_MS_PER_KT;
/* The hook starts this far into the run-out: at 0 the cable has no hold on it. */
static const double start_m = 1e-6;
/* A top that falls off faster than this share is a corner of the schedule: no parabola there. */
static const double flat_share = 3e-4;
/* A ship's gear takes seconds; 1 kn on the longest gear that is let in takes an hour and a half. */
static const double time_max_s = 7200.0;

struct solver {
    void *cvode;
    N_Vector state;
    SUNMatrix matrix;
    SUNLinearSolver linear;
    SUNNonlinearSolver fixed_point;
};
struct tl_arrest_machine {
    struct tl_gear_si gear;
    SUNContext context;
    struct solver rigid, stretched;
    /* of the run that is going on */
    struct tl_valve valve;
    double mass_kg;
    double thrust_n;
    bool stretch;
};

/* What the model says at one state. */
struct force {
    struct tl_cable_place at;
    struct tl_ram ram;
    double payout_ms;
    double pressure_pa;
    double tension_n;
};

static struct force
force_at(const struct tl_arrest_machine *machine, const double *y)
{
    const struct tl_gear_si *gear = &machine->gear;
    struct force f = {.at = tl_cable_at(gear, (struct tl_hook_place){y[RUNOUT_M], y[OFF_M]})};

    f.payout_ms = 0.5 * (f.at.along * y[SPEED_MS] + f.at.side * y[DRIFT_MS]);
    if (!machine->stretch) {
        f.ram = (struct tl_ram){f.at.payout_m / gear->reeve, f.payout_ms / gear->reeve};
        f.pressure_pa = tl_ram_pressure(gear, &machine->valve, f.ram);
        f.tension_n = f.pressure_pa * gear->area_m2 / (2.0 * gear->reeve);
        return f;
    }
    double at_rest_n = tl_accumulator_pa(gear, 0.0) * gear->area_m2 / (2.0 * gear->reeve);

    f.ram = (struct tl_ram){y[STROKE_M], y[RAM_MS]};
    f.pressure_pa = tl_ram_pressure(gear, &machine->valve, f.ram);
    f.tension_n = at_rest_n + gear->stiffness_n_m * (f.at.payout_m - gear->reeve * f.ram.stroke_m) +
                  gear->damping_n_s_m * (f.payout_ms - gear->reeve * f.ram.speed_ms);
    f.tension_n = fmax(f.tension_n, 0.0); /* a rope does not push */
    return f;
}

static void
rate_of(const struct tl_arrest_machine *machine, const double *y, double *dy)
{
    struct force f = force_at(machine, y);

    dy[RUNOUT_M] = y[SPEED_MS];
    dy[SPEED_MS] = (machine->thrust_n - f.tension_n * f.at.along) / machine->mass_kg;
    dy[OFF_M] = y[DRIFT_MS];
    dy[DRIFT_MS] = -f.tension_n * f.at.side / machine->mass_kg;
    dy[WORK_J] = 2.0 * f.tension_n * f.payout_ms;
    if (machine->stretch) {
        double push_n =
            2.0 * machine->gear.reeve * f.tension_n - f.pressure_pa * machine->gear.area_m2;
        dy[STROKE_M] = y[RAM_MS];
        dy[RAM_MS] = push_n / machine->gear.ram_kg;
    }
}

static int
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): the solver's own signature */
move(sunrealtype t, N_Vector state, N_Vector rate, void *user)
{
    double *dy = N_VGetArrayPointer(rate);

    (void)t;
    rate_of(user, N_VGetArrayPointer(state), dy);
    return isfinite(dy[SPEED_MS]) ? 0 : 1;
}

/* Each falls through 0 when it happens, and is the end: the solver goes on from no root. */
static int
look_for_ends(sunrealtype t, N_Vector state, sunrealtype *root, void *user)
{
    const struct tl_arrest_machine *machine = user;
    const double *y = N_VGetArrayPointer(state);
    struct force f = force_at(machine, y);

    (void)t;
    root[ROOT_STOP] = y[SPEED_MS] - creep_ms;
    root[ROOT_BOTTOM] = machine->gear.stroke_max_m - f.ram.stroke_m;
    return 0;
}

static void
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters,readability-non-const-parameter): likewise */
say_nothing(int code, const char *module, const char *function, char *message, void *user)
{
    (void)code; /* a solver that gives up is told to the caller, not to a terminal */
    (void)module;
    (void)function;
    (void)message;
    (void)user;
}

static bool
open_solver(struct tl_arrest_machine *machine, struct solver *solver, bool stiff)
{
    int falling[ROOTS] = {-1, -1};
    sunindextype states = stiff ? STATES : RIGID_STATES;

    solver->state = N_VNew_Serial(states, machine->context);
    solver->cvode = CVodeCreate(stiff ? CV_BDF : CV_ADAMS, machine->context);
    if (solver->state == NULL || solver->cvode == NULL ||
        CVodeSetErrHandlerFn(solver->cvode, say_nothing, NULL) != CV_SUCCESS ||
        CVodeInit(solver->cvode, move, 0.0, solver->state) != CV_SUCCESS ||
        CVodeSStolerances(solver->cvode, relative_tolerance, absolute_tolerance) != CV_SUCCESS ||
        CVodeSetUserData(solver->cvode, machine) != CV_SUCCESS ||
        CVodeRootInit(solver->cvode, ROOTS, look_for_ends) != CV_SUCCESS ||
        CVodeSetRootDirection(solver->cvode, falling) != CV_SUCCESS ||
        CVodeSetNoInactiveRootWarn(solver->cvode) != CV_SUCCESS) {
        return false;
    }
    if (stiff) {
        solver->matrix = SUNDenseMatrix(states, states, machine->context);
        solver->linear = SUNLinSol_Dense(solver->state, solver->matrix, machine->context);
        return solver->matrix != NULL && solver->linear != NULL &&
               CVodeSetLinearSolver(solver->cvode, solver->linear, solver->matrix) == CV_SUCCESS;
    }
    solver->fixed_point = SUNNonlinSol_FixedPoint(solver->state, 0, machine->context);
    return solver->fixed_point != NULL &&
           CVodeSetNonlinearSolver(solver->cvode, solver->fixed_point) == CV_SUCCESS;
}

static void
close_solver(struct solver *solver)
{
    CVodeFree(&solver->cvode);
    if (solver->linear != NULL) {
        (void)SUNLinSolFree(solver->linear);
    }
    if (solver->fixed_point != NULL) {
        (void)SUNNonlinSolFree(solver->fixed_point);
    }
    if (solver->matrix != NULL) {
        SUNMatDestroy(solver->matrix);
    }
    if (solver->state != NULL) {
        N_VDestroy(solver->state);
    }
}

enum tl_err
tl_arrest_open(const struct tl_arrest_gear *gear, struct tl_arrest_machine **out, const char **why)
{
    struct tl_gear_si si;
    enum tl_err err = tl_gear_to_si(gear, &si, why);

    if (err != TL_OK) {
        return err;
    }
    struct tl_arrest_machine *machine = calloc(1, sizeof *machine);
    *why = "out of memory";
    if (machine == NULL) {
        return TL_NOMEM;
    }
    machine->gear = si;
    bool stretches = si.stiffness_n_m > 0.0;
    if (SUNContext_Create(NULL, &machine->context) != 0 ||
        !open_solver(machine, &machine->rigid, false) ||
        (stretches && !open_solver(machine, &machine->stretched, true))) {
        tl_arrest_close(&machine);
        return TL_NOMEM;
    }
    *out = machine;
    return TL_OK;
}

void
tl_arrest_close(struct tl_arrest_machine **machine)
{
    if (machine != NULL && *machine != NULL) {
        close_solver(&(*machine)->rigid);
        close_solver(&(*machine)->stretched);
        (void)SUNContext_Free(&(*machine)->context);
        free(*machine);
        *machine = NULL;
    }
}

static enum tl_err
check_input(const struct tl_arrest_machine *machine, const struct tl_arrest_in *in,
            const char **why)
{
    double half_span_ft = machine->gear.half_span_m / TL_M_PER_FT;
    const struct tl_bounded inputs[] = {
        {in->weight_lb, tl_bounds_arrest_lb, "the weight is not one of an aircraft"},
        {in->set_lb, tl_bounds_arrest_lb, "the setting is not a weight of an aircraft"},
        {in->engaging_kt, {1.0, 300.0}, "the engaging speed is not between 1 and 300 kn"},
        {in->off_centre_ft,
         {-0.9 * half_span_ft, 0.9 * half_span_ft},
         "the hook is off the wire: too far off the middle"},
        {in->drift_kt, {-50.0, 50.0}, "the drift is not between 50 kn either way"},
        {in->thrust_lbf, {0.0, 200000.0}, "the thrust is not between 0 and 200,000 lbf"},
    };
    const char *out = tl_find_out(inputs, sizeof inputs / sizeof inputs[0]);

    if (out != NULL) {
        *why = out;
        return TL_BADARG;
    }
    if (in->stretch && machine->gear.stiffness_n_m <= 0.0) {
        *why = "the gear gives no figures of a cable that stretches";
        return TL_BADARG;
    }
    if (in->stretch && machine->gear.opening_least <= 0.0) {
        *why = "a cable that stretches needs a valve that never shuts altogether";
        return TL_BADARG;
    }
    return TL_OK;
}

static struct tl_arrest_moment
moment_at(const struct tl_arrest_machine *machine, double time_s, const double *y)
{
    struct force f = force_at(machine, y);
    double hook_n = f.tension_n * f.at.along;

    return (struct tl_arrest_moment){
        .time_s = time_s,
        .runout_ft = y[RUNOUT_M] / TL_M_PER_FT,
        .speed_kt = y[SPEED_MS] / TL_MS_PER_KT,
        .decel_g = (hook_n - machine->thrust_n) / machine->mass_kg / TL_MS2_PER_G,
        .hook_lbf = hook_n / TL_N_PER_LBF,
        .tension_lbf = f.tension_n / TL_N_PER_LBF,
        .stroke_in = f.ram.stroke_m / TL_M_PER_IN,
        .pressure_psi = f.pressure_pa / TL_PA_PER_PSI,
        .off_centre_ft = y[OFF_M] / TL_M_PER_FT,
    };
}

/* One end of a step. */
struct knot {
    double time_s;
    double y[STATES];
    double dy[STATES];
};

static void
set_knot(const struct tl_arrest_machine *machine, struct knot *knot, double time_s, const double *y)
{
    knot->time_s = time_s;
    memcpy(knot->y, y, (machine->stretch ? STATES : RIGID_STATES) * sizeof *y);
    rate_of(machine, knot->y, knot->dy);
}

/* What is kept while looking on: the two moments before the present one, for what lies between. */
struct look {
    const struct tl_arrest_machine *machine;
    const struct tl_arrest_watch *watch;
    struct tl_arrest_out *out;
    struct tl_arrest_moment before[2]; /* older first */
    int count;
};

/* The top of the parabola through three moments of which the middle one is highest, if it is flat. */
static void
keep_hook_peak(struct look *look, const struct tl_arrest_moment *now)
{
    const struct tl_arrest_moment *older = &look->before[0];
    const struct tl_arrest_moment *middle = &look->before[1];
    struct tl_arrest_out *out = look->out;

    if (now->hook_lbf > out->peak_hook_lbf) {
        out->peak_hook_lbf = now->hook_lbf;
        out->peak_hook_at_ft = now->runout_ft;
    }
    double behind_ft = middle->runout_ft - older->runout_ft;
    double ahead_ft = now->runout_ft - middle->runout_ft;
    double least_lbf = fmin(older->hook_lbf, now->hook_lbf);
    bool is_top = middle->hook_lbf >= older->hook_lbf && middle->hook_lbf > now->hook_lbf;
    bool is_flat = middle->hook_lbf - least_lbf < flat_share * middle->hook_lbf;

    /* Of uneven moments the top may lie far above all three. */
    bool is_even = behind_ft > 0.0 && behind_ft < 2.0 * ahead_ft && ahead_ft < 2.0 * behind_ft;

    if (look->count < 2 || !is_top || !is_flat || !is_even) {
        return;
    }
    double rise = (middle->hook_lbf - older->hook_lbf) / behind_ft;
    double fall = (middle->hook_lbf - now->hook_lbf) / ahead_ft;
    double bend = (rise + fall) / (behind_ft + ahead_ft);
    double slope = (rise * ahead_ft - fall * behind_ft) / (behind_ft + ahead_ft);
    double top_lbf = middle->hook_lbf + 0.25 * slope * slope / bend;

    if (top_lbf > out->peak_hook_lbf) {
        out->peak_hook_lbf = top_lbf;
        out->peak_hook_at_ft = middle->runout_ft + 0.5 * slope / bend;
    }
}

/* Between two moments the tension is taken as straight. */
static void
note_parting(struct look *look, const struct tl_arrest_moment *now)
{
    const struct tl_arrest_moment *last = &look->before[1];
    double break_lbf = look->machine->gear.break_n / TL_N_PER_LBF;

    if (look->out->parts || now->tension_lbf <= break_lbf) {
        return;
    }
    double rise = now->tension_lbf - last->tension_lbf;
    double share = look->count > 0 && rise > 0.0 ? (break_lbf - last->tension_lbf) / rise : 1.0;

    look->out->parts = true;
    look->out->parts_kt = last->speed_kt * (1.0 - share) + now->speed_kt * share;
}

static void
look_at(struct look *look, const struct knot *knot)
{
    const struct tl_arrest_machine *machine = look->machine;
    struct tl_arrest_out *out = look->out;
    double limit_m = machine->gear.off_centre_max_m;
    struct tl_arrest_moment now = moment_at(machine, knot->time_s, knot->y);

    keep_hook_peak(look, &now);
    note_parting(look, &now);
    out->peak_g = fmax(out->peak_g, now.decel_g);
    out->peak_tension_lbf = fmax(out->peak_tension_lbf, now.tension_lbf);
    out->off_centre_over =
        out->off_centre_over || (limit_m > 0.0 && fabs(knot->y[OFF_M]) > limit_m);
    if (look->watch != NULL) {
        look->watch->moment(look->watch->ctx, &now);
    }
    look->before[0] = look->before[1];
    look->before[1] = now;
    look->count++;
}

/* The end of a step, and places on the cubic through both ends: a peak may lie between. */
static void
look_at_step(struct look *look, const struct knot ends[2])
{
    double step_s = ends[1].time_s - ends[0].time_s;
    int states = look->machine->stretch ? STATES : RIGID_STATES;

    for (int place = 1; place < LOOKS; place++) {
        double u = (double)place / LOOKS;
        double back = 1.0 - u;
        struct knot between = {.time_s = ends[0].time_s + u * step_s};

        for (int i = 0; i < states; i++) {
            between.y[i] = back * back * (1.0 + 2.0 * u) * ends[0].y[i] +
                           u * u * (1.0 + 2.0 * back) * ends[1].y[i] +
                           u * back * step_s * (back * ends[0].dy[i] - u * ends[1].dy[i]);
        }
        look_at(look, &between);
    }
    look_at(look, &ends[1]);
}

static enum tl_arrest_end
end_of(struct solver *solver)
{
    int found[ROOTS] = {0};

    if (CVodeGetRootInfo(solver->cvode, found) != CV_SUCCESS) {
        return TL_ARREST_END_UNKNOWN;
    }
    if (found[ROOT_BOTTOM] != 0) {
        return TL_ARREST_BOTTOMED;
    }
    return found[ROOT_STOP] != 0 ? TL_ARREST_STOPPED : TL_ARREST_END_UNKNOWN;
}

static enum tl_err
integrate(struct tl_arrest_machine *machine, struct solver *solver,
          const struct tl_arrest_watch *watch, struct tl_arrest_out *out)
{
    const double *y = N_VGetArrayPointer(solver->state);
    struct knot ends[2] = {0};
    struct look look = {.machine = machine, .watch = watch, .out = out};

    set_knot(machine, &ends[0], 0.0, y);
    look_at(&look, &ends[0]);
    for (long i = 0; i < STEPS_MAX && out->time_s < time_max_s; i++) {
        int done = CVode(solver->cvode, time_max_s, solver->state, &out->time_s, CV_ONE_STEP);

        if (done < 0) {
            return TL_REFUSED;
        }
        set_knot(machine, &ends[1], out->time_s, y);
        look_at_step(&look, ends);
        if (done == CV_ROOT_RETURN) {
            out->end = end_of(solver);
            return out->end == TL_ARREST_END_UNKNOWN ? TL_REFUSED : TL_OK;
        }
        ends[0] = ends[1];
    }
    return TL_REFUSED;
}

/* From the first state and the last to what people ask. */
static void
sum_up(const struct tl_arrest_machine *machine, const struct tl_arrest_in *in, const double *last,
       struct tl_arrest_out *out)
{
    const struct tl_gear_si *gear = &machine->gear;
    struct force f = force_at(machine, last);
    double half_kg = 0.5 * machine->mass_kg;
    double moved_m = last[RUNOUT_M] - start_m;
    double along_ms = in->engaging_kt * TL_MS_PER_KT;
    double across_ms = in->drift_kt * TL_MS_PER_KT;
    double along_j = half_kg * along_ms * along_ms;
    double across_j = half_kg * across_ms * across_ms;
    double left_j = half_kg * last[SPEED_MS] * last[SPEED_MS];
    double thrust_j = machine->thrust_n * moved_m;
    double into_j = along_j + across_j + thrust_j;

    out->runout_ft = last[RUNOUT_M] / TL_M_PER_FT;
    out->stroke_in = f.ram.stroke_m / TL_M_PER_IN;
    out->stroke_margin_in = fmax(gear->stroke_max_m - f.ram.stroke_m, 0.0) / TL_M_PER_IN;
    out->end_speed_kt = out->end == TL_ARREST_BOTTOMED ? last[SPEED_MS] / TL_MS_PER_KT : 0.0;
    out->mean_hook_lbf = (along_j + thrust_j - left_j) / last[RUNOUT_M] / TL_N_PER_LBF;
    out->tension_fraction = out->peak_tension_lbf * TL_N_PER_LBF / gear->break_n;
    out->off_centre_end_ft = last[OFF_M] / TL_M_PER_FT;
    out->energy_ftlbf = into_j / TL_J_PER_FTLBF;
    out->energy_margin = 1.0 - into_j / gear->capacity_j;
    double kept_j = left_j + half_kg * last[DRIFT_MS] * last[DRIFT_MS];
    out->balance_error = fabs(into_j - kept_j - last[WORK_J]) / into_j;
}

static void
start(const struct tl_arrest_machine *machine, const struct tl_arrest_in *in, double *y)
{
    y[RUNOUT_M] = start_m;
    y[SPEED_MS] = in->engaging_kt * TL_MS_PER_KT;
    y[OFF_M] = in->off_centre_ft * TL_M_PER_FT;
    y[DRIFT_MS] = in->drift_kt * TL_MS_PER_KT;
    y[WORK_J] = 0.0;
    if (machine->stretch) {
        y[STROKE_M] = 0.0;
        y[RAM_MS] = 0.0;
    }
}

enum tl_err
tl_arrest_run(struct tl_arrest_machine *machine, const struct tl_arrest_in *in,
              const struct tl_arrest_watch *watch, struct tl_arrest_out *out, const char **why)
{
    struct solver *solver = in->stretch ? &machine->stretched : &machine->rigid;
    struct tl_arrest_out found = {.end = TL_ARREST_END_UNKNOWN};
    enum tl_err err = check_input(machine, in, why);

    if (err != TL_OK) {
        return err;
    }
    machine->mass_kg = in->weight_lb * TL_KG_PER_LB;
    machine->thrust_n = in->thrust_lbf * TL_N_PER_LBF;
    machine->stretch = in->stretch;
    *why = "the setting is too light for this gear: its accumulator alone holds more";
    if (tl_valve_of(&machine->gear, in->set_lb * TL_KG_PER_LB, &machine->valve) != TL_OK) {
        return TL_REFUSED;
    }
    double *y = N_VGetArrayPointer(solver->state);
    start(machine, in, y);
    *why = "the solver gave up on these figures";
    if (CVodeReInit(solver->cvode, 0.0, solver->state) != CV_SUCCESS) {
        return TL_REFUSED;
    }
    err = integrate(machine, solver, watch, &found);
    if (err == TL_OK) {
        sum_up(machine, in, y, &found);
        *out = found;
    }
    return err;
}
