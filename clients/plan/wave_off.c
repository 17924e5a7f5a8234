/* SPDX-License-Identifier: Apache-2.0 */
/* wave_off.c - `trapline plan wave-off`: seconds to the ramp, and the last word before it. */
#include "broker/core/mechanics/timing.h"

#include "clients/plan/command.h"

enum option {
    TYPE = TL_PLAN_OWN,
    HEADWIND,
    CLOSURE,
    WEIGHT,
    ANGLE,
    REACTION,
    CLIMB,
    RANGE,
    TEMPERATURE,
    PRESSURE,
    OPTIONS
};

static const struct tl_option_row rows[OPTIONS] = {
    TL_PLAN_COMMON,
    [TYPE] = {"--type", TL_OPTION_WORD, 0, 0, false, "TYPE", "type of aircraft, of aircraft.yaml"},
    [HEADWIND] = {"--headwind-kt", TL_OPTION_NUMBER, -100, 100, false, "kn",
                  "headwind on the landing axis, for the closure of the type"},
    [CLOSURE] = {"--closure-kt", TL_OPTION_NUMBER, 20, 300, false, "kn",
                 "how fast the ramp comes nearer, in place of a type"},
    [WEIGHT] = {"--weight-lb", TL_OPTION_NUMBER, 1000, 200000, false, "lb",
                "gross weight of the aircraft; else max_trap_lb of the type"},
    [ANGLE] = {"--angle-deg", TL_OPTION_NUMBER, 1, 8, false, "deg",
               "slope; else the basic angle of ship.yaml for the headwind"},
    [REACTION] = {"--reaction-s", TL_OPTION_NUMBER, 0, 10, false, "s",
                  "from the word to the first climb, caller and pilot; else that of ship.yaml"},
    [CLIMB] = {"--climb-ft-s2", TL_OPTION_NUMBER, 0, 32, true, "ft/s2",
               "upward acceleration of a wave-off; else that of ship.yaml"},
    [RANGE] = {"--range-nmi", TL_OPTION_NUMBER, 0, 20, true, "nmi",
               "range from the ramp; else that of the pilot's call in ship.yaml"},
    [TEMPERATURE] = {"--temp-c", TL_OPTION_NUMBER, -60, 60, false, "C",
                     "temperature of the air; else that of ship.yaml"},
    [PRESSURE] = {"--pressure-hpa", TL_OPTION_NUMBER, 500, 1100, false, "hPa",
                  "pressure of the air at the deck; else that of ship.yaml"},
};

static const char text[] =
    "Seconds from a range to the ramp, and how long before touchdown a wave-off must be said "
    "so that the hook stays as high over the deck as ship.yaml asks: one window when only the "
    "gear is unset, one when people or objects are in the area. Give --closure-kt, or --type "
    "with --headwind-kt.";

struct approach {
    const struct tl_aircraft_type *type;
    double closure_kt;
    double angle_deg;
    double range_nmi;
    double to_ramp_s;
};

static enum tl_exit
read_closure(struct tl_plan *plan, struct approach *a)
{
    struct tl_engaging_in in = {.headwind_kt = plan->option[HEADWIND].number};
    struct tl_engaging_out out;
    const struct tl_plan_air_options air = {TEMPERATURE, PRESSURE};
    enum tl_exit code = tl_plan_need(plan, HEADWIND);
    code = code == TL_EXIT_OK ? tl_plan_type(plan, TYPE, &a->type) : code;
    if (code == TL_EXIT_OK) {
        double weight_lb =
            tl_plan_given(plan, WEIGHT) ? plan->option[WEIGHT].number : a->type->max_trap_lb;
        code = tl_plan_approach(plan, a->type, weight_lb, &in.approach_kt);
    }
    code = code == TL_EXIT_OK ? tl_plan_air(plan, air, &in.air) : code;
    if (code != TL_EXIT_OK) {
        return code;
    }
    if (tl_engaging(&in, &out) != TL_OK) {
        return tl_plan_refuse(plan, TL_EXIT_USAGE,
                              "%s at %.1f kn does not come nearer in %.1f kn of headwind; the "
                              "headwind must be below its airspeed",
                              a->type->id, in.approach_kt, in.headwind_kt);
    }
    a->closure_kt = out.closure_kt;
    return TL_EXIT_OK;
}

