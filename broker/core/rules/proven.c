/* SPDX-License-Identifier: Apache-2.0 */
/*
 * proven.c - the second barrier: is every fact that READY rests on positively there?
 *
 * Written as one conjunction over the held data and not over the rules, so that a rule that is
 * missing, returns early, or is out of the table cannot make READY by its silence.
 */
#include <string.h>

#include "broker/core/picture/wear.h"
#include "broker/core/rules/check.h"

static bool
off(const struct tl_fold *fold, enum tl_rule rule)
{
    return fold->config->ship.rule_off[rule];
}

/* What is asked about: one moment, one event. */
struct proof {
    const struct tl_fold *fold;
    const struct tl_outside *outside;
    uint64_t now_ms;
    const struct tl_listed_event *current;
};

static const struct tl_held *
known(const struct proof *p, const struct tl_told *told, enum tl_datum_kind kind, uint32_t slot)
{
    const struct tl_held *held = tl_word(p->fold, p->now_ms, told, kind, slot);
    return held != NULL && held->datum.known ? held : NULL;
}

static const struct tl_held *
said(const struct proof *p, const struct tl_told *told, enum tl_datum_kind kind, uint32_t slot)
{
    return tl_word_for(p->fold, p->now_ms, told, kind, slot, p->current->event);
}

static bool
stations_live(const struct tl_fold *fold, uint64_t now_ms)
{
    for (uint32_t i = 0; i < fold->told_count; i++) {
        const struct tl_told *told = &fold->told[i];
        bool fresh = told->live && now_ms - told->echo_sent_ms <= TL_LOST_MS;
        if (!fresh && tl_is_covered_by_voice(fold, now_ms, told)) {
            continue;
        }
        if (!told->live || !told->echoed || !told->based || told->twin ||
            now_ms - told->echo_sent_ms > TL_LOST_MS || now_ms - told->back_ms < TL_HOLD_MS) {
            return false;
        }
    }
    return fold->told_count > 0;
}

/* Said to be out of service by its own room; then its wire must be stripped, see wire_proven. */
static bool
is_out(const struct proof *p, const struct tl_engine_gear *engine)
{
    const struct tl_told *told = tl_told_of(p->fold, TL_STATION_ENGINE, engine->unit);
    const struct tl_held *held = known(p, told, TL_DATUM_SERVICE, 0);
    return !engine->in_service || (held != NULL && held->datum.as.service.state == TL_SERVICE_OUT);
}

/* Its wire is one that a pass into the barricade wants stripped, and it is not the barricade's. */
static bool
is_stripped_for_barricade(const struct proof *p, const struct tl_engine_gear *engine)
{
    const struct tl_barricade_gear *barricade = &p->fold->config->gear.barricade;
    return p->current->order.barricade && engine->unit != barricade->unit &&
           (barricade->strip & 1u << engine->wire) != 0;
}

static bool
setting_proven(const struct proof *p, const struct tl_aircraft_type *type,
               const struct tl_told *engine, uint32_t set_lb)
{
    const struct tl_gear *gear = &p->fold->config->gear;
    bool into_barricade = p->current->order.barricade;
    bool by_order = tl_apart(set_lb, p->current->order.weight_lb) <= gear->agree_tolerance_lb;
    if (!into_barricade) {
        return tl_apart(set_lb, type->setting_lb) <= type->setting_tolerance_lb && by_order;
    }
    if (engine->node->unit == gear->barricade.unit) {
        return type->barricade_setting_lb != 0 && by_order &&
               tl_apart(set_lb, type->barricade_setting_lb) <= type->setting_tolerance_lb;
    }
    return tl_apart(set_lb, type->setting_lb) <= type->setting_tolerance_lb;
}

