/* SPDX-License-Identifier: Apache-2.0 */
/*
 * conf_stations - stations.yaml: who is on the bus, and who may say what
 */
#include "proto/base/conf_take.h"

#include <string.h>

/* The word of a node's kind, in the order of the table below. */
static const char *const kind_words[] = {
    "engine", "deck",         "approach",  "platform", "primary",   "bridge",   "wires",  "tracks",
    "aid",    "gear-officer", "barricade", "safety",   "validator", "recorder", "broker", "viewer"};
enum {
    KIND_COUNT = sizeof kind_words / sizeof kind_words[0]
};

static const struct {
    enum tl_node_kind kind;
    enum tl_station_kind station;
} kinds[KIND_COUNT] = {
    {TL_NODE_STATION, TL_STATION_ENGINE},    {TL_NODE_STATION, TL_STATION_DECK},
    {TL_NODE_STATION, TL_STATION_APPROACH},  {TL_NODE_STATION, TL_STATION_PLATFORM},
    {TL_NODE_STATION, TL_STATION_PRIMARY},   {TL_NODE_STATION, TL_STATION_BRIDGE},
    {TL_NODE_STATION, TL_STATION_WIRES},     {TL_NODE_STATION, TL_STATION_TRACKS},
    {TL_NODE_STATION, TL_STATION_AID},       {TL_NODE_STATION, TL_STATION_GEAR_OFFICER},
    {TL_NODE_STATION, TL_STATION_BARRICADE}, {TL_NODE_STATION, TL_STATION_SAFETY},
    {TL_NODE_VALIDATOR, TL_STATION_UNKNOWN}, {TL_NODE_RECORDER, TL_STATION_UNKNOWN},
    {TL_NODE_RELAY, TL_STATION_UNKNOWN},     {TL_NODE_VIEWER, TL_STATION_UNKNOWN},
};

/* The number at the end of an id such as engine-3; 0 if it has none. */
static uint32_t
number_of_id(const char *id)
{
    const char *dash = strrchr(id, '-');
    const char *digits = dash == NULL ? "" : dash + 1;
    uint32_t number = 0;

    if (digits[0] == '\0' || strspn(digits, "0123456789") != strlen(digits) || strlen(digits) > 6) {
        return 0;
    }
    for (; *digits != '\0'; digits++) {
        number = number * 10 + (uint32_t)(*digits - '0');
    }
    return number;
}

static enum tl_err
take_unit(const struct tl_conf_item *item, const struct tl_conf_raw_node *raw, struct tl_node *node)
{
    static const struct tl_conf_range units = {1, TL_ENGINES_MAX, ""};
    bool is_engine = node->kind == TL_NODE_STATION && node->station == TL_STATION_ENGINE;

    if (!is_engine && raw->unit[0] == '\0') {
        return TL_OK;
    }
    if (!is_engine) {
        return tl_conf_say(item, "unit", "%s is no engine and has no unit; remove it", node->id);
    }
    if (raw->unit[0] == '\0') {
        return tl_conf_say(item, "", "engine %s has no unit; add unit: and its number", node->id);
    }
    enum tl_err err =
        tl_conf_number((struct tl_conf_field){item, "unit", raw->unit}, &units, &node->unit);
    uint32_t spoken = number_of_id(node->id);
    if (err == TL_OK && spoken != 0 && spoken != node->unit) {
        return tl_conf_say(item, "unit",
                           "%s is unit %u: people would mix up two engines; "
                           "correct one",
                           node->id, node->unit);
    }
    return err;
}

static enum tl_err
take_rights(const struct tl_conf_item *item, const struct tl_conf_raw_node *raw,
            struct tl_node *node)
{
    enum tl_err err = TL_OK;

    if (raw->may_foul[0] != '\0') {
        err =
            tl_conf_bool((struct tl_conf_field){item, "may_foul", raw->may_foul}, &node->may_foul);
    }
    if (err == TL_OK && raw->may_stop[0] != '\0') {
        err =
            tl_conf_bool((struct tl_conf_field){item, "may_stop", raw->may_stop}, &node->may_stop);
    }
    if (err == TL_OK && node->may_foul && node->kind != TL_NODE_STATION) {
        return tl_conf_say(item, "may_foul", "%s is no station and cannot say foul; remove it",
                           node->id);
    }
    if (err == TL_OK && node->may_stop && node->kind != TL_NODE_STATION) {
        return tl_conf_say(item, "may_stop", "%s is no station and cannot say stop; remove it",
                           node->id);
    }
    return err;
}

