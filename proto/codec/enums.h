/* SPDX-License-Identifier: Apache-2.0 */
/*
 * enums.h - which value of a generated enum is which of ours: one table each, nowhere else
 *
 * The numbers are equal today. They are mapped all the same, so that a value added to one side is
 * UNKNOWN on the other and not a number out of its enumeration.
 */
#ifndef TL_CODEC_ENUMS_H
#define TL_CODEC_ENUMS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include <protobuf-c/protobuf-c.h>

enum tl_enum {
    TL_ENUM_DATUM_KIND = 0,
    TL_ENUM_RECOVERY_STATE,
    TL_ENUM_ORDER_STATE,
    TL_ENUM_BATTERY_STATE,
    TL_ENUM_DECK_STATE,
    TL_ENUM_FOUL_REASON,
    TL_ENUM_HOOK_STATE,
    TL_ENUM_PASS_OUTCOME,
    TL_ENUM_WIND_STATE,
    TL_ENUM_REFUSAL_REASON,
    TL_ENUM_VERDICT_WORD,
    TL_ENUM_CAUSE_KIND,
    TL_ENUM_CAUSE_STATE,
    TL_ENUM_LIVENESS,
    TL_ENUM_SEVERITY,
    TL_ENUM_JUDGED_KIND,
    TL_ENUM_INBOUND_TROUBLE,
    TL_ENUM_RIG_STATE,
    TL_ENUM_SHEAVE_STATE,
    TL_ENUM_PENDANT_STATE,
    TL_ENUM_FREE_STATE,
    TL_ENUM_RETRACT_STATE,
    TL_ENUM_STANCHION_STATE,
    TL_ENUM_TRACK_STATE,
    TL_ENUM_AID_STATE,
    TL_ENUM_BARRICADE_STATE,
    TL_ENUM_ALERT_STATE,
    TL_ENUM_SERVICE_STATE,
    TL_ENUM_FLUID_STATE,
    TL_ENUM_FAULT_STATE,
    TL_ENUM_INSPECTION_STATE,
    TL_ENUMS
};

struct tl_enum_row {
    uint32_t wire;
    uint32_t ours;
};
struct tl_enum_table {
    const ProtobufCEnumDescriptor *descriptor;
    const struct tl_enum_row *rows;
    size_t count;
};

const struct tl_enum_table *tl_enum_table(enum tl_enum id);

/* False, and *wire untouched, when ours is not in the table. */
bool tl_enum_to_wire(enum tl_enum id, uint32_t ours, uint32_t *wire);

/* 0 (UNKNOWN in every enumeration) when wire is not in the table. */
uint32_t tl_enum_from_wire(enum tl_enum id, uint32_t wire);

#endif
