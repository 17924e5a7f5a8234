/* SPDX-License-Identifier: Apache-2.0 */
/* ship.c - see ship.h. */
#include "tests/support/ship.h"

#include <stdio.h>
#include <string.h>

enum {
    ENGINES = 4
};

static struct tl_node *
add_node(struct tl_config *config, const char *id, enum tl_node_kind kind)
{
    struct tl_node *node = &config->node[config->node_count++];
    (void)snprintf(node->id, sizeof node->id, "%s", id);
    node->kind = kind;
    return node;
}

static void
add_station(struct tl_config *config, const char *id, enum tl_station_kind kind, bool may_foul)
{
    struct tl_node *node = add_node(config, id, TL_NODE_STATION);
    node->station = kind;
    node->may_foul = may_foul;
}

static void
add_engines(struct tl_config *config, uint32_t engines)
{
    for (uint32_t unit = 1; unit <= engines; unit++) {
        char id[TL_ID_CAP];
        (void)snprintf(id, sizeof id, "engine-%u", unit);
        struct tl_node *node = add_node(config, id, TL_NODE_STATION);
        node->station = TL_STATION_ENGINE;
        node->unit = unit;
        config->gear.engine[config->gear.engine_count++] =
            (struct tl_engine_gear){.unit = unit, .wire = unit, .in_service = true};
    }
    config->gear.selector_min_lb = 10000;
    config->gear.selector_max_lb = 52000;
    config->gear.selector_step_lb = 500;
    config->gear.agree_tolerance_lb = 500;
}

static void
add_type(struct tl_config *config, const char *id, uint32_t setting_lb)
{
    struct tl_aircraft_type *type = &config->type[config->type_count++];
    (void)snprintf(type->id, sizeof type->id, "%s", id);
    type->setting_lb = setting_lb;
    type->setting_tolerance_lb = 1000;
    type->max_trap_lb = setting_lb;
    type->final_approach_s = 25;
}

/* The small ship has no station of these kinds and no gauges. */
static void
switch_off_what_is_not_there(struct tl_config *config)
{
    size_t count = 0;
    const struct tl_rule_row *rows = tl_rule_rows(&count);
    for (size_t i = 0; i < count; i++) {
        bool by_engine_book =
            rows[i].rule >= TL_RULE_SETTING_LIGHT && rows[i].rule < TL_RULE_WAVE_OFF_ADVISED;
        bool there = rows[i].from < TL_STATION_WIRES && rows[i].rule != TL_RULE_ACCUMULATOR &&
                     rows[i].rule != TL_RULE_CROSSHEAD_GAP && !by_engine_book && !rows[i].computed;
        config->ship.rule_off[rows[i].rule] = !there;
    }
}

static void
small_ship(struct tl_config *config, uint32_t validators, uint32_t engines)
{
    memset(config, 0, sizeof *config);
    add_engines(config, engines);
    add_station(config, "deck", TL_STATION_DECK, true);
    add_station(config, "approach", TL_STATION_APPROACH, false);
    add_station(config, "platform", TL_STATION_PLATFORM, true);
    add_station(config, "primary", TL_STATION_PRIMARY, true);
    add_station(config, "bridge", TL_STATION_BRIDGE, false);
    for (uint32_t i = 1; i <= validators; i++) {
        char id[TL_ID_CAP];
        (void)snprintf(id, sizeof id, "validator-%u", i);
        (void)add_node(config, id, TL_NODE_VALIDATOR);
    }
    (void)add_node(config, "bus-a", TL_NODE_RELAY);
    (void)add_node(config, "bus-b", TL_NODE_RELAY);
    (void)add_node(config, "viewer", TL_NODE_VIEWER);
    add_type(config, "dunlin", 14500);
    add_type(config, "plover", 34000);
    add_type(config, "curlew", 44000);
    (void)snprintf(config->clear_owner, sizeof config->clear_owner, "deck");
    (void)snprintf(config->repeater_reader, sizeof config->repeater_reader, "primary");
    for (uint32_t rule = 0; rule < TL_RULES_MAX; rule++) {
        config->ship.due_after_order_s[rule] = SHIP_DUE_S;
    }
    switch_off_what_is_not_there(config);
    config->ship.deck_angle_deg = 9.0;
    config->ship.wind_valid_ms = 3000;
    config->ship.keyed_wind_valid_s = 300;
    memset(config->judgement_digest, 7, TL_DIGEST_LEN);
    memset(config->key_digest, 8, TL_DIGEST_LEN);
}

