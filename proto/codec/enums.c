/* SPDX-License-Identifier: Apache-2.0 */
/* enums.c - see enums.h. */
#include "proto/codec/enums.h"

#include "proto/base/require.h"
#include "proto/codec/wire.h"
#include "proto/vocab/message.h"

#define ROW(type, value, ours)                                                                     \
    {                                                                                              \
        TRAPLINE__V1__##type##__##type##_##value, ours                                             \
    }
#define TABLE(type, rows)                                                                          \
    {                                                                                              \
        &trapline__v1__##type##__descriptor, (rows), sizeof(rows) / sizeof(rows)[0]                \
    }

static const struct tl_enum_row datum_kind_rows[] = {
    ROW(DATUM_KIND, UNKNOWN, TL_DATUM_UNKNOWN),
    ROW(DATUM_KIND, RECOVERY, TL_DATUM_RECOVERY),
    ROW(DATUM_KIND, ORDER, TL_DATUM_ORDER),
    ROW(DATUM_KIND, SET, TL_DATUM_SET),
    ROW(DATUM_KIND, REPEATER, TL_DATUM_REPEATER),
    ROW(DATUM_KIND, BATTERY, TL_DATUM_BATTERY),
    ROW(DATUM_KIND, DECK, TL_DATUM_DECK),
    ROW(DATUM_KIND, CALL, TL_DATUM_CALL),
    ROW(DATUM_KIND, HOOK, TL_DATUM_HOOK),
    ROW(DATUM_KIND, RESULT, TL_DATUM_RESULT),
    ROW(DATUM_KIND, INBOUND, TL_DATUM_INBOUND),
    ROW(DATUM_KIND, RIG, TL_DATUM_RIG),
    ROW(DATUM_KIND, SHEAVE, TL_DATUM_SHEAVE),
    ROW(DATUM_KIND, PENDANT, TL_DATUM_PENDANT),
    ROW(DATUM_KIND, FREE, TL_DATUM_FREE),
    ROW(DATUM_KIND, RETRACT, TL_DATUM_RETRACT),
    ROW(DATUM_KIND, STANCHIONS, TL_DATUM_STANCHIONS),
    ROW(DATUM_KIND, TRACK, TL_DATUM_TRACK),
    ROW(DATUM_KIND, AID, TL_DATUM_AID),
    ROW(DATUM_KIND, ACCUMULATOR, TL_DATUM_ACCUMULATOR),
    ROW(DATUM_KIND, CROSSHEAD, TL_DATUM_CROSSHEAD),
    ROW(DATUM_KIND, CABLE, TL_DATUM_CABLE),
    ROW(DATUM_KIND, BARRICADE, TL_DATUM_BARRICADE),
    ROW(DATUM_KIND, BARRICADE_POWER, TL_DATUM_BARRICADE_POWER),
    ROW(DATUM_KIND, WATCH, TL_DATUM_WATCH),
    ROW(DATUM_KIND, ACKNOWLEDGED, TL_DATUM_ACKNOWLEDGED),
    ROW(DATUM_KIND, OVERRIDE, TL_DATUM_OVERRIDE),
    ROW(DATUM_KIND, OUT_OF_SERVICE, TL_DATUM_OUT_OF_SERVICE),
    ROW(DATUM_KIND, SERVICE, TL_DATUM_SERVICE),
    ROW(DATUM_KIND, FLUID, TL_DATUM_FLUID),
    ROW(DATUM_KIND, FAULT, TL_DATUM_FAULT),
    ROW(DATUM_KIND, ARREST, TL_DATUM_ARREST),
    ROW(DATUM_KIND, FREED, TL_DATUM_FREED),
    ROW(DATUM_KIND, SIGNED_OFF, TL_DATUM_SIGNED_OFF),
    ROW(DATUM_KIND, INSPECTED, TL_DATUM_INSPECTED),
    ROW(DATUM_KIND, PENDANT_LIFE, TL_DATUM_PENDANT_LIFE),
};

static const struct tl_enum_row recovery_state_rows[] = {
    ROW(RECOVERY_STATE, UNKNOWN, TL_RECOVERY_UNKNOWN),
    ROW(RECOVERY_STATE, OPEN, TL_RECOVERY_OPEN),
    ROW(RECOVERY_STATE, CLOSED, TL_RECOVERY_CLOSED),
};

