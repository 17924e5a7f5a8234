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

int
tl_config_place(const struct tl_config *config, const char *id)
{
    int place = 0;
    for (uint32_t i = 0; i < config->node_count; i++) {
        if (config->node[i].kind != TL_NODE_STATION) {
            continue;
        }
        if (strncmp(config->node[i].id, id, TL_ID_CAP) == 0) {
            return place;
        }
        place++;
    }
    return -1;
}

const struct tl_node *
tl_config_at(const struct tl_config *config, uint32_t place)
{
    for (uint32_t i = 0; i < config->node_count; i++) {
        if (config->node[i].kind == TL_NODE_STATION && place-- == 0) {
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

bool
tl_gear_has_wire(const struct tl_gear *gear, uint32_t wire)
{
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        if (gear->engine[i].wire == wire) {
            return true;
        }
    }
    return false;
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
        [TL_STATION_UNKNOWN] = "unknown",
        [TL_STATION_ENGINE] = "engine",
        [TL_STATION_DECK] = "deck",
        [TL_STATION_APPROACH] = "approach",
        [TL_STATION_PLATFORM] = "platform",
        [TL_STATION_PRIMARY] = "primary",
        [TL_STATION_BRIDGE] = "bridge",
        [TL_STATION_WIRES] = "wires",
        [TL_STATION_TRACKS] = "tracks",
        [TL_STATION_AID] = "aid",
        [TL_STATION_GEAR_OFFICER] = "gear-officer",
        [TL_STATION_BARRICADE] = "barricade",
        [TL_STATION_SAFETY] = "safety",
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
    bool other = !owner && (node->may_foul || node->may_stop);
    if (!datum->known) {
        return owner || other;
    }
    switch (datum->as.deck.state) {
    case TL_DECK_FOUL:
        return owner || node->may_foul;
    case TL_DECK_STOP:
        return node->may_stop;
    case TL_DECK_CLEAR:
        return owner;
    case TL_DECK_NO_FOUL:
        return other;
    case TL_DECK_UNKNOWN:
        break;
    }
    return false;
}

/* What the slot of a kind stands for. */
enum slot_rule {
    SLOT_NONE = 0,
    SLOT_ANY,
    SLOT_ENGINE,
    SLOT_WIRE,
    SLOT_TRACK
};
struct right {
    enum tl_station_kind station; /* UNKNOWN: has a rule of its own, or any station */
    enum slot_rule slot;
    bool voice; /* may be said by voice for a station that is lost */
};
/*
 * Primary alone gives out events; nobody acknowledges, signs or has the watch for another.
 */
static const struct right RIGHTS[TL_DATUM_KINDS] = {
    [TL_DATUM_RECOVERY] = {TL_STATION_PRIMARY, SLOT_NONE, false},
    [TL_DATUM_ORDER] = {TL_STATION_PRIMARY, SLOT_ANY, false},
    [TL_DATUM_SET] = {TL_STATION_ENGINE, SLOT_NONE, true},
    [TL_DATUM_BATTERY] = {TL_STATION_ENGINE, SLOT_NONE, true},
    [TL_DATUM_ACCUMULATOR] = {TL_STATION_ENGINE, SLOT_NONE, true},
    [TL_DATUM_CROSSHEAD] = {TL_STATION_ENGINE, SLOT_NONE, true},
    [TL_DATUM_REPEATER] = {TL_STATION_UNKNOWN, SLOT_ENGINE, true},
    [TL_DATUM_DECK] = {TL_STATION_UNKNOWN, SLOT_NONE, true},
    [TL_DATUM_CALL] = {TL_STATION_PLATFORM, SLOT_NONE, true},
    [TL_DATUM_HOOK] = {TL_STATION_PLATFORM, SLOT_NONE, true},
    [TL_DATUM_RESULT] = {TL_STATION_PLATFORM, SLOT_ANY, true},
    [TL_DATUM_INBOUND] = {TL_STATION_APPROACH, SLOT_ANY, true},
    [TL_DATUM_RIG] = {TL_STATION_WIRES, SLOT_WIRE, true},
    [TL_DATUM_SHEAVE] = {TL_STATION_WIRES, SLOT_WIRE, true},
    [TL_DATUM_PENDANT] = {TL_STATION_WIRES, SLOT_WIRE, true},
    [TL_DATUM_FREE] = {TL_STATION_WIRES, SLOT_NONE, true},
    [TL_DATUM_RETRACT] = {TL_STATION_WIRES, SLOT_NONE, true},
    [TL_DATUM_STANCHIONS] = {TL_STATION_WIRES, SLOT_NONE, true},
    [TL_DATUM_TRACK] = {TL_STATION_TRACKS, SLOT_TRACK, true},
    [TL_DATUM_AID] = {TL_STATION_AID, SLOT_NONE, true},
    [TL_DATUM_CABLE] = {TL_STATION_GEAR_OFFICER, SLOT_ENGINE, true},
    [TL_DATUM_BARRICADE] = {TL_STATION_BARRICADE, SLOT_NONE, true},
    [TL_DATUM_BARRICADE_POWER] = {TL_STATION_BARRICADE, SLOT_NONE, true},
    [TL_DATUM_WATCH] = {TL_STATION_UNKNOWN, SLOT_NONE, false},
    [TL_DATUM_ACKNOWLEDGED] = {TL_STATION_UNKNOWN, SLOT_ANY, false},
    [TL_DATUM_OVERRIDE] = {TL_STATION_UNKNOWN, SLOT_ANY, false},
    [TL_DATUM_OUT_OF_SERVICE] = {TL_STATION_UNKNOWN, SLOT_ANY, false},
    [TL_DATUM_SERVICE] = {TL_STATION_ENGINE, SLOT_NONE, true},
    [TL_DATUM_FLUID] = {TL_STATION_ENGINE, SLOT_NONE, true},
    [TL_DATUM_FAULT] = {TL_STATION_ENGINE, SLOT_NONE, true},
    [TL_DATUM_ARREST] = {TL_STATION_ENGINE, SLOT_NONE, true},
    [TL_DATUM_FREED] = {TL_STATION_GEAR_OFFICER, SLOT_ENGINE, true},
    [TL_DATUM_SIGNED_OFF] = {TL_STATION_GEAR_OFFICER, SLOT_ENGINE, true},
    [TL_DATUM_INSPECTED] = {TL_STATION_GEAR_OFFICER, SLOT_ENGINE, true},
    [TL_DATUM_PENDANT_LIFE] = {TL_STATION_GEAR_OFFICER, SLOT_WIRE, true},
};

static bool
slot_fits(const struct tl_config *config, enum slot_rule rule, uint32_t slot)
{
    switch (rule) {
    case SLOT_NONE:
        return slot == 0;
    case SLOT_ANY:
        return slot != 0;
    case SLOT_ENGINE:
        return tl_config_engine(config, slot) != NULL;
    case SLOT_WIRE:
        return tl_gear_has_wire(&config->gear, slot);
    case SLOT_TRACK:
        return slot >= 1 && slot <= config->ship.track_count;
    }
    return false;
}

/* kind is one of the table. */
static bool
may_state_own(const struct tl_config *config, const struct tl_node *node,
              const struct tl_datum *datum)
{
    const struct right *right = &RIGHTS[datum->kind];
    if (!slot_fits(config, right->slot, datum->slot) ||
        (right->station != TL_STATION_UNKNOWN && right->station != node->station)) {
        return false;
    }
    if (datum->kind == TL_DATUM_DECK) {
        return may_state_deck(config, node, datum);
    }
    if (datum->kind == TL_DATUM_REPEATER) {
        return strncmp(config->repeater_reader, node->id, TL_ID_CAP) == 0;
    }
    bool signs = datum->kind == TL_DATUM_OVERRIDE || datum->kind == TL_DATUM_OUT_OF_SERVICE;
    return !signs || node->may_override;
}

bool
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): who speaks, before for whom */
tl_config_may_speak_for(const struct tl_config *config, const struct tl_node *node,
                        const struct tl_node *other)
{
    int place = tl_config_place(config, node->id);
    return place >= 0 && node != other && other->kind == TL_NODE_STATION &&
           (other->voice_by >> place & 1u) != 0;
}

bool
tl_config_may_state(const struct tl_config *config, const struct tl_node *node,
                    const struct tl_datum *datum)
{
    if (node->kind != TL_NODE_STATION || datum->kind <= TL_DATUM_UNKNOWN ||
        datum->kind >= TL_DATUM_KINDS) {
        return false;
    }
    if (!tl_datum_is_voice(datum)) {
        return may_state_own(config, node, datum);
    }
    const struct tl_node *other = tl_config_node(config, datum->voice_for);
    return other != NULL && tl_config_may_speak_for(config, node, other) &&
           RIGHTS[datum->kind].voice && may_state_own(config, other, datum);
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
