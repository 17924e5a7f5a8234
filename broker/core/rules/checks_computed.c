/* SPDX-License-Identifier: Apache-2.0 */
/*
 * checks_computed.c - rules on figures that the mechanics compute. See check.h, ask.h.
 *
 * A figure counts for the inputs that it was computed for. What is not computed is not yet known:
 * it is pending until due, one cause a rule, and never good.
 */
#include <string.h>

#include "broker/core/rules/check.h"

/* The sea was as good as counted on, or has been worse for a moment only. */
static bool
sea_counts(const struct tl_check *check, bool worse)
{
    uint64_t late_ms = check->outside->sea_late_ms;
    return !worse || (late_ms != 0 && check->now_ms - late_ms <= TL_SEA_LATE_MS);
}

static bool
is_of_pass(const struct tl_check *check)
{
    const struct tl_predicted *predicted = &check->outside->predicted;
    const struct tl_ask *ask = check->ask;
    return tl_event_is(ask->event) && tl_event_equal(predicted->event, ask->event) &&
           strncmp(predicted->type, ask->type, TL_TYPE_CAP) == 0 &&
           predicted->barricade == ask->barricade;
}

const struct tl_predicted_arrest *
tl_predicted_arrest_of(const struct tl_check *check)
{
    const struct tl_predicted *predicted = &check->outside->predicted;
    const struct tl_ask *ask = check->ask;
    bool wind = ask->less_headwind_kt <= -predicted->arrest.headwind_kt_x10 / 10;
    bool counts = is_of_pass(check) && predicted->arrest.known && ask->weight_lb != 0 &&
                  predicted->weight_lb == ask->weight_lb && sea_counts(check, !wind);
    return counts ? &predicted->arrest : NULL;
}

static const struct tl_predicted_ramp *
ramp_of(const struct tl_check *check)
{
    const struct tl_predicted_ramp *ramp = &check->outside->predicted.ramp;
    const struct tl_ask *ask = check->ask;
    bool aid = strncmp(ramp->aid_type, ask->aid_type, TL_TYPE_CAP) == 0 &&
               ramp->angle_deg_x100 == ask->angle_deg_x100 && ramp->target_wire == ask->target_wire;
    bool pitch = ask->pitch_deg_x10 <= (int32_t)ramp->pitch_deg_x10;
    bool counts = is_of_pass(check) && ramp->known && aid && sea_counts(check, !pitch);
    return counts ? ramp : NULL;
}

static const struct tl_predicted_time *
time_of(const struct tl_check *check)
{
    const struct tl_predicted_time *time = &check->outside->predicted.time;
    return is_of_pass(check) && time->known ? time : NULL;
}

uint64_t
tl_final_approach_ms(const struct tl_check *check)
{
    const struct tl_predicted_time *time = time_of(check);
    return time != NULL ? 100ull * time->ramp_s_x10 : 1000ull * check->type->final_approach_s;
}

static bool
is_on(const struct tl_check *check, enum tl_rule rule)
{
    return !check->fold->config->ship.rule_off[rule];
}

static void
not_computed(struct tl_check *check)
{
    tl_key_by_order(check, tl_cause_add(check, NULL, tl_due_state(check)));
}

/* The word that the arrest waits for is asked for by a rule of its own. */
static bool
is_told_of_arrest(const struct tl_check *check)
{
    const struct tl_told *approach = NULL;
    bool said = tl_inbound_of_current(check, &approach) != NULL;
    enum tl_rule weight = said ? TL_RULE_TYPE_CALLED_DIFFERS : TL_RULE_OVER_TRAP_WEIGHT;
    return (check->ask->weight_lb == 0 && is_on(check, weight)) ||
           (check->ask->less_headwind_kt == TL_SEA_UNKNOWN && is_on(check, TL_RULE_WIND_UNKNOWN));
}