void
ship_config(struct tl_config *config, uint32_t validators)
{
    small_ship(config, validators, ENGINES);
}

static void
let_speak(struct tl_config *config)
{
    static const char *const speakers[] = {"primary", "deck", "gear-officer"};
    for (uint32_t i = 0; i < config->node_count; i++) {
        struct tl_node *node = &config->node[i];
        for (size_t k = 0; node->kind == TL_NODE_STATION && k < 3; k++) {
            bool self = strcmp(node->id, speakers[k]) == 0;
            node->voice_by |= self ? 0 : 1u << tl_config_place(config, speakers[k]);
        }
        node->may_override = strcmp(node->id, "primary") == 0 ||
                             strcmp(node->id, "gear-officer") == 0 ||
                             strcmp(node->id, "safety") == 0;
        node->may_stop = strcmp(node->id, "primary") == 0 || strcmp(node->id, "safety") == 0;
    }
}

/* Bounds on the wind, the angle of the aid by it, and the motion of the ship. */
static void
add_sea(struct tl_config *config)
{
    static const struct tl_aid_angle angles[] = {{0, 350}, {320, 375}, {380, 400}};
    config->ship.crosswind_max_kt_x10 = 70;
    config->ship.aid_angle_count = 3;
    memcpy(config->ship.aid_angle, angles, sizeof angles);
    config->ship.aid_angle_slack_kt_x10 = 10;
    config->ship.motion = (struct tl_motion_limits){.given = true,
                                                    .pitch_max_deg_x10 = 15,
                                                    .heave_max_m_x100 = 150,
                                                    .roll_max_deg_x10 = 50,
                                                    .turn_max_deg_min_x10 = 100,
                                                    .valid_ms = 3000};
}

void
ship_config_full(struct tl_config *config, uint32_t validators)
{
    ship_config_engines(config, validators, ENGINES);
}

void
ship_config_engines(struct tl_config *config, uint32_t validators, uint32_t engines)
{
    small_ship(config, validators, engines);
    add_station(config, "wires", TL_STATION_WIRES, false);
    add_station(config, "tracks", TL_STATION_TRACKS, false);
    add_station(config, "aid", TL_STATION_AID, false);
    add_station(config, "gear-officer", TL_STATION_GEAR_OFFICER, true);
    add_station(config, "barricade", TL_STATION_BARRICADE, false);
    add_station(config, "safety", TL_STATION_SAFETY, true);
    let_speak(config);
    memset(config->ship.rule_off, 0, sizeof config->ship.rule_off);
    config->ship.track_count = 2;
    config->gear.limits = (struct tl_gear_limits){.given = true,
                                                  .pendant_low_in_x100 = 200,
                                                  .pendant_high_in_x100 = 550,
                                                  .accumulator_min_psi = 380,
                                                  .accumulator_max_psi = 430,
                                                  .crosshead_min_in_x100 = 100,
                                                  .detorque_first = 50,
                                                  .detorque_first_limit = 60,
                                                  .detorque_every = 200,
                                                  .barricade_psi = 1500,
                                                  .barricade_cycles_max = 3,
                                                  .pendant_life = 125,
                                                  .pendant_life_near = 15,
                                                  .ram_travel_max_in_x10 = 1900,
                                                  .off_centre_max_ft_x10 = 200,
                                                  .sides_apart_max_in_x10 = 40,
                                                  .walk_back_max_ft_x10 = 100};
    config->gear.wires_min = 3;
    memcpy(config->gear.target_of_usable, (uint32_t[]){1, 2, 2, 3}, 4 * sizeof(uint32_t));
    config->gear.barricade = (struct tl_barricade_gear){.unit = 4, .strip = 1u << 3 | 1u << 4};
    add_sea(config);
    for (int rule = 1; rule < TL_RULES_MAX; rule++) {
        const struct tl_rule_row *row = tl_rule_row((uint32_t)rule);
        config->ship.rule_off[rule] = row != NULL && row->computed;
    }
    for (uint32_t i = 0; i < config->type_count; i++) {
        bool curlew = strcmp(config->type[i].id, "curlew") == 0;
        config->type[i].hook_to_eye_ft_x100 = curlew ? 1860 : 1680;
        config->type[i].min_headwind_kt_x10 = 200;
        config->type[i].barricade_setting_lb = config->type[i].setting_lb - 2000;
    }
}
