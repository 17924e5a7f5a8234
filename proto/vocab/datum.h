/* SPDX-License-Identifier: Apache-2.0 */
/*
 * datum.h - one fact that a station states: its value, who said it when, for which events.
 *
 * Invariants:
 *  1. `known == false` is UNKNOWN; nothing else in `as` may then be read.
 *  2. (kind, slot, voice_for) names a datum within its station. With voice_for it is said by voice
 *     for that other station, and is never this station's own word.
 *  3. A datum is *toward safe* when it can only take READY away, else *toward READY*.
 */
#ifndef TL_VOCAB_DATUM_H
#define TL_VOCAB_DATUM_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "proto/vocab/limits.h"

/* Values equal those of the schema; the codec maps them by table all the same. */
enum tl_datum_kind {
    TL_DATUM_UNKNOWN = 0,
    TL_DATUM_RECOVERY = 1,
    TL_DATUM_ORDER = 2,
    TL_DATUM_SET = 3,
    TL_DATUM_REPEATER = 4,
    TL_DATUM_BATTERY = 5,
    TL_DATUM_DECK = 6,
    TL_DATUM_CALL = 7,
    TL_DATUM_HOOK = 8,
    TL_DATUM_RESULT = 9,
    TL_DATUM_INBOUND = 10,
    TL_DATUM_RIG = 11,
    TL_DATUM_SHEAVE = 12,
    TL_DATUM_PENDANT = 13,
    TL_DATUM_FREE = 14,
    TL_DATUM_RETRACT = 15,
    TL_DATUM_STANCHIONS = 16,
    TL_DATUM_TRACK = 17,
    TL_DATUM_AID = 18,
    TL_DATUM_ACCUMULATOR = 19,
    TL_DATUM_CROSSHEAD = 20,
    TL_DATUM_CABLE = 21,
    TL_DATUM_BARRICADE = 22,
    TL_DATUM_BARRICADE_POWER = 23,
    TL_DATUM_WATCH = 24,
    TL_DATUM_ACKNOWLEDGED = 25,
    TL_DATUM_OVERRIDE = 26,
    TL_DATUM_OUT_OF_SERVICE = 27,
    TL_DATUM_SERVICE = 28,
    TL_DATUM_FLUID = 29,
    TL_DATUM_FAULT = 30,
    TL_DATUM_ARREST = 31,
    TL_DATUM_FREED = 32,
    TL_DATUM_SIGNED_OFF = 33,
    TL_DATUM_INSPECTED = 34,
    TL_DATUM_PENDANT_LIFE = 35,
    TL_DATUM_KINDS
};

/* What a station is; decides which data it may state. */
enum tl_station_kind {
    TL_STATION_UNKNOWN = 0,
    TL_STATION_ENGINE,
    TL_STATION_DECK,
    TL_STATION_APPROACH,
    TL_STATION_PLATFORM,
    TL_STATION_PRIMARY,
    TL_STATION_BRIDGE,
    TL_STATION_WIRES,
    TL_STATION_TRACKS,
    TL_STATION_AID,
    TL_STATION_GEAR_OFFICER,
    TL_STATION_BARRICADE,
    TL_STATION_SAFETY,
    TL_STATION_KINDS
};

enum tl_recovery_state {
    TL_RECOVERY_UNKNOWN = 0,
    TL_RECOVERY_OPEN = 53,
    TL_RECOVERY_CLOSED = 74
};
enum tl_order_state {
    TL_ORDER_UNKNOWN = 0,
    TL_ORDER_ORDERED = 53,
    TL_ORDER_CANCELLED = 74
};
enum tl_battery_state {
    TL_BATTERY_UNKNOWN = 0,
    TL_BATTERY_IN = 53,
    TL_BATTERY_OUT = 74
};
enum tl_deck_state {
    TL_DECK_UNKNOWN = 0,
    TL_DECK_CLEAR = 53,
    TL_DECK_FOUL = 74,
    TL_DECK_NO_FOUL = 108,
    TL_DECK_STOP = 19
};
enum tl_foul_reason {
    TL_FOUL_UNKNOWN = 0,
    TL_FOUL_PERSON = 1,
    TL_FOUL_AIRCRAFT = 2,
    TL_FOUL_EQUIPMENT = 3,
    TL_FOUL_WIRE = 4,
    TL_FOUL_OTHER = 5
};
enum tl_hook_state {
    TL_HOOK_UNKNOWN = 0,
    TL_HOOK_DOWN = 53,
    TL_HOOK_NOT_DOWN = 74
};
enum tl_outcome {
    TL_OUTCOME_UNKNOWN = 0,
    TL_OUTCOME_TRAP = 53,
    TL_OUTCOME_BOLTER = 74,
    TL_OUTCOME_WAVE_OFF = 108
};

