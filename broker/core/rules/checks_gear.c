/* SPDX-License-Identifier: Apache-2.0 */
/* checks_gear.c - rules about the aircraft, the order and the engines. See check.h. */
#include <string.h>

#include "broker/core/rules/check.h"

static void
set_type(struct tl_cause_value *value, uint32_t side, const char *type)
{
    value->known = true;
    value->number = side;
    memcpy(value->word, type, TL_TYPE_CAP);
}

void
tl_check_no_event(struct tl_check *check)
{
    if (check->current == NULL) {
        (void)tl_cause_add(check, NULL, TL_CAUSE_PENDING);
    }
}

void
tl_check_order_unknown(struct tl_check *check)
{
    const struct tl_told *primary = tl_told_of(check->fold, TL_STATION_PRIMARY, 0);
    if (check->current != NULL && !check->current->order_known) {
        struct tl_cause *cause =
            tl_cause_add(check, primary != NULL ? primary->node : NULL, tl_due_state(check));
        tl_key_by_order(check, cause);
    }
}

void
tl_check_type_unknown(struct tl_check *check)
{
    if (check->current != NULL && check->current->order_known && check->type == NULL) {
        struct tl_cause *cause = tl_cause_add(check, NULL, TL_CAUSE_WRONG);
        set_type(&cause->reported, check->current->order.side, check->current->order.type);
        tl_key_by_order(check, cause);
    }
}

static void
add_call_cause(struct tl_check *check, const struct tl_told *told, const struct tl_held *held,
               uint32_t side, const char *type)
{
    struct tl_cause *cause = tl_cause_add(check, told->node, TL_CAUSE_WRONG);
    set_type(&cause->reported, side, type);
    set_type(&cause->needed, check->current->order.side, check->current->order.type);
    tl_key_by_held(cause, told, held);
}

/* The call is owed whatever is ordered; it is compared when it is known what. */
static void
check_call(struct tl_check *check, const struct tl_order *order)
{
    const struct tl_told *platform = tl_told_of(check->fold, TL_STATION_PLATFORM, 0);
    const struct tl_held *held = tl_said(check, platform, TL_DATUM_CALL, 0);
    if (held == NULL) {
        struct tl_cause *cause =
            tl_cause_add(check, platform != NULL ? platform->node : NULL, tl_due_state(check));
        tl_key_by_order(check, cause);
        return;
    }
    const struct tl_call *call = &held->datum.as.call;
    bool comparable = check->current->order_known;
    if (comparable &&
        (call->side != order->side || strncmp(call->type, order->type, TL_TYPE_CAP) != 0)) {
        add_call_cause(check, platform, held, call->side, call->type);
    }
}

/* The approach controller's word is compared only when there is one for that side number. */
static void
check_inbound(struct tl_check *check, const struct tl_order *order)
{
    const struct tl_told *approach = tl_told_of(check->fold, TL_STATION_APPROACH, 0);
    const struct tl_held *held = tl_known(check, approach, TL_DATUM_INBOUND, order->side);
    if (held != NULL && strncmp(held->datum.as.inbound.type, order->type, TL_TYPE_CAP) != 0) {
        add_call_cause(check, approach, held, held->datum.as.inbound.side,
                       held->datum.as.inbound.type);
    }
}

const struct tl_held *
tl_inbound_of_current(const struct tl_check *check, const struct tl_told **approach)
{
    *approach = tl_told_of(check->fold, TL_STATION_APPROACH, 0);
    return check->current != NULL && check->current->order_known
               ? tl_known(check, *approach, TL_DATUM_INBOUND, check->current->order.side)
               : NULL;
}

