/* SPDX-License-Identifier: Apache-2.0 */
/* checks_engine.c - rules about pressures, the crosshead, cables and pendants. See check.h. */
#include <string.h>

#include "broker/core/picture/wear.h"
#include "broker/core/rules/check.h"

static void
accumulator(struct tl_check *check, uint32_t unit)
{
    const struct tl_gear_limits *limits = &check->fold->config->gear.limits;
    const struct tl_told *told = tl_told_of(check->fold, TL_STATION_ENGINE, unit);
    const struct tl_held *held = tl_need(check, told, TL_DATUM_ACCUMULATOR, 0);
    if (held == NULL) {
        return;
    }
    uint32_t psi = held->datum.as.accumulator_psi;
    if (psi < limits->accumulator_min_psi) {
        tl_cause_bound(check, told, held, (int64_t[]){psi, limits->accumulator_min_psi});
    } else if (psi > limits->accumulator_max_psi) {
        tl_cause_bound(check, told, held, (int64_t[]){psi, limits->accumulator_max_psi});
    }
}

void
tl_check_accumulator(struct tl_check *check)
{
    tl_each_engine(check, accumulator);
}

static void
crosshead(struct tl_check *check, uint32_t unit)
{
    const struct tl_gear_limits *limits = &check->fold->config->gear.limits;
    const struct tl_told *told = tl_told_of(check->fold, TL_STATION_ENGINE, unit);
    const struct tl_held *held = tl_need(check, told, TL_DATUM_CROSSHEAD, 0);
    if (held != NULL && held->datum.as.crosshead_in_x100 < limits->crosshead_min_in_x100) {
        tl_cause_bound(
            check, told, held,
            (int64_t[]){held->datum.as.crosshead_in_x100, limits->crosshead_min_in_x100});
    }
}

void
tl_check_crosshead(struct tl_check *check)
{
    tl_each_engine(check, crosshead);
}

static void
add_cable(struct tl_check *check, const struct tl_told *told, const struct tl_held *held,
          enum tl_cause_state state)
{
    struct tl_cause *cause = tl_cause_add(check, told->node, state);
    tl_cause_number(&cause->reported, held->datum.slot);
    tl_key_by_held(cause, told, held);
}

static void
detorque_due(struct tl_check *check, uint32_t unit)
{
    const struct tl_told *told = tl_told_of(check->fold, TL_STATION_GEAR_OFFICER, 0);
    const struct tl_held *held = tl_known(check, told, TL_DATUM_CABLE, unit);
    uint32_t due = 0;
    uint32_t last = 0;
    if (held == NULL) {
        return;
    }
    tl_detorque_bounds(&check->fold->config->gear.limits, held->datum.as.cable.detorqued_at, &due,
                       &last);
    uint32_t traps = tl_wear_traps(check->fold, &held->datum);
    if (traps >= due && traps <= last) {
        add_cable(check, told, held, TL_CAUSE_NOTE);
    }
}

void
tl_check_detorque_due(struct tl_check *check)
{
    tl_each_engine(check, detorque_due);
}

static void
detorque_overdue(struct tl_check *check, uint32_t unit)
{
    const struct tl_told *told = tl_told_of(check->fold, TL_STATION_GEAR_OFFICER, 0);
    const struct tl_held *held = tl_need(check, told, TL_DATUM_CABLE, unit);
    uint32_t due = 0;
    uint32_t last = 0;
    if (held == NULL) {
        return;
    }
    tl_detorque_bounds(&check->fold->config->gear.limits, held->datum.as.cable.detorqued_at, &due,
                       &last);
    if (tl_wear_traps(check->fold, &held->datum) > last) {
        add_cable(check, told, held, TL_CAUSE_WRONG);
    }
}

void
tl_check_detorque_overdue(struct tl_check *check)
{
    tl_each_engine(check, detorque_overdue);
}

/* ---- pendants by the gear officer's book, and the traps that are not yet in it ---- */

typedef void pendant_fn(struct tl_check *check, const struct tl_held *held, uint32_t wire);

/* Every pendant that is not said to be removed. */
static void
each_pendant(struct tl_check *check, pendant_fn *fn)
{
    const struct tl_gear *gear = &check->fold->config->gear;
    const struct tl_told *wires = tl_told_of(check->fold, TL_STATION_WIRES, 0);
    const struct tl_told *officer = tl_told_of(check->fold, TL_STATION_GEAR_OFFICER, 0);
    for (uint32_t i = 0; check->current != NULL && i < gear->engine_count; i++) {
        uint32_t wire = gear->engine[i].wire;
        const struct tl_held *rig = tl_known(check, wires, TL_DATUM_RIG, wire);
        if (rig == NULL || rig->datum.as.rig != TL_RIG_STRIPPED) {
            fn(check, tl_known(check, officer, TL_DATUM_PENDANT_LIFE, wire), wire);
        }
    }
}

static void
add_pendant(struct tl_check *check, const struct tl_held *held, uint32_t wire,
            enum tl_cause_state state)
{
    const struct tl_told *officer = tl_told_of(check->fold, TL_STATION_GEAR_OFFICER, 0);
    struct tl_cause *cause = tl_cause_add(check, officer->node, state);
    tl_cause_number(&cause->reported, wire);
    tl_cause_number(&cause->needed, tl_wear_traps(check->fold, &held->datum));
    tl_key_by_held(cause, officer, held);
}

static void
life(struct tl_check *check, const struct tl_held *held, uint32_t wire)
{
    if (held == NULL) {
        const struct tl_told *officer = tl_told_of(check->fold, TL_STATION_GEAR_OFFICER, 0);
        (void)tl_need(check, officer, TL_DATUM_PENDANT_LIFE, wire);
    } else if (tl_wear_traps(check->fold, &held->datum) >=
               check->fold->config->gear.limits.pendant_life) {
        add_pendant(check, held, wire, TL_CAUSE_WRONG);
    }
}

void
tl_check_pendant_life(struct tl_check *check)
{
    each_pendant(check, life);
}

static void
life_near(struct tl_check *check, const struct tl_held *held, uint32_t wire)
{
    const struct tl_gear_limits *limits = &check->fold->config->gear.limits;
    if (held == NULL) {
        return;
    }
    uint32_t traps = tl_wear_traps(check->fold, &held->datum);
    uint32_t left = traps < limits->pendant_life ? limits->pendant_life - traps : 0;
    bool runs_out = left < tl_wear_awaited(&check->fold->list);
    if (left > 0 && (left <= limits->pendant_life_near || runs_out)) {
        add_pendant(check, held, wire, TL_CAUSE_NOTE);
    }
}

void
tl_check_pendant_life_near(struct tl_check *check)
{
    each_pendant(check, life_near);
}
