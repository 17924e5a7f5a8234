/* SPDX-License-Identifier: Apache-2.0 */
/* aid.c - `trapline plan aid`: the landing aid for a type, and for the wrong one. */
#include "broker/core/mechanics/aid.h"

#include "clients/plan/command.h"

enum option {
    TYPE = TL_PLAN_OWN,
    SET_FOR,
    ANGLE,
    WIRE,
    PITCH,
    WIND,
    OPTIONS
};

static const struct tl_option_row rows[OPTIONS] = {
    TL_PLAN_COMMON,
    [TYPE] = {"--type", TL_OPTION_WORD, 0, 0, false, "TYPE",
              "type of aircraft; else a table of all types"},
    [SET_FOR] = {"--set-for", TL_OPTION_WORD, 0, 0, false, "TYPE",
                 "type that the aid is set for; else the same"},
    [ANGLE] = {"--angle-deg", TL_OPTION_NUMBER, 1, 8, false, "deg",
               "basic angle; else that of ship.yaml for the wind"},
    [WIRE] = {"--wire", TL_OPTION_WHOLE, 1, TL_ENGINES_MAX, false, "",
              "target wire, 1 is nearest to the ramp; else that of gear.yaml"},
    [PITCH] = {"--pitch-deg", TL_OPTION_NUMBER, -10, 10, false, "deg",
               "pitch of the deck, + with the stern up; else 0"},
    [WIND] = {"--wind-kt", TL_OPTION_NUMBER, 0, 100, false, "kn",
              "wind over the deck, for the basic angle and the slope that is flown"},
};

static const char text[] =
    "Roll of the lens for a type, where its hook comes down and how high it passes the ramp; "
    "also with the aid set for another type, and with the deck pitched.";

/* The aid, and where it aims. */
struct aid {
    double angle_deg;
    uint32_t wire;
    struct tl_aid_roll_in lens; /* but for the type */
    double clearance_least_ft;
    double pitch_deg, pitch_arm_ft;
    double call_ft; /* range of the pilot's call */
};

struct answer {
    double roll_deg; /* for the type itself */
    double roll_set_deg;
    struct tl_aid_hook_out hook;
    double slope_deg; /* that is flown; 0 = not given */
};

static double
eye_ft(const struct tl_aircraft_type *type)
{
    return type->hook_to_eye_ft_x100 / 100.0;
}

static enum tl_exit
read_wire(struct tl_plan *plan, struct aid *aid)
{
    const struct tl_gear *gear = &plan->config->gear;
    struct tl_aid_wires wires = {0};
    uint32_t count = gear->engine_count;
    aid->wire = tl_plan_given(plan, WIRE) ? (uint32_t)plan->option[WIRE].number
                                          : gear->target_of_usable[count > 0 ? count - 1 : 0];
    if (aid->wire == 0) {
        return tl_plan_refuse(plan, TL_EXIT_CONFIG,
                              "gear.yaml does not give target_of_usable; add it, or give --wire");
    }
    if (!tl_gear_has_wire(gear, aid->wire)) {
        return tl_plan_refuse(plan, TL_EXIT_USAGE,
                              "there is no wire %u; gear.yaml has %u, write --wire 1 to %u",
                              aid->wire, count, count);
    }
    enum tl_exit code =
        tl_plan_figure(plan, TL_PLAN_NO_OPTION, TL_FIGURE_FIRST_WIRE_FT, &wires.first_ft);
    code = code == TL_EXIT_OK ? tl_plan_figure(plan, TL_PLAN_NO_OPTION, TL_FIGURE_WIRE_SPACING_FT,
                                               &wires.spacing_ft)
                              : code;
    if (code == TL_EXIT_OK) {
        aid->lens.touchdown_ft = tl_aid_touchdown_of_wire(&wires, aid->wire);
    }
    return code;
}

static enum tl_exit
read_aid(struct tl_plan *plan, struct aid *aid)
{
    double call_nmi = 0.0;
    const struct {
        enum tl_figure figure;
        double *to;
    } figures[] = {
        {TL_FIGURE_AID_FROM_RAMP_FT, &aid->lens.from_ramp_ft},
        {TL_FIGURE_AID_HEIGHT_FT, &aid->lens.height_ft},
        {TL_FIGURE_AID_OFFSET_FT, &aid->lens.offset_ft},
        {TL_FIGURE_RAMP_CLEARANCE_LEAST_FT, &aid->clearance_least_ft},
        {TL_FIGURE_PITCH_ARM_FT, &aid->pitch_arm_ft},
        {TL_FIGURE_CALL_RANGE_NMI, &call_nmi},
    };
    enum tl_exit code = tl_plan_need_config(plan, "the landing aid");
    code = code == TL_EXIT_OK ? read_wire(plan, aid) : code;
    for (size_t i = 0; i < sizeof figures / sizeof figures[0] && code == TL_EXIT_OK; i++) {
        code = tl_plan_figure(plan, TL_PLAN_NO_OPTION, figures[i].figure, figures[i].to);
    }
    if (code == TL_EXIT_OK) {
        code = tl_plan_angle(plan, ANGLE, plan->option[WIND].number, &aid->angle_deg);
    }
    aid->lens.angle_deg = aid->angle_deg;
    aid->pitch_deg = plan->option[PITCH].number;
    aid->call_ft = call_nmi * TL_PLAN_FT_PER_NMI;
    return code;
}

