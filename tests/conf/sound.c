/* SPDX-License-Identifier: Apache-2.0 */
/*
 * sound - each promise of proto/vocab/config.h as one line
 */
#include "tests/conf/sound.h"

#include <math.h>
#include <regex.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define HOLD(promise)                                                                              \
    do {                                                                                           \
        if (!(promise)) {                                                                          \
            return #promise;                                                                       \
        }                                                                                          \
    } while (0)

static bool
matches(const char *fmt, const char *text)
{
    regex_t regex;

    if (regcomp(&regex, fmt, REG_EXTENDED | REG_NOSUB) != 0) {
        return false;
    }
    bool is_match = regexec(&regex, text, 0, NULL, 0) == 0;
    regfree(&regex);
    return is_match;
}

static bool
is_id(const char *id, size_t cap)
{
    return memchr(id, '\0', cap) != NULL && matches("^[a-z0-9]([a-z0-9-]*[a-z0-9])?$", id);
}

static bool
is_endpoint(const char *text)
{
    const char *colon = strrchr(text, ':');
    long port = colon == NULL ? 0 : strtol(colon + 1, NULL, 10);

    return matches("^tcp://[1-9][0-9]{0,2}(\\.[0-9]{1,3}){3}:[1-9][0-9]{3,4}$", text) &&
           port >= 1024 && port <= 32767;
}

static bool
is_plain(const char *text, size_t cap)
{
    size_t len = strnlen(text, cap);

    for (size_t i = 0; i < len; i++) {
        if ((unsigned char)text[i] < 0x20 || text[i] == 0x7f) {
            return false;
        }
    }
    return len > 0 && len < cap && strspn(text, " ") < len;
}

static unsigned
count_nodes(const struct tl_config *config, enum tl_node_kind kind)
{
    unsigned count = 0;

    for (uint32_t i = 0; i < config->node_count; i++) {
        count += config->node[i].kind == kind ? 1 : 0;
    }
    return count;
}

static const char *
ship_fault(const struct tl_ship *ship)
{
    HOLD(is_plain(ship->name, sizeof ship->name));
    HOLD(ship->deck_angle_deg >= 0.0 && ship->deck_angle_deg <= 20.0);
    HOLD(ship->engine_readback_keyed <= 1);
    HOLD(ship->ramp_margin_s <= 60);
    HOLD(ship->wind_valid_ms >= 200 && ship->wind_valid_ms <= 60000);
    HOLD(ship->heading_valid_ms >= 200 && ship->heading_valid_ms <= 60000);
    HOLD(ship->speed_valid_ms >= 200 && ship->speed_valid_ms <= 60000);
    HOLD(ship->keyed_wind_valid_s >= 1 && ship->keyed_wind_valid_s <= 3600);
    HOLD(ship->wind_disagree_deg >= 1.0 && ship->wind_disagree_deg <= 180.0);
    HOLD(ship->wind_disagree_kt >= 1.0 && ship->wind_disagree_kt <= 50.0);
    for (uint32_t rule = 0; rule < TL_RULES_MAX; rule++) {
        const struct tl_rule_row *row = tl_rule_row(rule);
        bool is_set = ship->rule_off[rule] || ship->due_after_order_s[rule] != 0 ||
                      ship->due_before_ramp_s[rule] != 0;
        HOLD(!is_set || (row != NULL && row->kind == TL_CAUSE_SHIP));
        HOLD(!ship->rule_off[rule] ||
             is_plain(ship->rule_off_reason[rule], sizeof ship->rule_off_reason[rule]));
        HOLD(ship->due_after_order_s[rule] <= 3600 && ship->due_before_ramp_s[rule] <= 600);
    }
    return NULL;
}

