/* SPDX-License-Identifier: Apache-2.0 */
/* arrest.c - `trapline plan arrest`: one arrestment, and what another setting makes of it. */
#include <math.h>
#include <string.h>

#include "clients/plan/command.h"
#include "clients/plan/curve.h"
#include "clients/plan/svg.h"
#include "proto/base/text.h"

enum option {
    WEIGHT = TL_PLAN_OWN,
    SET,
    ENGAGING,
    OFF_CENTRE,
    DRIFT,
    THRUST,
    STRETCH,
    TYPE,
    HEADWIND,
    TEMPERATURE,
    PRESSURE,
    PLOT,
    SVG,
    OPTIONS
};

enum {
    NAME_CAP = 48,
    LINE_CAP = 160
};

static const struct tl_option_row rows[OPTIONS] = {
    TL_PLAN_COMMON,
    [WEIGHT] = {"--weight-lb", TL_OPTION_NUMBER, 500, 300000, false, "lb",
                "gross weight of the aircraft; else max_trap_lb of the type"},
    [SET] = {"--set-lb", TL_OPTION_NUMBER, 500, 300000, false, "lb",
             "weight setting of the engine; else that of the type"},
    [ENGAGING] = {"--engaging-kt", TL_OPTION_NUMBER, 1, 300, false, "kn",
                  "speed over the deck at which the hook meets the wire"},
    [OFF_CENTRE] = {"--off-centre-ft", TL_OPTION_NUMBER, -200, 200, false, "ft",
                    "how far off the middle the hook meets the wire; else 0"},
    [DRIFT] = {"--drift-kt", TL_OPTION_NUMBER, -50, 50, false, "kn",
               "sideways speed at that moment, + toward the side of --off-centre-ft; else 0"},
    [THRUST] = {"--thrust-lbf", TL_OPTION_NUMBER, 0, 200000, false, "lbf",
                "thrust held during the pull-out; else that of the type, else 0"},
    [STRETCH] = {"--stretch", TL_OPTION_FLAG, 0, 0, false, "", "let the cable stretch"},
    [TYPE] = {"--type", TL_OPTION_WORD, 0, 0, false, "TYPE", "type of aircraft, of aircraft.yaml"},
    [HEADWIND] = {"--headwind-kt", TL_OPTION_NUMBER, -100, 100, false, "kn",
                  "headwind on the landing axis, for the engaging speed of the type"},
    [TEMPERATURE] = {"--temp-c", TL_OPTION_NUMBER, -60, 60, false, "C",
                     "temperature of the air; else that of ship.yaml"},
    [PRESSURE] = {"--pressure-hpa", TL_OPTION_NUMBER, 500, 1100, false, "hPa",
                  "pressure of the air at the deck; else that of ship.yaml"},
    [PLOT] = {"--plot", TL_OPTION_FLAG, 0, 0, false, "",
              "deceleration and cable tension over the run-out as text, the correct setting "
              "beside the one that is given"},
    [SVG] = {"--svg", TL_OPTION_WORD, 0, 0, false, "FILE", "the same as a picture in FILE"},
};

static const char text[] =
    "One arrestment on an engine of gear.yaml. Give --weight-lb, --set-lb and --engaging-kt; "
    "or --type with --headwind-kt (or --engaging-kt), and the type gives what is left out. "
    "All of the airspeed is taken as forward.";

struct job {
    const struct tl_aircraft_type *type; /* NULL = none */
    struct tl_arrest_in in;
    double correct_lb; /* setting: the type's, else the weight itself */
    double approach_kt;
    struct tl_engaging_out engaging; /* of a type in a headwind */
    struct tl_arrest_gear gear;
    struct tl_arrest_machine *machine;
    struct tl_arrest_out out;
    struct tl_arrest_out beside; /* with the correct setting */
    struct tl_curves curves, curves_beside;
    bool compares;
};

static double
number_or(const struct tl_plan *plan, enum option option, double other)
{
    return tl_plan_given(plan, option) ? plan->option[option].number : other;
}