static enum tl_exit
solve(struct tl_plan *plan, const struct aid *aid, const struct tl_aircraft_type *const type[2],
      struct answer *out)
{
    double *const roll[2] = {&out->roll_deg, &out->roll_set_deg};
    for (size_t i = 0; i < 2; i++) {
        struct tl_aid_roll_in lens = aid->lens;
        enum tl_exit code =
            tl_plan_type_measure(plan, type[i], "hook_to_eye_ft", type[i]->hook_to_eye_ft_x100);
        lens.hook_to_eye_ft = eye_ft(type[i]);
        if (code != TL_EXIT_OK) {
            return code;
        }
        if (tl_aid_roll(&lens, roll[i]) != TL_OK) {
            return tl_plan_refuse(plan, TL_EXIT_CONFIG,
                                  "the figures of the landing aid in ship.yaml and gear.yaml give "
                                  "no roll for %s",
                                  type[i]->id);
        }
    }
    const struct tl_aid_hook_in hook = {.touchdown_ft = aid->lens.touchdown_ft,
                                        .angle_deg = aid->angle_deg,
                                        .set_hook_to_eye_ft = eye_ft(type[1]),
                                        .hook_to_eye_ft = eye_ft(type[0]),
                                        .pitch_deg = aid->pitch_deg,
                                        .pitch_arm_ft = aid->pitch_arm_ft};
    if (tl_aid_hook(&hook, &out->hook) != TL_OK) {
        return tl_plan_refuse(plan, TL_EXIT_USAGE,
                              "no path of the hook from these figures; check pitch and angle");
    }
    out->slope_deg = 0.0;
    if (!tl_plan_given(plan, WIND)) {
        return TL_EXIT_OK;
    }
    const struct tl_aid_slope_in slope = {.angle_deg = aid->angle_deg,
                                          .airspeed_kt = type[0]->approach_kt_x10 / 10.0,
                                          .wind_kt = plan->option[WIND].number};
    enum tl_exit code =
        tl_plan_type_measure(plan, type[0], "approach_kt", type[0]->approach_kt_x10);
    if (code == TL_EXIT_OK && tl_aid_effective_slope(&slope, &out->slope_deg) != TL_OK) {
        code = tl_plan_refuse(plan, TL_EXIT_CONFIG, "approach_kt of %s in aircraft.yaml is not one",
                              type[0]->id);
    }
    return code;
}

static void
say_aid(struct tl_plan *plan, const struct aid *aid)
{
    static const struct tl_say_item angle = {"angle_deg", "basic angle", "deg", 2};
    static const struct tl_say_item wind = {"wind_kt", "wind over the deck", "kn", 1};
    static const struct tl_say_item wire = {"wire", "target wire", "", 0};
    static const struct tl_say_item aim = {"aim_ft", "touchdown aimed at, from the ramp", "ft", 1};
    static const struct tl_say_item least = {"ramp_clearance_least_ft",
                                             "least height of the hook over the ramp", "ft", 1};
    static const struct tl_say_item pitch = {"pitch_deg", "pitch, + stern up", "deg", 2};
    static const struct tl_say_item call = {"slope_at_call_ft", "height of the slope at the call",
                                            "ft", 1};
    tl_say_heading(plan->say, "Landing aid");
    tl_say_number(plan->say, &angle, aid->angle_deg);
    if (tl_plan_given(plan, WIND)) {
        tl_say_number(plan->say, &wind, plan->option[WIND].number);
    } else {
        tl_say_unknown(plan->say, &wind);
    }
    tl_say_whole(plan->say, &wire, aid->wire);
    tl_say_number(plan->say, &aim, aid->lens.touchdown_ft);
    tl_say_number(plan->say, &pitch, aid->pitch_deg);
    tl_say_number(plan->say, &least, aid->clearance_least_ft);
    tl_say_number(plan->say, &call, tl_aid_height_ft(aid->call_ft, aid->angle_deg));
}