/* Not heavier than it may trap, nor than what the engine is set to. */
static bool
weight_proven(const struct proof *p, const struct tl_aircraft_type *type, uint32_t set_lb)
{
    const struct tl_told *approach = tl_told_of(p->fold, TL_STATION_APPROACH, 0);
    const struct tl_held *held = known(p, approach, TL_DATUM_INBOUND, p->current->order.side);
    uint32_t actual_lb = held != NULL ? held->datum.as.inbound.weight_lb : UINT32_MAX;
    bool light = held != NULL && set_lb + p->fold->config->gear.agree_tolerance_lb < actual_lb;
    return (off(p->fold, TL_RULE_OVER_TRAP_WEIGHT) || actual_lb <= type->max_trap_lb) &&
           (off(p->fold, TL_RULE_SETTING_LIGHT) || !light);
}

static bool
engine_proven(const struct proof *p, uint32_t unit)
{
    const struct tl_fold *fold = p->fold;
    const struct tl_told *told = tl_told_of(fold, TL_STATION_ENGINE, unit);
    const struct tl_told *reader = tl_fold_told_const(fold, fold->config->repeater_reader);
    const struct tl_aircraft_type *type = tl_config_type(fold->config, p->current->order.type);
    const struct tl_held *set = said(p, told, TL_DATUM_SET, 0);
    const struct tl_held *battery = said(p, told, TL_DATUM_BATTERY, 0);
    const struct tl_held *dial = said(p, reader, TL_DATUM_REPEATER, unit);
    if (set == NULL || type == NULL) {
        return false;
    }
    uint32_t set_lb = set->datum.as.set_lb;
    return setting_proven(p, type, told, set_lb) && weight_proven(p, type, set_lb) &&
           (off(fold, TL_RULE_NOT_IN_BATTERY) ||
            (battery != NULL && battery->datum.as.battery == TL_BATTERY_IN)) &&
           (off(fold, TL_RULE_REPEATER_DIFFERS) ||
            (dial != NULL && dial->datum.as.repeater_lb == set_lb));
}

static bool
gauges_proven(const struct proof *p, uint32_t unit)
{
    const struct tl_gear_limits *limits = &p->fold->config->gear.limits;
    const struct tl_told *told = tl_told_of(p->fold, TL_STATION_ENGINE, unit);
    const struct tl_held *psi = known(p, told, TL_DATUM_ACCUMULATOR, 0);
    const struct tl_held *gap = known(p, told, TL_DATUM_CROSSHEAD, 0);
    bool pressed = psi != NULL && psi->datum.as.accumulator_psi >= limits->accumulator_min_psi &&
                   psi->datum.as.accumulator_psi <= limits->accumulator_max_psi;
    bool apart = gap != NULL && gap->datum.as.crosshead_in_x100 >= limits->crosshead_min_in_x100;
    return (pressed || off(p->fold, TL_RULE_ACCUMULATOR)) &&
           (apart || off(p->fold, TL_RULE_CROSSHEAD_GAP));
}

/* In service, whole, signed off and looked at. */
static bool
engine_state_proven(const struct proof *p, uint32_t unit)
{
    const struct tl_fold *fold = p->fold;
    const struct tl_told *told = tl_told_of(fold, TL_STATION_ENGINE, unit);
    const struct tl_told *officer = tl_told_of(fold, TL_STATION_GEAR_OFFICER, 0);
    const struct tl_held *service = known(p, told, TL_DATUM_SERVICE, 0);
    const struct tl_held *fault = known(p, told, TL_DATUM_FAULT, 0);
    const struct tl_held *fluid = known(p, told, TL_DATUM_FLUID, 0);
    const struct tl_held *signed_off = known(p, officer, TL_DATUM_SIGNED_OFF, unit);
    const struct tl_held *looked = known(p, officer, TL_DATUM_INSPECTED, unit);
    uint32_t job = service != NULL ? service->datum.as.service.job : 0;
    return (off(fold, TL_RULE_SERVICE_UNKNOWN) ||
            (service != NULL && service->datum.as.service.state == TL_SERVICE_IN)) &&
           (off(fold, TL_RULE_ENGINE_FAULT) ||
            (fault != NULL && fault->datum.as.fault.state == TL_FAULT_STATE_NONE)) &&
           (off(fold, TL_RULE_FLUID_LEVEL) ||
            (fluid != NULL && fluid->datum.as.fluid == TL_FLUID_BATTERY)) &&
           (off(fold, TL_RULE_NOT_SIGNED_OFF) || job == 0 ||
            (signed_off != NULL && signed_off->datum.as.signed_off.job == job)) &&
           (off(fold, TL_RULE_INSPECTION_OVERDUE) ||
            (looked != NULL && looked->datum.as.inspected.state == TL_INSPECTION_GOOD));
}

