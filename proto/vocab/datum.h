/* SPDX-License-Identifier: Apache-2.0 */
/*
 * datum.h - one fact that a station states: its value, who said it when, for which events.
 *
 * Invariants:
 *  1. `known == false` is UNKNOWN; nothing else in `as` may then be read.
 *  2. (kind, slot) names a datum within its station.
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
    TL_DATUM_KINDS
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
    TL_DECK_NO_FOUL = 108
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
};

struct tl_datum {
    enum tl_datum_kind kind;
    uint32_t slot;
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

enum tl_cadence tl_datum_cadence(enum tl_datum_kind kind);

/*
 * True when the datum can only take READY away: UNKNOWN, FOUL, out of battery, hook not down,
 * a cancelled order, a closed recovery; and a pass result, which acts at once.
 */
bool tl_datum_is_safeward(const struct tl_datum *datum);

/* True for a READY-ward word that dies with its event: battery, call, hook down, CLEAR. */
bool tl_datum_is_event_word(const struct tl_datum *datum);

/* True when the operator must give a read-back and a confirm: everything toward READY. */
bool tl_datum_needs_confirm(const struct tl_datum *datum);

/* Same (kind, slot). */
bool tl_datum_same_name(const struct tl_datum *a, const struct tl_datum *b);

/* Same name, value and events; sequence and age are not looked at. */
bool tl_datum_equal(const struct tl_datum *a, const struct tl_datum *b);

/* Same name, both known, same value; events are not looked at. */
bool tl_datum_same_value(const struct tl_datum *a, const struct tl_datum *b);

bool tl_datum_is_for(const struct tl_datum *datum, struct tl_event event);

/* Make it UNKNOWN under the given sequence, keeping kind and slot; events are dropped. */
void tl_datum_make_unknown(struct tl_datum *datum, uint64_t sequence);

/* The datum of that name in an array, or NULL. */
struct tl_datum *tl_data_find(struct tl_datum *data, size_t count, enum tl_datum_kind kind,
                              uint32_t slot);
const struct tl_datum *tl_data_find_const(const struct tl_datum *data, size_t count,
                                          enum tl_datum_kind kind, uint32_t slot);

#endif