static const struct tl_enum_row order_state_rows[] = {
    ROW(ORDER_STATE, UNKNOWN, TL_ORDER_UNKNOWN),
    ROW(ORDER_STATE, ORDERED, TL_ORDER_ORDERED),
    ROW(ORDER_STATE, CANCELLED, TL_ORDER_CANCELLED),
};

static const struct tl_enum_row battery_state_rows[] = {
    ROW(BATTERY_STATE, UNKNOWN, TL_BATTERY_UNKNOWN),
    ROW(BATTERY_STATE, IN, TL_BATTERY_IN),
    ROW(BATTERY_STATE, OUT, TL_BATTERY_OUT),
};

static const struct tl_enum_row deck_state_rows[] = {
    ROW(DECK_STATE, UNKNOWN, TL_DECK_UNKNOWN), ROW(DECK_STATE, CLEAR, TL_DECK_CLEAR),
    ROW(DECK_STATE, FOUL, TL_DECK_FOUL),       ROW(DECK_STATE, NO_FOUL, TL_DECK_NO_FOUL),
    ROW(DECK_STATE, STOP, TL_DECK_STOP),
};

static const struct tl_enum_row foul_reason_rows[] = {
    ROW(FOUL_REASON, UNKNOWN, TL_FOUL_UNKNOWN),   ROW(FOUL_REASON, PERSON, TL_FOUL_PERSON),
    ROW(FOUL_REASON, AIRCRAFT, TL_FOUL_AIRCRAFT), ROW(FOUL_REASON, EQUIPMENT, TL_FOUL_EQUIPMENT),
    ROW(FOUL_REASON, WIRE, TL_FOUL_WIRE),         ROW(FOUL_REASON, OTHER, TL_FOUL_OTHER),
};

static const struct tl_enum_row hook_state_rows[] = {
    ROW(HOOK_STATE, UNKNOWN, TL_HOOK_UNKNOWN),
    ROW(HOOK_STATE, DOWN, TL_HOOK_DOWN),
    ROW(HOOK_STATE, NOT_DOWN, TL_HOOK_NOT_DOWN),
};

static const struct tl_enum_row pass_outcome_rows[] = {
    ROW(PASS_OUTCOME, UNKNOWN, TL_OUTCOME_UNKNOWN),
    ROW(PASS_OUTCOME, TRAP, TL_OUTCOME_TRAP),
    ROW(PASS_OUTCOME, BOLTER, TL_OUTCOME_BOLTER),
    ROW(PASS_OUTCOME, WAVE_OFF, TL_OUTCOME_WAVE_OFF),
};

static const struct tl_enum_row wind_state_rows[] = {
    ROW(WIND_STATE, UNKNOWN, TL_WIND_UNKNOWN),
    ROW(WIND_STATE, KNOWN, TL_WIND_KNOWN),
    ROW(WIND_STATE, DISAGREE, TL_WIND_DISAGREE),
};