void
tl_check_ordered_diverted(struct tl_check *check)
{
    const struct tl_told *approach = NULL;
    const struct tl_held *held = tl_inbound_of_current(check, &approach);
    if (held != NULL && held->datum.as.inbound.diverted) {
        struct tl_cause *cause = tl_cause_add(check, approach->node, TL_CAUSE_WRONG);
        set_type(&cause->reported, held->datum.as.inbound.side, held->datum.as.inbound.type);
        tl_key_by_held(cause, approach, held);
    }
}

void
tl_check_inbound_trouble(struct tl_check *check)
{
    const struct tl_told *approach = NULL;
    const struct tl_held *held = tl_inbound_of_current(check, &approach);
    if (held != NULL && held->datum.as.inbound.trouble != TL_TROUBLE_NONE) {
        struct tl_cause *cause = tl_cause_add(check, approach->node, TL_CAUSE_NOTE);
        tl_cause_number(&cause->reported, held->datum.as.inbound.side);
        tl_cause_word(&cause->reported, tl_trouble_word(held->datum.as.inbound.trouble));
        tl_key_by_held(cause, approach, held);
    }
}

void
tl_check_type_called(struct tl_check *check)
{
    if (check->current != NULL) {
        check_call(check, &check->current->order);
    }
    if (check->current != NULL && check->current->order_known) {
        check_inbound(check, &check->current->order);
    }
}

enum tl_setting
tl_setting_of(const struct tl_check *check, uint32_t unit, const struct tl_told **told,
              const struct tl_held **held)
{
    const struct tl_order *order = &check->current->order;
    *told = tl_told_of(check->fold, TL_STATION_ENGINE, unit);
    *held = tl_said(check, *told, TL_DATUM_SET, 0);
    if (*held == NULL || !check->current->order_known) {
        return TL_SETTING_UNSTATED;
    }
    uint32_t set_lb = (*held)->datum.as.set_lb;
    if (check->type != NULL &&
        tl_apart(set_lb, tl_setting_needed(check, unit)) > check->type->setting_tolerance_lb) {
        return TL_SETTING_OTHER;
    }
    if (tl_is_barricade_pass(check) && unit != check->fold->config->gear.barricade.unit) {
        return TL_SETTING_RIGHT; /* primary orders the setting of the barricade's engine */
    }
    if (tl_apart(set_lb, order->weight_lb) > check->fold->config->gear.agree_tolerance_lb) {
        return TL_SETTING_NOT_ORDERED;
    }
    return TL_SETTING_RIGHT;
}

static void
setting_other(struct tl_check *check, uint32_t unit)
{
    const struct tl_told *told = NULL;
    const struct tl_held *held = NULL;
    if (tl_setting_of(check, unit, &told, &held) == TL_SETTING_OTHER) {
        struct tl_cause *cause = tl_cause_add(check, told->node, TL_CAUSE_WRONG);
        tl_cause_number(&cause->reported, held->datum.as.set_lb);
        tl_cause_number(&cause->needed, tl_setting_needed(check, unit));
        memcpy(cause->needed.word, check->type->id, TL_TYPE_CAP);
        tl_key_by_held(cause, told, held);
    }
}

void
tl_check_setting_other(struct tl_check *check)
{
    tl_each_engine(check, setting_other);
}

static void
setting_ordered(struct tl_check *check, uint32_t unit)
{
    const struct tl_told *told = NULL;
    const struct tl_held *held = NULL;
    enum tl_setting setting = tl_setting_of(check, unit, &told, &held);
    if (setting == TL_SETTING_NOT_ORDERED) {
        struct tl_cause *cause = tl_cause_add(check, told->node, TL_CAUSE_WRONG);
        tl_cause_number(&cause->reported, held->datum.as.set_lb);
        tl_cause_number(&cause->needed, check->current->order.weight_lb);
        tl_key_by_held(cause, told, held);
    } else if (setting == TL_SETTING_UNSTATED) {
        struct tl_cause *cause =
            tl_cause_add(check, told != NULL ? told->node : NULL, tl_due_state(check));
        tl_key_by_order(check, cause);
    }
}