/* The last arrest has been read, and was within limits or that engine was freed after it. */
static bool
arrest_proven(const struct proof *p, uint32_t place)
{
    const struct tl_fold *fold = p->fold;
    const struct tl_gear_limits *limits = &fold->config->gear.limits;
    uint32_t unit = fold->config->gear.engine[place].unit;
    const struct tl_held *held =
        known(p, tl_told_of(fold, TL_STATION_ENGINE, unit), TL_DATUM_ARREST, 0);
    const struct tl_held *freed =
        known(p, tl_told_of(fold, TL_STATION_GEAR_OFFICER, 0), TL_DATUM_FREED, unit);
    struct tl_event trap = fold->list.trap[place];
    const struct tl_arrest *arrest = held != NULL ? &held->datum.as.arrest : NULL;
    if (!off(fold, TL_RULE_ARREST_UNREAD) && tl_event_is(trap) &&
        (arrest == NULL || !tl_event_equal(arrest->event, trap))) {
        return false;
    }
    bool within =
        arrest == NULL ||
        ((off(fold, TL_RULE_RAM_TRAVEL) || arrest->ram_in_x10 <= limits->ram_travel_max_in_x10) &&
         (off(fold, TL_RULE_OFF_CENTRE) ||
          arrest->off_centre_ft_x10 <= limits->off_centre_max_ft_x10) &&
         (off(fold, TL_RULE_SIDES_UNEQUAL) ||
          arrest->apart_in_x10 <= limits->sides_apart_max_in_x10));
    return within || (freed != NULL && tl_event_equal(freed->datum.as.freed.event, arrest->event));
}

static bool
engines_proven(const struct proof *p)
{
    uint32_t proven = 0;
    const struct tl_gear *gear = &p->fold->config->gear;
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        uint32_t unit = gear->engine[i].unit;
        if (is_out(p, &gear->engine[i]) || is_stripped_for_barricade(p, &gear->engine[i])) {
            continue;
        }
        if (!engine_proven(p, unit) || !gauges_proven(p, unit) || !engine_state_proven(p, unit) ||
            !arrest_proven(p, i)) {
            return false;
        }
        proven++;
    }
    return proven > 0;
}

static bool
pendant_proven(const struct proof *p, const struct tl_told *wires, uint32_t wire)
{
    const struct tl_gear_limits *limits = &p->fold->config->gear.limits;
    const struct tl_held *held = known(p, wires, TL_DATUM_PENDANT, wire);
    const struct tl_pendant *pendant = held != NULL ? &held->datum.as.pendant : NULL;
    bool high_enough = pendant != NULL && pendant->low_in_x100 >= limits->pendant_low_in_x100 &&
                       pendant->high_in_x100 != 0 &&
                       pendant->high_in_x100 <= limits->pendant_high_in_x100;
    bool good = pendant != NULL && pendant->state == TL_PENDANT_GOOD;
    return (high_enough || off(p->fold, TL_RULE_PENDANT_HEIGHT)) &&
           (good || off(p->fold, TL_RULE_PENDANT_WORN));
}

