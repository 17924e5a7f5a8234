/* SPDX-License-Identifier: Apache-2.0 */
/* config.c - look-ups and authority over the configuration. See config.h. */
#include "proto/vocab/config.h"

#include <string.h>

const struct tl_node *
tl_config_node(const struct tl_config *config, const char *id)
{
    for (uint32_t i = 0; i < config->node_count; i++) {
        if (strncmp(config->node[i].id, id, TL_ID_CAP) == 0) {
            return &config->node[i];
        }
    }
    return NULL;
}

const struct tl_node *
tl_config_station(const struct tl_config *config, enum tl_station_kind kind, uint32_t unit)
{
    for (uint32_t i = 0; i < config->node_count; i++) {
        const struct tl_node *node = &config->node[i];
        if (node->kind == TL_NODE_STATION && node->station == kind && node->unit == unit) {
            return node;
        }
    }
    return NULL;
}

const struct tl_aircraft_type *
tl_config_type(const struct tl_config *config, const char *id)
{
    for (uint32_t i = 0; i < config->type_count; i++) {
        if (strncmp(config->type[i].id, id, TL_TYPE_CAP) == 0) {
            return &config->type[i];
        }
    }
    return NULL;
}

const struct tl_engine_gear *
tl_config_engine(const struct tl_config *config, uint32_t unit)
{
    for (uint32_t i = 0; i < config->gear.engine_count; i++) {
        if (config->gear.engine[i].unit == unit) {
            return &config->gear.engine[i];
        }
    }
    return NULL;
}

const struct tl_key *
tl_config_key(const struct tl_config *config, const char *node, uint32_t epoch)
{
    for (uint32_t i = 0; i < config->key_count; i++) {
        const struct tl_key *key = &config->key[i];
        if (key->epoch == epoch && strncmp(key->node, node, TL_ID_CAP) == 0) {
            return key;
        }
    }
    return NULL;
}

const char *
tl_station_kind_name(enum tl_station_kind kind)
{
    static const char *const NAMES[TL_STATION_KINDS] = {
        [TL_STATION_UNKNOWN] = "unknown",   [TL_STATION_ENGINE] = "engine",
        [TL_STATION_DECK] = "deck",         [TL_STATION_APPROACH] = "approach",
        [TL_STATION_PLATFORM] = "platform", [TL_STATION_PRIMARY] = "primary",
        [TL_STATION_BRIDGE] = "bridge",
    };
    return (unsigned)kind < TL_STATION_KINDS ? NAMES[kind] : NAMES[TL_STATION_UNKNOWN];
}

const char *
tl_node_kind_name(enum tl_node_kind kind)
{
    switch (kind) {
    case TL_NODE_STATION:
        return "station";
    case TL_NODE_VALIDATOR:
        return "validator";
    case TL_NODE_RECORDER:
        return "recorder";
    case TL_NODE_RELAY:
        return "broker";
    case TL_NODE_VIEWER:
        return "viewer";
    case TL_NODE_UNKNOWN:
        break;
    }
    return "unknown";
}

static bool
may_state_deck(const struct tl_config *config, const struct tl_node *node,
               const struct tl_datum *datum)
{
    bool owner = strncmp(config->clear_owner, node->id, TL_ID_CAP) == 0;
    if (datum->slot != 0) {
        return false;
    }
    if (!datum->known || datum->as.deck.state == TL_DECK_FOUL) {
        return owner || node->may_foul;
    }
    if (datum->as.deck.state == TL_DECK_CLEAR) {
        return owner;
    }
    return !owner && node->may_foul;
}

bool
tl_config_may_state(const struct tl_config *config, const struct tl_node *node,
                    const struct tl_datum *datum)
{
    if (node->kind != TL_NODE_STATION) {
        return false;
    }
    switch (datum->kind) {
    case TL_DATUM_RECOVERY:
        return node->station == TL_STATION_PRIMARY && datum->slot == 0;
    case TL_DATUM_ORDER:
        return node->station == TL_STATION_PRIMARY && datum->slot != 0;
    case TL_DATUM_SET:
    case TL_DATUM_BATTERY:
        return node->station == TL_STATION_ENGINE && datum->slot == 0;
    case TL_DATUM_REPEATER:
        return strncmp(config->repeater_reader, node->id, TL_ID_CAP) == 0 &&
               tl_config_engine(config, datum->slot) != NULL;
    case TL_DATUM_DECK:
        return may_state_deck(config, node, datum);
    case TL_DATUM_CALL:
    case TL_DATUM_HOOK:
        return node->station == TL_STATION_PLATFORM && datum->slot == 0;
    case TL_DATUM_RESULT:
        return node->station == TL_STATION_PLATFORM && datum->slot != 0;
    case TL_DATUM_INBOUND:
        return node->station == TL_STATION_APPROACH && datum->slot != 0;
    case TL_DATUM_UNKNOWN:
    case TL_DATUM_KINDS:
        break;
    }
    return false;
}

bool
tl_config_may_publish(const struct tl_node *node, const struct tl_topic *topic)
{
    if (strncmp(node->id, topic->publisher, TL_ID_CAP) != 0) {
        return false;
    }
    switch (topic->kind) {
    case TL_TOPIC_BEAT:
        return node->kind == TL_NODE_STATION || node->kind == TL_NODE_VIEWER ||
               node->kind == TL_NODE_RECORDER;
    case TL_TOPIC_CHANGE:
        return node->kind == TL_NODE_STATION;
    case TL_TOPIC_VERDICT:
    case TL_TOPIC_PICTURE:
    case TL_TOPIC_ALERT:
    case TL_TOPIC_RECEIPT:
    case TL_TOPIC_JUDGED:
        return node->kind == TL_NODE_VALIDATOR;
    case TL_TOPIC_RECORDED:
        return node->kind == TL_NODE_RECORDER;
    case TL_TOPIC_BUS:
        return node->kind == TL_NODE_RELAY;
    case TL_TOPIC_UNKNOWN:
    case TL_TOPIC_KINDS:
        break;
    }
    return false;
}