static enum tl_exit
read_engaging(struct tl_plan *plan, struct job *job)
{
    struct tl_engaging_in in = {.headwind_kt = plan->option[HEADWIND].number};
    const struct tl_plan_air_options air = {TEMPERATURE, PRESSURE};
    enum tl_exit code = tl_plan_approach(plan, job->type, job->in.weight_lb, &job->approach_kt);
    code = code == TL_EXIT_OK ? tl_plan_air(plan, air, &in.air) : code;
    if (code != TL_EXIT_OK) {
        return code;
    }
    in.approach_kt = job->approach_kt;
    if (tl_engaging(&in, &job->engaging) != TL_OK) {
        return tl_plan_refuse(plan, TL_EXIT_USAGE,
                              "%s at %.1f kn has no engaging speed in %.1f kn of headwind; the "
                              "headwind must be below its airspeed",
                              job->type->id, job->approach_kt, in.headwind_kt);
    }
    job->in.engaging_kt = job->engaging.engaging_kt;
    return TL_EXIT_OK;
}

static enum tl_exit
read_type(struct tl_plan *plan, struct job *job)
{
    enum tl_exit code = tl_plan_not_both(plan, HEADWIND, ENGAGING);
    if (code == TL_EXIT_OK && !tl_plan_given(plan, ENGAGING)) {
        code = tl_plan_need(plan, HEADWIND);
    }
    code = code == TL_EXIT_OK ? tl_plan_type(plan, TYPE, &job->type) : code;
    if (code != TL_EXIT_OK) {
        return code;
    }
    job->in.weight_lb = number_or(plan, WEIGHT, job->type->max_trap_lb);
    job->in.set_lb = number_or(plan, SET, job->type->setting_lb);
    job->in.thrust_lbf = number_or(plan, THRUST, job->type->thrust_lbf);
    job->correct_lb = job->type->setting_lb;
    return tl_plan_given(plan, HEADWIND) ? read_engaging(plan, job) : TL_EXIT_OK;
}

static enum tl_exit
read_plain(struct tl_plan *plan, struct job *job)
{
    static const size_t needed[] = {WEIGHT, SET, ENGAGING};
    if (tl_plan_given(plan, HEADWIND)) {
        return tl_plan_need(plan, TYPE);
    }
    for (size_t i = 0; i < sizeof needed / sizeof needed[0]; i++) {
        enum tl_exit code = tl_plan_need(plan, needed[i]);
        if (code != TL_EXIT_OK) {
            return code;
        }
    }
    job->in.weight_lb = plan->option[WEIGHT].number;
    job->in.set_lb = plan->option[SET].number;
    job->correct_lb = job->in.weight_lb;
    return TL_EXIT_OK;
}

static enum tl_exit
read_job(struct tl_plan *plan, struct job *job)
{
    job->in = (struct tl_arrest_in){.engaging_kt = plan->option[ENGAGING].number,
                                    .off_centre_ft = plan->option[OFF_CENTRE].number,
                                    .drift_kt = plan->option[DRIFT].number,
                                    .thrust_lbf = plan->option[THRUST].number,
                                    .stretch = tl_plan_given(plan, STRETCH)};
    enum tl_exit code = tl_plan_not_both(plan, PLOT, TL_PLAN_JSON);
    if (code == TL_EXIT_OK && !tl_plan_given(plan, HEADWIND) &&
        (tl_plan_given(plan, TEMPERATURE) || tl_plan_given(plan, PRESSURE))) {
        code = tl_plan_need(plan, HEADWIND); /* air without an airspeed is a slip */
    }
    if (code != TL_EXIT_OK) {
        return code;
    }
    return tl_plan_given(plan, TYPE) ? read_type(plan, job) : read_plain(plan, job);
}

static enum tl_exit
run_once(struct tl_plan *plan, struct job *job)
{
    const char *why = "";
    struct tl_arrest_watch watch = tl_curves_watch(&job->curves);
    if (tl_arrest_run(job->machine, &job->in, &watch, &job->out, &why) != TL_OK) {
        return tl_plan_refuse(plan, TL_EXIT_USAGE, "no arrestment from these figures: %s", why);
    }
    struct tl_arrest_in right = job->in;
    right.set_lb = job->correct_lb;
    watch = tl_curves_watch(&job->curves_beside);
    job->compares = fabs(right.set_lb - job->in.set_lb) > 0.0 &&
                    tl_arrest_run(job->machine, &right, &watch, &job->beside, &why) == TL_OK;
    if (job->curves.failed || job->curves_beside.failed) {
        return tl_plan_refuse(plan, TL_EXIT_FAILED, "out of memory");
    }
    return TL_EXIT_OK;
}