static const char *
gear_fault(const struct tl_config *config)
{
    const struct tl_gear *gear = &config->gear;

    HOLD(gear->engine_count >= 1 && gear->engine_count <= TL_ENGINES_MAX);
    HOLD(gear->selector_min_lb >= 1000 && gear->selector_max_lb <= 200000);
    HOLD(gear->selector_min_lb < gear->selector_max_lb && gear->selector_step_lb > 0);
    HOLD((gear->selector_max_lb - gear->selector_min_lb) % gear->selector_step_lb == 0);
    HOLD(gear->agree_tolerance_lb <= 5000);
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        HOLD(gear->engine[i].unit >= 1 && gear->engine[i].unit <= TL_ENGINES_MAX);
        HOLD(gear->engine[i].wire >= 1 && gear->engine[i].wire <= TL_ENGINES_MAX);
        HOLD(tl_config_engine(config, gear->engine[i].unit) == &gear->engine[i]);
        HOLD(tl_config_station(config, TL_STATION_ENGINE, gear->engine[i].unit) != NULL);
        for (uint32_t j = 0; j < i; j++) {
            HOLD(gear->engine[i].wire != gear->engine[j].wire);
        }
    }
    return NULL;
}

static const char *
figures_fault(const struct tl_figures *figures)
{
    size_t count = 0;
    const struct tl_figure_row *rows = tl_figure_rows(&count);

    for (size_t i = 0; i < count; i++) {
        double value = figures->value[rows[i].figure];
        bool is_believed = value >= rows[i].least && value <= rows[i].most;
        HOLD(figures->given[rows[i].figure] ? is_believed : fabs(value) < 1e-9);
    }
    HOLD(!figures->given[TL_FIGURE_ACCUMULATOR_BATTERY_PSI] ||
         !figures->given[TL_FIGURE_ACCUMULATOR_FULL_PSI] ||
         figures->value[TL_FIGURE_ACCUMULATOR_FULL_PSI] >
             figures->value[TL_FIGURE_ACCUMULATOR_BATTERY_PSI]);
    return NULL;
}

static const char *
types_fault(const struct tl_config *config)
{
    const struct tl_gear *gear = &config->gear;

    HOLD(config->type_count >= 1 && config->type_count <= TL_TYPES_MAX);
    for (uint32_t i = 0; i < config->type_count; i++) {
        const struct tl_aircraft_type *type = &config->type[i];
        HOLD(is_id(type->id, sizeof type->id));
        HOLD(tl_config_type(config, type->id) == type);
        HOLD(type->setting_lb >= gear->selector_min_lb &&
             type->setting_lb <= gear->selector_max_lb);
        HOLD((type->setting_lb - gear->selector_min_lb) % gear->selector_step_lb == 0);
        HOLD(type->setting_tolerance_lb <= 5000);
        HOLD(type->max_trap_lb >= 1000);
        HOLD(type->max_trap_lb <= type->setting_lb + type->setting_tolerance_lb);
        HOLD(type->final_approach_s >= 1 && type->final_approach_s <= 300);
    }
    return NULL;
}

static const char *
node_fault(const struct tl_config *config, const struct tl_node *node)
{
    bool is_station = node->kind == TL_NODE_STATION;
    bool is_engine = is_station && node->station == TL_STATION_ENGINE;

    HOLD(is_id(node->id, sizeof node->id));
    HOLD(tl_config_node(config, node->id) == node);
    HOLD(node->kind != TL_NODE_UNKNOWN);
    HOLD(is_station == (node->station != TL_STATION_UNKNOWN));
    HOLD(is_engine == (node->unit != 0));
    HOLD(!is_engine || tl_config_engine(config, node->unit) != NULL);
    HOLD(!is_station || tl_config_station(config, node->station, node->unit) == node);
    HOLD(is_station || !node->may_foul);
    return NULL;
}

