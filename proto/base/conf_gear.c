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
    if (err == TL_OK) {
        err = check_setting(item, type, &config->gear);
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