static const struct tl_enum_row refusal_reason_rows[] = {
    ROW(REFUSAL_REASON, UNKNOWN, TL_REFUSAL_UNKNOWN),
    ROW(REFUSAL_REASON, FRAMES, TL_REFUSAL_FRAMES),
    ROW(REFUSAL_REASON, NO_TOPIC, TL_REFUSAL_NO_TOPIC),
    ROW(REFUSAL_REASON, OVERSIZE, TL_REFUSAL_OVERSIZE),
    ROW(REFUSAL_REASON, NOT_YOUR_TOPIC, TL_REFUSAL_NOT_YOUR_TOPIC),
    ROW(REFUSAL_REASON, UNKNOWN_USER, TL_REFUSAL_UNKNOWN_USER),
    ROW(REFUSAL_REASON, REVOKED, TL_REFUSAL_REVOKED),
    ROW(REFUSAL_REASON, SIGNATURE, TL_REFUSAL_SIGNATURE),
    ROW(REFUSAL_REASON, TRUNCATED, TL_REFUSAL_TRUNCATED),
    ROW(REFUSAL_REASON, NEWER_SCHEMA, TL_REFUSAL_NEWER_SCHEMA),
    ROW(REFUSAL_REASON, ENUM, TL_REFUSAL_ENUM),
    ROW(REFUSAL_REASON, NOT_CANONICAL, TL_REFUSAL_NOT_CANONICAL),
    ROW(REFUSAL_REASON, UTF8, TL_REFUSAL_UTF8),
    ROW(REFUSAL_REASON, CONTROL_BYTES, TL_REFUSAL_CONTROL_BYTES),
    ROW(REFUSAL_REASON, RANGE, TL_REFUSAL_RANGE),
    ROW(REFUSAL_REASON, MISSING, TL_REFUSAL_MISSING),
    ROW(REFUSAL_REASON, EMPTY, TL_REFUSAL_EMPTY),
    ROW(REFUSAL_REASON, TOO_MANY, TL_REFUSAL_TOO_MANY),
    ROW(REFUSAL_REASON, NOT_YOUR_KIND, TL_REFUSAL_NOT_YOUR_KIND),
    ROW(REFUSAL_REASON, TOO_OLD, TL_REFUSAL_TOO_OLD),
    ROW(REFUSAL_REASON, LATE, TL_REFUSAL_LATE),
    ROW(REFUSAL_REASON, NOT_LISTED, TL_REFUSAL_NOT_LISTED),
    ROW(REFUSAL_REASON, NOT_CURRENT, TL_REFUSAL_NOT_CURRENT),
    ROW(REFUSAL_REASON, OTHER_BODY, TL_REFUSAL_OTHER_BODY),
    ROW(REFUSAL_REASON, JUMP, TL_REFUSAL_JUMP),
    ROW(REFUSAL_REASON, OLD_INCARNATION, TL_REFUSAL_OLD_INCARNATION),
    ROW(REFUSAL_REASON, RULE_FORCES_FOUL, TL_REFUSAL_RULE_FORCES_FOUL),
    ROW(REFUSAL_REASON, EVENT_LEFT, TL_REFUSAL_EVENT_LEFT),
    ROW(REFUSAL_REASON, FULL, TL_REFUSAL_FULL),
    ROW(REFUSAL_REASON, RECOVERY_OLD, TL_REFUSAL_RECOVERY_OLD),
    ROW(REFUSAL_REASON, TWIN, TL_REFUSAL_TWIN),
    ROW(REFUSAL_REASON, NOT_OWNER, TL_REFUSAL_NOT_OWNER),
    ROW(REFUSAL_REASON, NOT_LOST, TL_REFUSAL_NOT_LOST),
    ROW(REFUSAL_REASON, OWN_WORD, TL_REFUSAL_OWN_WORD),
    ROW(REFUSAL_REASON, NOT_OVERRIDABLE, TL_REFUSAL_NOT_OVERRIDABLE),
    ROW(REFUSAL_REASON, LOWER_COUNT, TL_REFUSAL_LOWER_COUNT),
};

static const struct tl_enum_row verdict_word_rows[] = {
    ROW(VERDICT_WORD, UNKNOWN, TL_WORD_UNKNOWN),
    ROW(VERDICT_WORD, READY, TL_WORD_READY),
    ROW(VERDICT_WORD, NOT_READY, TL_WORD_NOT_READY),
};

static const struct tl_enum_row cause_kind_rows[] = {
    ROW(CAUSE_KIND, UNKNOWN, TL_CAUSE_KIND_UNKNOWN),
    ROW(CAUSE_KIND, SHIP, TL_CAUSE_SHIP),
    ROW(CAUSE_KIND, PICTURE, TL_CAUSE_PICTURE),
};

static const struct tl_enum_row cause_state_rows[] = {
    ROW(CAUSE_STATE, UNKNOWN, TL_CAUSE_UNKNOWN),       ROW(CAUSE_STATE, WRONG, TL_CAUSE_WRONG),
    ROW(CAUSE_STATE, PENDING, TL_CAUSE_PENDING),       ROW(CAUSE_STATE, OVERDUE, TL_CAUSE_OVERDUE),
    ROW(CAUSE_STATE, HOLDING, TL_CAUSE_HOLDING),       ROW(CAUSE_STATE, NOTE, TL_CAUSE_NOTE),
    ROW(CAUSE_STATE, OVERRIDDEN, TL_CAUSE_OVERRIDDEN),
};

