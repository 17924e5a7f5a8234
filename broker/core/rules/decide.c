/* SPDX-License-Identifier: Apache-2.0 */
/* decide.c - runs the table of rules in its order. See decide.h. */
#include "broker/core/rules/decide.h"

#include <string.h>

#include "broker/core/rules/check.h"
#include "broker/core/rules/listing.h"

struct rule_check {
    enum tl_rule rule;
    tl_check_fn *fn;
};

static const struct rule_check CHECKS[] = {
    {TL_RULE_TWO_WRITERS, tl_check_two_writers},
    {TL_RULE_STATION_LOST, tl_check_station_lost},
    {TL_RULE_VALIDATORS_DIFFER, tl_check_validators_differ},
    {TL_RULE_LIST_NOT_HEARD, tl_check_list_not_heard},
    {TL_RULE_PRIMARY_RESTARTED, tl_check_primary_restarted},
    {TL_RULE_NO_EVENT, tl_check_no_event},
    {TL_RULE_ORDER_UNKNOWN, tl_check_order_unknown},
    {TL_RULE_ORDERED_DIVERTED, tl_check_ordered_diverted},
    {TL_RULE_TYPE_UNKNOWN, tl_check_type_unknown},
    {TL_RULE_TYPE_CALLED_DIFFERS, tl_check_type_called},
    {TL_RULE_OVER_TRAP_WEIGHT, tl_check_over_trap_weight},
    {TL_RULE_SETTING_OTHER_AIRCRAFT, tl_check_setting_other},
    {TL_RULE_SETTING_NOT_ORDERED, tl_check_setting_ordered},
    {TL_RULE_SETTING_LIGHT, tl_check_setting_light},
    {TL_RULE_ENGINES_DISAGREE, tl_check_engines_disagree},
    {TL_RULE_REPEATER_DIFFERS, tl_check_repeater},
    {TL_RULE_NOT_IN_BATTERY, tl_check_battery},
    {TL_RULE_SERVICE_UNKNOWN, tl_check_service},
    {TL_RULE_ENGINE_FAULT, tl_check_engine_fault},
    {TL_RULE_FLUID_LEVEL, tl_check_fluid},
    {TL_RULE_NOT_SIGNED_OFF, tl_check_signed_off},
    {TL_RULE_INSPECTION_OVERDUE, tl_check_inspection},
    {TL_RULE_ARREST_UNREAD, tl_check_arrest_unread},
    {TL_RULE_RAM_TRAVEL, tl_check_ram_travel},
    {TL_RULE_OFF_CENTRE, tl_check_off_centre},
    {TL_RULE_SIDES_UNEQUAL, tl_check_sides_unequal},
    {TL_RULE_NO_ENGINE, tl_check_no_engine},
    {TL_RULE_ENERGY_OVER, tl_check_energy_over},
    {TL_RULE_STROKE_PREDICTED, tl_check_stroke},
    {TL_RULE_TRAVEL_DISAGREES, tl_check_travel},
    {TL_RULE_HOOK_LOAD, tl_check_hook_load},
    {TL_RULE_ENERGY_THIN, tl_check_energy_thin},
    {TL_RULE_RIG_UNKNOWN, tl_check_rig},
    {TL_RULE_SHEAVE_DOWN, tl_check_sheave},
    {TL_RULE_BYPASS_WITH_PENDANT, tl_check_bypass},
    {TL_RULE_PENDANT_HEIGHT, tl_check_pendant_height},
    {TL_RULE_PENDANT_WORN, tl_check_pendant_worn},
    {TL_RULE_PENDANT_LIFE, tl_check_pendant_life},
    {TL_RULE_INACTIVE_RIGGED, tl_check_inactive},
    {TL_RULE_TOO_FEW_WIRES, tl_check_too_few_wires},
    {TL_RULE_WIRE_NOT_FREE, tl_check_wire_free},
    {TL_RULE_RETRACT_RUNNING, tl_check_retract},
    {TL_RULE_ACCUMULATOR, tl_check_accumulator},
    {TL_RULE_CROSSHEAD_GAP, tl_check_crosshead},
    {TL_RULE_DETORQUE_OVERDUE, tl_check_detorque_overdue},
    {TL_RULE_STOP, tl_check_stop},
    {TL_RULE_LINE_CROSSED, tl_check_line_crossed},
    {TL_RULE_DECK_FOUL, tl_check_deck_foul},
    {TL_RULE_TRACK_OPEN, tl_check_track},
    {TL_RULE_BARRICADE_NOT_STOWED, tl_check_barricade},
    {TL_RULE_BARRICADE_POWER, tl_check_barricade_power},
    {TL_RULE_BARRICADE_NOT_RIGGED, tl_check_barricade_rigged},
    {TL_RULE_BARRICADE_WIRES, tl_check_barricade_wires},
    {TL_RULE_WEBBING_USED, tl_check_webbing},
    {TL_RULE_FOUL_WORD_MISSING, tl_check_foul_word},
    {TL_RULE_AID_FAULT, tl_check_aid_fault},
    {TL_RULE_AID_NOT_FOR_TYPE, tl_check_aid},
    {TL_RULE_AID_NOT_ON_TARGET, tl_check_aid_target},
    {TL_RULE_AID_ANGLE, tl_check_aid_angle},
    {TL_RULE_RAMP_CLEARANCE, tl_check_ramp_clearance},
    {TL_RULE_HOOK_NOT_DOWN, tl_check_hook},
    {TL_RULE_WIND_UNKNOWN, tl_check_wind},
    {TL_RULE_WIND_LOW, tl_check_wind_low},
    {TL_RULE_DECK_MOTION, tl_check_deck_motion},
    {TL_RULE_CROSSWIND_OVER, tl_check_crosswind},
    {TL_RULE_SHIP_NOT_STEADY, tl_check_not_steady},
    {TL_RULE_NOT_MANNED, tl_check_not_manned},
    {TL_RULE_REFUSED_PUBLISHER, tl_check_refused_publisher},
    {TL_RULE_OTHER_BODY, tl_check_other_body},
    {TL_RULE_VALIDATOR_LOST, tl_check_validator_lost},
    {TL_RULE_BUS_DEGRADED, tl_check_bus_degraded},
    {TL_RULE_KEYS_DIFFER, tl_check_keys_differ},
    {TL_RULE_INBOUND_TROUBLE, tl_check_inbound_trouble},
    {TL_RULE_WALK_BACK, tl_check_walk_back},
    {TL_RULE_PENDANT_LIFE_NEAR, tl_check_pendant_life_near},
    {TL_RULE_TOUCHDOWN_OFF, tl_check_touchdown},
    {TL_RULE_INTERVAL_SHORT, tl_check_interval},
    {TL_RULE_DETORQUE_DUE, tl_check_detorque_due},
    {TL_RULE_VOICE_DIFFERS, tl_check_voice_differs},
    {TL_RULE_BY_VOICE, tl_check_by_voice},
    {TL_RULE_OVERRIDE_LIVE, tl_check_override_live},
    {TL_RULE_ONE_VALIDATOR, tl_check_one_validator},
    {TL_RULE_RECORDER_LOST, tl_check_recorder_lost},
    {TL_RULE_ALARM_FLOOD, tl_check_alarm_flood},
};

