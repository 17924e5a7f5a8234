/* SPDX-License-Identifier: Apache-2.0 */
/*
 * conf_mechanics - the measures that the mechanics compute with, and the rules that rest on them
 *
 * gear.yaml and ship.yaml list them one by one, each with its own source. What a computed rule
 * needs stands in two tables below: figures, and what each type gives. A rule that is on and lacks
 * one of them would hold NOT READY for ever, for no reason shown.
 */
#include "proto/base/conf_take.h"

#include <math.h>
#include <string.h>

static const char *const file_names[] = {
    [TL_FIGURE_OF_GEAR] = "gear.yaml",
    [TL_FIGURE_OF_SHIP] = "ship.yaml",
};

static const char *
name_of(enum tl_figure figure)
{
    size_t count = 0;
    return tl_figure_rows(&count)[figure - 1].name;
}

static struct tl_conf_item
item_of(const struct tl_conf_figure_list *list, uint32_t index)
{
    return tl_conf_item_of(list->top->file, list->top->fault, "figures", index);
}

/* The item that gives a figure; the document if none does. */
static struct tl_conf_item
item_that_gives(const struct tl_conf_figure_list *list, enum tl_figure figure)
{
    for (uint32_t i = 0; i < list->count; i++) {
        if (strcmp(list->raw[i].figure, name_of(figure)) == 0) {
            return item_of(list, i);
        }
    }
    return *list->top;
}

static enum tl_err
take_one(const struct tl_conf_figure_list *list, uint32_t index, struct tl_figures *figures)
{
    const struct tl_conf_raw_figure *raw = &list->raw[index];
    const struct tl_figure_row *row = tl_figure_by_name(raw->figure);
    struct tl_conf_item item = item_of(list, index);
    char source[TL_CONF_LINE_CAP];

    if (row == NULL) {
        return tl_conf_say(&item, "figure",
                           "figure \"%.40s\" is not known; correct it or remove it", raw->figure);
    }
    if (row->file != list->of) {
        return tl_conf_say(&item, "figure", "figure %s is of %s; move it there", row->name,
                           file_names[row->file]);
    }
    if (figures->given[row->figure]) {
        struct tl_conf_item first = item_that_gives(list, row->figure);
        return tl_conf_say(&item, "figure",
                           "figure %s is given twice (first on line %u); remove one", row->name,
                           tl_conf_item_line(&first, "figure"));
    }
    const struct tl_conf_span span = {row->name, row->least, row->most};
    enum tl_err err = tl_conf_real((struct tl_conf_field){&item, "value", raw->value}, &span,
                                   &figures->value[row->figure]);
    figures->given[row->figure] = err == TL_OK;
    if (err == TL_OK) {
        err = tl_conf_text((struct tl_conf_field){&item, "source", raw->source}, source,
                           sizeof source);
    }
    return err;
}

enum tl_err
tl_conf_take_figures(const struct tl_conf_figure_list *list, struct tl_figures *figures)
{
    size_t count = 0;
    const struct tl_figure_row *rows = tl_figure_rows(&count);
    enum tl_err err = TL_OK;

    for (size_t i = 0; i < count; i++) {
        if (rows[i].file == list->of) {
            figures->given[rows[i].figure] = false;
            figures->value[rows[i].figure] = 0.0;
        }
    }
    for (uint32_t i = 0; i < list->count && err == TL_OK; i++) {
        err = take_one(list, i, figures);
    }
    return err;
}

static bool
has_all(const struct tl_figures *figures, const enum tl_figure *which, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (!figures->given[which[i]]) {
            return false;
        }
    }
    return true;
}

/* The gas is pressed together by the stroke. */
static enum tl_err
check_accumulator(const struct tl_conf_figure_list *list, const struct tl_figures *figures)
{
    static const enum tl_figure both[] = {TL_FIGURE_ACCUMULATOR_BATTERY_PSI,
                                          TL_FIGURE_ACCUMULATOR_FULL_PSI};

    if (!has_all(figures, both, 2) || figures->value[both[1]] > figures->value[both[0]]) {
        return TL_OK;
    }
    struct tl_conf_item item = item_that_gives(list, both[1]);
    return tl_conf_say(&item, "value",
                       "accumulator_full_psi %.10g is not above accumulator_battery_psi %.10g; "
                       "correct one",
                       figures->value[both[1]], figures->value[both[0]]);
}

/* Ram travel at the design run-out, engaged in the middle: cable paid out on a side over reeve. */
static double
design_stroke_in(const struct tl_figures *figures)
{
    double half_span_ft = figures->value[TL_FIGURE_HALF_SPAN_FT];
    double runout_ft = figures->value[TL_FIGURE_RUNOUT_FT];
    double payout_ft = sqrt(half_span_ft * half_span_ft + runout_ft * runout_ft) - half_span_ft;

    return payout_ft / figures->value[TL_FIGURE_REEVE_RATIO] * 12.0;
}