static const struct tl_enum_row liveness_rows[] = {
    ROW(LIVENESS, UNKNOWN, TL_LIVE_UNKNOWN),
    ROW(LIVENESS, LIVE, TL_LIVE_LIVE),
    ROW(LIVENESS, LOST, TL_LIVE_LOST),
    ROW(LIVENESS, NEVER, TL_LIVE_NEVER),
};

static const struct tl_enum_row severity_rows[] = {
    ROW(SEVERITY, UNKNOWN, TL_SEVERITY_UNKNOWN), ROW(SEVERITY, EMERGENCY, TL_SEVERITY_EMERGENCY),
    ROW(SEVERITY, ALARM, TL_SEVERITY_ALARM),     ROW(SEVERITY, WARNING, TL_SEVERITY_WARNING),
    ROW(SEVERITY, CAUTION, TL_SEVERITY_CAUTION),
};

static const struct tl_enum_row judged_kind_rows[] = {
    ROW(JUDGED_KIND, UNKNOWN, TL_JUDGED_UNKNOWN),
    ROW(JUDGED_KIND, APPLIED, TL_JUDGED_APPLIED),
    ROW(JUDGED_KIND, REFUSED, TL_JUDGED_REFUSED),
    ROW(JUDGED_KIND, LOST, TL_JUDGED_LOST),
    ROW(JUDGED_KIND, HEARD, TL_JUDGED_HEARD),
    ROW(JUDGED_KIND, BEAT, TL_JUDGED_BEAT),
    ROW(JUDGED_KIND, PREDICTED, TL_JUDGED_PREDICTED),
    ROW(JUDGED_KIND, EXPECTED, TL_JUDGED_EXPECTED),
    ROW(JUDGED_KIND, STALE_BEAT, TL_JUDGED_STALE_BEAT),
    ROW(JUDGED_KIND, BEGUN, TL_JUDGED_BEGUN),
    ROW(JUDGED_KIND, SEEN, TL_JUDGED_SEEN),
    ROW(JUDGED_KIND, TIME, TL_JUDGED_TIME),
    ROW(JUDGED_KIND, BASE, TL_JUDGED_BASE),
};

static const struct tl_enum_row inbound_trouble_rows[] = {
    ROW(INBOUND_TROUBLE, UNKNOWN, TL_TROUBLE_NONE),
    ROW(INBOUND_TROUBLE, HOOK, TL_TROUBLE_HOOK),
    ROW(INBOUND_TROUBLE, GEAR, TL_TROUBLE_GEAR),
    ROW(INBOUND_TROUBLE, OTHER, TL_TROUBLE_OTHER),
};

static const struct tl_enum_row rig_state_rows[] = {
    ROW(RIG_STATE, UNKNOWN, TL_RIG_UNKNOWN),
    ROW(RIG_STATE, RIGGED, TL_RIG_RIGGED),
    ROW(RIG_STATE, STRIPPED, TL_RIG_STRIPPED),
};

static const struct tl_enum_row sheave_state_rows[] = {
    ROW(SHEAVE_STATE, UNKNOWN, TL_SHEAVE_UNKNOWN),
    ROW(SHEAVE_STATE, UP, TL_SHEAVE_UP),
    ROW(SHEAVE_STATE, DOWN, TL_SHEAVE_DOWN),
};

static const struct tl_enum_row pendant_state_rows[] = {
    ROW(PENDANT_STATE, UNKNOWN, TL_PENDANT_UNKNOWN),
    ROW(PENDANT_STATE, GOOD, TL_PENDANT_GOOD),
    ROW(PENDANT_STATE, WORN, TL_PENDANT_WORN),
    ROW(PENDANT_STATE, SUPPORT, TL_PENDANT_SUPPORT),
    ROW(PENDANT_STATE, OFF_CENTRE, TL_PENDANT_OFF_CENTRE),
};

static const struct tl_enum_row free_state_rows[] = {
    ROW(FREE_STATE, UNKNOWN, TL_FREE_UNKNOWN),
    ROW(FREE_STATE, FREE, TL_FREE_FREE),
    ROW(FREE_STATE, HELD, TL_FREE_HELD),
};

