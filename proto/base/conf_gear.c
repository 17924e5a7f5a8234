/* SPDX-License-Identifier: Apache-2.0 */
/*
 * conf_gear - gear.yaml and aircraft.yaml: what can be set, and what each type is set to
 *
 * The ranges here only tell a slip of the hand from a figure; the figures are the files'.
 */
#include "proto/base/conf_take.h"

#include <string.h>

static const struct tl_conf_range any_weight = {1000, 200000, "lb"};
static const struct tl_conf_range tolerance = {0, 5000, "lb"};

static enum tl_err
take_engine(const struct tl_conf_item *item, const struct tl_conf_raw_engine *raw,
            struct tl_gear *gear)
{
    static const struct tl_conf_range number = {1, TL_ENGINES_MAX, ""};
    struct tl_engine_gear *engine = &gear->engine[gear->engine_count];
    enum tl_err err =
        tl_conf_number((struct tl_conf_field){item, "unit", raw->unit}, &number, &engine->unit);

    if (err == TL_OK) {
        err =
            tl_conf_number((struct tl_conf_field){item, "wire", raw->wire}, &number, &engine->wire);
    }
    if (err == TL_OK) {
        err = tl_conf_bool((struct tl_conf_field){item, "in_service", raw->in_service},
                           &engine->in_service);
    }
    if (err != TL_OK) {
        return err;
    }
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        if (gear->engine[i].unit == engine->unit) {
            return tl_conf_say(item, "unit", "unit %u is given twice; renumber or remove one",
                               engine->unit);
        }
        if (gear->engine[i].wire == engine->wire) {
            return tl_conf_say(item, "wire", "wire %u has two engines, %u and %u; correct one",
                               engine->wire, gear->engine[i].unit, engine->unit);
        }
    }
    gear->engine_count++;
    return TL_OK;
}

static enum tl_err
take_selector(const struct tl_conf_item *top, const struct tl_conf_raw_gear *raw,
              struct tl_gear *gear)
{
    static const struct tl_conf_range step = {1, 10000, "lb"};
    const struct {
        struct tl_conf_field field;
        const struct tl_conf_range *range;
        uint32_t *out;
    } numbers[] = {
        {{top, "selector_min_lb", raw->selector_min_lb}, &any_weight, &gear->selector_min_lb},
        {{top, "selector_max_lb", raw->selector_max_lb}, &any_weight, &gear->selector_max_lb},
        {{top, "selector_step_lb", raw->selector_step_lb}, &step, &gear->selector_step_lb},
        {{top, "agree_tolerance_lb", raw->agree_tolerance_lb},
         &tolerance,
         &gear->agree_tolerance_lb},
    };

    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        enum tl_err err = tl_conf_number(numbers[i].field, numbers[i].range, numbers[i].out);
        if (err != TL_OK) {
            return err;
        }
    }
    if (gear->selector_max_lb <= gear->selector_min_lb) {
        return tl_conf_say(top, "selector_max_lb",
                           "selector_max_lb %u is not above selector_min_lb %u; correct one",
                           gear->selector_max_lb, gear->selector_min_lb);
    }
    if ((gear->selector_max_lb - gear->selector_min_lb) % gear->selector_step_lb != 0) {
        return tl_conf_say(top, "selector_step_lb",
                           "steps of %u lb do not lead from %u to %u lb; correct one of the three",
                           gear->selector_step_lb, gear->selector_min_lb, gear->selector_max_lb);
    }
    return TL_OK;
}

