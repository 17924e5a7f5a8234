/* SPDX-License-Identifier: Apache-2.0 */
/*
 * checks_wires.c - rules about wires, sheaves, tracks, the landing aid and the barricade.
 *
 * See check.h. What has not been said is one cause a rule, which names the first wire or track of
 * which it is missing; what is wrong is one cause a wire. A wire that is stripped owes no pendant.
 */
#include <string.h>

#include "broker/core/rules/check.h"

/* Counts what has not been said, to tell it in one cause. */
struct missing {
    uint32_t first;
    uint32_t count;
};

static void
miss(struct missing *missing, uint32_t number)
{
    if (missing->count++ == 0) {
        missing->first = number;
    }
}

static void
add_missing(struct tl_check *check, const struct tl_told *told, const struct missing *missing)
{
    if (missing->count == 0) {
        return;
    }
    struct tl_cause *cause =
        tl_cause_add(check, told != NULL ? told->node : NULL, tl_due_state(check));
    tl_cause_number(&cause->needed, missing->first);
    if (missing->count > 1) {
        tl_cause_word(&cause->needed, "and more");
    }
    tl_key_by_order(check, cause);
}

/* A fault of one of several; `word` may be NULL. */
static void
add_wrong(struct tl_check *check, const struct tl_told *told, const struct tl_held *held,
          uint32_t number, const char *word)
{
    struct tl_cause *cause = tl_cause_add(check, told->node, TL_CAUSE_WRONG);
    tl_cause_number(&cause->reported, number);
    if (word != NULL) {
        tl_cause_word(&cause->reported, word);
    }
    tl_key_by_held(cause, told, held);
}

static const struct tl_told *
wires_of(const struct tl_check *check)
{
    return tl_told_of(check->fold, TL_STATION_WIRES, 0);
}

static bool
is_stripped(const struct tl_check *check, uint32_t wire)
{
    const struct tl_held *rig = tl_known(check, wires_of(check), TL_DATUM_RIG, wire);
    return rig != NULL && rig->datum.as.rig == TL_RIG_STRIPPED;
}

void
tl_check_rig(struct tl_check *check)
{
    const struct tl_gear *gear = &check->fold->config->gear;
    struct missing missing = {0};
    for (uint32_t i = 0; check->current != NULL && i < gear->engine_count; i++) {
        if (tl_known(check, wires_of(check), TL_DATUM_RIG, gear->engine[i].wire) == NULL) {
            miss(&missing, gear->engine[i].wire);
        }
    }
    add_missing(check, wires_of(check), &missing);
}

/* Published interlock: no clear while a sheave is not fully up and not bypassed. */
void
tl_check_sheave(struct tl_check *check)
{
    const struct tl_gear *gear = &check->fold->config->gear;
    const struct tl_told *wires = wires_of(check);
    struct missing missing = {0};
    for (uint32_t i = 0; check->current != NULL && i < gear->engine_count; i++) {
        uint32_t wire = gear->engine[i].wire;
        const struct tl_held *held = tl_known(check, wires, TL_DATUM_SHEAVE, wire);
        if (held == NULL) {
            miss(&missing, wire);
        } else if (held->datum.as.sheave.state != TL_SHEAVE_UP && !held->datum.as.sheave.bypassed) {
            add_wrong(check, wires, held, wire, NULL);
        }
    }
    add_missing(check, wires, &missing);
}

/* A bypass is closed only for a wire whose pendant is removed; not known is not removed. */
void
tl_check_bypass(struct tl_check *check)
{
    const struct tl_gear *gear = &check->fold->config->gear;
    for (uint32_t i = 0; check->current != NULL && i < gear->engine_count; i++) {
        uint32_t wire = gear->engine[i].wire;
        const struct tl_held *held = tl_known(check, wires_of(check), TL_DATUM_SHEAVE, wire);
        if (held != NULL && held->datum.as.sheave.bypassed && !is_stripped(check, wire)) {
            add_wrong(check, wires_of(check), held, wire, NULL);
        }
    }
}