static bool
life_proven(const struct proof *p, uint32_t wire)
{
    const struct tl_told *officer = tl_told_of(p->fold, TL_STATION_GEAR_OFFICER, 0);
    const struct tl_held *held = known(p, officer, TL_DATUM_PENDANT_LIFE, wire);
    return off(p->fold, TL_RULE_PENDANT_LIFE) ||
           (held != NULL &&
            tl_wear_traps(p->fold, &held->datum) < p->fold->config->gear.limits.pendant_life);
}

static bool
wire_proven(const struct proof *p, const struct tl_told *wires, const struct tl_engine_gear *engine)
{
    const struct tl_fold *fold = p->fold;
    const struct tl_held *rig = known(p, wires, TL_DATUM_RIG, engine->wire);
    const struct tl_held *held = known(p, wires, TL_DATUM_SHEAVE, engine->wire);
    const struct tl_sheave *sheave = held != NULL ? &held->datum.as.sheave : NULL;
    bool stripped = rig != NULL && rig->datum.as.rig == TL_RIG_STRIPPED;
    bool rigged = rig != NULL && rig->datum.as.rig == TL_RIG_RIGGED;
    bool passes = sheave != NULL && (sheave->state == TL_SHEAVE_UP || sheave->bypassed);
    bool alike = sheave != NULL && (!sheave->bypassed || stripped);
    return (rig != NULL || off(fold, TL_RULE_RIG_UNKNOWN)) &&
           (passes || off(fold, TL_RULE_SHEAVE_DOWN)) &&
           (alike || off(fold, TL_RULE_BYPASS_WITH_PENDANT)) &&
           (!rigged || !is_out(p, engine) || off(fold, TL_RULE_INACTIVE_RIGGED)) &&
           (stripped || (pendant_proven(p, wires, engine->wire) && life_proven(p, engine->wire)));
}

static bool
wires_proven(const struct proof *p)
{
    const struct tl_told *wires = tl_told_of(p->fold, TL_STATION_WIRES, 0);
    const struct tl_gear *gear = &p->fold->config->gear;
    const struct tl_held *loose = said(p, wires, TL_DATUM_FREE, 0);
    const struct tl_held *home = said(p, wires, TL_DATUM_RETRACT, 0);
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        if (!wire_proven(p, wires, &gear->engine[i])) {
            return false;
        }
    }
    bool free = loose != NULL && loose->datum.as.free.state == TL_FREE_FREE;
    bool retracted = home != NULL && home->datum.as.retract.state == TL_RETRACT_RETRACTED;
    return (free || off(p->fold, TL_RULE_WIRE_NOT_FREE)) &&
           (retracted || off(p->fold, TL_RULE_RETRACT_RUNNING));
}

static bool
tracks_proven(const struct proof *p)
{
    const struct tl_told *tracks = tl_told_of(p->fold, TL_STATION_TRACKS, 0);
    for (uint32_t n = 1; n <= p->fold->config->ship.track_count; n++) {
        const struct tl_held *held = said(p, tracks, TL_DATUM_TRACK, n);
        if (held == NULL || held->datum.as.track != TL_TRACK_SECURED) {
            return false;
        }
    }
    return p->fold->config->ship.track_count > 0;
}

/* It says where it aims and how steeply; which is right is the rules' to compare. */
static bool
aim_proven(const struct proof *p, const struct tl_held *aid)
{
    bool aimed = aid != NULL && aid->datum.as.aid.target_wire != 0;
    bool angled = aid != NULL && aid->datum.as.aid.angle_deg_x100 != 0;
    return (off(p->fold, TL_RULE_AID_NOT_ON_TARGET) || p->current->order.barricade || aimed) &&
           (off(p->fold, TL_RULE_AID_ANGLE) || angled);
}