enum tl_trouble {
    TL_TROUBLE_NONE = 0,
    TL_TROUBLE_HOOK = 1,
    TL_TROUBLE_GEAR = 2,
    TL_TROUBLE_OTHER = 3
};
enum tl_rig_state {
    TL_RIG_UNKNOWN = 0,
    TL_RIG_RIGGED = 53,
    TL_RIG_STRIPPED = 74
};
enum tl_sheave_state {
    TL_SHEAVE_UNKNOWN = 0,
    TL_SHEAVE_UP = 53,
    TL_SHEAVE_DOWN = 74
};
enum tl_pendant_state {
    TL_PENDANT_UNKNOWN = 0,
    TL_PENDANT_GOOD = 53,
    TL_PENDANT_WORN = 74,
    TL_PENDANT_SUPPORT = 108,
    TL_PENDANT_OFF_CENTRE = 19
};
enum tl_free_state {
    TL_FREE_UNKNOWN = 0,
    TL_FREE_FREE = 53,
    TL_FREE_HELD = 74
};
enum tl_retract_state {
    TL_RETRACT_UNKNOWN = 0,
    TL_RETRACT_RETRACTED = 53,
    TL_RETRACT_RUNNING = 74
};
enum tl_stanchion_state {
    TL_STANCHION_UNKNOWN = 0,
    TL_STANCHION_LOWERED = 53,
    TL_STANCHION_RAISED = 74,
    TL_STANCHION_MOVING = 108
};
enum tl_track_state {
    TL_TRACK_UNKNOWN = 0,
    TL_TRACK_SECURED = 53,
    TL_TRACK_OPEN = 74,
    TL_TRACK_DEFLECTOR = 108,
    TL_TRACK_SHUTTLE = 19,
    TL_TRACK_CREW = 86
};
enum tl_aid_state {
    TL_AID_UNKNOWN = 0,
    TL_AID_WORKING = 53,
    TL_AID_FAULT = 74
};
enum tl_barricade_state {
    TL_BARRICADE_UNKNOWN = 0,
    TL_BARRICADE_SECURE = 53,
    TL_BARRICADE_READY = 19,
    TL_BARRICADE_PARTIAL = 74,
    TL_BARRICADE_RIGGED = 108
};

enum tl_service_state {
    TL_SERVICE_UNKNOWN = 0,
    TL_SERVICE_IN = 53,
    TL_SERVICE_OUT = 74
};
enum tl_fluid_state {
    TL_FLUID_UNKNOWN = 0,
    TL_FLUID_BATTERY = 53,
    TL_FLUID_LOW = 74,
    TL_FLUID_HIGH = 108
};
enum tl_fault_state {
    TL_FAULT_STATE_UNKNOWN = 0,
    TL_FAULT_STATE_NONE = 53,
    TL_FAULT_STATE_ACTIVE = 74
};
enum tl_inspection_state {
    TL_INSPECTION_UNKNOWN = 0,
    TL_INSPECTION_GOOD = 53,
    TL_INSPECTION_FOUND = 74
};

/* (recovery id, pass number); both zero = none. */
struct tl_event {
    uint64_t recovery_ms;
    uint32_t pass;
};