/* Which bound is broken: *height_in_x100 and its word; NULL = none. */
static const char *
height_fault(const struct tl_gear_limits *limits, const struct tl_pendant *pendant,
             uint32_t *height_in_x100)
{
    if (pendant->low_in_x100 != 0 && pendant->low_in_x100 < limits->pendant_low_in_x100) {
        *height_in_x100 = pendant->low_in_x100;
        return "low";
    }
    *height_in_x100 = pendant->high_in_x100;
    return pendant->high_in_x100 > limits->pendant_high_in_x100 ? "high" : NULL;
}

static void
pendant_height(struct tl_check *check, const struct tl_told *wires, uint32_t wire,
               const struct tl_held *held)
{
    uint32_t height_in_x100 = 0;
    const char *word =
        height_fault(&check->fold->config->gear.limits, &held->datum.as.pendant, &height_in_x100);
    if (word != NULL) {
        struct tl_cause *cause = tl_cause_add(check, wires->node, TL_CAUSE_WRONG);
        tl_cause_number(&cause->reported, wire);
        tl_cause_number(&cause->needed, height_in_x100);
        tl_cause_word(&cause->needed, word);
        tl_key_by_held(cause, wires, held);
    }
}

/* Good is said with both heights, or it says too little. */
static bool
is_without_height(const struct tl_pendant *pendant)
{
    return pendant->state == TL_PENDANT_GOOD &&
           (pendant->low_in_x100 == 0 || pendant->high_in_x100 == 0);
}

void
tl_check_pendant_height(struct tl_check *check)
{
    const struct tl_gear *gear = &check->fold->config->gear;
    const struct tl_told *wires = wires_of(check);
    struct missing missing = {0};
    for (uint32_t i = 0; check->current != NULL && i < gear->engine_count; i++) {
        uint32_t wire = gear->engine[i].wire;
        const struct tl_held *held = tl_known(check, wires, TL_DATUM_PENDANT, wire);
        if (is_stripped(check, wire)) {
            continue;
        }
        if (held == NULL || is_without_height(&held->datum.as.pendant)) {
            miss(&missing, wire);
        } else {
            pendant_height(check, wires, wire, held);
        }
    }
    add_missing(check, wires, &missing);
}

void
tl_check_pendant_worn(struct tl_check *check)
{
    const struct tl_gear *gear = &check->fold->config->gear;
    const struct tl_told *wires = wires_of(check);
    for (uint32_t i = 0; check->current != NULL && i < gear->engine_count; i++) {
        uint32_t wire = gear->engine[i].wire;
        const struct tl_held *held = tl_known(check, wires, TL_DATUM_PENDANT, wire);
        if (held != NULL && !is_stripped(check, wire) &&
            held->datum.as.pendant.state != TL_PENDANT_GOOD) {
            add_wrong(check, wires, held, wire, tl_pendant_word(held->datum.as.pendant.state));
        }
    }
}

void
tl_check_inactive(struct tl_check *check)
{
    const struct tl_gear *gear = &check->fold->config->gear;
    for (uint32_t i = 0; check->current != NULL && i < gear->engine_count; i++) {
        uint32_t wire = gear->engine[i].wire;
        const struct tl_held *held = tl_known(check, wires_of(check), TL_DATUM_RIG, wire);
        bool in_use = tl_is_in_service(check->fold, check->now_ms, &gear->engine[i]);
        if (!in_use && held != NULL && held->datum.as.rig == TL_RIG_RIGGED) {
            add_wrong(check, wires_of(check), held, wire, NULL);
        }
    }
}

/*
 * A word of the event of which the bad form is a matter of course after a pass: not said, and bad
 * as after a trap, it is pending until due; bad after due it is wrong.
 */
