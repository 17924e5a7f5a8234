/* SPDX-License-Identifier: Apache-2.0 */
/*
 * bulletin.c - `trapline plan bulletin`: for each type and weight, the least wind that will do.
 *
 * The least headwind is the greatest of four: what aircraft.yaml asks for the type, what leaves the
 * least energy margin, what keeps the hook load, and what keeps the ram travel. It is rounded up to
 * a tenth of a knot, and the other figures of a row are those at that wind. Hook in the middle,
 * thrust of the type, all of the airspeed taken as forward.
 */
#include <math.h>

#include "broker/core/mechanics/energy.h"
#include "broker/core/mechanics/need.h"
#include "broker/core/mechanics/wind.h"
#include "clients/plan/command.h"

enum option {
    TYPE = TL_PLAN_OWN,
    STEP,
    TEMPERATURE,
    PRESSURE,
    OPTIONS
};

static const struct tl_option_row rows[OPTIONS] = {
    TL_PLAN_COMMON,
    [TYPE] = {"--type", TL_OPTION_WORD, 0, 0, false, "TYPE", "one type; else every type"},
    [STEP] = {"--step-lb", TL_OPTION_NUMBER, 100, 50000, false, "lb",
              "from one weight to the next below; else 2,000 lb"},
    [TEMPERATURE] = {"--temp-c", TL_OPTION_NUMBER, -60, 60, false, "C",
                     "temperature of the air; else that of ship.yaml"},
    [PRESSURE] = {"--pressure-hpa", TL_OPTION_NUMBER, 500, 1100, false, "hPa",
                  "pressure of the air at the deck; else that of ship.yaml"},
};

static const char text[] =
    "For each type, from max_trap_lb down to seven tenths of it: approach speed (with the "
    "root of the weight), the least headwind on the landing axis and what rules it (the "
    "type's own least wind, energy margin, hook load or ram travel), and engaging speed, "
    "energy margin, ram travel and hook load in that wind.";

static const double step_default_lb = 2000.0;
/* Lighter than this share of max_trap_lb nothing comes back; common practice, no source. */
static const double lightest_share = 0.7;

enum need {
    NEED_TYPE = 0,
    NEED_ENERGY,
    NEED_HOOK,
    NEED_STROKE,
    NEEDS
};
static const char *const need_names[NEEDS] = {"type", "energy", "hook load", "stroke"};

struct bench {
    struct tl_arrest_gear gear;
    struct tl_arrest_machine *machine;
    struct tl_air air;
    double lull_kt;      /* that the headwind may drop below what is read; 0 = not given */
    double margin_least; /* share */
    double ram_travel_max_in;
    double step_lb;
};

/* One row. */
struct line {
    const struct tl_aircraft_type *type;
    double weight_lb;
    double approach_kt;
    bool enough[NEEDS]; /* a wind does */
    double need_kt[NEEDS];
    enum need ruling;
    bool all_enough;
    double headwind_kt; /* tenths, rounded up */
    struct tl_engaging_out engaging;
    struct tl_arrest_out out;
};

static enum tl_exit
open_bench(struct tl_plan *plan, struct bench *bench)
{
    const struct tl_plan_air_options air = {TEMPERATURE, PRESSURE};
    double percent = 0.0;
    enum tl_exit code = tl_plan_machine(plan, &bench->gear, &bench->machine);
    code = code == TL_EXIT_OK ? tl_plan_air(plan, air, &bench->air) : code;
    if (code == TL_EXIT_OK) {
        code = tl_plan_figure(plan, TL_PLAN_NO_OPTION, TL_FIGURE_ENERGY_MARGIN_LEAST_PERCENT,
                              &percent);
    }
    if (code != TL_EXIT_OK) {
        return code;
    }
    bench->margin_least = percent / 100.0;
    bench->step_lb = tl_plan_given(plan, STEP) ? plan->option[STEP].number : step_default_lb;
    bench->lull_kt = plan->config->figures.given[TL_FIGURE_WIND_LULL_KT]
                         ? plan->config->figures.value[TL_FIGURE_WIND_LULL_KT]
                         : 0.0;
    bench->ram_travel_max_in = plan->config->gear.limits.ram_travel_max_in_x10 / 10.0;
    if (bench->ram_travel_max_in <= 0.0) {
        return tl_plan_refuse(plan, TL_EXIT_CONFIG,
                              "gear.yaml does not give ram_travel_max_in; add it to limits");
    }
    return TL_EXIT_OK;
}