/* Energy, stroke and hook load are of one computation: that it is missing is told once. */
static void
arrest_not_computed(struct tl_check *check)
{
    if (check->type == NULL || is_told_of_arrest(check)) {
        return; /* an order that is not known, or a type, is told of too */
    }
    for (uint32_t i = 0; i < check->found->count; i++) {
        const struct tl_cause *cause = &check->found->cause[i];
        if (cause->rule >= TL_RULE_HOOK_LOAD && cause->rule <= TL_RULE_STROKE_PREDICTED &&
            cause->state != TL_CAUSE_WRONG) {
            return;
        }
    }
    not_computed(check);
}

static struct tl_cause *
add_bound(struct tl_check *check, const struct tl_node *node, enum tl_cause_state state,
          const int64_t is_and_needed[2])
{
    struct tl_cause *cause = tl_cause_add(check, node, state);
    tl_cause_number(&cause->reported, is_and_needed[0]);
    tl_cause_number(&cause->needed, is_and_needed[1]);
    tl_key_by_order(check, cause);
    return cause;
}

/* ---- an engine and what it is set to ---- */

static bool
is_of_setting(const struct tl_cause *cause)
{
    return cause->rule == TL_RULE_SETTING_OTHER_AIRCRAFT ||
           cause->rule == TL_RULE_SETTING_NOT_ORDERED || cause->rule == TL_RULE_SETTING_LIGHT;
}

/* Why its setting is wrong is told already: what that would do hangs on it. */
static bool
is_told_of_setting(const struct tl_check *check, const struct tl_node *node)
{
    for (uint32_t i = 0; i < check->found->count; i++) {
        const struct tl_cause *cause = &check->found->cause[i];
        bool of_setting = is_of_setting(cause);
        if (of_setting && cause->state == TL_CAUSE_WRONG &&
            strncmp(cause->station, node->id, TL_ID_CAP) == 0) {
            return true;
        }
    }
    return false;
}

typedef bool is_beyond_fn(const struct tl_check *check, const struct tl_would *would,
                          int64_t is_and_needed[2]);

static void
judge_settings(struct tl_check *check, is_beyond_fn *is_beyond)
{
    const struct tl_gear *gear = &check->fold->config->gear;
    const struct tl_predicted_arrest *arrest = tl_predicted_arrest_of(check);
    bool missing = false;
    for (uint32_t i = 0; check->current != NULL && i < gear->engine_count; i++) {
        const struct tl_told *told =
            tl_told_of(check->fold, TL_STATION_ENGINE, gear->engine[i].unit);
        if (!tl_takes_part(check, &gear->engine[i])) {
            continue;
        }
        const struct tl_held *set = tl_said(check, told, TL_DATUM_SET, 0);
        const struct tl_would *would =
            arrest != NULL && set != NULL ? tl_would_at(arrest, set->datum.as.set_lb) : NULL;
        int64_t is_and_needed[2] = {0, 0};
        if (would == NULL) {
            bool told_of = set == NULL && is_on(check, TL_RULE_SETTING_NOT_ORDERED);
            missing = missing || !told_of;
        } else if (is_beyond(check, would, is_and_needed) &&
                   !is_told_of_setting(check, told->node)) {
            add_bound(check, told->node, TL_CAUSE_WRONG, is_and_needed)->would = *would;
        }
    }
    if (missing) {
        arrest_not_computed(check);
    }
}

static bool
hook_load_beyond(const struct tl_check *check, const struct tl_would *would,
                 int64_t is_and_needed[2])
{
    is_and_needed[0] = would->hook_lbf;
    is_and_needed[1] = check->type != NULL ? check->type->hook_load_max_lbf : 0;
    return is_and_needed[0] > is_and_needed[1];
}

void
tl_check_hook_load(struct tl_check *check)
{
    judge_settings(check, hook_load_beyond);
}

