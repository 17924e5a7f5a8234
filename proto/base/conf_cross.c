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

/* A rule, the figure without which it cannot be judged, and the file that gives it. */
struct need {
    enum tl_rule rule;
    enum tl_conf_form form;
    const char *key;
    bool given;
};

/* Figures that stand once for the ship. */
static enum tl_err
check_figures(const struct tl_conf_file *const file[TL_CONF_FORMS], const struct tl_config *config,
              struct tl_conf_fault *fault)
{
    const struct tl_gear *gear = &config->gear;
    const struct tl_gear_limits *limits = &gear->limits;
    const struct tl_ship *ship = &config->ship;
    const struct need needs[] = {
        {TL_RULE_PENDANT_HEIGHT, TL_CONF_GEAR, "limits", limits->given},
        {TL_RULE_ACCUMULATOR, TL_CONF_GEAR, "limits", limits->given},
        {TL_RULE_CROSSHEAD_GAP, TL_CONF_GEAR, "limits", limits->given},
        {TL_RULE_DETORQUE_DUE, TL_CONF_GEAR, "limits", limits->given},
        {TL_RULE_DETORQUE_OVERDUE, TL_CONF_GEAR, "limits", limits->given},
        {TL_RULE_BARRICADE_POWER, TL_CONF_GEAR, "limits", limits->given},
        {TL_RULE_PENDANT_LIFE, TL_CONF_GEAR, "limits.pendant_life", limits->pendant_life > 0},
        {TL_RULE_PENDANT_LIFE_NEAR, TL_CONF_GEAR, "limits.pendant_life and pendant_life_near",
         limits->pendant_life > 0 && limits->pendant_life_near > 0},
        {TL_RULE_RAM_TRAVEL, TL_CONF_GEAR, "limits.ram_travel_max_in",
         limits->ram_travel_max_in_x10 > 0},
        {TL_RULE_OFF_CENTRE, TL_CONF_GEAR, "limits.off_centre_max_ft",
         limits->off_centre_max_ft_x10 > 0},
        {TL_RULE_SIDES_UNEQUAL, TL_CONF_GEAR, "limits.sides_apart_max_in",
         limits->sides_apart_max_in_x10 > 0},
        {TL_RULE_WALK_BACK, TL_CONF_GEAR, "limits.walk_back_max_ft",
         limits->walk_back_max_ft_x10 > 0},
        {TL_RULE_TOO_FEW_WIRES, TL_CONF_GEAR, "wires_min", gear->wires_min > 0},
        {TL_RULE_AID_NOT_ON_TARGET, TL_CONF_GEAR, "target_of_usable",
         gear->target_of_usable[0] > 0},
        {TL_RULE_BARRICADE_NOT_RIGGED, TL_CONF_GEAR, "barricade", gear->barricade.unit > 0},
        {TL_RULE_BARRICADE_WIRES, TL_CONF_GEAR, "barricade", gear->barricade.unit > 0},
        {TL_RULE_TRACK_OPEN, TL_CONF_SHIP, "tracks, their number in the landing area",
         ship->track_count > 0},
        {TL_RULE_AID_ANGLE, TL_CONF_SHIP, "aid_angles", ship->aid_angle_count > 0},
        {TL_RULE_CROSSWIND_OVER, TL_CONF_SHIP, "crosswind_max_kt", ship->crosswind_max_kt_x10 > 0},
        {TL_RULE_SHIP_NOT_STEADY, TL_CONF_SHIP, "motion", ship->motion.given},
        {TL_RULE_DECK_MOTION, TL_CONF_SHIP, "motion", ship->motion.given},
    };

    for (size_t i = 0; i < sizeof needs / sizeof needs[0]; i++) {
        struct tl_conf_item item = tl_conf_item_of(file[needs[i].form], fault, NULL, 0);
        if (is_on(config, needs[i].rule) && !needs[i].given) {
            return tl_conf_say(&item, "",
                               "rule %s needs figures: add %s, or list the rule in rules_off of "
                               "ship.yaml with a reason",
                               tl_rule_row((uint32_t)needs[i].rule)->name, needs[i].key);
        }
    }
    return TL_OK;
}

/* What judges the wind has nothing to judge where the wind may be unknown. */
static enum tl_err
check_wind(const struct tl_conf_file *const file[TL_CONF_FORMS], const struct tl_config *config,
           struct tl_conf_fault *fault)
{
    static const enum tl_rule by_wind[] = {TL_RULE_WIND_LOW, TL_RULE_CROSSWIND_OVER,
                                           TL_RULE_AID_ANGLE};
    struct tl_conf_item top = tl_conf_item_of(file[TL_CONF_SHIP], fault, NULL, 0);

    for (size_t i = 0; i < sizeof by_wind / sizeof by_wind[0]; i++) {
        if (is_on(config, by_wind[i]) && !is_on(config, TL_RULE_WIND_UNKNOWN)) {
            return tl_conf_say(&top, "",
                               "rule %s judges the wind, and wind-unknown is off; list it in "
                               "rules_off too",
                               tl_rule_row((uint32_t)by_wind[i])->name);
        }
    }
    return TL_OK;
}

/* Figures that each type gives. */
static enum tl_err
check_types(const struct tl_conf_file *const file[TL_CONF_FORMS], const struct tl_config *config,
            struct tl_conf_fault *fault)
{
    for (uint32_t i = 0; i < config->type_count; i++) {
        const struct tl_aircraft_type *type = &config->type[i];
        struct tl_conf_item item = tl_conf_item_of(file[TL_CONF_AIRCRAFT], fault, "types", i);
        const struct need needs[] = {
            {TL_RULE_AID_NOT_FOR_TYPE, TL_CONF_AIRCRAFT, "hook_to_eye_ft",
             type->hook_to_eye_ft_x100 > 0},
            {TL_RULE_WIND_LOW, TL_CONF_AIRCRAFT, "min_headwind_kt", type->min_headwind_kt_x10 > 0},
        };
        for (size_t k = 0; k < sizeof needs / sizeof needs[0]; k++) {
            if (is_on(config, needs[k].rule) && !needs[k].given) {
                return tl_conf_say(&item, "id",
                                   "type %s has no %s, and rule %s needs it; add it, or list the "
                                   "rule in rules_off of ship.yaml with a reason",
                                   type->id, needs[k].key,
                                   tl_rule_row((uint32_t)needs[k].rule)->name);
            }
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
    if (err == TL_OK) {
        err = check_types(file, config, fault);
    }
    if (err == TL_OK) {
        err = check_wind(file, config, fault);
    }
    if (err == TL_OK) {
        err = tl_conf_check_computed(file, config, fault);
    }
    return err;
}
