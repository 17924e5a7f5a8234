/* SPDX-License-Identifier: Apache-2.0 */
/*
 * checks_pass.c - rules about the pass as a whole. See check.h.
 *
 * The aircraft's actual weight, the wires that are left and the aid on them, the barricade, and
 * whether every station is manned.
 */
#include <string.h>

#include "broker/core/rules/check.h"

/* The actual weight is approach's; without it nothing can be said of it. */
void
tl_check_over_trap_weight(struct tl_check *check)
{
    const struct tl_told *approach = NULL;
    const struct tl_held *held = tl_inbound_of_current(check, &approach);
    if (check->current == NULL || !check->current->order_known) {
        return;
    }
    if (held == NULL) {
        struct tl_cause *cause =
            tl_cause_add(check, approach != NULL ? approach->node : NULL, tl_due_state(check));
        tl_key_by_order(check, cause);
    } else if (check->type != NULL && held->datum.as.inbound.weight_lb > check->type->max_trap_lb) {
        tl_cause_bound(check, approach, held,
                       (int64_t[]){held->datum.as.inbound.weight_lb, check->type->max_trap_lb});
    }
}

/* Set for the type, and still below the aircraft: not told again where another rule tells it. */
static void
setting_light(struct tl_check *check, uint32_t unit)
{
    const struct tl_told *approach = NULL;
    const struct tl_told *told = NULL;
    const struct tl_held *set = NULL;
    const struct tl_held *inbound = tl_inbound_of_current(check, &approach);
    enum tl_setting setting = tl_setting_of(check, unit, &told, &set);
    bool for_type = setting == TL_SETTING_RIGHT || setting == TL_SETTING_NOT_ORDERED;
    if (inbound == NULL || !for_type || check->type == NULL) {
        return;
    }
    uint32_t actual_lb = inbound->datum.as.inbound.weight_lb;
    uint32_t set_lb = set->datum.as.set_lb;
    if (actual_lb <= check->type->max_trap_lb &&
        set_lb + check->fold->config->gear.agree_tolerance_lb < actual_lb) {
        tl_cause_bound(check, told, set, (int64_t[]){set_lb, actual_lb});
    }
}

void
tl_check_setting_light(struct tl_check *check)
{
    tl_each_engine(check, setting_light);
}

/* ---- wires that are left ---- */

static const struct tl_told *
wires_of(const struct tl_check *check)
{
    return tl_told_of(check->fold, TL_STATION_WIRES, 0);
}

/* Wires that can be caught and are braked. */
struct usable {
    uint32_t wires; /* bits of wire number */
    uint32_t count;
};

/* False: for some it is not known, which is a cause of its own. */
static bool
usable_wires(const struct tl_check *check, struct usable *usable)
{
    const struct tl_gear *gear = &check->fold->config->gear;
    *usable = (struct usable){0};
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        const struct tl_engine_gear *engine = &gear->engine[i];
        const struct tl_held *rig = tl_known(check, wires_of(check), TL_DATUM_RIG, engine->wire);
        if (rig == NULL) {
            return false;
        }
        if (rig->datum.as.rig == TL_RIG_RIGGED &&
            tl_is_in_service(check->fold, check->now_ms, engine)) {
            usable->wires |= 1u << engine->wire;
            usable->count++;
        }
    }
    return true;
}

void
tl_check_too_few_wires(struct tl_check *check)
{
    struct usable usable;
    uint32_t least = check->fold->config->gear.wires_min;
    if (check->current == NULL || tl_is_barricade_pass(check) || !usable_wires(check, &usable) ||
        usable.count >= least) {
        return;
    }
    struct tl_cause *cause = tl_cause_add(check, NULL, TL_CAUSE_WRONG);
    tl_cause_number(&cause->reported, usable.count);
    tl_cause_number(&cause->needed, least);
    tl_key_by_order(check, cause);
}

/* The wire to aim at with those that are usable; 0 = it cannot be said. */
static uint32_t
target_wire(const struct tl_check *check)
{
    struct usable usable;
    if (!usable_wires(check, &usable) || usable.count == 0) {
        return 0;
    }
    uint32_t left = check->fold->config->gear.target_of_usable[usable.count - 1];
    for (uint32_t wire = 1; wire <= TL_ENGINES_MAX; wire++) {
        left -= (usable.wires >> wire & 1u) != 0 ? 1u : 0;
        if (left == 0) {
            return wire;
        }
    }
    return 0;
}

/* The aid's word for this pass while it works, or NULL: that is told by other rules. */
static const struct tl_held *
aid_at_work(const struct tl_check *check, const struct tl_told **aid)
{
    *aid = tl_told_of(check->fold, TL_STATION_AID, 0);
    const struct tl_held *held =
        check->current != NULL ? tl_said(check, *aid, TL_DATUM_AID, 0) : NULL;
    return held != NULL && held->datum.as.aid.state == TL_AID_WORKING ? held : NULL;
}

void
tl_check_aid_target(struct tl_check *check)
{
    const struct tl_told *aid = NULL;
    const struct tl_held *held = aid_at_work(check, &aid);
    uint32_t target = target_wire(check);
    if (held == NULL || target == 0 || tl_is_barricade_pass(check)) {
        return;
    }
    uint32_t aimed = held->datum.as.aid.target_wire;
    if (aimed == 0) {
        tl_key_by_order(check, tl_cause_add(check, aid->node, tl_due_state(check)));
    } else if (aimed != target) {
        tl_cause_bound(check, aid, held, (int64_t[]){aimed, target});
    }
}