static enum tl_exit
read_approach(struct tl_plan *plan, struct approach *a)
{
    static const size_t of_type[] = {TYPE, HEADWIND, WEIGHT, TEMPERATURE, PRESSURE};
    enum tl_exit code = TL_EXIT_OK;
    for (size_t i = 0; i < sizeof of_type / sizeof of_type[0] && code == TL_EXIT_OK; i++) {
        code = tl_plan_not_both(plan, CLOSURE, of_type[i]);
    }
    if (code == TL_EXIT_OK && tl_plan_given(plan, CLOSURE)) {
        a->closure_kt = plan->option[CLOSURE].number;
    } else if (code == TL_EXIT_OK && tl_plan_given(plan, TYPE)) {
        code = read_closure(plan, a);
    } else if (code == TL_EXIT_OK) {
        code = tl_plan_refuse(plan, TL_EXIT_USAGE,
                              "no closure is given; give --closure-kt, or --type and "
                              "--headwind-kt");
    }
    if (code == TL_EXIT_OK) {
        code = tl_plan_angle(plan, ANGLE, plan->option[HEADWIND].number, &a->angle_deg);
    }
    if (code == TL_EXIT_OK) {
        code = tl_plan_figure(plan, RANGE, TL_FIGURE_CALL_RANGE_NMI, &a->range_nmi);
    }
    if (code == TL_EXIT_OK && tl_timing_to_ramp(a->range_nmi * TL_PLAN_FT_PER_NMI, a->closure_kt,
                                                &a->to_ramp_s) != TL_OK) {
        code = tl_plan_refuse(plan, TL_EXIT_USAGE,
                              "no time to the ramp from %.2f nmi at %.1f kn of closure",
                              a->range_nmi, a->closure_kt);
    }
    return code;
}

/* Both windows: for the gear alone, and for people. */
static enum tl_exit
solve(struct tl_plan *plan, const struct approach *a, struct tl_wave_off_in in[2],
      struct tl_wave_off_out out[2])
{
    static const enum tl_figure height[] = {TL_FIGURE_GEAR_WINDOW_FT, TL_FIGURE_PEOPLE_WINDOW_FT};
    for (size_t i = 0; i < 2; i++) {
        in[i] = (struct tl_wave_off_in){.closure_kt = a->closure_kt, .angle_deg = a->angle_deg};
        enum tl_exit code = tl_plan_figure(plan, REACTION, TL_FIGURE_REACTION_S, &in[i].reaction_s);
        code = code == TL_EXIT_OK
                   ? tl_plan_figure(plan, CLIMB, TL_FIGURE_CLIMB_FT_S2, &in[i].climb_ft_s2)
                   : code;
        code = code == TL_EXIT_OK
                   ? tl_plan_figure(plan, TL_PLAN_NO_OPTION, height[i], &in[i].height_ft)
                   : code;
        if (code != TL_EXIT_OK) {
            return code;
        }
        if (tl_wave_off(&in[i], &out[i]) != TL_OK) {
            return tl_plan_refuse(plan, TL_EXIT_USAGE,
                                  "no wave-off from these figures: closure %.1f kn (20 to 300), "
                                  "slope %.2f deg (1 to 8), reaction %.1f s, climb %.1f ft/s2",
                                  a->closure_kt, a->angle_deg, in[i].reaction_s, in[i].climb_ft_s2);
        }
    }
    return TL_EXIT_OK;
}

