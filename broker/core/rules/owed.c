/* SPDX-License-Identifier: Apache-2.0 */
/*
 * owed.c - what a station owes for the current event, and whether two voices have said all of it.
 *
 * Beside the checks, because what is owed is what a rule that is on would ask for. Everything is
 * asked anew by voice, also what the station itself had said before it was lost: nobody there can
 * take it back.
 */
#include "broker/core/rules/check.h"

struct coverage {
    const struct tl_fold *fold;
    uint64_t now_ms;
    const struct tl_told *told;
    const struct tl_listed_event *current;
    uint32_t owed;
    bool covered;
};

static bool
on(const struct coverage *c, enum tl_rule rule)
{
    return !c->fold->config->ship.rule_off[rule];
}

static void
owes(struct coverage *c, enum tl_datum_kind kind, uint32_t slot)
{
    const struct tl_voice *voice = tl_voice_of(c->fold, c->told, kind, slot);
    const struct tl_held *word = tl_word(c->fold, c->now_ms, c->told, kind, slot);
    bool by_event = tl_datum_cadence(kind) == TL_CADENCE_EVENT ||
                    tl_datum_cadence(kind) == TL_CADENCE_EVENT_CARRIED;
    bool no_foul =
        voice != NULL && kind == TL_DATUM_DECK && voice->held.datum.as.deck.state != TL_DECK_CLEAR;
    c->owed++;
    c->covered = c->covered && voice != NULL && word == &voice->held &&
                 (!by_event || no_foul || tl_datum_is_for(&voice->held.datum, c->current->event));
}

/* The last trap on its wire, which it has to read. */
static void
owes_arrest(struct coverage *c)
{
    const struct tl_gear *gear = &c->fold->config->gear;
    for (uint32_t i = 0; on(c, TL_RULE_ARREST_UNREAD) && i < gear->engine_count; i++) {
        if (gear->engine[i].unit == c->told->node->unit && tl_event_is(c->fold->list.trap[i])) {
            owes(c, TL_DATUM_ARREST, 0);
        }
    }
}

static void
owes_engine(struct coverage *c)
{
    static const struct {
        enum tl_rule rule;
        enum tl_datum_kind kind;
    } gauges[] = {
        {TL_RULE_ACCUMULATOR, TL_DATUM_ACCUMULATOR},
        {TL_RULE_CROSSHEAD_GAP, TL_DATUM_CROSSHEAD},
        {TL_RULE_ENGINE_FAULT, TL_DATUM_FAULT},
        {TL_RULE_FLUID_LEVEL, TL_DATUM_FLUID},
    };
    const struct tl_engine_gear *gear = tl_config_engine(c->fold->config, c->told->node->unit);
    bool by_yaml = gear != NULL && gear->in_service;
    if (by_yaml && on(c, TL_RULE_SERVICE_UNKNOWN)) {
        owes(c, TL_DATUM_SERVICE, 0);
    }
    if (by_yaml && !tl_is_in_service(c->fold, c->now_ms, gear)) {
        return; /* out of service, which is all that there is to say */
    }
    owes(c, TL_DATUM_SET, 0);
    owes(c, TL_DATUM_BATTERY, 0);
    for (size_t i = 0; by_yaml && i < sizeof gauges / sizeof gauges[0]; i++) {
        if (on(c, gauges[i].rule)) {
            owes(c, gauges[i].kind, 0);
        }
    }
    owes_arrest(c);
}

