/* SPDX-License-Identifier: Apache-2.0 */
/*
 * conf_figures - figures that a file may leave out when the rules that need them are off
 *
 * The ranges here only tell a slip of the hand from a figure; the figures are the files'.
 */
#include "proto/base/conf_take.h"

#include <string.h>

/* One optional figure and where it goes; tenths unless whole. */
struct figure {
    struct tl_conf_field field;
    const struct tl_conf_range *range;
    uint32_t *out;
    bool whole;
};

static enum tl_err
take_figures(const struct figure *figures, size_t count)
{
    enum tl_err err = TL_OK;

    for (size_t i = 0; i < count && err == TL_OK; i++) {
        const struct figure *f = &figures[i];
        if (f->field.text[0] != '\0') {
            err = f->whole ? tl_conf_number(f->field, f->range, f->out)
                           : tl_conf_tenths(f->field, f->range, f->out);
        }
    }
    return err;
}

enum tl_err
tl_conf_take_limits_more(const struct tl_conf_item *item, const struct tl_conf_raw_limits *raw,
                         struct tl_gear_limits *limits)
{
    static const struct tl_conf_range traps = {1, 100000, "traps"};
    static const struct tl_conf_range inches = {100, 1000000, "in"};
    static const struct tl_conf_range feet = {100, 200000, "ft"};
    const struct figure figures[] = {
        {{item, "pendant_life", raw->pendant_life}, &traps, &limits->pendant_life, true},
        {{item, "pendant_life_near", raw->pendant_life_near},
         &traps,
         &limits->pendant_life_near,
         true},
        {{item, "ram_travel_max_in", raw->ram_travel_max_in},
         &inches,
         &limits->ram_travel_max_in_x10,
         false},
        {{item, "off_centre_max_ft", raw->off_centre_max_ft},
         &feet,
         &limits->off_centre_max_ft_x10,
         false},
        {{item, "sides_apart_max_in", raw->sides_apart_max_in},
         &inches,
         &limits->sides_apart_max_in_x10,
         false},
        {{item, "walk_back_max_ft", raw->walk_back_max_ft},
         &feet,
         &limits->walk_back_max_ft_x10,
         false},
    };
    return take_figures(figures, sizeof figures / sizeof figures[0]);
}

/* With n usable wires the target is one of them, so entry n is at most n. */
static enum tl_err
take_targets(const struct tl_conf_item *top, const struct tl_conf_raw_gear *raw,
             struct tl_gear *gear)
{
    enum tl_err err = TL_OK;

    if (raw->target_of_usable_count != 0 && raw->target_of_usable_count != gear->engine_count) {
        return tl_conf_say(top, "target_of_usable",
                           "target_of_usable has %u entries for %u wires; give one for each number "
                           "of usable wires, from 1",
                           raw->target_of_usable_count, gear->engine_count);
    }
    for (uint32_t i = 0; i < raw->target_of_usable_count && err == TL_OK; i++) {
        const struct tl_conf_range place = {1, i + 1, ""};
        err = tl_conf_number(
            (struct tl_conf_field){top, "target_of_usable", raw->target_of_usable[i]}, &place,
            &gear->target_of_usable[i]);
    }
    return err;
}

static enum tl_err
take_barricade(const struct tl_conf_item *top, const struct tl_conf_raw_barricade *raw,
               struct tl_gear *gear)
{
    static const struct tl_conf_range number = {1, TL_ENGINES_MAX, ""};
    struct tl_conf_item item = {.file = top->file, .fault = top->fault, .path = "barricade"};
    uint32_t own_wire = 0;
    enum tl_err err = tl_conf_number((struct tl_conf_field){&item, "unit", raw->unit}, &number,
                                     &gear->barricade.unit);

    for (uint32_t i = 0; i < gear->engine_count; i++) {
        own_wire = gear->engine[i].unit == gear->barricade.unit ? gear->engine[i].wire : own_wire;
    }
    if (err == TL_OK && own_wire == 0) {
        return tl_conf_say(&item, "unit", "there is no engine %u; correct it",
                           gear->barricade.unit);
    }
    for (uint32_t i = 0; i < raw->strip_count && err == TL_OK; i++) {
        uint32_t wire = 0;
        err = tl_conf_number((struct tl_conf_field){&item, "strip", raw->strip[i]}, &number, &wire);
        if (err == TL_OK && !tl_gear_has_wire(gear, wire)) {
            err = tl_conf_say(&item, "strip", "there is no wire %u; correct it", wire);
        }
        gear->barricade.strip |= err == TL_OK ? 1u << wire : 0;
    }
    if (err == TL_OK && (gear->barricade.strip >> own_wire & 1u) == 0) {
        err =
            tl_conf_say(&item, "strip",
                        "strip leaves out wire %u, which the barricade's engine %u drives; add it",
                        own_wire, gear->barricade.unit);
    }
    return err;
}

enum tl_err
tl_conf_take_wires(const struct tl_conf_item *top, const struct tl_conf_raw_gear *raw,
                   struct tl_gear *gear)
{
    const struct tl_conf_range wires = {1, gear->engine_count, "wires"};
    const struct figure figures[] = {
        {{top, "wires_min", raw->wires_min}, &wires, &gear->wires_min, true},
    };
    enum tl_err err = take_figures(figures, 1);

    if (err == TL_OK) {
        err = take_targets(top, raw, gear);
    }
    if (err == TL_OK && raw->barricade != NULL) {
        err = take_barricade(top, raw->barricade, gear);
    }
    return err;
}