static void
say_approach(struct tl_plan *plan, const struct approach *a, const struct tl_wave_off_in *in,
             const struct tl_wave_off_out *out)
{
    static const struct tl_say_item type = {"type", "type", "", 0};
    static const struct tl_say_item closure = {"closure_kt", "closure", "kn", 1};
    static const struct tl_say_item angle = {"angle_deg", "slope", "deg", 2};
    static const struct tl_say_item sink = {"sink_ft_s", "sink", "ft/s", 2};
    static const struct tl_say_item sink_min = {"sink_ft_min", "sink", "ft/min", 0};
    static const struct tl_say_item reaction = {"reaction_s", "reaction of caller and pilot", "s",
                                                1};
    static const struct tl_say_item climb = {"climb_ft_s2", "upward acceleration", "ft/s2", 1};
    static const struct tl_say_item loss = {"loss_ft", "height lost after the word", "ft", 2};
    static const struct tl_say_item range = {"range_nmi", "range from the ramp", "nmi", 2};
    static const struct tl_say_item to_ramp = {"to_ramp_s", "time from there to the ramp", "s", 2};
    struct tl_say *say = plan->say;
    tl_say_heading(say, "Approach");
    if (a->type != NULL) {
        tl_say_word(say, &type, a->type->id);
    }
    tl_say_number(say, &closure, a->closure_kt);
    tl_say_number(say, &angle, a->angle_deg);
    tl_say_number(say, &sink, out->sink_ft_s);
    tl_say_number(say, &sink_min, 60.0 * out->sink_ft_s);
    tl_say_number(say, &range, a->range_nmi);
    tl_say_number(say, &to_ramp, a->to_ramp_s);
    tl_say_number(say, &reaction, in->reaction_s);
    tl_say_number(say, &climb, in->climb_ft_s2);
    tl_say_number(say, &loss, out->loss_ft);
}

static void
say_windows(struct tl_plan *plan, const struct tl_wave_off_in in[2],
            const struct tl_wave_off_out out[2])
{
    static const struct tl_say_item items[2][3] = {
        {{"gear_height_ft", "hook to stay over the deck", "ft", 0},
         {"gear_range_ft", "last word at a range of", "ft", 1},
         {"gear_before_s", "last word before touchdown", "s", 2}},
        {{"people_height_ft", "hook to stay over the deck", "ft", 0},
         {"people_range_ft", "last word at a range of", "ft", 1},
         {"people_before_s", "last word before touchdown", "s", 2}}};
    static const char *const heads[2] = {"Window when only the gear is unset",
                                         "Window when people or objects are in the area"};
    for (size_t i = 0; i < 2; i++) {
        tl_say_heading(plan->say, "%s", heads[i]);
        tl_say_number(plan->say, &items[i][0], in[i].height_ft);
        tl_say_number(plan->say, &items[i][1], out[i].range_ft);
        tl_say_number(plan->say, &items[i][2], out[i].before_s);
    }
}

static enum tl_exit
run(struct tl_plan *plan)
{
    struct approach a = {0};
    struct tl_wave_off_in in[2];
    struct tl_wave_off_out out[2];
    enum tl_exit code = read_approach(plan, &a);
    code = code == TL_EXIT_OK ? solve(plan, &a, in, out) : code;
    if (code != TL_EXIT_OK) {
        return code;
    }
    say_approach(plan, &a, &in[0], &out[0]);
    say_windows(plan, in, out);
    for (size_t i = 0; i < 2; i++) {
        if (out[i].range_ft > a.range_nmi * TL_PLAN_FT_PER_NMI) {
            tl_say_note(plan->say, "At %.2f nmi the window for %s is past.", a.range_nmi,
                        i == 0 ? "the gear" : "people");
        }
    }
    return TL_EXIT_OK;
}

const struct tl_plan_command tl_plan_wave_off = {
    .name = "wave-off",
    .what = "seconds to the ramp, and when a wave-off must be said",
    .text = text,
    .table = {rows, OPTIONS},
    .run = run,
};
