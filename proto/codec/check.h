/* SPDX-License-Identifier: Apache-2.0 */
/*
 * check.h - does an unpacked message mean something? One table row for each field of the schema
 *
 * The walk goes depth first in the order of field numbers and ends at the first fault:
 *   1. EMPTY: no field is set in a message of which a part is required.
 *   2. For each field: MISSING if required and not set; TOO_MANY entries; then each entry: ENUM
 *      (not in the schema); UTF8, CONTROL_BYTES, RANGE of a text; RANGE of a number, of the length
 *      of bytes or of an id that is not well formed; or, for a message, its own walk.
 *   3. The rule of the message, for what no field shows alone.
 * A field without a row is NEWER_SCHEMA: nothing here can vouch for it. A test compares the rows
 * with the schema.
 */
#ifndef TL_CODEC_CHECK_H
#define TL_CODEC_CHECK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "proto/codec/unpack.h"

/* Ranges that no limit of the bus gives; wide enough for any ship, narrow enough for arithmetic. */
enum {
    TL_CHECK_SIDE_MAX = 9999,
    TL_CHECK_WEIGHT_LB_MAX = 200000,
    TL_CHECK_PLACE_MAX = 100000, /* either side of 0 */
    TL_CHECK_WIRE_MAX = 8,
    TL_CHECK_CAUSES_MAX = 9999, /* causes counted, not listed */
    TL_CHECK_EXPECT_S_MAX = 86400,
    TL_CHECK_SPEED_KT_X10_MAX = TL_COMPUTED_SPEED_KT_X10_MAX, /* also either side of 0 */
    TL_CHECK_DIRECTION_DEG_X10_MAX = 3599,
    TL_CHECK_ATTITUDE_DEG_X10_MAX = 900,   /* pitch and roll, either side of 0 */
    TL_CHECK_HEAVE_M_X100_MAX = 10000,     /* either side of 0 */
    TL_CHECK_TURN_DEG_MIN_X10_MAX = 36000, /* either side of 0 */
    TL_CHECK_HEIGHT_IN_X100_MAX = 10000,
    TL_CHECK_ANGLE_DEG_X100_MAX = 900,
    TL_CHECK_PRESSURE_PSI_MAX = 20000,
    TL_CHECK_TRAPS_MAX = TL_TRAPS_MAX,
    TL_CHECK_CYCLES_MAX = 1000,
    TL_CHECK_JOB_MAX = 999999,
    TL_CHECK_CODE_MAX = 9999,
    TL_CHECK_TRAVEL_X10_MAX = TL_COMPUTED_TRAVEL_X10_MAX,
    TL_CHECK_LOAD_LBF_MAX = TL_COMPUTED_LOAD_LBF_MAX,
    TL_CHECK_TENSION_PERCENT_MAX = TL_COMPUTED_TENSION_PERCENT_MAX,
    TL_CHECK_ENERGY_KFTLB_MAX = TL_COMPUTED_ENERGY_KFTLB_MAX,
    TL_CHECK_MARGIN_PERCENT_MAX = TL_COMPUTED_MARGIN_PERCENT_MAX, /* below 0; above it 100 */
    TL_CHECK_TIME_S_X10_MAX = TL_COMPUTED_TIME_S_X10_MAX,
    TL_CHECK_SLOT_MAX = 0x7FFFFFFF
};

enum tl_check_kind {
    TL_CHECK_NONE = 0,
    TL_CHECK_UINT,    /* uint32, uint64: at most max; 0 is not set, so "required" means from 1 */
    TL_CHECK_SINT,    /* sint32, sint64: min..max */
    TL_CHECK_FLAG,    /* bool */
    TL_CHECK_ENUM,    /* a value of the schema; 0 is not set */
    TL_CHECK_ID,      /* string, tl_id_is_wellformed */
    TL_CHECK_TYPE,    /* string, tl_type_is_wellformed */
    TL_CHECK_TEXT,    /* string, at most max bytes, nothing in it that a screen would obey */
    TL_CHECK_BYTES,   /* exactly max bytes; with a min, from min to max */
    TL_CHECK_MESSAGE, /* its own table is sub */
    TL_CHECK_VALUE    /* MotionValue, its number min..max */
};

struct tl_check_message;

struct tl_check_row {
    uint32_t field; /* its number in the schema */
    enum tl_check_kind kind;
    bool required;
    uint32_t count_max; /* repeated fields only */
    int64_t min;
    uint64_t max;
    const struct tl_check_message *sub;
};

struct tl_check_message {
    const ProtobufCMessageDescriptor *descriptor;
    const struct tl_check_row *rows; /* in the order of field numbers, as in the descriptor */
    size_t count;
    bool may_be_empty; /* all fields at their default mean something, or nothing at all */
    enum tl_refusal (*rule)(const ProtobufCMessage *message); /* NULL if there is none */
};

#define TL_CHECK_ROWS(table) .rows = (table), .count = sizeof(table) / sizeof(table)[0]

/* The first fault, or TL_FAULT_NONE. message is one that table->descriptor describes. */
enum tl_refusal tl_check_message(const struct tl_check_message *table,
                                 const ProtobufCMessage *message);

/* The root of the tables, and those that more than one file needs. */
extern const struct tl_check_message tl_check_envelope;
extern const struct tl_check_message tl_check_event;
extern const struct tl_check_message tl_check_order;
extern const struct tl_check_message tl_check_result;
extern const struct tl_check_message tl_check_datum;
extern const struct tl_check_message tl_check_word_rig, tl_check_word_sheave, tl_check_word_pendant,
    tl_check_word_free, tl_check_word_retract, tl_check_word_stanchions, tl_check_word_track,
    tl_check_word_aid, tl_check_word_accumulator, tl_check_word_crosshead, tl_check_word_cable,
    tl_check_word_barricade, tl_check_word_barricade_power, tl_check_word_watch,
    tl_check_word_acknowledged, tl_check_word_override, tl_check_word_out_of_service,
    tl_check_word_service, tl_check_word_fluid, tl_check_word_fault, tl_check_word_arrest,
    tl_check_word_freed, tl_check_word_signed_off, tl_check_word_inspected,
    tl_check_word_pendant_life;
extern const struct tl_check_message tl_check_sample;
extern const struct tl_check_message tl_check_beat;
extern const struct tl_check_message tl_check_change;
extern const struct tl_check_message tl_check_receipt;
extern const struct tl_check_message tl_check_verdict;
extern const struct tl_check_message tl_check_picture;
extern const struct tl_check_message tl_check_alert_set;
extern const struct tl_check_message tl_check_judged;
extern const struct tl_check_message tl_check_would, tl_check_predicted, tl_check_expected;
extern const struct tl_check_message tl_check_ended, tl_check_worn;

/* TOO_MANY when two of the data have the same kind, slot and voice_for. */
enum tl_refusal tl_check_names_differ(wire_datum *const *data, size_t count);

#endif