/* Against the nodes before it. */
static enum tl_err
check_unique(const struct tl_conf_item *item, const struct tl_node *node,
             const struct tl_config *config)
{
    for (uint32_t i = 0; i < config->node_count; i++) {
        const struct tl_node *other = &config->node[i];
        if (strcmp(other->id, node->id) == 0) {
            struct tl_conf_item first = tl_conf_item_of(item->file, item->fault, "nodes", i);
            return tl_conf_say(item, "id",
                               "id \"%s\" is given twice (first on line %u); rename "
                               "one",
                               node->id, tl_conf_item_line(&first, "id"));
        }
        if (node->kind != TL_NODE_STATION || other->kind != TL_NODE_STATION ||
            other->station != node->station) {
            continue;
        }
        if (node->station == TL_STATION_ENGINE && other->unit == node->unit) {
            return tl_conf_say(item, "unit", "unit %u has two stations, %s and %s; correct one",
                               node->unit, other->id, node->id);
        }
        if (node->station != TL_STATION_ENGINE) {
            return tl_conf_say(item, "kind",
                               "there are two stations of kind %s, %s and %s; "
                               "remove one",
                               tl_station_kind_name(node->station), other->id, node->id);
        }
    }
    return TL_OK;
}

static enum tl_err
take_node(const struct tl_conf_item *item, const struct tl_conf_raw_node *raw,
          struct tl_config *config)
{
    struct tl_node *node = &config->node[config->node_count];
    size_t kind = 0;

    memset(node, 0, sizeof *node);
    enum tl_err err =
        tl_conf_id((struct tl_conf_field){item, "id", raw->id}, node->id, sizeof node->id);
    if (err == TL_OK) {
        err = tl_conf_choice((struct tl_conf_field){item, "kind", raw->kind}, kind_words,
                             KIND_COUNT, &kind);
    }
    if (err != TL_OK) {
        return err;
    }
    node->kind = kinds[kind].kind;
    node->station = kinds[kind].station;
    err = take_unit(item, raw, node);
    if (err == TL_OK) {
        err = take_rights(item, raw, node);
    }
    if (err == TL_OK) {
        err = check_unique(item, node, config);
    }
    config->node_count += err == TL_OK ? 1 : 0;
    return err;
}

static enum tl_err
check_counts(const struct tl_conf_item *top, const struct tl_config *config)
{
    static const struct {
        enum tl_node_kind kind;
        uint32_t min;
        uint32_t max;
        const char *words;
    } limits[] = {
        {TL_NODE_STATION, 1, TL_STATIONS_MAX, "stations"},
        {TL_NODE_VALIDATOR, 1, TL_VALIDATORS_MAX, "nodes of kind validator"},
        {TL_NODE_RELAY, 1, TL_BUSES_MAX, "nodes of kind broker"},
    };

    for (size_t i = 0; i < sizeof limits / sizeof limits[0]; i++) {
        uint32_t count = 0;
        for (uint32_t j = 0; j < config->node_count; j++) {
            count += config->node[j].kind == limits[i].kind ? 1 : 0;
        }
        if (count < limits[i].min || count > limits[i].max) {
            return tl_conf_say(top, "nodes", "there are %u %s; have %u to %u", count,
                               limits[i].words, limits[i].min, limits[i].max);
        }
    }
    return TL_OK;
}

/* A station named elsewhere in the file by its id. */
static enum tl_err
take_named(struct tl_conf_field field, const struct tl_config *config, char id[TL_ID_CAP])
{
    enum tl_err err = tl_conf_id(field, id, TL_ID_CAP);

    if (err != TL_OK) {
        return err;
    }
    const struct tl_node *node = tl_config_node(config, id);
    if (node == NULL) {
        return tl_conf_say(field.item, field.key, "%s %s is not among the nodes; name one of them",
                           field.key, id);
    }
    if (node->kind != TL_NODE_STATION) {
        return tl_conf_say(field.item, field.key, "%s %s is a %s; name a station", field.key, id,
                           tl_node_kind_name(node->kind));
    }
    return TL_OK;
}