static const struct tl_enum_row retract_state_rows[] = {
    ROW(RETRACT_STATE, UNKNOWN, TL_RETRACT_UNKNOWN),
    ROW(RETRACT_STATE, RETRACTED, TL_RETRACT_RETRACTED),
    ROW(RETRACT_STATE, RUNNING, TL_RETRACT_RUNNING),
};

static const struct tl_enum_row stanchion_state_rows[] = {
    ROW(STANCHION_STATE, UNKNOWN, TL_STANCHION_UNKNOWN),
    ROW(STANCHION_STATE, LOWERED, TL_STANCHION_LOWERED),
    ROW(STANCHION_STATE, RAISED, TL_STANCHION_RAISED),
    ROW(STANCHION_STATE, MOVING, TL_STANCHION_MOVING),
};

static const struct tl_enum_row track_state_rows[] = {
    ROW(TRACK_STATE, UNKNOWN, TL_TRACK_UNKNOWN), ROW(TRACK_STATE, SECURED, TL_TRACK_SECURED),
    ROW(TRACK_STATE, OPEN, TL_TRACK_OPEN),       ROW(TRACK_STATE, DEFLECTOR, TL_TRACK_DEFLECTOR),
    ROW(TRACK_STATE, SHUTTLE, TL_TRACK_SHUTTLE), ROW(TRACK_STATE, CREW, TL_TRACK_CREW),
};

static const struct tl_enum_row aid_state_rows[] = {
    ROW(AID_STATE, UNKNOWN, TL_AID_UNKNOWN),
    ROW(AID_STATE, WORKING, TL_AID_WORKING),
    ROW(AID_STATE, FAULT, TL_AID_FAULT),
};

static const struct tl_enum_row barricade_state_rows[] = {
    ROW(BARRICADE_STATE, UNKNOWN, TL_BARRICADE_UNKNOWN),
    ROW(BARRICADE_STATE, SECURE, TL_BARRICADE_SECURE),
    ROW(BARRICADE_STATE, READY, TL_BARRICADE_READY),
    ROW(BARRICADE_STATE, PARTIAL, TL_BARRICADE_PARTIAL),
    ROW(BARRICADE_STATE, RIGGED, TL_BARRICADE_RIGGED),
};

static const struct tl_enum_row alert_state_rows[] = {
    ROW(ALERT_STATE, UNKNOWN, TL_ALERT_UNKNOWN),
    ROW(ALERT_STATE, UNACKNOWLEDGED, TL_ALERT_UNACKNOWLEDGED),
    ROW(ALERT_STATE, ACKNOWLEDGED, TL_ALERT_ACKNOWLEDGED),
    ROW(ALERT_STATE, RETURNED, TL_ALERT_RETURNED),
};

static const struct tl_enum_row service_state_rows[] = {
    ROW(SERVICE_STATE, UNKNOWN, TL_SERVICE_UNKNOWN),
    ROW(SERVICE_STATE, IN, TL_SERVICE_IN),
    ROW(SERVICE_STATE, OUT, TL_SERVICE_OUT),
};

static const struct tl_enum_row fluid_state_rows[] = {
    ROW(FLUID_STATE, UNKNOWN, TL_FLUID_UNKNOWN),
    ROW(FLUID_STATE, BATTERY, TL_FLUID_BATTERY),
    ROW(FLUID_STATE, LOW, TL_FLUID_LOW),
    ROW(FLUID_STATE, HIGH, TL_FLUID_HIGH),
};

static const struct tl_enum_row fault_state_rows[] = {
    ROW(FAULT_STATE, UNKNOWN, TL_FAULT_STATE_UNKNOWN),
    ROW(FAULT_STATE, NONE, TL_FAULT_STATE_NONE),
    ROW(FAULT_STATE, ACTIVE, TL_FAULT_STATE_ACTIVE),
};

static const struct tl_enum_row inspection_state_rows[] = {
    ROW(INSPECTION_STATE, UNKNOWN, TL_INSPECTION_UNKNOWN),
    ROW(INSPECTION_STATE, GOOD, TL_INSPECTION_GOOD),
    ROW(INSPECTION_STATE, FOUND, TL_INSPECTION_FOUND),
};

