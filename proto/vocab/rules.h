/* SPDX-License-Identifier: Apache-2.0 */
/*
 * rules.h - the one table of rules: what each is called, how bad it is, who acts, what is said.
 *
 * The checks themselves are in broker/core/rules and are indexed by the same ids. The words are
 * here because every screen says them and no screen may link the judgement. Ids are never used
 * again. docs/rules.md lists the same ids; a test compares the two.
 */
#ifndef TL_VOCAB_RULES_H
#define TL_VOCAB_RULES_H

#include "proto/vocab/message.h"

enum tl_rule {
    TL_RULE_NONE = 0,
    /* what is on deck or below: kind ship */
    TL_RULE_NO_EVENT = 1,
    TL_RULE_ORDER_UNKNOWN = 2,
    TL_RULE_TYPE_UNKNOWN = 3,
    TL_RULE_SETTING_OTHER_AIRCRAFT = 4,
    TL_RULE_SETTING_NOT_ORDERED = 5,
    TL_RULE_ENGINES_DISAGREE = 6,
    TL_RULE_REPEATER_DIFFERS = 7,
    TL_RULE_NOT_IN_BATTERY = 8,
    TL_RULE_DECK_FOUL = 9,
    TL_RULE_LINE_CROSSED = 10,
    TL_RULE_TYPE_CALLED_DIFFERS = 11,
    TL_RULE_HOOK_NOT_DOWN = 12,
    TL_RULE_FOUL_WORD_MISSING = 13,
    TL_RULE_WIND_UNKNOWN = 14,
    TL_RULE_NO_ENGINE = 15,
    TL_RULE_STOP = 16,
    TL_RULE_SHEAVE_DOWN = 17,
    TL_RULE_BYPASS_WITH_PENDANT = 18,
    TL_RULE_PENDANT_HEIGHT = 19,
    /* the tool or its data: kind picture */
    TL_RULE_STATION_LOST = 20,
    TL_RULE_TWO_WRITERS = 21,
    TL_RULE_VALIDATORS_DIFFER = 22,
    TL_RULE_VALIDATOR_LOST = 23,
    TL_RULE_PRIMARY_RESTARTED = 24,
    TL_RULE_LIST_NOT_HEARD = 25,
    TL_RULE_REFUSED_PUBLISHER = 26,
    TL_RULE_OTHER_BODY = 27,
    TL_RULE_BUS_DEGRADED = 28,
    TL_RULE_KEYS_DIFFER = 29,
    TL_RULE_LIMIT_REACHED = 30,
    TL_RULE_UNPROVEN = 31,
    /* kind ship again */
    TL_RULE_PENDANT_WORN = 32,
    TL_RULE_RETRACT_RUNNING = 33,
    TL_RULE_WIRE_NOT_FREE = 34,
    TL_RULE_TRACK_OPEN = 35,
    TL_RULE_AID_NOT_FOR_TYPE = 36,
    TL_RULE_AID_FAULT = 37,
    TL_RULE_INACTIVE_RIGGED = 38,
    TL_RULE_ACCUMULATOR = 39,
    /* said by a screen about itself, never sent */
    TL_RULE_SCREEN_NO_VALIDATOR = 40,
    TL_RULE_SCREEN_HOLDING = 41,
    TL_RULE_SCREEN_OTHER_CONFIGURATION = 42,
    TL_RULE_SCREEN_VALIDATORS_DIFFER = 43,
    /* kind ship again */
    TL_RULE_CROSSHEAD_GAP = 44,
    TL_RULE_DETORQUE_OVERDUE = 45,
    TL_RULE_DETORQUE_DUE = 46,
    TL_RULE_BARRICADE_NOT_STOWED = 47,
    TL_RULE_BARRICADE_POWER = 48,
    TL_RULE_ORDERED_DIVERTED = 49,
    TL_RULE_INBOUND_TROUBLE = 50,
    TL_RULE_RIG_UNKNOWN = 51,
    /* the tool and people */
    TL_RULE_RECORDER_LOST = 52,
    TL_RULE_BY_VOICE = 53,
    TL_RULE_VOICE_DIFFERS = 54,
    TL_RULE_OVERRIDE_LIVE = 55,
    TL_RULE_ONE_VALIDATOR = 56,
    /* kind ship: the aircraft's weight and the engines */
    TL_RULE_SETTING_LIGHT = 57,
    TL_RULE_OVER_TRAP_WEIGHT = 58,
    TL_RULE_FLUID_LEVEL = 59,
    TL_RULE_ENGINE_FAULT = 60,
    TL_RULE_SERVICE_UNKNOWN = 61,
    TL_RULE_NOT_SIGNED_OFF = 62,
    TL_RULE_INSPECTION_OVERDUE = 63,
    TL_RULE_PENDANT_LIFE = 64,
    TL_RULE_PENDANT_LIFE_NEAR = 65,
    /* after an arrest */
    TL_RULE_ARREST_UNREAD = 66,
    TL_RULE_RAM_TRAVEL = 67,
    TL_RULE_OFF_CENTRE = 68,
    TL_RULE_SIDES_UNEQUAL = 69,
    TL_RULE_WALK_BACK = 70,
    /* wires that are left, the aid, the wind, the ship */
    TL_RULE_TOO_FEW_WIRES = 71,
    TL_RULE_AID_NOT_ON_TARGET = 72,
    TL_RULE_AID_ANGLE = 73,
    TL_RULE_WIND_LOW = 74,
    TL_RULE_CROSSWIND_OVER = 75,
    TL_RULE_SHIP_NOT_STEADY = 76,
    TL_RULE_DECK_MOTION = 77,
    /* a pass into the barricade */
    TL_RULE_BARRICADE_NOT_RIGGED = 78,
    TL_RULE_BARRICADE_WIRES = 79,
    TL_RULE_WEBBING_USED = 80,
    /* people, the last seconds, alerts */
    TL_RULE_NOT_MANNED = 81,
    TL_RULE_WAVE_OFF_ADVISED = 82,
    TL_RULE_PICTURE_LOST = 83,
    TL_RULE_ALARM_FLOOD = 84,
    /* what only a computed recovery can tell */
    TL_RULE_HOOK_LOAD = 85,
    TL_RULE_ENERGY_OVER = 86,
    TL_RULE_ENERGY_THIN = 87,
    TL_RULE_STROKE_PREDICTED = 88,
    TL_RULE_TRAVEL_DISAGREES = 89,
    TL_RULE_RAMP_CLEARANCE = 90,
    TL_RULE_TOUCHDOWN_OFF = 91,
    TL_RULE_INTERVAL_SHORT = 92,
    TL_RULES_MAX = 96
};