enum tl_err
tl_conf_take_type_more(const struct tl_conf_item *item, const struct tl_conf_raw_type *raw,
                       const struct tl_gear *gear, struct tl_aircraft_type *type)
{
    static const struct tl_conf_range wind = {100, 100000, "kt"};
    static const struct tl_conf_range approach = {20000, 300000, "kt"};
    static const struct tl_conf_range load = {1000, 2000000, "lbf"};
    static const struct tl_conf_range thrust = {0, 100000, "lbf"};
    const struct tl_conf_range setting = {gear->selector_min_lb, gear->selector_max_lb, "lb"};
    const struct figure figures[] = {
        {{item, "min_headwind_kt", raw->min_headwind_kt}, &wind, &type->min_headwind_kt_x10, false},
        {{item, "barricade_setting_lb", raw->barricade_setting_lb},
         &setting,
         &type->barricade_setting_lb,
         true},
        {{item, "approach_kt", raw->approach_kt}, &approach, &type->approach_kt_x10, false},
        {{item, "hook_load_max_lbf", raw->hook_load_max_lbf},
         &load,
         &type->hook_load_max_lbf,
         true},
        {{item, "thrust_lbf", raw->thrust_lbf}, &thrust, &type->thrust_lbf, true},
    };
    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++) {
        *figures[i].out = 0;
    }
    return take_figures(figures, sizeof figures / sizeof figures[0]);
}

static enum tl_err
take_angles(const struct tl_conf_item *top, const struct tl_conf_raw_ship *raw,
            struct tl_ship *ship)
{
    static const struct tl_conf_range wind = {0, 100000, "kt"};
    static const struct tl_conf_range angle = {1000, 9000, "degrees"};
    enum tl_err err = TL_OK;

    for (uint32_t i = 0; i < raw->aid_angles_count && err == TL_OK; i++) {
        const struct tl_conf_raw_angle *one = &raw->aid_angles[i];
        struct tl_conf_item item = tl_conf_item_of(top->file, top->fault, "aid_angles", i);
        struct tl_aid_angle *out = &ship->aid_angle[i];
        err = tl_conf_tenths((struct tl_conf_field){&item, "from_kt", one->from_kt}, &wind,
                             &out->from_kt_x10);
        if (err == TL_OK) {
            err = tl_conf_hundredths((struct tl_conf_field){&item, "angle_deg", one->angle_deg},
                                     &angle, &out->angle_deg_x100);
        }
        bool first_at_0 = i > 0 || out->from_kt_x10 == 0;
        if (err == TL_OK && (!first_at_0 || (i > 0 && out->from_kt_x10 <= out[-1].from_kt_x10))) {
            err = tl_conf_say(&item, "from_kt",
                              "from_kt must begin at 0 and rise from item to item; correct it");
        }
        ship->aid_angle_count = err == TL_OK ? i + 1 : 0;
    }
    return err;
}

static enum tl_err
take_motion(const struct tl_conf_item *top, const struct tl_conf_raw_motion *raw,
            struct tl_motion_limits *motion)
{
    static const struct tl_conf_range degrees = {100, 45000, "degrees"};
    static const struct tl_conf_range turn = {100, 360000, "degrees a minute"};
    static const struct tl_conf_range heave = {100, 30000, "m"};
    static const struct tl_conf_range valid = {200, 60000, "ms"};
    struct tl_conf_item item = {.file = top->file, .fault = top->fault, .path = "motion"};
    const struct figure figures[] = {
        {{&item, "pitch_max_deg", raw->pitch_max_deg}, &degrees, &motion->pitch_max_deg_x10, false},
        {{&item, "roll_max_deg", raw->roll_max_deg}, &degrees, &motion->roll_max_deg_x10, false},
        {{&item, "turn_max_deg_min", raw->turn_max_deg_min},
         &turn,
         &motion->turn_max_deg_min_x10,
         false},
        {{&item, "valid_ms", raw->valid_ms}, &valid, &motion->valid_ms, true},
    };
    enum tl_err err = take_figures(figures, sizeof figures / sizeof figures[0]);

    if (err == TL_OK) {
        err = tl_conf_hundredths((struct tl_conf_field){&item, "heave_max_m", raw->heave_max_m},
                                 &heave, &motion->heave_max_m_x100);
    }
    motion->given = err == TL_OK;
    return err;
}

enum tl_err
tl_conf_take_sea(const struct tl_conf_item *top, const struct tl_conf_raw_ship *raw,
                 struct tl_ship *ship)
{
    static const struct tl_conf_range crosswind = {100, 50000, "kt"};
    static const struct tl_conf_range slack = {0, 5000, "kt"};
    const struct figure figures[] = {
        {{top, "crosswind_max_kt", raw->crosswind_max_kt},
         &crosswind,
         &ship->crosswind_max_kt_x10,
         false},
        {{top, "aid_angle_slack_kt", raw->aid_angle_slack_kt},
         &slack,
         &ship->aid_angle_slack_kt_x10,
         false},
    };
    enum tl_err err = take_figures(figures, sizeof figures / sizeof figures[0]);

    if (err == TL_OK) {
        err = take_angles(top, raw, ship);
    }
    if (err == TL_OK && raw->motion != NULL) {
        err = take_motion(top, raw->motion, &ship->motion);
    }
    return err;
}