static const char *
nodes_fault(const struct tl_config *config)
{
    HOLD(config->node_count >= 1 && config->node_count <= TL_NODES_MAX);
    HOLD(count_nodes(config, TL_NODE_VALIDATOR) >= 1);
    HOLD(count_nodes(config, TL_NODE_VALIDATOR) <= TL_VALIDATORS_MAX);
    HOLD(count_nodes(config, TL_NODE_STATION) <= TL_STATIONS_MAX);
    for (uint32_t i = 0; i < config->node_count; i++) {
        const char *fault = node_fault(config, &config->node[i]);
        HOLD(fault == NULL);
    }
    const struct tl_node *owner = tl_config_node(config, config->clear_owner);
    const struct tl_node *reader = tl_config_node(config, config->repeater_reader);
    HOLD(owner != NULL && owner->kind == TL_NODE_STATION);
    HOLD(reader != NULL && reader->kind == TL_NODE_STATION);
    HOLD(reader->station != TL_STATION_ENGINE);
    HOLD(config->ship.rule_off[TL_RULE_HOOK_NOT_DOWN] ||
         tl_config_station(config, TL_STATION_PLATFORM, 0) != NULL);
    HOLD(config->ship.rule_off[TL_RULE_ORDER_UNKNOWN] ||
         tl_config_station(config, TL_STATION_PRIMARY, 0) != NULL);
    HOLD(config->ship.rule_off[TL_RULE_WIND_UNKNOWN] ||
         tl_config_station(config, TL_STATION_BRIDGE, 0) != NULL);
    return NULL;
}

static const char *
buses_fault(const struct tl_config *config)
{
    HOLD(config->bus_count >= 1 && config->bus_count <= TL_BUSES_MAX);
    HOLD(count_nodes(config, TL_NODE_RELAY) == config->bus_count);
    for (uint32_t i = 0; i < config->bus_count; i++) {
        const struct tl_bus *bus = &config->bus[i];
        const struct tl_node *node = tl_config_node(config, bus->id);
        HOLD(node != NULL && node->kind == TL_NODE_RELAY);
        HOLD(is_endpoint(bus->ingress) && is_endpoint(bus->egress));
        HOLD(strcmp(bus->ingress, bus->egress) != 0);
        for (uint32_t j = 0; j < i; j++) {
            const struct tl_bus *other = &config->bus[j];
            HOLD(strcmp(bus->id, other->id) != 0);
            HOLD(strcmp(bus->ingress, other->ingress) != 0);
            HOLD(strcmp(bus->ingress, other->egress) != 0);
            HOLD(strcmp(bus->egress, other->ingress) != 0);
            HOLD(strcmp(bus->egress, other->egress) != 0);
        }
    }
    HOLD(is_plain(config->identity_dir, sizeof config->identity_dir));
    HOLD(is_plain(config->state_dir, sizeof config->state_dir));
    HOLD(is_plain(config->run_dir, sizeof config->run_dir));
    HOLD(is_plain(config->record_dir, sizeof config->record_dir));
    return NULL;
}

static const char *
keys_fault(const struct tl_config *config)
{
    HOLD(config->key_count <= TL_KEYS_MAX);
    for (uint32_t i = 0; i < config->key_count; i++) {
        const struct tl_key *key = &config->key[i];
        unsigned live = 0;
        HOLD(key->epoch >= 1 && key->epoch <= 999999);
        HOLD(tl_config_node(config, key->node) != NULL);
        HOLD(tl_config_key(config, key->node, key->epoch) == key);
        for (uint32_t j = 0; j < config->key_count; j++) {
            const struct tl_key *other = &config->key[j];
            HOLD(i == j || memcmp(key->identity, other->identity, sizeof key->identity) != 0);
            live += strcmp(key->node, other->node) == 0 && !other->revoked ? 1 : 0;
        }
        HOLD(live <= TL_KEYS_PER_NODE_MAX);
    }
    for (uint32_t i = 0; i < config->node_count; i++) {
        bool has_key = false;
        for (uint32_t j = 0; j < config->key_count; j++) {
            has_key = has_key || strcmp(config->key[j].node, config->node[i].id) == 0;
        }
        HOLD(has_key);
    }
    return NULL;
}

const char *
sound_fault(const struct tl_config *config)
{
    const char *fault = ship_fault(&config->ship);

    fault = fault != NULL ? fault : gear_fault(config);
    fault = fault != NULL ? fault : figures_fault(&config->figures);
    fault = fault != NULL ? fault : types_fault(config);
    fault = fault != NULL ? fault : nodes_fault(config);
    fault = fault != NULL ? fault : buses_fault(config);
    return fault != NULL ? fault : keys_fault(config);
}