static bool
aid_proven(const struct proof *p)
{
    const struct tl_told *aid = tl_told_of(p->fold, TL_STATION_AID, 0);
    const struct tl_held *held = said(p, aid, TL_DATUM_AID, 0);
    const struct tl_aircraft_type *type = tl_config_type(p->fold->config, p->current->order.type);
    const struct tl_aircraft_type *set =
        held != NULL ? tl_config_type(p->fold->config, held->datum.as.aid.type) : NULL;
    bool works = held != NULL && held->datum.as.aid.state == TL_AID_WORKING;
    bool right = type != NULL && set != NULL && type->hook_to_eye_ft_x100 != 0 &&
                 set->hook_to_eye_ft_x100 == type->hook_to_eye_ft_x100;
    return (works || off(p->fold, TL_RULE_AID_FAULT)) &&
           (right || off(p->fold, TL_RULE_AID_NOT_FOR_TYPE)) && aim_proven(p, held);
}

static bool
barricade_proven(const struct proof *p)
{
    const struct tl_told *barricade = tl_told_of(p->fold, TL_STATION_BARRICADE, 0);
    const struct tl_told *wires = tl_told_of(p->fold, TL_STATION_WIRES, 0);
    const struct tl_held *held = known(p, barricade, TL_DATUM_BARRICADE, 0);
    const struct tl_held *stanchions = known(p, wires, TL_DATUM_STANCHIONS, 0);
    bool stowed = held != NULL && (held->datum.as.barricade.state == TL_BARRICADE_SECURE ||
                                   held->datum.as.barricade.state == TL_BARRICADE_READY);
    bool lowered = wires == NULL ||
                   (stanchions != NULL && stanchions->datum.as.stanchions == TL_STANCHION_LOWERED);
    return stowed && lowered;
}

/* Fully rigged, its stanchions up, fresh webbing, and no pendant in its way. */
static bool
into_barricade_proven(const struct proof *p)
{
    const struct tl_gear *gear = &p->fold->config->gear;
    const struct tl_told *barricade = tl_told_of(p->fold, TL_STATION_BARRICADE, 0);
    const struct tl_told *wires = tl_told_of(p->fold, TL_STATION_WIRES, 0);
    const struct tl_held *held = known(p, barricade, TL_DATUM_BARRICADE, 0);
    const struct tl_held *up = known(p, wires, TL_DATUM_STANCHIONS, 0);
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        const struct tl_held *rig = known(p, wires, TL_DATUM_RIG, gear->engine[i].wire);
        bool needed = (gear->barricade.strip & 1u << gear->engine[i].wire) != 0;
        if (needed && (rig == NULL || rig->datum.as.rig != TL_RIG_STRIPPED)) {
            return false;
        }
    }
    return gear->barricade.unit != 0 && held != NULL && up != NULL &&
           held->datum.as.barricade.state == TL_BARRICADE_RIGGED &&
           !held->datum.as.barricade.webbing_used && up->datum.as.stanchions == TL_STANCHION_RAISED;
}

static bool
barricade_as_needed(const struct proof *p)
{
    if (p->current->order.barricade) {
        return into_barricade_proven(p);
    }
    return off(p->fold, TL_RULE_BARRICADE_NOT_STOWED) || barricade_proven(p);
}

static bool
deck_proven(const struct proof *p)
{
    const struct tl_fold *fold = p->fold;
    const struct tl_told *owner = tl_fold_told_const(fold, fold->config->clear_owner);
    const struct tl_held *clear = said(p, owner, TL_DATUM_DECK, 0);
    if (clear == NULL || clear->datum.as.deck.state != TL_DECK_CLEAR) {
        return false;
    }
    for (uint32_t i = 0; i < fold->told_count; i++) {
        const struct tl_told *told = &fold->told[i];
        const struct tl_held *word = known(p, told, TL_DATUM_DECK, 0);
        bool may = told->node->may_foul || told->node->may_stop;
        if (told != owner && may &&
            (word == NULL || word->datum.as.deck.state != TL_DECK_NO_FOUL)) {
            return false;
        }
    }
    for (uint32_t i = 0; i < fold->voice_count; i++) {
        const struct tl_datum *datum = &fold->voice[i].held.datum;
        if (datum->kind == TL_DATUM_DECK && tl_datum_is_safeward(datum)) {
            return false; /* foul by one voice */
        }
    }
    return true;
}