static void
owes_wires(struct coverage *c)
{
    const struct tl_gear *gear = &c->fold->config->gear;
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        uint32_t wire = gear->engine[i].wire;
        const struct tl_held *rig = tl_word(c->fold, c->now_ms, c->told, TL_DATUM_RIG, wire);
        bool stripped = rig != NULL && rig->datum.known && rig->datum.as.rig == TL_RIG_STRIPPED;
        owes(c, TL_DATUM_RIG, wire);
        owes(c, TL_DATUM_SHEAVE, wire);
        if (!stripped) {
            owes(c, TL_DATUM_PENDANT, wire);
        }
    }
    owes(c, TL_DATUM_FREE, 0);
    owes(c, TL_DATUM_RETRACT, 0);
    if (on(c, c->current->order.barricade ? TL_RULE_BARRICADE_NOT_RIGGED
                                          : TL_RULE_BARRICADE_NOT_STOWED)) {
        owes(c, TL_DATUM_STANCHIONS, 0);
    }
}

/* What was freed or signed off stands for that pass or job, and is not asked anew. */
static void
owes_book(struct coverage *c)
{
    const struct tl_gear *gear = &c->fold->config->gear;
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        bool used = tl_is_in_service(c->fold, c->now_ms, &gear->engine[i]);
        if (used && on(c, TL_RULE_DETORQUE_OVERDUE)) {
            owes(c, TL_DATUM_CABLE, gear->engine[i].unit);
        }
        if (used && on(c, TL_RULE_INSPECTION_OVERDUE)) {
            owes(c, TL_DATUM_INSPECTED, gear->engine[i].unit);
        }
        if (used && on(c, TL_RULE_PENDANT_LIFE)) {
            owes(c, TL_DATUM_PENDANT_LIFE, gear->engine[i].wire);
        }
    }
}

/* False: this station cannot be spoken for. */
static bool
owes_by_kind(struct coverage *c)
{
    switch (c->told->node->station) {
    case TL_STATION_ENGINE:
        owes_engine(c);
        return true;
    case TL_STATION_WIRES:
        owes_wires(c);
        return true;
    case TL_STATION_PLATFORM:
        owes(c, TL_DATUM_CALL, 0);
        owes(c, TL_DATUM_HOOK, 0);
        return true;
    case TL_STATION_APPROACH:
        owes(c, TL_DATUM_INBOUND, c->current->order.side);
        return true;
    case TL_STATION_TRACKS:
        for (uint32_t n = 1; n <= c->fold->config->ship.track_count; n++) {
            owes(c, TL_DATUM_TRACK, n);
        }
        return true;
    case TL_STATION_AID:
        owes(c, TL_DATUM_AID, 0);
        return true;
    case TL_STATION_GEAR_OFFICER:
        owes_book(c);
        return true;
    case TL_STATION_BARRICADE:
        owes(c, TL_DATUM_BARRICADE, 0);
        owes(c, TL_DATUM_BARRICADE_POWER, 0);
        return true;
    case TL_STATION_DECK:
    case TL_STATION_SAFETY:
        return true;         /* its word on the deck, below */
    case TL_STATION_PRIMARY: /* gives out the events */
    case TL_STATION_BRIDGE:  /* the wind has no spoken form */
    case TL_STATION_UNKNOWN:
    case TL_STATION_KINDS:
        break;
    }
    return false;
}

bool
tl_is_covered_by_voice(const struct tl_fold *fold, uint64_t now_ms, const struct tl_told *told)
{
    struct coverage c = {.fold = fold, .now_ms = now_ms, .told = told, .covered = true};
    c.current = tl_events_current(&fold->list);
    if (c.current == NULL || !c.current->order_known || told->twin || !owes_by_kind(&c)) {
        return false;
    }
    bool owner = told == tl_fold_told_const(fold, fold->config->clear_owner);
    if (owner || told->node->may_foul || told->node->may_stop) {
        owes(&c, TL_DATUM_DECK, 0);
    }
    if (told == tl_fold_told_const(fold, fold->config->repeater_reader)) {
        for (uint32_t i = 0; i < fold->config->gear.engine_count; i++) {
            if (tl_is_in_service(fold, now_ms, &fold->config->gear.engine[i])) {
                owes(&c, TL_DATUM_REPEATER, fold->config->gear.engine[i].unit);
            }
        }
    }
    return c.owed > 0 && c.covered;
}