/* They look at what those above have found. */
static const struct rule_check LATE[] = {
    {TL_RULE_WAVE_OFF_ADVISED, tl_check_wave_off},
    {TL_RULE_PICTURE_LOST, tl_check_picture_lost},
};

static void
run_checks(struct tl_check *check, const struct rule_check *checks, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        check->rule = checks[i].rule;
        if (!check->fold->config->ship.rule_off[check->rule]) {
            checks[i].fn(check);
        }
    }
}

struct tl_cause *
tl_cause_add(struct tl_check *check, const struct tl_node *station, enum tl_cause_state state)
{
    struct tl_found *found = check->found;
    bool full = found->count == found->room;
    struct tl_cause *cause = full ? &found->spare : &found->cause[found->count++];
    memset(cause, 0, sizeof *cause);
    cause->rule = (uint32_t)check->rule;
    cause->state = state;
    if (station != NULL) {
        memcpy(cause->station, station->id, TL_ID_CAP);
    }
    found->forcing += state != TL_CAUSE_NOTE ? 1 : 0;
    return cause;
}

enum tl_cause_state
tl_due_state(const struct tl_check *check)
{
    const struct tl_ship *ship = &check->fold->config->ship;
    const struct tl_told *platform = tl_told_of(check->fold, TL_STATION_PLATFORM, 0);
    uint32_t before_s = ship->due_before_ramp_s[check->rule];
    if (check->current == NULL) {
        return TL_CAUSE_PENDING;
    }
    const struct tl_held *call = tl_said(check, platform, TL_DATUM_CALL, 0);
    if (call != NULL && check->type != NULL && before_s > 0) {
        uint64_t ramp_ms = call->said_ms + tl_final_approach_ms(check);
        if (check->now_ms + 1000ull * before_s >= ramp_ms) {
            return TL_CAUSE_OVERDUE;
        }
    }
    uint64_t due_ms =
        check->fold->list.current_since_ms + 1000ull * ship->due_after_order_s[check->rule];
    return check->now_ms >= due_ms ? TL_CAUSE_OVERDUE : TL_CAUSE_PENDING;
}

void
tl_key_by_held(struct tl_cause *cause, const struct tl_told *told, const struct tl_held *held)
{
    /* NOLINTNEXTLINE(clang-analyzer-core.NonNullParamChecker): who told a word has a node */
    memcpy(cause->subject.node, told->node->id, TL_ID_CAP);
    cause->subject.incarnation = told->incarnation;
    /* A sensor says a new word with each reading: they are one situation. */
    cause->subject.sequence = held != NULL && !held->datum.sensor ? held->datum.sequence : 0;
}

void
tl_key_by_order(struct tl_check *check, struct tl_cause *cause)
{
    const struct tl_told *primary = tl_told_of(check->fold, TL_STATION_PRIMARY, 0);
    if (primary == NULL || check->current == NULL) {
        return;
    }
    memcpy(cause->subject.node, primary->node->id, TL_ID_CAP);
    cause->subject.incarnation = primary->incarnation;
    cause->subject.sequence = check->current->order_sequence;
}