static enum tl_exit
check_type(struct tl_plan *plan, const struct bench *bench, const struct tl_aircraft_type *type)
{
    const struct {
        const char *name;
        uint32_t value;
    } measures[] = {{"approach_kt", type->approach_kt_x10},
                    {"min_headwind_kt", type->min_headwind_kt_x10},
                    {"hook_load_max_lbf", type->hook_load_max_lbf}};
    for (size_t i = 0; i < sizeof measures / sizeof measures[0]; i++) {
        enum tl_exit code = tl_plan_type_measure(plan, type, measures[i].name, measures[i].value);
        if (code != TL_EXIT_OK) {
            return code;
        }
    }
    if (type->max_trap_lb * (1.0 - lightest_share) / bench->step_lb > TL_SPAN_ROWS_MAX) {
        return tl_plan_refuse(plan, TL_EXIT_USAGE,
                              "--step-lb %.0f gives %s more than %d rows; write a larger one",
                              bench->step_lb, type->id, TL_SPAN_ROWS_MAX);
    }
    return TL_EXIT_OK;
}

static enum tl_exit
cannot(struct tl_plan *plan, const struct line *line, const char *why)
{
    return tl_plan_refuse(plan, TL_EXIT_CONFIG,
                          "no arrestment of %s at %.0f lb from the figures of aircraft.yaml and "
                          "gear.yaml: %s",
                          line->type->id, line->weight_lb, why);
}

static enum tl_exit
find_energy(struct tl_plan *plan, const struct bench *bench, struct line *line)
{
    const struct tl_energy_need_in in = {.weight_lb = line->weight_lb,
                                         .approach_kt = line->approach_kt,
                                         .air = bench->air,
                                         .thrust_lbf = line->type->thrust_lbf,
                                         .runout_ft = bench->gear.runout_ft,
                                         .capacity_ftlb = bench->gear.capacity_ftlb,
                                         .margin_least = bench->margin_least};
    enum tl_err err = tl_energy_wind_needed(&in, &line->need_kt[NEED_ENERGY]);
    line->enough[NEED_ENERGY] = err == TL_OK;
    return err == TL_OK || err == TL_REFUSED
               ? TL_EXIT_OK
               : cannot(plan, line, "the energy cannot be computed; check capacity_ftlb");
}

static enum tl_exit
find_limits(struct tl_plan *plan, const struct bench *bench, struct line *line)
{
    static const enum tl_need_limit limit[NEEDS] = {
        [NEED_HOOK] = TL_NEED_HOOK_LOAD, [NEED_STROKE] = TL_NEED_STROKE};
    struct tl_need_in in = {.approach_kt = line->approach_kt,
                            .air = bench->air,
                            .weight_lb = line->weight_lb,
                            .set_lb = line->type->setting_lb,
                            .thrust_lbf = line->type->thrust_lbf};
    for (int i = NEED_HOOK; i < NEEDS; i++) {
        const char *why = "";
        in.limit = limit[i];
        in.most = i == NEED_HOOK ? line->type->hook_load_max_lbf : bench->ram_travel_max_in;
        enum tl_err err = tl_need_headwind(bench->machine, &in, &line->need_kt[i], &why);
        line->enough[i] = err == TL_OK;
        if (err != TL_OK && err != TL_REFUSED) {
            return cannot(plan, line, why);
        }
    }
    return TL_EXIT_OK;
}

