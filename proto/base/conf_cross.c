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
    static const struct {
        enum tl_rule rule;
        enum tl_station_kind source;
    } needs[] = {
        {TL_RULE_NO_EVENT, TL_STATION_PRIMARY},
        {TL_RULE_ORDER_UNKNOWN, TL_STATION_PRIMARY},
        {TL_RULE_TYPE_CALLED_DIFFERS, TL_STATION_PLATFORM},
        {TL_RULE_HOOK_NOT_DOWN, TL_STATION_PLATFORM},
        {TL_RULE_WIND_UNKNOWN, TL_STATION_BRIDGE},
    };
    struct tl_conf_item top = tl_conf_item_of(file[TL_CONF_STATIONS], fault, NULL, 0);

    for (size_t i = 0; i < sizeof needs / sizeof needs[0]; i++) {
        if (!config->ship.rule_off[needs[i].rule] &&
            tl_config_station(config, needs[i].source, 0) == NULL) {
            const char *kind = tl_station_kind_name(needs[i].source);
            return tl_conf_say(&top, "nodes",
                               "no station of kind %s, and rule %s cannot be judged without; add "
                               "one, or list the rule in rules_off of ship.yaml with a reason",
                               kind, tl_rule_row((uint32_t)needs[i].rule)->name);
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
    return err;
}