const struct tl_held *
tl_said(const struct tl_check *check, const struct tl_told *told, enum tl_datum_kind kind,
        uint32_t slot)
{
    return tl_word_for(check->fold, check->now_ms, told, kind, slot, check->current->event);
}

const struct tl_held *
tl_known(const struct tl_check *check, const struct tl_told *told, enum tl_datum_kind kind,
         uint32_t slot)
{
    const struct tl_held *held = tl_word(check->fold, check->now_ms, told, kind, slot);
    return held != NULL && held->datum.known ? held : NULL;
}

void
tl_cause_number(struct tl_cause_value *value, int64_t number)
{
    value->known = true;
    value->number = number;
}

void
tl_cause_word(struct tl_cause_value *value, const char *word)
{
    value->known = true;
    memcpy(value->word, word, strnlen(word, TL_TYPE_CAP - 1));
}

uint32_t
tl_apart(uint32_t a, uint32_t b)
{
    return a > b ? a - b : b - a;
}

void
tl_cause_bound(struct tl_check *check, const struct tl_told *told, const struct tl_held *held,
               const int64_t is_and_needed[2])
{
    struct tl_cause *cause = tl_cause_add(check, told->node, TL_CAUSE_WRONG);
    tl_cause_number(&cause->reported, is_and_needed[0]);
    tl_cause_number(&cause->needed, is_and_needed[1]);
    tl_key_by_held(cause, told, held);
}

const struct tl_held *
tl_need(struct tl_check *check, const struct tl_told *told, enum tl_datum_kind kind, uint32_t slot)
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

/* What two have signed an override of stays listed and does not force. */
static void
apply_overrides(const struct tl_check *check)
{
    struct tl_found *found = check->found;
    for (uint32_t i = 0; i < found->count; i++) {
        struct tl_cause *cause = &found->cause[i];
        const struct tl_rule_row *row = tl_rule_row_in(check->rows, cause->rule);
        if (row != NULL && row->overridable && cause->state == TL_CAUSE_WRONG &&
            tl_override_of(check->fold, cause->rule, cause->station) != NULL) {
            cause->state = TL_CAUSE_OVERRIDDEN;
            found->forcing--;
        }
    }
}

static void
find_clear_refusal(const struct tl_rule_index *rows, struct tl_decision *out)
{
    for (uint32_t i = 0; i < out->cause_count; i++) {
        const struct tl_rule_row *row = tl_rule_row_in(rows, out->cause[i].rule);
        if (row != NULL && row->refuses_clear && out->cause[i].reported.known &&
            !out->clear_refused) {
            out->clear_refused = true;
            out->clear_refused_rule = out->cause[i].rule;
        }
    }
}

/* Every rule, in the order of the table; at last whether nothing was forgotten. */
static void
find_causes(struct tl_check *check)
{
    run_checks(check, CHECKS, sizeof CHECKS / sizeof CHECKS[0]);
    tl_add_consequences(check);
    apply_overrides(check);
    check->found->room = TL_FOUND_MAX;
    run_checks(check, LATE, sizeof LATE / sizeof LATE[0]);
    if (check->found->forcing == 0 && !tl_is_proven(check->fold, check->outside, check->now_ms)) {
        check->rule = TL_RULE_UNPROVEN;
        (void)tl_cause_add(check, NULL, TL_CAUSE_WRONG);
    }
}

void
tl_decide(const struct tl_fold *fold, const struct tl_outside *outside, uint64_t now_ms,
          struct tl_decision *out)
{
    memset(out, 0, sizeof *out);
    out->word = TL_WORD_NOT_READY;
    struct tl_rule_index rows;
    tl_rule_index_fill(&rows);
    struct tl_found found; /* 28 KiB, of which little is used: not cleared */
    found.count = 0;
    found.forcing = 0;
    found.room = TL_FOUND_MAX - TL_FOUND_LATE;
    struct tl_check check = {
        .fold = fold, .outside = outside, .now_ms = now_ms, .found = &found, .rows = &rows};
    check.current = tl_events_current(&fold->list);
    if (check.current != NULL && check.current->order_known) {
        check.type = tl_config_type(fold->config, check.current->order.type);
    }
    if (check.type != NULL && tl_is_barricade_pass(&check) &&
        (check.type->barricade_setting_lb == 0 || fold->config->gear.barricade.unit == 0)) {
        check.type = NULL; /* nothing says what such a pass needs */
    }
    tl_ask_fill(&check, &out->ask);
    check.ask = &out->ask;
    find_causes(&check);
    tl_causes_list(&found, out);
    find_clear_refusal(&rows, out);
    if (out->forcing == 0) {
        out->word = TL_WORD_READY;
        return;
    }
    const struct tl_rule_row *row = tl_rule_row_in(&rows, out->cause[0].rule);
    out->kind = row != NULL ? row->kind : TL_CAUSE_PICTURE;
}