static enum tl_err
check_stroke(const struct tl_conf_figure_list *list, const struct tl_config *config)
{
    static const enum tl_figure four[] = {TL_FIGURE_STROKE_MAX_IN, TL_FIGURE_HALF_SPAN_FT,
                                          TL_FIGURE_RUNOUT_FT, TL_FIGURE_REEVE_RATIO};
    const struct tl_figures *figures = &config->figures;
    struct tl_conf_item item = item_that_gives(list, TL_FIGURE_STROKE_MAX_IN);
    double stroke_max_in = figures->value[TL_FIGURE_STROKE_MAX_IN];
    double limit_in = config->gear.limits.ram_travel_max_in_x10 / 10.0;

    if (has_all(figures, four, 4) && design_stroke_in(figures) >= stroke_max_in) {
        return tl_conf_say(&item, "value",
                           "stroke_max_in %.10g is not above the %.2f in of ram travel that "
                           "half_span_ft, runout_ft and reeve_ratio make; correct one",
                           stroke_max_in, design_stroke_in(figures));
    }
    if (has_all(figures, four, 1) && limit_in > stroke_max_in) {
        return tl_conf_say(&item, "value",
                           "stroke_max_in %.10g is below ram_travel_max_in %.1f of limits; correct "
                           "one",
                           stroke_max_in, limit_in);
    }
    return TL_OK;
}

/* A cable that stretches is described in full or not at all. */
static enum tl_err
check_stretch(const struct tl_conf_figure_list *list, const struct tl_figures *figures)
{
    static const enum tl_figure group[] = {TL_FIGURE_CABLE_STIFFNESS_LBF, TL_FIGURE_CABLE_LENGTH_FT,
                                           TL_FIGURE_CABLE_DAMPING_PERCENT, TL_FIGURE_RAM_MASS_LB};
    enum tl_figure there = TL_FIGURE_NONE;
    enum tl_figure missing = TL_FIGURE_NONE;

    for (size_t i = sizeof group / sizeof group[0]; i-- > 0;) {
        there = figures->given[group[i]] ? group[i] : there;
        missing = figures->given[group[i]] ? missing : group[i];
    }
    if (there == TL_FIGURE_NONE || missing == TL_FIGURE_NONE) {
        return TL_OK;
    }
    struct tl_conf_item item = item_that_gives(list, there);
    return tl_conf_say(&item, "figure",
                       "a cable that stretches has %s and no %s; give all of cable_stiffness_lbf, "
                       "cable_length_ft, cable_damping_percent and ram_mass_lb, or none",
                       name_of(there), name_of(missing));
}

/* Traps are weighted by two figures or not at all, and by a whole power. */
static enum tl_err
check_wear(const struct tl_conf_figure_list *list, const struct tl_figures *figures)
{
    const enum tl_figure power = TL_FIGURE_LIFE_EXPONENT;
    const enum tl_figure load = TL_FIGURE_LIFE_REFERENCE_PERCENT;

    if (figures->given[power] != figures->given[load]) {
        enum tl_figure there = figures->given[power] ? power : load;
        struct tl_conf_item item = item_that_gives(list, there);
        return tl_conf_say(&item, "figure",
                           "traps weighted by load have %s and no %s; give both, or none",
                           name_of(there), name_of(there == power ? load : power));
    }
    if (figures->given[power] && figures->value[power] != floor(figures->value[power])) {
        struct tl_conf_item item = item_that_gives(list, power);
        return tl_conf_say(&item, "value", "life_exponent %.10g is not a whole number; correct it",
                           figures->value[power]);
    }
    return TL_OK;
}

enum tl_err
tl_conf_check_gear_figures(const struct tl_conf_figure_list *list, const struct tl_config *config)
{
    enum tl_err err = check_accumulator(list, &config->figures);

    if (err == TL_OK) {
        err = check_stroke(list, config);
    }
    if (err == TL_OK) {
        err = check_stretch(list, &config->figures);
    }
    if (err == TL_OK) {
        err = check_wear(list, &config->figures);
    }
    return err;
}

/* A bit for each computed rule. */
enum {
    LOAD = 1 << 0,
    OVER = 1 << 1,
    THIN = 1 << 2,
    STROKE = 1 << 3,
    TRAVEL = 1 << 4,
    RAMP = 1 << 5,
    TOUCHDOWN = 1 << 6,
    INTERVAL = 1 << 7,
    /* those that stand on a computed arrestment; those that stand on the speed over the deck */
    ARREST = LOAD | OVER | THIN | STROKE | TRAVEL,
    SPEED = ARREST | INTERVAL,
    AIM = RAMP | TOUCHDOWN
};