static bool
final_proven(const struct proof *p)
{
    const struct tl_told *platform = tl_told_of(p->fold, TL_STATION_PLATFORM, 0);
    const struct tl_order *order = &p->current->order;
    const struct tl_held *call = said(p, platform, TL_DATUM_CALL, 0);
    const struct tl_held *hook = said(p, platform, TL_DATUM_HOOK, 0);
    bool called = call != NULL && call->datum.as.call.side == order->side &&
                  strncmp(call->datum.as.call.type, order->type, TL_TYPE_CAP) == 0;
    bool down = hook != NULL && hook->datum.as.hook == TL_HOOK_DOWN;
    return (called || off(p->fold, TL_RULE_TYPE_CALLED_DIFFERS)) &&
           (down || order->barricade || off(p->fold, TL_RULE_HOOK_NOT_DOWN));
}

/* The wind down and across the deck, and the ship's motion. */
static bool
sea_proven(const struct proof *p)
{
    const struct tl_fold *fold = p->fold;
    const struct tl_ship *ship = &fold->config->ship;
    const struct tl_wind *wind = tl_wind_of(fold, p->now_ms);
    const struct tl_motion *motion = tl_motion_of(fold, p->now_ms);
    const struct tl_aircraft_type *type = tl_config_type(fold->config, p->current->order.type);
    bool blows = wind != NULL && wind->state == TL_WIND_KNOWN;
    bool enough =
        blows && type != NULL && wind->headwind_kt_x10 >= (int64_t)type->min_headwind_kt_x10;
    bool along = blows && wind->crosswind_kt_x10 <= (int64_t)ship->crosswind_max_kt_x10 &&
                 -(int64_t)wind->crosswind_kt_x10 <= (int64_t)ship->crosswind_max_kt_x10;
    bool steady = motion != NULL && motion->turn_deg_min_x10.known && motion->roll_deg_x10.known;
    bool level = motion != NULL && motion->pitch_deg_x10.known && motion->heave_m_x100.known;
    return (blows || off(fold, TL_RULE_WIND_UNKNOWN)) && (enough || off(fold, TL_RULE_WIND_LOW)) &&
           (along || off(fold, TL_RULE_CROSSWIND_OVER)) &&
           (steady || off(fold, TL_RULE_SHIP_NOT_STEADY)) &&
           (level || off(fold, TL_RULE_DECK_MOTION));
}

/* Somebody is named at every station, or spoken for by two. */
static bool
manned(const struct proof *p)
{
    for (uint32_t i = 0; i < p->fold->told_count; i++) {
        const struct tl_told *told = &p->fold->told[i];
        if (known(p, told, TL_DATUM_WATCH, 0) == NULL &&
            !tl_is_covered_by_voice(p->fold, p->now_ms, told)) {
            return false;
        }
    }
    return true;
}

/* ---- what is computed ---- */

static bool
is_fresh_enough(const struct proof *p, bool worse)
{
    uint64_t late_ms = p->outside->sea_late_ms;
    return !worse || (late_ms != 0 && p->now_ms - late_ms <= TL_SEA_LATE_MS);
}