struct tl_recovery {
    uint64_t recovery_ms;
    enum tl_recovery_state state;
    bool drill;
};
struct tl_order {
    uint32_t side; /* 1..9999 */
    char type[TL_TYPE_CAP];
    uint32_t weight_lb;
    int32_t place; /* lower comes earlier */
    enum tl_order_state state;
    bool barricade; /* into the barricade, not on a wire */
};
struct tl_deck {
    enum tl_deck_state state;
    enum tl_foul_reason reason;
    uint32_t expect_s; /* 0 = not known */
    bool was_clear;
};
struct tl_call {
    uint32_t side;
    char type[TL_TYPE_CAP];
    uint32_t fuel_lb; /* 0 = not said */
};
struct tl_result {
    enum tl_outcome outcome;
    uint32_t wire; /* 1.. for a trap, else 0 */
};
struct tl_inbound {
    uint32_t side;
    char type[TL_TYPE_CAP];
    uint32_t weight_lb;
    uint32_t fuel_lb; /* 0 = not said */
    bool fuel_low;
    enum tl_trouble trouble;
    bool diverted;
};
struct tl_sheave {
    enum tl_sheave_state state;
    bool bypassed;
};
struct tl_pendant {
    enum tl_pendant_state state;
    uint32_t low_in_x100;  /* deck to the underside, lowest point; 0 = not said */
    uint32_t high_in_x100; /* deck to the top, highest point; 0 = not said */
};
struct tl_free {
    enum tl_free_state state;
    uint32_t wire; /* the one that is held; 0 = none named */
};
struct tl_retract {
    enum tl_retract_state state;
    uint32_t wire; /* the one that runs; 0 = none named */
};
struct tl_aid {
    enum tl_aid_state state;
    char type[TL_TYPE_CAP];  /* set for that type; empty with a fault */
    uint32_t angle_deg_x100; /* 0 = not said */
    uint32_t target_wire;    /* 0 = not said */
};
/* Up to where a count of traps goes; see wear.h. */
struct tl_counted {
    struct tl_event last; /* of the passes that it was made with; pass 0 = none */
    uint32_t without;     /* bit n: of the pass n before it, 0 = itself, there is no trap in it */
};
/* What the book says of a pendant or a purchase cable. */
struct tl_wear {
    uint32_t traps;             /* since it was new */
    char serial[TL_SERIAL_CAP]; /* empty = not said */
    struct tl_counted counted;
    bool moved; /* by the station itself, from what its operator confirmed */
};
struct tl_cable {
    struct tl_wear wear;
    uint32_t detorqued_at; /* 0 = never */
};
struct tl_barricade {
    enum tl_barricade_state state;
    bool webbing_used;
};
struct tl_barricade_power {
    uint32_t pressure_psi;
    uint32_t cycles;
};
struct tl_service {
    enum tl_service_state state;
    uint32_t job; /* the last maintenance job; 0 = none */
};
struct tl_engine_fault {
    enum tl_fault_state state;
    uint32_t code;
};
/* What the engine room has read after a trap. */
struct tl_arrest {
    struct tl_event event;
    uint32_t ram_in_x10;
    uint32_t off_centre_ft_x10;
    uint32_t apart_in_x10;
    uint32_t walk_back_ft_x10;
};
struct tl_freed {
    struct tl_event event;
    char name[TL_NAME_CAP];
};
struct tl_signed_off {
    uint32_t job;
    char name[TL_NAME_CAP];
};
struct tl_inspected {
    enum tl_inspection_state state;
    char name[TL_NAME_CAP];
};
struct tl_override {
    uint32_t rule;
    char station[TL_ID_CAP]; /* empty = the cause names none */
    char reason[TL_REASON_CAP];
    uint32_t valid_s;
};