static const struct {
    enum tl_rule rule;
    unsigned bit;
} computed[] = {
    {TL_RULE_HOOK_LOAD, LOAD},          {TL_RULE_ENERGY_OVER, OVER},
    {TL_RULE_ENERGY_THIN, THIN},        {TL_RULE_STROKE_PREDICTED, STROKE},
    {TL_RULE_TRAVEL_DISAGREES, TRAVEL}, {TL_RULE_RAMP_CLEARANCE, RAMP},
    {TL_RULE_TOUCHDOWN_OFF, TOUCHDOWN}, {TL_RULE_INTERVAL_SHORT, INTERVAL},
};

/*
 * Not here, as no rule needs them: the cable that stretches, where the landing aid stands, and what
 * only planning asks for (spread of the reset, planned interval, boarding rate).
 */
static const struct {
    enum tl_figure figure;
    unsigned rules;
} figure_needs[] = {
    {TL_FIGURE_HALF_SPAN_FT, ARREST},
    {TL_FIGURE_RUNOUT_FT, ARREST},
    {TL_FIGURE_DESIGN_KT, ARREST},
    {TL_FIGURE_REEVE_RATIO, ARREST},
    {TL_FIGURE_RAM_DIAMETER_IN, ARREST},
    {TL_FIGURE_STROKE_MAX_IN, ARREST},
    {TL_FIGURE_ACCUMULATOR_BATTERY_PSI, ARREST},
    {TL_FIGURE_ACCUMULATOR_FULL_PSI, ARREST},
    {TL_FIGURE_GAS_EXPONENT, ARREST},
    {TL_FIGURE_DISCHARGE_COEFFICIENT, ARREST},
    {TL_FIGURE_FLUID_DENSITY_KG_M3, ARREST},
    {TL_FIGURE_OPENING_LEAST_PERCENT, ARREST},
    {TL_FIGURE_CAPACITY_FTLB, ARREST},
    {TL_FIGURE_ENERGY_MARGIN_LEAST_PERCENT, THIN},
    {TL_FIGURE_PENDANT_BREAK_LBF, ARREST},
    {TL_FIGURE_CABLE_BREAK_LBF, ARREST},
    {TL_FIGURE_TRAVEL_APART_PERCENT, TRAVEL},
    {TL_FIGURE_FIRST_WIRE_FT, AIM},
    {TL_FIGURE_WIRE_SPACING_FT, AIM},
    {TL_FIGURE_RAMP_CLEARANCE_LEAST_FT, RAMP},
    {TL_FIGURE_PITCH_ARM_FT, RAMP},
    {TL_FIGURE_TOUCHDOWN_BAND_FT, TOUCHDOWN},
    {TL_FIGURE_CALL_RANGE_NMI, INTERVAL},
    {TL_FIGURE_REACTION_S, INTERVAL},
    {TL_FIGURE_CLIMB_FT_S2, INTERVAL},
    {TL_FIGURE_GEAR_WINDOW_FT, INTERVAL},
    {TL_FIGURE_PEOPLE_WINDOW_FT, INTERVAL},
    {TL_FIGURE_RESET_ARREST_S, INTERVAL},
    {TL_FIGURE_RESET_HOOK_S, INTERVAL},
    {TL_FIGURE_RESET_RETRACT_S, INTERVAL},
    {TL_FIGURE_RESET_TAXI_S, INTERVAL},
    {TL_FIGURE_RESET_WEIGHT_S, INTERVAL},
    {TL_FIGURE_RESET_CHECK_S, INTERVAL},
    {TL_FIGURE_AIR_TEMPERATURE_C, SPEED},
    {TL_FIGURE_AIR_PRESSURE_HPA, SPEED},
    {TL_FIGURE_WIND_LULL_KT, SPEED},
};

static const struct {
    const char *key;
    size_t at; /* of the number in struct tl_aircraft_type; 0 there = not given */
    unsigned rules;
} type_needs[] = {
    {"approach_kt", offsetof(struct tl_aircraft_type, approach_kt_x10), SPEED},
    {"hook_load_max_lbf", offsetof(struct tl_aircraft_type, hook_load_max_lbf), LOAD},
    {"hook_to_eye_ft", offsetof(struct tl_aircraft_type, hook_to_eye_ft_x100), AIM},
};

/* The first rule that is on, of those; or NULL. */
static const char *
first_on(const struct tl_config *config, unsigned rules)
{
    for (size_t i = 0; i < sizeof computed / sizeof computed[0]; i++) {
        if ((computed[i].bit & rules) != 0 && !config->ship.rule_off[computed[i].rule]) {
            return tl_rule_row((uint32_t)computed[i].rule)->name;
        }
    }
    return NULL;
}