/* The one that rules: one that no wind satisfies, else the greatest. */
static void
rule(struct line *line)
{
    line->ruling = NEED_TYPE;
    line->all_enough = true;
    for (int i = 0; i < NEEDS; i++) {
        bool more = line->need_kt[i] > line->need_kt[line->ruling];
        if (line->all_enough && (!line->enough[i] || more)) {
            line->ruling = (enum need)i;
            line->all_enough = line->enough[i];
        }
    }
    line->headwind_kt =
        line->all_enough ? tl_wind_x10_away(line->need_kt[line->ruling]) / 10.0 : 0.0;
}

static enum tl_exit
solve(struct tl_plan *plan, const struct bench *bench, struct line *line)
{
    const char *why = "the headwind that it needs is not below its airspeed";
    enum tl_exit code = tl_plan_approach(plan, line->type, line->weight_lb, &line->approach_kt);
    line->enough[NEED_TYPE] = true;
    line->need_kt[NEED_TYPE] = line->type->min_headwind_kt_x10 / 10.0;
    code = code == TL_EXIT_OK ? find_energy(plan, bench, line) : code;
    code = code == TL_EXIT_OK ? find_limits(plan, bench, line) : code;
    if (code != TL_EXIT_OK) {
        return code;
    }
    rule(line);
    if (!line->all_enough) {
        return TL_EXIT_OK;
    }
    const struct tl_engaging_in in = {
        .approach_kt = line->approach_kt, .air = bench->air, .headwind_kt = line->headwind_kt};
    if (tl_engaging(&in, &line->engaging) != TL_OK) {
        return cannot(plan, line, why);
    }
    const struct tl_arrest_in arrest = {.weight_lb = line->weight_lb,
                                        .set_lb = line->type->setting_lb,
                                        .engaging_kt = line->engaging.engaging_kt,
                                        .thrust_lbf = line->type->thrust_lbf};
    if (tl_arrest_run(bench->machine, &arrest, NULL, &line->out, &why) != TL_OK) {
        return cannot(plan, line, why);
    }
    return TL_EXIT_OK;
}

static const struct tl_say_column columns[] = {
    {"type", "", "", 0, 0},
    {"set_lb", "", "", 0, 0},
    {"weight_lb", "weight", "lb", 0, 8},
    {"approach_kt", "approach", "kn", 1, 8},
    {"headwind_kt", "headwind", "kn", 1, 8},
    {"ruled_by", "ruled by", "", 0, 9},
    {"engaging_kt", "engaging", "kn", 1, 8},
    {"energy_margin_percent", "energy left", "%", 1, 11},
    {"stroke_in", "stroke", "in", 1, 7},
    {"peak_hook_lbf", "hook load", "lbf", 0, 9},
    {"enough", "", "", 0, 0},
    {"need_type_kt", "", "", 1, 0},
    {"need_energy_kt", "", "", 1, 0},
    {"need_hook_load_kt", "", "", 1, 0},
    {"need_stroke_kt", "", "", 1, 0},
};
enum {
    COLUMNS = sizeof columns / sizeof columns[0]
};
static const struct tl_say_table table = {"rows", columns, COLUMNS};

static struct tl_cell
known(bool is, double value)
{
    return is ? tl_cell_number(value) : (struct tl_cell){.kind = TL_CELL_UNKNOWN};
}

static void
say_line(struct tl_say *say, const struct line *line)
{
    bool is = line->all_enough;
    const struct tl_cell cells[COLUMNS] = {
        tl_cell_word(line->type->id),
        tl_cell_number(line->type->setting_lb),
        tl_cell_number(line->weight_lb),
        tl_cell_number(line->approach_kt),
        known(is, line->headwind_kt),
        tl_cell_word(need_names[line->ruling]),
        known(is, line->engaging.engaging_kt),
        known(is, 100.0 * line->out.energy_margin),
        known(is, line->out.stroke_in),
        known(is, line->out.peak_hook_lbf),
        tl_cell_flag(is),
        known(line->enough[NEED_TYPE], line->need_kt[NEED_TYPE]),
        known(line->enough[NEED_ENERGY], line->need_kt[NEED_ENERGY]),
        known(line->enough[NEED_HOOK], line->need_kt[NEED_HOOK]),
        known(line->enough[NEED_STROKE], line->need_kt[NEED_STROKE]),
    };
    tl_say_row(say, &table, cells);
}