/* The basic angle of that wind over deck; 0 when there is no band. */
static uint32_t
angle_of(const struct tl_ship *ship, uint32_t wind_kt_x10)
{
    uint32_t angle = 0;
    for (uint32_t i = 0; i < ship->aid_angle_count; i++) {
        angle = wind_kt_x10 >= ship->aid_angle[i].from_kt_x10 ? ship->aid_angle[i].angle_deg_x100
                                                              : angle;
    }
    return angle;
}

/* Near a change of angle either is right, so that a gust does not raise an alert. */
void
tl_check_aid_angle(struct tl_check *check)
{
    const struct tl_ship *ship = &check->fold->config->ship;
    const struct tl_wind *wind = tl_wind_of(check->fold, check->now_ms);
    const struct tl_told *aid = NULL;
    const struct tl_held *held = aid_at_work(check, &aid);
    if (held == NULL || wind == NULL || wind->state != TL_WIND_KNOWN) {
        return;
    }
    uint32_t angle = held->datum.as.aid.angle_deg_x100;
    uint32_t speed = wind->deck_speed_kt_x10;
    uint32_t slack = ship->aid_angle_slack_kt_x10;
    if (angle == 0) {
        tl_key_by_order(check, tl_cause_add(check, aid->node, tl_due_state(check)));
    } else if (angle != angle_of(ship, speed > slack ? speed - slack : 0) &&
               angle != angle_of(ship, speed + slack) && angle != angle_of(ship, speed)) {
        tl_cause_bound(check, aid, held, (int64_t[]){angle, angle_of(ship, speed)});
    }
}

/* ---- into the barricade ---- */

/* Not yet is not wrong: what is not as it must be is pending until due. */
static enum tl_cause_state
until_due(const struct tl_check *check, bool known)
{
    enum tl_cause_state due = tl_due_state(check);
    return known && due == TL_CAUSE_OVERDUE ? TL_CAUSE_WRONG : due;
}

static void
add_not_rigged(struct tl_check *check, const struct tl_told *told, const struct tl_held *held,
               const char *word)
{
    struct tl_cause *cause =
        tl_cause_add(check, told != NULL ? told->node : NULL, until_due(check, held != NULL));
    if (held != NULL) {
        tl_cause_word(&cause->reported, word);
        tl_key_by_held(cause, told, held);
    } else {
        tl_key_by_order(check, cause);
    }
}

void
tl_check_barricade_rigged(struct tl_check *check)
{
    const struct tl_told *barricade = tl_told_of(check->fold, TL_STATION_BARRICADE, 0);
    if (!tl_is_barricade_pass(check)) {
        return;
    }
    const struct tl_held *held = tl_known(check, barricade, TL_DATUM_BARRICADE, 0);
    const struct tl_held *up = tl_known(check, wires_of(check), TL_DATUM_STANCHIONS, 0);
    if (held == NULL || held->datum.as.barricade.state != TL_BARRICADE_RIGGED) {
        add_not_rigged(check, barricade, held,
                       held != NULL ? tl_barricade_word(held->datum.as.barricade.state) : "");
    }
    if (up == NULL || up->datum.as.stanchions != TL_STANCHION_RAISED) {
        add_not_rigged(check, wires_of(check), up, "stanchions");
    }
}

void
tl_check_barricade_wires(struct tl_check *check)
{
    uint32_t strip = check->fold->config->gear.barricade.strip;
    for (uint32_t wire = 1; tl_is_barricade_pass(check) && wire <= TL_ENGINES_MAX; wire++) {
        const struct tl_held *rig = tl_known(check, wires_of(check), TL_DATUM_RIG, wire);
        bool stripped = rig != NULL && rig->datum.as.rig == TL_RIG_STRIPPED;
        if ((strip >> wire & 1u) == 0 || stripped) {
            continue;
        }
        const struct tl_told *wires = wires_of(check);
        struct tl_cause *cause =
            tl_cause_add(check, wires != NULL ? wires->node : NULL, until_due(check, rig != NULL));
        tl_cause_number(rig != NULL ? &cause->reported : &cause->needed, wire);
        if (rig != NULL) {
            tl_key_by_held(cause, wires, rig);
        } else {
            tl_key_by_order(check, cause);
        }
    }
}

/* Webbing that has held an aircraft is never used again. */
void
tl_check_webbing(struct tl_check *check)
{
    const struct tl_told *barricade = tl_told_of(check->fold, TL_STATION_BARRICADE, 0);
    if (!tl_is_barricade_pass(check)) {
        return;
    }
    const struct tl_held *held = tl_known(check, barricade, TL_DATUM_BARRICADE, 0);
    if (held != NULL && held->datum.as.barricade.webbing_used) {
        struct tl_cause *cause = tl_cause_add(check, barricade->node, TL_CAUSE_WRONG);
        tl_key_by_held(cause, barricade, held);
    }
}

/* ---- people ---- */

/* Somebody must sit at every station, unless two speak for all that it owes. */
void
tl_check_not_manned(struct tl_check *check)
{
    const struct tl_fold *fold = check->fold;
    for (uint32_t i = 0; check->current != NULL && i < fold->told_count; i++) {
        const struct tl_told *told = &fold->told[i];
        bool covered = !told->live && tl_is_covered_by_voice(fold, check->now_ms, told);
        if (!covered) {
            (void)tl_need(check, told, TL_DATUM_WATCH, 0);
        }
    }
}