static enum tl_err
take_limits(const struct tl_conf_file *file, const struct tl_conf_raw_limits *raw,
            struct tl_gear_limits *limits, struct tl_conf_fault *fault)
{
    static const struct tl_conf_range inches = {10, 100000, "in"};
    static const struct tl_conf_range psi = {1, 20000, "psi"};
    static const struct tl_conf_range traps = {1, 100000, "traps"};
    static const struct tl_conf_range cycles = {1, 1000, "cycles"};
    struct tl_conf_item item = {.file = file, .fault = fault, .path = "limits"};
    const struct {
        struct tl_conf_field field;
        const struct tl_conf_range *range;
        uint32_t *out;
    } numbers[] = {
        {{&item, "accumulator_min_psi", raw->accumulator_min_psi},
         &psi,
         &limits->accumulator_min_psi},
        {{&item, "accumulator_max_psi", raw->accumulator_max_psi},
         &psi,
         &limits->accumulator_max_psi},
        {{&item, "detorque_first", raw->detorque_first}, &traps, &limits->detorque_first},
        {{&item, "detorque_first_limit", raw->detorque_first_limit},
         &traps,
         &limits->detorque_first_limit},
        {{&item, "detorque_every", raw->detorque_every}, &traps, &limits->detorque_every},
        {{&item, "barricade_psi", raw->barricade_psi}, &psi, &limits->barricade_psi},
        {{&item, "barricade_cycles_max", raw->barricade_cycles_max},
         &cycles,
         &limits->barricade_cycles_max},
    };
    const struct {
        struct tl_conf_field field;
        uint32_t *out;
    } heights[] = {
        {{&item, "pendant_low_in", raw->pendant_low_in}, &limits->pendant_low_in_x100},
        {{&item, "pendant_high_in", raw->pendant_high_in}, &limits->pendant_high_in_x100},
        {{&item, "crosshead_min_in", raw->crosshead_min_in}, &limits->crosshead_min_in_x100},
    };
    enum tl_err err = TL_OK;

    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0] && err == TL_OK; i++) {
        err = tl_conf_number(numbers[i].field, numbers[i].range, numbers[i].out);
    }
    for (size_t i = 0; i < sizeof heights / sizeof heights[0] && err == TL_OK; i++) {
        err = tl_conf_hundredths(heights[i].field, &inches, heights[i].out);
    }
    if (err == TL_OK && limits->pendant_low_in_x100 >= limits->pendant_high_in_x100) {
        err = tl_conf_say(&item, "pendant_low_in",
                          "pendant_low_in is not below pendant_high_in; correct one");
    }
    if (err == TL_OK && limits->accumulator_min_psi >= limits->accumulator_max_psi) {
        err = tl_conf_say(&item, "accumulator_min_psi",
                          "accumulator_min_psi is not below accumulator_max_psi; correct one");
    }
    if (err == TL_OK && limits->detorque_first > limits->detorque_first_limit) {
        err = tl_conf_say(&item, "detorque_first",
                          "detorque_first is above detorque_first_limit; correct one");
    }
    if (err == TL_OK) {
        err = tl_conf_take_limits_more(&item, raw, limits);
    }
    limits->given = err == TL_OK;
    return err;
}

/* The source of the figures is for the reader of the file; it must be there. */
static enum tl_err
check_source(const struct tl_conf_item *item, const char *source)
{
    char text[TL_CONF_LINE_CAP];

    return tl_conf_text((struct tl_conf_field){item, "source", source}, text, sizeof text);
}

enum tl_err
tl_conf_take_gear(const struct tl_conf_file *file, struct tl_config *config,
                  struct tl_conf_fault *fault)
{
    struct tl_conf_item top = tl_conf_item_of(file, fault, NULL, 0);
    void *read = NULL;
    enum tl_err err = tl_conf_schema_read(file, TL_CONF_GEAR, &read, fault);

    if (err != TL_OK) {
        return err;
    }
    const struct tl_conf_raw_gear *raw = read;
    memset(&config->gear, 0, sizeof config->gear);
    for (uint32_t i = 0; i < raw->engines_count && err == TL_OK; i++) {
        struct tl_conf_item item = tl_conf_item_of(file, fault, "engines", i);
        err = take_engine(&item, &raw->engines[i], &config->gear);
    }
    if (err == TL_OK) {
        err = take_selector(&top, raw, &config->gear);
    }
    if (err == TL_OK && raw->limits != NULL) {
        err = take_limits(file, raw->limits, &config->gear.limits, fault);
    }
    if (err == TL_OK) {
        err = tl_conf_take_wires(&top, raw, &config->gear);
    }
    const struct tl_conf_figure_list list = {&top, raw->figures, raw->figures_count,
                                             TL_FIGURE_OF_GEAR};
    if (err == TL_OK) {
        err = tl_conf_take_figures(&list, &config->figures);
    }
    if (err == TL_OK) {
        err = tl_conf_check_gear_figures(&list, config);
    }
    if (err == TL_OK) {
        err = check_source(&top, raw->source);
    }
    tl_conf_schema_free(TL_CONF_GEAR, read);
    return err;
}

