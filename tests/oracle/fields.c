/* SPDX-License-Identifier: Apache-2.0 */
/* fields.c - see fields.h. */
#include "tests/oracle/fields.h"

#include <stdlib.h>
#include <string.h>

#include "tests/oracle/computed.h"
#include "tests/oracle/table.h"

enum {
    SAID_MS = 5000
};

size_t
fields_count(void)
{
    return fields_number + computed_fields_number;
}

const struct field *
fields_at(size_t i)
{
    return i < fields_number ? &fields[i] : &computed_fields[i - fields_number];
}

static void
apply(struct tl_held *held, const struct field *field, const struct field_value *value)
{
    switch (value->how) {
    case FIELD_UNSAID:
        held->datum.kind = TL_DATUM_KINDS; /* no kind, so that nothing finds it */
        break;
    case FIELD_UNKNOWN:
        held->datum.known = false;
        held->datum.stated_for_count = 0;
        break;
    case FIELD_OTHER_EVENT:
        held->datum.as = field->value[0].as.as;
        held->datum.stated_for[0].pass = 2;
        break;
    case FIELD_AGED:
        held->datum.as = value->as.as;
        held->said_ms = SCENE_NOW_MS - value->age_ms;
        break;
    case FIELD_SAID:
        held->datum.as = value->as.as;
        break;
    case FIELD_BY_HAND:
        break;
    }
}

bool
fields_open(struct fields_ship *ship)
{
    struct scene *scene = scene_ready_full();
    memset(ship, 0, sizeof *ship);
    ship->scene = scene;
    if (scene == NULL || fields_count() > FIELDS_MAX) {
        return false;
    }
    scene->config.ship.valid_s[TL_DATUM_ACCUMULATOR] = 7200;
    scene->config.ship.ramp_margin_s = 5;
    scene->config.type[0].barricade_setting_lb = 0; /* a dunlin does not go into it */
    for (uint32_t rule = 0; rule < TL_RULES_MAX; rule++) {
        scene->config.ship.due_before_ramp_s[rule] = 15;
    }
    for (size_t i = 0; i < fields_count(); i++) {
        const struct field *field = fields_at(i);
        if (field->set != NULL) {
            continue;
        }
        ship->held_of[i] = scene_held(scene, field->station, field->kind, field->slot);
        ship->held_of[i]->said_ms = SCENE_NOW_MS - SAID_MS;
        apply(ship->held_of[i], field, &field->value[0]);
    }
    set_override(scene, &(struct field_setting){0});
    computed_open(scene);
    for (size_t i = 0; i < fields_count(); i++) {
        if (ship->held_of[i] != NULL) {
            ship->good[i] = *ship->held_of[i];
        }
    }
    return true;
}

/* That value for each field that this function sets. */
static void
set_where(uint32_t *value, field_set_fn *set, uint32_t to)
{
    for (size_t i = 0; i < fields_count(); i++) {
        value[i] = fields_at(i)->set == set ? to : value[i];
    }
}

void
fields_barricade(uint32_t *value)
{
    static const struct {
        enum tl_datum_kind kind;
        uint32_t slot;
        const char *station;
        uint32_t value;
    } needs[] = {
        {TL_DATUM_SET, 0, "engine-4", 9},       {TL_DATUM_REPEATER, 4, "primary", 2},
        {TL_DATUM_RIG, 3, "wires", 1},          {TL_DATUM_RIG, 4, "wires", 1},
        {TL_DATUM_STANCHIONS, 0, "wires", 1},   {TL_DATUM_BARRICADE, 0, "barricade", 3},
        {TL_DATUM_INBOUND, 204, "approach", 7},
    };
    for (size_t i = 0; i < fields_count(); i++) {
        const struct field *field = fields_at(i);
        value[i] = 0;
        for (size_t k = 0; k < sizeof needs / sizeof needs[0]; k++) {
            bool same = field->set == NULL && field->kind == needs[k].kind &&
                        field->slot == needs[k].slot &&
                        strcmp(field->station, needs[k].station) == 0;
            value[i] = same ? needs[k].value : value[i];
        }
    }
    set_where(value, set_order, 5);
    set_where(value, set_for_barricade, 1);
    set_where(value, set_for_weight, 4);
}

void
fields_uncomputed(uint32_t *value)
{
    set_where(value, set_computed_off, 1);
}

bool
fields_is_near_computed(const struct field *field)
{
    static const enum tl_datum_kind kinds[] = {TL_DATUM_SET,     TL_DATUM_SERVICE, TL_DATUM_ARREST,
                                               TL_DATUM_FREED,   TL_DATUM_CALL,    TL_DATUM_AID,
                                               TL_DATUM_INBOUND, TL_DATUM_UNKNOWN};
    bool near = false;
    for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++) {
        near = near || field->kind == kinds[k];
    }
    return near && field->set != set_live;
}

static void
set_by_hand(struct scene *scene, const struct field *field, uint32_t value)
{
    struct field_setting to = {value, field->slot, field->station, field->value[value].text};
    field->set(scene, &to);
}