void
tl_check_setting_ordered(struct tl_check *check)
{
    tl_each_engine(check, setting_ordered);
}

/* Only when each engine is right by itself: else that is the cause, and this its consequence. */
void
tl_check_engines_disagree(struct tl_check *check)
{
    const struct tl_gear *gear = &check->fold->config->gear;
    const struct tl_held *first = NULL;
    const struct tl_held *other = NULL;
    for (uint32_t i = 0;
         check->current != NULL && !tl_is_barricade_pass(check) && i < gear->engine_count; i++) {
        const struct tl_told *told = NULL;
        const struct tl_held *held = NULL;
        if (!tl_takes_part(check, &gear->engine[i])) {
            continue;
        }
        if (tl_setting_of(check, gear->engine[i].unit, &told, &held) != TL_SETTING_RIGHT) {
            return;
        }
        first = first != NULL ? first : held;
        other = held->datum.as.set_lb != first->datum.as.set_lb ? held : other;
    }
    if (other != NULL) {
        struct tl_cause *cause = tl_cause_add(check, NULL, TL_CAUSE_WRONG);
        tl_cause_number(&cause->reported, other->datum.as.set_lb);
        tl_cause_number(&cause->needed, first->datum.as.set_lb);
        tl_key_by_order(check, cause);
    }
}

static void
repeater(struct tl_check *check, uint32_t unit)
{
    const struct tl_told *told = NULL;
    const struct tl_held *set = NULL;
    if (tl_setting_of(check, unit, &told, &set) != TL_SETTING_RIGHT) {
        return; /* the setting itself is the cause */
    }
    const struct tl_told *reader =
        tl_fold_told_const(check->fold, check->fold->config->repeater_reader);
    const struct tl_held *held = tl_said(check, reader, TL_DATUM_REPEATER, unit);
    if (held == NULL) {
        struct tl_cause *cause = tl_cause_add(check, told->node, tl_due_state(check));
        tl_key_by_order(check, cause);
    } else if (held->datum.as.repeater_lb != set->datum.as.set_lb) {
        struct tl_cause *cause = tl_cause_add(check, told->node, TL_CAUSE_WRONG);
        tl_cause_number(&cause->reported, held->datum.as.repeater_lb);
        tl_cause_number(&cause->needed, set->datum.as.set_lb);
        tl_key_by_held(cause, told, set);
    }
}

void
tl_check_repeater(struct tl_check *check)
{
    tl_each_engine(check, repeater);
}

static void
battery(struct tl_check *check, uint32_t unit)
{
    const struct tl_told *told = tl_told_of(check->fold, TL_STATION_ENGINE, unit);
    const struct tl_held *held = tl_known(check, told, TL_DATUM_BATTERY, 0);
    bool known = held != NULL;
    if (known && held->datum.as.battery == TL_BATTERY_IN &&
        tl_datum_is_for(&held->datum, check->current->event)) {
        return;
    }
    bool out = known && held->datum.as.battery != TL_BATTERY_IN;
    enum tl_cause_state due = tl_due_state(check);
    struct tl_cause *cause = tl_cause_add(check, told != NULL ? told->node : NULL,
                                          out && due == TL_CAUSE_OVERDUE ? TL_CAUSE_WRONG : due);
    if (out) {
        tl_cause_number(&cause->reported, held->datum.as.battery);
        tl_key_by_held(cause, told, held);
    } else {
        tl_key_by_order(check, cause);
    }
}

void
tl_check_battery(struct tl_check *check)
{
    tl_each_engine(check, battery);
}

void
tl_check_no_engine(struct tl_check *check)
{
    const struct tl_gear *gear = &check->fold->config->gear;
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        if (tl_is_in_service(check->fold, check->now_ms, &gear->engine[i])) {
            return;
        }
    }
    tl_key_by_order(check, tl_cause_add(check, NULL, TL_CAUSE_WRONG));
}