static enum tl_exit
say_type(struct tl_plan *plan, const struct bench *bench, const struct tl_aircraft_type *type)
{
    static const char *const limits[NEEDS] = {"the type's own least wind", "the energy margin",
                                              "the hook load", "the ram travel"};
    struct line line = {.type = type};
    char set[32];
    enum tl_exit code = check_type(plan, bench, type);
    if (code != TL_EXIT_OK) {
        return code;
    }
    tl_say_heading(plan->say, "%s, set %s lb", type->id,
                   tl_say_digits(type->setting_lb, 0, set, sizeof set));
    tl_say_table(plan->say, &table);
    double lightest_lb = type->max_trap_lb * lightest_share;
    for (uint32_t i = 0; type->max_trap_lb - i * bench->step_lb >= lightest_lb; i++) {
        line = (struct line){.type = type, .weight_lb = type->max_trap_lb - i * bench->step_lb};
        code = solve(plan, bench, &line);
        if (code != TL_EXIT_OK) {
            return code;
        }
        say_line(plan->say, &line);
        if (!line.all_enough) {
            tl_say_note(plan->say, "%s at %s lb: no wind is enough for %s.", type->id,
                        tl_say_digits(line.weight_lb, 0, set, sizeof set), limits[line.ruling]);
        }
    }
    return TL_EXIT_OK;
}

static void
say_bench(struct tl_plan *plan, const struct bench *bench)
{
    const struct {
        struct tl_say_item item;
        double value;
    } figures[] = {
        {{"temp_c", "temperature of the air", "C", 1}, bench->air.temperature_c},
        {{"pressure_hpa", "pressure of the air", "hPa", 1}, bench->air.pressure_hpa},
        {{"energy_margin_least_percent", "energy to be left, least", "%", 1},
         100.0 * bench->margin_least},
        {{"ram_travel_max_in", "ram travel, most", "in", 1}, bench->ram_travel_max_in},
        {{"wind_lull_kt", "lull of the wind, not in the headwinds", "kn", 1}, bench->lull_kt},
    };
    tl_say_heading(plan->say, "Bulletin: least headwind on the landing axis");
    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++) {
        tl_say_number(plan->say, &figures[i].item, figures[i].value);
    }
    if (bench->lull_kt > 0.0) {
        tl_say_note(plan->say,
                    "The headwinds are those that must blow in a lull: %.1f kn more must be read "
                    "where energy, hook load or stroke rules.",
                    bench->lull_kt);
    }
}

static enum tl_exit
say_types(struct tl_plan *plan, const struct bench *bench)
{
    const struct tl_aircraft_type *only = NULL;
    enum tl_exit code = tl_plan_given(plan, TYPE) ? tl_plan_type(plan, TYPE, &only) : TL_EXIT_OK;
    say_bench(plan, bench);
    for (uint32_t i = 0; code == TL_EXIT_OK && i < plan->config->type_count; i++) {
        const struct tl_aircraft_type *type = &plan->config->type[i];
        if (only == NULL || only == type) {
            code = say_type(plan, bench, type);
        }
    }
    return code;
}

static enum tl_exit
run(struct tl_plan *plan)
{
    struct bench bench = {0};
    enum tl_exit code = open_bench(plan, &bench);
    code = code == TL_EXIT_OK ? say_types(plan, &bench) : code;
    tl_arrest_close(&bench.machine);
    return code;
}

const struct tl_plan_command tl_plan_bulletin = {
    .name = "bulletin",
    .what = "for each type and weight: approach speed, least wind, what rules it",
    .text = text,
    .table = {rows, OPTIONS},
    .run = run,
};