void
fields_set(struct fields_ship *ship, const uint32_t *value)
{
    for (size_t i = 0; i < fields_count(); i++) {
        if (value[i] == 0) {
            continue;
        }
        const struct field *field = fields_at(i);
        if (field->set != NULL) {
            set_by_hand(ship->scene, field, value[i]);
        } else {
            struct tl_held *held = ship->held_of[i];
            held->datum.kind = field->kind;
            apply(held, field, &field->value[value[i]]);
        }
    }
}

void
fields_restore(struct fields_ship *ship, const uint32_t *value)
{
    for (size_t i = 0; i < fields_count(); i++) {
        if (value[i] == 0) {
            continue;
        }
        if (fields_at(i)->set != NULL) {
            set_by_hand(ship->scene, fields_at(i), 0);
        } else {
            *ship->held_of[i] = ship->good[i];
        }
    }
}

/* ---- what is not a word ---- */

void
set_trap(struct scene *scene, const struct field_setting *to)
{
    static const struct tl_event traps[] = {{0, 0}, {4000, 3}, {4000, 2}, {5000, 3}};
    scene->fold.list.trap[to->slot - 1] = traps[to->value];
}

void
set_live(struct scene *scene, const struct field_setting *to)
{
    struct tl_told *told = scene_told(scene, to->station);
    told->live = told->ever_live = told->based = told->echoed = true;
    told->twin = false;
    told->echo_sent_ms = SCENE_NOW_MS - 100;
    told->away_ms = told->back_ms = 0;
    switch (to->value) {
    case 1:
        told->echo_sent_ms = SCENE_NOW_MS - 800;
        break;
    case 2:
        told->echo_sent_ms = SCENE_NOW_MS - 801;
        break;
    case 3:
    case 4:
    case 5:
    case 6:
        told->live = false;
        told->echo_sent_ms = SCENE_NOW_MS - 5000;
        told->ever_live = told->echoed = told->based = to->value == 3;
        told->away_ms = SCENE_NOW_MS - (to->value == 5 ? 1000 : (to->value == 6 ? 1001 : 60000));
        break;
    case 7:
        told->back_ms = SCENE_NOW_MS - 2999;
        break;
    case 8:
        told->back_ms = SCENE_NOW_MS - 3000;
        break;
    case 9:
        told->based = false;
        break;
    case 10:
        told->twin = true;
        break;
    default:
        break;
    }
}

void
set_order(struct scene *scene, const struct field_setting *to)
{
    static const struct {
        const char *type;
        uint32_t weight_lb;
        bool barricade;
    } orders[] = {{"plover", 34000, false}, {"plover", 34000, false}, {"stint", 34000, false},
                  {"plover", 34501, false}, {"plover", 34500, false}, {"plover", 32000, true},
                  {"curlew", 42000, true},  {"plover", 34000, false}, {"dunlin", 14500, true}};
    struct tl_list *list = &scene->fold.list;
    struct tl_listed_event *listed = &list->event[0];
    memset(listed->order.type, 0, sizeof listed->order.type);
    memcpy(listed->order.type, orders[to->value].type, strlen(orders[to->value].type));
    listed->order.weight_lb = orders[to->value].weight_lb;
    listed->order.barricade = orders[to->value].barricade;
    listed->order_known = to->value != 1;
    list->current = to->value == 7 ? (struct tl_event){0} : scene_event();
}

void
set_recovery(struct scene *scene, const struct field_setting *to)
{
    scene->fold.list.heard = to->value != 1;
    scene->fold.list.restarted = to->value == 2;
    scene->fold.list.open = to->value != 3;
    if (to->value == 3) {
        scene->fold.list.current = (struct tl_event){0};
    } else if (to->value == 0) {
        scene->fold.list.current = scene_event();
    }
}

void
set_age(struct scene *scene, const struct field_setting *to)
{
    static const uint64_t ages[] = {10000, 59999, 60000};
    scene->fold.list.current_since_ms = SCENE_NOW_MS - ages[to->value];
}

void
set_wind(struct scene *scene, const struct field_setting *to)
{
    static const int32_t down[] = {260, 200, 199};
    static const int32_t across[] = {-20, 0, 0, 70, 71, -71};
    static const uint32_t speed[] = {265, 0, 0, 0, 0, 0, 310, 309, 330, 390};
    struct tl_sample *sample = &scene_told(scene, "bridge")->samples[0];
    struct tl_wind *wind = &sample->as.wind;
    sample->kind = to->value == 12 ? TL_SAMPLE_UNKNOWN : TL_SAMPLE_WIND;
    sample->age_ms =
        to->value == 13 ? 3000 : (to->value == 14 ? 3001 : (to->value == 15 ? 300001 : 0));
    wind->keyed = to->value == 15;
    wind->state =
        to->value == 10 ? TL_WIND_DISAGREE : (to->value == 11 ? TL_WIND_UNKNOWN : TL_WIND_KNOWN);
    wind->headwind_kt_x10 = down[to->value <= 2 ? to->value : 0];
    wind->headwind_kt_x10 = to->value == 16 ? 269 : (to->value == 17 ? -1 : wind->headwind_kt_x10);
    wind->crosswind_kt_x10 = across[to->value >= 3 && to->value <= 5 ? to->value : 0];
    wind->deck_speed_kt_x10 = speed[to->value >= 6 && to->value <= 9 ? to->value : 0];
}