static bool
setting_holds(const struct proof *p, const struct tl_aircraft_type *type, uint32_t set_lb)
{
    const struct tl_fold *fold = p->fold;
    const struct tl_predicted_arrest *arrest = &p->outside->predicted.arrest;
    for (uint32_t i = 0; i < arrest->would_count; i++) {
        const struct tl_would *would = &arrest->would[i];
        bool stops = !would->bottoms && !would->parts &&
                     would->stroke_in_x10 <= fold->config->gear.limits.ram_travel_max_in_x10;
        if (would->set_lb == set_lb) {
            return (stops || off(fold, TL_RULE_STROKE_PREDICTED)) &&
                   (would->hook_lbf <= type->hook_load_max_lbf || off(fold, TL_RULE_HOOK_LOAD));
        }
    }
    return off(fold, TL_RULE_STROKE_PREDICTED) && off(fold, TL_RULE_HOOK_LOAD);
}

/* Every engine that takes part would stop this aircraft within its limits. */
static bool
settings_hold(const struct proof *p, const struct tl_aircraft_type *type)
{
    const struct tl_gear *gear = &p->fold->config->gear;
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        const struct tl_engine_gear *engine = &gear->engine[i];
        const struct tl_told *told = tl_told_of(p->fold, TL_STATION_ENGINE, engine->unit);
        const struct tl_held *set = said(p, told, TL_DATUM_SET, 0);
        bool takes_part = !is_out(p, engine) && !is_stripped_for_barricade(p, engine);
        if (takes_part && (set == NULL || !setting_holds(p, type, set->datum.as.set_lb))) {
            return false;
        }
    }
    return true;
}

static bool
energy_proven(const struct proof *p)
{
    const struct tl_fold *fold = p->fold;
    const struct tl_predicted *predicted = &p->outside->predicted;
    const struct tl_predicted_arrest *arrest = &predicted->arrest;
    const struct tl_aircraft_type *type = tl_config_type(fold->config, p->current->order.type);
    const struct tl_told *approach = tl_told_of(fold, TL_STATION_APPROACH, 0);
    const struct tl_held *inbound = known(p, approach, TL_DATUM_INBOUND, p->current->order.side);
    const struct tl_wind *wind = tl_wind_of(fold, p->now_ms);
    bool blows = wind != NULL && wind->state == TL_WIND_KNOWN &&
                 wind->headwind_kt_x10 >= arrest->headwind_kt_x10;
    bool margin =
        arrest->margin_percent >= (int64_t)fold->config->computed.energy_margin_least_percent;
    bool energy = arrest->energy_kftlb <= fold->config->computed.capacity_kftlb;
    return type != NULL && arrest->known && inbound != NULL &&
           strncmp(inbound->datum.as.inbound.type, predicted->type, TL_TYPE_CAP) == 0 &&
           inbound->datum.as.inbound.weight_lb == predicted->weight_lb &&
           predicted->weight_lb != 0 && is_fresh_enough(p, !blows) &&
           (energy || off(fold, TL_RULE_ENERGY_OVER)) &&
           (margin || off(fold, TL_RULE_ENERGY_THIN)) && settings_hold(p, type);
}

static bool
ramp_proven(const struct proof *p)
{
    const struct tl_predicted_ramp *ramp = &p->outside->predicted.ramp;
    const struct tl_told *told = tl_told_of(p->fold, TL_STATION_AID, 0);
    const struct tl_held *aid = said(p, told, TL_DATUM_AID, 0);
    const struct tl_motion *motion = tl_motion_of(p->fold, p->now_ms);
    int64_t pitch = motion != NULL && motion->pitch_deg_x10.known ? motion->pitch_deg_x10.value
                                                                  : TL_SEA_UNKNOWN;
    bool level = pitch <= (int64_t)ramp->pitch_deg_x10 && -pitch <= (int64_t)ramp->pitch_deg_x10;
    return ramp->known && aid != NULL && aid->datum.as.aid.state == TL_AID_WORKING &&
           strncmp(aid->datum.as.aid.type, ramp->aid_type, TL_TYPE_CAP) == 0 &&
           aid->datum.as.aid.angle_deg_x100 == ramp->angle_deg_x100 &&
           aid->datum.as.aid.target_wire == ramp->target_wire && is_fresh_enough(p, !level) &&
           ramp->clearance_ft_x10 >= (int64_t)p->fold->config->computed.ramp_clearance_least_ft_x10;
}

