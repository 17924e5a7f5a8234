/* SPDX-License-Identifier: Apache-2.0 */
/* interval.c - `trapline plan interval`: seconds between two aircraft. */
#include "broker/core/mechanics/setup.h"

#include "clients/plan/command.h"

enum option {
    RESET = TL_PLAN_OWN,
    SPREAD,
    WAVE_OFF,
    INTERVAL,
    AIRCRAFT,
    BOARDING,
    OPTIONS
};

static const struct tl_option_row rows[OPTIONS] = {
    TL_PLAN_COMMON,
    [RESET] = {"--reset-s", TL_OPTION_NUMBER, 0, 3600, false, "s",
               "from a touchdown until the deck is ready again; else from ship.yaml"},
    [SPREAD] = {"--spread-s", TL_OPTION_NUMBER, 0, 600, true, "s",
                "standard deviation of that; else from ship.yaml"},
    [WAVE_OFF] = {"--wave-off-s", TL_OPTION_NUMBER, 0, 600, false, "s",
                  "how long before touchdown the deck must be ready; else the longest window for "
                  "people of any type in its least headwind"},
    [INTERVAL] = {"--interval-s", TL_OPTION_NUMBER, 1, 3600, false, "s",
                  "between two aircraft at the ramp; else from ship.yaml"},
    [AIRCRAFT] = {"--aircraft", TL_OPTION_WHOLE, 1, 1000, false, "",
                  "how many are to be recovered"},
    [BOARDING] = {"--boarding-percent", TL_OPTION_NUMBER, 0, 100, true, "%",
                  "passes that end in a trap; else from ship.yaml"},
};

static const char text[] =
    "How likely the deck is not ready in time for the next aircraft, and what interval would "
    "do. The time of a reset is taken as normally distributed. An aircraft that is waved off "
    "goes round; it does not wait.";

static enum tl_exit
read_reset(struct tl_plan *plan, struct tl_reset_in *reset, double *reset_s)
{
    const char *missing = NULL;
    if (tl_plan_given(plan, RESET)) {
        *reset_s = plan->option[RESET].number;
        return TL_EXIT_OK;
    }
    enum tl_exit code = tl_plan_need_config(plan, "the reset (or --reset-s)");
    if (code != TL_EXIT_OK) {
        return code;
    }
    if (tl_setup_reset(plan->config, reset, &missing) != TL_OK) {
        return tl_plan_lacks(plan, missing);
    }
    if (tl_reset_mean(reset, reset_s) != TL_OK) {
        return tl_plan_refuse(plan, TL_EXIT_CONFIG,
                              "the reset figures of ship.yaml are not 0 to 600 s each");
    }
    return TL_EXIT_OK;
}

/* Window for people of one type at the least headwind that it may be recovered in. */
static enum tl_exit
window_of(struct tl_plan *plan, const struct tl_aircraft_type *type, double *before_s)
{
    double headwind_kt = type->min_headwind_kt_x10 / 10.0;
    struct tl_engaging_in in = {.headwind_kt = headwind_kt};
    struct tl_engaging_out closure = {0};
    struct tl_wave_off_in wave = {0};
    struct tl_wave_off_out out;
    const struct tl_plan_air_options air = {TL_PLAN_NO_OPTION, TL_PLAN_NO_OPTION};
    const struct {
        enum tl_figure figure;
        double *to;
    } figures[] = {{TL_FIGURE_REACTION_S, &wave.reaction_s},
                   {TL_FIGURE_CLIMB_FT_S2, &wave.climb_ft_s2},
                   {TL_FIGURE_PEOPLE_WINDOW_FT, &wave.height_ft}};
    enum tl_exit code =
        tl_plan_type_measure(plan, type, "min_headwind_kt", type->min_headwind_kt_x10);
    code = code == TL_EXIT_OK ? tl_plan_approach(plan, type, type->max_trap_lb, &in.approach_kt)
                              : code;
    code = code == TL_EXIT_OK ? tl_plan_air(plan, air, &in.air) : code;
    code = code == TL_EXIT_OK ? tl_plan_angle(plan, TL_PLAN_NO_OPTION, headwind_kt, &wave.angle_deg)
                              : code;
    for (size_t i = 0; i < sizeof figures / sizeof figures[0] && code == TL_EXIT_OK; i++) {
        code = tl_plan_figure(plan, TL_PLAN_NO_OPTION, figures[i].figure, figures[i].to);
    }
    if (code != TL_EXIT_OK) {
        return code;
    }
    enum tl_err err = tl_engaging(&in, &closure);
    wave.closure_kt = closure.closure_kt;
    if (err != TL_OK || tl_wave_off(&wave, &out) != TL_OK) {
        return tl_plan_refuse(plan, TL_EXIT_CONFIG,
                              "the figures of %s give no wave-off; check approach_kt and "
                              "min_headwind_kt in aircraft.yaml",
                              type->id);
    }
    *before_s = out.before_s;
    return TL_EXIT_OK;
}