static enum tl_err
check_figure_needs(const struct tl_conf_file *const file[TL_CONF_FORMS],
                   const struct tl_config *config, struct tl_conf_fault *fault)
{
    size_t count = 0;
    const struct tl_figure_row *rows = tl_figure_rows(&count);

    for (size_t i = 0; i < sizeof figure_needs / sizeof figure_needs[0]; i++) {
        const struct tl_figure_row *row = &rows[figure_needs[i].figure - 1];
        const char *rule = first_on(config, figure_needs[i].rules);
        if (rule == NULL || config->figures.given[row->figure]) {
            continue;
        }
        bool is_gear = row->file == TL_FIGURE_OF_GEAR;
        struct tl_conf_item top =
            tl_conf_item_of(file[is_gear ? TL_CONF_GEAR : TL_CONF_SHIP], fault, NULL, 0);
        return tl_conf_say(&top, "figures",
                           "rule %s needs %s (%s): add it to figures of %s, or list the rule in "
                           "rules_off of ship.yaml with a reason",
                           rule, row->name, row->what, file_names[row->file]);
    }
    return TL_OK;
}

static uint32_t
number_at(const struct tl_aircraft_type *type, size_t at)
{
    uint32_t number = 0;

    memcpy(&number, (const char *)type + at, sizeof number);
    return number;
}

static enum tl_err
check_type_needs(const struct tl_conf_file *const file[TL_CONF_FORMS],
                 const struct tl_config *config, uint32_t place, struct tl_conf_fault *fault)
{
    const struct tl_aircraft_type *type = &config->type[place];
    struct tl_conf_item item = tl_conf_item_of(file[TL_CONF_AIRCRAFT], fault, "types", place);

    for (size_t i = 0; i < sizeof type_needs / sizeof type_needs[0]; i++) {
        const char *rule = first_on(config, type_needs[i].rules);
        if (rule != NULL && number_at(type, type_needs[i].at) == 0) {
            return tl_conf_say(&item, "id",
                               "type %s has no %s, and rule %s needs it; add it, or list the rule "
                               "in rules_off of ship.yaml with a reason",
                               type->id, type_needs[i].key, rule);
        }
    }
    return TL_OK;
}

/* A bound in whole units of the judgement, rounded so that it asks for more, never for less. */
static uint32_t
at_least(double value)
{
    return (uint32_t)ceil(value - 1e-9 * fabs(value));
}

static uint32_t
at_most(double value)
{
    return (uint32_t)floor(value + 1e-9 * fabs(value));
}

void
tl_conf_set_bounds(struct tl_config *config)
{
    const double *value = config->figures.value; /* 0 where it is not given */

    config->computed = (struct tl_computed_limits){
        .capacity_kftlb = at_most(value[TL_FIGURE_CAPACITY_FTLB] / 1000.0),
        .energy_margin_least_percent = at_least(value[TL_FIGURE_ENERGY_MARGIN_LEAST_PERCENT]),
        .travel_apart_percent_x10 = at_most(value[TL_FIGURE_TRAVEL_APART_PERCENT] * 10.0),
        .ramp_clearance_least_ft_x10 = at_least(value[TL_FIGURE_RAMP_CLEARANCE_LEAST_FT] * 10.0),
        .touchdown_band_ft_x10 = at_most(value[TL_FIGURE_TOUCHDOWN_BAND_FT] * 10.0),
    };
    config->wear = (struct tl_wear_figures){
        .exponent = at_least(value[TL_FIGURE_LIFE_EXPONENT]),
        .reference_percent = at_most(value[TL_FIGURE_LIFE_REFERENCE_PERCENT]),
        .inspect_percent = at_most(value[TL_FIGURE_INSPECT_LOAD_PERCENT]),
    };
}

enum tl_err
tl_conf_check_computed(const struct tl_conf_file *const file[TL_CONF_FORMS],
                       const struct tl_config *config, struct tl_conf_fault *fault)
{
    const char *rule = first_on(config, STROKE);
    struct tl_conf_item gear = tl_conf_item_of(file[TL_CONF_GEAR], fault, NULL, 0);
    enum tl_err err = check_figure_needs(file, config, fault);

    if (err == TL_OK && rule != NULL && config->gear.limits.ram_travel_max_in_x10 == 0) {
        err = tl_conf_say(&gear, "limits",
                          "rule %s needs figures: add limits.ram_travel_max_in, or list the rule "
                          "in rules_off of ship.yaml with a reason",
                          rule);
    }
    for (uint32_t i = 0; i < config->type_count && err == TL_OK; i++) {
        err = check_type_needs(file, config, i, fault);
    }
    return err;
}