void
set_motion(struct scene *scene, const struct field_setting *to)
{
    static const struct tl_motion motions[] = {
        {{true, 5}, {true, -10}, {true, 30}, {true, 0}, {0}, {0}, {0}},
        {{true, -15}, {true, -10}, {true, 30}, {true, 0}, {0}, {0}, {0}},
        {{true, 16}, {true, -10}, {true, 30}, {true, 0}, {0}, {0}, {0}},
        {{true, 5}, {true, 50}, {true, 30}, {true, 0}, {0}, {0}, {0}},
        {{true, 5}, {true, -51}, {true, 30}, {true, 0}, {0}, {0}, {0}},
        {{true, 5}, {true, -10}, {true, 150}, {true, 0}, {0}, {0}, {0}},
        {{true, 5}, {true, -10}, {true, -151}, {true, 0}, {0}, {0}, {0}},
        {{true, 5}, {true, -10}, {true, 30}, {true, 100}, {0}, {0}, {0}},
        {{true, 5}, {true, -10}, {true, 30}, {true, -101}, {0}, {0}, {0}},
        {{false, 0}, {true, -10}, {true, 30}, {true, 0}, {0}, {0}, {0}},
        {{true, 5}, {false, 0}, {true, 30}, {true, 0}, {0}, {0}, {0}},
        {{true, 16}, {true, -10}, {false, 0}, {true, 0}, {0}, {0}, {0}}};
    struct tl_sample *sample = &scene_told(scene, "bridge")->samples[1];
    sample->kind = to->value == 12 ? TL_SAMPLE_UNKNOWN : TL_SAMPLE_MOTION;
    sample->age_ms = to->value == 13 ? 3000 : (to->value == 14 ? 3001 : 0);
    sample->as.motion = motions[to->value <= 11 ? to->value : 0];
}

void
set_peer(struct scene *scene, const struct field_setting *to)
{
    struct tl_peer_state *peer = &scene->outside.peer[0];
    scene->outside.peer_count = 1;
    *peer = (struct tl_peer_state){.id = "validator-2", .incarnation = 9};
    peer->differ = to->value == 1;
    peer->differ_back_ms = to->value == 2 || to->value == 3 ? SCENE_NOW_MS - 2997 - to->value : 0;
    peer->lost = to->value == 4;
    peer->keys_differ = to->value == 5;
}

void
set_bus(struct scene *scene, const struct field_setting *to)
{
    scene->outside.bus_count = 1;
    scene->outside.bus[0] = (struct tl_bus_condition){.id = "bus-a", .degraded = to->value == 1};
}

void
set_recorder(struct scene *scene, const struct field_setting *to)
{
    memcpy(scene->outside.recorder, "recorder-1", sizeof "recorder-1");
    scene->outside.recorder_lost = to->value == 1;
}

void
set_flood(struct scene *scene, const struct field_setting *to)
{
    uint32_t place = 1u << tl_config_place(&scene->config, "wires");
    scene->outside.flood_places = to->value == 1 ? place : 0;
}

static void
sign(struct scene *scene, const char *signer, const struct tl_override *override, uint64_t age_ms)
{
    struct tl_held *held = scene_held(scene, signer, TL_DATUM_OVERRIDE, 1);
    held->datum.known = override != NULL;
    held->said_ms = SCENE_NOW_MS - age_ms;
    if (override != NULL) {
        held->datum.as.override = *override;
    }
}

void
set_override(struct scene *scene, const struct field_setting *to)
{
    static const struct tl_override overrides[] = {
        {.rule = 0},
        {.rule = TL_RULE_DETORQUE_OVERDUE, .station = "gear-officer"},
        {.rule = TL_RULE_DETORQUE_OVERDUE, .station = "gear-officer"},
        {.rule = TL_RULE_BARRICADE_POWER, .station = "barricade"},
        {.rule = TL_RULE_TOO_FEW_WIRES},
        {.rule = TL_RULE_DETORQUE_OVERDUE, .station = "gear-officer"},
        {.rule = TL_RULE_SETTING_OTHER_AIRCRAFT, .station = "engine-2"}};
    struct tl_override one = overrides[to->value];
    uint64_t age_ms = to->value == 5 ? 600000 : 1000;
    memcpy(one.reason, "one pass", sizeof "one pass");
    one.valid_s = 600;
    sign(scene, "primary", to->value > 0 ? &one : NULL, age_ms);
    sign(scene, "safety", to->value > 1 ? &one : NULL, age_ms);
}