static bool
stroke_beyond(const struct tl_check *check, const struct tl_would *would, int64_t is_and_needed[2])
{
    is_and_needed[0] = would->stroke_in_x10;
    is_and_needed[1] = check->fold->config->gear.limits.ram_travel_max_in_x10;
    return would->bottoms || would->parts || is_and_needed[0] > is_and_needed[1];
}

void
tl_check_stroke(struct tl_check *check)
{
    judge_settings(check, stroke_beyond);
}

/* ---- energy: the same for every engine ---- */

void
tl_check_energy_over(struct tl_check *check)
{
    const struct tl_predicted_arrest *arrest = tl_predicted_arrest_of(check);
    uint32_t capacity = check->fold->config->computed.capacity_kftlb;
    if (check->current != NULL && arrest == NULL) {
        arrest_not_computed(check);
    } else if (check->current != NULL && arrest->energy_kftlb > capacity) {
        (void)add_bound(check, NULL, TL_CAUSE_WRONG, (int64_t[]){arrest->energy_kftlb, capacity});
    }
}

void
tl_check_energy_thin(struct tl_check *check)
{
    const struct tl_predicted_arrest *arrest = tl_predicted_arrest_of(check);
    int64_t least = check->fold->config->computed.energy_margin_least_percent;
    if (check->current != NULL && arrest == NULL) {
        arrest_not_computed(check);
    } else if (check->current != NULL && arrest->margin_percent < least) {
        (void)add_bound(check, NULL, TL_CAUSE_WRONG, (int64_t[]){arrest->margin_percent, least});
    }
}

/* ---- what an arrest has shown ---- */

const struct tl_expected *
tl_expected_of(const struct tl_outside *outside, uint32_t unit, struct tl_event event)
{
    for (uint32_t i = 0; i < outside->expected_count; i++) {
        if (outside->expected[i].unit == unit &&
            tl_event_equal(outside->expected[i].event, event)) {
            return &outside->expected[i];
        }
    }
    return NULL;
}

/* The arrest of this recovery that the engine's room has read, and nobody has freed the engine of. */
static const struct tl_held *
arrest_to_compare(const struct tl_check *check, const struct tl_told *told, uint32_t unit)
{
    const struct tl_held *held = tl_known(check, told, TL_DATUM_ARREST, 0);
    bool compare = held != NULL &&
                   held->datum.as.arrest.event.recovery_ms == check->fold->list.recovery_ms &&
                   !tl_is_freed(check, unit, held->datum.as.arrest.event);
    return compare ? held : NULL;
}

static void
travel(struct tl_check *check, uint32_t unit)
{
    const struct tl_told *told = tl_told_of(check->fold, TL_STATION_ENGINE, unit);
    const struct tl_held *held = arrest_to_compare(check, told, unit);
    if (held == NULL) {
        return;
    }
    const struct tl_arrest *arrest = &held->datum.as.arrest;
    const struct tl_expected *expected = tl_expected_of(check->outside, unit, arrest->event);
    if (expected == NULL) {
        struct tl_cause *cause = tl_cause_add(check, told->node, tl_due_state(check));
        tl_cause_number(&cause->needed, arrest->event.pass);
        tl_key_by_order(check, cause);
        return;
    }
    uint64_t apart = tl_apart(arrest->ram_in_x10, expected->ram_in_x10);
    uint64_t allowed =
        (uint64_t)check->fold->config->computed.travel_apart_percent_x10 * expected->ram_in_x10;
    if (1000 * apart > allowed) {
        tl_cause_bound(check, told, held, (int64_t[]){arrest->ram_in_x10, expected->ram_in_x10});
    }
}

void
tl_check_travel(struct tl_check *check)
{
    tl_each_engine(check, travel);
}

/* ---- ramp and time ---- */