static void
say_type(struct tl_plan *plan, const struct aid *aid, const struct tl_aircraft_type *const type[2],
         const struct answer *answer)
{
    static const struct tl_say_item name = {"type", "type", "", 0};
    static const struct tl_say_item set_for = {"set_for", "aid set for", "", 0};
    static const struct tl_say_item eye = {"hook_to_eye_ft", "hook to eye of the type", "ft", 2};
    static const struct tl_say_item set_eye = {"set_hook_to_eye_ft", "hook to eye that is set",
                                               "ft", 2};
    static const struct tl_say_item roll = {"roll_deg", "roll of the lens for the type", "deg", 2};
    static const struct tl_say_item set_roll = {"set_roll_deg", "roll of the lens as it is set",
                                                "deg", 2};
    static const struct tl_say_item down = {"touchdown_ft", "hook comes down, from the ramp", "ft",
                                            1};
    static const struct tl_say_item shift = {"shift_ft", "that is off the aim, - short", "ft", 1};
    static const struct tl_say_item clear = {"ramp_clearance_ft", "hook over the ramp", "ft", 2};
    static const struct tl_say_item low = {"ramp_clearance_low", "less than the least", "", 0};
    static const struct tl_say_item slope = {"effective_slope_deg", "slope flown over the deck",
                                             "deg", 2};
    struct tl_say *say = plan->say;
    bool is_low = answer->hook.ramp_clearance_ft < aid->clearance_least_ft;
    tl_say_heading(say, "Type %s, aid set for %s", type[0]->id, type[1]->id);
    tl_say_word(say, &name, type[0]->id);
    tl_say_word(say, &set_for, type[1]->id);
    tl_say_number(say, &eye, eye_ft(type[0]));
    tl_say_number(say, &set_eye, eye_ft(type[1]));
    tl_say_number(say, &roll, answer->roll_deg);
    tl_say_number(say, &set_roll, answer->roll_set_deg);
    tl_say_number(say, &down, answer->hook.touchdown_ft);
    tl_say_number(say, &shift, answer->hook.shift_ft);
    tl_say_number(say, &clear, answer->hook.ramp_clearance_ft);
    tl_say_flag(say, &low, is_low);
    if (answer->slope_deg > 0.0) {
        tl_say_number(say, &slope, answer->slope_deg);
    } else {
        tl_say_unknown(say, &slope);
    }
    if (is_low) {
        tl_say_note(say, "The hook passes the ramp at %.2f ft, and %.1f ft is the least.",
                    answer->hook.ramp_clearance_ft, aid->clearance_least_ft);
    }
}

static enum tl_exit
say_all(struct tl_plan *plan, const struct aid *aid, const struct tl_aircraft_type *set_for)
{
    static const struct tl_say_column columns[] = {
        {"type", "type", "", 0, 12},
        {"hook_to_eye_ft", "hook to eye", "ft", 2, 11},
        {"roll_deg", "roll", "deg", 2, 7},
        {"touchdown_ft", "touchdown", "ft", 1, 10},
        {"shift_ft", "off aim", "ft", 1, 8},
        {"ramp_clearance_ft", "over ramp", "ft", 2, 10},
        {"effective_slope_deg", "slope flown", "deg", 2, 12},
    };
    static const struct tl_say_table table = {"types", columns, 7};
    tl_say_heading(plan->say, "Every type, the aid set for %s",
                   set_for != NULL ? set_for->id : "itself");
    tl_say_table(plan->say, &table);
    for (uint32_t i = 0; i < plan->config->type_count; i++) {
        const struct tl_aircraft_type *one = &plan->config->type[i];
        const struct tl_aircraft_type *const type[2] = {one, set_for != NULL ? set_for : one};
        struct answer answer = {0};
        enum tl_exit code = solve(plan, aid, type, &answer);
        if (code != TL_EXIT_OK) {
            return code;
        }
        const struct tl_cell none = {.kind = TL_CELL_UNKNOWN};
        const struct tl_cell cells[] = {tl_cell_word(one->id),
                                        tl_cell_number(eye_ft(one)),
                                        tl_cell_number(answer.roll_deg),
                                        tl_cell_number(answer.hook.touchdown_ft),
                                        tl_cell_number(answer.hook.shift_ft),
                                        tl_cell_number(answer.hook.ramp_clearance_ft),
                                        answer.slope_deg > 0.0 ? tl_cell_number(answer.slope_deg)
                                                               : none};
        tl_say_row(plan->say, &table, cells);
    }
    return TL_EXIT_OK;
}

static enum tl_exit
run(struct tl_plan *plan)
{
    struct aid aid = {0};
    const struct tl_aircraft_type *type[2] = {NULL, NULL};
    enum tl_exit code = read_aid(plan, &aid);
    if (code == TL_EXIT_OK && tl_plan_given(plan, TYPE)) {
        code = tl_plan_type(plan, TYPE, &type[0]);
    }
    if (code == TL_EXIT_OK && tl_plan_given(plan, SET_FOR)) {
        code = tl_plan_type(plan, SET_FOR, &type[1]);
    }
    if (code != TL_EXIT_OK) {
        return code;
    }
    say_aid(plan, &aid);
    if (type[0] == NULL) {
        return say_all(plan, &aid, type[1]);
    }
    struct answer answer = {0};
    type[1] = type[1] != NULL ? type[1] : type[0];
    code = solve(plan, &aid, type, &answer);
    if (code == TL_EXIT_OK) {
        say_type(plan, &aid, type, &answer);
    }
    return code;
}

const struct tl_plan_command tl_plan_aid = {
    .name = "aid",
    .what = "landing aid: roll of the lens, touchdown and height over the ramp",
    .text = text,
    .table = {rows, OPTIONS},
    .run = run,
};