/* The last arrest of this recovery was as computed, or a named person has freed the engine. */
static bool
travel_proven(const struct proof *p, uint32_t unit)
{
    const struct tl_told *told = tl_told_of(p->fold, TL_STATION_ENGINE, unit);
    const struct tl_held *held = known(p, told, TL_DATUM_ARREST, 0);
    if (held == NULL || held->datum.as.arrest.event.recovery_ms != p->fold->list.recovery_ms) {
        return true;
    }
    const struct tl_arrest *arrest = &held->datum.as.arrest;
    const struct tl_told *officer = tl_told_of(p->fold, TL_STATION_GEAR_OFFICER, 0);
    const struct tl_held *freed = known(p, officer, TL_DATUM_FREED, unit);
    if (freed != NULL && tl_event_equal(freed->datum.as.freed.event, arrest->event)) {
        return true;
    }
    for (uint32_t i = 0; i < p->outside->expected_count; i++) {
        const struct tl_expected *expected = &p->outside->expected[i];
        if (expected->unit == unit && tl_event_equal(expected->event, arrest->event)) {
            uint64_t apart = tl_apart(expected->ram_in_x10, arrest->ram_in_x10);
            uint64_t percent_x10 = p->fold->config->computed.travel_apart_percent_x10;
            return apart * 1000 <= percent_x10 * expected->ram_in_x10;
        }
    }
    return false;
}

static bool
travels_proven(const struct proof *p)
{
    const struct tl_gear *gear = &p->fold->config->gear;
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        bool takes_part =
            !is_out(p, &gear->engine[i]) && !is_stripped_for_barricade(p, &gear->engine[i]);
        if (takes_part && !travel_proven(p, gear->engine[i].unit)) {
            return false;
        }
    }
    return true;
}

/* A figure computed for just this pass is there for every rule that asks for one, and is good. */
static bool
computed_proven(const struct proof *p)
{
    const struct tl_fold *fold = p->fold;
    const struct tl_predicted *predicted = &p->outside->predicted;
    bool this_pass = tl_event_equal(predicted->event, p->current->event) &&
                     strncmp(predicted->type, p->current->order.type, TL_TYPE_CAP) == 0 &&
                     predicted->barricade == p->current->order.barricade;
    bool no_arrest = off(fold, TL_RULE_HOOK_LOAD) && off(fold, TL_RULE_ENERGY_OVER) &&
                     off(fold, TL_RULE_ENERGY_THIN) && off(fold, TL_RULE_STROKE_PREDICTED);
    return (no_arrest || (this_pass && energy_proven(p))) &&
           (off(fold, TL_RULE_RAMP_CLEARANCE) || (this_pass && ramp_proven(p))) &&
           (off(fold, TL_RULE_TRAVEL_DISAGREES) || travels_proven(p));
}

bool
tl_is_proven(const struct tl_fold *fold, const struct tl_outside *outside, uint64_t now_ms)
{
    const struct tl_listed_event *current = tl_events_current(&fold->list);
    const struct proof p = {.fold = fold, .outside = outside, .now_ms = now_ms, .current = current};
    return current != NULL && current->order_known && !current->ended &&
           current->order.state == TL_ORDER_ORDERED && fold->list.heard && fold->list.open &&
           !fold->list.restarted && stations_live(fold, now_ms) && engines_proven(&p) &&
           wires_proven(&p) && (off(fold, TL_RULE_TRACK_OPEN) || tracks_proven(&p)) &&
           aid_proven(&p) && barricade_as_needed(&p) &&
           (off(fold, TL_RULE_DECK_FOUL) || deck_proven(&p)) && final_proven(&p) &&
           sea_proven(&p) && (off(fold, TL_RULE_NOT_MANNED) || manned(&p)) && computed_proven(&p);
}