static const struct tl_enum_table tables[TL_ENUMS] = {
    [TL_ENUM_DATUM_KIND] = TABLE(datum_kind, datum_kind_rows),
    [TL_ENUM_RECOVERY_STATE] = TABLE(recovery_state, recovery_state_rows),
    [TL_ENUM_ORDER_STATE] = TABLE(order_state, order_state_rows),
    [TL_ENUM_BATTERY_STATE] = TABLE(battery_state, battery_state_rows),
    [TL_ENUM_DECK_STATE] = TABLE(deck_state, deck_state_rows),
    [TL_ENUM_FOUL_REASON] = TABLE(foul_reason, foul_reason_rows),
    [TL_ENUM_HOOK_STATE] = TABLE(hook_state, hook_state_rows),
    [TL_ENUM_PASS_OUTCOME] = TABLE(pass_outcome, pass_outcome_rows),
    [TL_ENUM_WIND_STATE] = TABLE(wind_state, wind_state_rows),
    [TL_ENUM_REFUSAL_REASON] = TABLE(refusal_reason, refusal_reason_rows),
    [TL_ENUM_VERDICT_WORD] = TABLE(verdict_word, verdict_word_rows),
    [TL_ENUM_CAUSE_KIND] = TABLE(cause_kind, cause_kind_rows),
    [TL_ENUM_CAUSE_STATE] = TABLE(cause_state, cause_state_rows),
    [TL_ENUM_LIVENESS] = TABLE(liveness, liveness_rows),
    [TL_ENUM_SEVERITY] = TABLE(severity, severity_rows),
    [TL_ENUM_JUDGED_KIND] = TABLE(judged_kind, judged_kind_rows),
    [TL_ENUM_INBOUND_TROUBLE] = TABLE(inbound_trouble, inbound_trouble_rows),
    [TL_ENUM_RIG_STATE] = TABLE(rig_state, rig_state_rows),
    [TL_ENUM_SHEAVE_STATE] = TABLE(sheave_state, sheave_state_rows),
    [TL_ENUM_PENDANT_STATE] = TABLE(pendant_state, pendant_state_rows),
    [TL_ENUM_FREE_STATE] = TABLE(free_state, free_state_rows),
    [TL_ENUM_RETRACT_STATE] = TABLE(retract_state, retract_state_rows),
    [TL_ENUM_STANCHION_STATE] = TABLE(stanchion_state, stanchion_state_rows),
    [TL_ENUM_TRACK_STATE] = TABLE(track_state, track_state_rows),
    [TL_ENUM_AID_STATE] = TABLE(aid_state, aid_state_rows),
    [TL_ENUM_BARRICADE_STATE] = TABLE(barricade_state, barricade_state_rows),
    [TL_ENUM_ALERT_STATE] = TABLE(alert_state, alert_state_rows),
    [TL_ENUM_SERVICE_STATE] = TABLE(service_state, service_state_rows),
    [TL_ENUM_FLUID_STATE] = TABLE(fluid_state, fluid_state_rows),
    [TL_ENUM_FAULT_STATE] = TABLE(fault_state, fault_state_rows),
    [TL_ENUM_INSPECTION_STATE] = TABLE(inspection_state, inspection_state_rows),
};

const struct tl_enum_table *
tl_enum_table(enum tl_enum id)
{
    TL_REQUIRE((unsigned)id < TL_ENUMS);
    return &tables[id];
}

bool
tl_enum_to_wire(enum tl_enum id, uint32_t ours, uint32_t *wire)
{
    const struct tl_enum_table *table = tl_enum_table(id);

    for (size_t i = 0; i < table->count; i++) {
        if (table->rows[i].ours == ours) {
            *wire = table->rows[i].wire;
            return true;
        }
    }
    return false;
}

uint32_t
tl_enum_from_wire(enum tl_enum id, uint32_t wire)
{
    const struct tl_enum_table *table = tl_enum_table(id);

    for (size_t i = 0; i < table->count; i++) {
        if (table->rows[i].wire == wire) {
            return table->rows[i].ours;
        }
    }
    return 0;
}