struct tl_datum {
    enum tl_datum_kind kind;
    uint32_t slot; /* which of several; see the kind in the schema */
    char voice_for[TL_ID_CAP];
    bool sensor;       /* read by a sensor, not keyed */
    uint64_t sequence; /* of the change that stated it; 0 only inside a station before it is said */
    uint32_t said_age_ms; /* since the key was pressed */
    uint32_t stated_for_count;
    struct tl_event stated_for[TL_STATED_FOR_MAX];
    bool known;
    union {
        struct tl_recovery recovery;
        struct tl_order order;
        uint32_t set_lb;
        uint32_t repeater_lb;
        enum tl_battery_state battery;
        struct tl_deck deck;
        struct tl_call call;
        enum tl_hook_state hook;
        struct tl_result result;
        struct tl_inbound inbound;
        enum tl_rig_state rig;
        struct tl_sheave sheave;
        struct tl_pendant pendant;
        struct tl_free free;
        struct tl_retract retract;
        enum tl_stanchion_state stanchions;
        enum tl_track_state track;
        struct tl_aid aid;
        uint32_t accumulator_psi;
        uint32_t crosshead_in_x100;
        struct tl_cable cable;
        struct tl_barricade barricade;
        struct tl_barricade_power barricade_power;
        char watch[TL_NAME_CAP];
        uint64_t instance;
        struct tl_override override;
        char out_of_service[TL_ID_CAP];
        struct tl_service service;
        enum tl_fluid_state fluid;
        struct tl_engine_fault fault;
        struct tl_arrest arrest;
        struct tl_freed freed;
        struct tl_signed_off signed_off;
        struct tl_inspected inspected;
        struct tl_wear pendant_life;
    } as;
};

/* How long a word lasts. */
enum tl_cadence {
    TL_CADENCE_UNKNOWN = 0,
    TL_CADENCE_EVENT,         /* only for the current event, void when it is left */
    TL_CADENCE_EVENT_CARRIED, /* one physical state; may be stated for queued events too */
    TL_CADENCE_UNTIL_CHANGED
};

bool tl_event_equal(struct tl_event a, struct tl_event b);
/* True when pass is not 0. */
bool tl_event_is(struct tl_event event);

/* Name of a kind as people see it in refusals ("set"), never NULL. */
const char *tl_datum_kind_name(enum tl_datum_kind kind);

/* UNKNOWN when there is no kind of that name. */
enum tl_datum_kind tl_datum_kind_by_name(const char *name);

/* A word on the gear, the deck edge, the aid or the barricade; not of an event, a person or a weight. */
bool tl_datum_is_of_gear(enum tl_datum_kind kind);

enum tl_cadence tl_datum_cadence(enum tl_datum_kind kind);

/*
 * True when the datum can only take READY away: UNKNOWN, FOUL, STOP, out of battery, hook not
 * down, a sheave down and not bypassed, a cancelled order, a closed recovery, ...; and what acts at
 * once and makes nothing READY: a pass result, an acknowledgement, who has the watch.
 */
bool tl_datum_is_safeward(const struct tl_datum *datum);

/* True for a READY-ward word that dies with its event: battery, call, hook down, CLEAR. */
bool tl_datum_is_event_word(const struct tl_datum *datum);

/* True when the operator must give a read-back and a confirm: everything toward READY. */
bool tl_datum_needs_confirm(const struct tl_datum *datum);

/* Same (kind, slot, voice_for). */
bool tl_datum_same_name(const struct tl_datum *a, const struct tl_datum *b);

/* Same name, value and events; sequence and age are not looked at. */
bool tl_datum_equal(const struct tl_datum *a, const struct tl_datum *b);

/* Same name, both known, same value; events are not looked at. */
bool tl_datum_same_value(const struct tl_datum *a, const struct tl_datum *b);

bool tl_datum_is_for(const struct tl_datum *datum, struct tl_event event);

/* Said by voice for another station. */
bool tl_datum_is_voice(const struct tl_datum *datum);

/* Make it UNKNOWN under the given sequence, keeping its name; events are dropped. */
void tl_datum_make_unknown(struct tl_datum *datum, uint64_t sequence);

/* The station's own datum of that kind and slot in an array, or NULL. */
struct tl_datum *tl_data_find(struct tl_datum *data, size_t count, enum tl_datum_kind kind,
                              uint32_t slot);
const struct tl_datum *tl_data_find_const(const struct tl_datum *data, size_t count,
                                          enum tl_datum_kind kind, uint32_t slot);
/* The datum of the same name in an array, or NULL. */
const struct tl_datum *tl_data_same_name(const struct tl_datum *data, size_t count,
                                         const struct tl_datum *name);

#endif