static enum tl_err
check_setting(const struct tl_conf_item *item, const struct tl_aircraft_type *type,
              const struct tl_gear *gear)
{
    if (type->setting_lb < gear->selector_min_lb || type->setting_lb > gear->selector_max_lb) {
        return tl_conf_say(item, "setting_lb",
                           "setting_lb %u is outside the selector's %u to %u lb (gear.yaml); "
                           "correct it",
                           type->setting_lb, gear->selector_min_lb, gear->selector_max_lb);
    }
    if ((type->setting_lb - gear->selector_min_lb) % gear->selector_step_lb != 0) {
        return tl_conf_say(item, "setting_lb",
                           "setting_lb %u is not on the selector's step of %u lb from %u lb "
                           "(gear.yaml); correct it",
                           type->setting_lb, gear->selector_step_lb, gear->selector_min_lb);
    }
    if (type->max_trap_lb > type->setting_lb + type->setting_tolerance_lb) {
        return tl_conf_say(item, "max_trap_lb",
                           "max_trap_lb %u is above the setting of %u lb and its tolerance; "
                           "the engine would be set too light; correct one",
                           type->max_trap_lb, type->setting_lb);
    }
    return TL_OK;
}

static enum tl_err
take_type(const struct tl_conf_item *item, const struct tl_conf_raw_type *raw,
          struct tl_config *config)
{
    static const struct tl_conf_range approach = {1, 300, "s"};
    static const struct tl_conf_range eye = {1000, 60000, "ft"};
    struct tl_aircraft_type *type = &config->type[config->type_count];
    const struct {
        struct tl_conf_field field;
        const struct tl_conf_range *range;
        uint32_t *out;
    } numbers[] = {
        {{item, "setting_lb", raw->setting_lb}, &any_weight, &type->setting_lb},
        {{item, "setting_tolerance_lb", raw->setting_tolerance_lb},
         &tolerance,
         &type->setting_tolerance_lb},
        {{item, "max_trap_lb", raw->max_trap_lb}, &any_weight, &type->max_trap_lb},
        {{item, "final_approach_s", raw->final_approach_s}, &approach, &type->final_approach_s},
    };
    enum tl_err err =
        tl_conf_id((struct tl_conf_field){item, "id", raw->id}, type->id, sizeof type->id);

    /* The count still excludes it, so it does not find itself. */
    if (err == TL_OK && tl_config_type(config, type->id) != NULL) {
        err = tl_conf_say(item, "id", "type \"%s\" is given twice; rename or remove one", type->id);
    }
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0] && err == TL_OK; i++) {
        err = tl_conf_number(numbers[i].field, numbers[i].range, numbers[i].out);
    }
    type->hook_to_eye_ft_x100 = 0;
    if (err == TL_OK && raw->hook_to_eye_ft[0] != '\0') {
        err =
            tl_conf_hundredths((struct tl_conf_field){item, "hook_to_eye_ft", raw->hook_to_eye_ft},
                               &eye, &type->hook_to_eye_ft_x100);
    }
    if (err == TL_OK) {
        err = check_setting(item, type, &config->gear);
    }
    if (err == TL_OK) {
        err = tl_conf_take_type_more(item, raw, &config->gear, type);
    }
    if (err == TL_OK) {
        err = check_source(item, raw->source);
    }
    config->type_count += err == TL_OK ? 1 : 0;
    return err;
}

enum tl_err
tl_conf_take_aircraft(const struct tl_conf_file *file, struct tl_config *config,
                      struct tl_conf_fault *fault)
{
    void *read = NULL;
    enum tl_err err = tl_conf_schema_read(file, TL_CONF_AIRCRAFT, &read, fault);

    if (err != TL_OK) {
        return err;
    }
    const struct tl_conf_raw_aircraft *raw = read;
    config->type_count = 0;
    for (uint32_t i = 0; i < raw->types_count && err == TL_OK; i++) {
        struct tl_conf_item item = tl_conf_item_of(file, fault, "types", i);
        err = take_type(&item, &raw->types[i], config);
    }
    tl_conf_schema_free(TL_CONF_AIRCRAFT, read);
    return err;
}