static enum tl_exit
read_wave_off(struct tl_plan *plan, double *wave_off_s, const struct tl_aircraft_type **of)
{
    if (tl_plan_given(plan, WAVE_OFF)) {
        *wave_off_s = plan->option[WAVE_OFF].number;
        return TL_EXIT_OK;
    }
    enum tl_exit code = tl_plan_need_config(plan, "its types (or --wave-off-s)");
    double longest_s = 0.0;
    for (uint32_t i = 0; code == TL_EXIT_OK && i < plan->config->type_count; i++) {
        double before_s = 0.0;
        code = window_of(plan, &plan->config->type[i], &before_s);
        if (code == TL_EXIT_OK && before_s > longest_s) {
            longest_s = before_s;
            *of = &plan->config->type[i];
        }
    }
    *wave_off_s = longest_s;
    return code;
}

struct given {
    struct tl_interval_in in;
    struct tl_reset_in reset;
    const struct tl_aircraft_type *of; /* whose window it is; NULL = given */
};

static enum tl_exit
read_given(struct tl_plan *plan, struct given *given)
{
    enum tl_exit code = read_reset(plan, &given->reset, &given->in.reset_s);
    if (code == TL_EXIT_OK) {
        code = tl_plan_figure(plan, SPREAD, TL_FIGURE_RESET_SPREAD_S, &given->in.spread_s);
    }
    if (code == TL_EXIT_OK) {
        code = tl_plan_figure(plan, INTERVAL, TL_FIGURE_INTERVAL_S, &given->in.interval_s);
    }
    return code == TL_EXIT_OK ? read_wave_off(plan, &given->in.wave_off_s, &given->of) : code;
}

static void
say_given(struct tl_plan *plan, const struct given *given)
{
    static const struct tl_say_item reset = {"reset_s", "reset, mean", "s", 1};
    static const struct tl_say_item spread = {"spread_s", "its standard deviation", "s", 1};
    static const struct tl_say_item wave_off = {"wave_off_s", "deck ready before touchdown", "s",
                                                2};
    static const struct tl_say_item of = {"wave_off_of", "that is the window for people of", "", 0};
    static const struct tl_say_item interval = {"interval_s", "interval at the ramp", "s", 1};
    const struct {
        struct tl_say_item item;
        double value;
    } parts[] = {
        {{"reset_arrest_s", "arrest", "s", 1}, given->reset.arrest_s},
        {{"reset_hook_s", "hook free of the wire", "s", 1}, given->reset.hook_s},
        {{"reset_retract_s", "retract, side by side with", "s", 1}, given->reset.retract_s},
        {{"reset_taxi_s", "taxi over the foul line, and", "s", 1}, given->reset.taxi_s},
        {{"reset_weight_s", "weight setting", "s", 1}, given->reset.weight_s},
        {{"reset_check_s", "battery and wires looked at", "s", 1}, given->reset.check_s},
    };
    struct tl_say *say = plan->say;
    tl_say_heading(say, "From one touchdown until the deck is ready for the next");
    for (size_t i = 0; !tl_plan_given(plan, RESET) && i < sizeof parts / sizeof parts[0]; i++) {
        tl_say_number(say, &parts[i].item, parts[i].value);
    }
    tl_say_number(say, &reset, given->in.reset_s);
    tl_say_number(say, &spread, given->in.spread_s);
    tl_say_number(say, &wave_off, given->in.wave_off_s);
    if (given->of != NULL) {
        tl_say_word(say, &of, given->of->id);
    }
    tl_say_number(say, &interval, given->in.interval_s);
}