static void
say_given(struct tl_plan *plan, const struct job *job)
{
    static const struct tl_say_item type = {"type", "type", "", 0};
    static const struct tl_say_item weight = {"weight_lb", "gross weight", "lb", 0};
    static const struct tl_say_item set = {"set_lb", "weight setting", "lb", 0};
    static const struct tl_say_item correct = {"correct_set_lb", "setting that is right", "lb", 0};
    static const struct tl_say_item head = {"headwind_kt", "headwind on the landing axis", "kn", 1};
    static const struct tl_say_item approach = {"approach_kt", "approach speed, calibrated", "kn",
                                                1};
    static const struct tl_say_item airspeed = {"true_airspeed_kt", "true airspeed", "kn", 1};
    static const struct tl_say_item engaging = {"engaging_kt", "engaging speed", "kn", 1};
    static const struct tl_say_item off = {"off_centre_ft", "off the middle at the wire", "ft", 1};
    static const struct tl_say_item drift = {"drift_kt", "drift at the wire", "kn", 1};
    static const struct tl_say_item thrust = {"thrust_lbf", "thrust held", "lbf", 0};
    static const struct tl_say_item stretch = {"stretch", "cable stretches", "", 0};
    struct tl_say *say = plan->say;
    tl_say_heading(say, "Arrestment of");
    if (job->type != NULL) {
        tl_say_word(say, &type, job->type->id);
    }
    tl_say_number(say, &weight, job->in.weight_lb);
    tl_say_number(say, &set, job->in.set_lb);
    tl_say_number(say, &correct, job->correct_lb);
    if (tl_plan_given(plan, HEADWIND)) {
        tl_say_number(say, &approach, job->approach_kt);
        tl_say_number(say, &airspeed, job->engaging.true_airspeed_kt);
        tl_say_number(say, &head, plan->option[HEADWIND].number);
    }
    tl_say_number(say, &engaging, job->in.engaging_kt);
    tl_say_number(say, &off, job->in.off_centre_ft);
    tl_say_number(say, &drift, job->in.drift_kt);
    tl_say_number(say, &thrust, job->in.thrust_lbf);
    tl_say_flag(say, &stretch, job->in.stretch);
}

static void
say_out(struct tl_say *say, const struct tl_arrest_out *out)
{
    static const struct tl_say_item bottomed = {"bottomed", "ram met its stop", "", 0};
    static const struct tl_say_item parts = {"parts", "cable parts", "", 0};
    static const struct tl_say_item parts_at = {"parts_kt", "speed when the cable parts", "kn", 1};
    static const struct tl_say_item over = {"off_centre_over", "past off_centre_max_ft", "", 0};
    const struct {
        struct tl_say_item item;
        double value;
    } figures[] = {
        {{"runout_ft", "run-out", "ft", 1}, out->runout_ft},
        {{"stroke_in", "ram travel", "in", 1}, out->stroke_in},
        {{"stroke_margin_in", "ram travel left to the stop", "in", 1}, out->stroke_margin_in},
        {{"end_speed_kt", "speed at the end", "kn", 1}, out->end_speed_kt},
        {{"time_s", "time", "s", 2}, out->time_s},
        {{"peak_hook_lbf", "hook load, peak", "lbf", 0}, out->peak_hook_lbf},
        {{"peak_hook_at_ft", "at a run-out of", "ft", 1}, out->peak_hook_at_ft},
        {{"mean_hook_lbf", "hook load, mean over the run-out", "lbf", 0}, out->mean_hook_lbf},
        {{"peak_g", "deceleration, peak", "g", 2}, out->peak_g},
        {{"peak_tension_lbf", "cable tension, peak", "lbf", 0}, out->peak_tension_lbf},
        {{"tension_fraction", "tension over the strength of the cable", "", 3},
         out->tension_fraction},
        {{"energy_ftlbf", "energy", "ft-lbf", 0}, out->energy_ftlbf},
        {{"energy_margin", "share of the capacity left", "", 3}, out->energy_margin},
        {{"off_centre_end_ft", "off the middle at the end", "ft", 1}, out->off_centre_end_ft},
        {{"balance_error", "energy that the solver lost, share", "", 9}, out->balance_error},
    };
    tl_say_heading(say, "What it does");
    tl_say_flag(say, &bottomed, out->end == TL_ARREST_BOTTOMED);
    tl_say_flag(say, &parts, out->parts);
    if (out->parts) {
        tl_say_number(say, &parts_at, out->parts_kt);
    } else {
        tl_say_unknown(say, &parts_at);
    }
    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++) {
        tl_say_number(say, &figures[i].item, figures[i].value);
    }
    tl_say_flag(say, &over, out->off_centre_over);
}