enum tl_effect {
    TL_EFFECT_UNKNOWN = 0,
    TL_EFFECT_FORCE, /* NOT READY, and CLEAR is refused where the row says so */
    TL_EFFECT_HOLD,  /* NOT READY until reconciled */
    TL_EFFECT_NOTE   /* shown and alerted, does not force */
};

/* Which station kinds act on it; a set. ACTS_NAMED = the station that the cause names. */
enum {
    TL_ACTS_NAMED = 1u << 0,
    TL_ACTS_PRIMARY = 1u << 1,
    TL_ACTS_DECK = 1u << 2,
    TL_ACTS_PLATFORM = 1u << 3,
    TL_ACTS_ENGINES = 1u << 4,
    TL_ACTS_BRIDGE = 1u << 5,
    TL_ACTS_APPROACH = 1u << 6,
    TL_ACTS_WIRES = 1u << 7,
    TL_ACTS_TRACKS = 1u << 8,
    TL_ACTS_AID = 1u << 9,
    TL_ACTS_GEAR_OFFICER = 1u << 10,
    TL_ACTS_BARRICADE = 1u << 11,
    TL_ACTS_SAFETY = 1u << 12
};

struct tl_rule_row {
    enum tl_rule rule;
    const char *name; /* "setting-other-aircraft": in JSON, configuration and docs */
    enum tl_severity severity;
    enum tl_effect effect;
    enum tl_cause_kind kind;
    unsigned acts;              /* who must do something */
    unsigned owes;              /* who owes an acknowledgement */
    enum tl_station_kind from;  /* station kind without which it has no input; UNKNOWN = none */
    enum tl_datum_kind subject; /* datum whose statement keys the instance; UNKNOWN = node */
    bool refuses_clear;         /* CLEAR is refused while it is WRONG */
    bool overridable;
    bool transport;         /* holds NOT READY until it has been away 3.0 s */
    bool computed;          /* its input is a figure of the mechanics */
    const char *short_text; /* at most 32 bytes, stands without figures */
    const char *basis;      /* trade source or "project" */
};

