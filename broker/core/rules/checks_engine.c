/* SPDX-License-Identifier: Apache-2.0 */
/* checks_engine.c - rules about pressures, the crosshead and the purchase cables. See check.h. */
#include <string.h>

#include "broker/core/rules/check.h"

typedef void one_engine(struct tl_check *check, uint32_t unit);

static void
each_in_service(struct tl_check *check, one_engine *one)
{
    const struct tl_gear *gear = &check->fold->config->gear;
    for (uint32_t i = 0; check->current != NULL && i < gear->engine_count; i++) {
        if (gear->engine[i].in_service) {
            one(check, gear->engine[i].unit);
        }
    }
}

/* The word of that engine, or a cause that it is missing. */
static const struct tl_held *
need(struct tl_check *check, const struct tl_told *told, enum tl_datum_kind kind, uint32_t slot)
{
    const struct tl_held *held = tl_known(check, told, kind, slot);
    if (held == NULL) {
        struct tl_cause *cause =
            tl_cause_add(check, told != NULL ? told->node : NULL, tl_due_state(check));
        if (slot != 0) {
            tl_cause_number(&cause->needed, slot);
        }
        tl_key_by_order(check, cause);
    }
    return held;
}

struct bound {
    int64_t reported, needed;
};

static void
add_bound(struct tl_check *check, const struct tl_told *told, const struct tl_held *held,
          struct bound bound)
{
    struct tl_cause *cause = tl_cause_add(check, told->node, TL_CAUSE_WRONG);
    tl_cause_number(&cause->reported, bound.reported);
    tl_cause_number(&cause->needed, bound.needed);
    tl_key_by_held(cause, told, held);
}

static void
accumulator(struct tl_check *check, uint32_t unit)
{
    const struct tl_gear_limits *limits = &check->fold->config->gear.limits;
    const struct tl_told *told = tl_told_of(check->fold, TL_STATION_ENGINE, unit);
    const struct tl_held *held = need(check, told, TL_DATUM_ACCUMULATOR, 0);
    if (held == NULL) {
        return;
    }
    uint32_t psi = held->datum.as.accumulator_psi;
    if (psi < limits->accumulator_min_psi) {
        add_bound(check, told, held, (struct bound){psi, limits->accumulator_min_psi});
    } else if (psi > limits->accumulator_max_psi) {
        add_bound(check, told, held, (struct bound){psi, limits->accumulator_max_psi});
    }
}

void
tl_check_accumulator(struct tl_check *check)
{
    each_in_service(check, accumulator);
}

static void
crosshead(struct tl_check *check, uint32_t unit)
{
    const struct tl_gear_limits *limits = &check->fold->config->gear.limits;
    const struct tl_told *told = tl_told_of(check->fold, TL_STATION_ENGINE, unit);
    const struct tl_held *held = need(check, told, TL_DATUM_CROSSHEAD, 0);
    if (held != NULL && held->datum.as.crosshead_in_x100 < limits->crosshead_min_in_x100) {
        add_bound(check, told, held,
                  (struct bound){held->datum.as.crosshead_in_x100, limits->crosshead_min_in_x100});
    }
}

void
tl_check_crosshead(struct tl_check *check)
{
    each_in_service(check, crosshead);
}

/* Count at which the cable is due, and past which it is overdue. */
static void
/* NOLINTNEXTLINE(bugprone-easily-swappable-parameters): due comes before the last */
detorque_bounds(const struct tl_gear_limits *limits, const struct tl_cable *cable, uint32_t *due,
                uint32_t *last)
{
    bool first = cable->detorqued_at == 0;
    *due = first ? limits->detorque_first : cable->detorqued_at + limits->detorque_every;
    *last = first ? limits->detorque_first_limit : *due;
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
    detorque_bounds(&check->fold->config->gear.limits, &held->datum.as.cable, &due, &last);
    if (held->datum.as.cable.traps >= due && held->datum.as.cable.traps <= last) {
        add_cable(check, told, held, TL_CAUSE_NOTE);
    }
}

void
tl_check_detorque_due(struct tl_check *check)
{
    each_in_service(check, detorque_due);
}

static void
detorque_overdue(struct tl_check *check, uint32_t unit)
{
    const struct tl_told *told = tl_told_of(check->fold, TL_STATION_GEAR_OFFICER, 0);
    const struct tl_held *held = need(check, told, TL_DATUM_CABLE, unit);
    uint32_t due = 0;
    uint32_t last = 0;
    if (held == NULL) {
        return;
    }
    detorque_bounds(&check->fold->config->gear.limits, &held->datum.as.cable, &due, &last);
    if (held->datum.as.cable.traps > last) {
        add_cable(check, told, held, TL_CAUSE_WRONG);
    }
}

void
tl_check_detorque_overdue(struct tl_check *check)
{
    each_in_service(check, detorque_overdue);
}