static void
say_beside(struct tl_plan *plan, const struct job *job)
{
    static const struct tl_say_column columns[] = {
        {"set_lb", "setting", "lb", 0, 8},      {"runout_ft", "run-out", "ft", 1, 8},
        {"stroke_in", "stroke", "in", 1, 7},    {"peak_hook_lbf", "hook load", "lbf", 0, 10},
        {"peak_g", "peak", "g", 2, 6},          {"peak_tension_lbf", "tension", "lbf", 0, 9},
        {"end_speed_kt", "at end", "kn", 1, 7}, {"bottomed", "stop met", "", 0, 9},
        {"parts", "parts", "", 0, 6},
    };
    static const struct tl_say_table table = {"beside", columns, 9};
    const struct tl_arrest_out *outs[] = {&job->beside, &job->out};
    const double set_lb[] = {job->correct_lb, job->in.set_lb};
    tl_say_heading(plan->say, "The setting that is right, and the one that is given");
    tl_say_table(plan->say, &table);
    for (size_t i = 0; i < 2; i++) {
        const struct tl_arrest_out *out = outs[i];
        const struct tl_cell cells[] = {
            tl_cell_number(set_lb[i]),         tl_cell_number(out->runout_ft),
            tl_cell_number(out->stroke_in),    tl_cell_number(out->peak_hook_lbf),
            tl_cell_number(out->peak_g),       tl_cell_number(out->peak_tension_lbf),
            tl_cell_number(out->end_speed_kt), tl_cell_flag(out->end == TL_ARREST_BOTTOMED),
            tl_cell_flag(out->parts)};
        tl_say_row(plan->say, &table, cells);
    }
}

static void
say_notes(struct tl_plan *plan, const struct job *job)
{
    const struct tl_arrest_out *out = &job->out;
    if (out->parts) {
        tl_say_note(plan->say, "The cable parts at %.1f kn; the figures go on as if it had held.",
                    out->parts_kt);
    }
    if (out->end == TL_ARREST_BOTTOMED) {
        tl_say_note(plan->say,
                    "The ram meets its stop while the hook still moves at %.1f kn: two-blocked.",
                    out->end_speed_kt);
    }
    if (out->energy_margin < 0.0) {
        tl_say_note(plan->say, "The energy is more than the capacity of the engine.");
    }
    if (job->type != NULL && job->type->hook_load_max_lbf > 0 &&
        out->peak_hook_lbf > job->type->hook_load_max_lbf) {
        char most[NAME_CAP];
        tl_say_note(plan->say, "The hook load is more than the %s lbf that %s may take.",
                    tl_say_digits(job->type->hook_load_max_lbf, 0, most, sizeof most),
                    job->type->id);
    }
}

/* Both plots, of the correct setting first when there are two. */
struct pictures {
    char name[TL_PLOT_CURVES_MAX][NAME_CAP];
    char level[NAME_CAP];
    struct tl_plot plot[2];
};

static void
name_curve(char dst[NAME_CAP], double set_lb, const char *what)
{
    char number[NAME_CAP / 2];
    (void)snprintf(dst, NAME_CAP, "set %s lb%s", tl_say_digits(set_lb, 0, number, sizeof number),
                   what);
}

