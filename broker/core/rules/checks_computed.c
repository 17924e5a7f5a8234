/* SPDX-License-Identifier: Apache-2.0 */
/*
 * checks_computed.c - rules on figures that the mechanics compute. See check.h and decide.h.
 *
 * A figure counts for the event that it was computed for, and an engine's for the setting that it
 * was computed for. What is not computed is not yet known: it is pending until due, never good.
 */
#include <string.h>

#include "broker/core/rules/check.h"

enum sense {
    AT_MOST,
    AT_LEAST
};

/* There is a current event. */
static bool
is_for_current(const struct tl_check *check)
{
    return tl_event_equal(check->outside->predicted.event, check->current->event);
}

static void
judge(struct tl_check *check, const struct tl_told *told, const struct tl_computed *figure,
      enum sense sense)
{
    const struct tl_node *node = told != NULL ? told->node : NULL;
    const struct tl_rule_row *row = tl_rule_row((uint32_t)check->rule);
    bool note = row != NULL && row->effect == TL_EFFECT_NOTE;
    if (figure == NULL || !figure->known) {
        if (!note) {
            tl_key_by_order(check, tl_cause_add(check, node, tl_due_state(check)));
        }
        return;
    }
    bool good = sense == AT_MOST ? figure->value <= figure->bound : figure->value >= figure->bound;
    if (!good) {
        struct tl_cause *cause = tl_cause_add(check, node, note ? TL_CAUSE_NOTE : TL_CAUSE_WRONG);
        tl_cause_number(&cause->reported, figure->value);
        tl_cause_number(&cause->needed, figure->bound);
        tl_key_by_order(check, cause);
    }
}

typedef const struct tl_computed *pick_fn(const struct tl_computed_engine *engine);

/* Each engine that takes part, by the figures for what it is set to. */
static void
judge_engines(struct tl_check *check, pick_fn *pick, enum sense sense)
{
    const struct tl_gear *gear = &check->fold->config->gear;
    for (uint32_t i = 0; i < gear->engine_count; i++) {
        const struct tl_computed_engine *computed = &check->outside->predicted.engine[i];
        const struct tl_told *told =
            tl_told_of(check->fold, TL_STATION_ENGINE, gear->engine[i].unit);
        if (!tl_takes_part(check, &gear->engine[i])) {
            continue;
        }
        const struct tl_held *set = tl_said(check, told, TL_DATUM_SET, 0);
        bool counts =
            is_for_current(check) && set != NULL && set->datum.as.set_lb == computed->set_lb;
        judge(check, told, counts ? pick(computed) : NULL, sense);
    }
}

static const struct tl_computed *
hook_load(const struct tl_computed_engine *engine)
{
    return &engine->hook_load_lbf;
}

static const struct tl_computed *
energy(const struct tl_computed_engine *engine)
{
    return &engine->energy_kftlb;
}

static const struct tl_computed *
margin(const struct tl_computed_engine *engine)
{
    return &engine->margin_percent;
}

static const struct tl_computed *
stroke(const struct tl_computed_engine *engine)
{
    return &engine->stroke_in_x10;
}

static const struct tl_computed *
travel(const struct tl_computed_engine *engine)
{
    return &engine->travel_apart_in_x10;
}

void
tl_check_hook_load(struct tl_check *check)
{
    judge_engines(check, hook_load, AT_MOST);
}

void
tl_check_energy_over(struct tl_check *check)
{
    judge_engines(check, energy, AT_MOST);
}

void
tl_check_energy_thin(struct tl_check *check)
{
    judge_engines(check, margin, AT_LEAST);
}

void
tl_check_stroke(struct tl_check *check)
{
    judge_engines(check, stroke, AT_MOST);
}

void
tl_check_travel(struct tl_check *check)
{
    judge_engines(check, travel, AT_MOST);
}

static void
judge_pass(struct tl_check *check, const struct tl_computed *figure, enum sense sense)
{
    if (check->current != NULL) {
        judge(check, NULL, is_for_current(check) ? figure : NULL, sense);
    }
}

void
tl_check_ramp_clearance(struct tl_check *check)
{
    judge_pass(check, &check->outside->predicted.ramp_clearance_ft_x10, AT_LEAST);
}

void
tl_check_touchdown(struct tl_check *check)
{
    judge_pass(check, &check->outside->predicted.touchdown_ft_x10, AT_MOST);
}

void
tl_check_interval(struct tl_check *check)
{
    judge_pass(check, &check->outside->predicted.interval_s, AT_LEAST);
}
