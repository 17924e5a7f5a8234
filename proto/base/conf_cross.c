/* SPDX-License-Identifier: Apache-2.0 */
/*
 * conf_cross - contradictions that no file shows by itself
 *
 * The lists of config keep the order of the files, so place i there is item i of the file.
 */
#include "proto/base/conf_take.h"

#include <string.h>

/* Engines in gear.yaml and stations of kind engine, both ways. */
static enum tl_err
check_engines(const struct tl_conf_file *const file[TL_CONF_FORMS], const struct tl_config *config,
              struct tl_conf_fault *fault)
{
    for (uint32_t i = 0; i < config->gear.engine_count; i++) {
        uint32_t unit = config->gear.engine[i].unit;
        if (tl_config_station(config, TL_STATION_ENGINE, unit) == NULL) {
            struct tl_conf_item item = tl_conf_item_of(file[TL_CONF_GEAR], fault, "engines", i);
            return tl_conf_say(&item, "unit",
                               "engine %u has no station in stations.yaml; add one of kind engine "
                               "with unit %u",
                               unit, unit);
        }
    }
    for (uint32_t i = 0; i < config->node_count; i++) {
        const struct tl_node *node = &config->node[i];
        bool is_engine = node->kind == TL_NODE_STATION && node->station == TL_STATION_ENGINE;
        if (is_engine && tl_config_engine(config, node->unit) == NULL) {
            struct tl_conf_item item = tl_conf_item_of(file[TL_CONF_STATIONS], fault, "nodes", i);
            return tl_conf_say(&item, "unit",
                               "%s is of unit %u, which gear.yaml does not have; add the engine "
                               "there or remove the station",
                               node->id, node->unit);
        }
    }
    return TL_OK;
}

static bool
has_bus(const struct tl_config *config, const char *id)
{
    for (uint32_t i = 0; i < config->bus_count; i++) {
        if (strcmp(config->bus[i].id, id) == 0) {
            return true;
        }
    }
    return false;
}

/* Buses in bus.yaml and nodes of kind broker, both ways. */
static enum tl_err
check_buses(const struct tl_conf_file *const file[TL_CONF_FORMS], const struct tl_config *config,
            struct tl_conf_fault *fault)
{
    for (uint32_t i = 0; i < config->bus_count; i++) {
        const struct tl_node *node = tl_config_node(config, config->bus[i].id);
        if (node == NULL || node->kind != TL_NODE_RELAY) {
            struct tl_conf_item item = tl_conf_item_of(file[TL_CONF_BUS], fault, "buses", i);
            return tl_conf_say(&item, "id",
                               "bus %s has no node of kind broker in stations.yaml; add it there",
                               config->bus[i].id);
        }
    }
    for (uint32_t i = 0; i < config->node_count; i++) {
        const struct tl_node *node = &config->node[i];
        if (node->kind == TL_NODE_RELAY && !has_bus(config, node->id)) {
            struct tl_conf_item item = tl_conf_item_of(file[TL_CONF_STATIONS], fault, "nodes", i);
            return tl_conf_say(
                &item, "id", "broker %s is not in bus.yaml; give it its endpoints there", node->id);
        }
    }
    return TL_OK;
}

/* A rule whose datum nobody could state would hold NOT READY for ever, for no reason shown. */
static enum tl_err
check_sources(const struct tl_conf_file *const file[TL_CONF_FORMS], const struct tl_config *config,
              struct tl_conf_fault *fault)
{
    struct tl_conf_item top = tl_conf_item_of(file[TL_CONF_STATIONS], fault, NULL, 0);
    size_t count = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);

    for (size_t i = 0; i < count; i++) {
        bool one_each = rows[i].from != TL_STATION_UNKNOWN && rows[i].from != TL_STATION_ENGINE;
        if (one_each && !config->ship.rule_off[rows[i].rule] &&
            tl_config_station(config, rows[i].from, 0) == NULL) {
            const char *kind = tl_station_kind_name(rows[i].from);
            return tl_conf_say(&top, "nodes",
                               "no station of kind %s, and rule %s cannot be judged without; add "
                               "one, or list the rule in rules_off of ship.yaml with a reason",
                               kind, rows[i].name);
        }
    }
    return TL_OK;
}

static bool
is_on(const struct tl_config *config, enum tl_rule rule)
{
    return !config->ship.rule_off[rule];
}

/* Each rule that is on has its figures. */
static enum tl_err
check_figures(const struct tl_conf_file *const file[TL_CONF_FORMS], const struct tl_config *config,
              struct tl_conf_fault *fault)
{
    static const enum tl_rule by_limits[] = {
        TL_RULE_PENDANT_HEIGHT, TL_RULE_ACCUMULATOR,      TL_RULE_CROSSHEAD_GAP,
        TL_RULE_DETORQUE_DUE,   TL_RULE_DETORQUE_OVERDUE, TL_RULE_BARRICADE_POWER,
    };
    struct tl_conf_item gear = tl_conf_item_of(file[TL_CONF_GEAR], fault, NULL, 0);
    struct tl_conf_item ship = tl_conf_item_of(file[TL_CONF_SHIP], fault, NULL, 0);

    for (size_t i = 0; i < sizeof by_limits / sizeof by_limits[0]; i++) {
        if (is_on(config, by_limits[i]) && !config->gear.limits.given) {
            return tl_conf_say(&gear, "",
                               "rule %s needs figures: add limits, or list the rule in rules_off "
                               "of ship.yaml with a reason",
                               tl_rule_row((uint32_t)by_limits[i])->name);
        }
    }
    if (is_on(config, TL_RULE_TRACK_OPEN) && config->ship.track_count == 0) {
        return tl_conf_say(&ship, "",
                           "rule track-open needs the number of tracks in the landing area: add "
                           "tracks, or list the rule in rules_off with a reason");
    }
    for (uint32_t i = 0; is_on(config, TL_RULE_AID_NOT_FOR_TYPE) && i < config->type_count; i++) {
        if (config->type[i].hook_to_eye_ft_x100 == 0) {
            struct tl_conf_item item = tl_conf_item_of(file[TL_CONF_AIRCRAFT], fault, "types", i);
            return tl_conf_say(&item, "id",
                               "type %s has no hook_to_eye_ft, and rule aid-not-for-type needs it; "
                               "add it, or list the rule in rules_off of ship.yaml with a reason",
                               config->type[i].id);
        }
    }
    return TL_OK;
}

enum tl_err
tl_conf_check_cross(const struct tl_conf_file *const file[TL_CONF_FORMS],
                    const struct tl_config *config, struct tl_conf_fault *fault)
{
    enum tl_err err = check_engines(file, config, fault);

    if (err == TL_OK) {
        err = check_buses(file, config, fault);
    }
    if (err == TL_OK) {
        err = check_sources(file, config, fault);
    }
    if (err == TL_OK) {
        err = check_figures(file, config, fault);
    }
    return err;
}