static enum tl_exit
say_recovery(struct tl_plan *plan, double interval_s)
{
    static const struct tl_say_item aircraft = {"aircraft", "aircraft", "", 0};
    static const struct tl_say_item boarding = {"boarding_percent", "passes that end in a trap",
                                                "%", 1};
    static const struct tl_say_item passes = {"passes", "passes to expect", "", 2};
    static const struct tl_say_item time = {"recovery_s", "time for them", "s", 0};
    static const struct tl_say_item minutes = {"recovery_min", "time for them", "min", 1};
    uint32_t count = (uint32_t)plan->option[AIRCRAFT].number;
    double percent = 0.0;
    struct tl_passes_out out;
    enum tl_exit code = tl_plan_figure(plan, BOARDING, TL_FIGURE_BOARDING_RATE_PERCENT, &percent);
    if (code != TL_EXIT_OK) {
        return code;
    }
    if (tl_passes(count, percent / 100.0, interval_s, &out) != TL_OK) {
        return tl_plan_refuse(plan, TL_EXIT_USAGE,
                              "no passes from %u aircraft at %.1f %%; check both", count, percent);
    }
    tl_say_heading(plan->say, "Recovery");
    tl_say_whole(plan->say, &aircraft, count);
    tl_say_number(plan->say, &boarding, percent);
    tl_say_number(plan->say, &passes, out.passes);
    tl_say_number(plan->say, &time, out.time_s);
    tl_say_number(plan->say, &minutes, out.time_s / 60.0);
    return TL_EXIT_OK;
}

static enum tl_exit
run(struct tl_plan *plan)
{
    static const struct tl_say_item foul = {"foul_chance", "chance of a wave-off for a foul deck",
                                            "", 5};
    static const struct tl_say_item every = {"trap_every",
                                             "fixed times: a trap in every n-th pass, n", "", 0};
    static const struct tl_say_item suggested = {"suggested_s",
                                                 "interval that is two deviations wide", "s", 1};
    struct given given = {0};
    struct tl_interval_out out;
    enum tl_exit code = TL_EXIT_OK;
    if (tl_plan_given(plan, BOARDING)) {
        code = tl_plan_need(plan, AIRCRAFT);
    }
    code = code == TL_EXIT_OK ? read_given(plan, &given) : code;
    if (code != TL_EXIT_OK) {
        return code;
    }
    if (tl_interval(&given.in, &out) != TL_OK) {
        return tl_plan_refuse(plan, TL_EXIT_USAGE,
                              "no chance from these figures: reset %.1f s, spread %.1f s, wave-off "
                              "%.1f s, interval %.1f s",
                              given.in.reset_s, given.in.spread_s, given.in.wave_off_s,
                              given.in.interval_s);
    }
    say_given(plan, &given);
    tl_say_heading(plan->say, "What comes of it");
    tl_say_number(plan->say, &foul, out.foul_chance);
    tl_say_whole(plan->say, &every, out.trap_every);
    tl_say_number(plan->say, &suggested, out.suggested_s);
    return tl_plan_given(plan, AIRCRAFT) ? say_recovery(plan, given.in.interval_s) : TL_EXIT_OK;
}

const struct tl_plan_command tl_plan_interval = {
    .name = "interval",
    .what = "seconds between two aircraft, and what a recovery takes",
    .text = text,
    .table = {rows, OPTIONS},
    .run = run,
};