static void
event_word(struct tl_check *check, const struct tl_held *held, bool bad, uint32_t wire)
{
    enum tl_cause_state due = tl_due_state(check);
    const struct tl_told *wires = wires_of(check);
    struct tl_cause *cause = tl_cause_add(check, wires != NULL ? wires->node : NULL,
                                          bad && due == TL_CAUSE_OVERDUE ? TL_CAUSE_WRONG : due);
    if (!bad) {
        tl_key_by_order(check, cause);
        return;
    }
    if (wire != 0) {
        tl_cause_number(&cause->reported, wire);
    } else {
        tl_cause_word(&cause->reported, "");
    }
    tl_key_by_held(cause, wires, held);
}

void
tl_check_wire_free(struct tl_check *check)
{
    if (check->current == NULL) {
        return;
    }
    const struct tl_held *held = tl_known(check, wires_of(check), TL_DATUM_FREE, 0);
    bool bad = held != NULL && held->datum.as.free.state != TL_FREE_FREE;
    if (bad || held == NULL || !tl_datum_is_for(&held->datum, check->current->event)) {
        event_word(check, held, bad, bad ? held->datum.as.free.wire : 0);
    }
}

void
tl_check_retract(struct tl_check *check)
{
    if (check->current == NULL) {
        return;
    }
    const struct tl_held *held = tl_known(check, wires_of(check), TL_DATUM_RETRACT, 0);
    bool bad = held != NULL && held->datum.as.retract.state != TL_RETRACT_RETRACTED;
    if (bad || held == NULL || !tl_datum_is_for(&held->datum, check->current->event)) {
        event_word(check, held, bad, bad ? held->datum.as.retract.wire : 0);
    }
}

void
tl_check_track(struct tl_check *check)
{
    const struct tl_told *tracks = tl_told_of(check->fold, TL_STATION_TRACKS, 0);
    struct missing missing = {0};
    for (uint32_t n = 1; check->current != NULL && n <= check->fold->config->ship.track_count;
         n++) {
        const struct tl_held *held = tl_known(check, tracks, TL_DATUM_TRACK, n);
        if (held != NULL && held->datum.as.track != TL_TRACK_SECURED) {
            add_wrong(check, tracks, held, n, tl_track_word(held->datum.as.track));
        } else if (held == NULL || !tl_datum_is_for(&held->datum, check->current->event)) {
            miss(&missing, n);
        }
    }
    add_missing(check, tracks, &missing);
}

/* Hook-to-eye distance decides, not the name: two types may share one setting. */
void
tl_check_aid(struct tl_check *check)
{
    const struct tl_told *aid = tl_told_of(check->fold, TL_STATION_AID, 0);
    if (check->current == NULL) {
        return;
    }
    const struct tl_held *held = tl_known(check, aid, TL_DATUM_AID, 0);
    if (held != NULL && held->datum.as.aid.state != TL_AID_WORKING) {
        return; /* the fault is the cause */
    }
    if (held == NULL || !tl_datum_is_for(&held->datum, check->current->event)) {
        struct tl_cause *cause =
            tl_cause_add(check, aid != NULL ? aid->node : NULL, tl_due_state(check));
        tl_key_by_order(check, cause);
        return;
    }
    const struct tl_aircraft_type *set =
        tl_config_type(check->fold->config, held->datum.as.aid.type);
    bool right = set != NULL && check->type != NULL && set->hook_to_eye_ft_x100 != 0 &&
                 set->hook_to_eye_ft_x100 == check->type->hook_to_eye_ft_x100;
    if (!right && check->type != NULL) {
        struct tl_cause *cause = tl_cause_add(check, aid->node, TL_CAUSE_WRONG);
        tl_cause_word(&cause->reported, held->datum.as.aid.type);
        tl_cause_word(&cause->needed, check->type->id);
        tl_key_by_held(cause, aid, held);
    }
}