/* True when what it is about is said for one event; else it stands from one to the next. */
bool tl_rule_is_of_event(const struct tl_rule_row *row);
/* True for a rule on a reading that swings about its limit: its alert is let go with delay. */
bool tl_rule_is_measured(const struct tl_rule_row *row);

/* The row, or NULL for an id that is not in the table. */
const struct tl_rule_row *tl_rule_row(uint32_t rule);
/* The same for who looks up many: a table of all rows by id, filled once. */
struct tl_rule_index {
    const struct tl_rule_row *row[TL_RULES_MAX]; /* NULL = no rule has that id */
};
void tl_rule_index_fill(struct tl_rule_index *index);
const struct tl_rule_row *tl_rule_row_in(const struct tl_rule_index *index, uint32_t rule);
/* TL_RULE_NONE when there is no rule of that name. */
enum tl_rule tl_rule_by_name(const char *name);
/* All rows in the fixed order of causes. */
const struct tl_rule_row *tl_rule_rows(size_t *count);

/* Same rule, station, event and subject: one alert, whoever raised it. */
bool tl_alert_same_instance(const struct tl_alert *a, const struct tl_alert *b);
/* The same instance as one number: what an acknowledgement names. Never 0. */
uint64_t tl_alert_instance(const struct tl_alert *alert);
/* Slot of the datum that acknowledges it: 1.. */
uint32_t tl_acknowledged_slot(uint64_t instance);
bool tl_alert_is_listed(const struct tl_alert *set, uint32_t count, const struct tl_alert *alert);

/* "alarm", ...; never NULL. */
const char *tl_severity_name(enum tl_severity severity);

/*
 * One sentence for a person: what, with figures, the consequence where one is computed, and who
 * acts. `event` may be pass 0. Writes at most cap bytes with the final NUL; TL_TEXT_CAP holds
 * whatever the codec lets pass for weights and computed figures. The text has no control bytes.
 * Returns dst.
 */
const char *tl_cause_text(const struct tl_cause *cause, struct tl_event event, char *dst,
                          size_t cap);
/* Why a publisher was refused; of a newer schema with both versions. Returns dst. */
const char *tl_cause_refusal_text(const struct tl_cause *cause, char *dst, size_t cap);
/* "engine 3", "deck", ...: a node id as people say it. Returns dst. */
const char *tl_node_spoken(const char *id, char *dst, size_t cap);
/* 40000 -> "40,000 lb". Returns dst. */
const char *tl_pounds_text(int64_t pounds, char *dst, size_t cap);
/* 1234567, "lbf" -> "1,234,567 lbf"; below a thousand million. Returns dst. */
const char *tl_grouped_text(uint32_t number, const char *unit, char *dst, size_t cap);

/*
 * What a setting would do, without the setting: "stops in 312 ft, hook load to 98,000 lbf", "ram
 * bottoms with 12 kn left, hook load to 212,000 lbf", "cable past its strength with 21 kn left".
 * Speed and run-out rounded up to whole ones. `would` is a computed one (set_lb above 0). Writes at
 * most cap bytes with the final NUL. Returns dst.
 */
const char *tl_would_text(const struct tl_would *would, char *dst, size_t cap);
/* The same, how it ends alone: without the hook load. */
const char *tl_would_end_text(const struct tl_would *would, char *dst, size_t cap);

/* "set 40,000 lb", "in battery", "foul: person over the line", ...; never empty. Returns dst. */
const char *tl_datum_text(const struct tl_datum *datum, char *dst, size_t cap);
const char *tl_foul_reason_text(enum tl_foul_reason reason);
const char *tl_pendant_word(enum tl_pendant_state state);
const char *tl_track_word(enum tl_track_state state);
const char *tl_barricade_word(enum tl_barricade_state state);
const char *tl_trouble_word(enum tl_trouble state);

#endif
