/* SPDX-License-Identifier: Apache-2.0 */
/*
 * checks_arrest.c - rules about an engine's state of service, and about what the last arrest did.
 *
 * See check.h. An arrest beyond a limit stands until the gear officer frees that engine by the
 * name of who looked at it, or its room takes it out of service.
 */
#include <string.h>

#include "broker/core/rules/check.h"

static const struct tl_told *
engine_room(const struct tl_check *check, uint32_t unit)
{
    return tl_told_of(check->fold, TL_STATION_ENGINE, unit);
}

static const struct tl_told *
gear_officer(const struct tl_check *check)
{
    return tl_told_of(check->fold, TL_STATION_GEAR_OFFICER, 0);
}

/* Asked of every engine that gear.yaml has in service: out of service is an answer too. */
void
tl_check_service(struct tl_check *check)
{
    const struct tl_gear *gear = &check->fold->config->gear;
    for (uint32_t i = 0; check->current != NULL && i < gear->engine_count; i++) {
        if (gear->engine[i].in_service) {
            (void)tl_need(check, engine_room(check, gear->engine[i].unit), TL_DATUM_SERVICE, 0);
        }
    }
}

static void
engine_fault(struct tl_check *check, uint32_t unit)
{
    const struct tl_told *told = engine_room(check, unit);
    const struct tl_held *held = tl_need(check, told, TL_DATUM_FAULT, 0);
    if (held != NULL && held->datum.as.fault.state != TL_FAULT_STATE_NONE) {
        struct tl_cause *cause = tl_cause_add(check, told->node, TL_CAUSE_WRONG);
        tl_cause_number(&cause->reported, held->datum.as.fault.code);
        tl_key_by_held(cause, told, held);
    }
}

void
tl_check_engine_fault(struct tl_check *check)
{
    tl_each_engine(check, engine_fault);
}

static void
fluid(struct tl_check *check, uint32_t unit)
{
    const struct tl_told *told = engine_room(check, unit);
    const struct tl_held *held = tl_need(check, told, TL_DATUM_FLUID, 0);
    if (held != NULL && held->datum.as.fluid != TL_FLUID_BATTERY) {
        struct tl_cause *cause = tl_cause_add(check, told->node, TL_CAUSE_WRONG);
        tl_cause_word(&cause->reported, held->datum.as.fluid == TL_FLUID_LOW ? "low" : "high");
        tl_key_by_held(cause, told, held);
    }
}

void
tl_check_fluid(struct tl_check *check)
{
    tl_each_engine(check, fluid);
}

/* Back from a job, an engine is not used before another than its room has signed for that job. */
static void
signed_off(struct tl_check *check, uint32_t unit)
{
    const struct tl_told *told = engine_room(check, unit);
    const struct tl_held *service = tl_known(check, told, TL_DATUM_SERVICE, 0);
    uint32_t job = service != NULL ? service->datum.as.service.job : 0;
    const struct tl_held *held = tl_known(check, gear_officer(check), TL_DATUM_SIGNED_OFF, unit);
    if (job != 0 && (held == NULL || held->datum.as.signed_off.job != job)) {
        struct tl_cause *cause = tl_cause_add(check, told->node, TL_CAUSE_WRONG);
        tl_cause_number(&cause->reported, job);
        tl_key_by_held(cause, told, service);
    }
}

void
tl_check_signed_off(struct tl_check *check)
{
    tl_each_engine(check, signed_off);
}

static void
inspection(struct tl_check *check, uint32_t unit)
{
    const struct tl_told *told = gear_officer(check);
    const struct tl_held *held = tl_need(check, told, TL_DATUM_INSPECTED, unit);
    if (held != NULL && held->datum.as.inspected.state != TL_INSPECTION_GOOD) {
        struct tl_cause *cause = tl_cause_add(check, told->node, TL_CAUSE_WRONG);
        tl_cause_number(&cause->reported, unit);
        tl_cause_word(&cause->reported, "not good");
        tl_key_by_held(cause, told, held);
    }
}

void
tl_check_inspection(struct tl_check *check)
{
    tl_each_engine(check, inspection);
}

/* After a trap its engine room reads what the gear did, before that engine is used again. */
void
tl_check_arrest_unread(struct tl_check *check)
{
    const struct tl_gear *gear = &check->fold->config->gear;
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        struct tl_event trap = check->fold->list.trap[i];
        if (!tl_event_is(trap) || !tl_takes_part(check, &gear->engine[i])) {
            continue;
        }
        const struct tl_told *told = engine_room(check, gear->engine[i].unit);
        const struct tl_held *held = tl_known(check, told, TL_DATUM_ARREST, 0);
        if (held == NULL || !tl_event_equal(held->datum.as.arrest.event, trap)) {
            struct tl_cause *cause =
                tl_cause_add(check, told != NULL ? told->node : NULL, tl_due_state(check));
            tl_cause_number(&cause->needed, trap.pass);
            tl_key_by_order(check, cause);
        }
    }
}

typedef uint32_t figure_fn(const struct tl_arrest *arrest);

static uint32_t
ram_travel(const struct tl_arrest *arrest)
{
    return arrest->ram_in_x10;
}

static uint32_t
off_centre(const struct tl_arrest *arrest)
{
    return arrest->off_centre_ft_x10;
}

static uint32_t
sides_apart(const struct tl_arrest *arrest)
{
    return arrest->apart_in_x10;
}

static uint32_t
walk_back(const struct tl_arrest *arrest)
{
    return arrest->walk_back_ft_x10;
}

bool
tl_is_freed(const struct tl_check *check, uint32_t unit, struct tl_event event)
{
    const struct tl_held *held = tl_known(check, gear_officer(check), TL_DATUM_FREED, unit);
    return held != NULL && tl_event_equal(held->datum.as.freed.event, event);
}

/* What the last arrest of each engine was, against the most that is still good. */
static void
arrests_beyond(struct tl_check *check, figure_fn *figure, uint32_t most, bool note)
{
    const struct tl_gear *gear = &check->fold->config->gear;
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        uint32_t unit = gear->engine[i].unit;
        const struct tl_told *told = engine_room(check, unit);
        const struct tl_held *held = tl_takes_part(check, &gear->engine[i])
                                         ? tl_known(check, told, TL_DATUM_ARREST, 0)
                                         : NULL;
        if (held == NULL || figure(&held->datum.as.arrest) <= most ||
            (!note && tl_is_freed(check, unit, held->datum.as.arrest.event))) {
            continue;
        }
        struct tl_cause *cause =
            tl_cause_add(check, told->node, note ? TL_CAUSE_NOTE : TL_CAUSE_WRONG);
        tl_cause_number(&cause->reported, figure(&held->datum.as.arrest));
        tl_cause_number(&cause->needed, most);
        tl_key_by_held(cause, told, held);
    }
}

void
tl_check_ram_travel(struct tl_check *check)
{
    arrests_beyond(check, ram_travel, check->fold->config->gear.limits.ram_travel_max_in_x10,
                   false);
}

void
tl_check_off_centre(struct tl_check *check)
{
    arrests_beyond(check, off_centre, check->fold->config->gear.limits.off_centre_max_ft_x10,
                   false);
}

void
tl_check_sides_unequal(struct tl_check *check)
{
    arrests_beyond(check, sides_apart, check->fold->config->gear.limits.sides_apart_max_in_x10,
                   false);
}

void
tl_check_walk_back(struct tl_check *check)
{
    arrests_beyond(check, walk_back, check->fold->config->gear.limits.walk_back_max_ft_x10, true);
}