/* Who may speak by voice for a station: others that are named among the nodes. */
static enum tl_err
take_voice(const struct tl_conf_item *item, const struct tl_conf_raw_node *raw,
           const struct tl_config *config, struct tl_node *node)
{
    for (uint32_t i = 0; i < raw->voice_by_count; i++) {
        char id[TL_ID_CAP];
        enum tl_err err =
            take_named((struct tl_conf_field){item, "voice_by", raw->voice_by[i]}, config, id);
        if (err != TL_OK) {
            return err;
        }
        if (node->kind != TL_NODE_STATION || strcmp(id, node->id) == 0) {
            return tl_conf_say(item, "voice_by",
                               "voice_by of %s names %s: only other stations speak for a station; "
                               "remove it",
                               node->id, id);
        }
        node->voice_by |= 1u << tl_config_place(config, id);
    }
    return TL_OK;
}

static enum tl_err
take_override_by(const struct tl_conf_item *top, const struct tl_conf_raw_stations *raw,
                 struct tl_config *config)
{
    for (uint32_t i = 0; i < raw->override_by_count; i++) {
        char id[TL_ID_CAP];
        enum tl_err err =
            take_named((struct tl_conf_field){top, "override_by", raw->override_by[i]}, config, id);
        if (err != TL_OK) {
            return err;
        }
        for (uint32_t k = 0; k < config->node_count; k++) {
            struct tl_node *node = &config->node[k];
            node->may_override = node->may_override || strcmp(node->id, id) == 0;
        }
    }
    return TL_OK;
}

static enum tl_err
take_people(const struct tl_conf_item *top, const struct tl_conf_raw_stations *raw,
            struct tl_config *config)
{
    enum tl_err err = take_override_by(top, raw, config);

    for (uint32_t i = 0; i < raw->nodes_count && err == TL_OK; i++) {
        struct tl_conf_item item = tl_conf_item_of(top->file, top->fault, "nodes", i);
        err = take_voice(&item, &raw->nodes[i], config, &config->node[i]);
    }
    return err;
}

static enum tl_err
take_duties(const struct tl_conf_item *top, const struct tl_conf_raw_stations *raw,
            struct tl_config *config)
{
    enum tl_err err = take_named((struct tl_conf_field){top, "clear_owner", raw->clear_owner},
                                 config, config->clear_owner);

    if (err == TL_OK) {
        err = take_named((struct tl_conf_field){top, "repeater_reader", raw->repeater_reader},
                         config, config->repeater_reader);
    }
    if (err != TL_OK) {
        return err;
    }
    /* Who keyed the setting must not also vouch for it. */
    if (tl_config_node(config, config->repeater_reader)->station == TL_STATION_ENGINE) {
        return tl_conf_say(top, "repeater_reader",
                           "repeater_reader %s is an engine, which would check its own setting; "
                           "name another station",
                           config->repeater_reader);
    }
    return TL_OK;
}

enum tl_err
tl_conf_take_stations(const struct tl_conf_file *file, struct tl_config *config,
                      struct tl_conf_fault *fault)
{
    struct tl_conf_item top = tl_conf_item_of(file, fault, NULL, 0);
    void *read = NULL;
    enum tl_err err = tl_conf_schema_read(file, TL_CONF_STATIONS, &read, fault);

    if (err != TL_OK) {
        return err;
    }
    const struct tl_conf_raw_stations *raw = read;
    config->node_count = 0;
    for (uint32_t i = 0; i < raw->nodes_count && err == TL_OK; i++) {
        struct tl_conf_item item = tl_conf_item_of(file, fault, "nodes", i);
        err = take_node(&item, &raw->nodes[i], config);
    }
    if (err == TL_OK) {
        err = check_counts(&top, config);
    }
    if (err == TL_OK) {
        err = take_duties(&top, raw, config);
    }
    if (err == TL_OK) {
        err = take_people(&top, raw, config);
    }
    tl_conf_schema_free(TL_CONF_STATIONS, read);
    return err;
}