/* Likewise for the ramp: the aid and the motion. */
static bool
is_told_of_ramp(const struct tl_check *check)
{
    const struct tl_ask *ask = check->ask;
    bool works = ask->aid_type[0] != '\0';
    bool aid = !works && is_on(check, TL_RULE_AID_NOT_FOR_TYPE) && is_on(check, TL_RULE_AID_FAULT);
    /* That rule asks for an angle only of an aid that works. */
    bool angle = works && ask->angle_deg_x100 == 0 && is_on(check, TL_RULE_AID_ANGLE);
    bool pitch = ask->pitch_deg_x10 == TL_SEA_UNKNOWN && is_on(check, TL_RULE_DECK_MOTION);
    return aid || angle || pitch;
}

void
tl_check_ramp_clearance(struct tl_check *check)
{
    const struct tl_predicted_ramp *ramp = ramp_of(check);
    int64_t least = check->fold->config->computed.ramp_clearance_least_ft_x10;
    if (check->current != NULL && ramp == NULL) {
        if (check->type != NULL && !is_told_of_ramp(check)) {
            not_computed(check);
        }
    } else if (check->current != NULL && ramp->clearance_ft_x10 < least) {
        (void)add_bound(check, NULL, TL_CAUSE_WRONG, (int64_t[]){ramp->clearance_ft_x10, least});
    }
}

void
tl_check_touchdown(struct tl_check *check)
{
    const struct tl_predicted_ramp *ramp = check->current != NULL ? ramp_of(check) : NULL;
    int64_t band = check->fold->config->computed.touchdown_band_ft_x10;
    int64_t off = ramp != NULL ? ramp->touchdown_ft_x10 : 0;
    if (off > band || -off > band) {
        (void)add_bound(check, NULL, TL_CAUSE_NOTE, (int64_t[]){off, band});
    }
}

/* From the last trap to the ramp of the one that has called. */
void
tl_check_interval(struct tl_check *check)
{
    const struct tl_list *list = &check->fold->list;
    const struct tl_told *platform = tl_told_of(check->fold, TL_STATION_PLATFORM, 0);
    const struct tl_predicted_time *time = check->current != NULL ? time_of(check) : NULL;
    const struct tl_held *call = time != NULL ? tl_said(check, platform, TL_DATUM_CALL, 0) : NULL;
    bool trap = list->last_known && list->last.result.outcome == TL_OUTCOME_TRAP;
    if (call == NULL || !trap) {
        return;
    }
    int64_t interval_s =
        ((int64_t)(call->said_ms + tl_final_approach_ms(check)) - (int64_t)list->last_ms) / 1000;
    int64_t reset_s = (time->reset_s_x10 + time->wave_off_people_s_x10 + 9) / 10;
    if (interval_s < reset_s) {
        (void)add_bound(check, NULL, TL_CAUSE_NOTE, (int64_t[]){interval_s, reset_s});
    }
}

/* ---- consequences ---- */

static uint32_t
engine_unit(const struct tl_check *check, const char *station)
{
    const struct tl_node *node = tl_config_node(check->fold->config, station);
    return node != NULL && node->station == TL_STATION_ENGINE ? node->unit : 0;
}

/* The setting that a cause tells of: what it is to be compared with stays the cause's own. */
static uint32_t
setting_told(const struct tl_cause *cause)
{
    bool of_setting = is_of_setting(cause) || cause->rule == TL_RULE_REPEATER_DIFFERS;
    bool told = of_setting && cause->state == TL_CAUSE_WRONG && cause->reported.known &&
                cause->reported.number > 0 && cause->reported.number <= UINT32_MAX;
    return told ? (uint32_t)cause->reported.number : 0;
}

void
tl_add_consequences(struct tl_check *check)
{
    const struct tl_predicted_arrest *arrest =
        check->current != NULL ? tl_predicted_arrest_of(check) : NULL;
    for (uint32_t i = 0; arrest != NULL && i < check->found->count; i++) {
        struct tl_cause *cause = &check->found->cause[i];
        const struct tl_would *would = engine_unit(check, cause->station) != 0
                                           ? tl_would_at(arrest, setting_told(cause))
                                           : NULL;
        if (would != NULL) {
            cause->would = *would;
        }
    }
}
