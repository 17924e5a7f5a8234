/* SPDX-License-Identifier: Apache-2.0 */
/* check.h - what the checks of the rules share. */
#ifndef TL_CORE_RULES_CHECK_H
#define TL_CORE_RULES_CHECK_H

#include "broker/core/picture/word.h"
#include "broker/core/rules/decide.h"

enum {
    TL_FOUND_MAX = 160, /* 8 engines of which nobody has said anything come to some 100 */
    TL_FOUND_LATE = 2   /* places kept for what is found last: the advice to wave off is of it */
};

/* Every cause that the rules find, in the order of the table. */
struct tl_found {
    uint32_t count;
    uint32_t room;    /* places that may be taken */
    uint32_t forcing; /* that force or hold, with those that had no place */
    struct tl_cause cause[TL_FOUND_MAX];
    struct tl_cause spare; /* written by who finds one too many */
};

struct tl_check {
    const struct tl_fold *fold;
    const struct tl_outside *outside;
    uint64_t now_ms;
    const struct tl_listed_event *current; /* NULL = none */
    const struct tl_aircraft_type *type;   /* NULL = none, or not in the table */
    struct tl_found *found;
    enum tl_rule rule; /* the one being checked */
    const struct tl_rule_index *rows;
    const struct tl_ask *ask;
};

typedef void tl_check_fn(struct tl_check *check);

tl_check_fn tl_check_two_writers, tl_check_station_lost, tl_check_validators_differ,
    tl_check_list_not_heard, tl_check_primary_restarted, tl_check_refused_publisher,
    tl_check_other_body, tl_check_validator_lost, tl_check_bus_degraded, tl_check_keys_differ;
tl_check_fn tl_check_no_event, tl_check_order_unknown, tl_check_type_unknown, tl_check_type_called,
    tl_check_setting_other, tl_check_setting_ordered, tl_check_engines_disagree, tl_check_repeater,
    tl_check_battery, tl_check_no_engine;
tl_check_fn tl_check_rig, tl_check_sheave, tl_check_bypass, tl_check_pendant_height,
    tl_check_pendant_worn, tl_check_inactive, tl_check_wire_free, tl_check_retract,
    tl_check_accumulator, tl_check_crosshead, tl_check_detorque_due, tl_check_detorque_overdue,
    tl_check_track, tl_check_aid, tl_check_aid_fault, tl_check_barricade, tl_check_barricade_power;
tl_check_fn tl_check_stop, tl_check_ordered_diverted, tl_check_inbound_trouble, tl_check_by_voice,
    tl_check_voice_differs, tl_check_override_live, tl_check_one_validator, tl_check_recorder_lost;
tl_check_fn tl_check_line_crossed, tl_check_deck_foul, tl_check_foul_word, tl_check_hook,
    tl_check_wind;
tl_check_fn tl_check_over_trap_weight, tl_check_setting_light, tl_check_service,
    tl_check_engine_fault, tl_check_fluid, tl_check_signed_off, tl_check_inspection,
    tl_check_pendant_life, tl_check_pendant_life_near, tl_check_arrest_unread, tl_check_ram_travel,
    tl_check_off_centre, tl_check_sides_unequal, tl_check_walk_back;
tl_check_fn tl_check_too_few_wires, tl_check_aid_target, tl_check_aid_angle,
    tl_check_barricade_rigged, tl_check_barricade_wires, tl_check_webbing, tl_check_not_manned;
tl_check_fn tl_check_wind_low, tl_check_crosswind, tl_check_not_steady, tl_check_deck_motion;
tl_check_fn tl_check_energy_over, tl_check_stroke, tl_check_travel, tl_check_hook_load,
    tl_check_energy_thin, tl_check_ramp_clearance, tl_check_touchdown, tl_check_interval;
/* Of the causes that the others have found: after them, and before they are sorted. */
tl_check_fn tl_check_wave_off, tl_check_picture_lost, tl_check_alarm_flood;

/*
 * Add a cause of the rule being checked. `station` may be NULL. One for which there is no place is
 * counted: the decision is NOT READY and says that the limit was reached. Never NULL.
 */
struct tl_cause *tl_cause_add(struct tl_check *check, const struct tl_node *station,
                              enum tl_cause_state state);

/* PENDING, or OVERDUE once the datum of the rule being checked is due. */
enum tl_cause_state tl_due_state(const struct tl_check *check);