static void
make_pictures(const struct job *job, struct pictures *p)
{
    const struct tl_curves *curves[] = {&job->curves_beside, &job->curves};
    const char marks[] = {'o', 'x'};
    char number[NAME_CAP / 2];
    size_t first = job->compares ? 0 : 1;
    *p = (struct pictures){.plot = {{.title = "Deceleration (g)", .y_label = "g"},
                                    {.title = "Cable tension (lbf)", .y_label = "lbf"}}};
    name_curve(p->name[0], job->correct_lb, ", right");
    name_curve(p->name[1], job->in.set_lb, job->compares ? ", given" : "");
    (void)snprintf(p->level, sizeof p->level, "cable parts at %s lbf",
                   tl_say_digits(job->gear.break_lbf, 0, number, sizeof number));
    p->plot[1].level = (struct tl_plot_level){p->level, job->gear.break_lbf};
    for (size_t k = 0; k < 2; k++) {
        p->plot[k].x_label = "run-out (ft)";
        for (size_t i = first; i < 2; i++) {
            p->plot[k].curve[p->plot[k].curves++] =
                (struct tl_plot_curve){.name = p->name[i],
                                       .mark = marks[i],
                                       .point = k == 0 ? curves[i]->decel : curves[i]->tension,
                                       .count = curves[i]->count};
        }
    }
}

static enum tl_exit
save_svg(struct tl_plan *plan, const struct job *job, const struct pictures *pictures)
{
    const char *path = plan->option[SVG].word;
    char plain[NAME_CAP];
    char subtitle[LINE_CAP];
    char weight[NAME_CAP];
    char set[NAME_CAP];
    (void)snprintf(subtitle, sizeof subtitle,
                   "%s%s%s lb, set %s lb, engaging %.1f kn, off the middle %.1f ft",
                   job->type != NULL ? job->type->id : "", job->type != NULL ? ", " : "",
                   tl_say_digits(job->in.weight_lb, 0, weight, sizeof weight),
                   tl_say_digits(job->in.set_lb, 0, set, sizeof set), job->in.engaging_kt,
                   job->in.off_centre_ft);
    const struct tl_svg svg = {.title = "Arrestment, computed",
                               .subtitle = subtitle,
                               .caution = plan->caution,
                               .plot = pictures->plot,
                               .plots = 2};
    enum tl_err err = tl_svg_save(&svg, path);
    if (err == TL_OK) {
        return TL_EXIT_OK;
    }
    (void)tl_text_plain(plain, sizeof plain, path, strlen(path));
    return tl_plan_refuse(plan, TL_EXIT_FAILED, "--svg %s cannot be written: %s; name a plain file",
                          plain, err == TL_BADARG ? "it is not a plain file" : tl_err_text(err));
}

static enum tl_exit
say_pictures(struct tl_plan *plan, const struct job *job)
{
    struct pictures pictures;
    make_pictures(job, &pictures);
    for (size_t k = 0; tl_plan_given(plan, PLOT) && k < 2; k++) {
        (void)fputc('\n', tl_say_lines(plan->say));
        tl_plot_print(&pictures.plot[k], tl_say_lines(plan->say));
    }
    return tl_plan_given(plan, SVG) ? save_svg(plan, job, &pictures) : TL_EXIT_OK;
}

static enum tl_exit
run(struct tl_plan *plan)
{
    struct job job = {0};
    enum tl_exit code = read_job(plan, &job);
    code = code == TL_EXIT_OK ? tl_plan_machine(plan, &job.gear, &job.machine) : code;
    code = code == TL_EXIT_OK ? run_once(plan, &job) : code;
    if (code == TL_EXIT_OK) {
        say_given(plan, &job);
        say_out(plan->say, &job.out);
        if (job.compares) {
            say_beside(plan, &job);
        }
        say_notes(plan, &job);
        code = say_pictures(plan, &job);
    }
    tl_arrest_close(&job.machine);
    tl_curves_close(&job.curves);
    tl_curves_close(&job.curves_beside);
    return code;
}

const struct tl_plan_command tl_plan_arrest = {
    .name = "arrest",
    .what = "one arrestment: run-out, hook load, stroke; a wrong setting drawn",
    .text = text,
    .table = {rows, OPTIONS},
    .run = run,
};
