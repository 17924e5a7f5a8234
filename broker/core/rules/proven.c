/* SPDX-License-Identifier: Apache-2.0 */
/*
 * proven.c - the second barrier: is every fact that READY rests on positively there?
 *
 * Written as one conjunction over the held data and not over the rules, so that a rule that is
 * missing, returns early, or is out of the table cannot make READY by its silence.
 */
#include <string.h>

#include "broker/core/rules/check.h"

static bool
off(const struct tl_fold *fold, enum tl_rule rule)
{
    return fold->config->ship.rule_off[rule];
}

static bool
stations_live(const struct tl_fold *fold, uint64_t now_ms)
{
    for (uint32_t i = 0; i < fold->told_count; i++) {
        const struct tl_told *told = &fold->told[i];
        if (!told->live || !told->echoed || !told->based || told->twin ||
            now_ms - told->echo_sent_ms > TL_LOST_MS || now_ms - told->back_ms < TL_HOLD_MS) {
            return false;
        }
    }
    return fold->told_count > 0;
}

static bool
engine_proven(const struct tl_fold *fold, const struct tl_listed_event *current, uint32_t unit)
{
    const struct tl_told *told = tl_told_of(fold, TL_STATION_ENGINE, unit);
    const struct tl_told *reader = tl_fold_told_const(fold, fold->config->repeater_reader);
    const struct tl_aircraft_type *type = tl_config_type(fold->config, current->order.type);
    const struct tl_held *set = tl_stated(told, TL_DATUM_SET, 0, current->event);
    const struct tl_held *battery = tl_stated(told, TL_DATUM_BATTERY, 0, current->event);
    const struct tl_held *dial = tl_stated(reader, TL_DATUM_REPEATER, unit, current->event);
    if (set == NULL || type == NULL) {
        return false;
    }
    uint32_t set_lb = set->datum.as.set_lb;
    return tl_apart(set_lb, type->setting_lb) <= type->setting_tolerance_lb &&
           tl_apart(set_lb, current->order.weight_lb) <= fold->config->gear.agree_tolerance_lb &&
           (off(fold, TL_RULE_NOT_IN_BATTERY) ||
            (battery != NULL && battery->datum.as.battery == TL_BATTERY_IN)) &&
           (off(fold, TL_RULE_REPEATER_DIFFERS) ||
            (dial != NULL && dial->datum.as.repeater_lb == set_lb));
}

static bool
engines_proven(const struct tl_fold *fold, const struct tl_listed_event *current)
{
    uint32_t proven = 0;
    const struct tl_gear *gear = &fold->config->gear;
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        if (!gear->engine[i].in_service) {
            continue;
        }
        if (!engine_proven(fold, current, gear->engine[i].unit)) {
            return false;
        }
        proven++;
    }
    return proven > 0;
}

static bool
deck_proven(const struct tl_fold *fold, struct tl_event event)
{
    const struct tl_told *owner = tl_fold_told_const(fold, fold->config->clear_owner);
    const struct tl_held *clear = tl_stated(owner, TL_DATUM_DECK, 0, event);
    if (clear == NULL || clear->datum.as.deck.state != TL_DECK_CLEAR) {
        return false;
    }
    for (uint32_t i = 0; i < fold->told_count; i++) {
        const struct tl_told *told = &fold->told[i];
        const struct tl_held *word = tl_told_held(told, TL_DATUM_DECK, 0);
        if (told != owner && told->node->may_foul &&
            (word == NULL || !word->datum.known || word->datum.as.deck.state != TL_DECK_NO_FOUL)) {
            return false;
        }
    }
    return true;
}

static bool
final_proven(const struct tl_fold *fold, const struct tl_listed_event *current)
{
    const struct tl_told *platform = tl_told_of(fold, TL_STATION_PLATFORM, 0);
    const struct tl_held *call = tl_stated(platform, TL_DATUM_CALL, 0, current->event);
    const struct tl_held *hook = tl_stated(platform, TL_DATUM_HOOK, 0, current->event);
    bool called = call != NULL && call->datum.as.call.side == current->order.side &&
                  strncmp(call->datum.as.call.type, current->order.type, TL_TYPE_CAP) == 0;
    bool down = hook != NULL && hook->datum.as.hook == TL_HOOK_DOWN;
    return (called || off(fold, TL_RULE_TYPE_CALLED_DIFFERS)) &&
           (down || off(fold, TL_RULE_HOOK_NOT_DOWN));
}

bool
tl_is_proven(const struct tl_fold *fold, uint64_t now_ms)
{
    const struct tl_listed_event *current = tl_events_current(&fold->list);
    return current != NULL && current->order_known && !current->ended &&
           current->order.state == TL_ORDER_ORDERED && fold->list.heard && fold->list.open &&
           !fold->list.restarted && stations_live(fold, now_ms) && engines_proven(fold, current) &&
           (off(fold, TL_RULE_DECK_FOUL) || deck_proven(fold, current->event)) &&
           final_proven(fold, current) &&
           (off(fold, TL_RULE_WIND_UNKNOWN) || tl_wind_now(fold, now_ms) == TL_WIND_KNOWN);
}