/* Key the cause by a statement of that station (sequence of that datum). */
void tl_key_by_held(struct tl_cause *cause, const struct tl_told *told, const struct tl_held *held);
/* Key it by primary's order of the current event: a datum due but not said, or several units. */
void tl_key_by_order(struct tl_check *check, struct tl_cause *cause);

/* The word that counts when it is known and stated for the current event, else NULL. */
const struct tl_held *tl_said(const struct tl_check *check, const struct tl_told *told,
                              enum tl_datum_kind kind, uint32_t slot);
/* The word that counts when it is known, whatever event it is for, else NULL. */
const struct tl_held *tl_known(const struct tl_check *check, const struct tl_told *told,
                               enum tl_datum_kind kind, uint32_t slot);

/* The current pass is one into the barricade. */
bool tl_is_barricade_pass(const struct tl_check *check);
/* In use by gear.yaml, and not said to be out of service by its own room. */
bool tl_is_in_service(const struct tl_fold *fold, uint64_t now_ms,
                      const struct tl_engine_gear *engine);
/* In service, and not of a wire that is to be stripped for a barricade pass. */
bool tl_takes_part(const struct tl_check *check, const struct tl_engine_gear *engine);
/* What that engine has to be set to for the type ordered, lb; check->type is not NULL. */
uint32_t tl_setting_needed(const struct tl_check *check, uint32_t unit);

typedef void tl_engine_fn(struct tl_check *check, uint32_t unit);
/* Every engine that takes part in the current pass, in the order of gear.yaml. */
void tl_each_engine(struct tl_check *check, tl_engine_fn *fn);

/* The word of that station, or NULL and a cause that it is missing; slot 0 is not told. */
const struct tl_held *tl_need(struct tl_check *check, const struct tl_told *told,
                              enum tl_datum_kind kind, uint32_t slot);
/* The gear officer has freed that engine by name after that pass. */
bool tl_is_freed(const struct tl_check *check, uint32_t unit, struct tl_event event);
/* What the approach controller has said of the aircraft ordered next, or NULL. */
const struct tl_held *tl_inbound_of_current(const struct tl_check *check,
                                            const struct tl_told **approach);

/* What has to be computed for the picture as it stands. */
void tl_ask_fill(const struct tl_check *check, struct tl_ask *ask);
/* The arrest computed for the current pass, while its inputs hold, or NULL. */
const struct tl_predicted_arrest *tl_predicted_arrest_of(const struct tl_check *check);
/* The ram travel that was computed for an engine's trap, or NULL. */
const struct tl_expected *tl_expected_of(const struct tl_outside *outside, uint32_t unit,
                                         struct tl_event event);
/* From the pilot's call to the ramp: computed, or of the type; check->type is not NULL. */
uint64_t tl_final_approach_ms(const struct tl_check *check);
/* What each wrong setting that is told of would do. */
void tl_add_consequences(struct tl_check *check);

/* Figures of a cause. */
void tl_cause_number(struct tl_cause_value *value, int64_t number);
void tl_cause_word(struct tl_cause_value *value, const char *word);

/* A cause WRONG with what is and what is needed, keyed by that word. */
void tl_cause_bound(struct tl_check *check, const struct tl_told *told, const struct tl_held *held,
                    const int64_t is_and_needed[2]);

/* How the setting of one engine stands for the current event. */
enum tl_setting {
    TL_SETTING_UNSTATED = 0,
    TL_SETTING_OTHER,
    TL_SETTING_NOT_ORDERED,
    TL_SETTING_RIGHT
};
enum tl_setting tl_setting_of(const struct tl_check *check, uint32_t unit,
                              const struct tl_told **told, const struct tl_held **held);

/*
 * A station is lost, but two have said by voice all that it owes for the current event: it stays
 * shown as lost and does not force. False for primary, the bridge, and with no current event.
 */
bool tl_is_covered_by_voice(const struct tl_fold *fold, uint64_t now_ms,
                            const struct tl_told *told);

/* The bridge's wind while it is fresh, whatever its state, or NULL. */
const struct tl_wind *tl_wind_of(const struct tl_fold *fold, uint64_t now_ms);
/* Its motion while it is fresh, or NULL. */
const struct tl_motion *tl_motion_of(const struct tl_fold *fold, uint64_t now_ms);
/* The bridge's wind: UNKNOWN when there is none or it is over age. */
enum tl_wind_state tl_wind_now(const struct tl_fold *fold, uint64_t now_ms);

uint32_t tl_apart(uint32_t a, uint32_t b);

#endif