void
tl_check_aid_fault(struct tl_check *check)
{
    const struct tl_told *aid = tl_told_of(check->fold, TL_STATION_AID, 0);
    const struct tl_held *held = tl_known(check, aid, TL_DATUM_AID, 0);
    if (held != NULL && held->datum.as.aid.state != TL_AID_WORKING) {
        struct tl_cause *cause = tl_cause_add(check, aid->node, TL_CAUSE_WRONG);
        tl_cause_number(&cause->reported, held->datum.as.aid.state);
        tl_key_by_held(cause, aid, held);
    }
}

/* For a pass on the wires it must be stowed and its stanchions down. */
void
tl_check_barricade(struct tl_check *check)
{
    const struct tl_told *barricade = tl_told_of(check->fold, TL_STATION_BARRICADE, 0);
    const struct tl_told *wires = wires_of(check);
    if (check->current == NULL || tl_is_barricade_pass(check)) {
        return;
    }
    const struct tl_held *held = tl_known(check, barricade, TL_DATUM_BARRICADE, 0);
    const struct tl_held *stanchions = tl_known(check, wires, TL_DATUM_STANCHIONS, 0);
    bool stowed = held != NULL && (held->datum.as.barricade.state == TL_BARRICADE_SECURE ||
                                   held->datum.as.barricade.state == TL_BARRICADE_READY);
    if (held != NULL && !stowed) {
        struct tl_cause *cause = tl_cause_add(check, barricade->node, TL_CAUSE_WRONG);
        tl_cause_word(&cause->reported, tl_barricade_word(held->datum.as.barricade.state));
        tl_key_by_held(cause, barricade, held);
    } else if (held == NULL) {
        struct tl_cause *cause =
            tl_cause_add(check, barricade != NULL ? barricade->node : NULL, tl_due_state(check));
        tl_key_by_order(check, cause);
    }
    if (stanchions != NULL && stanchions->datum.as.stanchions != TL_STANCHION_LOWERED) {
        struct tl_cause *cause = tl_cause_add(check, wires->node, TL_CAUSE_WRONG);
        tl_cause_word(&cause->reported, "stanchions up");
        tl_key_by_held(cause, wires, stanchions);
    } else if (wires != NULL && stanchions == NULL) {
        struct tl_cause *cause = tl_cause_add(check, wires->node, tl_due_state(check));
        tl_key_by_order(check, cause);
    }
}

/* Only while it is to be READY: pressure, and cycles since the pump ran. */
void
tl_check_barricade_power(struct tl_check *check)
{
    const struct tl_gear_limits *limits = &check->fold->config->gear.limits;
    const struct tl_told *barricade = tl_told_of(check->fold, TL_STATION_BARRICADE, 0);
    const struct tl_held *state = tl_known(check, barricade, TL_DATUM_BARRICADE, 0);
    if (check->current == NULL || state == NULL || tl_is_barricade_pass(check) ||
        state->datum.as.barricade.state != TL_BARRICADE_READY) {
        return;
    }
    const struct tl_held *held = tl_known(check, barricade, TL_DATUM_BARRICADE_POWER, 0);
    if (held == NULL) {
        tl_key_by_order(check, tl_cause_add(check, barricade->node, tl_due_state(check)));
        return;
    }
    const struct tl_barricade_power *power = &held->datum.as.barricade_power;
    bool weak = power->pressure_psi < limits->barricade_psi;
    if (weak || power->cycles > limits->barricade_cycles_max) {
        struct tl_cause *cause = tl_cause_add(check, barricade->node, TL_CAUSE_WRONG);
        tl_cause_number(&cause->reported, weak ? power->pressure_psi : power->cycles);
        tl_cause_number(&cause->needed,
                        weak ? limits->barricade_psi : limits->barricade_cycles_max);
        tl_cause_word(&cause->reported, weak ? "psi" : "cycles");
        tl_key_by_held(cause, barricade, held);
    }
}
